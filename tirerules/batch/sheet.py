"""The rows of one program by what they do to its rule instances: equal rows are found and judged once.

Every value of a column falls into a *class* of those that do the same to the program. Columns of few classes are joined
into *lookup tables* of the classes of all of them together, so that a row costs few gathers:

    column -> class of each row  \\
    column -> class of each row   > lookup table: joint class -> words of the four planes
    column -> class of each row  /

A row's key is the number of its joint classes; rows with equal keys are known alike.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property, reduce
from operator import or_
from typing import Any, Final

import numpy as np

from tirerules.batch.encoding import EncodedColumn
from tirerules.batch.grouping import dense, joint_groups
from tirerules.batch.words import PLANES, Words
from tirerules.engine.tables import Table

__all__ = ["ClassedColumn", "Part", "Sheet"]

#: Lookup tables have at most so many entries.
_MOST_ENTRIES: Final = 1024


class ClassedColumn:
    """A column for one program: the class of each row (int array), and by class a mask and an example of its values."""

    __slots__ = ("classes", "fact", "masks", "values")

    def __init__(
        self, column: EncodedColumn, table: Table | None, alike_by: Callable[[Any], Hashable] | None, count: int
    ) -> None:
        """Find the classes of a column of `count` rows that `table` reads, or nothing.

        A column without codes has its one value on every row.

        Values of one class have the same mask, are both known or both unknown, and are the same to `alike_by`.
        """
        self.fact = column.fact
        if column.codes is None:
            self.values, self.masks = [column.values[0]], [0 if table is None else table[column.values[0]]]
            self.classes = np.broadcast_to(np.int32(0), count)
            return
        occur, places = dense(column.codes, len(column.values))
        found: dict[Hashable, int] = {}
        classes, self.masks, self.values = [], list[int](), list[Any]()
        for code in occur.tolist():
            value = column.values[code]
            mask = 0 if table is None else table[value]
            key = (mask, value is None, None if alike_by is None else alike_by(value))
            number = found.setdefault(key, len(found))
            if number == len(self.masks):
                self.masks.append(mask)
                self.values.append(value)
            classes.append(number)
        self.classes = np.array(classes, np.int32).take(places) if len(found) > 1 else np.zeros(len(places), np.int32)


class Part:
    """What is known of one subject (the tire, an injury, an earlier repair, a pair) by class.

    `constant` is the mask of what all rows share.
    """

    def __init__(self, words: Words, columns: Iterable[ClassedColumn], constant: int) -> None:
        self.words = words
        self.columns = {column.fact: column for column in columns}
        self.constant = reduce(or_, (each.masks[0] for each in self.columns.values() if len(each.masks) == 1), constant)
        self._tables: list[list[ClassedColumn]] = []
        sizes: list[int] = []
        for each in sorted(self.columns.values(), key=lambda column: -len(column.masks)):
            if len(each.masks) == 1:
                continue
            for at, size in enumerate(sizes):
                if size * len(each.masks) <= _MOST_ENTRIES:
                    self._tables[at].append(each)
                    sizes[at] *= len(each.masks)
                    break
            else:
                self._tables.append([each])
                sizes.append(len(each.masks))
        self._joint = [(_joint(columns), size) for columns, size in zip(self._tables, sizes, strict=True)]

    def keys(self) -> Iterator[tuple[Any, int]]:
        """Yield the joint classes of every row, and how many there may be, for one lookup table after another."""
        yield from self._joint

    @cached_property
    def _words(self) -> list[Any]:
        """The lookup tables: arrays of the shape (planes, words, joint classes)."""
        found = []
        for columns in self._tables:
            table = self.words.planes(columns[0].masks)
            for each in columns[1:]:
                table = table[..., :, None] | self.words.planes(each.masks)[..., None, :]
                table = table.reshape(*table.shape[:2], -1)
            found.append(table)
        return found

    def planes(self, rows: Any) -> Any:
        """Return what is known on some rows, of the shape (planes, words, rows)."""
        planes = np.repeat(self.words.planes([self.constant]), len(rows), axis=2)
        for (joint, _), table in zip(self._joint, self._words, strict=True):
            planes |= table.take(joint.take(rows), axis=2)
        return planes

    def value(self, fact: str, row: int) -> Any:
        """Return an example of what is known of a fact on rows like one."""
        column = self.columns.get(fact)
        return None if column is None else column.values[column.classes[row]]


def _joint(columns: Sequence[ClassedColumn]) -> Any:
    joint = columns[0].classes.copy()
    for each in columns[1:]:
        joint *= np.int32(len(each.masks))
        joint += each.classes
    return joint


class Sheet:
    """The parts of rows that are judged by one program, in one way: as many injuries, earlier repairs and pairs.

    The last of `pairs` is what the case itself states of all of them. `stated` gives, for some rows, the instances (words)
    to which the case states all that they ask of pairs; None where no two repairs are listed. `rows` are the first of
    each key (int64 array); `groups` says for every row which of them it is like.
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
        self.rows, self.groups = joint_groups([(np.zeros(count, np.int32), 1), *(each for part in parts for each in part.keys())])
