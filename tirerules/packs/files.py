"""The files of packs: which there are in a folder, their bytes, and the digest of these.

Real folders are read with `os` alone, because this is what every process does first and pathlib takes longer to import
than all packs to read. Nothing that could be a pack is passed over in silence: a link that leads nowhere may have led
to a law.
"""

from __future__ import annotations

import os

try:  # what hashlib gives under this name; hashlib itself loads OpenSSL, which takes 3 ms
    from _sha2 import sha256
except ImportError:
    try:
        from _sha256 import sha256  # Python 3.11
    except ImportError:
        from hashlib import sha256

TYPE_CHECKING = False  # typing's own constant would import typing
if TYPE_CHECKING:
    from collections.abc import Iterator
    from importlib.resources.abc import Traversable
    from typing import Final

    #: A path, or a file or folder in an archive.
    File = str | Traversable

__all__ = ["MAX_BYTES", "builtin", "content", "digest", "files_in"]

#: A longer file is no pack.
MAX_BYTES: Final = 1_000_000
#: Most packs are shorter. To ask for more at once would cost more time than to read them: Python makes room for it.
_USUAL_BYTES: Final = 65_536
_ENDINGS: Final = (".yaml", ".yml")


def builtin() -> File:
    """Return the folder of the packs that ship with the library. Raises MissingDataError where there is none."""
    from tirerules import data

    return data.place("rulepacks") or data.folder("rulepacks")


def content(file: File) -> bytes:
    """Return the bytes of `file`, at most one more than `MAX_BYTES`. Raises MissingDataError."""
    try:
        with open(file, "rb") if isinstance(file, str) else file.open("rb") as stream:
            read: bytes = stream.read(_USUAL_BYTES)
            return read if len(read) < _USUAL_BYTES else read + stream.read(MAX_BYTES + 1 - len(read))
    except OSError as error:
        raise _missing(file, error.strerror) from None


def digest(held: bytes) -> str:
    """Return the SHA-256 (FIPS 180-4) of `held` in hexadecimal: the one key by which packs are told apart."""
    found: str = sha256(held).hexdigest()
    return found


def files_in(place: File | os.PathLike[str]) -> Iterator[File]:
    """Yield every YAML file in a folder and its subfolders, or the one file named, in the order of their names.

    Hidden folders are passed over, and a folder that links back to one of those above it. Raises MissingDataError for
    what is not there, cannot be read, or links to nothing.
    """
    if not isinstance(place, (str, os.PathLike)):
        yield from _in_archive(place)
        return
    path = os.fspath(place)
    if os.path.isfile(path):
        yield path
    elif os.path.isdir(path):
        yield from _in_folder(path, frozenset())
    else:
        raise _missing(path, "no such file or folder")


def _in_folder(path: str, above: frozenset[tuple[int, int]]) -> Iterator[str]:
    try:
        status = os.stat(path)
        with os.scandir(path) as entries:
            found = sorted(entries, key=lambda entry: entry.name)
    except OSError as error:
        raise _missing(path, error.strerror) from None
    here = (status.st_dev, status.st_ino)
    if here in above:
        return
    for entry in found:
        if entry.is_dir():
            if not entry.name.startswith("."):
                yield from _in_folder(entry.path, above | {here})
        elif entry.is_file():
            if entry.name.endswith(_ENDINGS):
                yield entry.path
        # A name like .#US.yaml is an editor's mark for a file that is open: a link that leads nowhere on purpose.
        elif (entry.is_symlink() or entry.name.endswith(_ENDINGS)) and not entry.name.startswith(".#"):
            raise _missing(entry.path, "is or leads to neither a file nor a folder -- mend it or delete it")


def _in_archive(place: Traversable) -> Iterator[Traversable]:
    if place.is_file():
        yield place
    elif place.is_dir():
        for entry in sorted(place.iterdir(), key=lambda each: each.name):
            if entry.name.endswith(_ENDINGS) if entry.is_file() else not entry.name.startswith("."):
                yield from _in_archive(entry)
    else:
        raise _missing(place, "no such file or folder")


def _missing(place: object, reason: str | None) -> Exception:
    from tirerules.errors import MissingDataError

    return MissingDataError(f"{place}: {reason}")
