"""Cases, decisions and locks as JSON: the contract for software in other languages.

A decision carries its case, its day, its packs with their digests and a digest of its own, so that it can be replayed
and checked years later. JSON is read strictly: duplicate keys and NaN are refused.
"""

from tirerules.record.cases import case_from_json, case_to_json, parse
from tirerules.record.decisions import decision_to_json, digest_of, lock_from_json, lock_to_json

__all__ = [
    "case_from_json",
    "case_to_json",
    "decision_to_json",
    "digest_of",
    "lock_from_json",
    "lock_to_json",
    "parse",
]
