"""`tirerules check PATH...`: whether packs may go live, as text, JSON, workflow annotations or SARIF."""

from __future__ import annotations

import argparse
import os
import sys
from datetime import date
from typing import Any, Final

from tirerules.authoring import reports
from tirerules.authoring.checking import Checked, check
from tirerules.authoring.checks import Age
from tirerules.cli.streams import give, give_commands, tell

__all__ = ["configure"]

_FINDINGS: Final = 1
_NOT_RUN: Final = 2


def configure(commands: Any) -> None:
    """Add the subcommand."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "check",
        help="check rule packs",
        description="Check rule packs: form, schema, meaning and their own examples. Everything is told at once.",
        epilog="Exit codes: 0 clean, or information only; 1 an error or a warning; 2 could not run.",
    )
    parser.add_argument("paths", nargs="*", metavar="PATH", help="a pack, or a folder of packs")
    parser.add_argument("--format", choices=("text", *reports.FORMATS), default="text", help="(default: text)")
    parser.add_argument(
        "--older-than",
        type=_months,
        metavar="MONTHS",
        help="warn of sources that were last read, and packs last reviewed, more than so many months ago",
    )
    parser.add_argument(
        "--on", type=_day, metavar="YYYY-MM-DD", help="count --older-than from this day (default: today)"
    )
    parser.add_argument("--codes", action="store_true", help="list every code a finding can have, and stop")
    parser.set_defaults(run=run, misused=parser.error)


def run(options: argparse.Namespace) -> int:
    """Print every finding. Raises MissingDataError where a path does not exist."""
    if options.codes:
        give(reports.codes_table())
        return 0
    if not options.paths:
        options.misused("the following arguments are required: PATH")
    if options.on and options.older_than is None:
        options.misused("--on counts back --older-than MONTHS: name both")
    age = None if options.older_than is None else Age(options.on or date.today(), options.older_than)
    checked = check(*options.paths, age=age)
    said = _report(options.format, checked)
    if said and checked.files:
        (give_commands if options.format == "github" else give)(said)
    tell(reports.summary(checked))
    if not checked.files:
        tell("tirerules: no .yaml file was found there")
        return _NOT_RUN
    return 0 if checked.clean else _FINDINGS


def _report(form: str, checked: Checked) -> str:
    if form == "text":
        return reports.text(checked, colour=sys.stdout.isatty() and not os.environ.get("NO_COLOR"))
    return reports.FORMATS[form](checked)


def _months(said: str) -> int:
    if not (said.isascii() and said.isdigit() and 1 <= len(said) <= 5 and int(said)):
        raise argparse.ArgumentTypeError(f"{said!r} is no number of months -- write, for example, 12")
    return int(said)


def _day(said: str) -> date:
    try:
        if len(said) == len("2026-01-31"):
            return date.fromisoformat(said)
    except ValueError:
        pass
    raise argparse.ArgumentTypeError(f"{said!r} is no day of the calendar -- write YYYY-MM-DD")
