"""Where packs are read from by name: a file, a folder, or either of them in a revision of a git repository.

What was read is held as bytes, so that what is compared or hashed is what is compiled.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from tirerules.errors import MissingDataError
from tirerules.packs.library import files_under
from tirerules.packs.reading import MAX_BYTES
from tirerules.packs.revisions import File, Repository, RevisionError

__all__ = ["from_place", "lasting"]


def from_place(place: str | os.PathLike[str]) -> tuple[File, ...]:
    """Return the packs' files in a file, in a folder, or at ``REVISION:PATH`` as git writes it.

    Raises MissingDataError where there is no such place or no pack in it, and RevisionError.
    """
    named = os.fspath(place)
    if _on_disk(place):
        files = tuple(_read(named))
    else:
        revision, _, path = named.partition(":")
        repository = Repository(Path())
        inside = _inside(repository, path)
        found = repository.files(revision, inside)
        if found is None:
            raise RevisionError(named, f"the revision {revision!r} has no file or folder {inside!r}")
        files = found
    if not files:
        raise MissingDataError(f"{named}: no .yaml file was found there")
    return files


def lasting(place: str) -> str:
    """Return a place by a name that goes on meaning the same: a branch moves, the commit it stands at does not.

    Raises RevisionError.
    """
    if _on_disk(place):
        return place
    revision, _, path = place.partition(":")
    repository = Repository(Path())
    return f"{repository.commit(revision)}:{_inside(repository, path)}"


def _on_disk(place: str | os.PathLike[str]) -> bool:
    return not isinstance(place, str) or Path(place).exists() or ":" not in place


def _inside(repository: Repository, path: str) -> str:
    # As in git: from the top of the repository, but from here where it starts with a point.
    return repository.inside(path) if path.startswith(("./", "../")) or path in (".", "..") else path.strip("/")


def _read(place: str) -> Iterator[File]:
    for file in files_under(place):
        with file.open("rb") as stream:
            yield str(file), stream.read(MAX_BYTES + 1)
