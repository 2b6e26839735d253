"""Packs that a lock names, found and compiled by their own bytes: no cache has a part in what they say.

A lock is proof only if nothing is trusted but the bytes it names and the library. So files are told apart by their
SHA-256 alone, and the bytes are held from then on. When a pack is first asked for (a case asks for the packs of its
places, the baseline and the overlays), it is compiled from them the full way, unless the library ships what they
compile to (`tirerules.packs.shipped`).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from typing import Final

from packaging.specifiers import InvalidSpecifier

from tirerules.errors import LockError, PinError
from tirerules.packs.compiled import unpacked
from tirerules.packs.files import digest
from tirerules.packs.library import read_whole
from tirerules.packs.pack import Pack
from tirerules.packs.store import Store
from tirerules.packs.versions import specifiers_of
from tirerules.values import replace

__all__ = ["Held", "Lock", "Locked", "locked"]

#: Pack -> (version, SHA-256 of its file, whether it stands in place of a built-in pack).
Lock = Mapping[str, tuple[str, str, bool]]
#: A file: its name, for messages, and its bytes.
Held = tuple[str, bytes]

#: The lines of a file that say which version of which pack it holds. A lock is refused by them; that it holds is told
#: by the bytes alone.
_TOLD: Final = re.compile(rb"""^(pack|version):[ \t]*["']?([A-Za-z0-9.-]{1,40})""", re.MULTILINE)
_NOT_TOLD: Final = ("", "")


class Locked:
    """One pack of a lock: bytes whose digest is the one demanded.

    INVARIANT: `pack` follows from these bytes and this library alone.
    """

    __slots__ = ("_held", "_kept", "file", "id", "replaces", "sha256", "version")

    def __init__(self, pack: str, version: str, sha256: str, replaces: bool, held: Held) -> None:
        self.id, self.version, self.sha256, self.replaces = pack, version, sha256, replaces
        self.file, self._held = held
        #: `pack`, once it was asked for; of threads that ask at the same time, the first is kept.
        self._kept: dict[str, Pack] = {}

    @property
    def pack(self) -> Pack:
        """The whole pack. Raises PackError, and LockError where the bytes are those of another pack or version."""
        if "pack" not in self._kept:
            pack = _read(self._held, self.file)
            if (pack.id, str(pack.version)) != (self.id, self.version):
                named = f"{_short(self.id)} {_short(self.version)}"
                raise LockError([f"{named} names by its digest what is {pack.id} {pack.version} ({self.file})"])
            self._kept.setdefault("pack", replace(pack, replaces=True) if self.replaces else pack)
        return self._kept["pack"]


@lru_cache(maxsize=256)  # a file of records names the same packs again and again
def _read(held: bytes, file: str) -> Pack:
    sha256 = digest(held)
    lines = Store().shipped.entry(sha256)
    return read_whole(held, file)[1] if lines is None else unpacked(lines, file, sha256)


def locked(files: Iterable[Held], lock: Lock, pins: Mapping[str, str]) -> tuple[Locked, ...]:
    """Return the packs of a lock, by pack id; what else the files hold is passed over unread.

    Raises LockError with every difference, and PinError.
    """
    _check_pins(lock, pins)
    held: dict[str, Held] = {}
    for file, content in files:
        held.setdefault(digest(content), (file, content))
    differences = list(_differences(lock, pins, held))
    if differences:
        raise LockError(differences)
    return tuple(
        Locked(pack, version, sha256, replaces, held[sha256])
        for pack, (version, sha256, replaces) in sorted(lock.items())
    )


def _check_pins(lock: Lock, pins: Mapping[str, str]) -> None:
    for pack, pin in pins.items():
        if pack not in lock:
            raise PinError(pack, pin, [])
        try:
            specifiers_of(pin)
        except InvalidSpecifier:
            raise PinError(pack, f"{_short(pin)!r}, which is no version specifier", [lock[pack][0]]) from None


def _differences(lock: Lock, pins: Mapping[str, str], held: Mapping[str, Held]) -> Iterator[str]:
    """Yield where what is `held`, by digest, is not what the lock demands, in the order of the packs."""
    told = {sha256: _told(content) for sha256, (_, content) in held.items()}
    for pack, (version, sha256, _) in sorted(lock.items()):
        named = f"{_short(pack)} {_short(version)}"
        if told.get(sha256) in ((pack, version), _NOT_TOLD):
            if pack in pins and not _satisfies(version, pins[pack]):
                yield f"{named} is locked but pinned to {pins[pack]}"
            continue
        digests = {other: each for each, (other_pack, other) in told.items() if other_pack == pack}
        if version in digests:
            yield f"{named} has other content ({digests[version][:12]}, locked {sha256[:12]})"
        else:
            yield f"{named} is not here (found: {', '.join(sorted(digests, key=_by_number)) or 'none'})"


def _told(held: bytes) -> tuple[str, str]:
    """Return which pack and version a file says it holds, as far as single lines tell; else `_NOT_TOLD`."""
    said = {key: value.decode("ascii") for key, value in _TOLD.findall(held)}
    return (said[b"pack"], said[b"version"]) if len(said) == 2 else _NOT_TOLD


def _by_number(version: str) -> list[str]:
    return [part.zfill(40) for part in version.split(".")]


def _satisfies(version: str, pin: str) -> bool:
    try:
        return version in specifiers_of(pin)
    except ValueError:  # it is no version, or one with more digits than a number may have
        return False


def _short(text: str) -> str:
    return text if len(text) <= 40 else text[:37] + "..."
