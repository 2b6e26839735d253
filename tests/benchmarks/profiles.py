"""Where the time goes, on tickets never seen before: ``python -m tests.benchmarks.profiles [single|json|batch]``."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any, Final

from pyinstrument import Profiler
from pyinstrument.renderers import ConsoleRenderer

import tirerules
from tests.benchmarks import asking
from tests.benchmarks.tickets import in_plain_text, texts, tickets
from tirerules.batch import Decider

#: Seconds between two looks at the stack.
_INTERVAL: Final = 0.0005
#: Share of the whole below which a call is not shown.
_SHOWN: Final = 0.01
_WARM: Final = 5_000
_TICKETS: Final = 20_000
_TEXTS: Final = 2_000
_ROWS: Final = 1_000_000


def _deciding(
    ask: Callable[[tirerules.Rulebook, Any], object], count: int, read: Callable[[str], Any]
) -> Callable[[], None]:
    """Return what asks a question of `count` new tickets, by a rulebook that has answered others."""
    rulebook = tirerules.load()

    def decide(said: list[Any]) -> None:
        for each in said:
            ask(rulebook, each)

    decide([read(each) for each in texts(tickets(_WARM, seed=1))])
    return partial(decide, [read(each) for each in texts(tickets(count, seed=2))])


def _batch() -> Callable[[], object]:
    """Return what decides the first table of a process, in plain text."""
    return partial(Decider(tirerules.load()).decide, in_plain_text(tickets(_ROWS, known=True)))


WORK: Final[Mapping[str, Callable[[], Callable[[], object]]]] = {
    "single": lambda: _deciding(asking.whole, _TICKETS, json.loads),
    "json": lambda: _deciding(asking.text, _TEXTS, str),
    "batch": _batch,
}


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
