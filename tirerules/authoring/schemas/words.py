"""What each word of a rule pack means, for the hover text and the completion list of an editor.

The words themselves stand in the vocabulary and in the model of packs; here they are only explained, in their order,
and a word without an explanation stops the schemas from being written. None of these sentences is a legal definition:
where a law defines a word, its definition counts, and the rule's note says where the two differ.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Final

from tirerules import vocabulary
from tirerules.authoring.schemas.parts import VERDICTS
from tirerules.packs import pack, rule
from tirerules.templates import filled
from tirerules.vocabulary import Activity

__all__ = [
    "ACTIVITIES",
    "AUTHORITIES",
    "CONDITIONS",
    "COVERAGE",
    "CURRENCY",
    "EVIDENCE",
    "GROOVES",
    "KINDS",
    "METHODS",
    "OUTCOMES",
    "QUESTIONS",
    "RELATIONS",
    "STEPS",
    "VERDICT",
]


def _explained(words: Iterable[str], meanings: Mapping[str, str]) -> Mapping[str, str]:
    """Return the meaning of each word. Raises KeyError where one has none."""
    return MappingProxyType({str(word): meanings[word] for word in words})


def _act(activity: Activity) -> str:
    implied = vocabulary.answering(activity)[1:]
    return _ACTS[activity] + (f" Rules on {' and '.join(implied)} bind here too." if implied else "")


_ACTS: Final[Mapping[Activity, str]] = MappingProxyType(
    {
        Activity.REPAIR: "Repairing an injury, so that the owner's own tire goes back on the road.",
        Activity.USED_TIRE_INSTALLATION: "Fitting a used tire to a vehicle.",
        Activity.USED_TIRE_SALE: "Selling a used tire.",
        Activity.TIRE_SALE: "Selling any tire at retail.",
        Activity.VEHICLE_SALE: "Selling a vehicle with the tires that are on it.",
        Activity.ROAD_USE: "Driving on the tire.",
        Activity.INSPECTION: "Passing the tire at an official inspection of the vehicle.",
    }
)
#: What a law regulates.
ACTIVITIES: Final = _explained(vocabulary.ACTIVITIES, {each: _act(each) for each in vocabulary.ACTIVITIES})

#: What a review found for an activity.
COVERAGE: Final = _explained(
    pack.COVERAGE,
    {
        "rules": "The law on it is in this pack.",
        "partial": "Some of the law is in this pack and some was not read; every answer says so.",
        "none-located": "Somebody looked and found no law on it; the baseline governs where it has rules.",
        "not-reviewed": "Nobody has looked: a notice for a repair, and nothing passes for any other activity.",
    },
)

#: What kind of pack it is.
KINDS: Final = _explained(
    pack.KINDS,
    {
        "baseline": "What the trade itself does; it stands under every place.",
        "country": "The federal law of a country.",
        "jurisdiction": "The law of one state, province or territory.",
        "company": "A company's own policy; it binds wherever it is loaded, and can only tighten.",
        "repair-material": "What a maker of repair material says; it binds wherever it is loaded.",
    },
)

#: Who says so.
AUTHORITIES: Final = _explained(
    vocabulary.AUTHORITIES,
    {
        "statute": "An act of a legislature. It is law: nothing extends its limits.",
        "regulation": "A rule that an agency made under an act. It is law: nothing extends its limits.",
        "inspection-manual": "The manual that official inspectors must follow. It is law: nothing extends its limits.",
        "standard": "A standard of a standards body.",
        "industry-practice": "What associations of the trade teach.",
        "maker": "The maker of the tire or of the repair material.",
        "company": "The company whose policy it is.",
    },
)

#: How a value was checked, best first.
EVIDENCE: Final = _explained(
    vocabulary.EVIDENCE,
    {
        "text-read": "The operative text, or a faithful copy of it, was read.",
        "secondary": "Another page describes the text; the text itself was not read. Every answer says so.",
        "memory": "Nothing was read. Every answer says so.",
    },
)

#: Whether a text is known to be in force still.
CURRENCY: Final = _explained(
    ("confirmed", "unconfirmed"),
    {
        "confirmed": "Somebody confirmed that the text is in force.",
        "unconfirmed": "Nobody confirmed that the text is still in force. Every answer says so.",
    },
)

#: What became of a text that is no law.
OUTCOMES: Final = _explained(
    pack.OUTCOMES,
    {
        "died": "It ended without being passed.",
        "vetoed": "It was passed and vetoed.",
        "withdrawn": "Those who brought it in took it back.",
        "proposed": "It is still only a proposal.",
        "superseded": "Another text took its place.",
        "not-adopted": "It never took effect; how it ended is not recorded more closely.",
    },
)

#: How a limit compares, with what happens exactly on the figure.
RELATIONS: Final = _explained(
    rule.RELATIONS,
    {
        "at-most": "A ceiling; exactly on the figure passes. For a text that says: larger than this is unsafe.",
        "less-than": "A ceiling; exactly on the figure fails. For a text that says: this or larger is unsafe.",
        "at-least": "A floor; exactly on the figure passes. For a text that says: less than this is unsafe.",
        "more-than": "A floor; exactly on the figure fails. For a text that says: this or less is unsafe.",
    },
)

#: Where a condition on something that has an order holds.
CONDITIONS: Final = _explained(
    rule.RELATIONS,
    {
        "at-most": "Up to this, itself included.",
        "less-than": "Below this.",
        "at-least": "From this on, itself included.",
        "more-than": "Above this.",
    },
)

#: How a tire is repaired, or was.
METHODS: Final = _explained(
    vocabulary.METHODS,
    {
        "one-piece": "A combination unit: stem and patch in one.",
        "two-piece": "A stem in the channel and a patch over it, put in one after the other.",
        "section": "A section repair, at a full-service facility.",
        "plug-only": "A plug without a patch on the inside; rules forbid it.",
        "patch-only": "A patch with the channel left unfilled; rules forbid it.",
        "boot": "A reinforcement laid over the damage; rules forbid it.",
        "temporary-sealant": "Sealant to drive on to a shop; rules forbid it as a repair.",
    },
)

#: Which grooves must all be too shallow before a law calls the tire worn.
GROOVES: Final = _explained(
    vocabulary.GROOVES,
    {
        "any-one": "One groove that is too shallow is enough, whichever it is.",
        "any-two": "Two grooves must be too shallow, wherever they lie.",
        "two-adjacent": "Two grooves side by side must be too shallow.",
        "center": "Only the groove nearest the center line counts.",
        "every": "All grooves must be too shallow.",
    },
)

#: How a case ends.
VERDICT: Final = _explained(
    VERDICTS,
    {
        "within-limits": "The tire passes every rule that applies or may apply.",
        "outside-limits": "The tire surely fails a rule that surely applies.",
        "undetermined": "Anything else: a fact is missing, or nothing speaks to the matter.",
    },
)

#: What must be done, as a person is told.
STEPS: Final = {step: filled(f"step.{step}", {}) for step in vocabulary.STEPS}

#: Every fact, by the question that asks a person for it.
QUESTIONS: Final[Mapping[str, str]] = MappingProxyType({name: fact.question for name, fact in vocabulary.FACTS.items()})
