"""A decision as JSON text."""

from __future__ import annotations

import json

from tirerules.record.decisions import decision_to_json

TYPE_CHECKING = False
if TYPE_CHECKING:
    from tirerules.decision import Decision

__all__ = ["written"]


def written(decision: Decision) -> str:
    """Return a decision as JSON text."""
    return json.dumps(decision_to_json(decision), ensure_ascii=False)
