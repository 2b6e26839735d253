"""Exact lengths, angles, masses and times, from the trade's text and back.

A value is a pair of whole numbers, the numerator and the denominator in the base unit of its dimension (mm, degree, kg,
day); its key is the dimension and that pair. INVARIANT: the pair is in lowest terms and its denominator above zero, so
that equal values have equal pairs: 1/4 in, 0.25 in and 6.35 mm are one length.

The trade's own forms are read by `tirerules.units`. Everything else is read, or refused rather than guessed at, by
`tirerules.unusual_quantities`, which is imported when the first such text comes: a bare number, a wrong dimension or a
negative length raises :class:`~tirerules.errors.QuantityError` with what to write instead.
"""

from __future__ import annotations

from math import gcd

from tirerules.units import (
    DIMENSIONS,
    EXAMPLES,
    FACTORS,
    FURTHER,
    PATTERN,
    RIGHT_ANGLE,
    SPELLINGS,
    TO,
    UNITS,
    as_decimal,
    decimal_text,
    follows,
    plain,
    read,
    size_of,
    span,
)
from tirerules.values import Frozen
from tirerules.vocabulary import Dimension

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Mapping
    from fractions import Fraction
    from typing import Any, Final

__all__ = [
    "EXAMPLES",
    "FACTORS",
    "FURTHER",
    "PATTERN",
    "READINGS",
    "RIGHT_ANGLE",
    "SPELLINGS",
    "UNITS",
    "Measured",
    "Quantity",
    "decimal_text",
    "measure",
    "plain",
    "quantity",
    "read",
    "span",
]


class Quantity(Frozen):
    """An exact quantity that remembers how it was printed.

    `above` over `below` is the exact value in the base unit of the dimension; `unit` and `text` are as printed.
    Equality, order and hash follow the dimension and the exact value, so that ``1/4 in`` equals ``6.35 mm``.

    >>> quantity("1/4 in", Dimension.LENGTH)
    Quantity(above=127, below=20, unit='in', text='1/4 in')
    """

    __slots__ = ("above", "below", "text", "unit")
    above: int
    below: int
    unit: str
    text: str

    def __init__(self, above: int, below: int, unit: str, text: str) -> None:
        """Hold `above` over `below` base units. Raises ValueError for a unit that is none and a denominator below 1."""
        if below < 1 or unit not in DIMENSIONS:
            raise ValueError(f"{above}/{below} {unit} is no quantity")
        shared = gcd(above, below)
        put = object.__setattr__
        put(self, "above", above // shared)
        put(self, "below", below // shared)
        put(self, "unit", unit)
        put(self, "text", text)

    @classmethod
    def of(
        cls, exact: Fraction | int, unit: str, text: str | None = None, dimension: Dimension | None = None
    ) -> Quantity:
        """Return the quantity of `exact` base units, printed as `text` or else with four decimals in `unit`.

        Raises ValueError where `unit` is none, or none of `dimension`.
        """
        above, below = exact.as_integer_ratio()
        made = cls(above, below, unit, "" if text is None else text)
        if dimension is not None and made.dimension != dimension:
            raise ValueError(f"{unit!r} is no unit of {dimension}")
        return made if text is not None else cls(above, below, unit, as_decimal(above, below, unit))

    @property
    def dimension(self) -> Dimension:
        """What it measures."""
        return DIMENSIONS[self.unit]

    @property
    def exact(self) -> Fraction:
        """The exact value in base units."""
        from fractions import Fraction

        return Fraction(self.above, self.below)

    @property
    def magnitude(self) -> Fraction:
        """The exact number that stands before `unit`."""
        from fractions import Fraction

        above, below = size_of(self.unit)
        return Fraction(self.above * below, self.below * above)

    def to(self, unit: str) -> Fraction:
        """Return the exact number of `unit` in this quantity; `unit` is one of `UNITS` of the same dimension.

        Raises QuantityError for a unit of another dimension.
        """
        if UNITS.get(unit) is not self.dimension:
            from tirerules.unusual_quantities import no_such_unit

            raise no_such_unit(self.text, unit, self.dimension)
        return Quantity(self.above, self.below, unit, "").magnitude

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Quantity):
            return NotImplemented
        return (self.above, self.below, self.dimension) == (other.above, other.below, other.dimension)

    def _order(self, other: Quantity) -> tuple[Any, Any]:
        """Return what stands in the place of both in an order: the dimension, then the exact value."""
        if self.dimension is not other.dimension:
            return self.dimension, other.dimension
        return self.above * other.below, other.above * self.below

    def __lt__(self, other: Quantity) -> bool:
        if not isinstance(other, Quantity):
            return NotImplemented
        mine, theirs = self._order(other)
        return bool(mine < theirs)

    def __le__(self, other: Quantity) -> bool:
        if not isinstance(other, Quantity):
            return NotImplemented
        mine, theirs = self._order(other)
        return bool(mine <= theirs)

    def __gt__(self, other: Quantity) -> bool:
        return NotImplemented if not isinstance(other, Quantity) else other < self

    def __ge__(self, other: Quantity) -> bool:
        return NotImplemented if not isinstance(other, Quantity) else other <= self

    def __hash__(self) -> int:
        return hash((self.above, self.below, self.dimension))

    def __str__(self) -> str:
        return self.text

    def __repr__(self) -> str:
        return f"Quantity(above={self.above}, below={self.below}, unit={self.unit!r}, text={self.text!r})"

    def __reduce__(self) -> tuple[Any, ...]:
        return Quantity, (self.above, self.below, self.unit, self.text)


class Measured(Frozen):
    """What a gauge says: the true value lies between `low` and `high`, both included.

    `ends` holds both as numerator and denominator in base units, four whole numbers that tell two measurements of one
    dimension apart: equality and hash follow them, not the text. `unit` is that of the first figure.
    """

    __slots__ = ("_hash", "_high", "_low", "ends", "text", "unit")
    ends: tuple[int, int, int, int]
    unit: str
    text: str
    _hash: int
    _low: Quantity | None
    _high: Quantity | None

    def __init__(self, low: Quantity, high: Quantity, text: str) -> None:
        """Hold both ends, which the caller has checked to be of one dimension and in order."""
        self._hold((low.above, low.below, high.above, high.below), low.unit, text, low, high)

    def _hold(
        self, ends: tuple[int, int, int, int], unit: str, text: str, low: Quantity | None, high: Quantity | None
    ) -> None:
        put = object.__setattr__
        put(self, "ends", ends)
        put(self, "unit", unit)
        put(self, "text", text)
        put(self, "_hash", hash((ends, DIMENSIONS[unit])))
        put(self, "_low", low)
        put(self, "_high", high)

    @classmethod
    def _of_text(cls, ends: tuple[int, int, int, int], unit: str, text: str) -> Measured:
        """Return what was read from `text`, of which both ends are printed when somebody asks for them."""
        made = cls.__new__(cls)
        made._hold(ends, unit, text, None, None)
        return made

    @property
    def low(self) -> Quantity:
        """The least that it may be."""
        return self._end(0) if self._low is None else self._low

    @property
    def high(self) -> Quantity:
        """The most that it may be."""
        return self._end(1) if self._high is None else self._high

    @property
    def dimension(self) -> Dimension:
        """The dimension of both ends."""
        return DIMENSIONS[self.unit]

    def _end(self, which: int) -> Quantity:
        """Return an end as it stands in the text, or with decimals where it follows from the text."""
        if TO in self.text:
            return quantity(self.text.split(TO, 1)[which], self.dimension)
        above, below = self.ends[2 * which : 2 * which + 2]
        text = as_decimal(above, below, self.unit) if follows(self.text) else self.text
        return Quantity(above, below, self.unit, text)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Measured):
            return NotImplemented
        return self.ends == other.ends and self.dimension is other.dimension

    def __hash__(self) -> int:
        return self._hash

    def __str__(self) -> str:
        return self.text

    def __repr__(self) -> str:
        return f"Measured(low={self.low!r}, high={self.high!r}, text={self.text!r})"

    def __reduce__(self) -> tuple[Any, ...]:
        return Measured, (self.low, self.high, self.text)


class Readings(dict):  # type: ignore[type-arg]  # text -> the measurement that it states
    """The measurements of one dimension that texts state: text -> `Measured`, read when a text first appears.

    What a text states never changes, so a table may be emptied at any time. INVARIANT: at most `BOUND` texts are kept.
    Raises QuantityError, as `measure` does, for what states none, and TypeError for what cannot be a key.
    """

    BOUND = 20_000
    __slots__ = ("dimension",)

    def __init__(self, dimension: Dimension) -> None:
        super().__init__()
        self.dimension = dimension

    def __missing__(self, text: object) -> Measured:
        found = span(text) if isinstance(text, str) else None
        if found is None or UNITS[found[2]] != self.dimension:
            from tirerules.unusual_quantities import span_of_any

            found = span_of_any(text, self.dimension)
        (low, below_low), (high, below_high), unit = found
        one, other = gcd(low, below_low), gcd(high, below_high)
        ends = (low // one, below_low // one, high // other, below_high // other)
        if len(self) >= self.BOUND:
            self.clear()
        measured = self[text] = Measured._of_text(ends, unit, plain(str(text)))
        return measured


#: Dimension -> the texts of it that were read.
READINGS: Final[Mapping[Dimension, Readings]] = {dimension: Readings(dimension) for dimension in Dimension}


def quantity(text: object, dimension: Dimension, *, around: bool = False) -> Quantity:
    """Read one exact quantity, such as ``1 1/2 in``, ``0.25"``, ``6 mm`` or ``25°``.

    An angle is one of a channel, from straight through; with `around` it is one between two places around a tire.
    Raises QuantityError when `text` is no text, has no unit, has a unit of another dimension, is negative, or (an
    angle) reaches 90 degrees, or 180 around a tire.
    """
    found = read(text) if isinstance(text, str) else None
    if found is None or UNITS[found[2]] != dimension:
        from tirerules.unusual_quantities import read_any

        found = read_any(text, dimension, around)
    above, below, unit = found
    return Quantity(above, below, unit, plain(str(text)))


def measure(text: object, dimension: Dimension = Dimension.LENGTH) -> Measured:
    """Read a measurement: one quantity, a range (``5 mm to 6 mm``), a width (``6.0 mm ± 0.3 mm``), a rounded reading.

    A range is what a go/no-go gauge gives. ``4/32 in rounded`` is what a gauge in 32nds shows: half a step either way;
    ``6 mm rounded`` is half a millimeter either way. A width reaches below zero at most to zero. Raises QuantityError
    as `quantity` does, and for a range whose ends are reversed. Of each dimension 20,000 texts are remembered.

    >>> measured = measure("4/32 in rounded")
    >>> (str(measured.low.to("in")), str(measured.high.to("in")))
    ('7/64', '9/64')
    """
    if not isinstance(text, str):
        from tirerules.unusual_quantities import span_of_any

        span_of_any(text, dimension)  # it says what is wrong
    measured: Measured = READINGS[dimension][text]
    return measured
