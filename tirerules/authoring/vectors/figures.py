"""Figures just below, at and just above a limit, as text that a case can state and that says exactly what is meant.

The next figure is a thousandth of a millimeter, degree or kilogram away, or a day: far finer than any gauge, and far
coarser than what a binary float loses, so that an integration which computes in floats is found out at the figure
itself. Every text is a decimal where one is exact, else a fraction.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from fractions import Fraction
from typing import Final

from tirerules.quantities import Quantity
from tirerules.strictest.bounds import Interval, Strictest
from tirerules.vocabulary import Dimension

__all__ = ["BASE", "above", "below", "in_other_unit", "inside", "straddling", "text_of"]

#: The unit in which an exact value counts.
BASE: Final[Mapping[Dimension, str]] = {
    Dimension.LENGTH: "mm",
    Dimension.ANGLE: "deg",
    Dimension.MASS: "kg",
    Dimension.TIME: "day",
}
#: How many steps to the next figure stand in one base unit.
_STEPS: Final[Mapping[Dimension, int]] = {
    Dimension.LENGTH: 1000,
    Dimension.ANGLE: 1000,
    Dimension.MASS: 1000,
    Dimension.TIME: 1,
}
#: The unit in which somebody else would print the same figure.
_OTHER: Final[Mapping[str, str]] = {
    "in": "mm",
    "mm": "in",
    "cm": "in",
    "m": "in",
    "lb": "kg",
    "kg": "lb",
    "year": "day",
    "month": "day",
}
#: The parts of a fraction that can be read back are smaller.
_LONGEST: Final = 10**6
#: No angle reaches this many degrees from straight through; one between two places around the tire may, to the other.
_RIGHT_ANGLE, _HALF_TURN = 90, 180


def text_of(value: Fraction, unit: str) -> str:
    """Return a number of `unit` as text: a decimal where one is exact, else a fraction.

    >>> (text_of(Fraction(381, 40), "mm"), text_of(Fraction(30, 127), "in"))
    ('9.525 mm', '30/127 in')
    """
    places = 0
    while places < 18 and (value * 10**places).denominator != 1:
        places += 1
    scaled = value * 10**places
    if scaled.denominator != 1:
        return f"{value.numerator}/{value.denominator} {unit}"
    whole, rest = divmod(int(scaled), 10**places)
    return f"{whole}.{rest:0{places}d} {unit}" if places else f"{whole} {unit}"


def below(exact: Fraction, dimension: Dimension) -> str | None:
    """Return the next figure below `exact`; None where there is none, because it is zero."""
    step = math.ceil(exact * _STEPS[dimension]) - 1
    return None if step < 0 else text_of(Fraction(step, _STEPS[dimension]), BASE[dimension])


def above(exact: Fraction, dimension: Dimension) -> str | None:
    """Return the next figure above `exact`; None where there is none, because no angle is so large."""
    value = Fraction(math.floor(exact * _STEPS[dimension]) + 1, _STEPS[dimension])
    return None if dimension is Dimension.ANGLE and value >= _most(exact) else text_of(value, BASE[dimension])


def _most(angle: Fraction) -> int:
    """Return what no angle of the kind of `angle` reaches."""
    return _RIGHT_ANGLE if angle < _RIGHT_ANGLE else _HALF_TURN


def straddling(exact: Fraction, dimension: Dimension) -> str | None:
    """Return a measurement that may lie on either side of `exact`; None where one side does not exist."""
    low, high = below(exact, dimension), above(exact, dimension)
    return f"{low} to {high}" if low and high else None


def in_other_unit(figure: Quantity) -> str | None:
    """Return the very same figure in the other unit of its kind, such as ``9.525 mm`` for ``3/8 in``.

    None for angles, and where nobody could write it: ``1900 kg`` is a fraction of many digits in pounds.

    >>> from tirerules.quantities import quantity
    >>> in_other_unit(quantity("6 mm", Dimension.LENGTH))
    '30/127 in'
    """
    unit = _OTHER.get(figure.unit)
    if unit is None or figure.to(unit).denominator >= _LONGEST:
        return None
    return text_of(figure.to(unit), unit)


def inside(wanted: Strictest, dimension: Dimension | None) -> Fraction | None:
    """Return a number well inside what `wanted` admits, in base units; None where nothing is.

    Without a dimension it is a count, and whole.
    """
    low = wanted.floor.value if wanted.floor else Fraction(0)
    if wanted.ceiling is not None:
        middle = (low + wanted.ceiling.value) / 2
    elif dimension is Dimension.ANGLE:
        middle = (low + _most(low)) / 2
    else:
        middle = low * 2 or Fraction(1)
    tries = (middle,) if dimension else (Fraction(math.floor(middle)), Fraction(math.ceil(middle)))
    return next((value for value in tries if wanted.admits(Interval(value, value))), None)
