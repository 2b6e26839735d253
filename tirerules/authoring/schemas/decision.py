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
from tirerules.record.decisions import FORM
from tirerules.vocabulary import (
    ACTIVITIES,
    METHODS,
    STEPS,
)

#: How a question is answered (see `tirerules.engine.parts.Question`).
QUESTION_KINDS = ("choice", "flag", "quantity", "set", "text", "count", "grid", "records")

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
    question = block(
        {
            "fact": word,
            "subject": word,
            "ask": word,
            "unit": word,
            "kind": one_of(QUESTION_KINDS),
            "choices": listed(block({"word": word, "label": word}, ("word", "label"))),
            "units": listed(word),
            "several": {"type": "boolean"},
            "number": {"type": "integer", "minimum": 1},
            "path": text("JSON Pointer (RFC 6901) of the answer in the case."),
        },
        ("fact", "ask", "kind", "several", "path"),
    )
    parameters = {
        "type": "object",
        "additionalProperties": {"anyOf": [word, {"type": "integer"}, listed(word)]},
        "description": "What fills the template, but for its rules.",
    }
    wording = {
        "template": text("The name of the sentence, which stays the same in every language."),
        "parameters": parameters,
    }
    requirement = block(
        {"step": one_of(list(STEPS)), "say": word, "when": word, "rules": listed(word), **wording},
        ("step", "say", "rules", *wording),
    )
    notice = block({"kind": word, "text": word, "rules": listed(word), **wording}, ("kind", "text", "rules", *wording))
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
        "form": {"type": "integer", "minimum": FORM, "description": "The number of the form of this record."},
        "on": DATE,
        "digest": {"type": "string", "pattern": "^sha256:[0-9a-f]{64}$"},
    }
    return {
        **head("decision", "Tire decision", "The answer to a case, with the rules, citations and evidence behind it."),
        **block(properties, tuple(properties)),
    }
