"""What could still settle open rows: the facts that are missing, and all that the choice among them depends on.

Mirrors what `tirerules.index.asking` reads of a case. Rows that agree in all of it are asked the same questions, so
that one of them can be asked for all, whatever their plans.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from functools import reduce
from operator import or_
from typing import Any

import numpy as np

from tirerules.batch.effects import Known
from tirerules.batch.grouping import alike
from tirerules.batch.planned import Planned, Role, number_of
from tirerules.index.evaluate import UNDETERMINED

__all__ = ["covered_rows", "matters", "meaning", "open_rows"]


def open_rows(verdict: Any, masks: Sequence[Any]) -> Any:
    """Return the undetermined rows with an open answer; `masks` are the rules whose answers are, part by part."""
    return (verdict == UNDETERMINED) & (reduce(or_, masks) != 0)


def matters(known: Known, rows: Any, flags: Any, masks: Sequence[Any]) -> Any:
    """Return all that the questions about some rows depend on (uint64 array, a row of words for each of them).

    These are the plan, the flags, the masks, and the open conditions and unknown facts of the rules in the masks.
    """
    taken = [each[rows] for each in masks]
    mattering = _mattering(known, rows, reduce(or_, taken))
    above = [word & mask for role in Role for word, mask in zip(known.above(role, rows), mattering, strict=True)]
    return np.stack([known.effects.numbers[known.plans[rows]], flags[rows], *taken, *above], axis=1)


def meaning(planned: Planned, words: Sequence[int], above: int) -> Hashable:
    """Return what `matters` says of a row of one plan, in words that mean the same whatever the plan.

    The last `above` words of each role say which conditions are open and which facts are unknown.
    """
    _, flags, *rest = words
    masks, open_ = rest[: len(rest) - above * len(Role)], rest[len(rest) - above * len(Role) :]
    return (
        planned.plan.repairing,
        # What is missing in each of several places is missing several times.
        0 if planned.plan.repairing else len(planned.plan.tread_guards),
        flags,
        *(planned.plan.names_in(mask) for mask in masks),
        *(planned.open_in(number_of(open_[above * role : above * (role + 1)])) for role in Role),
    )


def covered_rows(known: Known, rows: Any, limits: Any, roles: Sequence[Role]) -> Any:
    """Return whether one of the limits that may apply to each of some rows does, whatever the unknown words are.

    `roles` are those in which the limits read facts.
    """
    mattering = _mattering(known, rows, limits)
    above = (reduce(or_, words) for words in zip(*(known.above(role, rows) for role in roles), strict=True))
    open_ = [word & mask for word, mask in zip(above, mattering, strict=True)]
    asked = np.stack([known.plans[rows].astype(np.uint64), limits, *open_], axis=1)
    some, group = alike(asked)
    plans = known.effects.plans
    answers = [plans[plan].covers(rules, number_of(above)) for plan, rules, *above in asked[some].tolist()]
    return np.array(answers, bool).take(group)


def _mattering(known: Known, rows: Any, rules: Any) -> list[Any]:
    """Return what stands above the sections and matters to open answers of the rules of each row, as words."""
    plans, every = known.plans[rows], int(np.bitwise_or.reduce(rules))
    words = [np.zeros(len(rows), np.uint64) for _ in range(known.effects.above)]
    for rule, by_plan in enumerate(known.effects.mattering):
        if every >> rule & 1:
            concerned = -(rules >> np.uint64(rule) & np.uint64(1))  # all bits, or none
            for word, matters_to in zip(words, by_plan, strict=True):
                word |= matters_to.take(plans) & concerned
    return words
