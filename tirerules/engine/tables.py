"""Lookup tables: what every value of one fact does to all rule instances of a program at once, as one bit mask.

A mask has four planes of `width` bits each, one bit for each rule instance of the program:

    3 * width         2 * width         width             0
    | body is unknown | body is missed  | may not apply   | does not apply |

A plane's bit is set where a value makes it so. What several facts do together is the OR of what each does: no bit is
ever cleared, so a table of one fact needs to know nothing of the others.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from math import lcm

from tirerules.quantities import Measured
from tirerules.vocabulary import CURED_BY_REPAIR, FACTS

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable
    from typing import Any, Final

    from tirerules.packs.rule import Condition
    from tirerules.strictest.bounds import Ceiling, Floor, Strictest

    #: A number known to lie between two exact ones: numerator and denominator of each end.
    Span = tuple[int, int, int, int]

__all__ = ["ABSENT", "Reader", "Scale", "Scales", "Table", "admits_span", "holds", "span_of"]


class Absent:
    """The fact does not exist for this tire, so no rule on it applies."""

    __slots__ = ()

    def __repr__(self) -> str:
        return "ABSENT"


ABSENT: Final = Absent()


def span_of(value: Any) -> Span:
    """Return both ends of a number as it stands in a row: a measurement, or a count."""
    if isinstance(value, Measured):
        return value.ends
    return value, 1, value, 1


def admits_span(test: Strictest, span: Span) -> bool | None:
    """Whether a number satisfies a test wherever it lies; None where only part of the span does."""
    answer: bool | None = True
    low, below_low, high, below_high = span
    ceiling, floor = test.ceiling, test.floor
    if ceiling is not None and not _under(high, below_high, ceiling):
        if not _under(low, below_low, ceiling):
            return False
        answer = None
    if floor is not None and not _over(low, below_low, floor):
        if not _over(high, below_high, floor):
            return False
        answer = None
    return answer


def _under(number: int, below: int, bound: Ceiling) -> bool:
    left, right = number * bound.below, bound.above * below
    return left <= right if bound.inclusive else left < right


def _over(number: int, below: int, bound: Floor) -> bool:
    left, right = number * bound.below, bound.above * below
    return left >= right if bound.inclusive else left > right


def answer_of(test: Strictest, known: frozenset[str] | Span | None, *, negated: bool, cures: bool) -> bool | None:
    """Whether a test holds of what is known: the words that hold, or a number's span; None is an unknown value.

    With `cures`, the rule is on what a repair leads to, and findings that the repair removes are gone.
    """
    if cures and test.prohibited and test.prohibited <= CURED_BY_REPAIR:
        return not negated  # none of them is left
    if known is None:
        return None
    if isinstance(known, tuple):
        answer = admits_span(test, known)
        return None if answer is None else answer is not negated
    words = known - CURED_BY_REPAIR if cures else known
    return ((test.permitted is None or words <= test.permitted) and words.isdisjoint(test.prohibited)) is not negated


def holds(condition: Condition, value: Any, *, cures: bool = False) -> bool | None:
    """Whether a condition holds of a value as it stands in a row; what does not exist satisfies none."""
    if value is ABSENT:
        return False
    known = None if value is None else span_of(value) if FACTS[condition.fact].limitable else words_of(value)
    return answer_of(condition.test, known, negated=condition.negated, cures=cures)


class Reader:
    """One instance's interest in one fact: as a condition, or as what its body limits.

    `no` is set in the mask where the test fails, `maybe` where that cannot be told, `absent` where the fact does not
    exist. With `weak`, failing the test proves nothing. A `test` of None waits for a figure that no value of this fact
    alone gives.
    """

    __slots__ = ("absent", "cures", "maybe", "negated", "no", "test", "weak")

    def __init__(
        self, test: Strictest | None, *, no: int, maybe: int, absent: int, negated: bool, cures: bool, weak: bool
    ) -> None:
        self.no, self.maybe, self.absent, self.weak = no, maybe, absent, weak
        self.negated, self.test, self.cures = negated, test, cures

    def mask(self, known: frozenset[str] | Span | None) -> int:
        """Return what a value does to the instance."""
        if self.test is None:
            return self.maybe
        answer = answer_of(self.test, known, negated=self.negated, cures=self.cures)
        if answer is True:
            return 0
        return self.maybe if answer is None or self.weak else self.no


class Scale(dict):  # type: ignore[type-arg]  # number as a row holds it -> the places of both its ends
    """Where numbers stand among some bounds: number -> (place of its low end, place of its high end).

    Places count from 0 below the lowest bound, odd ones being on a bound; two numbers at one place are alike to every
    rule that names no other bound. One scale serves every table with its bounds, whatever program it is of. INVARIANT:
    at most `BOUND` numbers are kept, then all are forgotten.
    """

    BOUND = 20_000
    __slots__ = ("bounds", "scale")

    def __init__(self, bounds: tuple[tuple[int, int], ...]) -> None:
        """Hold bounds as numerators and denominators."""
        super().__init__()
        self.scale = lcm(*(below for _, below in bounds))
        #: Twice every bound, as whole numbers of 1 / `scale`.
        self.bounds = sorted({2 * above * (self.scale // below) for above, below in bounds})

    def __missing__(self, value: Any) -> tuple[int, int]:
        places = self.places(span_of(value))
        if len(self) >= self.BOUND:
            self.clear()
        self[value] = places
        return places

    def places(self, span: Span) -> tuple[int, int]:
        """Return the places of both ends of a span."""
        low = self.place(*span[:2])
        return low, low if span[:2] == span[2:] else self.place(*span[2:])

    def place(self, number: int, below: int) -> int:
        """Return where a number stands among the bounds."""
        whole, rest = divmod(number * self.scale, below)
        twice = 2 * whole + (rest > 0)
        return bisect_left(self.bounds, twice) + bisect_right(self.bounds, twice)


class Scales(dict):  # type: ignore[type-arg]  # bounds -> their scale
    """The scales of a rulebook's programs: bounds -> `Scale`; as many as there are sets of bounds in its rules."""

    def __missing__(self, bounds: tuple[tuple[int, int], ...]) -> Scale:
        scale = self[bounds] = Scale(bounds)
        return scale


class Table(dict):  # type: ignore[type-arg]  # value -> mask; a dict's speed is the point
    """Masks by value of one fact, as the value stands in a row: a word, a flag, findings, a measurement, a count.

    None is the unknown value, `ABSENT` one that does not exist. A mask is made when its value first appears, and is a
    function of the value and the program. Two numbers that stand alike to every bound have one mask. INVARIANT: at most
    `BOUND` values are kept; beyond that the table is emptied, since it can be made again.
    """

    BOUND = 20_000
    __slots__ = ("_places", "fact", "number", "readers", "scale")

    def __init__(self, fact: str, number: bool, readers: Iterable[Reader], scales: Scales | None = None) -> None:
        """Hold what reads `fact`, which is a `number` or else words; `scales` are those of other programs."""
        super().__init__()
        self.fact, self.number, self.readers = fact, number, tuple(readers)
        found = {
            (bound.above, bound.below)
            for reader in self.readers
            if reader.test is not None
            for bound in (reader.test.ceiling, reader.test.floor)
            if bound is not None
        }
        self.scale: Scale = (Scales() if scales is None else scales)[tuple(sorted(found))]
        #: Places of both ends among the bounds -> mask; there are few.
        self._places: dict[tuple[int, int], int] = {}
        self[None] = self._mask(None)
        self[ABSENT] = 0
        for reader in self.readers:
            self[ABSENT] |= reader.absent

    def __missing__(self, value: Any) -> int:
        mask = self._at(self.scale[value], span_of(value)) if self.number else self._mask(words_of(value))
        if len(self) >= self.BOUND:
            for each in list(self):  # at once: another thread may be at it too
                if each is not None and each is not ABSENT:
                    self.pop(each, None)
        self[value] = mask
        return mask

    def span(self, span: Span) -> int:
        """Return what a number does that lies in a span."""
        return self._at(self.scale.places(span), span)

    def _at(self, places: tuple[int, int], span: Span) -> int:
        mask = self._places.get(places)
        if mask is None:
            mask = self._places[places] = self._mask(span)
        return mask

    def _mask(self, value: frozenset[str] | Span | None) -> int:
        mask = 0
        for reader in self.readers:
            mask |= reader.mask(value)
        return mask


def words_of(value: Any) -> frozenset[str]:
    """Return the words that hold of a fact: those of findings, or the one of any other."""
    if isinstance(value, frozenset):
        return value
    return frozenset({("no", "yes")[value] if isinstance(value, bool) else value})
