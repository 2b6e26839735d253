"""What is known of a case, as the oracle sees it: facts by name, quantities as intervals of exact values.

A fact that is not there, or None, is unknown. Nothing here knows a rule.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache
from itertools import combinations
from typing import Any, Final

from tests.reference.derived import entailed, is_commercial, is_regrooved
from tests.reference.geometry import PI, Interval, injury_reach, repair_reach, zone_as_measured
from tests.reference.tread import smallest
from tests.reference.words import COUNTS, GROUPS, JUDGED_METHODS, PAIRED, QUANTITIES, UNITS

__all__ = ["NO_SUCH_FACT", "Facts", "exact", "injuries_of", "methods_of", "pairs_of", "repairs_of", "tire_of"]

Facts = dict[str, Any]

#: The value of a fact that does not exist, such as the spacing of a single repair: no rule that reads it applies.
NO_SUCH_FACT: Final = "no such fact"


def tire_of(case: dict[str, Any]) -> Facts:
    """What holds for the whole tire, with what follows from the number of its repairs."""
    facts: Facts = {}
    for group in GROUPS:
        facts |= _group(group, case.get(group) or {})
    if case.get("findings") is not None:
        facts["findings"] = entailed(case["findings"])
    facts["tire.tread_stated"] = facts.get("tire.tread_depth")
    facts["tire.tread_depth"] = smallest(facts["tire.tread_stated"], facts.get("tire.tread_grid"))
    facts["vehicle.commercial_motor_vehicle"] = is_commercial(facts)
    facts["tire.regrooved"] = is_regrooved(facts)
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
            facts["repairs.spacing_angle"] = NO_SUCH_FACT
    return facts


def injuries_of(case: dict[str, Any], tire: Facts) -> list[Facts]:
    """The facts of each injury; where none was recorded, one of which nothing is known.

    Who recorded what an inspection found, and no injury, saw none; only a repair cannot be of nothing.
    """
    if case.get("injuries") is None and case.get("findings") is not None and case["activity"] != "repair":
        return []
    return [_placed(case, tire, injury, "injury") for injury in _items(case.get("injuries"), "injury")]


def repairs_of(case: dict[str, Any], tire: Facts) -> list[Facts]:
    """The facts of each earlier repair; where none was recorded, one of which nothing is known."""
    return [_placed(case, tire, repair, "repair") for repair in _items(case.get("earlier_repairs"), "repair")]


def pairs_of(case: dict[str, Any], tire: Facts) -> list[Facts]:
    """What is known of each two repairs and injuries; one of which nothing is, if there may be more.

    What the case states of all repairs together stands in the facts of the tire, and counts before this.
    """
    spots = [*(case.get("injuries") or ()), *(case.get("earlier_repairs") or ())]
    pairs = [_apart(one.get("clock"), other.get("clock"), tire) for one, other in combinations(spots, 2)]
    listed = _listed_repairs(case)
    complete = listed is not None and listed >= ((case.get("repairs") or {}).get("count") or 0)
    stated = {name for name in PAIRED if tire.get(name) is not None}
    known = [{name: value for name, value in pair.items() if name not in stated} for pair in pairs]
    return known if known and complete else [*known, {}]


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
    if name == "tire.tread_grid":
        return [[_interval(reading) for reading in place] for place in stated]
    return _interval(stated) if name in QUANTITIES else stated


def _interval(stated: str) -> Interval:
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


def _placed(case: dict[str, Any], tire: Facts, item: Facts, group: str) -> Facts:
    """An injury or earlier repair with how far it reaches and the zone that counts.

    The reach does not exist where only the zone was named; it is unknown where neither was said. A zone that the
    measures speak against stays unknown (None), however well a band may contain it.
    """
    offset, named = item.get(f"{group}.from_centerline"), item.get(f"{group}.zone")
    if offset is None:
        if case.get("zones") == "measured":
            return {name: value for name, value in item.items() if name != f"{group}.zone"}
        return item if named is None else {**item, f"{group}.reach": NO_SUCH_FACT}
    diameter = item.get(f"{group}.diameter")
    if group == "injury":
        angle, leans = item.get("injury.angle"), item.get("injury.leans")
        reach = injury_reach(offset, diameter, angle, leans, tire.get("tire.thickness"))
    else:
        reach = repair_reach(offset, diameter)
    placed = {**item, f"{group}.reach": reach}
    if named is not None:
        tread = tire.get("tire.tread_width")
        placed[f"{group}.zone"] = zone_as_measured(named, offset, diameter, reach, tread)
    return placed


def _apart(one: str | None, other: str | None, tire: Facts) -> Facts:
    """How far apart two places on the clock are: around the axle, and along the outside where that is known."""
    if one is None or other is None:
        return {}
    gap = abs(_degrees(one) - _degrees(other))
    gap = min(gap, 360 - gap)
    apart: Facts = {"repairs.spacing_angle": (gap, gap)}
    if (outside := tire.get("tire.outside_diameter")) is not None:
        apart["repairs.spacing"] = gap / 360 * PI[0] * outside[0], gap / 360 * PI[1] * outside[1]
    return apart


def _degrees(clock: str) -> Fraction:
    """A place around the tire, on the face of a clock or in degrees."""
    hours, _, minutes = clock.partition(":")
    degrees = Fraction(hours) * 30 + Fraction(minutes) / 2 if minutes else exact(clock)
    return degrees % 360
