"""Exact lengths, angles, masses and times, from the trade's text and back.

Numbers are rational from the first character to the last: 1/4 in, 0.25 in and 6.35 mm are one length. The trade's own
forms are read by `tirerules.exact`; what it does not answer is read here, or refused rather than guessed at: a bare
number, a wrong dimension or a negative length raises :class:`~tirerules.errors.QuantityError` with what to write
instead. A few more units that stand in statutes are sized by pint, which is imported when the first of them is read.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache, lru_cache
from types import MappingProxyType
from typing import Any, Final

from tirerules import exact as trade
from tirerules.errors import QuantityError, nearest
from tirerules.vocabulary import Dimension

__all__ = ["EXAMPLES", "FURTHER", "PATTERN", "UNITS", "Measured", "Quantity", "decimal_text", "measure", "quantity"]

#: The trade's units -> dimension. The lists of units are closed: pint alone would read "Mm" as a megameter.
UNITS: Final[Mapping[str, Dimension]] = MappingProxyType(
    {unit: Dimension(dimension) for unit, (dimension, _, _) in trade.FACTORS.items()}
)
#: Units that are read beside the trade's own -> (dimension, pint's name). What means two things is left out: a ton is
#: short, long or metric, "t" is any of them, an ounce is a mass or a volume, a foot mark is a minute of arc.
FURTHER: Final[Mapping[str, tuple[Dimension, str]]] = MappingProxyType(
    {
        "ft": (Dimension.LENGTH, "foot"),
        "yd": (Dimension.LENGTH, "yard"),
        "g": (Dimension.MASS, "gram"),
        "tonne": (Dimension.MASS, "metric_ton"),
        "week": (Dimension.TIME, "week"),
    }
)
_DIMENSIONS: Final[Mapping[str, Dimension]] = MappingProxyType(
    {**UNITS, **{unit: dimension for unit, (dimension, _) in FURTHER.items()}}
)
_SPELLINGS: Final[Mapping[str, str]] = MappingProxyType(
    {
        **trade.SPELLINGS,
        **{unit: unit for unit in FURTHER},
        "foot": "ft",
        "feet": "ft",
        "yard": "yd",
        "yards": "yd",
        "gram": "g",
        "grams": "g",
        "tonnes": "tonne",
        "weeks": "week",
    }
)
#: Dimension -> pint's name of its base unit.
_BASE: Final[Mapping[Dimension, str]] = MappingProxyType(
    {
        Dimension.LENGTH: "millimeter",
        Dimension.ANGLE: "degree",
        Dimension.MASS: "kilogram",
        Dimension.TIME: "day",
    }
)
#: What to write, by dimension: shown in every refusal.
EXAMPLES: Final[Mapping[Dimension, str]] = MappingProxyType(
    {
        Dimension.LENGTH: '"1/4 in" or "6 mm"',
        Dimension.ANGLE: '"25 deg"',
        Dimension.MASS: '"1900 kg" or "10000 lb"',
        Dimension.TIME: '"6 years"',
    }
)

#: Longer text is no quantity anybody printed, and would only cost time.
_LONGEST_TEXT: Final = 80
_NUMBER: Final = (
    r"(?:[0-9]{1,9}[ -][0-9]{1,9}/[0-9]{1,9}|[0-9]{1,9}/[0-9]{1,9}|[0-9]{1,9}(?:\.[0-9]{1,18})?|\.[0-9]{1,18})"
)
_UNIT: Final = r'(?:[A-Za-z]+|["°])'
#: The form of one quantity, for schemas: a number, then its unit.
PATTERN: Final = rf"^{_NUMBER} ?{_UNIT}$"
_ONE: Final = re.compile(rf"(?P<number>{_NUMBER}) ?(?P<unit>{_UNIT})")
_BARE: Final = re.compile(rf"[-+]?{_NUMBER}")
_THOUSANDS: Final = re.compile(r"^[0-9]{1,3}(?:,[0-9]{3})+(?![0-9,])")
_ROUNDED: Final = " rounded"
#: Two places around a tire are never farther apart, in degrees; a limit at the whole of it would pass nothing or all.
_HALF_TURN: Final = 180


@dataclass(frozen=True, slots=True, order=True)
class Quantity:
    """An exact quantity that remembers how it was printed.

    Equality, order and hash follow `exact`, the value in the base unit of its dimension (mm, degree, kg, day), so that
    ``1/4 in`` equals ``6.35 mm``; `magnitude` and `unit` keep the value as enacted.
    """

    dimension: Dimension
    exact: Fraction
    magnitude: Fraction = field(compare=False)
    unit: str = field(compare=False)
    text: str = field(compare=False)

    def __str__(self) -> str:
        return self.text

    def to(self, unit: str) -> Fraction:
        """Return the exact number of `unit` in this quantity; `unit` is one of `UNITS` of the same dimension.

        Raises QuantityError for a unit of another dimension.
        """
        if UNITS.get(unit) is not self.dimension:
            raise QuantityError(
                self.text, f"cannot be given in {unit!r}", f"choose one of: {_units_of(self.dimension)}"
            )
        return self.exact / _factor(unit)


@dataclass(frozen=True, slots=True)
class Measured:
    """What a gauge says: the true value lies between `low` and `high`, both included."""

    low: Quantity
    high: Quantity
    text: str = field(compare=False)

    def __str__(self) -> str:
        return self.text

    @property
    def dimension(self) -> Dimension:
        """The dimension of both ends."""
        return self.low.dimension


def decimal_text(value: Fraction, places: int = 3) -> str:
    """Return `value` as a decimal with at most `places` places, for display only; never compare it."""
    scaled = round(abs(value) * 10**places)
    whole, rest = divmod(scaled, 10**places)
    digits = f"{rest:0{places}d}".rstrip("0")
    sign = "-" if value < 0 and scaled else ""
    return f"{sign}{whole}.{digits}" if digits else f"{sign}{whole}"


def quantity(text: object, dimension: Dimension, *, around: bool = False) -> Quantity:
    """Read one exact quantity, such as ``1 1/2 in``, ``0.25"``, ``6 mm`` or ``25°``.

    An angle is one of a channel, from straight through; with `around` it is one between two places around a tire.
    Raises QuantityError when `text` is no text, has no unit, has a unit of another dimension, is negative, or (an
    angle) reaches 90 degrees, or 180 around a tire.
    """
    if isinstance(text, str):
        return _general(trade.plain(text), dimension, _HALF_TURN) if around else _quantity(text, dimension)
    if isinstance(text, bool) or text is None:
        raise QuantityError(text, f"is no {dimension}", f"write {EXAMPLES[dimension]}")
    if isinstance(text, (int, float)):
        raise QuantityError(text, "is a bare number without a unit", _with_unit(str(text), dimension))
    raise QuantityError(text, f"is no text that states a {dimension}", f"write {EXAMPLES[dimension]}")


def measure(text: object, dimension: Dimension = Dimension.LENGTH) -> Measured:
    """Read a measurement: one quantity, a range (``5 mm to 6 mm``), a width (``6.0 mm ± 0.3 mm``), a rounded reading.

    A range is what a go/no-go gauge gives. ``4/32 in rounded`` is what a gauge in 32nds shows: half a step either way;
    ``6 mm rounded`` is half a millimeter either way. A width reaches below zero at most to zero. Raises QuantityError
    as `quantity` does, and for a range whose ends are reversed.

    >>> measured = measure("4/32 in rounded")
    >>> (str(measured.low.to("in")), str(measured.high.to("in")))
    ('7/64', '9/64')
    """
    return _measure(text, dimension) if isinstance(text, str) else _exactly(quantity(text, dimension))


@lru_cache(maxsize=4096)
def _measure(text: str, dimension: Dimension) -> Measured:
    said = trade.plain(text)
    if " to " in said:
        low, high = (_quantity(part, dimension) for part in said.split(" to ", 1))
        if high < low:
            raise QuantityError(text, "is a range whose ends are reversed", f'write "{high} to {low}"')
        return Measured(low, high, said)
    for sign in ("±", "+/-"):
        if sign in said:
            middle, width = (_quantity(part, dimension) for part in said.split(sign, 1))
            return _around(middle, width.exact, said)
    if said.endswith(_ROUNDED):
        middle = _quantity(said.removesuffix(_ROUNDED), dimension)
        return _around(middle, _step(middle) * _factor(middle.unit) / 2, said)
    return _exactly(_quantity(text, dimension))


def _around(middle: Quantity, width: Fraction, said: str) -> Measured:
    if middle.dimension is Dimension.ANGLE and middle.exact + width >= trade.RIGHT_ANGLE:
        raise _too_steep(said)
    lowest = max(middle.exact - width, Fraction(0))
    return Measured(
        _from_exact(lowest, middle.unit, middle.dimension),
        _from_exact(middle.exact + width, middle.unit, middle.dimension),
        said,
    )


def _step(reading: Quantity) -> Fraction:
    """Return the step of the gauge that shows `reading` so: its last printed digit, or one part of its fraction."""
    found = _ONE.fullmatch(reading.text)
    assert found is not None  # INVARIANT: the quantity was read by this pattern
    _, slash, parts = found["number"].partition("/")
    if slash:
        return Fraction(1, int(parts))
    return Fraction(1, 10 ** len(found["number"].partition(".")[2]))


def _exactly(value: Quantity) -> Measured:
    return Measured(value, value, value.text)


def _from_exact(exact: Fraction, unit: str, dimension: Dimension) -> Quantity:
    magnitude = exact / _factor(unit)
    return Quantity(dimension, exact, magnitude, unit, f"{decimal_text(magnitude, 4)} {unit}")


@lru_cache(maxsize=4096)
def _quantity(text: str, dimension: Dimension) -> Quantity:
    found = trade.read(text)
    if found is None or UNITS[found[2]] is not dimension:
        return _general(trade.plain(text), dimension)
    above, below, unit = found
    exact = Fraction(above, below)
    return Quantity(dimension, exact, exact / _factor(unit), unit, trade.plain(text))


def _general(said: str, dimension: Dimension, turn: int = trade.RIGHT_ANGLE) -> Quantity:
    """Read a quantity in any unit, the trade's among them, or say what is wrong with it; an angle is below `turn`."""
    if len(said) > _LONGEST_TEXT:
        raise QuantityError(said[:20] + "...", "is too long for a quantity", f"write {EXAMPLES[dimension]}")
    found = _ONE.fullmatch(said)
    if found is None:
        raise _refusal(said, dimension)
    unit = _unit(said, found["unit"], dimension)
    magnitude = _number(said, found["number"])
    exact = magnitude * _factor(unit)
    if dimension is Dimension.ANGLE and exact >= turn:
        raise _too_steep(said) if turn == trade.RIGHT_ANGLE else _too_far_around(said)
    return Quantity(dimension, exact, magnitude, unit, said)


def _too_steep(said: str) -> QuantityError:
    return QuantityError(said, "is no angle from straight through", "write an angle from 0 deg to below 90 deg")


def _too_far_around(said: str) -> QuantityError:
    return QuantityError(said, "is no angle between two places of a tire", "write an angle from 0 deg to below 180 deg")


def _number(text: str, number: str) -> Fraction:
    whole, _, part = number.replace("-", " ").rpartition(" ")
    if "/" not in part:
        return Fraction(part)
    above, below = (int(digits) for digits in part.split("/"))
    if below == 0:
        raise QuantityError(text, "divides by zero")
    if whole and above >= below:
        raise QuantityError(text, "is a whole number with an improper fraction", 'write it as "1 1/2 in"')
    return Fraction(int(whole or 0)) + Fraction(above, below)


def _unit(text: str, spelling: str, dimension: Dimension) -> str:
    # "MM" is what a label printer writes; "Mm" and "M" are nobody's millimeter and meter.
    shouted = spelling.isupper() and len(spelling) > 1
    unit = _SPELLINGS.get(spelling.lower() if shouted else spelling)
    if unit is None:
        spellings = [each for each, unit in _SPELLINGS.items() if _DIMENSIONS[unit] is dimension]
        offers = " or ".join(nearest(spelling.lower(), spellings)) or _units_of(dimension)
        raise QuantityError(text, f"has the unknown unit {spelling!r}", f"did you mean {offers}?")
    if _DIMENSIONS[unit] is not dimension:
        reason = f"is {_article(_DIMENSIONS[unit])} where {_article(dimension)} belongs"
        raise QuantityError(text, reason, f"write {EXAMPLES[dimension]}")
    return unit


def _refusal(said: str, dimension: Dimension) -> QuantityError:
    hint = f"write {EXAMPLES[dimension]}"
    if said.startswith("-") and _ONE.fullmatch(said[1:].lstrip()):
        return QuantityError(said, f"is negative, which no {dimension} here can be", hint)
    if _BARE.fullmatch(said):
        return QuantityError(said, "is a bare number without a unit", _with_unit(said, dimension))
    if _THOUSANDS.search(said):
        return QuantityError(said, "has a comma", f'write "{said.replace(",", "")}" without it')
    if "," in said:
        return QuantityError(said, "has a comma", f"use a point, as in 6.5 mm; {hint}")
    return QuantityError(said, f"is no {dimension}", hint)


def _with_unit(number: str, dimension: Dimension) -> str:
    if not re.fullmatch(_NUMBER, number):
        return f"write {EXAMPLES[dimension]}"
    units = [unit for unit, of in UNITS.items() if of is dimension]
    return "write " + " or ".join(f'"{number} {unit}"' for unit in units if unit not in ("cm", "m"))


def _units_of(dimension: Dimension) -> str:
    return ", ".join(unit for unit, of in UNITS.items() if of is dimension)


def _article(dimension: Dimension) -> str:
    return f"an {dimension}" if dimension is Dimension.ANGLE else f"a {dimension}"


@cache
def _factor(unit: str) -> Fraction:
    """Return how many base units one `unit` is, exactly."""
    if unit in trade.FACTORS:
        _, above, below = trade.FACTORS[unit]
        return Fraction(above, below)
    dimension, name = FURTHER[unit]
    factor = _registry().Quantity(Fraction(1), name).to(_BASE[dimension]).magnitude
    if not isinstance(factor, (Fraction, int)):
        raise TypeError(f"pint gave an inexact factor for {unit}: {factor!r}")
    return Fraction(factor)


@cache
def _registry() -> Any:
    # Imported here because hardly any text names such a unit; pint takes 0.2 s.
    import pint

    return pint.UnitRegistry(non_int_type=Fraction)
