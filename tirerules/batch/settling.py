"""The questions of open rows as bit masks of needs: `tirerules.engine.questions` over arrays.

Every open answer is a mask of the needs that could settle it. A mask of one need must be asked for. Where these meet
every other mask, or all others have a need in common, that is the smallest set, and so it is for nearly every row. The
rest is left to the engine's `settling`, once for each collection of open answers.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Iterator
from typing import Any, Final

import numpy as np

from tirerules.batch.answers import QUESTION_BITS
from tirerules.batch.encoding import EncodedTable
from tirerules.batch.following import ASKED
from tirerules.batch.gaps import Gap
from tirerules.batch.judging import LookAtRows
from tirerules.batch.missing import VARYING, Missing, MissingFacts
from tirerules.batch.opened import OpenRows
from tirerules.engine.program import Program
from tirerules.engine.questions import settling
from tirerules.engine.worked_out import CARRIER, REGROOVED

__all__ = ["settled"]

_NONE: Final = np.uint64(0)
_ONE: Final = np.uint64(1)
#: How many bits are set in each number of 16 bits.
_COUNTS: Final = np.array([number.bit_count() for number in range(1 << 16)], np.uint8)
#: Every need; more than any row has answers.
_ALL: Final = np.uint64((1 << 64) - 1)
_MOST: Final = 1 << 16
_FINDINGS, _DEPTH = "findings", "tire.tread_depth"


def settled(opened: OpenRows, table: EncodedTable, missing: Missing, known: dict[Hashable, int]) -> Any:
    """Return the bits of the questions of open rows (int64 array); None where not every need has a bit.

    `known` keeps what the engine settles, for one table.
    """
    answers = _Answers(opened, table, missing)
    if not missing.fits:
        return None
    chosen, unsettled = _Cover(answers).chosen()
    found = missing.questions(chosen)
    rest = np.flatnonzero(unsettled)
    if len(rest):
        found[rest] = _by_engine(answers, rest, known)
    return found


class _Answers:
    """The open answers of some rows: arrays with an entry for each answer, of what row it is and what could settle it.

    `lanes` is 0 for what no method changes; else a number for each injury and method, from 1, methods counting fastest.
    `first` is the need that a body limits, 0 for none.
    """

    def __init__(self, opened: OpenRows, table: EncodedTable, missing: Missing) -> None:
        self.opened, self.missing, self.program = opened, missing, opened.judged.program
        self.count = len(opened.rows)
        self._stated = {
            fact: table.column(fact).codes.take(opened.whole) > 0
            for fact in (_DEPTH, _FINDINGS, *{each.relative.of for each in self.program.instances if each.relative})
        }
        self._depth = self._stated[_DEPTH].astype(np.int8)
        self._varying = _varying(table, opened, missing, self._stated[_FINDINGS])
        parts = list(zip(*self._parts(), strict=True)) or [(np.zeros(0, np.uint64),)] * 4
        self.rows, self.needs, self.lanes, self.first = (np.concatenate(part) for part in parts)

    def able(self, injury: int) -> Any:
        """Return by method on which rows it does not fail an injury (bool array)."""
        return np.stack([self.opened.able(injury, method) for method in self.program.methods])

    def _parts(self) -> Iterator[tuple[Any, Any, Any, Any]]:
        """Yield rows, needs, lanes and first needs, some at a time."""
        judged, methods = self.opened.judged, len(self.program.methods)
        for look, unsure in self.opened.looks():
            if unsure.any():
                yield self._of_look(look, unsure)
        for (injury, method), gap in judged.gaps.of_method.items():
            here = self.opened.gap(gap) & self.opened.able(injury, method)
            if here.any():
                yield self._of_gap(gap, here, 1 + injury * methods + self.program.methods.index(method))
        for gap in judged.gaps.located:
            here = self.opened.gap(gap)
            if here.any():
                yield self._of_gap(gap, here, 0)
        if not self.program.repairing and judged.sheet.injuries and not judged.hurt:
            rows = np.arange(self.count)
            yield self._answers(rows, np.full(len(rows), self.missing.bit((_FINDINGS, "")), np.uint64), 0)

    def _answers(self, rows: Any, needs: Any, lane: int) -> tuple[Any, Any, Any, Any]:
        return rows, needs, np.full(len(rows), lane), np.zeros(len(rows), np.uint64)

    def _of_look(self, look: LookAtRows, unsure: Any) -> tuple[Any, Any, Any, Any]:
        facts = self.missing.of(look.injury, look.repair, look.pair)
        rows, bits, has = _bits(unsure)
        needs = self._conditions(facts, self.opened.waiting(look), bits, has)
        body = has(look.doubtful[:, self.opened.open])
        depth = self._depth[rows]
        needs |= np.where(body, facts.body[depth, bits], _NONE)
        for fact, of, which in facts.relative:
            needs |= np.where(body & which[bits] & ~self._stated[fact][rows], np.uint64(of), _NONE)
        first = np.where(body, facts.first[depth, bits], _NONE)
        lanes = self.missing.lanes[bits]
        if look.injury:
            lanes = np.where(lanes > 0, lanes + look.injury * len(self.program.methods), 0)
        return rows, self._replaced(needs, rows, 0), lanes, self._replaced(first, rows, 1)

    def _conditions(self, facts: MissingFacts, waiting: Any, bits: Any, has: Callable[[Any], Any]) -> Any:
        needs = np.zeros(len(bits), np.uint64)
        for place, words in enumerate(waiting):
            needs |= np.where(has(words), facts.conditions[place, bits], _NONE)
        return needs

    def _of_gap(self, gap: Gap, here: Any, lane: int) -> tuple[Any, Any, Any, Any]:
        """Return gaps as open answers: each is settled by any condition of any limit that waits."""
        limits = np.where(here, gap.limits[:, self.opened.open], _NONE)
        needs = np.zeros(self.count, np.uint64)
        if limits.any():
            facts = self.missing.of(gap.injury, gap.repair, None)
            rows, bits, has = _bits(limits)
            found = self._conditions(facts, self.opened.waiting(gap), bits, has)
            np.bitwise_or.at(needs, rows, self._replaced(found, rows, 0))
        which = np.flatnonzero(here)
        return self._answers(which, needs[which], lane)

    def _replaced(self, needs: Any, rows: Any, which: int) -> Any:
        """Return needs with what is asked in the place of facts for which that differs from row to row."""
        for fact, bit in VARYING.items():
            here = needs & np.uint64(bit) != 0
            if here.any():
                needs = np.where(here, needs & ~np.uint64(bit) | self._varying[fact][which][rows], needs)
        return needs


def _varying(table: EncodedTable, opened: OpenRows, missing: Missing, inspected: Any) -> dict[str, tuple[Any, Any]]:
    """Return by fact what is asked in its place on every row, and the first of that."""
    column = table.column(ASKED)
    bits = [missing.bit((fact, "")) if fact is not None else 0 for fact in column.values]
    carrier = np.array(bits, np.uint64).take(column.codes.take(opened.whole))
    groove, findings = (np.uint64(missing.bit((fact, ""))) for fact in (REGROOVED, _FINDINGS))
    # It is not known whether a tire was regrooved of which no inspection is recorded: that comes first.
    both = np.where(inspected, groove, groove | findings)
    return {CARRIER: (carrier, carrier), REGROOVED: (both, np.where(inspected, groove, findings))}


# --- the smallest sets


class _Cover:
    """What meets the open answers of each row: the needs that must be asked for, and what is common to all others."""

    def __init__(self, answers: _Answers) -> None:
        program, count = answers.program, answers.count
        methods = self.methods = len(program.methods)
        self.answers = answers
        self.injuries = len(answers.opened.judged.sheet.injuries) if methods else 0
        needs, lanes, rows = answers.needs, answers.lanes, answers.rows
        alone = (needs & (needs - _ONE) == 0) & (needs != 0)
        #: By lane and row the needs of answers that one fact alone can settle.
        self.single = np.zeros((1 + self.injuries * methods, count), np.uint64)
        np.bitwise_or.at(self.single.reshape(-1), lanes[alone] * count + rows[alone], needs[alone])
        #: By lane and row whether an answer cannot be settled at all.
        self.hopeless = np.zeros(self.single.shape, bool)
        self.hopeless[lanes[needs == 0], rows[needs == 0]] = True
        several = ~alone & (needs != 0)
        self.rows, self.needs, self.lanes = rows[several], needs[several], lanes[several]

    def common(self, chosen: Any, which: Any) -> Any:
        """Return by row what all answers in `which` that some needs do not meet have in common; all needs if none."""
        rows, needs = self.rows[which], self.needs[which]
        missed = needs & chosen[rows] == 0
        found = np.full(self.answers.count, _ALL)
        np.bitwise_and.at(found, rows[missed], needs[missed])
        return found

    def chosen(self) -> tuple[Any, Any]:
        """Return the needs of a smallest set by row, and on which rows none was found."""
        answers, methods = self.answers, self.methods
        chosen, active = self.single[0], self.lanes == 0
        lanes = np.zeros((1 + self.injuries * methods, answers.count), bool)
        lanes[0] = True
        unsettled = np.zeros(answers.count, bool)
        for injury in range(self.injuries):
            first = 1 + injury * methods
            options = chosen | self.single[first : first + methods]
            able = answers.able(injury)
            cost = self.hopeless[first : first + methods].astype(np.int64) << 20
            # A section repair is another job, by another shop: it is asked about where no unit can do.
            cost |= np.array([method == "section" for method in answers.program.methods], np.int64)[:, None] << 19
            cost += _counted(options)
            for method in range(methods):
                common = self.common(options[method], active | (self.lanes == first + method))
                cost[method] += common != _ALL
                unsettled |= able[method] & (common == 0)
            best = np.argmin(np.where(able, cost, 1 << 40), axis=0)
            some = np.flatnonzero(able.any(axis=0))
            chosen = chosen.copy()
            chosen[some] = options[best[some], some]
            lanes[first + best[some], some] = True
            active = lanes[self.lanes, self.rows]
        common = self.common(chosen, active)
        unsettled |= common == 0
        more = np.flatnonzero((common != _ALL) & ~unsettled)
        if len(more):
            chosen = chosen.copy()
            chosen[more] |= self._first(common, more, lanes)
        return chosen, unsettled

    def _first(self, common: Any, rows: Any, lanes: Any) -> Any:
        """Return of each of some rows the one of several needs that comes first, as `smallest_cover` ranks them."""
        answers = self.answers
        heard = lanes[answers.lanes, answers.rows]
        of, needs, first = answers.rows[heard], answers.needs[heard], answers.first[heard]
        best, found = np.full(len(rows), np.iinfo(np.int64).max), np.zeros(len(rows), np.uint64)
        every = int(np.bitwise_or.reduce(common[rows]))
        for place, bit, inspection in answers.missing.ranked():
            if every & bit:
                mask = np.uint64(bit)
                counts, limits = (
                    np.bincount(of[each], minlength=answers.count)[rows] for each in (needs & mask != 0, first == mask)
                )
                rank = ((0 if inspection else _MOST * _MOST) - counts * _MOST - limits) * _MOST + place
                better = (common[rows] & mask != 0) & (rank < best)
                best, found = np.where(better, rank, best), np.where(better, mask, found)
        return found


def _counted(masks: Any) -> Any:
    """Return how many bits of each mask are set."""
    parts = [_COUNTS[masks >> np.uint64(shift) & np.uint64(0xFFFF)] for shift in range(0, 64, 16)]
    return sum(part.astype(np.int64) for part in parts)


def _by_engine(answers: _Answers, rest: Any, known: dict[Hashable, int]) -> list[int]:
    """Return the bits of the questions of some rows, each collection of open answers settled by the engine."""
    place = np.full(answers.count, -1, np.int64)
    place[rest] = np.arange(len(rest))
    which = np.flatnonzero(place[answers.rows] >= 0)
    parts = (each[which].tolist() for each in (answers.lanes, answers.needs, answers.first))
    collected: list[list[tuple[int, Any, Any]]] = [[] for _ in range(len(rest))]
    needs = answers.missing.needs
    for at, lane, mask, first in zip(place[answers.rows[which]].tolist(), *parts, strict=True):
        collected[at].append((lane, needs(mask), next(iter(needs(first)), None)))
    methods = answers.program.methods
    injuries = range(len(answers.opened.judged.sheet.injuries) if methods else 0)
    able = np.concatenate([np.ones((1, answers.count), bool), *map(answers.able, injuries)])[:, rest].T.tolist()
    found = []
    for each, can in zip(collected, able, strict=True):
        key = frozenset(Counter(each).items()), tuple(can), methods
        if key not in known:
            known[key] = _settle(each, can, answers.program, len(injuries))
        found.append(known[key])
    return found


def _settle(answers: list[tuple[int, Any, Any]], able: list[bool], program: Program, injuries: int) -> int:
    lanes: list[list[Any]] = [[] for _ in able]
    for lane, needs, first in answers:
        lanes[lane].append((needs, first))
    by_injury = []
    for injury in range(injuries):
        numbers = enumerate(program.methods, start=1 + injury * len(program.methods))
        by_injury.append({method: lanes[number] for number, method in numbers if able[number]})
    return sum({QUESTION_BITS[fact] for fact, _ in settling(lanes[0], by_injury)})


def _bits(words: Any) -> tuple[Any, Any, Callable[[Any], Any]]:
    """Return the row and the place of every bit that is set, and what says whether it is set in other masks."""
    flat = np.ascontiguousarray(words.T)
    rows, bits = np.nonzero(np.unpackbits(flat.view(np.uint8), axis=1, bitorder="little"))
    at, shift = rows * flat.shape[1] + (bits >> 6), (bits & 63).astype(np.uint64)

    def has(others: Any) -> Any:
        return (np.ascontiguousarray(others.T).reshape(-1)[at] >> shift & _ONE).astype(bool)

    return rows, bits, has
