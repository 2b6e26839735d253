"""Where the command line writes: results to standard output, messages to standard error, both UTF-8 everywhere.

Everything that is printed passes here. Text that others wrote was escaped where it was put into a line
(`tirerules.escaping`); here whole lines are kept from being commands to a build service.
"""

from __future__ import annotations

import io
import sys

from tirerules.errors import TirerulesError
from tirerules.escaping import escaped_json, inert

__all__ = ["UnwritableError", "give", "give_commands", "give_json", "prepare", "tell"]


class UnwritableError(TirerulesError, OSError):
    """The answer could not be written where it was to go."""


def prepare() -> None:
    """Make both streams UTF-8, whatever the code page. Raises UnwritableError where there is no standard output.

    What no encoding can write (half a character, from a file name that is no text) stands as an escape.
    """
    if sys.stdout is None:
        raise UnwritableError("standard output is closed, so nothing could be said")
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")


def give(result: str) -> None:
    """Write lines of a result to standard output. Raises UnwritableError, BrokenPipeError."""
    give_commands(inert(result))


def give_json(text: str) -> None:
    """Write one JSON value to standard output, with nothing in it that acts. Raises as `give` does.

    Where it stands on one line, that begins with no colon and so is no command.
    """
    give_commands(escaped_json(text))


def give_commands(result: str) -> None:
    """Write lines of a result that are meant as commands to a build service. Raises as `give` does."""
    try:
        print(result, flush=True)
    except BrokenPipeError:
        raise
    except OSError as error:  # the disk is full, perhaps
        raise UnwritableError(f"the answer cannot be written: {error.strerror or error}") from None


def tell(message: str) -> None:
    """Write lines of a message to standard error; where that cannot be done, nobody can be told."""
    if sys.stderr is None:  # closed by the caller; print would write the message among the results
        return
    try:
        print(inert(message), file=sys.stderr, flush=True)
    except OSError:
        return
