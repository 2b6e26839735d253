"""The words of rule packs and cases, written down a second time.

A copy on purpose: if the oracle shared the library's table of facts, a value missing there would be missing here too.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any, Final

ACTIVITIES: Final = (
    "repair",
    "used-tire-installation",
    "used-tire-sale",
    "tire-sale",
    "vehicle-sale",
    "road-use",
    "inspection",
)
IMPLIED: Final = {
    "repair": "road-use",
    "used-tire-installation": "road-use",
    "used-tire-sale": "tire-sale",
    "inspection": "road-use",
}
#: What a shop asks of itself, or a maker of its units: it may tighten, but where all else is silent it is no limit.
OVERLAYS: Final = {"company", "repair-material"}
EVERYWHERE: Final = {"baseline"} | OVERLAYS
JUDGED_METHODS: Final = ("one-piece", "two-piece", "section")
#: Findings that the repair itself removes.
CURED: Final = {"embedded-object", "leak"}
#: Findings that say more than another: who found the first found the second.
ENTAILS: Final = {"unmarked-regroove": "regroove"}
IMPLIED_FINDINGS: Final = {"regroove": ("unmarked-regroove",)}
#: Classes whose tires are not lawfully regrooved, so that an inspection without the finding settles the fact; and
#: those whose tires are, so that the finding by itself is nothing that a rule must judge.
NOT_REGROOVED: Final = ("passenger", "light-truck", "motorcycle")
LAWFULLY_REGROOVED: Final = ("medium-truck", "bus")
#: Classes that are made for no highway, and how each stands beside findings where no rule speaks of it.
FOR_NO_HIGHWAY: Final = {"agricultural": "class made for farms", "off-road": "class made for no highway"}
#: Acts under which the trade judges the repairs that a tire carries.
JUDGE_REPAIRS: Final = ("repair", "used-tire-installation", "used-tire-sale")

ZONES: Final = ("crown", "shoulder", "belt-edge", "sidewall", "bead")
SIDES: Final = ("left", "right")
METHODS: Final = (*JUDGED_METHODS, "plug-only", "patch-only", "boot", "temporary-sealant")
#: Choices, scales and flags are listed whole, because the size guard tries every value that an unknown one may have.
CHOICES: Final[dict[str, tuple[str, ...]]] = {
    "tire.class": (
        *("passenger", "light-truck", "medium-truck", "bus", "motorcycle"),
        *("trailer", "temporary-spare", "agricultural", "off-road"),
    ),
    "tire.construction": ("radial", "bias"),
    "tire.body_ply": ("steel", "textile"),
    "vehicle.kind": (
        *("passenger-car", "multipurpose", "light-truck", "truck", "truck-tractor"),
        *("bus", "minibus", "trailer", "motorcycle", "tow-truck", "street-rod"),
    ),
    "vehicle.use": ("private", "commercial", "school-bus", "emergency"),
    "injury.kind": ("puncture", "cut"),
    "injury.leans": ("toward-shoulder", "toward-center", "along-circumference"),
    "injury.zone": ZONES,
    "injury.side": SIDES,
    "repair.zone": ZONES,
    "repair.side": SIDES,
    "repair.method": METHODS,
    "method": METHODS,
}
SCALES: Final[dict[str, tuple[str, ...]]] = {
    "tire.load_range": tuple("ABCDEFGHJLMN"),
    "tire.speed_symbol": (*"JKLMNPQRSTUHV", "ZR", "W", "Y", "(Y)"),
}
FLAGS: Final = (
    *("tire.sealant_layer", "tire.run_flat", "tire.foam_liner", "tire.retread", "tire.regrooved"),
    *("tire.cracks_reach_plies", "tire.same_vehicle", "vehicle.commercial_motor_vehicle", "axle.steer"),
    *("shop.full_service", "road.snow_restriction", "sale.for_retreading", "repairs.opposed", "repairs.overlap"),
)
QUANTITIES: Final = (
    *("tire.section_width", "tire.tread_width", "tire.belt_width", "tire.thickness", "tire.outside_diameter"),
    *("tire.tread_depth", "tire.crack_depth", "tire.age", "vehicle.gvwr"),
    *("injury.diameter", "injury.surface_diameter", "injury.length", "injury.angle", "injury.from_centerline"),
    *("injury.unit_length", "injury.unit_width", "repair.diameter", "repair.from_centerline"),
    *("repair.unit_length", "repair.unit_width", "repairs.spacing"),
)
#: What follows from other measures, and no case states.
DERIVED: Final = ("injury.reach", "repair.reach", "repairs.spacing_angle")
COUNTS: Final = ("vehicle.seats", "repairs.count")
#: Facts about two repairs, judged pair by pair where their places are known.
PAIRED: Final = ("repairs.spacing", "repairs.spacing_angle", "repairs.opposed", "repairs.overlap")
DOMAINS: Final[dict[str, tuple[Any, ...]]] = {**CHOICES, **SCALES, **dict.fromkeys(FLAGS, (True, False))}
FINDINGS: Final = (
    *("run-flat-damage", "liner-separation", "casing-separation", "tread-separation", "exposed-cord", "bead-damage"),
    *("weather-cracking", "impact-damage", "bulge", "liner-damage", "chemical-damage", "cord-corrosion"),
    *("zipper-rupture", "worn-to-indicators", "regroove", "unmarked-regroove", "identification-number-defaced"),
    "recalled",
    *("temporary-sealant", "earlier-improper-repair", "boot", "sidewall-plug", "embedded-object", "leak"),
    *("not-for-highway-marking", "liner-contaminated"),
)
GROUPS: Final = ("tire", "vehicle", "axle", "shop", "road", "sale", "repairs")
BOUNDS: Final = ("at-most", "less-than", "at-least", "more-than")

#: Every fact that may be asked for or limited, in the order in which a person is asked and limits are listed.
ORDER: Final = (
    *("findings", "tire.class", "tire.size", "tire.date_code", "tire.load_range", "tire.speed_symbol"),
    *("tire.construction", "tire.body_ply", "tire.sealant_layer", "tire.run_flat", "tire.foam_liner", "tire.retread"),
    *("tire.regrooved", "tire.same_vehicle", "tire.section_width", "tire.tread_width", "tire.belt_width"),
    *("tire.thickness", "tire.outside_diameter", "tire.tread_depth", "tire.tread_grid", "tire.crack_depth"),
    *("tire.cracks_reach_plies", "tire.age", "vehicle.kind", "vehicle.use", "vehicle.gvwr", "vehicle.seats"),
    *("vehicle.commercial_motor_vehicle", "axle.steer", "shop.full_service", "road.snow_restriction"),
    *("sale.for_retreading", "injuries", "injury.kind", "injury.diameter", "injury.surface_diameter"),
    *("injury.length", "injury.angle", "injury.leans", "injury.zone", "injury.from_centerline", "injury.side"),
    *("injury.clock", "injury.unit_length", "injury.unit_width", "injury.reach", "earlier_repairs"),
    *("repair.diameter", "repair.zone", "repair.from_centerline", "repair.side", "repair.reach", "repair.clock"),
    *("repair.unit_length", "repair.unit_width", "repair.method", "repairs.count", "repairs.spacing"),
    *("repairs.spacing_angle", "repairs.opposed", "repairs.overlap", "method"),
)
#: What a rule may require to be done, in the order in which a person is told.
STEPS: Final = (
    *("demount", "inspect-inside-and-outside", "measure-after-preparation", "fill-channel-and-seal-liner"),
    *("no-tube-instead", "confirm-maker-policy", "check-low-pressure-damage", "maker-standard"),
    "full-service-facility",
)
#: What may be done with a repaired tire, in the words of the notice that it may not.
RESALE: Final = {"used-tire-installation": "installed as a used tire", "used-tire-sale": "sold as a used tire"}

#: Millimeters, degrees, kilograms and days, exactly. A year is the Julian one, a month its twelfth.
UNITS: Final = {
    **dict.fromkeys(("mm",), Fraction(1)),
    **dict.fromkeys(("cm",), Fraction(10)),
    **dict.fromkeys(("m",), Fraction(1000)),
    **dict.fromkeys(("in", "inch", "inches", '"'), Fraction(254, 10)),
    **dict.fromkeys(("deg", "degree", "degrees", "°"), Fraction(1)),
    **dict.fromkeys(("kg",), Fraction(1)),
    **dict.fromkeys(("lb", "lbs"), Fraction(45359237, 100000000)),
    **dict.fromkeys(("day", "days"), Fraction(1)),
    **dict.fromkeys(("month", "months"), Fraction(36525, 1200)),
    **dict.fromkeys(("year", "years"), Fraction(36525, 100)),
}
