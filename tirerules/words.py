"""The words of the trade and of the library's stable names, as plain values.

Nothing is imported here, so that reading a word costs nothing; `tirerules.vocabulary` gives the same table its types.
"""

from __future__ import annotations

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence

    #: Name, kind, question, dimension, words (in order for a scale), whether it follows from other facts.
    FactRow = tuple[str, str, str, str | None, tuple[str, ...], bool]

__all__ = [
    "ACTIVITIES",
    "CURED_BY_REPAIR",
    "FACTS",
    "FINDINGS",
    "IMPLIES",
    "IMPROPER_METHODS",
    "JUDGES_REPAIRS",
    "METHODS",
    "NO_HIGHWAY",
    "PAIRED",
    "REGROOVES",
    "REPAIR_METHODS",
    "RESALE",
    "VERDICTS",
    "ZONE_EVIDENCE",
    "field_of",
    "settles",
]

#: What the rules can say of a case, from worst to best.
VERDICTS = ("outside-limits", "undetermined", "within-limits")
#: What can be done to or with a tire.
ACTIVITIES = (
    "repair",
    "used-tire-installation",
    "used-tire-sale",
    "tire-sale",
    "vehicle-sale",
    "road-use",
    "inspection",
)
#: An activity answers to its own rules and to those of the activities it implies.
IMPLIES = {
    "repair": ("road-use",),
    "used-tire-installation": ("road-use",),
    "used-tire-sale": ("tire-sale",),
    "inspection": ("road-use",),
}

#: Acts under which the trade holds the repairs that a tire carries to what it holds new ones to.
JUDGES_REPAIRS = ("repair", "used-tire-installation", "used-tire-sale")

#: Classes of tires that are made for no highway, and how each stands beside findings where no rule speaks of it.
NO_HIGHWAY = {"agricultural": "class made for farms", "off-road": "class made for no highway"}

#: What a repair may spoil: decided for the repaired tire so that a shop is warned.
RESALE = ("used-tire-installation", "used-tire-sale")

#: Methods that a repair is judged by when the case names none, in the order in which a shop prefers them.
REPAIR_METHODS = ("one-piece", "two-piece", "section")
#: Methods that exist and that rules forbid.
IMPROPER_METHODS = ("plug-only", "patch-only", "boot", "temporary-sealant")
METHODS = REPAIR_METHODS + IMPROPER_METHODS

FINDINGS = (
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
    "worn-to-indicators",
    "regroove",
    "unmarked-regroove",
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
#: Findings that the repair itself removes: they bar driving as the tire is, not repairing it.
CURED_BY_REPAIR = frozenset({"embedded-object", "leak"})

#: Findings that say that the tire was regrooved.
REGROOVES = frozenset({"regroove", "unmarked-regroove"})
#: How a zone may be known: as somebody named it, or only where its place was measured.
ZONE_EVIDENCE = ("as-named", "measured")

_YES_NO = ("yes", "no")
_SIDES = ("left", "right")
_ZONES = ("crown", "shoulder", "belt-edge", "sidewall", "bead")
#: Ply-strength letters in order, A for 2 plies to N for 24; the letters I and K are not used.
_LOAD_RANGES = ("A", "B", "C", "D", "E", "F", "G", "H", "J", "L", "M", "N")
#: Speed symbols by speed, not by alphabet: H (210 km/h) stands between U (200) and V (240); ZR says only "above 240"
#: and so stands directly above V; (Y) says "above 300" (ECE R30 table; ZR and (Y) from memory).
_SPEED_SYMBOLS = ("J", "K", "L", "M", "N", "P", "Q", "R", "S", "T", "U", "H", "V", "ZR", "W", "Y", "(Y)")


def field_of(fact: str) -> str:
    """Return the attribute that holds a fact in a case: its key, which must not be a word of Python's own."""
    key = fact.rpartition(".")[2]
    return "class_" if key == "class" else key


def settles(pack: str, codes: Sequence[str]) -> bool:
    """Whether the rules of law or trade in `pack` can settle what is open in all of `codes` together.

    Those of a place of the caller's own settle it in that place alone: XA to XZ are the codes that ISO 3166-1 leaves to
    users, and no other starts with an X.
    """
    return pack[:1] != "X" or all(pack in (code, code.partition("-")[0]) for code in codes)


def _fact(
    name: str,
    kind: str,
    question: str,
    dimension: str | None = None,
    values: tuple[str, ...] = (),
    derived: bool = False,
) -> FactRow:
    return name, kind, question, dimension, values, derived


def _quantity(name: str, dimension: str, question: str) -> FactRow:
    return _fact(name, "quantity", question, dimension)


def _length(name: str, question: str) -> FactRow:
    return _quantity(name, "length", question)


def _choice(name: str, values: tuple[str, ...], question: str) -> FactRow:
    return _fact(name, "choice", question, values=values)


def _scale(name: str, values: tuple[str, ...], question: str) -> FactRow:
    return _fact(name, "scale", question, values=values)


def _flag(name: str, question: str) -> FactRow:
    return _fact(name, "flag", question, values=_YES_NO)


#: Every fact, in the order in which a person would be asked: name, kind, question, dimension, words, whether derived.
FACTS = (
    _fact(
        "findings",
        "set",
        "What did the inspection, inside and outside, find? (An empty list says: inspected, nothing found.)",
        values=FINDINGS,
    ),
    _choice(
        "tire.class",
        (
            "passenger",
            "light-truck",
            "medium-truck",
            "bus",
            "motorcycle",
            "trailer",
            "temporary-spare",
            "agricultural",
            "off-road",
        ),
        "What class of tire is it?",
    ),
    _fact("tire.size", "text", "What size designation stands on the sidewall?"),
    _fact("tire.date_code", "text", "What are the last four digits of the identification number (week, year)?"),
    _scale("tire.load_range", _LOAD_RANGES, "What load range stands on the sidewall?"),
    _scale("tire.speed_symbol", _SPEED_SYMBOLS, "What speed symbol stands on the sidewall?"),
    _choice("tire.construction", ("radial", "bias"), "Is the tire of radial or bias construction?"),
    _choice("tire.body_ply", ("steel", "textile"), "Are the body plies steel or textile?"),
    _flag("tire.sealant_layer", "Does the tire have a factory sealant layer?"),
    _flag("tire.run_flat", "Is it a run-flat (self-supporting) tire?"),
    _flag("tire.foam_liner", "Does the tire have a noise-damping foam liner?"),
    _flag("tire.retread", "Is the tire a retread?"),
    _flag("tire.regrooved", "Has the tire been regrooved?"),
    _flag("tire.same_vehicle", "Is the tire put back on the vehicle it was taken from?"),
    _length("tire.section_width", "What is the nominal section width?"),
    _length("tire.tread_width", "How wide is the tread, edge to edge?"),
    _length("tire.belt_width", "How wide is the tread belt, edge to edge?"),
    _length("tire.thickness", "How thick is the tire at the injury?"),
    _length("tire.outside_diameter", "What is the tire's outside diameter?"),
    _length("tire.tread_depth", "What is the smallest tread depth on the tire?"),
    _fact(
        "tire.tread_grid",
        "grid",
        "What is the tread depth in every major groove, edge to edge, at three equally spaced places around the tire?",
        dimension="length",
    ),
    _length("tire.crack_depth", "How deep is the deepest crack in the sidewall?"),
    _flag("tire.cracks_reach_plies", "Does the cracking reach the body plies?"),
    _quantity("tire.age", "time", "How old is the tire?"),
    _choice(
        "vehicle.kind",
        (
            "passenger-car",
            "multipurpose",
            "light-truck",
            "truck",
            "truck-tractor",
            "bus",
            "minibus",
            "trailer",
            "motorcycle",
            "tow-truck",
            "street-rod",
        ),
        "What kind of vehicle is the tire for?",
    ),
    _choice("vehicle.use", ("private", "commercial", "school-bus", "emergency"), "What is the vehicle used for?"),
    _quantity("vehicle.gvwr", "mass", "What is the vehicle's gross vehicle weight rating?"),
    _fact("vehicle.seats", "count", "How many people is the vehicle built to carry, the driver included?"),
    _flag(
        "vehicle.commercial_motor_vehicle",
        "Is it a commercial motor vehicle: in commerce, and of 10,001 lb or more (alone or with what it tows), or "
        "built for more than 8 people for pay or more than 15 without, or placarded for hazardous material?",
    ),
    _flag("axle.steer", "Is the tire for a steering axle?"),
    _flag("shop.full_service", "Is the work done at a full-service (section) repair facility?"),
    _flag("road.snow_restriction", "Is a snow or traction restriction in force where the tire is driven?"),
    _flag("sale.for_retreading", "Is the tire sold as a casing for retreading only?"),
    _fact("injuries", "records", "Which injuries are to be repaired?"),
    _choice("injury.kind", ("puncture", "cut"), "Is the injury a puncture or a cut?"),
    _length("injury.diameter", "How large is the injury, across the channel, after preparation?"),
    _length("injury.surface_diameter", "How large does the injury appear along the surface, at its longest?"),
    _length("injury.length", "How long is the cut?"),
    _quantity("injury.angle", "angle", "How far is the injury's channel from straight through (0 deg)?"),
    _choice(
        "injury.leans",
        ("toward-shoulder", "toward-center", "along-circumference"),
        "Which way does the channel lean, from outside to inside?",
    ),
    _choice("injury.zone", _ZONES, "In which zone of the tire is the injury?"),
    _length("injury.from_centerline", "How far from the center line of the tread is the injury, seen from outside?"),
    _choice("injury.side", _SIDES, "On which side of the center line is the injury, seen from the front?"),
    _fact("injury.clock", "text", "Where around the tire is the injury (3:00, 90 deg or 415 mm from one mark)?"),
    _length("injury.unit_length", "How long is the repair unit, around the tire?"),
    _length("injury.unit_width", "How wide is the repair unit, across the tire?"),
    _fact(
        "injury.reach",
        "quantity",
        "How far from the center line does the injury reach, on either face?",
        dimension="length",
        derived=True,
    ),
    _fact(
        "earlier_repairs",
        "records",
        "Which repairs does the tire already carry? (An empty list says: none.)",
    ),
    _length("repair.diameter", "How large was the damage under the earlier repair?"),
    _choice("repair.zone", _ZONES, "In which zone of the tire is the earlier repair?"),
    _length("repair.from_centerline", "How far from the center line of the tread is the earlier repair?"),
    _choice("repair.side", _SIDES, "On which side of the center line is the earlier repair?"),
    _fact(
        "repair.reach",
        "quantity",
        "How far from the center line does the earlier repair reach?",
        dimension="length",
        derived=True,
    ),
    _fact("repair.clock", "text", "Where around the tire is the earlier repair (3:00, 90 deg or 415 mm)?"),
    _length("repair.unit_length", "How long is the earlier repair unit, around the tire?"),
    _length("repair.unit_width", "How wide is the earlier repair unit, across the tire?"),
    _choice("repair.method", METHODS, "By which method was the earlier repair made?"),
    _fact("repairs.count", "count", "How many repairs will the tire carry in all?"),
    _length("repairs.spacing", "How far apart along the circumference are the two nearest repairs?"),
    _fact(
        "repairs.spacing_angle",
        "quantity",
        "How far apart around the tire are the two nearest repairs?",
        dimension="angle",
        derived=True,
    ),
    _flag("repairs.opposed", "Do two injuries lie directly across from each other?"),
    _flag("repairs.overlap", "Would any repair unit overlap another?"),
    _choice("method", METHODS, "By which method is the injury to be repaired?"),
)

#: Facts about two repairs (or injuries) of one tire, judged pair by pair where their places are known.
PAIRED = frozenset({"repairs.spacing", "repairs.spacing_angle", "repairs.opposed", "repairs.overlap"})
