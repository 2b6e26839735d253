"""What is known, as the algebra wants it: one flat view of a case for each thing that rules are judged for.

A view maps a fact's name to its value, to None where it is unknown, or to ABSENT where it does not exist (the spacing
between the repairs of a tire that has one repair). Rules never see the case itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from types import MappingProxyType
from typing import Any, Final

from tirerules.case import Case
from tirerules.deciding.tread import Grid, smallest
from tirerules.quantities import Measured
from tirerules.strictest.bounds import Interval, Value
from tirerules.vocabulary import CURED_BY_REPAIR, Activity

__all__ = ["ABSENT", "Shown", "View", "tire_view", "views_of"]


class _Absent:
    """The fact does not exist for this tire, so no rule on it applies."""

    def __repr__(self) -> str:
        return "ABSENT"


ABSENT: Final = _Absent()

_LABEL: Final[Mapping[str, str]] = MappingProxyType({"injury": "injury", "repair": "earlier repair"})

#: What a person wrote for a fact, for reasons.
Shown = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class View:
    """The facts that hold for one subject: the tire, one injury, one earlier repair, or a pair of them."""

    values: Mapping[str, Value | _Absent]
    shown: Shown
    subjects: Mapping[str, str] = field(default_factory=dict)  #: group -> which one, such as injury -> ``injury 2``
    grid: Grid | None = None  #: the tread readings, where the case gives more than the smallest
    unrecorded: frozenset[str] = frozenset()  #: groups of facts that stand for a list the case does not record

    def get(self, fact: str) -> Value | _Absent | None:
        """Return what is known of `fact`; None where it is unknown."""
        return self.values.get(fact)

    def joined(self, other: View) -> View:
        """Return the view that holds the facts of both; where both know one, those of `other`."""
        return View(
            MappingProxyType({**self.values, **other.values}),
            MappingProxyType({**self.shown, **other.shown}),
            MappingProxyType({**self.subjects, **other.subjects}),
            self.grid or other.grid,
            self.unrecorded | other.unrecorded,
        )

    def subject_of(self, facts: Iterable[str]) -> str:
        """Return which injuries or earlier repairs `facts` speak of; empty for the tire as a whole."""
        groups = {fact.partition(".")[0] for fact in facts}
        return ", ".join(label for group, label in self.subjects.items() if group in groups)

    def with_method(self, method: str) -> View:
        """Return the view in which the injury is repaired by `method`."""
        return self.joined(View({"method": frozenset({method})}, {"method": method}))

    def as_repair(self, method: str) -> View:
        """Return the view of this injury once it is repaired by `method`: a repair that the tire then carries."""
        same = {f"repair.{key}": f"injury.{key}" for key in ("diameter", "zone")}
        return View(
            {name: self.values[was] for name, was in same.items() if was in self.values}
            | {"repair.method": frozenset({method})},
            {name: self.shown[was] for name, was in same.items() if was in self.shown} | {"repair.method": method},
            {"repair": f"the repair of {self.subjects['injury']}"},
        )

    def after_repair(self) -> View:
        """Return the view in which what the repair itself removes is gone."""
        found = self.values.get("findings")
        if not isinstance(found, frozenset) or not found & CURED_BY_REPAIR:
            return self
        return self.joined(View({"findings": found - CURED_BY_REPAIR}, {}))


def _interval(value: Measured) -> Interval:
    return Interval(value.low.exact, value.high.exact)


def _value(value: Any) -> Value:
    if isinstance(value, Measured):
        return _interval(value)
    if isinstance(value, bool):
        return frozenset({"yes" if value else "no"})
    if isinstance(value, int):
        return Interval(Fraction(value), Fraction(value))
    return frozenset({value})


def _show(value: Any) -> str:
    return ("no", "yes")[value] if isinstance(value, bool) else str(value)


def _view(known: Iterable[tuple[str, Any]], subjects: Mapping[str, str] = MappingProxyType({})) -> View:
    facts = dict(known)
    return View(
        MappingProxyType({name: _value(value) for name, value in facts.items()}),
        MappingProxyType({name: _show(value) for name, value in facts.items()}),
        subjects,
    )


def tire_view(case: Case) -> View:
    """Return what holds for the whole tire, with what follows from the lists of the case."""
    known = dict(known for group in case.groups for known in group.known())
    readings = known.pop("tire.tread_grid", ())
    grid: Grid = tuple(tuple(_interval(reading) for reading in place) for place in readings)
    derived: dict[str, Value | _Absent] = {}
    shown: dict[str, str] = {}
    if grid:
        stated = known.pop("tire.tread_depth", None)
        found = [reading for place in readings for reading in place] + ([stated] if stated else [])
        lowest = min(found, key=lambda reading: reading.low)
        shown["tire.tread_depth"] = f"{lowest} (the smallest of {len(found)} readings)"
        derived["tire.tread_depth"] = smallest(_interval(reading) for reading in found)
    view = _view(known.items())
    if case.activity != Activity.ROAD_USE:
        # A restriction concerns one drive; nobody is asked for it who sells, fits or repairs a tire.
        derived["road.snow_restriction"] = _value(False)
    total = case.repair_total
    if total is not None:
        derived["repairs.count"] = _value(total)
        shown["repairs.count"] = str(total)
    if total is not None and total <= 1:
        derived["repairs.overlap"] = _value(False)
        shown["repairs.overlap"] = _show(False)
        derived["repairs.spacing"] = ABSENT
    if case.findings is not None:
        derived["findings"] = case.findings
        shown["findings"] = ", ".join(sorted(case.findings)) or "none"
    unrecorded = frozenset({"repairs"}) if case.earlier_repairs is None else frozenset()
    # What the case states itself stands before what follows from it.
    return View(
        MappingProxyType({**derived, **view.values}),
        MappingProxyType({**shown, **view.shown}),
        grid=grid or None,
        unrecorded=unrecorded,
    )


def views_of(records: tuple[Any, ...] | None, group: str) -> tuple[View, ...]:
    """Return a view for each injury or earlier repair; for a list that is not recorded, one that knows nothing."""
    if records is None:
        return (View({}, {}, MappingProxyType({group: f"{_LABEL[group]} 1"}), None, frozenset({group})),)
    return tuple(
        _view(record.known(), MappingProxyType({group: f"{_LABEL[group]} {number}"}))
        for number, record in enumerate(records, start=1)
    )
