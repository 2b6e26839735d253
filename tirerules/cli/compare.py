"""`tirerules compare OLD NEW`: what changed between two versions of rule packs, for whom, and the version gate."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any, Final

from tirerules.authoring.comparing.comparison import compare
from tirerules.authoring.comparing.gate import left_behind, violations
from tirerules.authoring.comparing.reports import FORMATS, summary
from tirerules.authoring.comparing.sources import from_revisions, hold
from tirerules.cli.streams import give, tell
from tirerules.errors import MissingDataError
from tirerules.escaping import escaped
from tirerules.packs.places import from_place, lasting

__all__ = ["configure"]

_EPILOG: Final = """\
OLD and NEW are packs, folders of packs, or REVISION:PATH in the git repository around the current folder; with --git
both sides are PATH in two revisions. A looser limit, a later start, an earlier end or a limit that is gone needs a
pack version with a higher first number, a tighter or new limit, or other cases left open, a higher second, anything
else a higher third. Records name packs by their bytes: the gate also says which versions only OLD holds, and how
records that name them replay.
Exit codes: 0 nothing is wrong, or the gate was not asked for; 1 the gate fails; 2 could not run.
"""


def configure(commands: Any) -> None:
    """Add the subcommand."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "compare",
        help="compare two versions of rule packs",
        description="Say in words what changed for whom: looser, tighter, moved in time, text only.",
        epilog=_EPILOG,
    )
    parser.add_argument("places", nargs="*", metavar="OLD NEW", help="what to compare with what")
    parser.add_argument(
        "--git",
        nargs=3,
        metavar=("OLDREV", "NEWREV", "PATH"),
        help="compare PATH in two revisions of a git repository; nothing is checked out",
    )
    parser.add_argument("--format", choices=FORMATS, default="text", help="(default: text)")
    parser.add_argument(
        "--gate",
        action="store_true",
        help="exit with 1 where a version does not fit its changes; say which records need OLD to replay",
    )
    parser.add_argument(
        "--changelog",
        metavar="FILE",
        help="demand, for each pack that changed, an entry (an item of a list or a paragraph) that names the pack's id "
        'and its new version, or its id and "removed"',
    )
    parser.set_defaults(run=run, usage=parser.error)


def run(options: argparse.Namespace) -> int:
    """Print what changed. Raises TirerulesError where a side cannot be read or compared."""
    if len(options.places) != (0 if options.git else 2):
        options.usage("give either OLD and NEW, or --git OLDREV NEWREV PATH")
    changelog = None if options.changelog is None else _read(options.changelog)
    if options.git:
        old, new, place = from_revisions(*options.git)
    else:
        old, new = (from_place(place) for place in options.places)
        place = lasting(options.places[0])
    before = hold(old)
    comparison = compare(before, hold(new, before))
    problems = violations(comparison, changelog)
    give(FORMATS[options.format](comparison, problems))
    for line in (summary(comparison, problems), *(left_behind(comparison, place) if options.gate else ())):
        tell(escaped(line))
    return 1 if options.gate and problems else 0


def _read(file: str) -> str:
    try:
        return Path(file).read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise MissingDataError(f"{file}: this is no UTF-8 text (byte {error.start + 1}) -- save it as UTF-8") from None
    except OSError as error:
        raise MissingDataError(f"{file}: {error.strerror or error}") from None
