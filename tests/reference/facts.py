"""What is known of a case, as the oracle sees it: facts by name, quantities as intervals of exact values.

A fact that is not there is unknown. Nothing here knows a rule.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache
from typing import Any, Final

from tests.reference.words import COUNTS, GROUPS, JUDGED_METHODS, QUANTITIES, UNITS

__all__ = ["NO_SUCH_FACT", "Facts", "exact", "injuries_of", "methods_of", "repairs_of", "tire_of"]

Facts = dict[str, Any]

#: The value of a fact that does not exist, such as the spacing of a single repair: no rule that reads it applies.
NO_SUCH_FACT: Final = "no such fact"


def tire_of(case: dict[str, Any]) -> Facts:
    """What holds for the whole tire, with what follows from the number of its repairs."""
    facts: Facts = {}
    for group in GROUPS:
        facts |= _group(group, case.get(group) or {})
    if case.get("findings") is not None:
        facts["findings"] = set(case["findings"])
    if case["activity"] != "road-use":
        # A passing state of the road, which nobody is asked about but who is about to drive on it.
        facts.setdefault("road.snow_restriction", False)
    listed = _listed_repairs(case)
    if listed is not None:
        facts.setdefault("repairs.count", (Fraction(listed), Fraction(listed)))
        stated = (case.get("repairs") or {}).get("count") or 0
        if max(listed, stated) <= 1:
            facts.setdefault("repairs.overlap", False)
            facts.setdefault("repairs.spacing", NO_SUCH_FACT)
    return facts


def injuries_of(case: dict[str, Any]) -> list[Facts]:
    """The facts of each injury; where none was recorded, one of which nothing is known.

    Who recorded what an inspection found, and no injury, saw none; only a repair cannot be of nothing.
    """
    if case.get("injuries") is None and case.get("findings") is not None and case["activity"] != "repair":
        return []
    # How far an injury reaches can be said of one whose place was measured; where only its zone was named, no rule on
    # the reach applies. The geometry itself is not repeated here: a rule that needs it finds the fact unreadable.
    reach = {"injury.reach": NO_SUCH_FACT}
    return [
        injury if "injury.from_centerline" in injury else injury | reach
        for injury in _items(case.get("injuries"), "injury")
    ]


def repairs_of(case: dict[str, Any]) -> list[Facts]:
    """The facts of each earlier repair; where none was recorded, one of which nothing is known."""
    return _items(case.get("earlier_repairs"), "repair")


def methods_of(case: dict[str, Any]) -> list[Facts]:
    """The methods that a repair is judged by; none for any other activity."""
    if case["activity"] != "repair":
        return []
    named = case.get("method")
    return [{"method": each} for each in ([named] if named is not None else JUDGED_METHODS)]


@cache
def exact(text: str) -> Fraction:
    """Read one quantity such as ``1 1/2 in`` in its base unit."""
    found = re.fullmatch(r'([0-9. /-]*[0-9]) ?([A-Za-z]+|["°])', text)
    if found is None:
        raise ValueError(f"no quantity: {text!r}")
    number, unit = found.groups()
    return sum(map(Fraction, number.replace("-", " ").split()), Fraction(0)) * UNITS[unit]


def _items(stated: list[dict[str, Any]] | None, group: str) -> list[Facts]:
    return [{}] if stated is None else [_group(group, item) for item in stated]


def _group(group: str, stated: dict[str, Any]) -> Facts:
    known = {f"{group}.{key}": value for key, value in stated.items() if value is not None}
    return {name: _value(name, value) for name, value in known.items()}


def _value(name: str, stated: Any) -> Any:
    """Read the value of a fact: an interval for a quantity or count, the thing itself for all else."""
    if name in COUNTS:
        return Fraction(stated), Fraction(stated)
    if name not in QUANTITIES:
        return stated
    if " to " in stated:
        low, high = stated.split(" to ")
        return exact(low), exact(high)
    if "±" in stated:
        middle, width = (exact(part.strip()) for part in stated.split("±"))
        return max(middle - width, Fraction(0)), middle + width
    return exact(stated), exact(stated)


def _listed_repairs(case: dict[str, Any]) -> int | None:
    lists = ["earlier_repairs", *(["injuries"] if case["activity"] == "repair" else [])]
    if any(case.get(each) is None for each in lists):
        return None
    return sum(len(case[each]) for each in lists)
