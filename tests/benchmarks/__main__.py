"""Runs every benchmark, or those named, and prints one table: ``python -m tests.benchmarks [single batch ...]``.

It needs ``pip install -e ".[batch]" -r tests/benchmarks/peers.txt``; a peer that is not installed is left out and
named. Before anything is timed, every peer must decide the common tickets as the library does.
"""

from __future__ import annotations

import json
import sys
import tempfile
from pathlib import Path

import pytest

from tests.benchmarks.peers import MODULES, installed
from tests.benchmarks.processes import ROOT
from tests.benchmarks.report import machine, table

HERE = Path(__file__).parent


def main(names: list[str]) -> int:
    """Run the benchmarks whose files are named (``single`` is ``bench_single.py``); of none named, all."""
    files = [HERE / f"bench_{name}.py" for name in names] or sorted(HERE.glob("bench_*.py"))
    for file in files:
        if not file.is_file():
            known = ", ".join(sorted(each.stem.removeprefix("bench_") for each in HERE.glob("bench_*.py")))
            print(f"there is no benchmark {file.stem.removeprefix('bench_')!r}; choose from: {known}", file=sys.stderr)
            return 2
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder, "medians.json")
        # The settings of the test command are for tests: none of them is wanted here.
        settings = ["-c", str(HERE / "pytest.ini"), "--rootdir", str(ROOT), "-q", "-p", "no:cacheprovider"]
        status = pytest.main([*settings, f"--benchmark-json={out}", "--benchmark-quiet", *map(str, files)])
        if status or not out.is_file():
            return int(status) or 2
        measured = json.loads(out.read_text())["benchmarks"]
    print(f"\n{machine()}")
    here = dict(installed())
    print("peers: " + ", ".join(here.values()))
    missing = [package for module, package in MODULES.items() if module not in here]
    if missing:
        print("not installed, so not measured: " + ", ".join(missing))
    print("\n".join(table(measured)))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
