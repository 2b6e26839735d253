"""Checking packs the way CI does: reading, schema, meaning and examples, with every problem told at once."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from importlib.resources.abc import Traversable
from pathlib import Path
from types import MappingProxyType
from typing import Final

from tirerules.authoring.checks import Age, Subject, findings
from tirerules.authoring.examples import run_examples
from tirerules.errors import MissingDataError, PackError, Problem
from tirerules.packs.building import build_pack
from tirerules.packs.library import builtin, engine_problem, files_under, read_file, read_files
from tirerules.packs.pack import OVERLAYS, Pack
from tirerules.packs.reading import MAX_BYTES, Document
from tirerules.rulebook import Rulebook

__all__ = ["Checked", "Gathered", "check", "gather"]

#: What ends a line in YAML, so that excerpts show the line that a reader of YAML counts.
_LINE_END: Final = re.compile("\r\n|[\n\r\x85\u2028\u2029]")


@dataclass(frozen=True, slots=True)
class Checked:
    """What a check found, sorted by place, over how many files."""

    files: int
    problems: tuple[Problem, ...]
    #: File -> its lines, for excerpts; the files with problems alone.
    lines: Mapping[str, Sequence[str]] = field(default_factory=dict, compare=False, repr=False)

    @property
    def clean(self) -> bool:
        """Whether nothing but information was found."""
        return all(problem.severity == "information" for problem in self.problems)


@dataclass(frozen=True, slots=True)
class Gathered:
    """The packs that were read at some places, and those on which their examples are decided."""

    files: tuple[Traversable, ...]  #: every file, each once
    packs: tuple[tuple[Pack, Document], ...]  #: those that were read and clash with no other
    standing: tuple[Pack, ...]
    problems: tuple[Problem, ...]  #: what is wrong with files and packs, apart from what the packs say

    def rulebook(self, pack: Pack) -> Rulebook:
        """Return the packs that decide the examples of `pack`, which is one of these."""
        return Rulebook([*(each for each in self.standing if each.id != pack.id), pack])

    def checked(self, problems: Sequence[Problem]) -> Checked:
        """Return `problems`, sorted by place, with the lines that they are shown with."""
        problems = sorted(problems, key=lambda each: (each.file, each.line, each.column, each.code, each.message))
        told = {problem.file for problem in problems}
        lines = {str(file): _lines(file) for file in self.files if str(file) in told}
        return Checked(len(self.files), tuple(problems), MappingProxyType(lines))


def check(*places: str | os.PathLike[str], age: Age | None = None) -> Checked:
    """Check every pack in `places` (files or folders); with `age`, also how old the evidence is.

    Raises MissingDataError where a place does not exist or a file cannot be read, and PackError where a built-in pack
    that is not being checked is broken.
    """
    gathered = gather(*places)
    problems = list(gathered.problems)
    # What only contradicts a finding is no limit that others could be laxer than.
    rules = (rule for pack in gathered.standing if pack.kind == "baseline" for rule in pack.rules)
    baseline = tuple(rule for rule in rules if not rule.contradicts)
    for pack, document in gathered.packs:
        ran = tuple(run_examples(pack, gathered.rulebook(pack)))
        problems += findings(Subject(pack, document, ran, baseline, age))
    return gathered.checked(problems)


def gather(*places: str | os.PathLike[str]) -> Gathered:
    """Read every pack in `places` (files or folders). Raises as `check` does."""
    files: dict[Path, Traversable] = {}
    for place in places:
        for file in _files(place):
            files.setdefault(Path(str(file)).resolve(), file)
    read: list[tuple[Pack, Document]] = []
    problems: list[Problem] = []
    for file in files.values():
        try:
            read.append(_read(file))
        except PackError as error:
            problems += error.problems
    packs = [pack for pack, _ in read]
    problems += _clashes(packs)
    problems += _names(packs)
    clashing = {problem.file for problem in problems if problem.code == "pack-conflict"}
    sound = tuple(each for each in read if each[0].file not in clashing)
    standing = _standing([pack for pack, _ in sound], files) if sound else ()
    return Gathered(tuple(files.values()), sound, standing, tuple(problems))


def _files(place: str | os.PathLike[str]) -> list[Traversable]:
    try:
        return list(files_under(place))
    except MissingDataError:
        raise
    except OSError as error:
        raise MissingDataError(f"{error.filename or place}: {error.strerror}") from None


def _read(file: Traversable) -> tuple[Pack, Document]:
    try:
        document, sha256 = read_file(file)
    except OSError as error:
        raise MissingDataError(f"{file}: {error.strerror}") from None
    unsatisfied = engine_problem(document)
    if unsatisfied is not None:
        raise PackError([unsatisfied])
    return build_pack(document, sha256), document


def _lines(file: Traversable) -> Sequence[str]:
    """Return the lines of a file as far as they are text; never more than a pack may hold."""
    try:
        with file.open("rb") as stream:
            content: bytes = stream.read(MAX_BYTES)
    except OSError:  # it is gone since it was read: its findings are shown without excerpts
        return ()
    return _LINE_END.split(content.decode("utf-8-sig", errors="replace"))


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


def _standing(checked: Sequence[Pack], files: Iterable[Path]) -> tuple[Pack, ...]:
    """Return the packs on which examples are decided: the checked ones, and the built-in ones that none replaces.

    A built-in file that is being checked and is broken has been told already; its place stays empty.
    """
    places = set(files)
    others = [file for file in files_under(builtin()) if Path(str(file)).resolve() not in places]
    standing = {pack.id: pack for pack in read_files(others)}
    for pack in sorted(checked, key=lambda each: each.version):
        if pack.kind not in OVERLAYS:  # an overlay binds only where its own examples are run
            standing[pack.id] = pack
    return tuple(standing.values())
