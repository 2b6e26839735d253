"""`tirerules replay FILE`: whether a recorded decision still stands."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from typing import Any, Final

from packaging.version import Version

from tirerules._version import __version__
from tirerules.cli.asking import read_text
from tirerules.cli.streams import give
from tirerules.escaping import escaped
from tirerules.record import parse
from tirerules.replaying import Replay, replay

__all__ = ["configure"]

_EPILOG: Final = """\
The packs that the decision names are demanded byte for byte: those that ship with this library, or those of the day it
was made, wherever they are kept. A decision by another version of the library is compared in the form of that version.
Exit codes: 0 the answer stands (the decision itself, or the same answer by another library, which is said); 1 another
answer, or a record that was changed, with what differs; 2 could not run (a pack is not at hand, this is no decision).
"""


def configure(commands: Any) -> None:
    """Add the subcommand."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "replay",
        help="prove a recorded decision",
        description="Decide a recorded decision's case again, by exactly the packs it names, and compare.",
        epilog=_EPILOG,
    )
    parser.add_argument("file", metavar="FILE", help="what `tirerules decide --json` printed")
    parser.add_argument(
        "--packs",
        action="append",
        default=[],
        metavar="PLACE",
        help="where packs are besides those that ship: a folder, a file, or REVISION:PATH in the git repository "
        "around the current folder",
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Print whether the answer stands and what differs. Raises TirerulesError where the record cannot be replayed."""
    found = replay(parse(read_text(options.file)), *options.packs)
    for line in _lines(found):
        give(escaped(line))
    return 0 if found.same else 1


def _lines(found: Replay) -> Iterator[str]:
    by = f"made by tirerules {found.engine}, decided again by {__version__}" if found.engine else ""
    if found.differences:
        if found.intact:
            yield f"another answer ({by})" if by else "another answer"
        yield from found.differences
    elif by:
        age = "newer" if Version(found.engine) < Version(__version__) else "older"
        yield f"same answer, {age} library: {by}; same case, same packs, same digest once the version is put back"
        yield from (f"said besides by {__version__}: {each}" for each in found.beyond)
    else:
        yield "the decision stands: same case, same packs, same answer"
