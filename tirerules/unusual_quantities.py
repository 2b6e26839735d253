"""Text that is no quantity of the trade's own forms: read where it names another unit, else refused in words.

`tirerules.units` reads what a counter types; `tirerules.quantities` imports this module for anything else, which is
seldom. The number in a text, and what makes a measurement of two, are read by the same functions there, so that there
is one meaning of what is printed. A few more units that stand in statutes are sized by pint, which is imported when the
first of them is read.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from types import MappingProxyType
from typing import Any, Final

from tirerules.errors import QuantityError, nearest
from tirerules.units import (
    DIMENSIONS,
    EXAMPLES,
    FURTHER,
    PATTERN,
    RIGHT_ANGLE,
    SPELLINGS,
    TO,
    UNITS,
    number_of,
    plain,
    size_of,
    span_by,
    split,
)
from tirerules.vocabulary import Dimension

__all__ = ["no_such_unit", "read_any", "size_by_pint", "span_of_any"]

_SPELLINGS: Final[Mapping[str, str]] = MappingProxyType(
    {
        **SPELLINGS,
        **{unit: unit for unit in FURTHER},
        **{"foot": "ft", "feet": "ft", "yard": "yd", "yards": "yd"},
        **{"gram": "g", "grams": "g", "tonnes": "tonne", "weeks": "week"},
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
#: Longer text is no quantity anybody printed, and would only cost time.
_LONGEST_TEXT: Final = 80
#: Two places around a tire are never farther apart, in degrees; a limit at the whole of it would pass nothing or all.
_HALF_TURN: Final = 180
_ONE: Final = re.compile(PATTERN.removeprefix("^").removesuffix("$"))
_NUMBER: Final = PATTERN.removeprefix("^").partition(" ?")[0]
_BARE: Final = re.compile(rf"[-+]?{_NUMBER}")
_THOUSANDS: Final = re.compile(r"^[0-9]{1,3}(?:,[0-9]{3})+(?![0-9,])")


def read_any(text: object, dimension: Dimension, around: bool = False) -> tuple[int, int, str]:
    """Return the numerator and denominator in base units and the unit as kept of one quantity in any unit that is read.

    An angle is below a right angle, or with `around` below half a turn. Raises QuantityError for everything else, with
    what to write instead.
    """
    if not isinstance(text, str):
        raise _no_text(text, dimension)
    said = plain(text)
    if len(said) > _LONGEST_TEXT:
        raise QuantityError(said[:20] + "...", "is too long for a quantity", f"write {EXAMPLES[dimension]}")
    if not _ONE.fullmatch(said):
        raise _refusal(said, dimension)
    number, spelling = split(said)
    unit = _unit(said, spelling, dimension)
    printed = number_of(number)
    if printed is None:
        raise _no_number(said, number)
    above, below = size_of(unit)
    above, below = printed[0] * above, printed[1] * below
    if dimension == Dimension.ANGLE and above >= (_HALF_TURN if around else RIGHT_ANGLE) * below:
        raise _too_far_around(said) if around else _too_steep(said)
    return above, below, unit


def span_of_any(text: object, dimension: Dimension) -> tuple[tuple[int, int], tuple[int, int], str]:
    """Return both ends of a measurement in any units that are read, and the unit of its first figure.

    Raises QuantityError for what is none, as `tirerules.quantities.measure` says.
    """
    if not isinstance(text, str):
        raise _no_text(text, dimension)
    said = plain(text)
    found = span_by(lambda part: read_any(part, dimension), said)
    if found is None:  # each figure was read by itself: only together are they none
        if TO not in said:
            raise _too_steep(said)
        low, high = (plain(part) for part in said.split(TO, 1))
        raise QuantityError(text, "is a range whose ends are reversed", f'write "{high} to {low}"')
    return found


@cache
def size_by_pint(unit: str) -> tuple[int, int]:
    """Return how many base units one `unit` of `FURTHER` is, exactly, as numerator and denominator."""
    dimension, name = FURTHER[unit]
    size = _registry().Quantity(Fraction(1), name).to(_BASE[dimension]).magnitude
    if not isinstance(size, (Fraction, int)):
        raise TypeError(f"pint gave an inexact size for {unit}: {size!r}")
    return size.as_integer_ratio()


@cache
def _registry() -> Any:
    # Imported here because hardly any text names such a unit; pint takes 0.2 s.
    import pint

    return pint.UnitRegistry(non_int_type=Fraction)


def no_such_unit(text: str, unit: str, dimension: Dimension) -> QuantityError:
    """Return the refusal to give the quantity `text` in `unit`, which is no unit of its dimension."""
    return QuantityError(text, f"cannot be given in {unit!r}", f"choose one of: {_units_of(dimension)}")


def _no_text(given: object, dimension: Dimension) -> QuantityError:
    hint = f"write {EXAMPLES[dimension]}"
    if isinstance(given, bool) or given is None:
        return QuantityError(given, f"is no {dimension}", hint)
    if isinstance(given, (int, float)):
        return QuantityError(given, "is a bare number without a unit", _with_unit(str(given), dimension))
    return QuantityError(given, f"is no text that states a {dimension}", hint)


def _too_steep(said: str) -> QuantityError:
    return QuantityError(said, "is no angle from straight through", "write an angle from 0 deg to below 90 deg")


def _too_far_around(said: str) -> QuantityError:
    return QuantityError(said, "is no angle between two places of a tire", "write an angle from 0 deg to below 180 deg")


def _no_number(said: str, number: str) -> QuantityError:
    """Return the refusal of a number whose form is right: only a fraction can be wrong then."""
    if int(number.partition("/")[2]) == 0:
        return QuantityError(said, "divides by zero")
    return QuantityError(said, "is a whole number with an improper fraction", 'write it as "1 1/2 in"')


def _unit(text: str, spelling: str, dimension: Dimension) -> str:
    # "MM" is what a label printer writes; "Mm" and "M" are nobody's millimeter and meter.
    shouted = spelling.isupper() and len(spelling) > 1
    unit = _SPELLINGS.get(spelling.lower() if shouted else spelling)
    if unit is None:
        spellings = [each for each, unit in _SPELLINGS.items() if DIMENSIONS[unit] == dimension]
        offers = " or ".join(nearest(spelling.lower(), spellings)) or _units_of(dimension)
        raise QuantityError(text, f"has the unknown unit {spelling!r}", f"did you mean {offers}?")
    if DIMENSIONS[unit] != dimension:
        reason = f"is {_article(DIMENSIONS[unit])} where {_article(dimension)} belongs"
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
    units = [unit for unit, of in UNITS.items() if of == dimension]
    return "write " + " or ".join(f'"{number} {unit}"' for unit in units if unit not in ("cm", "m"))


def _units_of(dimension: Dimension) -> str:
    return ", ".join(unit for unit, of in UNITS.items() if of == dimension)


def _article(dimension: Dimension) -> str:
    return f"an {dimension}" if dimension == Dimension.ANGLE else f"a {dimension}"
