"""One decision from a mapping: to a verdict, to limits with the rules that set them, to all that a screen shows."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any, Final

from tests.benchmarks import asking
from tests.benchmarks.asking import Asking, fresh_seeds
from tests.benchmarks.context import Context
from tests.benchmarks.flat import row_of
from tests.benchmarks.measuring import Sample, Table, cpu
from tests.benchmarks.peers.protocol import RowPeer
from tests.benchmarks.tickets import texts, tickets

__all__ = ["loads", "measure"]

_TICKETS: Final = 2_000
_WARM: Final = 5_000
_SECONDS: Final = 35.0


def loads(count: int, **shape: Any) -> Sample:
    """Return what samples `json.loads` of a ticket: the unit in which single decisions are counted."""

    def work(said: list[str]) -> None:
        for each in said:
            json.loads(each)

    def sample(turn: int) -> float:
        return cpu(work, texts(tickets(count, next(fresh_seeds()), **shape))) / count

    return sample


def _peer(decide: Callable[[Any], object], given: Callable[[str], Any]) -> Sample:
    """Return what samples a peer; `given` makes from a ticket's text what the peer is given, untimed."""

    def work(asked: list[Any]) -> None:
        for each in asked:
            decide(each)

    def sample(turn: int) -> float:
        drawn = texts(tickets(_TICKETS, next(fresh_seeds()), known=True))
        return cpu(work, [given(each) for each in drawn]) / _TICKETS

    return sample


def measure(context: Context) -> None:
    """Measure single decisions."""
    table = Table("a mapping, nothing unknown", base="json.loads")
    table.add("json.loads of the ticket's text", loads(_TICKETS, known=True), role="base")
    first = Asking(asking.verdict, _TICKETS, _WARM, known=True)
    table.add("tirerules: mapping -> verdict", first.sample, ratio=3.5)
    table.add("tirerules: mapping -> verdict, same tickets again", first.again, role="again")
    for name, ask, bound in (
        ("verdict, limits, binding rules", asking.limits, 5.0),
        ("whole decision", asking.whole, 18.0),
        ("whole decision with reasons", asking.with_reasons, None),
    ):
        count, warm = (_TICKETS, _WARM) if bound else (_TICKETS // 8, _WARM // 8)
        table.add(f"tirerules: mapping -> {name}", Asking(ask, count, warm, known=True).sample, ratio=bound)
    for module, peer in context.peers.items():
        if isinstance(peer, RowPeer):
            package = context.package(module)
            decide = peer.decide
            table.add(
                f"{package}: mapping -> verdict",
                _peer(lambda said, decide=decide: decide(row_of(said)), json.loads),
                role="peer",
            )
            table.add(
                f"{package}: flat row, ready made -> verdict",
                _peer(decide, lambda said: row_of(json.loads(said))),
                role="less",
            )
    table.run(seconds=_SECONDS)

    table = Table("a mapping, with unknown facts as a shop leaves them (no peer could answer)", base="json.loads")
    table.add("json.loads of the ticket's text", loads(_TICKETS), role="base")
    for name, ask, bound in (
        ("verdict", asking.verdict, 6.0),
        ("verdict, limits, binding rules", asking.limits, 7.5),
        ("whole decision", asking.whole, 18.0),
    ):
        row = Asking(ask, _TICKETS, _WARM)
        table.add(f"tirerules: mapping -> {name}", row.sample, ratio=bound)
        table.add(f"tirerules: mapping -> {name}, same tickets again", row.again, role="again")
    table.add(
        "tirerules: mapping -> whole decision with reasons",
        Asking(asking.with_reasons, _TICKETS // 8, _WARM // 8).sample,
    )
    table.run(seconds=_SECONDS)
