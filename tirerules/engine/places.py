"""Where an injury or an earlier repair lies: how far it reaches from the center line, and whether its zone can be so.

What was measured is believed before what was named: a place beyond the tread is no crown, whatever it is called, and
where only part of it may lie beyond, its zone is unknown. A zone that was named and not measured stands, and bands have
nothing to hold against it, unless the case asks for measured zones.
"""

from __future__ import annotations

from tirerules.case.row import INJURY, REPAIR
from tirerules.engine.subjects import Known
from tirerules.engine.tables import ABSENT

TYPE_CHECKING = False
if TYPE_CHECKING:
    from tirerules.case.row import Row
    from tirerules.quantities import Measured
    from tirerules.strictest.bounds import Interval

__all__ = ["across_channel", "placed_injury", "placed_repair", "zone_unnamed"]

_ZONE, _REACH, _OFFSET, _SURFACE = (
    INJURY[f"injury.{key}"] for key in ("zone", "reach", "from_centerline", "surface_diameter")
)
_REPAIR_ZONE, _REPAIR_REACH, _REPAIR_OFFSET = (REPAIR[f"repair.{key}"] for key in ("zone", "reach", "from_centerline"))
#: What is asked of a place that was not measured: where a zone must be measured, and where naming it is enough.
_UNPLACED = {
    group: dict.fromkeys((f"{group}.zone", f"{group}.reach"), (f"{group}.from_centerline",))
    for group in ("injury", "repair")
}
_UNZONED = {group: {f"{group}.reach": (f"{group}.zone", f"{group}.from_centerline")} for group in ("injury", "repair")}
#: The zones that lie in the tread.
_IN_TREAD = ("crown", "belt-edge")


def placed_injury(row: Row, label: str, tire: Known, measured_zones: bool) -> Known:
    """Return what is known of an injury, with its size across the channel, its reach and its zone."""
    values = list(row)
    injury = Known(INJURY, values, label)
    if values[_SURFACE] is not None:
        _across_channel(injury)
    if values[_OFFSET] is None:
        _unmeasured(injury, "injury", _ZONE, _REACH, measured_zones)
        return injury
    from tirerules.engine.geometry import Channel, interval, measured
    from tirerules.quantities import decimal_text

    offset = interval(values[_OFFSET])
    assert offset is not None  # INVARIANT: a place is measured
    channel = injury.channel = Channel(
        offset=offset,
        diameter=interval(injury["injury.diameter"]),
        angle=interval(injury["injury.angle"]),
        leans=injury["injury.leans"],
        thickness=interval(tire["tire.thickness"]),
    )
    faces = channel.faces()
    outer, inner = decimal_text(faces.outer.high, 2), decimal_text(faces.inner.high, 2)
    shown = f"up to {outer} mm outside, {inner} mm inside" if channel.bounded else "not known yet"
    injury.put("injury.reach", measured(faces.reach), shown)
    injury.ask("injury.reach", channel.missing() or ("injury.from_centerline",))
    _hold_to_tread(injury, "injury", faces.reach, interval(tire["tire.tread_width"]))
    return injury


def placed_repair(row: Row, label: str, tire: Known, measured_zones: bool) -> Known:
    """Return what is known of an earlier repair; its channel is taken as straight through."""
    values = list(row)
    repair = Known(REPAIR, values, label)
    if values[_REPAIR_OFFSET] is None:
        _unmeasured(repair, "repair", _REPAIR_ZONE, _REPAIR_REACH, measured_zones)
        return repair
    from fractions import Fraction

    from tirerules.engine.geometry import FARTHEST, interval, measured
    from tirerules.quantities import decimal_text
    from tirerules.strictest.bounds import Interval

    offset, diameter = interval(values[_REPAIR_OFFSET]), interval(repair["repair.diameter"])
    assert offset is not None  # INVARIANT: a place is measured
    size = diameter or Interval(Fraction(0), 2 * FARTHEST)
    reach = Interval(offset.low + size.low / 2, offset.high + size.high / 2)
    shown = "not known yet" if diameter is None else f"up to {decimal_text(reach.high, 2)} mm"
    repair.put("repair.reach", measured(reach), shown)
    repair.ask("repair.reach", ("repair.diameter",) if diameter is None else ("repair.from_centerline",))
    _hold_to_tread(repair, "repair", reach, interval(tire["tire.tread_width"]))
    return repair


def zone_unnamed(known: Known) -> bool:
    """Whether nobody named a zone, so that measures may prove it; not one that they contradict."""
    zone = "injury.zone" if known.layout is INJURY else "repair.zone"
    return known[zone] is None and zone in known.instead.get(zone, (zone,))


def _unmeasured(known: Known, group: str, zone: int, reach: int, measured_zones: bool) -> None:
    """Complete what was not measured from the center line."""
    if measured_zones:
        known.values[zone] = None
        known.instead = {**known.instead, **_UNPLACED[group]}
    elif known.values[zone] is not None:
        # The technician named the zone and took no measure: there is nothing to hold against a band.
        known.values[reach] = ABSENT
    else:
        known.instead = {**known.instead, **_UNZONED[group]}


def _hold_to_tread(known: Known, group: str, reach: Interval, width: Interval | None) -> None:
    """Leave a measured place the zone that it makes possible, where it was called a zone of the tread."""
    from tirerules.engine.geometry import interval

    zone = known[f"{group}.zone"]
    offset, diameter = interval(known[f"{group}.from_centerline"]), interval(known[f"{group}.diameter"])
    if width is None or offset is None or zone not in _IN_TREAD or reach.high <= width.low / 2:
        return
    if diameter is not None and offset.low - diameter.high / 2 >= width.high / 2:
        known.put(f"{group}.zone", "shoulder", f"shoulder (measured beyond the tread, called {zone})")
    elif zone == "crown":  # a belt edge is the worse of the two
        # Some of it may lie beyond: what would narrow the reach may settle it, another look at the zone would not.
        wanted = known.instead[f"{group}.reach"]
        narrowing = tuple(fact for fact in wanted if fact not in known.layout or known[fact] is None)
        known.put(f"{group}.zone", None)
        known.ask(f"{group}.zone", narrowing)


def across_channel(surface: Measured, angle: Measured | None, stated: Measured | None) -> Interval:
    """Return the size across the channel, in mm: the larger of what the surface shows and what was stated."""
    from tirerules.engine.geometry import across, interval
    from tirerules.strictest.bounds import Interval

    along, other = interval(surface), interval(stated)
    assert along is not None  # INVARIANT: it was measured
    size = across(along, interval(angle))
    return size if other is None else Interval(max(size.low, other.low), max(size.high, other.high))


def _across_channel(injury: Known) -> None:
    from tirerules.engine.geometry import measured
    from tirerules.quantities import decimal_text

    angle = injury["injury.angle"]
    size = across_channel(injury["injury.surface_diameter"], angle, injury["injury.diameter"])
    text = f"{injury['injury.surface_diameter']} along the surface (up to {decimal_text(size.high)} mm across)"
    injury.put("injury.diameter", measured(size), text)
    if angle is None:
        injury.ask("injury.diameter", ("injury.angle", "injury.diameter"))
