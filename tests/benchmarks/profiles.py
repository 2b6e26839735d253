"""Where the time goes: ``python -m tests.benchmarks.profiles [single|new|batch]`` prints profiles as text."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Mapping
from functools import partial
from typing import Final

from pyinstrument import Profiler
from pyinstrument.renderers import ConsoleRenderer

import tirerules
from tests.benchmarks.bench_single import SHOWN
from tests.benchmarks.tickets import cases, tickets
from tirerules.batch import decide_batch

#: Seconds between two looks at the stack.
_INTERVAL: Final = 0.0005
#: Share of the whole below which a call is not shown.
_SHOWN: Final = 0.01
_TICKETS: Final = 4_000
_PASSES: Final = 20
_ROWS: Final = 1_000_000


def _decide(rulebook: tirerules.Rulebook, asked: Iterable[tirerules.Case]) -> None:
    for case in asked:
        decision = rulebook.decide(case)
        for each in SHOWN:
            getattr(decision, each)


def _single() -> Callable[[], object]:
    """Return what decides the same tickets again and again."""
    rulebook, asked = tirerules.load(), cases(tickets(_TICKETS))
    _decide(rulebook, asked)  # what only the first decisions do is no part of the profile
    return partial(_decide, rulebook, asked * _PASSES)


def _new() -> Callable[[], object]:
    """Return what decides tickets that were never seen, after a rotation of others."""
    rulebook = tirerules.load()
    _decide(rulebook, cases(tickets(_TICKETS)))
    return partial(_decide, rulebook, cases(tickets(_TICKETS, seed=2)))


def _batch() -> Callable[[], object]:
    return partial(decide_batch, tirerules.load(), tickets(_ROWS))


WORK: Final[Mapping[str, Callable[[], Callable[[], object]]]] = {"single": _single, "new": _new, "batch": _batch}


def main(names: list[str]) -> int:
    """Print a profile of each piece of work that is named; of none named, all."""
    unknown = [name for name in names if name not in WORK]
    if unknown:
        print(f"there is no profile {unknown[0]!r}; choose from: {', '.join(WORK)}", file=sys.stderr)
        return 2
    for name in names or WORK:
        work = WORK[name]()
        with Profiler(interval=_INTERVAL) as profiler:
            work()
        print(f"--- {name}")
        # Frames of the library count as our own here; those of Python are folded into who called them.
        own = {"show_regex": r".*[/\\\\]tirerules[/\\\\].*", "hide_regex": "<.*>"}
        renderer = ConsoleRenderer(unicode=True, color=False, processor_options={**own, "filter_threshold": _SHOWN})
        print(profiler.output(renderer))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
