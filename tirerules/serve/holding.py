"""The rulebook that a service answers by, and how it is replaced while it runs.

A `Held` is one rulebook with the digest of its lock; requests take the one that stands when they begin and keep it, so
none is dropped or answered by two. INVARIANT: a rulebook replaces another only when all of its packs were read.
"""

from __future__ import annotations

import asyncio
import logging
from pathlib import Path

from tirerules.errors import TirerulesError
from tirerules.packs.files import digest
from tirerules.plain_json import CANONICAL
from tirerules.record.decisions import lock_to_json

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from typing import Any, Final

    from tirerules.rulebook import Rulebook

__all__ = ["Held", "Holder"]

#: Seconds between two looks at the files of packs.
_LOOK: Final = 2.0
_LOG = logging.getLogger("tirerules.serve")


class Held:
    """A rulebook, its lock as JSON, and the SHA-256 of that, by which every answer names it."""

    __slots__ = ("lock", "rulebook", "sha256")

    def __init__(self, rulebook: Rulebook) -> None:
        self.rulebook = rulebook
        self.lock: Mapping[str, Any] = lock_to_json(rulebook.lock)
        self.sha256 = digest(CANONICAL(self.lock).encode("ascii"))


class Holder:
    """Holds the rulebook of a service; `load` reads its packs again, and `places` are the files to watch."""

    def __init__(self, load: Callable[[], Rulebook], places: Sequence[str] = ()) -> None:
        """Load the rulebook. Raises as `load` does."""
        self._load, self._places = load, places
        self.held = Held(load())
        self._seen = self._state()
        self._turn = asyncio.Lock()

    async def reload(self) -> Held:
        """Read the packs again; the old rulebook answers until all of them were read. Raises TirerulesError."""
        async with self._turn:
            state = self._state()
            self.held = await asyncio.to_thread(lambda: Held(self._load()))
            self._seen = state
            return self.held

    async def watch(self) -> None:
        """Read the packs again whenever a file of them has changed; what cannot be read is logged."""
        while True:
            await asyncio.sleep(_LOOK)
            state = await asyncio.to_thread(self._state)
            if state != self._seen:
                try:
                    held = await self.reload()
                    _LOG.info("packs were read again: lock %s", held.sha256)
                except TirerulesError as error:
                    self._seen = state
                    _LOG.error("changed packs cannot be used, the ones before go on: %s", error)

    def _state(self) -> Mapping[str, tuple[int, int]]:
        found = {}
        for place in map(Path, self._places):
            for file in [place] if place.is_file() else sorted(place.rglob("*.yaml")):
                try:
                    status = file.stat()
                except OSError:
                    continue
                found[str(file)] = (status.st_mtime_ns, status.st_size)
        return found
