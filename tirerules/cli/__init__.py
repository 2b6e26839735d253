"""The command line, one module a subcommand.

Results go to standard output, messages to standard error; bad input gets a sentence, never a traceback.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import Final

from tirerules._version import __version__
from tirerules.errors import TirerulesError

__all__ = ["main"]

#: The modules of the subcommands, in the order in which help lists them.
COMMANDS: Final = ("decide", "limits", "check", "new", "compare", "coverage", "replay", "vectors", "audit")
#: The question itself was wrong, or the command could not run.
_WRONG: Final = 2


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code."""
    given = sys.argv[1:] if arguments is None else arguments
    try:
        return _run(given)
    except BrokenPipeError:
        # The reader has gone (head, less): say nothing more, and keep Python from saying it at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return _WRONG


def _run(given: Sequence[str]) -> int:
    parser = argparse.ArgumentParser(
        prog="tirerules",
        description="May this injured tire be repaired, how, and up to what limit? Cited from law and trade practice.",
        epilog="Not legal advice. Only trained persons repair tires.",
    )
    parser.add_argument("--version", action="version", version=f"tirerules {__version__}")
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")
    # Only what was asked for is imported: a shop that decides one case waits for nothing else.
    for name in given[:1] if given and given[0] in COMMANDS else COMMANDS:
        import_module(f"tirerules.cli.{name}").configure(commands)
    options = parser.parse_args(given)
    try:
        return int(options.run(options))
    except TirerulesError as error:
        print(f"tirerules: {error}", file=sys.stderr)
        return _WRONG
