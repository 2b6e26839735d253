"""`tirerules replay FILE`: whether a recorded decision still stands."""

from __future__ import annotations

import argparse
from typing import Any

from tirerules.cli.asking import read_text
from tirerules.cli.streams import give
from tirerules.escaping import escaped
from tirerules.record import parse
from tirerules.replaying import replay

__all__ = ["configure"]


def configure(commands: Any) -> None:
    """Add the subcommand."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "replay",
        help="prove a recorded decision",
        description="Decide a recorded decision's case again, by exactly the packs it names, and compare.",
        epilog="Exit codes: 0 the decision stands, 1 it differs, 2 could not run.",
    )
    parser.add_argument("file", metavar="FILE", help="what `tirerules decide --json` printed")
    parser.add_argument(
        "--packs", action="append", default=[], metavar="PATH", help="a folder or file of your own packs"
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Print what differs. Raises TirerulesError where the record cannot be replayed."""
    found = replay(parse(read_text(options.file)), *options.packs)
    for difference in found.differences:
        give(escaped(difference))
    if found.same:
        give("the decision stands: same case, same packs, same answer")
    return 0 if found.same else 1
