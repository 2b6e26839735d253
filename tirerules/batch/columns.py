"""Columns in, columns out: a table of tickets decided by one rulebook, each distinct row once.

The answers equal those of `Rulebook.decide`, row by row; a property test holds the two together.
"""

from __future__ import annotations

import threading
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any, Final

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from tirerules._version import __version__
from tirerules.batch.answers import ANSWER_SCHEMA, Answer, Answered, Told, answer_of, asked_of
from tirerules.batch.arrays import Arrays
from tirerules.batch.errors import BatchError
from tirerules.batch.grouping import LARGEST_KEY, alike
from tirerules.batch.tickets import COLUMNS, GROUPS, REQUIRED, Form, Row, case_of, unknown_column
from tirerules.batch.values import Reader
from tirerules.decision import Decision
from tirerules.errors import Problem, TirerulesError
from tirerules.record import lock_to_json
from tirerules.rulebook import Rulebook

__all__ = ["Decider", "check_columns", "decide_batch", "decide_batches", "encoded", "flattened", "joined", "texts_of"]

#: How many distinct rows are remembered from one table to the next (about 2 kB each); beyond it, memory starts anew.
_MOST_REMEMBERED: Final = 20_000
#: How many answers, questions and values are remembered (values once for each plan); beyond it, all begins anew.
_MOST_KEPT: Final = 2_000_000


def decide_batch(
    rulebook: Rulebook,
    batch: Any,
    *,
    keep: Sequence[str] = (),
    first_row: int = 0,
    day: date | None = None,
) -> Answered:
    """Decide every row of an Arrow table or record batch.

    `keep` names columns that are carried through unchanged; rows are numbered from `first_row`; a row without `on` is
    decided for `day` (today where it is left out). Raises BatchError for columns that no table of tickets has.
    """
    return _decider(rulebook, tuple(dict.fromkeys(keep)), day or date.today()).decide(_table(batch), first_row)


def decide_batches(
    rulebook: Rulebook,
    batches: Any,
    *,
    keep: Sequence[str] = (),
    first_row: int = 0,
    day: date | None = None,
) -> Iterator[Answered]:
    """Decide a stream of tables one by one, with rows numbered through and one day for all.

    `batches` is anything that yields Arrow tables or record batches (a record-batch reader, a list), or anything that
    hands out an Arrow stream, such as the frames and relations of other libraries. Raises as `decide_batch` does.
    """
    decider = Decider(rulebook, keep=keep, day=day)
    if hasattr(batches, "__arrow_c_stream__"):
        batches = pa.RecordBatchReader.from_stream(batches)
    for batch in batches:
        table = _table(batch)
        yield decider.decide(table, first_row)
        first_row += table.num_rows


class _Last(threading.local):
    """What each thread decided its last table with, so that the next one by the same rulebook is decided sooner."""

    decider: Decider | None = None


_LAST: Final = _Last()


def _decider(rulebook: Rulebook, keep: tuple[str, ...], day: date) -> Decider:
    last = _LAST.decider
    if last is None or last.rulebook is not rulebook or (last.keep, last.day) != (keep, day):
        last = _LAST.decider = Decider(rulebook, keep=keep, day=day)
    return last


class Decider:
    """Decides tables by one rulebook on one day, and remembers the answers to rows that it has seen."""

    def __init__(self, rulebook: Rulebook, *, keep: Sequence[str] = (), day: date | None = None) -> None:
        """Hold the rulebook and the day: the clock is read here, once."""
        self.rulebook = rulebook
        self.keep = tuple(dict.fromkeys(keep))
        self.day = day or date.today()
        self._start()

    @property
    def basis(self) -> dict[str, Any]:
        """What the answers rest on beside the tickets, as JSON: this library, the day, the packs."""
        return {"engine": __version__, "on": self.day.isoformat(), "packs": lock_to_json(self.rulebook.lock)}

    def decide(self, table: pa.Table, rows: Any = 0) -> Answered:
        """Decide a table. `rows` is the number of its first row, or an int64 array with the number of each.

        Raises BatchError for columns that no table of tickets has, or that hold values of a wrong type.
        """
        flat = flattened(table)
        check_columns(flat.schema, self.keep)
        columns = {name: encoded(flat[name]) for name in COLUMNS if name in flat.column_names}
        numbers = np.arange(rows, rows + table.num_rows, dtype=np.int64) if isinstance(rows, int) else rows
        return self._told.assemble(self._places(columns, table.num_rows), numbers, table.select(self.keep), self.day)

    def _start(self) -> None:
        """Begin with nothing remembered."""
        self._told = Told()
        self._known: dict[Any, int] = {}
        self._reader = Reader()
        self._arrays = Arrays(self.rulebook, self.day, self._told)

    def _places(self, columns: Mapping[str, pa.DictionaryArray], count: int) -> Any:
        """Return for each row the place of its answer, or of the reason for having none, among what was told."""
        if len(self._told) + self._arrays.remembered > _MOST_KEPT:
            self._start()
        read = {name: self._reader.column(name, held, texts_of(held.dictionary)) for name, held in columns.items()}
        places = self._arrays.decide(read, count, lambda rows: self._questions(columns, rows))
        left = np.flatnonzero(places < 0)
        if len(left):
            taken = {name: column.take(pa.array(left)) for name, column in columns.items()}
            first, group = _grouped(taken.values(), len(left))
            places[left] = np.array([self._place(row) for row in _rows(taken, first)], np.int64)[group]
        return places

    def _decision(self, row: Row) -> Decision:
        """Decide a row by itself. Raises as the full reader and the rulebook do."""
        return self.rulebook.decide({"on": self.day.isoformat(), **case_of(row)})

    def _questions(self, columns: Mapping[str, pa.DictionaryArray], rows: Any) -> list[int]:
        """Decide rows by themselves; return the bits of their questions, -1 for one that has no answer."""
        bits = []
        for row in _rows(columns, rows):
            try:
                bits.append(asked_of(self._decision(row)))
            except TirerulesError:
                bits.append(-1)  # it is left, and then set aside with the reason
        return bits

    def _place(self, row: Row) -> int:
        """Return the place of the answer to a row, or of the reason why it has none."""
        key = tuple(row.items())
        place = self._known.get(key)
        if place is None:
            if len(self._known) >= _MOST_REMEMBERED:
                self._known.clear()
            try:
                said: Answer | str = answer_of(self._decision(row))
            except TirerulesError as error:
                said = str(error)
            place = self._known[key] = self._told.place(said)
        return place


def flattened(table: pa.Table) -> pa.Table:
    """Return a table with its columns of blocks (a column `tire` with `class` in it) as flat columns (`tire.class`).

    Raises BatchError where the name of a column is no text.
    """
    columns: list[tuple[str, pa.ChunkedArray]] = []
    try:
        for name, column in zip(table.column_names, table.columns, strict=True):
            if name in GROUPS and pa.types.is_struct(column.type):
                parts = zip(column.type, column.flatten(), strict=True)
                columns += [(f"{name}.{field.name}", part) for field, part in parts]
            else:
                columns.append((name, column))
    except UnicodeDecodeError:
        problem = Problem("batch-column", "the name of a column is no UTF-8 text", "name the columns in UTF-8")
        raise BatchError([problem]) from None
    return pa.table([column for _, column in columns], names=[name for name, _ in columns])


def check_columns(schema: pa.Schema, keep: Sequence[str]) -> None:
    """Raise BatchError with everything that is wrong with the columns of a table of tickets."""
    problems: list[Problem] = []

    def add(name: str, message: str, hint: str = "") -> None:
        problems.append(Problem("batch-column", message, hint, path=name))

    for name in dict.fromkeys(schema.names):
        form = COLUMNS.get(name)
        if schema.names.count(name) > 1:
            add(name, "the column stands twice", "give each its own name")
        elif form is not None and not _fits(schema.field(name).type, form):
            add(name, f"the column holds {schema.field(name).type}", f"give {form}")
        elif form is None and name not in keep:
            problems.append(unknown_column(name))
    for name in REQUIRED:
        if name not in schema.names:
            add(name, "the column is missing", "every ticket names its jurisdictions and its activity")
    for name in keep:
        if name not in schema.names:
            add(name, "there is no such column to carry through")
        if name in ANSWER_SCHEMA.names or name == "reason":
            add(name, "a column of this name stands in the answers", "carry it through by another name")
    if problems:
        raise BatchError(problems)


def _fits(kind: pa.DataType, form: Form) -> bool:
    """Whether a column of this type can hold values of this form."""
    if pa.types.is_dictionary(kind):
        return _is_text(kind.value_type)
    if form is Form.WORDS and _is_list(kind):
        return _is_text(kind.value_type)
    return pa.types.is_null(kind) or _is_text(kind) or any(fits(kind) for fits in _OTHERS.get(form, ()))


_OTHERS: Final = {
    Form.FLAG: (pa.types.is_boolean,),
    Form.COUNT: (pa.types.is_integer,),
    Form.DAY: (pa.types.is_date,),
}


def _is_text(kind: pa.DataType) -> bool:
    return any(fits(kind) for fits in (pa.types.is_string, pa.types.is_large_string, pa.types.is_string_view))


def _is_list(kind: pa.DataType) -> bool:
    return any(fits(kind) for fits in (pa.types.is_list, pa.types.is_large_list, pa.types.is_fixed_size_list))


def _table(batch: Any) -> pa.Table:
    if isinstance(batch, pa.Table):
        return batch
    if isinstance(batch, pa.RecordBatch):
        return pa.Table.from_batches([batch])
    message = f"a {type(batch).__name__} is no Arrow table or record batch"
    raise BatchError([Problem("batch-table", message, "give a pyarrow.Table, or a stream of them to decide_batches")])


# --- from columns to distinct rows


def encoded(column: pa.ChunkedArray) -> pa.DictionaryArray:
    """Return a column of tickets dictionary-encoded, lists of words as text with commas."""
    if pa.types.is_dictionary(column.type):
        if pa.types.is_string(column.type.value_type):
            return _whole(column)
        return _whole(_with_plain_words(column))
    if _is_list(column.type):
        lists = column.cast(pa.list_(pa.string()))
        column = pa.chunked_array([joined(chunk) for chunk in lists.chunks], pa.string())
    elif pa.types.is_null(column.type) or _is_text(column.type):
        column = column.cast(pa.string())
    return _whole(column.dictionary_encode())


def _whole(column: pa.ChunkedArray) -> pa.DictionaryArray:
    """Return a dictionary-encoded column in one piece, with its nulls among the indices, never among the values."""
    whole = column.chunk(0) if column.num_chunks == 1 else column.unify_dictionaries().combine_chunks()
    return whole.cast(pa.string()).dictionary_encode() if whole.dictionary.null_count else whole


def _with_plain_words(column: pa.ChunkedArray) -> pa.ChunkedArray:
    """Return a dictionary-encoded column with its words as plain strings, whatever kind of text they are."""
    chunks = [
        pa.DictionaryArray.from_arrays(chunk.indices, chunk.dictionary.cast(pa.string())) for chunk in column.chunks
    ]
    return pa.chunked_array(chunks, pa.dictionary(column.type.index_type, pa.string()))


def joined(lists: pa.ListArray) -> pa.Array:
    """Return lists of words as text. A null among the words stays visible, as a word that no vocabulary has."""
    lengths = pc.fill_null(pc.list_value_length(lists), 0)
    offsets = np.concatenate(([0], np.cumsum(lengths.to_numpy(zero_copy_only=False)))).astype(np.int32)
    words = pa.ListArray.from_arrays(pa.array(offsets), pc.fill_null(lists.flatten(), "null"))
    text = pc.if_else(pc.equal(lengths, 0), "none", pc.binary_join(words, ","))
    return pc.if_else(lists.is_valid(), text, None)


def _grouped(columns: Iterable[pa.DictionaryArray], count: int) -> tuple[Any, Any]:
    """Return the place of the first row of each group of equal rows, and the group of every row (int64 arrays)."""
    combined, span = np.zeros(count, dtype=np.int64), 1
    for column in columns:
        size = len(column.dictionary) + 1  # one more for null
        if span * size >= LARGEST_KEY:
            combined, span = alike(combined)[1].astype(np.int64), count
        combined = combined * size + _codes(column) + 1
        span *= size
    return alike(combined)


def _codes(column: pa.DictionaryArray) -> Any:
    """Return the place of each value in the dictionary, -1 for null."""
    return pc.fill_null(column.indices.cast(pa.int64()), -1).to_numpy(zero_copy_only=False)


def _rows(columns: Mapping[str, pa.DictionaryArray], places: Any) -> Iterator[Row]:
    """Yield the rows at `places`, without what is null."""
    taken = (column.take(pa.array(places)) for column in columns.values())
    for row in zip(*map(_picked, taken), strict=True):
        yield {name: value for name, value in zip(columns, row, strict=True) if value is not None}


def _picked(column: pa.DictionaryArray) -> Iterator[Any]:
    values = [*texts_of(column.dictionary), None]  # the last is what the code -1 picks
    return map(values.__getitem__, _codes(column).tolist())


def texts_of(dictionary: pa.Array) -> list[Any]:
    """Return the values of a dictionary; bytes that are no text with a mark that no vocabulary has."""
    try:
        return list(dictionary.to_pylist())
    except UnicodeDecodeError:  # a file may hold such bytes
        return [each and each.decode("utf-8", "replace") for each in dictionary.cast(pa.binary()).to_pylist()]
