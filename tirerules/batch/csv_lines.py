"""CSV with a header line, one ticket a line. An empty cell is null."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np
import pyarrow as pa
import pyarrow.csv

from tirerules.batch.chunks import Position, refusal
from tirerules.batch.lines import BOM, Lines, first_line
from tirerules.batch.tables import check_columns
from tirerules.batch.tickets import COLUMNS, Form

__all__ = ["CsvLines"]

_TEXT: Final = pa.string()
_CODED: Final = pa.dictionary(pa.int32(), pa.string())
_COMMA, _END, _RETURN, _QUOTE = b',\n\r"'


class CsvLines(Lines):
    """A CSV file of tickets."""

    form = "csv"

    def __init__(self, path: Path, keep: Sequence[str]) -> None:
        super().__init__(path, keep)
        with path.open("rb") as file:
            file.seek(self.start.offset)
            header = first_line(file)
            self.start = Position(line=1, offset=file.tell())
        if not header or not header.strip():
            raise refusal(path, "the file has no header line", "name the columns in the first line")
        try:
            self.names = _cells(header.decode("utf-8").rstrip("\r\n"))
        except UnicodeDecodeError:
            raise refusal(path, "the header line is no UTF-8 text") from None
        check_columns(pa.schema([pa.field(name, _TEXT) for name in self.names]), keep)
        #: Columns of few distinct texts are read as a dictionary and codes.
        coded = {name for name in self.names if COLUMNS.get(name, Form.JSON) is not Form.JSON and name not in keep}
        self._types = {name: _CODED if name in coded else _TEXT for name in self.names}

    def _block(self, text: bytes, count: int) -> pa.Table | None:
        quoting = _quoting(text)
        if quoting is None or (b"\r" in text and text.count(b"\r") != text.count(b"\r\n")) or not _is_utf8(text):
            return None
        try:
            table = self._by_arrow(text, quoting)
        except pa.ArrowInvalid:
            return None
        return table if table.num_rows == count else None

    def _by_arrow(self, text: bytes, quoting: bool) -> pa.Table:
        text = BOM + text  # Arrow takes one away, which must not be what the first cell begins with
        return pa.csv.read_csv(
            pa.BufferReader(text),
            read_options=pa.csv.ReadOptions(column_names=self.names, use_threads=False, block_size=len(text) + 1),
            parse_options=pa.csv.ParseOptions(quote_char='"' if quoting else False, ignore_empty_lines=False),
            convert_options=pa.csv.ConvertOptions(
                column_types=self._types, null_values=[""], strings_can_be_null=True, check_utf8=False
            ),
        )

    def _read(self, line: str) -> str | list[str | None]:
        """Return a line as it is where only commas divide it; else its cells."""
        if '"' not in line and "\r" not in line:
            found = line.count(",") + 1
            cells = None
        else:
            cells = [cell or None for cell in _cells(line)]
            found = len(cells)
        if found != len(self.names):
            raise refusal("", f"{found} cells where the header names {len(self.names)} columns")
        return line if cells is None else cells

    def _table(self, read: list[Any]) -> pa.Table:
        """Return the table of lines: those that only commas divide are read at once, then all are put in order."""
        plain = [at for at, line in enumerate(read) if isinstance(line, str)]
        quoted = [at for at, line in enumerate(read) if not isinstance(line, str)]
        cells = list(zip(*(read[at] for at in quoted), strict=True)) or [()] * len(self.names)
        columns = [pa.array(column, _TEXT) for column in cells]
        if plain:
            text = "\n".join(read[at] for at in plain).encode()
            found = self._by_arrow(text, quoting=False).columns
            order = pa.array(np.argsort([*plain, *quoted]))
            columns = [
                pa.concat_arrays([*one.cast(_TEXT).chunks, other]).take(order)
                for one, other in zip(found, columns, strict=True)
            ]
        coded = [
            column.dictionary_encode() if self._types[name] == _CODED else column
            for name, column in zip(self.names, columns, strict=True)
        ]
        return pa.table(coded, names=self.names)


def _quoting(text: bytes) -> bool | None:
    """Return whether quotes enclose cells of these lines, or mean nothing; None where that is for the line reader.

    Quotes enclose cells where every other one opens: behind a comma, a line's end or the quote that it doubles; and the
    next one closes, on the same line, before a comma, a line's end or a doubled quote. They mean nothing where no cell
    begins with one.
    """
    if b'"' not in text:
        return False
    if _longer(text, csv.field_size_limit()):
        return None  # the line reader takes no longer cells beside quotes
    held = np.frombuffer(b"\n" + text + b"\n", np.uint8)
    quotes = np.flatnonzero(held == _QUOTE)
    before, after = held[quotes - 1], held[quotes + 1]
    begins = (before == _COMMA) | (before == _END)
    if not begins.any():
        return False
    if len(quotes) % 2:
        return None
    opens = begins[::2] | (before[::2] == _QUOTE)
    closes = np.isin(after[1::2], (_COMMA, _END, _RETURN, _QUOTE))
    within = np.searchsorted(quotes, np.flatnonzero(held == _END))  # how many quotes stand before each line's end
    return True if opens.all() and closes.all() and not (within & 1).any() else None


def _longer(text: bytes, limit: int) -> bool:
    """Return whether a line is longer than `limit`."""
    at = 0
    while len(text) - at > limit:
        cut = text.rfind(b"\n", at, at + limit + 1)
        if cut < 0:
            return True
        at = cut + 1
    return False


def _is_utf8(text: bytes) -> bool:
    try:
        return text.isascii() or bool(text.decode("utf-8"))
    except UnicodeDecodeError:
        return False


def _cells(line: str) -> list[str]:
    """Return the cells of one line. Raises BatchError where its quotes do not match."""
    try:
        return next(csv.reader((line,), strict=True), [])
    except csv.Error as error:
        hint = "a cell with a quotation mark stands in quotation marks, with the mark doubled"
        raise refusal("", f"this is no line of a CSV file: {error}", hint) from None
