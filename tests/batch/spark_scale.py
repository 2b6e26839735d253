"""Five million invented tickets by Spark with two local workers against one process: equal in every row, or it says so.

Not collected by the test command; run it by hand, from the top of the checkout:

    python -m tests.batch.spark_scale [--rows 5000000] [--kinds 2000] [--seed 1]

It prints how long each side took and ends with an error where the two differ. Timings of this library that anybody
should rely on come from `tests/benchmarks/`; this script is about equality at scale.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.dataset
import pyarrow.parquet

import tirerules
from tests.benchmarks.tickets import tickets
from tirerules.batch import audit
from tirerules.batch.answers import TEXTS
from tirerules.batch.spark import decide_in_arrow, in_blocks

DAY = date(2026, 11, 25)
ROOT = Path(__file__).parents[2]
COMPARED = ("verdict", *TEXTS, "questions")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--rows", type=int, default=5_000_000)
    parser.add_argument("--kinds", type=int, default=2_000, help="how many distinct tickets the rows are drawn from")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with told("generated"):
            generate(folder / "tickets.parquet", options.rows, options.kinds, options.seed)
        rulebook = tirerules.load()
        with told("one process"):
            report = audit(rulebook, folder / "tickets.parquet", folder / "alone", keep=["ticket"], day=DAY)
        print(f"  {report.rows} rows, {report.set_aside} set aside, {dict(report.counts)}")
        with told("Spark, two workers, with its start"):
            by_spark(rulebook, folder / "tickets.parquet", folder / "spark")
        with told("compared"):
            compare(folder, options.rows, report.set_aside)


@contextmanager
def told(what: str) -> Iterator[None]:
    start = time.perf_counter()
    yield
    print(f"{what}: {time.perf_counter() - start:.1f} s", flush=True)


def generate(path: Path, rows: int, kinds: int, seed: int) -> None:
    """Write tickets with a number each, drawn from `kinds` distinct ones of which the first is bad."""
    table = tickets(kinds, seed)
    places = pc.if_else(pa.array([True] + [False] * (kinds - 1)), "US-XX", table["jurisdictions"].cast(pa.string()))
    table = table.set_column(table.column_names.index("jurisdictions"), "jurisdictions", places)
    drawn = np.random.default_rng(seed).integers(0, kinds, rows)
    with pa.parquet.ParquetWriter(path, table.schema.append(pa.field("ticket", pa.int64()))) as writer:
        for first in range(0, rows, 500_000):
            part = drawn[first : first + 500_000]
            numbers = pa.array(np.arange(first, first + len(part)))
            writer.write_table(table.take(pa.array(part)).append_column("ticket", numbers))


def by_spark(rulebook: tirerules.Rulebook, source: Path, target: Path) -> None:
    from pyspark.sql import SparkSession

    os.environ["PYTHONPATH"] = str(ROOT)
    os.environ["PYSPARK_PYTHON"] = sys.executable
    spark = SparkSession.builder.master("local[2]").config("spark.ui.enabled", "false").getOrCreate()
    try:
        function, schema = decide_in_arrow(rulebook.lock, keep={"ticket": "bigint"}, day=DAY)
        frame = in_blocks(spark.read.parquet(str(source)))
        frame.mapInArrow(function, schema).write.parquet(str(target))
    finally:
        spark.stop()


def compare(folder: Path, rows: int, set_aside: int) -> None:
    """Raise SystemExit where Spark lost a row, or answered one differently."""
    found = in_order(pa.dataset.dataset(folder / "spark", format="parquet").to_table())
    alone = in_order(
        pa.dataset.dataset(sorted(map(str, (folder / "alone").glob("part-*"))), format="parquet").to_table()
    )
    if not np.array_equal(found["ticket"].to_numpy(), np.arange(rows)):
        raise SystemExit(f"Spark gave {found.num_rows} rows, not each of the {rows} once")
    bad = pc.is_valid(found["reason"])
    if pc.sum(bad).as_py() != set_aside:
        raise SystemExit(f"Spark set {pc.sum(bad).as_py()} rows aside, one process {set_aside}")
    good = found.filter(pc.invert(bad))
    for name in ("ticket", *COMPARED):
        if not plain(good[name]).equals(plain(alone[name])):
            raise SystemExit(f"the two differ in the column {name}")
    print(f"  {rows} rows, equal in {', '.join(COMPARED)}")


def in_order(table: pa.Table) -> pa.Table:
    return table.take(pc.sort_indices(table["ticket"]))


def plain(column: pa.ChunkedArray) -> Any:
    text = pa.types.is_dictionary(column.type) or pa.types.is_string(column.type)
    return (column.cast(pa.string()) if text else column).combine_chunks()


if __name__ == "__main__":
    main()
