"""The one table of facts that a rule may test or limit, and of the words that stand beside them.

Schemas, conditions, the case reader, the questions and the command line all read this table; nothing else in the
library lists facts. It knows nothing of packs, cases or deciding.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from tirerules import words
from tirerules.words import (
    CURED_BY_REPAIR,
    FINDINGS,
    IMPLIES,
    IMPROPER_METHODS,
    METHODS,
    PAIRED,
    REPAIR_METHODS,
)

__all__ = [
    "ACTIVITIES",
    "AUTHORITIES",
    "CURED_BY_REPAIR",
    "EVIDENCE",
    "FACTS",
    "FINDINGS",
    "GROOVES",
    "IMPROPER_METHODS",
    "LAW",
    "METHODS",
    "PAIRED",
    "PLACES",
    "REPAIR_METHODS",
    "STEPS",
    "Activity",
    "Dimension",
    "Fact",
    "Kind",
    "answering",
    "facts_of",
]


class Kind(StrEnum):
    """What values a fact takes."""

    QUANTITY = "quantity"  #: an exact number with a unit, possibly with a measurement width
    COUNT = "count"  #: a whole number
    FLAG = "flag"  #: yes or no
    CHOICE = "choice"  #: one of a list
    SCALE = "scale"  #: one of a list that has an order, lowest first
    SET = "set"  #: any number of a list
    TEXT = "text"  #: carried with the case, never tested by a rule
    GRID = "grid"  #: readings by place around the tire and groove across it; laws count them in different ways
    RECORDS = "records"  #: a list of injuries or repairs; named here so that its absence can be a question


class Dimension(StrEnum):
    """What a quantity measures, which fixes its exact base unit: mm, degree, kg, day."""

    LENGTH = "length"
    ANGLE = "angle"
    MASS = "mass"
    TIME = "time"


@dataclass(frozen=True, slots=True)
class Fact:
    """A named thing that a rule may test or limit, with the question that asks a person for it."""

    name: str
    kind: Kind
    question: str
    dimension: Dimension | None = None
    values: tuple[str, ...] = ()
    derived: bool = False  #: follows from other facts; a case never states it, a rule may limit it

    @property
    def group(self) -> str:
        """The part before the point: `tire` of `tire.class`; empty for a fact that stands alone."""
        return self.name.rpartition(".")[0]

    @property
    def key(self) -> str:
        """The part after the point, which is the key in a case."""
        return self.name.rpartition(".")[2]

    @property
    def limitable(self) -> bool:
        """Whether a rule may set a ceiling or a floor on it."""
        return self.kind in (Kind.QUANTITY, Kind.COUNT)

    @property
    def testable(self) -> bool:
        """Whether a condition may test it."""
        return self.kind not in (Kind.TEXT, Kind.RECORDS, Kind.GRID) and not self.derived

    @property
    def choosable(self) -> bool:
        """Whether its values can be permitted or prohibited one by one."""
        return self.kind in (Kind.CHOICE, Kind.SCALE, Kind.FLAG)

    @property
    def ordered(self) -> bool:
        """Whether a condition may ask for more or less of it."""
        return self.limitable or self.kind is Kind.SCALE


class Activity(StrEnum):
    """What is being done to or with the tire, because laws regulate acts."""

    REPAIR = "repair"
    USED_TIRE_INSTALLATION = "used-tire-installation"
    USED_TIRE_SALE = "used-tire-sale"
    TIRE_SALE = "tire-sale"
    VEHICLE_SALE = "vehicle-sale"
    ROAD_USE = "road-use"
    INSPECTION = "inspection"


ACTIVITIES: Final = tuple(Activity)


def answering(activity: Activity) -> tuple[Activity, ...]:
    """Return the activities whose rules a case answers to: its own first, then the implied ones."""
    return (activity, *map(Activity, IMPLIES.get(activity, ())))


AUTHORITIES: Final = (
    "statute",
    "regulation",
    "inspection-manual",
    "standard",
    "industry-practice",
    "maker",
    "company",
)
#: Authorities whose rules nobody but the lawmaker may loosen.
LAW: Final = frozenset({"statute", "regulation", "inspection-manual"})

#: How a value was checked, best first.
EVIDENCE: Final = ("text-read", "secondary", "memory")

#: What a rule may require to be done, and how a person is told.
STEPS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "demount": "Take the tire off the wheel.",
        "inspect-inside-and-outside": "Inspect the whole tire, inside and outside, before repairing it.",
        "measure-after-preparation": "Measure the injury across the channel, after the damage has been removed.",
        "fill-channel-and-seal-liner": "Fill the channel and seal the inner liner; one without the other is no repair.",
        "no-tube-instead": "Do not fit a tube in place of a repair.",
        "confirm-maker-policy": "Confirm the tire maker's policy on repair and on the speed rating afterwards.",
        "check-low-pressure-damage": "Check for damage from running at low pressure; it may not show on the outside.",
        "maker-standard": "Repair to the standards of the tire's maker.",
        "full-service-facility": "Have it done by a full-service repair facility.",
    }
)

#: Which grooves, and at how many places around the tire, must all be too shallow before a law calls the tire worn.
GROOVES: Final = ("any-one", "any-two", "two-adjacent", "center", "every")
PLACES: Final = (1, 2, 3)

_TABLE: Final = tuple(
    Fact(name, Kind(kind), question, None if dimension is None else Dimension(dimension), values, derived)
    for name, kind, question, dimension, values, derived in words.FACTS
)

#: Every fact by name, in the order in which a person would be asked.
FACTS: Final[Mapping[str, Fact]] = MappingProxyType({fact.name: fact for fact in _TABLE})


def facts_of(group: str) -> tuple[Fact, ...]:
    """Return the facts of one group (`tire`, `injury`, ...) that a case may state, in table order."""
    return tuple(fact for fact in _TABLE if fact.group == group and not fact.derived)
