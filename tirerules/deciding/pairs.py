"""Two repairs of one tire: how far apart they are around it, and whether their units overlap or face each other.

Each new injury and each earlier repair is a spot. Distances around the tire are taken on its outside and rounded down,
which is against the repair. Nothing here knows of rules.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from tirerules.case import EarlierRepair, Injury
from tirerules.deciding.geometry import PI
from tirerules.quantities import Measured
from tirerules.scales import Position, position
from tirerules.strictest.bounds import Interval

__all__ = ["Pair", "Spot", "pairs", "spots"]

_HALF: Final = Fraction(1, 2)
#: In degrees around the axle.
_HALF_AN_HOUR: Final = 15


@dataclass(frozen=True, slots=True)
class Spot:
    """One injury or earlier repair, with what is known of its place and of its repair unit."""

    label: str
    record: Injury | EarlierRepair

    @property
    def place(self) -> Position | None:
        """Where around the tire it is."""
        return position(self.record.clock) if self.record.clock else None


@dataclass(frozen=True, slots=True)
class Pair:
    """Two spots, and what follows from their places. None where it does not follow."""

    label: str
    spacing: Interval | None  #: along the outside, in mm
    angle: Interval | None  #: around the axle, in degrees
    overlap: bool | None
    opposed: bool | None
    unplaced: Spot | None  #: the first spot whose place is not known; else the tire's diameter is what may be missing


def spots(injuries: Sequence[Injury], repairs: Sequence[EarlierRepair]) -> tuple[Spot, ...]:
    """Return every spot of a tire."""
    new = (Spot(f"injury {number}", injury) for number, injury in enumerate(injuries, start=1))
    old = (Spot(f"earlier repair {number}", repair) for number, repair in enumerate(repairs, start=1))
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
    around = _touch(one.record.unit_length, other.record.unit_length, spacing)
    across = _touch(one.record.unit_width, other.record.unit_width, _sideways(one, other))
    if False in (around, across):
        return False
    return True if around and across else None


def _touch(one: Measured | None, other: Measured | None, apart: Interval | None) -> bool | None:
    if one is None or other is None or apart is None:
        return None
    if (one.high.exact + other.high.exact) * _HALF <= apart.low:
        return False
    return True if (one.low.exact + other.low.exact) * _HALF > apart.high else None


def _sideways(one: Spot, other: Spot) -> Interval | None:
    """Return how far apart two spots are across the tire; on sides unknown they may lie together."""
    first, second = one.record.from_centerline, other.record.from_centerline
    if first is None or second is None:
        return None
    near = max(first.low.exact - second.high.exact, second.low.exact - first.high.exact, Fraction(0))
    far = first.high.exact + second.high.exact
    sides = {one.record.side, other.record.side}
    if None in sides:
        return Interval(near, far)
    if len(sides) == 1:
        return Interval(near, max(first.high.exact - second.low.exact, second.high.exact - first.low.exact))
    return Interval(first.low.exact + second.low.exact, far)


def _opposed(one: Spot, other: Spot, angle: Interval | None) -> bool | None:
    """Whether two spots in the sidewalls lie directly across from each other.

    No source says how near is "directly": at the same place it is so, beyond half an hour of the clock it is not, and
    in between a person has to say.
    """
    zones = (one.record.zone, other.record.zone)
    sides = (one.record.side, other.record.side)
    if any(zone is not None and zone != "sidewall" for zone in zones):
        return False
    if None not in sides and sides[0] == sides[1]:
        return False
    if angle is not None and angle.low > _HALF_AN_HOUR:
        return False
    known = None not in (*zones, *sides) and angle is not None and angle.high == 0
    return True if known else None
