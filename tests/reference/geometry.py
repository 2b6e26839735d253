"""Where an injury or an earlier repair lies: intervals of exact lengths, in mm from the center line of the tread.

Handbook geometry: a channel is a tilted cylinder through a flat tread, its openings are ellipses (lateral reach =
offset + t tan θ + (d/2) / cos θ). Sines and cosines are irrational, so each is two rational numbers, the truth between
them and less than 1e-25 apart. A measure that is missing leaves its end of the interval open: `math.inf`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from typing import Any, Final

__all__ = [
    "PI",
    "Interval",
    "across",
    "band",
    "injury_reach",
    "is_bounded",
    "openings",
    "repair_reach",
    "sine_and_cosine",
    "zone_as_measured",
]

#: Both ends of what is known of a number; the upper one may be `math.inf`.
Interval = tuple[Any, Any]

_DIGITS: Final = 10**35
#: Pi to 35 places, cut off, and one unit in the last place more.
PI: Final[Interval] = (
    Fraction(314159265358979323846264338327950288, _DIGITS),
    Fraction(314159265358979323846264338327950289, _DIGITS),
)
_TERMS: Final = 20  # of the series, below pi/2: the rest is less than 1e-38
_STEEPEST: Final = 89
_ON_THE_TREAD: Final = ("crown", "belt-edge")


def injury_reach(
    offset: Interval, diameter: Interval | None, angle: Interval | None, leans: str | None, thickness: Interval | None
) -> Interval:
    """How far the wider of the two openings reaches, over all that the measures leave possible."""
    across = diameter or (Fraction(0), math.inf)
    upright = across[0] / 2, across[1] / 2
    if leans == "along-circumference":
        return offset[0] + upright[0], offset[1] + upright[1]
    tilt = angle or (Fraction(0), Fraction(90))
    half = _times(upright[0], _secant(tilt[0])[0]), _times(upright[1], _secant(tilt[1])[1])
    through = thickness or (Fraction(0), math.inf)
    shift = _times(through[0], _tangent(tilt[0])[0]), _times(through[1], _tangent(tilt[1])[1])
    shoulder = offset[1] + shift[1] + half[1]
    if leans == "toward-shoulder":
        return offset[0] + shift[0] + half[0], shoulder
    if leans == "toward-center":
        # The inner opening lies at |offset - shift|, the outer at offset. Where the shift is twice the offset both are
        # equally far out, which is the least that the further one can be.
        nearest = min(max(shift[0] / 2, offset[0]), offset[1])
        return max(nearest, shift[0] - nearest) + half[0], max(offset[1], shift[1] - offset[0]) + half[1]
    # It may lean around the tire, and then it is no wider than it is across; or toward the shoulder.
    return offset[0] + upright[0], shoulder


def openings(
    offset: Interval, diameter: Interval | None, angle: Interval | None, leans: str | None, thickness: Interval | None
) -> tuple[Interval, Interval]:
    """How far the outer and the inner opening reach; of an unknown lean each as far as it may."""
    across = diameter or (Fraction(0), math.inf)
    upright = offset[0] + across[0] / 2, offset[1] + across[1] / 2
    if leans == "along-circumference":
        return upright, upright
    tilt, through = angle or (Fraction(0), Fraction(90)), thickness or (Fraction(0), math.inf)
    half = _times(across[0] / 2, _secant(tilt[0])[0]), _times(across[1] / 2, _secant(tilt[1])[1])
    shift = _times(through[0], _tangent(tilt[0])[0]), _times(through[1], _tangent(tilt[1])[1])
    outer = (offset[0] + half[0] if leans else upright[0]), offset[1] + half[1]
    if leans == "toward-center":
        near = max(offset[0] - shift[1], shift[0] - offset[1], Fraction(0))
        return outer, (near + half[0], max(offset[1] - shift[0], shift[1] - offset[0]) + half[1])
    least = offset[0] + shift[0] + half[0] if leans else max(offset[0] - shift[1], Fraction(0)) + across[0] / 2
    return outer, (least, outer[1] + shift[1])


def is_bounded(
    diameter: Interval | None, angle: Interval | None, leans: str | None, thickness: Interval | None
) -> bool:
    """Whether enough was measured to say how far an injury reaches at worst; beyond 89 degrees nothing is certain."""
    if diameter is None or leans == "along-circumference":
        return diameter is not None
    return angle is not None and angle[1] <= _STEEPEST and (angle[1] == 0 or thickness is not None)


def across(along_surface: Interval, angle: Interval | None) -> Interval:
    """The size across a channel that shows so long on the surface; at an unknown angle it may be as wide as that."""
    if angle is None:
        return Fraction(0), along_surface[1]
    narrowest = along_surface[0] * sine_and_cosine(angle[1])[1][0] if angle[1] else along_surface[0]
    widest = along_surface[1] * sine_and_cosine(angle[0])[1][1] if angle[0] else along_surface[1]
    return narrowest, widest


def repair_reach(offset: Interval, diameter: Interval | None) -> Interval:
    """How far an earlier repair reaches: the damage under it is taken as straight."""
    across = diameter or (Fraction(0), math.inf)
    return offset[0] + across[0] / 2, offset[1] + across[1] / 2


def zone_as_measured(
    zone: str, offset: Interval, diameter: Interval | None, reach: Interval, tread: Interval | None
) -> str | None:
    """The zone that counts where one was named and a place measured; None where the two may contradict each other.

    A zone of the tread does not begin beyond half its width: what surely lies out there with its nearest edge is in the
    shoulder, whatever it was called; what reaches out there, or may, is no certain crown. A belt edge, which is no
    better a place than the shoulder, it stays.
    """
    if zone not in _ON_THE_TREAD or tread is None:
        return zone
    widest = diameter[1] if diameter else math.inf
    if offset[0] - widest / 2 >= tread[1] / 2:
        return "shoulder"
    return None if zone == "crown" and reach[1] > tread[0] / 2 else zone


def band(figure: dict[str, Any], datum: Interval, inset: Fraction, throughs: list[Fraction | None]) -> Interval:
    """The least and the greatest of a band's half width, in mm, over all that its datum may be.

    `throughs` are the steps of its shares as exact lengths, the last of them None. Between two steps the width rises
    with the datum, so that the extremes lie at the ends and on both sides of each step.
    """
    shares = [_share(row) for row in _rows(figure)]

    def widths() -> Iterator[Fraction]:
        above = Fraction(-1)
        for share, through in zip(shares, throughs, strict=True):
            first = max(datum[0], above)
            last = datum[1] if through is None else min(datum[1], through)
            if first <= last and last > above:
                yield from (first * share / 2 - inset, last * share / 2 - inset)
            above = last if through is None else through

    found = list(widths())
    return min(found), max(found)


def _rows(figure: dict[str, Any]) -> list[dict[str, str]]:
    stated = figure.get("share", "100 %")
    return stated if isinstance(stated, list) else [{"share": stated}]


def _share(row: dict[str, str]) -> Fraction:
    text = row["share"]
    return Fraction(text.rstrip("% ")) / 100 if text.endswith("%") else Fraction(text)


@cache
def sine_and_cosine(degrees: Fraction) -> tuple[Interval, Interval]:
    """Both functions of an angle from 0 to 90 degrees: the sine rises and the cosine falls over the bounds of pi."""
    # Cut to as many digits as pi has, outward: numbers of a thousand digits would tell nothing more.
    low = Fraction(math.floor(degrees / 180 * PI[0] * _DIGITS), _DIGITS)
    high = Fraction(math.ceil(degrees / 180 * PI[1] * _DIGITS), _DIGITS)
    return (_series(low, 1)[0], _series(high, 1)[1]), (_series(high, 0)[0], _series(low, 0)[1])


def _series(radians: Fraction, first: int) -> Interval:
    """The alternating series of the cosine (`first` 0) or sine (1): the truth lies between two of its partial sums."""
    term, total = radians**first, Fraction(0)
    for power in range(first, first + 2 * _TERMS, 2):
        total += term
        term *= -radians * radians / ((power + 1) * (power + 2))
    return min(total, total + term), max(total, total + term)


def _tangent(degrees: Fraction) -> Interval:
    if degrees in (0, 90):
        return (Fraction(0), Fraction(0)) if degrees == 0 else (math.inf, math.inf)
    sine, cosine = sine_and_cosine(degrees)
    return sine[0] / cosine[1], sine[1] / cosine[0]


def _secant(degrees: Fraction) -> Interval:
    if degrees in (0, 90):
        return (Fraction(1), Fraction(1)) if degrees == 0 else (math.inf, math.inf)
    _, cosine = sine_and_cosine(degrees)
    return 1 / cosine[1], 1 / cosine[0]


def _times(one: Any, other: Any) -> Any:
    """A product in which nothing times anything, however large, is nothing."""
    return Fraction(0) if 0 in (one, other) else one * other
