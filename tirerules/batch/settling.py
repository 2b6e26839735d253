"""The questions of open rows as bit masks of facts: `tirerules.engine.questions` over arrays.

Every open answer is a mask of the facts that could settle it. A mask of one fact must be asked for; where these meet
every other mask, they are the smallest set, and that is so for nearly every row. The others are left to the engine's
`settling`, once for each collection of open answers.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from typing import Any, Final

import numpy as np

from tirerules.batch.answers import QUESTION_BITS, QUESTION_FACTS
from tirerules.batch.encoding import EncodedTable
from tirerules.batch.following import ASKED
from tirerules.batch.gaps import Gap
from tirerules.batch.judging import LookAtRows
from tirerules.batch.missing import CARRIER_BIT, Missing, MissingFacts
from tirerules.batch.opened import OpenRows
from tirerules.engine.kernel import bits_of
from tirerules.engine.questions import settling

__all__ = ["Settled", "settled"]

_NONE: Final = np.uint64(0)
_ONE: Final = np.uint64(1)
#: How many bits are set in each number of 16 bits.
_COUNTS: Final = np.array([number.bit_count() for number in range(1 << 16)], np.uint8)
#: What is settled by the engine for one collection of open answers, for all rows of a table that have the same.
Settled = dict[Any, int]


class _Answers:
    """Open answers of some rows, those of the same row behind each other: arrays with an entry for each answer.

    `lanes` is 0 for what no method changes, else the number of the method, from 1.
    """

    __slots__ = ("first", "lanes", "needs", "rows")

    def __init__(self, rows: Any, needs: Any, lanes: Any, first: Any) -> None:
        self.rows, self.needs, self.lanes, self.first = rows, needs, lanes, first


def settled(opened: OpenRows, table: EncodedTable, missing: Missing, known: Settled) -> Any:
    """Return the bits of the questions of open rows (int64 array)."""
    rows = _Rows(opened, table, missing)
    return rows.settled(known)


class _Rows:
    def __init__(self, opened: OpenRows, table: EncodedTable, missing: Missing) -> None:
        self.opened, self.missing = opened, missing
        self.count = len(opened.rows)
        judged = self.judged = opened.judged
        program = self.program = judged.program
        column = table.column(ASKED)
        asked = np.array([QUESTION_BITS.get(fact, 0) for fact in column.values], np.uint64)
        self.asked = asked.take(column.codes.take(opened.whole))
        self.known = {
            fact: table.column(fact).codes.take(opened.whole) > 0
            for fact in ("tire.tread_depth", *{each.relative.of for each in program.computed if each.relative})
        }
        lanes = np.zeros(judged.words.bits, np.int8)
        for number, method in enumerate(program.methods, start=1):
            for bit, place in enumerate(judged.words.order):
                if program.lanes[method] >> place & 1:
                    lanes[bit] = number
        self.lanes = lanes

    # --- the open answers

    def answers(self) -> Iterator[_Answers]:
        """Yield the open answers, some at a time."""
        for look, unsure in self.opened.looks():
            yield self._of_look(look, unsure)
        for (injury, method), gap in self.judged.gaps.of_method.items():
            here = self.opened.gap(gap) & self.opened.able(injury, method)
            yield self._of_gap(gap, here, 1 + self.program.methods.index(method))
        for gap in self.judged.gaps.located:
            yield self._of_gap(gap, self.opened.gap(gap), 0)
        if not self.program.repairing and self.judged.sheet.injuries and not self.judged.hurt:
            rows = np.arange(self.count)
            yield self._same(rows, QUESTION_BITS["findings"], 0)

    def _same(self, rows: Any, needs: int, lane: int) -> _Answers:
        return _Answers(
            rows,
            np.full(len(rows), needs, np.uint64),
            np.full(len(rows), lane, np.int8),
            np.zeros(len(rows), np.uint64),
        )

    def _of_look(self, look: LookAtRows, unsure: Any) -> _Answers:
        facts = self.missing.of(look.injury, look.repair, look.pair)
        rows, bits, has = _bits(unsure)
        needs = self._conditions(facts, self.opened.waiting(look), rows, bits, has)
        body = has(look.doubtful[:, self.opened.open])
        depth = self.known["tire.tread_depth"].astype(np.int8)[rows]
        needs |= np.where(body, facts.body[depth, bits], _NONE)
        for fact, of, which in facts.relative:
            needs |= np.where(body & which[bits] & ~self.known[fact][rows], np.uint64(of), _NONE)
        first = np.where(body, facts.first[depth, bits], _NONE)
        return _Answers(rows, self._with_carrier(needs, rows), self.lanes[bits], self._with_carrier(first, rows))

    def _conditions(self, facts: MissingFacts, waiting: Any, rows: Any, bits: Any, has: Callable[[Any], Any]) -> Any:
        needs = np.zeros(len(rows), np.uint64)
        for place, words in enumerate(waiting):
            needs |= np.where(has(words), facts.conditions[place, bits], _NONE)
        return needs

    def _of_gap(self, gap: Gap, here: Any, lane: int) -> _Answers:
        """Return the gaps as open answers: each is settled by any condition of any limit that waits."""
        limits = np.where(here, gap.limits[:, self.opened.open], _NONE)
        facts = self.missing.of(gap.injury, gap.repair, None)
        rows, bits, has = _bits(limits)
        needs = np.zeros(self.count, np.uint64)
        found = self._with_carrier(self._conditions(facts, self.opened.waiting(gap), rows, bits, has), rows)
        _or_by_row(needs, rows, found)
        which = np.flatnonzero(here)
        answers = self._same(which, 0, lane)
        answers.needs = needs[which]
        return answers

    def _with_carrier(self, needs: Any, rows: Any) -> Any:
        """Return masks with the fact that is asked for in the place of whether the carrier rules bind."""
        here = needs & np.uint64(CARRIER_BIT) != 0
        return np.where(here, needs & ~np.uint64(CARRIER_BIT) | self.asked[rows], needs)

    # --- the smallest sets

    def settled(self, known: Settled) -> Any:
        answers = list(self.answers())
        methods = len(self.program.methods)
        single = np.zeros((methods + 1, self.count), np.uint64)
        for each in answers:
            alone = each.needs & (each.needs - _ONE) == 0
            for lane in range(methods + 1):
                which = np.flatnonzero(alone & (each.lanes == lane))
                _or_by_row(single[lane], each.rows[which], each.needs[which])
        chosen = single | single[0]
        left = np.zeros((methods + 1, self.count), bool)
        hopeless = np.zeros((methods + 1, self.count), bool)
        for each in answers:
            for lane in range(methods + 1):
                which = np.flatnonzero((each.lanes == lane) | (each.lanes == 0))
                rows, needs = each.rows[which], each.needs[which]
                left[lane, rows[(needs != 0) & (needs & chosen[lane, rows] == 0)]] = True
                hopeless[lane, rows[(needs == 0) & (each.lanes[which] == lane)]] = True
        found, unsettled = chosen[0], left[0]
        if methods:
            able = np.stack([self.opened.able(0, method) for method in self.program.methods])
            cost = hopeless[1:].astype(np.int64) << 20
            cost |= np.array([method == "section" for method in self.program.methods], np.int64)[:, None] << 19
            cost += _counted(chosen[1:]).astype(np.int64)
            best = np.argmin(np.where(able, cost, 1 << 40), axis=0)
            some = able.any(axis=0)
            found = np.where(some, np.take_along_axis(chosen[1:], best[None, :], axis=0)[0], found)
            unsettled = np.where(some, (left[1:] & able).any(axis=0), unsettled)
        found = found.astype(np.int64)
        rest = np.flatnonzero(unsettled)
        if len(rest):
            found[rest] = self._by_engine(answers, rest, known)
        return found

    def _by_engine(self, answers: Sequence[_Answers], rest: Any, known: Settled) -> Any:
        place = np.full(self.count, -1, np.int64)
        place[rest] = np.arange(len(rest))
        collected: list[list[tuple[int, int, int]]] = [[] for _ in rest]
        for each in answers:
            which = np.flatnonzero(place[each.rows] >= 0)
            parts = (place[each.rows[which]], each.lanes[which], each.needs[which], each.first[which])
            for at, *answer in zip(*(part.tolist() for part in parts), strict=True):
                collected[at].append(tuple(answer))
        methods = self.program.methods
        able = np.stack(
            [*(self.opened.able(0, method)[rest] for method in methods), np.ones(len(rest), bool)]
        ).T.tolist()
        return [self._settle(tuple(sorted(each)), tuple(can), known) for each, can in zip(collected, able, strict=True)]

    def _settle(self, answers: tuple[tuple[int, int, int], ...], able: tuple[bool, ...], known: Settled) -> int:
        key = answers, able, self.program.methods
        if key not in known:
            lanes: dict[int, list[Any]] = {lane: [] for lane in range(len(able))}
            for lane, needs, first in answers:
                lanes[lane].append((_needs(needs), next(iter(_needs(first)), None)))
            options = {
                method: lanes[number] for number, method in enumerate(self.program.methods, start=1) if able[number - 1]
            }
            asked = settling(lanes[0], [options] if self.program.methods else [])
            known[key] = sum(QUESTION_BITS[fact] for fact, _ in asked)
        return known[key]


@lru_cache(maxsize=4096)
def _needs(mask: int) -> frozenset[tuple[str, str]]:
    """Return the facts of a mask as the engine names what is asked of a case with nothing to tell apart."""
    return frozenset((QUESTION_FACTS[place], "") for place in bits_of(mask))


def _bits(words: Any) -> tuple[Any, Any, Callable[[Any], Any]]:
    """Return the row and the place of every bit that is set, and what says whether it is set in other masks."""
    flat = np.ascontiguousarray(words.T)
    set_ = np.unpackbits(flat.view(np.uint8), axis=1, bitorder="little") if flat.size else np.zeros((0, 64), np.uint8)
    rows, bits = np.nonzero(set_)
    at, shift = rows * flat.shape[1] + (bits >> 6), (bits & 63).astype(np.uint64)

    def has(others: Any) -> Any:
        return (np.ascontiguousarray(others.T).ravel()[at] >> shift & _ONE).astype(bool)

    return rows, bits, has


def _or_by_row(into: Any, rows: Any, masks: Any) -> None:
    """Add masks to those of their rows, which ascend."""
    if len(rows):
        starts = np.flatnonzero(np.diff(rows, prepend=-1))
        into[rows[starts]] |= np.bitwise_or.reduceat(masks, starts)


def _counted(masks: Any) -> Any:
    """Return how many bits of each mask are set."""
    return sum(_COUNTS[masks >> np.uint64(shift) & np.uint64(0xFFFF)] for shift in range(0, 64, 16))
