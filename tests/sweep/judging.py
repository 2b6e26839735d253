"""Decides the rows of the sweep, and says which came out as they may not."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import chain
from typing import Any, Final

from tests.sweep.rows import Row
from tirerules.errors import CaseError
from tirerules.rulebook import Rulebook

__all__ = ["REFUSED", "Sweep", "swept"]

OUTSIDE, UNDETERMINED, WITHIN = "outside-limits", "undetermined", "within-limits"
REFUSED: Final = "refused"
_BETTER: Final = (OUTSIDE, UNDETERMINED, WITHIN)


@dataclass(slots=True)
class Sweep:
    """What came of some rows: how many of each outcome, and what is wrong with which."""

    outcomes: Counter[str] = field(default_factory=Counter)
    by_way: dict[str, Counter[str]] = field(default_factory=dict)
    twins: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)

    @property
    def count(self) -> int:
        """How many rows there were."""
        return self.outcomes.total()


def swept(book: Rulebook, rows: Iterable[Row], reasons_of: int = 1) -> Sweep:
    """Decide `rows`, each with its lawful twin; of every `reasons_of`-th that is undetermined read the reasons.

    Reasons take ten times as long as a verdict.
    """
    sweep, judging = Sweep(), _Judging(book)
    open_ones = 0
    for row in rows:
        outcome = judging.outcome(row.case)
        sweep.outcomes[outcome] += 1
        sweep.by_way.setdefault(row.way.name, Counter())[outcome] += 1
        open_ones += outcome == UNDETERMINED
        read = outcome == UNDETERMINED and open_ones % reasons_of == 0
        sweep.wrong += [f"{row}: {each}" for each in judging.wrong(row, outcome, read)]
    sweep.twins = Counter(judging.twins.values())
    return sweep


class _Judging:
    """Decides cases at one rulebook; of twins, which many rows share, it keeps the verdicts by their text."""

    def __init__(self, book: Rulebook) -> None:
        self.book = book
        self.twins: dict[str, str] = {}

    def outcome(self, case: dict[str, Any]) -> str:
        try:
            return str(self.book.decide(case).verdict)
        except CaseError:
            return REFUSED

    def kept(self, case: dict[str, Any]) -> str:
        key = json.dumps(case)
        if key not in self.twins:
            self.twins[key] = self.outcome(case)
        return self.twins[key]

    def wrong(self, row: Row, outcome: str, read_reasons: bool) -> Iterator[str]:
        if outcome != REFUSED:
            if row.way.than is None and outcome == WITHIN:
                yield "within the limits"
            elif row.must_be_outside and outcome != OUTSIDE:
                yield f"{outcome}, and it must be outside"
            elif read_reasons and not self.explained(row):
                yield f"undetermined, and not by {' or '.join(row.way.by)}"
        if row.plainer is not None and outcome != REFUSED:
            plainer = self.kept(row.plainer)
            if plainer != REFUSED and _BETTER.index(outcome) > _BETTER.index(plainer):
                yield f"{outcome}, which is better than the same fault said plainly: {plainer}"
        if (twin := self.kept(row.twin)) in (OUTSIDE, REFUSED):
            yield f"its lawful twin is {twin}"

    def explained(self, row: Row) -> bool:
        """Whether one of what the way names is among the unknown reasons of an undetermined row."""
        decision = self.book.decide(row.case)
        reasons = chain(decision.reasons, *(method.reasons for method in decision.methods))
        named = set(row.way.by)
        return any(str(each.outcome) != "passes" and {each.rule, each.fact} & named for each in reasons)
