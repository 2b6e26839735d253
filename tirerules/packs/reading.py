"""From bytes to plain data with a place for every value; strict, and telling all that is wrong at once.

A pack means the same to every YAML reader: scalars on which YAML 1.1 and 1.2 disagree are refused with what to write
instead, so are duplicate keys, anchors, aliases, tags and merge keys. Size, depth and node count are bounded before
anything is built. It means the same to every person too: a character that steers a terminal or turns the order of text
(`tirerules.escaping.is_control`) is refused, written out or as an escape. Nothing here knows what a rule pack is.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Any, Final

import yaml

from tirerules.errors import PackError, Problem
from tirerules.escaping import BIDI_CONTROLS, is_control
from tirerules.packs.document import Document, Path, Place, path_text
from tirerules.packs.files import MAX_BYTES

__all__ = ["MAX_BYTES", "MAX_DEPTH", "MAX_NODES", "Document", "Path", "path_text", "read", "top_texts"]

MAX_DEPTH: Final = 40
MAX_NODES: Final = 50_000
#: A longer integer is no limit anybody enacted, and Python refuses to convert very long ones.
_MAX_DIGITS: Final = 15

#: What may stand nowhere in a file, not in a comment either: marks that show a text in another order than a program
#: reads it, and what ends a line to readers of YAML 1.1 alone. (YAML itself refuses the other controls.)
_STEERING: Final = re.compile(f"[\x85\u2028\u2029{''.join(sorted(BIDI_CONTROLS))}]")

_STR: Final = "tag:yaml.org,2002:str"
_NULL: Final = "tag:yaml.org,2002:null"
_BOOL: Final = "tag:yaml.org,2002:bool"
_INT: Final = "tag:yaml.org,2002:int"
_FLOAT: Final = "tag:yaml.org,2002:float"
#: The whole of what a plain scalar may mean besides text (the JSON-like part of YAML 1.2's core schema).
_MEANINGS: Final = (
    (_NULL, re.compile(r"^(?:null|~|)$"), ["n", "~", ""]),
    (_BOOL, re.compile(r"^(?:true|false)$"), ["t", "f"]),
    (_INT, re.compile(r"^-?(?:0|[1-9][0-9]*)$"), list("-0123456789")),
    (_FLOAT, re.compile(r"^-?(?:0|[1-9][0-9]*)\.[0-9]+$"), list("-0123456789")),
)
#: Plain scalars that YAML 1.1 and 1.2 readers take for different things, and why.
_AMBIGUOUS: Final = (
    (re.compile(r"^(?:y|n|yes|no|on|off)$", re.I), "is yes or no to some YAML readers and text to others"),
    (re.compile(r"^(?:TRUE|True|FALSE|False|NULL|Null)$"), "is not the same to all YAML readers"),
    (re.compile(r"^[-+]?0[0-9]+(?:\.[0-9]*)?$"), "is an octal number to some YAML readers"),
    (re.compile(r"^[-+]?0(?:o[0-7]+|x[0-9a-f_]+|b[01_]+)$", re.I), "is a number in another base to some YAML readers"),
    (re.compile(r"^[-+]?[0-9][0-9_]*(?::[0-5]?[0-9])+(?:\.[0-9_]*)?$"), "is a base-60 number to some YAML readers"),
    (re.compile(r"^[-+]?[0-9.][0-9_.]*_[0-9_.]*$"), "is a number with separators to some YAML readers"),
    (
        re.compile(r"^(?:\+[0-9]+(?:\.[0-9]*)?|[-+]?[0-9]+\.|[-+]?\.[0-9]+|[-+]?[0-9.]+e[-+]?[0-9]+)$", re.I),
        "is a number to some YAML readers only",
    ),
    (re.compile(r"^[-+]?\.(?:inf|nan)$", re.I), "is no number a rule can use"),
    (re.compile(r"^(?:=|<<)$"), "has a special meaning to some YAML readers"),
)


def _strict(base: Any) -> Any:
    """Return `base` (a PyYAML loader) with `_MEANINGS` for its only implicit meanings; `base` stays as it was."""
    resolvers: dict[str, list[tuple[str, re.Pattern[str]]]] = {}
    for tag, pattern, firsts in _MEANINGS:
        for first in firsts:
            resolvers.setdefault(first, []).append((tag, pattern))
    return type(f"Strict{base.__name__}", (base,), {"yaml_implicit_resolvers": resolvers})


#: libyaml's loader is about ten times as fast; the pure one gives the same documents and other wording.
LOADER: Final[Any] = _strict(getattr(yaml, "CSafeLoader", yaml.SafeLoader))
PURE_LOADER: Final[Any] = _strict(yaml.SafeLoader)


def read(content: bytes, file: str, loader: Any = LOADER) -> Document:
    """Read one YAML document.

    `file` is named in every message. Raises PackError with all problems found; each has a line and a column.
    """
    text = _decode(content, file)
    steering = [_control(found[0], file, _place_of(text, found.start())) for found in _STEERING.finditer(text)]
    if steering:
        raise PackError(steering)
    try:
        problems = list(_forbidden(text, file, loader))
        if problems:
            raise PackError(problems)
        node = yaml.compose(text, Loader=loader)
    except yaml.MarkedYAMLError as error:
        raise PackError([_syntax(error, text, file)]) from None
    except yaml.reader.ReaderError:
        # The two loaders count differently, one in bytes, so the place is looked up here.
        found = yaml.reader.Reader.NON_PRINTABLE.search(text)
        place = _place_of(text, found.start() if found else 0)
        raise PackError([Problem("yaml-character", "a character that YAML does not allow", "", file, *place)]) from None
    if node is None:
        raise PackError([Problem("yaml-empty", "the file is empty", "", file, 1, 1)])
    builder = _Builder(file)
    data = builder.build(node, ())
    if builder.problems:
        raise PackError(sorted(builder.problems, key=lambda problem: (problem.line, problem.column)))
    return Document(file, data, builder.values, builder.keys)


def top_texts(content: bytes, file: str, keys: Sequence[str], loader: Any = LOADER) -> dict[str, str]:
    """Return what stands under `keys` at the top of a document, which is read to the last of them and no further.

    Left out is what does not stand there, and whatever `read` would refuse or not take for one line of text; so are all
    of them where the file is no YAML up to there. INVARIANT: what is returned is what `read` returns under the key, if
    it returns anything.
    """
    found: dict[str, str] = {}
    depth, key = 0, None
    try:
        for event in yaml.parse(_decode(content, file), Loader=loader):
            if isinstance(event, yaml.CollectionStartEvent):
                depth, key = depth + 1, None
            elif isinstance(event, yaml.CollectionEndEvent):
                depth -= 1
            elif isinstance(event, yaml.ScalarEvent) and depth == 1:
                if key is None:
                    key = event.value
                    continue
                if key in keys and _is_text(event):
                    found[key] = event.value
                    if len(found) == len(keys):
                        break
                key = None
    except (PackError, yaml.YAMLError):
        return {}
    return found


def _is_text(event: Any) -> bool:
    """Whether a scalar is text on one line to every reader, with no character that no pack may hold."""
    if event.anchor or event.tag or not event.value.isprintable() or _Builder._unclear(event):
        return False
    return bool(event.style) or not any(pattern.match(event.value) for _, pattern, _ in _MEANINGS)


def _decode(content: bytes, file: str) -> str:
    if len(content) > MAX_BYTES:
        message = f"the file has more than {MAX_BYTES:,} bytes"
        raise PackError([Problem("file-too-large", message, "split it into several packs", file, 1, 1)])
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = content[: error.start]
        line, column = before.count(b"\n") + 1, error.start - (before.rfind(b"\n") + 1) + 1
        message = f"byte {content[error.start]:#04x} is no UTF-8 text"
        raise PackError([Problem("not-utf-8", message, "save the file as UTF-8", file, line, column)]) from None


def _place_of(text: str, at: int) -> Place:
    """Return the line and column of a character, counting lines by line feeds as editors do."""
    return text.count("\n", 0, at) + 1, at - text.rfind("\n", 0, at)


def _control(character: str, file: str, place: Place) -> Problem:
    name = unicodedata.name(character, "").lower()
    message = f"the character U+{ord(character):04X}{f' ({name})' if name else ''}, which is no part of a text"
    if character in "\t\n":
        message = f"{'a tab' if character == chr(9) else 'the end of a line'} within text on one line"
        return Problem(
            "control-character", message, "write a space; long text may stand on several lines", file, *place
        )
    return Problem("control-character", message, "delete it", file, *place)


def _syntax(error: yaml.MarkedYAMLError, text: str, file: str) -> Problem:
    mark = error.problem_mark or error.context_mark
    line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
    lines = text.splitlines()
    indent = re.match(r"\s*", lines[line - 1])[0] if line <= len(lines) else ""  # type: ignore[index]  # matches always
    if "\t" in indent:
        hint = "indent with spaces"
        return Problem("yaml-tab", "a tab in the indentation", hint, file, line, indent.index("\t") + 1)
    return Problem("yaml-syntax", f"this is no YAML: {error.problem}", error.context or "", file, line, column)


def _forbidden(text: str, file: str, loader: Any) -> Iterator[Problem]:
    """Yield what a pack may not hold, from the parser's events alone: nothing is expanded or built yet."""
    depth = nodes = documents = 0
    for event in yaml.parse(text, Loader=loader):
        place = _place(event)

        def problem(code: str, message: str, hint: str, place: Place = place) -> Problem:
            return Problem(code, message, hint, file, *place)

        if isinstance(event, yaml.DocumentStartEvent):
            documents += 1
            if documents > 1:
                yield problem("yaml-documents", "a second document starts here", "one file holds one pack")
            if event.version or event.tags:
                yield problem("yaml-directive", "a YAML directive", "delete the line that starts with %")
        if isinstance(event, yaml.NodeEvent):
            nodes += 1
            if nodes > MAX_NODES:
                yield problem("yaml-too-many-nodes", f"more than {MAX_NODES:,} values", "split the pack")
                return
            if isinstance(event, yaml.AliasEvent):
                yield problem("yaml-alias", f"the alias *{event.anchor}", "write the value out again")
            elif event.anchor:
                yield problem("yaml-anchor", f"the anchor &{event.anchor}", "delete it; a pack repeats what it says")
            if tag := getattr(event, "tag", None):
                yield problem("yaml-tag", f"the tag {tag}", "delete it; a pack is plain data")
        if isinstance(event, yaml.ScalarEvent):
            start, end = _marks(event)
            kept = "\n" if start.line != end.line else ""  # text on several lines may keep their ends
            unread = next((each for each in event.value if is_control(each) and each != kept), None)
            if unread is not None:
                at = text.find(unread, start.index, end.index)  # nowhere if it is written as an escape
                yield _control(unread, file, place if at < 0 else _place_of(text, at))
        if isinstance(event, yaml.CollectionStartEvent):
            depth += 1
            if depth > MAX_DEPTH:
                yield problem("yaml-too-deep", f"more than {MAX_DEPTH} levels", "a pack is never this deep")
                return
        elif isinstance(event, yaml.CollectionEndEvent):
            depth -= 1


class _Builder:
    """Turns nodes into plain data, noting places and problems on the way."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.values: dict[Path, Place] = {}
        self.keys: dict[Path, Place] = {}
        self.problems: list[Problem] = []

    def build(self, node: Any, path: Path) -> Any:
        self.values[path] = _place(node)
        if isinstance(node, yaml.MappingNode):
            return self._mapping(node, path)
        if isinstance(node, yaml.SequenceNode):
            return [self.build(item, (*path, index)) for index, item in enumerate(node.value)]
        return self._scalar(node, path)

    def _mapping(self, node: yaml.MappingNode, path: Path) -> dict[str, Any]:
        result: dict[str, Any] = {}
        for key_node, value_node in node.value:
            key = key_node.value if isinstance(key_node, yaml.ScalarNode) else None
            if key is None or key_node.tag != _STR or self._unclear(key_node):
                shown = f"the key {key!r}" if isinstance(key, str) else "this key"
                cure = f'write "{key}" in quotes' if isinstance(key, str) else "a key is one word"
                self._add("yaml-key", key_node, path, f"{shown} is no plain text", cure)
                continue
            here = (*path, key)
            if key in result:
                line = self.keys[here][0]
                message = f"the key {key!r} stands already on line {line}"
                self._add("duplicate-key", key_node, here, message, "keep one of them")
                continue
            self.keys[here] = _place(key_node)
            result[key] = self.build(value_node, here)
        return result

    def _scalar(self, node: yaml.ScalarNode, path: Path) -> Any:
        value: str = node.value
        if reason := self._unclear(node):
            self._add("ambiguous-scalar", node, path, f"{value} {reason}", f'write "{value}" in quotes')
            return value
        if node.tag == _NULL:
            return None
        if node.tag == _BOOL:
            return value == "true"
        if node.tag in (_INT, _FLOAT):
            if len(value) > _MAX_DIGITS:
                message = f"a number of {len(value)} characters"
                self._add("number-too-long", node, path, message, f"at most {_MAX_DIGITS} characters")
                return 0
            return int(value) if node.tag == _INT else Decimal(value)
        return value

    @staticmethod
    def _unclear(node: yaml.ScalarNode) -> str:
        if node.style:  # quoted or a block: text to every reader (libyaml says "", the pure loader None for plain)
            return ""
        return next((why for pattern, why in _AMBIGUOUS if pattern.match(node.value)), "")

    def _add(self, code: str, node: Any, path: Path, message: str, hint: str) -> None:
        self.problems.append(Problem(code, message, hint, self.file, *_place(node), path_text(path)))


def _marks(node: Any) -> tuple[Any, Any]:
    return node.start_mark, node.end_mark


def _place(node: Any) -> Place:
    return node.start_mark.line + 1, node.start_mark.column + 1
