"""Tables of tickets encoded: for each fact a code per row, and by code the value, read once for each distinct text.

The engine over columns works on the codes; nothing here decides anything. Columns of the whole case have a code for
each row. Those of injuries and earlier repairs have one for each item of all rows' lists, in the order of the rows,
whether a row gives its one item in columns (`injury.zone`) or several as JSON text (`injuries`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from tirerules.batch.cells import REFUSED, read_cell
from tirerules.batch.item_lists import read_lists
from tirerules.batch.json_blocks import LISTS
from tirerules.batch.tables import encoded, texts_of
from tirerules.batch.tickets import COLUMNS, ITEM_OF, REQUIRED

__all__ = ["EncodedColumn", "EncodedItems", "EncodedTable", "encode"]

_TEXT: Final = pa.string()
#: What every repair unit states, and what it may.
_UNIT: Final = ("repair_unit.rated_angle", "repair_unit.method")
_DOCUMENT: Final = "repair_unit.document"


@dataclass(frozen=True, slots=True)
class EncodedColumn:
    """One fact by code.

    `codes` (int32 array) has the place of each row's or item's value among `values`; 0 is unknown, and `values[0]` is
    None. `refused` has the codes of texts that state no value, at which `values` has None too.
    """

    fact: str
    codes: Any
    values: Sequence[Any]
    refused: Sequence[int] = ()

    def wrong(self) -> Any:
        """Return for each row or item whether its text was refused (bool array)."""
        table = np.zeros(len(self.values), bool)
        table[list(self.refused)] = True
        return table[self.codes]

    def take(self, places: Any) -> EncodedColumn:
        """Return the column of some rows."""
        return EncodedColumn(self.fact, self.codes.take(places), self.values)


@dataclass(frozen=True)
class EncodedItems:
    """The injuries, or the earlier repairs, of all rows.

    `counts` (int32 array) has how many each row lists, -1 where none are recorded. `rows` (int64 array) has the row of
    each item, `places` (int64 array) its place in its row's list, from 0; items stand in the order of both. The codes
    of `columns`, by fact, are those of the items.
    """

    counts: Any
    rows: Any
    places: Any
    columns: Mapping[str, EncodedColumn]

    @cached_property
    def first(self) -> Any:
        """Where the first item of each row stands (int64 array)."""
        listed = np.maximum(self.counts, 0)
        return np.cumsum(listed, dtype=np.int64) - listed

    @property
    def most(self) -> int:
        """How many items the longest list has."""
        return int(self.counts.max(initial=0))

    def at(self, rows: Any, place: int) -> Mapping[str, EncodedColumn]:
        """Return the facts of the item at a place of some rows, all of whose lists are long enough."""
        items = self.first.take(rows) + place
        return {fact: column.take(items) for fact, column in self.columns.items()}


@dataclass(frozen=True)
class EncodedTable:
    """A table of tickets: `whole` has the facts of the whole case by name, with a code for each of `count` rows.

    What a table lacks, no mapping has. `refused` are the rows (bool array) that state something that cannot be read, or
    that lack what every case must state.
    """

    count: int
    whole: Mapping[str, EncodedColumn]
    injuries: EncodedItems
    repairs: EncodedItems
    refused: Any

    def column(self, fact: str) -> EncodedColumn:
        """Return a column of the whole case; of one that the table lacks every row is unknown."""
        return self.whole.get(fact) or EncodedColumn(fact, np.zeros(self.count, np.int32), [None])


def encode(flat: pa.Table) -> EncodedTable:
    """Encode a table of tickets, whose columns are those of `COLUMNS`; any other is passed over."""
    columns = {name: flat[name] for name in COLUMNS if name in flat.column_names}
    listed = (*ITEM_OF, *(f"{group}." for group in ITEM_OF.values()))
    whole = {name: _column(name, column) for name, column in columns.items() if not name.startswith(listed)}
    refused = _incomplete(whole, flat.num_rows)
    injuries, repairs = (_items(name, group, columns, flat.num_rows, refused) for name, group in ITEM_OF.items())
    for column in whole.values():
        if column.refused:
            refused |= column.wrong()
    for items in (injuries, repairs):
        for column in items.columns.values():
            if column.refused:
                refused[items.rows[column.wrong()]] = True
    return EncodedTable(flat.num_rows, whole, injuries, repairs, refused)


def _column(name: str, column: pa.ChunkedArray) -> EncodedColumn:
    held = encoded(column)
    found = [read_cell(name, text) for text in texts_of(held.dictionary)]
    refused = [code for code, value in enumerate(found, start=1) if value is REFUSED]
    values = [None, *found]
    for code in refused:
        values[code] = None
    return EncodedColumn(name, _codes(held) + np.int32(1), values, refused)


def _codes(held: pa.DictionaryArray) -> Any:
    """Return the place of each row's text in the dictionary, -1 for null (int32 array)."""
    codes = held.indices.cast(pa.int32())
    return (pc.fill_null(codes, -1) if codes.null_count else codes).to_numpy()


def _items(name: str, group: str, columns: Mapping[str, pa.ChunkedArray], count: int, refused: Any) -> EncodedItems:
    """Encode a list of a case; the rows of which the whole list is refused are added to `refused`."""
    flat = {key: column for key, column in columns.items() if key.startswith(f"{group}.")}
    stated = np.logical_or.reduce([column.is_valid().to_numpy() for column in flat.values()] or [np.zeros(count, bool)])
    counts = np.where(stated, np.int32(1), np.int32(-1))
    lists = pa.array([], LISTS[name])
    begins = np.zeros(count, np.int64)
    if name in columns:
        held = encoded(columns[name])
        codes = _codes(held)
        refused |= stated & (codes >= 0)  # the row states the list in two forms
        lists, wrong = read_lists(name, texts_of(held.dictionary))
        if wrong:
            refused |= np.isin(codes, wrong)
        lengths = pc.fill_null(pc.list_value_length(lists), -1).to_numpy()
        ends = np.cumsum(np.maximum(lengths, 0), dtype=np.int64)
        counts = np.where(stated, counts, np.append(lengths, np.int32(-1))[codes])  # the code -1 picks the last
        begins = np.append(ends - np.maximum(lengths, 0), 0)[codes]
    listed = np.maximum(counts, 0)
    rows = np.repeat(np.arange(count), listed)
    places = np.arange(len(rows)) - np.repeat(np.cumsum(listed) - listed, listed)
    # Of each item, where it stands among the texts: those of columns first, one for each row, then those of lists.
    among = np.where(stated[rows], rows, (count if flat else 0) + begins[rows] + places)
    found = {}
    for field, part in zip(lists.type.value_type, lists.flatten().flatten(), strict=True):
        fact = f"{group}.{field.name}"
        if fact in flat or part.null_count < len(part):
            texts = _column(fact, _joint(flat.get(fact), part, count if flat else 0))
            found[fact] = EncodedColumn(fact, texts.codes[among], texts.values, texts.refused)
    return EncodedItems(counts, rows, places, found)


def _joint(column: pa.ChunkedArray | None, part: pa.Array, count: int) -> pa.ChunkedArray:
    """Return the texts of a column for one item, of `count` rows, and behind them those of lists."""
    if column is not None and not len(part):
        return column
    chunks = [pa.nulls(count, _TEXT)] if column is None else encoded(column).cast(_TEXT)
    return pa.chunked_array([*(chunks if column is None else [chunks]), part])


def _incomplete(whole: Mapping[str, EncodedColumn], count: int) -> Any:
    """Return the rows that lack what every case, or every repair unit, must state (bool array)."""

    def stated(name: str) -> Any:
        return whole[name].codes > 0 if name in whole else np.zeros(count, bool)

    lacking = ~np.logical_and.reduce([stated(name) for name in REQUIRED])
    if any(name in whole for name in (*_UNIT, _DOCUMENT)):
        parts = [stated(name) for name in _UNIT]
        lacking |= (stated(_DOCUMENT) | np.logical_or.reduce(parts)) & ~np.logical_and.reduce(parts)
    return lacking
