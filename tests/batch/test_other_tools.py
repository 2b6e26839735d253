"""Tickets from a SQL engine and a data-frame library: both hand out Arrow streams, which is all that is needed."""

from __future__ import annotations

import duckdb
import polars

from tests.batch.tickets import PLAIN, few_places, table_of
from tirerules.batch import decide_batches

TABLE = table_of([{**PLAIN, "injury.diameter": f"{at} mm", "ticket": at} for at in range(4, 9)])
VERDICTS = ["within-limits"] * 3 + ["outside-limits"] * 2


def verdicts(streams):
    found = [row for answered in streams for row in answered.answers.to_pylist()]
    assert [row["row"] for row in found] == list(range(5))
    assert [row["ticket"] for row in found] == [4, 5, 6, 7, 8]
    return [row["verdict"] for row in found]


def test_the_batches_of_a_query():
    connection = duckdb.connect()
    connection.register("tickets", TABLE)
    query = "select * from tickets order by ticket"
    assert verdicts(decide_batches(few_places(), connection.sql(query), keep=["ticket"])) == VERDICTS


def test_a_data_frame_with_texts_or_categories():
    frame = polars.from_arrow(TABLE)
    assert verdicts(decide_batches(few_places(), frame, keep=["ticket"])) == VERDICTS
    assert verdicts(decide_batches(few_places(), [frame.to_arrow()], keep=["ticket"])) == VERDICTS
    words = [name for name in PLAIN if name != "ticket"]
    categories = frame.with_columns(polars.col(words).cast(polars.Categorical))
    assert verdicts(decide_batches(few_places(), categories, keep=["ticket"])) == VERDICTS
    slices = (each.to_arrow() for each in frame.iter_slices(2))
    assert verdicts(decide_batches(few_places(), slices, keep=["ticket"])) == VERDICTS
