"""How a rule can be wrong: one table, kind of mutation -> what makes its mutants from one rule.

A mutant differs from the rule that the pack states in one place, as a slip in reading or writing the law would leave
it. What adds a word or an act adds the most harmful: words that a permission lets through, one more exemption (of the
most ordinary tire that the rule still binds), an act whose law was read and on which the fewest rules say the like, so
that the added one decides, and can close a gap that kept the place from answering.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from types import MappingProxyType
from typing import Final

from tirerules.authoring.mutation.steps import moved_ends, stepped, stepped_exact, stepped_relative
from tirerules.authoring.vectors.starting import ordinary
from tirerules.packs.pack import Pack
from tirerules.packs.rule import Condition, Disqualify, Limit, Permit, Prohibit, Relative, Require, Rule
from tirerules.quantities import Quantity
from tirerules.strictest.bounds import Ceiling, Floor, Strictest
from tirerules.values import replace
from tirerules.vocabulary import ACTIVITIES, FACTS, Activity, Kind, answering

__all__ = ["KINDS", "Mutant", "Place", "mutants_of"]

_FLIPPED: Final[Mapping[str, str]] = MappingProxyType(
    {"at-most": "less-than", "less-than": "at-most", "at-least": "more-than", "more-than": "at-least"}
)


@dataclass(frozen=True, slots=True)
class Mutant:
    """One rule of a pack, changed in one place; `changed` is None where it is removed."""

    kind: str
    what: str
    rule: Rule
    changed: Rule | None

    def __str__(self) -> str:
        """Return the name, which stays as long as the rule says the same: the rule, the kind, what is changed."""
        return f"{self.rule.name} {self.kind} {self.what}".rstrip()


@dataclass(frozen=True, slots=True)
class Place:
    """Where a rule stands: its own pack, and all rules that answer there with it."""

    pack: Pack
    rules: Sequence[Rule]


#: What is changed, and the rule as it then reads.
Changed = Iterator[tuple[str, Rule | None]]
#: Makes the mutants of one kind from a rule and where it stands.
Operator = Callable[[Rule, Place], Changed]


def mutants_of(place: Place) -> Iterator[Mutant]:
    """Yield every mutant of every rule of a pack."""
    for rule in place.pack.rules:
        for kind, (operator, _) in KINDS.items():
            for what, changed in operator(rule, place):
                yield Mutant(kind, what, rule, changed)


def _with_condition(rule: Rule, at: int, test: Strictest, how: str) -> Rule:
    condition = replace(rule.conditions[at], test=test, text=f"{rule.conditions[at].text} ({how})")
    return replace(rule, conditions=(*rule.conditions[:at], condition, *rule.conditions[at + 1 :]))


def _ends(condition: Condition) -> Iterator[tuple[str, Ceiling | Floor]]:
    for name, end in (("from", condition.test.floor), ("to", condition.test.ceiling)):
        if end is not None:
            yield name, end


def _with_end(rule: Rule, at: int, end: Ceiling | Floor, how: str) -> Rule:
    test = rule.conditions[at].test
    test = replace(test, ceiling=end) if isinstance(end, Ceiling) else replace(test, floor=end)
    return _with_condition(rule, at, test, how)


# --- figures ----------------------------------------------------------------------------------------------------------


def _bound(rule: Rule, _: Place) -> Changed:
    if isinstance(rule.body, Limit):
        other = _FLIPPED[rule.body.relation]
        yield f"{rule.body.relation} to {other}", replace(rule, body=replace(rule.body, relation=other))
    for at, condition in enumerate(rule.conditions):
        for name, end in _ends(condition):
            how = f"{condition.fact} {name} {'excluded' if end.inclusive else 'included'}"
            yield how, _with_end(rule, at, replace(end, inclusive=not end.inclusive), how)


def _up(rule: Rule, _: Place) -> Changed:
    return _figures(rule, 1)


def _down(rule: Rule, _: Place) -> Changed:
    return _figures(rule, -1)


def _figures(rule: Rule, step: int) -> Changed:
    body = rule.body
    if isinstance(body, Limit) and isinstance(body.value, Relative):
        for length in stepped_relative(body.value, step):
            yield f"{body.fact} {length.text}", replace(rule, body=replace(body, value=length))
    elif isinstance(body, Limit) and isinstance(body.value, (Quantity, int)):
        value = stepped(body.value, step)
        if value is not None:
            yield f"{body.value} to {value}", replace(rule, body=replace(body, value=value))
        if body.also is not None and isinstance(also := stepped(body.also, step), Quantity):
            yield f"{body.also} to {also}", replace(rule, body=replace(body, also=also))
    if rule.up_to is not None and isinstance(up_to := stepped(rule.up_to, step), Quantity):
        yield f"up to {rule.up_to} to {up_to}", replace(rule, up_to=up_to)
    for at, condition in enumerate(rule.conditions):
        fact = FACTS[condition.fact]
        for name, end in _ends(condition):
            moved = stepped_exact(end.value, fact.dimension, step)
            if moved is not None:
                how = f"{fact.name} {name} {moved[1]}"
                yield how, _with_end(rule, at, type(end).of(moved[0], end.inclusive), how)
        for reads, words in _range(condition, step) or ():
            how = f"{fact.name} {reads}"
            yield how, _with_condition(rule, at, Strictest(permitted=words), how)


def _range(condition: Condition, step: int) -> list[tuple[str, frozenset[str]]] | None:
    """Return a range of words with an end moved; None where the condition is no range of an ordered list."""
    fact, words = FACTS[condition.fact], condition.test.permitted
    return moved_ends(words, fact.values, step) if fact.kind is Kind.SCALE and words else None


# --- what it speaks of ------------------------------------------------------------------------------------------------


def _condition(rule: Rule, _: Place) -> Changed:
    for at, condition in enumerate(rule.conditions):
        yield condition.text, replace(rule, conditions=(*rule.conditions[:at], *rule.conditions[at + 1 :]))


def _word(rule: Rule, _: Place) -> Changed:
    body = rule.body
    if isinstance(body, (Permit, Prohibit, Disqualify)) and len(body.values) > 1:
        for word in body.values:
            yield word, replace(rule, body=replace(body, values=tuple(each for each in body.values if each != word)))
    for at, condition in enumerate(rule.conditions):
        test = condition.test
        excluding = test.permitted is None
        words = test.prohibited if excluding else test.permitted
        if not words or len(words) == 1 or _range(condition, 1) is not None:
            continue
        for word in sorted(words):
            left = words - {word}
            how = f"{condition.fact} {word}"
            yield (
                how,
                _with_condition(
                    rule, at, replace(test, prohibited=left) if excluding else replace(test, permitted=left), how
                ),
            )


def _act(rule: Rule, _: Place) -> Changed:
    if len(rule.activities) > 1:
        for activity in sorted(rule.activities):
            yield activity, replace(rule, activities=rule.activities - {activity})


def _date(rule: Rule, _: Place) -> Changed:
    for name, day in (("start", rule.start), ("end", rule.end)):
        for step in (-1, 1):
            if day is not None and date.min < day < date.max:
                moved = day + timedelta(days=step)
                changed = replace(rule, start=moved) if name == "start" else replace(rule, end=moved)
                yield f"{name} {day} to {moved}", changed


def _rule(rule: Rule, _: Place) -> Changed:
    yield "", None


# --- the most harmful additions ---------------------------------------------------------------------------------------


def _word_added(rule: Rule, _: Place) -> Changed:
    body = rule.body
    if isinstance(body, Permit):
        for word in FACTS[body.fact].values:
            if word not in body.values:
                yield word, replace(rule, body=replace(body, values=(*body.values, word)))
    for at, condition in enumerate(rule.conditions):
        if condition.negated or not condition.test.prohibited:
            continue
        word = _most_ordinary(rule, condition)
        if word:
            how = f"{condition.fact} {word}"
            test = replace(condition.test, prohibited=condition.test.prohibited | {word})
            yield how, _with_condition(rule, at, test, how)


def _most_ordinary(rule: Rule, condition: Condition) -> str:
    """Return a word that a condition does not exclude: that of the most ordinary tire for the rule, else the first."""
    fact = FACTS[condition.fact]
    usual = (tire[fact.name] for tire in ordinary(rule) if fact.name in tire)
    words = (word for word in (*usual, *fact.values) if word not in condition.test.prohibited)
    return next(words, "")


def _act_added(rule: Rule, place: Place) -> Changed:
    def harm(activity: Activity) -> tuple[bool, int, int]:
        speaking = [each for each in place.rules if each.activities & set(answering(activity))]
        alike = sum(1 for each in speaking if _fact(each) == _fact(rule))
        return place.pack.covers(activity) == "not-reviewed", alike, len(speaking)

    # A method is judged for repairs alone.
    acts = (Activity.REPAIR,) if "method" in rule.groups else ACTIVITIES
    silent = [each for each in acts if not rule.activities & set(answering(each))]
    if silent:
        activity = min(silent, key=harm)
        yield activity, replace(rule, activities=rule.activities | {activity})


def _fact(rule: Rule) -> str:
    return "" if isinstance(rule.body, Require) else rule.body.fact


#: Kind -> what makes its mutants, and what a mutant of that kind is.
KINDS: Final[Mapping[str, tuple[Operator, str]]] = MappingProxyType(
    {
        "bound": (_bound, "a figure itself is let through where it was not, or the other way around"),
        "figure-up": (_up, "a figure is a step higher"),
        "figure-down": (_down, "a figure is a step lower"),
        "condition": (_condition, "a condition is dropped"),
        "word": (_word, "a word is dropped from a list of a condition or of what the rule says"),
        "act": (_act, "an act is dropped"),
        "date": (_date, "a recorded day is a day earlier or later"),
        "rule": (_rule, "the rule is removed"),
        "word-added": (_word_added, "a permission or an exemption has one more word"),
        "act-added": (_act_added, "the rule regulates one more act"),
    }
)
