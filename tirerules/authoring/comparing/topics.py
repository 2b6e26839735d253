"""What rules demand, split into topics that are compared each by itself.

Rules are split by what they demand: a ceiling on a fact, a floor, its values, disqualifying findings, steps. Nothing
that one topic gains can make up for what another loses.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from tirerules.packs.rule import Condition, Disqualify, Limit, Permit, Relative, Require, Rule
from tirerules.quantities import Quantity
from tirerules.values import replace
from tirerules.vocabulary import CURED_BY_REPAIR, FACTS, Activity, Kind, answering

__all__ = ["Channel", "Clause", "Sort", "Topic", "channels", "clauses_by_topic", "in_force"]


class Sort(StrEnum):
    """What sort of demand it is."""

    CEILING = "ceiling"
    FLOOR = "floor"
    VALUES = "values"
    FINDINGS = "findings"
    STEPS = "steps"
    #: The findings that some rule speaks to by its conditions; one that none speaks to leaves a case undetermined.
    JUDGED = "judged"
    #: Whether the size of an injury, or tread, is limited at all; where it is not, a case is undetermined.
    LIMITED = "limited"

    @property
    def settles(self) -> bool:
        """Whether it is about what leaves a case undetermined, and not about what is allowed."""
        return self in (Sort.JUDGED, Sort.LIMITED)


@dataclass(frozen=True, slots=True, order=True)
class Topic:
    """What is compared by itself: no other topic can make up for what this one gains or loses."""

    channel: str
    fact: str
    sort: Sort
    of: str = ""  #: the measure of the tire that a relative limit follows from, or the finding that a floor contradicts

    @property
    def subject(self) -> str:
        """What is limited, in the words of packs."""
        return "requirements" if self.sort is Sort.STEPS else self.fact


@dataclass(frozen=True, slots=True)
class Clause:
    """What one rule demands on one topic. Two that are equal mean the same, whatever they are called."""

    conditions: frozenset[Condition]  #: without their texts
    body: Limit | frozenset[str]  #: the limit, the admitted values, the disqualifying findings or the steps
    up_to: Quantity | None
    start: date | None
    end: date | None
    rule: Rule = field(compare=False)


def in_force(clause: Clause, since: date | None) -> bool:
    """Whether a clause binds in the period that begins on the day `since` (None: before every day that is named)."""
    started = clause.start is None or (since is not None and clause.start <= since)
    return started and (clause.end is None or since is None or since < clause.end)


# --- channels: whose rules count together -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Channel:
    """A way in which rules bind a case: as those of its own activity, or through an activity that it implies."""

    name: str
    own: frozenset[Activity]
    implied: frozenset[Activity] = frozenset()  #: their rules count too, as the engine sees them under a repair

    def clauses(self, rule: Rule) -> Iterator[tuple[Topic, Clause]]:
        """Yield what `rule` demands through this channel."""
        if rule.activities & self.own:
            yield from _clauses(self.name, rule, cured=False)
        elif rule.activities & self.implied:
            yield from _clauses(self.name, rule, cured=True)


def channels(rules: Iterable[Rule]) -> Iterator[Channel]:
    """Yield the channels in which `rules` must be compared: every activity, and where it matters what a repair implies.

    An activity other than a repair is compared by all rules that it answers to, after those that it implies. A rule
    that names both a repair and what it implies counts once, as the repair's own: it then sees an embedded object. Only
    where there are such rules can that differ from what the activities say by themselves. (The repair that is being
    made is judged by the rules on what it leads to, which are compared as those of that activity.)
    """
    for activity in sorted(Activity, key=lambda each: len(answering(each))):
        repairing = activity == Activity.REPAIR
        yield Channel(activity, frozenset({activity} if repairing else answering(activity)))
    own, implied = frozenset({Activity.REPAIR}), frozenset(answering(Activity.REPAIR)[1:])
    if any(rule.activities & own and rule.activities & implied for rule in rules):
        yield Channel("repair, with what it leads to", own, implied)


def clauses_by_topic(rules: Iterable[Rule], channel: Channel) -> dict[Topic, tuple[Clause, ...]]:
    """Return what `rules` demand through `channel`, topic by topic, in the order of their names."""
    found: dict[Topic, list[Clause]] = {}
    for rule in sorted(rules, key=lambda each: each.name):
        for topic, clause in channel.clauses(rule):
            found.setdefault(topic, []).append(clause)
    return {topic: tuple(clauses) for topic, clauses in found.items()}


def _clauses(channel: str, rule: Rule, *, cured: bool) -> Iterator[tuple[Topic, Clause]]:
    conditions = _conditions(rule, cured)
    if conditions is None:
        return
    # A unit's rating moves a limit only where the method is known, which a rule that does not read it never asks for.
    up_to = rule.up_to if "method" in rule.groups else None
    for topic, body in _topics(channel, rule, cured):
        yield topic, Clause(conditions, body, up_to, rule.start, rule.end, rule)
    if rule.overlay:
        return  # a caller's own pack settles nothing
    for fact in _limited(channel, rule):
        words = frozenset({"limited"})
        yield Topic(channel, fact, Sort.LIMITED), Clause(conditions, words, None, rule.start, rule.end, rule)
    for condition in conditions:
        if condition.negated:
            yield (
                Topic(channel, condition.fact, Sort.JUDGED),
                Clause(conditions - {condition}, condition.test.prohibited, None, rule.start, rule.end, rule),
            )


def _limited(channel: str, rule: Rule) -> Iterator[str]:
    """Yield what must be limited before a case can pass, and is by `rule`, as the engine looks for gaps.

    That is an injury's size where it is to be repaired, and tread for other acts.
    """
    body, repairing = rule.body, channel.startswith(Activity.REPAIR)
    if isinstance(body, Limit) and not rule.contradicts:
        size = body.fact == "injury.diameter" and body.ceiling and (repairing or channel == Activity.ROAD_USE)
        tread = body.fact == "tire.tread_depth" and not body.ceiling and not repairing
        if size or tread:
            yield body.fact


def _conditions(rule: Rule, cured: bool) -> frozenset[Condition] | None:
    """Return the conditions without their texts; None where the rule can never apply.

    Under a repair an implied rule does not see the findings that the repair removes.
    """
    found: list[Condition] = []
    for condition in rule.conditions:
        test = condition.test
        if cured and FACTS[condition.fact].kind is Kind.SET:
            test = replace(test, prohibited=test.prohibited - CURED_BY_REPAIR)
            if not test.prohibited:
                if condition.negated:
                    return None
                continue
        found.append(replace(condition, test=test, text=""))
    return frozenset(found)


def _topics(channel: str, rule: Rule, cured: bool) -> Iterator[tuple[Topic, Limit | frozenset[str]]]:
    match rule.body:
        case Limit(fact=fact, value=value) as body:
            sort = Sort.CEILING if body.ceiling else Sort.FLOOR
            # What a rule that contradicts a finding demands leaves a case open; no floor that bars makes up for it.
            of = value.of if isinstance(value, Relative) else rule.contradicts
            yield Topic(channel, fact, sort, of), _plain(body)
        case Disqualify(values=values, fact=fact):
            words = frozenset(values) - (CURED_BY_REPAIR if cured else frozenset())
            if words:
                yield Topic(channel, fact, Sort.FINDINGS), words
        case Require(steps=steps):
            yield Topic(channel, "", Sort.STEPS), frozenset(steps)
        case Permit(fact=fact, values=values):
            yield Topic(channel, fact, Sort.VALUES), frozenset(values)
        case other:
            yield Topic(channel, other.fact, Sort.VALUES), frozenset(FACTS[other.fact].values) - set(other.values)


def _plain(body: Limit) -> Limit:
    return replace(body, value=replace(body.value, text="")) if isinstance(body.value, Relative) else body
