"""What is known of two injuries or earlier repairs: how far apart they are, whether they touch or face each other."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations
from typing import Any, Final

from tests.reference.geometry import PI, Interval
from tests.reference.measures import decimal, exact, interval
from tests.reference.views import View, shown
from tests.reference.words import PAIRED

__all__ = ["pairs_of"]

#: A spot: what it is called, its group, and what the case states of it.
Spot = tuple[str, str, dict[str, Any]]
_HALF_AN_HOUR: Final = 15  # degrees; nobody says how near "directly across" is, beyond this it is not


def pairs_of(case: dict[str, Any], tire: View) -> list[View]:
    """A view of each two spots; and one of which nothing is known, where there may be more than are listed.

    What the case states of all repairs together stands in the facts of the tire, and counts before this.
    """
    lists = (("injuries", "injury", "injury"), ("earlier_repairs", "earlier repair", "repair"))
    spots: list[Spot] = [
        (f"{label} {number}", group, item)
        for key, label, group in lists
        for number, item in enumerate(case.get(key) or (), start=1)
    ]
    stated = {f"repairs.{key}" for key, value in (case.get("repairs") or {}).items() if value is not None}
    views = [_pair(one, other, tire.get("tire.outside_diameter"), stated) for one, other in combinations(spots, 2)]
    return views if views and _complete(case) else [*views, View()]


def _complete(case: dict[str, Any]) -> bool:
    """Whether every repair that the tire will carry is listed."""
    lists = ["earlier_repairs", *(["injuries"] if case["activity"] == "repair" else [])]
    if any(case.get(each) is None for each in lists):
        return False
    return sum(len(case[each]) for each in lists) >= ((case.get("repairs") or {}).get("count") or 0)


def _pair(one: Spot, other: Spot, outside: Interval | None, stated: set[str]) -> View:
    around = None if outside is None else (outside[0] * PI[0], outside[1] * PI[1])
    spacing, angle = _apart(one[2].get("clock"), other[2].get("clock"), around)
    known: dict[str, Any] = {
        "repairs.spacing": spacing,
        "repairs.spacing_angle": angle,
        "repairs.overlap": _overlap(one[2], other[2], spacing),
        "repairs.opposed": _opposed(one[2], other[2], angle),
    }
    known = {fact: value for fact, value in known.items() if value is not None and fact not in stated}
    units = {"repairs.spacing": "mm", "repairs.spacing_angle": "deg"}
    texts = {
        fact: f"{decimal(value[0], 1)} {units[fact]}" if fact in units else shown(value)
        for fact, value in known.items()
    }
    labels = {"pair": f"{one[0]} and {other[0]}"}
    unplaced = next((spot for spot in (one, other) if not spot[2].get("clock")), None)
    if unplaced is None:
        # The places are known, so it is the size of the tire that tells the distance.
        instead: dict[str, tuple[str, ...]] = dict.fromkeys(PAIRED[:2], ("tire.size", "tire.outside_diameter"))
    else:
        labels[unplaced[1]] = unplaced[0]
        instead = {"repairs.spacing_angle": (f"{unplaced[1]}.clock",)}
    return View(known, texts, labels, instead)


def _place(clock: str | None) -> tuple[str, Fraction] | None:
    """A place around the tire: a share of the turn, or a distance along the tread."""
    if not clock:
        return None
    hours, _, minutes = clock.partition(":")
    if minutes:
        return "turn", (Fraction(hours) / 12 + Fraction(minutes) / 720) % 1
    if clock.endswith(("deg", "°")):
        return "turn", exact(clock) / 360 % 1
    return "arc", exact(clock)


def _apart(one: str | None, other: str | None, around: Interval | None) -> tuple[Interval | None, Interval | None]:
    """How far apart two places are, along the outside and around the axle; the shorter way round counts."""
    places = _place(one), _place(other)
    if places[0] is None or places[1] is None:
        return None, None
    if places[0][0] == places[1][0] == "turn":
        gap = abs(places[0][1] - places[1][1])
        gap = min(gap, 1 - gap)
        along = None if around is None else (gap * around[0], gap * around[1])
        return along, (gap * 360, gap * 360)
    if around is None or any(kind == "arc" and length >= around[0] for kind, length in (places[0], places[1])):
        return None, None  # further along than the tire is around: not measured on this tire
    ends = [
        (length, length) if kind == "arc" else (length * around[0], length * around[1])
        for kind, length in (places[0], places[1])
    ]
    (low, high), (least, most) = ends
    near, far = max(low - most, least - high, Fraction(0)), max(high - least, most - low)
    spacing = min(near, max(around[0] - far, Fraction(0))), min(far, max(around[1] - near, Fraction(0)))
    return spacing, (spacing[0] / around[1] * 360, min(spacing[1] / around[0] * 360, Fraction(180)))


def _overlap(one: dict[str, Any], other: dict[str, Any], spacing: Interval | None) -> bool | None:
    """Two units overlap if they reach each other around the tire and across it."""
    around = _reach(one.get("unit_length"), other.get("unit_length"), spacing)
    across = _reach(one.get("unit_width"), other.get("unit_width"), _sideways(one, other))
    if around is False or across is False:
        return False
    return True if around and across else None


def _reach(one: str | None, other: str | None, apart: Interval | None) -> bool | None:
    if one is None or other is None or apart is None:
        return None
    least, most = (sum(ends) / 2 for ends in zip(interval(one), interval(other), strict=True))
    return False if most <= apart[0] else True if least > apart[1] else None


def _sideways(one: dict[str, Any], other: dict[str, Any]) -> Interval | None:
    """How far apart two spots are across the tire; on unknown sides they may be on one or on both."""
    if one.get("from_centerline") is None or other.get("from_centerline") is None:
        return None
    (low, high), (least, most) = interval(one["from_centerline"]), interval(other["from_centerline"])
    together = max(low - most, least - high, Fraction(0)), max(high - least, most - low)
    opposite = low + least, high + most
    sides = one.get("side"), other.get("side")
    if None in sides:
        return together[0], opposite[1]
    return together if sides[0] == sides[1] else opposite


def _opposed(one: dict[str, Any], other: dict[str, Any], angle: Interval | None) -> bool | None:
    """Whether two spots lie in the two sidewalls directly across from each other."""
    zones, sides = [each.get("zone") for each in (one, other)], [each.get("side") for each in (one, other)]
    if any(zone not in (None, "sidewall") for zone in zones):
        return False
    if None not in sides and sides[0] == sides[1]:
        return False
    if angle is not None and angle[0] > _HALF_AN_HOUR:
        return False
    return True if None not in (*zones, *sides) and angle == (0, 0) else None
