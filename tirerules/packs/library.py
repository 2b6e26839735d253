"""Reading packs the full way: YAML, schema, meaning, with the problems of all files told together.

A pack that cannot be read stops the load: it is never skipped. `tirerules.packs.store` keeps what was read so once.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Collection, Iterable, Iterator
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any, Protocol, TypeVar

from packaging.specifiers import InvalidSpecifier
from packaging.version import Version

from tirerules._version import __version__
from tirerules.data import folder
from tirerules.errors import PackError, Problem
from tirerules.packs.building import build_pack
from tirerules.packs.choosing import choose
from tirerules.packs.document import Document
from tirerules.packs.files import MAX_BYTES, content, digest, files_in
from tirerules.packs.pack import Pack
from tirerules.packs.reading import read
from tirerules.packs.versions import specifiers_of

__all__ = [
    "ForeignPackError",
    "builtin",
    "choose",
    "engine_problem",
    "files_under",
    "fits",
    "gather",
    "read_file",
    "read_files",
    "read_whole",
]


class _Named(Protocol):
    @property
    def id(self) -> str:
        """The pack."""


_File = TypeVar("_File")
_Made = TypeVar("_Made", bound=_Named)


class ForeignPackError(PackError):
    """A pack that asks for another version of the library; `pack` is its id."""

    def __init__(self, pack: str, problem: Problem) -> None:
        super().__init__([problem])
        self.pack = pack


def builtin() -> Traversable:
    """Return the folder of the packs that ship with the library."""
    return folder("rulepacks")


def files_under(place: Traversable | str | os.PathLike[str]) -> Iterator[Traversable]:
    """Yield the files of packs that `tirerules.packs.files.files_in` finds, ready to be opened; it raises the same."""
    return (Path(file) if isinstance(file, str) else file for file in files_in(place))


def read_file(file: Traversable) -> tuple[Document, str]:
    """Return the document in `file` and its SHA-256. Raises PackError; never reads more than a pack may hold."""
    with file.open("rb") as stream:
        held: bytes = stream.read(MAX_BYTES + 1)
    return read(held, str(file)), digest(held)


def read_files(files: Iterable[Traversable | str]) -> tuple[Pack, ...]:
    """Read every pack. Raises as `gather` does, and MissingDataError."""
    return gather(files, lambda file: read_whole(content(file), str(file))[1])


def gather(files: Iterable[_File], make: Callable[[_File], _Made], known: Collection[str] = ()) -> tuple[_Made, ...]:
    """Return what `make` makes of every file. Raises PackError with the problems of all files together.

    A pack that asks for another version of the library (ForeignPackError) is left out where its head can be read: it
    may use words that this version does not know. If no other version of it will do, among `files` or those `known`
    (packs by id), that is a problem too.
    """
    made: list[_Made] = []
    problems: list[Problem] = []
    foreign: list[ForeignPackError] = []
    for file in files:
        try:
            made.append(make(file))
        except ForeignPackError as error:
            foreign.append(error)
        except PackError as error:
            problems += error.problems
    held = {*known, *(each.id for each in made)}
    problems += [problem for error in foreign if error.pack not in held for problem in error.problems]
    if problems:
        raise PackError(problems)
    return tuple(made)


def read_whole(held: bytes, file: str) -> tuple[Document, Pack]:
    """Return the document in the bytes of `file`, and the pack it states. Raises PackError, ForeignPackError."""
    document = read(held, file)
    unsatisfied = engine_problem(document)
    if unsatisfied is not None:
        raise ForeignPackError(document.data["pack"], unsatisfied)
    return document, build_pack(document, digest(held))


def fits(engine: str) -> bool:
    """Whether a pack with this `engine` is written for this library. Raises InvalidSpecifier."""
    return Version(__version__) in specifiers_of(engine)


def engine_problem(document: Document) -> Problem | None:
    """Return the problem of a pack written for another version of the library, or None."""
    head: Any = document.data
    if not isinstance(head, dict) or not isinstance(head.get("engine"), str) or not isinstance(head.get("pack"), str):
        return None
    try:
        if fits(head["engine"]):
            return None
    except InvalidSpecifier:
        return None  # the builder says so, with everything else
    message = f"the pack is written for tirerules {head['engine']}; this is {__version__}"
    return document.problem(
        "engine", ("engine",), message, "install a library that fits, or use another version of the pack"
    )
