"""One plan's way with many rows: words of bits by value, their OR by row, and what follows from it.

Mirrors `tirerules.index.evaluate` and `.packing`, with an array in the place of every number. Rows that it cannot
answer for get -1.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import reduce
from operator import or_
from typing import Any, Final

import numpy as np
import pyarrow as pa

from tirerules.batch.answers import Told, answer_by, limiting
from tirerules.batch.joining import LISTS, Joined, Shape
from tirerules.index.bits import ABSENT
from tirerules.index.evaluate import OUTSIDE, UNDETERMINED, WITHIN
from tirerules.index.packing import packer_of
from tirerules.index.plan import Plan
from tirerules.packs.rule import Rule
from tirerules.words import CURED_BY_REPAIR, PAIRED, REPAIR_METHODS

__all__ = ["Planned", "Rows"]

_WORD, _SECTIONS = 64, 4
#: What an injury says of the repair that it becomes.
_BECOMES: Final = {"injury.diameter": "repair.diameter", "injury.zone": "repair.zone"}
_SNOW: Final = "road.snow_restriction"
#: Facts that no column gives by itself.
_ELSEWHERE: Final = frozenset({"injury.reach", "repairs.count", "method"} | PAIRED)
#: Odd numbers without a pattern, which spread keys over 64 bits.
_SPREAD: Final = tuple(map(np.uint64, (0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9)))
_BYTE: Final = np.uint64(8)
#: What the values of some columns do to the rules, by column.
_Packed = Mapping[str, Sequence[int]]
#: Absent, unknown, missed, doubtful: of each an array with a word for each row, or one word for all rows.
_Words = tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Rows:
    """Some rows of a table: `where` are their numbers there."""

    table: Joined
    where: Any
    _taken: dict[int, Any] = field(default_factory=dict)

    def codes(self, join: int) -> Any:
        """Return the codes of a join for these rows."""
        if join not in self._taken:
            self._taken[join] = self.table.codes[join].take(self.where)
        return self._taken[join]


class _Judged:
    """What some rules say of every row: arrays with a bit for each rule; `asking` are rows about which they ask."""

    __slots__ = ("asking", "failing", "open", "relevant", "sure")

    def __init__(self, words: _Words, rules: Any, count: int) -> None:
        absent, unknown, missed, doubtful = words
        self.relevant = ~absent & rules
        if not self.relevant.shape:
            self.relevant = np.full(count, self.relevant)
        self.sure = self.relevant & ~unknown
        missed = self.relevant & missed
        self.failing = missed & ~(unknown | doubtful)
        self.asking = self.open = missed != self.failing

    def join(self, other: _Judged) -> None:
        """Add what other rules say, or the same rules of another subject."""
        self.relevant = self.relevant | other.relevant
        self.sure = self.sure | other.sure
        self.failing = self.failing | other.failing
        self.asking = self.asking | other.asking
        self.open = self.open | other.open

    def outcome(self) -> Any:
        """Return the verdict of these rules alone, for every row."""
        return np.where(
            self.failing != 0, np.int8(OUTSIDE), np.where(self.open, np.int8(UNDETERMINED), np.int8(WITHIN))
        )


class Planned:
    """Decides rows by one plan. What it was asked once, it remembers."""

    __slots__ = ("_limited", "_low", "_places", "_rules", "_tables", "_told", "_words", "plan", "usable")

    def __init__(self, plan: Plan, rules: Sequence[Rule], told: Told) -> None:
        """Hold a plan and its rules, and what was told, where answers are given places."""
        self.plan, self._rules, self._told = plan, rules, told
        self._low = (1 << plan.limiting.bit_length()) - 1
        self._limited = limiting(plan)
        self.usable = (
            plan.fits
            and self._low < 1 << _WORD
            and not plan.repaired & (plan.paired | self._limited)  # told in an order of their own
        )
        self._words: dict[int, tuple[int, ...]] = {}
        self._tables: dict[str, tuple[Shape, list[list[tuple[int, Any]]], list[Any]]] = {}
        self._places: dict[tuple[int, ...], int] = {}

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

    def _one(self, packed: int) -> _Words:
        """Return the words of one packed number, for all rows."""
        return tuple(map(np.uint64, self._split(packed)))

    def _mask(self, *groups: str, each_repair: bool = False) -> Any:
        return np.uint64(reduce(or_, (self.plan.group(group, each_repair) for group in groups)) & self._low)

    def _known(self, rows: Rows, role: str, packed: Callable[[Joined], _Packed]) -> _Words:
        """Return the words of every row: the OR of those of its values, which `packed` gives by column.

        `role` names what `packed` tells: its words are made once for all tables of one shape.
        """
        held = self._tables.get(role)
        if held is None or held[0] is not rows.table.shape:
            held = self._tables[role] = (rows.table.shape, *self._made(rows.table.shape, packed(rows.table)))
        _, tables, shared = held
        return tuple(self._section(rows, *each) for each in zip(tables, shared, strict=True))

    def _section(self, rows: Rows, tables: Sequence[tuple[int, Any]], shared: Any) -> Any:
        words = None
        for join, table in tables:
            taken = table.take(rows.codes(join), mode="clip")
            words = taken if words is None else np.bitwise_or(words, taken, out=words)
        if words is None:
            return shared
        return np.bitwise_or(words, shared, out=words) if shared else words

    def _made(self, shape: Shape, packed: _Packed) -> tuple[list[list[tuple[int, Any]]], list[Any]]:
        """Return, for each section, the words of the values of each join that tell rows apart, and what all share."""
        left = dict(packed)
        tables: list[list[tuple[int, Any]]] = [[] for _ in range(_SECTIONS)]
        shared = [np.uint64(0)] * _SECTIONS
        for at, join in enumerate(shape.joins):
            words = np.zeros((_SECTIONS, 1), np.uint64)
            for name, values in zip(join.names, join.values, strict=True):
                own = self._array(left.pop(name)) if name in left else np.zeros((_SECTIONS, len(values)), np.uint64)
                words = (words[:, :, None] | own[:, None, :]).reshape(_SECTIONS, -1)
            for section, each in enumerate(words):
                if (each == each[0]).all():
                    shared[section] |= each[0]
                else:
                    tables[section].append((at, each.copy()))
        for lacking in left.values():  # of columns that the table lacks
            for section, word in enumerate(self._split(lacking[0])):
                shared[section] |= np.uint64(word)
        return tables, shared

    # --- what values do

    def _of_tire(self, table: Joined) -> _Packed:
        packed: dict[str, list[int]] = {LISTS: [self._of_lists(*lists) for lists in table.values(LISTS)]}
        for fact, does in self.plan.tables.items():
            if fact not in _ELSEWHERE and not fact.startswith(("injury.", "repair.")):
                unsaid = False if fact == _SNOW and self.plan.activity != "road-use" else None
                packed[fact] = [does[unsaid if value is None else value] for value in table.values(fact)]
        return packed

    def _of_lists(self, earlier: int | None, overlap: bool | None, injured: bool) -> int:
        """Return what so many earlier repairs, with an injury or without one, say of the tire."""
        plan, packer = self.plan, packer_of(self.plan)
        unlisted = earlier is None or (plan.repairing and not injured)
        total = None if unlisted else (earlier or 0) + (plan.repairing and injured)
        packed = 0
        if "repairs.count" in plan.tables:
            packed |= plan.tables["repairs.count"][total]
        # Rows on which two repairs may lie across from each other are left.
        apart = {"repairs.opposed": False} if (earlier or 0) + injured > 1 else {}
        return packed | packer.pair({"repairs.overlap": overlap}, total is not None and total <= 1, apart)

    def _of_repair(self, table: Joined) -> _Packed:
        packer = packer_of(self.plan)
        return {
            "earlier_repairs": [(packer.repairs(repairs) or (0,))[0] for repairs in table.values("earlier_repairs")]
        }

    def _of_injury(self, table: Joined) -> _Packed:
        tables = self.plan.tables
        packed = {
            fact: [does[value] for value in table.values(fact)]
            for fact, does in tables.items()
            if fact.startswith("injury.") and fact not in _ELSEWHERE
        }
        if (reach := tables.get("injury.reach")) is not None:
            zones = table.values("injury.zone")
            known = packed.get("injury.zone", [0] * len(zones))
            reaches = [reach[None if zone is None else ABSENT] for zone in zones]
            packed["injury.zone"] = [one | other for one, other in zip(known, reaches, strict=True)]
        return packed

    def _as_repair(self, table: Joined) -> _Packed:
        packed = {
            fact: [self.plan.tables[becomes][value] for value in table.values(fact)]
            for fact, becomes in _BECOMES.items()
            if becomes in self.plan.tables
        }
        return {**packed, "what an injury never says": [packer_of(self.plan).unsaid]}

    # --- the answers

    def decide(self, rows: Rows) -> Any:
        """Return for every row the place of its answer, or -1."""
        tire = self._known(rows, "tire", self._of_tire)
        repair = self._known(rows, "repair", self._of_repair) if self.plan.each_repair else ()
        common = self._subject(rows, tire, repair, "")
        return self._repairing(rows, tire, repair, common) if self.plan.repairing else self._using(rows, common)

    def _using(self, rows: Rows, common: _Judged) -> Any:
        # Of an injury, and where none was looked for, more rules have a say, and nothing can pass.
        left = rows.table.unlooked.take(rows.where)
        for guards in self.plan.tread_guards.values():
            located, unclear = _located(np.uint64(guards & self._low), common)
            common.open = common.open | ~located
            left |= unclear
        common.open = common.open | self._unjudged(rows, common.relevant) | self.plan.unreviewed
        none = np.full(len(left), -1, np.int8)
        return self._answered(common.outcome(), none, common.failing, common.sure, left, common.asking)

    def _repairing(self, rows: Rows, tire: _Words, repair: _Words, common: _Judged) -> Any:
        own = _both(tire, self._known(rows, "injury", self._of_injury))
        mended = _both(tire, self._known(rows, "mended", self._as_repair)) if self.plan.repaired else None
        injury = self._subject(rows, own, repair, "injury")
        common.join(injury)
        everything, asking = common.relevant, common.asking
        left = rows.table.across.take(rows.where) if self.plan.paired else np.zeros(len(rows.where), bool)
        methods = []
        for method in REPAIR_METHODS:
            by, unclear = self._method(rows, own, repair, mended, injury, method)
            everything, asking, left = everything | by.relevant, asking | by.asking, left | unclear
            methods.append(by)
        common.open = common.open | self._unjudged(rows, everything)
        both = common.outcome()
        best, leading = np.minimum(both, methods[0].outcome()), np.zeros(len(both), np.int8)
        failing, sure = methods[0].failing, methods[0].sure
        for number, by in enumerate(methods[1:], start=1):
            together = np.minimum(both, by.outcome())
            better = together > best
            if better.any():
                best, leading = np.where(better, together, best), np.where(better, np.int8(number), leading)
                failing, sure = np.where(better, by.failing, failing), np.where(better, by.sure, sure)
        failing = np.where(common.failing != 0, common.failing, failing)
        return self._answered(best, leading, failing, common.sure | sure, left, asking)

    def _subject(self, rows: Rows, words: _Words, repair: _Words, *groups: str) -> _Judged:
        count = len(rows.where)
        judged = _Judged(words, self._mask(*groups), count)
        each_repair = self._mask(*groups, each_repair=True)
        if each_repair:
            some = rows.table.repaired.take(rows.where)
            judged.join(_Judged(_both(words, repair), np.where(some, each_repair, np.uint64(0)), count))
        return judged

    def _method(
        self, rows: Rows, own: _Words, repair: _Words, mended: _Words | None, injury: _Judged, method: str
    ) -> tuple[_Judged, Any]:
        """Return what the rules say of the injury as repaired by one method, and the rows on which that is unclear."""
        words = _both(own, self._one(self.plan.word("method", method)))
        judged = self._subject(rows, words, repair, "injury+method", "method")
        if mended is not None:
            as_repair = _both(mended, self._one(self.plan.word("repair.method", method)))
            judged.join(_Judged(as_repair, np.uint64(self.plan.repaired & self._low), len(rows.where)))
        located, unclear = _located(np.uint64(self.plan.size_guards & self._low), injury, judged)
        judged.open = judged.open | ~located
        return judged, unclear

    def _unjudged(self, rows: Rows, everything: Any) -> Any:
        """Return the rows with a finding that no rule judges which may apply."""
        unjudged = np.zeros(len(rows.where), bool)
        recorded = np.flatnonzero(rows.table.recorded.take(rows.where))
        if not len(recorded):
            return unjudged
        values, codes = rows.table.values("findings"), rows.table.column("findings").take(rows.where[recorded])
        cured = CURED_BY_REPAIR if self.plan.repairing else frozenset()
        for code in np.flatnonzero(np.bincount(codes)):
            here = recorded[codes == code]
            for word in values[code] - cured:
                judging = np.uint64(self.plan.judging.get(word, 0) & self._low)
                unjudged[here] |= everything[here] & judging == 0
        return unjudged

    def _answered(self, verdict: Any, leading: Any, failing: Any, sure: Any, left: Any, asking: Any) -> Any:
        """Return the places of the answers; none for rows that are left, and for open ones that must be asked about."""
        first = np.where(verdict == WITHIN, np.uint64(0), failing & (~failing + np.uint64(1)))
        limited = sure & np.uint64(self._limited)
        kind = verdict.astype(np.uint64) << _BYTE | leading.view(np.uint8)
        key = first * _SPREAD[0] ^ limited * _SPREAD[1] ^ kind * _SPREAD[2]
        codes = pa.array(key).dictionary_encode().indices.to_numpy()
        example = np.empty(int(codes.max()) + 1, np.int64)
        example[codes] = np.arange(len(codes))
        parts = [each[example] for each in (first, limited, kind)]
        # INVARIANT: rows with one key are alike in all three parts; if ever they are not, they are left.
        unlike = (first != parts[0][codes]) | (limited != parts[1][codes]) | (kind != parts[2][codes])
        shown = zip(*(each.tolist() for each in (verdict[example], leading[example], *parts[:2])), strict=True)
        places = np.array([self._place(*each) for each in shown], np.int64)
        return np.where(left | unlike | (asking & (verdict == UNDETERMINED)), -1, places[codes])

    def _place(self, verdict: int, leading: int, first: int, limited: int) -> int:
        key = (verdict, leading, first, limited)
        if key not in self._places:
            method = None if leading < 0 else REPAIR_METHODS[leading]
            self._places[key] = self._told.place(answer_by(self.plan, self._rules, verdict, method, first, limited))
        return self._places[key]


def _both(words: _Words, more: _Words) -> _Words:
    """Return what is known by two accounts of the same rows."""
    return tuple(one | other for one, other in zip(words, more, strict=True))


def _located(guards: Any, *judged: _Judged) -> tuple[Any, Any]:
    """Return the rows on which a limit surely applies, and those on which only the reference can tell whether one does.

    Of limits that may apply, one may apply whatever the unknown words turn out to be.
    """
    located = reduce(or_, (each.sure for each in judged)) & guards != 0
    return located, ~located & (reduce(or_, (each.relevant for each in judged)) & guards != 0)
