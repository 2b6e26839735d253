"""The schema of a case, written out from the vocabulary."""

from __future__ import annotations

from typing import Final

from tirerules.authoring.schemas import words
from tirerules.authoring.schemas.finishing import finished
from tirerules.authoring.schemas.parts import (
    DATE,
    PART,
    Json,
    block,
    head,
    listed,
    one_of,
    part,
)
from tirerules.case.groups import Axle, EarlierRepair, Injury, Repairs, Road, Sale, Shop, Tire, Vehicle
from tirerules.packs.rule import READINGS
from tirerules.quantities import EXAMPLES
from tirerules.vocabulary import FACTS, FINDINGS, METHODS, ZONE_EVIDENCE, Fact, Kind, facts_of

__all__ = ["case_body", "case_schema"]

#: What a group of facts is about.
_GROUPS: Final = {
    "tire": "What stands on the tire, and what was measured on it.",
    "vehicle": "The vehicle that the tire is for.",
    "axle": "The axle that the tire is for.",
    "shop": "Where the work is done.",
    "road": "Where the tire is driven.",
    "sale": "What the tire is sold for.",
    "repairs": "All repairs of the tire together, the new ones among them.",
}
#: What a block is called as a type: the name of its typed form.
_TYPES: Final = {
    kind.group: kind.__name__ for kind in (Tire, Vehicle, Axle, Shop, Road, Sale, Repairs, Injury, EarlierRepair)
}
#: What stands for a fact that is carried as text, by its key. No clock time: YAML readers disagree on a bare 3:00.
_TEXTS: Final = {"size": ["225/45R17", "LT245/75R16"], "date_code": ["2325"], "clock": ["90 deg", "415 mm"]}


def _answer(fact: Fact) -> Json:
    """What a case may say of a fact; null says "unknown", as leaving it out does."""
    match fact.kind:
        case Kind.FLAG:
            shape: Json = {"type": ["boolean", "null"]}
        case Kind.COUNT:
            shape = {"type": ["integer", "null"], "minimum": 0}
        case Kind.QUANTITY:
            assert fact.dimension is not None  # INVARIANT: every quantity has a dimension
            shape = {"type": ["string", "null"], "examples": EXAMPLES[fact.dimension].replace('"', "").split(" or ")}
        case Kind.TEXT:
            shape = {"type": ["string", "null"], "examples": _TEXTS[fact.key]}
        case Kind.GRID:
            place = listed({"type": "string"}, minItems=1, description="One place around the tire, groove by groove.")
            shape = {**listed(place, minItems=1), "type": ["array", "null"]}
        case _:
            shape = {"enum": [*fact.values, None]}
    return {**shape, "description": fact.question}


def _group(group: str) -> Json:
    facts = {fact.key: _answer(fact) for fact in facts_of(group)}
    return part(_TYPES[group], block(facts))


def _one_group(group: str) -> Json:
    return {**_group(group), "type": ["object", "null"], "description": _GROUPS[group]}


def case_schema() -> Json:
    """The schema of a case."""
    said = "One question: this tire, this injury, this place, this day, this activity."
    return finished({**head("case", "Tire case", said), **case_body()})


def case_body() -> Json:
    """A case as a part of other schemas, without the head of a document."""
    return {
        **block(
            {
                "jurisdictions": listed(
                    {"type": "string", "examples": ["US-SC"]},
                    minItems=1,
                    description="ISO 3166-2 codes; each brings its country and the baseline with it.",
                ),
                "activity": one_of(words.ACTIVITIES, "What is being done."),
                "on": {**DATE, "type": ["string", "null"], "description": "The day asked about; left out: today."},
                "reading": one_of(READINGS, "How a limit printed in two units is read."),
                "zones": one_of(ZONE_EVIDENCE, "Whether a named zone is enough, or only one whose place was measured."),
                "tire": _one_group("tire"),
                "vehicle": _one_group("vehicle"),
                "axle": _one_group("axle"),
                "shop": _one_group("shop"),
                "road": _one_group("road"),
                "sale": _one_group("sale"),
                "injuries": {
                    "type": ["array", "null"],
                    "items": _group("injury"),
                    "description": FACTS["injuries"].question,
                },
                "earlier_repairs": {
                    "type": ["array", "null"],
                    "items": _group("repair"),
                    "description": FACTS["earlier_repairs"].question,
                },
                "repairs": _one_group("repairs"),
                "findings": {
                    "type": ["array", "null"],
                    "items": one_of(FINDINGS),
                    "uniqueItems": True,
                    "description": FACTS["findings"].question,
                },
                "method": {"enum": [*METHODS, None], "description": "The one method to judge; left out: all three."},
                "repair_unit": {
                    "type": ["object", "null"],
                    "description": "The repair unit to be used, where its maker says what it is rated for.",
                    "properties": {
                        "method": one_of(words.METHODS, "The method that the unit is made for."),
                        "rated_angle": {
                            "type": "string",
                            "description": "The angle up to which its maker documents it.",
                        },
                        "document": {"type": ["string", "null"], "description": "The document that says so."},
                    },
                    "required": ["method", "rated_angle"],
                    "additionalProperties": False,
                    PART: "RepairUnit",
                },
            },
            ("jurisdictions", "activity"),
        ),
    }
