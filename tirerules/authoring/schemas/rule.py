"""The schema of one rule, written out from the vocabulary: its conditions, its body and what stands beside them."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from tirerules.authoring.schemas import words
from tirerules.authoring.schemas.parts import DATE, PART, SLUG, Json, block, listed, one_of, part, text, unprompted
from tirerules.packs.rule import RELATIONS
from tirerules.vocabulary import FACTS, FINDINGS, PLACES, Fact, Kind

__all__ = ["relative_schema", "rule_schema"]


def _figure(fact: Fact) -> Json:
    """One figure that a rule states for `fact`."""
    if fact.kind is Kind.COUNT:
        return {"type": "integer", "minimum": 0, "examples": [1, 2]}
    assert fact.dimension is not None  # INVARIANT: a limitable fact is a count or has a dimension
    return {"$ref": f"#/$defs/{fact.dimension}"}


def _word(fact: Fact) -> Json:
    """One word of a fact; facts with the same words share a part."""
    if fact.kind is Kind.FLAG:
        return {"type": "boolean"}
    return part(f"word-of-{_named_by(fact)}", {"type": "string", "enum": list(fact.values)})


def _named_by(fact: Fact) -> str:
    """Return what the parts of a fact are named by: injuries and earlier repairs share their words."""
    name = "flag" if fact.kind is Kind.FLAG else fact.key if fact.group in ("injury", "repair", "") else fact.name
    return name.replace(".", "-").replace("_", "-")


def _about(meanings: Mapping[str, str], word: str) -> Json:
    return {"description": meanings[word]} if word in meanings else {}


def _condition(fact: Fact) -> Json:
    """A test of one fact. Told apart by the value's type, so that a mistake gets a message of its own."""
    if fact.ordered:
        figure = {"type": "string", "enum": list(fact.values)} if fact.kind is Kind.SCALE else _figure(fact)
        # A bare reference is explained where it leads; beside a description an editor would lose its type.
        told = {} if "$ref" in figure else words.CONDITIONS
        span = block({name: {**figure, **_about(told, name)} for name in RELATIONS}, minProperties=1)
        if fact.kind is not Kind.SCALE:
            return {**span, "description": fact.question}
    word = _word(fact)
    alone: Json = {"if": {"type": "array"}, "then": listed(word, minItems=1, uniqueItems=True), "else": word}
    # An editor looks for the words of a key in `anyOf`, and not behind `if`.
    alone["anyOf"] = [{}, word]
    inner = {"not": {**alone, "description": "Every value but these."}}
    shape = block({**(span["properties"] if fact.kind is Kind.SCALE else {}), **inner}, minProperties=1)
    return {"description": fact.question, "if": {"type": "object"}, "then": shape, "else": alone, "anyOf": [{}, word]}


def _dual(fact: Fact) -> Json:
    figure = _figure(fact)
    dual = block(
        {
            "value": unprompted(figure, "The figure as enacted."),
            "also-printed": unprompted(figure, "The figure that the text prints beside it, in another unit."),
        },
        ("value", "also-printed"),
        title="two figures",
        description="Two figures printed for one limit; the stricter binds, unless a case asks for the first.",
    )
    return part(f"two-figures-{fact.dimension}", dual)


def _limit(fact: Fact) -> Json:
    """A limit on a fact; facts of one dimension that are limited alike share a part."""
    figure, name = _figure(fact), str(fact.dimension or fact.kind)
    if fact.kind is Kind.QUANTITY:
        shape = _dual(fact)
        if fact.name in ("injury.reach", "repair.reach"):
            shape, name = (
                {
                    "if": {"properties": {"half-of": {}}, "required": ["half-of"]},
                    "then": {"$ref": "#/$defs/relative"},
                    "else": shape,
                },
                "band",
            )
        figure = {"if": {"type": "object"}, "then": shape, "else": figure, "anyOf": [{}]}
    relations = {relation: {**figure, "description": meaning} for relation, meaning in words.RELATIONS.items()}
    properties: Json = {"fact": {}, **relations}
    if fact.name == "tire.tread_depth":
        name = "tread-depth"
        properties["counted"] = block(
            {
                "grooves": one_of(words.GROOVES, "Which grooves."),
                "places": {"enum": list(PLACES), "description": "At how many places, equally spaced; left out: one."},
            },
            ("grooves",),
            description="Which grooves, at how many places around the tire, must all be too shallow; "
            "left out: the smallest reading anywhere counts.",
        )
    return part(f"limit-on-{name}", block(properties, ("fact",)))


def relative_schema() -> Json:
    """The schema of a length that follows from the tire."""
    form = r"^([0-9]{1,4}/[1-9][0-9]{0,3}|[0-9]{1,3}(\.[0-9]{1,4})? ?%)$"
    share = {"type": "string", "pattern": form, "examples": ["3/4", "70 %"]}
    length = {"$ref": "#/$defs/length"}
    step = block(
        {
            "through": unprompted(length, "Up to and including this width; the last step has none."),
            "share": {**share, "description": "The central share."},
        },
        ("share",),
    )
    widths = ("tire.tread_width", "tire.section_width", "tire.belt_width")
    return block(
        {
            "half-of": one_of(
                {width: words.QUESTIONS[width] for width in widths},
                "The measure of the tire that the band is drawn on.",
            ),
            "share": {
                "if": {"type": "array"},
                "then": listed(step, minItems=1),
                "else": share,
                "anyOf": [{}],
                "description": "The central share of it, or steps by its size.",
            },
            "inset": unprompted(length, "How far in from each edge."),
        },
        ("half-of",),
        title="band",
        description="A length that follows from the tire: half of a central share of its width, less an inset.",
    )


def _choice(fact: Fact) -> Json:
    """Some values of a fact; facts with the same words share a part."""
    values = listed(_word(fact), minItems=1, uniqueItems=True)
    shape = block({"fact": {}, "values": values}, ("fact", "values"))
    return part(f"values-of-{_named_by(fact)}", shape)


def _by_fact(facts: list[Fact], shape: Callable[[Fact], Json], description: str) -> Json:
    """A body that names its fact: the shape of the rest follows from which fact it is."""
    named = one_of({fact.name: fact.question for fact in facts}, "The fact that is judged.")
    alike: dict[str, tuple[Json, list[str]]] = {}
    for fact in facts:
        made = shape(fact)
        alike.setdefault(made[PART], (made, []))[1].append(fact.name)
    return {
        "type": "object",
        "description": description,
        "required": ["fact"],
        "properties": {"fact": named},
        "allOf": [
            {"if": {"properties": {"fact": {"enum": names}}, "required": ["fact"]}, "then": made}
            for made, names in alike.values()
        ],
    }


def rule_schema() -> Json:
    """The schema of one rule; it refers to the forms under `$defs`, and to `relative`."""
    limitable = [fact for fact in FACTS.values() if fact.limitable]
    choosable = [fact for fact in FACTS.values() if fact.choosable]
    return block(
        {
            "id": text("The rule's name within the pack; never reused for another rule.", pattern=SLUG),
            "says": text("The rule in one plain sentence of our own words."),
            "activity": listed(
                one_of(words.ACTIVITIES), minItems=1, uniqueItems=True, description="What the rule regulates."
            ),
            "when": {
                **block({fact.name: _condition(fact) for fact in FACTS.values() if fact.testable}, minProperties=1),
                "description": "The rule applies where every condition holds.",
            },
            "limit": _by_fact(limitable, _limit, "A ceiling or a floor; figures as the source prints them."),
            "permit": _by_fact(choosable, _choice, "No value but these."),
            "prohibit": _by_fact(choosable, _choice, "None of these values."),
            "disqualify": block(
                {
                    "findings": listed(
                        one_of(FINDINGS), minItems=1, uniqueItems=True, description="Any one of these is enough."
                    )
                },
                ("findings",),
                description="Findings that put the tire out.",
            ),
            "require": block(
                {
                    "steps": listed(
                        one_of(words.STEPS), minItems=1, uniqueItems=True, description="All of these, in any order."
                    )
                },
                ("steps",),
                description="What must be done if the answer is to hold.",
            ),
            "extendable": block(
                {
                    "up-to": unprompted({"$ref": "#/$defs/angle"}, "The most that any documented rating counts for."),
                    "by": {"const": "repair-material", "description": "Whose document may extend it."},
                },
                ("up-to", "by"),
                description="How far the documented rating of a repair unit may extend this limit; never for a law.",
            ),
            "contradicts": {
                "const": "worn-to-indicators",
                "description": "A tire below this limit contradicts an inspection that did not record this finding.",
            },
            "source": text("The key of one entry under `sources`."),
            "in-force": block(
                {
                    "from": unprompted(
                        {
                            "type": "string",
                            "pattern": "^([0-9]{4}-[0-9]{2}-[0-9]{2}|unknown)$",
                            "examples": DATE["examples"],
                        },
                        "The first day in force, as YYYY-MM-DD, or unknown.",
                    ),
                    "until": unprompted(DATE, "The first day that it is no longer in force, as YYYY-MM-DD."),
                },
                description="First day in force (`unknown`: it binds on every day), and the first day it no longer is.",
            ),
            "note": text("Doubts, conflicting sources and readings, in plain words."),
        },
        ("id", "says", "activity", "source"),
    )
