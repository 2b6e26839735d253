"""Margins: what is left between a measure and each limit on it, exact, with its sign, unknown where it is not known.

Tires and rules are invented; figures are worked out by hand (an inch is 25.4 mm exactly, ISO 31-1).
"""

from __future__ import annotations

from fractions import Fraction
from itertools import islice
from typing import Any

import pytest

from tests.engine import rule, us_case, world
from tests.engine.differential import builtin
from tests.support import injury
from tirerules import Decision, Quantity, measure
from tirerules.engine.parts import Margin


def margins(rules: str, **changes: Any) -> dict[str, Margin]:
    decision = world(rules).decide(us_case(**changes))
    return {each.rule.partition("/")[2]: each for each in decision.margins}


SIZE = rule("size", "limit: {fact: injury.diameter, at-most: 1/4 in}")


@pytest.mark.parametrize(
    ("diameter", "least", "most"),
    [
        ("5 mm", "1.35 mm", "1.35 mm"),  # 6.35 - 5
        ("1/4 in", "0 in", "0 in"),
        ("8 mm", "-1.65 mm", "-1.65 mm"),
        ("6.0 mm ± 0.3 mm", "0.05 mm", "0.65 mm"),  # 6.35 - 6.3 and 6.35 - 5.7
        ("5 mm to 7 mm", "-0.65 mm", "1.35 mm"),
        ("3/16 in", "0.0625 in", "0.0625 in"),  # 4/16 - 3/16
    ],
)
def test_a_margin_to_a_ceiling_is_exact_in_the_unit_of_the_measure(diameter, least, most):
    margin = margins(SIZE, injuries=injury(diameter=diameter))["size"]
    assert (str(margin.least), str(margin.most)) == (least, most)
    assert margin.applies is True
    assert margin.measured == diameter
    stated = measure(diameter)
    assert margin.least.exact == Fraction(127, 20) - stated.high.exact


def test_a_margin_to_a_floor_is_what_lies_above_it():
    tread = rule("tread", "limit: {fact: tire.tread_depth, at-least: 2/32 in}")
    margin = margins(SIZE + tread, tire={"tread_depth": "4/32 in rounded"}, injuries=injury())["tread"]
    # A gauge in 32nds rounds to the nearest: 3.5 to 4.5, above 2.
    assert (margin.least.to("in"), margin.most.to("in")) == (Fraction(3, 64), Fraction(5, 64))


def test_what_is_unknown_has_no_margin_and_what_may_apply_says_so():
    maybe = rule("maybe", "limit: {fact: injury.diameter, at-most: 4 mm}", when="{tire.run_flat: true}")
    found = margins(SIZE + maybe, injuries=injury(diameter="5 mm"))
    assert found["maybe"].applies is None
    assert str(found["maybe"].least) == "-1 mm"
    unknown = margins(SIZE, injuries=injury(diameter=None))["size"]
    assert (unknown.least, unknown.most, unknown.measured) == (None, None, "unknown")


def test_a_count_is_limited_by_a_count():
    count = rule("count", "limit: {fact: repairs.count, at-most: 2}")
    margin = margins(SIZE + count, injuries=injury(), earlier_repairs=[{}, {}])["count"]
    assert (margin.least, margin.most) == (-1, -1)


def test_two_injuries_have_a_margin_each():
    rulebook = world(SIZE)
    two = injury(diameter="5 mm") + injury(diameter="6 mm")
    found = [(each.subject, str(each.least)) for each in rulebook.decide(us_case(injuries=two)).margins]
    assert found == [("injury 1", "1.35 mm"), ("injury 2", "0.35 mm")]


def test_the_sign_of_a_margin_is_the_outcome_of_its_rule():
    """On drawn cases: what surely fails has lost all of it, what surely passes has lost none."""
    rulebook, _, cases = builtin(8)
    seen = {"fails": 0, "passes": 0}
    for case in islice(cases, 250):
        decision = rulebook.decide(case)
        outcomes = {(each.rule, each.subject, each.limit, each.measured): each for each in reasons(decision)}
        for margin in decision.margins:
            reason = outcomes[margin.rule, margin.subject, margin.limit, margin.measured]
            if margin.least is None or not margin.applies:
                continue
            least, most = (each.exact if isinstance(each, Quantity) else each for each in (margin.least, margin.most))
            assert least <= most
            if reason.outcome in seen:
                seen[reason.outcome] += 1
                # At nought the relation decides: at most passes, less than fails.
                assert (most <= 0) if reason.outcome == "fails" else (least >= 0), (margin, reason)
    assert all(count > 30 for count in seen.values()), seen


def reasons(decision: Decision) -> list[Any]:
    leading = [each for each in decision.methods if each.method == decision.limits_method]
    return [*decision.reasons, *(reason for each in leading for reason in each.reasons)]
