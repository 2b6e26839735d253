"""What decides whether a rule applies, varied: its conditions word by word, its dates, the activities it answers for.

Most are cases in which the body of the rule is violated, so that whether the rule applies can be seen.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from tirerules.authoring.vectors.bodies import Varied, around, left_out
from tirerules.authoring.vectors.cases import Json, with_fact
from tirerules.authoring.vectors.figures import straddling
from tirerules.authoring.vectors.starting import spoken, words_of
from tirerules.packs.rule import Condition, Rule
from tirerules.vocabulary import ACTIVITIES, FACTS, Activity, Fact, Kind, answering

__all__ = ["of_conditions", "of_dates", "other_activities"]


def of_conditions(rule: Rule, start: Json, violated: Json) -> Varied:
    """Yield, for each condition of `rule`, each word it names, words outside it, its ends, and the fact left out.

    Left out, the fact is asked for where the body is violated, and not where it is met.
    """
    for condition in rule.conditions:
        fact = FACTS[condition.fact]
        prefix = f"when-{fact.name}"
        if fact.kind is Kind.SET:
            yield from _findings(prefix, condition, violated)
        elif fact.limitable:
            yield from _span(prefix, condition, fact, violated)
        else:
            for word in _words(condition, fact):
                case = with_fact(violated, fact.name, spoken(fact, word))
                assert case is not None  # INVARIANT: a word can always be stated
                yield f"{prefix}-{word}", case
        yield from left_out(f"{prefix}-unknown", violated, fact.name)
        yield from left_out(f"{prefix}-unknown-but-met", start, fact.name)


def _words(condition: Condition, fact: Fact) -> Iterator[str]:
    """Yield every word that a condition names, and one word that it does not; of a scale, the next on either side."""
    inside = words_of(fact.name, condition.test)
    named = tuple(sorted(condition.test.prohibited, key=fact.values.index)) or inside
    yield from named
    others = [word for word in fact.values if word not in named]
    if fact.kind is Kind.SCALE:
        places = [fact.values.index(word) for word in named]
        yield from (word for word in others if fact.values.index(word) in (min(places) - 1, max(places) + 1))
    else:
        yield from others[:1]


def _findings(prefix: str, condition: Condition, violated: Json) -> Varied:
    named = [finding for finding in FACTS[condition.fact].values if finding in condition.test.prohibited]
    found = [finding for finding in violated["findings"] if finding not in named]
    for finding in named:
        yield f"{prefix}-{finding}", {**violated, "findings": sorted({*found, finding})}
    if "tire.crack_depth" not in {f"tire.{key}" for key in violated["tire"]} or "weather-cracking" not in named:
        yield f"{prefix}-none", {**violated, "findings": found}


def _span(prefix: str, condition: Condition, fact: Fact, violated: Json) -> Varied:
    for end, bound in (("from", condition.test.floor), ("to", condition.test.ceiling)):
        if bound is None:
            continue
        values = [*around(bound.value, fact.dimension)]
        if fact.dimension is not None and (both := straddling(bound.value, fact.dimension)):
            values.append(("straddling", both))
        for where, value in values:
            case = with_fact(violated, fact.name, value)
            if case is not None:
                yield f"{prefix}-{end}/{where}", case


def of_dates(rule: Rule, violated: Json) -> Varied:
    """Yield the last day before each date of `rule` and that day itself, on which it starts or no longer binds."""
    for name, day in (("from", rule.start), ("until", rule.end)):
        if day is None:
            continue
        if day > date.min:
            yield f"{name}/day-before", {**violated, "on": (day - timedelta(days=1)).isoformat()}
        yield f"{name}/day", {**violated, "on": day.isoformat()}


def other_activities(rule: Rule) -> Iterator[Activity]:
    """Yield the activities that answer to `rule` because they imply one of its own, and one that does not."""
    others = [activity for activity in ACTIVITIES if activity not in rule.activities]
    implying = [activity for activity in others if rule.activities & set(answering(activity))]
    yield from implying
    yield from [activity for activity in others if activity not in implying][:1]
