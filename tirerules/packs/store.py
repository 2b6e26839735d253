"""Compiled packs by the SHA-256 of their files: what a process needs to decide, without YAML and schema.

Where one is looked for, in this order: among those that ship (`tirerules.packs.shipped`), in the user's cache
(`tirerules.packs.cache` says whom that trusts), and else it is compiled from the file and kept there. That happens when
a question first needs the pack. To load a rulebook takes no more than the heads of its packs: an index has those of all
that ship; those of other files, which the caller brought or edited, are read from them and kept together as one entry.
"""

from __future__ import annotations

from tirerules._version import __version__
from tirerules.data import PACKAGE
from tirerules.packs.compiled import unpacked
from tirerules.packs.files import content, digest
from tirerules.packs.shipped import FORMAT, Shipped, look
from tirerules.plain_json import CANONICAL, parsed
from tirerules.values import replace

TYPE_CHECKING = False  # typing's own constant would import typing
if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from typing import Any

    from tirerules.packs.cache import Cache
    from tirerules.packs.files import File
    from tirerules.packs.pack import Pack

__all__ = ["Head", "Store", "changed", "choose_heads", "heads"]


class Store:
    """The two places of compiled packs, for one load: entries by SHA-256."""

    __slots__ = ("_cache", "shipped")

    def __init__(self) -> None:
        self.shipped = Shipped(__version__)
        self._cache: Cache | None = None

    @property
    def cache(self) -> Cache:
        """The user's cache, which few processes need: only those whose packs did not ship as they are."""
        if self._cache is None:
            from tirerules.packs.cache import Cache, user_folder

            code = self.shipped.code
            self._cache = Cache(user_folder() if code else None, f"packs {__version__} {FORMAT} {PACKAGE}", code)
        return self._cache

    def lines(self, source: File, sha256: str) -> Sequence[str]:
        """Return the entry of the pack in `source`. Raises PackError, and MissingDataError where the file has changed.

        INVARIANT: `sha256` was computed from the bytes of the file.
        """
        lines = self.shipped.entry(sha256) or self.cache.get(f"pack-{sha256}")
        if lines is None:
            from tirerules.packs.compiling import compiled

            held = content(source)
            if digest(held) != sha256:
                raise changed(source)
            lines = compiled(held, str(source))
            self.cache.put(f"pack-{sha256}", lines)
        return lines


class Head:
    """What tells one version of one pack apart, as text; the rest of it is read when it is asked for.

    What is `said` of the file `source` is the pack's id, version and kind, and the SHA-256 of the file. Where it stands
    in the index of what ships, it was `seen` for a file of this size and time of change, whose bytes nobody has read
    yet. INVARIANT: apart from `id`, nothing of that is handed out before the bytes were checked; where they are others,
    what they say counts. `replaces` is of how the pack is loaded: whether the caller put it in place of what ships.
    """

    __slots__ = ("_kept", "_said", "_seen", "_store", "file", "id", "replaces", "source")

    def __init__(self, source: File, said: Sequence[str], store: Store, seen: tuple[int, int] | None = None) -> None:
        self.id, self.file, self.source, self.replaces = said[0], str(source), source, False
        self._said, self._store, self._seen = said, store, seen
        #: `pack`, once it was read; of threads that read at the same time, the first is kept.
        self._kept: dict[str, Any] = {}

    @property
    def version(self) -> str:
        """Which version of the pack. Raises as `sha256`."""
        return self._checked()[1]

    @property
    def kind(self) -> str:
        """What the pack is, one of `tirerules.packs.pack.KINDS`. Raises as `sha256`."""
        return self._checked()[2]

    @property
    def sha256(self) -> str:
        """The digest of the file. Raises PackError, MissingDataError."""
        return self._checked()[3]

    @property
    def pack(self) -> Pack:
        """The whole pack. Raises PackError, MissingDataError."""
        if "pack" not in self._kept:
            pack = unpacked(self._store.lines(self.source, self.sha256), self.file, self.sha256)
            self._kept.setdefault("pack", replace(pack, replaces=True) if self.replaces else pack)
        kept: Pack = self._kept["pack"]
        return kept

    def _checked(self) -> Sequence[str]:
        """Return what the bytes of the file say of themselves; they are read for it once."""
        if self._seen is not None:
            held = content(self.source)
            if look(self.file) != self._seen:
                raise changed(self.source)
            if digest(held) != self._said[3]:
                from tirerules.packs.heads import read_head

                said = read_head(held, self.file)
                if said[0] != self.id:
                    from tirerules.errors import MissingDataError

                    message = f"{self.file}: the file held the pack {self.id} when the library was installed, now"
                    raise MissingDataError(f"{message} {said[0]} -- give it a name of its own, or reinstall tirerules")
                self._said = said
            self._seen = None
        return self._said


def heads(files: Iterable[File], store: Store) -> tuple[Head, ...]:
    """Return the heads of packs, in the order of their files. Raises PackError with the problems of all heads together.

    As when packs are read whole (`tirerules.packs.library.gather`), a version for another library is left out where
    another version will do. Raises MissingDataError where a file cannot be read.
    """
    sources = tuple(files)
    shipped = [store.shipped.head(source) for source in sources]
    said: Mapping[str, Sequence[str]] = {}
    digests = [
        known[0][3] if known else digest(content(source)) for source, known in zip(sources, shipped, strict=True)
    ]
    if not all(shipped):
        # Whether one is left out depends on all of them: the name of the entry stands for the bytes of every file.
        name = f"heads-{digest(' '.join(digests).encode())}"
        lines = store.cache.get(name)
        if lines is None:
            from tirerules.packs.heads import read_heads

            others = {source: each for source, each, known in zip(sources, digests, shipped, strict=True) if not known}
            said = read_heads(others, {known[0][0] for known in shipped if known})
            store.cache.put(name, [CANONICAL(said)])
            store.cache.tidy()
        else:
            said = parsed(lines[0])
    return tuple(
        Head(source, said[sha256], store) if known is None else Head(source, known[0], store, known[1])
        for source, sha256, known in zip(sources, digests, shipped, strict=True)
        if known or sha256 in said
    )


def choose_heads(found: Sequence[Head], pins: Mapping[str, str]) -> tuple[Head, ...]:
    """Choose among versions as `tirerules.packs.choosing.choose` does, which is asked where there is a choice."""
    single = {head.id: head for head in found}
    if not pins and len(single) == len(found):
        return tuple(single[pack] for pack in sorted(single))
    from tirerules.packs.choosing import choose

    return choose(found, pins)


def changed(source: File) -> Exception:
    """Return the error for a file whose bytes are no longer those that a rulebook was loaded from."""
    from tirerules.errors import MissingDataError

    return MissingDataError(f"{source}: the file has changed since it was read -- load the packs again")
