"""Where an injury or earlier repair lies: its size across the channel, how far it reaches, the zone that counts.

The reach does not exist where only the zone was named; it is unknown where neither was said. A zone that the measures
speak against stays unknown, however well a band may contain it.
"""

from __future__ import annotations

from tests.reference.geometry import (
    Interval,
    across,
    injury_reach,
    is_bounded,
    openings,
    repair_reach,
    zone_as_measured,
)
from tests.reference.measures import decimal
from tests.reference.views import NO_SUCH_FACT, View

__all__ = ["is_measured", "is_reach_known", "may_prove_zone", "openings_of", "placed_injury", "placed_repair"]

_MEASURES = ("injury.diameter", "injury.angle", "injury.leans", "tire.thickness")


def placed_injury(view: View, measured_zones: bool) -> View:
    """An injury on its tire with its size, reach and zone."""
    view = _across(view)
    offset = view.get("injury.from_centerline")
    if offset is None:
        return _unmeasured(view, "injury", measured_zones)
    reach = injury_reach(offset, *(view.get(fact) for fact in _MEASURES))
    outer, inner = openings_of(view)
    text = "not known yet"
    if is_reach_known(view):
        text = f"up to {decimal(outer[1], 2)} mm outside, {decimal(inner[1], 2)} mm inside"
    asked = _narrowing(view) or ("injury.from_centerline",)
    view |= View({"injury.reach": reach}, {"injury.reach": text}, instead={"injury.reach": asked})
    return _held_to_tread(view, "injury", view)


def placed_repair(view: View, tire: View, measured_zones: bool) -> View:
    """An earlier repair with its reach and zone; the damage under it is taken as straight."""
    offset, diameter = view.get("repair.from_centerline"), view.get("repair.diameter")
    if offset is None:
        return _unmeasured(view, "repair", measured_zones)
    reach = repair_reach(offset, diameter)
    text = "not known yet" if diameter is None else f"up to {decimal(reach[1], 2)} mm"
    asked = ("repair.diameter" if diameter is None else "repair.from_centerline",)
    view |= View({"repair.reach": reach}, {"repair.reach": text}, instead={"repair.reach": asked})
    return _held_to_tread(view, "repair", tire)


def openings_of(view: View) -> tuple[Interval, Interval]:
    """How far both openings of a measured injury reach."""
    return openings(view.get("injury.from_centerline"), *(view.get(fact) for fact in _MEASURES))


def is_measured(view: View) -> bool:
    """Whether the place of an injury was measured from the center line."""
    return view.get("injury.from_centerline") is not None


def is_reach_known(view: View) -> bool:
    """Whether all was measured that tells how far an injury reaches at worst."""
    return is_bounded(*(view.get(fact) for fact in _MEASURES))


def may_prove_zone(view: View, group: str) -> bool:
    """Whether the place was measured and no zone named, nor one named that the measures contradict."""
    zone = f"{group}.zone"
    contradicted = zone not in view.instead.get(zone, (zone,))
    return view.get(zone) is None and not contradicted and view.get(f"{group}.from_centerline") is not None


def _across(view: View) -> View:
    """The size across the channel where it was measured along the surface; of two sizes the larger counts."""
    surface = view.get("injury.surface_diameter")
    if surface is None:
        return view
    angle, stated = view.get("injury.angle"), view.get("injury.diameter")
    size = across(surface, angle)
    if stated is not None:
        size = max(size[0], stated[0]), max(size[1], stated[1])
    text = f"{view.shown['injury.surface_diameter']} along the surface (up to {decimal(size[1])} mm across)"
    instead = {} if angle is not None else {"injury.diameter": ("injury.angle", "injury.diameter")}
    return view | View({"injury.diameter": size}, {"injury.diameter": text}, instead=instead)


def _unmeasured(view: View, group: str, measured_zones: bool) -> View:
    zone, reach, offset = f"{group}.zone", f"{group}.reach", f"{group}.from_centerline"
    if measured_zones:
        return view.without(zone, asking=(offset,)) | View(instead={reach: (offset,)})
    if view.get(zone) is not None:
        return view | View({reach: NO_SUCH_FACT})
    return view | View(instead={reach: (zone, offset)})


def _narrowing(view: View) -> tuple[str, ...]:
    """What would tell more of how far an injury reaches, the most decisive first; nothing where all is measured."""
    diameter, angle, leans, thickness = (view.get(fact) for fact in _MEASURES)
    if diameter is None:
        return ("injury.diameter",)
    if leans == "along-circumference" or (angle is not None and angle[1] == 0):
        return ()
    if angle is None:
        return ("injury.angle",)
    return tuple(fact for fact, known in (("injury.leans", leans), ("tire.thickness", thickness)) if known is None)


def _held_to_tread(view: View, group: str, tire: View) -> View:
    """The view with the zone that the measured place leaves possible."""
    zone, reach = f"{group}.zone", f"{group}.reach"
    named = view.get(zone)
    if named is None:
        return view
    offset, diameter = view.get(f"{group}.from_centerline"), view.get(f"{group}.diameter")
    counts = zone_as_measured(named, offset, diameter, view.get(reach), tire.get("tire.tread_width"))
    if counts is None:
        # What would narrow the reach may settle it; another look at the zone would not.
        return view.without(zone, asking=tuple(fact for fact in view.instead[reach] if view.get(fact) is None))
    if counts != named:
        return view | View({zone: counts}, {zone: f"shoulder (measured beyond the tread, called {named})"})
    return view
