"""Constraints on one fact, and their meet: the strictest of them.

The constraints on a fact form a meet-semilattice. Ceilings and floors order by value, an exclusive one being stricter
than an inclusive one at the same value; permitted values meet by intersection, prohibited ones by union. The meet is
associative, commutative and idempotent, so neither order nor repetition of rules matters, and adding one can only
tighten. "No limit" is the top; an empty permitted set is a result like any other.

Answers are three-valued (Kleene): True, False, or None where a measurement's width straddles the bound.

The data structure is `Strictest`: a ceiling, a floor, a permitted and a prohibited set of words, each of which may be
absent. INVARIANT: a bound is a numerator over a denominator in lowest terms, the denominator above zero, so that equal
bounds have equal fields; they are compared as whole numbers.
"""

from __future__ import annotations

from math import gcd

from tirerules.values import Value

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from fractions import Fraction
    from typing import Self, TypeAlias, TypeVar

    _Either = TypeVar("_Either", "Ceiling", "Floor")

__all__ = [
    "TOP",
    "Ceiling",
    "Constraint",
    "Floor",
    "Interval",
    "KnownValue",
    "Permitted",
    "Prohibited",
    "Strictest",
    "all_of",
    "any_of",
    "binding",
    "opposite",
]


def opposite(answer: bool | None) -> bool | None:
    """Return the Kleene negation."""
    return None if answer is None else not answer


def all_of(answers: Iterable[bool | None]) -> bool | None:
    """Return the Kleene conjunction: False if any is False, else None if any is None, else True."""
    unknown = False
    for answer in answers:
        if answer is False:
            return False
        unknown = unknown or answer is None
    return None if unknown else True


def any_of(answers: Iterable[bool | None]) -> bool | None:
    """Return the Kleene disjunction: True if any is True, else None if any is None, else False."""
    return opposite(all_of(opposite(answer) for answer in answers))


class Interval(Value):
    """A number known to lie from `low` to `high`, both included."""

    low: Fraction
    high: Fraction


#: What is known of a fact: a number's interval, or the words that hold (one for a choice, any number for findings).
KnownValue: TypeAlias = Interval | frozenset[str]


class _Bound(Value):
    """A number that a fact may reach (inclusive) or not reach (exclusive): `above` over `below`, in base units."""

    above: int
    below: int
    inclusive: bool

    def __post_init__(self) -> None:
        """Raise ValueError for what is not in lowest terms: two spellings of one bound would not be equal."""
        if self.below < 1 or gcd(self.above, self.below) != 1:
            raise ValueError(f"{self.above}/{self.below} is not in lowest terms")

    @classmethod
    def of(cls, value: Fraction | int, inclusive: bool) -> Self:
        """Return the bound at an exact number of base units."""
        return cls(*value.as_integer_ratio(), inclusive)

    @property
    def value(self) -> Fraction:
        """The exact number, in base units."""
        from fractions import Fraction

        return Fraction(self.above, self.below)


class Ceiling(_Bound):
    """At most (inclusive) or less than (exclusive) its value."""

    def within(self, other: Ceiling) -> bool:
        """Whether this is as strict as `other` or stricter."""
        mine, theirs = self.above * other.below, other.above * self.below
        return mine < theirs or (mine == theirs and self.inclusive <= other.inclusive)

    def admits(self, value: Interval) -> bool | None:
        """Whether the number is below the ceiling wherever it lies; guarded acceptance (JCGM 106)."""
        if self._holds(value.high):
            return True
        return None if self._holds(value.low) else False

    def _holds(self, number: Fraction | int) -> bool:
        mine, theirs = number.numerator * self.below, self.above * number.denominator
        return mine <= theirs if self.inclusive else mine < theirs


class Floor(_Bound):
    """At least (inclusive) or more than (exclusive) its value."""

    def within(self, other: Floor) -> bool:
        """Whether this is as strict as `other` or stricter."""
        mine, theirs = self.above * other.below, other.above * self.below
        return mine > theirs or (mine == theirs and self.inclusive <= other.inclusive)

    def admits(self, value: Interval) -> bool | None:
        """Whether the number is above the floor wherever it lies."""
        if self._holds(value.low):
            return True
        return None if self._holds(value.high) else False

    def _holds(self, number: Fraction | int) -> bool:
        mine, theirs = number.numerator * self.below, self.above * number.denominator
        return mine >= theirs if self.inclusive else mine > theirs


class Permitted(Value):
    """No word but these."""

    words: frozenset[str]

    def within(self, other: Permitted) -> bool:
        """Whether this is as strict as `other` or stricter."""
        return self.words <= other.words

    def admits(self, value: frozenset[str]) -> bool:
        """Whether every word of `value` is permitted."""
        return value <= self.words


class Prohibited(Value):
    """None of these words."""

    words: frozenset[str]

    def within(self, other: Prohibited) -> bool:
        """Whether this is as strict as `other` or stricter."""
        return self.words >= other.words

    def admits(self, value: frozenset[str]) -> bool:
        """Whether no word of `value` is prohibited."""
        return not (value & self.words)


Constraint: TypeAlias = Ceiling | Floor | Permitted | Prohibited


class Strictest(Value):
    """The meet of any number of constraints on one fact."""

    ceiling: Ceiling | None = None
    floor: Floor | None = None
    permitted: frozenset[str] | None = None
    prohibited: frozenset[str] = frozenset()

    @classmethod
    def of(cls, *constraints: Constraint) -> Strictest:
        """Return the meet of `constraints`; of none, the top."""
        ceiling: Ceiling | None = None
        floor: Floor | None = None
        permitted: frozenset[str] | None = None
        prohibited: frozenset[str] = frozenset()
        for constraint in constraints:
            match constraint:
                case Ceiling():
                    ceiling = _stricter(ceiling, constraint)
                case Floor():
                    floor = _stricter(floor, constraint)
                case Permitted(words):
                    permitted = words if permitted is None else permitted & words
                case Prohibited(words):
                    prohibited |= words
        return cls(ceiling, floor, permitted, prohibited)

    def meet(self, other: Strictest) -> Strictest:
        """Return the strictest element that is as strict as both."""
        if self.permitted is None or other.permitted is None:
            permitted = self.permitted if other.permitted is None else other.permitted
        else:
            permitted = self.permitted & other.permitted
        return Strictest(
            _stricter(self.ceiling, other.ceiling),
            _stricter(self.floor, other.floor),
            permitted,
            self.prohibited | other.prohibited,
        )

    def within(self, other: Strictest) -> bool:
        """Whether this is as strict as `other` or stricter, in every part."""
        return self.meet(other) == self

    @property
    def empty(self) -> bool:
        """Whether nothing at all can satisfy it."""
        if self.permitted is not None and not (self.permitted - self.prohibited):
            return True
        if self.ceiling is None or self.floor is None:
            return False
        both = self.ceiling.inclusive and self.floor.inclusive
        low, high = self.floor.above * self.ceiling.below, self.ceiling.above * self.floor.below
        return low > high or (low == high and not both)

    def admits(self, value: KnownValue) -> bool | None:
        """Whether `value` satisfies every part."""
        if isinstance(value, Interval):
            return all_of(bound.admits(value) for bound in (self.ceiling, self.floor) if bound is not None)
        permitted = self.permitted is None or value <= self.permitted
        return permitted and not (value & self.prohibited)


#: No limit at all.
TOP = Strictest()


def _stricter(one: _Either | None, other: _Either | None) -> _Either | None:
    if one is None or other is None:
        return one if other is None else other
    return one if one.within(other) else other


def binding(constraints: Sequence[Constraint]) -> tuple[int, ...]:
    """Return the positions of the constraints that set the strictest limit, in order; several can tie.

    They are the minimal elements: those than which no other constraint of the same sort is strictly stricter. Their
    meet is the meet of all.
    """

    def beaten(constraint: Constraint) -> bool:
        return any(
            type(other) is type(constraint) and other.within(constraint) and other != constraint  # type: ignore[arg-type]
            for other in constraints
        )

    return tuple(index for index, constraint in enumerate(constraints) if not beaten(constraint))
