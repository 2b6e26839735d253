"""The masks of a program as words of 64 bits: what `tirerules.engine.tables` gives as numbers, for arrays.

Instances that only require something, and judge no finding, are left out. The others stand in an order of their own,
those that limit the size of an injury or tread depth first, so that what limits them is told by a few low bits:

    word 0, bit 0 ...                                                        ... last word
    | limits on size and tread | every other instance that limits something or judges |

An array of masks has the shape (words, masks); one with planes (planes, words, masks).
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from functools import partial, reduce
from operator import or_
from typing import Any, Final

import numpy as np

from tirerules.engine.kernel import Lanes, bits_of
from tirerules.engine.program import Instance, Program

__all__ = ["ARRAYS", "LIMITED", "PLANES", "REACH_OF", "Words", "any_bit", "facts_of"]

#: The facts whose strictest limits are told.
LIMITED: Final = ("injury.diameter", "tire.tread_depth")
PLANES: Final = 4
_WORD: Final = 64
#: Above the number of any rule.
_NO_RULE: Final = 1 << 40


def any_bit(masks: Any) -> Any:
    """Return for each mask whether it has a bit."""
    return reduce(or_, masks) != 0


#: What the kernel asks of arrays: of masks, and of verdicts (int8).
ARRAYS: Final = Lanes(any_bit, np.where, np.minimum, np.maximum)


#: Zone -> the reach that follows from it where nothing was measured.
REACH_OF: Final[Mapping[str, str]] = {"injury.zone": "injury.reach", "repair.zone": "repair.reach"}


def _limiting(program: Program, fact: str) -> int:
    return program.where(lambda each: each.rule.body.fact == fact)


def facts_of(instance: Instance) -> tuple[str, ...]:
    """Return the facts that the conditions of an instance read, each once."""
    return tuple(dict.fromkeys(fact for fact, _ in instance.tests))


class Words:
    """The layout of a program's masks in words. At most `BOUND` masks are kept, then all are split anew."""

    BOUND: Final = 20_000

    def __init__(self, program: Program) -> None:
        """Lay out the masks of a program."""
        kept = program.limiting | reduce(or_, program.judging.values(), 0)
        #: The limits on size, and those on tread depth, as masks of the program.
        self.on_size, self.on_tread = map(partial(_limiting, program), LIMITED)
        limited = self.on_size | self.on_tread
        self.order = [*bits_of(limited & kept), *bits_of(kept & ~limited)]
        #: How many instances limit size or tread; they have the lowest bits.
        self.limited = len(bits_of(limited & kept))
        self.count = max(1, -(-len(self.order) // _WORD))
        #: How many bits all words have.
        self.bits = self.count * _WORD
        self._width = program.width
        self._order = np.array(self.order, np.int64)
        #: Masks that were split, by their places in `_held`: functions of the rules, as the tables' own.
        self._places: dict[int, int] = {}
        self._held = np.zeros((PLANES, self.count, 0), np.uint64)
        self._rules: dict[int, Any] = {}
        self._instances = program.instances
        #: How many facts the conditions of an instance read at most, at least one.
        self.places = max((1, *(len(facts_of(each)) for each in self._instances)))
        self._tested: dict[str, Any] = {}
        self._waiting: dict[tuple[str, int], Any] = {}
        #: What `own_rules.covered` says of limits, by what it depends on.
        self.covered: dict[Hashable, bool] = {}
        #: The number of each instance's rule, by bit; rules are numbered by their names.
        places = {rule.name: place for place, rule in enumerate(program.rules)}
        self.rules = np.array([places[program.instances[place].rule.name] for place in self.order] or [0], np.int64)

    def planes(self, masks: Sequence[int]) -> Any:
        """Return masks of four planes as an array of the shape (planes, words, masks)."""
        new = [mask for mask in dict.fromkeys(masks) if mask not in self._places]
        if new:
            if len(self._places) > self.BOUND:
                self._places, self._held, new = {}, self._held[:, :, :0], list(dict.fromkeys(masks))
                self._waiting.clear()
            self._held = np.concatenate([self._held, self._split(new, PLANES)], axis=2)
            self._places.update(zip(new, range(len(self._places), len(self._places) + len(new)), strict=True))
        return self._held.take([self._places[mask] for mask in masks], axis=2)

    def _split(self, masks: Sequence[int], planes: int) -> Any:
        size = -(-planes * self._width // 8)
        whole = (1 << 8 * size) - 1
        held = np.frombuffer(b"".join([(mask & whole).to_bytes(size, "little") for mask in masks]), np.uint8)
        bits = np.unpackbits(held.reshape(len(masks), size), axis=1, bitorder="little", count=planes * self._width)
        ordered = np.zeros((len(masks), planes, self.count * _WORD), np.uint8)
        ordered[:, :, : len(self.order)] = bits.reshape(len(masks), planes, self._width)[:, :, self._order]
        words = np.packbits(ordered, axis=2, bitorder="little").view(np.uint64)
        return np.ascontiguousarray(words.transpose(1, 2, 0))

    def masks(self, rules: Sequence[int]) -> Any:
        """Return masks of a program's instances as an array of the shape (words, masks)."""
        return self._split(rules, 1)[0]

    def mask(self, rules: int) -> Any:
        """Return one mask of a program's instances as a column of words, of the shape (words, 1)."""
        found = self._rules.get(rules)
        if found is None:
            found = self._rules[rules] = self.masks([rules])
        return found

    def waiting(self, fact: str, masks: Sequence[int]) -> Any:
        """Return which conditions on a fact wait for it under some masks, of the shape (places, words, masks).

        In place n stand the instances whose n-th fact of a condition it is; a zone speaks for the reach as well, since
        both are unknown together.
        """
        if len(masks) > 1:
            return self.planes(masks)[1] & self._selected(fact)
        key = fact, masks[0]
        if key not in self._waiting:
            self._waiting[key] = self.planes(masks)[1] & self._selected(fact)
        return self._waiting[key]

    def _selected(self, fact: str) -> Any:
        """Return the instances that read a fact by the place at which they do, of the shape (places, words, 1)."""
        if fact not in self._tested:
            facts = {fact, REACH_OF.get(fact, fact)}
            rules = [
                sum(each.bit for each in self._instances if facts.intersection(facts_of(each)[place : place + 1]))
                for place in range(self.places)
            ]
            self._tested[fact] = np.ascontiguousarray(self.masks(rules).T)[:, :, None]
        return self._tested[fact]

    def number(self, words: Iterable[int]) -> int:
        """Return a mask of words as a program has it."""
        mask = sum(word << _WORD * at for at, word in enumerate(words))
        return sum(1 << self.order[place] for place in bits_of(mask))

    def first_rule(self, masks: Any) -> Any:
        """Return for each mask the least number of a rule of its bits, -1 where it has none (int64 array)."""
        found = np.full(masks.shape[1], _NO_RULE, np.int64)
        for at, words in enumerate(masks):
            rows = np.flatnonzero(words)
            left = words[rows]
            while len(rows):
                low = left & (~left + np.uint64(1))
                bit = np.frexp(low.astype(np.float64))[1] - 1 + _WORD * at  # of a power of two, which is exact
                found[rows] = np.minimum(found[rows], self.rules.take(bit))
                left ^= low
                rows, left = rows[left != 0], left[left != 0]
        return np.where(found == _NO_RULE, -1, found)
