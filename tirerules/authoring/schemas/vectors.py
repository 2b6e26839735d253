"""The schema of one line of a file of test vectors."""

from __future__ import annotations

from tirerules.authoring.schemas.case import case_body
from tirerules.authoring.schemas.finishing import finished
from tirerules.authoring.schemas.parts import PACKS, VERDICTS, Json, block, head, listed, one_of, part, text
from tirerules.packs.rule import RELATIONS
from tirerules.vocabulary import FACTS, METHODS, STEPS

__all__ = ["vectors_schema"]

#: A pack, a rule of it and what is varied; or a place and an activity. Without spaces, so that it can be a test's name.
_ID: Json = {"type": "string", "pattern": r"^[^/ ]+/[^/ ]+/[^ ]+$", "examples": ["US-SC/used-tire-puncture-size/at"]}


def vectors_schema() -> Json:
    """The schema of a vector: a case, and what is expected of its decision."""
    rule = text("pack/rule-id; `engine/...` where the library itself could not let the case pass.")
    method = block(
        {"method": one_of(METHODS), "injury": {"type": "integer", "minimum": 1}, "verdict": one_of(VERDICTS)},
        ("method", "injury", "verdict"),
    )
    limits = block(
        {
            **{relation.replace("-", "_"): {"type": ["string", "integer"]} for relation in RELATIONS},
            "permitted": listed({"type": "string"}),
            "prohibited": listed({"type": "string"}),
            "binding": listed(rule, description="The rules that set it; empty: nothing surely limits the fact."),
        },
        ("binding",),
    )
    expect = block(
        {
            "verdict": one_of(VERDICTS),
            "methods": listed(method, description="As in the decision, without the reasons; empty outside repairs."),
            "failing": listed(
                rule, uniqueItems=True, description="The rules that bar the case, or one of its methods, by name."
            ),
            "unknown": listed(rule, uniqueItems=True, description="The rules that leave it open, by name."),
            "questions": listed(
                one_of(list(FACTS)), description="What is asked for, most decisive first: the order counts."
            ),
            "limits_method": {"enum": [*METHODS, None], "description": "The method for which `limits` is given."},
            "limits": {
                "type": "object",
                "propertyNames": {"enum": list(FACTS)},
                "additionalProperties": limits,
                "description": "The strictest limit on the facts that the vector is about, without the ladder.",
            },
            "requirements": listed(
                one_of(list(STEPS)), description="Given where the vector is about what must be done."
            ),
        },
        ("verdict", "methods", "failing", "unknown", "questions", "limits_method", "limits"),
    )
    properties = {
        "id": {**_ID, "description": "What the case was made for; it stays while the rule keeps its name."},
        "also": listed(_ID, uniqueItems=True, description="Other ids that ask the very same case."),
        "case": {
            "allOf": [part("Case", case_body()), {"type": "object", "properties": {"on": {}}, "required": ["on"]}],
            "description": "The case, always with its day.",
        },
        "expect": expect,
        "packs": {**PACKS, "description": "The packs that decided it; load exactly these to compare."},
        "engine": text("The version of the library that decided it."),
    }
    said = "One line of the file: a case on or beside a limit, and its decision."
    return finished({**head("vectors", "Tire test vector", said), **block(properties, tuple(properties))})
