"""What every value of one fact does to all rules at once, as one packed number.

A packed number holds, for rule `i` of `count` rules: bit `i` -- the rule surely does not apply; bit `count + i` -- it
is not known whether it applies; bit `2 * count + i` -- its body is not satisfied; bit `3 * count + i` -- it is not
known whether its body is satisfied. Above these stand a bit for each condition that is open, and one for each fact that
is unknown. What several facts do to a rule is the OR of what each does.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from math import lcm

from tirerules.quantities import span
from tirerules.vocabulary import CURED_BY_REPAIR

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    #: What a condition or a body asks of one fact; see `tirerules.index.rows`.
    Test = dict[str, Any]
    #: A number known to lie between two exact ones: numerator and denominator of each.
    Span = tuple[int, int, int, int]

__all__ = ["ABSENT", "Reader", "Table", "admits_span", "admits_words"]

#: The fact does not exist for this tire; tells itself apart from every word.
ABSENT = object()
#: A table never holds more entries than this: texts come from outside.
_MOST_ENTRIES = 20_000


def admits_words(test: Test, words: frozenset[str]) -> bool:
    """Whether every one of `words` is permitted and none prohibited."""
    permitted = test["permitted"]
    return (permitted is None or words.issubset(permitted)) and words.isdisjoint(test["prohibited"])


def admits_span(test: Test, span: Span) -> bool | None:
    """Whether a number satisfies a test wherever it lies; None where only part of the span does."""
    low, high = span[:2], span[2:]
    answer: bool | None = True
    ceiling, floor = test["ceiling"], test["floor"]
    if ceiling is not None and not _below(high, ceiling):
        if not _below(low, ceiling):
            return False
        answer = None
    if floor is not None and not _above(low, floor):
        if not _above(high, floor):
            return False
        answer = None
    return answer


def _below(number: tuple[int, ...], bound: Sequence[int]) -> bool:
    left, right = number[0] * bound[1], bound[0] * number[1]
    return left <= right if bound[2] else left < right


def _above(number: tuple[int, ...], bound: Sequence[int]) -> bool:
    left, right = number[0] * bound[1], bound[0] * number[1]
    return left >= right if bound[2] else left > right


def _ends(number: Any) -> Span:
    """Return both ends of a number as it stands in a row. Raises KeyError for a text that is no trade form."""
    if isinstance(number, tuple):
        return number
    if isinstance(number, int):
        return number, 1, number, 1
    measured = span(number)
    if measured is None:
        raise KeyError(number)
    return *measured[0], *measured[1]


class Reader:
    """One rule's interest in one fact: as one of its conditions, or as what its body limits.

    `no` is set in the packed number where the test fails, `maybe` where that cannot be told. With `cures`, the rule is
    on what a repair leads to, and findings that the repair removes are gone. With `weak`, failing the test proves
    nothing. A `test` of None waits for a measure that no value of this fact alone can give.
    """

    __slots__ = ("constant", "cures", "maybe", "negated", "no", "takes_out", "test", "weak")

    def __init__(self, test: Test | None, *, no: int, maybe: int, takes_out: int, cures: bool, weak: bool) -> None:
        self.no, self.maybe, self.takes_out = no, maybe, takes_out
        self.negated = bool(test and test.get("negated"))
        self.cures = cures and test is not None and test["kind"] == "set"
        self.weak = weak
        self.constant: bool | None = None
        self.test = test
        if test is not None and self.cures and test["prohibited"]:
            left = sorted(set(test["prohibited"]) - CURED_BY_REPAIR)
            if "negated" not in test:  # a body: it no longer prohibits what the repair removes
                self.test = {**test, "prohibited": left}
            if not left:
                self.constant = not self.negated

    def answers(self, value: frozenset[str] | Span | None) -> bool | None:
        """Whether the test holds for a value: the words that hold, or a number's span; None is an unknown value."""
        if self.constant is not None:
            return self.constant
        if self.test is None or value is None:
            return None
        if isinstance(value, tuple):
            answer = admits_span(self.test, value)
        else:
            answer = admits_words(self.test, value - CURED_BY_REPAIR if self.cures else value)
        if answer is None:
            return None
        if answer is False and self.weak:
            return None
        return answer is not self.negated


class Table(dict):  # type: ignore[type-arg]  # keys are words, flags, cells, None and ABSENT; a dict's speed is the point
    """Packed numbers by value of one fact, made when a value first appears."""

    __slots__ = ("bounds", "fact", "kind", "readers", "scale", "unknown")

    def __init__(self, fact: str, kind: str, readers: Sequence[Reader], unknown: int) -> None:
        """Hold the rules that read `fact`; `unknown` is the bit that says that the fact is."""
        super().__init__()
        self.fact, self.kind, self.readers, self.unknown = fact, kind, readers, unknown
        bounds = [
            bound
            for reader in readers
            if reader.test is not None
            for bound in (reader.test["ceiling"], reader.test["floor"])
            if bound is not None
        ]
        self.scale = lcm(*(bound[1] for bound in bounds))
        #: Twice every bound, as whole numbers of 1 / `scale`.
        self.bounds = sorted({2 * bound[0] * (self.scale // bound[1]) for bound in bounds})
        self[None] = self._packed(None) | unknown
        self[ABSENT] = 0
        for reader in readers:
            self[ABSENT] |= reader.takes_out

    def __missing__(self, key: Any) -> int:
        """Work out what a value does as it stands in a row: a word, a flag, a set of findings, a number."""
        if self.kind == "number":
            return self.keep(key, self.span(*_ends(key)))
        words = key if isinstance(key, frozenset) else frozenset({("no", "yes")[key] if isinstance(key, bool) else key})
        return self.keep(key, self._packed(words))

    def span(self, low: int, below_low: int, high: int, below_high: int) -> int:
        """Return what a number does that lies from low / below_low to high / below_high."""
        place = self.place(low, below_low)
        key = (place, place if high == low and below_high == below_low else self.place(high, below_high))
        packed = self.get(key)
        return self.keep(key, self._packed((low, below_low, high, below_high))) if packed is None else int(packed)

    def place(self, number: int, below: int) -> int:
        """Return where a number stands among the bounds; two numbers at one place are the same to every rule."""
        whole, rest = divmod(number * self.scale, below)
        twice = 2 * whole + (rest > 0)
        return bisect_left(self.bounds, twice) + bisect_right(self.bounds, twice)

    def keep(self, key: Any, packed: int) -> int:
        """Remember a packed number."""
        if len(self) > _MOST_ENTRIES:
            for each in list(self):  # at once: another thread may be at it too
                if each is not None and each is not ABSENT:
                    self.pop(each, None)
        self[key] = packed
        return packed

    def _packed(self, value: frozenset[str] | Span | None) -> int:
        packed = 0
        for reader in self.readers:
            answer = reader.answers(value)
            if answer is not True:
                packed |= reader.maybe if answer is None else reader.no
        return packed
