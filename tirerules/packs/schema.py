"""Checks a document against the rule-pack schema and says what is wrong in a compliance editor's words.

No schema checker gives a line; every error is mapped back to its value or its key through the document's places.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from functools import cache
from typing import Any, Final

from tirerules.data import folder
from tirerules.errors import Problem
from tirerules.escaping import shortened
from tirerules.everyday import offers
from tirerules.packs.document import Document, Path

__all__ = ["problems", "schema"]

_TYPE_WORDS: Final = {
    "string": "text",
    "integer": "a whole number",
    "number": "a number",
    "boolean": "true or false",
    "array": "a list",
    "object": "a block of keys",
    "null": "nothing",
}


@cache
def schema(name: str) -> Any:
    """Return a schema shipped with the library, by its short name (`rulepack`, `case`, `decision`)."""
    return json.loads((folder("schemas") / f"{name}.schema.json").read_text(encoding="utf-8"))


@cache
def _validator() -> Any:
    import jsonschema  # here because it takes 80 ms and only reading packs needs it

    extend: Any = jsonschema.validators.extend
    return extend(jsonschema.Draft202012Validator, {"pattern": _pattern})(schema("rulepack"))


def _pattern(validator: Any, pattern: str, instance: Any, _: Any) -> Iterator[Any]:
    """Match as ECMA-262 does, in which `$` is the very end; to Python it also stands before a last line feed."""
    from jsonschema import ValidationError

    if validator.is_type(instance, "string") and not re.search(re.sub(r"\$$", r"\\Z", pattern), instance):
        yield ValidationError(f"{instance!r} does not match {pattern!r}")


def problems(document: Document) -> list[Problem]:
    """Return every difference between `document` and the schema, in the order of the document."""
    found = [problem for error in _validator().iter_errors(document.data) for problem in _explain(document, error)]
    # What has the wrong type is not also an unknown word.
    mistyped = {problem.path for problem in found if problem.code == "wrong-type"}
    told = [problem for problem in found if problem.code != "unknown-word" or problem.path not in mistyped]
    return sorted(dict.fromkeys(told), key=lambda problem: (problem.line, problem.column))


def _explain(document: Document, error: Any) -> Iterator[Problem]:
    path: Path = tuple(error.absolute_path)
    shown = _example(error.schema)
    if "propertyNames" in error.absolute_schema_path:
        key = error.instance
        yield document.problem(
            "bad-key", (*path, key), f"{key!r} is no good key", "write small letters, digits and -", at_key=True
        )
        return
    match error.validator:
        case "additionalProperties":
            known = list(error.schema.get("properties", ()))
            for key in error.instance:
                if key not in known:
                    yield document.problem(
                        "unknown-key", (*path, key), f"unknown key {key!r}", _offer(key, known), at_key=True
                    )
        case "required":
            for key in error.validator_value:
                if key not in error.instance:
                    message = f"the key {key!r} is missing"
                    yield document.problem("missing-key", path, message, "", at_key=True)
        case "enum" | "const":
            allowed = error.validator_value if error.validator == "enum" else [error.validator_value]
            yield document.problem(
                "unknown-word", path, f"{_show(error.instance)} is not allowed here", _offer(error.instance, allowed)
            )
        case "type":
            wanted = error.validator_value if isinstance(error.validator_value, list) else [error.validator_value]
            message = f"this is {_kind(error.instance)}; it must be {' or '.join(_TYPE_WORDS[kind] for kind in wanted)}"
            yield document.problem("wrong-type", path, message, shown)
        case "pattern":
            yield document.problem(
                "wrong-form", path, f"{_show(error.instance)} has the wrong form", shown or _about(error.schema)
            )
        case "minItems" | "minLength" | "minProperties":
            yield document.problem("empty", path, "this is empty", shown or _about(error.schema))
        case "minimum":
            yield document.problem("wrong-form", path, f"{_show(error.instance)} is too small", shown)
        case "uniqueItems":
            yield document.problem("repeated", path, "a value stands here twice", "delete one")
        case _:
            yield document.problem("schema", path, error.message, shown)


def _example(part: Any) -> str:
    examples = part.get("examples", ()) if isinstance(part, dict) else ()
    shown = (f'"{example}"' if isinstance(example, str) else str(example) for example in examples)
    return "write, for example, " + " or ".join(shown) if examples else ""


def _about(part: Any) -> str:
    return str(part.get("description", "")) if isinstance(part, dict) else ""


def _offer(word: Any, allowed: Sequence[Any]) -> str:
    words = [str(each) for each in allowed]
    close = offers(str(word), words)
    if close:
        return f"did you mean {' or '.join(close)}?"
    return f"one of: {', '.join(words)}" if words else ""


def _show(value: Any) -> str:
    return repr(shortened(value)) if isinstance(value, str) else _kind(value)


def _kind(value: Any) -> str:
    if value is None:
        return "empty"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f"the text {_show(value)}"
    if isinstance(value, (list, dict)):
        return "a list" if isinstance(value, list) else "a block of keys"
    return f"the bare number {value}"
