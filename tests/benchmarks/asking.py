"""Tickets that never repeat, drawn for each turn and each row by seeds of their own."""

from __future__ import annotations

import itertools
import json
from collections.abc import Callable, Iterable, Iterator
from typing import Any, Final

import tirerules
from tests.benchmarks.measuring import cpu
from tests.benchmarks.tickets import texts, tickets
from tirerules import Rulebook

__all__ = ["SHOWN", "Asking", "fresh_seeds", "limits", "text", "verdict", "whole", "with_reasons"]

#: Facts of a decision that a counter screen shows at once.
SHOWN: Final = ("verdict", "methods", "limits", "questions", "requirements", "notices")
_SEEDS: Final = itertools.count(1_000)


def fresh_seeds() -> Iterator[int]:
    """Return seeds that nobody else in this run draws tickets by."""
    return _SEEDS


def verdict(rulebook: Rulebook, case: Any) -> None:
    """Read the verdict."""
    _ = rulebook.decide(case).verdict


def limits(rulebook: Rulebook, case: Any) -> None:
    """Read the verdict, and the rules that set each limit."""
    decision = rulebook.decide(case)
    _ = decision.verdict
    for each in decision.limits.values():
        _ = each.binding


def whole(rulebook: Rulebook, case: Any) -> tirerules.Decision:
    """Read all that a counter screen shows."""
    decision = rulebook.decide(case)
    for each in SHOWN:
        getattr(decision, each)
    return decision


def with_reasons(rulebook: Rulebook, case: Any) -> None:
    """Read that, and what every rule says."""
    decision = whole(rulebook, case)
    _ = decision.reasons, [method.reasons for method in decision.methods]


def text(rulebook: Rulebook, case: str) -> None:
    """Take JSON text, give JSON text."""
    rulebook.decide_json(case)


class Asking:
    """Asks one question of `count` new tickets a turn, by a rulebook of its own that has answered `warm` others.

    INVARIANT: a sample decides tickets that its rulebook has never seen. `again` asks those of the same turn once more.
    """

    def __init__(self, ask: Callable[[Rulebook, Any], object], count: int, warm: int, **shape: Any) -> None:
        self._ask, self._count, self._shape = ask, count, shape
        self._rulebook = tirerules.load()
        self._last: list[str] = []
        self._decide(self._made(self._drawn(warm)))

    def sample(self, turn: int) -> float:
        """Return the CPU seconds for each new ticket."""
        self._last = self._drawn(self._count)
        return self.again(turn)

    def again(self, turn: int) -> float:
        """Return the CPU seconds for each ticket of the last sample, made anew from its text."""
        asked = self._made(self._last)
        return cpu(self._decide, asked) / len(asked)

    def _drawn(self, count: int) -> list[str]:
        return texts(tickets(count, next(_SEEDS), **self._shape))

    def _made(self, said: Iterable[str]) -> list[Any]:
        """Return what is asked: the texts themselves, or mappings made from them, with words of their own."""
        return list(said) if self._ask is text else [json.loads(each) for each in said]

    def _decide(self, asked: Iterable[Any]) -> None:
        ask, rulebook = self._ask, self._rulebook
        for each in asked:
            ask(rulebook, each)
