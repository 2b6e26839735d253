"""One decision: a typed case, or a JSON text, to a verdict, to limits with the rules that set them, to everything."""

from __future__ import annotations

import itertools
import json
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any, Final

import pyarrow as pa
import pytest

import tirerules
from tests.benchmarks.agreement import Common
from tests.benchmarks.conftest import ROTATION, Timed
from tests.benchmarks.peers import MODULES
from tests.benchmarks.peers.protocol import Peer, RowPeer
from tests.benchmarks.tickets import cases, documents
from tests.benchmarks.tickets import tickets as drawn
from tirerules import Case, Decision, Rulebook

WARM: Final = "one decision, nothing unknown, warm"
UNKNOWNS: Final = "one decision, with unknown facts, warm"
NEW: Final = "one decision, with unknown facts, tickets never seen before"
FIRST: Final = "one decision, with unknown facts, the first pass after loading"
#: Facts of a decision that a counter screen shows at once.
SHOWN: Final = ("verdict", "methods", "limits", "questions", "requirements", "notices")


def _verdict(rulebook: Rulebook, case: Case) -> None:
    _ = rulebook.decide(case).verdict


def _limits(rulebook: Rulebook, case: Case) -> None:
    decision = rulebook.decide(case)
    _ = decision.verdict
    for limits in decision.limits.values():
        _ = limits.binding


def _complete(rulebook: Rulebook, case: Case) -> Decision:
    decision = rulebook.decide(case)
    for each in SHOWN:
        getattr(decision, each)
    return decision


def _reasons(rulebook: Rulebook, case: Case) -> None:
    decision = _complete(rulebook, case)
    _ = decision.reasons, [method.reasons for method in decision.methods]


def _text(rulebook: Rulebook, text: str) -> None:
    rulebook.decide_json(text)


QUESTIONS: Mapping[str, Callable[[Rulebook, Any], object]] = {
    "typed case -> verdict": _verdict,
    "typed case -> verdict, limits, binding rules": _limits,
    "typed case -> complete decision": _complete,
    "typed case -> complete decision with reasons": _reasons,
    "JSON text -> JSON text": _text,
}


@pytest.fixture(scope="module")
def unknowing() -> pa.Table:
    """Return a shop's own spread of tickets, with facts left out and two places on some."""
    return drawn(ROTATION)


def _rotation(question: str, table: pa.Table) -> Callable[[Rulebook], None]:
    """Return what asks a question of every ticket."""
    ask = QUESTIONS[question]
    asked: list[Any] = [json.dumps(each) for each in documents(table)] if ask is _text else cases(table)

    def rotation(rulebook: Rulebook) -> None:
        for each in asked:
            ask(rulebook, each)

    return rotation


def _part(question: str, table: pa.Table) -> pa.Table:
    """Return the tickets of which a question is asked: of one that takes long, fewer."""
    return table.slice(0, ROTATION // 8) if QUESTIONS[question] is _reasons else table


@pytest.mark.parametrize("question", QUESTIONS)
def test_library(question: str, rulebook: Rulebook, tickets: Common, timed: Timed) -> None:
    """Every kind of answer, over the whole rotation."""
    part = _part(question, tickets.table)
    work = partial(_rotation(question, part), rulebook)
    timed(work, table=WARM, what=f"tirerules: {question}", units=part.num_rows)


@pytest.mark.parametrize("question", QUESTIONS)
def test_library_with_unknowns(question: str, rulebook: Rulebook, unknowing: pa.Table, timed: Timed) -> None:
    """The same where facts are unknown, so that there are questions to ask. No peer could answer these."""
    part = _part(question, unknowing)
    work = partial(_rotation(question, part), rulebook)
    timed(work, table=UNKNOWNS, what=f"tirerules: {question}", units=part.num_rows)


@pytest.mark.usefixtures("once")
@pytest.mark.parametrize("question", QUESTIONS)
def test_library_with_new_tickets(question: str, unknowing: pa.Table, timed: Timed) -> None:
    """Tickets that the rulebook has never seen, after a rotation of others: what a shop's next ticket costs."""
    rulebook = tirerules.load()
    _rotation(question, unknowing)(rulebook)
    seeds = itertools.count(2)
    count = ROTATION // 4

    def work(rotation: Callable[[Rulebook], None]) -> None:
        rotation(rulebook)

    what = f"tirerules: {question}"
    timed(
        work, table=NEW, what=what, units=count, fresh=lambda: ((_rotation(question, drawn(count, next(seeds))),), {})
    )


@pytest.mark.usefixtures("once")
@pytest.mark.parametrize("question", QUESTIONS)
def test_library_first_pass(question: str, unknowing: pa.Table, timed: Timed) -> None:
    """The same by a rulebook that has decided nothing yet."""
    work, what = _rotation(question, unknowing), f"tirerules: {question}"
    timed(work, table=FIRST, what=what, units=unknowing.num_rows, fresh=lambda: ((tirerules.load(),), {}))


@pytest.mark.parametrize("module", MODULES)
def test_peer(module: str, peers: Mapping[str, Peer], tickets: Common, timed: Timed) -> None:
    """Peers answer with the verdict alone."""
    peer = peers.get(module)
    if not isinstance(peer, RowPeer):
        pytest.skip("decides no single ticket, or is not installed")
    decide, rows = peer.decide, tickets.flat.rows

    def rotation() -> None:
        for row in rows:
            decide(row)

    timed(rotation, table=WARM, what=f"{MODULES[module]}: flat row -> verdict", units=len(rows), role="peer")
