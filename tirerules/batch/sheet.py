"""The rows of one program by what they do to its rule instances: equal rows are found and judged once.

Every code of a column falls into a *class* of those that do the same to the program. For each joint column there is a
*lookup table* from the classes of its facts together to words of the four planes:

    joint code -> joint class (a digit for each fact that the program reads) -> words of the four planes

A row's key is the number of its joint classes; rows with equal keys are known alike.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from functools import cached_property
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
        #: What all rows share: that of facts whose values all do the same.
        self.constant, self.size = 0, 1
        joint = np.zeros(1, np.int64)
        for fact, values in zip(column.facts, column.values, strict=True):
            classes, found = _classes(masks(fact, values), len(values))
            if len(found) == 1:
                self.constant |= found[0]
                joint = np.repeat(joint, len(values))
                continue
            joint = (joint[:, None] * len(found) + classes[None, :]).ravel()
            self.by_class.append(found)
            self.size *= len(found)
        self._joint = joint.astype(np.int32)

    @cached_property
    def classes(self) -> Any:
        """The joint class of every row."""
        return self._joint.take(self.column.codes)

    @cached_property
    def table(self) -> Any:
        """The lookup table: an array of the shape (planes, words, joint classes)."""
        first, *others = map(self._words.planes, self.by_class)
        for each in others:
            first = (first[..., :, None] | each[..., None, :]).reshape(*first.shape[:2], -1)
        return first


def _classes(found: tuple[Sequence[int], Sequence[Hashable]] | None, count: int) -> tuple[Any, list[int]]:
    """Return the class of each code, and the mask of each class."""
    if found is None:
        return np.zeros(count, np.int64), [0]
    known: dict[Hashable, int] = {}
    classes = [known.setdefault(key, len(known)) for key in zip(*found, strict=True)]
    return np.array(classes, np.int64), [key[0] for key in known]  # type: ignore[index]  # a pair, of which a mask is first


class Part:
    """What is known of one subject (the tire, an injury, an earlier repair, a pair) on the rows of a sheet.

    `constant` is the mask of what all rows share.
    """

    def __init__(
        self,
        words: Words,
        columns: Sequence[JointColumn],
        masks: Masks,
        known: Callable[[str, Any], Any],
        constant: int,
    ) -> None:
        """Find what columns do. `known` gives what is known of a fact where a column states a value."""
        self._words, self._known = words, known
        looks = [_Look(words, column, masks) for column in columns]
        self.constant = constant
        for look in looks:
            self.constant |= look.constant
        self._looks = [look for look in looks if look.size > 1]
        self._where = {fact: (column, at) for column in columns for at, fact in enumerate(column.facts)}

    def keys(self) -> Iterator[tuple[Any, int]]:
        """Yield the joint classes of every row, and how many there may be, for one joint column after another."""
        return ((look.classes, look.size) for look in self._looks)

    def planes(self, rows: Any) -> Any:
        """Return what is known on some rows, of the shape (planes, words, rows)."""
        planes = np.repeat(self._words.planes([self.constant]), len(rows), axis=2)
        for look in self._looks:
            planes |= look.table.take(look.classes.take(rows), axis=2)
        return planes

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
        self.rows, self.groups = joint_groups([nothing, *(each for part in parts for each in part.keys())])
