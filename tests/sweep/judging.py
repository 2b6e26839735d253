"""Decides the rows of the sweep, and says which came out as they may not."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import chain
from typing import Any, Final

from tests.sweep.rows import Row
from tirerules.engine.parts import Reason
from tirerules.errors import CaseError
from tirerules.rulebook import Rulebook

__all__ = ["REFUSED", "Sweep", "swept"]

OUTSIDE, UNDETERMINED, WITHIN = "outside-limits", "undetermined", "within-limits"
REFUSED: Final = "refused"
NO_TWIN: Final = "none, its class is barred"


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
    """Decides cases at one rulebook; of twins, which many rows share, it keeps the verdicts."""

    def __init__(self, book: Rulebook) -> None:
        self.book = book
        self.twins: dict[tuple[str, ...], str] = {}

    def outcome(self, case: dict[str, Any]) -> str:
        """The verdict on a case, or that it was refused."""
        try:
            return str(self.book.decide(case).verdict)
        except CaseError:
            return REFUSED

    def of_twin(self, row: Row) -> str:
        """The verdict on the lawful twin of a row; outside for its class alone is none of a twin that it has."""
        known = self.twins.get(row.twin_key)
        if known is None:
            known = self.outcome(row.twin)
            if known == OUTSIDE and self.class_is_barred(row.twin):
                known = NO_TWIN
            self.twins[row.twin_key] = known
        return known

    def wrong(self, row: Row, outcome: str, read_reasons: bool) -> Iterator[str]:
        """Yield what is wrong with how a row came out, or with how its twin did."""
        if outcome == WITHIN:
            plainer = None if row.plainer is None else self.outcome(row.plainer)
            if plainer is None or plainer == OUTSIDE or (plainer != WITHIN and not row.way.only_if_barred):
                yield "within the limits" if plainer is None else f"within the limits; said plainly it is {plainer}"
        elif outcome == UNDETERMINED and row.must_be_outside:
            yield "undetermined, and it must be outside"
        elif read_reasons and not self.explained(row):
            yield f"undetermined, and not by {' or '.join(row.way.by)}"
        if (twin := self.of_twin(row)) in (OUTSIDE, REFUSED):
            yield f"its lawful twin is {twin}"

    def explained(self, row: Row) -> bool:
        """Whether one of what the way names is among the unknown reasons of an undetermined row."""
        named = set(row.way.by)
        return any(str(each.outcome) != "passes" and {each.rule, each.fact} & named for each in self.reasons(row.case))

    def class_is_barred(self, case: dict[str, Any]) -> bool:
        """Whether a tire is outside for its class alone, whatever its state: then it has no lawful twin."""
        reasons = self.book.decide(case).reasons
        return {each.fact for each in reasons if str(each.outcome) == "fails"} == {"tire.class"}

    def reasons(self, case: dict[str, Any]) -> Iterator[Reason]:
        """Yield what every rule says, whichever method it concerns."""
        decision = self.book.decide(case)
        return chain(decision.reasons, *(method.reasons for method in decision.methods))
