"""Cases in their JSON form, changed one fact at a time. Nothing here changes a case in place.

A fact of an injury or of an earlier repair is that of the first one listed. What no case can state, because it follows
from other facts (how far an injury reaches, the angle between two repairs), is stated by those other facts.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any, Final

from tirerules.authoring.vectors.figures import text_of
from tirerules.errors import QuantityError
from tirerules.quantities import measure, quantity
from tirerules.vocabulary import FACTS, Activity, Dimension

__all__ = ["LISTS", "Json", "listed", "stated", "unrecorded", "with_fact", "without"]

Json = dict[str, Any]
#: The group of facts of one injury or one earlier repair, and the list of a case that holds them.
LISTS: Final[Mapping[str, str]] = {"injury": "injuries", "repair": "earlier_repairs"}


def stated(case: Json, name: str) -> Any:
    """Return what a case says of a fact, or None."""
    fact = FACTS[name]
    return _block(case, fact.group).get(fact.key)


def _block(case: Json, group: str) -> Json:
    if not group:
        return case
    if group in LISTS:
        records = case.get(LISTS[group]) or [{}]
        return dict(records[0])
    return dict(case.get(group, {}))


def with_fact(case: Json, name: str, value: Any) -> Json | None:
    """Return the case in which a fact has a value, in its JSON form; None where no such case can be.

    The count of repairs cannot be smaller than what the case lists, nor a place lie before the center line.
    """
    match name:
        case "injury.reach" | "repair.reach":
            return _reaching(case, FACTS[name].group, value)
        case "repairs.spacing_angle":
            return _apart(case, value)
        case "repairs.count":
            return _counting(case, value)
        case "tire.tread_depth":
            case = without(case, "tire.tread_grid")
        case "tire.tread_grid":
            case = without(case, "tire.tread_depth")
        case "tire.crack_depth":
            case = _cracked(case)
        case "tire.cracks_reach_plies" if value:
            case = _cracked(case)
    changed = _put(case, name, value)
    count = stated(changed, "repairs.count")
    return None if count is not None and count < listed(changed) else changed


def _put(case: Json, name: str, value: Any) -> Json:
    fact = FACTS[name]
    if not fact.group:
        return {**case, fact.key: value}
    if fact.group in LISTS:
        first, *others = case.get(LISTS[fact.group]) or [{}]
        return {**case, LISTS[fact.group]: [{**first, fact.key: value}, *others]}
    return {**case, fact.group: {**case.get(fact.group, {}), fact.key: value}}


def without(case: Json, *names: str) -> Json:
    """Return the case that says nothing of some facts: they are unknown, for every injury and repair."""
    for name in names:
        fact = FACTS[name]
        if not fact.group:
            case = _less(case, fact.key)
        elif LISTS.get(fact.group, fact.group) not in case:
            continue
        elif fact.group in LISTS:
            records = [_less(record, fact.key) for record in case[LISTS[fact.group]]]
            case = {**case, LISTS[fact.group]: records}
        else:
            case = {**case, fact.group: _less(case[fact.group], fact.key)}
    return case


def _less(block: Json, key: str) -> Json:
    return {name: value for name, value in block.items() if name != key}


def listed(case: Json) -> int:
    """Return how many repairs a case lists: the earlier ones, and those about to be made."""
    new = len(case.get("injuries", ())) if case["activity"] == Activity.REPAIR else 0
    return new + len(case.get("earlier_repairs", ()))


def unrecorded(case: Json, group: str) -> Json:
    """Return the case in which nobody recorded the list that a group of facts stands in."""
    return _less(case, LISTS[group])


def _reaching(case: Json, group: str, reach: str) -> Json | None:
    """State a straight hole, or an earlier repair of one, whose edge lies `reach` from the center line."""
    half = measure(stated(case, f"{group}.diameter") or "0 mm").high.exact / 2
    said = measure(reach)
    low, high = said.low.exact - half, said.high.exact - half
    if low < 0:
        return None
    text = text_of(low, "mm") if low == high else f"{text_of(low, 'mm')} to {text_of(high, 'mm')}"
    placed = _put(case, f"{group}.from_centerline", text)
    return _put(placed, "injury.angle", "0 deg") if group == "injury" else placed


def _apart(case: Json, angle: str) -> Json | None:
    """State where around the tire the first two repairs lie; an angle between two ends cannot be stated so."""
    try:
        said = quantity(angle, Dimension.ANGLE, around=True)
    except QuantityError:
        return None
    if (said.exact * 10**6).denominator != 1:
        return None
    # The first two are an injury and a repair, or two repairs.
    turned = [text_of(Fraction(0), "deg"), text_of(said.exact, "deg")]
    new, old = case.get("injuries", [])[:1], case.get("earlier_repairs", [])
    placed = [{**spot, "clock": clock} for spot, clock in zip([*new, *old], turned, strict=False)]
    return {
        **case,
        "injuries": [*placed[: len(new)], *case.get("injuries", [])[1:]],
        "earlier_repairs": [*placed[len(new) :], *old[len(placed) - len(new) :]],
    }


def _counting(case: Json, count: int) -> Json | None:
    """State how many repairs the tire will carry in all; where it carries fewer than are listed, none of the past."""
    changed = _put(case, "repairs.count", count)
    if count < listed(changed):
        changed = {**changed, "earlier_repairs": []}
    return None if count < listed(changed) else changed


def _cracked(case: Json) -> Json:
    found = case.get("findings")
    if found is None or "weather-cracking" in found:
        return case
    return {**case, "findings": [*found, "weather-cracking"]}
