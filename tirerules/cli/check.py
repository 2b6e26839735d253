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
from tirerules.escaping import escaped

__all__ = ["configure"]

_FINDINGS: Final = 1
_NOT_RUN: Final = 2
#: Of all changes, and of those of every kind, so many percent must be noticed.
_LEAST: Final = 97
_LEAST_EACH: Final = 95
#: Flags that mean nothing without --mutate.
_MUTATION: Final = ("least", "least_each", "table", "survivors")


def configure(commands: Any) -> None:
    """Add the subcommand."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "check",
        help="check rule packs",
        description="Check rule packs: form, schema, meaning and their own examples. Everything is told at once.",
        epilog="Exit codes: 0 clean, or information only; 1 an error or a warning; 2 could not run. With --mutate: 0 "
        "enough changes were noticed; 1 they were not, or an example does not hold; 2 could not run.",
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
    mutation = parser.add_argument_group(
        "mutation", "Whether the examples would notice a mistake: every rule is changed in one place at a time."
    )
    mutation.add_argument(
        "--mutate",
        action="store_true",
        help="change the rules, run the examples, and print an example for each change that none notices "
        "(without PATH: the built-in packs)",
    )
    mutation.add_argument(
        "--least", type=_percent, metavar="PERCENT", help=f"notice so many changes in all (default: {_LEAST})"
    )
    mutation.add_argument(
        "--least-each",
        type=_percent,
        metavar="PERCENT",
        help=f"notice so many changes of every kind (default: {_LEAST_EACH})",
    )
    mutation.add_argument(
        "--table", metavar="FILE", help="also run a published table of the law, as comma-separated values"
    )
    mutation.add_argument(
        "--survivors", metavar="FILE", help="a YAML file that maps changes which nothing can notice to the reason"
    )
    parser.add_argument("--codes", action="store_true", help="list every code a finding can have, and stop")
    parser.set_defaults(run=run, misused=parser.error)


def run(options: argparse.Namespace) -> int:
    """Print every finding. Raises MissingDataError where a path does not exist."""
    if options.codes:
        give(reports.codes_table())
        return 0
    if options.mutate:
        return _mutate(options)
    if any(getattr(options, name) is not None for name in _MUTATION):
        options.misused("--" + ", --".join(_MUTATION).replace("_", "-") + " go with --mutate")
    if not options.paths:
        options.misused("the following arguments are required: PATH")
    if options.on and options.older_than is None:
        options.misused("--on counts back --older-than MONTHS: name both")
    age = None if options.older_than is None else Age(options.on or date.today(), options.older_than)
    checked = check(*options.paths, age=age)
    return _told(options.format, checked)


def _told(form: str, checked: Checked) -> int:
    """Print what was found and return the exit code."""
    said = _report(form, checked)
    if said and checked.files:
        _give(form, said)
    tell(reports.summary(checked))
    if not checked.files:
        tell("tirerules: no .yaml file was found there")
        return _NOT_RUN
    return 0 if checked.clean else _FINDINGS


def _give(form: str, said: str) -> None:
    (give_commands if form == "github" else give)(said)


def _mutate(options: argparse.Namespace) -> int:
    """Print what survives and the scores. Raises as `run` does."""
    from tirerules.authoring.mutation import mutating, report, survivors, table
    from tirerules.packs.library import builtin

    if options.older_than is not None or options.on is not None:
        options.misused("--older-than and --on are about the evidence of packs: leave them out with --mutate")
    reasons = {} if options.survivors is None else survivors.read_reasons(options.survivors)
    published = None if options.table is None else table.read_table(options.table)
    mutated = mutating.mutate(*(options.paths or [str(builtin())]), table=published)
    found = report.found(mutated, reasons)
    if mutated.gathered.problems or not found.files:
        _told(options.format, found)
        return _NOT_RUN
    scores = report.scores(mutated)
    stale = survivors.stale(reasons, mutated)
    if options.format == "text":
        give("\n".join((*map(escaped, report.pasting(mutated, reasons)), "", report.tables(scores))))
        for problem in mutated.broken:
            tell(f"tirerules: {problem}")
    else:
        _give(options.format, _report(options.format, found))
        tell(report.tables(scores))
    for each in stale:
        tell(f"tirerules: {escaped(options.survivors)}: {escaped(each)}")
    least = _LEAST if options.least is None else options.least
    least_each = _LEAST_EACH if options.least_each is None else options.least_each
    enough = scores.reached(least, least_each) and not stale and not mutated.broken
    return 0 if enough else _FINDINGS


def _report(form: str, checked: Checked) -> str:
    if form == "text":
        return reports.text(checked, colour=sys.stdout.isatty() and not os.environ.get("NO_COLOR"))
    return reports.FORMATS[form](checked)


def _months(said: str) -> int:
    if not (said.isascii() and said.isdigit() and 1 <= len(said) <= 5 and int(said)):
        raise argparse.ArgumentTypeError(f"{said!r} is no number of months -- write, for example, 12")
    return int(said)


def _percent(said: str) -> int:
    if not (said.isascii() and said.isdigit() and len(said) <= 3 and int(said) <= 100):
        raise argparse.ArgumentTypeError(f"{said!r} is no percentage -- write a whole number from 0 to 100")
    return int(said)


def _day(said: str) -> date:
    try:
        if len(said) == len("2026-01-31"):
            return date.fromisoformat(said)
    except ValueError:
        pass
    raise argparse.ArgumentTypeError(f"{said!r} is no day of the calendar -- write YYYY-MM-DD")
