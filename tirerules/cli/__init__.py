"""The command line, one module a subcommand.

Results go to standard output, messages to standard error; bad input gets a sentence, never a traceback. Exit code 1 is
an answer (findings, differences), so whatever goes wrong is 2, a defect of this library too.
"""

from __future__ import annotations

import gc
import os
import sys

from tirerules._version import __version__
from tirerules.cli.parser import Parser
from tirerules.cli.streams import UnwritableError, prepare, tell
from tirerules.errors import ProblemsError, TirerulesError
from tirerules.escaping import escaped

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Final

__all__ = ["main"]

#: The modules of the subcommands, in the order in which help lists them.
COMMANDS: Final = (
    "decide",
    "limits",
    "check",
    "new",
    "compare",
    "coverage",
    "facts",
    "replay",
    "vectors",
    "audit",
    "serve",
)
#: How many objects a stream makes between two looks for garbage, of which a decision leaves little.
_SELDOM: Final = 50_000
#: The question itself was wrong, or the command could not run.
_WRONG: Final = 2


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code."""
    given = sys.argv[1:] if arguments is None else arguments
    # What one answer leaves behind is not worth looking for: the process ends with it, and so may do that at once.
    brief = arguments is None and given[:1] == ["decide"]
    if brief:
        gc.disable()
        gc.set_threshold(_SELDOM)  # for a stream, which enables it again
    try:
        prepare()
        code = _run(given)
        if brief:
            gc.freeze()
        return code
    except BrokenPipeError:
        _forget_output()  # the reader has gone (head, less): say nothing more
        return _WRONG
    except UnwritableError as error:
        _forget_output()
        tell(f"tirerules: {escaped(str(error))}")
        return _WRONG
    except TirerulesError as error:
        # Problems stand one a line, each escaped; of every other error the whole text is one.
        tell(f"tirerules: {error if isinstance(error, ProblemsError) else escaped(str(error))}")
        return _WRONG
    except KeyboardInterrupt:
        tell("tirerules: stopped")
        return _WRONG
    except Exception as error:  # whatever it is, a traceback would end with exit code 1, which is an answer
        from tirerules.cli.defect import defect_text

        tell(defect_text(error))
        return _WRONG


def _run(given: Sequence[str]) -> int:
    parser = Parser(
        prog="tirerules",
        description="May this injured tire be repaired, how, and up to what limit? Cited from law and trade practice.",
        epilog="Not legal advice. Only trained persons repair tires.",
    )
    parser.add_argument("--version", action="version", version=f"tirerules {__version__}")
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND", prog="tirerules")
    # Only what was asked for is imported: a shop that decides one case waits for nothing else.
    for name in given[:1] if given and given[0] in COMMANDS else COMMANDS:
        __import__(f"tirerules.cli.{name}", fromlist=("configure",)).configure(commands)
    options, unread = parser.parse_known_args(given)
    if unread:
        commands.choices.get(given[0], parser).refuse(unread)
    return int(options.run(options))


def _forget_output() -> None:
    """Let go of what could not be written, so that Python does not try again at exit and complain."""
    if sys.stdout is not None:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
