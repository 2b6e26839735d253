"""What the rows of a table state, facet by facet: a column by itself, or what follows from several columns together."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

import numpy as np

from tirerules.batch.blocks import looked_up
from tirerules.batch.values import Column
from tirerules.stated import REPAIR

__all__ = ["LISTS", "Facet", "Facets", "Lists", "column_of"]

#: The name of the facet that is made of several columns.
LISTS: Final = "lists"
#: Only there can two repairs lie across from each other.
_SIDEWALL: Final = (None, "sidewall")
_ZONE: Final = REPAIR["repair.zone"]
#: These columns say which rules are asked, or are part of the facet `LISTS`.
_NO_FACETS: Final = frozenset({"jurisdictions", "activity", "on", "reading", "zones", "repairs.overlap"})
#: The values of a column that a table lacks.
_NULL: Final[list[Any]] = [None]


class Lists(NamedTuple):
    """What a row says of its injury and its earlier repair together."""

    earlier: int | None  #: how many earlier repairs there are
    overlap: bool | None  #: whether units overlap
    injured: bool  #: whether an injury is stated
    across: bool  #: whether the injury and an earlier repair may lie across from each other in the sidewalls


@dataclass(frozen=True, slots=True)
class Facet:
    """For each row the place of its value among `values`."""

    name: str
    codes: Any  #: int32 array
    values: Sequence[Any]

    def of(self, rows: Any) -> Any:
        """Return the codes of some rows: of a slice, or by their places."""
        return self.codes[rows] if isinstance(rows, slice) else self.codes.take(rows)


def column_of(columns: Mapping[str, Column], name: str, count: int) -> Column:
    """Return a column; one that the table lacks is null in every one of its `count` rows."""
    return columns.get(name) or Column(name, np.zeros(count, np.int32), _NULL)


class Facets:
    """Makes the facets of tables; those of tables with the same values share their lists of values."""

    def __init__(self) -> None:
        self._lists: dict[tuple[tuple[int | None, ...], tuple[bool | None, ...]], list[Lists]] = {}

    def of(self, columns: Mapping[str, Column], count: int) -> list[Facet]:
        """Return the facets of a table of `count` rows."""
        own = [Facet(name, column.codes, column.values) for name, column in columns.items() if name not in _NO_FACETS]
        return [*own, self._of_lists(columns, count)]

    def _of_lists(self, columns: Mapping[str, Column], count: int) -> Facet:
        earlier, overlap, zone = (
            column_of(columns, name, count) for name in ("earlier_repairs", "repairs.overlap", "injury.zone")
        )
        injured = np.zeros(count, bool)
        for name, column in columns.items():
            if name.startswith("injury."):
                injured |= column.stated()
        across = injured & earlier.where(lambda repairs: repairs and repairs[0][_ZONE] in _SIDEWALL)
        if across.any():
            across &= zone.where(_SIDEWALL.__contains__)
        counts = [None if repairs is None else len(repairs) for repairs in earlier.values]
        kinds = tuple(dict.fromkeys(counts))
        key = (kinds, tuple(overlap.values))
        if key not in self._lists:
            self._lists[key] = [Lists(*each) for each in itertools.product(*key, (False, True), (False, True))]
        codes = looked_up(np.array([kinds.index(each) for each in counts], np.int32), earlier.codes)
        codes *= len(overlap.values)
        codes += overlap.codes
        codes *= 4
        codes += injured.view(np.int8) * np.int8(2)
        codes += across.view(np.int8)
        return Facet(LISTS, codes, self._lists[key])
