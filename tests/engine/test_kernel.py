"""How masks become answers: every single bit by Kleene's logic, and whole numbers against arrays on random masks.

Kleene's strong logic (Introduction to Metamathematics, 1952, section 64; from memory): "and" is false as soon as one
part is, and unknown when a part is unknown and none is false; "or" the other way round.
"""

from __future__ import annotations

from itertools import product

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tirerules.engine.kernel import (
    INTS,
    OUTSIDE,
    UNDETERMINED,
    WITHIN,
    Lanes,
    best,
    bits_of,
    judge,
    outcome,
    worst,
)

#: The same operations on arrays with an entry for each row.
ARRAYS = Lanes(lambda mask: mask != 0, numpy.where, numpy.minimum, numpy.maximum)
#: What is known of a rule: whether it applies, and whether its body is satisfied; None is unknown.
KNOWN = list(product((True, False, None), repeat=2))


def kleene(applies: bool | None, satisfied: bool | None) -> bool | None:
    """Whether a rule passes: it does not apply, or its body is satisfied; by the truth table of "or"."""
    answers = (None if applies is None else not applies, satisfied)
    return True if True in answers else None if None in answers else False


def planes(applies: bool | None, satisfied: bool | None) -> tuple[int, int, int, int]:
    """Return what is known of one rule as its bits in the four planes of a mask."""
    return int(applies is False), int(applies is None), int(satisfied is not True), int(satisfied is None)


@pytest.mark.parametrize(("applies", "satisfied"), KNOWN)
def test_one_rule_is_judged_by_kleenes_logic(applies, satisfied):
    relevant, sure, failing, unsure = judge(*planes(applies, satisfied), 1)
    assert (bool(relevant), bool(sure)) == (applies is not False, applies is True)
    passes = kleene(applies, satisfied)
    assert (bool(failing), bool(unsure)) == (passes is False, passes is None)
    assert outcome(INTS, failing, unsure, gap=False) == {True: WITHIN, None: UNDETERMINED, False: OUTSIDE}[passes]


@pytest.mark.parametrize(("applies", "satisfied"), KNOWN)
def test_a_rule_that_is_not_asked_says_nothing(applies, satisfied):
    assert judge(*planes(applies, satisfied), 0) == (0, 0, 0, 0)


@pytest.mark.parametrize(
    ("failing", "unsure", "gap", "verdict"),
    [
        (0, 0, False, WITHIN),
        (0, 0b10, False, UNDETERMINED),
        (0, 0, True, UNDETERMINED),
        (0, 0b10, True, UNDETERMINED),
        (0b100, 0, False, OUTSIDE),
        (0b100, 0b10, True, OUTSIDE),  # what surely fails is out, whatever else is open
    ],
)
def test_the_verdict_of_some_rules(failing, unsure, gap, verdict):
    assert outcome(INTS, failing, unsure, gap) == verdict


def test_verdicts_are_so_ordered_that_all_is_the_least_and_any_the_greatest():
    numbers = {False: OUTSIDE, None: UNDETERMINED, True: WITHIN}
    for one, other in product(numbers, repeat=2):
        both = False if False in (one, other) else None if None in (one, other) else True
        either = True if True in (one, other) else None if None in (one, other) else False
        assert worst(INTS, [numbers[one], numbers[other]]) == numbers[both]
        assert best(INTS, [numbers[one], numbers[other]])[0] == numbers[either]


@pytest.mark.parametrize(
    ("verdicts", "expected"),
    [
        ([WITHIN], (WITHIN, 0)),
        ([OUTSIDE, WITHIN, WITHIN], (WITHIN, 1)),
        ([UNDETERMINED, OUTSIDE, UNDETERMINED], (UNDETERMINED, 0)),
        ([OUTSIDE, UNDETERMINED, WITHIN], (WITHIN, 2)),
        ([OUTSIDE, OUTSIDE], (OUTSIDE, 0)),
    ],
)
def test_the_best_way_is_the_first_that_does_best(verdicts, expected):
    assert best(INTS, verdicts) == expected


def test_the_bits_of_a_mask_are_told_lowest_first():
    assert bits_of(0) == []
    assert bits_of(1 << 70 | 0b1001) == [0, 3, 70]


masks = st.integers(0, 2**64 - 1)
rows = st.lists(st.tuples(masks, masks, masks, masks, masks, st.booleans()), min_size=1, max_size=8)


@settings(max_examples=500, deadline=None)
@given(rows)
def test_arrays_are_judged_as_whole_numbers_are(found):
    *columns, gaps = zip(*found, strict=True)
    judged = judge(*(numpy.array(column, dtype=numpy.uint64) for column in columns))
    verdicts = outcome(ARRAYS, judged[2], judged[3], numpy.array(gaps))
    for place, (*each, gap) in enumerate(found):
        alone = judge(*each)
        assert tuple(int(mask[place]) for mask in judged) == alone
        assert int(verdicts[place]) == outcome(INTS, alone[2], alone[3], gap)


@settings(max_examples=200, deadline=None)
@given(rows)
def test_what_is_judged_falls_into_parts(found):
    """Of the rules asked, each is out, passes, fails or is open, and only one of these."""
    for *each, _ in found:
        out, may, missed, doubtful, asked = each
        relevant, sure, failing, unsure = judge(out, may, missed, doubtful, asked)
        assert relevant == asked & ~out
        assert sure == relevant & ~may
        assert failing & unsure == 0
        assert failing | unsure == relevant & missed
        assert failing == sure & missed & ~doubtful


@settings(max_examples=200, deadline=None)
@given(st.lists(st.lists(st.sampled_from([OUTSIDE, UNDETERMINED, WITHIN]), min_size=3, max_size=3), min_size=1))
def test_ways_are_chosen_row_by_row(found):
    columns = [numpy.array(column) for column in zip(*found, strict=True)]
    verdict, way = best(ARRAYS, columns)
    least = worst(ARRAYS, columns)
    for place, each in enumerate(found):
        assert (int(verdict[place]), int(way[place])) == best(INTS, each)
        assert int(least[place]) == worst(INTS, each)
