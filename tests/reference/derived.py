"""Facts that follow from other facts where nobody stated them (weights and seats: 49 CFR 390.5, and 390.3T(f))."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from tests.reference.words import ENTAILS, NOT_REGROOVED, UNITS

__all__ = ["asked_of_carrier", "entailed", "is_commercial", "is_regrooved"]

_HEAVY: Final = 10_001 * UNITS["lb"]
#: With its driver; a vehicle that carries more for pay is a commercial motor vehicle at any weight.
_FEW_SEATS: Final = 8
_BY_SEATS: Final = ("bus", "minibus")
#: Kinds that are no part of a combination, so that the rating of the vehicle alone is what counts.
_ALONE: Final = ("passenger-car", "multipurpose", "light-truck", "truck", "motorcycle", "street-rod")


def is_commercial(facts: Mapping[str, Any]) -> bool | None:
    """Whether the federal motor-carrier rules bind the vehicle; None where what is known does not say."""
    stated: bool | None = facts.get("vehicle.commercial_motor_vehicle")
    if stated is not None:
        return stated
    use, kind = facts.get("vehicle.use"), facts.get("vehicle.kind")
    if use in ("private", "school-bus", "emergency"):
        return False
    rating, seats = facts.get("vehicle.gvwr"), facts.get("vehicle.seats")
    many = None if seats is None else seats[0] > _FEW_SEATS
    if use == "commercial" and ((rating and rating[0] >= _HEAVY) or (kind in _BY_SEATS and many)):
        return True
    light = rating is not None and rating[1] < _HEAVY
    if light and ((kind in _ALONE and many is not True) or (kind in _BY_SEATS and many is False)):
        return False
    return None


def asked_of_carrier(facts: Mapping[str, Any]) -> str:
    """What to ask where it is not known whether the carrier rules bind: in the order in which a person would be."""
    for fact in ("vehicle.use", "vehicle.gvwr", "vehicle.kind"):
        if facts.get(fact) is None:
            return fact
    light = facts["vehicle.gvwr"][1] < _HEAVY
    by_seats = facts["vehicle.kind"] in _BY_SEATS and facts.get("vehicle.seats") is None
    return "vehicle.seats" if light and by_seats else "vehicle.commercial_motor_vehicle"


def is_regrooved(facts: Mapping[str, Any]) -> bool | None:
    """Whether the tire was regrooved: what was found beats what was stated, and an inspection may settle it."""
    found: set[str] | None = facts.get("findings")
    if found is not None and "regroove" in found:
        return True
    stated: bool | None = facts.get("tire.regrooved")
    if stated is not None:
        return stated
    return False if found is not None and facts.get("tire.class") in NOT_REGROOVED else None


def entailed(findings: list[str]) -> set[str]:
    """What was found, with what that entails."""
    return {*findings, *(ENTAILS[each] for each in findings if each in ENTAILS)}
