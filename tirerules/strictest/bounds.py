"""Constraints on one fact, and their meet: the strictest of them.

The constraints on a fact form a meet-semilattice. Ceilings and floors order by value, an exclusive one being stricter
than an inclusive one at the same value; permitted values meet by intersection, prohibited ones by union. The meet is
associative, commutative and idempotent, so neither order nor repetition of rules matters, and adding one can only
tighten. "No limit" is the top; an empty permitted set is a result like any other.

Answers are three-valued (Kleene): True, False, or None where a measurement's width straddles the bound.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeVar

__all__ = [
    "TOP",
    "Ceiling",
    "Constraint",
    "Floor",
    "Interval",
    "Permitted",
    "Prohibited",
    "Strictest",
    "Value",
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


@dataclass(frozen=True, slots=True)
class Interval:
    """A number known to lie from `low` to `high`, both included."""

    low: Fraction
    high: Fraction


#: What is known of a fact: a number's interval, or the words that hold (one for a choice, any number for findings).
Value = Interval | frozenset[str]


@dataclass(frozen=True, slots=True)
class Ceiling:
    """At most (inclusive) or less than (exclusive) `value`."""

    value: Fraction
    inclusive: bool

    def within(self, other: Ceiling) -> bool:
        """Whether this is as strict as `other` or stricter."""
        return (self.value, self.inclusive) <= (other.value, other.inclusive)

    def admits(self, value: Interval) -> bool | None:
        """Whether the number is below the ceiling wherever it lies; guarded acceptance (JCGM 106)."""
        if self._holds(value.high):
            return True
        return None if self._holds(value.low) else False

    def _holds(self, number: Fraction) -> bool:
        return number <= self.value if self.inclusive else number < self.value


@dataclass(frozen=True, slots=True)
class Floor:
    """At least (inclusive) or more than (exclusive) `value`."""

    value: Fraction
    inclusive: bool

    def within(self, other: Floor) -> bool:
        """Whether this is as strict as `other` or stricter."""
        return (-self.value, self.inclusive) <= (-other.value, other.inclusive)

    def admits(self, value: Interval) -> bool | None:
        """Whether the number is above the floor wherever it lies."""
        if self._holds(value.low):
            return True
        return None if self._holds(value.high) else False

    def _holds(self, number: Fraction) -> bool:
        return number >= self.value if self.inclusive else number > self.value


@dataclass(frozen=True, slots=True)
class Permitted:
    """No word but these."""

    words: frozenset[str]

    def within(self, other: Permitted) -> bool:
        """Whether this is as strict as `other` or stricter."""
        return self.words <= other.words

    def admits(self, value: frozenset[str]) -> bool:
        """Whether every word of `value` is permitted."""
        return value <= self.words


@dataclass(frozen=True, slots=True)
class Prohibited:
    """None of these words."""

    words: frozenset[str]

    def within(self, other: Prohibited) -> bool:
        """Whether this is as strict as `other` or stricter."""
        return self.words >= other.words

    def admits(self, value: frozenset[str]) -> bool:
        """Whether no word of `value` is prohibited."""
        return not (value & self.words)


Constraint = Ceiling | Floor | Permitted | Prohibited
_Bound = TypeVar("_Bound", Ceiling, Floor)


@dataclass(frozen=True, slots=True)
class Strictest:
    """The meet of any number of constraints on one fact."""

    ceiling: Ceiling | None = None
    floor: Floor | None = None
    permitted: frozenset[str] | None = None
    prohibited: frozenset[str] = frozenset()

    @classmethod
    def of(cls, *constraints: Constraint) -> Strictest:
        """Return the meet of `constraints`; of none, the top."""
        result = TOP
        for constraint in constraints:
            result = result.meet(_single(constraint))
        return result

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
        return self.floor.value > self.ceiling.value or (self.floor.value == self.ceiling.value and not both)

    def admits(self, value: Value) -> bool | None:
        """Whether `value` satisfies every part."""
        if isinstance(value, Interval):
            return all_of(bound.admits(value) for bound in (self.ceiling, self.floor) if bound is not None)
        permitted = self.permitted is None or value <= self.permitted
        return permitted and not (value & self.prohibited)


#: No limit at all.
TOP = Strictest()


def _single(constraint: Constraint) -> Strictest:
    match constraint:
        case Ceiling():
            return Strictest(ceiling=constraint)
        case Floor():
            return Strictest(floor=constraint)
        case Permitted(words):
            return Strictest(permitted=words)
        case Prohibited(words):
            return Strictest(prohibited=words)


def _stricter(one: _Bound | None, other: _Bound | None) -> _Bound | None:
    if one is None or other is None:
        return one if other is None else other
    return one if one.within(other) else other


def binding(constraints: Sequence[Constraint]) -> tuple[int, ...]:
    """Return the positions of the constraints that set the strictest limit, in order; several can tie.

    They are the minimal elements: those than which no other constraint of the same sort is strictly stricter. Their
    meet is the meet of all.
    """

    def beaten(constraint: Constraint) -> bool:
        mine = _single(constraint)
        return any(
            type(other) is type(constraint) and _single(other).within(mine) and other != constraint
            for other in constraints
        )

    return tuple(index for index, constraint in enumerate(constraints) if not beaten(constraint))
