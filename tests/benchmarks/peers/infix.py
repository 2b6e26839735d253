"""What the expression languages share: comparisons joined by and, or, not. Each peer says how its own spells the rest.

Clauses are nested under the tests that they share, so that an engine that stops at the first answer skips what cannot
matter, and every "not" is carried down to the comparison itself.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace

from tests.benchmarks.exported import Clause, Program, Test, scaled
from tests.benchmarks.flat import name

__all__ = ["Infix"]

#: How a number is compared, by whether the bound itself is allowed and whether the opposite is asked.
_CEILINGS = {(True, False): "<=", (False, False): "<", (True, True): ">", (False, True): ">="}
_FLOORS = {(True, False): ">=", (False, False): ">", (True, True): "<", (False, True): "<="}


class Infix:
    """Renders programs; a language overrides what it spells in another way."""

    conjunction = "&&"
    disjunction = "||"
    true = "true"
    false = "false"

    def fact(self, fact: str) -> str:
        """Return how a fact is named."""
        return name(fact)

    def inverse(self, text: str) -> str:
        """Return the negation of an expression."""
        return f"!({text})"

    def listed(self, words: Iterable[str]) -> str:
        """Return a list of words."""
        return "[" + ", ".join(f'"{word}"' for word in sorted(words)) + "]"

    def same(self, fact: str, word: str, *, no: bool) -> str:
        """Whether a fact's word is `word`; with `no`, whether it is another."""
        return f'{self.fact(fact)} {"!=" if no else "=="} "{word}"'

    def one_of(self, fact: str, words: Collection[str]) -> str:
        """Whether a fact's word is one of several."""
        return f"{self.fact(fact)} in {self.listed(words)}"

    def any_found(self, words: Collection[str]) -> str:
        """Whether any of `words` is among the findings."""
        raise NotImplementedError  # each language has its own word for it, and must say it

    def program(self, wanted: Program) -> str:
        """Return a whole program as one expression."""
        common = self.every(wanted.common)
        if not wanted.methods:
            return common
        methods = self._any(f"({self.every(method)})" for method in wanted.methods)
        return f"{common} {self.conjunction} ({methods})"

    def every(self, clauses: Sequence[Clause]) -> str:
        """Return whether all of `clauses` hold."""
        return self._all(self._nested(clauses))

    def _nested(self, clauses: Sequence[Clause]) -> Iterable[str]:
        """Yield what must hold, clauses that share their first test under that test."""
        ordered = sorted(clauses, key=lambda clause: repr(clause.when[:1]))
        for first, group in itertools.groupby(ordered, key=lambda clause: clause.when[:1]):
            if not first:
                yield from (self._period(clause) for clause in group)
                continue
            inner = self._all(self._nested([replace(clause, when=clause.when[1:]) for clause in group]))
            yield f"({self.holds(first[0], no=True)} {self.disjunction} ({inner}))"

    def _period(self, clause: Clause) -> str:
        """Return a clause without conditions: out of force, or its demand is met."""
        parts: list[str] = []
        if clause.start is not None:
            parts.append(f"{self.fact('on')} < {clause.start}")
        if clause.end is not None:
            parts.append(f"{self.fact('on')} >= {clause.end}")
        parts.append(self.false if clause.then is None else self.holds(clause.then))
        return f"({self._any(parts)})"

    def concerns(self, clause: Clause) -> str:
        """Return whether a clause is in force and all its conditions hold."""
        parts = [self.holds(test) for test in clause.when]
        if clause.start is not None:
            parts.append(f"{self.fact('on')} >= {clause.start}")
        if clause.end is not None:
            parts.append(f"{self.fact('on')} < {clause.end}")
        return self._all(parts)

    def holds(self, test: Test, *, no: bool = False) -> str:
        """Return whether a test holds; with `no`, whether it does not."""
        bound = test.bound
        if test.fact == "findings":
            found = self.any_found(bound.prohibited)
            return found if no is not test.negated else self.inverse(found)
        parts: list[str] = []
        if bound.ceiling is not None:
            sign = _CEILINGS[bound.ceiling.inclusive, no]
            parts.append(f"{self.fact(test.fact)} {sign} {scaled(bound.ceiling.value, test.fact)}")
        if bound.floor is not None:
            sign = _FLOORS[bound.floor.inclusive, no]
            parts.append(f"{self.fact(test.fact)} {sign} {scaled(bound.floor.value, test.fact)}")
        if bound.permitted is not None:
            parts.append(self._words(test.fact, bound.permitted, no=no))
        if bound.prohibited:
            parts.append(self._words(test.fact, bound.prohibited, no=not no))
        return parts[0] if len(parts) == 1 else f"({self._any(parts) if no else self._all(parts)})"

    def _words(self, fact: str, words: Collection[str], *, no: bool) -> str:
        if not words:
            return self.true if no else self.false
        if len(words) == 1:
            return self.same(fact, next(iter(words)), no=no)
        inside = self.one_of(fact, words)
        return self.inverse(inside) if no else inside

    def _all(self, parts: Iterable[str]) -> str:
        return f" {self.conjunction} ".join(parts) or self.true

    def _any(self, parts: Iterable[str]) -> str:
        return f" {self.disjunction} ".join(parts) or self.false
