"""The schema of a decision."""

from __future__ import annotations

from tirerules.authoring.schemas.parts import (
    DATE,
    PACKS,
    VERDICTS,
    Json,
    block,
    head,
    listed,
    one_of,
    text,
)
from tirerules.packs.rule import RELATIONS
from tirerules.vocabulary import (
    ACTIVITIES,
    METHODS,
    STEPS,
)

__all__ = ["decision_schema"]


def decision_schema() -> Json:
    """The schema of a decision."""
    word = {"type": "string"}
    maybe = {"enum": [True, False, None]}
    verdict = one_of(VERDICTS)
    reason = block(
        {
            "rule": text("pack/rule-id; `engine/...` where the library itself could not let the case pass."),
            "fact": word,
            "subject": word,
            "measured": word,
            "limit": word,
            "outcome": one_of(["passes", "fails", "unknown"]),
            "applies": maybe,
            "extended": {"type": "boolean"},
            "says": word,
            "citation": word,
            "authority": word,
            "evidence": word,
        },
        ("rule", "fact", "outcome", "says"),
    )
    rung = block(
        {
            "rule": word,
            "limit": word,
            "as_enacted": word,
            "also_printed": word,
            "applies": maybe,
            "when": word,
            "extended": {"type": "boolean"},
            "citation": word,
            "authority": word,
            "evidence": word,
        },
        ("rule", "limit", "as_enacted", "applies", "citation", "authority", "evidence"),
    )
    figure = {"type": ["string", "integer"]}
    limits = block(
        {
            **{relation.replace("-", "_"): figure for relation in RELATIONS},
            "permitted": listed(word),
            "prohibited": listed(word),
            "binding": listed(word),
            "ladder": listed(rung),
        },
        ("binding", "ladder"),
    )
    method = block(
        {
            "method": one_of(METHODS),
            "injury": {"type": "integer", "minimum": 1},
            "verdict": verdict,
            "reasons": listed(reason),
        },
        ("method", "injury", "verdict", "reasons"),
    )
    geometry = block(
        {
            "injury": {"type": "integer", "minimum": 1},
            "offset": word,
            "known": {"type": "boolean", "description": "Whether every measure that the reach rests on was given."},
            "reach_outside": word,
            "reach_inside": word,
            "band": word,
            "rule": word,
            "margin": word,
        },
        ("injury", "offset", "known"),
    )
    question = block({"fact": word, "subject": word, "ask": word, "unit": word}, ("fact", "ask"))
    requirement = block(
        {"step": one_of(list(STEPS)), "say": word, "when": word, "rules": listed(word)}, ("step", "say", "rules")
    )
    notice = block({"kind": word, "text": word, "rules": listed(word)}, ("kind", "text", "rules"))
    properties = {
        "verdict": verdict,
        "activity": one_of(ACTIVITIES),
        "say": text("The verdict in words for people."),
        "methods": listed(method),
        "limits": {"type": "object", "additionalProperties": limits},
        "limits_method": {"enum": [*METHODS, None], "description": "The method for which `limits` is given."},
        "reasons": listed(reason),
        "geometry": listed(geometry),
        "questions": listed(question),
        "requirements": listed(requirement),
        "notices": listed(notice),
        "cautions": listed(word),
        "case": {"$ref": "urn:tirerules:schema:case:1"},
        "packs": PACKS,
        "engine": word,
        "on": DATE,
        "digest": {"type": "string", "pattern": "^sha256:[0-9a-f]{64}$"},
    }
    return {
        **head("decision", "Tire decision", "The answer to a case, with the rules, citations and evidence behind it."),
        **block(properties, tuple(properties)),
    }
