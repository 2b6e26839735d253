"""What is said where the library itself fails: that it is its own mistake, and what to send to whom."""

from __future__ import annotations

import os
import sys
import traceback
from typing import Final

from tirerules._version import __version__
from tirerules.escaping import escaped

__all__ = ["TRACEBACK", "defect_text"]

#: The environment variable that asks for the traceback too.
TRACEBACK: Final = "TIRERULES_TRACEBACK"


def defect_text(error: Exception) -> str:
    """Return what to say of an exception that no input may cause: one sentence, what to do, and the trace if asked."""
    system = f"tirerules {__version__}, Python {sys.version.split()[0]}, {sys.platform}"
    lines = [
        f"tirerules: this is a defect of the library, not of your input: {type(error).__name__}: {escaped(str(error))}",
        "tirerules: nothing was decided. Please report it to whoever keeps the library: the command, its input, "
        f"{system}, and what is printed with {TRACEBACK}=1 in the environment.",
    ]
    if os.environ.get(TRACEBACK):
        lines += [escaped(line) for part in traceback.format_exception(error) for line in part.splitlines()]
    return "\n".join(lines)
