"""Tickets decided by Spark in local mode with two workers: as many rows out as in, and the same answers."""

from __future__ import annotations

import os
import re
import sys
from datetime import date
from random import Random

import pyarrow as pa
import pyarrow.parquet
import pytest

import tirerules
from tests.batch.tickets import ROOT, generated_cases, row_of, table_of
from tests.support import program
from tirerules.batch import BatchError, decide_batch
from tirerules.batch.answers import TEXTS
from tirerules.batch.spark import decide_in_arrow, in_blocks
from tirerules.engine.parts import PackLock

pytestmark = pytest.mark.java

DAY = date(2026, 11, 25)
ROWS = 20_000
KEEP = {"ticket": "bigint"}


@pytest.fixture(scope="module")
def spark():
    from pyspark.sql import SparkSession

    if not os.environ.get("JAVA_HOME"):
        program("java")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PYTHONPATH", str(ROOT))  # for the workers
        patch.setenv("PYSPARK_PYTHON", sys.executable)
        patch.setenv("SPARK_LOCAL_IP", "127.0.0.1")
        builder = SparkSession.builder.master("local[2]").appName("invented tickets")
        for name, value in {"spark.ui.enabled": "false", "spark.driver.memory": "1g"}.items():
            builder = builder.config(name, value)
        session = builder.getOrCreate()
        session.sparkContext.setLogLevel("OFF")
        yield session
        session.stop()


@pytest.fixture(scope="module")
def table():
    """Twenty thousand tickets of a few hundred kinds, a hundredth of them bad."""
    rng = Random(9)
    kinds = [row_of(case, rng) for case in generated_cases(200)]
    bad = [{**kinds[0], "injury.angle": "steep"}, {**kinds[1], "jurisdictions": "US-XX"}]
    rows = [{**rng.choice(bad if rng.random() < 0.01 else kinds), "ticket": at} for at in range(ROWS)]
    return table_of(rows)


def test_two_workers_give_the_answers_of_one_process(spark, table, tmp_path):
    pa.parquet.write_table(table, tmp_path / "tickets.parquet")
    rulebook = tirerules.load()
    function, schema = decide_in_arrow(rulebook.lock, keep=KEEP, day=DAY)
    frame = in_blocks(spark.read.parquet(str(tmp_path / "tickets.parquet"))).repartition(4)
    found = frame.mapInArrow(function, schema).toArrow().sort_by("ticket")
    assert found.column_names == ["verdict", *TEXTS, "questions", "reason", "ticket"]
    assert found["ticket"].to_pylist() == list(range(ROWS)), "rows in are rows out"

    alone = decide_batch(rulebook, table, keep=["ticket"], day=DAY)
    assert alone.set_aside.num_rows > 100
    wanted = {row["ticket"]: row for row in (*alone.answers.to_pylist(), *alone.set_aside.to_pylist())}
    for row in found.to_pylist():
        same = wanted[row["ticket"]]
        assert row == {**dict.fromkeys(row), **{name: same[name] for name in row if name in same}}


def test_an_executor_with_other_packs_stops_the_job(spark, table, tmp_path):
    from pyspark.errors import PySparkException

    pa.parquet.write_table(table.slice(0, 10), tmp_path / "tickets.parquet")
    held = tirerules.load().lock
    version = held["US-SC"].version
    lock = {**held, "US-SC": PackLock(version, "0" * 64)}
    function, schema = decide_in_arrow(lock, keep=KEEP)
    frame = in_blocks(spark.read.parquet(str(tmp_path / "tickets.parquet")))
    said = re.escape(f"the packs differ from the lock: US-SC {version} has other content")
    with pytest.raises(PySparkException, match=said):
        frame.mapInArrow(function, schema).collect()


def test_packs_of_one_s_own_are_loaded_by_every_executor(spark, table, tmp_path):
    from tests.engine import rule
    from tests.support import pack_text

    own = tmp_path / "packs"
    own.mkdir()
    text = pack_text(rule("size", "limit: {fact: injury.diameter, at-most: 1 mm}"))
    (own / "invented-shop.yaml").write_text(text, encoding="utf-8")
    pa.parquet.write_table(table.slice(0, 500), tmp_path / "tickets.parquet")
    rulebook = tirerules.load(own)
    function, schema = decide_in_arrow(rulebook.lock, packs=[str(own)], keep=KEEP, day=DAY)
    frame = in_blocks(spark.read.parquet(str(tmp_path / "tickets.parquet")))
    found = frame.mapInArrow(function, schema).toArrow()
    assert "invented-shop/size" in found["size_rule"].to_pylist()


def test_a_session_is_needed():
    from pyspark.sql import SparkSession

    if SparkSession.getActiveSession() is not None:
        SparkSession.getActiveSession().stop()
    with pytest.raises(BatchError, match="there is no active Spark session -- start one, or give it as spark="):
        decide_in_arrow(tirerules.load().lock)
