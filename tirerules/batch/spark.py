"""Tickets decided on many machines: a function for Spark's `DataFrame.mapInArrow` (the extra `tirerules[spark]`).

Every executor loads its own rulebook and demands exactly the packs of the lock: other packs there stop the job. A row
that cannot be decided comes out with its reason, so that as many rows come out as went in. Spark numbers no rows: keep
a column that names the ticket. Nor does `mapInArrow` take columns with a point in their names: `in_blocks` puts
`tire.class` and its like into a column `tire` of blocks.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date
from functools import lru_cache
from typing import Any, Final

import pyarrow as pa

from tirerules._version import __version__
from tirerules.batch.answers import TEXTS, Answered, plain
from tirerules.batch.columns import Decider
from tirerules.batch.errors import BatchError, MissingExtraError
from tirerules.engine.parts import PackLock
from tirerules.errors import LockError, Problem
from tirerules.record import lock_from_json, lock_to_json
from tirerules.rulebook import load

__all__ = ["decide_in_arrow", "in_blocks"]

_COLUMNS: Final = (("verdict", "string"), *((name, "string") for name in TEXTS), ("questions", "bigint"))


def decide_in_arrow(
    lock: Mapping[str, PackLock],
    *,
    packs: Sequence[str] = (),
    keep: Mapping[str, str] | None = None,
    day: date | None = None,
    spark: Any = None,
) -> tuple[Callable[[Iterable[pa.RecordBatch]], Iterator[pa.RecordBatch]], str]:
    """Return the function for `DataFrame.mapInArrow` and the schema of what it gives.

    `lock` is a rulebook's `lock`; `packs` names folders of packs as each executor finds them. `keep` maps columns to
    carry through to their Spark types, as `dict(frame.dtypes)` gives them. `day` is for rows without one (today where
    it is left out: one day for the whole job). `spark` is the session; the active one where it is left out.

        function, schema = decide_in_arrow(tirerules.load().lock, keep={"ticket": "string"})
        answers = in_blocks(tickets).mapInArrow(function, schema)

    On an executor whose packs or library are others, the job stops with LockError. Raises MissingExtraError where
    pyspark is missing, BatchError where there is no session.
    """
    kept = dict(keep or {})
    said = _session(spark).sparkContext.broadcast(json.dumps(lock_to_json(lock)))
    arguments = (tuple(map(str, packs)), tuple(kept), day or date.today(), __version__)

    def decide(batches: Iterable[pa.RecordBatch]) -> Iterator[pa.RecordBatch]:
        decider = _decider(said.value, *arguments)
        for batch in batches:
            yield from _together(decider.decide(pa.Table.from_batches([batch]))).to_batches()

    columns = (*_COLUMNS, ("reason", "string"), *kept.items())
    return decide, ", ".join(f"`{name}` {kind}" for name, kind in columns)


def in_blocks(frame: Any) -> Any:
    """Return a Spark frame whose columns with a point in their names are gathered into columns of blocks."""
    from pyspark.sql import functions

    blocks: dict[str, list[Any]] = {}
    columns = []
    for name in frame.columns:
        group, _, key = name.rpartition(".")
        if group:
            blocks.setdefault(group, []).append(functions.col(f"`{name}`").alias(key))
        else:
            columns.append(functions.col(name))
    return frame.select(*columns, *(functions.struct(*parts).alias(group) for group, parts in blocks.items()))


def _session(spark: Any) -> Any:
    try:
        from pyspark.sql import SparkSession
    except ImportError:
        raise MissingExtraError("spark", "pyspark") from None
    session = spark or SparkSession.getActiveSession()
    if session is None:
        raise BatchError(
            [Problem("batch-spark", "there is no active Spark session", "start one, or give it as spark=")]
        )
    return session


@lru_cache(maxsize=4)  # one rulebook for all the tasks of a worker process
def _decider(lock: str, packs: tuple[str, ...], keep: tuple[str, ...], day: date, engine: str) -> Decider:
    """Return this executor's decider. Raises LockError where its packs or its library are not those of the lock."""
    if engine != __version__:
        raise LockError([f"this executor has tirerules {__version__}, the job was made with {engine}"])
    return Decider(load(*packs, lock=lock_from_json(json.loads(lock))), keep=keep, day=day)


def _together(answered: Answered) -> pa.Table:
    """Return answers and rows set aside as one table in the order of the rows, with plain texts."""
    both = pa.concat_tables([plain(answered.answers), answered.set_aside], promote_options="permissive")
    kept = answered.set_aside.column_names[2:]
    return both.sort_by("row").select([*(name for name, _ in _COLUMNS), "reason", *kept])
