"""The schema of a rule pack, written out from the vocabulary.

It serves two readers: the library, which refuses a pack by it, and the language server of an editor, which completes
and explains by it. What is there for the second alone demands nothing: titles, descriptions, and an `anyOf` with `{}`.
"""

from __future__ import annotations

from typing import Final

from tirerules.authoring.schemas import words
from tirerules.authoring.schemas.case import case_body
from tirerules.authoring.schemas.finishing import finished
from tirerules.authoring.schemas.parts import (
    DATE,
    FORMAT,
    Json,
    advice,
    block,
    head,
    listed,
    one_of,
    partial,
    text,
    titled,
    unprompted,
)
from tirerules.authoring.schemas.rule import relative_schema, rule_schema
from tirerules.packs.versions import MAX_DIGITS
from tirerules.quantities import EXAMPLES, PATTERN
from tirerules.vocabulary import Dimension

__all__ = ["rulepack_schema"]


#: One number of a version: without a bound, a number could be longer than Python converts.
_NUMBER: Final = f"(0|[1-9][0-9]{{0,{MAX_DIGITS - 1}}})"
#: More than one example of each, so that completing a key never writes a figure of a law by itself.
_MORE_EXAMPLES: Final = {Dimension.ANGLE: ["12.5 deg"], Dimension.TIME: ["18 months"]}


def rulepack_schema() -> Json:
    """The schema of a rule pack."""
    source = block(
        {
            "citation": text("Section and title, as a lawyer would cite it."),
            "url": {"type": "string", "pattern": "^https?://", "description": "A public copy of the text itself."},
            "authority": one_of(words.AUTHORITIES, "Who says so."),
            "evidence": one_of(
                words.EVIDENCE, "How the value was checked: the operative text read, described elsewhere, or memory."
            ),
            "read": unprompted(DATE, "The day the text was read, as YYYY-MM-DD."),
            "currency": one_of(
                words.CURRENCY, "Whether the text is known to be in force still; left out: it was confirmed."
            ),
            "note": text("What was read, where and in which edition."),
        },
        ("citation", "authority", "evidence"),
        title="source",
    )
    not_law = block(
        {
            "title": text("The bill or text, by its number."),
            "outcome": one_of(words.OUTCOMES, "What became of it."),
            "would-have-set": text("What it would have set, in our own words."),
            "year": {"type": "integer", "description": "The year of its outcome."},
            "url": {"type": "string", "pattern": "^https?://", "description": "Where the text can be read."},
        },
        ("title", "outcome", "would-have-set"),
        title="text that is no law",
    )
    example = block(
        {
            "case": {
                "type": "object",
                "description": (
                    "A case, as in case.schema.json, laid over what is `given`; null takes a given fact away. Without "
                    "jurisdictions it is asked about this pack's."
                ),
                "anyOf": [{}, {"properties": advice(case_body())["properties"]}],
            },
            "expect": block(
                {
                    "verdict": one_of(words.VERDICT, "How the case ends."),
                    "because": listed(text("A rule of this pack, or `pack/rule`."), minItems=1),
                    "not-because": listed(text("A rule that must not be among those that decide."), minItems=1),
                    "methods": block(
                        {method: one_of(words.VERDICT, said) for method, said in words.METHODS.items()},
                        description="How the case ends by each repair method.",
                    ),
                    "questions": listed(
                        one_of(words.QUESTIONS), description="What the answer must ask for, most decisive first."
                    ),
                    "steps": listed(
                        one_of(words.STEPS), description="All that must be done, in the order in which it is told."
                    ),
                },
                ("verdict",),
                description="What the library must answer.",
            ),
        },
        ("case", "expect"),
        title="example",
    )
    schema: Json = {
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
                    pattern=rf"^{_NUMBER}\.{_NUMBER}\.{_NUMBER}$",
                    examples=["1.0.0"],
                ),
                "engine": text("The library versions that can evaluate the pack.", examples=[">=1,<2"]),
                "kind": one_of(words.KINDS, "What the pack is."),
                "title": text("The name people use."),
                "reviewed": unprompted(DATE, "The day a person last reviewed the pack, as YYYY-MM-DD."),
                "coverage": {
                    **block(
                        {activity: one_of(words.COVERAGE, said) for activity, said in words.ACTIVITIES.items()},
                        minProperties=1,
                    ),
                    "description": "What the review found for each activity; one that is missing was not reviewed.",
                },
                "notes": listed(
                    text("Conflicts, ambiguities and gaps, in plain words."), description="What a reader must know."
                ),
                "sources": {
                    "type": "object",
                    "description": "The texts that the rules rest on, by a key of your choice.",
                    "propertyNames": {
                        "pattern": "^[a-z0-9]+(-[a-z0-9]+)*$",
                        "title": "code-section",
                        "description": "The key by which rules name the source: small letters, digits and -.",
                    },
                    "additionalProperties": source,
                },
                "rules": listed({"$ref": "#/$defs/rule"}, description="The rules; their order does not matter."),
                "not-law": listed(
                    not_law, description="Bills and texts often taken for law that are none; they never bind."
                ),
                "given": {
                    **partial(case_body()),
                    "description": "Part of a case: the facts that hold in every example, unless it says otherwise.",
                },
                "examples": listed(
                    example, description="Invented tires; `tirerules check` decides each and compares the answers."
                ),
            },
            ("format", "pack", "version", "engine", "kind", "title", "reviewed", "coverage", "sources", "rules"),
        ),
        "$defs": {
            "rule": rule_schema(),
            "relative": relative_schema(),
            **{
                dimension: {
                    "type": "string",
                    "pattern": PATTERN,
                    "examples": [*shown.replace('"', "").split(" or "), *_MORE_EXAMPLES.get(dimension, ())],
                }
                for dimension, shown in EXAMPLES.items()
            },
        },
    }
    titles: Json = titled(schema)
    return finished(titles)
