"""Rows of a table as single cases: for what is decided one by one, and for one of many that are alike."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np
import pyarrow as pa

from tirerules.batch.encoding import EncodedColumn, EncodedItems, EncodedTable
from tirerules.batch.grouping import joint_groups
from tirerules.batch.tables import encoded, texts_of
from tirerules.case.row import INJURY, REPAIR, TIRE, CaseRow, Layout
from tirerules.case.views import RepairUnit
from tirerules.packs.rule import READINGS
from tirerules.vocabulary import ZONE_EVIDENCE

__all__ = ["bare_case", "case_rows", "texts_at"]


def texts_at(flat: pa.Table, names: Sequence[str], rows: Any) -> Mapping[str, tuple[Any, list[Any]]]:
    """Return what columns hold on some rows: codes, and by code the value as it stands there, None for null."""
    found = {}
    for name in names:
        held = encoded(flat[name].take(pa.array(rows)))
        codes = held.indices.fill_null(-1).cast(pa.int64()).to_numpy() + 1
        found[name] = codes, [None, *texts_of(held.dictionary)]
    return found


def bare_case(
    codes: tuple[str, ...],
    activity: str,
    said: Mapping[str, Any],
    injuries: int,
    repairs: int,
    *,
    on: str | None = None,
    reading: str = READINGS[0],
    zones: str = ZONE_EVIDENCE[0],
) -> CaseRow:
    """Return a case that states some facts of the tire and lists so many injuries and repairs (-1: no list)."""
    tire = tuple(said.get(fact) for fact in TIRE)
    hurt = None if injuries < 0 else (INJURY.nothing,) * injuries
    repaired = None if repairs < 0 else (REPAIR.nothing,) * repairs
    return CaseRow(codes, activity, on, tire, hurt, repaired, None, reading, zones)


def case_rows(table: EncodedTable, days: EncodedColumn, rows: Any) -> tuple[Any, Any, Iterator[CaseRow]]:
    """Return the first of each group of equal rows among `rows`, by place; the group of each; a case of each group."""
    whole = {name: column.take(rows) for name, column in {**table.whole, "on": days}.items()}
    lists = [_Lists(table.injuries, INJURY, rows), _Lists(table.repairs, REPAIR, rows)]
    codes = [(column.codes, len(column.values)) for column in whole.values()]
    first, groups = joint_groups([*codes, *(each for items in lists for each in items.codes())])
    return first, groups, (_case(whole, lists, at) for at in first.tolist())


class _Lists:
    """The injuries, or the earlier repairs, of some rows."""

    def __init__(self, items: EncodedItems, layout: Layout, rows: Any) -> None:
        self.items, self.layout = items, layout
        self.counts, self.first = items.counts.take(rows), items.first.take(rows)

    def codes(self) -> Iterator[tuple[Any, int]]:
        """Yield codes that are equal on rows that list the same."""
        yield self.counts + 1, int(self.counts.max(initial=0)) + 2
        for place in range(int(self.counts.max(initial=0))):
            here = self.counts > place
            for column in self.items.columns.values():
                codes = np.zeros(len(here), np.int32)
                codes[here] = column.codes.take(self.first[here] + place)
                yield codes, len(column.values)

    def at(self, row: int) -> tuple[tuple[Any, ...], ...] | None:
        """Return what one row lists, as a case holds it."""
        if self.counts[row] < 0:
            return None
        return tuple(self._item(self.first[row] + place) for place in range(self.counts[row]))

    def _item(self, at: int) -> tuple[Any, ...]:
        item = list(self.layout.nothing)
        for fact, column in self.items.columns.items():
            item[self.layout[fact]] = column.values[column.codes[at]]
        return tuple(item)


def _case(whole: Mapping[str, EncodedColumn], lists: Sequence[_Lists], row: int) -> CaseRow:
    said = {name: column.values[column.codes[row]] for name, column in whole.items()}
    unit = None
    if said.get("repair_unit.method") is not None:
        parts = (said.get(f"repair_unit.{key}") for key in ("method", "rated_angle", "document"))
        unit = RepairUnit(*parts)  # type: ignore[arg-type]  # both are stated, or the row was refused
    return CaseRow(
        said["jurisdictions"],
        said["activity"],
        said["on"],
        tuple(said.get(fact) for fact in TIRE),
        lists[0].at(row),
        lists[1].at(row),
        unit,
        said.get("reading") or READINGS[0],
        said.get("zones") or ZONE_EVIDENCE[0],
    )
