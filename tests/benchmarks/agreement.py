"""The common data set, and the proof that everybody decides it alike: without it nothing is timed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final

import numpy as np
import pyarrow as pa

import tirerules
from tests.benchmarks.flat import Flat
from tests.benchmarks.peers.protocol import Peer, Verdicts
from tests.benchmarks.tickets import cases, documents, tickets

__all__ = ["Common", "DisagreementError", "common", "demand_agreement"]

#: The library calls some tickets undetermined for reasons that no engine knows (a law that nobody has read); those are
#: left out, so a few more are drawn than are wanted.
_DRAWN: Final = 1.3


class DisagreementError(AssertionError):
    """An engine decides a ticket in another way than the library does."""


@dataclass(frozen=True)
class Common:
    """Invented tickets with nothing unknown, each of which the library calls within or outside the limits."""

    table: pa.Table
    within: Verdicts

    @cached_property
    def flat(self) -> Flat:
        """The tickets as engines take them."""
        return Flat.of(self.table)


def common(rulebook: tirerules.Rulebook, count: int, seed: int = 1) -> Common:
    """Return `count` tickets, decided one by one by the library.

    Raises ValueError if too few of those that are drawn are decided either way.
    """
    drawn = tickets(round(count * _DRAWN), seed, known=True)
    return chosen(drawn, [rulebook.decide(case).verdict for case in cases(drawn)], count)


def chosen(drawn: pa.Table, verdicts: Any, count: int) -> Common:
    """Return the first `count` tickets that are decided either way."""
    said = np.array(verdicts, dtype=object)
    decided = np.flatnonzero(said != tirerules.Verdict.UNDETERMINED)[:count]
    if len(decided) < count:
        raise ValueError(f"of {drawn.num_rows} tickets only {len(decided)} are decided, {count} are wanted")
    return Common(drawn.take(pa.array(decided)), said[decided] == tirerules.Verdict.WITHIN)


def demand_agreement(data: Common, peers: Mapping[str, Peer]) -> None:
    """Raise DisagreementError with the first ticket that an engine decides in another way than the library."""
    for name, peer in peers.items():
        found = np.flatnonzero(peer.decide_all(data.flat) != data.within)
        if len(found):
            first = int(found[0])
            words = ("outside", "within")[int(data.within[first])]
            ticket = documents(data.table.slice(first, 1))[0]
            message = f"{name} differs on {len(found)} of {len(data.within)} tickets; the library says {words} of\n"
            raise DisagreementError(message + json.dumps(ticket, indent=1))
