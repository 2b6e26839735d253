"""What is known of one subject that rules are judged for, as the algebra wants it: a flat view.

A view maps a fact's name to its value, to None where it is unknown, or to ABSENT where it does not exist (the spacing
between the repairs of a tire that has one repair).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Final

from tirerules.deciding.geometry import Channel
from tirerules.deciding.tread import Grid
from tirerules.strictest.bounds import Interval, KnownValue
from tirerules.vocabulary import CURED_BY_REPAIR, PAIRED

__all__ = ["ABSENT", "Absent", "View"]


class Absent:
    """The fact does not exist for this tire, so no rule on it applies."""

    def __repr__(self) -> str:
        return "ABSENT"


ABSENT: Final = Absent()


@dataclass(frozen=True, slots=True)
class View:
    """The facts that hold for one subject: the tire, one injury, one repair, a pair of them, or several together."""

    values: Mapping[str, KnownValue | Absent] = field(default_factory=dict)
    shown: Mapping[str, str] = field(default_factory=dict)  #: what a person wrote for a fact, for reasons
    subjects: Mapping[str, str] = field(default_factory=dict)  #: group -> which one, such as injury -> ``injury 2``
    missing: Mapping[str, tuple[str, ...]] = field(
        default_factory=dict
    )  #: fact -> what to ask in its place, best first
    grid: Grid | None = None  #: the tread readings, where the case gives more than the smallest
    smallest_stated: bool = True  #: whether the smallest depth is that of the whole tire, not only of the readings
    channel: Channel | None = None  #: the injury, where it was measured from the center line

    def get(self, fact: str) -> KnownValue | Absent | None:
        """Return what is known of `fact`; None where it is unknown."""
        return self.values.get(fact)

    def interval(self, fact: str) -> Interval | None:
        """Return what is known of a number."""
        value = self.values.get(fact)
        return value if isinstance(value, Interval) else None

    def joined(self, other: View) -> View:
        """Return the view that holds the facts of both; where both know one, those of `other`."""
        return View(
            MappingProxyType({**self.values, **other.values}),
            MappingProxyType({**self.shown, **other.shown}),
            MappingProxyType({**self.subjects, **other.subjects}),
            MappingProxyType({**self.missing, **other.missing}),
            self.grid or other.grid,
            self.smallest_stated and other.smallest_stated,
            other.channel or self.channel,
        )

    def subject_of(self, facts: Iterable[str]) -> str:
        """Return which injuries or repairs `facts` speak of; empty for the tire as a whole."""
        groups = {"pair" if fact in PAIRED else fact.partition(".")[0] for fact in facts}
        return ", ".join(label for group, label in self.subjects.items() if group in groups)

    def knowing(self, fact: str, word: str, shown: str) -> View:
        """Return the view in which `fact` is known to be `word`."""
        return self.joined(View({fact: frozenset({word})}, {fact: shown}))

    def zone_unnamed(self, zone: str) -> bool:
        """Whether nobody named a zone, so that measures may prove it; not one that they contradict."""
        return self.get(zone) is None and zone in self.missing.get(zone, (zone,))

    def without(self, fact: str) -> View:
        """Return the view in which `fact` is unknown."""
        values = {name: value for name, value in self.values.items() if name != fact}
        shown = {name: text for name, text in self.shown.items() if name != fact}
        return replace(self, values=MappingProxyType(values), shown=MappingProxyType(shown))

    def with_method(self, method: str) -> View:
        """Return the view in which the injury is repaired by `method`."""
        return self.knowing("method", method, method)

    def as_repair(self, method: str) -> View:
        """Return the view of this injury once it is repaired by `method`: a repair that the tire then carries."""
        same = {f"repair.{key}": f"injury.{key}" for key in ("diameter", "zone", "reach")}
        return View(
            {name: self.values[was] for name, was in same.items() if was in self.values}
            | {"repair.method": frozenset({method})},
            {name: self.shown[was] for name, was in same.items() if was in self.shown} | {"repair.method": method},
            {"repair": f"the repair of {self.subjects['injury']}"},
            {
                "repair.diameter": self.missing.get("injury.diameter", ("injury.diameter",)),
                "repair.zone": self.missing.get("injury.zone", ("injury.zone",)),
                "repair.reach": self.missing.get("injury.reach", ("injury.reach",)),
            },
        )

    def after_repair(self) -> View:
        """Return the view in which what the repair itself removes is gone."""
        found = self.values.get("findings")
        if not isinstance(found, frozenset) or not found & CURED_BY_REPAIR:
            return self
        return self.joined(View({"findings": found - CURED_BY_REPAIR}))
