"""Judged rows that are open: which instances keep them so, and which conditions these wait for."""

from __future__ import annotations

from collections.abc import Iterator
from functools import reduce
from operator import or_
from typing import Any

import numpy as np

from tirerules.batch.gaps import Gap
from tirerules.batch.judging import JudgedRows, LookAtRows
from tirerules.batch.words import any_bit
from tirerules.engine.kernel import UNDETERMINED

__all__ = ["OpenRows"]


class OpenRows:
    """The open rows among judged ones.

    `open` are their places among the judged rows, `whole` their rows in the table; `able` says by method which injuries
    it does not fail, for one injury after another.
    """

    def __init__(self, judged: JudgedRows, rows: Any, which: Any = None) -> None:
        """Hold the open ones of judged rows; `rows` are the rows of the table that all of the sheet's rows are.

        With `which` (bool array) hold only some of them.
        """
        self.judged = judged
        self.open = np.flatnonzero(judged.verdict == UNDETERMINED)
        if which is not None:
            self.open = self.open[which]
        self._waiting: dict[int, Any] = {}
        self.rows = judged.rows.take(self.open)
        self.whole = rows.take(self.rows)
        self._allowed, self._able = [], []
        words, lanes = judged.words, judged.program.lanes
        for each in judged.judged:
            allowed = np.repeat(words.mask(judged.program.common), len(self.open), axis=1)
            able = {}
            for method in judged.program.methods:
                lane = words.mask(lanes[method])
                able[method] = ~any_bit(each.failing[:, self.open] & lane)
                allowed |= np.where(able[method], lane, np.uint64(0))
            self._allowed.append(allowed)
            self._able.append(able)

    def able(self, injury: int, method: str) -> Any:
        """Return on which rows a method does not fail an injury (bool array)."""
        return self._able[injury][method]

    def looks(self) -> Iterator[tuple[LookAtRows, Any]]:
        """Yield every look with the instances that are open there, of methods that do not fail."""
        for look in self.judged.looks:
            yield look, look.unsure[:, self.open] & self._allowed[look.injury or 0]

    def gap(self, gap: Gap) -> Any:
        """Return on which rows there is a gap (bool array)."""
        return gap.any[self.open]

    def waiting(self, of: LookAtRows | Gap) -> Any:
        """Return what conditions on a subject wait for, by their places in rules: (places, words, rows)."""
        sheet = self.judged.sheet
        parts = [sheet.tire]
        if of.injury is not None:
            parts.append(sheet.injuries[of.injury])
        if of.repair is not None:
            parts.append(sheet.repairs[of.repair])
        if isinstance(of, LookAtRows) and of.pair is not None:
            parts.append(sheet.pairs[of.pair])
        for part in parts:
            if id(part) not in self._waiting:
                self._waiting[id(part)] = part.waiting(self.rows)
        return reduce(or_, (self._waiting[id(part)] for part in parts))
