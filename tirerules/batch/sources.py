"""Tickets from a file, in chunks: Parquet, CSV with a header line, JSON lines. Never the whole file at once.

Every row is either in its chunk's table or among its unreadable ones, with its number and the reason.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

import numpy as np
import pyarrow as pa
import pyarrow.parquet

from tirerules.batch.chunks import Chunk, Position, Source, refusal
from tirerules.batch.csv_lines import CsvLines
from tirerules.batch.json_lines import JsonLines
from tirerules.batch.tables import check_columns, flattened
from tirerules.batch.tickets import COLUMNS, Form
from tirerules.errors import MissingDataError

__all__ = ["SOURCES", "Chunk", "Position", "Source", "open_source"]


class _Parquet(Source):
    form, unit = "parquet", "rows"

    def __init__(self, path: Path, keep: Sequence[str]) -> None:
        super().__init__(path, keep)
        with self._open() as file:
            check_columns(flattened(file.schema_arrow.empty_table()).schema, keep)
            #: Columns of few distinct texts, which are read as they are stored: a dictionary and codes.
            self.words = [
                field.name
                for field in file.schema_arrow
                if pa.types.is_string(field.type) and COLUMNS.get(field.name, Form.JSON) is not Form.JSON
            ]
            self.total = file.metadata.num_rows

    def _open(self, **options: Any) -> pa.parquet.ParquetFile:
        try:
            return pa.parquet.ParquetFile(self.path, **options)
        except pa.ArrowException as error:
            raise refusal(self.path, f"this is no Parquet file: {error}") from None
        except UnicodeDecodeError:
            raise refusal(self.path, "the name of a column is no UTF-8 text", "name the columns in UTF-8") from None

    def chunks(self, start: Position, size: int) -> Iterator[Chunk]:
        with self._open(read_dictionary=self.words) as file:
            groups: list[int] = []
            before = 0  # row groups that end before the start are not even read
            for group in range(file.num_row_groups):
                rows = file.metadata.row_group(group).num_rows
                if groups or before + rows > start.row:
                    groups.append(group)
                else:
                    before += rows
            row = start.row
            try:
                for table in _sized(file.iter_batches(size, groups), size, row - before):
                    end = row + table.num_rows
                    yield Chunk(table, np.arange(row, end, dtype=np.int64), (), Position(end))
                    row = end
            except (pa.ArrowException, OSError) as error:
                raise refusal(self.path, f"the file cannot be read beyond row {row}: {error}") from None
            if self.total == 0:
                yield Chunk(file.schema_arrow.empty_table(), np.empty(0, np.int64), (), start)

    def done(self, position: Position) -> int:
        return position.row


def _sized(batches: Iterator[pa.RecordBatch], size: int, skip: int) -> Iterator[pa.Table]:
    """Yield tables of `size` rows, however the file is divided, without the first `skip` rows."""
    held: list[pa.Table] = []
    count = 0
    for batch in batches:
        table = pa.Table.from_batches([batch]).slice(skip)
        skip = max(0, skip - batch.num_rows)
        held.append(table)
        count += table.num_rows
        while count >= size:
            whole = pa.concat_tables(held)
            yield whole.slice(0, size)
            held, count = [whole.slice(size)], count - size
    if count:
        yield pa.concat_tables(held)


#: The formats that tickets are read from, by name; the name is also the file's suffix.
SOURCES: Final[Mapping[str, Callable[[Path, Sequence[str]], Source]]] = MappingProxyType(
    {"parquet": _Parquet, "csv": CsvLines, "jsonl": JsonLines}
)


def open_source(path: Path, keep: Sequence[str], form: str | None = None) -> Source:
    """Open a file of tickets, in the format `form` or that of its suffix.

    Raises MissingDataError where there is no file, BatchError where it is none of the formats or has wrong columns.
    """
    form = form or path.suffix.removeprefix(".").lower()
    if form not in SOURCES:
        hint = f"name it .{', .'.join(SOURCES)}, or say the format"
        raise refusal(path, "the file's name does not say its format", hint)
    try:
        return SOURCES[form](path, keep)
    except OSError as error:
        raise MissingDataError(f"{path}: {error.strerror or error}") from None
