"""The rows of one program by what they do to its rule instances: equal rows are found and judged once.

Every code of a column falls into a *class* of those that do the same to the program. For each joint column there is a
*lookup table* from the classes of its facts together to words of the four planes:

    joint code -> joint class (a digit for each fact that the program reads) -> words of the four planes

A row's key is the number of its joint classes; rows with equal keys are known alike.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from functools import cached_property, reduce
from operator import or_
from typing import Any

import numpy as np

from tirerules.batch.grouping import joint_groups
from tirerules.batch.joint import JointColumn
from tirerules.batch.words import Words

__all__ = ["Masks", "Part", "Sheet"]

#: Of a fact, its values by code -> the mask of each, and what else tells them apart.
Masks = Callable[[str, Sequence[Any]], tuple[Sequence[int], Sequence[Hashable]] | None]


class _Look:
    """One joint column as a program reads it."""

    def __init__(self, words: Words, column: JointColumn, masks: Masks) -> None:
        self._words, self.column = words, column
        self.by_class: list[list[int]] = []
        self.facts: list[str] = []
        #: What all rows share, by fact: the mask of facts whose values all do the same.
        self.constants: dict[str, int] = {}
        self.size = 1
        joint = np.zeros(1, np.int64)
        for fact, values in zip(column.facts, column.values, strict=True):
            classes, found = _classes(masks(fact, values), len(values))
            if len(found) == 1:
                self.constants[fact] = found[0]
                joint = np.repeat(joint, len(values))
                continue
            joint = (joint[:, None] * len(found) + classes[None, :]).ravel()
            self.by_class.append(found)
            self.facts.append(fact)
            self.size *= len(found)
        self._joint = joint.astype(np.int32)

    @cached_property
    def classes(self) -> Any:
        """The joint class of every row."""
        return self._joint.take(self.column.codes)

    @cached_property
    def table(self) -> Any:
        """The lookup table: an array of the shape (planes, words, joint classes)."""
        return _multiplied([self._words.planes(masks) for masks in self.by_class])

    @cached_property
    def waiting(self) -> Any:
        """The same for what conditions wait for, by their places in rules: (places, words, joint classes)."""
        return _multiplied([self._words.waiting(*each) for each in zip(self.facts, self.by_class, strict=True)])


def _multiplied(tables: Sequence[Any]) -> Any:
    """Return lookup tables of several facts as one of all their classes together; the last counts fastest."""
    first, *others = tables
    for each in others:
        first = (first[..., :, None] | each[..., None, :]).reshape(*first.shape[:2], first.shape[-1] * each.shape[-1])
    return first


def _classes(found: tuple[Sequence[int], Sequence[Hashable]] | None, count: int) -> tuple[Any, list[int]]:
    """Return the class of each code, and the mask of each class."""
    if found is None:
        return np.zeros(count, np.int64), [0]
    known: dict[Hashable, int] = {}
    classes = [known.setdefault(key, len(known)) for key in zip(*found, strict=True)]
    return np.array(classes, np.int64), [key[0] for key in known]  # type: ignore[index]  # a pair, of which a mask is first


class Part:
    """What is known of one subject (the tire, an injury, an earlier repair, a pair) on the rows of a sheet."""

    def __init__(
        self,
        words: Words,
        columns: Sequence[JointColumn],
        masks: Masks,
        known: Callable[[str, Any], Any],
        constants: Mapping[str, int],
    ) -> None:
        """Find what columns do.

        `constants` has the masks of facts without columns; `known` gives what is known of a fact where a column states
        a value.
        """
        self._words, self._known = words, known
        looks = [_Look(words, column, masks) for column in columns]
        self._constants = [*constants.items(), *(each for look in looks for each in look.constants.items())]
        self._looks = [look for look in looks if look.size > 1]
        self._where = {fact: (column, at) for column in columns for at, fact in enumerate(column.facts)}

    def joint_classes(self) -> Iterator[tuple[Any, int]]:
        """Yield the joint classes of every row, and how many there may be, for one joint column after another."""
        return ((look.classes, look.size) for look in self._looks)

    def planes(self, rows: Any) -> Any:
        """Return what is known on some rows, of the shape (planes, words, rows)."""
        constant = reduce(or_, (mask for _, mask in self._constants), 0)
        planes = np.repeat(self._words.planes([constant]), len(rows), axis=2)
        for look in self._looks:
            planes |= look.table.take(look.classes.take(rows), axis=2)
        return planes

    def waiting(self, rows: Any) -> Any:
        """Return what conditions wait for on some rows, by their places in rules: (places, words, rows)."""
        constant = self._words.waiting("", [0])
        for fact, mask in self._constants:
            if mask:
                constant = constant | self._words.waiting(fact, [mask])
        waiting = np.repeat(constant, len(rows), axis=2)
        for look in self._looks:
            waiting |= look.waiting.take(look.classes.take(rows), axis=2)
        return waiting

    def codes(self, fact: str, rows: Any) -> tuple[Any, Sequence[Any]]:
        """Return the code of what is known of a fact on some rows, and the value of each code."""
        if fact not in self._where:
            return np.zeros(len(rows), np.int64), [self._known(fact, None)]
        column, at = self._where[fact]
        behind = 1
        for values in column.values[at + 1 :]:
            behind *= len(values)
        codes = column.codes.take(rows).astype(np.int64) // behind % len(column.values[at])
        return codes, [self._known(fact, value) for value in column.values[at]]


class Sheet:
    """The parts of rows that are judged by one program, in one way: as many injuries, earlier repairs and pairs.

    The last of `pairs` is what the case itself states of all of them. `stated` gives, for some rows, the instances
    (words) to which the case states all that they ask of pairs; None where no two repairs are listed. `rows` are the
    first of each key (int64 array); `groups` says for every row which of them it is like.
    """

    def __init__(
        self,
        tire: Part,
        injuries: Sequence[Part],
        repairs: Sequence[Part],
        pairs: Sequence[Part],
        stated: Callable[[Any], Any] | None,
        count: int,
    ) -> None:
        self.tire, self.injuries, self.repairs, self.pairs, self.stated = tire, injuries, repairs, pairs, stated
        parts = (tire, *injuries, *repairs, *pairs)
        nothing = (np.zeros(count, np.int32), 1)
        self.rows, self.groups = joint_groups([nothing, *(each for part in parts for each in part.joint_classes())])
