"""Cases as typed values: what a program builds, and what a decision shows.

Every value is checked against the vocabulary when it is made. A typed case holds no second copy of the facts' meaning:
`Case.row` is what is decided, and `Case.of_row` shows a row that was read from JSON.
"""

from __future__ import annotations

from datetime import date
from operator import attrgetter

from tirerules.case.checks import contradictions
from tirerules.case.refusing import problem_with, word_problems
from tirerules.case.row import INJURY, REPAIR, TIRE, CaseRow, Layout
from tirerules.errors import CaseError, Problem
from tirerules.packs.rule import READINGS
from tirerules.quantities import Measured, Quantity
from tirerules.values import Value, field, fields
from tirerules.vocabulary import FACTS, ZONE_EVIDENCE, field_of

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from typing import Any, ClassVar, Self

    from tirerules.case.row import Row

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
]


class Group(Value):
    """A group of facts; a field `key` is the fact `group.key` (a trailing underscore is Python's, not the trade's)."""

    group: ClassVar[str] = ""

    def __post_init__(self) -> None:
        problems = [
            Problem("case-value", *found, path=name)
            for name, value in self.known()
            if (found := problem_with(FACTS[name], value)) is not None
        ]
        if problems:
            raise CaseError(problems)

    def known(self) -> Iterator[tuple[str, Any]]:
        """Yield the name and value of every fact that is known."""
        for name in fields(type(self)):
            if (value := getattr(self, name)) is not None:
                yield f"{self.group}.{name.rstrip('_')}", value

    @classmethod
    def of_row(cls, row: Row, layout: Layout) -> Self:
        """Return the group as a row has it, whose values were checked when they were read."""
        made = object.__new__(cls)
        for name in fields(cls):
            object.__setattr__(made, name, row[layout[f"{cls.group}.{name.rstrip('_')}"]])
        return made


class Tire(Group):
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


class Vehicle(Group):
    """The vehicle the tire is for."""

    group: ClassVar[str] = "vehicle"
    kind: str | None = None
    use: str | None = None
    gvwr: Measured | None = None
    seats: int | None = None
    commercial_motor_vehicle: bool | None = None


class Axle(Group):
    """Where on the vehicle the tire goes."""

    group: ClassVar[str] = "axle"
    steer: bool | None = None


class Shop(Group):
    """Who does the work."""

    group: ClassVar[str] = "shop"
    full_service: bool | None = None


class Road(Group):
    """Where the tire is driven."""

    group: ClassVar[str] = "road"
    snow_restriction: bool | None = None


class Sale(Group):
    """How the tire is sold."""

    group: ClassVar[str] = "sale"
    for_retreading: bool | None = None


class Injury(Group):
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


class EarlierRepair(Group):
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


class Repairs(Group):
    """All repairs of the tire together, the new ones included."""

    group: ClassVar[str] = "repairs"
    count: int | None = None
    spacing: Measured | None = None
    opposed: bool | None = None
    overlap: bool | None = None


class RepairUnit(Value):
    """The repair unit at hand: the angle its maker rates it for, and the document that says so."""

    method: str
    rated_angle: Quantity
    document: str | None = None

    @property
    def documented(self) -> bool:
        """Whether a document backs the rating."""
        return bool(self.document and self.document.strip())


#: The groups of the whole tire, by the field of a case that holds each.
_GROUPS: dict[str, type[Group]] = {
    kind.group: kind
    for kind in (Tire, Vehicle, Axle, Shop, Road, Sale, Repairs)  # in the order of the JSON form
}


class Case(Value):
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
        words = (self.reading, self.method, self.repair_unit, self.findings, self.zones)
        problems = [*word_problems(self.activity, *words), *contradictions(self.row)]
        if problems:
            raise CaseError(problems)

    @property
    def row(self) -> CaseRow:
        """The case as it is decided; it follows from the value and is no part of it."""
        return CaseRow(
            self.jurisdictions,
            str(self.activity),
            None if self.on is None else self.on.isoformat(),
            _read_tire(self),
            None if self.injuries is None else tuple(map(_read_injury, self.injuries)),
            None if self.earlier_repairs is None else tuple(map(_read_repair, self.earlier_repairs)),
            self.repair_unit,
            self.reading,
            self.zones,
        )

    @classmethod
    def of_row(cls, row: CaseRow) -> Case:
        """Return what a row states, whose values were checked when it was read."""
        made = object.__new__(cls)
        injuries, repairs = row.injuries, row.repairs
        said: dict[str, Any] = {
            "jurisdictions": row.codes,
            "activity": row.activity,
            "on": row.on and date.fromisoformat(row.on),
            **{group: kind.of_row(row.tire, TIRE) for group, kind in _GROUPS.items()},
            "injuries": injuries and tuple(Injury.of_row(each, INJURY) for each in injuries),
            "earlier_repairs": repairs and tuple(EarlierRepair.of_row(each, REPAIR) for each in repairs),
            "findings": row.findings,
            "method": row.method,
            "repair_unit": row.unit,
            "reading": row.reading,
            "zones": row.zones,
        }
        for name, value in said.items():
            object.__setattr__(made, name, value)
        return made


def _reader(layout: Layout, of: str | None = None) -> Callable[[Any], Row]:
    """Return what reads a row off typed values; derived facts, which nobody states, stay unknown."""
    places: list[tuple[int, Callable[[Any], Any]]] = []
    for fact, place in layout.items():
        if FACTS[fact].derived or fact in ("injuries", "earlier_repairs"):
            continue
        name = field_of(fact)
        path = name if of or "." not in fact else f"{fact.partition('.')[0]}.{name}"
        places.append((place, attrgetter(path)))

    def read(value: Any) -> Row:
        row: list[Any] = [None] * len(layout)
        for place, get in places:
            row[place] = get(value)
        return tuple(row)

    return read


_read_tire, _read_injury, _read_repair = _reader(TIRE), _reader(INJURY, "injury"), _reader(REPAIR, "repair")
