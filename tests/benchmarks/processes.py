"""Whole processes: what one prints, how it ends, and how much memory it held at most."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Final

__all__ = ["ROOT", "peak_memory", "python", "run"]

ROOT: Final = Path(__file__).parent.parent.parent
#: A process counts what its parent held when it was started, so it is started from a small one.
_SMALL_PARENT: Final = """
import os, sys
_, _, usage = os.wait4(os.posix_spawn(sys.argv[1], sys.argv[1:], os.environ), 0)
print(usage.ru_maxrss)
"""


def python(*arguments: str) -> list[str]:
    """Return the command that runs Python."""
    return [sys.executable, *arguments]


def run(command: Sequence[str]) -> str:
    """Run a command to its end and return what it printed. Raises CalledProcessError where it fails."""
    ended = subprocess.run(
        command, stdout=subprocess.PIPE, env={**os.environ, "PYTHONPATH": str(ROOT)}, text=True, check=True
    )
    return ended.stdout.strip()


def peak_memory(command: Sequence[str]) -> int:
    """Return the most memory that a process held, in bytes."""
    said = run([*python("-S", "-E", "-c", _SMALL_PARENT), *command]).splitlines()[-1]
    # Linux counts kibibytes, macOS bytes.
    return int(said) * (1 if sys.platform == "darwin" else 1024)
