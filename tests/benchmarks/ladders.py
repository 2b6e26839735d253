"""The limits behind a verdict, for engines that decide columns: each limit has a key, and the least is the strictest.

A key holds the figure and, below it, the rule's place among the names of all rules: of rules that tie, the first. The
library tells every rule that ties; this is less, and still enough to prove that the same limit binds.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

from tests.benchmarks.bounded import Bound
from tests.benchmarks.exported import Clause, Stated, demands, scaled
from tirerules.packs.pack import Pack
from tirerules.packs.rule import Limit

__all__ = ["LIMITED", "NONE", "Ladder", "ladders"]

#: The facts whose limits are told.
LIMITED: Final = ("injury.diameter", "tire.tread_depth")
#: The key of "no limit": above all others.
NONE: Final = 2**62
_BITS: Final = 10


@dataclass(frozen=True, slots=True)
class Ladder:
    """Every limit on one fact: where it concerns a ticket, and its key."""

    fact: str
    rungs: tuple[tuple[Clause, int], ...]
    names: tuple[str, ...]

    def rule(self, key: int) -> str | None:
        """Return the rule behind a key."""
        return None if key == NONE else self.names[key & (1 << _BITS) - 1]


def ladders(packs: Iterable[Pack]) -> tuple[Ladder, ...]:
    """Return the ladder of each fact in `LIMITED`."""
    found = list(demands(packs))
    return tuple(_ladder(fact, [(rule.name, each) for rule, each in found if _limits(rule, fact)]) for fact in LIMITED)


def _limits(rule: Stated, fact: str) -> bool:
    return isinstance(rule.body, Limit) and rule.body.fact == fact


def _ladder(fact: str, limits: list[tuple[str, Clause]]) -> Ladder:
    names = sorted({name for name, _ in limits})
    rungs: list[tuple[Clause, int]] = []
    for name, clause in limits:
        assert clause.then is not None  # INVARIANT: a limit is a demand that something satisfies
        key = (_strictness(fact, clause.then.bound) << _BITS) + names.index(name)
        rungs.append((replace(clause, then=None), key))
    return Ladder(fact, tuple(rungs), tuple(names))


def _strictness(fact: str, bound: Bound) -> int:
    """Return a number that is lower for a stricter bound; an exclusive one is stricter than an inclusive one."""
    if bound.ceiling is not None:
        return 2 * scaled(bound.ceiling.value, fact) + bound.ceiling.inclusive
    assert bound.floor is not None  # INVARIANT: a limit has a ceiling or a floor
    return -2 * scaled(bound.floor.value, fact) + bound.floor.inclusive
