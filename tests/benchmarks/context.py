"""What the benchmarks share: options, one core, folders of this run, the rulebook, the peers that agree with it."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Final

import pyarrow

import tirerules
from tests.benchmarks.agreement import Common, common, demand_agreement, demand_same_limits, demand_same_rows
from tests.benchmarks.installation import Installation
from tests.benchmarks.peers import MODULES, installed, prepare
from tests.benchmarks.peers.protocol import Peer, Rules
from tests.benchmarks.processes import CACHE

__all__ = ["Context"]

#: How many tickets every peer must decide as the library does before anything is timed.
_AGREED: Final = 4_000


@dataclass
class Context:
    """One run. `rows` is how many rows a batch or a file has at most."""

    rows: int
    folder: Path = field(default_factory=lambda: Path(tempfile.mkdtemp(prefix="benchmarks-")))

    def __post_init__(self) -> None:
        # One core for all alike; and a cache of compiled packs of this run's own, so that nobody's state counts.
        pyarrow.set_cpu_count(1)
        if hasattr(os, "sched_setaffinity"):
            os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})
        os.environ[CACHE] = str(self.folder / "packs")

    @cached_property
    def rulebook(self) -> tirerules.Rulebook:
        """Every built-in pack; for whatever is not timed."""
        return tirerules.load()

    @cached_property
    def rules(self) -> Rules:
        """The rules as engines take them."""
        return Rules.of(self.rulebook.packs.values())

    @cached_property
    def common(self) -> Common:
        """Tickets that the library decides either way."""
        return common(self.rulebook, _AGREED)

    @cached_property
    def peers(self) -> Mapping[str, Peer]:
        """Every installed peer, by module. Raises DisagreementError if one of them decides a ticket in another way."""
        found = {module: prepare(module, self.rules) for module, _ in installed()}
        demand_same_rows(self.common)
        demand_agreement(self.common, found)
        demand_same_limits(self.common, self.rulebook, self.rules, found)
        return found

    @cached_property
    def installation(self) -> Installation:
        """The library as a wheel, in an environment of its own."""
        return Installation.made(self.folder / "installed")

    @staticmethod
    def package(module: str) -> str:
        """Return the package of a peer."""
        return MODULES[module]
