"""A folder for what can always be made again; with anything wrong about it, it is as if it were empty.

An entry is lines of plain text behind a seal: the digest of the entry, its name and what it was made by. So an entry
that is cut short, damaged, of another name or of another state of the library is no entry, and is made again. What
cannot be written is kept in this process alone. Modules that start slowly, pathlib and tempfile among them, are not
used.

**Whom this trusts.** The seal is a checksum against accidents, not a secret: whoever can write to the folder can seal
an entry that says anything, and so change what every later process of this user decides. Therefore the folder is made
for its user alone (mode 0700, entries 0600), and a folder or an entry that another user owns, or that group or others
may write, is neither read nor written nor mended: packs are then compiled anew, in silence. This holds where the
platform tells owner and mode; Windows does not, and there the folder is as safe as its place (`LOCALAPPDATA`) is. Not
guarded against: processes of the same user, which could as well change the library itself, and whoever administers the
machine. `TIRERULES_CACHE=off` uses no folder. What must not rest on this trust at all, a rulebook demanded by a lock
and a replayed decision, is compiled from the packs' own bytes (`tirerules.packs.locking`).
"""

from __future__ import annotations

import os
import stat
import sys
import time

from tirerules.packs.files import digest

TYPE_CHECKING = False  # typing's own constant would import typing
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Final

__all__ = ["VARIABLE", "Cache", "user_folder"]

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
        if self._folder is None or not _own_folder(self._folder):
            return None
        try:
            with open(self._path(self._folder, name), "rb") as stream:
                if not _own(os.fstat(stream.fileno())):
                    return None
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
                with open(unfinished, "xb", opener=_for_the_user_alone) as stream:
                    stream.write(self._seal(name, body) + b"\n" + body)
                os.replace(unfinished, self._path(folder, name))
            except OSError:  # the disk is full, perhaps
                os.remove(unfinished)
                raise
        except OSError:
            return False
        return True

    def tidy(self) -> None:
        """Delete what was written long ago, and so what a process that died has left unfinished."""
        if self._folder is None or not _own_folder(self._folder):
            return
        oldest = time.time() - _KEPT_DAYS * 86400
        try:
            with os.scandir(self._folder) as entries:
                ours = [entry for entry in entries if entry.name.endswith(_ENDING)]
            for entry in ours:
                if entry.stat(follow_symlinks=False).st_mtime < oldest:
                    os.remove(entry.path)
        except OSError:
            return  # another process tidies up at this moment, or nobody can

    def _path(self, folder: str, name: str) -> str:
        return os.path.join(folder, f"{name}-{self._owner}{_ENDING}")

    def _seal(self, name: str, body: bytes) -> bytes:
        return digest(f"{self._owner} {self._state} {name}\n".encode() + body).encode()


def _made(folder: str) -> bool:
    """Make `folder` where it is missing; return whether it is the user's own."""
    try:
        os.makedirs(os.path.dirname(folder), exist_ok=True)
        os.mkdir(folder, 0o700)
    except OSError:
        pass  # it is there already, or it cannot be made
    return _own_folder(folder)


def _own_folder(folder: str) -> bool:
    try:
        status = os.lstat(folder)  # a link is no folder: whoever owns it could lead it elsewhere
    except OSError:
        return False
    return stat.S_ISDIR(status.st_mode) and _own(status)


def _own(status: os.stat_result) -> bool:
    """Whether a folder or file is the user's own and nobody else may write it, as far as the platform tells."""
    user = getattr(os, "geteuid", None)  # where it is missing, as on Windows, owner and mode say nothing
    return user is None or (status.st_uid == user() and not status.st_mode & (stat.S_IWGRP | stat.S_IWOTH))


def _for_the_user_alone(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)
