"""What is known, as the algebra wants it: one flat view of a case for each thing that rules are judged for.

A view maps a fact's name to its value, to None where it is unknown, or to ABSENT where it does not exist (the spacing
between the repairs of a tire that has one repair). What follows from other facts is worked out here: the size
designation, the reach of a measured injury, the spacing of two repairs. Rules never see the case itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from types import MappingProxyType
from typing import Any, Final

from tirerules.case import Case, EarlierRepair, Injury
from tirerules.deciding.geometry import Channel, across
from tirerules.deciding.pairs import Pair, pairs, spots
from tirerules.deciding.tread import Grid, smallest
from tirerules.quantities import Measured, Quantity, decimal_text
from tirerules.scales import age_on, size
from tirerules.strictest.bounds import Interval, Value
from tirerules.vocabulary import CURED_BY_REPAIR, PAIRED, Activity, Dimension

__all__ = ["ABSENT", "View", "injury_views", "pair_views", "repair_views", "repaired", "sidewall", "tire_view"]


class _Absent:
    """The fact does not exist for this tire, so no rule on it applies."""

    def __repr__(self) -> str:
        return "ABSENT"


ABSENT: Final = _Absent()


@dataclass(frozen=True, slots=True)
class View:
    """The facts that hold for one subject: the tire, one injury, one repair, a pair of them, or several together."""

    values: Mapping[str, Value | _Absent] = field(default_factory=dict)
    shown: Mapping[str, str] = field(default_factory=dict)  #: what a person wrote for a fact, for reasons
    subjects: Mapping[str, str] = field(default_factory=dict)  #: group -> which one, such as injury -> ``injury 2``
    missing: Mapping[str, tuple[str, ...]] = field(
        default_factory=dict
    )  #: fact -> what to ask in its place, best first
    grid: Grid | None = None  #: the tread readings, where the case gives more than the smallest
    smallest_stated: bool = True  #: whether the smallest depth is that of the whole tire, not only of the readings
    channel: Channel | None = None  #: the injury, where it was measured from the center line

    def get(self, fact: str) -> Value | _Absent | None:
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

    def with_method(self, method: str) -> View:
        """Return the view in which the injury is repaired by `method`."""
        return self.knowing("method", method, method)

    def as_repair(self, method: str) -> View:
        """Return the view of this injury once it is repaired by `method`: a repair that the tire then carries."""
        same = {f"repair.{key}": f"injury.{key}" for key in ("diameter", "zone")}
        return View(
            {name: self.values[was] for name, was in same.items() if was in self.values}
            | {"repair.method": frozenset({method})},
            {name: self.shown[was] for name, was in same.items() if was in self.shown} | {"repair.method": method},
            {"repair": f"the repair of {self.subjects['injury']}"},
            {
                "repair.diameter": self.missing.get("injury.diameter", ("injury.diameter",)),
                "repair.zone": ("injury.zone",),
            },
        )

    def after_repair(self) -> View:
        """Return the view in which what the repair itself removes is gone."""
        found = self.values.get("findings")
        if not isinstance(found, frozenset) or not found & CURED_BY_REPAIR:
            return self
        return self.joined(View({"findings": found - CURED_BY_REPAIR}))


def _interval(value: Measured) -> Interval:
    return Interval(value.low.exact, value.high.exact)


def _value(value: Any) -> Value:
    if isinstance(value, Measured):
        return _interval(value)
    if isinstance(value, Quantity):
        return Interval(value.exact, value.exact)
    if isinstance(value, bool):
        return frozenset({"yes" if value else "no"})
    if isinstance(value, int):
        return Interval(Fraction(value), Fraction(value))
    return frozenset({value})


def _show(value: Any) -> str:
    return ("no", "yes")[value] if isinstance(value, bool) else str(value)


def _view(facts: Mapping[str, Any], subjects: Mapping[str, str] | None = None, **more: Any) -> View:
    return View(
        MappingProxyType({name: _value(value) for name, value in facts.items()}),
        MappingProxyType({name: _show(value) for name, value in facts.items()}),
        subjects or {},
        **more,
    )


# --- the tire ---------------------------------------------------------------------------------------------------------


def tire_view(case: Case) -> View:
    """Return what holds for the whole tire, with what follows from its sidewall, its readings and the case's lists."""
    stated = dict(known for group in case.groups for known in group.known())
    readings = stated.pop("tire.tread_grid", ())
    facts = {**_from_lists(case), **sidewall(case), **stated}
    view = _view(facts)
    if case.findings is not None:
        view = view.joined(View({"findings": case.findings}, {"findings": ", ".join(sorted(case.findings)) or "none"}))
    if case.single:
        apart = ("repairs.spacing", "repairs.spacing_angle")
        view = View({fact: ABSENT for fact in apart if fact not in stated}).joined(view)
    # What the sidewall says is quicker read than measured.
    missing: dict[str, tuple[str, ...]] = {fact: ("tire.size", fact) for fact in _ON_SIDEWALL}
    if case.earlier_repairs is None:
        missing |= dict.fromkeys([*PAIRED, "repairs.count"], ("earlier_repairs",))
    view = replace(view, missing=missing)
    return _with_readings(view, readings, stated.get("tire.tread_depth")) if readings else view


_ON_SIDEWALL: Final = ("tire.section_width", "tire.outside_diameter")


def _from_lists(case: Case) -> dict[str, Any]:
    found: dict[str, Any] = {}
    if case.repair_total is not None:
        found["repairs.count"] = case.repair_total
        if case.single:
            found |= {"repairs.overlap": False, "repairs.opposed": False}
    if case.activity != Activity.ROAD_USE:
        # A restriction concerns one drive; nobody is asked for it who sells, fits or repairs a tire.
        found["road.snow_restriction"] = False
    return found


def sidewall(case: Case) -> dict[str, Any]:
    """Return what follows from what stands on the sidewall: the size designation and the date code."""
    found: dict[str, Any] = {}
    if case.tire.size is not None:
        read = size(case.tire.size)
        keys = ("section_width", "outside_diameter", "construction", "load_range", "speed_symbol")
        found |= {f"tire.{key}": value for key in keys if (value := getattr(read, key)) is not None}
    if case.tire.date_code is not None and case.on is not None:
        found["tire.age"] = age_on(case.tire.date_code, case.on)
    return found


def _with_readings(view: View, readings: tuple[tuple[Measured, ...], ...], stated: Measured | None) -> View:
    """Add a grid of tread readings; the smallest depth is the least of them and of what is stated besides."""
    found = [reading for place in readings for reading in place] + ([stated] if stated else [])
    lowest = min(found, key=lambda reading: reading.low)
    depth = smallest(_interval(reading) for reading in found)
    shown = f"{lowest} (the smallest of {len(found)} readings)"
    grid: Grid = tuple(tuple(_interval(reading) for reading in place) for place in readings)
    view = view.joined(View({"tire.tread_depth": depth}, {"tire.tread_depth": shown}))
    return replace(view, grid=grid, smallest_stated=stated is not None)


# --- injuries ---------------------------------------------------------------------------------------------------------


def injury_views(case: Case, tire: View) -> tuple[View, ...]:
    """Return a view of each injury together with the tire; of a list that is not recorded, one that knows nothing."""
    if case.injuries is None:
        return (_measured(tire.joined(View(subjects={"injury": "injury 1"}))),)
    return tuple(
        _measured(tire.joined(_view(dict(injury.known()), {"injury": f"injury {number}"})))
        for number, injury in enumerate(case.injuries, start=1)
    )


def _measured(view: View) -> View:
    """Add what follows from measurements: the size across the channel, and how far from the center line it reaches."""
    view = _across_channel(view)
    offset = view.interval("injury.from_centerline")
    if offset is None:
        if view.get("injury.zone") is not None:
            # The technician named the zone and took no measure: there is nothing to hold against a band.
            return view.joined(View({"injury.reach": ABSENT}))
        return view.joined(View(missing={"injury.reach": ("injury.zone", "injury.from_centerline")}))
    leans = view.get("injury.leans")
    channel = Channel(
        offset=offset,
        diameter=view.interval("injury.diameter"),
        angle=view.interval("injury.angle"),
        leans=next(iter(leans)) if isinstance(leans, frozenset) else None,
        thickness=view.interval("tire.thickness"),
    )
    missing = channel.missing() or ("injury.from_centerline",)
    faces = channel.faces()
    outer, inner = decimal_text(faces.outer.high, 2), decimal_text(faces.inner.high, 2)
    shown = f"up to {outer} mm outside, {inner} mm inside" if channel.bounded else "not known yet"
    return view.joined(
        View({"injury.reach": faces.reach}, {"injury.reach": shown}, missing={"injury.reach": missing}, channel=channel)
    )


def _across_channel(view: View) -> View:
    surface = view.interval("injury.surface_diameter")
    if surface is None:
        return view
    angle = view.interval("injury.angle")
    size = across(surface, angle)
    stated = view.interval("injury.diameter")
    if stated is not None:  # both were measured: the larger one counts
        size = Interval(max(size.low, stated.low), max(size.high, stated.high))
    shown = f"{view.shown['injury.surface_diameter']} along the surface (up to {decimal_text(size.high)} mm across)"
    missing = {} if angle is not None else {"injury.diameter": ("injury.angle", "injury.diameter")}
    return view.joined(View({"injury.diameter": size}, {"injury.diameter": shown}, missing=missing))


def repaired(injury: Injury, method: str) -> EarlierRepair:
    """Return the repair that an injury becomes, with all that is known of its size and place."""
    diameter = injury.diameter
    if injury.surface_diameter is not None:
        angle = None if injury.angle is None else _interval(injury.angle)
        size = across(_interval(injury.surface_diameter), angle)
        low, high = (
            Quantity(Dimension.LENGTH, end, end, "mm", f"{decimal_text(end)} mm") for end in (size.low, size.high)
        )
        diameter = diameter or Measured(low, high, f"{injury.surface_diameter} along the surface")
    return EarlierRepair(
        diameter=diameter,
        zone=injury.zone,
        from_centerline=injury.from_centerline,
        side=injury.side,
        clock=injury.clock,
        unit_length=injury.unit_length,
        unit_width=injury.unit_width,
        method=method,
    )


# --- earlier repairs, and pairs ---------------------------------------------------------------------------------------


def repair_views(case: Case) -> tuple[View, ...]:
    """Return a view of each earlier repair; of a list that is not recorded, one that knows nothing."""
    if case.earlier_repairs is None:
        facts = ("repair.diameter", "repair.zone", "repair.method", "repair.from_centerline", "repair.side")
        missing = dict.fromkeys(facts, ("earlier_repairs",))
        return (View(subjects={"repair": "earlier repair 1"}, missing=missing),)
    return tuple(
        _view(dict(repair.known()), {"repair": f"earlier repair {number}"})
        for number, repair in enumerate(case.earlier_repairs, start=1)
    )


def pair_views(case: Case, tire: View) -> tuple[View, ...]:
    """Return a view of each pair of injuries and repairs, besides what the case states of all of them together.

    Where a list is not recorded there may be more pairs, about which nothing is known.
    """
    found = spots(case.injuries or (), case.earlier_repairs or ())
    views = [_pair_view(pair, case) for pair in pairs(found, tire.interval("tire.outside_diameter"))]
    listed = case.repair_total is not None and case.repair_total >= (case.repairs.count or 0)
    return tuple(views) if listed and views else (*views, View())


def _pair_view(pair: Pair, case: Case) -> View:
    facts: dict[str, Value | _Absent] = {}
    shown: dict[str, str] = {}
    if pair.spacing is not None:
        facts["repairs.spacing"] = pair.spacing
        shown["repairs.spacing"] = f"{decimal_text(pair.spacing.low, 1)} mm"
    if pair.angle is not None:
        facts["repairs.spacing_angle"] = pair.angle
        shown["repairs.spacing_angle"] = f"{decimal_text(pair.angle.low, 1)} deg"
    for fact, answer in (("repairs.overlap", pair.overlap), ("repairs.opposed", pair.opposed)):
        if answer is not None:
            facts[fact], shown[fact] = _value(answer), _show(answer)
    stated = {name for name, _ in case.repairs.known()}
    subjects, missing = {"pair": pair.label}, dict[str, tuple[str, ...]]()
    if pair.unplaced is not None:
        group = "injury" if isinstance(pair.unplaced.record, Injury) else "repair"
        subjects[group] = pair.unplaced.label
        missing["repairs.spacing_angle"] = (f"{group}.clock",)
    else:
        missing = dict.fromkeys(("repairs.spacing", "repairs.spacing_angle"), ("tire.size", "tire.outside_diameter"))
    return View(
        {fact: value for fact, value in facts.items() if fact not in stated},
        {fact: text for fact, text in shown.items() if fact not in stated},
        subjects,
        missing,
    )
