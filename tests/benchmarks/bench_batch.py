"""Batches: columns in, columns out, on one core, beside engines that decide columns and engines that decide rows."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import pyarrow as pa
import pytest

from tests.benchmarks.agreement import Common, DisagreementError, chosen, demand_agreement
from tests.benchmarks.conftest import Timed
from tests.benchmarks.ladders import LIMITED
from tests.benchmarks.peers import MODULES
from tests.benchmarks.peers.protocol import ColumnPeer, Peer, RowPeer, Rules, TellingPeer
from tests.benchmarks.tickets import tickets as drawn
from tirerules import Rulebook
from tirerules.batch import decide_batch

ROWS: Final = (10_000, 100_000, 1_000_000)
#: Columns of the library's answers that name the rules behind each limit in `LIMITED`.
_RULES: Final = ("size_rule", "tread_rule")
_LIBRARY: Final = "tirerules.batch: text columns -> verdict, limits, all rules, questions"


@pytest.fixture(scope="module")
def million(rulebook: Rulebook, rules: Rules, peers: Mapping[str, Peer]) -> Common:
    """Return the largest common table, of which every engine that decides columns gives the library's answers."""
    table = drawn(round(ROWS[-1] * 1.3), known=True)
    data = chosen(table, decide_batch(rulebook, table).answers["verdict"].to_pylist(), ROWS[-1])
    try:
        demand_agreement(data, {name: peer for name, peer in peers.items() if isinstance(peer, ColumnPeer)})
        _demand_same_limits(data, rulebook, rules, peers)
    except DisagreementError as error:
        pytest.exit(f"nothing is timed, because {error}", returncode=1)
    return data


def _demand_same_limits(data: Common, rulebook: Rulebook, rules: Rules, peers: Mapping[str, Peer]) -> None:
    answers = decide_batch(rulebook, data.table).answers
    for name, peer in peers.items():
        if not isinstance(peer, TellingPeer):
            continue
        told = peer.tell_loaded(peer.load(data.flat))
        for fact, column, ladder, keys in zip(LIMITED, _RULES, rules.ladders, told.keys, strict=True):
            named = {key: ladder.rule(key) for key in set(keys.tolist())}
            said = [text and text.partition(",")[0] for text in answers[column].to_pylist()]
            if said != [named[key] for key in keys.tolist()]:
                raise DisagreementError(f"{name} names other rules as the strictest on {fact}")


def _first(data: Common, rows: int) -> Common:
    return Common(data.table.slice(0, rows), data.within[:rows])


def _with_limits(rows: int) -> str:
    return f"{rows:,} rows, each: verdict, limits and binding rules"


def _verdicts(rows: int) -> str:
    return f"{rows:,} rows, each: the verdict alone"


@pytest.mark.parametrize("rows", ROWS)
def test_library(rows: int, rulebook: Rulebook, million: Common, timed: Timed) -> None:
    """Everything that the batch tells, from text."""
    part = _first(million, rows).table.combine_chunks()
    timed(lambda: decide_batch(rulebook, part), table=_with_limits(rows), what=_LIBRARY, units=rows)


@pytest.mark.parametrize("rows", ROWS)
def test_library_with_unknowns(rows: int, rulebook: Rulebook, timed: Timed) -> None:
    """A shop's own spread: facts left out, two places on some tickets. No peer could answer these."""
    part: pa.Table = drawn(rows)
    table = f"{rows:,} rows with unknown facts, each"
    timed(lambda: decide_batch(rulebook, part), table=table, what=_LIBRARY, units=rows)


@pytest.mark.parametrize("rows", ROWS)
@pytest.mark.parametrize("module", MODULES)
def test_peer_with_limits(module: str, rows: int, peers: Mapping[str, Peer], million: Common, timed: Timed) -> None:
    """Verdict, both limits and the first rule that sets each, from columns in the engine's own form."""
    peer = peers.get(module)
    if not isinstance(peer, TellingPeer):
        pytest.skip("tells no limits, or is not installed")
    loaded = peer.load(_first(million, rows).flat)
    what = f"{MODULES[module]}: own columns -> verdict, two limits, first binding rules"
    timed(lambda: peer.tell_loaded(loaded), table=_with_limits(rows), what=what, units=rows, role="peer")


@pytest.mark.parametrize("rows", ROWS)
@pytest.mark.parametrize("module", MODULES)
def test_peer(module: str, rows: int, peers: Mapping[str, Peer], million: Common, timed: Timed) -> None:
    """The verdict alone, from columns that are in the engine's own form already."""
    peer = peers.get(module)
    if not isinstance(peer, ColumnPeer):
        pytest.skip("decides no columns, or is not installed")
    loaded = peer.load(_first(million, rows).flat)
    what = f"{MODULES[module]}: own columns -> verdict"
    timed(lambda: peer.decide_loaded(loaded), table=_verdicts(rows), what=what, units=rows, role="peer")


@pytest.mark.parametrize("module", MODULES)
def test_peer_by_row(module: str, peers: Mapping[str, Peer], tickets: Common, timed: Timed) -> None:
    """The verdict alone, row by row; how many rows there are changes nothing."""
    peer = peers.get(module)
    if not isinstance(peer, RowPeer):
        pytest.skip("decides no single ticket, or is not installed")
    rows: list[Any] = tickets.flat.rows
    what = f"{MODULES[module]}: flat rows -> verdict"
    timed(lambda: peer.decide_all(tickets.flat), table=_verdicts(ROWS[0]), what=what, units=len(rows), role="peer")
