"""What a file says of itself before its rules: which version of which pack it holds, and of which kind.

A head is read without compiling the pack, so that packs which no question needs cost little. INVARIANT: a head is told
only where the whole pack, if it can be compiled at all, is this version of this pack, and where questions would find
it: under a name that is some place's, or binds everywhere. In any other case the file is read the full way, which says
all that is wrong with it.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from typing import TYPE_CHECKING, Final, NamedTuple

from packaging.specifiers import InvalidSpecifier

from tirerules.packs.building import misnamed
from tirerules.packs.files import content, digest
from tirerules.packs.library import fits, gather, read_whole
from tirerules.packs.reading import top_texts
from tirerules.packs.schema import schema
from tirerules.packs.store import changed

if TYPE_CHECKING:
    from tirerules.packs.files import File

__all__ = ["Said", "read_head", "read_heads"]

_KEYS: Final = ("pack", "version", "kind", "engine")


class Said(NamedTuple):
    """The head of one file."""

    id: str
    version: str
    kind: str
    sha256: str


def read_head(held: bytes, file: str) -> Said:
    """Return the head of the pack in the bytes of `file`. Raises PackError, and ForeignPackError as `read_whole`."""
    said = top_texts(held, file, _KEYS)
    if _plain(said):
        return Said(said["pack"], said["version"], said["kind"], digest(held))
    _, pack = read_whole(held, file)
    return Said(pack.id, str(pack.version), pack.kind, pack.sha256)


def _plain(said: Mapping[str, str]) -> bool:
    """Whether a head is complete and without fault, by the same schema and checks that a whole pack must pass."""
    if not {*_KEYS} <= said.keys():
        return False
    shape = schema("rulepack")["properties"]
    if said["kind"] not in shape["kind"]["enum"] or misnamed(said["pack"], said["kind"]):
        return False
    if not all(re.search(re.sub(r"\$$", r"\\Z", shape[key]["pattern"]), said[key]) for key in ("pack", "version")):
        return False
    try:
        return fits(said["engine"])
    except InvalidSpecifier:
        return False


def read_heads(files: Mapping[File, str], known: Collection[str]) -> dict[str, Said]:
    """Return SHA-256 -> head of `files`, which have these digests; `known` are the packs whose heads are at hand.

    Raises as `tirerules.packs.library.gather` does, and MissingDataError where a file has changed since it was hashed.
    """

    def read(file: File) -> Said:
        held = content(file)
        if digest(held) != files[file]:
            raise changed(file)
        return read_head(held, str(file))

    return {said.sha256: said for said in gather(files, read, known)}
