"""Cold start: whole processes from start to end, each for another ticket, by an installed wheel with compiled modules.

The library loads every built-in pack and reads the ticket as a person writes it. A peer reads its rules from one file,
ready made in its own language for each place and activity, and is given the ticket in whole numbers; what it takes
with its rules for that one ticket alone is shown beside it. Disk and memory are warm for all alike.
"""

from __future__ import annotations

import itertools
import json
from collections.abc import Callable, Mapping
from functools import cached_property
from importlib import import_module
from pathlib import Path
from types import ModuleType
from typing import Any, Final

from tests.benchmarks.agreement import Common
from tests.benchmarks.asking import fresh_seeds
from tests.benchmarks.context import Context
from tests.benchmarks.exported import Program, program
from tests.benchmarks.measuring import Table
from tests.benchmarks.processes import Ended, run
from tests.benchmarks.tickets import documents, tickets
from tirerules.jurisdictions import JURISDICTIONS
from tirerules.vocabulary import Activity

__all__ = ["measure"]

#: Each row is asked so many tickets, one in each turn.
_TICKETS: Final = 24
_SECONDS: Final = 20.0
#: Tickets decided before the first that is timed, where there is a folder for compiled packs.
_BEFORE: Final = 3
_CODES: Final = {"within-limits": 0, "outside-limits": 3, "undetermined": 4}
_VERDICT: Final = "import tirerules\nprint(tirerules.load().decide({ticket!r}).verdict)"
_LIMITS: Final = """import tirerules
decision = tirerules.load().decide({ticket!r})
for limits in decision.limits.values():
    limits.binding
print(decision.verdict)"""

Say = Callable[[dict[str, Any], Path], tuple[list[str], Path | None]]


class _Drawn:
    """The tickets of the cold processes: a shop's own spread, of those that flags can state, and their verdicts."""

    def __init__(self, context: Context) -> None:
        drawn = documents(tickets(4 * _TICKETS, next(fresh_seeds())))
        fit = [each for each in drawn if len(each.get("earlier_repairs", ())) <= 1]
        self.documents = fit[: _TICKETS + _BEFORE]
        self.verdicts = [context.rulebook.decide(each).verdict.value for each in self.documents]


def measure(context: Context) -> None:
    """Measure cold processes in each of three environments, then those of the peers."""
    drawn = _Drawn(context)
    made = context.installation
    for title, folder, environment in (
        ("with a folder for compiled packs", context.folder / "cold", None),
        ("without a folder for compiled packs", None, made.environment(None)),
        ("with a home that cannot be written", None, made.environment(None, home=False)),
    ):
        table = Table(f"a whole cold process, {title}", base="bare", unit=None, worst=True)
        bare = _Process(context, drawn, environment or made.environment(folder))
        table.add("bare interpreter", bare.interpreter, role="base")
        forms = itertools.product((("flags", _flags), ("a file", _file), ("a pipe", _pipe)), ((), ("--json",)))
        rows = [(f"tirerules decide, {' '.join((name, *more))}", say, more) for (name, say), more in forms]
        rows.append(("tirerules decide, one line to -", _line, ()))
        for at, (name, say, more) in enumerate(rows):
            # A folder of its own for each row: none finds what another left behind.
            process = _Process(context, drawn, environment or made.environment(context.folder / f"cold{at}"))
            if environment is None:
                process.warm(say, more)
            table.add(name, process.asked(say, more), ratio=5.0)
        for name, source, bound in (("verdict", _VERDICT, 3.0), ("verdict, limits, binding rules", _LIMITS, 4.0)):
            process = _Process(context, drawn, environment or made.environment(context.folder / f"cold-{bound:g}"))
            if environment is None:
                process.warm_source(source)
            table.add(f"python: import, load, first {name}", process.imported(source), ratio=bound)
        table.run(turns=_TICKETS, seconds=_SECONDS)
    _peers(context)


class _Process:
    """Runs the processes of one row, in one environment."""

    def __init__(self, context: Context, drawn: _Drawn, environment: Mapping[str, str]) -> None:
        self._made, self._drawn, self._environment = context.installation, drawn, environment
        self._folder = context.folder

    def interpreter(self, turn: int) -> float:
        """Run nothing but Python."""
        return run([self._made.python, "-c", "pass"], self._environment).cpu

    def asked(self, say: Say, more: tuple[str, ...]) -> Callable[[int], float]:
        """Return what runs the command for the ticket of a turn."""
        return lambda turn: self._command(say, more, turn)

    def imported(self, source: str) -> Callable[[int], float]:
        """Return what runs a program for the ticket of a turn."""
        return lambda turn: self._program(source, turn)

    def warm(self, say: Say, more: tuple[str, ...]) -> None:
        """Run the command for other tickets."""
        for each in range(_TICKETS, _TICKETS + _BEFORE):
            self._command(say, more, each)

    def warm_source(self, source: str) -> None:
        """Run a program for other tickets."""
        for each in range(_TICKETS, _TICKETS + _BEFORE):
            self._program(source, each)

    def _command(self, say: Say, more: tuple[str, ...], at: int) -> float:
        words, given = say(self._drawn.documents[at], self._folder / "ticket.json")
        command = [self._made.command, "decide", *words, *more]
        if given is None:
            ended = run(command, self._environment)
        else:
            with given.open("rb") as file:
                ended = run(command, self._environment, file)
        verdict = self._drawn.verdicts[at]
        if ended.code != _CODES[verdict] or not ended.out:
            raise AssertionError(f"{command} ended with {ended.code} where the verdict is {verdict}: {ended.out}")
        return ended.cpu

    def _program(self, source: str, at: int) -> float:
        command = [self._made.python, "-c", source.format(ticket=self._drawn.documents[at])]
        ended = run(command, self._environment)
        if ended.code or ended.out.strip() != self._drawn.verdicts[at]:
            raise AssertionError(f"{ended} where the verdict is {self._drawn.verdicts[at]}")
        return ended.cpu


def _flags(document: dict[str, Any], file: Path) -> tuple[list[str], Path | None]:
    """State a ticket by flags."""
    words = [word for code in document["jurisdictions"] for word in ("--jurisdiction", code)]
    for key, said in document.items():
        if key in ("injuries", "earlier_repairs"):
            group = "injury" if key == "injuries" else "repair"
            for item in said:
                words += _flagged(group, item)
            if not said:
                words += [f"--{key.replace('_', '-')}", "none"]
        elif isinstance(said, dict):
            words += _flagged(key, said)
        elif key == "findings":
            words += ["--findings", ",".join(said) or "none"]
        elif key != "jurisdictions":
            words += [f"--{key}", said]
    return words, None


def _flagged(group: str, block: Mapping[str, Any]) -> list[str]:
    said = {True: "yes", False: "no"}
    return [
        word
        for key, value in block.items()
        for word in (f"--{group}-{key}".replace("_", "-"), said[value] if isinstance(value, bool) else value)
    ]


def _file(document: dict[str, Any], file: Path) -> tuple[list[str], Path | None]:
    """State a ticket by a file."""
    file.write_text(json.dumps(document, indent=1), encoding="utf-8")
    return [str(file)], None


def _pipe(document: dict[str, Any], file: Path) -> tuple[list[str], Path | None]:
    """State a ticket by what another program gives, read as a file."""
    file.write_text(json.dumps(document), encoding="utf-8")
    return ["/dev/stdin"], file


def _line(document: dict[str, Any], file: Path) -> tuple[list[str], Path | None]:
    """State a ticket as a stream of one line."""
    file.write_text(json.dumps(document) + "\n", encoding="utf-8")
    return ["-"], file


def _peers(context: Context) -> None:
    """Measure what the engines take for tickets in whole numbers."""
    table = Table("a whole cold process, engines given a ticket in whole numbers", base="bare", unit=None, worst=True)
    process = _Process(context, _Drawn(context), context.installation.environment(None))
    table.add("bare interpreter", process.interpreter, role="base")
    for module in context.peers:
        engine = import_module(f"tests.benchmarks.peers.{module}")
        if hasattr(engine, "cold"):
            cold = _PeerProcess(context, module, engine)
            package = context.package(module)
            table.add(f"{package}: import, rules of all places, first decision", cold.whole, role="less")
            table.add(f"{package}: import, one expression, first decision", cold.one, role="less")
    table.run(turns=_TICKETS, seconds=_SECONDS)


class _PeerProcess:
    """Runs the processes of one engine."""

    def __init__(self, context: Context, module: str, engine: ModuleType) -> None:
        self._context, self._engine = context, engine
        self._file = context.folder / f"{module}.json"

    @cached_property
    def _rules(self) -> Path:
        """The file of the rules of all places and activities, in the engine's own language."""
        clauses = self._context.rules.clauses
        keys = itertools.product(JURISDICTIONS, Activity)
        texts = {f"{place} {act}": self._engine.text(program(clauses, place, act)) for place, act in keys}
        self._file.write_text(json.dumps(texts), encoding="utf-8")
        return self._file

    def _ticket(self, turn: int) -> tuple[Common, Program, str]:
        common = self._context.common
        ticket = Common(common.table.slice(turn, 1), common.within[turn : turn + 1])
        row = ticket.flat.rows[0]
        wanted = program(self._context.rules.clauses, row["jurisdictions"], row["activity"])
        return ticket, wanted, f"{row['jurisdictions']} {row['activity']}"

    def whole(self, turn: int) -> float:
        """Import, read the rules of all places from one file, decide."""
        ticket, wanted, key = self._ticket(turn)
        chosen = f"__import__('json').load(open({str(self._rules)!r}))[{key!r}]"
        return self._run(self._engine.cold(wanted, ticket.flat, chosen), ticket)

    def one(self, turn: int) -> float:
        """Import, decide by the one expression that this ticket needs: less than the question asks for."""
        ticket, wanted, _ = self._ticket(turn)
        return self._run(self._engine.cold(wanted, ticket.flat, repr(self._engine.text(wanted))), ticket)

    def _run(self, source: str, ticket: Common) -> float:
        made = self._context.installation
        ended: Ended = run([made.python, "-c", source], made.environment(None))
        if ended.code or ended.out.strip() != str(bool(ticket.within[0])):
            raise AssertionError(f"{ended} where within is {ticket.within[0]}")
        return ended.cpu
