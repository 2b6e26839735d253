"""The command line, one module a subcommand.

Results go to standard output, messages to standard error; bad input gets a sentence, never a traceback.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from typing import Final

from tirerules._version import __version__
from tirerules.cli import check, compare, coverage, decide, limits, new, replay, vectors
from tirerules.errors import TirerulesError

__all__ = ["main"]

#: The question itself was wrong, or the command could not run.
_WRONG: Final = 2


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code."""
    parser = argparse.ArgumentParser(
        prog="tirerules",
        description="May this injured tire be repaired, how, and up to what limit? Cited from law and trade practice.",
        epilog="Not legal advice. Only trained persons repair tires.",
    )
    parser.add_argument("--version", action="version", version=f"tirerules {__version__}")
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")
    for module in (decide, limits, check, new, compare, coverage, replay, vectors):
        module.configure(commands)
    options = parser.parse_args(arguments)
    try:
        return int(options.run(options))
    except TirerulesError as error:
        print(f"tirerules: {error}", file=sys.stderr)
        return _WRONG
    except BrokenPipeError:
        # The reader has gone (head, less): say nothing more, and keep Python from saying it at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return _WRONG
