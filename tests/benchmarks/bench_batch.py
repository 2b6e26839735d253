"""Batches: the first pass over a table of plain text columns, on one core, beside engines that read the same text.

None of the engines knows units, dates or lists of findings, so what they need of the text is read for them as quickly
as we know how (`tests.benchmarks.flat`), and timed with them. Beside that stand tables that are in each engine's own
form already.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable
from functools import partial
from typing import Any, Final

import pyarrow as pa

import tirerules
from tests.benchmarks.asking import fresh_seeds
from tests.benchmarks.context import Context
from tests.benchmarks.flat import Flat
from tests.benchmarks.measuring import Sample, Table, affordable, cpu, say
from tests.benchmarks.peers.protocol import ColumnPeer, TellingPeer
from tests.benchmarks.tickets import in_plain_text, tickets
from tirerules.batch import Decider, decide_batch

__all__ = ["measure"]

_TURNS: Final = 3
_SECONDS: Final = 60.0
#: Rows that take longer than this for a sample are given fewer of them, and say how many.
_LONGEST: Final = 3.0


class _Tables:
    """New tables of one spread, one for each turn; those of a turn are shared by the rows that compare them."""

    def __init__(self, rows: int, *, plain: bool = True, **shape: Any) -> None:
        self.rows, self._plain, self._shape = rows, plain, shape
        self._turn, self._table = -1, pa.table({})

    def of(self, turn: int) -> pa.Table:
        """Return the table of a turn."""
        if turn != self._turn:
            self._turn, self._table = turn, self.new()
        return self._table

    def new(self) -> pa.Table:
        """Return a table that nobody has seen."""
        drawn = tickets(self.rows, next(fresh_seeds()), **self._shape)
        return in_plain_text(drawn) if self._plain else drawn


def _decided(decider: Decider, table: pa.Table, rows: int) -> None:
    answered = decider.decide(table)
    if answered.answers.num_rows != rows:
        raise AssertionError(f"{answered.set_aside.num_rows} rows are set aside: {answered.set_aside.slice(0, 3)}")


class _Library:
    """Decides a new table in each turn by a rulebook that has decided nothing; then others by the same one."""

    def __init__(self, tables: _Tables, **options: Any) -> None:
        self._tables, self._options = tables, options
        self._decider = Decider(tirerules.load(), **options)

    def first(self, turn: int) -> float:
        """The first pass of a process, compiling what it needs of the rules."""
        self._decider = Decider(tirerules.load(), **self._options)
        return self._sample(self._tables.of(turn))

    def second(self, turn: int) -> float:
        """A second table of the same spread."""
        return self._sample(self._tables.new())

    def again(self, turn: int) -> float:
        """The rows of the first table once more."""
        return self._sample(self._tables.of(turn))

    def _sample(self, table: pa.Table) -> float:
        return cpu(_decided, self._decider, table, table.num_rows) / table.num_rows


def _peer(tables: _Tables, given: Callable[[pa.Table], Any], work: Callable[[Any], object]) -> Sample:
    """Return what samples a peer on the table of a turn; `given` makes of it what the peer is given, untimed."""

    def sample(turn: int) -> float:
        table = tables.of(turn)
        return cpu(work, given(table)) / table.num_rows

    return sample


def measure(context: Context) -> None:
    """Measure batches."""
    _known(context)
    _unknown(context)
    _worked_out(context)


def _known(context: Context) -> None:
    tables = _Tables(_affordable(context.rows, known=True), known=True)
    repeated = tables.of(0).num_rows - tables.of(0).group_by(tables.of(0).column_names).aggregate([]).num_rows
    say("", f"of {tables.rows:,} rows {repeated:,} stand twice")
    library, coded = _Library(tables), _Tables(tables.rows, plain=False, known=True)
    telling = {context.package(name): peer for name, peer in context.peers.items() if isinstance(peer, TellingPeer)}
    deciding = {context.package(name): peer for name, peer in context.peers.items() if isinstance(peer, ColumnPeer)}

    title = f"{tables.rows:,} rows of plain text, nothing unknown: verdict, limits, binding rules"
    table = Table(title, unit="row")
    table.add("tirerules.batch: first pass (all rules that bind, first failing rule)", library.first, rate=1_000_000)
    table.add("tirerules.batch: a second table of the same spread", library.second, rate=1_000_000)
    table.add("tirerules.batch: same rows again", library.again, role="again")
    for package, peer in telling.items():
        work = partial(_told, peer)
        table.add(f"{package}: the first rule that binds, two facts", _peer(tables, _as_it_is, work), role="peer")
    for package, peer in deciding.items():
        work = partial(_verdicts, peer)
        role = "less" if package in telling else "peer"
        table.add(f"{package}: the verdict alone", _peer(tables, _as_it_is, work), role=role)
    table.run(turns=_TURNS, seconds=_SECONDS)

    title = f"{tables.rows:,} rows in each one's own codes, nothing unknown: verdict, limits, binding rules"
    table = Table(title, unit="row")
    table.add("tirerules.batch: dictionary-encoded text, first pass", _Library(coded).first, rate=1_800_000)
    for package, peer in telling.items():
        table.add(
            f"{package}: the first rule that binds, two facts",
            _peer(coded, _loaded(peer), peer.tell_loaded),
            role="peer",
        )
    for package, peer in deciding.items():
        table.add(f"{package}: the verdict alone", _peer(coded, _loaded(peer), peer.decide_loaded), role="less")
    table.run(turns=_TURNS, seconds=_SECONDS)


def _unknown(context: Context) -> None:
    shape = {"blank": 0.3}
    tables = _Tables(_affordable(context.rows, **shape), **shape)
    table = Table(f"{tables.rows:,} rows of plain text, 30 % of the cells unknown (no peer could answer)", unit="row")
    library = _Library(tables)
    table.add("tirerules.batch: first pass, with questions", library.first, rate=200_000)
    table.add("tirerules.batch: a second table of the same spread, with questions", library.second, rate=200_000)
    table.add("tirerules.batch: same rows again, with questions", library.again, role="again")
    optional = "questions" in inspect.signature(Decider).parameters
    if optional:
        table.add(
            "tirerules.batch: first pass, without questions", _Library(tables, questions=False).first, rate=500_000
        )
    table.run(turns=_TURNS, seconds=_SECONDS)
    if not optional:
        say("  tirerules.batch: first pass, without questions: NOT MEASURED, Decider has no parameter `questions`")


def _worked_out(context: Context) -> None:
    for what, shape in (
        ("with a tire size", {"sized": True}),
        ("measured", {"measured": True}),
        ("measured, two injuries", {"measured": True, "injuries": 2}),
        ("two injuries in named zones", {"injuries": 2}),
    ):
        tables = _Tables(_affordable(min(context.rows, 300_000), **shape), **shape)
        table = Table(f"{tables.rows:,} rows of plain text, {what} (no peer could answer)", unit="row")
        library = _Library(tables)
        table.add("tirerules.batch: first pass", library.first, rate=300_000)
        table.add("tirerules.batch: a second table of the same spread", library.second, rate=300_000)
        table.run(turns=_TURNS, seconds=_SECONDS / 4)


def _affordable(wanted: int, **shape: Any) -> int:
    """Return how many rows a sample of the library may have."""
    rulebook = tirerules.load()
    decide_batch(rulebook, in_plain_text(tickets(1_000, next(fresh_seeds()), **shape)))

    def spent(count: int) -> float:
        return cpu(decide_batch, rulebook, in_plain_text(tickets(count, next(fresh_seeds()), **shape)))

    return affordable(spent, wanted, _LONGEST)


def _as_it_is(table: pa.Table) -> pa.Table:
    return table


def _loaded(peer: ColumnPeer) -> Callable[[pa.Table], Any]:
    return lambda table: peer.load(Flat.of(table))


def _told(peer: TellingPeer, table: pa.Table) -> None:
    peer.tell_loaded(peer.load(Flat.of(table)))


def _verdicts(peer: ColumnPeer, table: pa.Table) -> None:
    peer.decide_loaded(peer.load(Flat.of(table)))
