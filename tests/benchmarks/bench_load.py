"""Load: every built-in pack, in a process that has already imported the library."""

from __future__ import annotations

from functools import partial
from typing import Final

import pytest

import tirerules
from tests.benchmarks.conftest import Timed
from tirerules import Rulebook
from tirerules.data import folder

TABLE: Final = "load, every built-in pack"


def test_from_the_cache(timed: Timed) -> None:
    """As at every start but the first."""
    timed(tirerules.load, table=TABLE, what="from the cache of compiled packs")


@pytest.mark.usefixtures("once", "uncached")
def test_without_a_cache(timed: Timed) -> None:
    """As at the very first start, or where no folder can be written."""
    timed(tirerules.load, table=TABLE, what="no cache: read, checked, compiled")


def test_as_own_folder(timed: Timed) -> None:
    """The same files as a caller's own packs."""
    work = partial(tirerules.load, str(folder("rulepacks")), builtins=False)
    timed(work, table=TABLE, what="from the cache, as a caller's own folder")


@pytest.mark.usefixtures("once")
def test_whole_packs(timed: Timed) -> None:
    """Every rule of every pack as a value, which deciding does without."""

    def work(rulebook: Rulebook) -> int:
        return sum(len(pack.rules) for pack in rulebook.packs.values())

    what = "after loading: every rule of every pack as a value"
    timed(work, table=TABLE, what=what, fresh=lambda: ((tirerules.load(),), {}))
