"""`tirerules limits CODE...`: the ladder of limits on every fact, by activity."""

from __future__ import annotations

import argparse
import json
from typing import Any, Final

from tirerules.cli import asking
from tirerules.cli.streams import give
from tirerules.cli.text import limits_text, prose
from tirerules.escaping import escaped_json
from tirerules.record.decisions import limits_to_json
from tirerules.vocabulary import ACTIVITIES

__all__ = ["configure"]

#: Notices that a ladder needs beside it: whose packs these are; what of the place's law was not found or not read.
_ABOUT_THE_PLACE: Final = ("replaced", "none-located", "not-reviewed", "partial")


def configure(commands: Any) -> None:
    """Add the subcommand."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "limits",
        help="show what limits a place sets",
        description="Show every limit that applies or may apply in these places, strictest first; * marks what binds.",
    )
    parser.add_argument("codes", nargs="+", metavar="CODE", help="jurisdiction codes, such as US-SC CA-ON")
    asking.add_activity_flag(parser, None)
    parser.add_argument("--json", action="store_true", help="print as JSON")
    asking.add_case_flags(parser)
    asking.add_rulebook_flags(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Print the limits. Raises TirerulesError for a question that is wrong."""
    rulebook = asking.rulebook_of(options)
    activities = [options.activity] if options.activity else list(ACTIVITIES)
    found = {
        str(activity): rulebook.decide(asking.case_of(vars(options), options.codes, activity))
        for activity in activities
    }
    if options.json:
        limits = {name: limits_to_json(decision.limits) for name, decision in found.items()}
        give(escaped_json(json.dumps(limits, ensure_ascii=False)))
        return 0
    blocks = []
    for name, decision in found.items():
        method = f", by the {decision.limits_method} method" if decision.limits_method else ""
        title = f"{name.upper()}{method} | {', '.join(options.codes)} | {decision.on}"
        notices = [f"  - {prose(notice.text)}" for notice in decision.notices if notice.kind in _ABOUT_THE_PLACE]
        blocks.append("\n".join([limits_text(title, decision.limits), *notices]))
    dead = [
        f"  {pack.id}: {prose(each.title)} ({each.outcome}{' ' + prose(each.year) if each.year else ''}): "
        f"{prose(each.would_set)}"
        for pack in rulebook.packs_for(options.codes)
        for each in pack.not_law
    ]
    if dead:
        blocks.append("\n".join(["NOT LAW (never binds)", *dead]))
    give("\n\n".join(blocks))
    return 0
