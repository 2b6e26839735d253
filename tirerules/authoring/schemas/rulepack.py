"""The schema of a rule pack, written out from the vocabulary."""

from __future__ import annotations

from typing import Any

from tirerules.authoring.schemas.parts import (
    DATE,
    FORMAT,
    SLUG,
    VERDICTS,
    Json,
    block,
    head,
    listed,
    one_of,
    text,
)
from tirerules.packs.pack import COVERAGE, KINDS, OUTCOMES
from tirerules.packs.rule import RELATIONS
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
)

__all__ = ["rulepack_schema"]


def _figure(fact: Fact) -> Json:
    """One figure that a rule states for `fact`."""
    if fact.kind is Kind.COUNT:
        return {"type": "integer", "minimum": 0, "examples": [2]}
    assert fact.dimension is not None  # INVARIANT: a limitable fact is a count or has a dimension
    return {"$ref": f"#/$defs/{fact.dimension}"}


def _word(fact: Fact) -> Json:
    return {"type": "boolean"} if fact.kind is Kind.FLAG else {"type": "string", "enum": list(fact.values)}


def _condition(fact: Fact) -> Json:
    """A test of one fact. Told apart by the value's type, so that a mistake gets a message of its own."""
    if fact.ordered:
        figure = _word(fact) if fact.kind is Kind.SCALE else _figure(fact)
        span = block(dict.fromkeys(RELATIONS, figure), minProperties=1)
        if fact.kind is not Kind.SCALE:
            return {**span, "description": fact.question}
    words = {"if": {"type": "array"}, "then": listed(_word(fact), minItems=1, uniqueItems=True), "else": _word(fact)}
    inner = {"not": {**words}}
    shape = block({**(span["properties"] if fact.kind is Kind.SCALE else {}), **inner}, minProperties=1)
    return {"description": fact.question, "if": {"type": "object"}, "then": shape, "else": words}


def _limit(fact: Fact) -> Json:
    figure = _figure(fact)
    if fact.kind is Kind.QUANTITY:
        dual = block({"value": figure, "also-printed": figure}, ("value", "also-printed"))
        shape = dual
        if fact.name == "injury.reach":
            shape = {"if": {"required": ["half-of"]}, "then": {"$ref": "#/$defs/relative"}, "else": dual}
        figure = {"if": {"type": "object"}, "then": shape, "else": figure}
    properties = {"fact": {"const": fact.name}, **dict.fromkeys(RELATIONS, figure)}
    if fact.name == "tire.tread_depth":
        properties["counted"] = block(
            {"grooves": one_of(GROOVES), "places": {"enum": list(PLACES)}},
            ("grooves",),
            description="Which grooves, at how many places around the tire, must all be too shallow; "
            "left out: the smallest reading anywhere counts.",
        )
    return block(properties, ("fact",))


def _relative() -> Json:
    share = {"type": "string", "pattern": r"^([0-9]+/[0-9]+|[0-9]+(\.[0-9]+)? ?%)$", "examples": ["3/4", "70 %"]}
    step = block({"through": {"$ref": "#/$defs/length"}, "share": share}, ("share",))
    widths = ["tire.tread_width", "tire.section_width", "tire.belt_width"]
    return block(
        {
            "half-of": one_of(widths, "The measure of the tire that the band is drawn on."),
            "share": {
                "if": {"type": "array"},
                "then": listed(step, minItems=1),
                "else": share,
                "description": "The central share of it, or steps by its size.",
            },
            "inset": {"$ref": "#/$defs/length", "description": "How far in from each edge."},
        },
        ("half-of",),
        description="A length that follows from the tire: half of a central share of its width, less an inset.",
    )


def _choice(fact: Fact) -> Json:
    values = listed(_word(fact), minItems=1, uniqueItems=True)
    return block({"fact": {"const": fact.name}, "values": values}, ("fact", "values"))


def _by_fact(facts: list[Fact], shape: Any, description: str) -> Json:
    """A body that names its fact: the shape of the rest follows from which fact it is."""
    return {
        "type": "object",
        "description": description,
        "required": ["fact"],
        "properties": {"fact": one_of([fact.name for fact in facts])},
        "allOf": [
            {
                "if": {"properties": {"fact": {"const": fact.name}}, "required": ["fact"]},
                "then": shape(fact),
            }
            for fact in facts
        ],
    }


def _rule() -> Json:
    limitable = [fact for fact in FACTS.values() if fact.limitable]
    choosable = [fact for fact in FACTS.values() if fact.choosable]
    return block(
        {
            "id": text("The rule's name within the pack; never reused for another rule.", pattern=SLUG),
            "says": text("The rule in one plain sentence of our own words."),
            "activity": listed(
                one_of(ACTIVITIES), minItems=1, uniqueItems=True, description="What the rule regulates."
            ),
            "when": {
                **block({fact.name: _condition(fact) for fact in FACTS.values() if fact.testable}, minProperties=1),
                "description": "The rule applies where every condition holds.",
            },
            "limit": _by_fact(limitable, _limit, "A ceiling or a floor; figures as the source prints them."),
            "permit": _by_fact(choosable, _choice, "No value but these."),
            "prohibit": _by_fact(choosable, _choice, "None of these values."),
            "disqualify": block(
                {"findings": listed(one_of(FINDINGS), minItems=1, uniqueItems=True)},
                ("findings",),
                description="Findings that put the tire out.",
            ),
            "require": block(
                {"steps": listed(one_of(list(STEPS)), minItems=1, uniqueItems=True)},
                ("steps",),
                description="What must be done if the answer is to hold.",
            ),
            "extendable": block(
                {"up-to": {"$ref": "#/$defs/angle"}, "by": {"const": "repair-material"}},
                ("up-to", "by"),
                description="How far the documented rating of a repair unit may extend this limit; never for a law.",
            ),
            "source": text("The key of one entry under `sources`."),
            "in-force": block(
                {
                    "from": {**DATE, "pattern": "^([0-9]{4}-[0-9]{2}-[0-9]{2}|unknown)$"},
                    "until": DATE,
                },
                description="First day in force (`unknown`: it binds on every day), and the first day it no longer is.",
            ),
            "note": text("Doubts, conflicting sources and readings, in plain words."),
        },
        ("id", "says", "activity", "source"),
    )


def rulepack_schema() -> Json:
    """The schema of a rule pack."""
    source = block(
        {
            "citation": text("Section and title, as a lawyer would cite it."),
            "url": {"type": "string", "pattern": "^https?://", "description": "A public copy of the text itself."},
            "authority": one_of(AUTHORITIES, "Who says so."),
            "evidence": one_of(
                EVIDENCE, "How the value was checked: the operative text read, described elsewhere, or memory."
            ),
            "read": {**DATE, "description": "The day the text was read."},
            "currency": one_of(["confirmed", "unconfirmed"], "Whether the text is known to be in force still."),
            "note": text("What was read, where and in which edition."),
        },
        ("citation", "authority", "evidence"),
    )
    not_law = block(
        {
            "title": text("The bill or text, by its number."),
            "outcome": one_of(OUTCOMES, "What became of it."),
            "would-have-set": text("What it would have set, in our own words."),
            "year": {"type": "integer", "description": "The year of its outcome."},
            "url": {"type": "string", "pattern": "^https?://"},
        },
        ("title", "outcome", "would-have-set"),
    )
    example = block(
        {
            "case": {"type": "object", "description": "A case, as in case.schema.json."},
            "expect": block(
                {
                    "verdict": one_of(VERDICTS),
                    "because": listed(text("A rule of this pack, or `pack/rule`."), minItems=1),
                    "methods": block({method: one_of(VERDICTS) for method in METHODS}),
                    "questions": listed(one_of(list(FACTS))),
                },
                ("verdict",),
            ),
        },
        ("case", "expect"),
    )
    return {
        **head("rulepack", "Tire rule pack", "One versioned set of rules on repairing, selling or using tires."),
        **block(
            {
                "format": {"const": FORMAT, "description": "The number of this file format."},
                "pack": text(
                    "A jurisdiction code (US-SC), a country (US), or a name of your own in small letters.",
                    pattern="^([A-Z]{2}(-[A-Z0-9]{1,3})?|[a-z][a-z0-9]*(-[a-z0-9]+)*)$",
                ),
                "version": text(
                    "Three numbers: a looser rule raises the first, a tighter or new one the second, text the third.",
                    pattern=r"^(0|[1-9][0-9]*)\.(0|[1-9][0-9]*)\.(0|[1-9][0-9]*)$",
                    examples=["1.0.0"],
                ),
                "engine": text("The library versions that can evaluate the pack.", examples=[">=1,<2"]),
                "kind": one_of(KINDS),
                "title": text("The name people use."),
                "reviewed": {**DATE, "description": "The day a person last reviewed the pack."},
                "coverage": {
                    **block({activity: one_of(COVERAGE) for activity in ACTIVITIES}, minProperties=1),
                    "description": "What the review found for each activity; one that is missing was not reviewed.",
                },
                "notes": listed(text("Conflicts, ambiguities and gaps, in plain words.")),
                "sources": {
                    "type": "object",
                    "description": "The texts that the rules rest on, by a key of your choice.",
                    "propertyNames": {"pattern": "^[a-z0-9]+(-[a-z0-9]+)*$"},
                    "additionalProperties": source,
                },
                "rules": listed({"$ref": "#/$defs/rule"}),
                "not-law": listed(
                    not_law, description="Bills and texts often taken for law that are none; they never bind."
                ),
                "examples": listed(example),
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
