"""Where an injury or an earlier repair lies: how far it reaches from the center line, and whether its zone can be so.

What was measured is believed before what was named: a place beyond the tread is no crown, whatever it is called, and
where only part of it may lie beyond, its zone is unknown. A zone that was named and not measured stands, and bands have
nothing to hold against it, unless the case asks for measured zones.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from tirerules.deciding.geometry import FARTHEST, Channel, across
from tirerules.deciding.view import ABSENT, View
from tirerules.quantities import decimal_text
from tirerules.strictest.bounds import Interval

__all__ = ["placed_injury", "placed_repair"]

#: The zones that lie in the tread.
_CROWN: Final = frozenset({"crown"})
_IN_TREAD: Final = (_CROWN, frozenset({"belt-edge"}))


def placed_injury(view: View, measured_zones: bool) -> View:
    """Return the view of an injury on its tire with its size across the channel, its reach and its zone."""
    view = _across_channel(view)
    offset = view.interval("injury.from_centerline")
    if offset is None:
        return _unmeasured(view, "injury", measured_zones)
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
    placed = View(
        {"injury.reach": faces.reach}, {"injury.reach": shown}, missing={"injury.reach": missing}, channel=channel
    )
    return _held_to_tread(view.joined(placed), "injury", view.interval("tire.tread_width"))


def placed_repair(view: View, tire: View, measured_zones: bool) -> View:
    """Return the view of an earlier repair with its reach and its zone; its channel is taken as straight through."""
    offset, diameter = view.interval("repair.from_centerline"), view.interval("repair.diameter")
    if offset is None:
        return _unmeasured(view, "repair", measured_zones)
    size = diameter or Interval(Fraction(0), 2 * FARTHEST)
    reach = Interval(offset.low + size.low / 2, offset.high + size.high / 2)
    shown = "not known yet" if diameter is None else f"up to {decimal_text(reach.high, 2)} mm"
    missing = ("repair.diameter",) if diameter is None else ("repair.from_centerline",)
    placed = View({"repair.reach": reach}, {"repair.reach": shown}, missing={"repair.reach": missing})
    return _held_to_tread(view.joined(placed), "repair", tire.interval("tire.tread_width"))


def _unmeasured(view: View, group: str, measured_zones: bool) -> View:
    """Return a view of what was not measured from the center line."""
    zone, reach, offset = f"{group}.zone", f"{group}.reach", f"{group}.from_centerline"
    if measured_zones:
        return view.without(zone).joined(View(missing={zone: (offset,), reach: (offset,)}))
    if view.get(zone) is not None:
        # The technician named the zone and took no measure: there is nothing to hold against a band.
        return view.joined(View({reach: ABSENT}))
    return view.joined(View(missing={reach: (zone, offset)}))


def _held_to_tread(view: View, group: str, width: Interval | None) -> View:
    """Return a measured view with the zone that its place leaves possible, where it was called a zone of the tread."""
    zone, reach = f"{group}.zone", view.interval(f"{group}.reach")
    offset, diameter = view.interval(f"{group}.from_centerline"), view.interval(f"{group}.diameter")
    if width is None or offset is None or reach is None or view.get(zone) not in _IN_TREAD:
        return view
    edge = Interval(width.low / 2, width.high / 2)
    if reach.high <= edge.low:
        return view
    named = view.shown[zone]
    if diameter is not None and offset.low - diameter.high / 2 >= edge.high:
        return view.knowing(zone, "shoulder", f"shoulder (measured beyond the tread, called {named})")
    if view.get(zone) != _CROWN:
        return view  # a belt edge is the worse of the two
    # Some of it may lie beyond: what would narrow the reach may settle it, another look at the zone would not.
    narrowing = tuple(fact for fact in view.missing[f"{group}.reach"] if view.get(fact) is None)
    return view.without(zone).joined(View(missing={zone: narrowing}))


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
