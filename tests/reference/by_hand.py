"""Small builders for cases that are worked by hand, to pin the oracle. All of it is invented."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from tests.reference.oracle import decide
from tests.reference.words import ACTIVITIES

__all__ = ["ANY_SIZE", "ANY_TREAD", "OPEN", "OUTSIDE", "WITHIN", "pack", "repair", "rule", "verdict"]

WITHIN, OPEN, OUTSIDE = "within-limits", "undetermined", "outside-limits"
ANY_SIZE = {"activity": ["repair"], "limit": {"fact": "injury.diameter", "at-most": "100 mm"}}
ANY_TREAD = {"activity": list(ACTIVITIES[1:]), "limit": {"fact": "tire.tread_depth", "at-least": "0 mm"}}


def rule(activity: str = "road-use", **parts: Any) -> dict[str, Any]:
    """A rule; `in_force` and `when` as in a pack, the body by its name."""
    return {"activity": [activity], **{key.replace("_", "-"): value for key, value in parts.items()}}


def pack(*rules: dict[str, Any], name: str = "US", kind: str = "country") -> dict[str, Any]:
    """A whole pack around some rules, which rest on a text that was read unless they name another evidence."""
    sources = {
        evidence: {"citation": "Invented Code § 1", "authority": "maker", "evidence": evidence}
        for evidence in ("text-read", "secondary", "memory")
    }
    ruled = dict.fromkeys((activity for each in rules for activity in each["activity"]), "rules")
    return {
        **{"format": 1, "pack": name, "version": "1.0.0", "engine": ">=1,<2", "kind": kind},
        **{"title": "Invented pack", "reviewed": "2026-11-25", "sources": sources},
        "coverage": dict.fromkeys(ACTIVITIES, "none-located") | ruled,
        "rules": [{"id": f"r{n}", "says": "Invented.", "source": "text-read", **each} for n, each in enumerate(rules)],
    }


def verdict(rules: Iterable[dict[str, Any]], activity: str = "road-use", **case: Any) -> str:
    """The verdict where the rules are all there is, but for a ceiling on size and a floor under tread that all pass."""
    asked = {"jurisdictions": ["US"], "activity": activity, "on": "2026-11-25", "injuries": [], "earlier_repairs": []}
    asked |= case
    asked["tire"] = {"tread_depth": "9 mm", **case.get("tire", {})}
    return decide([pack(*rules), pack(ANY_SIZE, ANY_TREAD, name="trade", kind="baseline")], asked)["verdict"]


def repair(rules: Iterable[dict[str, Any]], *injuries: dict[str, Any], **case: Any) -> str:
    """The verdict on a repair by one method."""
    asked: dict[str, Any] = {"findings": [], "method": "one-piece", **case}
    return verdict(rules, "repair", injuries=list(injuries) or [{"diameter": "1 mm"}], **asked)
