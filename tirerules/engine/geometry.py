"""Where an injury's channel lies: a tilted cylinder through the casing, measured from the center line of the tread.

Exact in its inputs; trigonometry is irrational, so every sine, cosine and tangent is rounded against the injury (it
reaches a little further and is a little larger), never for it. The tread is taken as flat under the injury. Nothing
here knows of rules.
"""

from __future__ import annotations

import math
from fractions import Fraction

from tirerules.quantities import Measured, Quantity
from tirerules.strictest.bounds import Interval
from tirerules.values import Value, lazy

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, Final

__all__ = ["FARTHEST", "PI", "Channel", "Faces", "across", "cosine", "interval", "measured", "secant", "tangent"]

#: In mm, beyond any tire: how far a channel may reach of which a measure is missing.
FARTHEST: Final = Fraction(10**9)
#: Bounds of pi, for lengths around the tire.
PI: Final = Interval(Fraction(3141592653589793, 10**15), Fraction(3141592653589794, 10**15))
#: Far above the error of the platform's trigonometry, which is a few units in the sixteenth digit, magnified by the
#: steepness of the tangent below `_STEEPEST`; far below any gauge.
_SLACK: Final = Fraction(1, 10**11)
#: Beyond this many degrees the steepness would eat the slack; such a channel has no certain reach.
_STEEPEST: Final = 89


def interval(value: Any) -> Interval | None:
    """Return a measurement of a row as exact fractions of its base unit; None for what is none."""
    if not isinstance(value, Measured):
        return None
    low, below_low, high, below_high = value.ends
    return Interval(Fraction(low, below_low), Fraction(high, below_high))


def measured(number: Interval, unit: str = "mm") -> Measured:
    """Return exact fractions of a base unit as a row holds them."""
    return Measured(Quantity.of(number.low, unit), Quantity.of(number.high, unit), "")


def tangent(degrees: Fraction) -> Fraction:
    """Return the tangent of an angle from 0 to below 90 degrees, exact at 0, else rounded up."""
    if degrees == 0:
        return Fraction(0)
    return FARTHEST if degrees > _STEEPEST else Fraction(math.tan(math.radians(degrees))) * (1 + _SLACK)


def secant(degrees: Fraction) -> Fraction:
    """Return 1 / cosine of an angle from 0 to below 90 degrees, exact at 0, else rounded up."""
    if degrees == 0:
        return Fraction(1)
    return FARTHEST if degrees > _STEEPEST else 1 / Fraction(math.cos(math.radians(degrees))) * (1 + _SLACK)


def cosine(degrees: Fraction) -> Fraction:
    """Return the cosine of an angle from 0 to below 90 degrees, exact at 0, else rounded up."""
    return Fraction(1) if degrees == 0 else Fraction(math.cos(math.radians(degrees))) * (1 + _SLACK)


def across(along_surface: Interval, angle: Interval | None) -> Interval:
    """Return the diameter across the channel of a hole that measures `along_surface` where it is longest.

    A tilted channel shows longer on the surface than it is wide; at an unknown angle it may be as wide as it looks.
    """
    widest = along_surface.high * (cosine(angle.low) if angle else 1)
    narrowest = along_surface.low * cosine(angle.high) if angle else Fraction(0)
    return Interval(min(narrowest, along_surface.low), min(widest, along_surface.high))


class Faces(Value):
    """How far from the center line the openings reach on the outer and the inner face, in mm."""

    outer: Interval
    inner: Interval

    @property
    def reach(self) -> Interval:
        """How far the injury reaches on either face; between the faces it never reaches further."""
        return Interval(max(self.outer.low, self.inner.low), max(self.outer.high, self.inner.high))


class Channel(Value):
    """What was measured of a channel. `offset` is that of the outer opening's middle; None where not measured."""

    offset: Interval
    diameter: Interval | None
    angle: Interval | None
    leans: str | None
    thickness: Interval | None

    def faces(self) -> Faces:
        """Return the reach on both faces: from what it surely is to what it may be at worst."""
        return self._faces

    @lazy
    def _faces(self) -> Faces:
        diameter = self.diameter or Interval(Fraction(0), FARTHEST)
        if self.leans == "along-circumference":
            half = Interval(diameter.low / 2, diameter.high / 2)
            same = _plus(self.offset, half)
            return Faces(same, same)
        angle = self.angle or Interval(Fraction(0), Fraction(90))
        longest = Interval(diameter.low / 2 * secant(angle.low), diameter.high / 2 * secant(angle.high))
        # Of an unknown lean, the channel may tilt around the tire, and then it is no wider than it is across.
        half = Interval(diameter.low / 2, longest.high) if self.leans is None else longest
        thickness = self.thickness or Interval(Fraction(0), FARTHEST)
        shift = Interval(thickness.low * tangent(angle.low), thickness.high * tangent(angle.high))
        outer = _plus(self.offset, half)
        match self.leans:
            case "toward-shoulder":
                inner = _plus(outer, shift)
            case "toward-center":
                inner = _plus(_distance(self.offset, shift), half)
            case _:
                nearest = _distance(self.offset, Interval(Fraction(0), shift.high)).low + half.low
                inner = Interval(nearest, outer.high + shift.high)
        return Faces(outer, inner)

    @property
    def bounded(self) -> bool:
        """Whether enough was measured to say how far it reaches at worst."""
        if self.diameter is None or self.leans == "along-circumference":
            return self.diameter is not None
        if self.angle is None or self.angle.high > _STEEPEST:
            return False
        return self.angle.high == 0 or self.thickness is not None

    def missing(self) -> tuple[str, ...]:
        """Return the facts that would narrow the reach, most decisive first."""
        if self.diameter is None:
            return ("injury.diameter",)
        if self.leans == "along-circumference" or (self.angle and self.angle.high == 0):
            return ()
        if self.angle is None:
            return ("injury.angle",)
        wanted = [("injury.leans", self.leans), ("tire.thickness", self.thickness)]
        return tuple(fact for fact, known in wanted if known is None)


def _plus(one: Interval, other: Interval) -> Interval:
    return Interval(one.low + other.low, one.high + other.high)


def _distance(one: Interval, other: Interval) -> Interval:
    """Return how far apart two numbers are that lie anywhere in two intervals."""
    nearest = max(one.low - other.high, other.low - one.high, Fraction(0))
    return Interval(nearest, max(one.high - other.low, other.high - one.low))
