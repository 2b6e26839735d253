"""One plan's way with many rows: words of bits by value, their OR by row, and what follows from it.

Mirrors `tirerules.index.evaluate` and `.packing`, with an array in the place of every number. Rows that it cannot
answer for get -1.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import or_
from typing import Any, Final

import numpy as np
import pyarrow as pa

from tirerules.batch.answers import Answer, told
from tirerules.batch.values import Column
from tirerules.index.bits import ABSENT
from tirerules.index.evaluate import OUTSIDE, UNDETERMINED, WITHIN
from tirerules.index.packing import packer_of, unplaced
from tirerules.index.plain import PlainCase
from tirerules.index.plan import Plan
from tirerules.packs.rule import Rule
from tirerules.words import CURED_BY_REPAIR, PAIRED, REPAIR_METHODS

__all__ = ["Planned", "Rows"]

_WORD, _SECTIONS = 64, 4
_SIZE, _TREAD = "injury.diameter", "tire.tread_depth"
#: What an injury says of the repair that it becomes.
_BECOMES: Final = {"injury.diameter": "repair.diameter", "injury.zone": "repair.zone"}
#: Only in the sidewalls can two repairs lie across from each other.
_SIDEWALL: Final = (None, "sidewall")
_SNOW: Final = "road.snow_restriction"
#: Facts that no single column gives.
_ELSEWHERE: Final = frozenset({"injury.reach", "repairs.count", "method"} | PAIRED)
#: Odd numbers without a pattern, which spread keys over 64 bits.
_SPREAD: Final = (0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9)


@dataclass(frozen=True, slots=True)
class Rows:
    """Some rows of a table: `where` are their numbers in the columns, `injured` says which of them state an injury."""

    columns: Mapping[str, Column]
    where: Any
    injured: Any

    def codes(self, name: str) -> Any:
        """Return the codes of a column for these rows."""
        return self.columns[name].codes.take(self.where)

    def where_value(self, name: str, test: Callable[[Any], Any]) -> Any:
        """Return for each of these rows whether a test holds for its value; what a table lacks is null."""
        holds = np.array([bool(test(value)) for value in self.values(name)])
        return holds[self.codes(name)] if name in self.columns else np.repeat(holds, len(self.where))

    def values(self, name: str) -> list[Any]:
        """Return the values of a column by code; of a column that the table lacks, a null."""
        return self.columns[name].values if name in self.columns else [None]


class _Judged:
    """What some rules say of every row: arrays with a bit for each rule; `asking` are rows about which they ask."""

    __slots__ = ("asking", "failing", "open", "relevant", "sure")

    def __init__(self, words: Any, rules: Any) -> None:
        absent, unknown, missed, doubtful = words
        self.relevant = ~absent & rules
        self.sure = self.relevant & ~unknown
        missed = self.relevant & missed
        self.failing = missed & ~(unknown | doubtful)
        self.asking = self.open = missed != self.failing

    def join(self, other: _Judged) -> None:
        """Add what other rules say, or the same rules of another subject."""
        self.relevant |= other.relevant
        self.sure |= other.sure
        self.failing |= other.failing
        self.open |= other.open

    def outcome(self) -> Any:
        """Return the verdict of these rules alone, for every row."""
        return np.where(self.failing != 0, OUTSIDE, np.where(self.open, UNDETERMINED, WITHIN)).astype(np.int8)


class Planned:
    """Decides rows by one plan. What it is asked once, it remembers."""

    __slots__ = ("_answers", "_limited", "_low", "_rules", "_told", "_words", "plan", "usable")

    def __init__(self, plan: Plan, rules: Sequence[Rule], answers: list[Answer]) -> None:
        """Hold a plan and its rules; answers are added to `answers`."""
        self.plan, self._rules, self._answers = plan, rules, answers
        self._low = (1 << plan.limiting.bit_length()) - 1
        limited = [at for at, row in enumerate(plan.rows) if row["body"] and row["body"]["fact"] in (_SIZE, _TREAD)]
        self._limited = sum(1 << at for at in limited)
        self.usable = (
            plan.fits
            and self._low < 1 << _WORD
            and not plan.repaired & (plan.paired | self._limited)  # told in an order of their own
        )
        self._words: dict[int, tuple[int, ...]] = {}
        self._told: dict[tuple[int, ...], int] = {}

    # --- words of bits

    def _split(self, packed: int) -> tuple[int, ...]:
        """Return the words of a packed number: absent, unknown, missed, doubtful."""
        words = self._words.get(packed)
        if words is None:
            shifts = (section * self.plan.count for section in range(_SECTIONS))
            words = self._words[packed] = tuple(packed >> shift & self._low for shift in shifts)
        return words

    def _array(self, packed: Sequence[int]) -> Any:
        """Return the words of packed numbers, a column for each."""
        return np.array([self._split(each) for each in packed], np.uint64).T

    def _mask(self, *groups: str, each_repair: bool = False) -> Any:
        return np.uint64(reduce(or_, (self.plan.group(group, each_repair) for group in groups)) & self._low)

    # --- what is known of the rows

    def _known(self, rows: Rows, packed: Mapping[str, Sequence[int]]) -> Any:
        """Return the words of every row: the OR of those of its values, which `packed` gives by column."""
        constant, words = 0, None
        for name, each in packed.items():
            if len(each) == 1:
                constant |= each[0]
                continue
            taken = self._array(each).take(rows.codes(name), axis=1, mode="clip")
            words = taken if words is None else np.bitwise_or(words, taken, out=words)
        if words is None:
            return np.repeat(self._array([constant]), len(rows.where), axis=1)
        return np.bitwise_or(words, self._array([constant]), out=words) if constant else words

    def _of_tire(self, rows: Rows) -> dict[str, list[int]]:
        packed: dict[str, list[int]] = {}
        for fact, table in self.plan.tables.items():
            if fact not in _ELSEWHERE and not fact.startswith(("injury.", "repair.")):
                unsaid = False if fact == _SNOW and self.plan.activity != "road-use" else None
                packed[fact] = [table[unsaid if value is None else value] for value in rows.values(fact)]
        return packed

    def _of_injury(self, rows: Rows) -> dict[str, list[int]]:
        tables = self.plan.tables
        packed = {
            fact: [table[value] for value in rows.values(fact)]
            for fact, table in tables.items()
            if fact.startswith("injury.") and fact not in _ELSEWHERE
        }
        if (reach := tables.get("injury.reach")) is not None:
            zones = rows.values("injury.zone")
            known = packed.get("injury.zone", [0] * len(zones))
            reaches = [reach[None if zone is None else ABSENT] for zone in zones]
            packed["injury.zone"] = [one | other for one, other in zip(known, reaches, strict=True)]
        return packed

    def _as_repair(self, rows: Rows) -> dict[str, list[int]]:
        packed = {
            fact: [self.plan.tables[becomes][value] for value in rows.values(fact)]
            for fact, becomes in _BECOMES.items()
            if becomes in self.plan.tables
        }
        return packed | {"": [packer_of(self.plan).unsaid]}

    def _lists(self, rows: Rows) -> tuple[Any, Any]:
        """Return the words of what the list of earlier repairs says of the tire, and of the repair in it."""
        packer, earlier, overlaps = packer_of(self.plan), rows.values("earlier_repairs"), rows.values("repairs.overlap")
        # Only how many repairs there are matters to the tire: none, one, or nobody knows.
        counts = list(dict.fromkeys(None if repairs is None else len(repairs) for repairs in earlier))
        packed = [
            self._whole(_lists_of(self.plan, count, overlap, injured))
            for count, overlap, injured in itertools.product(counts, overlaps, (False, True))
        ]
        codes = rows.injured.astype(np.int32)
        if len(overlaps) > 1:
            codes += 2 * rows.codes("repairs.overlap")
        if len(earlier) > 1:
            at = [counts.index(None if repairs is None else len(repairs)) for repairs in earlier]
            codes += np.array(at, np.int32)[rows.codes("earlier_repairs")] * 2 * len(overlaps)
        whole = self._array(packed).take(codes, axis=1, mode="clip")
        one = [(packer.repairs(repairs) or (0,))[0] for repairs in earlier]
        return whole, self._known(rows, {"earlier_repairs": one})

    def _whole(self, case: PlainCase) -> int:
        packer, total = packer_of(self.plan), case.repair_total
        packed = 0
        if packer.counted is not None:
            packed |= packer.counted[None] if total is None else packer.counted.span(total, 1, total, 1)
        single = total is not None and total <= 1
        spots = (*(case.injuries or ()), *(case.earlier_repairs or ()))
        return packed | packer.pair(case, single, next(iter(unplaced(spots)), {}))

    # --- the answers

    def decide(self, rows: Rows) -> Any:
        """Return for every row the place of its answer, or -1."""
        plan = self.plan
        tire = self._known(rows, self._of_tire(rows))
        whole, repair = self._lists(rows)
        tire |= whole
        left = self._across(rows)
        common = self._subject(rows, tire, repair, "")
        everything = common.relevant.copy()
        if not plan.repairing:
            # Of an injury, and where none was looked for, more rules have a say, and nothing can pass.
            left |= rows.injured | rows.where_value("findings", lambda found: found is None)
            unlimited, unclear = self._unlimited_tread(common)
            asking = common.open.copy()
            common.open |= unlimited | self._unjudged(rows, everything) | plan.unreviewed
            none = np.full(len(left), -1, np.int8)
            return self._answered(common.outcome(), none, common.failing, common.sure, left | unclear, asking)
        own = tire | self._known(rows, self._of_injury(rows))
        injury = self._subject(rows, own, repair, "injury")
        everything |= injury.relevant
        mended = tire | self._known(rows, self._as_repair(rows)) if plan.repaired else None
        methods = []
        for method in REPAIR_METHODS:
            by, unclear = self._method(rows, own, repair, mended, injury, method)
            everything |= by.relevant
            left |= unclear
            methods.append(by)
        asking = reduce(or_, (by.asking for by in methods), common.open | injury.open)
        common.open |= self._unjudged(rows, everything)
        both = np.minimum(common.outcome(), injury.outcome())
        common.join(injury)
        verdict, leading = both, np.zeros(len(rows.where), np.int8)
        best = np.minimum(both, methods[0].outcome())
        failing, sure = methods[0].failing, methods[0].sure
        for number, by in enumerate(methods[1:], start=1):
            together = np.minimum(both, by.outcome())
            better = together > best
            best = np.where(better, together, best)
            leading[better] = number
            failing, sure = np.where(better, by.failing, failing), np.where(better, by.sure, sure)
        verdict = np.minimum(both, best)
        failing = np.where(common.failing != 0, common.failing, failing)
        return self._answered(verdict, leading, failing, common.sure | sure, left, asking)

    def _subject(self, rows: Rows, words: Any, repair: Any, *groups: str) -> _Judged:
        judged = _Judged(words, self._mask(*groups))
        each_repair = self._mask(*groups, each_repair=True)
        if each_repair:
            some = rows.where_value("earlier_repairs", lambda repairs: repairs != ())
            judged.join(_Judged(words | repair, np.where(some, each_repair, np.uint64(0))))
        return judged

    def _method(
        self, rows: Rows, own: Any, repair: Any, mended: Any, injury: _Judged, method: str
    ) -> tuple[_Judged, Any]:
        """Return what the rules say of the injury as repaired by one method, and the rows on which that is unclear."""
        words = own | self._array([self.plan.word("method", method)])
        judged = self._subject(rows, words, repair, "injury+method", "method")
        if mended is not None:
            as_repair = mended | self._array([self.plan.word("repair.method", method)])
            judged.join(_Judged(as_repair, np.uint64(self.plan.repaired & self._low)))
        guards = np.uint64(self.plan.size_guards & self._low)
        located = (injury.sure | judged.sure) & guards != 0
        # Of limits that may apply, one may apply whatever is answered: that is for the reference to find out.
        unclear = ~located & ((injury.relevant | judged.relevant) & guards != 0)
        judged.asking = judged.open
        judged.open = judged.open | ~located
        return judged, unclear

    def _unlimited_tread(self, common: _Judged) -> tuple[Any, Any]:
        unlimited, unclear = np.zeros(len(common.open), bool), np.zeros(len(common.open), bool)
        for guards in self.plan.tread_guards.values():
            located = common.sure & np.uint64(guards & self._low) != 0
            unlimited |= ~located
            unclear |= ~located & (common.relevant & np.uint64(guards & self._low) != 0)
        return unlimited, unclear

    def _unjudged(self, rows: Rows, everything: Any) -> Any:
        """Return the rows with a finding that no rule judges which may apply."""
        unjudged = np.zeros(len(rows.where), bool)
        if "findings" not in rows.columns:
            return unjudged
        codes = rows.codes("findings")
        for code, found in enumerate(rows.values("findings")):
            recorded = (found or frozenset()) - (CURED_BY_REPAIR if self.plan.repairing else frozenset())
            if recorded:
                here = np.flatnonzero(codes == code)
                for word in recorded if len(here) else ():
                    judging = np.uint64(self.plan.judging.get(word, 0) & self._low)
                    unjudged[here] |= everything[here] & judging == 0
        return unjudged

    def _across(self, rows: Rows) -> Any:
        """Return the rows on which an injury and an earlier repair may lie across from each other in the sidewalls."""
        if not self.plan.paired:
            return np.zeros(len(rows.where), bool)
        beside = rows.where_value("earlier_repairs", lambda repairs: repairs and repairs[0].zone in _SIDEWALL)
        return beside & rows.injured & rows.where_value("injury.zone", lambda zone: zone in _SIDEWALL)

    def _answered(self, verdict: Any, leading: Any, failing: Any, sure: Any, left: Any, asking: Any) -> Any:
        """Return the places of the answers; none for rows that are left, and for open ones that must be asked about."""
        first = np.where(verdict == WITHIN, np.uint64(0), failing & (~failing + np.uint64(1)))
        limited = sure & np.uint64(self._limited)
        kind = verdict.astype(np.uint64) << np.uint64(8) | leading.view(np.uint8).astype(np.uint64)
        key = first * np.uint64(_SPREAD[0]) ^ limited * np.uint64(_SPREAD[1]) ^ kind * np.uint64(_SPREAD[2])
        codes = pa.array(key).dictionary_encode().indices.to_numpy()
        example = np.empty(int(codes.max()) + 1, np.int64)
        example[codes] = np.arange(len(codes))
        # INVARIANT: rows with one key are alike in all three parts; if ever they are not, they are left.
        shown = example[codes]
        left = left | (asking & (verdict == UNDETERMINED))
        left |= (first != first[shown]) | (limited != limited[shown]) | (kind != kind[shown])
        places = np.array(
            [
                self._place(*parts)
                for parts in zip(*(each[example].tolist() for each in (verdict, leading, first, limited)), strict=True)
            ],
            np.int64,
        )
        return np.where(left, -1, places[codes])

    def _place(self, verdict: int, leading: int, first: int, limited: int) -> int:
        key = (verdict, leading, first, limited)
        if key not in self._told:
            self._told[key] = len(self._answers)
            method = None if leading < 0 else REPAIR_METHODS[leading]
            self._answers.append(told(self.plan, self._rules, verdict, method, first, limited))
        return self._told[key]


def _lists_of(plan: Plan, count: int | None, overlap: bool | None, injured: bool) -> Any:
    """Return what a case says of its lists, as the packer reads it: so many earlier repairs, and an injury or none."""
    unlisted = count is None or (plan.repairing and not injured)
    total = None if unlisted else (count or 0) + (plan.repairing and injured)
    return _Lists(_Repairs(overlap), total, (_BLANK,) if injured else (), (_BLANK,) * (count or 0))


@dataclass(frozen=True, slots=True)
class _Repairs:
    overlap: bool | None
    opposed: None = None
    spacing: None = None
    count: None = None


@dataclass(frozen=True, slots=True)
class _Blank:
    zone: str = "crown"  #: rows on which the zone matters are left
    side: None = None


_BLANK: Final = _Blank()


@dataclass(frozen=True, slots=True)
class _Lists:
    repairs: _Repairs
    repair_total: int | None
    injuries: tuple[Any, ...]
    earlier_repairs: tuple[Any, ...]
