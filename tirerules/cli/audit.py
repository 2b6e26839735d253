"""`tirerules audit IN OUT`: every ticket of a file decided, in parts; or only those that changed since other packs."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from tirerules.cli import asking
from tirerules.cli.streams import give, tell
from tirerules.escaping import escaped

if TYPE_CHECKING:  # the batch is an extra: it is imported when the command runs
    from tirerules.batch.against import Change

__all__ = ["configure"]

_FORMATS = ("parquet", "csv", "jsonl")


def configure(commands: Any) -> None:
    """Add the subcommand."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "audit",
        help="decide a file of tickets",
        description="Decide every ticket of the file IN and write the answers as parts into the folder OUT, with a "
        "journal, audit.json. Tickets that cannot be decided are set aside with their row and the reason. "
        'Needs pip install "tirerules[batch]".',
        epilog="Exit codes: 0 every ticket was decided, 1 some were set aside, 2 could not run or was stopped.",
    )
    parser.add_argument("source", metavar="IN", help="a Parquet, CSV or JSON-lines file (.parquet, .csv, .jsonl)")
    parser.add_argument("target", metavar="OUT", help="the folder for the parts; a new one, or with --resume the same")
    parser.add_argument("--from", dest="source_format", choices=_FORMATS, help="what IN is (default: by its name)")
    parser.add_argument("--format", choices=_FORMATS, default="parquet", help="what the parts are (default: parquet)")
    parser.add_argument(
        "--keep", action="append", default=[], metavar="COLUMN", help="carry a column through; repeatable"
    )
    parser.add_argument("--batch-rows", type=int, metavar="N", help="rows read, decided and written at a time")
    parser.add_argument("--resume", action="store_true", help="go on with an audit that was stopped")
    parser.add_argument(
        "--against",
        metavar="LOCK",
        help="decide under two rulebooks, the packs that LOCK names (a lock, a recorded decision, an audit.json) and "
        "those of today, and tell only the tickets whose verdict or binding rule changed",
    )
    asking.add_rulebook_flags(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Write the parts. Raises TirerulesError where the audit cannot run."""
    from tirerules.batch import audit, changes_of

    older = argparse.Namespace(packs=options.packs, pin={}, replace=[], lock=options.against)
    try:
        report = audit(
            asking.rulebook_of(options),
            options.source,
            options.target,
            against=None if options.against is None else asking.rulebook_of(older),
            source_format=options.source_format,
            form=options.format,
            keep=options.keep,
            resume=options.resume,
            progress=True,
            **({} if options.batch_rows is None else {"batch_rows": options.batch_rows}),
        )
    except KeyboardInterrupt:
        tell("tirerules: stopped; the parts that are whole stand, and --resume goes on from them")
        return 2
    if options.against is None:
        told = [f"{rows} {verdict}" for (verdict,), rows in sorted(report.counts.items())]
    else:
        changes = changes_of(report.counts)
        give(_table(changes))
        changed = sum(change.tickets for change in changes)
        told = [f"{changed} changed", f"{report.decided - changed} unchanged"]
    tell(f"{report.rows} tickets: {', '.join([*told, f'{report.set_aside} set aside'])}")
    return 1 if report.set_aside else 0


def _table(changes: Sequence[Change]) -> str:
    """Return what changed as a table, most tickets first."""
    rows = [("tickets", "place", "rule", "verdict")]
    rows += [
        (str(each.tickets), escaped(each.place), escaped(each.rule), f"{each.old} -> {each.new}") for each in changes
    ]
    widths = [max(len(row[column]) for row in rows) for column in range(3)]
    return "\n".join(f"{row[0]:>{widths[0]}}  {row[1]:<{widths[1]}}  {row[2]:<{widths[2]}}  {row[3]}" for row in rows)
