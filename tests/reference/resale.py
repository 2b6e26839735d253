"""How a tire would fare under another act once its injuries are repaired by one method."""

from __future__ import annotations

from typing import Any

from tests.reference.geometry import across
from tests.reference.measures import interval
from tests.reference.oracle import Reading
from tests.reference.words import CURED

__all__ = ["failing_after"]

#: What is the same of an injury and of the repair that it becomes.
_KEPT = ("diameter", "zone", "from_centerline", "side", "clock", "unit_length", "unit_width")


def failing_after(packs: list[dict[str, Any]], case: dict[str, Any], method: str, activity: str) -> list[str]:
    """The names of the rules that the repaired tire surely fails under an act."""
    reading = Reading(packs, _after(case, method, activity))
    return sorted({each.name for each in reading.common if each.outcome == "fails"})


def _after(case: dict[str, Any], method: str, activity: str) -> dict[str, Any]:
    """The case of the repaired tire: its injuries are earlier repairs now, and what a repair removes is gone."""
    after = {key: value for key, value in case.items() if key not in ("method", "repair_unit")}
    after |= {"activity": activity, "injuries": []}
    if case.get("earlier_repairs") is not None:
        after["earlier_repairs"] = [
            *case["earlier_repairs"],
            *(_repaired(injury, method) for injury in case.get("injuries") or [{}]),
        ]
    if case.get("findings") is not None:
        after["findings"] = [each for each in case["findings"] if each not in CURED]
    return after


def _repaired(injury: dict[str, Any], method: str) -> dict[str, Any]:
    done = {key: injury[key] for key in _KEPT if injury.get(key) is not None}
    if injury.get("surface_diameter") is not None:
        angle = injury.get("angle")
        # As both ends of what it may be, where the case would hold a text. Of two measures the larger counts.
        sizes = [across(interval(injury["surface_diameter"]), None if angle is None else interval(angle))]
        sizes += [interval(done["diameter"])] if "diameter" in done else []
        done["diameter"] = (max(low for low, _ in sizes), max(high for _, high in sizes))
    return {**done, "method": method}
