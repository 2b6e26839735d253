"""Where packs are read from by name: a file, a folder, or either of them in a revision of a git repository.

What was read is held as bytes, so that what is compared or hashed is what is compiled.
"""

from __future__ import annotations

import io
import os
from collections.abc import Iterator
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import IO, Any

from tirerules.errors import MissingDataError
from tirerules.packs.library import files_under
from tirerules.packs.reading import MAX_BYTES
from tirerules.packs.revisions import File, Repository, RevisionError

__all__ = ["HeldFile", "from_place", "lasting"]


class HeldFile(Traversable):
    """A pack's file that was read already, as `tirerules.rulebook.load` takes a file: its name and its bytes."""

    def __init__(self, name: str, content: bytes) -> None:
        self._name, self.content = name, content

    @property
    def name(self) -> str:
        """What messages call it."""
        return self._name

    def __str__(self) -> str:
        return self._name

    def is_file(self) -> bool:
        """Say yes."""
        return True

    def is_dir(self) -> bool:
        """Say no."""
        return False

    def iterdir(self) -> Iterator[Traversable]:
        """Yield nothing."""
        return iter(())

    def joinpath(self, *descendants: str | os.PathLike[str]) -> Traversable:
        """Raise NotADirectoryError."""
        raise NotADirectoryError(self._name)

    def open(self, mode: str = "r", *_: Any, **__: Any) -> IO[Any]:
        """Return a stream of the bytes, or of the text in them."""
        stream = io.BytesIO(self.content)
        return stream if mode == "rb" else io.TextIOWrapper(stream, encoding="utf-8")

    def read_bytes(self) -> bytes:
        """Return the bytes."""
        return self.content

    def read_text(self, encoding: str | None = None) -> str:
        """Return the text in the bytes."""
        return self.content.decode(encoding or "utf-8")


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
