"""The text of one cell to the value that it states, as a row of a case holds it: once for each distinct text."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from tirerules.batch.tickets import COLUMNS, ITEM_OF, value_of
from tirerules.case.reading import Refused, day, reader_of
from tirerules.packs.rule import READINGS
from tirerules.quantities import quantity
from tirerules.vocabulary import ACTIVITIES, FACTS, FINDINGS, METHODS, ZONE_EVIDENCE, Dimension

__all__ = ["REFUSED", "read_cell"]

#: Stands for a text that states no value of its column; the reader of cases says why.
REFUSED: Final = object()
_KNOWN_FINDINGS: Final = frozenset(FINDINGS)


def read_cell(name: str, said: Any) -> Any:
    """Return what a cell of a column states, or `REFUSED`.

    >>> read_cell("injury.diameter", "1/4 in").text, read_cell("injury.zone", "roof") is REFUSED
    ('1/4 in', True)
    """
    try:
        return _READERS[name](value_of(name, said))
    except (ValueError, KeyError, TypeError, AttributeError):  # what a reader raises, and how the library refuses
        return REFUSED


def _findings(said: Any) -> frozenset[str]:
    found = frozenset(said if type(said) is list else [None])
    if not found <= _KNOWN_FINDINGS:
        raise Refused
    return found


def _places(said: Any) -> tuple[str, ...]:
    if type(said) is not list or not said or not all(type(code) is str for code in said):
        raise Refused
    return tuple(said)


def _text(said: Any) -> str:
    if type(said) is not str:
        raise Refused
    return said


def _or_usual(words: tuple[str, ...]) -> Callable[[Any], str]:
    """Return a reader of words of which an empty text stands for the first."""
    return {"": words[0], **{word: word for word in words}}.__getitem__


#: How the value of a column is read, by its name; the lists of a case are not read cell by cell.
_READERS: Final[Mapping[str, Callable[[Any], Any]]] = {
    **{name: reader_of(FACTS[name]) for name in COLUMNS if name in FACTS and name not in ITEM_OF},
    "findings": _findings,
    "jurisdictions": _places,
    "activity": {str(word): str(word) for word in ACTIVITIES}.__getitem__,
    "on": day,
    "reading": _or_usual(READINGS),
    "zones": _or_usual(ZONE_EVIDENCE),
    "repair_unit.method": {word: word for word in METHODS}.__getitem__,
    "repair_unit.rated_angle": lambda said: quantity(said, Dimension.ANGLE),
    "repair_unit.document": _text,
}
