"""Lookup tables worked by hand and against plain fractions: planes of a mask, exact bounds, places, what is kept.

All rules and figures are invented. 1 in = 25.4 mm exactly (International Yard and Pound agreement, 1959).
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.engine import SIZE, failing, rule, us_case, world
from tests.support import injury
from tirerules import Verdict, case_from_json
from tirerules.engine.tables import ABSENT, Reader, Table, holds
from tirerules.packs.rule import Condition
from tirerules.quantities import Quantity, measure
from tirerules.strictest.bounds import Ceiling, Floor, Strictest
from tirerules.vocabulary import CURED_BY_REPAIR

# --- exactness --------------------------------------------------------------------------------------------------------


# Lengths around 1/4 in = 6.35 mm and 1/3 in = 8.4666... mm: on it, and a millionth of a millimeter to each side.
@pytest.mark.parametrize(
    ("figure", "below", "on", "above"),
    [
        ("1/4 in", ("6.349999 mm", "0.249999999 in"), ("6.35 mm", "1/4 in", "0.25 in", "8/32 in"), ("6.350001 mm",)),
        ("6.35 mm", ("6.349999 mm",), ("6.35 mm", "0.635 cm", "1/4 in"), ("6.350001 mm", "0.250000001 in")),
        ("1/3 in", ("8.466666 mm", "0.333333333 in"), ("1/3 in", "2/6 in", "127/15 mm"), ("8.466667 mm",)),
        ("2/3 in", ("16.933333 mm", "1/3 in"), ("2/3 in", "4/6 in", "254/15 mm"), ("16.933334 mm", "0.666666667 in")),
    ],
)
@pytest.mark.parametrize(
    ("bound", "passing"),
    [
        ("at-most", (True, True, False)),
        ("less-than", (True, False, False)),
        ("at-least", (False, True, True)),
        ("more-than", (False, False, True)),
    ],
)
def test_bounds_are_exact(bound, passing, figure, below, on, above):
    rulebook = world(SIZE + rule("figure", f"limit: {{fact: injury.diameter, {bound}: {figure}}}"))
    for texts, passes in zip((below, on, above), passing, strict=True):
        for text in texts:
            case = us_case(injuries=injury(diameter=text))
            for said in (case, case_from_json(case)):
                decision = rulebook.decide(said)
                assert decision.verdict == (Verdict.WITHIN if passes else Verdict.OUTSIDE), text
                assert failing(decision) == (set() if passes else {"invented-trade/figure"})


#: A bound: numerator, denominator, whether it is included.
Bound = tuple[int, int, bool]
bounds = st.tuples(st.integers(0, 40), st.integers(1, 12), st.booleans())
#: A ceiling, a floor, or both.
conditions = st.one_of(st.tuples(bounds, st.none()), st.tuples(st.none(), bounds), st.tuples(bounds, bounds))
#: Numbers on the bounds above, close to them and between them; not in lowest terms.
numbers = st.builds(
    lambda above, below, off, times: ((above * 10**6 + off) * below * times, below * below * 10**6 * times),
    *(st.integers(0, 40), st.integers(1, 12), st.sampled_from((0, 0, 1, 500_000)), st.integers(1, 3)),
)


def strictest(ceiling: Bound | None, floor: Bound | None) -> Strictest:
    return Strictest(
        None if ceiling is None else Ceiling.of(Fraction(*ceiling[:2]), ceiling[2]),
        None if floor is None else Floor.of(Fraction(*floor[:2]), floor[2]),
    )


def meets(test: tuple[Bound | None, Bound | None], number: Fraction) -> bool:
    """Whether one exact number satisfies a test: the reference, by plain comparison of fractions."""
    ceiling, floor = test
    under = ceiling is None or number < Fraction(*ceiling[:2]) or (ceiling[2] and number == Fraction(*ceiling[:2]))
    over = floor is None or number > Fraction(*floor[:2]) or (floor[2] and number == Fraction(*floor[:2]))
    return under and over


def wherever(test: tuple[Bound | None, Bound | None], low: Fraction, high: Fraction) -> bool | None:
    """Whether a test is met wherever a number lies: at both ends, or at neither and nowhere in between; else None.

    Each bound is asked by itself, so that a number is surely out only where one bound alone says so.
    """
    by_bound = []
    for alone in ((test[0], None), (None, test[1])):
        ends = {meets(alone, low), meets(alone, high)}
        by_bound.append(ends.pop() if len(ends) == 1 else None)
    return False if False in by_bound else None if None in by_bound else True


def table_of(*asked: tuple[Bound | None, Bound | None]) -> Table:
    """Return a table in which the test at place n sets bit 2n where it fails, bit 2n + 1 where that is unknown."""
    readers = [
        Reader(strictest(*each), no=1 << 2 * at, maybe=2 << 2 * at, absent=0, **_PLAIN) for at, each in enumerate(asked)
    ]
    return Table("injury.diameter", True, readers)


@settings(max_examples=1_000, deadline=None)
@given(st.lists(conditions, max_size=6), st.lists(st.tuples(numbers, numbers), min_size=1, max_size=6))
def test_a_table_answers_as_plain_fractions_for_every_number_and_width(asked, spans):
    table = table_of(*asked)
    for ends in spans * 2:  # the second time from what is kept
        low, high = sorted(ends, key=lambda end: Fraction(*end))
        wanted = 0
        for at, test in enumerate(asked):
            wanted |= {True: 0, False: 1, None: 2}[wherever(test, Fraction(*low), Fraction(*high))] << 2 * at
        assert table.span((*low, *high)) == wanted
        number = [Quantity.of(Fraction(*end), "mm") for end in (low, high)]
        assert table[measure(f"{number[0].exact} mm to {number[1].exact} mm")] == wanted


@settings(max_examples=500, deadline=None)
@given(st.lists(conditions, min_size=1, max_size=6), numbers, numbers)
def test_two_numbers_at_one_place_are_the_same_to_every_rule(asked, one, other):
    table = table_of(*asked)
    same = [meets(test, Fraction(*one)) for test in asked] == [meets(test, Fraction(*other)) for test in asked]
    if table.scale.place(*one) == table.scale.place(*other):
        assert same
    assert (table.scale.place(*one) < table.scale.place(*other)) <= (Fraction(*one) < Fraction(*other))


def test_places_by_hand():
    """Bounds 2 and 5 make five places: below 2, on it, between, on 5, above; thirds are told apart from them."""
    table = table_of(((5, 1, True), (2, 1, False)))
    assert [table.scale.place(*each) for each in ((0, 1), (5, 3), (6, 3), (7, 3), (14, 3), (15, 3), (16, 3))] == (
        [0, 0, 1, 2, 2, 3, 4]
    )
    assert [table.span((*each, *each)) for each in ((5, 3), (6, 3), (7, 3), (15, 3), (16, 3))] == [1, 1, 0, 0, 1]
    assert table.span((6, 3, 7, 3)) == 2


def test_a_count_is_a_number_without_a_unit():
    table = Table("repairs.count", True, [_reader(Strictest(ceiling=Ceiling.of(2, True)))])
    assert [table[count] for count in (0, 2, 3)] == [0, 0, _NO]


# --- what one reader says of a value ----------------------------------------------------------------------------------

_NO, _MAYBE, _ABSENT = 0b001, 0b010, 0b100
_PLAIN = {"negated": False, "cures": False, "weak": False}


def _reader(test: Strictest | None, **more: bool) -> Reader:
    return Reader(test, no=_NO, maybe=_MAYBE, absent=_ABSENT, **{**_PLAIN, **more})


PASSENGER = Strictest(permitted=frozenset({"passenger", "trailer"}))


@pytest.mark.parametrize(
    ("negated", "value", "mask"),
    [
        (False, "passenger", 0),
        (False, "bus", _NO),
        (False, None, _MAYBE),
        (False, ABSENT, _ABSENT),
        (True, "passenger", _NO),
        (True, "bus", 0),
        (True, None, _MAYBE),
        (True, ABSENT, _ABSENT),  # what does not exist satisfies no condition, not even a negated one
    ],
)
def test_a_word_an_unknown_one_and_one_that_does_not_exist(negated, value, mask):
    assert Table("tire.class", False, [_reader(PASSENGER, negated=negated)])[value] == mask


@pytest.mark.parametrize(("value", "mask"), [(True, _NO), (False, 0), (None, _MAYBE)])
def test_a_flag_is_a_word(value, mask):
    assert Table("tire.retread", False, [_reader(Strictest(prohibited=frozenset({"yes"})))])[value] == mask


def test_a_body_that_counts_readings_is_never_failed_by_a_value_alone():
    depth = Strictest(floor=Floor.of(2, True))
    strong, weak = (Table("tire.tread_depth", True, [_reader(depth, weak=each)]) for each in (False, True))
    for text, one, other in (("3 mm", 0, 0), ("1 mm", _NO, _MAYBE), ("1 mm to 3 mm", _MAYBE, _MAYBE)):
        assert (strong[measure(text)], weak[measure(text)]) == (one, other)


def test_a_body_without_a_figure_of_its_own_stays_open_for_every_value():
    table = Table("injury.reach", True, [_reader(None)])
    assert {table[value] for value in (measure("0 mm"), measure("9 m"), None)} == {_MAYBE}
    assert table[ABSENT] == _ABSENT


def test_what_a_repair_removes_is_gone_for_a_rule_on_what_it_leads_to():
    cured = sorted(CURED_BY_REPAIR)[0]
    tests = {
        "cured": Strictest(prohibited=frozenset({cured})),
        "both": Strictest(prohibited=frozenset({cured, "bulge"})),
    }
    said = {
        (name, cures, value): Table("findings", False, [_reader(test, cures=cures)])[value]
        for name, test in tests.items()
        for cures in (False, True)
        for value in (frozenset(), frozenset({cured}), frozenset({"bulge"}), None)
    }
    for name in tests:
        assert said[name, False, frozenset({cured})] == _NO
        assert said[name, True, frozenset({cured})] == 0
        assert said[name, True, frozenset()] == said[name, False, frozenset()] == 0
    assert said["both", True, frozenset({"bulge"})] == _NO
    # Whatever an inspection would find, nothing that is cured is left of it; a bulge may be.
    assert (said["cured", False, None], said["cured", True, None]) == (_MAYBE, 0)
    assert said["both", True, None] == _MAYBE


def test_what_several_readers_say_is_joined():
    readers = [
        Reader(strictest((figure, 1, True), None), no=1 << at, maybe=8 << at, absent=0, **_PLAIN)
        for at, figure in enumerate((2, 4, 6))
    ]
    table = Table("injury.diameter", True, readers)
    assert [table[measure(text)] for text in ("2 mm", "3 mm", "5 mm", "7 mm", "3 mm to 5 mm")] == (
        [0b000, 0b001, 0b011, 0b111, 0b001 | 0b010 << 3]
    )
    assert table[None] == 0b111 << 3


@pytest.mark.parametrize(
    ("fact", "test", "value", "answer"),
    [
        ("tire.class", PASSENGER, "passenger", True),
        ("tire.class", PASSENGER, "bus", False),
        ("tire.class", PASSENGER, None, None),
        ("tire.class", PASSENGER, ABSENT, False),
        ("injury.diameter", Strictest(ceiling=Ceiling.of(6, True)), measure("6 mm"), True),
        ("injury.diameter", Strictest(ceiling=Ceiling.of(6, False)), measure("6 mm"), False),
        ("injury.diameter", Strictest(ceiling=Ceiling.of(6, True)), measure("6 mm to 7 mm"), None),
        ("vehicle.seats", Strictest(floor=Floor.of(9, True)), 9, True),
    ],
)
def test_whether_a_condition_holds(fact, test, value, answer):
    condition = Condition(fact, test, "invented")
    assert holds(condition, value) is answer
    if value is not ABSENT:
        turned = Condition(fact, test, "invented", negated=True)
        assert holds(turned, value) is (None if answer is None else not answer)


# --- what is kept -----------------------------------------------------------------------------------------------------


def test_a_table_keeps_no_more_than_its_bound_and_answers_the_same(monkeypatch):
    free, tight = (table_of(((5, 1, True), None)) for _ in range(2))
    values: list[Any] = [measure(f"{at}/7 mm") for at in range(60)]
    wanted = [free[value] for value in values]
    assert len(free) == len(values) + 2
    assert set(wanted) == {0, 1}
    monkeypatch.setattr(Table, "BOUND", 5)
    for _ in range(2):
        for value, mask in zip(values, wanted, strict=True):
            assert tight[value] == mask
            assert len(tight) <= 5
            assert {None, ABSENT} <= tight.keys()
