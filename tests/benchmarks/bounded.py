"""What a rule demands of one fact, in the exported form: at most a ceiling and a floor, or words.

The benchmarks have their own, so that what engines are given does not change with the library's insides.
"""

from __future__ import annotations

from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, NamedTuple, Self

from tirerules.packs.rule import Disqualify, Limit, Permit, Prohibit

__all__ = ["Bound", "End"]


class End(NamedTuple):
    """A ceiling or a floor: the number, and whether it is itself allowed."""

    value: Fraction
    inclusive: bool


@dataclass(frozen=True, slots=True)
class Bound:
    """The meet of any number of demands on one fact."""

    ceiling: End | None = None
    floor: End | None = None
    permitted: frozenset[str] | None = None
    prohibited: frozenset[str] = frozenset()

    @classmethod
    def of_condition(cls, test: Any) -> Self:
        """Return what a condition of a rule asks for."""
        ceiling, floor = ((end and End(Fraction(end.value), end.inclusive)) for end in (test.ceiling, test.floor))
        return cls(ceiling, floor, test.permitted, test.prohibited)

    @classmethod
    def of_body(cls, body: Limit | Permit | Prohibit | Disqualify) -> Self:
        """Return what the body of a rule demands, by the strict reading. Raises TypeError for a relative limit."""
        if isinstance(body, Permit):
            return cls(permitted=frozenset(body.values))
        if not isinstance(body, Limit):
            return cls(prohibited=frozenset(body.values))
        ceiling = body.relation in ("at-most", "less-than")
        figures = [_exact(each) for each in (body.value, body.also) if each is not None]
        end = End(min(figures) if ceiling else max(figures), body.relation in ("at-most", "at-least"))
        return cls(ceiling=end) if ceiling else cls(floor=end)

    def meet(self, other: Bound) -> Bound:
        """Return the weakest bound that is as strict as both."""
        ceilings = [end for end in (self.ceiling, other.ceiling) if end is not None]
        floors = [end for end in (self.floor, other.floor) if end is not None]
        permitted = [words for words in (self.permitted, other.permitted) if words is not None]
        return Bound(
            min(ceilings, default=None),  # an exclusive ceiling sorts below, and is stricter than, an inclusive one
            max(floors, key=lambda end: (end.value, not end.inclusive), default=None),
            frozenset.intersection(*permitted) if permitted else None,
            self.prohibited | other.prohibited,
        )

    def admits(self, words: AbstractSet[str]) -> bool:
        """Whether words satisfy it; numbers are compared by whoever knows their scale."""
        return (self.permitted is None or words <= self.permitted) and not words & self.prohibited


def _exact(figure: Any) -> Fraction:
    if isinstance(figure, int):
        return Fraction(figure)
    if not hasattr(figure, "exact"):
        raise TypeError(f"{figure} follows from the tire, which engines cannot be told")
    return Fraction(figure.exact)
