"""The text of one cell to the value that it states: once for each distinct text of a column."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import date
from typing import Any, Final

from tirerules.batch.tickets import COLUMNS, ITEM_OF, case_of, value_of
from tirerules.errors import CaseError, Problem, QuantityError
from tirerules.packs.rule import READINGS
from tirerules.quantities import measure, quantity
from tirerules.record import case_from_json
from tirerules.scales import date_code, position, size
from tirerules.vocabulary import ACTIVITIES, FACTS, FINDINGS, METHODS, Dimension, Fact, Kind
from tirerules.words import ZONE_EVIDENCE

__all__ = ["problems_of", "read_cell"]

#: A case that says nothing of itself, in which a cell is read when it is to be said what is wrong with it.
_BARE: Final = {"jurisdictions": "US", "activity": "inspection"}
#: What the cells of a repair unit need beside them to be read.
_UNIT: Final = {"repair_unit.method": METHODS[0], "repair_unit.rated_angle": "0 deg"}


class _RefusedError(ValueError):
    """A cell states nothing that the quick readers take; `problems_of` says why."""


def read_cell(name: str, said: Any) -> tuple[Any, tuple[Problem, ...]]:
    """Return what a cell of a column states, and what is wrong with it; one of the two is empty.

    A quantity is a Measured (a rated angle a Quantity), a size designation a Size, a place around the tire a Position,
    a set a frozenset, places a tuple, a day a date; a date code stays text. An empty reading or kind of zones is None,
    which stands for the usual one, as in a case.

    >>> read_cell("injury.zone", "roof")[1][0].path
    'injuries[0].zone'
    """
    try:
        stated = value_of(name, said)
        value = None if stated is None else _READERS[name](stated)  # a grid may be JSON's null
    except (CaseError, QuantityError, _RefusedError):
        problems = problems_of(name, said)
        return None, problems or (
            Problem("case-value", f"{said!r} is not written as it must be in a table", path=name),
        )
    return value, ()


def problems_of(name: str, said: Any) -> tuple[Problem, ...]:
    """Return what the reader of cases finds wrong with a cell, or with all that stands in a list given as JSON text."""
    try:
        case_from_json(case_of({**_BARE, **(_UNIT if name in _UNIT else {}), name: said}))
    except CaseError as error:
        return error.problems
    return ()


def _quantity(dimension: Dimension) -> Callable[[Any], Any]:
    return lambda said: measure(said, dimension)


def _word(words: Iterable[str]) -> Callable[[Any], Any]:
    held = {str(word): str(word) for word in words}

    def read(said: Any) -> str:
        if not isinstance(said, str) or said not in held:
            raise _RefusedError
        return held[said]

    return read


def _flag(said: Any) -> bool:
    if not isinstance(said, bool):
        raise _RefusedError
    return said


def _count(said: Any) -> int:
    if not isinstance(said, int) or isinstance(said, bool) or said < 0:
        raise _RefusedError
    return said


def _text(said: Any) -> str:
    if not isinstance(said, str):
        raise _RefusedError
    return said


def _date_code(said: Any) -> str:
    date_code(_text(said))
    return str(said)


def _findings(said: Any) -> frozenset[str]:
    return frozenset(map(_finding, said if isinstance(said, list) else [None]))


_finding: Final = _word(FINDINGS)


def _places(said: Any) -> tuple[str, ...]:
    if not isinstance(said, list) or not said:
        raise _RefusedError
    return tuple(map(_text, said))


def _day(said: Any) -> date:
    if not isinstance(said, str) or len(said) != 10 or said[4] + said[7] != "--":
        raise _RefusedError
    try:
        return date.fromisoformat(said)
    except ValueError:
        raise _RefusedError from None


def _grid(said: Any) -> tuple[tuple[Any, ...], ...]:
    if not isinstance(said, list) or not all(isinstance(place, list) for place in said):
        raise _RefusedError
    rows = tuple(tuple(measure(each) for each in place) for place in said)
    if not rows or not rows[0] or len({len(row) for row in rows}) > 1:
        raise _RefusedError
    return rows


def _or_usual(words: Iterable[str]) -> Callable[[Any], Any]:
    read = _word(words)
    return lambda said: None if said == "" else read(said)


_OF_TEXT: Final[Mapping[str, Callable[[Any], Any]]] = {
    "size": lambda said: size(_text(said)),
    "date_code": _date_code,
    "clock": lambda said: position(_text(said)),
}


def _reader(fact: Fact) -> Callable[[Any], Any]:
    match fact.kind:
        case Kind.QUANTITY:
            assert fact.dimension is not None  # INVARIANT: every quantity has a dimension
            return _quantity(fact.dimension)
        case Kind.FLAG:
            return _flag
        case Kind.COUNT:
            return _count
        case Kind.GRID:
            return _grid
        case Kind.TEXT:
            return _OF_TEXT[fact.key]
        case Kind.SET:
            return _findings
        case _:
            return _word(fact.values)


#: How the value of a column is read, by its name; the lists of a case are not read cell by cell.
_READERS: Final[Mapping[str, Callable[[Any], Any]]] = {
    **{name: _reader(FACTS[name]) for name in COLUMNS if name in FACTS and name not in ITEM_OF},
    "jurisdictions": _places,
    "activity": _word(ACTIVITIES),
    "on": _day,
    "reading": _or_usual(READINGS),
    "zones": _or_usual(ZONE_EVIDENCE),
    "repair_unit.method": _word(METHODS),
    "repair_unit.rated_angle": lambda said: quantity(said, Dimension.ANGLE),
    "repair_unit.document": _text,
}
