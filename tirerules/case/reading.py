"""The one reader of cases: from the JSON form (a mapping) to a row.

A table holds, for each key of a block, the place of its fact in a row and the function that reads its value. A case is
read by that table in one pass; a reader that refuses a value raises. Only then is the case walked again, by
`tirerules.case.refusing`, which tells every problem with its path and its cure.
"""

from __future__ import annotations

from tirerules.case.checks import consistent
from tirerules.case.row import INJURY, REPAIR, TIRE, CaseRow, Layout
from tirerules.packs.rule import READINGS
from tirerules.quantities import READINGS as TEXTS
from tirerules.quantities import Measured, measure
from tirerules.vocabulary import ACTIVITIES, FACTS, FINDINGS, METHODS, ZONE_EVIDENCE, Fact, Kind

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from typing import Any

    from tirerules.case.row import Row
    from tirerules.case.views import RepairUnit

    #: Key of a block -> the place of its fact in a row, and what reads its value.
    Keys = Mapping[str, tuple[int, Callable[[Any], Any]]]

__all__ = ["BLOCKS", "KEYS", "LISTS", "Refused", "case_row", "day", "reader_of"]


class Refused(ValueError):  # noqa: N818  # it never leaves this folder
    """A value is none of its fact; `tirerules.case.refusing` says why."""


def _flag(value: Any) -> bool:
    if value is True or value is False:
        return value
    raise Refused


def _count(value: Any) -> int:
    if type(value) is int and value >= 0:
        return value
    raise Refused


def _sidewall_text(read: str) -> Callable[[Any], str]:
    def check(value: Any) -> str:
        if type(value) is not str:
            raise Refused
        from tirerules import scales

        getattr(scales, read)(value)
        if not value.isascii():
            value.encode("utf-8")  # half of a character, which no record can keep
        return value

    return check


def _grid(value: Any) -> tuple[tuple[Measured, ...], ...]:
    rows = tuple(tuple(measure(each) for each in place) for place in value)
    if not rows or not rows[0] or len({len(row) for row in rows}) > 1:
        raise Refused
    return rows


def reader_of(fact: Fact) -> Callable[[Any], Any]:
    """Return what reads the JSON value of a fact for a row. It raises ValueError, KeyError or TypeError."""
    match fact.kind:
        case Kind.QUANTITY:
            assert fact.dimension is not None  # INVARIANT: every quantity has a dimension
            return TEXTS[fact.dimension].__getitem__
        case Kind.FLAG:
            return _flag
        case Kind.COUNT:
            return _count
        case Kind.TEXT:
            return _sidewall_text({"size": "size", "date_code": "date_code", "clock": "position"}[fact.key])
        case Kind.GRID:
            return _grid
        case _:
            return {word: word for word in fact.values}.__getitem__


def _keys(group: str, layout: Layout) -> Keys:
    return {
        fact.key: (layout[fact.name], reader_of(fact))
        for fact in FACTS.values()
        if fact.group == group and not fact.derived
    }


#: Block of the whole tire -> its keys.
BLOCKS: Mapping[str, Keys] = {
    group: _keys(group, TIRE) for group in ("tire", "vehicle", "axle", "shop", "road", "sale", "repairs")
}
#: List -> the keys of its blocks, and the layout of their rows.
LISTS: Mapping[str, tuple[Keys, Layout]] = {
    "injuries": (_keys("injury", INJURY), INJURY),
    "earlier_repairs": (_keys("repair", REPAIR), REPAIR),
}
_WORDS: Mapping[str, Mapping[Any, str]] = {
    "activity": {str(word): str(word) for word in ACTIVITIES},
    "method": {None: None, **{word: word for word in METHODS}},  # type: ignore[dict-item]  # None stays None
    "reading": {None: READINGS[0], "": READINGS[0], **{word: word for word in READINGS}},
    "zones": {None: ZONE_EVIDENCE[0], "": ZONE_EVIDENCE[0], **{word: word for word in ZONE_EVIDENCE}},
}
_OTHERS = frozenset(
    {"jurisdictions", "activity", "on", *LISTS, "findings", "method", "repair_unit", "reading", "zones"}
)
#: Every key of a case, in the order in which it is written.
KEYS = (
    *("jurisdictions", "activity", "on", *list(BLOCKS)[:-1], "injuries", "earlier_repairs", "repairs", "findings"),
    *("method", "repair_unit", "reading", "zones"),
)
_KNOWN_FINDINGS = frozenset(FINDINGS)
_AT_FINDINGS, _AT_METHOD = TIRE["findings"], TIRE["method"]
_DAYS_OF_MONTH = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def case_row(said: Any) -> CaseRow:
    """Read a case from its JSON form. Raises CaseError with every problem found.

    >>> case_row({"jurisdictions": ["US-SC"], "activity": "road-use"}).codes
    ('US-SC',)
    """
    try:
        row = _read(said)
    except (ValueError, KeyError, TypeError, AttributeError):
        row = None
    if row is None or not consistent(row):
        from tirerules.case.refusing import refused

        return refused(said)
    return row


def _read(said: Any) -> CaseRow:
    tire: list[Any] = [None] * len(TIRE)
    for key, block in said.items():
        keys = BLOCKS.get(key)
        if keys is not None:
            if block is not None:
                for name, value in block.items():
                    place, read = keys[name]
                    if value is not None:
                        tire[place] = read(value)
        elif key not in _OTHERS:
            raise Refused
    get = said.get
    codes = get("jurisdictions")
    if type(codes) is not list:
        raise Refused
    for code in codes:
        if type(code) is not str:
            raise Refused
    tire[_AT_METHOD] = _WORDS["method"][get("method")]
    findings = get("findings")
    if findings is not None:
        if type(findings) is not list:
            raise Refused
        found = frozenset(findings)
        if not found <= _KNOWN_FINDINGS:
            raise Refused
        tire[_AT_FINDINGS] = found
    on = get("on")
    unit = get("repair_unit")
    return CaseRow(
        tuple(codes),
        _WORDS["activity"][said["activity"]],
        None if on is None else _DAYS[on],
        tuple(tire),
        _rows("injuries", get("injuries")),
        _rows("earlier_repairs", get("earlier_repairs")),
        None if not unit else _unit(unit),
        _WORDS["reading"][get("reading")],
        _WORDS["zones"][get("zones")],
    )


def _rows(name: str, said: Any) -> tuple[Row, ...] | None:
    if said is None:
        return None
    if type(said) is not list:
        raise Refused
    keys, layout = LISTS[name]
    rows = []
    for block in said:
        row: list[Any] = [None] * len(layout)
        for key, value in block.items():
            place, read = keys[key]
            if value is not None:
                row[place] = read(value)
        rows.append(tuple(row))
    return tuple(rows)


def day(said: Any) -> str:
    """Return a day of the calendar as it is written, YYYY-MM-DD."""
    if type(said) is not str or len(said) != 10 or not said.isascii() or said[4] != "-" or said[7] != "-":
        raise Refused
    year, month, day = said[:4], said[5:7], said[8:]
    if not (year.isdigit() and month.isdigit() and day.isdigit()) or year == "0000" or not 1 <= int(month) <= 12:
        raise Refused
    leap = month == "02" and int(year) % 4 == 0 and (int(year) % 100 != 0 or int(year) % 400 == 0)
    if not 1 <= int(day) <= _DAYS_OF_MONTH[int(month) - 1] + leap:
        raise Refused
    return said


class _Days(dict):  # type: ignore[type-arg]  # day as it is written -> the same, once it is known to be one
    """Days of the calendar that were read. INVARIANT: at most `BOUND` are kept, then all are forgotten."""

    BOUND = 20_000

    def __missing__(self, said: Any) -> str:
        if len(self) >= self.BOUND:
            self.clear()
        read = self[said] = day(said)
        return read


_DAYS = _Days()


def _unit(said: Any) -> RepairUnit:
    from tirerules.case.views import RepairUnit
    from tirerules.quantities import quantity
    from tirerules.vocabulary import Dimension

    if not said.keys() <= {"method", "rated_angle", "document"}:
        raise Refused
    document = said.get("document")
    if document is not None and type(document) is not str:
        raise Refused
    if document:
        document.encode("utf-8")
    method = said["method"]
    if method not in METHODS:
        raise Refused
    return RepairUnit(method, quantity(said["rated_angle"], Dimension.ANGLE), document)
