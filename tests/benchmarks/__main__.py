"""Runs every benchmark, or those named, and prints each table when it is done.

    python -m tests.benchmarks [--rows 1000000] [single|json|stream|cold|batch|audit|memory|growth ...]

It needs ``pip install -e ".[batch]" -r tests/benchmarks/peers.txt``; a peer that is not installed is left out and
named. Before anything is timed, every peer must decide the common tickets as the library does, and name the same rules
behind the limits. All tickets are new to whoever decides them, but where a row says "again"; all times are CPU time on
one core, the median of several turns. "[less]" marks a row that answers less than the others, or is given its tickets
ready made. A bound that is not kept makes no error: this is for people to read.
"""

from __future__ import annotations

import argparse
import os
import shutil
import sys
import time
from importlib import import_module
from typing import Final

# Everything is measured on one core; polars reads this when it is first imported.
os.environ["POLARS_MAX_THREADS"] = "1"

from tests.benchmarks.agreement import DisagreementError
from tests.benchmarks.context import Context
from tests.benchmarks.machine import machine
from tests.benchmarks.measuring import say
from tests.benchmarks.peers import MODULES, installed

SECTIONS: Final = ("single", "json", "stream", "cold", "batch", "audit", "memory", "growth")
_ROWS: Final = 1_000_000


def main() -> int:
    """Run the sections that are named; of none named, all."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("sections", nargs="*", metavar="SECTION", help=f"of {', '.join(SECTIONS)} (default: all)")
    parser.add_argument("--rows", type=int, default=_ROWS, help="rows of a batch, at most (default: %(default)s)")
    options = parser.parse_args()
    unknown = [name for name in options.sections if name not in SECTIONS]
    if unknown:
        parser.error(f"there is no benchmark {unknown[0]!r}; choose from: {', '.join(SECTIONS)}")
    context = Context(options.rows)
    here = dict(installed())
    say(machine(), "peers: " + ", ".join(here.values()))
    missing = [package for module, package in MODULES.items() if module not in here]
    if missing:
        say("not installed, so not measured: " + ", ".join(missing))
    start = time.perf_counter()
    try:
        for name in options.sections or SECTIONS:
            began = time.perf_counter()
            import_module(f"tests.benchmarks.bench_{name}").measure(context)
            now = time.perf_counter()
            say("", f"{name}: {now - began:.0f} s; since the start: {now - start:.0f} s")
    except DisagreementError as error:
        print(f"nothing more is timed, because {error}", file=sys.stderr)
        return 1
    finally:
        shutil.rmtree(context.folder, ignore_errors=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
