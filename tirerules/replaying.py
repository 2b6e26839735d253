"""Proving a recorded decision: the same case and the same packs give the same answer, by this library or a later one.

The packs are demanded byte for byte. The library is not: it goes on, and a record outlives it. So a record is compared
in the form of the release that made it, and once that release's version is put back, its digest is the same or the
answer is another.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from tirerules._version import __version__
from tirerules.errors import LockError, Problem, ReplayError
from tirerules.packs.files import builtin, content, files_in
from tirerules.packs.places import from_place
from tirerules.record import case_from_json, decision_to_json, digest_of, lock_from_json
from tirerules.record.brief import BRIEF, decision_to_brief
from tirerules.record.differing import differing
from tirerules.record.earlier import form_of
from tirerules.rulebook import Rulebook, locked

if TYPE_CHECKING:
    from tirerules.engine.parts import PackLock

__all__ = ["Replay", "replay"]

#: What a replay reads of a record itself; the rest is compared.
_NEEDED: Final = ("case", "packs", "digest", "engine", "verdict", "on")
_CURE: Final = "name where the packs of that day are: a folder, a file, or REVISION:PATH in git (--packs)"


@dataclass(frozen=True, slots=True)
class Replay:
    """What a replay found.

    `same` is whether the answer stands, and `differences` says in words where it does not. `intact` is whether the
    record matches its own digest; one that does not never stands. `engine` is the version of the library that made the
    record, where that was not this one, and empty where it was. `beyond` tells what this library says besides, which
    the form of the record has no place for.
    """

    same: bool
    differences: tuple[str, ...]
    intact: bool = True
    engine: str = ""
    beyond: tuple[str, ...] = ()


def replay(said: Any, *places: str | os.PathLike[str]) -> Replay:
    """Decide a recorded decision's case again, by exactly the packs it names, and compare.

    `said` is the decision's JSON form, whole or brief. `places` is where its packs are, besides those that ship with
    the library: each a folder, a file, or ``REVISION:PATH`` in the git repository around the current folder.

    Raises ReplayError where `said` is no decision by any release; LockError where a pack that it names is not at hand,
    since nothing can then be said about the answer; MissingDataError and RevisionError for a place that cannot be read;
    and as `load` and `Rulebook.decide` do.
    """
    _check(said)
    form = form_of(said["engine"], __version__)
    intact = digest_of(said) == said["digest"]
    changed = () if intact else ("the record does not match its own digest: it was changed after it was made",)
    engine = "" if said["engine"] == __version__ else said["engine"]
    try:
        rulebook = _rulebook(lock_from_json(said["packs"]), places)
    except LockError as error:
        if intact:
            raise LockError(error.differences, _CURE) from None
        return Replay(False, (*changed, *error.differences), intact, engine)
    decision = rulebook.decide(case_from_json({**said["case"], "on": said["on"]}))
    again = decision_to_json(decision, further="margins" in said)
    again, beyond = (again, ()) if form is None else form.told(again)
    if said.get("record") == BRIEF:
        whole = digest_of({**again, "engine": said["engine"]})
        again = {**decision_to_brief(decision), "engine": said["engine"], "whole": whole}
        again["digest"] = digest_of(again)
    # INVARIANT: where nothing differs, both have one digest.
    differences = (*changed, *differing(said, {**again, "engine": said["engine"]}))
    return Replay(not differences, differences, intact, engine, beyond)


def _check(said: Any) -> None:
    """Raise ReplayError for what is no decision."""
    if not isinstance(said, Mapping):
        raise ReplayError([Problem("replay", "this is no decision", "give what `tirerules decide --json` printed")])
    missing = [key for key in _NEEDED if key not in said]
    if missing:
        message = f"the decision lacks {', '.join(missing)}"
        raise ReplayError([Problem("replay", message, path=missing[0])])
    if not isinstance(said["case"], Mapping):
        raise ReplayError([Problem("replay", "the decision's case is no block of keys", path="case")])


def _rulebook(lock: Mapping[str, PackLock], places: tuple[str | os.PathLike[str], ...]) -> Rulebook:
    """Return the packs of a lock from `places`, and from the built-in ones what is not there.

    Files are told apart by their digest alone, so that a folder may hold any packs beside those that are wanted. Raises
    LockError with every pack that is not at hand.
    """
    files = [file for place in places for file in from_place(place)]
    files += [(str(file), content(file)) for file in files_in(builtin())]
    return locked(files, lock)
