"""Tickets from a file, in chunks: Parquet, CSV with a header line, JSON lines. Never the whole file at once.

One line is one row, so that a broken line costs only itself: a cell of a CSV file cannot hold a line break. Blank lines
are no rows. Every row is either in its chunk's table or among its unreadable ones, with its number and the reason.
"""

from __future__ import annotations

import csv
import hashlib
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any, BinaryIO, Final

import numpy as np
import pyarrow as pa
import pyarrow.csv
import pyarrow.parquet

from tirerules.batch.columns import check_columns, flattened
from tirerules.batch.errors import BatchError
from tirerules.batch.tickets import COLUMNS, REQUIRED, Form, flat_row
from tirerules.errors import MissingDataError, Problem, TirerulesError
from tirerules.record import parse

__all__ = ["SOURCES", "Chunk", "Position", "Source", "open_source"]

#: A longer line is no ticket; it is passed over without being held.
_LONGEST_LINE: Final = 1 << 20
_BOM: Final = b"\xef\xbb\xbf"


@dataclass(frozen=True, slots=True)
class Position:
    """How far a file has been read: rows, and in a file of lines also lines and bytes."""

    row: int = 0
    line: int = 0
    offset: int = 0


@dataclass(frozen=True, slots=True)
class Chunk:
    """Some rows of a file. Its rows are those of `table`, numbered by `rows` (int64), and the unreadable ones."""

    table: pa.Table
    rows: Any
    unreadable: tuple[tuple[int, str], ...]
    end: Position


class Source(ABC):
    """A file of tickets."""

    form: str  #: its format, a key of `SOURCES`
    unit: str  #: what progress is counted in

    def __init__(self, path: Path, keep: Sequence[str]) -> None:
        self.path = path
        self.keep = tuple(keep)
        self.start = Position()
        self.total = path.stat().st_size

    @abstractmethod
    def chunks(self, start: Position, size: int) -> Iterator[Chunk]:
        """Yield the rows from `start` on, `size` at a time; one empty chunk where the file has no rows at all."""

    @abstractmethod
    def done(self, position: Position) -> int:
        """Return how much of `total` lies before `position`."""

    def fingerprint(self) -> dict[str, Any]:
        """Return what tells this file from any other."""
        with self.path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
        return {
            "name": self.path.name,
            "format": self.form,
            "bytes": self.path.stat().st_size,
            "sha256": digest,
        }


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
            raise _refusal(self.path, f"this is no Parquet file: {error}") from None
        except UnicodeDecodeError:
            raise _refusal(self.path, "the name of a column is no UTF-8 text", "name the columns in UTF-8") from None

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
                raise _refusal(self.path, f"the file cannot be read beyond row {row}: {error}") from None
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


class _Lines(Source):
    """A file of lines."""

    unit = "B"

    def __init__(self, path: Path, keep: Sequence[str]) -> None:
        super().__init__(path, keep)
        with path.open("rb") as file:
            if file.read(len(_BOM)) == _BOM:
                self.start = Position(offset=len(_BOM))

    def chunks(self, start: Position, size: int) -> Iterator[Chunk]:
        with self.path.open("rb") as file:
            file.seek(start.offset)
            line, row, empty = start.line, start.row, start.row == 0
            while True:
                lines: list[tuple[int, bytes | None]] = []
                while len(lines) < size and (read := _line(file)) != b"":
                    line += 1
                    if read is None or read.strip():
                        lines.append((line, read))
                if not lines and not empty:
                    return
                empty = False
                yield self._chunk(lines, row, Position(row + len(lines), line, file.tell()))
                row += len(lines)

    def done(self, position: Position) -> int:
        return position.offset

    def _chunk(self, lines: Sequence[tuple[int, bytes | None]], first: int, end: Position) -> Chunk:
        """Return the chunk of these lines with their numbers."""
        rows: list[int] = []
        read: list[Any] = []
        unreadable: list[tuple[int, str]] = []
        for row, (number, line) in enumerate(lines, start=first):
            try:
                if line is None:
                    raise _refusal("", f"the line is longer than {_LONGEST_LINE} bytes")
                read.append(self._read(line.decode("utf-8").rstrip("\r\n")))
                rows.append(row)
            except UnicodeDecodeError:
                unreadable.append((row, f"line {number}: the line is no UTF-8 text"))
            except TirerulesError as error:
                unreadable.append((row, f"line {number}: {error}"))
        return Chunk(self._table(read), np.array(rows, dtype=np.int64), tuple(unreadable), end)

    @abstractmethod
    def _read(self, line: str) -> Any:
        """Read one line into what `_table` takes. Raises TirerulesError."""

    @abstractmethod
    def _table(self, read: list[Any]) -> pa.Table:
        """Return the table of the lines that were read."""


def _line(file: BinaryIO) -> bytes | None:
    """Read one line; empty at the end of the file, None for one that is too long to be a ticket."""
    line = file.readline(_LONGEST_LINE)
    if len(line) < _LONGEST_LINE or line.endswith(b"\n"):
        return line
    while line and not line.endswith(b"\n"):
        line = file.readline(_LONGEST_LINE)
    return None


def _texts(names: Iterable[str]) -> pa.Schema:
    """Return the schema of columns that are all of text."""
    return pa.schema([pa.field(name, pa.string()) for name in names])


class _Csv(_Lines):
    """A header line, then one line a ticket. An empty cell is null."""

    form = "csv"

    def __init__(self, path: Path, keep: Sequence[str]) -> None:
        super().__init__(path, keep)
        with path.open("rb") as file:
            file.seek(self.start.offset)
            header = _line(file)
            self.start = Position(line=1, offset=file.tell())
        if not header or not header.strip():
            raise _refusal(path, "the file has no header line", "name the columns in the first line")
        try:
            self.names = _cells(header.decode("utf-8").rstrip("\r\n"))
        except UnicodeDecodeError:
            raise _refusal(path, "the header line is no UTF-8 text") from None
        check_columns(_texts(self.names), keep)

    def _read(self, line: str) -> str | list[str | None]:
        """Return a line as it is where only commas divide it; else its cells."""
        if '"' not in line and "\r" not in line:
            found = line.count(",") + 1
            cells = None
        else:
            cells = [cell or None for cell in _cells(line)]
            found = len(cells)
        if found != len(self.names):
            raise _refusal("", f"{found} cells where the header names {len(self.names)} columns")
        return line if cells is None else cells

    def _table(self, read: list[Any]) -> pa.Table:
        plain = [line for line in read if isinstance(line, str)]
        quoted = [cells for cells in read if not isinstance(cells, str)]
        tables = [self._from_text("\n".join(plain).encode()), self._from_cells(quoted)]
        if plain and quoted:  # each kind of line is read at once, then all are put back in order
            order = [at for at, line in enumerate(read) if isinstance(line, str)]
            order += [at for at, line in enumerate(read) if not isinstance(line, str)]
            return pa.concat_tables(tables).take(pa.array(np.argsort(order)))
        return tables[0] if plain else tables[1]

    def _from_text(self, text: bytes) -> pa.Table:
        if not text:
            return self._from_cells([])
        return pa.csv.read_csv(
            pa.BufferReader(text),
            read_options=pa.csv.ReadOptions(column_names=self.names, use_threads=False, block_size=4 * _LONGEST_LINE),
            parse_options=pa.csv.ParseOptions(quote_char=False, ignore_empty_lines=False),
            convert_options=pa.csv.ConvertOptions(
                column_types=dict.fromkeys(self.names, pa.string()), null_values=[""], strings_can_be_null=True
            ),
        )

    def _from_cells(self, rows: list[list[str | None]]) -> pa.Table:
        columns = zip(*rows, strict=True) if rows else ((),) * len(self.names)
        return pa.table([pa.array(column, pa.string()) for column in columns], names=self.names)


def _cells(line: str) -> list[str]:
    """Return the cells of one line. Raises BatchError where its quotes do not match."""
    try:
        return next(csv.reader((line,), strict=True), [])
    except csv.Error as error:
        hint = "a cell with a quotation mark stands in quotation marks, with the mark doubled"
        raise _refusal("", f"this is no line of a CSV file: {error}", hint) from None


class _JsonLines(_Lines):
    """One JSON ticket a line, nested as a case is or flat as a table is."""

    form = "jsonl"

    def __init__(self, path: Path, keep: Sequence[str]) -> None:
        super().__init__(path, keep)
        check_columns(_texts(dict.fromkeys((*REQUIRED, *keep))), keep)

    def _read(self, line: str) -> dict[str, str | None]:
        return flat_row(parse(line), self.keep)

    def _table(self, read: list[dict[str, str | None]]) -> pa.Table:
        names = dict.fromkeys((*REQUIRED, *self.keep, *(name for row in read for name in row)))
        return pa.table({name: pa.array([row.get(name) for row in read], pa.string()) for name in names})


#: The formats that tickets are read from, by name; the name is also the file's suffix.
SOURCES: Final[Mapping[str, Callable[[Path, Sequence[str]], Source]]] = MappingProxyType(
    {"parquet": _Parquet, "csv": _Csv, "jsonl": _JsonLines}
)


def open_source(path: Path, keep: Sequence[str], form: str | None = None) -> Source:
    """Open a file of tickets, in the format `form` or that of its suffix.

    Raises MissingDataError where there is no file, BatchError where it is none of the formats or has wrong columns.
    """
    form = form or path.suffix.removeprefix(".").lower()
    if form not in SOURCES:
        hint = f"name it .{', .'.join(SOURCES)}, or say the format"
        raise _refusal(path, "the file's name does not say its format", hint)
    try:
        return SOURCES[form](path, keep)
    except OSError as error:
        raise MissingDataError(f"{path}: {error.strerror or error}") from None


def _refusal(place: str | Path, message: str, hint: str = "") -> BatchError:
    return BatchError([Problem("batch-file", message, hint, file=str(place))])
