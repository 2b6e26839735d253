"""The JSON Schemas (2020-12), written out from the vocabulary so that the two cannot drift apart.

`python -m tirerules.authoring.schemas` rewrites the files in `schemas/`; a test compares them. Quantities stay text
with a pattern: their ranges are checked in exact arithmetic by the library, not by a schema checker's floats.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any, Final

from tirerules.packs.pack import COVERAGE, KINDS, OUTCOMES
from tirerules.packs.rule import READINGS, RELATIONS
from tirerules.quantities import EXAMPLES, PATTERN
from tirerules.vocabulary import (
    ACTIVITIES,
    AUTHORITIES,
    EVIDENCE,
    FACTS,
    FINDINGS,
    GROOVES,
    METHODS,
    PLACES,
    STEPS,
    Fact,
    Kind,
    facts_of,
)

__all__ = ["build", "case_schema", "decision_schema", "rulepack_schema"]

_Json = dict[str, Any]
#: Bumped when a format changes so that older documents no longer validate; part of every `$id`.
_FORMAT: Final = 1
_DIGEST: Final = {"type": "string", "pattern": "^[0-9a-f]{64}$"}
_DATE: Final[_Json] = {
    "type": "string",
    "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$",
    "description": "A day as YYYY-MM-DD.",
    "examples": ["2026-11-25"],
}
_SLUG: Final = "^[a-z][a-z0-9]*(-[a-z0-9]+)*$"
_VERDICTS: Final = ["within-limits", "outside-limits", "undetermined"]


def _object(properties: _Json, required: tuple[str, ...] = (), **more: Any) -> _Json:
    return {
        "type": "object",
        "properties": properties,
        "required": list(required),
        "additionalProperties": False,
        **more,
    }


def _list(items: _Json, **more: Any) -> _Json:
    return {"type": "array", "items": items, **more}


def _one_of(words: tuple[str, ...] | list[str], description: str = "") -> _Json:
    schema: _Json = {"type": "string", "enum": list(words)}
    return {**schema, "description": description} if description else schema


def _text(description: str, **more: Any) -> _Json:
    return {"type": "string", "minLength": 1, "description": description, **more}


def _head(name: str, title: str, description: str) -> _Json:
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:tirerules:schema:{name}:{_FORMAT}",
        "title": title,
        "description": description,
    }


# --- rule packs ------------------------------------------------------------------------------------------------------


def _figure(fact: Fact) -> _Json:
    """One figure that a rule states for `fact`."""
    if fact.kind is Kind.COUNT:
        return {"type": "integer", "minimum": 0, "examples": [2]}
    assert fact.dimension is not None  # INVARIANT: a limitable fact is a count or has a dimension
    return {"$ref": f"#/$defs/{fact.dimension}"}


def _word(fact: Fact) -> _Json:
    return {"type": "boolean"} if fact.kind is Kind.FLAG else {"type": "string", "enum": list(fact.values)}


def _condition(fact: Fact) -> _Json:
    """A test of one fact. Told apart by the value's type, so that a mistake gets a message of its own."""
    if fact.ordered:
        figure = _word(fact) if fact.kind is Kind.SCALE else _figure(fact)
        span = _object(dict.fromkeys(RELATIONS, figure), minProperties=1)
        if fact.kind is not Kind.SCALE:
            return {**span, "description": fact.question}
    words = {"if": {"type": "array"}, "then": _list(_word(fact), minItems=1, uniqueItems=True), "else": _word(fact)}
    inner = {"not": {**words}}
    shape = _object({**(span["properties"] if fact.kind is Kind.SCALE else {}), **inner}, minProperties=1)
    return {"description": fact.question, "if": {"type": "object"}, "then": shape, "else": words}


def _limit(fact: Fact) -> _Json:
    figure = _figure(fact)
    if fact.kind is Kind.QUANTITY:
        dual = _object({"value": figure, "also-printed": figure}, ("value", "also-printed"))
        shape = dual
        if fact.name == "injury.reach":
            shape = {"if": {"required": ["half-of"]}, "then": {"$ref": "#/$defs/relative"}, "else": dual}
        figure = {"if": {"type": "object"}, "then": shape, "else": figure}
    properties = {"fact": {"const": fact.name}, **dict.fromkeys(RELATIONS, figure)}
    if fact.name == "tire.tread_depth":
        properties["counted"] = _object(
            {"grooves": _one_of(GROOVES), "places": {"enum": list(PLACES)}},
            ("grooves",),
            description="Which grooves, at how many places around the tire, must all be too shallow; "
            "left out: the smallest reading anywhere counts.",
        )
    return _object(properties, ("fact",))


def _relative() -> _Json:
    share = {"type": "string", "pattern": r"^([0-9]+/[0-9]+|[0-9]+(\.[0-9]+)? ?%)$", "examples": ["3/4", "70 %"]}
    step = _object({"through": {"$ref": "#/$defs/length"}, "share": share}, ("share",))
    widths = ["tire.tread_width", "tire.section_width", "tire.belt_width"]
    return _object(
        {
            "half-of": _one_of(widths, "The measure of the tire that the band is drawn on."),
            "share": {
                "if": {"type": "array"},
                "then": _list(step, minItems=1),
                "else": share,
                "description": "The central share of it, or steps by its size.",
            },
            "inset": {"$ref": "#/$defs/length", "description": "How far in from each edge."},
        },
        ("half-of",),
        description="A length that follows from the tire: half of a central share of its width, less an inset.",
    )


def _choice(fact: Fact) -> _Json:
    values = _list(_word(fact), minItems=1, uniqueItems=True)
    return _object({"fact": {"const": fact.name}, "values": values}, ("fact", "values"))


def _by_fact(facts: list[Fact], shape: Any, description: str) -> _Json:
    """A body that names its fact: the shape of the rest follows from which fact it is."""
    return {
        "type": "object",
        "description": description,
        "required": ["fact"],
        "properties": {"fact": _one_of([fact.name for fact in facts])},
        "allOf": [
            {
                "if": {"properties": {"fact": {"const": fact.name}}, "required": ["fact"]},
                "then": shape(fact),
            }
            for fact in facts
        ],
    }


def _rule() -> _Json:
    limitable = [fact for fact in FACTS.values() if fact.limitable]
    choosable = [fact for fact in FACTS.values() if fact.choosable]
    return _object(
        {
            "id": _text("The rule's name within the pack; never reused for another rule.", pattern=_SLUG),
            "says": _text("The rule in one plain sentence of our own words."),
            "activity": _list(
                _one_of(ACTIVITIES), minItems=1, uniqueItems=True, description="What the rule regulates."
            ),
            "when": {
                **_object({fact.name: _condition(fact) for fact in FACTS.values() if fact.testable}, minProperties=1),
                "description": "The rule applies where every condition holds.",
            },
            "limit": _by_fact(limitable, _limit, "A ceiling or a floor; figures as the source prints them."),
            "permit": _by_fact(choosable, _choice, "No value but these."),
            "prohibit": _by_fact(choosable, _choice, "None of these values."),
            "disqualify": _object(
                {"findings": _list(_one_of(FINDINGS), minItems=1, uniqueItems=True)},
                ("findings",),
                description="Findings that put the tire out.",
            ),
            "require": _object(
                {"steps": _list(_one_of(list(STEPS)), minItems=1, uniqueItems=True)},
                ("steps",),
                description="What must be done if the answer is to hold.",
            ),
            "extendable": _object(
                {"up-to": {"$ref": "#/$defs/angle"}, "by": {"const": "repair-material"}},
                ("up-to", "by"),
                description="How far the documented rating of a repair unit may extend this limit; never for a law.",
            ),
            "source": _text("The key of one entry under `sources`."),
            "in-force": _object(
                {
                    "from": {**_DATE, "pattern": "^([0-9]{4}-[0-9]{2}-[0-9]{2}|unknown)$"},
                    "until": _DATE,
                },
                description="First day in force (`unknown`: it binds on every day), and the first day it no longer is.",
            ),
            "note": _text("Doubts, conflicting sources and readings, in plain words."),
        },
        ("id", "says", "activity", "source"),
    )


def rulepack_schema() -> _Json:
    """The schema of a rule pack."""
    source = _object(
        {
            "citation": _text("Section and title, as a lawyer would cite it."),
            "url": {"type": "string", "pattern": "^https?://", "description": "A public copy of the text itself."},
            "authority": _one_of(AUTHORITIES, "Who says so."),
            "evidence": _one_of(
                EVIDENCE, "How the value was checked: the operative text read, described elsewhere, or memory."
            ),
            "read": {**_DATE, "description": "The day the text was read."},
            "currency": _one_of(["confirmed", "unconfirmed"], "Whether the text is known to be in force still."),
            "note": _text("What was read, where and in which edition."),
        },
        ("citation", "authority", "evidence"),
    )
    not_law = _object(
        {
            "title": _text("The bill or text, by its number."),
            "outcome": _one_of(OUTCOMES, "What became of it."),
            "would-have-set": _text("What it would have set, in our own words."),
            "year": {"type": "integer", "description": "The year of its outcome."},
            "url": {"type": "string", "pattern": "^https?://"},
        },
        ("title", "outcome", "would-have-set"),
    )
    example = _object(
        {
            "case": {"type": "object", "description": "A case, as in case.schema.json."},
            "expect": _object(
                {
                    "verdict": _one_of(_VERDICTS),
                    "because": _list(_text("A rule of this pack, or `pack/rule`."), minItems=1),
                    "methods": _object({method: _one_of(_VERDICTS) for method in METHODS}),
                    "questions": _list(_one_of(list(FACTS))),
                },
                ("verdict",),
            ),
        },
        ("case", "expect"),
    )
    return {
        **_head("rulepack", "Tire rule pack", "One versioned set of rules on repairing, selling or using tires."),
        **_object(
            {
                "format": {"const": _FORMAT, "description": "The number of this file format."},
                "pack": _text(
                    "A jurisdiction code (US-SC), a country (US), or a name of your own in small letters.",
                    pattern="^([A-Z]{2}(-[A-Z0-9]{1,3})?|[a-z][a-z0-9]*(-[a-z0-9]+)*)$",
                ),
                "version": _text(
                    "Three numbers: a looser rule raises the first, a tighter or new one the second, text the third.",
                    pattern=r"^(0|[1-9][0-9]*)\.(0|[1-9][0-9]*)\.(0|[1-9][0-9]*)$",
                    examples=["1.0.0"],
                ),
                "engine": _text("The library versions that can evaluate the pack.", examples=[">=1,<2"]),
                "kind": _one_of(KINDS),
                "title": _text("The name people use."),
                "reviewed": {**_DATE, "description": "The day a person last reviewed the pack."},
                "coverage": {
                    **_object({activity: _one_of(COVERAGE) for activity in ACTIVITIES}, minProperties=1),
                    "description": "What the review found for each activity; one that is missing was not reviewed.",
                },
                "notes": _list(_text("Conflicts, ambiguities and gaps, in plain words.")),
                "sources": {
                    "type": "object",
                    "description": "The texts that the rules rest on, by a key of your choice.",
                    "propertyNames": {"pattern": "^[a-z0-9]+(-[a-z0-9]+)*$"},
                    "additionalProperties": source,
                },
                "rules": _list({"$ref": "#/$defs/rule"}),
                "not-law": _list(
                    not_law, description="Bills and texts often taken for law that are none; they never bind."
                ),
                "examples": _list(example),
            },
            ("format", "pack", "version", "engine", "kind", "title", "reviewed", "coverage", "sources", "rules"),
        ),
        "$defs": {
            "rule": _rule(),
            "relative": _relative(),
            **{
                dimension: {"type": "string", "pattern": PATTERN, "examples": shown.replace('"', "").split(" or ")}
                for dimension, shown in EXAMPLES.items()
            },
        },
    }


# --- cases -----------------------------------------------------------------------------------------------------------


def _answer(fact: Fact) -> _Json:
    """What a case may say of a fact; null says "unknown", as leaving it out does."""
    match fact.kind:
        case Kind.FLAG:
            shape: _Json = {"type": ["boolean", "null"]}
        case Kind.COUNT:
            shape = {"type": ["integer", "null"], "minimum": 0}
        case Kind.QUANTITY:
            assert fact.dimension is not None  # INVARIANT: every quantity has a dimension
            shape = {"type": ["string", "null"], "examples": EXAMPLES[fact.dimension].replace('"', "").split(" or ")}
        case Kind.TEXT:
            shape = {"type": ["string", "null"]}
        case Kind.GRID:
            place = _list({"type": "string"}, minItems=1, description="One place around the tire, groove by groove.")
            shape = {**_list(place, minItems=1), "type": ["array", "null"]}
        case _:
            shape = {"enum": [*fact.values, None]}
    return {**shape, "description": fact.question}


def _group(group: str) -> _Json:
    return _object({fact.key: _answer(fact) for fact in facts_of(group)})


def case_schema() -> _Json:
    """The schema of a case."""
    return {
        **_head("case", "Tire case", "One question: this tire, this injury, this place, this day, this activity."),
        **_object(
            {
                "jurisdictions": _list(
                    {"type": "string", "examples": ["US-SC"]},
                    minItems=1,
                    description="ISO 3166-2 codes; each brings its country and the baseline with it.",
                ),
                "activity": _one_of(ACTIVITIES, "What is being done."),
                "on": {**_DATE, "type": ["string", "null"], "description": "The day asked about; left out: today."},
                "reading": _one_of(READINGS, "How a limit printed in two units is read."),
                "tire": _group("tire"),
                "vehicle": _group("vehicle"),
                "axle": _group("axle"),
                "shop": _group("shop"),
                "road": _group("road"),
                "sale": _group("sale"),
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
                "repairs": _group("repairs"),
                "findings": {
                    "type": ["array", "null"],
                    "items": _one_of(FINDINGS),
                    "uniqueItems": True,
                    "description": FACTS["findings"].question,
                },
                "method": {"enum": [*METHODS, None], "description": "The one method to judge; left out: all three."},
                "repair_unit": {
                    "type": ["object", "null"],
                    "properties": {
                        "method": _one_of(METHODS),
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


# --- decisions -------------------------------------------------------------------------------------------------------


def decision_schema() -> _Json:
    """The schema of a decision."""
    text = {"type": "string"}
    maybe = {"enum": [True, False, None]}
    verdict = _one_of(_VERDICTS)
    reason = _object(
        {
            "rule": _text("pack/rule-id; `engine/...` where the library itself could not let the case pass."),
            "fact": text,
            "subject": text,
            "measured": text,
            "limit": text,
            "outcome": _one_of(["passes", "fails", "unknown"]),
            "applies": maybe,
            "extended": {"type": "boolean"},
            "says": text,
            "citation": text,
            "authority": text,
            "evidence": text,
        },
        ("rule", "fact", "outcome", "says"),
    )
    rung = _object(
        {
            "rule": text,
            "limit": text,
            "as_enacted": text,
            "also_printed": text,
            "applies": maybe,
            "when": text,
            "extended": {"type": "boolean"},
            "citation": text,
            "authority": text,
            "evidence": text,
        },
        ("rule", "limit", "as_enacted", "applies", "citation", "authority", "evidence"),
    )
    figure = {"type": ["string", "integer"]}
    limits = _object(
        {
            **{relation.replace("-", "_"): figure for relation in RELATIONS},
            "permitted": _list(text),
            "prohibited": _list(text),
            "binding": _list(text),
            "ladder": _list(rung),
        },
        ("binding", "ladder"),
    )
    method = _object(
        {
            "method": _one_of(METHODS),
            "injury": {"type": "integer", "minimum": 1},
            "verdict": verdict,
            "reasons": _list(reason),
        },
        ("method", "injury", "verdict", "reasons"),
    )
    geometry = _object(
        {
            "injury": {"type": "integer", "minimum": 1},
            "offset": text,
            "known": {"type": "boolean", "description": "Whether every measure that the reach rests on was given."},
            "reach_outside": text,
            "reach_inside": text,
            "band": text,
            "rule": text,
            "margin": text,
        },
        ("injury", "offset", "known"),
    )
    question = _object({"fact": text, "subject": text, "ask": text, "unit": text}, ("fact", "ask"))
    requirement = _object(
        {"step": _one_of(list(STEPS)), "say": text, "when": text, "rules": _list(text)}, ("step", "say", "rules")
    )
    notice = _object({"kind": text, "text": text, "rules": _list(text)}, ("kind", "text", "rules"))
    pack = _object({"version": text, "sha256": _DIGEST}, ("version", "sha256"))
    properties = {
        "verdict": verdict,
        "activity": _one_of(ACTIVITIES),
        "say": _text("The verdict in words for people."),
        "methods": _list(method),
        "limits": {"type": "object", "additionalProperties": limits},
        "limits_method": {"enum": [*METHODS, None], "description": "The method for which `limits` is given."},
        "reasons": _list(reason),
        "geometry": _list(geometry),
        "questions": _list(question),
        "requirements": _list(requirement),
        "notices": _list(notice),
        "cautions": _list(text),
        "case": {"$ref": "urn:tirerules:schema:case:1"},
        "packs": {"type": "object", "additionalProperties": pack},
        "engine": text,
        "on": _DATE,
        "digest": {"type": "string", "pattern": "^sha256:[0-9a-f]{64}$"},
    }
    return {
        **_head("decision", "Tire decision", "The answer to a case, with the rules, citations and evidence behind it."),
        **_object(properties, tuple(properties)),
    }


def build() -> dict[str, _Json]:
    """Every schema by file name."""
    return {
        "rulepack.schema.json": rulepack_schema(),
        "case.schema.json": case_schema(),
        "decision.schema.json": decision_schema(),
    }


def main(folder: str = "schemas") -> None:
    """Write every schema into `folder`."""
    for name, schema in build().items():
        Path(folder, name).write_text(json.dumps(schema, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(*sys.argv[1:])
