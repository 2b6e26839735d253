"""A limit that contradicts a finding: open by itself, a floor with every bar on that finding.

Heights as new tires bear them: 49 CFR 571.139 S5.4 and 571.109 S4.2.1(d) (1/16 in), 571.119 S6.4 (1/16 in; motorcycles
1/32 in). Rules and tires are invented.
"""

from __future__ import annotations

import pytest

from tests.engine import asked, country, outcomes, pack, rule, rungs, us_case, world
from tirerules import Rulebook

HEIGHTS = "".join(
    rule(
        name,
        f"limit: {{fact: tire.tread_depth, at-least: {height}}}",
        activity="road-use",
        when=f"{{tire.class: [{classes}]}}",
        more="contradicts: worn-to-indicators",
    )
    for name, height, classes in (
        ("height", "1/16 in", "passenger, light-truck, medium-truck, bus"),
        ("height-motorcycle", "1/32 in", "motorcycle"),
    )
)
BAR = rule("worn", "disqualify: {findings: [worn-to-indicators]}", activity="road-use")
LOW = rule("floor", "limit: {fact: tire.tread_depth, at-least: 0.5 mm}", activity="road-use")
NAME, MOTORCYCLE = "US/worn-by-height", "US/worn-by-height-motorcycle"


def _book(rules: str) -> Rulebook:
    return Rulebook([pack(HEIGHTS, "invented-trade", "baseline"), country(rules=rules)])


def _driven(rules: str, depth: str | None = None, class_: str = "passenger", **changes):
    tire = {"class": class_, **({} if depth is None else {"tread_depth": depth})}
    case = us_case(activity="road-use", injuries=[], **changes)
    return _book(rules).decide({**case, "tire": {**tire, **changes.get("tire", {})}})


@pytest.mark.parametrize(
    ("depth", "class_", "verdict"),
    [
        ("0.1 mm", "passenger", "outside-limits"),
        ("1.58 mm", "passenger", "outside-limits"),
        ("1/16 in", "passenger", "within-limits"),
        ("1.5 mm to 1.6 mm", "passenger", "undetermined"),
        ("1.5 mm", "bus", "outside-limits"),
        ("1.5 mm", "motorcycle", "within-limits"),
        ("0.79 mm", "motorcycle", "outside-limits"),
        ("0.5 mm", None, "undetermined"),  # the class decides
        ("1.5 mm", "agricultural", "undetermined"),  # no height is known, so the bar is no floor
    ],
)
def test_a_reading_below_the_height_is_out_where_a_place_bars_worn_tires(depth, class_, verdict):
    found = _driven(BAR, depth, class_) if class_ else _driven(BAR, depth, tire={"class": None})
    assert found.verdict == verdict


def test_the_bar_and_the_height_stand_in_the_ladder_as_a_floor():
    found = _driven(BAR, "3/32 in")
    assert str(found.limits["tire.tread_depth"].at_least) == "1/16 in"
    assert found.limits["tire.tread_depth"].binding == (NAME,)
    assert rungs(found, "tire.tread_depth")[0] == NAME
    assert outcomes(found, MOTORCYCLE) == set()


def test_without_a_reading_the_finding_alone_is_no_floor():
    found = _driven(BAR)
    assert (found.verdict, asked(found)) == ("undetermined", ["tire.tread_depth"])


@pytest.mark.parametrize(
    ("depth", "verdict"),
    [("1.5 mm", "undetermined"), ("1.5 mm to 1.6 mm", "undetermined"), ("1.6 mm", "within-limits")],
)
def test_elsewhere_a_reading_below_the_height_leaves_the_case_open(depth, verdict):
    found = _driven(LOW, depth)
    assert found.verdict == verdict
    assert outcomes(found, "invented-trade/height") == ({"passes"} if verdict == "within-limits" else {"unknown"})
    assert asked(found) == ([] if depth == "1.5 mm" else asked(found))


def test_the_height_alone_is_no_floor():
    found = _driven("", "8/32 in")
    assert found.verdict == "undetermined"
    assert "engine/limit-located" in {reason.rule for reason in found.reasons}


@pytest.mark.parametrize(
    ("grid", "verdict"),
    [
        ([["1 mm", "1 mm", "5 mm"]] * 3, "outside-limits"),  # two adjacent grooves at three places
        ([["1 mm", "5 mm", "1 mm"]] * 3, "within-limits"),  # no two adjacent ones
        ([["1 mm", "1 mm", "5 mm"]] * 2 + [["5 mm", "5 mm", "5 mm"]], "within-limits"),
        ([["1 mm", "5 mm", "5 mm"]], "outside-limits"),  # too few places: the smallest reading counts
    ],
)
def test_a_grid_shows_contact_as_most_laws_count_it(grid, verdict):
    assert _driven(BAR, tire={"class": "passenger", "tread_grid": grid}).verdict == verdict


def test_the_third_rule_binds_where_and_when_the_bar_does():
    dated = rule(
        "worn",
        "disqualify: {findings: [worn-to-indicators]}",
        activity="road-use",
        when="{axle.steer: true}",
        more="in-force: {from: 2020-01-01}",
    )
    for steer, on, verdict in (
        (True, "2026-01-01", "outside-limits"),
        (True, "2019-12-31", "undetermined"),
        (False, "2026-01-01", "undetermined"),
    ):
        assert _driven(dated + LOW, "1 mm", axle={"steer": steer}, on=on).verdict == verdict


def test_a_case_as_json_text_says_the_same():
    """The rules that are made of two are rules like others, on every way to a decision."""
    book = world(HEIGHTS + BAR + LOW)
    case = us_case(activity="road-use", tire={"class": "bus", "tread_depth": "1.5 mm"}, injuries=[])
    found = book.decide(case)
    assert found.verdict == "outside-limits"
    assert "invented-trade/worn-by-height" in {reason.rule for reason in found.reasons if reason.outcome == "fails"}
