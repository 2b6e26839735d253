"""A case in its JSON form, read without building typed values: the short way from a point-of-sale system to the bits.

It takes only what is well formed and states what its rules read. For everything else it answers None, and the full
reader (`tirerules.record.cases`) reads the case or says what is wrong with it. Where it answers, the two never differ.
"""

from __future__ import annotations

from tirerules.quantities import FACTORS, plain, span
from tirerules.stated import INJURY, REPAIR, WHOLE, Places, Stated
from tirerules.vocabulary import ACTIVITIES, FINDINGS, METHODS, ZONE_EVIDENCE, facts_of

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from typing import Any

    from tirerules.stated import Row
    from tirerules.vocabulary import Fact

    #: Key -> its place in a row, and what reads its value.
    _Keys = dict[str, tuple[int, Callable[[Any], Any]]]

__all__ = ["BLOCKS", "KEYS_OF_INJURY", "KEYS_OF_REPAIR", "PlainCase", "block_of", "plain_case"]

READINGS = ("strict", "as-enacted")
#: Facts that this reader leaves to the full one: most are worked out, all are seldom stated.
_LEFT = frozenset(
    {
        "tire.date_code",
        "tire.tread_grid",
        "injury.surface_diameter",
        "injury.from_centerline",
        "injury.clock",
        "injury.unit_length",
        "injury.unit_width",
        "repair.clock",
        "repair.unit_length",
        "repair.unit_width",
    }
)
#: With one of these, a band may follow from the tire: then the zone must be named.
_MEASURES = tuple(WHOLE[f"tire.{key}"] for key in ("size", "section_width", "tread_width", "belt_width"))
_SIZE, _CRACK, _TO_PLIES, _COUNT = (
    WHOLE[fact] for fact in ("tire.size", "tire.crack_depth", "tire.cracks_reach_plies", "repairs.count")
)
_ZONE = INJURY["injury.zone"]
_MOST_REMEMBERED = 20_000
_DAYS_OF_MONTH = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


class _Left(Exception):  # noqa: N818  # it is no error: the full reader goes on
    """The full reader must read this."""


class _Texts(dict):  # type: ignore[type-arg]  # text -> the same text, once it is known to be a quantity
    """The texts of one dimension that were read, each as a typed case would keep it."""

    def __init__(self, dimension: str) -> None:
        super().__init__()
        self.dimension = dimension

    def __missing__(self, text: object) -> str:
        read = span(text) if isinstance(text, str) and plain(text) == text else None
        if read is None or FACTORS[read[2]][0] != self.dimension:
            raise _Left
        if len(self) > _MOST_REMEMBERED:
            self.clear()
        self[text] = text
        return str(text)


_TEXTS = {dimension: _Texts(dimension) for dimension in ("length", "angle", "mass", "time")}


def _flag(value: object) -> bool:
    if value is True or value is False:
        return bool(value)
    raise _Left


def _count(value: object) -> int:
    if type(value) is int and value >= 0:
        return value
    raise _Left


def _text(value: object) -> str:
    if type(value) is str:
        return value
    raise _Left


def _leave(value: object) -> object:
    raise _Left


def _reader_of(row: Fact) -> Callable[[Any], Any]:
    name, kind, dimension, values = row.name, row.kind, row.dimension, row.values
    if name in _LEFT:
        return _leave
    if dimension is not None:
        return _TEXTS[dimension].__getitem__
    if kind == "text":
        return _text
    return {"flag": _flag, "count": _count}.get(kind) or {word: word for word in values}.__getitem__


def _keys_of(group: str, places: Places) -> _Keys:
    return {fact.key: (places[fact.name], _reader_of(fact)) for fact in facts_of(group)}


def _fill(row: list[Any], keys: _Keys, block: object) -> None:
    """Put the facts that a block states into a row. Raises _Left, KeyError or TypeError for what must be left."""
    if block is None:
        return
    if type(block) is not dict:
        raise _Left
    for key, value in block.items():
        place, read = keys[key]
        if value is not None:
            row[place] = read(value)


_GROUPS = {group: _keys_of(group, WHOLE) for group in ("tire", "vehicle", "axle", "shop", "road", "sale", "repairs")}
_INJURY, _REPAIR = _keys_of("injury", INJURY), _keys_of("repair", REPAIR)
_ACTIVITIES, _METHODS, _FINDINGS = frozenset(ACTIVITIES), frozenset(METHODS), frozenset(FINDINGS)
_OTHERS = frozenset(
    {
        *("jurisdictions", "activity", "on", "injuries", "earlier_repairs", "findings", "method", "repair_unit"),
        *("reading", "zones"),
    }
)


class PlainCase:
    """A case as `tirerules.case.Case` has it, with quantities as text. Nothing of what was read is kept but values."""

    __slots__ = (
        "activity",
        "jurisdictions",
        "method",
        "on",
        "reading",
        "stated",
        "worked_out",
    )
    repair_unit = None

    def __init__(self, said: Mapping[str, Any]) -> None:
        """Read a case. Raises _Left, KeyError or TypeError for what must be left to the full reader."""
        row: list[Any] = [None] * len(WHOLE)
        for key, block in said.items():
            keys = _GROUPS.get(key)
            if keys is not None:
                _fill(row, keys, block)
            elif key not in _OTHERS:
                raise _Left
        self.jurisdictions = _places(said["jurisdictions"])
        self.activity = _one_of(_ACTIVITIES, said["activity"])
        reading = said.get("reading")
        self.reading = READINGS[0] if reading is None or reading == "" else _one_of(READINGS, reading)
        self.on = _day(said.get("on"))
        self.method = None if said.get("method") is None else _one_of(_METHODS, said["method"])
        self.stated = Stated(
            (self.jurisdictions, self.activity, self.reading),
            self.on,
            tuple(row),
            _listed(_INJURY, INJURY, said.get("injuries")),
            _listed(_REPAIR, REPAIR, said.get("earlier_repairs")),
            _findings(said.get("findings")),
            self.method,
        )
        if said.get("repair_unit") is not None or said.get("zones") not in (None, ZONE_EVIDENCE[0]):
            raise _Left
        self._whole()
        self.worked_out = _sidewall(self.stated.whole)

    def _whole(self) -> None:
        """Leave what contradicts itself, and what has a figure of this tire's own."""
        stated, row = self.stated, self.stated.whole
        repairing = self.activity == "repair"
        if repairing and stated.injuries == ():
            raise _Left
        if row[_COUNT] is not None:
            least = len(stated.repairs or ())
            if repairing:
                least += 1 if stated.injuries is None else len(stated.injuries)
            if row[_COUNT] < least:
                raise _Left
        if (
            (row[_CRACK] is not None or row[_TO_PLIES])
            and stated.findings is not None
            and "weather-cracking" not in stated.findings
        ):
            raise _Left
        if stated.injuries is None or any(injury[_ZONE] is None for injury in stated.injuries):
            for place in _MEASURES:
                if row[place] is not None:
                    raise _Left

    @property
    def several(self) -> bool:
        """Whether there is more than one injury, or more than one earlier repair."""
        return len(self.stated.repairs or ()) > 1 or len(self.stated.injuries or ()) > 1

    def said(self, on: str | None = None) -> dict[str, Any]:
        """Return the case in its JSON form, without what is unknown; for the day `on` where it names none."""
        case: dict[str, Any] = {"jurisdictions": list(self.jurisdictions), "activity": self.activity}
        if (day := self.on or on) is not None:
            case["on"] = day
        for group, keys, places in BLOCKS:
            block = block_of(keys, self.stated.whole[places])
            if block:
                case[group] = block
        for name, keys, rows in (
            ("injuries", KEYS_OF_INJURY, self.stated.injuries),
            ("earlier_repairs", KEYS_OF_REPAIR, self.stated.repairs),
        ):
            if rows is not None:
                case[name] = [block_of(keys, row) for row in rows]
        if self.stated.findings is not None:
            case["findings"] = sorted(self.stated.findings)
        if self.method is not None:
            case["method"] = self.method
        case["reading"] = self.reading
        return case


def block_of(keys: Iterable[str], row: Iterable[Any]) -> dict[str, Any]:
    """Return what a row states, by key."""
    return {key: value for key, value in zip(keys, row, strict=True) if value is not None}


def _blocks() -> list[tuple[str, list[str], slice]]:
    """Return each group of facts of the whole tire, its keys, and where they stand in a row, side by side."""
    facts = list(WHOLE)
    found = []
    for group in dict.fromkeys(fact.partition(".")[0] for fact in facts):
        own = [place for place, fact in enumerate(facts) if fact.partition(".")[0] == group]
        keys = [fact.partition(".")[2] for fact in facts[own[0] : own[-1] + 1]]
        found.append((group, keys, slice(own[0], own[-1] + 1)))
    return found


BLOCKS = _blocks()
#: Keys of what is listed, by place.
KEYS_OF_INJURY, KEYS_OF_REPAIR = ([fact.rpartition(".")[2] for fact in places] for places in (INJURY, REPAIR))


def _places(said: object) -> tuple[str, ...]:
    if type(said) is not list or not said or not all(type(code) is str for code in said):
        raise _Left
    return tuple(said)


def _one_of(known: Any, word: object) -> str:
    if type(word) is str and word in known:
        return word
    raise _Left


def _findings(said: object) -> frozenset[str] | None:
    if said is None:
        return None
    if type(said) is not list:
        raise _Left
    found = frozenset(said)
    if found <= _FINDINGS:
        return found
    raise _Left


def _listed(keys: _Keys, places: Places, said: object) -> tuple[Row, ...] | None:
    if said is None:
        return None
    if type(said) is not list or None in said:
        raise _Left
    rows = []
    for block in said:
        row: list[Any] = [None] * len(places)
        _fill(row, keys, block)
        rows.append(tuple(row))
    return tuple(rows)


def _day(said: object) -> str | None:
    """Return a day of the calendar as it is written, YYYY-MM-DD."""
    if said is None:
        return None
    if type(said) is not str or len(said) != 10 or not said.isascii() or said[4] != "-" or said[7] != "-":
        raise _Left
    year, month, day = said[:4], said[5:7], said[8:]
    if not (year.isdigit() and month.isdigit() and day.isdigit()) or year == "0000" or not 1 <= int(month) <= 12:
        raise _Left
    leap = month == "02" and int(year) % 4 == 0 and (int(year) % 100 != 0 or int(year) % 400 == 0)
    if not 1 <= int(day) <= _DAYS_OF_MONTH[int(month) - 1] + leap:
        raise _Left
    return said


_SIDEWALLS: dict[tuple[Any, ...], Mapping[str, Any] | None] = {}


_PRINTED = tuple(WHOLE[f"tire.{key}"] for key in ("size", "load_range", "speed_symbol", "construction"))


def _sidewall(row: Row) -> Mapping[str, Any]:
    """Return what follows from the size designation; leave one that cannot be read, or that says another thing."""
    if row[_SIZE] is None:
        return {}
    key = tuple([row[place] for place in _PRINTED])
    if key not in _SIDEWALLS:
        from tirerules.case import Case, Tire
        from tirerules.deciding.facts import sidewall
        from tirerules.errors import CaseError

        if len(_SIDEWALLS) > _MOST_REMEMBERED:
            _SIDEWALLS.clear()
        try:
            typed = Tire(size=key[0], load_range=key[1], speed_symbol=key[2], construction=key[3])
            _SIDEWALLS[key] = sidewall(Case(("US",), "road-use", tire=typed))
        except CaseError:
            _SIDEWALLS[key] = None
    worked_out = _SIDEWALLS[key]
    if worked_out is None:
        raise _Left
    return worked_out


def plain_case(said: object) -> PlainCase | None:
    """Read a case; None for what only the full reader can read or refuse."""
    if type(said) is not dict:
        return None
    try:
        return PlainCase(said)
    except (_Left, KeyError, TypeError):
        return None
