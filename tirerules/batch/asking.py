"""The questions of open rows: worked out by the evaluator once for all rows whose questions depend on the same.

The questions of a case depend on which instances are open, for which of their conditions and whether for their body;
on the gaps and the limits that may apply there; and, of a few facts, on what else is asked in their place. Methods that
fail have no part. All of it is a few words for each row; of rows with equal words one is asked about.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import reduce
from operator import or_
from typing import Any, Final

import numpy as np

from tirerules.batch.encoding import EncodedTable
from tirerules.batch.following import ASKED
from tirerules.batch.gaps import Gap
from tirerules.batch.grouping import joint_groups, numbered
from tirerules.batch.judging import JudgedRows, LookAtRows
from tirerules.batch.sheet import Part
from tirerules.batch.words import any_bit
from tirerules.engine.kernel import UNDETERMINED
from tirerules.engine.worked_out import CARRIER
from tirerules.quantities import Measured

__all__ = ["open_groups"]

_DEPTH: Final = "tire.tread_depth"


def open_groups(judged: JudgedRows, table: EncodedTable, rows: Any) -> tuple[Any, Any, Any]:
    """Return which judged rows are open, the first of each group that depends on the same, and the group of each.

    `rows` are the rows of the table that all of the sheet's rows are.
    """
    open_ = np.flatnonzero(judged.verdict == UNDETERMINED)
    if not len(open_):
        return open_, open_, open_
    first, groups = joint_groups([(np.zeros(len(open_), np.int32), 1), *_Open(judged, table, rows, open_).codes()])
    return open_, first, groups


class _Open:
    """The open rows among judged ones."""

    def __init__(self, judged: JudgedRows, table: EncodedTable, rows: Any, open_: Any) -> None:
        self.judged, self.program, self.words, self.sheet = judged, judged.program, judged.words, judged.sheet
        self.open, self.rows = open_, judged.rows.take(open_)
        self.table, self.whole = table, rows.take(self.rows)
        self.unsure: list[Any] = []

    def codes(self) -> Iterator[tuple[Any, int]]:
        """Yield what the questions depend on, as codes and how many there are."""
        for words in self._words():
            for each in words:
                if each.any():
                    yield numbered(np.ascontiguousarray(each))
        yield from self._instead()

    def _words(self) -> Iterator[Any]:
        """Yield arrays of the shape (words, rows)."""
        allowed = [self._allowed(number) for number in range(len(self.judged.judged))]
        for look in self.judged.looks:
            unsure = look.unsure[:, self.open] & allowed[look.injury or 0]
            self.unsure.append(unsure)
            yield unsure
            yield unsure & look.doubtful[:, self.open]
            yield from self._waiting(self._parts(look), unsure)
        for (number, method), gap in self.judged.gaps.of_method.items():
            here = any_bit(allowed[number] & self.words.mask(self.program.lanes[method]))
            yield from self._gap(gap, here)
        for gap in self.judged.gaps.located:
            yield from self._gap(gap, True)

    def _allowed(self, injury: int) -> Any:
        """Return the instances of no method that fails the injury."""
        failing = self.judged.judged[injury].failing[:, self.open]
        common = self.words.mask(self.program.lanes[""] | self.program.lanes["injury"])
        allowed = np.repeat(common, len(self.open), axis=1)
        for method in self.program.methods:
            lane = self.words.mask(self.program.lanes[method])
            allowed |= np.where(any_bit(failing & lane), np.uint64(0), lane)
        return allowed

    def _parts(self, look: LookAtRows | Gap) -> list[Part]:
        sheet = self.sheet
        parts = [sheet.tire]
        if look.injury is not None:
            parts.append(sheet.injuries[look.injury])
        if look.repair is not None:
            parts.append(sheet.repairs[look.repair])
        if isinstance(look, LookAtRows) and look.pair is not None:
            parts.append(sheet.pairs[look.pair])
        return parts

    def _waiting(self, parts: list[Part], rules: Any) -> Iterator[Any]:
        if rules.any():
            yield from reduce(or_, (part.waiting(self.rows) for part in parts)) & rules

    def _gap(self, gap: Gap, here: Any) -> Iterator[Any]:
        """Yield what the questions of a gap depend on, where the method it is of does not fail."""
        some = (gap.any[self.open] & here).astype(np.uint64)
        yield some[None, :]
        limits = np.where(some, gap.limits[:, self.open], np.uint64(0))
        yield limits
        yield from self._waiting(self._parts(gap), limits)

    def _instead(self) -> Iterator[tuple[Any, int]]:
        """Yield what decides which facts are asked for in the place of others, where these are open."""
        program = self.program
        unsure = reduce(or_, self.unsure)
        reads = program.where(lambda each: CARRIER in (each.fact, *(fact for fact, _ in each.tests)))
        asked = self.table.column(ASKED)
        waits = [unsure, *(gap.limits[:, self.open] for gap in (*self.judged.gaps.located, *self.judged.gaps.of_method.values()))]
        yield self._where(reduce(or_, waits), reads, asked.codes.take(self.whole), len(asked.values))
        counted = program.where(lambda each: each.counted)
        depth = self.table.column(_DEPTH).codes.take(self.whole) > 0
        yield self._where(unsure, counted, depth, 2)
        relative = program.where(lambda each: each.relative is not None)
        for fact in sorted({each.relative.of for each in program.computed if each.relative is not None}):
            column = self.table.column(fact)
            exact = [_exact(value) or at + 2 for at, value in enumerate(column.values)]
            codes = np.array([0, *exact[1:]], np.int64).take(column.codes.take(self.whole))
            yield self._where(unsure, relative, codes, len(column.values) + 2)
        if len(self.sheet.pairs) > 1:
            for items, count in ((self.table.injuries, len(self.sheet.injuries)), (self.table.repairs, len(self.sheet.repairs))):
                for number in range(count):
                    for fact, column in items.at(self.whole, number).items():
                        if fact.endswith(".clock"):
                            yield self._where(unsure, program.each_pair, column.codes > 0, 2)

    def _where(self, open_: Any, rules: int, codes: Any, count: int) -> tuple[Any, int]:
        """Return codes where some of the rules are open, 0 elsewhere."""
        return np.where(any_bit(open_ & self.words.mask(rules)), codes, 0), count


def _exact(value: Any) -> int:
    """Return 1 for a measurement without a width, which all stand alike to what follows from them; else 0."""
    return int(isinstance(value, Measured) and value.ends[:2] == value.ends[2:])
