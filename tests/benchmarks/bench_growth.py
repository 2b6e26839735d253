"""Growth: what more packs, and more rules in one of them, cost at load and at each decision."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any, Final

import tirerules
from tests.benchmarks.asking import fresh_seeds, verdict
from tests.benchmarks.context import Context
from tests.benchmarks.generated import write_packs
from tests.benchmarks.measuring import Sample, Table, cpu
from tests.benchmarks.processes import CACHE
from tests.benchmarks.tickets import texts, tickets

__all__ = ["measure"]

PACKS: Final = (66, 660, 6_600)
RULES: Final = (10, 100, 1_000)
#: Packs of so many rules each are not wanted in number.
_FEW: Final = 10
#: Tickets are spread over at most so many of the invented places.
_PLACES: Final = 66
_TICKETS: Final = 1_000
_WARM: Final = 2_000
#: How much more than the smallest number the largest may cost, for each pack or each decision: noise, not growth.
_LINEAR: Final = 1.25
_SECONDS: Final = 20.0


class _Books:
    """Packs of invented places, each number of them written once."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self.made = cache(self._made)

    def _made(self, packs: int, rules: int) -> tuple[Path, list[str]]:
        """Return the folder of the packs, and some of their codes."""
        folder = self._folder / f"{packs}-{rules}"
        folder.mkdir(parents=True)
        codes = write_packs(folder, packs, rules)
        return folder, codes[:: max(1, len(codes) // _PLACES)]

    def load(self, packs: int, rules: int, *, compiled: bool) -> Sample:
        """Return what samples the load of a pack, and of every rule in it as a value where nothing is compiled yet."""

        def work() -> int:
            rulebook = tirerules.load(self.made(packs, rules)[0], builtins=False)
            return 0 if compiled else sum(len(pack.rules) for pack in rulebook.packs.values())

        def sample(turn: int) -> float:
            self.made(packs, rules)
            if compiled:
                if not turn:
                    work()
                return cpu(work) / packs
            with _uncached():
                return cpu(work) / packs

        return sample

    def decide(self, packs: int, rules: int) -> Sample:
        """Return what samples a decision in one of the places, on tickets never seen."""

        @cache
        def rulebook() -> tirerules.Rulebook:
            made = tirerules.load(self.made(packs, rules)[0])
            for each in self._asked(packs, rules, _WARM):
                verdict(made, each)
            return made

        def work(asked: list[Any]) -> None:
            for each in asked:
                verdict(rulebook(), each)

        def sample(turn: int) -> float:
            rulebook()
            return cpu(work, self._asked(packs, rules, _TICKETS)) / _TICKETS

        return sample

    def _asked(self, packs: int, rules: int, count: int) -> list[Any]:
        places = self.made(packs, rules)[1]
        drawn = [json.loads(each) for each in texts(tickets(count, next(fresh_seeds()), known=True))]
        return [{**each, "jurisdictions": [places[at % len(places)]]} for at, each in enumerate(drawn)]


@contextmanager
def _uncached() -> Iterator[None]:
    """Let packs be read the full way, as by whoever loads them for the first time."""
    before = os.environ[CACHE]
    os.environ[CACHE] = "off"
    try:
        yield
    finally:
        os.environ[CACHE] = before


def measure(context: Context) -> None:
    """Measure growth with packs, then with rules in a pack. What takes long is measured once."""
    books = _Books(context.folder / "invented")
    table = Table("growth with packs: read, checked, compiled, for each pack", base="fewest", unit="pack")
    for packs in PACKS:
        table.add(
            f"{packs:,} packs of {RULES[0]} rules", books.load(packs, RULES[0], compiled=False), **_first(packs, PACKS)
        )
    table.run(turns=1)
    table = Table("growth with packs: load what is compiled, for each pack", base="fewest", unit="pack")
    for packs in PACKS:
        table.add(
            f"{packs:,} packs of {RULES[0]} rules", books.load(packs, RULES[0], compiled=True), **_first(packs, PACKS)
        )
    table.run(turns=3, seconds=_SECONDS)
    table = Table("growth with packs: mapping -> verdict", base="fewest")
    for packs in PACKS:
        table.add(f"beside {packs:,} packs of {RULES[0]} rules", books.decide(packs, RULES[0]), **_first(packs, PACKS))
    table.run(turns=3, seconds=_SECONDS)
    table = Table("growth with rules in a pack: mapping -> verdict", base="fewest")
    for rules in RULES[:2]:
        table.add(
            f"{_FEW} packs of {rules:,} rules",
            books.decide(_FEW, rules),
            role="base" if rules == RULES[0] else "library",
        )
    table.run(turns=3, seconds=_SECONDS)


def _first(count: int, counts: tuple[int, ...]) -> dict[str, Any]:
    return {"role": "base"} if count == counts[0] else {"ratio": _LINEAR}
