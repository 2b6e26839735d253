"""What the benchmarks share: the rulebook, the common data set, and peers that have been proved to agree."""

from __future__ import annotations

import os

# Everything is measured on one core; polars reads this when it is first imported.
os.environ["POLARS_MAX_THREADS"] = "1"

from collections.abc import Callable, Mapping
from time import perf_counter
from typing import Any, Final

import pyarrow
import pytest

import tirerules
from tests.benchmarks.agreement import Common, DisagreementError, common, demand_agreement
from tests.benchmarks.peers import installed, prepare
from tests.benchmarks.peers.protocol import Peer, Rules
from tirerules.packs.cache import VARIABLE

#: Distinct tickets in the rotation of single decisions.
ROTATION: Final = 4_000
#: Everything is measured in so many turns, one after another: a machine that is busy for a while slows all alike.
TURNS: Final = 5
#: In each turn a figure is the median of so many rounds, within about this many seconds; then the median of all turns.
_ROUNDS: Final = (1, 100)
#: What is measured once has so many.
_FRESH: Final = 3
_SECONDS: Final = 0.5

Timed = Callable[..., None]


@pytest.fixture(scope="session", autouse=True)
def _one_core() -> None:
    pyarrow.set_cpu_count(1)
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})


@pytest.fixture(scope="module", autouse=True, params=range(TURNS), ids=lambda turn: f"turn {turn + 1}")
def _turn(request: pytest.FixtureRequest) -> int:
    """Let pytest run all of a module in one turn, then all of it in the next."""
    return int(request.param)


@pytest.fixture
def once(_turn: int) -> None:
    """Measure in the first turn alone: what takes long, and is compared with nothing beside it."""
    if _turn:
        pytest.skip("measured in the first turn")


@pytest.fixture(scope="session", autouse=True)
def _own_folders(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Give this run, and every process that it starts, empty folders for compiled packs and for compiled modules.

    A checkout may forbid compiled modules, where installed packages have them: every process is to find its own.
    """
    os.environ[VARIABLE] = str(tmp_path_factory.mktemp("packs"))
    os.environ["PYTHONPYCACHEPREFIX"] = str(tmp_path_factory.mktemp("modules"))
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)


@pytest.fixture
def uncached(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let packs be read the full way, as by whoever loads them for the first time."""
    monkeypatch.setenv(VARIABLE, "off")


@pytest.fixture(scope="session")
def rulebook() -> tirerules.Rulebook:
    """Return every built-in pack."""
    return tirerules.load()


@pytest.fixture(scope="session")
def rules(rulebook: tirerules.Rulebook) -> Rules:
    """Return the rules as engines take them."""
    return Rules.of(rulebook.packs.values())


@pytest.fixture(scope="session")
def tickets(rulebook: tirerules.Rulebook) -> Common:
    """Return the rotation of distinct tickets."""
    return common(rulebook, ROTATION)


@pytest.fixture(scope="session")
def peers(rules: Rules, tickets: Common) -> Mapping[str, Peer]:
    """Return every installed peer by module; the whole run stops if one of them decides a ticket in another way."""
    found = {module: prepare(module, rules) for module, _ in installed()}
    try:
        demand_agreement(tickets, found)
    except DisagreementError as error:
        pytest.exit(f"nothing is timed, because {error}", returncode=1)
    return found


@pytest.fixture
def timed(benchmark: Any) -> Timed:
    """Return what times a piece of work and says in which table its median stands."""

    def run(
        work: Callable[..., Any],
        *,
        table: str,
        what: str,
        units: int = 1,
        role: str = "library",
        fresh: Callable[[], tuple[tuple[Any, ...], dict[str, Any]]] | None = None,
        rounds: int = 0,
        memory: int | None = None,
    ) -> None:
        """Time `work`, of which one call does `units` of what the table counts; `fresh` makes its arguments, untimed.

        `memory` is what the work held at most, in bytes. `role` is "library", "peer", or "floor", which is what nothing
        in the table can be quicker than, or "less", which answers less than the table asks and counts as no peer.
        Work on fresh arguments is never warmed up: the first call is what is asked about.
        """
        benchmark.group, benchmark.name = table, what
        benchmark.extra_info.update(units=units, role=role)
        if memory is not None:
            benchmark.extra_info["memory"] = memory
        if fresh is not None:
            benchmark.pedantic(work, setup=fresh, rounds=rounds or _FRESH)
        else:
            enough = _enough(work)
            benchmark.pedantic(work, rounds=rounds or enough)

    return run


def _enough(work: Callable[[], Any]) -> int:
    """Warm a piece of work up, and return how many rounds of it fit the time of a turn."""
    start = perf_counter()
    work()
    return max(_ROUNDS[0], min(_ROUNDS[1], int(_SECONDS / max(perf_counter() - start, 1e-9))))
