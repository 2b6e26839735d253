"""The compiled packs that ship with the library: used without a cache folder, a home, or leave to write anywhere.

They are made when a wheel or an sdist is built (`tirerules.packs.build_hook`), and for a checkout by
``python -m tirerules.packs.compiling``. The folder `tirerules/_data/compiled` holds one index and one entry for each
pack:

- ``index.json``: what made the folder (format number, version and state of the code), and a lookup table from the name
  of a file below `rulepacks` to its size, its head (see `tirerules.packs.store.Head`) and the size of its entry;
- ``SHA256.jsonl``: the compiled pack whose file has this SHA-256, a few lines of JSON (`tirerules.packs.compiling`).

**Whom this trusts.** The folder is part of the library, as its code is: whoever may write there could change that.
INVARIANT: an entry is handed out for a SHA-256 alone, and who asks for one has computed it from the bytes of the file;
so an edited file is never decided by what it once said. A folder that another format or version made is as if it were
not there, and so is one that other code made where that can be: in a checkout. So is an entry that is cut short.
"""

from __future__ import annotations

import os

from tirerules import data
from tirerules.plain_json import parsed

TYPE_CHECKING = False  # typing's own constant would import typing
if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from typing import Any, Final

    from tirerules.packs.files import File

__all__ = ["FOLDER", "FORMAT", "INDEX", "Shipped", "state_of_code"]

#: The format number of compiled packs: raised when what an entry says, or how, changes.
FORMAT: Final = 1
FOLDER: Final = "compiled"
INDEX: Final = "index.json"
#: The folders of the package whose code has a part in compiled packs.
_MAKERS: Final = ("", "packs", "strictest")
_SCHEMA: Final = "rulepack.schema.json"


class Shipped:
    """The index of the compiled packs of `version`, read once; it is empty where there is none that can be used."""

    __slots__ = ("_entries", "_files", "_folder", "_packs", "code")

    def __init__(self, version: str) -> None:
        self._folder, self._packs = data.inside(FOLDER), data.place("rulepacks") or ""
        #: The state of the code that makes compiled packs; nothing where it cannot be told (in an archive).
        self.code = _CODE
        self._files: Mapping[str, Any] = {}
        self._entries: Mapping[str, int] = {}
        try:
            with open(os.path.join(self._folder, INDEX), encoding="ascii") as stream:
                made, files = parsed(stream.read())
        except (OSError, ValueError, StopIteration):  # it is not there, or it is cut short
            made, files = None, {}
        if made is not None and made[:2] == [FORMAT, version] and (_INSTALLED or made[2] == _CODE):
            self._files, self.code = files, made[2]
            self._entries = {head[-1]: size for _, head, size in files.values()}
        elif _INSTALLED:
            self.code = state_of_code()

    def head(self, file: File) -> tuple[list[str], tuple[int, int]] | None:
        """Return what is said of a file of `rulepacks`, and its size and time of change; None where nothing is.

        Its bytes are not read: who goes on to use what is said checks them against its SHA-256.
        """
        if not self._files or not isinstance(file, str) or not file.startswith(self._packs):
            return None
        known = self._files.get(file[len(self._packs) + 1 :].replace(os.sep, "/"))
        if known is None:
            return None
        size, head, _ = known
        seen = look(file)
        return (head, seen) if seen[0] == size else None

    def entry(self, sha256: str) -> Sequence[str] | None:
        """Return the lines of the compiled pack whose file has this SHA-256, or None where there is none."""
        size = self._entries.get(sha256)
        if size is None:
            return None
        try:
            with open(os.path.join(self._folder, f"{sha256}.jsonl"), "rb") as stream:
                held = stream.read()
        except OSError:
            return None
        return held.decode("ascii").split("\n") if len(held) == size else None


def look(file: str) -> tuple[int, int]:
    """Return a file's size, and when it was changed last, in nanoseconds. Raises MissingDataError."""
    try:
        status = os.stat(file)
    except OSError as error:
        from tirerules.errors import MissingDataError

        raise MissingDataError(f"{file}: {error.strerror}") from None
    return status.st_size, status.st_mtime_ns


def state_of_code() -> str:
    """Return what changes with the code and the schema that make compiled packs: the CRC-32 of each of their files.

    The version alone would not do: code changes many times between two versions where it is being worked on. Nothing is
    returned where that cannot be told: in an archive.
    """
    from binascii import crc32

    schemas = data.place("schemas")
    if schemas is None:
        return ""
    sums = []
    try:
        for folder in (*(os.path.join(data.PACKAGE, name) for name in _MAKERS), schemas):
            with os.scandir(folder) as entries:
                files = sorted(entry.path for entry in entries if entry.name.endswith((".py", _SCHEMA)))
            for file in files:
                with open(file, "rb") as stream:
                    sums.append(f"{os.path.basename(file)} {crc32(stream.read()):08x}")
    except OSError:
        return ""
    return " ".join(sums)


#: Whether the library is installed as its wheel has it, and its code therefore as it was when the wheel was built.
_INSTALLED: Final = os.path.isdir(data.inside("rulepacks"))
#: As the code is on disk when this process imports it: what it makes later is made by this code, whatever changes then.
_CODE: Final = "" if _INSTALLED else state_of_code()
