"""Tables of tickets encoded: for each fact a code per row, and by code the value, read once for each distinct text.

The engine over columns works on the codes; nothing here decides anything. Columns of the whole case have a code for
each row. Those of injuries and earlier repairs have one for each item of all rows' lists, in the order of the rows,
whether a row gives its one item in columns (`injury.zone`) or several as JSON text (`injuries`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, Final

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from tirerules.batch.cells import read_cell
from tirerules.batch.columns import encoded, flattened, texts_of
from tirerules.batch.item_lists import read_lists
from tirerules.batch.json_blocks import LISTS
from tirerules.batch.tickets import COLUMNS, ITEM_OF, REQUIRED
from tirerules.errors import Problem

__all__ = ["EncodedColumn", "EncodedItems", "EncodedTable", "encode"]

_TEXT: Final = pa.string()
#: What every repair unit states, and what to write.
_UNIT: Final = (
    ("repair_unit.rated_angle", 'write its rating, such as "35 deg"'),
    ("repair_unit.method", "name the method that the unit is for"),
)


@dataclass(frozen=True, slots=True)
class EncodedColumn:
    """One fact by code.

    `codes` (int32 array) has the place of each row's or item's value among `values`; 0 is unknown, and `values[0]` is
    None. `refused` has what is wrong with a text, by its code, at which `values` has None too: INVARIANT: whoever reads
    the values looks at `refused` first.
    """

    fact: str
    codes: Any
    values: Sequence[Any]
    refused: Mapping[int, tuple[Problem, ...]]

    def wrong(self) -> Any:
        """Return for each row or item whether its text was refused (bool array)."""
        table = np.zeros(len(self.values), bool)
        table[list(self.refused)] = True
        return table[self.codes]


@dataclass(frozen=True, slots=True)
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

    @property
    def most(self) -> int:
        """How many items the longest list has."""
        return int(self.counts.max(initial=0))

    def at(self, place: int) -> Mapping[str, EncodedColumn]:
        """Return the facts of each row's item at a place, by row; unknown where its list is shorter."""
        here = self.places == place
        rows = self.rows[here]
        found = {}
        for fact, column in self.columns.items():
            codes = np.zeros(len(self.counts), np.int32)
            codes[rows] = column.codes[here]
            found[fact] = replace(column, codes=codes)
        return found


@dataclass(frozen=True)
class EncodedTable:
    """A table of tickets: `whole` has the facts of the whole case by name, with a code for each of `count` rows.

    What a table lacks, no mapping has. `others` has what is wrong with whole rows: which (int64 array), and what.
    """

    count: int
    whole: Mapping[str, EncodedColumn]
    injuries: EncodedItems
    earlier_repairs: EncodedItems
    others: Sequence[tuple[Any, Problem]]

    @cached_property
    def refused(self) -> Any:
        """For each row whether something in it could not be read (bool array)."""
        found = np.zeros(self.count, bool)
        for column in self.whole.values():
            if column.refused:
                found |= column.wrong()
        for items in (self.injuries, self.earlier_repairs):
            for column in items.columns.values():
                if column.refused:
                    found[items.rows[column.wrong()]] = True
        for rows, _ in self.others:
            found[rows] = True
        return found

    def problems(self) -> Iterator[tuple[int, Problem]]:
        """Yield the refused rows in their order, each with everything that is wrong with what is written in it."""
        found: dict[int, list[Problem]] = {row: [] for row in np.flatnonzero(self.refused).tolist()}
        for column in self.whole.values():
            for row in np.flatnonzero(column.wrong()).tolist() if column.refused else ():
                found[row] += column.refused[column.codes[row]]
        for name, items in (("injuries", self.injuries), ("earlier_repairs", self.earlier_repairs)):
            for column in items.columns.values():
                for at in np.flatnonzero(column.wrong()).tolist() if column.refused else ():
                    path = f"{name}[{items.places[at]}].{column.fact.rpartition('.')[2]}"
                    problems = column.refused[column.codes[at]]
                    found[items.rows[at].item()] += [replace(problem, path=path) for problem in problems]
        for rows, problem in self.others:
            for row in rows.tolist():
                found[row].append(problem)
        for row, problems_ in found.items():
            yield from ((row, problem) for problem in problems_)


def encode(table: pa.Table) -> EncodedTable:
    """Encode a table of tickets, whose columns are those of `COLUMNS`; any other is passed over."""
    flat = flattened(table)
    columns = {name: flat[name] for name in flat.column_names if name in COLUMNS}
    listed = (*ITEM_OF, *(f"{group}." for group in ITEM_OF.values()))
    whole = {name: _column(name, column) for name, column in columns.items() if not name.startswith(listed)}
    others = list(_incomplete(whole, flat.num_rows))
    injuries, repairs = (_items(name, group, columns, flat.num_rows, others) for name, group in ITEM_OF.items())
    return EncodedTable(flat.num_rows, whole, injuries, repairs, others)


def _column(name: str, column: pa.ChunkedArray) -> EncodedColumn:
    held = encoded(column)
    found = [read_cell(name, text) for text in texts_of(held.dictionary)]
    refused = {code: problems for code, (_, problems) in enumerate(found, start=1) if problems}
    return EncodedColumn(name, _codes(held) + np.int32(1), [None, *(value for value, _ in found)], refused)


def _codes(held: pa.DictionaryArray) -> Any:
    """Return the place of each row's text in the dictionary, -1 for null (int32 array)."""
    codes = held.indices.cast(pa.int32())
    return (pc.fill_null(codes, -1) if codes.null_count else codes).to_numpy()


def _items(
    name: str, group: str, columns: Mapping[str, pa.ChunkedArray], count: int, others: list[tuple[Any, Problem]]
) -> EncodedItems:
    """Encode a list of a case; what is wrong with whole lists is added to `others`."""
    flat = {key: column for key, column in columns.items() if key.startswith(f"{group}.")}
    states = {key.rpartition(".")[2]: column.is_valid().to_numpy() for key, column in flat.items()}
    stated = np.logical_or.reduce([*states.values(), np.zeros(count, bool)])
    counts = np.where(stated, np.int32(1), np.int32(-1))
    lists = pa.array([], LISTS[name])
    begins = np.zeros(count, np.int64)
    if name in columns:
        held = encoded(columns[name])
        codes = _codes(held)
        lists, refused = read_lists(name, held.dictionary)
        for row in np.flatnonzero(stated & (codes >= 0)).tolist():
            keys = ", ".join(key for key, each in states.items() if each[row])
            message = f"the row states {name} both here and in columns for one ({keys})"
            problem = Problem("batch-twice", message, "leave one of the two null", path=name)
            others.append((np.array([row]), problem))
        for row in np.flatnonzero(np.isin(codes, list(refused))).tolist() if refused else ():
            others += [(np.array([row]), problem) for problem in refused[codes[row]]]
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
            both = [*_plain(flat.get(fact, pa.nulls(count if flat else 0, _TEXT))), part]
            column = _column(fact, pa.chunked_array(both if len(part) else both[:-1]))
            found[fact] = replace(column, codes=column.codes[among])
    return EncodedItems(counts, rows, places, found)


def _plain(column: pa.ChunkedArray | pa.Array) -> Sequence[pa.Array]:
    """Return the chunks of a column of text, each of plain text."""
    return column.cast(_TEXT).chunks if isinstance(column, pa.ChunkedArray) else [column]


def _incomplete(whole: Mapping[str, EncodedColumn], count: int) -> Iterator[tuple[Any, Problem]]:
    """Yield the rows that lack what every case, or every repair unit, must state."""

    def unknown(name: str) -> Any:
        return whole[name].codes == 0 if name in whole else np.ones(count, bool)

    for name in REQUIRED:
        hint = "every case names its jurisdictions and its activity"
        yield np.flatnonzero(unknown(name)), Problem("case-key", "the key is missing", hint, path=name)
    unit = [name for name in COLUMNS if name.startswith("repair_unit.")]
    if any(name in whole for name in unit):
        stated = ~np.logical_and.reduce([unknown(name) for name in unit])
        for name, hint in _UNIT:
            problem = Problem("case-value", "the key is missing", hint, path=name)
            yield np.flatnonzero(stated & unknown(name)), problem
