"""`tirerules coverage`: what the packs cover and what is missing, as a table, CSV or JSON."""

from __future__ import annotations

import argparse
import csv
import io
import json
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final

from tirerules.authoring.coverage import Cell, cell_to_json, cells, coverage_to_json, missing
from tirerules.cli import asking
from tirerules.cli.streams import give
from tirerules.escaping import escaped, escaped_json
from tirerules.rulebook import Rulebook
from tirerules.vocabulary import ACTIVITIES, EVIDENCE

__all__ = ["configure"]

#: What stands in a cell of the table where there are no rules.
_SHORT: Final = {"none-located": "none", "not-reviewed": "?", "no-pack": "-"}


def configure(commands: Any) -> None:
    """Add the subcommand."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "coverage",
        help="show what the packs cover",
        description="Show jurisdictions by activities: how many rules, how well they were checked, what is missing.",
    )
    parser.add_argument("--format", choices=_FORMATS, default="table", help="(default: table)")
    asking.add_rulebook_flags(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Print the coverage. Raises TirerulesError where the packs cannot be loaded."""
    give(_FORMATS[options.format](asking.rulebook_of(options)))
    return 0


def _json(rulebook: Rulebook) -> str:
    return escaped_json(json.dumps(coverage_to_json(rulebook), ensure_ascii=False, indent=1))


def _csv(rulebook: Rulebook) -> str:
    rows = [cell_to_json(cell) for cell in cells(rulebook)]
    text = io.StringIO()
    writer = csv.DictWriter(text, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows({key: escaped(str(said)) for key, said in row.items()} for row in rows)
    return text.getvalue().rstrip("\n")


def _table(rulebook: Rulebook) -> str:
    found = list(cells(rulebook))
    rows = [["", *(str(activity) for activity in ACTIVITIES), "oldest review"]]
    for code in dict.fromkeys(cell.code for cell in found):
        mine = [cell for cell in found if cell.code == code]
        oldest = min((cell.oldest for cell in mine if cell.oldest), default=None)
        rows.append([code, *(_short(cell) for cell in mine), str(oldest or "-")])
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    lines = ["  ".join(text.ljust(width) for text, width in zip(row, widths, strict=True)).rstrip() for row in rows]
    return "\n".join(
        [*lines, "", *_legend(), *_totals(rulebook), "", "Missing", *(f"  {each}" for each in missing(rulebook))]
    )


def _short(cell: Cell) -> str:
    """Number of rules with the initial of their weakest evidence; a plus where the law was read only in part."""
    if not cell.rules:
        return _SHORT.get(cell.coverage, cell.coverage)
    return f"{cell.rules}{cell.weakest[0]}" + ("+?" if cell.coverage == "partial" else "")


def _legend() -> Sequence[str]:
    grades = ", ".join(f"{grade[0]} {grade}" for grade in EVIDENCE)
    return [
        f"rules and their weakest evidence: {grades}; +? read in part; none: looked for, none located; ? not reviewed"
    ]


def _totals(rulebook: Rulebook) -> Sequence[str]:
    count = Counter(rule.source.evidence for pack in rulebook.packs.values() for rule in pack.rules)
    grades = ", ".join(f"{count[grade]} {grade}" for grade in EVIDENCE)
    return [f"{len(rulebook.packs)} packs, {sum(count.values())} rules: {grades}"]


_FORMATS: Final[Mapping[str, Callable[[Rulebook], str]]] = {"table": _table, "csv": _csv, "json": _json}
