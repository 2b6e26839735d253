"""Tables of figures, measured in turns and printed as they are done.

A table has rows; a row knows how to take one sample of a turn. All rows of a table are sampled in one turn, then all of
them in the next, so that a machine that is slow for a while slows all alike. What is timed is CPU time: of this process
(`cpu`), or of a child from its start to its end (`tests.benchmarks.processes`). What is printed of a row is the median
of its samples, its ratio to the row that is the table's base, and whether the bound is kept that the row must reach.
"""

from __future__ import annotations

import gc
import os
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from statistics import median
from typing import Any, Final

__all__ = ["TURNS", "Row", "Sample", "Table", "affordable", "cpu", "say"]

#: Takes one sample: from the number of the turn, counted from 0, to CPU seconds for one unit (or bytes).
Sample = Callable[[int], float]
TURNS: Final = 5
#: By how much a probe grows.
_GROWTH: Final = 5
_NAME: Final = 76
#: Roles of rows. "base" is what ratios are counted in; "peer" answers what the table asks; "less" answers less than
#: that, or is given its tickets ready made; "again" was asked the same before, and stands beside a first-time row.
ROLES: Final = ("library", "base", "peer", "less", "again")


def say(*lines: str) -> None:
    """Print lines at once."""
    print(*lines, sep="\n", flush=True)


def cpu(work: Callable[..., object], *given: Any) -> float:
    """Return the CPU seconds of a call. What was alive before is kept out of the way of the garbage collector.

    The collector stays on, as it is in the programs that use the library; but the tickets that a benchmark holds ready
    are no part of such a program, and are not to be walked again and again.
    """
    gc.collect()
    gc.freeze()
    try:
        start = time.process_time()
        work(*given)
        return time.process_time() - start
    finally:
        gc.unfreeze()


def _spent() -> float:
    """Return the CPU seconds of this process and of its children that have ended."""
    times = os.times()
    return times.user + times.system + times.children_user + times.children_system


def affordable(spent: Callable[[int], float], wanted: int, seconds: float) -> int:
    """Return how many units to measure at a time: `wanted`, or as many as take about `seconds`, told by probes.

    `spent` returns the CPU seconds that a number of units takes. A probe of few units tells most of what is done once
    for all; so probes grow until one takes half of `seconds`, and what a further unit takes is told by the last two.
    The answer is `wanted`, or 1, 2 or 5 times a power of ten.
    """
    before, took, probe = 0.0, 0.0, 0
    more = min(1_000, wanted)
    while True:
        before, took, last, probe = took, spent(more), probe, more
        if probe == wanted or took >= seconds / 2:
            break
        more = min(probe * _GROWTH, wanted)
    fitting = probe + (seconds - took) * (probe - last) / max(took - before, 1e-9)
    if fitting >= wanted:
        return wanted
    steps: list[int] = [first * 10**power for power in range(3, 9) for first in (1, 2, 5)]
    return max((step for step in steps if step <= min(fitting, wanted)), default=min(steps[0], wanted))


@dataclass(slots=True)
class Row:
    """One line of a table, with what was measured so far."""

    name: str
    sample: Sample
    role: str = "library"
    ratio: float | None = None  #: bound: at most so many times the base
    rate: float | None = None  #: bound: at least so many units a second
    ceiling: float | None = None  #: bound: at most so much in the table's own unit
    samples: list[float] = field(default_factory=list)

    @property
    def middle(self) -> float:
        """The median of all samples."""
        return median(self.samples)


@dataclass(slots=True)
class Table:
    """Rows that are measured beside each other. `unit` is what is counted by the second; None for nothing.

    `size` says that figures are bytes, not times, of which nothing is counted by the second; `worst` shows the worst
    sample beside the median.
    """

    title: str
    base: str = ""
    unit: str | None = "ticket"
    size: bool = False
    worst: bool = False
    rows: list[Row] = field(default_factory=list)

    def add(self, name: str, sample: Sample, **more: Any) -> None:
        """Add a row; `more` are fields of `Row`."""
        row = Row(name, sample, **more)
        if row.role not in ROLES:
            raise ValueError(f"{row.role!r} is none of {', '.join(ROLES)}")
        self.rows.append(row)

    def run(self, turns: int = TURNS, seconds: float = 60.0) -> None:
        """Measure all rows in turns and print the table.

        No turn but the first begins once this process and its children have spent `seconds` of CPU time since the
        start, drawing tickets among it: so a busy machine takes longer, and measures no less.
        """
        start = _spent()
        for turn in range(turns):
            if turn and _spent() - start >= seconds:
                break
            for row in self.rows:
                row.samples.append(row.sample(turn))
            print(f"  {self.title}: turn {turn + 1} of {turns}", file=sys.stderr, flush=True)
        say(*self.lines())

    def lines(self) -> Sequence[str]:
        """Return the table as text."""
        base = next((row.middle for row in self.rows if row.role == "base"), None)
        peer = min((row.middle for row in self.rows if row.role == "peer"), default=None)
        head = f"{self.title:<{_NAME + 2}}{'median':>10}" + (f"{'worst':>10}" if self.worst else "")
        counted = self.unit is not None and not self.size
        head += f"{f'{self.unit}s/s':>14}" if counted else ""
        head += f"{'x ' + self.base:>14}" if base else ""
        head += f"{'best peer=1':>13}" if peer else ""
        lines = ["", f"{head}  turns  bound"]
        for row in self.rows:
            line = f"  {_role(row):<{_NAME}}{self._figure(row.middle):>10}"
            line += f"{self._figure(max(row.samples)):>10}" if self.worst else ""
            line += f"{_per_second(row.middle):>14}" if counted else ""
            line += f"{row.middle / base:>14.2f}" if base else ""
            line += f"{row.middle / peer:>13.2f}" if peer else ""
            lines.append(f"{line}{len(row.samples):>7}  {self._bound(row, base)}".rstrip())
        return lines

    def _figure(self, value: float) -> str:
        return f"{value / 2**20:.1f} MiB" if self.size else _time(value)

    def _bound(self, row: Row, base: float | None) -> str:
        """Return the bound of a row, and whether it is kept."""
        said: list[tuple[str, bool]] = []
        if row.ratio is not None:
            if not base:
                raise ValueError(f"{row.name!r} has a bound on its ratio, and its table has no base")
            said.append((f"{row.ratio:g} x", row.middle <= row.ratio * base))
        if row.rate is not None:
            said.append((f"{row.rate:,.0f}/s", row.middle * row.rate <= 1))
        if row.ceiling is not None:
            said.append((self._figure(row.ceiling), row.middle <= row.ceiling))
        return ", ".join(f"{bound} {'kept' if kept else 'MISSED'}" for bound, kept in said)


def _role(row: Row) -> str:
    return {"less": f"{row.name} [less]", "again": f"{row.name} [again]"}.get(row.role, row.name)


def _time(seconds: float) -> str:
    for unit, size in (("s", 1.0), ("ms", 1e-3), ("µs", 1e-6)):
        if seconds >= size:
            return f"{seconds / size:.2f} {unit}"
    return f"{seconds / 1e-9:.0f} ns"


def _per_second(seconds: float) -> str:
    return f"{1 / seconds:,.0f}" if seconds else "-"
