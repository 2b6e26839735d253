"""What rules mean to one another: where both apply, where one applies whenever the other does, which is the stricter.

Everything is decided on values by the algebra of limits, never on text: ``{not: motorcycle}`` and a list of every other
class are one condition, ``2/32 in`` and ``1/16 in`` one figure. A rule's conditions are a box: at most one test of each
fact. Answers err on one side: True is certain, False is "not certain" and leaves a check silent.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from tirerules.packs.rule import READINGS, Body, Condition, Counted, Disqualify, Limit, Permit, Prohibit, Relative, Rule
from tirerules.quantities import Quantity
from tirerules.strictest.bounds import TOP, Ceiling, Floor, Strictest
from tirerules.vocabulary import FACTS, Dimension, Fact, Kind

__all__ = ["as_strict", "body_fact", "contains", "demand", "meaning", "never_holds", "overlap", "satisfied_by", "wider"]

#: What any case can say of a quantity or a count: nothing negative, and no angle of 90 degrees or more.
_NATURAL: Final = Strictest(floor=Floor(Fraction(0), True))
_ANGLE: Final = Strictest(floor=Floor(Fraction(0), True), ceiling=Ceiling(Fraction(90), False))


def body_fact(rule: Rule) -> str:
    """Return the fact that a rule limits; empty for a requirement."""
    return getattr(rule.body, "fact", "")


# --- conditions -------------------------------------------------------------------------------------------------------


def meaning(fact: Fact, test: Strictest) -> Strictest:
    """Return the one form of all tests of `fact` that hold for the same values.

    Words become the permitted ones, bounds are cut to what a case can say, and those on a count become inclusive.
    """
    if fact.choosable:
        permitted = frozenset(fact.values) if test.permitted is None else test.permitted
        return Strictest(permitted=permitted - test.prohibited)
    if fact.limitable:
        whole = fact.kind is Kind.COUNT
        return _domain(fact).meet(_inclusive(test) if whole else test)
    return test


def _domain(fact: Fact) -> Strictest:
    # A derived angle lies between two places around the tire and may be larger.
    return _ANGLE if fact.dimension is Dimension.ANGLE and not fact.derived else _NATURAL


def _inclusive(test: Strictest) -> Strictest:
    """Of whole numbers, less than 3 is at most 2."""
    ceiling, floor = test.ceiling, test.floor
    if ceiling is not None and not ceiling.inclusive:
        ceiling = Ceiling(ceiling.value - 1, True)
    if floor is not None and not floor.inclusive:
        floor = Floor(floor.value + 1, True)
    return Strictest(ceiling, floor)


def _test(condition: Condition) -> Strictest:
    return meaning(FACTS[condition.fact], condition.test)


def never_holds(condition: Condition) -> bool:
    """Whether no value at all satisfies a condition."""
    return not condition.negated and FACTS[condition.fact].kind is not Kind.SET and _test(condition).empty


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
    return not _test(one).meet(_test(other)).empty


def wider(outer: Rule, inner: Rule) -> bool:
    """Whether `outer` applies to every subject to which `inner` applies, on the same days and for the same act."""
    tests = {condition.fact: condition for condition in inner.conditions}
    return all(
        condition.fact in tests and _implies(tests[condition.fact], condition) for condition in outer.conditions
    )


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


# --- bodies -----------------------------------------------------------------------------------------------------------


def demand(body: Body, reading: str = "strict") -> Strictest | None:
    """Return what a body demands of its fact; None where that follows from the tire, and for a requirement."""
    match body:
        case Limit():
            chosen = body.chosen(reading)
            if chosen is None:
                return None
            bound = body.bound(chosen.exact if isinstance(chosen, Quantity) else Fraction(chosen))
            return meaning(FACTS[body.fact], Strictest.of(bound))
        case Permit() | Prohibit():
            return meaning(FACTS[body.fact], Strictest.of(body.constraint()))
        case Disqualify():
            return Strictest.of(body.constraint())
    return None


def as_strict(one: Rule, other: Rule) -> bool:
    """Whether `one`, where it applies, demands all that `other` does, under either reading of a dual figure."""
    if body_fact(one) != body_fact(other) or one.up_to is not None or other.up_to is not None:
        return False  # the rating of a repair unit moves an extendable limit, either way
    if isinstance(one.body, Limit) and isinstance(other.body, Limit):
        if one.body.ceiling is not other.body.ceiling or one.body.counted not in (Counted(), other.body.counted):
            return False
        if isinstance(one.body.value, Relative) and isinstance(other.body.value, Relative):
            return _narrower(one.body, one.body.value, other.body, other.body.value)
    pairs = [(demand(one.body, reading), demand(other.body, reading)) for reading in READINGS]
    return all(mine is not None and theirs is not None and mine.within(theirs) for mine, theirs in pairs)


def _narrower(mine: Limit, band: Relative, theirs: Limit, other: Relative) -> bool:
    """Whether one band is as narrow as another on every tire: the same shares of the same measure, no smaller inset."""
    if (band.of, band.shares) != (other.of, other.shares):
        return False
    inset, inset_other = (each.inset.exact if each.inset else Fraction(0) for each in (band, other))
    return mine.bound(-inset).within(theirs.bound(-inset_other))  # type: ignore[arg-type]  # of one direction


def satisfied_by(rule: Rule) -> str | None:
    """Return why a rule is satisfied wherever it applies, or None where something can fail it."""
    wanted = demand(rule.body)
    if wanted is None or rule.up_to is not None:
        return None
    fact = FACTS[body_fact(rule)]
    if fact.kind is not Kind.SET and meaning(fact, TOP).within(wanted):
        return "every value satisfies it"
    for condition in rule.conditions:
        if condition.fact == fact.name and not condition.negated and _test(condition).within(wanted):
            return f"it applies only where {condition.text}, and that satisfies it"
    return None
