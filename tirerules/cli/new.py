"""`tirerules new CODE`: start a rule pack that passes `check` as it stands."""

from __future__ import annotations

import argparse
import os
from datetime import date
from pathlib import Path
from typing import Any

from tirerules.authoring.scaffold import ScaffoldError, scaffold
from tirerules.cli.streams import give
from tirerules.data import folder
from tirerules.escaping import escaped
from tirerules.jurisdictions import country_of
from tirerules.rulebook import load

__all__ = ["configure"]


def configure(commands: Any) -> None:
    """Add the subcommand."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "new",
        help="start a rule pack",
        description="Write a new rule pack for a jurisdiction; it claims nothing and passes check. Never overwrites.",
        epilog="Exit codes: 0 written, 2 not written.",
    )
    parser.add_argument("code", metavar="CODE", help="an ISO 3166-2 code, or one from XA to XZ for a place of your own")
    parser.add_argument("--to", default=".", metavar="FOLDER", help="where to write it (default: here)")
    parser.add_argument("--title", default="", metavar="TEXT", help="the name people use, where ISO has none")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Write the pack and say where. Raises ScaffoldError where that cannot be done."""
    held = load().packs.get(options.code)
    if held is not None:
        raise ScaffoldError(options.code, f"a pack exists already ({held.version}); copy it and raise its version")
    file = Path(options.to) / country_of(options.code) / f"{options.code}.yaml"
    schema = os.path.relpath(str(folder("schemas") / "rulepack.schema.json"), file.parent.resolve())
    text = scaffold(options.code, date.today(), schema, options.title)  # the editor's own day
    if file.exists():
        raise ScaffoldError(options.code, f"{file} exists already and is not overwritten")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        with file.open("x", encoding="utf-8") as stream:  # "x": nor is a file that appears in between
            stream.write(text)
    except OSError as error:
        raise ScaffoldError(options.code, f"{file} cannot be written: {error.strerror}") from None
    give(escaped(str(file)))
    return 0
