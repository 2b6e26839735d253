"""The questions of open rows: worked out by the evaluator once for all rows whose questions depend on the same.

The questions of a case depend on which instances are open, for which of their conditions and whether for their body;
on the gaps and the limits that may apply there; and, of a few facts, on what else is asked in their place. Methods that
fail have no part. All of it is a few words for each row; of rows with equal words one is asked about.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import numpy as np

from tirerules.batch.encoding import EncodedTable
from tirerules.batch.following import ASKED
from tirerules.batch.grouping import joint_groups, numbered
from tirerules.batch.opened import OpenRows
from tirerules.batch.words import any_bit
from tirerules.engine.worked_out import CARRIER
from tirerules.quantities import Measured

__all__ = ["alike_when_open"]

_DEPTH: Final = "tire.tread_depth"


def alike_when_open(opened: OpenRows, table: EncodedTable) -> tuple[Any, Any]:
    """Return the first of each group of open rows whose questions depend on the same, and the group of each."""
    return joint_groups([(np.zeros(len(opened.rows), np.int32), 1), *_Open(opened, table).codes()])


class _Open:
    def __init__(self, opened: OpenRows, table: EncodedTable) -> None:
        self.opened, self.judged, self.table = opened, opened.judged, table
        self.program, self.words, self.sheet = self.judged.program, self.judged.words, self.judged.sheet
        self.whole = opened.whole
        self.waits = np.zeros((self.words.count, len(opened.rows)), np.uint64)

    def codes(self) -> Iterator[tuple[Any, int]]:
        """Yield what the questions depend on, as codes and how many there are."""
        for words in self._words():
            for each in words:
                if each.any():
                    yield numbered(np.ascontiguousarray(each))
        yield from self._instead()

    def _words(self) -> Iterator[Any]:
        """Yield arrays of the shape (words, rows)."""
        for look, unsure in self.opened.looks():
            self.waits |= unsure
            yield unsure
            yield unsure & look.doubtful[:, self.opened.open]
            if unsure.any():
                yield from self.opened.waiting(look) & unsure
        gaps = [(gap, self.opened.able(*of)) for of, gap in self.judged.gaps.of_method.items()]
        for gap, here in (*gaps, *((gap, True) for gap in self.judged.gaps.located)):
            some = self.opened.gap(gap) & here
            limits = np.where(some, gap.limits[:, self.opened.open], np.uint64(0))
            self.waits |= limits
            yield some.astype(np.uint64)[None, :]
            yield limits
            if limits.any():
                yield from self.opened.waiting(gap) & limits

    def _instead(self) -> Iterator[tuple[Any, int]]:
        """Yield what decides which facts are asked for in the place of others, where these are open."""
        program = self.program
        reads = program.where(lambda each: CARRIER in (each.fact, *(fact for fact, _ in each.tests)))
        asked = self.table.column(ASKED)
        yield self._where(reads, asked.codes.take(self.whole), len(asked.values))
        counted = program.where(lambda each: each.counted)
        depth = self.table.column(_DEPTH).codes.take(self.whole) > 0
        yield self._where(counted, depth, 2)
        relative = program.where(lambda each: each.relative is not None)
        for fact in sorted({each.relative.of for each in program.computed if each.relative is not None}):
            column = self.table.column(fact)
            exact = [_exact(value) or at + 2 for at, value in enumerate(column.values)]
            codes = np.array([0, *exact[1:]], np.int64).take(column.codes.take(self.whole))
            yield self._where(relative, codes, len(column.values) + 2)
        if len(self.sheet.pairs) > 1:
            lists = (
                (self.table.injuries, self.sheet.injuries, self.judged.hurt),
                (self.table.repairs, self.sheet.repairs, self.judged.listed),
            )
            for items, parts, recorded in lists:
                for number in range(len(parts) if recorded else 0):
                    for fact, column in items.at(self.whole, number).items():
                        if fact.endswith(".clock"):
                            yield self._where(program.each_pair, column.codes > 0, 2)

    def _where(self, rules: int, codes: Any, count: int) -> tuple[Any, int]:
        """Return codes where some of the rules are open, 0 elsewhere."""
        return np.where(any_bit(self.waits & self.words.mask(rules)), codes, 0), count


def _exact(value: Any) -> int:
    """Return 1 for a measurement without a width, which all stand alike to what follows from them; else 0."""
    return int(isinstance(value, Measured) and value.ends[:2] == value.ends[2:])
