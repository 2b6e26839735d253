"""Checking packs the way CI does: reading, schema, meaning and examples, with every problem told at once."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from importlib.resources.abc import Traversable
from pathlib import Path

from tirerules.authoring.examples import example_problems
from tirerules.errors import PackError, Problem
from tirerules.packs.building import build_pack
from tirerules.packs.library import builtin, engine_problem, files_under, read_file, read_files
from tirerules.packs.pack import OVERLAYS, Pack
from tirerules.rulebook import Rulebook

__all__ = ["Checked", "check"]


@dataclass(frozen=True, slots=True)
class Checked:
    """What a check found, over how many files."""

    files: int
    problems: tuple[Problem, ...]


def check(*places: str | os.PathLike[str]) -> Checked:
    """Check every pack in `places` (files or folders). Raises MissingDataError where a place does not exist."""
    files = [file for place in places for file in files_under(place)]
    packs: list[Pack] = []
    problems: list[Problem] = []
    for file in files:
        try:
            packs.append(_read(file))
        except PackError as error:
            problems += error.problems
    problems += _clashes(packs)
    problems += _names(packs)
    clashing = {problem.file for problem in problems if problem.code == "pack-conflict"}
    sound = [pack for pack in packs if pack.file not in clashing]
    standing = _standing(sound, {str(file) for file in files})
    for pack in sound:
        problems += example_problems(pack, Rulebook([*(each for each in standing if each.id != pack.id), pack]))
    return Checked(len(files), tuple(problems))


def _read(file: Traversable) -> Pack:
    document, sha256 = read_file(file)
    unsatisfied = engine_problem(document)
    if unsatisfied is not None:
        raise PackError([unsatisfied])
    return build_pack(document, sha256)


def _clashes(packs: Iterable[Pack]) -> Iterator[Problem]:
    first: dict[tuple[str, str], Pack] = {}
    for pack in packs:
        other = first.setdefault((pack.id, str(pack.version)), pack)
        if other.sha256 != pack.sha256:
            message = f"pack {pack.id} {pack.version} stands with other content in {other.file}"
            yield Problem("pack-conflict", message, "give the changed pack a new version", pack.file, 1, 1, "version")


def _names(packs: Iterable[Pack]) -> Iterator[Problem]:
    for pack in packs:
        stem = Path(pack.file).stem
        if stem not in (pack.id, f"{pack.id}@{pack.version}"):
            hint = f"name it {pack.id}.yaml, or {pack.id}@{pack.version}.yaml for an older version kept beside it"
            yield Problem("file-name", f"the file {stem!r} holds the pack {pack.id!r}", hint, pack.file, 1, 1, "pack")


def _standing(checked: Sequence[Pack], files: Iterable[str]) -> tuple[Pack, ...]:
    """Return the packs on which examples are decided: the checked ones, and the built-in ones that none replaces.

    A built-in file that is being checked and is broken has been told already; its place stays empty.
    """
    places = {Path(file).resolve() for file in files}
    others = [file for file in files_under(builtin()) if Path(str(file)).resolve() not in places]
    standing = {pack.id: pack for pack in read_files(others)}
    for pack in sorted(checked, key=lambda each: each.version):
        if pack.kind not in OVERLAYS:  # an overlay binds only where its own examples are run
            standing[pack.id] = pack
    return tuple(standing.values())
