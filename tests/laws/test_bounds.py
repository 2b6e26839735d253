"""The constraints on a fact form a meet-semilattice with "no limit" on top."""

from __future__ import annotations

import itertools
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.laws.strategies import answers, constraints, elements, intervals, values
from tirerules.strictest.bounds import (
    TOP,
    Ceiling,
    Floor,
    Interval,
    Permitted,
    Prohibited,
    Strictest,
    all_of,
    any_of,
    binding,
    opposite,
)


@given(elements, elements, elements)
def test_meet_is_associative(a, b, c):
    assert a.meet(b).meet(c) == a.meet(b.meet(c))


@given(elements, elements)
def test_meet_is_commutative(a, b):
    assert a.meet(b) == b.meet(a)


@given(elements)
def test_meet_is_idempotent(a):
    assert a.meet(a) == a


@given(elements)
def test_no_limit_is_the_identity(a):
    assert a.meet(TOP) == a


@given(elements, elements)
def test_the_meet_is_a_lower_bound_of_both(a, b):
    assert a.meet(b).within(a)
    assert a.meet(b).within(b)


@given(elements, elements, elements)
def test_the_meet_is_the_greatest_lower_bound(a, b, c):
    if c.within(a) and c.within(b):
        assert c.within(a.meet(b))


@given(st.lists(constraints, max_size=6), st.randoms())
def test_order_and_repetition_do_not_matter(found, random):
    again = [*found, *random.choices(found, k=3)] if found else []
    random.shuffle(again)
    assert Strictest.of(*found) == Strictest.of(*again)


@given(elements, elements, values)
def test_adding_a_constraint_never_loosens(a, b, value):
    """False stays False, and what is not surely allowed does not become so."""
    before, after = a.admits(value), a.meet(b).admits(value)
    assert not (before is False and after is not False)
    assert not (before is None and after is True)


@given(elements, elements, values)
def test_the_meet_admits_what_both_admit(a, b, value):
    """The meet answers as the two do one by one, except that it may see sooner that no number fits both bounds."""
    one_by_one = all_of([a.admits(value), b.admits(value)])
    together = a.meet(b).admits(value)
    assert together == one_by_one


@given(elements, intervals)
def test_an_interval_is_admitted_only_if_every_point_of_it_is(a, interval):
    ends = [a.admits(Interval(point, point)) for point in (interval.low, interval.high)]
    whole = a.admits(interval)
    if whole is True:
        assert ends == [True, True]
    if whole is False:
        assert ends == [False, False]


@given(st.lists(constraints, max_size=6))
def test_the_binding_constraints_alone_give_the_strictest_limit(found):
    bound = binding(found)
    assert Strictest.of(*(found[index] for index in bound)) == Strictest.of(*found)


@given(st.lists(constraints, max_size=6))
def test_a_constraint_that_does_not_bind_is_strictly_beaten_by_one_that_does(found):
    bound = binding(found)
    for index in set(range(len(found))) - set(bound):
        assert any(
            type(found[other]) is type(found[index])
            and Strictest.of(found[other]).within(Strictest.of(found[index]))
            and found[other] != found[index]
            for other in bound
        )


@given(st.lists(constraints, max_size=4), values)
def test_nothing_satisfies_an_empty_element(found, value):
    element = Strictest.of(*found)
    numeric = Strictest(element.ceiling, element.floor)
    worded = Strictest(permitted=element.permitted, prohibited=element.prohibited)
    if isinstance(value, Interval) and numeric.empty:
        assert numeric.admits(Interval(value.low, value.low)) is False
    if not isinstance(value, Interval) and worded.empty:
        assert worded.admits(value) is False


@pytest.mark.parametrize(
    ("stricter", "laxer"),
    [
        (Ceiling.of(Fraction(6), True), Ceiling.of(Fraction(127, 20), True)),
        (Ceiling.of(Fraction(6), False), Ceiling.of(Fraction(6), True)),
        (Ceiling.of(Fraction(6), True), Ceiling.of(Fraction(127, 20), False)),
        (Floor.of(Fraction(2), True), Floor.of(Fraction(127, 80), True)),
        (Floor.of(Fraction(127, 80), False), Floor.of(Fraction(127, 80), True)),
        (Permitted(frozenset({"crown"})), Permitted(frozenset({"crown", "shoulder"}))),
        (Prohibited(frozenset({"bead", "sidewall"})), Prohibited(frozenset({"bead"}))),
    ],
    ids=[
        "lower ceiling",
        "exclusive ceiling",
        "lower beats exclusive",
        "higher floor",
        "exclusive floor",
        "fewer",
        "more",
    ],
)
def test_which_of_two_is_stricter(stricter, laxer):
    assert Strictest.of(stricter, laxer) == Strictest.of(stricter)
    assert binding([stricter, laxer]) == (0,)
    assert binding([laxer, stricter]) == (1,)


def test_equal_constraints_tie():
    assert binding([Ceiling.of(Fraction(6), True), Ceiling.of(Fraction(6), True), Ceiling.of(Fraction(8), True)]) == (
        0,
        1,
    )


@pytest.mark.parametrize(
    ("element", "empty"),
    [
        (Strictest.of(Permitted(frozenset({"a"})), Permitted(frozenset({"b"}))), True),
        (Strictest.of(Permitted(frozenset({"a"})), Prohibited(frozenset({"a"}))), True),
        (Strictest.of(Ceiling.of(Fraction(1), True), Floor.of(Fraction(1), True)), False),
        (Strictest.of(Ceiling.of(Fraction(1), True), Floor.of(Fraction(1), False)), True),
        (Strictest.of(Ceiling.of(Fraction(1), True), Floor.of(Fraction(2), True)), True),
        (TOP, False),
    ],
)
def test_the_bottom_is_a_result(element, empty):
    assert element.empty is empty


# Kleene's strong three-valued logic, written out as its truth tables (S. C. Kleene, Introduction to Metamathematics,
# 1952, section 64; from memory): False < unknown < True, "and" is the lesser, "or" the greater.
_ORDER = {False: 0, None: 1, True: 2}


@pytest.mark.parametrize(("a", "b"), list(itertools.product([True, False, None], repeat=2)))
def test_kleene_truth_tables(a, b):
    assert all_of([a, b]) is min(a, b, key=_ORDER.__getitem__)
    assert any_of([a, b]) is max(a, b, key=_ORDER.__getitem__)
    assert opposite(a) is {True: False, False: True, None: None}[a]


@given(st.lists(answers))
def test_kleene_de_morgan(found):
    assert any_of(found) is opposite(all_of(opposite(each) for each in found))
