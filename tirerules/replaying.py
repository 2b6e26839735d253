"""Proving a recorded decision: the same case, the same packs and the same library give the same digest."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from tirerules.errors import LockError, Problem, ReplayError
from tirerules.record import case_from_json, decision_to_json, digest_of, lock_from_json
from tirerules.rulebook import load

__all__ = ["Replay", "replay"]


@dataclass(frozen=True, slots=True)
class Replay:
    """What a replay found. `same` is whether the decision stands; `differences` says in words where it does not."""

    same: bool
    differences: tuple[str, ...]


def replay(said: Any, *folders: str | os.PathLike[str]) -> Replay:
    """Decide a recorded decision's case again, by exactly the packs it names, and compare.

    `said` is the decision's JSON form; `folders` is the caller's search path. Raises ReplayError where `said` is no
    decision, and as `load` and `Rulebook.decide` do.
    """
    if not isinstance(said, Mapping):
        raise ReplayError([Problem("replay", "this is no decision", "give what `tirerules decide --json` printed")])
    missing = [key for key in ("case", "packs", "digest", "engine", "verdict", "on") if key not in said]
    if missing:
        raise ReplayError(
            [Problem("replay", f"the decision lacks {', '.join(missing)}", path=key) for key in missing[:1]]
        )
    if not isinstance(said["case"], Mapping):
        raise ReplayError([Problem("replay", "the decision's case is no block of keys", path="case")])
    differences = []
    if digest_of(said) != said["digest"]:
        differences.append("the record does not match its own digest: it was changed after it was made")
    try:
        rulebook = load(*folders, lock=lock_from_json(said["packs"]))
    except LockError as error:
        return Replay(False, (*differences, *error.differences))
    again = decision_to_json(rulebook.decide(case_from_json({**said["case"], "on": said["on"]})))
    differences += [
        f"{key} differs: recorded {_short(said.get(key))}, now {_short(again[key])}"
        for key in again
        if key != "digest" and again[key] != said.get(key)
    ]
    return Replay(not differences, tuple(differences))


def _short(value: Any) -> str:
    text = str(value)
    return text if len(text) <= 60 else text[:57] + "..."
