"""Cold start: whole processes from start to end, and the most memory that each held.

The library loads every built-in pack and reads the ticket as a person writes it. A peer reads its
rules from one file, ready made in its own language for each place and activity, and is given the ticket in whole
numbers; what it takes with its rules for that one ticket alone is shown beside it. Disk and memory are
warm for all alike, and so is the library's cache of compiled packs, but where it says otherwise.
"""

from __future__ import annotations

import itertools
import json
from collections.abc import Mapping, Sequence
from importlib import import_module
from pathlib import Path
from typing import Any, Final

import pytest

from tests.benchmarks.agreement import Common
from tests.benchmarks.conftest import Timed
from tests.benchmarks.exported import Program, program
from tests.benchmarks.peers import MODULES
from tests.benchmarks.peers.protocol import Peer, Rules
from tests.benchmarks.processes import peak_memory, python, run
from tests.benchmarks.tickets import documents
from tirerules.jurisdictions import JURISDICTIONS
from tirerules.vocabulary import Activity

TIME: Final = "a whole cold process"
#: In each turn a process is started so often, and its median taken.
ROUNDS: Final = 3

_LIBRARY: Final = "import tirerules\nprint(tirerules.load().decide({ticket!r}).{asked})"
_LOAD: Final = "import tirerules\ntirerules.load()"


@pytest.fixture(scope="module")
def ticket(tickets: Common) -> Common:
    """Return the first repair in the rotation that is within the limits."""
    activities = tickets.table["activity"].to_pylist()
    at = next(at for at, within in enumerate(tickets.within) if within and activities[at] == "repair")
    return Common(tickets.table.slice(at, 1), tickets.within[at : at + 1])


def _measured(timed: Timed, what: str, command: Sequence[str], says: str, *, role: str = "library") -> None:
    """Time a process that must end well and print `says` somewhere, and note its memory."""
    assert says in run(command)
    timed(lambda: run(command), table=TIME, memory=peak_memory(command), what=what, role=role, rounds=ROUNDS)


def test_interpreter(timed: Timed) -> None:
    """Nothing but Python."""
    _measured(timed, "bare interpreter", python("-c", "pass"), "", role="floor")


def test_load(timed: Timed) -> None:
    """Import and every built-in pack, nothing decided."""
    _measured(timed, "tirerules: import and load", python("-c", _LOAD), "")


def test_first_decision(ticket: Common, timed: Timed) -> None:
    """Import, every built-in pack, the first decision."""
    source = _LIBRARY.format(ticket=documents(ticket.table)[0], asked="within")
    _measured(timed, "tirerules: import, load, first decision", python("-c", source), "True")


def test_first_verdict(ticket: Common, timed: Timed) -> None:
    """The same, told as a member of an enumeration, which Python takes its time to import."""
    source = _LIBRARY.format(ticket=documents(ticket.table)[0], asked="verdict")
    _measured(timed, "tirerules: import, load, first decision as a Verdict", python("-c", source), "within-limits")


@pytest.mark.usefixtures("once", "uncached")
def test_first_decision_without_a_cache(ticket: Common, timed: Timed) -> None:
    """The same for whoever has no cache yet: every pack is read, checked and compiled."""
    source = _LIBRARY.format(ticket=documents(ticket.table)[0], asked="within")
    _measured(timed, "tirerules: import, load, first decision, no cache", python("-c", source), "True")


def _command(*more: str) -> list[str]:
    words = "--jurisdiction US-SC --tire-class passenger --vehicle-use private --injury-kind puncture"
    words += " --injury-zone crown --findings none --earlier-repairs none --on 2026-11-25 --tire-sealant-layer no"
    figures = ["--tire-tread-depth", "6/32 in", "--injury-diameter", "5 mm", "--injury-angle", "20 deg"]
    return python("-m", "tirerules", "decide", *words.split(), *figures, *more)


@pytest.mark.parametrize("more", [(), ("--json",)])
def test_command(timed: Timed, more: tuple[str, ...]) -> None:
    """The command as a counter screen or a CI job runs it."""
    what = " ".join(("tirerules decide, as a command", *more))
    _measured(timed, what, _command(*more), '"within-limits"' if more else "WITHIN THE LIMITS")


@pytest.mark.usefixtures("once", "uncached")
def test_command_without_a_cache(timed: Timed) -> None:
    """The same where nothing was ever kept."""
    _measured(timed, "tirerules decide, as a command, no cache", _command(), "WITHIN THE LIMITS")


@pytest.mark.parametrize("module", MODULES)
def test_peer(
    module: str,
    peers: Mapping[str, Peer],
    rules: Rules,
    ticket: Common,
    timed: Timed,
    tmp_path: Path,
) -> None:
    """Import of the engine, its rules for all places from one file, the first decision."""
    engine = _engine(module, peers)
    file = tmp_path / "rules.json"
    keys = itertools.product(JURISDICTIONS, Activity)
    texts = {f"{place} {act}": engine.text(program(rules.clauses, place, act)) for place, act in keys}
    file.write_text(json.dumps(texts), encoding="utf-8")
    row = ticket.flat.rows[0]
    chosen = f"__import__('json').load(open({str(file)!r}))[{row['jurisdictions'] + ' ' + row['activity']!r}]"
    source = engine.cold(_wanted(rules, ticket), ticket.flat, chosen)
    what = f"{MODULES[module]}: import, rules of all places, first decision"
    _measured(timed, what, python("-c", source), "True", role="peer")


@pytest.mark.parametrize("module", MODULES)
def test_peer_with_one_expression(
    module: str, peers: Mapping[str, Peer], rules: Rules, ticket: Common, timed: Timed
) -> None:
    """Less than the question asks for: the engine, and the one expression that decides this ticket, from no file."""
    engine = _engine(module, peers)
    wanted = _wanted(rules, ticket)
    source = engine.cold(wanted, ticket.flat, repr(engine.text(wanted)))
    what = f"{MODULES[module]}: import, one expression, first decision"
    _measured(timed, what, python("-c", source), "True", role="less")


def _engine(module: str, peers: Mapping[str, Peer]) -> Any:
    if module not in peers:
        pytest.skip("not installed")
    engine = import_module(f"tests.benchmarks.peers.{module}")
    if not hasattr(engine, "cold"):
        pytest.skip("cannot be said in a few lines")
    return engine


def _wanted(rules: Rules, ticket: Common) -> Program:
    row = ticket.flat.rows[0]
    return program(rules.clauses, row["jurisdictions"], row["activity"])
