"""What is asked: one tire, its injuries and earlier repairs, where, when and for which activity.

A case is immutable and complete when made: every value is checked against the vocabulary on the way in. None means
unknown, everywhere. Reading a case from JSON is the business of `tirerules.record`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, fields
from datetime import date
from functools import lru_cache
from operator import attrgetter
from typing import Any, ClassVar, Final

from tirerules.errors import CaseError, Problem, QuantityError
from tirerules.everyday import offers
from tirerules.packs.rule import READINGS
from tirerules.quantities import EXAMPLES, Measured, Quantity
from tirerules.scales import age_on, date_code, position, size
from tirerules.stated import INJURY, REPAIR, WHOLE, Stated, ends
from tirerules.vocabulary import FACTS, FINDINGS, METHODS, ZONE_EVIDENCE, Activity, Fact, Kind, field_of

__all__ = [
    "Axle",
    "Case",
    "EarlierRepair",
    "Injury",
    "RepairUnit",
    "Repairs",
    "Road",
    "Sale",
    "Shop",
    "Tire",
    "Vehicle",
    "problem_with",
    "word_problems",
]


_ABOVE_240: Final = FACTS["tire.speed_symbol"].values.index("ZR")
#: How the text of a fact is read, by its key; reading it proves that it can be read.
_READERS: Final[Mapping[str, Callable[[str], object]]] = {"size": size, "date_code": date_code, "clock": position}


def problem_with(fact: Fact, value: Any) -> tuple[str, str] | None:
    """Return what is wrong with `value` for `fact` and what to write instead, or None."""
    match fact.kind:
        case Kind.QUANTITY:
            assert fact.dimension is not None  # INVARIANT: every quantity has a dimension
            if isinstance(value, Measured) and value.dimension is fact.dimension:
                return None
            return f"{fact.name} must be a measured {fact.dimension}", f"write {EXAMPLES[fact.dimension]}"
        case Kind.FLAG:
            return None if isinstance(value, bool) else (f"{fact.name} must be true or false", "")
        case Kind.COUNT:
            whole = isinstance(value, int) and not isinstance(value, bool) and value >= 0
            return None if whole else (f"{fact.name} must be a whole number, 0 or more", "")
        case Kind.GRID:
            return _problem_with_grid(fact, value)
        case Kind.TEXT:
            return _problem_with_text(fact, value)
        case _:
            return _problem_with_word(fact.name, value, fact.values)


def _problem_with_text(fact: Fact, value: Any) -> tuple[str, str] | None:
    if not isinstance(value, str):
        return f"{fact.name} must be text", ""
    try:
        _READERS[fact.key](value)
    except QuantityError as error:
        return f"{error.text!r} {error.reason}", error.hint
    return None


def _problem_with_grid(fact: Fact, value: Any) -> tuple[str, str] | None:
    rows = value if isinstance(value, tuple) else ()
    if not all(isinstance(each, Measured) and each.dimension is fact.dimension for row in rows for each in row):
        return f"{fact.name} must hold measured depths", "write one list of depths for each place around the tire"
    if not rows or not rows[0] or len({len(row) for row in rows}) > 1:
        return f"{fact.name} must have a reading for every groove at every place", "measure the missing ones"
    return None


def _problem_with_word(name: str, value: Any, words: tuple[str, ...]) -> tuple[str, str] | None:
    if isinstance(value, str) and value in words:
        return None
    meant = offers(value, words) if isinstance(value, str) else ()
    hint = f"did you mean {' or '.join(meant)}?" if meant else f"one of: {', '.join(words)}"
    return f"{value!r} is no {name}", hint


def _refuse(path: str, found: tuple[str, str] | None) -> Iterator[Problem]:
    if found is not None:
        yield Problem("case-value", found[0], found[1], path=path)


@dataclass(frozen=True, slots=True)
class _Group:
    """A group of facts; a field `key` is the fact `group.key` (a trailing underscore is Python's, not the trade's)."""

    group: ClassVar[str] = ""

    def __post_init__(self) -> None:
        problems = [
            problem for name, value in self.known() for problem in _refuse(name, problem_with(FACTS[name], value))
        ]
        if problems:
            raise CaseError(problems)

    def known(self) -> Iterator[tuple[str, Any]]:
        """Yield the name and value of every fact that is known."""
        for each in fields(self):
            name = f"{self.group}.{each.name.rstrip('_')}"
            if (value := getattr(self, each.name)) is not None:
                yield name, value


@dataclass(frozen=True, slots=True)
class Tire(_Group):
    """The tire."""

    group: ClassVar[str] = "tire"
    class_: str | None = None
    size: str | None = None
    date_code: str | None = None
    load_range: str | None = None
    speed_symbol: str | None = None
    construction: str | None = None
    body_ply: str | None = None
    sealant_layer: bool | None = None
    run_flat: bool | None = None
    foam_liner: bool | None = None
    retread: bool | None = None
    regrooved: bool | None = None
    same_vehicle: bool | None = None
    section_width: Measured | None = None
    tread_width: Measured | None = None
    belt_width: Measured | None = None
    thickness: Measured | None = None
    outside_diameter: Measured | None = None
    tread_depth: Measured | None = None
    tread_grid: tuple[tuple[Measured, ...], ...] | None = None
    crack_depth: Measured | None = None
    cracks_reach_plies: bool | None = None
    age: Measured | None = None


@dataclass(frozen=True, slots=True)
class Vehicle(_Group):
    """The vehicle the tire is for."""

    group: ClassVar[str] = "vehicle"
    kind: str | None = None
    use: str | None = None
    gvwr: Measured | None = None
    seats: int | None = None
    commercial_motor_vehicle: bool | None = None


@dataclass(frozen=True, slots=True)
class Axle(_Group):
    """Where on the vehicle the tire goes."""

    group: ClassVar[str] = "axle"
    steer: bool | None = None


@dataclass(frozen=True, slots=True)
class Shop(_Group):
    """Who does the work."""

    group: ClassVar[str] = "shop"
    full_service: bool | None = None


@dataclass(frozen=True, slots=True)
class Road(_Group):
    """Where the tire is driven."""

    group: ClassVar[str] = "road"
    snow_restriction: bool | None = None


@dataclass(frozen=True, slots=True)
class Sale(_Group):
    """How the tire is sold."""

    group: ClassVar[str] = "sale"
    for_retreading: bool | None = None


@dataclass(frozen=True, slots=True)
class Injury(_Group):
    """One injury to be repaired now."""

    group: ClassVar[str] = "injury"
    kind: str | None = None
    diameter: Measured | None = None
    surface_diameter: Measured | None = None
    length: Measured | None = None
    angle: Measured | None = None
    leans: str | None = None
    zone: str | None = None
    from_centerline: Measured | None = None
    side: str | None = None
    clock: str | None = None
    unit_length: Measured | None = None
    unit_width: Measured | None = None


@dataclass(frozen=True, slots=True)
class EarlierRepair(_Group):
    """One repair the tire already carries."""

    group: ClassVar[str] = "repair"
    diameter: Measured | None = None
    zone: str | None = None
    from_centerline: Measured | None = None
    side: str | None = None
    clock: str | None = None
    unit_length: Measured | None = None
    unit_width: Measured | None = None
    method: str | None = None


@dataclass(frozen=True, slots=True)
class Repairs(_Group):
    """All repairs of the tire together, the new ones included."""

    group: ClassVar[str] = "repairs"
    count: int | None = None
    spacing: Measured | None = None
    opposed: bool | None = None
    overlap: bool | None = None


@dataclass(frozen=True, slots=True)
class RepairUnit:
    """The repair unit at hand: the angle its maker rates it for, and the document that says so."""

    method: str
    rated_angle: Quantity
    document: str | None = None

    @property
    def documented(self) -> bool:
        """Whether a document backs the rating."""
        return bool(self.document and self.document.strip())


def word_problems(
    activity: str,
    reading: str,
    method: str | None,
    unit: RepairUnit | None,
    findings: frozenset[str] | None,
    zones: str,
) -> Iterator[Problem]:
    """Yield what is outside the vocabulary among the words that stand on the case itself."""
    yield from _refuse("activity", _problem_with_word("activity", activity, tuple(Activity)))
    yield from _refuse("reading", _problem_with_word("reading", reading, READINGS))
    yield from _refuse("zones", _problem_with_word("zones", zones, ZONE_EVIDENCE))
    for path, word in (("method", method), ("repair_unit.method", unit and unit.method)):
        if word is not None:
            yield from _refuse(path, _problem_with_word("repair method", word, METHODS))
    for finding in sorted(findings or ()):
        yield from _refuse("findings", _problem_with_word("finding", finding, FINDINGS))


def _in_row(value: Any) -> Any:
    """Return how a value stands in a row (see `tirerules.stated`)."""
    if isinstance(value, Measured):
        value = ends(value.low.exact, value.high.exact)
    return _same(value)


@lru_cache(maxsize=10_000)
def _same(value: Any) -> Any:
    """Return a value; of equal ones the same, which takes less memory and is told from others at a glance."""
    return value


def _rows(
    read: Callable[[_Group], tuple[Any, ...]], listed: tuple[_Group, ...] | None
) -> tuple[tuple[Any, ...], ...] | None:
    return None if listed is None else tuple([_row(read(each)) for each in listed])


def _row(values: tuple[Any, ...]) -> tuple[Any, ...]:
    return tuple([None if value is None else _in_row(value) for value in values])


_read_injury: Final = attrgetter(*INJURY.fields)
_read_repair: Final = attrgetter(*REPAIR.fields)
_read_whole: Final = attrgetter(*(f"{fact.partition('.')[0]}.{field_of(fact)}" for fact in WHOLE))


class _Reading:
    """What holds a case as rows, which are made when they are first asked for."""

    __slots__ = ("_stated",)
    _stated: Stated


@dataclass(frozen=True, slots=True)
class Case(_Reading):
    """One question.

    `injuries`, `earlier_repairs` and `findings` are None when they were not recorded and empty when there are none.
    `on` None asks for today. `zones` says whether a zone that somebody named is enough (``as-named``), or whether one
    whose place was not measured counts as unknown (``measured``). Raises CaseError for a value outside the vocabulary.
    """

    jurisdictions: tuple[str, ...]
    activity: str
    on: date | None = None
    tire: Tire = field(default_factory=Tire)
    vehicle: Vehicle = field(default_factory=Vehicle)
    axle: Axle = field(default_factory=Axle)
    shop: Shop = field(default_factory=Shop)
    road: Road = field(default_factory=Road)
    sale: Sale = field(default_factory=Sale)
    injuries: tuple[Injury, ...] | None = None
    earlier_repairs: tuple[EarlierRepair, ...] | None = None
    repairs: Repairs = field(default_factory=Repairs)
    findings: frozenset[str] | None = None
    method: str | None = None
    repair_unit: RepairUnit | None = None
    reading: str = READINGS[0]
    zones: str = ZONE_EVIDENCE[0]

    def __post_init__(self) -> None:
        problems = list(self._problems())
        if problems:
            raise CaseError(problems)

    def _problems(self) -> Iterator[Problem]:
        if not self.jurisdictions:
            yield Problem(
                "case-place", "no jurisdiction is named", "name at least one, such as US-SC", path="jurisdictions"
            )
        yield from word_problems(self.activity, self.reading, self.method, self.repair_unit, self.findings, self.zones)
        if self.activity == Activity.REPAIR and self.injuries == ():
            yield Problem(
                "case-injuries", "a repair without an injury", "name the injuries to be repaired", path="injuries"
            )
        yield from self._contradictions()
        cracked = self.findings is None or "weather-cracking" in self.findings
        if self.tire.cracks_reach_plies and not cracked:
            message, hint = (
                "cracks reach the plies, but no cracking is among the findings",
                "add weather-cracking to findings",
            )
            yield Problem("case-crack", message, hint, path="tire.cracks_reach_plies")
        crack = self.tire.crack_depth
        if crack is not None and crack.high.exact and not cracked:
            message, hint = (
                "a crack depth is given, but no cracking is among the findings",
                "add weather-cracking to findings",
            )
            yield Problem("case-crack", message, hint, path="tire.crack_depth")
        least = len(self.earlier_repairs or ())
        if self.activity == Activity.REPAIR:
            least += 1 if self.injuries is None else len(self.injuries)
        if self.repairs.count is not None and self.repairs.count < least:
            message = f"the case speaks of {least} repairs but says {self.repairs.count}"
            yield Problem("case-count", message, "mend repairs.count or leave it out", path="repairs.count")
        if self.tire.date_code is not None and self.on is not None:
            try:
                age_on(self.tire.date_code, self.on)
            except QuantityError as error:
                yield Problem("case-value", f"{error.text!r} {error.reason}", error.hint, path="tire.date_code")

    def _contradictions(self) -> Iterator[Problem]:
        """Yield where the case and the designation on the sidewall say different things."""
        if self.tire.size is None:
            return
        read = size(self.tire.size)
        for key in ("load_range", "speed_symbol", "construction"):
            stated, printed = getattr(self.tire, key), getattr(read, key)
            # ZR in a designation says "above 240 km/h"; the service description, or the case, may say how far above.
            if printed == "ZR" and stated in FACTS["tire.speed_symbol"].values[_ABOVE_240:]:
                continue
            if None not in (stated, printed) and stated != printed:
                message = f"the size says {printed}, the case says {stated}"
                yield Problem("case-size", message, "look at the sidewall again", path=f"tire.{key}")

    @property
    def stated(self) -> Stated:
        """The facts as rows; no part of the value, since they follow from it."""
        try:
            return self._stated
        except AttributeError:
            stated = Stated(
                _same((self.jurisdictions, self.activity, self.reading)),
                _in_row(self.on),
                _row(_read_whole(self)),
                _rows(_read_injury, self.injuries),
                _rows(_read_repair, self.earlier_repairs),
                _in_row(self.findings),
                self.method,
                self.repair_unit is not None,
                self.zones != ZONE_EVIDENCE[0],
            )
            object.__setattr__(self, "_stated", stated)
            return stated

    @property
    def repair_total(self) -> int | None:
        """How many repairs the tire will carry by the lists of the case; None where a list is not recorded."""
        if self.earlier_repairs is None:
            return None
        if self.activity != Activity.REPAIR:
            return len(self.earlier_repairs)
        return None if self.injuries is None else len(self.earlier_repairs) + len(self.injuries)

    @property
    def single(self) -> bool:
        """Whether the tire surely carries at most one repair, so that none can lie near another."""
        return self.repair_total is not None and max(self.repair_total, self.repairs.count or 0) <= 1

    @property
    def groups(self) -> tuple[_Group, ...]:
        """The groups of facts that hold for the whole tire."""
        return (self.tire, self.vehicle, self.axle, self.shop, self.road, self.sale, self.repairs)
