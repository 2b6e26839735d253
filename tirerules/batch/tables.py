"""Arrow tables of tickets: which columns they may have, and every column as dictionary-encoded text."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from tirerules.batch.answers import ANSWER_SCHEMA
from tirerules.batch.errors import BatchError
from tirerules.batch.tickets import COLUMNS, GROUPS, REQUIRED, Form, unknown_column
from tirerules.errors import Problem

__all__ = ["check_columns", "encoded", "flattened", "joined", "table_of", "texts_of"]


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


def table_of(batch: Any) -> pa.Table:
    """Return a table or a record batch as a table. Raises BatchError for anything else."""
    if isinstance(batch, pa.Table):
        return batch
    if isinstance(batch, pa.RecordBatch):
        return pa.Table.from_batches([batch])
    message = f"a {type(batch).__name__} is no Arrow table or record batch"
    raise BatchError([Problem("batch-table", message, "give a pyarrow.Table, or a stream of them to decide_batches")])


# --- from columns of any kind to dictionary-encoded text


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


def texts_of(dictionary: pa.Array) -> list[Any]:
    """Return the values of a dictionary; bytes that are no text with a mark that no vocabulary has."""
    try:
        return list(dictionary.to_pylist())
    except UnicodeDecodeError:  # a file may hold such bytes
        return [each and each.decode("utf-8", "replace") for each in dictionary.cast(pa.binary()).to_pylist()]
