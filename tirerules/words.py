"""The words of cases and decisions as types, with a checker of each.

Written by `python -m tirerules.authoring.schemas`. Words read from a database or a form are texts; a checker tells
whether one is a word, and a type checker then knows it for one:

>>> text = "passenger"
>>> is_tire_class(text), is_tire_class("pasenger")
(True, False)
"""

from __future__ import annotations

from typing import Final, Literal, TypeAlias, TypeGuard, get_args

__all__ = [
    "ActivityWord",
    "Authority",
    "Evidence",
    "Finding",
    "InjuryKind",
    "InjuryLeans",
    "Method",
    "OutcomeWord",
    "Reading",
    "Side",
    "Step",
    "TireBodyPly",
    "TireClass",
    "TireConstruction",
    "TireLoadRange",
    "TireSpeedSymbol",
    "VehicleKind",
    "VehicleUse",
    "VerdictWord",
    "Zone",
    "ZoneEvidence",
    "is_activity",
    "is_authority",
    "is_evidence",
    "is_finding",
    "is_injury_kind",
    "is_injury_leans",
    "is_method",
    "is_outcome",
    "is_reading",
    "is_side",
    "is_step",
    "is_tire_body_ply",
    "is_tire_class",
    "is_tire_construction",
    "is_tire_load_range",
    "is_tire_speed_symbol",
    "is_vehicle_kind",
    "is_vehicle_use",
    "is_verdict",
    "is_zone",
    "is_zone_evidence",
]

ActivityWord: TypeAlias = Literal[
    "repair",
    "used-tire-installation",
    "used-tire-sale",
    "tire-sale",
    "vehicle-sale",
    "road-use",
    "inspection",
]
_ACTIVITY: Final = frozenset(get_args(ActivityWord))


def is_activity(text: str) -> TypeGuard[ActivityWord]:
    """Whether a text is one of the words of `ActivityWord`."""
    return text in _ACTIVITY


Authority: TypeAlias = Literal[
    "statute",
    "regulation",
    "inspection-manual",
    "standard",
    "industry-practice",
    "maker",
    "company",
]
_AUTHORITY: Final = frozenset(get_args(Authority))


def is_authority(text: str) -> TypeGuard[Authority]:
    """Whether a text is one of the words of `Authority`."""
    return text in _AUTHORITY


Evidence: TypeAlias = Literal[
    "text-read",
    "secondary",
    "memory",
]
_EVIDENCE: Final = frozenset(get_args(Evidence))


def is_evidence(text: str) -> TypeGuard[Evidence]:
    """Whether a text is one of the words of `Evidence`."""
    return text in _EVIDENCE


Finding: TypeAlias = Literal[
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
]
_FINDING: Final = frozenset(get_args(Finding))


def is_finding(text: str) -> TypeGuard[Finding]:
    """Whether a text is one of the words of `Finding`."""
    return text in _FINDING


InjuryKind: TypeAlias = Literal[
    "puncture",
    "cut",
]
_INJURY_KIND: Final = frozenset(get_args(InjuryKind))


def is_injury_kind(text: str) -> TypeGuard[InjuryKind]:
    """Whether a text is one of the words of `InjuryKind`."""
    return text in _INJURY_KIND


InjuryLeans: TypeAlias = Literal[
    "toward-shoulder",
    "toward-center",
    "along-circumference",
]
_INJURY_LEANS: Final = frozenset(get_args(InjuryLeans))


def is_injury_leans(text: str) -> TypeGuard[InjuryLeans]:
    """Whether a text is one of the words of `InjuryLeans`."""
    return text in _INJURY_LEANS


Method: TypeAlias = Literal[
    "one-piece",
    "two-piece",
    "section",
    "plug-only",
    "patch-only",
    "boot",
    "temporary-sealant",
]
_METHOD: Final = frozenset(get_args(Method))


def is_method(text: str) -> TypeGuard[Method]:
    """Whether a text is one of the words of `Method`."""
    return text in _METHOD


OutcomeWord: TypeAlias = Literal[
    "fails",
    "unknown",
    "passes",
]
_OUTCOME: Final = frozenset(get_args(OutcomeWord))


def is_outcome(text: str) -> TypeGuard[OutcomeWord]:
    """Whether a text is one of the words of `OutcomeWord`."""
    return text in _OUTCOME


Reading: TypeAlias = Literal[
    "strict",
    "as-enacted",
]
_READING: Final = frozenset(get_args(Reading))


def is_reading(text: str) -> TypeGuard[Reading]:
    """Whether a text is one of the words of `Reading`."""
    return text in _READING


Side: TypeAlias = Literal[
    "left",
    "right",
]
_SIDE: Final = frozenset(get_args(Side))


def is_side(text: str) -> TypeGuard[Side]:
    """Whether a text is one of the words of `Side`."""
    return text in _SIDE


Step: TypeAlias = Literal[
    "demount",
    "inspect-inside-and-outside",
    "measure-after-preparation",
    "fill-channel-and-seal-liner",
    "no-tube-instead",
    "confirm-maker-policy",
    "check-low-pressure-damage",
    "maker-standard",
    "full-service-facility",
]
_STEP: Final = frozenset(get_args(Step))


def is_step(text: str) -> TypeGuard[Step]:
    """Whether a text is one of the words of `Step`."""
    return text in _STEP


TireBodyPly: TypeAlias = Literal[
    "steel",
    "textile",
]
_TIRE_BODY_PLY: Final = frozenset(get_args(TireBodyPly))


def is_tire_body_ply(text: str) -> TypeGuard[TireBodyPly]:
    """Whether a text is one of the words of `TireBodyPly`."""
    return text in _TIRE_BODY_PLY


TireClass: TypeAlias = Literal[
    "passenger",
    "light-truck",
    "medium-truck",
    "bus",
    "motorcycle",
    "trailer",
    "temporary-spare",
    "agricultural",
    "off-road",
]
_TIRE_CLASS: Final = frozenset(get_args(TireClass))


def is_tire_class(text: str) -> TypeGuard[TireClass]:
    """Whether a text is one of the words of `TireClass`."""
    return text in _TIRE_CLASS


TireConstruction: TypeAlias = Literal[
    "radial",
    "bias",
]
_TIRE_CONSTRUCTION: Final = frozenset(get_args(TireConstruction))


def is_tire_construction(text: str) -> TypeGuard[TireConstruction]:
    """Whether a text is one of the words of `TireConstruction`."""
    return text in _TIRE_CONSTRUCTION


TireLoadRange: TypeAlias = Literal[
    "A",
    "B",
    "C",
    "D",
    "E",
    "F",
    "G",
    "H",
    "J",
    "L",
    "M",
    "N",
]
_TIRE_LOAD_RANGE: Final = frozenset(get_args(TireLoadRange))


def is_tire_load_range(text: str) -> TypeGuard[TireLoadRange]:
    """Whether a text is one of the words of `TireLoadRange`."""
    return text in _TIRE_LOAD_RANGE


TireSpeedSymbol: TypeAlias = Literal[
    "J",
    "K",
    "L",
    "M",
    "N",
    "P",
    "Q",
    "R",
    "S",
    "T",
    "U",
    "H",
    "V",
    "ZR",
    "W",
    "Y",
    "(Y)",
]
_TIRE_SPEED_SYMBOL: Final = frozenset(get_args(TireSpeedSymbol))


def is_tire_speed_symbol(text: str) -> TypeGuard[TireSpeedSymbol]:
    """Whether a text is one of the words of `TireSpeedSymbol`."""
    return text in _TIRE_SPEED_SYMBOL


VehicleKind: TypeAlias = Literal[
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
]
_VEHICLE_KIND: Final = frozenset(get_args(VehicleKind))


def is_vehicle_kind(text: str) -> TypeGuard[VehicleKind]:
    """Whether a text is one of the words of `VehicleKind`."""
    return text in _VEHICLE_KIND


VehicleUse: TypeAlias = Literal[
    "private",
    "commercial",
    "school-bus",
    "emergency",
]
_VEHICLE_USE: Final = frozenset(get_args(VehicleUse))


def is_vehicle_use(text: str) -> TypeGuard[VehicleUse]:
    """Whether a text is one of the words of `VehicleUse`."""
    return text in _VEHICLE_USE


VerdictWord: TypeAlias = Literal[
    "outside-limits",
    "undetermined",
    "within-limits",
]
_VERDICT: Final = frozenset(get_args(VerdictWord))


def is_verdict(text: str) -> TypeGuard[VerdictWord]:
    """Whether a text is one of the words of `VerdictWord`."""
    return text in _VERDICT


Zone: TypeAlias = Literal[
    "crown",
    "shoulder",
    "belt-edge",
    "sidewall",
    "bead",
]
_ZONE: Final = frozenset(get_args(Zone))


def is_zone(text: str) -> TypeGuard[Zone]:
    """Whether a text is one of the words of `Zone`."""
    return text in _ZONE


ZoneEvidence: TypeAlias = Literal[
    "as-named",
    "measured",
]
_ZONE_EVIDENCE: Final = frozenset(get_args(ZoneEvidence))


def is_zone_evidence(text: str) -> TypeGuard[ZoneEvidence]:
    """Whether a text is one of the words of `ZoneEvidence`."""
    return text in _ZONE_EVIDENCE
