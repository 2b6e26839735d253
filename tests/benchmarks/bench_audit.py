"""`audit`: a file of tickets that never repeat, decided by a rulebook that has decided nothing, answers written."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterable
from functools import partial
from itertools import count
from pathlib import Path
from typing import Final

import pyarrow as pa
import pyarrow.csv
import pyarrow.parquet

import tirerules
from tests.benchmarks.asking import fresh_seeds
from tests.benchmarks.context import Context
from tests.benchmarks.measuring import Sample, Table, affordable, cpu
from tests.benchmarks.tickets import documents, in_plain_text, tickets
from tirerules.batch import audit

__all__ = ["measure"]

_SECONDS: Final = 40.0
_LONGEST: Final = 3.0
_NUMBERS: Final = count()

Write = Callable[[pa.Table, Path], None]


def _parquet(table: pa.Table, file: Path) -> None:
    pa.parquet.write_table(in_plain_text(table), file)


def _csv(table: pa.Table, file: Path) -> None:
    pa.csv.write_csv(in_plain_text(table), file)


def _lines(table: pa.Table, file: Path) -> None:
    with file.open("w", encoding="utf-8") as lines:
        lines.writelines(json.dumps(each) + "\n" for each in documents(table))


def _flat_lines(table: pa.Table, file: Path) -> None:
    with file.open("w", encoding="utf-8") as lines:
        lines.writelines(_stated(row) for row in in_plain_text(table).to_pylist())


def _stated(row: dict[str, str | None]) -> str:
    return json.dumps({name: said for name, said in row.items() if said is not None}) + "\n"


def _spent(context: Context, write: Write, suffix: str, rows: int) -> float:
    """Return the CPU seconds of an audit; writing the file of tickets is not timed."""
    file = context.folder / f"tickets.{suffix}"
    write(tickets(rows, next(fresh_seeds()), known=True), file)
    rulebook, answers = tirerules.load(), context.folder / f"answers{next(_NUMBERS)}"

    def work() -> None:
        report = audit(rulebook, file, answers)
        if (report.rows, report.set_aside) != (rows, 0):
            raise AssertionError(f"{report} of {rows} rows")

    spent = cpu(work)
    shutil.rmtree(answers)
    return spent


def _sample(context: Context, write: Write, suffix: str, rows: int) -> Sample:
    return lambda turn: _spent(context, write, suffix, rows) / rows


def measure(context: Context) -> None:
    """Measure audits."""
    table = Table("audit of a file, nothing unknown, answers to Parquet", unit="row")
    forms: Iterable[tuple[str, Write, str, int, int]] = (
        ("Parquet", _parquet, "parquet", 600_000, 1_000_000),
        ("CSV", _csv, "csv", 400_000, 1_000_000),
        ("JSON lines, nested as cases are", _lines, "jsonl", 120_000, 200_000),
        ("JSON lines, flat as tables are", _flat_lines, "jsonl", 120_000, 200_000),
    )
    for name, write, suffix, rate, wanted in forms:
        _spent(context, write, suffix, 1_000)  # what is only imported when first needed is no part of the probe
        probe = partial(_spent, context, write, suffix)
        rows = affordable(probe, min(wanted, context.rows), _LONGEST)
        table.add(f"tirerules audit: {name}, {rows:,} rows", _sample(context, write, suffix, rows), rate=rate)
    table.run(turns=3, seconds=_SECONDS)
