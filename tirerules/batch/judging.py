"""What the rules say of many rows at once.

Mirrors `tirerules.index.evaluate`, with arrays in the place of numbers: each row has the rules of its own plan.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from tirerules.batch.asking import covered_rows, matters, open_rows
from tirerules.batch.effects import NO_WORD, Known, Words
from tirerules.batch.planned import FAILS, INJURED, REPAIRED, UNINSPECTED, UNLISTED, Role
from tirerules.index.evaluate import OUTSIDE, UNDETERMINED, WITHIN

__all__ = ["Verdicts", "repairing", "using"]


@dataclass(frozen=True, slots=True)
class Verdicts:
    """What is found of rows: arrays with an entry for each."""

    verdict: Any
    method: Any  #: the number of the method that does it best, -1 where nothing is repaired
    failing: Any  #: the first rule that fails, as its bit
    limited: Any  #: the limits on size and tread that surely apply
    asked: Any  #: whether some fact could settle the open answers
    matters: Any  #: for each row that is asked about all that its questions depend on, a row of words

    @classmethod
    def of(cls, parts: Sequence[Verdicts]) -> Verdicts:
        """Return the verdicts of several blocks of rows as those of one."""
        return cls(*(np.concatenate([getattr(part, field.name) for part in parts]) for field in fields(cls)))


class _Judged:
    """What some rules say of every row: arrays with a bit for each rule; `open` are rows that cannot pass yet."""

    __slots__ = ("doubtful", "failing", "open", "relevant", "sure", "unsure")

    def __init__(self, words: Words, rules: Any) -> None:
        absent, unknown, missed, doubtful = words
        self.relevant = ~absent & rules
        self.sure = self.relevant & ~unknown
        missed = self.relevant & missed
        self.unsure = missed & (unknown | doubtful)
        self.failing = missed ^ self.unsure
        self.doubtful = self.unsure & doubtful
        self.open = self.unsure != 0

    def join(self, other: _Judged) -> None:
        """Add what other rules say."""
        for name in self.__slots__:
            setattr(self, name, getattr(self, name) | getattr(other, name))

    def outcome(self) -> Any:
        """Return the verdict of these rules alone, for every row."""
        # Three verdicts in order: what fails is outside, what is open cannot be told.
        return np.where(self.failing != 0, np.int8(OUTSIDE), np.int8(WITHIN) - self.open.view(np.int8))


def using(known: Known) -> Verdicts:
    """Judge rows on which nothing is repaired."""
    masks, flags = known.effects.masks, known.flags()
    repaired = flags & REPAIRED != 0
    words = _both(known.words(Role.OWN), known.words(Role.EARLIER))
    whole = _Judged(words, _rules(known, masks.tire, repaired))
    gaps = []
    for guards in masks.tread_guards:
        gap, waiting = _unlimited(known, known.mask(guards), whole.sure, whole.relevant)
        whole.open |= gap
        gaps.append(waiting)
    gap, waiting = _unlimited_repairs(known, whole, flags)
    whole.open |= gap
    gaps.append(waiting)
    # Of an injury, and where none was looked for, more rules have a say, and nothing can pass.
    unlooked = flags & (INJURED | UNINSPECTED) != 0
    if unlooked.any():
        whole.join(_Judged(words, np.where(unlooked, _rules(known, masks.injury, repaired), NO_WORD)))
        whole.open |= unlooked
    whole.open |= known.mask(masks.unreviewed) | _unjudged(known, whole.relevant)
    verdict = whole.outcome()
    open_ = [whole.unsure, whole.doubtful, *gaps]
    # Where nobody looked for an injury, that can be asked.
    unasked = (verdict == UNDETERMINED) & (flags & (INJURED | UNINSPECTED) == UNINSPECTED)
    asked = open_rows(verdict, open_) | unasked
    return Verdicts(
        verdict=verdict,
        method=np.full(len(known), -1, np.int8),
        failing=_first(whole.failing, verdict),
        limited=whole.sure & known.mask(masks.limited),
        asked=asked,
        matters=matters(known, np.flatnonzero(asked), flags, open_),
    )


def repairing(known: Known) -> Verdicts:
    """Judge rows on which an injury is repaired, by each method."""
    masks, flags = known.effects.masks, known.flags()
    repaired = flags & REPAIRED != 0
    own = known.words(Role.OWN)
    words = _both(own, known.words(Role.EARLIER))
    common = _Judged(words, _rules(known, masks.tire, repaired) | _rules(known, masks.injury, repaired))
    guards, by_method = known.mask(masks.size_guards), _rules(known, masks.method, repaired)
    after = known.mask(masks.repaired)
    mended = _both(own, known.words(Role.MENDED)) if after.any() else None
    gap, waiting = _unlimited_repairs(known, common, flags)
    common.open |= gap
    everything, methods, open_ = common.relevant, [], [common.unsure, common.doubtful, waiting]
    for number, (method, as_repair) in enumerate(zip(masks.by_method, masks.as_repair, strict=True)):
        by = _Judged(_both(words, map(known.mask, method)), by_method)
        if mended is not None:
            by.join(_Judged(_both(mended, map(known.mask, as_repair)), after))
        gap, waiting = _unlimited(known, guards, common.sure | by.sure, common.relevant | by.relevant)
        by.open |= gap
        everything = everything | by.relevant
        # Nothing is asked about a method that fails.
        fails = by.failing != 0
        flags |= np.where(fails, np.uint64(FAILS << number), NO_WORD)
        open_ += [np.where(fails, NO_WORD, each) for each in (by.unsure, by.doubtful, waiting)]
        methods.append(by)
    common.open |= _unjudged(known, everything)
    both = common.outcome()
    best, leading = np.minimum(both, methods[0].outcome()), np.zeros(len(known), np.int8)
    failing, sure = methods[0].failing, methods[0].sure
    for number, by in enumerate(methods[1:], start=1):
        together = np.minimum(both, by.outcome())
        better = together > best
        if better.any():
            best, leading = np.where(better, together, best), np.where(better, np.int8(number), leading)
            failing, sure = np.where(better, by.failing, failing), np.where(better, by.sure, sure)
    failing = np.where(common.failing != 0, common.failing, failing)
    asked = open_rows(best, open_)
    return Verdicts(
        verdict=best,
        method=leading,
        failing=_first(failing, best),
        limited=(common.sure | sure) & known.mask(masks.limited),
        asked=asked,
        matters=matters(known, np.flatnonzero(asked), flags, open_),
    )


def _first(failing: Any, verdict: Any) -> Any:
    """Return the first rule that fails, as its bit; none of a row within the limits."""
    return np.where(verdict == WITHIN, NO_WORD, failing & (~failing + np.uint64(1)))


def _rules(known: Known, masks: tuple[Any, Any], repaired: Any) -> Any:
    """Return the rules that are judged once, and where a tire is repaired those that are judged for each repair."""
    once, each_repair = masks
    return known.mask(once) | np.where(repaired, known.mask(each_repair), NO_WORD)


def _both(words: Words, more: Iterable[Any]) -> Words:
    """Return what is known by two accounts of the same rows."""
    return tuple(one | other for one, other in zip(words, more, strict=True))


def _unlimited_repairs(known: Known, judged: _Judged, flags: Any) -> tuple[Any, Any]:
    """Return, as `_unlimited`, the rows on whose earlier repair no limit on size surely applies."""
    masks = known.effects.masks
    listed = (flags & (REPAIRED | UNLISTED) == REPAIRED) & known.mask(masks.judges_repairs)
    guards = np.where(listed, known.mask(masks.repair_guards), NO_WORD)
    gap, waiting = _unlimited(known, guards, judged.sure, judged.relevant, (Role.OWN, Role.EARLIER))
    return gap & listed, waiting


def _unlimited(
    known: Known, guards: Any, sure: Any, relevant: Any, roles: Sequence[Role] = (Role.OWN,)
) -> tuple[Any, Any]:
    """Return the rows on which no limit surely applies, and of those the limits that may apply.

    Of limits that may apply, one may apply whatever the unknown words turn out to be; `roles` are those in which the
    limits read facts.
    """
    unlimited = sure & guards == 0
    waiting = np.where(unlimited, relevant & guards, NO_WORD)
    rows = np.flatnonzero(waiting)
    if len(rows):
        covered = rows[covered_rows(known, rows, waiting[rows], roles)]
        unlimited[covered], waiting[covered] = False, NO_WORD
    return unlimited, waiting


def _unjudged(known: Known, everything: Any) -> Any:
    """Return the rows with a finding that no rule judges which may apply."""
    unjudged = np.zeros(len(known), bool)
    for rows, judging in known.judging():
        unjudged[rows] |= everything[rows] & judging == 0
    return unjudged
