"""The words of a case as types, and its JSON documents as typed dictionaries, written out as Python."""

from __future__ import annotations

import keyword
import re
from pathlib import Path
from typing import Any, Final

from tirerules.authoring.schemas.case import case_schema
from tirerules.authoring.schemas.decision import brief_schema, decision_schema
from tirerules.authoring.schemas.parts import Json
from tirerules.packs.rule import READINGS
from tirerules.vocabulary import (
    ACTIVITIES,
    AUTHORITIES,
    EVIDENCE,
    FACTS,
    FINDINGS,
    METHODS,
    STEPS,
    VERDICTS,
    ZONE_EVIDENCE,
    Fact,
    Kind,
    Outcome,
)

__all__ = ["documents_text", "type_of", "words_text", "write_types"]

_FOLDER: Final = Path(__file__).parents[2]
#: Type of a word that answers no fact -> the words.
_OTHERS: Final = {
    "ActivityWord": ACTIVITIES,
    "Authority": AUTHORITIES,
    "Evidence": EVIDENCE,
    "Finding": FINDINGS,
    "Method": METHODS,
    "OutcomeWord": tuple(Outcome),
    "Reading": READINGS,
    "Step": STEPS,
    "VerdictWord": VERDICTS,
    "ZoneEvidence": ZONE_EVIDENCE,
}
_WORDS_HEAD: Final = '''"""The words of cases and decisions as types, with a checker of each.

Written by `python -m tirerules.authoring.schemas`. Words read from a database or a form are texts; a checker tells
whether one is a word, and a type checker then knows it for one:

>>> text = "passenger"
>>> is_tire_class(text), is_tire_class("pasenger")
(True, False)
"""

from __future__ import annotations

from typing import Final, Literal, TypeAlias, TypeGuard, get_args

__all__ = [
{names}
]
'''
_DOCUMENTS_HEAD: Final = '''"""The JSON documents as typed dictionaries: cases, decisions, brief records.

Written by `python -m tirerules.authoring.schemas` from the schemas, whose parts they are named after. Programs may
rely on every key that is not `NotRequired`; a later minor version may add keys and words (see the README).
"""

from __future__ import annotations

from typing import Literal, NotRequired, TypedDict

from tirerules.words import (
{types}
)

__all__ = [
{names}
]
'''


def type_of(fact: Fact) -> str | None:
    """Return the type of the words of a fact; None for a fact that is answered by no word."""
    if fact.kind not in (Kind.CHOICE, Kind.SCALE):
        return None
    if fact.values == METHODS:
        return "Method"
    group = "" if fact.group in ("injury", "repair") and fact.key in ("zone", "side") else fact.group
    return "".join(part.capitalize() for part in re.split(r"[._-]", f"{group}.{fact.key}") if part)


def _types() -> dict[str, tuple[str, ...]]:
    """Return the type of each list of words, of facts and of others, with the words."""
    of_facts = {kind: fact.values for fact in FACTS.values() if (kind := type_of(fact)) is not None}
    return {**_OTHERS, **of_facts}


def words_text() -> str:
    """Return the module `tirerules.words`."""
    types = _types()
    parts = []
    for kind in sorted(types):
        snake = _snake(kind)
        words = "\n".join(f'    "{word}",' for word in types[kind])
        parts.append(
            f"\n{kind}: TypeAlias = Literal[\n{words}\n]\n_{snake.upper()}: Final = frozenset(get_args({kind}))\n\n\n"
            f"def is_{snake}(text: str) -> TypeGuard[{kind}]:\n"
            f'    """Whether a text is one of the words of `{kind}`."""\n    return text in _{snake.upper()}\n\n'
        )
    names = [*types, *(f"is_{_snake(kind)}" for kind in types)]
    return _with_names(_WORDS_HEAD, names) + "".join(parts).rstrip() + "\n"


def _snake(kind: str) -> str:
    return re.sub(r"(?<!^)([A-Z])", r"_\1", kind).lower().removesuffix("_word")


def documents_text() -> str:
    """Return the module `tirerules.documents`."""
    made: dict[str, str] = {}
    for root, schema in (("Case", case_schema()), ("Decision", decision_schema()), ("BriefRecord", brief_schema())):
        for name, part in {**schema["$defs"], root: schema}.items():
            if name not in made and part.get("type") == "object":
                made[name] = _dictionary(name, part)
    body = "".join(made.values())
    used = sorted(kind for kind in _BY_WORDS.values() if re.search(rf"\b{kind}\b", body))
    types = "\n".join(f"    {kind}," for kind in used)
    return _with_names(_DOCUMENTS_HEAD, made).replace("{types}", types) + body


def _with_names(head: str, names: Any) -> str:
    listed = "\n".join(f'    "{name}",' for name in sorted(names, key=lambda name: (not name[0].isupper(), name)))
    return head.replace("{names}", listed)


def _dictionary(name: str, part: Json) -> str:
    """Return one typed dictionary; where a key is a word of Python's own, in the form that takes any key."""
    fields = [(key, _type(said), key in part.get("required", ())) for key, said in part["properties"].items()]
    told = part.get("description", f"The part `{name}` of a document.")
    typed = [(key, kind if needed else f"NotRequired[{kind}]") for key, kind, needed in fields]
    if any(keyword.iskeyword(key) for key, _ in typed):
        lines = "\n".join(f'        "{key}": "{kind.replace(chr(34), chr(39))}",' for key, kind in typed)
        return f'\n\n{name} = TypedDict(\n    "{name}",\n    {{\n{lines}\n    }},\n)\n'
    lines = "\n".join(f"    {key}: {kind}" for key, kind in typed)
    return f'\n\nclass {name}(TypedDict):\n    """{told}"""\n\n{lines}\n'


def _type(said: Json) -> str:
    if "$ref" in said:
        return str(said["$ref"]).rpartition("/")[2]
    if "anyOf" in said:
        kinds = list(dict.fromkeys(_type(each) for each in said["anyOf"]))
        if "str" in kinds:  # words beside any text are texts
            kinds = [kind for kind in kinds if kind not in _BY_WORDS.values() and not kind.startswith("Literal")]
        return " | ".join(kinds)
    if "enum" in said:
        named = [each for each in said["enum"] if each is not None]
        words = _BY_WORDS.get(frozenset(named)) or f"Literal[{', '.join(map(_literal, named))}]"
        return f"{words} | None" if None in said["enum"] else words
    if "const" in said:
        return f'Literal["{said["const"]}"]'
    match said.get("type"):
        case "array":
            return f"list[{_type(said['items'])}]"
        case "object":
            return f"dict[str, {_type(said['additionalProperties'])}]"
        case kind:
            return {"string": "str", "integer": "int", "boolean": "bool", "null": "None"}[str(kind)]


def _literal(value: object) -> str:
    return f'"{value}"' if isinstance(value, str) else repr(value)


#: Words -> the type that they are. Words of a fact and others never have the same list but where they share the type.
_BY_WORDS: Final = {frozenset(map(str, words)): kind for kind, words in _types().items()}


def write_types() -> None:
    """Write both modules."""
    (_FOLDER / "words.py").write_text(words_text(), encoding="utf-8")
    (_FOLDER / "documents.py").write_text(documents_text(), encoding="utf-8")
