"""`tirerules check PATH...`: whether packs may go live."""

from __future__ import annotations

import argparse
import sys
from typing import Any

from tirerules.authoring.checking import check

__all__ = ["configure"]


def configure(commands: Any) -> None:
    """Add the subcommand."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "check",
        help="check rule packs",
        description="Check rule packs: form, schema, meaning and their own examples.",
        epilog="Exit codes: 0 clean, 1 findings, 2 could not run.",
    )
    parser.add_argument("paths", nargs="+", metavar="PATH", help="a pack, or a folder of packs")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Print every finding. Raises MissingDataError where a path does not exist."""
    checked = check(*options.paths)
    for problem in checked.problems:
        print(problem)
    files, found = checked.files, len(checked.problems)
    print(f"{files} file{'s' * (files != 1)} checked, {found} finding{'s' * (found != 1)}", file=sys.stderr)
    if not files:
        print("tirerules: no .yaml file was found there", file=sys.stderr)
        return 2
    return 1 if found else 0
