"""Sound tires of every class, in the state most likely to be allowed. All of them are invented.

Every fact that a rule may read is stated, so that nothing but the fault of a row keeps its twin from passing.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

__all__ = ["TIRES", "merged", "sound"]

Facts = Mapping[str, Any]

_TIRE: Final[Facts] = {
    **{"construction": "radial", "body_ply": "steel", "sealant_layer": False, "run_flat": False, "foam_liner": False},
    **{"retread": False, "regrooved": False, "same_vehicle": True, "age": "1 year"},
    **{"tread_depth": "9 mm", "tread_width": "200 mm", "section_width": "225 mm", "thickness": "12 mm"},
    "outside_diameter": "634 mm",
}
_VEHICLE: Final[Facts] = {"kind": "passenger-car", "use": "private", "gvwr": "1900 kg", "seats": 5}
#: By name: what is its own of the tire, of the vehicle, and a hole that a repair of its class may fill.
TIRES: Final[Mapping[str, tuple[Facts, Facts, str]]] = {
    "passenger": ({"class": "passenger", "speed_symbol": "H"}, {}, "4 mm"),
    "light-truck": ({"class": "light-truck", "load_range": "C"}, {"kind": "light-truck", "gvwr": "3000 kg"}, "4 mm"),
    "light-truck F": ({"class": "light-truck", "load_range": "F"}, {"kind": "truck", "gvwr": "4400 kg"}, "4 mm"),
    "medium-truck": ({"class": "medium-truck", "load_range": "G"}, {"kind": "truck", "gvwr": "12000 kg"}, "4 mm"),
    "bus": ({"class": "bus", "load_range": "G"}, {"kind": "bus", "gvwr": "12000 kg", "seats": 40}, "4 mm"),
    "motorcycle": ({"class": "motorcycle", "speed_symbol": "J"}, {"kind": "motorcycle", "gvwr": "400 kg"}, "2 mm"),
    "trailer": ({"class": "trailer", "load_range": "C"}, {"kind": "trailer", "gvwr": "1000 kg", "seats": None}, "4 mm"),
    "temporary-spare": ({"class": "temporary-spare"}, {}, "4 mm"),
    "agricultural": ({"class": "agricultural"}, {"kind": "truck", "gvwr": "4000 kg"}, "4 mm"),
    "off-road": ({"class": "off-road"}, {"kind": "multipurpose", "gvwr": "2500 kg"}, "4 mm"),
}


def sound(name: str, act: str, place: str) -> dict[str, Any]:
    """Return the case of a sound tire; where it is to be repaired, of one straight puncture in the middle of its tread.

    Outside a repair it has no injury.
    """
    tire, vehicle, hole = TIRES[name]
    puncture = {"kind": "puncture", "zone": "crown", "diameter": hole, "angle": "0 deg"}
    return {
        **{"jurisdictions": [place], "activity": act, "on": "2026-11-30"},
        **{"tire": {**_TIRE, **tire}, "vehicle": {**_VEHICLE, **vehicle}, "axle": {"steer": False}},
        **{"shop": {"full_service": True}, "road": {"snow_restriction": False}, "sale": {"for_retreading": False}},
        **{"injuries": [puncture] if act == "repair" else [], "earlier_repairs": [], "findings": []},
        # Of two repairs nothing but what a row says is near the other.
        "repairs": {"overlap": False, "opposed": False, "spacing": "900 mm"},
    }


def merged(case: Mapping[str, Any], *patches: Mapping[str, Any]) -> dict[str, Any]:
    """Return `case` with each patch laid over it: mappings key by key, all else replaced.

    Under `injury` a patch changes the one injury, so that it need not say the rest of it again.
    """
    found = dict(case)
    for patch in patches:
        for key, value in patch.items():
            if key == "injury":
                found["injuries"] = [{**each, **value} for each in found["injuries"]]
            elif isinstance(value, Mapping) and isinstance(found.get(key), dict):
                found[key] = {**found[key], **value}
            else:
                found[key] = value
    return found
