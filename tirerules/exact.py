"""The trade's own quantity forms, straight to exact integers; it imports nothing.

This is the fast path of `tirerules.quantities`: it answers for what a counter types, and returns None for everything
else, which the general reader then reads or refuses in words. Where it answers, the two never differ. A number is a
pair (numerator, denominator) in the base unit of its dimension (mm, deg, kg, day), not in lowest terms, the denominator
above zero. Nothing is ever rounded.
"""

__all__ = ["FACTORS", "RIGHT_ANGLE", "SPELLINGS", "plain", "read", "span"]

#: Unit -> (dimension, numerator, denominator of its size in base units); never changed.
#: Inch 25.4 mm and pound 0.453 592 37 kg: International Yard and Pound agreement, 1959. Year: the Julian year of 365.25
#: days (International Astronomical Union); month: its twelfth.
FACTORS: dict[str, tuple[str, int, int]] = {
    "mm": ("length", 1, 1),
    "cm": ("length", 10, 1),
    "m": ("length", 1000, 1),
    "in": ("length", 254, 10),
    "deg": ("angle", 1, 1),
    "kg": ("mass", 1, 1),
    "lb": ("mass", 45359237, 100000000),
    "day": ("time", 1, 1),
    "month": ("time", 36525, 1200),
    "year": ("time", 36525, 100),
}
#: Spelling -> unit as kept; never changed. Case counts: "Mm" and "M" are nobody's millimeter and meter.
SPELLINGS: dict[str, str] = {
    **{unit: unit for unit in FACTORS},
    '"': "in",
    "inch": "in",
    "inches": "in",
    "°": "deg",
    "degree": "deg",
    "degrees": "deg",
    "lbs": "lb",
    "days": "day",
    "months": "month",
    "years": "year",
}
#: An angle is measured from straight through and stays below this, in degrees.
RIGHT_ANGLE = 90

#: "MM" is what a label printer writes.
_ACCEPTED = SPELLINGS | {spelling.upper(): unit for spelling, unit in SPELLINGS.items() if len(spelling) > 1}
_LETTERS = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
#: Spaces, inch marks and degree signs that word processors and keyboards put in the place of the plain ones.
_SAME_CHARACTER = str.maketrans(
    {"\u00a0": " ", "\u2009": " ", "\u202f": " ", "\u2033": '"', "\u201d": '"', "\u00ba": "°"}
)
_ROUNDED = " rounded"


def plain(text: str) -> str:
    """Return `text` with plain spaces and signs, and none at its ends: what is read, and kept as printed."""
    return text.strip() if text.isascii() else text.translate(_SAME_CHARACTER).strip()


def read(text: str) -> tuple[int, int, str] | None:
    """Return the numerator and denominator in base units and the unit as kept, or None for any other text.

    >>> read('1 1/2 in')
    (762, 20, 'in')
    """
    said = plain(text)
    number = said[:-1] if said.endswith(('"', "°")) else said.rstrip(_LETTERS)
    unit = _ACCEPTED.get(said[len(number) :])
    printed = _number(number.removesuffix(" "))
    if unit is None or printed is None:
        return None
    dimension, above, below = FACTORS[unit]
    above, below = printed[0] * above, printed[1] * below
    return None if dimension == "angle" and above >= RIGHT_ANGLE * below else (above, below, unit)


def span(text: str) -> tuple[tuple[int, int], tuple[int, int], str] | None:
    """Return both ends of a measurement and the unit of its first figure, or None for any other text.

    A measurement is one quantity, a range, a width or a rounded reading, as `tirerules.quantities.measure` says.

    >>> span("4/32 in rounded")
    ((1778, 640), (2286, 640), 'in')
    """
    said = plain(text)
    for sign in (" to ", "±", "+/-"):
        if sign in said:
            first, _, second = said.partition(sign)
            one, other = read(first), read(second)
            if one is None or other is None or FACTORS[one[2]][0] != FACTORS[other[2]][0]:
                return None
            low, high, below = one[0] * other[1], other[0] * one[1], one[1] * other[1]
            if sign != " to ":
                return _around(low, high, below, one[2])
            return (one[:2], other[:2], one[2]) if low <= high else None
    one = read(said.removesuffix(_ROUNDED))
    if one is None or not said.endswith(_ROUNDED):
        return one and (one[:2], one[:2], one[2])
    # The gauge's step is its last digit or one part of its fraction: one over what was printed below, in the unit.
    return _around(2 * one[0], FACTORS[one[2]][1], 2 * one[1], one[2])


def _around(middle: int, width: int, below: int, unit: str) -> tuple[tuple[int, int], tuple[int, int], str] | None:
    """Return what reaches `width` to both sides of `middle`, both over `below`; downwards at most to zero."""
    if FACTORS[unit][0] == "angle" and middle + width >= RIGHT_ANGLE * below:
        return None
    return (max(middle - width, 0), below), (middle + width, below), unit


def _number(text: str) -> tuple[int, int] | None:
    """Return a whole number, a decimal, a fraction or a mixed number as it is printed: the denominator is its step."""
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
