"""The JSON documents as typed dictionaries: cases, decisions, brief records.

Written by `python -m tirerules.authoring.schemas` from the schemas, whose parts they are named after. Programs may
rely on every key that is not `NotRequired`; a later minor version may add keys and words (see the README).
"""

from __future__ import annotations

from typing import Literal, NotRequired, TypedDict

from tirerules.words import (
    ActivityWord,
    Finding,
    InjuryKind,
    InjuryLeans,
    Method,
    OutcomeWord,
    Reading,
    Side,
    TireBodyPly,
    TireClass,
    TireConstruction,
    TireLoadRange,
    TireSpeedSymbol,
    VehicleKind,
    VehicleUse,
    VerdictWord,
    Zone,
    ZoneEvidence,
)

__all__ = [
    "Asked",
    "Axle",
    "Because",
    "BriefRecord",
    "Case",
    "Change",
    "Choice",
    "Decision",
    "EarlierRepair",
    "FactLimits",
    "Geometry",
    "Injury",
    "Margin",
    "MethodVerdict",
    "Notice",
    "PackLock",
    "Question",
    "Reason",
    "Remedies",
    "RepairUnit",
    "Repairs",
    "Requirement",
    "Road",
    "Rung",
    "Sale",
    "Shop",
    "Tire",
    "Vehicle",
]


class Axle(TypedDict):
    """The part `Axle` of a document."""

    steer: NotRequired[bool | None]


class EarlierRepair(TypedDict):
    """The part `EarlierRepair` of a document."""

    diameter: NotRequired[str | None]
    zone: NotRequired[Zone | None]
    from_centerline: NotRequired[str | None]
    side: NotRequired[Side | None]
    clock: NotRequired[str | None]
    unit_length: NotRequired[str | None]
    unit_width: NotRequired[str | None]
    method: NotRequired[Method | None]


class Injury(TypedDict):
    """The part `Injury` of a document."""

    kind: NotRequired[InjuryKind | None]
    diameter: NotRequired[str | None]
    surface_diameter: NotRequired[str | None]
    length: NotRequired[str | None]
    angle: NotRequired[str | None]
    leans: NotRequired[InjuryLeans | None]
    zone: NotRequired[Zone | None]
    from_centerline: NotRequired[str | None]
    side: NotRequired[Side | None]
    clock: NotRequired[str | None]
    unit_length: NotRequired[str | None]
    unit_width: NotRequired[str | None]


class RepairUnit(TypedDict):
    """The part `RepairUnit` of a document."""

    method: Method
    rated_angle: str
    document: NotRequired[str | None]


class Repairs(TypedDict):
    """The part `Repairs` of a document."""

    count: NotRequired[int | None]
    spacing: NotRequired[str | None]
    opposed: NotRequired[bool | None]
    overlap: NotRequired[bool | None]


class Road(TypedDict):
    """The part `Road` of a document."""

    snow_restriction: NotRequired[bool | None]


class Sale(TypedDict):
    """The part `Sale` of a document."""

    for_retreading: NotRequired[bool | None]


class Shop(TypedDict):
    """The part `Shop` of a document."""

    full_service: NotRequired[bool | None]


Tire = TypedDict(
    "Tire",
    {
        "class": "NotRequired[TireClass | None]",
        "size": "NotRequired[str | None]",
        "date_code": "NotRequired[str | None]",
        "load_range": "NotRequired[TireLoadRange | None]",
        "speed_symbol": "NotRequired[TireSpeedSymbol | None]",
        "construction": "NotRequired[TireConstruction | None]",
        "body_ply": "NotRequired[TireBodyPly | None]",
        "sealant_layer": "NotRequired[bool | None]",
        "run_flat": "NotRequired[bool | None]",
        "foam_liner": "NotRequired[bool | None]",
        "retread": "NotRequired[bool | None]",
        "regrooved": "NotRequired[bool | None]",
        "same_vehicle": "NotRequired[bool | None]",
        "section_width": "NotRequired[str | None]",
        "tread_width": "NotRequired[str | None]",
        "belt_width": "NotRequired[str | None]",
        "thickness": "NotRequired[str | None]",
        "outside_diameter": "NotRequired[str | None]",
        "tread_depth": "NotRequired[str | None]",
        "tread_grid": "NotRequired[list[list[str]] | None]",
        "crack_depth": "NotRequired[str | None]",
        "cracks_reach_plies": "NotRequired[bool | None]",
        "age": "NotRequired[str | None]",
    },
)


class Vehicle(TypedDict):
    """The part `Vehicle` of a document."""

    kind: NotRequired[VehicleKind | None]
    use: NotRequired[VehicleUse | None]
    gvwr: NotRequired[str | None]
    seats: NotRequired[int | None]
    commercial_motor_vehicle: NotRequired[bool | None]


class Case(TypedDict):
    """One question: this tire, this injury, this place, this day, this activity."""

    jurisdictions: list[str]
    activity: ActivityWord
    on: NotRequired[str | None]
    reading: NotRequired[Reading]
    zones: NotRequired[ZoneEvidence]
    tire: NotRequired[Tire | None]
    vehicle: NotRequired[Vehicle | None]
    axle: NotRequired[Axle | None]
    shop: NotRequired[Shop | None]
    road: NotRequired[Road | None]
    sale: NotRequired[Sale | None]
    injuries: NotRequired[list[Injury] | None]
    earlier_repairs: NotRequired[list[EarlierRepair] | None]
    repairs: NotRequired[Repairs | None]
    findings: NotRequired[list[Finding] | None]
    method: NotRequired[Method | None]
    repair_unit: NotRequired[RepairUnit | None]


class Change(TypedDict):
    """The part `Change` of a document."""

    fact: str
    to: str
    document: NotRequired[bool]


class Choice(TypedDict):
    """The part `Choice` of a document."""

    word: str
    label: str


class FactLimits(TypedDict):
    """The part `FactLimits` of a document."""

    at_most: NotRequired[str | int]
    less_than: NotRequired[str | int]
    at_least: NotRequired[str | int]
    more_than: NotRequired[str | int]
    permitted: NotRequired[list[str]]
    prohibited: NotRequired[list[str]]
    binding: list[str]
    ladder: list[Rung]


class Geometry(TypedDict):
    """The part `Geometry` of a document."""

    injury: int
    offset: str
    known: bool
    reach_outside: NotRequired[str]
    reach_inside: NotRequired[str]
    band: NotRequired[str]
    rule: NotRequired[str]
    margin: NotRequired[str]


class Margin(TypedDict):
    """The part `Margin` of a document."""

    fact: str
    subject: NotRequired[str]
    rule: str
    limit: str
    measured: str
    applies: Literal[True, False] | None
    least: NotRequired[str | int]
    most: NotRequired[str | int]


class MethodVerdict(TypedDict):
    """The part `MethodVerdict` of a document."""

    method: str
    injury: int
    verdict: VerdictWord
    reasons: list[Reason]


class Notice(TypedDict):
    """The part `Notice` of a document."""

    kind: str
    text: str
    rules: list[str]
    template: str
    parameters: dict[str, str | int | list[str]]


class PackLock(TypedDict):
    """The part `PackLock` of a document."""

    version: str
    sha256: str
    replaces: NotRequired[bool]


class Question(TypedDict):
    """The part `Question` of a document."""

    fact: str
    subject: NotRequired[str]
    ask: str
    unit: NotRequired[str]
    kind: str
    choices: NotRequired[list[Choice]]
    units: NotRequired[list[str]]
    several: bool
    number: NotRequired[int]
    path: str


class Reason(TypedDict):
    """The part `Reason` of a document."""

    rule: str
    fact: str
    subject: NotRequired[str]
    measured: NotRequired[str]
    limit: NotRequired[str]
    outcome: OutcomeWord
    applies: NotRequired[Literal[True, False] | None]
    extended: NotRequired[bool]
    says: str
    citation: NotRequired[str]
    authority: NotRequired[str]
    evidence: NotRequired[str]


class Remedies(TypedDict):
    """The part `Remedies` of a document."""

    asked: bool
    sets: list[list[Change]]


class Requirement(TypedDict):
    """The part `Requirement` of a document."""

    step: str
    say: str
    when: NotRequired[str]
    rules: list[str]
    template: str
    parameters: dict[str, str | int | list[str]]


class Rung(TypedDict):
    """The part `Rung` of a document."""

    rule: str
    limit: str
    as_enacted: str
    also_printed: NotRequired[str]
    applies: Literal[True, False] | None
    when: NotRequired[str]
    extended: NotRequired[bool]
    citation: str
    authority: str
    evidence: str


class Decision(TypedDict):
    """The answer to a case, with the rules, citations and evidence behind it."""

    verdict: VerdictWord
    activity: str
    say: str
    methods: list[MethodVerdict]
    limits: dict[str, FactLimits]
    limits_method: str | None
    reasons: list[Reason]
    geometry: list[Geometry]
    questions: list[Question]
    requirements: list[Requirement]
    notices: list[Notice]
    cautions: list[str]
    case: Case
    packs: dict[str, PackLock]
    engine: str
    form: int
    on: str
    digest: str
    remedies: NotRequired[Remedies]
    margins: NotRequired[list[Margin]]


class Asked(TypedDict):
    """The part `Asked` of a document."""

    fact: str
    path: str


class Because(TypedDict):
    """The part `Because` of a document."""

    rule: str
    fact: str
    subject: NotRequired[str]
    measured: NotRequired[str]
    limit: NotRequired[str]
    citation: NotRequired[str]
    evidence: NotRequired[str]


class BriefRecord(TypedDict):
    """What is kept of a decision: enough to decide it again and to prove it."""

    record: Literal["brief"]
    verdict: VerdictWord
    say: str
    method: str | None
    because: list[Because]
    questions: list[Asked]
    case: Case
    packs: dict[str, PackLock]
    engine: str
    form: int
    on: str
    whole: str
    digest: str
