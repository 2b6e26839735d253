"""Whole processes: what one prints, how it ends, and how much CPU time it takes from its start to its end."""

from __future__ import annotations

import os
import subprocess
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import BinaryIO, Final, NamedTuple

__all__ = ["CACHE", "OUTSIDE", "ROOT", "Ended", "clean", "ended", "run"]

ROOT: Final = Path(__file__).parent.parent.parent
#: The variable that names the folder for compiled packs, or ``off``.
CACHE: Final = "TIRERULES_CACHE"
#: Where processes begin, so that none of them imports the checkout that this one was started in.
OUTSIDE: Final = Path(ROOT.anchor)
#: What would let a process find another library, another cache, or compile its modules anew.
_FOREIGN: Final = ("PYTHON", "TIRERULES", "XDG_", "COV")


class Ended(NamedTuple):
    """A process that has ended."""

    code: int
    out: str
    cpu: float  #: seconds, of the process and its own children, in user and in system


def clean(**more: str) -> dict[str, str]:
    """Return an environment without what would disturb a measurement, with `more` in it."""
    kept = {name: said for name, said in os.environ.items() if not name.startswith(_FOREIGN)}
    return {**kept, **more}


def run(
    command: Sequence[str | Path], environment: Mapping[str, str], given: BinaryIO | int = subprocess.DEVNULL
) -> Ended:
    """Run a command to its end, with `given` as its standard input. What it says on standard error is shown."""
    with tempfile.TemporaryFile() as out:
        process = subprocess.Popen(
            [str(each) for each in command], stdin=given, stdout=out, env=environment, cwd=OUTSIDE
        )
        code, spent = ended(process)
        out.seek(0)
        return Ended(code, out.read().decode(), spent)


def ended(process: subprocess.Popen[bytes]) -> tuple[int, float]:
    """Wait for a process to end; return its exit code and its CPU seconds."""
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    return process.returncode, usage.ru_utime + usage.ru_stime
