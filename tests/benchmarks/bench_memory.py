"""What outlives a decision: resident memory after many tickets, and whether what came before makes tickets slower."""

from __future__ import annotations

import json
from functools import partial
from pathlib import Path
from statistics import median
from typing import Any, Final

import tirerules
from tests.benchmarks import asking
from tests.benchmarks.asking import fresh_seeds
from tests.benchmarks.context import Context
from tests.benchmarks.measuring import Table, cpu, say
from tests.benchmarks.processes import run
from tests.benchmarks.tickets import texts, tickets

__all__ = ["measure"]

_MIB: Final = 2**20
_VERDICTS: Final = 100_000
_TEXTS: Final = 10_000
_THOUSAND: Final = 1_000
_LONG: Final = 50_000
_WARM: Final = 5_000
_REPEATS: Final = 3
#: Texts are read so often for one figure, since reading a thousand of them takes a few milliseconds alone.
_READINGS: Final = 5
#: What a process says at its end. A line is read, decided and let go.
_RESIDENT: Final = """
import os, subprocess, sys
def resident():
    try:
        with open("/proc/self/statm") as said:
            return int(said.read().split()[1]) * os.sysconf("SC_PAGE_SIZE")
    except OSError:
        return int(subprocess.check_output(["ps", "-o", "rss=", "-p", str(os.getpid())])) * 1024
"""
_NOTHING: Final = "import json\nfor line in open({file!r}):\n    json.loads(line)\nprint(resident())"
_VERDICT: Final = """
import json, tirerules
rulebook = tirerules.load()
for line in open({file!r}):
    rulebook.decide(json.loads(line)).verdict
print(resident())
"""
_TEXT: Final = """
import tirerules
rulebook = tirerules.load()
for line in open({file!r}):
    rulebook.decide_json(line)
print(resident())
"""


def measure(context: Context) -> None:
    """Measure memory, then whether tickets get slower or answers are remembered."""
    _resident(context)
    for name, ask, count in (
        ("verdict", asking.verdict, _LONG),
        ("whole decision", asking.whole, _LONG // 5),
    ):
        _steady(name, ask, count)


def _resident(context: Context) -> None:
    table = Table("resident memory of a process", size=True)
    for count, source, what, bound in (
        (_VERDICTS, _NOTHING, "lines read, nothing decided", None),
        (_THOUSAND, _VERDICT, "distinct verdicts", None),
        (_VERDICTS, _VERDICT, "distinct verdicts", 40),
        (_THOUSAND, _TEXT, "whole decisions as JSON", None),
        (_TEXTS, _TEXT, "whole decisions as JSON", 60),
    ):
        file = context.folder / f"{count}.jsonl"
        if not file.is_file():
            file.write_text(
                "".join(f"{each}\n" for each in texts(tickets(count, next(fresh_seeds())))), encoding="utf-8"
            )
        sample = partial(_held, context, source, file)
        table.add(f"after {count:,} {what}", sample, ceiling=bound and bound * _MIB)
    table.run(turns=1)


def _held(context: Context, source: str, file: Path, turn: int) -> float:
    """Return the bytes that a process holds at its end."""
    made = context.installation
    command = [made.python, "-c", _RESIDENT + source.format(file=str(file))]
    ended = run(command, made.environment(context.folder / "resident"))
    if ended.code:
        raise AssertionError(f"the process ended with {ended.code}")
    return float(ended.out)


def _steady(name: str, ask: Any, count: int) -> None:
    """Print how the last thousand of `count` tickets fares beside the first, and a thousand beside itself again.

    A machine that is slow for a while would be taken for a library that gets slower, so each thousand is counted in
    `json.loads` of itself, timed just before, and the median of several runs stands.
    """
    later, again = [], []
    for _ in range(_REPEATS):
        rulebook = tirerules.load()
        for _ in range(_WARM // _THOUSAND):
            _thousand(rulebook, ask)
        taken = [_thousand(rulebook, ask) for _ in range(count // _THOUSAND)]
        later.append(taken[-1] / taken[0])
        said = texts(tickets(_THOUSAND, next(fresh_seeds())))
        one, other = (_relative(rulebook, ask, said) for _ in range(2))
        again.append(other / one)
    last, twice = median(later), median(again)
    say(
        "",
        f"mapping -> {name}, by one rulebook after {_WARM:,} tickets, median of {_REPEATS} runs",
        f"  the last thousand of {count:,} beside the first: {last:.2f} x, bound 1.1 x {_kept(last <= 1.1)}",
        f"  a thousand a second time beside the first: {twice:.2f} x, bound at least 0.8 x {_kept(twice >= 0.8)}",
    )


def _kept(kept: bool) -> str:
    return "kept" if kept else "MISSED"


def _thousand(rulebook: tirerules.Rulebook, ask: Any) -> float:
    return _relative(rulebook, ask, texts(tickets(_THOUSAND, next(fresh_seeds()))))


def _relative(rulebook: tirerules.Rulebook, ask: Any, said: list[str]) -> float:
    """Return the CPU time of deciding tickets, counted in reading their texts."""
    made = [json.loads(each) for each in said]

    def read() -> None:
        for _ in range(_READINGS):
            for each in said:
                json.loads(each)

    def decide() -> None:
        for each in made:
            ask(rulebook, each)

    return cpu(decide) * _READINGS / cpu(read)
