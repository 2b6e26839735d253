"""Growth: what more packs, and more rules in one of them, cost at load and at each decision."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Final

import pytest

import tirerules
from tests.benchmarks.conftest import Timed
from tests.benchmarks.generated import write_packs
from tests.benchmarks.tickets import cases, tickets

pytestmark = pytest.mark.usefixtures("once")

PACKS: Final = (66, 660, 6_600)
RULES: Final = (10, 100, 1_000)
#: Packs of so many rules each are not wanted in number.
_FEW: Final = 10
#: Tickets are spread over at most so many of the invented places.
_PLACES: Final = 66
_TICKETS: Final = 2_000


class Books:
    """Packs of invented places, each number of them written once, with tickets of those places."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._known: dict[tuple[int, int], tuple[Path, list[tirerules.Case]]] = {}

    def made(self, packs: int, rules: int) -> tuple[Path, list[tirerules.Case]]:
        """Return the folder of the packs, and tickets of their places."""
        key = packs, rules
        if key not in self._known:
            folder = self._folder / f"{packs}-{rules}"
            folder.mkdir()
            codes = write_packs(folder, packs, rules)
            places = codes[:: max(1, len(codes) // _PLACES)]
            asked = [
                replace(case, jurisdictions=(places[at % len(places)],))
                for at, case in enumerate(cases(tickets(_TICKETS, known=True)))
            ]
            self._known[key] = folder, asked
        return self._known[key]


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> Books:
    """Return what makes packs."""
    return Books(tmp_path_factory.mktemp("invented"))


def _load(books: Books, timed: Timed, packs: int, rules: int, table: str, rounds: int = 3) -> None:
    folder, _ = books.made(packs, rules)
    what = f"load {packs:,} packs of {rules:,} rules"
    work = partial(tirerules.load, folder, builtins=False)
    timed(work, table=table, what=what, units=packs, fresh=lambda: ((), {}), rounds=rounds)


def _decide(books: Books, timed: Timed, packs: int, rules: int, table: str) -> None:
    folder, asked = books.made(packs, rules)
    rulebook = tirerules.load(folder)

    def rotation() -> None:
        for case in asked:
            rulebook.decide(case).verdict  # noqa: B018  # reading it is what is timed

    timed(rotation, table=table, what=f"decide, with {packs:,} packs of {rules:,} rules", units=len(asked))


@pytest.mark.usefixtures("uncached")
@pytest.mark.parametrize("packs", PACKS)
def test_load_packs(packs: int, books: Books, timed: Timed) -> None:
    """Load, by pack, read the full way: the most packs once, which takes most of a minute."""
    rounds = 3 if packs < PACKS[-1] else 1
    _load(books, timed, packs, RULES[0], "growth with packs: load without a cache, for each pack", rounds)


@pytest.mark.parametrize("packs", PACKS)
def test_load_packs_again(packs: int, books: Books, timed: Timed) -> None:
    """Load, by pack, from the cache."""
    tirerules.load(books.made(packs, RULES[0])[0], builtins=False)
    _load(books, timed, packs, RULES[0], "growth with packs: load from the cache, for each pack", rounds=9)


@pytest.mark.parametrize("packs", PACKS)
def test_decide_with_packs(packs: int, books: Books, timed: Timed) -> None:
    """One decision beside many packs of other places."""
    _decide(books, timed, packs, RULES[0], "growth with packs: one decision")


@pytest.mark.usefixtures("uncached")
@pytest.mark.parametrize("rules", RULES)
def test_load_rules(rules: int, books: Books, timed: Timed) -> None:
    """Load, by pack, whose rules are many."""
    _load(books, timed, _FEW, rules, "growth with rules in a pack: load without a cache, for each pack")


@pytest.mark.parametrize("rules", RULES)
def test_decide_with_rules(rules: int, books: Books, timed: Timed) -> None:
    """One decision in a place with many rules."""
    _decide(books, timed, _FEW, rules, "growth with rules in a pack: one decision")
