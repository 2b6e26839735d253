"""Cases, decisions and locks as JSON: the contract for software in other languages.

A decision carries its case, its day, its packs with their digests and a digest of its own, so that it can be replayed
and checked years later. JSON is read strictly: duplicate keys and NaN are refused.
"""

from __future__ import annotations

from tirerules._deferred import deferred

TYPE_CHECKING = False
if TYPE_CHECKING:
    from tirerules.record.cases import case_from_json, case_to_json
    from tirerules.record.decisions import decision_to_json, digest_of, lock_from_json, lock_to_json
    from tirerules.record.parsing import parse
    from tirerules.record.words import vocabulary_to_json

__all__ = [
    "case_from_json",
    "case_to_json",
    "decision_to_json",
    "digest_of",
    "lock_from_json",
    "lock_to_json",
    "parse",
    "vocabulary_to_json",
]

#: Module -> what it gives this one, when it is first asked for.
_ELSEWHERE = {
    "tirerules.record.cases": ("case_from_json", "case_to_json"),
    "tirerules.record.decisions": ("decision_to_json", "digest_of", "lock_from_json", "lock_to_json"),
    "tirerules.record.parsing": ("parse",),
    "tirerules.record.words": ("vocabulary_to_json",),
}


#: To read a text needs nothing of what writes one.
if not TYPE_CHECKING:  # a checker would take any name for one of the package
    __getattr__ = deferred(globals(), _ELSEWHERE)
