"""Sweeps everything, with the reasons of every undetermined row, and prints the counts: `python -m tests.sweep`.

Names of places after it sweep those alone. Exit code 1 where a row came out as it may not.
"""

from __future__ import annotations

import sys

import tirerules
from tests.sweep.judging import swept
from tests.sweep.rows import rows

_SHOWN = 200


def main(places: list[str]) -> int:
    """Sweep, print and return the exit code."""
    book = tirerules.load()
    sweep = swept(book, rows(places or book.codes))
    width = max(map(len, sweep.by_way))
    for way, outcomes in sweep.by_way.items():
        print(f"{way:{width}}  {_said(outcomes)}")
    print(f"{sweep.count} rows: {_said(sweep.outcomes)}; {sweep.twins.total()} lawful twins: {_said(sweep.twins)}")
    for wrong in sweep.wrong[:_SHOWN]:
        print(f"WRONG {wrong}")
    print(f"{len(sweep.wrong)} wrong")
    return 1 if sweep.wrong else 0


def _said(outcomes: dict[str, int]) -> str:
    return ", ".join(f"{outcome} {count}" for outcome, count in sorted(outcomes.items()))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
