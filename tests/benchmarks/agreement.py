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
from tests.benchmarks.flat import Flat, row_of
from tests.benchmarks.ladders import LIMITED
from tests.benchmarks.peers.protocol import Peer, Rules, TellingPeer, Verdicts
from tests.benchmarks.tickets import documents, tickets
from tirerules.batch import decide_batch

__all__ = [
    "Common",
    "DisagreementError",
    "chosen",
    "common",
    "demand_agreement",
    "demand_same_limits",
    "demand_same_rows",
]

#: The library calls some tickets undetermined for reasons that no engine knows (a law that nobody has read); those are
#: left out, so a few more are drawn than are wanted.
_DRAWN: Final = 1.3
#: Columns of the library's answers that name the rules behind each limit in `LIMITED`.
_RULES: Final = ("size_rule", "tread_rule")


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
    return chosen(drawn, [rulebook.decide(document).verdict for document in documents(drawn)], count)


def chosen(drawn: pa.Table, verdicts: Any, count: int) -> Common:
    """Return the first `count` tickets that are decided either way."""
    said = np.array(verdicts, dtype=object)
    decided = np.flatnonzero(said != tirerules.Verdict.UNDETERMINED)[:count]
    if len(decided) < count:
        raise ValueError(f"of {drawn.num_rows} tickets only {len(decided)} are decided, {count} are wanted")
    return Common(drawn.take(pa.array(decided)), said[decided] == tirerules.Verdict.WITHIN)


def demand_same_rows(data: Common) -> None:
    """Raise DisagreementError where a mapping is read for the engines in another way than the columns are."""
    for document, row in zip(documents(data.table), data.flat.rows, strict=True):
        read = row_of(document)
        other = {fact: (said, read.get(fact)) for fact, said in row.items() if read.get(fact) != said}
        if other:
            raise DisagreementError(f"read in two ways: {other}, of\n{json.dumps(document, indent=1)}")


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


def demand_same_limits(data: Common, rulebook: tirerules.Rulebook, rules: Rules, peers: Mapping[str, Peer]) -> None:
    """Raise DisagreementError where an engine names other rules than the library as those that set the limits."""
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
