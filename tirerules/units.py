"""Units, and what is printed before them: from text to whole numbers and back.

The data structure is a pair of whole numbers: a numerator and a denominator in the base unit of the dimension (mm,
degree, kg, day), not in lowest terms; the denominator keeps the step of what was printed and is above zero. Nothing is
ever rounded, and nothing here starts slowly. The trade's own forms are read; for other text `read` and `span` answer
None, and `tirerules.unusual_quantities` reads it or says what is wrong with it.
"""

from __future__ import annotations

from types import MappingProxyType

from tirerules.vocabulary import Dimension

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from fractions import Fraction
    from typing import Final

    #: Numerator, denominator, and the unit as kept.
    Read = tuple[int, int, str]
    #: Both ends of a measurement, and the unit of its first figure.
    Span = tuple[tuple[int, int], tuple[int, int], str]

__all__ = [
    "DIMENSIONS",
    "EXAMPLES",
    "FACTORS",
    "FURTHER",
    "PATTERN",
    "RIGHT_ANGLE",
    "SPELLINGS",
    "TO",
    "UNITS",
    "as_decimal",
    "decimal_text",
    "follows",
    "number_of",
    "plain",
    "read",
    "size_of",
    "span",
    "span_by",
    "split",
]

#: Unit of the trade -> (dimension, numerator, denominator of its size in base units). The list is closed: pint alone
#: would read "Mm" as a megameter. Inch 25.4 mm and pound 0.453 592 37 kg: International Yard and Pound agreement, 1959.
#: Year: the Julian year of 365.25 days (International Astronomical Union); month: its twelfth.
FACTORS: Final[Mapping[str, tuple[Dimension, int, int]]] = MappingProxyType(
    {
        "mm": (Dimension.LENGTH, 1, 1),
        "cm": (Dimension.LENGTH, 10, 1),
        "m": (Dimension.LENGTH, 1000, 1),
        "in": (Dimension.LENGTH, 254, 10),
        "deg": (Dimension.ANGLE, 1, 1),
        "kg": (Dimension.MASS, 1, 1),
        "lb": (Dimension.MASS, 45359237, 100000000),
        "day": (Dimension.TIME, 1, 1),
        "month": (Dimension.TIME, 36525, 1200),
        "year": (Dimension.TIME, 36525, 100),
    }
)
#: The trade's units -> dimension.
UNITS: Final[Mapping[str, Dimension]] = MappingProxyType({unit: size[0] for unit, size in FACTORS.items()})
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
#: Every unit that is read -> dimension.
DIMENSIONS: Final[Mapping[str, Dimension]] = MappingProxyType(
    {**UNITS, **{unit: dimension for unit, (dimension, _) in FURTHER.items()}}
)
#: Spelling -> unit as kept, of the trade's units. Case counts: "Mm" and "M" are nobody's millimeter and meter.
SPELLINGS: Final[Mapping[str, str]] = MappingProxyType(
    {
        **{unit: unit for unit in FACTORS},
        **{'"': "in", "inch": "in", "inches": "in", "°": "deg", "degree": "deg", "degrees": "deg"},
        **{"lbs": "lb", "days": "day", "months": "month", "years": "year"},
    }
)
#: The form of one quantity, for schemas: a number, then its unit.
PATTERN: Final = (
    r"^(?:[0-9]{1,9}[ -][0-9]{1,9}/[0-9]{1,9}|[0-9]{1,9}/[0-9]{1,9}|[0-9]{1,9}(?:\.[0-9]{1,18})?|\.[0-9]{1,18})"
    r' ?(?:[A-Za-z]+|["°])$'
)
#: An angle is measured from straight through and stays below this, in degrees.
RIGHT_ANGLE: Final = 90

#: "MM" is what a label printer writes.
_ACCEPTED: Final = {**SPELLINGS, **{each.upper(): unit for each, unit in SPELLINGS.items() if len(each) > 1}}
_LETTERS: Final = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
#: Spaces, inch marks and degree signs that word processors and keyboards put in the place of the plain ones.
_SAME_CHARACTER: Final = str.maketrans(
    {"\u00a0": " ", "\u2009": " ", "\u202f": " ", "\u2033": '"', "\u201d": '"', "\u00ba": "°"}
)
#: What stands between the ends of a range.
TO: Final = " to "
#: What stands between a middle and a width.
_AROUND: Final = ("±", "+/-")
_ROUNDED: Final = " rounded"
#: What to write, by dimension: shown in every refusal.
EXAMPLES: Final[Mapping[Dimension, str]] = MappingProxyType(
    {
        Dimension.LENGTH: '"1/4 in" or "6 mm"',
        Dimension.ANGLE: '"25 deg"',
        Dimension.MASS: '"1900 kg" or "10000 lb"',
        Dimension.TIME: '"6 years"',
    }
)


def decimal_text(value: Fraction | int | tuple[int, int], places: int = 3) -> str:
    """Return `value`, a number or its numerator and denominator, as a decimal; for display only, never compare it.

    It has at most `places` places, and a tie goes to the even digit.

    >>> decimal_text((127, 20), 1)
    '6.4'
    """
    above, below = value if isinstance(value, tuple) else value.as_integer_ratio()
    scaled, rest = divmod(abs(above) * 10**places, below)
    scaled += 2 * rest > below or (2 * rest == below and scaled % 2)
    whole, part = divmod(scaled, 10**places)
    digits = f"{part:0{places}d}".rstrip("0")
    sign = "-" if above < 0 and scaled else ""
    return f"{sign}{whole}.{digits}" if digits else f"{sign}{whole}"


def size_of(unit: str) -> tuple[int, int]:
    """Return how many base units one `unit` of `DIMENSIONS` is, exactly, as numerator and denominator."""
    if unit in FACTORS:
        return FACTORS[unit][1:]
    from tirerules.unusual_quantities import size_by_pint

    return size_by_pint(unit)


def as_decimal(above: int, below: int, unit: str) -> str:
    """Return a number of base units as it is printed in `unit` where it follows from what was printed."""
    size, of = size_of(unit)
    return f"{decimal_text((above * of, below * size), 4)} {unit}"


def plain(text: str) -> str:
    """Return `text` with plain spaces and signs, and none at its ends: what is read, and kept as printed."""
    return text.strip() if text.isascii() else text.translate(_SAME_CHARACTER).strip()


def read(text: str) -> Read | None:
    """Return the numerator and denominator in base units and the unit as kept, or None for no form of the trade.

    >>> read('1 1/2 in')
    (762, 20, 'in')
    """
    number, spelling = split(plain(text))
    unit, printed = _ACCEPTED.get(spelling), number_of(number)
    if unit is None or printed is None:
        return None
    dimension, above, below = FACTORS[unit]
    above, below = printed[0] * above, printed[1] * below
    return None if dimension is Dimension.ANGLE and above >= RIGHT_ANGLE * below else (above, below, unit)


def span(text: str) -> Span | None:
    """Return both ends of a measurement and the unit of its first figure, or None for no form of the trade.

    >>> span("4/32 in rounded")
    ((1778, 640), (2286, 640), 'in')
    """
    return span_by(read, plain(text))


def span_by(reader: Callable[[str], Read | None], said: str) -> Span | None:
    """Return both ends of a measurement whose figures `reader` reads.

    None where it reads none, where the figures are of two dimensions, where a range is reversed, and where an angle
    would reach a right angle.
    """
    for sign in (TO, *_AROUND):
        if sign in said:
            first, _, second = said.partition(sign)
            one = reader(first)
            other = one and reader(second)
            if one is None or other is None or DIMENSIONS[one[2]] is not DIMENSIONS[other[2]]:
                return None
            low, high, below = one[0] * other[1], other[0] * one[1], one[1] * other[1]
            if sign != TO:
                return _around(low, high, below, one[2])
            return (one[:2], other[:2], one[2]) if low <= high else None
    one = reader(said.removesuffix(_ROUNDED))
    if one is None or not said.endswith(_ROUNDED):
        return one and (one[:2], one[:2], one[2])
    # The gauge's step is its last digit or one part of its fraction: one over what was printed below, in the unit.
    return _around(2 * one[0], size_of(one[2])[0], 2 * one[1], one[2])


def _around(middle: int, width: int, below: int, unit: str) -> Span | None:
    """Return what reaches `width` to both sides of `middle`, both over `below`; downwards at most to zero."""
    if DIMENSIONS[unit] is Dimension.ANGLE and middle + width >= RIGHT_ANGLE * below:
        return None
    return (max(middle - width, 0), below), (middle + width, below), unit


def follows(said: str) -> bool:
    """Whether the ends of a measurement follow from its text, and do not stand in it."""
    return said.endswith(_ROUNDED) or any(sign in said for sign in _AROUND)


def split(said: str) -> tuple[str, str]:
    """Return the number and the spelling of the unit in one quantity, as they stand."""
    number = said[:-1] if said.endswith(('"', "°")) else said.rstrip(_LETTERS)
    return number.removesuffix(" "), said[len(number) :]


def number_of(text: str) -> tuple[int, int] | None:
    """Return a whole number, a decimal, a fraction or a mixed number as it is printed: the denominator is its step.

    None for text of another form, a fraction over zero, and a whole number with an improper fraction.
    """
    above, slash, below = text.partition("/")
    if slash:
        whole, gap, above = above.rpartition(" " if " " in above else "-")
        if not (_digits(above) and _digits(below) and (not gap or _digits(whole))):
            return None
        parts, of = int(above), int(below)
        if of == 0 or (gap and parts >= of):
            return None
        return int(whole or 0) * of + parts, of
    whole, point, rest = text.partition(".")
    if not (_digits(whole) or (point and not whole)) or (point and not _digits(rest, 18)):
        return None
    return int(whole + rest), 10 ** len(rest)


def _digits(text: str, most: int = 9) -> bool:
    return text.isdigit() and text.isascii() and len(text) <= most
