"""Choosing among the versions of packs: pins, and the newest that is left.

The newest version that the caller's pin allows is chosen for each pack, whatever folder it lies in and in whatever
order the folders come. It makes no difference whether packs are whole or only their heads.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Protocol, TypeVar

from packaging.specifiers import InvalidSpecifier
from packaging.version import Version

from tirerules.errors import ConflictError, PinError
from tirerules.escaping import shortened
from tirerules.packs.versions import specifiers_of, version_of

__all__ = ["Versioned", "choose"]


class Versioned(Protocol):
    """One version of one pack."""

    @property
    def id(self) -> str:
        """The pack."""

    @property
    def version(self) -> Version | str:
        """Which version of it."""

    @property
    def sha256(self) -> str:
        """The digest of its file."""

    @property
    def file(self) -> str:
        """Where it was read."""


_Each = TypeVar("_Each", bound=Versioned)


def choose(packs: Sequence[_Each], pins: Mapping[str, str]) -> tuple[_Each, ...]:
    """Return the chosen version of each pack, by pack id.

    `pins` maps packs to version specifiers such as ``==1.2.*``. Raises ConflictError or PinError.
    """
    versions: dict[str, dict[Version, _Each]] = {}
    for pack in sorted(packs, key=lambda each: each.file):
        known = versions.setdefault(pack.id, {})
        other = known.setdefault(version_of(str(pack.version)), pack)
        if other.sha256 != pack.sha256:
            raise ConflictError(pack.id, str(pack.version), other.file, pack.file)
    for pack_id, pin in pins.items():
        found = [str(version) for version in sorted(versions.get(pack_id, ()))]
        if not found:
            raise PinError(pack_id, pin, [])
        try:
            specifiers_of(pin)
        except InvalidSpecifier:
            raise PinError(pack_id, f"{shortened(pin)!r}, which is no version specifier", found) from None
    return tuple(_newest(pack_id, versions[pack_id], pins.get(pack_id, "")) for pack_id in sorted(versions))


def _newest(pack_id: str, versions: Mapping[Version, _Each], pin: str) -> _Each:
    wanted = specifiers_of(pin)
    fitting = [version for version in versions if version in wanted]
    if not fitting:
        raise PinError(pack_id, pin, [str(version) for version in sorted(versions)])
    return versions[max(fitting)]
