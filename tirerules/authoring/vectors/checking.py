"""Whether a file of vectors still stands: every case decided again by the packs at hand, and compared."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from tirerules._version import __version__
from tirerules.authoring.vectors.answers import answer
from tirerules.authoring.vectors.cases import Json
from tirerules.errors import CaseError, Problem, ReplayError, UnknownJurisdictionError
from tirerules.record import lock_from_json, lock_to_json, parse
from tirerules.rulebook import Rulebook

__all__ = ["Checked", "check"]

_KEYS: Final[Mapping[str, type]] = {"id": str, "case": dict, "expect": dict, "packs": dict, "engine": str}
_LONGEST: Final = 120


@dataclass(frozen=True, slots=True)
class Checked:
    """How many vectors a file holds, and in words where they no longer stand."""

    vectors: int
    differences: tuple[str, ...]


def check(text: str, rulebook: Rulebook, file: str = "") -> Checked:
    """Decide every vector in `text`, the content of `file`, by `rulebook`, and compare.

    A pack or a library other than the one that a vector was made with is a difference too, told once for all vectors:
    a new rule may need vectors that the file does not hold. Raises CaseError for a line that is no vector.
    """
    vectors = [(number, _vector(line, file, number)) for number, line in enumerate(text.split("\n"), 1) if line.strip()]
    if not vectors:
        raise CaseError([Problem("vectors-empty", "the file holds no vectors", "write one: tirerules vectors", file)])
    differences: dict[str, None] = {}
    for number, vector in vectors:
        differences |= dict.fromkeys(_differences(vector, rulebook, file, number))
    # What changed comes before what it changes.
    changed = sorted(differences, key=lambda said: not said.startswith(("pack ", "the library ")))
    return Checked(len(vectors), tuple(changed))


def _vector(line: str, file: str, number: int) -> Json:
    """Read one line. Raises CaseError with its file and line where it is no vector."""
    try:
        said = parse(line)
    except CaseError as error:
        raise _placed(error, file, number) from None
    if not isinstance(said, dict):
        raise _wrong("this line is no vector", file, number)
    for key, kind in _KEYS.items():
        if not isinstance(said.get(key), kind):
            raise _wrong(f"this vector has no {key!r}, or one of the wrong kind", file, number)
    limits = said["expect"].get("limits")
    if not isinstance(limits, dict):
        raise _wrong("this vector expects nothing of 'limits'", file, number)
    try:
        lock_from_json(said["packs"])
    except ReplayError:
        raise _wrong("'packs' is no lock of packs", file, number) from None
    return said


def _wrong(message: str, file: str, number: int) -> CaseError:
    return CaseError([Problem("vector", message, "write the file anew: tirerules vectors --out FILE", file, number)])


def _placed(error: CaseError, file: str, number: int) -> CaseError:
    return CaseError(
        [
            Problem(problem.code, problem.message, problem.hint, file, number, problem.column, problem.path)
            for problem in error.problems
        ]
    )


def _differences(vector: Json, rulebook: Rulebook, file: str, number: int) -> Iterator[str]:
    try:
        found = answer(rulebook, vector["case"])
    except UnknownJurisdictionError as error:
        yield f"{vector['id']}: {error}"
        return
    except CaseError as error:
        raise _placed(error, file, number) from None
    yield from _changed(vector["packs"], lock_to_json(found.decision.packs))
    if vector["engine"] != __version__:
        yield f"the library is tirerules {__version__}; the vectors were made with {vector['engine']}"
    recorded = vector["expect"]
    now = found.expect(tuple(recorded["limits"]), steps="requirements" in recorded)
    for key in dict.fromkeys((*now, *recorded)):
        if now.get(key) != recorded.get(key):
            yield f"{vector['id']}: {key}: recorded {_short(recorded.get(key))}, now {_short(now.get(key))}"


def _changed(recorded: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    for pack in sorted({*recorded, *now}):
        if recorded.get(pack) != now.get(pack):
            yield f"pack {pack} differs: recorded {_version(recorded.get(pack))}, now {_version(now.get(pack))}"


def _version(entry: Mapping[str, str] | None) -> str:
    return f"{entry['version']} ({entry['sha256'][:12]})" if entry else "none"


def _short(value: Any) -> str:
    text = str(value)
    return text if len(text) <= _LONGEST else text[: _LONGEST - 3] + "..."
