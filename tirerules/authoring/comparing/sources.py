"""The two sides of a comparison: packs that were read, each with the place of its version."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from packaging.version import InvalidVersion

from tirerules import values
from tirerules.errors import MissingDataError, PackError, Problem
from tirerules.packs.building import build_pack
from tirerules.packs.library import engine_problem
from tirerules.packs.pack import Pack
from tirerules.packs.reading import Document, read
from tirerules.packs.revisions import File, Repository, RevisionError
from tirerules.packs.versions import version_of

__all__ = ["Held", "from_revisions", "hold"]


@dataclass(frozen=True, slots=True)
class Held:
    """A pack, and where its file states the version."""

    pack: Pack
    line: int
    column: int


def hold(files: Iterable[File], known: Iterable[Held] = ()) -> tuple[Held, ...]:
    """Read every pack. Raises PackError with the problems of all files together.

    What is `known` already, byte for byte, is not read again. An older version of a pack that asks for another version
    of the library is left out, because only the newest is compared; any other such pack is a problem, for what it means
    cannot be told.
    """
    before = {each.pack.sha256: each for each in known}
    held: list[Held] = []
    problems: list[Problem] = []
    foreign: list[tuple[Document, Problem]] = []
    for name, content in files:
        sha256 = hashlib.sha256(content).hexdigest()
        if sha256 in before:
            held.append(replace(before[sha256], pack=values.replace(before[sha256].pack, file=name)))
            continue
        try:
            document = read(content, name)
            unsatisfied = engine_problem(document)
            if unsatisfied is not None:
                foreign.append((document, unsatisfied))
                continue
            held.append(Held(build_pack(document, sha256), *document.values[("version",)]))
        except PackError as error:
            problems += error.problems
    problems += [problem for document, problem in foreign if not _outdated(document, held)]
    if problems:
        raise PackError(problems)
    return tuple(held)


def _outdated(document: Document, held: Iterable[Held]) -> bool:
    """Whether a newer version of the same pack was read."""
    try:
        stated = version_of(str(document.data.get("version")))
    except InvalidVersion:
        return False
    return any(each.pack.id == document.data["pack"] and each.pack.version > stated for each in held)


# --- two revisions ----------------------------------------------------------------------------------------------------


def from_revisions(old: str, new: str, path: str) -> tuple[tuple[File, ...], tuple[File, ...], str]:
    """Return the packs' files at `path` in two revisions, and the old place by a name that lasts.

    What only one of them has was added or removed. `path` is taken from the current folder. Raises RevisionError and
    MissingDataError.
    """
    place = Path(path).resolve()
    repository = Repository(next(each for each in (place, *place.parents) if each.is_dir()))
    inside = repository.inside(path)
    before, after = repository.files(old, inside), repository.files(new, inside)
    if before is None and after is None:
        raise RevisionError(path, f"neither {old!r} nor {new!r} has it", "name a pack or a folder of packs")
    if not before and not after:
        raise MissingDataError(f"{path}: no .yaml file was found there in {old!r} or {new!r}")
    return before or (), after or (), f"{repository.commit(old)}:{inside}"
