"""duckdb: the rules as one condition over a table in its own storage, one thread."""

from __future__ import annotations

import duckdb
import numpy as np
import pyarrow as pa

from tests.benchmarks.exported import Program, placed, whole
from tests.benchmarks.flat import Flat
from tests.benchmarks.ladders import NONE, Ladder
from tests.benchmarks.peers.protocol import Rules, TellingPeer, Told, Verdicts
from tests.benchmarks.peers.sql import Sql
from tirerules.vocabulary import REPAIR_METHODS

__all__ = ["cold", "prepare", "text"]


def _telling(rules: Rules) -> str:
    """Return the query that tells verdict and limits in the order of the tickets."""
    sql, wanted = Sql(), whole(rules.clauses)
    judged = ", ".join(f"({sql.every(method)}) AS method{at}" for at, method in enumerate(wanted.methods))
    others = " ".join(f"WHEN method{at} THEN {at}" for at in range(len(wanted.methods)))
    keys = ", ".join(f"{_least(sql, ladder)} AS key{at}" for at, ladder in enumerate(rules.ladders))
    return f"""
        WITH judged AS (SELECT *, ({sql.every(wanted.common)}) AS common, {judged} FROM tickets),
        led AS (SELECT *, CASE WHEN NOT common THEN 0 {others} ELSE 0 END AS chosen FROM judged)
        SELECT common AND ({" OR ".join(f"method{at}" for at in range(len(wanted.methods)))}) AS within, {keys} FROM led
    """


def _least(sql: Sql, ladder: Ladder) -> str:
    keys = []
    for clause, key in ladder.rungs:
        led = f"chosen = {REPAIR_METHODS.index(clause.method)} AND " if clause.method else ""
        keys.append(f"CASE WHEN {led}{sql.concerns(placed(clause))} THEN {key} ELSE {NONE} END")
    return f"LEAST({', '.join(keys)})"


class _Duck(TellingPeer):
    def __init__(self, rules: Rules) -> None:
        # A condition of WHERE stops at the first answer; a column of SELECT works every part out.
        self._query = f"SELECT ticket FROM tickets WHERE {Sql().program(whole(rules.clauses))}"

        self._telling = _telling(rules)
        self._ladders = len(rules.ladders)

    def load(self, tickets: Flat) -> tuple[duckdb.DuckDBPyConnection, int]:
        connection = duckdb.connect()
        connection.execute("SET threads TO 1")
        count = len(tickets.columns["on"])
        connection.register("given", pa.table({"ticket": np.arange(count), **tickets.columns}))
        connection.execute("CREATE TABLE tickets AS SELECT * FROM given")
        return connection, count

    def decide_loaded(self, loaded: tuple[duckdb.DuckDBPyConnection, int]) -> Verdicts:
        connection, count = loaded
        verdicts = np.zeros(count, bool)
        verdicts[connection.execute(self._query).fetchnumpy()["ticket"]] = True
        return verdicts

    def tell_loaded(self, loaded: tuple[duckdb.DuckDBPyConnection, int]) -> Told:
        found = loaded[0].execute(self._telling).fetchnumpy()
        return Told(found["within"], tuple(found[f"key{at}"] for at in range(self._ladders)))


def prepare(rules: Rules) -> TellingPeer:
    """Return the engine with its rules."""
    return _Duck(rules)


def text(wanted: Program) -> str:
    """Return a program in the engine's own language."""
    return Sql().program(wanted)


def cold(wanted: Program, tickets: Flat, rules: str) -> str:
    """Return the source of a process that decides the first ticket and prints whether it is within the limits.

    `rules` is the source of what yields the text of `wanted`.
    """
    values = ", ".join(f'{int(column[0])}::BIGINT AS "{fact}"' for fact, column in tickets.columns.items())
    query = f"SELECT count(*) = 1 FROM (SELECT {values}) WHERE "
    return f"import duckdb\nprint(duckdb.connect().execute({query!r} + {rules}).fetchone()[0])"
