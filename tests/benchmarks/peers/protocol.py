"""What every peer can do: decide one flat ticket, or all of a table, or both."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from tests.benchmarks.exported import Clause, Program, clauses, facts_of, program
from tests.benchmarks.flat import Flat, Row, name
from tests.benchmarks.ladders import Ladder, ladders
from tirerules.packs.pack import Pack

__all__ = ["ColumnPeer", "Peer", "RowPeer", "Rules", "TellingPeer", "Told", "Verdicts", "narrowed"]

#: Whether each ticket is within the limits.
Verdicts = np.ndarray[Any, np.dtype[np.bool_]]
#: The key of a limit for each ticket; see `tests.benchmarks.ladders`.
Keys = np.ndarray[Any, np.dtype[np.int64]]


@dataclass(frozen=True, slots=True)
class Rules:
    """What every peer is given."""

    clauses: tuple[Clause, ...]
    ladders: tuple[Ladder, ...]

    @classmethod
    def of(cls, packs: Iterable[Pack]) -> Rules:
        """Return the rules of packs."""
        held = list(packs)
        return cls(clauses(held), ladders(held))


class Peer(ABC):
    """An engine with its rules."""

    @abstractmethod
    def decide_all(self, tickets: Flat) -> Verdicts:
        """Return the verdicts of all tickets."""


class RowPeer(Peer):
    """Decides tickets one by one. One program for each place and activity, compiled when it is first needed."""

    def __init__(self, rules: Rules) -> None:
        self._rules = rules
        self._programs: dict[tuple[str, str], Callable[[Row], bool]] = {}

    @abstractmethod
    def compile(self, wanted: Program) -> Callable[[Row], bool]:
        """Return what decides a ticket of one place and activity."""

    def decide(self, ticket: Row) -> bool:
        """Return whether a ticket is within the limits."""
        key = ticket["jurisdictions"], ticket["activity"]
        found = self._programs.get(key)
        if found is None:
            found = self._programs[key] = self.compile(program(self._rules.clauses, *key))
        return found(ticket)

    def decide_all(self, tickets: Flat) -> Verdicts:
        """Return the verdicts of all tickets."""
        return np.fromiter(map(self.decide, tickets.rows), bool, len(tickets.rows))


class ColumnPeer(Peer):
    """Decides whole tables. `load` puts a table into the engine's own form, which is not timed."""

    @abstractmethod
    def load(self, tickets: Flat) -> Any:
        """Return the tickets in the engine's own form."""

    @abstractmethod
    def decide_loaded(self, loaded: Any) -> Verdicts:
        """Return the verdicts of all tickets that were loaded."""

    def decide_all(self, tickets: Flat) -> Verdicts:
        """Return the verdicts of all tickets."""
        return self.decide_loaded(self.load(tickets))


@dataclass(frozen=True, slots=True)
class Told:
    """The verdicts of a table, and for each ladder the key of the strictest limit on each ticket."""

    within: Verdicts
    keys: tuple[Keys, ...]


class TellingPeer(ColumnPeer):
    """Tells besides the verdict the strictest limit on each fact that has a ladder, and the first rule that sets it."""

    @abstractmethod
    def tell_loaded(self, loaded: Any) -> Told:
        """Return the verdicts and the limits of all tickets that were loaded."""


def narrowed(wanted: Program) -> Callable[[Row], dict[str, Any]]:
    """Return what leaves out of a ticket all that a program does not read, for engines that convert all they get."""
    keys = ("on", *map(name, facts_of(wanted.clauses)))
    return lambda ticket: {key: ticket[key] for key in keys}
