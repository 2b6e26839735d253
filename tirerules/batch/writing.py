"""Answers to files: Parquet, CSV, JSON lines. A file appears whole or not at all."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

import pyarrow as pa
import pyarrow.csv
import pyarrow.parquet

from tirerules.batch.answers import plain
from tirerules.batch.errors import BatchError
from tirerules.batch.json_writing import write_json_lines
from tirerules.errors import Problem

__all__ = ["WRITERS", "write_json", "write_whole"]


def write_whole(path: Path, write: Callable[[Path], None]) -> int:
    """Let `write` fill a file beside `path`, then put it in its place; return its size in bytes.

    Raises BatchError where it cannot be written.
    """
    beside = path.with_name(f".{path.name}.unfinished")
    try:
        write(beside)
        with beside.open("rb") as file:
            os.fsync(file.fileno())
        beside.replace(path)
        return path.stat().st_size
    except (OSError, pa.ArrowException, UnicodeDecodeError) as error:
        message = f"this could not be written: {getattr(error, 'strerror', None) or error}"
        raise BatchError([Problem("batch-write", message, file=str(path))]) from None


def write_json(path: Path, said: Mapping[str, Any]) -> int:
    """Write one JSON document, each key on a line of its own, and each item of a list."""
    text = "{\n" + ",\n".join(f"  {json.dumps(key)}: {_shown(value)}" for key, value in said.items()) + "\n}\n"
    return write_whole(path, lambda beside: _write_text(beside, text))


def _shown(value: Any) -> str:
    if isinstance(value, list) and value:
        return "[\n    " + ",\n    ".join(json.dumps(each, ensure_ascii=False) for each in value) + "\n  ]"
    return json.dumps(value, ensure_ascii=False)


def _write_text(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")


def _parquet(table: pa.Table, path: Path) -> None:
    pa.parquet.write_table(table, path)


def _csv(table: pa.Table, path: Path) -> None:
    pa.csv.write_csv(plain(table), path)


#: How a table is written, by format; the format is also the file's suffix.
WRITERS: Final = MappingProxyType({"parquet": _parquet, "csv": _csv, "jsonl": write_json_lines})
