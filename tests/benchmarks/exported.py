"""Our rules as any engine can take them: flat clauses over flat facts, for named zones and everything known.

A clause says: in these places, for these activities, from one day until another, where every test of `when` holds,
`then` must hold. What the library works out for itself is settled here, for every engine alike: a method is put in the
place of each condition on methods, a repair answers to the rules on road use as the tire is afterwards, and clauses
that differ in their figure alone are met to the strictest. So no engine is given more to do than the question needs.

Left out is what the engines could not answer: bands (no injury here is measured from the center line), the ways of
counting tread (one depth is known), extensions, requirements, and every "unknown". Where the library answers
`undetermined`, the engines have no answer of their own; such tickets are in no data set that they are timed on.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Final, NamedTuple

from tests.benchmarks.bounded import Bound
from tirerules.packs.pack import Pack
from tirerules.packs.rule import Body, Condition, Disqualify, Limit, Relative, Require, Rule
from tirerules.vocabulary import CURED_BY_REPAIR, FACTS, REPAIR_METHODS, Activity, Dimension, answering

__all__ = [
    "CARRIED",
    "SCALES",
    "Clause",
    "Program",
    "Stated",
    "Test",
    "clauses",
    "day",
    "demands",
    "facts_of",
    "numeric",
    "placed",
    "program",
    "scaled",
    "whole",
]

#: Whole numbers for engines that know no fractions: nanometers, thousandths of a degree, 10 micrograms, hours.
SCALES: Final[Mapping[Dimension | None, int]] = {
    Dimension.LENGTH: 10**6,
    Dimension.ANGLE: 10**3,
    Dimension.MASS: 10**8,
    Dimension.TIME: 24,
    None: 1,
}
#: What follows from the places of two repairs, which no engine could work out and no ticket here states.
_BETWEEN: Final = frozenset({"repairs.spacing", "repairs.spacing_angle", "repairs.opposed"})
#: A fact of the exported form: whether the tire carries an earlier repair at all.
CARRIED: Final = "repair.carried"


def scaled(value: Fraction, fact: str) -> int:
    """Return a figure as a whole number in the scale of its fact. Raises ValueError where that would round it."""
    whole = value * SCALES[FACTS[fact].dimension]
    if whole.denominator != 1:
        raise ValueError(f"{value} of {fact} is no whole number in the exported scale")
    return int(whole)


def day(on: date) -> int:
    """Return a day as a number that engines can compare."""
    return on.toordinal()


class Stated(NamedTuple):
    """What a rule says: one of a pack, or one that follows from two."""

    name: str
    activities: AbstractSet[str]
    conditions: tuple[Condition, ...]
    body: Body
    start: date | None
    end: date | None


@dataclass(frozen=True, slots=True)
class Test:
    """A test of one fact; `negated` as in the rules, of findings alone."""

    fact: str
    bound: Bound
    negated: bool = False


@dataclass(frozen=True, slots=True)
class Clause:
    """One demand. `places` None is everywhere; `method` None is whatever the method; `then` None is never satisfied."""

    activities: frozenset[str]
    places: frozenset[str] | None
    start: int | None
    end: int | None
    when: tuple[Test, ...]
    then: Test | None
    method: str | None = None


@dataclass(frozen=True, slots=True)
class Program:
    """What one activity in one place must satisfy: all of `common`, and for a repair all of some method's."""

    common: tuple[Clause, ...]
    methods: tuple[tuple[Clause, ...], ...]

    @property
    def clauses(self) -> tuple[Clause, ...]:
        """Every clause, in no order that matters."""
        return (*self.common, *itertools.chain.from_iterable(self.methods))


def clauses(packs: Iterable[Pack]) -> tuple[Clause, ...]:
    """Return everything that the packs demand, met to the strictest and without repetition."""
    return _merged([clause for _, clause in demands(packs)])


def demands(packs: Iterable[Pack]) -> Iterator[tuple[Stated, Clause]]:
    """Yield every rule with each demand that it makes, as it stands.

    A limit that contradicts a finding demands nothing by itself: whoever misses it is decided neither way. With each
    bar on that finding it makes a rule of its own.
    """
    held = list(packs)
    codes = frozenset(pack.id for pack in held if pack.kind in ("country", "jurisdiction"))
    claims = [rule for pack in held for rule in pack.rules if rule.contradicts]
    for pack in held:
        for stated in _stated(pack.rules, claims):
            yield from ((stated, each) for each in _clauses(stated, _places(pack, codes)) if each.activities)


def _stated(rules: Iterable[Rule], claims: Sequence[Rule]) -> Iterator[Stated]:
    for rule in rules:
        if rule.contradicts:
            continue
        one = Stated(rule.name, rule.activities, rule.conditions, rule.body, rule.start, rule.end)
        yield one
        for claim in claims:
            if isinstance(rule.body, Disqualify) and claim.contradicts in rule.body.values:
                conditions = (*rule.conditions, *claim.conditions)
                yield one._replace(name=f"{rule.name}-by-{claim.id}", conditions=conditions, body=claim.body)


def program(every: Iterable[Clause], place: str, activity: str) -> Program:
    """Return what one activity in one place must satisfy."""
    here = [
        clause
        for clause in every
        if activity in clause.activities and (clause.places is None or place in clause.places)
    ]
    methods = REPAIR_METHODS if activity == Activity.REPAIR else ()
    return Program(
        tuple(clause for clause in here if clause.method is None),
        tuple(tuple(clause for clause in here if clause.method == method) for method in methods),
    )


def whole(every: Iterable[Clause]) -> Program:
    """Return the program of all places and activities, which are then tests like any other.

    An activity other than repair satisfies every method, since no clause of a method concerns it.
    """
    tested = [placed(clause) for clause in every]
    return Program(
        tuple(clause for clause in tested if clause.method is None),
        tuple(tuple(clause for clause in tested if clause.method == method) for method in REPAIR_METHODS),
    )


def placed(clause: Clause) -> Clause:
    """Return a clause with its places and activities among its tests."""
    where = [Test("activity", Bound(permitted=clause.activities))]
    if clause.places is not None:
        where.insert(0, Test("jurisdictions", Bound(permitted=clause.places)))
    return replace(clause, when=(*where, *clause.when))


def _places(pack: Pack, codes: frozenset[str]) -> frozenset[str] | None:
    if pack.kind == "jurisdiction":
        return frozenset({pack.id})
    return frozenset(code for code in codes if code.startswith(pack.id)) if pack.kind == "country" else None


def _clauses(rule: Stated, places: frozenset[str] | None) -> Iterator[Clause]:
    """Yield what a rule demands of each activity that answers to it."""
    body = rule.body
    if isinstance(body, Require) or (isinstance(body, Limit) and isinstance(body.value, Relative)):
        return  # a band follows from the tire, and no zone here is measured
    then = Test(body.fact, Bound.of_body(body))
    when = tuple(Test(each.fact, Bound.of_condition(each.test), each.negated) for each in rule.conditions)
    activities = frozenset(each for each in Activity if rule.activities & set(answering(each)))
    whole = Clause(activities, places, _ordinal(rule.start), _ordinal(rule.end), when, then)
    facts = {then.fact, *(test.fact for test in when)}
    if facts & _BETWEEN:
        return
    groups = {fact.partition(".")[0] for fact in facts}
    if not groups & {"injury", "method"}:
        yield replace(_on_earlier(whole, groups), activities=activities - {Activity.REPAIR})
    if Activity.REPAIR not in activities:
        return
    repairing = replace(whole, activities=frozenset({Activity.REPAIR}))
    if Activity.REPAIR in rule.activities:
        yield from _by_method(_on_earlier(repairing, groups))
        return
    afterwards = _repaired(repairing)
    if afterwards is None:
        return
    yield from _by_method(_on_earlier(afterwards, groups))
    if groups & {"repair", "injury", "method"} == {"repair"}:
        yield from _by_method(_on_the_new(afterwards))


def _ordinal(on: date | None) -> int | None:
    return None if on is None else day(on)


def _on_earlier(clause: Clause, groups: set[str]) -> Clause:
    """Return a clause on earlier repairs as one that concerns tires which carry one."""
    if "repair" not in groups:
        return clause
    carried = Test(CARRIED, Bound(permitted=frozenset({"yes"})))
    return replace(clause, when=(carried, *clause.when))


def _repaired(clause: Clause) -> Clause | None:
    """Return what a rule on road use demands once the repair has removed what it removes; None for nothing."""
    when: list[Test] = []
    for test in clause.when:
        words = test.bound.prohibited - CURED_BY_REPAIR
        if test.fact != "findings" or words == test.bound.prohibited:
            when.append(test)
        elif words:
            when.append(replace(test, bound=Bound(prohibited=words)))
        elif test.negated:
            return None
    then = clause.then
    assert then is not None  # INVARIANT: only methods make a demand that nothing satisfies
    if then.fact == "findings":
        words = then.bound.prohibited - CURED_BY_REPAIR
        then = replace(then, bound=Bound(prohibited=words))
        if not words:
            return None
    return replace(clause, when=tuple(when), then=then)


def _on_the_new(clause: Clause) -> Clause:
    """Return a clause on repairs as one on the repair that the injury becomes."""
    new = {"repair.diameter": "injury.diameter", "repair.zone": "injury.zone", "repair.method": "method"}

    def put(test: Test) -> Test:
        return replace(test, fact=new.get(test.fact, test.fact))

    assert clause.then is not None  # INVARIANT: as in _repaired
    return replace(clause, when=tuple(put(test) for test in clause.when), then=put(clause.then))


def _by_method(clause: Clause) -> Iterator[Clause]:
    """Yield a clause once for each method that it concerns, with the method put in the place of its tests."""
    assert clause.then is not None  # INVARIANT: as in _repaired
    if "method" not in {clause.then.fact, *(test.fact for test in clause.when)}:
        yield clause
        return
    for method in REPAIR_METHODS:
        word = frozenset({method})
        if not all(test.bound.admits(word) for test in clause.when if test.fact == "method"):
            continue
        then: Test | None = clause.then
        if clause.then.fact == "method":
            if clause.then.bound.admits(word):
                continue
            then = None
        when = tuple(test for test in clause.when if test.fact != "method")
        yield replace(clause, when=when, then=then, method=method)


def _merged(found: Sequence[Clause]) -> tuple[Clause, ...]:
    """Return clauses that differ in their figure alone as one, then those that differ in their places alone."""
    met: dict[Clause, Test | None] = {}
    for clause in found:
        then = clause.then
        key = replace(clause, then=then and Test(then.fact, Bound()))
        before = met.get(key)
        met[key] = Test(then.fact, before.bound.meet(then.bound)) if before and then else then
    everywhere: dict[Clause, frozenset[str] | None] = {}
    for key, then in met.items():
        clause = replace(key, then=then, places=None)
        places = everywhere.get(clause, frozenset())
        everywhere[clause] = None if key.places is None or places is None else places | key.places
    return tuple(replace(clause, places=places) for clause, places in everywhere.items())


def facts_of(every: Iterable[Clause]) -> tuple[str, ...]:
    """Return every fact that a clause reads, by name."""
    tests = (test for clause in every for test in (*clause.when, clause.then) if test is not None)
    return tuple(sorted({test.fact for test in tests}))


def numeric(fact: str) -> bool:
    """Whether a fact is a number in the exported form."""
    return fact in FACTS and FACTS[fact].limitable
