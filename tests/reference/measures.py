"""Exact quantities from the text of a case or a pack, and back: intervals of rational numbers in base units."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache

from tests.reference.geometry import Interval
from tests.reference.words import UNITS

__all__ = ["decimal", "exact", "interval", "plain"]

_ONE = re.compile(r'([0-9. /-]*[0-9]) ?([A-Za-z]+|["°])')


@cache
def exact(text: str) -> Fraction:
    """Read one quantity such as ``1 1/2 in`` in its base unit."""
    number, unit = _parts(text)
    return sum(map(Fraction, number.replace("-", " ").split()), Fraction(0)) * UNITS[unit]


@cache
def interval(stated: str) -> Interval:
    """Read a measurement: both ends of what it leaves possible. A gauge that rounds is half a step off at most."""
    if " to " in stated:
        low, high = stated.split(" to ")
        return exact(low), exact(high)
    if "±" in stated:
        middle, width = (exact(part.strip()) for part in stated.split("±"))
        return max(middle - width, Fraction(0)), middle + width
    if stated.endswith(" rounded"):
        text = stated.removesuffix(" rounded")
        number, unit = _parts(text)
        _, slash, below = number.partition("/")
        step = Fraction(1, int(below)) if slash else Fraction(1, 10 ** len(number.partition(".")[2]))
        return max(exact(text) - step * UNITS[unit] / 2, Fraction(0)), exact(text) + step * UNITS[unit] / 2
    return exact(stated), exact(stated)


def plain(text: str) -> str:
    """A quantity as it is shown: as it was printed."""
    return text.strip()


def decimal(value: Fraction, places: int = 3) -> str:
    """An exact number for people, rounded to so many places and without idle zeros."""
    scaled = round(abs(value) * 10**places)
    whole, rest = divmod(scaled, 10**places)
    digits = f"{rest:0{places}d}".rstrip("0")
    return f"{'-' if value < 0 and scaled else ''}{whole}{'.' if digits else ''}{digits}"


def _parts(text: str) -> tuple[str, str]:
    found = _ONE.fullmatch(text)
    if found is None:
        raise ValueError(f"no quantity: {text!r}")
    return found[1], found[2]
