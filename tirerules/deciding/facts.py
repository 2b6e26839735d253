"""What is known, as the algebra wants it: one flat view of a case for each thing that rules are judged for.

What follows from other facts is worked out here: the size designation, whether the federal carrier rules bind, the
spacing of two repairs; where an injury or a repair lies is the business of `tirerules.deciding.places`. Rules never see
the case itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from types import MappingProxyType
from typing import Any, Final

from tirerules.case import Case, EarlierRepair, Injury
from tirerules.deciding.geometry import across
from tirerules.deciding.pairs import Pair, pairs, spots
from tirerules.deciding.places import placed_injury, placed_repair
from tirerules.deciding.tread import Grid, smallest
from tirerules.deciding.view import ABSENT, Absent, View
from tirerules.quantities import Measured, Quantity, decimal_text
from tirerules.scales import age_on, size
from tirerules.stated import ASKED_OF_CARRIER, WHOLE
from tirerules.strictest.bounds import Interval, KnownValue
from tirerules.vocabulary import FACTS, PAIRED, ZONE_EVIDENCE, Activity
from tirerules.worked_out import CARRIER, CARRIER_FACTS, REGROOVED

__all__ = ["injury_views", "pair_views", "repair_views", "repaired", "sidewall", "tire_view"]


def _interval(value: Measured) -> Interval:
    return Interval(value.low.exact, value.high.exact)


def _value(value: Any) -> KnownValue:
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
    facts = {**_from_lists(case), **sidewall(case), **stated, **_completed(case)}
    view = _view(facts)
    if case.findings is not None:
        view = view.joined(View({"findings": case.findings}, {"findings": ", ".join(sorted(case.findings)) or "none"}))
    if case.single:
        apart = ("repairs.spacing", "repairs.spacing_angle")
        view = View({fact: ABSENT for fact in apart if fact not in stated}).joined(view)
    # What the sidewall says is quicker read than measured.
    missing: dict[str, tuple[str, ...]] = {fact: ("tire.size", fact) for fact in _ON_SIDEWALL}
    # Of a repair that is not listed, nobody can say how far around the tire it lies from another.
    unlisted = "injuries" if case.injuries is None and case.earlier_repairs is not None else "earlier_repairs"
    missing["repairs.spacing_angle"] = (unlisted,)
    if case.earlier_repairs is None:
        missing |= dict.fromkeys([*PAIRED, "repairs.count"], ("earlier_repairs",))
    if case.findings is None:
        missing[REGROOVED] = ("findings", REGROOVED)
    asked = case.stated.flags // ASKED_OF_CARRIER
    if asked:
        missing[CARRIER] = (CARRIER_FACTS[asked - 1],)
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


def _completed(case: Case) -> dict[str, bool]:
    """Return the facts that are worked out where nobody stated them, or that a finding makes worse."""
    known = ((fact, case.stated.known[WHOLE[fact]]) for fact in (CARRIER, REGROOVED))
    return {fact: value for fact, value in known if value is not None}


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
    measured = case.zones != ZONE_EVIDENCE[0]
    if case.injuries is None:
        return (placed_injury(tire.joined(View(subjects={"injury": "injury 1"})), measured),)
    return tuple(
        placed_injury(tire.joined(_view(dict(injury.known()), {"injury": f"injury {number}"})), measured)
        for number, injury in enumerate(case.injuries, start=1)
    )


def repaired(injury: Injury, method: str) -> EarlierRepair:
    """Return the repair that an injury becomes, with all that is known of its size and place."""
    diameter = injury.diameter
    if injury.surface_diameter is not None:
        angle = None if injury.angle is None else _interval(injury.angle)
        size = across(_interval(injury.surface_diameter), angle)
        low, high = (Quantity.of(end, "mm", f"{decimal_text(end)} mm") for end in (size.low, size.high))
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


def repair_views(case: Case, tire: View) -> tuple[View, ...]:
    """Return a view of each earlier repair; of a list that is not recorded, one that knows nothing."""
    if case.earlier_repairs is None:
        facts = [fact.name for fact in FACTS.values() if fact.group == "repair"]
        missing = dict.fromkeys(facts, ("earlier_repairs",))
        return (View(subjects={"repair": "earlier repair 1"}, missing=missing),)
    measured = case.zones != ZONE_EVIDENCE[0]
    return tuple(
        placed_repair(_view(dict(repair.known()), {"repair": f"earlier repair {number}"}), tire, measured)
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
    facts: dict[str, KnownValue | Absent] = {}
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
