"""Cases as typed values: what a program builds, and what a decision shows.

Every value is checked against the vocabulary when it is made. A typed case holds no second copy of the facts' meaning:
`Case.row` is what is decided, and `Case.of_row` shows a row that was read from JSON.
"""

from __future__ import annotations

from datetime import date
from operator import attrgetter

from tirerules.case.checks import contradictions
from tirerules.case.groups import Axle, EarlierRepair, Injury, Repairs, Road, Sale, Shop, Tire, Vehicle
from tirerules.case.refusing import word_problems
from tirerules.case.row import INJURY, REPAIR, TIRE, CaseRow, Layout
from tirerules.errors import CaseError
from tirerules.packs.rule import READINGS
from tirerules.quantities import Quantity
from tirerules.values import Value, field
from tirerules.vocabulary import FACTS, ZONE_EVIDENCE, field_of

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

    from tirerules.case.group import Group
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
