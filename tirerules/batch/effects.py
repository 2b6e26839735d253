"""What the values of a table do to the rules of all of its plans, as arrays: rows are looked up in them by the million.

A row's plan and the classes of its values make one number, its key; rows with one key are known alike.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Any, Final

import numpy as np

from tirerules.batch.blocks import blocks
from tirerules.batch.facets import Facet
from tirerules.batch.grouping import LARGEST_KEY, alike
from tirerules.batch.planned import FLAGS, JUDGING, RECORDED, SECTIONS, Does, Planned, Role, together, words_of
from tirerules.vocabulary import REPAIR_METHODS

__all__ = ["NO_WORD", "Effects", "Known", "Words"]

#: Facets are looked up together where no more combinations of their values come of it: memory stays small.
_MOST_VALUES: Final = 1024
NO_WORD: Final = np.uint64(0)
#: Absent, unknown, missed, doubtful: of each an array with a word for each row, or one word for all rows.
Words = tuple[Any, ...]
#: What values do, as arrays of words.
Bits = dict[tuple[int, int], Any]
_NOTHING: Final[Does] = MappingProxyType({})


def _array(words: Any) -> Any:
    return np.array(words, np.uint64)


class Masks:
    """Rules of every plan, as arrays of words by plan."""

    def __init__(self, plans: Sequence[Planned]) -> None:
        def by_plan(rules: Callable[[Planned], int]) -> Any:
            return _array([rules(each) & each.low for each in plans])

        def judged_for(*groups: str) -> tuple[Any, Any]:
            once, each_repair = ([each.mask(*groups, each_repair=some) for each in plans] for some in (False, True))
            return _array(once), _array(each_repair)

        self.repairing = np.array([each.plan.repairing for each in plans], bool)
        self.unreviewed = np.array([each.plan.unreviewed for each in plans], bool)
        self.limited = by_plan(lambda each: each.limited)
        #: The rules that are judged once, and those that are judged for each earlier repair.
        self.tire, self.injury = judged_for(""), judged_for("injury")
        self.method = judged_for("injury+method", "method")
        self.repaired = by_plan(lambda each: each.plan.repaired)
        self.size_guards = by_plan(lambda each: each.plan.size_guards)
        #: What limits the size of earlier repairs, and whether the act judges them.
        self.repair_guards = by_plan(lambda each: each.plan.repair_guards or 0)
        self.judges_repairs = np.array([each.plan.repair_guards is not None for each in plans], bool)
        #: What must be limited in the first place of each plan, in the second, and so on; the last one again where a
        #: plan has fewer.
        guards = [list(each.plan.tread_guards.values()) for each in plans]
        most = max(map(len, guards))
        self.tread_guards = [
            _array([each[min(at, len(each) - 1)] & plan.low for each, plan in zip(guards, plans, strict=True)])
            for at in range(most)
        ]
        #: What the method says, by method and section, and what it says as that of a repair.
        self.by_method, self.as_repair = (
            [
                _array([each.words(each.plan.word(fact, method))[:SECTIONS] for each in plans]).T.copy()
                for method in REPAIR_METHODS
            ]
            for fact in ("method", "repair.method")
        )


class _Effect:
    """What the values of one facet do, or of several together."""

    def __init__(self, facets: Mapping[int, int], size: int, classes: Any, bits: Bits) -> None:
        """Hold the places of the facets and how many values each has; what each of at most `size` classes does.

        `classes` has by plan and value the class of the value; `bits` by plan and class what it does.
        """
        self.facets, self.size, self.classes, self.bits = facets, size, classes, bits
        self.values = classes.shape[1]

    def of(self, plans: Any, facets: Sequence[Facet], rows: Any) -> Any:
        """Return the classes of some rows (a slice, or their places), of which `plans` are the plans."""
        (first, _), *others = self.facets.items()
        codes = facets[first].of(rows)
        for facet, values in others:
            codes = codes * np.int32(values)
            codes += facets[facet].of(rows)
        return self.classes.take(plans * self.values + codes)

    def joined(self, other: _Effect) -> _Effect:
        """Return what the values of both do together."""
        nothing = [np.zeros((len(each.classes), each.size), np.uint64) for each in (self, other)]
        bits = {
            key: _every(np.bitwise_or, self.bits.get(key, nothing[0]), other.bits.get(key, nothing[1]))
            for key in {**self.bits, **other.bits}
        }
        classes = _every(np.add, self.classes * other.size, other.classes)
        return _Effect({**self.facets, **other.facets}, self.size * other.size, classes, bits)


def _every(of_both: Callable[[Any, Any], Any], one: Any, other: Any) -> Any:
    """Return, for each plan, what comes of every entry of one array with every entry of another."""
    return of_both(one[:, :, None], other[:, None, :]).reshape(len(one), -1)


def _packed(effects: Sequence[_Effect]) -> list[_Effect]:
    """Return effects joined as far as the values of each combine to few enough."""
    packed: list[_Effect] = []
    for each in sorted(effects, key=lambda effect: -effect.values):
        for at, other in enumerate(packed):
            if other.values * each.values <= _MOST_VALUES:
                packed[at] = other.joined(each)
                break
        else:
            packed.append(each)
    return packed


class Effects:
    """What the values of some facets do to the rules of some plans."""

    def __init__(self, plans: Sequence[Planned], facets: Sequence[Facet]) -> None:
        """Work it out for each plan and each value."""
        self.plans, self.masks = plans, Masks(plans)
        #: The numbers by which the plans are remembered.
        self.numbers = _array([each.number for each in plans])
        #: How many words stand above the sections of a packed number at most, and which of their bits matter to open
        #: answers: by rule, word and plan.
        width = max(each.above for each in plans)
        self.above = len(words_of(0, width))
        self.mattering = [
            list(_array([words_of(bits, width) for bits in by_plan]).T)
            for by_plan in itertools.zip_longest(*(each.mattering for each in plans), fillvalue=0)
        ]
        held = {facet.name for facet in facets}
        # What all rows of a plan share: columns that the table lacks, and columns whose values all do the same.
        shared = [[each.always, *(each.does(name, None) for name in each.reads - held)] for each in plans]
        effects = []
        for at, facet in enumerate(facets):
            found = [each.classes(facet.name, facet.values) for each in plans]
            if all(len(does) == 1 for _, does in found):
                for own, (_, does) in zip(shared, found, strict=True):
                    own += does
            else:
                classes = np.array([numbers for numbers, _ in found], np.int64)
                bits = _bits([does for _, does in found])
                effects.append(_Effect({at: len(facet.values)}, int(classes.max()) + 1, classes, bits))
        self.varying = _packed(effects)
        self.shared = {key: words.ravel() for key, words in _bits([[together(own)] for own in shared]).items()}

    def keys(self, plans: Any, facets: Sequence[Facet]) -> Any:
        """Return the key of every row by its plan and its values (int64 array)."""
        keys = plans.astype(np.int64)
        for number, run in enumerate(self._runs(len(plans))):
            if number:
                keys = alike(keys)[1].astype(np.int64)
            for rows in blocks(len(plans)):
                some = plans[rows].astype(np.int64)
                for each in run:
                    keys[rows] *= each.size
                    keys[rows] += each.of(some, facets, rows)
        return keys

    def _runs(self, count: int) -> Iterator[list[_Effect]]:
        """Yield the effects in runs that fit one number: the first behind the plan, others behind so many keys."""
        run: list[_Effect] = []
        span = len(self.plans)
        for each in self.varying:
            if span * each.size >= LARGEST_KEY:
                yield run
                run, span = [], count
            run.append(each)
            span *= each.size
        yield run


def _bits(does: Sequence[Sequence[Does]]) -> Bits:
    """Return what the classes of each plan do, as arrays of words by plan and class."""
    most = max(map(len, does))
    whole = [[*own, *[_NOTHING] * (most - len(own))] for own in does]
    keys = dict.fromkeys(key for own in does for each in own for key in each)
    return {key: _array([[each.get(key, 0) for each in own] for own in whole]) for key in keys}


class Known:
    """What is known of some rows, one of each key: words looked up when they are asked for."""

    def __init__(self, effects: Effects, plans: Any, facets: Sequence[Facet], rows: Any) -> None:
        """Hold the plans of `rows` (int64 arrays), and the places of their classes in the arrays of each effect."""
        self.effects, self.plans = effects, plans
        self._at = [each.of(plans, facets, rows) + plans * each.size for each in effects.varying]

    def __len__(self) -> int:
        return len(self.plans)

    def mask(self, rules: Any) -> Any:
        """Return a mask of rules by row, given by plan."""
        return rules.take(self.plans)

    def words(self, role: Role) -> Words:
        """Return the four sections of what is known in a role."""
        return tuple(self._word(role, section) for section in range(SECTIONS))

    def above(self, role: Role, rows: Any) -> list[Any]:
        """Return, for some of the rows, the words that say which conditions are open and which facts are unknown."""
        return [self._word(role, SECTIONS + at, rows) for at in range(self.effects.above)]

    def flags(self) -> Any:
        """Return the flags of every row."""
        return self._word(FLAGS, 0) | np.zeros(len(self), np.uint64)

    def judging(self) -> Iterator[tuple[Any, Any]]:
        """Yield for one finding after another the rows on which it is recorded, and the rules that judge it there."""
        for at in itertools.count():
            recorded = self._word(RECORDED, at)
            rows = np.flatnonzero(recorded)
            if not len(rows):
                return
            judging = self._word(JUDGING, at, rows)
            yield rows, judging

    def _word(self, kind: int, at: int, rows: Any = None) -> Any:
        """Return a word of every row, or of some; one for all where it is nothing but zeros."""
        word: Any = NO_WORD
        shared = self.effects.shared.get((kind, at))
        if shared is not None:
            word = shared.take(self.plans if rows is None else self.plans.take(rows))
        for each, places in zip(self.effects.varying, self._at, strict=True):
            bits = each.bits.get((kind, at))
            if bits is not None:
                word = word | bits.take(places if rows is None else places.take(rows))
        return word
