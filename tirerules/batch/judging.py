"""What the rules of a program say of many rows at once: the evaluator, over arrays.

Mirrors `tirerules.engine.evaluator` look by look, with the same kernel (`tirerules.engine.kernel`) and the same rules
of the engine; a verdict is an int8, a mask an array of the shape (words, rows).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from tirerules.batch.gaps import GapsOfRows
from tirerules.batch.sheet import Sheet
from tirerules.batch.words import ARRAYS, Words
from tirerules.engine.kernel import WITHIN, best, judge, outcome
from tirerules.engine.program import Program

__all__ = ["JudgedRows", "LookAtRows"]


class LookAtRows:
    """One subject that was judged on every row: who it is, by number, what is open of it and why it may be."""

    __slots__ = ("doubtful", "injury", "may", "pair", "repair", "unsure")

    def __init__(self, injury: int | None, repair: int | None, pair: int | None, planes: Any, unsure: Any) -> None:
        self.injury, self.repair, self.pair, self.unsure = injury, repair, pair, unsure
        self.may, self.doubtful = planes[1], planes[3]


class _Judged:
    """Masks of the instances that may apply, surely apply, surely fail and are open, over several subjects."""

    __slots__ = ("failing", "relevant", "sure", "unsure")

    def __init__(self, shape: tuple[int, int]) -> None:
        self.relevant, self.sure, self.failing, self.unsure = (np.zeros(shape, np.uint64) for _ in range(4))


class JudgedRows:
    """What is said of some rows (arrays with an entry for each).

    `verdict` and `leading` (the number of a method, -1 for none) are those of the kernel; `failing` is the number of
    the first rule that fails, by name, -1 for none; `limited` the words of the limits on size and tread that surely
    apply.
    """

    def __init__(self, program: Program, words: Words, sheet: Sheet, rows: Any, *, hurt: bool, listed: bool) -> None:
        """Judge rows. `hurt` and `listed` are whether injuries and earlier repairs are recorded."""
        self.program, self.words, self.sheet, self.rows = program, words, sheet, rows
        self.hurt, self.listed = hurt, listed
        self.looks: list[LookAtRows] = []
        self.tire = sheet.tire.planes(rows)
        self.repairs = [each.planes(rows) for each in sheet.repairs] if program.each_repair else []
        self._shape = self.tire.shape[1:]
        self._judge()
        self._conclude()

    def _judge(self) -> None:
        program = self.program
        full = program.full
        lane = program.lanes[""]
        self.judged: list[_Judged] = []
        self._pairs = [each.planes(self.rows) for each in self.sheet.pairs]
        if not self.sheet.injuries:
            self.judged.append(_Judged(self._shape))
            self._look(self.tire, lane, None)
        for number, injury in enumerate(self.sheet.injuries):
            self.judged.append(_Judged(self._shape))
            self._look(self.tire | injury.planes(self.rows), full if number == 0 else full & ~lane, number)
        self.relevant = np.bitwise_or.reduce([each.relevant for each in self.judged])
        self.sure = np.bitwise_or.reduce([each.sure for each in self.judged])

    def _look(self, planes: Any, rules: int, injury: int | None) -> None:
        """Judge the tire with an injury, and that with each earlier repair and each pair of repairs."""
        program = self.program
        for repair, of_repair in ((None, None), *enumerate(self.repairs)):
            asked = rules & (program.each_repair if repair is not None else program.full & ~program.each_repair)
            if not asked:
                continue
            both = planes if of_repair is None else planes | of_repair
            once, each_pair = asked & ~program.each_pair, asked & program.each_pair
            if once:
                self._add(both, self.words.mask(once), injury, repair, None)
            if each_pair:
                for pair, (of_pair, judged_by) in enumerate(self._by_pair(each_pair)):
                    self._add(both | of_pair, judged_by, injury, repair, pair)

    def _by_pair(self, rules: int) -> Sequence[tuple[Any, Any]]:
        """Return what is known of each pair, and the instances (by row) that are judged there."""
        wanted = self.words.mask(rules)
        if self.sheet.stated is None:
            return [(self._pairs[0], wanted)]
        stated = self.sheet.stated(self.rows) & wanted
        *pairs, whole = self._pairs
        return [*((each, wanted & ~stated) for each in pairs), (whole, stated)]

    def _add(self, planes: Any, rules: Any, injury: int | None, repair: int | None, pair: int | None) -> None:
        relevant, sure, failing, unsure = judge(planes[0], planes[1], planes[2], planes[3], rules)
        judged = self.judged[-1]
        judged.relevant |= relevant
        judged.sure |= sure
        judged.failing |= failing
        judged.unsure |= unsure
        self.looks.append(LookAtRows(injury, repair, pair, planes, unsure))

    def _conclude(self) -> None:
        program, words = self.program, self.words
        lanes = {lane: words.mask(rules & program.limiting) for lane, rules in program.lanes.items()}
        self.gaps = GapsOfRows(self)
        first = self.judged[0]
        whole = _outcome(first.failing & lanes[""], first.unsure & lanes[""], self.gaps.of_tire)
        verdict = whole
        count = len(self.rows)
        methods = program.methods if self.sheet.injuries else ()
        worst = [np.full(count, WITHIN, np.int8) for _ in methods]
        for number, judged in enumerate(self.judged if self.sheet.injuries else ()):
            own = _outcome(judged.failing & lanes["injury"], judged.unsure & lanes["injury"], self.gaps.of_injury)
            verdict = np.minimum(verdict, own)
            least = np.minimum(whole, own)
            by_method = []
            for at, method in enumerate(methods):
                lane = lanes[method]
                found = _outcome(judged.failing & lane, judged.unsure & lane, self.gaps.of_method[number, method].any)
                by_method.append(np.minimum(least, found))
                worst[at] = np.minimum(worst[at], by_method[-1])
            if by_method:
                verdict = np.minimum(verdict, best(ARRAYS, by_method)[0])
        self.verdict = verdict
        self.leading = best(ARRAYS, worst)[1].astype(np.int8) if methods else np.full(count, -1, np.int8)
        self._tell(lanes)

    def _tell(self, lanes: Mapping[str, Any]) -> None:
        """Set the first rule that fails and the limits that surely apply, each by the leading method."""
        common = lanes[""] | lanes["injury"]
        methods = [(self.leading == at, lanes[method]) for at, method in enumerate(self.program.methods)]
        limits = self.words.mask(sum(1 << place for place in self.words.order[: self.words.limited]))
        told = common & limits
        for leads, lane in methods:
            told = told | np.where(leads, lane & limits, np.uint64(0))
        self.limited = self.sure & told
        failing = np.bitwise_or.reduce([each.failing for each in self.judged])
        self.failing = np.full(len(self.rows), -1, np.int64)
        short = np.flatnonzero(self.verdict < WITHIN)
        if len(short):
            found = self.words.first_rule(failing[:, short] & common)
            for judged in self.judged:
                by_method = np.zeros((self._shape[0], len(short)), np.uint64)
                for leads, lane in methods:
                    by_method |= np.where(leads[short], judged.failing[:, short] & lane, np.uint64(0))
                found = np.where(found < 0, self.words.first_rule(by_method), found)
            self.failing[short] = found


def _outcome(failing: Any, unsure: Any, gap: Any) -> Any:
    return outcome(ARRAYS, failing, unsure, gap).astype(np.int8)
