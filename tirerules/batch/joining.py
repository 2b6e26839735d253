"""Columns joined: several of few values read as one of many, so that a row is looked up seldom.

A join has a value for every combination of its columns' values. Tables of the same shape (the same columns with the
same values in the same order) share what was worked out for one of them.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tirerules.batch.values import Column
from tirerules.stated import REPAIR

__all__ = ["LISTS", "Join", "Joined", "Shape", "Shapes"]

#: The name of a column made of others: (how many earlier repairs, or None; whether units overlap; whether injured).
LISTS: Final = "lists"
#: No join has more values: their words would no longer stay in the processor's nearest memory.
_MOST_VALUES: Final = 1024
#: What the injury says of itself and of the repair that it becomes is looked up for both.
_TOGETHER: Final = ("injury.diameter", "injury.zone")
#: Only there can two repairs lie across from each other.
_SIDEWALL: Final = (None, "sidewall")
_ZONE: Final = REPAIR["repair.zone"]
_OF_PLAN: Final = frozenset({"jurisdictions", "activity", "on", "reading", "repairs.overlap"})


@dataclass(frozen=True, slots=True)
class Join:
    """Some columns joined: their names and values; a row's code counts the last of them fastest."""

    names: tuple[str, ...]
    values: tuple[list[Any], ...]

    def codes(self, columns: Mapping[str, Column]) -> Any:
        """Return the codes of all rows (uint16 array)."""
        first, *others = self.names
        codes = columns[first].codes.copy() if others else columns[first].codes
        for name in others:
            codes *= len(columns[name].values)
            codes += columns[name].codes
        return codes


class Shape:
    """The columns of a table and their values; compared by identity."""

    __slots__ = ("held", "joins")

    def __init__(self, columns: Mapping[str, Column]) -> None:
        #: Kept, so that the identity of these lists is not given to others.
        self.held = [column.values for column in columns.values()]
        rest = [name for name in columns if name not in (*_OF_PLAN, *_TOGETHER)]
        groups = (
            [name for name in _TOGETHER if name in columns],
            [name for name in rest if name.startswith("injury.")],
            [name for name in rest if not name.startswith("injury.")],
        )
        self.joins = tuple(
            Join(names, tuple(columns[name].values for name in names))
            for group in groups
            for names in _packed({name: len(columns[name].values) for name in group})
        )


def _packed(sizes: Mapping[str, int]) -> list[tuple[str, ...]]:
    """Return the columns in groups, the values of each of which combine to few enough."""
    groups: list[tuple[int, list[str]]] = []
    for name, size in sorted(sizes.items(), key=lambda each: -each[1]):
        for at, (whole, names) in enumerate(groups):
            if whole * size <= _MOST_VALUES:
                groups[at] = (whole * size, [*names, name])
                break
        else:
            groups.append((size, [name]))
    return [tuple(names) for _, names in groups]


class Shapes:
    """Every shape that was seen."""

    def __init__(self) -> None:
        self._known: dict[tuple[tuple[str, int], ...], Shape] = {}
        self._lists: dict[tuple[int, int], list[Any]] = {}

    def joined(self, columns: Mapping[str, Column], count: int) -> Joined:
        """Return the columns of a table joined."""
        whole = {**columns, LISTS: self._column_of_lists(columns, count)}
        key = tuple((name, id(column.values)) for name, column in whole.items())
        if key not in self._known:
            self._known[key] = Shape(whole)
        return Joined(whole, self._known[key])

    def _column_of_lists(self, columns: Mapping[str, Column], count: int) -> Column:
        nothing = Column("", np.zeros(count, np.uint16), _NULL)
        earlier, overlap = (columns.get(name, nothing) for name in ("earlier_repairs", "repairs.overlap"))
        injured = np.zeros(count, bool)
        for name, column in columns.items():
            if name.startswith("injury."):
                injured |= column.stated()
        key = (id(earlier.values), id(overlap.values))
        counts = [None if repairs is None else len(repairs) for repairs in earlier.values]
        kinds = list(dict.fromkeys(counts))
        if key not in self._lists:
            self._lists[key] = list(itertools.product(kinds, overlap.values, (False, True)))
        codes = np.array([kinds.index(each) for each in counts], np.uint16)[earlier.codes]
        codes *= 2 * len(overlap.values)
        codes += 2 * overlap.codes + injured
        return Column(LISTS, codes, self._lists[key])


#: The values of a column that a table lacks.
_NULL: Final[list[Any]] = [None]


class Joined:
    """The columns of one table, and their joins with a code for each row; and what no plan has a part in, by row."""

    __slots__ = ("_columns", "across", "codes", "recorded", "repaired", "shape", "unlooked")

    def __init__(self, columns: Mapping[str, Column], shape: Shape) -> None:
        self._columns, self.shape = columns, shape
        self.codes = [join.codes(columns) for join in shape.joins]
        injured = self._holds(LISTS, lambda lists: lists[2])
        #: An injury is stated, or it is not known whether the tire was inspected.
        self.unlooked = injured | self._holds("findings", lambda found: found is None)
        #: There is an earlier repair, or there may be.
        self.repaired = self._holds("earlier_repairs", lambda repairs: repairs != ())
        #: Some finding is recorded.
        self.recorded = self._holds("findings", bool)
        #: An injury and an earlier repair may lie across from each other in the sidewalls.
        self.across = (
            injured
            & self._holds("earlier_repairs", lambda repairs: repairs and repairs[0][_ZONE] in _SIDEWALL)
            & self._holds("injury.zone", _SIDEWALL.__contains__)
        )

    def _holds(self, name: str, test: Callable[[Any], Any]) -> Any:
        """Return for each row whether a test holds for its value in a column; what the table lacks is null."""
        answers = np.array([bool(test(value)) for value in self.values(name)])
        return answers.take(self.column(name)) if name in self._columns else np.repeat(answers, len(self.codes[0]))

    def values(self, name: str) -> list[Any]:
        """Return the values of a column; of one that the table lacks, a null."""
        return self._columns[name].values if name in self._columns else _NULL

    def column(self, name: str) -> Any:
        """Return the codes of a column that the table has."""
        return self._columns[name].codes
