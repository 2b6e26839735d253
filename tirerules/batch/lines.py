"""A file of lines, one ticket a line: read by Arrow a block at a time, line by line where Arrow would not be exact.

A broken line costs only itself, so that nothing in a line may hold a line break. Blank lines are no rows.
"""

from __future__ import annotations

import io
import itertools
from abc import abstractmethod
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, BinaryIO, Final

import numpy as np
import pyarrow as pa

from tirerules.batch.chunks import Chunk, Position, Source, refusal
from tirerules.errors import TirerulesError

__all__ = ["BOM", "Lines", "first_line"]

#: A longer line, its end included, is no ticket; it is passed over without being held.
_LONGEST_LINE: Final = 1 << 20
#: How many bytes are read at a time.
_BLOCK: Final = 1 << 22
#: A block that Arrow does not take is halved until so few lines are left, which are read one by one.
_FEW_LINES: Final = 128
#: What shells on some systems write before a text.
BOM: Final = b"\xef\xbb\xbf"


class Lines(Source):
    """A file of lines."""

    unit = "B"

    def __init__(self, path: Path, keep: Sequence[str]) -> None:
        super().__init__(path, keep)
        with path.open("rb") as file:
            if file.read(len(BOM)) == BOM:
                self.start = Position(offset=len(BOM))

    def chunks(self, start: Position, size: int) -> Iterator[Chunk]:
        """Yield the rows from `start` on, as `Source` says."""
        with self.path.open("rb") as file:
            file.seek(start.offset)
            now, pieces, left = start, list[Chunk](), size
            for lines, length in _blocks(file):
                stated = _stated(lines)
                done = taken = 0
                while taken < len(lines):
                    mine = stated[done : done + left]
                    done += len(mine)
                    until = mine[-1] + 1 if len(mine) == left else len(lines)  # a full chunk ends with its last row
                    whole = until - taken == len(lines)
                    read = length if whole else sum(map(len, filter(None, lines[taken:until])))
                    numbers = [now.line + 1 + at - taken for at in mine]
                    now = Position(now.row + len(mine), now.line + until - taken, now.offset + read)
                    pieces += self._pieces([lines[at] for at in mine], numbers, now)
                    taken, left = until, left - len(mine)
                    if not left:
                        yield _together(pieces)
                        pieces, left = [], size
            if left < size or now.row == 0:
                yield _together(pieces or list(self._pieces([], [], now)))

    def done(self, position: Position) -> int:
        """Return how many bytes lie before `position`."""
        return position.offset

    def _pieces(self, lines: Sequence[bytes | None], numbers: Sequence[int], end: Position) -> Iterator[Chunk]:
        """Yield the rows of lines, with their numbers in the file; None is a line that is too long and stands alone.

        `end` is where the last of the rows ends.
        """
        first = end.row - len(lines)
        text = None if None in lines[:1] else b"".join(filter(None, lines))
        table = self._block(text, len(lines)) if text else None
        if table is not None:
            yield Chunk(table, np.arange(first, end.row, dtype=np.int64), (), end)
        elif len(lines) > _FEW_LINES:
            half = len(lines) // 2
            yield from self._pieces(lines[:half], numbers[:half], replace(end, row=first + half))
            yield from self._pieces(lines[half:], numbers[half:], end)
        else:
            yield self._one_by_one(zip(numbers, lines, strict=True), first, end)

    def _one_by_one(self, numbered: Iterable[tuple[int, bytes | None]], first: int, end: Position) -> Chunk:
        rows: list[int] = []
        read: list[Any] = []
        unreadable: list[tuple[int, str]] = []
        for row, (number, line) in enumerate(numbered, start=first):
            try:
                if line is None:
                    raise refusal("", f"the line is longer than {_LONGEST_LINE} bytes")
                read.append(self._read(line.decode("utf-8").rstrip("\r\n")))
                rows.append(row)
            except UnicodeDecodeError:
                unreadable.append((row, f"line {number}: the line is no UTF-8 text"))
            except TirerulesError as error:
                unreadable.append((row, f"line {number}: {error}"))
        return Chunk(self._table(read), np.array(rows, dtype=np.int64), tuple(unreadable), end)

    @abstractmethod
    def _block(self, text: bytes, count: int) -> pa.Table | None:
        """Return the table of `count` lines, none of them blank; None where only the line reader reads them exactly."""

    @abstractmethod
    def _read(self, line: str) -> Any:
        """Read one line into what `_table` takes. Raises TirerulesError."""

    @abstractmethod
    def _table(self, read: list[Any]) -> pa.Table:
        """Return the table of the lines that were read."""


def first_line(file: BinaryIO) -> bytes | None:
    """Read one line; empty at the end of the file, None for one that is too long."""
    line = file.readline(_LONGEST_LINE + 1)
    return None if len(line) > _LONGEST_LINE else line


def _blocks(file: BinaryIO) -> Iterator[tuple[list[bytes | None], int]]:
    """Yield the lines of a file with their ends, some MiB at a time, and how many bytes they are.

    A line that is too long is None and stands alone.
    """
    rest = b""
    while read := file.read(_BLOCK):
        lines = io.BytesIO(rest + read).readlines()
        rest = b"" if lines[-1].endswith(b"\n") else lines.pop()
        if max(map(len, lines), default=0) <= _LONGEST_LINE:
            yield list(lines), sum(map(len, lines))
        else:
            for line in lines:
                yield [None if len(line) > _LONGEST_LINE else line], len(line)
        if len(rest) > _LONGEST_LINE:
            length, rest = len(rest), b""
            while read := file.readline(_BLOCK):
                length += len(read)
                if read.endswith(b"\n"):
                    break
            yield [None], length
    if rest:
        yield [rest], len(rest)


def _stated(lines: Sequence[bytes | None]) -> Sequence[int]:
    """Return where the lines stand that are not blank."""
    if None in lines[:1] or not any(map(bytes.isspace, filter(None, lines))):
        return range(len(lines))
    return [at for at, line in enumerate(lines) if line and not line.isspace()]


def _together(pieces: Sequence[Chunk]) -> Chunk:
    return Chunk(
        pa.concat_tables([piece.table for piece in pieces], promote_options="default"),
        np.concatenate([piece.rows for piece in pieces]),
        tuple(itertools.chain.from_iterable(piece.unreadable for piece in pieces)),
        pieces[-1].end,
    )
