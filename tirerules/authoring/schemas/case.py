"""The schema of a case, written out from the vocabulary."""

from __future__ import annotations

from typing import Final

from tirerules.authoring.schemas.parts import (
    DATE,
    Json,
    block,
    head,
    listed,
    one_of,
)
from tirerules.packs.rule import READINGS
from tirerules.quantities import EXAMPLES
from tirerules.vocabulary import (
    ACTIVITIES,
    FACTS,
    FINDINGS,
    METHODS,
    Fact,
    Kind,
    facts_of,
)

__all__ = ["case_schema"]

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
    return block({fact.key: _answer(fact) for fact in facts_of(group)})


def case_schema() -> Json:
    """The schema of a case."""
    return {
        **head("case", "Tire case", "One question: this tire, this injury, this place, this day, this activity."),
        **block(
            {
                "jurisdictions": listed(
                    {"type": "string", "examples": ["US-SC"]},
                    minItems=1,
                    description="ISO 3166-2 codes; each brings its country and the baseline with it.",
                ),
                "activity": one_of(ACTIVITIES, "What is being done."),
                "on": {**DATE, "type": ["string", "null"], "description": "The day asked about; left out: today."},
                "reading": one_of(READINGS, "How a limit printed in two units is read."),
                "tire": {**_group("tire"), "type": ["object", "null"]},
                "vehicle": {**_group("vehicle"), "type": ["object", "null"]},
                "axle": {**_group("axle"), "type": ["object", "null"]},
                "shop": {**_group("shop"), "type": ["object", "null"]},
                "road": {**_group("road"), "type": ["object", "null"]},
                "sale": {**_group("sale"), "type": ["object", "null"]},
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
                "repairs": {**_group("repairs"), "type": ["object", "null"]},
                "findings": {
                    "type": ["array", "null"],
                    "items": one_of(FINDINGS),
                    "uniqueItems": True,
                    "description": FACTS["findings"].question,
                },
                "method": {"enum": [*METHODS, None], "description": "The one method to judge; left out: all three."},
                "repair_unit": {
                    "type": ["object", "null"],
                    "properties": {
                        "method": one_of(METHODS),
                        "rated_angle": {
                            "type": "string",
                            "description": "The angle up to which its maker documents it.",
                        },
                        "document": {"type": ["string", "null"], "description": "The document that says so."},
                    },
                    "required": ["method", "rated_angle"],
                    "additionalProperties": False,
                },
            },
            ("jurisdictions", "activity"),
        ),
    }
