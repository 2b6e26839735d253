"""The spread of the tickets of an invented chain of tire shops: how often each word, and how figures lie.

That of a shop: mostly passenger tires, mostly repairs of punctures in the crown, inspected and nothing found. Figures
that a person measures are given to 0.1 mm, so that tickets do not repeat.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date, timedelta
from types import MappingProxyType
from typing import Final

from tirerules.jurisdictions import JURISDICTIONS

__all__ = [
    "ACTIVITIES",
    "CLASSES",
    "DAYS",
    "EARLIER_REPAIRS",
    "FACTS",
    "FINDINGS",
    "LAST_DAY",
    "MEASURED",
    "OVERLAP",
    "PLACES",
    "REPAIRED",
    "SIZES",
    "TWO_PLACES",
    "UNKNOWN",
    "UNSIZED",
    "ByClass",
    "Weights",
]

#: Word or figure -> weight.
Weights = Mapping[str, float]
#: Class of tire ("" for all others) -> weights.
ByClass = Mapping[str, Weights]

#: The tickets reach back eight years from here.
LAST_DAY: Final = date(2026, 11, 25)
DAYS: Final[Weights] = {(LAST_DAY - timedelta(days=days)).isoformat(): 1 for days in range(8 * 365)}
#: Whole countries are no shop's place, and nobody lives on the minor outlying islands.
_CODES: Final = tuple(code for code in JURISDICTIONS if "-" in code and code != "US-UM")
#: A chain has its first shops in a few places.
PLACES: Final[Weights] = {code: 1 / (4 + number * 7 % len(_CODES)) for number, code in enumerate(_CODES)}
#: Shops near a border send some vehicles on a route through the next place.
_BORDER: Final = 0.03


def _two_places() -> Weights:
    neighbors = zip(PLACES.items(), _CODES[1:], strict=False)
    pairs = {f"{one},{other}": weight for (one, weight), other in neighbors if one[:2] == other[:2]}
    share = _BORDER * sum(PLACES.values()) / sum(pairs.values())
    return {**PLACES, **{both: weight * share for both, weight in pairs.items()}}


TWO_PLACES: Final[Weights] = _two_places()
CLASSES: Final[Weights] = {
    "passenger": 68,
    "light-truck": 15,
    "medium-truck": 12,
    "bus": 2,
    "motorcycle": 3,
}
ACTIVITIES: Final[Weights] = {"repair": 84, "used-tire-installation": 8, "tire-sale": 4, "road-use": 4}


def _falling(least: float, below: float) -> dict[str, float]:
    """Return lengths from `least` mm on by 0.1 mm, the more seldom the nearer they are to `below`."""
    tenths = range(round(least * 10), round(below * 10))
    return {f"{each / 10:.1f} mm": tenths.stop - each for each in tenths}


def _hill(least: float, peak: float, below: float) -> dict[str, float]:
    """Return lengths from `least` mm on by 0.1 mm, most often near `peak`."""
    low, top, end = (round(each * 10) for each in (least, peak, below))
    rising = {each: (each - low + 1) / (top - low) for each in range(low, top)}
    falling = {each: (end - each) / (end - top) for each in range(top, end)}
    return {f"{each / 10:.1f} mm": weight for each, weight in (rising | falling).items()}


_DEEP: Final = _hill(0.8, 8.0, 16.0)
YES_RARELY: Final[Weights] = {"no": 98, "yes": 2}
#: Fact -> its weights by the class of the tire.
FACTS: Final[Mapping[str, ByClass]] = MappingProxyType(
    {
        "tire.load_range": {
            "light-truck": {"C": 20, "D": 15, "E": 55, "F": 10},
            "medium-truck": {"E": 5, "F": 10, "G": 45, "H": 35, "J": 5},
            "bus": {"G": 30, "H": 70},
            "": {"B": 80, "C": 20},
        },
        "tire.speed_symbol": {
            "light-truck": {"Q": 20, "R": 50, "S": 30},
            "medium-truck": {"L": 60, "M": 40},
            "bus": {"L": 50, "M": 50},
            "motorcycle": {"J": 15, "S": 20, "H": 30, "V": 25, "W": 10},
            "": {"S": 15, "T": 30, "H": 25, "V": 18, "W": 8, "Y": 4},
        },
        "tire.sealant_layer": {"passenger": {"no": 94, "yes": 6}, "": {"no": 1}},
        "tire.run_flat": {"passenger": {"no": 93, "yes": 7}, "": {"no": 1}},
        "tire.retread": {"medium-truck": {"no": 70, "yes": 30}, "bus": {"no": 85, "yes": 15}, "": {"no": 1}},
        "tire.regrooved": {"medium-truck": {"no": 95, "yes": 5}, "": {"no": 199, "yes": 1}},
        "tire.same_vehicle": {"": {"yes": 75, "no": 25}},
        "tire.tread_depth": {"medium-truck": _DEEP, "bus": _DEEP, "": _hill(0.8, 4.5, 9.0)},
        "tire.age": {"": {f"{years} years": 12 - years for years in range(1, 12)}},
        "vehicle.kind": {
            "light-truck": {"light-truck": 70, "multipurpose": 25, "trailer": 5},
            "medium-truck": {"truck": 40, "truck-tractor": 30, "trailer": 28, "tow-truck": 2},
            "bus": {"bus": 80, "minibus": 20},
            "motorcycle": {"motorcycle": 1},
            "": {"passenger-car": 60, "multipurpose": 38, "trailer": 2},
        },
        "vehicle.use": {
            "light-truck": {"private": 55, "commercial": 44, "emergency": 1},
            "medium-truck": {"commercial": 93, "private": 5, "emergency": 2},
            "bus": {"school-bus": 55, "commercial": 45},
            "": {"private": 93, "commercial": 6, "emergency": 1},
        },
        "vehicle.gvwr": {
            "light-truck": {"3200 kg": 30, "8600 lb": 30, "9900 lb": 20, "10500 lb": 15, "14000 lb": 5},
            "medium-truck": {"19500 lb": 20, "26000 lb": 30, "33000 lb": 20, "80000 lb": 30},
            "bus": {"14000 lb": 20, "33000 lb": 50, "15000 kg": 30},
            "motorcycle": {"400 kg": 1},
            "": {"1600 kg": 25, "1900 kg": 40, "2300 kg": 25, "6000 lb": 10},
        },
        "axle.steer": {"": {"yes": 45, "no": 55}},
        "shop.full_service": {"": {"no": 95, "yes": 5}},
        "road.snow_restriction": {"": YES_RARELY},
        "injury.kind": {"": {"puncture": 93, "cut": 7}},
        "injury.zone": {"": {"crown": 80, "shoulder": 9, "belt-edge": 3, "sidewall": 7, "bead": 1}},
        "injury.diameter": {"medium-truck": _falling(3, 13), "": _falling(2, 11)},
        "injury.angle": {"": {f"{angle} deg": 45 - angle for angle in range(45)}},
        "injury.length": {"": _falling(6, 40)},
        "tire.crack_depth": {"": _falling(0.5, 4)},
        "tire.cracks_reach_plies": {"": {"no": 85, "yes": 15}},
        # Of a vehicle in commercial use; no other is one.
        "vehicle.commercial_motor_vehicle": {
            "light-truck": {"no": 70, "yes": 30},
            "medium-truck": {"yes": 95, "no": 5},
            "bus": {"yes": 95, "no": 5},
            "": {"no": 1},
        },
    }
)
FINDINGS: Final[Weights] = {
    "none": 90,
    "run-flat-damage": 3,
    "weather-cracking": 1.5,
    "embedded-object": 1.5,
    "exposed-cord": 1,
    "liner-damage": 0.8,
    "bead-damage": 0.5,
    "tread-separation": 0.5,
    "temporary-sealant": 0.5,
    "worn-to-indicators": 0.4,
    "leak,run-flat-damage": 0.2,
    "boot,exposed-cord": 0.1,
}
OVERLAP: Final[Weights] = YES_RARELY
_WITH_A_REPAIR: Final = 0.1


def _earlier_repairs() -> Weights:
    """Return the weights of lists of earlier repairs, as JSON text: none, or one."""
    methods = {"one-piece": 70, "two-piece": 22, "section": 2, "plug-only": 6}
    zones = {"crown": 92, "shoulder": 6, "sidewall": 2}
    weights = {
        json.dumps([{"zone": zone, "diameter": size, "method": method}]): one * two * three
        for method, one in methods.items()
        for zone, two in zones.items()
        for size, three in _hill(2, 4, 9.6).items()
    }
    share = _WITH_A_REPAIR / sum(weights.values())
    return {"none": 1 - _WITH_A_REPAIR, **{said: weight * share for said, weight in weights.items()}}


EARLIER_REPAIRS: Final[Weights] = _earlier_repairs()
#: The same of tires that all carry one.
REPAIRED: Final[Weights] = {said: weight for said, weight in EARLIER_REPAIRS.items() if said != "none"}

#: Share of the tickets on which a shop leaves a fact out; 0 where none is named.
UNKNOWN: Final[Mapping[str, float]] = MappingProxyType(
    {
        "tire.load_range": 0.1,
        "tire.construction": 0.3,
        "tire.speed_symbol": 0.3,
        "tire.sealant_layer": 0.03,
        "tire.run_flat": 0.03,
        "tire.retread": 0.1,
        "tire.regrooved": 0.1,
        "tire.same_vehicle": 0.2,
        "tire.tread_depth": 0.02,
        "tire.age": 0.5,
        "vehicle.kind": 0.1,
        "vehicle.use": 0.05,
        "vehicle.gvwr": 0.6,
        "vehicle.commercial_motor_vehicle": 0.7,
        "axle.steer": 0.2,
        "shop.full_service": 0.3,
        "injury.kind": 0.01,
        "injury.zone": 0.01,
        "injury.diameter": 0.01,
        "injury.angle": 0.04,
        "injury.length": 0.2,
        "repairs.overlap": 0.2,
        "findings": 0.04,
        "earlier_repairs": 0.04,
        "tire.cracks_reach_plies": 0.2,
    }
)


def _designations(prefix: str, widths: range, aspects: tuple[int, ...], rims: tuple[str, ...]) -> Weights:
    return {f"{prefix}{width}/{aspect}{rim}": 1 for width in widths for aspect in aspects for rim in rims}


_TRUCK: Final = _designations("", range(235, 316, 10), (70, 75, 80), ("R19.5", "R22.5", "R24.5"))


#: What a size designation says, of a tire whose size is not stated.
UNSIZED: Final[Mapping[str, ByClass]] = MappingProxyType(
    {
        "tire.construction": {"": {"radial": 97, "bias": 3}},
        # Asked of motorcycles alone: the one law that limits it speaks of them.
        "tire.section_width": {"motorcycle": {f"{width} mm": 1 for width in range(110, 191, 10)}},
    }
)
#: Size designations, without a service description: load range and speed symbol have columns of their own.
SIZES: Final[ByClass] = {
    "light-truck": _designations("LT", range(215, 316, 10), (70, 75, 85), ("R15", "R16", "R17")),
    "medium-truck": _TRUCK,
    "bus": _TRUCK,
    "motorcycle": _designations("", range(110, 191, 10), (55, 70, 90), ("R16", "R17", "R18")),
    "": _designations("", range(175, 286, 10), (40, 45, 50, 55, 60, 65), ("R15", "R16", "R17", "R18", "R19")),
}
_WIDE: Final = _hill(190, 210, 250)
#: What a shop measures so that the library can work out where an injury lies.
MEASURED: Final[Mapping[str, ByClass]] = MappingProxyType(
    {
        "tire.tread_width": {"medium-truck": _WIDE, "bus": _WIDE, "": _hill(140, 170, 210)},
        "tire.thickness": {"medium-truck": _hill(16, 20, 26), "bus": _hill(16, 20, 26), "": _hill(9, 12, 17)},
        "injury.from_centerline": {"": _falling(0, 100)},
        "injury.side": {"": {"left": 1, "right": 1}},
        "injury.clock": {"": {f"{hour}:{minute:02}": 1 for hour in range(1, 13) for minute in range(60)}},
        "injury.leans": {"": {"toward-shoulder": 3, "toward-center": 3, "along-circumference": 4}},
    }
)
