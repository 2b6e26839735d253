"""A stream: `tirerules decide -`, which is given a line only when it has answered the line before."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from tests.benchmarks.asking import fresh_seeds
from tests.benchmarks.context import Context
from tests.benchmarks.measuring import Sample, Table
from tests.benchmarks.processes import OUTSIDE, ended
from tests.benchmarks.tickets import texts, tickets

__all__ = ["measure"]

_LINES: Final = 1_000
_SECONDS: Final = 20.0
_ECHO: Final = """
import json, sys
for line in sys.stdin.buffer:
    print(json.dumps(json.loads(line)), flush=True)
"""


def conversed(command: Sequence[str | Path], environment: Mapping[str, str], lines: Sequence[str]) -> float:
    """Return the CPU seconds of a process that answers lines one by one.

    Raises AssertionError where an answer is an error, or no answer comes before the next line is given.
    """
    pipe = subprocess.PIPE
    process = subprocess.Popen(list(map(str, command)), stdin=pipe, stdout=pipe, env=environment, cwd=OUTSIDE)
    assert process.stdin is not None
    assert process.stdout is not None
    for line in lines:
        process.stdin.write(line.encode() + b"\n")
        process.stdin.flush()
        answer = process.stdout.readline()
        if not answer or "error" in json.loads(answer):
            process.kill()
            raise AssertionError(f"{answer.decode()!r} is the answer to {line}")
    process.stdin.close()
    process.stdout.close()
    return ended(process)[1]


def _sample(command: Sequence[str | Path], environment: Mapping[str, str], **shape: Any) -> Sample:
    """Return what samples a line: the start, told by a process that is given one line, is taken off."""

    def sample(turn: int) -> float:
        lines = texts(tickets(_LINES, next(fresh_seeds()), **shape))
        start = conversed(command, environment, lines[:1])
        return (conversed(command, environment, lines) - start) / (_LINES - 1)

    return sample


def measure(context: Context) -> None:
    """Measure lines of a stream."""
    made = context.installation
    environment = made.environment(context.folder / "stream")
    command = [made.command, "decide", "-"]
    table = Table("a stream of JSON lines, each answered before the next is given", base="the echo", unit="line")
    table.add(
        "python: json.loads, json.dumps, print, flush", _sample([made.python, "-c", _ECHO], environment), role="base"
    )
    table.add("tirerules decide -", _sample(command, environment), rate=3_000)
    complex_ones = {"measured": True, "injuries": 2, "repaired": True}
    table.add("tirerules decide -, measured, two injuries", _sample(command, environment, **complex_ones))
    table.run(turns=3, seconds=_SECONDS)
