"""A folder for what can always be made again; with anything wrong about it, it is as if it were empty.

An entry is lines of plain text behind a seal: the digest of the entry, its name and what it was made by. So an entry
that is cut short, damaged, of another name or of another state of the library is no entry, and is made again. A folder
that is not the user's own, or that others may write to, is neither read nor written nor mended. What cannot be written
is kept in this process alone. Modules that start slowly, pathlib and tempfile among them, are not used.
"""

from __future__ import annotations

import os
import stat
import sys
import time

try:
    from _blake2 import blake2b  # what hashlib gives under this name; hashlib itself loads OpenSSL, which takes 2 ms
except ImportError:
    from hashlib import blake2b

TYPE_CHECKING = False  # typing's own constant would import typing
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Final

__all__ = ["VARIABLE", "Cache", "digest", "user_folder"]

#: The environment variable that names another folder, or ``off``.
VARIABLE: Final = "TIRERULES_CACHE"
#: Entries written longer ago are deleted when others are written; what is still used is then made again.
_KEPT_DAYS: Final = 90
_ENDING: Final = ".tirerules"


def user_folder() -> str | None:
    """Return the folder that the environment names, or the user's own for caches; None for none."""
    said = os.environ.get(VARIABLE, "")
    if said:
        return None if said == "off" else os.path.abspath(os.path.expanduser(said))
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA", "")
    elif sys.platform == "darwin":
        base = os.path.expanduser("~/Library/Caches")
    else:
        base = os.environ.get("XDG_CACHE_HOME", "")
        if not os.path.isabs(base):  # the XDG specification: a relative path is to be ignored
            base = os.path.expanduser("~/.cache")
    return os.path.join(base, "tirerules") if os.path.isabs(base) else None


class Cache:
    """Entries by name in `folder`, or in this process alone where that is None or cannot be used.

    `owner` says who makes them: owners share a folder without disturbing each other. `state` says what the owner is
    like now: entries that it made in another state are no entries, and are overwritten.
    """

    __slots__ = ("_folder", "_owner", "_state", "_unwritten")

    def __init__(self, folder: str | None, owner: str, state: str) -> None:
        self._folder, self._owner, self._state = folder, digest(owner.encode())[:16], state
        self._unwritten: dict[str, Sequence[str]] = {}

    def get(self, name: str) -> Sequence[str] | None:
        """Return the lines of an entry, or None where there is none that can be trusted."""
        if name in self._unwritten:
            return self._unwritten[name]
        if self._folder is None or not _own(self._folder):
            return None
        try:
            with open(self._path(self._folder, name), "rb") as stream:
                seal, _, body = stream.read().partition(b"\n")
        except OSError:
            return None
        return body.decode("ascii").split("\n") if seal == self._seal(name, body) else None

    def put(self, name: str, lines: Sequence[str]) -> None:
        """Keep `lines` (ASCII, without line ends) under `name`, wholly or not at all, whatever other processes do."""
        if self._folder is None or not _made(self._folder) or not self._write(self._folder, name, "\n".join(lines)):
            self._unwritten[name] = lines

    def _write(self, folder: str, name: str, text: str) -> bool:
        body = text.encode("ascii")
        # In the same folder, so that the entry appears in one step, and under a name that no other process thinks of.
        unfinished = os.path.join(folder, os.urandom(16).hex() + _ENDING)
        try:
            try:
                with open(unfinished, "xb") as stream:
                    stream.write(self._seal(name, body) + b"\n" + body)
                os.replace(unfinished, self._path(folder, name))
            except OSError:  # the disk is full, perhaps
                os.remove(unfinished)
                raise
        except OSError:
            return False
        return True

    def tidy(self, prefix: str = "", most: int = sys.maxsize) -> None:
        """Delete what was written long ago, and so what a process that died has left unfinished.

        Of entries whose names begin with `prefix`, only the newest `most` are left.
        """
        if self._folder is None or not _own(self._folder):
            return
        oldest = time.time() - _KEPT_DAYS * 86400
        try:
            with os.scandir(self._folder) as entries:
                ours = [entry for entry in entries if entry.name.endswith(_ENDING)]
            written = [(entry.stat(follow_symlinks=False).st_mtime, entry.name, entry.path) for entry in ours]
            newest = sorted((each for each in written if each[1].startswith(prefix)), reverse=True)
            for each in written:
                if each[0] < oldest or each in newest[most:]:
                    os.remove(each[2])
        except OSError:
            return  # another process tidies up at this moment, or nobody can

    def _path(self, folder: str, name: str) -> str:
        return os.path.join(folder, f"{name}-{self._owner}{_ENDING}")

    def _seal(self, name: str, body: bytes) -> bytes:
        return digest(f"{self._owner} {self._state} {name}\n".encode() + body).encode()


def digest(content: bytes) -> str:
    """Return the BLAKE2b digest (RFC 7693, 32 bytes) of `content` in hexadecimal."""
    return blake2b(content, digest_size=32).hexdigest()


def _made(folder: str) -> bool:
    """Make `folder` where it is missing; return whether it is the user's own."""
    try:
        os.makedirs(os.path.dirname(folder), exist_ok=True)
        os.mkdir(folder, 0o700)
    except OSError:
        pass  # it is there already, or it cannot be made
    return _own(folder)


def _own(folder: str) -> bool:
    try:
        status = os.lstat(folder)  # a link is no folder: whoever owns it could lead it elsewhere
    except OSError:
        return False
    if not stat.S_ISDIR(status.st_mode):
        return False
    return os.name == "nt" or (status.st_uid == os.geteuid() and not status.st_mode & (stat.S_IWGRP | stat.S_IWOTH))
