"""numpy by hand: tickets sorted by activity and place, each clause on the slice of the columns that it concerns."""

from __future__ import annotations

import functools
import operator
from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any, Final

import numpy as np

from tests.benchmarks.exported import Clause, Test, scaled
from tests.benchmarks.flat import Flat, codes_of, mask, name
from tests.benchmarks.ladders import NONE, Ladder
from tests.benchmarks.peers.protocol import Keys, Rules, TellingPeer, Told, Verdicts
from tirerules.jurisdictions import JURISDICTIONS
from tirerules.vocabulary import ACTIVITIES, REPAIR_METHODS

__all__ = ["holds", "prepare", "satisfied"]

Column = np.ndarray[Any, Any]
Columns = Mapping[str, Column]
_PLACES: Final = len(JURISDICTIONS)


def holds(test: Test, column: Column, number: Callable[[Fraction, str], int] = scaled) -> Verdicts:
    """Return for which values of a column a test holds; `number` says how its figures stand in the column."""
    bound = test.bound
    if test.fact == "findings":
        found: Verdicts = (column & mask(bound.prohibited)) != 0
        return found if test.negated else ~found
    if bound.ceiling is None and bound.floor is None:
        # One look at a small table: by the code of a word, at its end for a word that is not there.
        admitted = np.array([bool(bound.admits(frozenset({word}))) for word in (*codes_of(test.fact), "")])
        looked_up: Verdicts = admitted[column]
        return looked_up
    parts: list[Verdicts] = []
    if bound.ceiling is not None:
        top = number(bound.ceiling.value, test.fact)
        parts.append(column <= top if bound.ceiling.inclusive else column < top)
    if bound.floor is not None:
        bottom = number(bound.floor.value, test.fact)
        parts.append(column >= bottom if bound.floor.inclusive else column > bottom)
    held: Verdicts = np.logical_and.reduce(parts)
    return held


def satisfied(clause: Clause, holding: Callable[[Test], Verdicts], on: Column) -> Verdicts:
    """Return which tickets satisfy a clause: those that it does not concern, and those that meet its demand."""
    parts = [~holding(test) for test in clause.when]
    if clause.then is not None:
        parts.append(holding(clause.then))
    if clause.start is not None:
        parts.append(on < clause.start)
    if clause.end is not None:
        parts.append(on >= clause.end)
    return functools.reduce(operator.or_, parts) if parts else np.zeros(len(on), bool)


class _Sorted:
    """A table sorted by activity and place, each column when it is first read."""

    def __init__(self, columns: Columns) -> None:
        keys = columns["activity"].astype(np.int16) * _PLACES + columns["jurisdictions"]
        self.order = np.argsort(keys, kind="stable")
        self.starts = np.searchsorted(keys[self.order], np.arange(len(ACTIVITIES) * _PLACES + 1))
        self._columns = columns
        self._known: dict[str, Column] = {}

    def column(self, fact: str) -> Column:
        if fact not in self._known:
            self._known[fact] = self._columns[name(fact)][self.order]
        return self._known[fact]

    def satisfied(self, clause: Clause, here: slice) -> Verdicts:
        """Return which tickets of a slice satisfy a clause."""
        return satisfied(clause, lambda test: holds(test, self.column(test.fact)[here]), self.column("on")[here])

    def slices(self, clause: Clause) -> list[slice]:
        """Return the slices that a clause concerns; neighbors as one."""
        found: list[slice] = []
        for number, activity in enumerate(ACTIVITIES):
            if activity not in clause.activities:
                continue
            for at, place in enumerate(JURISDICTIONS):
                if clause.places is not None and place not in clause.places:
                    continue
                start, stop = self.starts[number * _PLACES + at : number * _PLACES + at + 2].tolist()
                if found and found[-1].stop == start:
                    start = found.pop().start
                found.append(slice(start, stop))
        return [each for each in found if each.stop > each.start]

    @property
    def repairs(self) -> slice:
        """The slice of the repairs."""
        first = ACTIVITIES.index("repair") * _PLACES
        return slice(self.starts[first], self.starts[first + _PLACES])

    def back(self, column: Column) -> Column:
        """Return a column in the order of the tickets."""
        found = np.empty_like(column)
        found[self.order] = column
        return found


class _Arrays(TellingPeer):
    def __init__(self, rules: Rules) -> None:
        self._rules = rules

    def load(self, tickets: Flat) -> Columns:
        return tickets.columns

    def decide_loaded(self, loaded: Columns) -> Verdicts:
        table = _Sorted(loaded)
        common, by_method = self._judged(table)
        return table.back(_within(table, common, by_method))

    def tell_loaded(self, loaded: Columns) -> Told:
        table = _Sorted(loaded)
        common, by_method = self._judged(table)
        # The method that is told of is the first that repairs the tire within the limits; if none does, the first.
        passing = [common & held for held in by_method.values()]
        leading = np.argmax(passing, axis=0)
        within = _within(table, common, by_method)
        keys = tuple(table.back(_strictest(table, ladder, leading)) for ladder in self._rules.ladders)
        return Told(table.back(within), keys)

    def _judged(self, table: _Sorted) -> tuple[Verdicts, Mapping[str, Verdicts]]:
        common = np.ones(len(table.order), bool)
        by_method = {method: np.ones(len(table.order), bool) for method in REPAIR_METHODS}
        for clause in self._rules.clauses:
            target = common if clause.method is None else by_method[clause.method]
            for here in table.slices(clause):
                target[here] &= table.satisfied(clause, here)
        return common, by_method


def _within(table: _Sorted, common: Verdicts, by_method: Mapping[str, Verdicts]) -> Verdicts:
    here, within = table.repairs, common.copy()
    within[here] &= np.logical_or.reduce([held[here] for held in by_method.values()])
    return within


def _strictest(table: _Sorted, ladder: Ladder, leading: Column) -> Keys:
    """Return the least key of the limits that concern each ticket under its leading method."""
    least = np.full(len(leading), NONE)
    for clause, key in ladder.rungs:
        for here in table.slices(clause):
            spared = table.satisfied(clause, here)
            if clause.method is not None:
                spared |= leading[here] != REPAIR_METHODS.index(clause.method)
            np.minimum(least[here], key, out=least[here], where=~spared)
    return least


def prepare(rules: Rules) -> TellingPeer:
    """Return the evaluator with its rules."""
    return _Arrays(rules)
