"""What columns a table of tickets may have, and how one row becomes a case.

A column is named as its fact. One injury stands in `injury.*` columns and one earlier repair in `repair.*` columns;
several stand as JSON text in `injuries` and `earlier_repairs`. A null is unknown, never "no". Nothing here knows of
Arrow or of files; whether a word or a quantity is right is for the case reader to say.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import date
from enum import StrEnum
from types import MappingProxyType
from typing import Any, Final

from tirerules.errors import CaseError, Problem, nearest
from tirerules.record import parse
from tirerules.vocabulary import FACTS, Fact, Kind

__all__ = [
    "BLOCKS",
    "COLUMNS",
    "EMPTY",
    "GROUPS",
    "ITEM_OF",
    "REQUIRED",
    "Form",
    "Row",
    "case_of",
    "flat_row",
    "unknown_column",
    "value_of",
]

#: One row of a table by column; what is null may be left out.
Row = Mapping[str, Any]


class Form(StrEnum):
    """How the values of a column are written."""

    TEXT = 'text; a quantity with its unit, such as "5 mm"'
    FLAG = "true or false, or the text yes or no (or true or false)"
    COUNT = "a whole number, or its text"
    DAY = "a date, or the text YYYY-MM-DD"
    WORDS = "text with words separated by commas, or a list of texts"
    JSON = "JSON text"


#: The blocks of a case; the lists of a case by the group of facts that one item of each holds.
BLOCKS: Final = ("tire", "vehicle", "axle", "shop", "road", "sale", "repairs", "repair_unit")
_LISTS: Final = MappingProxyType({"injury": "injuries", "repair": "earlier_repairs"})
ITEM_OF: Final = MappingProxyType({name: group for group, name in _LISTS.items()})
#: What stands before the point in the names of columns; a table may also hold each as one column of blocks.
GROUPS: Final = (*BLOCKS, *_LISTS)
_FORMS: Final = MappingProxyType(
    {
        Kind.FLAG: Form.FLAG,
        Kind.COUNT: Form.COUNT,
        Kind.SET: Form.WORDS,
        Kind.RECORDS: Form.JSON,
        Kind.GRID: Form.JSON,
    }
)


def _form(fact: Fact) -> Form:
    return _FORMS.get(fact.kind, Form.TEXT)


#: Every column that a table of tickets may have, and how its values are written.
COLUMNS: Final[Mapping[str, Form]] = MappingProxyType(
    {
        "jurisdictions": Form.WORDS,
        "activity": Form.TEXT,
        "on": Form.DAY,
        "reading": Form.TEXT,
        "zones": Form.TEXT,
        "repair_unit.method": Form.TEXT,
        "repair_unit.rated_angle": Form.TEXT,
        "repair_unit.document": Form.TEXT,
    }
    | {name: _form(fact) for name, fact in FACTS.items() if not fact.derived}
)
#: Without these no row asks an answerable question.
REQUIRED: Final = ("jurisdictions", "activity")

#: What says that a list is empty, in a column of words or of JSON.
EMPTY: Final = "none"
_FLAGS: Final = MappingProxyType({"yes": True, "true": True, "no": False, "false": False})


def unknown_column(name: str) -> Problem:
    """Return the problem of a column that no fact has, with the names most like it."""
    offers = nearest(name, COLUMNS)
    like = f"did you mean {' or '.join(offers)}? " if offers else ""
    hint = f"{like}a column that is only to be carried through must be named (keep)"
    return Problem("batch-column", f"unknown column {name!r}", hint, path=name)


def value_of(name: str, said: Any) -> Any:
    """Return the value of a column as the JSON form of a case has it. Raises CaseError for JSON that cannot be read."""
    return _READERS[COLUMNS[name]](said)


def case_of(row: Row) -> dict[str, Any]:
    """Return the JSON form of the case that a row states.

    Raises CaseError for JSON text that cannot be read, and for a list that stands in two forms in one row. A value of
    the wrong kind stays as it is, for the case reader to refuse with everything else.
    """
    case: dict[str, Any] = {}
    items: dict[str, dict[str, Any]] = {}  # of each list, the one that the row's columns state
    problems: list[Problem] = []
    for name, said in row.items():
        if said is None:
            continue
        group, _, key = name.rpartition(".")
        try:
            value = value_of(name, said)
        except CaseError as error:
            problems += [replace(problem, path=name) for problem in error.problems]
            continue
        if group in _LISTS:
            items.setdefault(_LISTS[group], {})[key] = value
        elif group:
            case.setdefault(group, {})[key] = value
        else:
            case[name] = value
    for name, item in items.items():
        if name in case:
            message = f"the row states {name} both here and in columns for one ({', '.join(item)})"
            problems.append(Problem("batch-twice", message, "leave one of the two null", path=name))
        case[name] = [item]
    if problems:
        raise CaseError(problems)
    return case


def _words(said: Any) -> Any:
    if not isinstance(said, str):
        return said
    return [] if said.strip() == EMPTY else [word.strip() for word in said.split(",")]


def _json(said: Any) -> Any:
    if not isinstance(said, str):
        return said
    return [] if said.strip() == EMPTY else parse(said)


def _flag(said: Any) -> Any:
    return _FLAGS.get(said.lower(), said) if isinstance(said, str) else said


def _count(said: Any) -> Any:
    return int(said) if isinstance(said, str) and said.isascii() and said.isdecimal() and len(said) < 10 else said


def _day(said: Any) -> Any:
    return said.isoformat() if isinstance(said, date) else said


_READERS: Final[Mapping[Form, Callable[[Any], Any]]] = MappingProxyType(
    {
        Form.TEXT: lambda said: said,
        Form.FLAG: _flag,
        Form.COUNT: _count,
        Form.DAY: _day,
        Form.WORDS: _words,
        Form.JSON: _json,
    }
)


def flat_row(said: Any, keep: Iterable[str]) -> dict[str, str | None]:
    """Return one JSON ticket, nested as a case is or flat as a table is, as a row of texts.

    What `keep` names is carried through, text as it is and anything else as JSON text. Raises CaseError.
    """
    if not isinstance(said, Mapping):
        raise CaseError([Problem("json-form", "this is no block of keys", "write one JSON object a line")])
    row: dict[str, str | None] = {}
    problems: list[Problem] = []
    for key, value in _members(said):
        try:
            text = _text(key, value, key in keep)
        except CaseError as error:
            problems += error.problems
            continue
        if key in row:
            problems.append(Problem("batch-twice", "the key stands twice", "keep one of them", path=key))
        row[key] = text
    if problems:
        raise CaseError(problems)
    return row


def _members(said: Mapping[str, Any]) -> Iterable[tuple[str, Any]]:
    """Yield what a ticket states by column: blocks opened, and a list of one as its columns where nothing is lost."""
    for key, value in said.items():
        group = ITEM_OF.get(key)
        if key in BLOCKS and (value is None or isinstance(value, Mapping)):
            yield from ((f"{key}.{part}", each) for part, each in (value or {}).items())
        elif group is not None and _lone(value) and not any(other.startswith(f"{group}.") for other in said):
            yield from ((f"{group}.{part}", each) for part, each in value[0].items())
        else:
            yield key, value


def _lone(value: Any) -> bool:
    """Whether this is a list of one block that states something; an empty block would vanish among columns."""
    one = isinstance(value, list) and len(value) == 1 and isinstance(value[0], Mapping)
    return one and any(each is not None for each in value[0].values())


def _text(name: str, value: Any, kept: bool) -> str | None:
    """Return a value as the text of its column. Raises CaseError where the column takes no such value."""
    form = COLUMNS.get(name)
    if value is None or isinstance(value, str):
        text = value
    elif form is Form.WORDS and isinstance(value, list) and all(isinstance(each, str) for each in value):
        text = ",".join(value) if value else EMPTY
    elif (
        (form is Form.FLAG and isinstance(value, bool))
        or (form is Form.COUNT and isinstance(value, int))
        or (form is Form.JSON and isinstance(value, list))
        or (form is None and kept)
    ):
        text = json.dumps(value, sort_keys=True, ensure_ascii=False)
    elif form is not None:
        shown = json.dumps(value, ensure_ascii=False)
        raise CaseError([Problem("batch-value", f"{_short(shown)} cannot stand here", f"write {form}", path=name)])
    if form is None and not kept:
        raise CaseError([unknown_column(name)])
    return text


def _short(text: str) -> str:
    return text if len(text) <= 40 else text[:37] + "..."
