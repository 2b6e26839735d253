"""Draws cases by their number: the same on any machine and under any version of Python. All tires are invented.

Place, activity, class, day and theme go round at lengths without a common factor, so that they meet in ever new pairs;
what else a case says is drawn by a digest of its number.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from typing import Any, Final

from tirerules import Activity, Rulebook

__all__ = ["Case", "drawn"]

Case = dict[str, Any]

#: The classes that law and trade say most about stand more often.
_CLASSES: Final = (
    "passenger",
    "light-truck",
    "passenger",
    "medium-truck",
    "passenger",
    "bus",
    "motorcycle",
    "passenger",
    "trailer",
    "light-truck",
    "temporary-spare",
    "agricultural",
    "off-road",
)
#: Repairs have the most to say, so that nearly half of the records are repairs.
_ACTIVITIES: Final = (
    "repair",
    "used-tire-installation",
    "repair",
    "road-use",
    "repair",
    "used-tire-sale",
    "repair",
    "inspection",
    "tire-sale",
    "repair",
    "vehicle-sale",
)
_DAYS: Final = ("2026-11-25", "2025-04-30", "2024-07-01", "2019-06-01", "2027-03-01")
#: Class of tire -> kinds of vehicle, and ratings of weight, that it goes with.
_VEHICLES: Final[dict[str, tuple[Sequence[str], Sequence[str]]]] = {
    "passenger": (("passenger-car", "multipurpose"), ("1900 kg", "3500 lb")),
    "light-truck": (("light-truck", "multipurpose", "minibus"), ("3500 kg", "8600 lb")),
    "medium-truck": (("truck", "truck-tractor", "tow-truck"), ("26000 lb", "36000 kg", "9900 lb")),
    "bus": (("bus",), ("18000 kg", "33000 lb")),
    "motorcycle": (("motorcycle",), ("400 kg",)),
    "trailer": (("trailer",), ("750 kg", "10400 lb")),
    "temporary-spare": (("passenger-car",), ("1500 kg",)),
    "agricultural": (("truck", "trailer"), ("12000 kg",)),
    "off-road": (("multipurpose", "truck"), ("6000 lb", "30000 kg")),
}
_SIZES: Final = {
    "passenger": ("225/45R17", "P205/55R16 91V", "155/80R13"),
    "light-truck": ("LT245/75R16/E", "LT215/85R16"),
    "medium-truck": ("11R22.5", "295/75R22.5"),
    "bus": ("11R22.5", "12R22.5"),
    "motorcycle": ("130/90-16", "180/55ZR17"),
    "trailer": ("ST205/75R15",),
    "temporary-spare": ("T125/70D15",),
    "agricultural": ("18.4R38",),
    "off-road": ("35x12.50R20",),
}
_UNITS: Final = {"unit_length": "45 mm", "unit_width": "45 mm"}


class _Draw:
    """The draws of one case: what is drawn depends on the number of the case and on the name of the draw alone."""

    def __init__(self, number: int) -> None:
        self.number = number

    def one(self, name: str, options: Sequence[Any]) -> Any:
        """Return one of the options."""
        digest = hashlib.sha256(f"{self.number} {name}".encode()).digest()
        return options[int.from_bytes(digest[:8]) % len(options)]


def _place(draw: _Draw, activity: str, rulebook: Rulebook) -> str:
    """Return the place whose turn it is; mostly, for an act that is no repair, one that has rules on the act."""
    ruled = [code for code in rulebook.codes if rulebook.packs[code].covers(Activity(activity)) in ("rules", "partial")]
    if activity != "repair" and draw.one("ruled", (True, True, False)):
        return draw.one("place", ruled)
    return rulebook.codes[draw.number % len(rulebook.codes)]


def _sound(draw: _Draw, rulebook: Rulebook) -> Case:
    """Return the case of a tire with which nothing is wrong, and of which everything is known that is often asked."""
    number = draw.number
    kind = _CLASSES[number % len(_CLASSES)]
    activity = _ACTIVITIES[number % len(_ACTIVITIES)]
    vehicles, weights = _VEHICLES[kind]
    case: Case = {
        "jurisdictions": [_place(draw, activity, rulebook)],
        "activity": activity,
        "on": _DAYS[number % len(_DAYS)],
        "tire": {
            "class": kind,
            "load_range": draw.one(
                "load range", {"light-truck": "CDE", "medium-truck": "FGH", "bus": "GH"}.get(kind, "B")
            ),
            "construction": "radial",
            "sealant_layer": False,
            "run_flat": False,
            "retread": False,
            "regrooved": False,
            "tread_depth": draw.one("tread", ("9/32 in", "10 mm", "7.5 mm")),
        },
        "vehicle": {
            "kind": draw.one("vehicle", vehicles),
            "use": draw.one("use", ("private", "private", "commercial", "school-bus", "emergency")),
            "gvwr": draw.one("weight", weights),
        },
        "axle": {"steer": draw.one("steer", (True, False))},
        "injuries": [],
        "earlier_repairs": [],
        "findings": [],
    }
    if activity == "repair":
        case["injuries"] = [{"kind": "puncture", "zone": "crown", "diameter": "4 mm", "angle": "10 deg"}]
    return case


# --- what the cases are about -----------------------------------------------------------------------------------------


def _nothing(_case: Case, _draw: _Draw) -> None:
    """Leave the tire sound."""


def _spot(case: Case) -> Case:
    """Return the injury that is to be repaired, or an earlier repair where no repair is asked about."""
    if case["activity"] == "repair":
        return case["injuries"][0]
    case["earlier_repairs"] = [{"zone": "crown", "diameter": "4 mm", "method": "one-piece"}]
    return case["earlier_repairs"][0]


def _measured(case: Case, draw: _Draw) -> None:
    case["tire"] |= {"tread_width": "180 mm", "section_width": "225 mm", "thickness": "12 mm"}
    # Within half the tread, or in no named zone at all.
    spot = _spot(case) | {"from_centerline": draw.one("offset", ("0 mm", "31 mm", "40 mm ± 2 mm", "55 mm", "62 mm"))}
    if case["activity"] == "repair":
        spot["leans"] = draw.one("leans", ("toward-shoulder", "toward-center", "along-circumference", None))
        spot["angle"] = draw.one("angle", ("0 deg", "15 deg", "25 deg", "24 deg ± 2 deg", "40 deg"))
    if draw.one("zone", (True, False)):
        del spot["zone"]
    _spot(case).clear()
    _spot(case).update(spot)


def _worn(case: Case, draw: _Draw) -> None:
    case["tire"]["tread_depth"] = draw.one(
        "worn", ("1/32 in", "2/32 in", "1.6 mm", "3/32 in", "4/32 in ± 0.2 mm", "0 mm")
    )
    case["findings"] = draw.one("indicators", ([], ["worn-to-indicators"]))


def _grid(case: Case, draw: _Draw) -> None:
    del case["tire"]["tread_depth"]
    case["tire"]["tread_grid"] = draw.one(
        "grid",
        (
            [["5 mm", "2 mm", "4/32 in"]] * 3,
            [["1 mm", "1 mm", "6 mm", "6 mm"], ["1 mm", "6 mm", "6 mm", "6 mm"], ["6 mm", "6 mm", "6 mm", "1 mm"]],
            [["9/32 in", "8/32 in"]] * 2,
            [["1.5 mm"]],
        ),
    )


def _large(case: Case, draw: _Draw) -> None:
    _spot(case)["diameter"] = draw.one(
        "size", ("6 mm", "6.35 mm", "1/4 in", "3/8 in", "10 mm", "25 mm", "5.9 mm to 6.1 mm")
    )
    if case["activity"] == "repair" and draw.one("cut", (True, False, False)):
        _spot(case).update({"kind": "cut", "length": draw.one("length", ("12 mm", "40 mm"))})


def _surface(case: Case, draw: _Draw) -> None:
    spot = _spot(case)
    if case["activity"] == "repair":
        spot["surface_diameter"] = draw.one("surface", ("5 mm", "6.6 mm", "1/4 in", "6 mm to 9 mm"))
        spot["angle"] = draw.one("angle", ("0 deg", "20 deg", "25 deg ± 1 deg", "30 deg"))
        spot["from_centerline"] = draw.one("offset", ("0 mm", "20 mm to 30 mm", "1 1/2 in", None))
    del spot["diameter"]


def _several(case: Case, draw: _Draw) -> None:
    case["tire"]["size"] = draw.one("size", _SIZES[case["tire"]["class"]])
    case["tire"] = {key: value for key, value in case["tire"].items() if key not in ("load_range", "construction")}
    first = _spot(case) | {"clock": "12:00", **_UNITS}
    clock = draw.one("clock", ("12:30", "2:00", "3:00", "6:00", "95 deg", "200 mm", None))
    second = first | {"clock": clock, "diameter": draw.one("second", ("3 mm", "5 mm", "7 mm"))}
    case["injuries" if case["activity"] == "repair" else "earlier_repairs"] = [first, second]


def _repaired(case: Case, draw: _Draw) -> None:
    case["earlier_repairs"] = [
        {
            "zone": draw.one("zone", ("crown", "crown", "shoulder", "sidewall", "belt-edge", "bead")),
            "diameter": draw.one("under", ("3 mm", "6 mm", "8 mm", "3/8 in", "1/2 in", None)),
            "method": draw.one(
                "method", ("one-piece", "two-piece", "section", "plug-only", "patch-only", "boot", None)
            ),
        }
    ]
    if draw.one("two", (True, False)):
        case["earlier_repairs"] += [{"zone": "crown", "diameter": "4 mm", "method": "two-piece"}]
        case["repairs"] = {"spacing": draw.one("apart", ("300 mm", "500 mm")), "overlap": False, "opposed": False}


def _rated(case: Case, draw: _Draw) -> None:
    _spot(case)
    case["repair_unit"] = {
        "method": draw.one("unit", ("one-piece", "one-piece", "one-piece", "two-piece")),
        "rated_angle": draw.one("rated", ("20 deg", "35 deg", "45 deg")),
        "document": draw.one("document", ("invented data sheet 12", "invented data sheet 13", None)),
    }
    if case["activity"] == "repair":
        case["injuries"][0]["angle"] = draw.one("angle", ("15 deg", "28 deg", "30 deg", "35 deg", "36 deg"))


def _unknown(case: Case, draw: _Draw) -> None:
    """Leave out some of what is known; what was inspected stays recorded."""
    for group in ("tire", "vehicle", "axle"):
        for key in list(case[group]):
            if key != "regrooved" and draw.one(f"{group}.{key}", (True, True, False)):
                del case[group][key]
    for injury in case["injuries"]:
        del injury[draw.one("injury", ("kind", "zone", "diameter", "angle"))]


def _unrecorded(case: Case, draw: _Draw) -> None:
    for key in draw.one("lists", (("findings",), ("earlier_repairs",), ("injuries",), ("findings", "earlier_repairs"))):
        del case[key]


#: The words of the release whose records are kept: one that comes later must not change a case.
_FINDINGS: Final = (
    "run-flat-damage",
    "liner-separation",
    "casing-separation",
    "tread-separation",
    "exposed-cord",
    "bead-damage",
    "weather-cracking",
    "impact-damage",
    "bulge",
    "liner-damage",
    "chemical-damage",
    "cord-corrosion",
    "zipper-rupture",
    "identification-number-defaced",
    "recalled",
    "temporary-sealant",
    "earlier-improper-repair",
    "boot",
    "sidewall-plug",
    "embedded-object",
    "leak",
    "not-for-highway-marking",
    "liner-contaminated",
)


def _damaged(case: Case, draw: _Draw) -> None:
    second = draw.one("second finding", (*_FINDINGS, *["leak"] * len(_FINDINGS)))
    case["findings"] = sorted({draw.one("finding", _FINDINGS), second})


def _elsewhere(case: Case, draw: _Draw) -> None:
    _spot(case)["zone"] = draw.one("zone", ("shoulder", "belt-edge", "sidewall", "bead"))


def _abroad(case: Case, draw: _Draw) -> None:
    other = draw.one("other place", ("US-SC", "CA-QC", "US-CA", "US-NH", "CA-ON", "US", "CA"))
    case["jurisdictions"] = sorted({*case["jurisdictions"], other})
    case["reading"] = "as-enacted"
    if case["activity"] == "repair":
        case["injuries"][0]["diameter"] = draw.one("size", ("5 mm", "6.2 mm", "1/4 in"))


def _asked(case: Case, draw: _Draw) -> None:
    """Name what else may be stated: a method, the shop, the road, the sale."""
    if case["activity"] == "repair":
        case["method"] = draw.one("method", ("one-piece", "two-piece", "section", "plug-only", "patch-only"))
    case["shop"] = {"full_service": draw.one("shop", (True, False))}
    case["sale"] = {"for_retreading": draw.one("casing", (True, False))}
    case["road"] = {"snow_restriction": draw.one("snow", (True, False))}
    case["repairs"] = {"count": draw.one("count", (1, 2, 4, 6))}


def _built(case: Case, draw: _Draw) -> None:
    """Change how the tire is built and how old it is."""
    case["tire"] |= draw.one(
        "built",
        (
            {"construction": "bias"},
            {"sealant_layer": True},
            {"run_flat": True},
            {"foam_liner": True},
            {"retread": True},
            {"regrooved": True},
            {"body_ply": "steel"},
            {"speed_symbol": "V"},
            {"speed_symbol": "(Y)"},
            {"same_vehicle": True},
            {"crack_depth": "1 mm"},
        ),
    )
    case["tire"] |= draw.one("age", ({"age": "7 years"}, {"age": "11 years"}, {"date_code": "1218"}, {}))
    if "crack_depth" in case["tire"]:
        case["findings"] = ["weather-cracking"]


#: Sixteen, which has no factor in common with the numbers of places (71), activities (11), classes (13) and days (5).
_THEMES: Final[tuple[Callable[[Case, _Draw], None], ...]] = (
    _nothing,
    _measured,
    _worn,
    _several,
    _large,
    _repaired,
    _rated,
    _unknown,
    _damaged,
    _abroad,
    _surface,
    _grid,
    _asked,
    _elsewhere,
    _built,
    _unrecorded,
)


def drawn(number: int, rulebook: Rulebook) -> Case:
    """Return the case of a number, for the places that a rulebook speaks for."""
    draw = _Draw(number)
    case = _sound(draw, rulebook)
    _THEMES[number % len(_THEMES)](case, draw)
    stated: Case = _stated(case)
    return stated


def _stated(said: Any) -> Any:
    """Return a case without what was drawn as None, which stands for unknown."""
    if isinstance(said, dict):
        return {key: _stated(value) for key, value in said.items() if value is not None}
    return [_stated(each) for each in said] if isinstance(said, list) else said
