"""`tirerules vectors [CODE...]`: boundary cases with their decisions, for software in other languages."""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from tirerules.authoring.vectors import Decided, check, decided, plan, shown_by, untried
from tirerules.cli import asking
from tirerules.cli.streams import give, tell
from tirerules.engine.parts import Outcome
from tirerules.errors import MissingDataError
from tirerules.escaping import escaped, escaped_json

__all__ = ["configure"]


def configure(commands: Any) -> None:
    """Add the subcommand."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "vectors",
        help="write test vectors made from the packs",
        description="Write boundary cases made from the packs, with their decisions, as JSON lines: both sides of "
        "every figure and date, every word a rule distinguishes, every fact it reads left out. The same packs give "
        "the same bytes.",
        epilog="Exit codes: 0 written, or (--check) the file stands; 1 it does not; 2 could not run.",
    )
    parser.add_argument(
        "codes", nargs="*", metavar="CODE", help="jurisdiction codes, such as US-SC CA-ON (default: all packs)"
    )
    where = parser.add_mutually_exclusive_group()
    where.add_argument(
        "--out", metavar="FILE", help="write the file as a whole or not at all (default: standard output)"
    )
    where.add_argument("--check", metavar="FILE", help="decide the vectors in FILE again and tell what differs")
    asking.add_rulebook_flags(parser)
    parser.set_defaults(run=run, refuse=parser.error)


def run(options: argparse.Namespace) -> int:
    """Write or check vectors. Raises TirerulesError where that cannot be done."""
    if options.check is not None and options.codes:
        options.refuse("--check decides every vector in the file: leave out the codes")
    rulebook = asking.rulebook_of(options)
    if options.check is not None:
        found = check(asking.read_text(options.check), rulebook, options.check)
        for difference in found.differences:
            give(escaped(difference))
        tell(_checked(found.vectors, len(found.differences)))
        return 1 if found.differences else 0
    vectors = plan(rulebook, options.codes)
    shown: set[tuple[str, Outcome]] = set()
    lines = _noting(decided(rulebook, vectors), shown)
    if options.out is not None:
        _write(Path(options.out), lines)
    else:
        for line in lines:
            give(escaped_json(line))
    for each in untried(rulebook, options.codes, shown):
        tell(escaped(str(each)))
    names = sum(1 + len(vector.also) for vector in vectors)
    tell(f"{len(vectors)} vectors written, for {names} boundaries")
    return 0


def _checked(vectors: int, differences: int) -> str:
    return f"{vectors} vector{'s' * (vectors != 1)} decided again, {differences} difference{'s' * (differences != 1)}"


def _noting(found: Iterable[Decided], shown: set[tuple[str, Outcome]]) -> Iterator[str]:
    """Yield the lines, and note on the way what they show."""
    for each in found:
        shown.update(shown_by(each.answer))
        yield each.text


def _write(path: Path, lines: Iterable[str]) -> None:
    """Write a file as a whole: what stood there before stays until the last line is written.

    Raises MissingDataError where it cannot be written there.
    """
    path = path.resolve()  # of a link, the file behind it is replaced
    if path.exists() and not path.is_file():
        raise MissingDataError(f"{path}: this is no file -- name a file to write, or leave out --out")
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with part.open("x", encoding="ascii", newline="\n") as stream:
            stream.writelines(f"{line}\n" for line in lines)
        part.replace(path)
    except OSError as error:
        raise MissingDataError(f"{path}: {error.strerror}") from None
    finally:
        part.unlink(missing_ok=True)
