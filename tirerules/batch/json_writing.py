"""Tables as JSON lines: each distinct value is encoded once, and the lines are put together by Arrow."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.compute as pc

__all__ = ["write_json_lines"]

_BATCH_ROWS = 65_536


def write_json_lines(table: pa.Table, path: Path) -> None:
    """Write a table, one object a line, without what is null.

    Raises OSError, and UnicodeDecodeError for bytes that are no text.
    """
    with path.open("wb") as file:
        for batch in table.to_batches(max_chunksize=_BATCH_ROWS):
            if batch.num_rows:
                file.write(_lines(batch))


def _lines(batch: pa.RecordBatch) -> pa.Buffer:
    """Return the bytes of all lines of a batch."""
    members = [_members(name, column) for name, column in zip(batch.schema.names, batch.columns, strict=True)]
    if all(member.null_count for member in members):  # Arrow's join would lose a row in which all are null
        rows = zip(*(member.to_pylist() for member in members), strict=True)
        said = pa.array([", ".join(filter(None, row)) for row in rows], pa.large_string())
    else:
        said = pc.binary_join_element_wise(*members, _large(", "), null_handling="skip")
    lines = pc.binary_join_element_wise(_large("{"), said, _large("}\n"), _large(""))
    assert len(lines) == batch.num_rows  # INVARIANT: a line for each row
    return lines.buffers()[2].slice(0, pc.sum(pc.binary_length(lines)).as_py())


def _members(name: str, column: pa.Array) -> pa.Array:
    """Return a column as members of objects, such as `"row": 5`; null where there is no value."""
    before = f"{_json(name)}: "
    if pa.types.is_integer(column.type):
        return pc.binary_join_element_wise(_large(before), column.cast(pa.large_string()), _large(""))
    if pa.types.is_dictionary(column.type) and len(column.dictionary) > len(column):
        column = column.dictionary_decode()
    if pa.types.is_string(column.type) or pa.types.is_large_string(column.type):
        column = column.dictionary_encode()
    coded = pa.types.is_dictionary(column.type)
    values = (column.dictionary if coded else column).to_pylist()
    texts = pa.array([None if value is None else before + _json(value) for value in values], pa.large_string())
    return texts.take(column.indices) if coded else texts


def _large(text: str) -> pa.Scalar:
    """Return a text as Arrow holds it where all texts of a batch together may be longer than 2 GiB."""
    return pa.scalar(text, pa.large_string())


def _json(value: Any) -> str:
    # What JSON has no word for (a date, a decimal) is written as its text.
    return json.dumps(value, ensure_ascii=False, default=str)
