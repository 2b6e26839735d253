"""`tirerules facts`: the vocabulary, as a list for people or as JSON for a program that builds a form."""

from __future__ import annotations

import textwrap

from tirerules.cli.streams import give
from tirerules.record.words import vocabulary_to_json

TYPE_CHECKING = False
if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator
    from typing import Any

__all__ = ["configure"]

_WIDTH = 100


def configure(commands: Any) -> None:
    """Add the subcommand."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "facts",
        help="list every fact and word of a case",
        description="List every fact that a case can state: what it is called, how it is answered, where it stands.",
    )
    parser.add_argument("--json", action="store_true", help="print the whole vocabulary as JSON")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Print the vocabulary."""
    said = vocabulary_to_json()
    if options.json:
        import json

        give(json.dumps(said, ensure_ascii=False, indent=1))
    else:
        give("\n".join(_lines(said)))
    return 0


def _lines(said: dict[str, Any]) -> Iterator[str]:
    for each in said["facts"]:
        stated = " (worked out, never stated)" if each["derived"] else f" {each['path']}"
        yield f"{each['fact']}: {each['kind']}{stated}"
        yield f"  {each['ask']}"
        answers = ", ".join(choice["word"] for choice in each["choices"]) or " or ".join(each["units"])
        if answers:
            yield textwrap.fill(answers, _WIDTH, initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False)
    for name in ("activities", "methods", "readings", "zones"):
        words = ", ".join(each["word"] for each in said[name])
        yield textwrap.fill(f"{name}: {words}", _WIDTH, subsequent_indent="  ", break_on_hyphens=False)
