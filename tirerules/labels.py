"""What people call the words of the vocabulary: labels for a form, beside `tirerules.vocabulary`.

`LABELS` maps a word to its label in plain English, `OF_FACT` a fact and a word where the same word means something else
there. Words that stand on the sidewall (load range, speed symbol) are their own labels. Facts have names for headings
(`NAMES`). A test demands a label of every word and a name of every fact. A start imports none of this.
"""

from __future__ import annotations

from types import MappingProxyType

from tirerules.vocabulary import FACTS, Kind

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Final

__all__ = ["LABELS", "NAMES", "OF_FACT", "label", "label_of", "name_of"]

#: Word -> label, wherever it stands.
LABELS: Final[Mapping[str, str]] = MappingProxyType(
    {
        # yes and no
        "yes": "Yes",
        "no": "No",
        # activities
        "repair": "Repair",
        "used-tire-installation": "Installation of a used tire",
        "used-tire-sale": "Sale of a used tire",
        "tire-sale": "Sale of a tire",
        "vehicle-sale": "Sale of a vehicle",
        "road-use": "Use on the road",
        "inspection": "Vehicle inspection",
        # verdicts, outcomes, readings, how a zone is known
        "within-limits": "Within the limits",
        "undetermined": "Cannot be told yet",
        "outside-limits": "Outside the limits",
        "passes": "Passes",
        "unknown": "Unknown",
        "fails": "Fails",
        "strict": "The stricter of two printed figures",
        "as-enacted": "The figure as enacted",
        "as-named": "As somebody named it",
        "measured": "Measured",
        # classes of tires, kinds and uses of vehicles
        "passenger": "Passenger tire",
        "light-truck": "Light-truck tire",
        "medium-truck": "Medium-truck tire",
        "bus": "Bus tire",
        "motorcycle": "Motorcycle tire",
        "trailer": "Trailer tire",
        "temporary-spare": "Temporary spare",
        "agricultural": "Agricultural tire",
        "off-road": "Off-road tire",
        "passenger-car": "Passenger car",
        "multipurpose": "Multipurpose passenger vehicle",
        "truck": "Truck",
        "truck-tractor": "Truck tractor",
        "minibus": "Minibus",
        "tow-truck": "Tow truck",
        "street-rod": "Street rod",
        "private": "Private",
        "commercial": "Commercial",
        "school-bus": "School bus",
        "emergency": "Emergency",
        # how a tire is made
        "radial": "Radial",
        "bias": "Bias",
        "steel": "Steel",
        "textile": "Textile",
        # injuries and where they lie
        "puncture": "Puncture",
        "cut": "Cut",
        "crown": "Crown",
        "shoulder": "Shoulder",
        "belt-edge": "Belt edge",
        "sidewall": "Sidewall",
        "bead": "Bead",
        "left": "Left",
        "right": "Right",
        "toward-shoulder": "Toward the shoulder",
        "toward-center": "Toward the center",
        "along-circumference": "Along the circumference",
        # methods
        "one-piece": "One-piece unit (stem and patch in one)",
        "two-piece": "Two-piece unit (stem, then patch)",
        "section": "Section repair",
        "plug-only": "Plug alone",
        "patch-only": "Patch alone",
        "boot": "Boot",
        "temporary-sealant": "Temporary sealant",
        # findings
        "run-flat-damage": "Damage from running flat",
        "liner-separation": "Separation of the inner liner",
        "casing-separation": "Separation in the casing",
        "tread-separation": "Separation of the tread",
        "exposed-cord": "Exposed cord",
        "bead-damage": "Damaged bead",
        "weather-cracking": "Weather cracking",
        "impact-damage": "Impact damage",
        "bulge": "Bulge",
        "liner-damage": "Damaged inner liner",
        "chemical-damage": "Damage from chemicals",
        "cord-corrosion": "Corroded cord",
        "zipper-rupture": "Zipper rupture of the sidewall",
        "worn-to-indicators": "Worn to the wear indicators",
        "regroove": "Regrooved",
        "unmarked-regroove": "Regrooved, not marked regroovable",
        "identification-number-defaced": "Identification number defaced or missing",
        "recalled": "Recalled",
        "earlier-improper-repair": "Improper earlier repair",
        "sidewall-plug": "Plug in the sidewall",
        "embedded-object": "Embedded object",
        "leak": "Leak",
        "not-for-highway-marking": "Marked as not for highway use",
        "liner-contaminated": "Contaminated inner liner",
        # what must be done
        "demount": "Demount the tire",
        "inspect-inside-and-outside": "Inspect inside and outside",
        "measure-after-preparation": "Measure after preparation",
        "fill-channel-and-seal-liner": "Fill the channel and seal the liner",
        "no-tube-instead": "No tube in place of a repair",
        "confirm-maker-policy": "Confirm the tire maker's policy",
        "check-low-pressure-damage": "Check for low-pressure damage",
        "maker-standard": "Repair to the maker's standards",
        "full-service-facility": "Full-service repair facility",
        # sources
        "statute": "Statute",
        "regulation": "Regulation",
        "inspection-manual": "Inspection manual",
        "standard": "Standard",
        "industry-practice": "Trade practice",
        "maker": "Maker",
        "company": "Company",
        "text-read": "Text read",
        "secondary": "Known from a description",
        "memory": "Known from memory",
    }
)
#: Fact -> the labels of words that mean something else there.
OF_FACT: Final[Mapping[str, Mapping[str, str]]] = MappingProxyType(
    {
        "vehicle.kind": MappingProxyType(
            {"light-truck": "Light truck", "bus": "Bus", "motorcycle": "Motorcycle", "trailer": "Trailer"}
        ),
    }
)
#: Fact -> what a heading calls it.
NAMES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "findings": "Findings of the inspection",
        "tire.class": "Class of tire",
        "tire.size": "Size designation",
        "tire.date_code": "Date code",
        "tire.load_range": "Load range",
        "tire.speed_symbol": "Speed symbol",
        "tire.construction": "Construction",
        "tire.body_ply": "Body plies",
        "tire.sealant_layer": "Factory sealant layer",
        "tire.run_flat": "Run-flat tire",
        "tire.foam_liner": "Foam liner",
        "tire.retread": "Retread",
        "tire.regrooved": "Regrooved",
        "tire.same_vehicle": "Back on the same vehicle",
        "tire.section_width": "Section width",
        "tire.tread_width": "Tread width",
        "tire.belt_width": "Belt width",
        "tire.thickness": "Thickness at the injury",
        "tire.outside_diameter": "Outside diameter",
        "tire.tread_depth": "Smallest tread depth",
        "tire.tread_grid": "Tread depths by place and groove",
        "tire.crack_depth": "Depth of the deepest crack",
        "tire.cracks_reach_plies": "Cracks reach the body plies",
        "tire.age": "Age of the tire",
        "vehicle.kind": "Kind of vehicle",
        "vehicle.use": "Use of the vehicle",
        "vehicle.gvwr": "Gross vehicle weight rating",
        "vehicle.seats": "Seats, the driver's included",
        "vehicle.commercial_motor_vehicle": "Commercial motor vehicle",
        "axle.steer": "Steering axle",
        "shop.full_service": "Full-service repair facility",
        "road.snow_restriction": "Snow or traction restriction",
        "sale.for_retreading": "Sold as a casing for retreading",
        "injuries": "Injuries",
        "injury.kind": "Kind of injury",
        "injury.diameter": "Size across the channel",
        "injury.surface_diameter": "Size along the surface",
        "injury.length": "Length of the cut",
        "injury.angle": "Angle from straight through",
        "injury.leans": "Lean of the channel",
        "injury.zone": "Zone",
        "injury.from_centerline": "Distance from the center line",
        "injury.side": "Side of the center line",
        "injury.clock": "Place around the tire",
        "injury.unit_length": "Length of the repair unit",
        "injury.unit_width": "Width of the repair unit",
        "injury.reach": "Reach from the center line",
        "earlier_repairs": "Earlier repairs",
        "repair.diameter": "Size under the earlier repair",
        "repair.zone": "Zone of the earlier repair",
        "repair.from_centerline": "Distance of the earlier repair from the center line",
        "repair.side": "Side of the earlier repair",
        "repair.reach": "Reach of the earlier repair",
        "repair.clock": "Place of the earlier repair around the tire",
        "repair.unit_length": "Length of the earlier repair's unit",
        "repair.unit_width": "Width of the earlier repair's unit",
        "repair.method": "Method of the earlier repair",
        "repairs.count": "Number of repairs",
        "repairs.spacing": "Distance between repairs",
        "repairs.spacing_angle": "Angle between repairs",
        "repairs.opposed": "Injuries directly across from each other",
        "repairs.overlap": "Overlapping repair units",
        "method": "Method of repair",
    }
)


def label(fact: str, word: str) -> str:
    """Return what a person calls `word` where it answers `fact`. Raises KeyError for a word that has no label."""
    if FACTS[fact].kind is Kind.SCALE:
        return word  # as it stands on the sidewall
    return OF_FACT.get(fact, LABELS).get(word) or LABELS[word]


def label_of(word: str) -> str:
    """Return what a person calls a word that answers no fact. Raises KeyError for a word that has no label."""
    return LABELS[word]


def name_of(fact: str) -> str:
    """Return what a heading calls a fact. Raises KeyError for a fact that is none."""
    return NAMES[fact]
