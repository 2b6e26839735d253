"""Two repairs of one tire: how far apart they are around it, and whether their units overlap or face each other.

Each new injury and each earlier repair is a spot. Distances around the tire are taken on its outside and rounded down,
which is against the repair. Nothing here knows of rules.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from fractions import Fraction

from tirerules.case.row import INJURY, REPAIR
from tirerules.engine.geometry import PI, interval, measured
from tirerules.engine.subjects import PairKnown
from tirerules.quantities import decimal_text
from tirerules.scales import Position, position
from tirerules.strictest.bounds import Interval
from tirerules.values import Value

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, Final

    from tirerules.case.row import Row
    from tirerules.engine.subjects import Known

__all__ = ["Pair", "Spot", "known_pairs", "pairs", "spots"]

_HALF: Final = Fraction(1, 2)
#: In degrees around the axle.
_HALF_AN_HOUR: Final = 15


class Spot:
    """One injury or earlier repair, with what is known of its place and of its repair unit."""

    __slots__ = ("_layout", "_row", "group", "label")

    def __init__(self, group: str, label: str, row: Row) -> None:
        self.group, self.label, self._row = group, label, row
        self._layout = INJURY if group == "injury" else REPAIR

    def get(self, key: str) -> Any:
        """Return what the case states of it; lengths as intervals."""
        value = self._row[self._layout[f"{self.group}.{key}"]]
        return interval(value) or value

    @property
    def place(self) -> Position | None:
        """Where around the tire it is."""
        clock = self.get("clock")
        return position(clock) if clock else None


class Pair(Value):
    """Two spots, and what follows from their places. None where it does not follow."""

    label: str
    spacing: Interval | None  #: along the outside, in mm
    angle: Interval | None  #: around the axle, in degrees
    overlap: bool | None
    opposed: bool | None
    unplaced: Spot | None  #: the first spot whose place is not known; else the tire's diameter is what may be missing


def spots(injuries: Sequence[Row], repairs: Sequence[Row]) -> tuple[Spot, ...]:
    """Return every spot of a tire."""
    new = (Spot("injury", f"injury {number}", row) for number, row in enumerate(injuries, start=1))
    old = (Spot("repair", f"earlier repair {number}", row) for number, row in enumerate(repairs, start=1))
    return (*new, *old)


def pairs(found: Sequence[Spot], outside_diameter: Interval | None) -> Iterator[Pair]:
    """Yield every pair of spots. `outside_diameter` is in mm."""
    around = None
    if outside_diameter is not None:
        around = Interval(outside_diameter.low * PI.low, outside_diameter.high * PI.high)
    for one, other in itertools.combinations(found, 2):
        spacing, angle = _apart(one.place, other.place, around)
        yield Pair(
            label=f"{one.label} and {other.label}",
            spacing=spacing,
            angle=angle,
            overlap=_overlap(one, other, spacing),
            opposed=_opposed(one, other, angle),
            unplaced=next((spot for spot in (one, other) if spot.place is None), None),
        )


def _apart(
    one: Position | None, other: Position | None, around: Interval | None
) -> tuple[Interval | None, Interval | None]:
    """Return the distance along the outside and the angle between two places, each None where it does not follow."""
    if one is None or other is None:
        return None, None
    if one.turn is not None and other.turn is not None:
        gap = abs(one.turn - other.turn)
        gap = min(gap, 1 - gap)
        degrees = Interval(gap * 360, gap * 360)
        return (None if around is None else Interval(gap * around.low, gap * around.high)), degrees
    if around is None or any(place.arc is not None and place.arc >= around.low for place in (one, other)):
        # A place further along than the tire is around was not measured on this tire.
        return None, None
    # Of a distance along the tread, the other way round may be the shorter one.
    first, second = (_along(place, around) for place in (one, other))
    nearest = max(first.low - second.high, second.low - first.high, Fraction(0))
    farthest = max(first.high - second.low, second.high - first.low)
    spacing = Interval(
        min(nearest, max(around.low - farthest, Fraction(0))), min(farthest, max(around.high - nearest, Fraction(0)))
    )
    degrees = Interval(spacing.low / around.high * 360, min(spacing.high / around.low * 360, Fraction(180)))
    return spacing, degrees


def _along(place: Position, around: Interval) -> Interval:
    if place.arc is not None:
        return Interval(place.arc, place.arc)
    assert place.turn is not None  # INVARIANT: a position has one of the two
    return Interval(place.turn * around.low, place.turn * around.high)


def _overlap(one: Spot, other: Spot, spacing: Interval | None) -> bool | None:
    """Whether two repair units touch: too near each other both around the tire and across it."""
    around = _touch(one.get("unit_length"), other.get("unit_length"), spacing)
    across = _touch(one.get("unit_width"), other.get("unit_width"), _sideways(one, other))
    if False in (around, across):
        return False
    return True if around and across else None


def _touch(one: Interval | None, other: Interval | None, apart: Interval | None) -> bool | None:
    if one is None or other is None or apart is None:
        return None
    if (one.high + other.high) * _HALF <= apart.low:
        return False
    return True if (one.low + other.low) * _HALF > apart.high else None


def _sideways(one: Spot, other: Spot) -> Interval | None:
    """Return how far apart two spots are across the tire; on sides unknown they may lie together."""
    first, second = one.get("from_centerline"), other.get("from_centerline")
    if first is None or second is None:
        return None
    near = max(first.low - second.high, second.low - first.high, Fraction(0))
    far = first.high + second.high
    sides = {one.get("side"), other.get("side")}
    if None in sides:
        return Interval(near, far)
    if len(sides) == 1:
        return Interval(near, max(first.high - second.low, second.high - first.low))
    return Interval(first.low + second.low, far)


def _opposed(one: Spot, other: Spot, angle: Interval | None) -> bool | None:
    """Whether two spots in the sidewalls lie directly across from each other.

    No source says how near is "directly": at the same place it is so, beyond half an hour of the clock it is not, and
    in between a person has to say.
    """
    zones = (one.get("zone"), other.get("zone"))
    sides = (one.get("side"), other.get("side"))
    if any(zone is not None and zone != "sidewall" for zone in zones):
        return False
    if None not in sides and sides[0] == sides[1]:
        return False
    if angle is not None and angle.low > _HALF_AN_HOUR:
        return False
    known = None not in (*zones, *sides) and angle is not None and angle.high == 0
    return True if known else None


def known_pairs(found: Sequence[Spot], tire: Known, unlisted: bool) -> list[PairKnown]:
    """Return what is known of each pair of spots, besides what the case states of all of them together.

    Where some repair is `unlisted` there may be more pairs, about which nothing is known.
    """
    listed = [_known(pair, tire) for pair in pairs(found, interval(tire["tire.outside_diameter"]))]
    return listed if listed and not unlisted else [*listed, PairKnown()]


def _known(pair: Pair, tire: Known) -> PairKnown:
    known = PairKnown()
    for fact, unit, number in (("repairs.spacing", "mm", pair.spacing), ("repairs.spacing_angle", "deg", pair.angle)):
        if number is not None:
            known.values[fact], known.texts[fact] = measured(number, unit), f"{decimal_text(number.low, 1)} {unit}"
    for fact, answer in (("repairs.overlap", pair.overlap), ("repairs.opposed", pair.opposed)):
        if answer is not None:
            known.values[fact] = answer
    for fact in [fact for fact in known.values if tire[fact] is not None]:
        del known.values[fact]  # the case states it
    known.labels["pair"] = pair.label
    if pair.unplaced is not None:
        known.labels[pair.unplaced.group] = pair.unplaced.label
        known.instead["repairs.spacing_angle"] = (f"{pair.unplaced.group}.clock",)
    else:
        known.instead = dict.fromkeys(
            ("repairs.spacing", "repairs.spacing_angle"), ("tire.size", "tire.outside_diameter")
        )
    return known
