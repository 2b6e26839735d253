"""The schema of a decision."""

from __future__ import annotations

from tirerules.authoring.schemas.case import case_body
from tirerules.authoring.schemas.finishing import finished, opened
from tirerules.authoring.schemas.parts import (
    DATE,
    PACKS,
    VERDICTS,
    Json,
    head,
    listed,
    one_of,
    open_block,
    open_words,
    part,
    text,
)
from tirerules.engine.form import kind_of
from tirerules.packs.rule import RELATIONS
from tirerules.record.brief import BRIEF
from tirerules.record.decisions import FORM
from tirerules.vocabulary import ACTIVITIES, METHODS, STEPS, Kind

_SHA256: Json = {"type": "string", "pattern": "^sha256:[0-9a-f]{64}$"}
#: How a question is answered (see `tirerules.engine.parts.Question`).
QUESTION_KINDS = tuple(dict.fromkeys(map(kind_of, Kind)))

__all__ = ["brief_schema", "decision_schema"]


def decision_schema() -> Json:
    """The schema of a decision."""
    word = {"type": "string"}
    maybe = {"enum": [True, False, None]}
    verdict = one_of(VERDICTS)
    reason = open_block(
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
        name="Reason",
    )
    rung = open_block(
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
        name="Rung",
    )
    figure = {"type": ["string", "integer"]}
    limits = open_block(
        {
            **{relation.replace("-", "_"): figure for relation in RELATIONS},
            "permitted": listed(word),
            "prohibited": listed(word),
            "binding": listed(word),
            "ladder": listed(rung),
        },
        ("binding", "ladder"),
        name="FactLimits",
    )
    method = open_block(
        {
            "method": open_words(METHODS),
            "injury": {"type": "integer", "minimum": 1},
            "verdict": verdict,
            "reasons": listed(reason),
        },
        ("method", "injury", "verdict", "reasons"),
        name="MethodVerdict",
    )
    geometry = open_block(
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
        name="Geometry",
    )
    question = open_block(
        {
            "fact": word,
            "subject": word,
            "ask": word,
            "unit": word,
            "kind": open_words(QUESTION_KINDS),
            "choices": listed(open_block({"word": word, "label": word}, ("word", "label"), name="Choice")),
            "units": listed(word),
            "several": {"type": "boolean"},
            "number": {"type": "integer", "minimum": 1},
            "path": text("JSON Pointer (RFC 6901) of the answer in the case."),
        },
        ("fact", "ask", "kind", "several", "path"),
        name="Question",
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
    requirement = open_block(
        {"step": open_words(STEPS), "say": word, "when": word, "rules": listed(word), **wording},
        ("step", "say", "rules", *wording),
        name="Requirement",
    )
    notice = open_block(
        {"kind": word, "text": word, "rules": listed(word), **wording},
        ("kind", "text", "rules", *wording),
        name="Notice",
    )
    properties = {
        "verdict": verdict,
        "activity": open_words(ACTIVITIES),
        "say": text("The verdict in words for people."),
        "methods": listed(method),
        "limits": {"type": "object", "additionalProperties": limits},
        "limits_method": {"type": ["string", "null"], "description": "The method for which `limits` is given."},
        "reasons": listed(reason),
        "geometry": listed(geometry),
        "questions": listed(question),
        "requirements": listed(requirement),
        "notices": listed(notice),
        "cautions": listed(word),
        "case": part("Case", opened(case_body())),
        "packs": PACKS,
        "engine": word,
        "form": {"type": "integer", "minimum": FORM, "description": "The number of the form of this record."},
        "on": DATE,
        "digest": _SHA256,
    }
    on_request = {
        "remedies": open_block(
            {"asked": {"type": "boolean"}, "sets": listed(listed(_change()))}, ("asked", "sets"), "Remedies"
        ),
        "margins": listed(_margin()),
    }
    return finished(
        {
            **head(
                "decision", "Tire decision", "The answer to a case, with the rules, citations and evidence behind it."
            ),
            **open_block({**properties, **on_request}, tuple(properties)),
        }
    )


def _change() -> Json:
    facts = open_words(("method", "repair_unit", "activity", "on"), "What a shop can change.")
    document = {"type": "boolean", "description": "Whether the maker's document of the unit's rating is needed."}
    return open_block({"fact": facts, "to": {"type": "string"}, "document": document}, ("fact", "to"), "Change")


def _margin() -> Json:
    word, left = {"type": "string"}, {"type": ["string", "integer"]}
    return open_block(
        {
            "fact": word,
            "subject": word,
            "rule": word,
            "limit": word,
            "measured": word,
            "applies": {"enum": [True, False, None]},
            "least": {**left, "description": "What is left at worst; negative where the limit is missed."},
            "most": {**left, "description": "What is left at best."},
        },
        ("fact", "rule", "limit", "measured", "applies"),
        "Margin",
    )


def brief_schema() -> Json:
    """The schema of a brief record of a decision."""
    word = {"type": "string"}
    because = open_block(
        dict.fromkeys(("rule", "fact", "subject", "measured", "limit", "citation", "evidence"), word),
        ("rule", "fact"),
        "Because",
    )
    properties = {
        "record": {"const": BRIEF},
        "verdict": one_of(VERDICTS),
        "say": text("The verdict in words for people."),
        "method": {"type": ["string", "null"], "description": "The method that does best."},
        "because": listed(because, description="One rule for each fact that fails, or else that is limited or open."),
        "questions": listed(open_block({"fact": word, "path": word}, ("fact", "path"), "Asked")),
        "case": part("Case", opened(case_body())),
        "packs": PACKS,
        "engine": word,
        "form": {"type": "integer", "minimum": FORM, "description": "The number of the form of this record."},
        "on": DATE,
        "whole": {**_SHA256, "description": "The digest of the whole decision."},
        "digest": _SHA256,
    }
    return finished(
        {
            **head("brief", "Brief record", "What is kept of a decision: enough to decide it again and to prove it."),
            **open_block(properties, tuple(properties)),
        }
    )
