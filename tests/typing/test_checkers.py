"""mypy and pyright, general-purpose type checkers, on a program that is right and on one that is wrong."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support import ROOT, program

HERE = Path(__file__).parent
RIGHT, WRONG = HERE / "right.py", HERE / "wrong.py"
FAULTS = [number for number, line in enumerate(WRONG.read_text("utf-8").splitlines(), 1) if line.endswith("# wrong")]


def lines_of(command: list[str], file: Path) -> tuple[list[int], str]:
    """Return the lines in which a checker finds a fault, and all that it said."""
    done = subprocess.run(
        [sys.executable, "-m", *command, str(file)], cwd=ROOT, capture_output=True, text=True, timeout=300
    )
    said = done.stdout + done.stderr
    found = {int(line) for line in re.findall(rf"{file.name}:(\d+)[: ][^\n]*error", said)}
    return sorted(found), said


@pytest.mark.parametrize("checker", ["mypy", pytest.param("pyright", marks=pytest.mark.node)])
def test_a_checker_finds_each_fault_and_nothing_else(checker):
    command = ["mypy", "--strict", "--no-incremental"] if checker == "mypy" else ["pyright"]
    if checker == "pyright":
        program("node")
    right, said = lines_of(command, RIGHT)
    assert right == [], said
    wrong, said = lines_of(command, WRONG)
    assert wrong == FAULTS, said
