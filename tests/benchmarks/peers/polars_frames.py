"""polars: the rules as one lazy filter; one thread, where POLARS_MAX_THREADS says so before its first import."""

from __future__ import annotations

import numpy as np
import polars as pl

from tests.benchmarks.exported import Program, placed, whole
from tests.benchmarks.flat import Flat
from tests.benchmarks.ladders import NONE, Ladder
from tests.benchmarks.peers.protocol import Rules, TellingPeer, Told, Verdicts
from tests.benchmarks.peers.sql import Sql
from tirerules.vocabulary import REPAIR_METHODS

__all__ = ["cold", "prepare", "text"]


def _least(ladder: Ladder) -> pl.Expr:
    """Return the least key of the limits that concern a ticket under its leading method."""
    keys: list[pl.Expr] = []
    for clause, key in ladder.rungs:
        concerned = pl.sql_expr(Sql().concerns(placed(clause)))
        if clause.method is not None:
            concerned &= pl.col("leading") == REPAIR_METHODS.index(clause.method)
        keys.append(pl.when(concerned).then(pl.lit(key, pl.Int64)).otherwise(pl.lit(NONE, pl.Int64)))
    return pl.min_horizontal(keys).alias(ladder.fact)


class _Frames(TellingPeer):
    def __init__(self, rules: Rules) -> None:
        # A filter leaves the rows that fail one condition out of the next; a column of a selection does not.
        wanted = whole(rules.clauses)
        self._within = pl.sql_expr(Sql().program(wanted))

        parts = {"common": wanted.common, **dict(zip(REPAIR_METHODS, wanted.methods, strict=True))}
        self._judged = {name: pl.sql_expr(Sql().every(clauses)) for name, clauses in parts.items()}
        self._keys = [_least(ladder) for ladder in rules.ladders]

    def load(self, tickets: Flat) -> pl.DataFrame:
        return pl.DataFrame(tickets.columns).with_row_index("ticket")

    def decide_loaded(self, loaded: pl.DataFrame) -> Verdicts:
        verdicts = np.zeros(loaded.height, bool)
        verdicts[loaded.lazy().filter(self._within).select("ticket").collect()["ticket"].to_numpy()] = True
        return verdicts

    def tell_loaded(self, loaded: pl.DataFrame) -> Told:
        leading = pl.lit(0)
        for at, method in reversed(list(enumerate(REPAIR_METHODS))):
            leading = pl.when(pl.col(method)).then(at).otherwise(leading)
        leading = pl.when(pl.col("common")).then(leading).otherwise(0)
        judged = loaded.lazy().with_columns(**self._judged).with_columns(leading=leading)
        within = pl.col("common") & pl.any_horizontal(REPAIR_METHODS)
        found = judged.select(within.alias("within"), *self._keys).collect()
        return Told(found["within"].to_numpy(), tuple(column.to_numpy() for column in found.get_columns()[1:]))


def prepare(rules: Rules) -> TellingPeer:
    """Return the engine with its rules."""
    return _Frames(rules)


def text(wanted: Program) -> str:
    """Return a program in the engine's own language."""
    return Sql().program(wanted)


def cold(wanted: Program, tickets: Flat, rules: str) -> str:
    """Return the source of a process that decides the first ticket and prints whether it is within the limits.

    `rules` is the source of what yields the text of `wanted`.
    """
    ticket = {fact: int(column[0]) for fact, column in tickets.columns.items()}
    return f"import polars as pl\nprint(pl.DataFrame([{ticket!r}]).filter(pl.sql_expr({rules})).height == 1)"
