"""The one table of facts that a rule may test or limit, and of the words that stand beside them.

The table maps the name of a fact to its row (`FACTS`), in the order in which a person would be asked. Schemas,
conditions, the case reader, the questions and the command line all read it; nothing else in the library lists facts.
INVARIANT: names are stable, so records stay readable: rows are added, never renamed. The module knows nothing of packs,
cases or deciding, and imports nothing that starts slowly.
"""

from __future__ import annotations

from types import MappingProxyType

from tirerules.values import Value, Words

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from typing import Final

__all__ = [
    "ACTIVITIES",
    "ASKED_IN",
    "AUTHORITIES",
    "CURED_BY_REPAIR",
    "EVIDENCE",
    "FACTS",
    "FINDINGS",
    "GROOVES",
    "IMPLIES",
    "IMPROPER_METHODS",
    "JUDGES_REPAIRS",
    "LAW",
    "METHODS",
    "NO_HIGHWAY",
    "PAIRED",
    "PLACES",
    "REGROOVES",
    "REPAIR_METHODS",
    "RESALE",
    "STEPS",
    "VERDICTS",
    "ZONE_EVIDENCE",
    "Activity",
    "Dimension",
    "Fact",
    "Kind",
    "Outcome",
    "Verdict",
    "answering",
    "facts_of",
    "field_of",
    "settles",
]


class Kind(Words):
    """What values a fact takes."""

    QUANTITY = "quantity"  #: an exact number with a unit, possibly with a measurement width
    COUNT = "count"  #: a whole number
    FLAG = "flag"  #: yes or no
    CHOICE = "choice"  #: one of a list
    SCALE = "scale"  #: one of a list that has an order, lowest first
    SET = "set"  #: any number of a list
    TEXT = "text"  #: carried with the case, never tested by a rule
    GRID = "grid"  #: readings by place around the tire and groove across it; laws count them in different ways
    RECORDS = "records"  #: a list of injuries or repairs; named here so that its absence can be a question


class Dimension(Words):
    """What a quantity measures, which fixes its exact base unit: mm, degree, kg, day."""

    LENGTH = "length"
    ANGLE = "angle"
    MASS = "mass"
    TIME = "time"


class Fact(Value):
    """A row of the table: a named thing that a rule may test or limit, with the question that asks a person for it."""

    name: str
    kind: Kind
    question: str
    dimension: Dimension | None = None
    values: tuple[str, ...] = ()
    derived: bool = False  #: follows from other facts; a case never states it, a rule may limit it
    follows_from: tuple[str, ...] = ()  #: what it is worked out from where nobody states it

    @property
    def group(self) -> str:
        """The part before the point: `tire` of `tire.class`; empty for a fact that stands alone."""
        return self.name.rpartition(".")[0]

    @property
    def key(self) -> str:
        """The part after the point, which is the key in a case."""
        return self.name.rpartition(".")[2]

    @property
    def limitable(self) -> bool:
        """Whether a rule may set a ceiling or a floor on it."""
        return self.kind in (Kind.QUANTITY, Kind.COUNT)

    @property
    def testable(self) -> bool:
        """Whether a condition may test it."""
        return self.kind not in (Kind.TEXT, Kind.RECORDS, Kind.GRID) and not self.derived

    @property
    def choosable(self) -> bool:
        """Whether its values can be permitted or prohibited one by one."""
        return self.kind in (Kind.CHOICE, Kind.SCALE, Kind.FLAG)

    @property
    def ordered(self) -> bool:
        """Whether a condition may ask for more or less of it."""
        return self.limitable or self.kind is Kind.SCALE


class Activity(Words):
    """What is being done to or with the tire, because laws regulate acts."""

    REPAIR = "repair"
    USED_TIRE_INSTALLATION = "used-tire-installation"
    USED_TIRE_SALE = "used-tire-sale"
    TIRE_SALE = "tire-sale"
    VEHICLE_SALE = "vehicle-sale"
    ROAD_USE = "road-use"
    INSPECTION = "inspection"


class Verdict(Words):
    """What the rules say of a case, from worst to best."""

    OUTSIDE = "outside-limits"
    UNDETERMINED = "undetermined"
    WITHIN = "within-limits"


class Outcome(Words):
    """What one rule says of a case."""

    FAILS = "fails"
    UNKNOWN = "unknown"
    PASSES = "passes"

    @classmethod
    def of(cls, outcome: bool | None) -> Outcome:
        """Return the word for a three-valued outcome."""
        return cls.UNKNOWN if outcome is None else cls.PASSES if outcome else cls.FAILS


ACTIVITIES: Final = tuple(Activity)
VERDICTS: Final = tuple(Verdict)
#: An activity answers to its own rules and to those of the activities it implies.
IMPLIES: Final[Mapping[str, tuple[str, ...]]] = {
    "repair": ("road-use",),
    "used-tire-installation": ("road-use",),
    "used-tire-sale": ("tire-sale",),
    "inspection": ("road-use",),
}
#: Acts under which the trade holds the repairs that a tire carries to what it holds new ones to.
JUDGES_REPAIRS: Final = ("repair", "used-tire-installation", "used-tire-sale")
#: Classes of tires that are made for no highway, and how each stands beside findings where no rule speaks of it.
NO_HIGHWAY: Final = {"agricultural": "class made for farms", "off-road": "class made for no highway"}
#: What a repair may spoil: decided for the repaired tire so that a shop is warned.
RESALE: Final = ("used-tire-installation", "used-tire-sale")
#: Methods that a repair is judged by when the case names none, in the order in which a shop prefers them.
REPAIR_METHODS: Final = ("one-piece", "two-piece", "section")
#: Methods that exist and that rules forbid.
IMPROPER_METHODS: Final = ("plug-only", "patch-only", "boot", "temporary-sealant")
METHODS: Final = REPAIR_METHODS + IMPROPER_METHODS

FINDINGS: Final = (
    *("run-flat-damage", "liner-separation", "casing-separation", "tread-separation", "exposed-cord", "bead-damage"),
    *("weather-cracking", "impact-damage", "bulge", "liner-damage", "chemical-damage", "cord-corrosion"),
    *("zipper-rupture", "worn-to-indicators", "regroove", "unmarked-regroove", "identification-number-defaced"),
    *("recalled", "temporary-sealant", "earlier-improper-repair", "boot", "sidewall-plug", "embedded-object", "leak"),
    *("not-for-highway-marking", "liner-contaminated"),
)
#: Findings that the repair itself removes: they bar driving as the tire is, not repairing it.
CURED_BY_REPAIR: Final = frozenset({"embedded-object", "leak"})
#: Findings that say that the tire was regrooved.
REGROOVES: Final = frozenset({"regroove", "unmarked-regroove"})
#: How a zone may be known: as somebody named it, or only where its place was measured.
ZONE_EVIDENCE: Final = ("as-named", "measured")
_SIDES = ("left", "right")
_ZONES = ("crown", "shoulder", "belt-edge", "sidewall", "bead")
#: Ply-strength letters in order, A for 2 plies to N for 24; the letters I and K are not used.
_LOAD_RANGES = ("A", "B", "C", "D", "E", "F", "G", "H", "J", "L", "M", "N")
#: Speed symbols by speed, not by alphabet: H (210 km/h) stands between U (200) and V (240); ZR says only "above 240"
#: and so stands directly above V; (Y) says "above 300" (ECE R30 table; ZR and (Y) from memory).
_SPEED_SYMBOLS = ("J", "K", "L", "M", "N", "P", "Q", "R", "S", "T", "U", "H", "V", "ZR", "W", "Y", "(Y)")
#: What tells how far apart two repairs are, around the tire and across it.
_AROUND = ("injury.clock", "repair.clock", "tire.outside_diameter")
_ACROSS = ("injury.from_centerline", "repair.from_centerline", "injury.side", "repair.side")
AUTHORITIES: Final = ("statute", "regulation", "inspection-manual", "standard", "industry-practice", "maker", "company")
#: Authorities whose rules nobody but the lawmaker may loosen.
LAW: Final = frozenset({"statute", "regulation", "inspection-manual"})
#: How a value was checked, best first.
EVIDENCE: Final = ("text-read", "secondary", "memory")
#: What a rule may require to be done, in the order in which it is told; the sentences are in `tirerules.templates`.
STEPS: Final = (
    *("demount", "inspect-inside-and-outside", "measure-after-preparation", "fill-channel-and-seal-liner"),
    *("no-tube-instead", "confirm-maker-policy", "check-low-pressure-damage", "maker-standard"),
    "full-service-facility",
)
#: Which grooves, and at how many places around the tire, must all be too shallow before a law calls the tire worn.
GROOVES: Final = ("any-one", "any-two", "two-adjacent", "center", "every")
PLACES: Final = (1, 2, 3)


def _quantity(name: str, dimension: Dimension, question: str, *follows_from: str, derived: bool = False) -> Fact:
    return Fact(name, Kind.QUANTITY, question, dimension, (), derived, follows_from)


def _length(name: str, question: str, *follows_from: str, derived: bool = False) -> Fact:
    return _quantity(name, Dimension.LENGTH, question, *follows_from, derived=derived)


def _word(name: str, values: tuple[str, ...], question: str, *follows_from: str, kind: Kind = Kind.CHOICE) -> Fact:
    return Fact(name, kind, question, None, values, False, follows_from)


def _flag(name: str, question: str, *follows_from: str) -> Fact:
    return _word(name, ("yes", "no"), question, *follows_from, kind=Kind.FLAG)


_TABLE: Final = (
    Fact(
        "findings",
        Kind.SET,
        "What did the inspection, inside and outside, find? (An empty list says: inspected, nothing found.)",
        values=FINDINGS,
    ),
    _word(
        "tire.class",
        (
            *("passenger", "light-truck", "medium-truck", "bus", "motorcycle", "trailer", "temporary-spare"),
            *("agricultural", "off-road"),
        ),
        "What class of tire is it?",
    ),
    Fact("tire.size", Kind.TEXT, "What size designation stands on the sidewall?"),
    Fact("tire.date_code", Kind.TEXT, "What are the last four digits of the identification number (week, year)?"),
    _word("tire.load_range", _LOAD_RANGES, "What load range stands on the sidewall?", "tire.size", kind=Kind.SCALE),
    _word(
        "tire.speed_symbol", _SPEED_SYMBOLS, "What speed symbol stands on the sidewall?", "tire.size", kind=Kind.SCALE
    ),
    _word("tire.construction", ("radial", "bias"), "Is the tire of radial or bias construction?", "tire.size"),
    _word("tire.body_ply", ("steel", "textile"), "Are the body plies steel or textile?"),
    _flag("tire.sealant_layer", "Does the tire have a factory sealant layer?"),
    _flag("tire.run_flat", "Is it a run-flat (self-supporting) tire?"),
    _flag("tire.foam_liner", "Does the tire have a noise-damping foam liner?"),
    _flag("tire.retread", "Is the tire a retread?"),
    _flag("tire.regrooved", "Has the tire been regrooved?", "findings", "tire.class"),
    _flag("tire.same_vehicle", "Is the tire put back on the vehicle it was taken from?"),
    _length("tire.section_width", "What is the nominal section width?", "tire.size"),
    _length("tire.tread_width", "How wide is the tread, edge to edge?"),
    _length("tire.belt_width", "How wide is the tread belt, edge to edge?"),
    _length("tire.thickness", "How thick is the tire at the injury?"),
    _length("tire.outside_diameter", "What is the tire's outside diameter?", "tire.size"),
    _length("tire.tread_depth", "What is the smallest tread depth on the tire?", "tire.tread_grid"),
    Fact(
        "tire.tread_grid",
        Kind.GRID,
        "What is the tread depth in every major groove, edge to edge, at three equally spaced places around the tire?",
        dimension=Dimension.LENGTH,
    ),
    _length("tire.crack_depth", "How deep is the deepest crack in the sidewall?"),
    _flag("tire.cracks_reach_plies", "Does the cracking reach the body plies?"),
    _quantity("tire.age", Dimension.TIME, "How old is the tire?", "tire.date_code"),
    _word(
        "vehicle.kind",
        (
            *("passenger-car", "multipurpose", "light-truck", "truck", "truck-tractor", "bus", "minibus", "trailer"),
            *("motorcycle", "tow-truck", "street-rod"),
        ),
        "What kind of vehicle is the tire for?",
    ),
    _word("vehicle.use", ("private", "commercial", "school-bus", "emergency"), "What is the vehicle used for?"),
    _quantity("vehicle.gvwr", Dimension.MASS, "What is the vehicle's gross vehicle weight rating?"),
    Fact("vehicle.seats", Kind.COUNT, "How many people is the vehicle built to carry, the driver included?"),
    _flag(
        "vehicle.commercial_motor_vehicle",
        "Is it a commercial motor vehicle: in commerce, and of 10,001 lb or more (alone or with what it tows), or "
        "built for more than 8 people for pay or more than 15 without, or placarded for hazardous material?",
        "vehicle.use",
        "vehicle.gvwr",
        "vehicle.kind",
        "vehicle.seats",
    ),
    _flag("axle.steer", "Is the tire for a steering axle?"),
    _flag("shop.full_service", "Is the work done at a full-service (section) repair facility?"),
    _flag("road.snow_restriction", "Is a snow or traction restriction in force where the tire is driven?"),
    _flag("sale.for_retreading", "Is the tire sold as a casing for retreading only?"),
    Fact("injuries", Kind.RECORDS, "Which injuries are to be repaired?"),
    _word("injury.kind", ("puncture", "cut"), "Is the injury a puncture or a cut?"),
    _length(
        "injury.diameter",
        "How large is the injury, across the channel, after preparation?",
        "injury.surface_diameter",
        "injury.angle",
    ),
    _length("injury.surface_diameter", "How large does the injury appear along the surface, at its longest?"),
    _length("injury.length", "How long is the cut?"),
    _quantity("injury.angle", Dimension.ANGLE, "How far is the injury's channel from straight through (0 deg)?"),
    _word(
        "injury.leans",
        ("toward-shoulder", "toward-center", "along-circumference"),
        "Which way does the channel lean, from outside to inside?",
    ),
    _word("injury.zone", _ZONES, "In which zone of the tire is the injury?"),
    _length("injury.from_centerline", "How far from the center line of the tread is the injury, seen from outside?"),
    _word("injury.side", _SIDES, "On which side of the center line is the injury, seen from the front?"),
    Fact("injury.clock", Kind.TEXT, "Where around the tire is the injury (3:00, 90 deg or 415 mm from one mark)?"),
    _length("injury.unit_length", "How long is the repair unit, around the tire?"),
    _length("injury.unit_width", "How wide is the repair unit, across the tire?"),
    _length(
        "injury.reach",
        "How far from the center line does the injury reach, on either face?",
        "injury.from_centerline",
        "injury.diameter",
        "injury.angle",
        "injury.leans",
        "tire.thickness",
        derived=True,
    ),
    Fact("earlier_repairs", Kind.RECORDS, "Which repairs does the tire already carry? (An empty list says: none.)"),
    _length("repair.diameter", "How large was the damage under the earlier repair?"),
    _word("repair.zone", _ZONES, "In which zone of the tire is the earlier repair?"),
    _length("repair.from_centerline", "How far from the center line of the tread is the earlier repair?"),
    _word("repair.side", _SIDES, "On which side of the center line is the earlier repair?"),
    _length(
        "repair.reach",
        "How far from the center line does the earlier repair reach?",
        "repair.from_centerline",
        "repair.diameter",
        derived=True,
    ),
    Fact("repair.clock", Kind.TEXT, "Where around the tire is the earlier repair (3:00, 90 deg or 415 mm)?"),
    _length("repair.unit_length", "How long is the earlier repair unit, around the tire?"),
    _length("repair.unit_width", "How wide is the earlier repair unit, across the tire?"),
    _word("repair.method", METHODS, "By which method was the earlier repair made?"),
    Fact(
        "repairs.count",
        Kind.COUNT,
        "How many repairs will the tire carry in all?",
        follows_from=("injuries", "earlier_repairs"),
    ),
    _length("repairs.spacing", "How far apart along the circumference are the two nearest repairs?", *_AROUND),
    _quantity(
        "repairs.spacing_angle",
        Dimension.ANGLE,
        "How far apart around the tire are the two nearest repairs?",
        *_AROUND,
        derived=True,
    ),
    _flag(
        "repairs.opposed",
        "Do two injuries lie directly across from each other?",
        *_AROUND,
        *("injury.zone", "repair.zone", "injury.side", "repair.side"),
    ),
    _flag(
        "repairs.overlap",
        "Would any repair unit overlap another?",
        *_AROUND,
        *_ACROSS,
        *("injury.unit_length", "repair.unit_length", "injury.unit_width", "repair.unit_width"),
    ),
    _word("method", METHODS, "By which method is the injury to be repaired?"),
)

#: Every fact by name, in the order in which a person would be asked.
FACTS: Final[Mapping[str, Fact]] = MappingProxyType({fact.name: fact for fact in _TABLE})

#: In which units a person is asked for a quantity, the usual one of a shop first.
ASKED_IN: Final[Mapping[str, tuple[str, ...]]] = {
    Dimension.LENGTH: ("mm", "in"),
    Dimension.ANGLE: ("deg",),
    Dimension.MASS: ("kg", "lb"),
    Dimension.TIME: ("years",),
}
#: Facts about two repairs (or injuries) of one tire, judged pair by pair where their places are known.
PAIRED: Final = frozenset({"repairs.spacing", "repairs.spacing_angle", "repairs.opposed", "repairs.overlap"})


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


def answering(activity: Activity) -> tuple[Activity, ...]:
    """Return the activities whose rules a case answers to: its own first, then the implied ones."""
    return (activity, *map(Activity, IMPLIES.get(activity, ())))


def facts_of(group: str) -> tuple[Fact, ...]:
    """Return the facts of one group (`tire`, `injury`, ...) that a case may state, in table order."""
    return tuple(fact for fact in FACTS.values() if fact.group == group and not fact.derived)
