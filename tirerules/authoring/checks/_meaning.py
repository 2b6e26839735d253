"""What rules mean to one another: where both apply, where one applies whenever the other does, which is the stricter.

Everything is decided on values by the algebra of limits, never on text: ``{not: motorcycle}`` and a list of every other
class are one condition, ``2/32 in`` and ``1/16 in`` one figure. A rule's conditions are a box: at most one test of each
fact. Answers err on one side: True is certain, and False may be "not certain", which leaves a check silent.
"""

from __future__ import annotations

from collections.abc import Hashable
from fractions import Fraction
from typing import Final

from tirerules.packs.rule import (
    READINGS,
    Body,
    Condition,
    Counted,
    Disqualify,
    Limit,
    Permit,
    Prohibit,
    Relative,
    Require,
    Rule,
)
from tirerules.quantities import Quantity
from tirerules.strictest.bounds import TOP, Ceiling, Floor, Strictest
from tirerules.vocabulary import FACTS, Activity, Dimension, Fact, Kind, answering

__all__ = [
    "as_strict",
    "body_meaning",
    "contains",
    "limited_fact",
    "overlap",
    "same_days",
    "version_of",
    "why_it_never_applies",
    "why_it_never_fails",
    "wider",
]

#: What any case can say of a quantity or a count: nothing negative, and no angle of 90 degrees or more.
_NATURAL: Final = Strictest(floor=Floor.of(0, True))
_ANGLE: Final = Strictest(floor=Floor.of(0, True), ceiling=Ceiling.of(90, False))


def limited_fact(rule: Rule) -> str:
    """Return the fact that a rule limits; empty for a requirement."""
    return "" if isinstance(rule.body, Require) else rule.body.fact


# --- conditions -------------------------------------------------------------------------------------------------------


def _meaning(fact: Fact, test: Strictest) -> Strictest:
    """Return the one form of all tests of `fact` that hold for the same values.

    Words become the permitted ones, bounds are cut to what a case can say, and those on a count become inclusive.
    """
    if fact.choosable:
        permitted = frozenset(fact.values) if test.permitted is None else test.permitted
        return Strictest(permitted=permitted - test.prohibited)
    if fact.limitable:
        # A derived angle lies between two places around the tire and may be larger.
        narrow = fact.dimension is Dimension.ANGLE and not fact.derived
        return (_ANGLE if narrow else _NATURAL).meet(_inclusive(test) if fact.kind is Kind.COUNT else test)
    return test


def _inclusive(test: Strictest) -> Strictest:
    """Of whole numbers, less than 3 is at most 2."""
    ceiling, floor = test.ceiling, test.floor
    if ceiling is not None and not ceiling.inclusive:
        ceiling = Ceiling.of(ceiling.value - 1, True)
    if floor is not None and not floor.inclusive:
        floor = Floor.of(floor.value + 1, True)
    return Strictest(ceiling, floor)


def _test(condition: Condition) -> Strictest:
    return _meaning(FACTS[condition.fact], condition.test)


def _implies(one: Condition, other: Condition) -> bool:
    """Whether `other` holds wherever `one` does; both test one fact."""
    if one.negated is not other.negated:
        return False  # "any of these" and "none of those" say nothing of one another
    return _test(other).within(_test(one)) if one.negated else _test(one).within(_test(other))


def _compatible(one: Condition, other: Condition) -> bool:
    """Whether some value satisfies both conditions; both test one fact."""
    if one.negated and other.negated:
        return True  # both findings may be there
    if one.negated or other.negated:
        any_of, none_of = (one, other) if one.negated else (other, one)
        return not any_of.test.prohibited <= none_of.test.prohibited
    return FACTS[one.fact].kind is Kind.SET or not _test(one).meet(_test(other)).empty


def wider(outer: Rule, inner: Rule) -> bool:
    """Whether `outer` applies to every subject to which `inner` applies, on the same days and for the same act."""
    tests = {condition.fact: condition for condition in inner.conditions}
    return all(condition.fact in tests and _implies(tests[condition.fact], condition) for condition in outer.conditions)


def overlap(one: Rule, other: Rule) -> bool:
    """Whether some subject meets the conditions of both rules."""
    tests = {condition.fact: condition for condition in one.conditions}
    return all(
        _compatible(tests[condition.fact], condition) for condition in other.conditions if condition.fact in tests
    )


def contains(outer: Rule, inner: Rule) -> bool:
    """Whether `outer` is in force on every day on which `inner` is."""
    starts = outer.start is None or (inner.start is not None and outer.start <= inner.start)
    ends = outer.end is None or (inner.end is not None and inner.end <= outer.end)
    return starts and ends


def same_days(one: Rule, other: Rule) -> bool:
    """Whether both are in force on some day."""
    before = one.end is not None and other.start is not None and one.end <= other.start
    after = other.end is not None and one.start is not None and other.end <= one.start
    return not before and not after


# --- bodies -----------------------------------------------------------------------------------------------------------


def _demand(body: Body, reading: str = "strict") -> Strictest | None:
    """Return what a body demands of its fact; None where that follows from the tire, and for a requirement."""
    match body:
        case Limit():
            chosen = body.chosen(reading)
            if chosen is None:
                return None
            bound = body.bound(chosen.exact if isinstance(chosen, Quantity) else Fraction(chosen))
            return _meaning(FACTS[body.fact], Strictest.of(bound))
        case Permit() | Prohibit():
            return _meaning(FACTS[body.fact], Strictest.of(body.constraint()))
        case Disqualify():
            return Strictest.of(body.constraint())
    return None


def as_strict(one: Rule, other: Rule) -> bool:
    """Whether `one`, where it applies, demands all that `other` does, under either reading of a dual figure.

    Extensions are left out of account: the figures alone are compared.
    """
    mine, theirs = one.body, other.body
    if limited_fact(one) != limited_fact(other):
        return False
    if isinstance(mine, Limit) and isinstance(theirs, Limit):
        # Any one groove at any one place is the strictest way to count; of two other ways, neither need be.
        if mine.ceiling is not theirs.ceiling or mine.counted not in (Counted(), theirs.counted):
            return False
        if isinstance(mine.value, Relative) and isinstance(theirs.value, Relative):
            return _narrower(mine, mine.value, theirs, theirs.value)
    demands = [(_demand(mine, reading), _demand(theirs, reading)) for reading in READINGS]
    return all(ours is not None and wanted is not None and ours.within(wanted) for ours, wanted in demands)


def _narrower(mine: Limit, band: Relative, theirs: Limit, other: Relative) -> bool:
    """Whether one band is as narrow as another on every tire: the same shares of the same measure, no smaller inset."""
    if (band.of, band.shares) != (other.of, other.shares):
        return False
    ours, wanted = (Strictest.of(each.bound(-_inset(length))) for each, length in ((mine, band), (theirs, other)))
    return ours.within(wanted)


def _inset(band: Relative) -> Fraction:
    return band.inset.exact if band.inset else Fraction(0)


def body_meaning(rule: Rule) -> Hashable:
    """Return what tells the bodies of two versions of one rule apart, however their figures are printed."""
    body = rule.body
    if isinstance(body, Limit) and isinstance(body.value, Relative):
        value = body.value
        return body.relation, value.of, value.shares, _inset(value)
    return tuple(_demand(body, reading) for reading in READINGS), rule.up_to


def version_of(rule: Rule) -> Hashable:
    """Return what the versions of one rule have in common: fact, direction, acts, conditions; not its figure.

    Of rules that only add (prohibitions, findings), all but their dates. None for a requirement.
    """
    body = rule.body
    if isinstance(body, Require):
        return None
    kind: Hashable = type(body).__name__
    if isinstance(body, Limit):
        measure = body.value.of if isinstance(body.value, Relative) else ""
        kind = (body.ceiling, body.counted, measure)
    elif not isinstance(body, Permit):
        kind = (kind, body_meaning(rule))
    conditions = frozenset((each.fact, each.negated, _test(each)) for each in rule.conditions)
    return kind, body.fact, rule.activities, conditions


# --- a rule on its own ------------------------------------------------------------------------------------------------


def why_it_never_applies(rule: Rule) -> tuple[str, str] | None:
    """Return which condition (a fact) no case can meet, and why; None where the rule can apply."""
    for condition in rule.conditions:
        if FACTS[condition.fact].kind is not Kind.SET and _test(condition).empty:
            return condition.fact, f"no value of {condition.fact} satisfies this condition"
    if "method" in rule.groups and not rule.activities & set(answering(Activity.REPAIR)):
        # Only a repair is judged method by method.
        return "method", "a method is chosen in a repair alone, and this rule regulates other acts"
    return None


def why_it_never_fails(rule: Rule) -> str | None:
    """Return why the rule is satisfied wherever it applies; None where something can fail it."""
    wanted = _demand(rule.body)
    if wanted is None or rule.up_to is not None:
        return None
    fact = FACTS[limited_fact(rule)]
    if fact.kind is not Kind.SET and _meaning(fact, TOP).within(wanted):
        return f"every value of {fact.name} satisfies it"
    for condition in rule.conditions:
        if condition.fact == fact.name and not condition.negated and _test(condition).within(wanted):
            return f"it applies only where {condition.text}, which satisfies it"
    return None
