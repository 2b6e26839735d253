"""What a file of tickets is to an audit: chunks of rows with their numbers, and how far the file has been read."""

from __future__ import annotations

import hashlib
from abc import ABC, abstractmethod
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pyarrow as pa

from tirerules.batch.errors import BatchError
from tirerules.errors import Problem

__all__ = ["Chunk", "Position", "Source", "refusal"]


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


def refusal(place: str | Path, message: str, hint: str = "") -> BatchError:
    """Return the error of a file that is no file of tickets, or of a line that is none (`place` is then empty)."""
    return BatchError([Problem("batch-file", message, hint, file=str(place))])
