"""Puts unsafe answers back that were once given, one at a time, by changing the packs in memory.

Each function takes packs as plain data, which it leaves alone, and returns changed ones; it fails if there was nothing
to change, because then the sweep would prove nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from typing import Any

from tests.reference.smaller import with_rules

__all__ = [
    "a_word_is_a_floor",
    "business_vehicles_escape",
    "classes_escape_their_mark",
    "commerce_is_enough",
    "earlier_repairs_have_no_band",
    "earlier_section_repairs_of_light_trucks_pass",
    "light_trucks_have_no_band",
    "quadrants_do_not_matter",
]

Pack = dict[str, Any]
Rule = dict[str, Any]


def a_word_is_a_floor(packs: list[Pack]) -> list[Pack]:
    """A bar on tires that are worn to their indicators is a floor under tread by itself, without a height."""
    found = deepcopy(_without(packs, lambda rule: "contradicts" in rule))
    for pack in found:
        worn = [
            each for each in pack["rules"] if "worn-to-indicators" in each.get("disqualify", {}).get("findings", ())
        ]
        for rule in worn:
            kept = {key: value for key, value in rule.items() if key != "disqualify"}
            any_depth = {"limit": {"fact": "tire.tread_depth", "at-least": "0 mm"}}
            pack["rules"].append({**kept, "id": f"{rule['id']}-as-floor", **any_depth})
    return found


def light_trucks_have_no_band(packs: list[Pack]) -> list[Pack]:
    """No rule says how far from the center line an injury of a light-truck tire may reach."""
    return _without(packs, lambda rule: _limited(rule) == "injury.reach" and "light-truck" in _classes(rule))


def earlier_repairs_have_no_band(packs: list[Pack]) -> list[Pack]:
    """No rule says how far from the center line an earlier repair may reach."""
    return _without(packs, lambda rule: _limited(rule) == "repair.reach")


def earlier_section_repairs_of_light_trucks_pass(packs: list[Pack]) -> list[Pack]:
    """An earlier section repair is improper in a passenger or motorcycle tire, and in a light-truck tire it is not."""

    def barred(rule: Rule) -> bool:
        body = rule.get("prohibit", {})
        return body.get("fact") == "repair.method" and "section" in body["values"] and "light-truck" in _classes(rule)

    return _without(packs, lambda rule: barred(rule) and "tire.class" in rule.get("when", {}))


def quadrants_do_not_matter(packs: list[Pack]) -> list[Pack]:
    """Nothing is said of two repairs in one quadrant."""
    return _without(packs, lambda rule: _limited(rule) == "repairs.spacing_angle")


def business_vehicles_escape(packs: list[Pack]) -> list[Pack]:
    """Every vehicle in commercial use is let off, however light."""
    return _without(
        packs, lambda rule: rule.get("when", {}).get("vehicle.use") == "commercial" and "vehicle.gvwr" in rule["when"]
    )


def classes_escape_their_mark(packs: list[Pack]) -> list[Pack]:
    """A mark "not for highway use" is barred, and the classes that are made for no highway are not."""
    return _without(
        packs,
        lambda rule: rule.get("prohibit", {}).get("fact") == "tire.class" and "off-road" in rule["prohibit"]["values"],
    )


def commerce_is_enough(packs: list[Pack]) -> list[Pack]:
    """The federal motor-carrier rules bind every vehicle in commercial use."""
    found = deepcopy(packs)
    bound = [
        rule["when"]
        for pack in found
        for rule in pack["rules"]
        if pack["pack"] == "US" and "vehicle.commercial_motor_vehicle" in rule.get("when", {})
    ]
    assert bound, "no federal rule binds commercial motor vehicles"
    for when in bound:
        del when["vehicle.commercial_motor_vehicle"]
        when["vehicle.use"] = "commercial"
    return found


def _without(packs: list[Pack], taken: Callable[[Rule], bool]) -> list[Pack]:
    assert any(taken(rule) for pack in packs for rule in pack["rules"]), "no such rule is there to be taken out"
    return [with_rules(pack, [rule for rule in pack["rules"] if not taken(rule)]) for pack in packs]


def _limited(rule: Rule) -> str | None:
    fact: str | None = rule.get("limit", {}).get("fact")
    return fact


def _classes(rule: Rule) -> list[str]:
    """The classes that a rule is for; without a condition it is for light trucks too."""
    wanted = rule.get("when", {}).get("tire.class", ["light-truck"])
    if isinstance(wanted, dict):
        return [] if "light-truck" in wanted["not"] else ["light-truck"]
    return wanted if isinstance(wanted, list) else [wanted]
