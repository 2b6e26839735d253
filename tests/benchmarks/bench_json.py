"""One decision from JSON text to JSON text. Ratios are counted in `json.loads` of a plain ticket, in every table."""

from __future__ import annotations

import json
from typing import Final

from tests.benchmarks import asking
from tests.benchmarks.asking import Asking, fresh_seeds
from tests.benchmarks.bench_single import loads
from tests.benchmarks.context import Context
from tests.benchmarks.flat import row_of
from tests.benchmarks.measuring import Sample, Table, cpu
from tests.benchmarks.peers.protocol import RowPeer
from tests.benchmarks.tickets import texts, tickets

__all__ = ["measure"]

_TICKETS: Final = 200
_WARM: Final = 500
_SECONDS: Final = 25.0


def _peer(peer: RowPeer) -> Sample:
    def work(said: list[str]) -> None:
        for each in said:
            json.dumps({"within": peer.decide(row_of(json.loads(each)))})

    def sample(turn: int) -> float:
        return cpu(work, texts(tickets(_TICKETS, next(fresh_seeds()), known=True))) / _TICKETS

    return sample


def measure(context: Context) -> None:
    """Measure what a service does for each request."""
    table = Table("JSON text -> JSON text of the whole decision", base="json.loads")
    table.add("json.loads of a plain ticket", loads(_TICKETS), role="base")
    shapes = (
        ("nothing unknown", {"known": True}, 70.0),
        ("with unknown facts", {}, 70.0),
        ("measured, two injuries, an earlier repair", {"measured": True, "injuries": 2, "repaired": True}, 115.0),
    )
    for name, shape, bound in shapes:
        row = Asking(asking.text, _TICKETS, _WARM, **shape)
        table.add(f"tirerules: {name}", row.sample, ratio=bound)
        table.add(f"tirerules: {name}, same tickets again", row.again, role="again")
    for module, peer in context.peers.items():
        if isinstance(peer, RowPeer):
            table.add(
                f"{context.package(module)}: nothing unknown -> whether it is within, alone", _peer(peer), role="less"
            )
    table.run(seconds=_SECONDS)
