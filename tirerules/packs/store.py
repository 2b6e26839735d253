"""Packs as they were compiled once: what a process needs to decide, without YAML, schema or classes.

The bytes of every file are read and hashed every time. What this very state of the library made of these very bytes
before is taken from the user's cache (`tirerules.packs.cache` says whom that trusts); everything else is read the full
way and kept there. The heads of a set of files are one entry, so that a process opens a single one for all of them;
the rules and the document of each pack are another one, which is read when they are asked for.
"""

from __future__ import annotations

import os

from tirerules import data
from tirerules._version import __version__
from tirerules.packs.cache import Cache, digest, user_folder
from tirerules.packs.files import content
from tirerules.plain_json import parsed

TYPE_CHECKING = False  # typing's own constant would import typing
if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from typing import Any, Final

    from tirerules.packs.files import File
    from tirerules.packs.pack import Pack

__all__ = ["Head", "choose_heads", "heads"]

#: Raised when entries change their form.
_FORMAT: Final = 1
#: The lines of a pack's entry.
_HEAD, _ROWS, _DOCUMENT = range(3)
#: The folders of the package whose code has a part in packs as they are kept.
_MAKERS: Final = ("", "packs", "strictest")
_PACKAGE: Final = os.path.dirname(data.__file__)


class Head:
    """What tells one version of one pack apart, as text; the rest of it is read when it is asked for.

    `replaces` is of how the pack is loaded: whether the caller put it in place of what the library ships.
    """

    __slots__ = (
        "_cache",
        "_kept",
        "engine",
        "file",
        "held",
        "id",
        "kind",
        "replaces",
        "said",
        "sha256",
        "source",
        "title",
        "version",
    )

    def __init__(self, source: File, held: str, cache: Cache, said: Sequence[str]) -> None:
        """Hold what is `said` of the pack in `source`, whose bytes have the digest `held`."""
        self.said = said
        self.id, self.version, self.kind, self.title, self.engine, self.sha256 = said
        self.file = str(source)
        self.source, self.held, self._cache = source, held, cache
        self.replaces = False
        #: `rows` and `pack`, as far as they were read; of threads that read at the same time, the first is kept.
        self._kept: dict[str, Any] = {}

    @property
    def rows(self) -> Any:
        """The compiled rules, as `tirerules.index.rows.rows_of` makes them. Raises PackError, MissingDataError."""
        if "rows" not in self._kept:
            self._kept.setdefault("rows", parsed(self._line(_ROWS)))
        return self._kept["rows"]

    @property
    def pack(self) -> Pack:
        """The whole pack. Raises PackError, MissingDataError."""
        if "pack" not in self._kept:
            from tirerules.packs.compiling import unpacked
            from tirerules.values import replace

            pack = unpacked(self._line(_DOCUMENT), self.file, self.sha256)
            self._kept.setdefault("pack", replace(pack, replaces=True) if self.replaces else pack)
        kept: Pack = self._kept["pack"]
        return kept

    def _line(self, which: int) -> str:
        # The entry may have gone since the head was read.
        return _lines(self.source, self.held, self._cache)[which]


def heads(files: Iterable[File]) -> tuple[Head, ...]:
    """Return the heads of packs, in the order of their files. Raises PackError with the problems of all files together.

    As when packs are read whole (`tirerules.packs.library.gather`), a version for another library is left out where
    another version will do. Raises MissingDataError where a file cannot be read.
    """
    sources = tuple(files)
    cache = Cache(user_folder() if _STATE else None, f"packs {__version__} {_FORMAT} {_PACKAGE}", _STATE)
    digests = [digest(content(source)) for source in sources]
    name = f"heads-{digest(' '.join(digests).encode())}"
    lines = cache.get(name)
    if lines is None:
        from json import dumps

        from tirerules.packs.library import gather

        found = gather(zip(sources, digests, strict=True), lambda each: _head(*each, cache))
        cache.put(name, [dumps({head.held: head.said for head in found})])
        cache.tidy()
        return found
    known = parsed(lines[0])
    # What is not known was left out: the name of the entry stands for the bytes of every file.
    return tuple(
        Head(source, held, cache, known[held]) for source, held in zip(sources, digests, strict=True) if held in known
    )


def choose_heads(found: Sequence[Head], pins: Mapping[str, str]) -> tuple[Head, ...]:
    """Choose among versions as `tirerules.packs.choosing.choose` does, which is asked where there is a choice."""
    single = {head.id: head for head in found}
    if not pins and len(single) == len(found):
        return tuple(single[pack] for pack in sorted(single))
    from tirerules.packs.choosing import choose

    return choose(found, pins)


def _head(source: File, held: str, cache: Cache) -> Head:
    return Head(source, held, cache, parsed(_lines(source, held, cache)[_HEAD]))


def _lines(source: File, held: str, cache: Cache) -> Sequence[str]:
    """Return the entry of a pack. Where there is none, the pack is read the full way and kept.

    Raises PackError, and MissingDataError where the file has gone or has changed since it was hashed.
    """
    lines = cache.get(f"pack-{held}")
    if lines is None:
        from tirerules.errors import MissingDataError
        from tirerules.packs.compiling import compiled

        said = content(source)
        if digest(said) != held:
            raise MissingDataError(f"{source}: the file has changed since it was read -- load the packs again")
        lines = compiled(said, str(source))
        cache.put(f"pack-{held}", lines)
    return lines


def _state_of_code() -> str:
    """Return what changes with the code that makes entries, or nothing where that cannot be told: in an archive.

    The version alone would not do: code changes many times between two versions where it is being worked on.
    """
    schemas = data.place("schemas")
    if schemas is None:
        return ""
    files = []
    try:
        for folder in (*(os.path.join(_PACKAGE, name) for name in _MAKERS), schemas):
            with os.scandir(folder) as entries:
                for entry in entries:
                    if entry.name.endswith((".py", ".json")):
                        status = entry.stat()
                        files.append(f"{entry.path} {status.st_size} {status.st_mtime_ns}")
    except OSError:
        return ""
    return " ".join(sorted(files))


#: As the code is on disk when this process imports it: what it makes later is made by this code, whatever changes then.
_STATE: Final = _state_of_code()
