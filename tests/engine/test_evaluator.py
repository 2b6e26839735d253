"""From a case to a verdict: the questions a counter asks first, and what the words of the design must mean.

Every shop, ticket and invented rule here is invented. The built-in packs' figures are checked against the sources named
beside them.
"""

from __future__ import annotations

import json
import math
import time
from datetime import date
from fractions import Fraction

import pytest

import tirerules
from tests.engine import (
    EARLIER_SIZE,
    SIZE,
    all_reasons,
    asked,
    by_method,
    country,
    everywhere,
    failing,
    notices,
    outcomes,
    pack,
    rule,
    rungs,
    trade,
    us_case,
    with_packs,
    world,
)
from tests.support import injury, repair_case
from tirerules import Rulebook, UnknownJurisdictionError, Verdict, case_from_json, decision_to_json
from tirerules.vocabulary import NO_HIGHWAY

DOCUMENT = "invented data sheet 12"


def unit(angle: str, document: str | None = DOCUMENT, method: str = "one-piece") -> dict[str, str]:
    said = {"method": method, "rated_angle": angle}
    return said if document is None else {**said, "document": document}


def decide(**changes):
    """Decide a case in South Carolina by the built-in packs."""
    return everywhere().decide(repair_case(**changes))


# --- what a shop asks first, by the built-in packs --------------------------------------------------------------------


def test_a_self_sealing_tire_in_south_carolina_is_repaired_by_a_one_piece_unit_only():
    decision = decide(tire={"sealant_layer": True})
    assert decision.verdict is Verdict.WITHIN
    assert by_method(decision) == {
        "one-piece": "within-limits",
        "two-piece": "outside-limits",
        "section": "outside-limits",
    }
    assert decision.limits_method == "one-piece"


# 1 in = 25.4 mm exactly (International Yard and Pound agreement, 1959), so 1/4 in is 6.35 mm. The charts print
# "1/4 in (6 mm)", two figures that differ: the strict reading takes the smaller, the reading as enacted the first.
@pytest.mark.parametrize(
    ("size", "reading", "verdict"),
    [
        ("6 mm", "strict", "within-limits"),
        ("6.2 mm", "strict", "outside-limits"),
        ("6.2 mm", "as-enacted", "within-limits"),
        ("6.35 mm", "as-enacted", "within-limits"),
        ("0.25 in", "as-enacted", "within-limits"),
        ("1/4 in", "as-enacted", "within-limits"),
        ("6.35 mm", "strict", "outside-limits"),
        ("0.25 in", "strict", "outside-limits"),
        ("1/4 in", "strict", "outside-limits"),
        ("6.351 mm", "as-enacted", "outside-limits"),
        ("9/32 in", "as-enacted", "outside-limits"),
    ],
)
def test_a_quarter_inch_and_six_millimeters_are_two_figures(size, reading, verdict):
    decision = decide(injuries=injury(diameter=size), reading=reading)
    assert str(decision.verdict) == verdict
    assert outcomes(decision, "industry/puncture-size") == {"passes" if verdict == "within-limits" else "fails"}


def test_three_spellings_of_one_length_get_one_answer():
    def answer(size):
        decision = decide(injuries=injury(diameter=size), reading="as-enacted")
        reasons = [(each.rule, each.fact, each.subject, each.limit, each.outcome) for each in all_reasons(decision)]
        return decision.verdict, by_method(decision), reasons, decision.limits, decision.questions, decision.notices

    assert answer("6.35 mm") == answer("0.25 in") == answer("1/4 in")


# Angles: 25 degrees for a one-piece unit, TRMG recommended practices (May 2017 revision).
@pytest.mark.parametrize(
    ("angle", "layer", "methods", "verdict"),
    [
        ("25 deg", False, ("within-limits", "within-limits"), "within-limits"),
        ("25.001 deg", False, ("outside-limits", "within-limits"), "within-limits"),
        ("30 deg", False, ("outside-limits", "within-limits"), "within-limits"),
        ("25 deg", True, ("within-limits", "outside-limits"), "within-limits"),
        ("30 deg", True, ("outside-limits", "outside-limits"), "outside-limits"),
    ],
    ids=["at 25", "above 25", "30, plain tire", "at 25, sealant layer", "30, sealant layer"],
)
def test_the_angle_decides_between_one_piece_and_two_piece(angle, layer, methods, verdict):
    decision = decide(injuries=injury(angle=angle), tire={"sealant_layer": layer})
    found = by_method(decision)
    assert (found["one-piece"], found["two-piece"]) == methods
    assert str(decision.verdict) == verdict


def test_why_a_two_piece_repair_of_a_sealant_layer_tire_fails_is_named():
    decision = decide(injuries=injury(angle="30 deg"), tire={"sealant_layer": True})
    two_piece = next(each for each in decision.methods if each.method == "two-piece")
    assert {reason.rule for reason in two_piece.reasons if reason.outcome == "fails"} == {
        "industry/sealant-layer-method"
    }


# The practice lets the maker of the repair material document more than 25 degrees; the baseline caps that at 35.
@pytest.mark.parametrize(
    ("rating", "angle", "one_piece"),
    [
        (unit("35 deg"), "35 deg", "within-limits"),
        (unit("35 deg"), "36 deg", "outside-limits"),
        (unit("30 deg"), "30 deg", "within-limits"),
        (unit("30 deg"), "31 deg", "outside-limits"),
        (unit("45 deg"), "35 deg", "within-limits"),
        (unit("45 deg"), "36 deg", "outside-limits"),
        (unit("35 deg", document=None), "26 deg", "outside-limits"),
        (unit("35 deg", document="  "), "26 deg", "outside-limits"),
        (unit("35 deg", document=None), "25 deg", "within-limits"),
        (unit("35 deg", method="two-piece"), "30 deg", "outside-limits"),
        (unit("15 deg"), "15 deg", "within-limits"),
        (unit("15 deg"), "20 deg", "outside-limits"),
        (unit("15 deg", document=None), "20 deg", "outside-limits"),
    ],
)
def test_a_units_documented_rating_extends_the_angle_and_a_low_one_tightens_it(rating, angle, one_piece):
    decision = decide(injuries=injury(angle=angle), repair_unit=rating)
    assert by_method(decision)["one-piece"] == one_piece


def test_an_answer_that_rests_on_a_rating_says_so():
    decision = decide(injuries=injury(angle="35 deg"), repair_unit=unit("35 deg"), tire={"sealant_layer": True})
    assert decision.verdict is Verdict.WITHIN
    assert [reason.rule for reason in all_reasons(decision) if reason.extended] == ["industry/one-piece-angle"]
    (said,) = notices(decision, "extension")
    assert "industry/one-piece-angle" in said
    assert "35 deg" in said
    assert [rung.rule.name for rung in decision.limits["injury.angle"].ladder if rung.extended] == [
        "industry/one-piece-angle"
    ]


@pytest.mark.parametrize("rating", [None, unit("35 deg", document=None), unit("15 deg"), unit("25 deg")])
def test_an_answer_that_rests_on_no_rating_mentions_none(rating):
    decision = decide(injuries=injury(angle="10 deg"), repair_unit=rating)
    assert notices(decision, "extension") == []
    assert not any(reason.extended for reason in all_reasons(decision))


@pytest.mark.parametrize(
    "bad", [injury(diameter="6.2 mm"), injury(zone="shoulder"), injury(kind="cut")], ids=["size", "zone", "kind"]
)
def test_a_rating_extends_nothing_but_the_angle(bad):
    assert decide(injuries=bad, repair_unit=unit("35 deg")).verdict is Verdict.OUTSIDE


# S.C. Code Ann. § 39-75-210 (2025 Act No. 33): damage larger than 3/8 inch makes a USED tire unsafe to install.
@pytest.mark.parametrize("size", ["6.5 mm", "8 mm", "3/8 in", "10 mm"])
def test_the_three_eighths_of_south_carolina_never_loosens_a_repair(size):
    decision = decide(injuries=injury(diameter=size))
    assert decision.verdict is Verdict.OUTSIDE
    assert "industry/puncture-size" in failing(decision)
    assert not any(name.startswith("US-SC/") for fact in decision.limits for name in rungs(decision, fact))


def used_tire(code: str, **changes):
    """Decide an invented used passenger tire that carries one repair, or none."""
    return everywhere().decide(
        repair_case(
            **{
                "jurisdictions": [code],
                "activity": "used-tire-installation",
                "injuries": [],
                "tire": {"same_vehicle": False, "retread": False, "regrooved": False},
                **changes,
            }
        )
    )


def earlier(**changes):
    return [{"diameter": "4 mm", "zone": "crown", "method": "one-piece", **changes}]


def test_a_used_tire_with_an_8_mm_repair_passes_the_statute_of_south_carolina_and_fails_the_baseline():
    decision = used_tire("US-SC", earlier_repairs=earlier(diameter="8 mm"))
    assert outcomes(decision, "US-SC/used-tire-puncture-size") == {"passes"}
    assert outcomes(decision, "industry/earlier-repair-size") == {"fails"}
    assert decision.verdict is Verdict.OUTSIDE
    limits = decision.limits["repair.diameter"]
    assert limits.binding == ("industry/earlier-repair-size",)
    assert str(limits.at_most) == "6 mm"
    assert rungs(decision, "repair.diameter") == ["industry/earlier-repair-size", "US-SC/used-tire-puncture-size"]


# Cal. Bus. & Prof. Code § 9889.30(a): damage larger than 1/4 inch makes a used tire unsafe.
def test_a_used_tire_with_an_8_mm_repair_fails_the_statute_of_california():
    decision = used_tire("US-CA", earlier_repairs=earlier(diameter="8 mm"))
    assert outcomes(decision, "US-CA/used-tire-puncture-size") == {"fails"}
    assert decision.verdict is Verdict.OUTSIDE


# N.J. P.L. 2017, c. 215: no retail sale with "less than" 1/16 inch; Ohio Rev. Code § 1345.022: "2/32 inch or less" is
# unsafe. 1/16 in = 2/32 in = 1.5875 mm exactly.
@pytest.mark.parametrize(
    ("depth", "new_jersey", "ohio"),
    [
        ("2/32 in", "passes", "fails"),
        ("1/16 in", "passes", "fails"),
        ("1.5875 mm", "passes", "fails"),
        ("1.5874 mm", "fails", "fails"),
        ("1.5876 mm", "passes", "passes"),
        ("3/32 in", "passes", "passes"),
    ],
)
def test_exactly_two_thirty_seconds_may_be_sold_in_new_jersey_and_not_installed_used_in_ohio(depth, new_jersey, ohio):
    sold = used_tire("US-NJ", activity="tire-sale", earlier_repairs=[], tire={"tread_depth": depth})
    assert outcomes(sold, "US-NJ/sale-tread") == {new_jersey}
    assert sold.verdict is (Verdict.WITHIN if new_jersey == "passes" else Verdict.OUTSIDE)
    installed = used_tire("US-OH", earlier_repairs=[], tire={"tread_depth": depth, "same_vehicle": False})
    assert outcomes(installed, "US-OH/used-tire-tread") == {ohio}
    assert installed.verdict is (Verdict.WITHIN if ohio == "passes" else Verdict.OUTSIDE)


def test_the_law_of_ohio_is_for_passenger_cars():
    decision = used_tire("US-OH", earlier_repairs=[], tire={"tread_depth": "2/32 in"}, vehicle={"kind": "light-truck"})
    assert outcomes(decision, "US-OH/used-tire-tread") == set()


def test_a_missing_inspection_is_the_first_question():
    decision = decide(findings=None, tire={"class": None, "tread_depth": None})
    assert decision.verdict is Verdict.UNDETERMINED
    assert asked(decision)[0] == "findings"
    assert len(asked(decision)) > 1


def test_an_inspection_that_found_nothing_is_no_question():
    assert "findings" not in asked(decide(findings=[], tire={"tread_depth": None}))


def test_a_case_that_already_fails_on_size_asks_for_no_angle():
    decision = decide(injuries=injury(diameter="8 mm", angle=None))
    assert decision.verdict is Verdict.OUTSIDE
    assert asked(decision) == []


# The House passed 2025 Act No. 33 of South Carolina on 2025-05-01: no earlier start is possible.
def test_a_law_binds_from_its_first_day():
    worn = {"earlier_repairs": [], "tire": {"tread_depth": "2/32 in"}}
    before = used_tire("US-SC", on="2025-04-30", **worn)
    assert outcomes(before, "US-SC/used-tire-tread") == set()
    assert any(
        "US-SC/used-tire-tread starts only on 2025-05-01" in said for said in notices(before, "not-yet-in-force")
    )
    since = used_tire("US-SC", on="2025-05-01", **worn)
    assert outcomes(since, "US-SC/used-tire-tread") == {"fails"}
    assert notices(since, "not-yet-in-force") == []


def test_an_unknown_code_is_refused_with_its_neighbours():
    with pytest.raises(UnknownJurisdictionError, match="no jurisdiction code") as caught:
        decide(jurisdictions=["US-SX"])
    assert not caught.value.real
    assert caught.value.offers == ("US-SC", "US-SD")
    assert "did you mean US-SC or US-SD?" in str(caught.value)


def test_a_real_code_without_a_pack_is_refused_and_not_offered_neighbours():
    with pytest.raises(UnknownJurisdictionError, match="no pack for US-SD") as caught:
        trade().decide(us_case(jurisdictions=["US-SD"]))
    assert caught.value.real
    assert caught.value.offers == ("US",)
    assert "did you mean" not in str(caught.value)


def test_a_state_needs_its_country():
    lone = Rulebook([pack(name="US-SC", kind="jurisdiction")])
    with pytest.raises(UnknownJurisdictionError, match="no pack for US,"):
        lone.decide(repair_case())


@pytest.mark.parametrize("name", ["trailer", "temporary-spare", "agricultural", "off-road"])
def test_a_tire_for_which_no_size_limit_was_located_is_never_within(name):
    decision = trade().decide(us_case(tire={"class": name}, injuries=injury(diameter="1 mm", angle="0 deg")))
    assert decision.verdict is Verdict.UNDETERMINED
    assert outcomes(decision, "engine/limit-located") == {"unknown"}
    assert asked(decision) == []
    # Of the last two, which are made for no highway, no rule speaks either.
    assert len(notices(decision, "gap")) == 1 + (name in NO_HIGHWAY)


# USTMA charts: 1/4 in through load range E, 3/8 in from load range F (truck and bus).
def test_rules_that_cover_every_load_range_ask_for_none_where_all_of_them_pass():
    truck = {"class": "light-truck"}
    small = trade().decide(us_case(tire=truck))
    assert (small.verdict, asked(small)) == (Verdict.WITHIN, [])
    large = trade().decide(us_case(tire=truck, injuries=injury(diameter="8 mm")))
    assert (large.verdict, asked(large)) == (Verdict.UNDETERMINED, ["tire.load_range"])
    for load_range, verdict in (("E", Verdict.OUTSIDE), ("F", Verdict.WITHIN)):
        known = trade().decide(us_case(tire={**truck, "load_range": load_range}, injuries=injury(diameter="8 mm")))
        assert known.verdict is verdict


@pytest.mark.parametrize("method", ["plug-only", "patch-only", "boot", "temporary-sealant"])
def test_an_improper_method_fails_whatever_the_injury(method):
    decision = trade().decide(us_case(method=method))
    assert decision.verdict is Verdict.OUTSIDE
    assert by_method(decision) == {method: "outside-limits"}
    assert "industry/methods" in failing(decision)


def test_naming_the_method_judges_that_method_alone():
    decision = trade().decide(us_case(method="two-piece", tire={"sealant_layer": True}))
    assert decision.verdict is Verdict.OUTSIDE
    assert list(by_method(decision)) == ["two-piece"]


# --- three-valued answers ---------------------------------------------------------------------------------------------

# Kleene's strong logic (Introduction to Metamathematics, 1952, section 64; from memory): "and" is false as soon as one
# part is, and unknown when a part is unknown and none is false.
YES, NO, UNKNOWN = True, False, None


@pytest.mark.parametrize(
    ("retread", "run_flat", "outcome"),
    [
        (YES, YES, {"fails"}),
        (YES, UNKNOWN, {"unknown"}),
        (UNKNOWN, YES, {"unknown"}),
        (UNKNOWN, UNKNOWN, {"unknown"}),
        (YES, NO, set()),
        (NO, YES, set()),
        (UNKNOWN, NO, set()),
        (NO, UNKNOWN, set()),
        (NO, NO, set()),
    ],
)
def test_conditions_are_joined_by_kleenes_and(retread, run_flat, outcome):
    old = rule("age", "limit: {fact: tire.age, at-most: 5 years}", when="{tire.retread: true, tire.run_flat: true}")
    decision = world(SIZE + old).decide(us_case(tire={"age": "6 years", "retread": retread, "run_flat": run_flat}))
    assert outcomes(decision, "invented-trade/age") == outcome
    expected = {"fails": Verdict.OUTSIDE, "unknown": Verdict.UNDETERMINED}
    assert decision.verdict is expected.get(next(iter(outcome), ""), Verdict.WITHIN)


def test_a_rule_that_may_apply_and_would_pass_leaves_the_case_within_limits():
    old = rule("age", "limit: {fact: tire.age, at-most: 5 years}", when="{tire.retread: true}")
    decision = world(SIZE + old).decide(us_case(tire={"age": "5 years"}))
    assert decision.verdict is Verdict.WITHIN
    (reason,) = [reason for reason in all_reasons(decision) if reason.rule == "invented-trade/age"]
    assert (str(reason.outcome), reason.applies) == ("passes", None)


def test_a_rule_that_may_apply_and_would_fail_asks_whether_it_applies():
    old = rule("age", "limit: {fact: tire.age, at-most: 5 years}", when="{tire.retread: true}")
    decision = world(SIZE + old).decide(us_case(tire={"age": "6 years"}))
    assert (decision.verdict, asked(decision)) == (Verdict.UNDETERMINED, ["tire.retread"])


@pytest.mark.parametrize(
    ("condition", "tire", "applies"),
    [
        ("{tire.class: [passenger, light-truck]}", {"class": "passenger"}, True),
        ("{tire.class: [light-truck, bus]}", {"class": "passenger"}, False),
        ("{tire.class: {not: bus}}", {"class": "passenger"}, True),
        ("{tire.class: {not: [bus, passenger]}}", {"class": "passenger"}, False),
        ("{tire.load_range: {at-most: E}}", {"load_range": "E"}, True),
        ("{tire.load_range: {less-than: E}}", {"load_range": "E"}, False),
        ("{tire.load_range: {at-least: J}}", {"load_range": "H"}, False),
        # Load ranges have no I and no K (trade lists of load range and ply rating; common practice, no source).
        ("{tire.load_range: {more-than: H, at-most: J}}", {"load_range": "J"}, True),
        # H (210 km/h) stands between U (200) and V (240) by speed, not by alphabet (speed symbol tables; from memory).
        ("{tire.speed_symbol: {more-than: U, less-than: V}}", {"speed_symbol": "H"}, True),
        ("{tire.speed_symbol: {more-than: H}}", {"speed_symbol": "U"}, False),
        ("{tire.speed_symbol: {more-than: V}}", {"speed_symbol": "ZR"}, True),
        ("{tire.age: {more-than: 5 years}}", {"age": "5 years"}, False),
        ("{tire.age: {at-least: 5 years}}", {"age": "5 years"}, True),
        ("{tire.age: {more-than: 1 year, less-than: 2 years}}", {"age": "18 months"}, True),
        ("{tire.age: {more-than: 5 years}}", {"age": "4 years to 6 years"}, None),
        ("{tire.age: {more-than: 5 years}}", {"age": "4 years to 5 years"}, False),
        ("{tire.sealant_layer: false}", {"sealant_layer": False}, True),
        ("{tire.sealant_layer: {not: true}}", {"sealant_layer": None}, None),
    ],
)
def test_a_condition_holds_fails_or_is_unknown(condition, tire, applies):
    fails = rule("barred", "limit: {fact: tire.tread_depth, at-least: 1 m}", when=condition)
    decision = world(SIZE + fails).decide(us_case(tire=tire))
    assert outcomes(decision, "invented-trade/barred") == {True: {"fails"}, None: {"unknown"}, False: set()}[applies]


@pytest.mark.parametrize(
    ("relation", "measured", "outcome"),
    [
        ("at-most: 6 mm", "5 mm to 6 mm", "passes"),
        ("at-most: 6 mm", "6 mm to 7 mm", "unknown"),
        ("at-most: 6 mm", "6.1 mm to 7 mm", "fails"),
        ("at-most: 6 mm", "5.7 mm ± 0.3 mm", "passes"),
        ("at-most: 6 mm", "5.8 mm ± 0.3 mm", "unknown"),
        ("at-most: 6 mm", "6.3 mm ± 0.3 mm", "unknown"),
        ("at-most: 6 mm", "6.4 mm ± 0.3 mm", "fails"),
        ("less-than: 6 mm", "5 mm to 5.9 mm", "passes"),
        ("less-than: 6 mm", "5 mm to 6 mm", "unknown"),
        ("less-than: 6 mm", "6 mm to 7 mm", "fails"),
        ("at-least: 6 mm", "6 mm to 7 mm", "passes"),
        ("at-least: 6 mm", "5 mm to 6 mm", "unknown"),
        ("at-least: 6 mm", "5 mm to 5.9 mm", "fails"),
        ("more-than: 6 mm", "6.1 mm to 7 mm", "passes"),
        ("more-than: 6 mm", "6 mm to 7 mm", "unknown"),
        ("more-than: 6 mm", "5 mm to 6 mm", "fails"),
        ("at-most: 6 mm", None, "unknown"),
    ],
)
def test_a_measurement_passes_only_where_all_of_it_does_and_fails_only_where_none_does(relation, measured, outcome):
    limit = rule("limit", f"limit: {{fact: tire.thickness, {relation}}}")
    decision = world(SIZE + limit).decide(us_case(tire={"thickness": measured}))
    assert outcomes(decision, "invented-trade/limit") == {outcome}
    # What straddles a limit can be measured again, so it is asked for.
    assert asked(decision) == (["tire.thickness"] if outcome == "unknown" else [])


# Guarded acceptance (JCGM 106:2012; ILAC-G8:09/2019, 4.2.2): the acceptance limit is the tolerance limit less the guard
# band, so a maximum is met when measured + U <= limit and a minimum when measured - U >= limit. The figures below are
# arithmetic on the limits of the trade: 6.1 + 0.3 = 6.4 > 6.35 (simple acceptance would accept 6.1).
# A tread gauge that reads in steps of 1/32 in has, uniformly distributed, u = step / sqrt(12) and U = 2u = 0.4583 mm,
# so 2/32 in = 1.5875 mm is met from 2.0458 mm on: a reading of 3/32 in.
GAUGE = f"± {2 * (25.4 / 32) / math.sqrt(12):.4f} mm"


@pytest.mark.parametrize(
    ("limit", "measured", "outcome"),
    [
        ("{fact: tire.thickness, at-most: 6.35 mm}", "6.1 mm", "passes"),
        ("{fact: tire.thickness, at-most: 6.35 mm}", "6.1 mm ± 0.3 mm", "unknown"),
        ("{fact: tire.thickness, at-most: 6.35 mm}", "6.05 mm ± 0.3 mm", "passes"),
        ("{fact: tire.thickness, at-least: 2/32 in}", "2/32 in", "passes"),
        ("{fact: tire.thickness, at-least: 2/32 in}", f"2/32 in {GAUGE}", "unknown"),
        ("{fact: tire.thickness, at-least: 2/32 in}", f"2.0457 mm {GAUGE}", "unknown"),
        ("{fact: tire.thickness, at-least: 2/32 in}", f"2.0458 mm {GAUGE}", "passes"),
        ("{fact: tire.thickness, at-least: 2/32 in}", f"3/32 in {GAUGE}", "passes"),
        ("{fact: tire.thickness, at-least: 2/32 in}", f"1/32 in {GAUGE}", "fails"),
    ],
)
def test_measurements_are_accepted_with_a_guard_band(limit, measured, outcome):
    decision = world(SIZE + rule("limit", f"limit: {limit}")).decide(us_case(tire={"thickness": measured}))
    assert outcomes(decision, "invented-trade/limit") == {outcome}


# 1/4 in = 6.35 mm, 5/16 in = 7.9375 mm, 2/32 in = 1.5875 mm: 1 in = 25.4 mm exactly.
@pytest.mark.parametrize(
    ("relation", "printed", "reading", "passes", "fails"),
    [
        ("at-most", "{value: 1/4 in, also-printed: 6 mm}", "strict", "6 mm", "6.001 mm"),
        ("at-most", "{value: 1/4 in, also-printed: 6 mm}", "as-enacted", "6.35 mm", "6.351 mm"),
        ("at-most", "{value: 5/16 in, also-printed: 8 mm}", "strict", "7.9375 mm", "7.938 mm"),
        ("at-most", "{value: 8 mm, also-printed: 5/16 in}", "strict", "7.9375 mm", "7.938 mm"),
        ("at-most", "{value: 8 mm, also-printed: 5/16 in}", "as-enacted", "8 mm", "8.001 mm"),
        ("less-than", "{value: 1/4 in, also-printed: 6 mm}", "strict", "5.999 mm", "6 mm"),
        ("at-least", "{value: 2/32 in, also-printed: 2 mm}", "strict", "2 mm", "1.999 mm"),
        ("at-least", "{value: 2/32 in, also-printed: 2 mm}", "as-enacted", "1.5875 mm", "1.587 mm"),
        ("at-least", "{value: 2/32 in, also-printed: 1.5 mm}", "strict", "1.5875 mm", "1.587 mm"),
        ("more-than", "{value: 2/32 in, also-printed: 1.5 mm}", "strict", "1.588 mm", "1.5875 mm"),
    ],
)
def test_of_two_printed_figures_the_stricter_binds_unless_the_case_asks_as_enacted(
    relation, printed, reading, passes, fails
):
    rulebook = world(SIZE + rule("dual", f"limit: {{fact: tire.thickness, {relation}: {printed}}}"))
    for depth, outcome in ((passes, "passes"), (fails, "fails")):
        decision = rulebook.decide(us_case(tire={"thickness": depth}, reading=reading))
        assert outcomes(decision, "invented-trade/dual") == {outcome}


def test_an_empty_permitted_set_is_an_answer_with_its_reasons():
    crown = rule("crown", "permit: {fact: injury.zone, values: [crown]}")
    shoulder = rule("shoulder", "permit: {fact: injury.zone, values: [shoulder]}")
    decision = world(SIZE + crown, pack(shoulder)).decide(us_case())
    limits = decision.limits["injury.zone"]
    assert limits.permitted == ()
    assert limits.binding == ("invented-shop/shoulder", "invented-trade/crown")
    assert decision.verdict is Verdict.OUTSIDE
    assert failing(decision) == {"invented-shop/shoulder"}


# --- who is bound by what ---------------------------------------------------------------------------------------------


def shop(rules: str) -> Rulebook:
    """Return the built-in baseline with an invented shop's own rules on top."""
    return with_packs(trade(), pack(rules))


def test_a_company_may_be_stricter_than_the_trade():
    decision = shop(rule("small", "limit: {fact: injury.diameter, at-most: 3 mm}")).decide(us_case(method="one-piece"))
    assert decision.verdict is Verdict.OUTSIDE
    assert failing(decision) == {"invented-shop/small"}
    assert decision.limits["injury.diameter"].binding == ("invented-shop/small",)


@pytest.mark.parametrize(
    ("own", "changes", "barring"),
    [
        (
            rule("own", "limit: {fact: injury.diameter, at-most: 20 mm}"),
            {"injuries": injury(diameter="7 mm")},
            "industry/puncture-size",
        ),
        (
            rule("own", "limit: {fact: injury.angle, at-most: 60 deg}"),
            {"injuries": injury(angle="40 deg"), "method": "one-piece"},
            "industry/one-piece-angle",
        ),
        (
            rule("own", "permit: {fact: injury.zone, values: [crown, shoulder]}"),
            {"injuries": injury(zone="shoulder")},
            "industry/crown-only",
        ),
        (
            rule("own", "permit: {fact: method, values: [one-piece, plug-only]}"),
            {"method": "plug-only"},
            "industry/methods",
        ),
        (
            rule("own", "limit: {fact: tire.tread_depth, at-least: 1 mm}"),
            {"tire": {"tread_depth": "1.5 mm"}},
            "industry/tread-depth",
        ),
    ],
    ids=["size", "angle", "zone", "method", "tread"],
)
def test_a_company_cannot_loosen_what_the_trade_says(own, changes, barring):
    decision = shop(own).decide(us_case(**changes))
    assert decision.verdict is Verdict.OUTSIDE
    assert barring in failing(decision)
    assert outcomes(decision, "invented-shop/own") == {"passes"}


@pytest.mark.parametrize("kind", ["company", "repair-material"])
@pytest.mark.parametrize(
    ("own", "changes"),
    [
        (rule("own", "limit: {fact: injury.diameter, at-most: 50 mm}"), {"tire": {"class": "agricultural"}}),
        (rule("own", "disqualify: {findings: [recalled]}", when="{tire.class: bus}"), {"findings": ["recalled"]}),
        (rule("own", "require: {steps: [demount]}", when="{findings: [recalled]}"), {"findings": ["recalled"]}),
        (
            rule("own", "limit: {fact: tire.tread_depth, at-least: 1 mm}", activity="road-use"),
            {"activity": "road-use", "injuries": []},
        ),
    ],
    ids=["size", "finding of another tire", "finding", "tread"],
)
def test_what_law_and_trade_leave_open_no_overlay_can_close(own, changes, kind):
    """Adding any pack can only tighten: silence is not filled by a caller's own permission."""
    case = us_case(**changes)
    assert trade().decide(case).verdict is Verdict.UNDETERMINED
    assert with_packs(trade(), pack(own, "invented-own", kind)).decide(case).verdict is Verdict.UNDETERMINED


def test_a_repair_material_pack_binds_everywhere_and_only_tightens():
    material = pack(rule("own", "limit: {fact: injury.angle, at-most: 15 deg}"), "invented-units", "repair-material")
    decision = with_packs(trade(), material).decide(us_case(method="one-piece"))
    assert failing(decision) == {"invented-units/own"}


def places(**sizes: int) -> Rulebook:
    """Return a rulebook of invented places, each with its own ceiling on size in millimeters."""
    held = [
        pack(
            rule("size", f"limit: {{fact: injury.diameter, at-most: {size} mm}}"),
            code.replace("_", "-"),
            "jurisdiction" if "_" in code else "country",
        )
        for code, size in sizes.items()
    ]
    return Rulebook(held)


def test_several_places_bind_together_each_with_its_country():
    rulebook = places(US=9, CA=8, US_SC=7, CA_ON=6, US_NJ=2)
    for codes in (["US-SC", "CA-ON"], ["CA-ON", "US-SC"], ["CA-ON", "US-SC", "US-SC"]):
        decision = rulebook.decide(us_case(jurisdictions=codes))
        assert rungs(decision, "injury.diameter") == ["CA-ON/size", "US-SC/size", "CA/size", "US/size"]
        assert decision.limits["injury.diameter"].binding == ("CA-ON/size",)
        assert list(decision.packs) == ["CA", "CA-ON", "US", "US-SC"]


@pytest.mark.parametrize("codes", [["US-SC"], ["US-SC", "CA-ON"], ["US"]])
def test_the_strictest_over_several_places_is_the_strictest_of_each(codes):
    sizes = {"US": 9, "CA": 8, "US-SC": 7, "CA-ON": 6}
    concerned = [sizes[code] for code in {*codes, *(code[:2] for code in codes)}]
    decision = places(US=9, CA=8, US_SC=7, CA_ON=6).decide(us_case(jurisdictions=codes))
    at_most = decision.limits["injury.diameter"].at_most
    assert isinstance(at_most, tirerules.Quantity)
    assert at_most.exact == min(concerned)


# The design's table of implied activities: which rules a case of each activity answers to.
IMPLIED = {
    "repair": {"repair", "road-use"},
    "used-tire-installation": {"used-tire-installation", "road-use"},
    "used-tire-sale": {"used-tire-sale", "tire-sale"},
    "tire-sale": {"tire-sale"},
    "vehicle-sale": {"vehicle-sale"},
    "road-use": {"road-use"},
    "inspection": {"inspection", "road-use"},
}


@pytest.mark.parametrize("activity", IMPLIED)
def test_an_activity_answers_to_its_own_rules_and_to_those_it_implies(activity):
    rules = "".join(
        rule(f"on-{each}", "limit: {fact: tire.tread_depth, at-least: 1 m}", activity=each) for each in IMPLIED
    )
    injuries = injury() if activity == "repair" else []
    decision = world(SIZE + rules).decide(us_case(activity=activity, injuries=injuries))
    assert failing(decision) == {f"invented-trade/on-{each}" for each in IMPLIED[activity]}


CURED = rule("object", "disqualify: {findings: [embedded-object, leak, bulge]}", activity="road-use")


@pytest.mark.parametrize("finding", ["embedded-object", "leak"])
def test_what_the_repair_removes_bars_driving_and_not_repairing(finding):
    rulebook = world(SIZE + CURED)
    assert rulebook.decide(us_case(findings=[finding])).verdict is Verdict.WITHIN
    driven = rulebook.decide(us_case(findings=[finding], activity="road-use", injuries=[]))
    assert driven.verdict is Verdict.OUTSIDE
    assert failing(driven) == {"invented-trade/object"}


def test_what_no_repair_removes_bars_repairing_too():
    decision = world(SIZE + CURED).decide(us_case(findings=["bulge", "leak"]))
    assert (decision.verdict, failing(decision)) == (Verdict.OUTSIDE, {"invented-trade/object"})


def test_a_rule_on_repairs_themselves_may_bar_them_for_a_leak():
    own = rule("no-leaks", "disqualify: {findings: [leak]}")
    decision = world(SIZE + own).decide(us_case(findings=["leak"]))
    assert (decision.verdict, failing(decision)) == (Verdict.OUTSIDE, {"invented-trade/no-leaks"})


def test_a_road_rule_for_tires_that_leak_is_not_for_the_repaired_tire():
    leaking = rule(
        "leaking",
        "limit: {fact: tire.tread_depth, at-least: 1 m}",
        when="{findings: [leak, bulge]}",
        activity="road-use",
    )
    rulebook = world(SIZE + leaking)
    assert rulebook.decide(us_case(findings=["leak"])).verdict is Verdict.WITHIN
    assert rulebook.decide(us_case(findings=["bulge"])).verdict is Verdict.OUTSIDE
    assert rulebook.decide(us_case(findings=["leak"], activity="road-use", injuries=[])).verdict is Verdict.OUTSIDE


def test_a_finding_that_no_rule_judges_is_never_a_pass():
    decision = world(SIZE + CURED).decide(us_case(findings=["chemical-damage"]))
    assert (decision.verdict, asked(decision)) == (Verdict.UNDETERMINED, [])
    (reason,) = [reason for reason in all_reasons(decision) if reason.rule == "engine/finding-judged"]
    assert (reason.fact, reason.measured, reason.source) == ("findings", "chemical-damage", None)
    assert any("chemical-damage" in said for said in notices(decision, "gap"))


def test_a_finding_that_a_condition_tests_is_judged():
    tests = rule("care", "require: {steps: [demount]}", when="{findings: [chemical-damage]}")
    decision = world(SIZE + tests).decide(us_case(findings=["chemical-damage"]))
    assert decision.verdict is Verdict.WITHIN
    assert [each.step for each in decision.requirements] == ["demount"]


def test_nothing_but_the_embedded_object_and_the_leak_is_left_unjudged_in_a_repair():
    """The built-in baseline either bars a repair for a finding or leaves it to a trained person: none passes."""
    cured = {"embedded-object", "leak"}
    verdicts = {
        finding: trade().decide(us_case(findings=[finding])).verdict for finding in tirerules.vocabulary.FINDINGS
    }
    assert {finding for finding, verdict in verdicts.items() if verdict is Verdict.WITHIN} == cured


# --- several injuries, earlier repairs --------------------------------------------------------------------------------

APART = {"overlap": False}


def test_every_injury_needs_a_method_of_its_own():
    steep = rule("steep", "limit: {fact: injury.angle, at-most: 25 deg}", when="{method: one-piece}")
    small = rule("small", "limit: {fact: injury.diameter, at-most: 3 mm}", when="{method: two-piece}")
    section = rule("section", "prohibit: {fact: method, values: [section]}")
    rulebook = world(SIZE + steep + small + section)
    straight, slanted = injury(diameter="5 mm", angle="20 deg"), injury(diameter="2 mm", angle="30 deg")
    both = rulebook.decide(us_case(injuries=straight + slanted))
    assert both.verdict is Verdict.WITHIN
    assert by_method(both, 1) == {
        "one-piece": "within-limits",
        "two-piece": "outside-limits",
        "section": "outside-limits",
    }
    assert by_method(both, 2) == {
        "one-piece": "outside-limits",
        "two-piece": "within-limits",
        "section": "outside-limits",
    }
    hopeless = rulebook.decide(us_case(injuries=straight + injury(diameter="5 mm", angle="30 deg")))
    assert hopeless.verdict is Verdict.OUTSIDE


def test_one_bad_injury_spoils_the_tire():
    decision = trade().decide(us_case(injuries=injury() + injury(diameter="7 mm"), repairs=APART))
    assert decision.verdict is Verdict.OUTSIDE
    fails = {reason.subject for reason in all_reasons(decision) if reason.outcome == "fails" and reason.subject}
    assert fails == {"injury 2"}


COUNT = rule("count", "limit: {fact: repairs.count, at-most: 2}", activity="repair, used-tire-installation")
SPACING = rule("spacing", "limit: {fact: repairs.spacing, at-least: 400 mm}")
OVERLAP = rule("overlap", "prohibit: {fact: repairs.overlap, values: [true]}")


@pytest.mark.parametrize(
    ("activity", "injuries", "repairs", "outcome", "measured"),
    [
        ("repair", injury(), [], "passes", "1"),
        ("repair", injury(), earlier(), "passes", "2"),
        ("repair", injury(), earlier() * 2, "fails", "3"),
        ("repair", injury() * 2, earlier(), "fails", "3"),
        ("repair", None, [], "unknown", "unknown"),
        ("repair", injury(), None, "unknown", "unknown"),
        ("used-tire-installation", [], earlier() * 2, "passes", "2"),
        ("used-tire-installation", [], earlier() * 3, "fails", "3"),
        # Injuries that are not repaired now are no repairs.
        ("used-tire-installation", injury() * 3, earlier(), "passes", "1"),
    ],
)
def test_the_count_of_repairs_follows_from_the_lists(activity, injuries, repairs, outcome, measured):
    decision = world(SIZE + COUNT).decide(us_case(activity=activity, injuries=injuries, earlier_repairs=repairs))
    (reason,) = [reason for reason in all_reasons(decision) if reason.rule == "invented-trade/count"]
    assert (str(reason.outcome), reason.measured) == (outcome, measured)


def test_a_count_that_the_case_states_stands_before_the_lists():
    decision = world(SIZE + COUNT).decide(us_case(repairs={"count": 3}))
    assert failing(decision) == {"invented-trade/count"}


def test_a_single_repair_overlaps_nothing_and_has_no_spacing():
    decision = world(SIZE + SPACING + OVERLAP).decide(us_case())
    assert decision.verdict is Verdict.WITHIN
    assert outcomes(decision, "invented-trade/spacing") == set()
    assert outcomes(decision, "invented-trade/overlap") == {"passes"}


def test_a_condition_on_a_spacing_that_does_not_exist_does_not_hold():
    close = rule("close", "limit: {fact: injury.diameter, at-most: 1 mm}", when="{repairs.spacing: {less-than: 1 m}}")
    assert world(SIZE + close).decide(us_case()).verdict is Verdict.WITHIN


def test_of_two_repairs_spacing_and_overlap_are_asked():
    decision = world(SIZE + SPACING + OVERLAP).decide(us_case(earlier_repairs=earlier()))
    assert (decision.verdict, asked(decision)) == (Verdict.UNDETERMINED, ["repairs.spacing", "repairs.overlap"])


@pytest.mark.parametrize(("spacing", "verdict"), [("16 in", Verdict.WITHIN), ("15 in", Verdict.OUTSIDE)])
def test_a_stated_spacing_is_judged(spacing, verdict):
    # 400 mm lies between 15 in = 381 mm and 16 in = 406.4 mm.
    case = us_case(earlier_repairs=earlier(), repairs={"spacing": spacing, "overlap": False})
    assert world(SIZE + EARLIER_SIZE + SPACING + OVERLAP).decide(case).verdict is verdict


# Around a 225/45R17 tire it is pi x (17 x 25.4 + 2 x 225 x 45 / 100) = pi x 634.3 = 1992.7 mm (ISO metric designation):
# 27.10 degrees are 150 mm, 72.26 degrees 400 mm, 90 degrees 498.2 mm, 120 degrees 664.2 mm.
@pytest.mark.parametrize(
    ("one", "other", "millimeters"),
    [
        ("0 deg", "27.1 deg", 150.0),
        ("0 deg", "72.26 deg", 400.0),
        ("12:00", "3:00", 498.2),
        ("4:00", "0:00", 664.2),
        ("10:30", "1:30", 498.2),
        ("350 deg", "10 deg", 110.7),
        ("0:00", "6:00", 996.4),
        ("100 mm", "500 mm", 400.0),
        ("0 mm", "1900 mm", 92.7),
        ("0 deg", "100 mm", 100.0),
    ],
)
def test_the_spacing_of_repairs_follows_from_their_places_the_shorter_way_round(one, other, millimeters):
    case = us_case(tire={"size": "225/45R17"}, injuries=injury(clock=one), earlier_repairs=earlier(clock=other))
    for least, outcome in ((millimeters - 0.1, "passes"), (millimeters + 0.1, "fails")):
        far = rule("far", f"limit: {{fact: repairs.spacing, at-least: {least:.1f} mm}}")
        assert outcomes(world(SIZE + far).decide(case), "invented-trade/far") == {outcome}


def test_every_pair_of_repairs_is_judged():
    far = rule("far", "limit: {fact: repairs.spacing_angle, at-least: 60 deg}")
    case = us_case(injuries=injury(clock="0:00") + injury(clock="4:00"), earlier_repairs=earlier(clock="5:00"))
    found = {
        reason.subject: str(reason.outcome)
        for reason in world(SIZE + far).decide(case).reasons
        if reason.rule == "invented-trade/far"
    }
    assert found == {
        "injury 1 and injury 2": "passes",
        "injury 1 and earlier repair 1": "passes",
        "injury 2 and earlier repair 1": "fails",
    }


def test_places_in_different_measures_need_the_size_of_the_tire():
    far = rule("far", "limit: {fact: repairs.spacing, at-least: 1 mm}")
    case = us_case(injuries=injury(clock="0:00"), earlier_repairs=earlier(clock="3:00"))
    decision = world(SIZE + far).decide(case)
    assert decision.verdict is Verdict.UNDETERMINED
    (fact,) = asked(decision)
    assert fact in ("tire.size", "tire.outside_diameter")


def test_distances_along_the_tread_need_the_size_of_the_tire_too():
    far = rule("far", "limit: {fact: repairs.spacing, at-least: 1 mm}")
    case = us_case(injuries=injury(clock="0 mm"), earlier_repairs=earlier(clock="500 mm"))
    assert world(SIZE + far).decide(case).verdict is Verdict.UNDETERMINED
    sized = world(SIZE + EARLIER_SIZE + far)
    assert sized.decide({**case, "tire": {"size": "225/45R17"}}).verdict is Verdict.WITHIN


def unit_at(clock: str, across: str, side: str | None = "left", length: str | None = "40 mm") -> dict[str, str]:
    """Return what is known of a repair unit 30 mm wide."""
    said = {"clock": clock, "from_centerline": across, "side": side, "unit_length": length, "unit_width": "30 mm"}
    return {key: value for key, value in said.items() if value is not None}


# 10 degrees around a 225/45R17 tire are 55.4 mm, 7 degrees 38.7 mm. Units of 40 mm touch below 40 mm along the tire,
# units of 30 mm below 30 mm across it.
@pytest.mark.parametrize(
    ("one", "other", "outcome"),
    [
        (unit_at("0 deg", "10 mm"), unit_at("10 deg", "10 mm"), "passes"),
        (unit_at("0 deg", "10 mm"), unit_at("7 deg", "10 mm"), "fails"),
        (unit_at("0 deg", "10 mm"), unit_at("7 deg", "40 mm"), "passes"),
        (unit_at("0 deg", "10 mm"), unit_at("7 deg", "39 mm"), "fails"),
        (unit_at("0 deg", "10 mm"), unit_at("7 deg", "20 mm", "right"), "passes"),
        (unit_at("0 deg", "10 mm"), unit_at("7 deg", "19 mm", "right"), "fails"),
        (unit_at("0 deg", "10 mm"), unit_at("7 deg", "19 mm", None), "fails"),
        (unit_at("0 deg", "10 mm"), unit_at("7 deg", "25 mm", None), "unknown"),
        (unit_at("0 deg", "10 mm"), unit_at("7 deg", "50 mm", None), "passes"),
        (unit_at("0 deg", "10 mm"), unit_at("7 deg", "10 mm", length=None), "unknown"),
        (unit_at("0 deg", "10 mm"), {}, "unknown"),
    ],
)
def test_units_overlap_where_they_touch_both_around_and_across_the_tire(one, other, outcome):
    case = us_case(tire={"size": "225/45R17"}, injuries=injury(**one), earlier_repairs=earlier(**other))
    assert outcomes(world(SIZE + OVERLAP).decide(case), "invented-trade/overlap") == {outcome}


def test_what_the_case_states_of_all_repairs_stands_before_what_follows_from_their_places():
    places = {"injuries": injury(clock="0:00"), "earlier_repairs": earlier(clock="0:10")}
    case = us_case(tire={"size": "225/45R17"}, repairs={"spacing": "500 mm"}, **places)
    assert outcomes(world(SIZE + SPACING).decide(case), "invented-trade/spacing") == {"passes"}


SIDEWALL = {"zone": "sidewall", "clock": "3:00"}


@pytest.mark.parametrize(
    ("one", "other", "outcome"),
    [
        ({**SIDEWALL, "side": "left"}, {**SIDEWALL, "side": "right"}, "fails"),
        ({**SIDEWALL, "side": "left"}, {**SIDEWALL, "side": "left"}, "passes"),
        ({**SIDEWALL, "side": "left"}, {**SIDEWALL, "side": "right", "clock": "3:10"}, "unknown"),
        ({**SIDEWALL, "side": "left"}, {**SIDEWALL, "side": "right", "clock": "3:31"}, "passes"),
        ({**SIDEWALL, "side": "left"}, {**SIDEWALL, "side": "right", "zone": "crown"}, "passes"),
        ({**SIDEWALL, "side": "left"}, SIDEWALL, "unknown"),
    ],
    ids=["across", "same side", "nearly level", "not level", "crown", "side unknown"],
)
def test_injuries_lie_across_from_each_other_in_both_sidewalls_at_one_place(one, other, outcome):
    across = rule("across", "prohibit: {fact: repairs.opposed, values: [true]}")
    case = us_case(injuries=injury(**one) + injury(**other))
    assert outcomes(world(SIZE + across).decide(case), "invented-trade/across") == {outcome}


def test_earlier_repairs_that_are_not_recorded_are_asked_for_as_a_list():
    unknown = trade().decide(us_case(earlier_repairs=None))
    assert (unknown.verdict, asked(unknown)) == (Verdict.UNDETERMINED, ["earlier_repairs"])
    none = trade().decide(us_case(earlier_repairs=[]))
    assert (none.verdict, asked(none)) == (Verdict.WITHIN, [])


def test_what_an_entry_leaves_out_is_asked_of_that_repair():
    repairs = [*earlier(), {"zone": "crown", "method": "one-piece"}]
    decision = trade().decide(us_case(tire={"construction": "radial"}, earlier_repairs=repairs, repairs=APART))
    assert [(question.fact, question.subject) for question in decision.questions] == [
        ("repair.diameter", "earlier repair 2")
    ]


def test_each_earlier_repair_is_judged_by_itself():
    decision = trade().decide(us_case(earlier_repairs=earlier() + earlier(diameter="8 mm"), repairs=APART))
    found = {
        reason.subject: str(reason.outcome)
        for reason in all_reasons(decision)
        if reason.rule == "industry/earlier-repair-size"
    }
    assert found == {"earlier repair 1": "passes", "earlier repair 2": "fails"}


def test_a_case_without_injuries_recorded_is_asked_about_one():
    decision = world(SIZE).decide(us_case(injuries=None))
    assert (decision.verdict, asked(decision)) == (Verdict.UNDETERMINED, ["injury.diameter"])


# --- dates, requirements, what a decision records ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("on", "binds"),
    [("2019-12-31", False), ("2020-01-01", True), ("2024-12-31", True), ("2025-01-01", False)],
)
def test_a_rule_binds_from_its_first_day_until_the_day_it_ends(on, binds):
    dated = rule(
        "dated",
        "limit: {fact: injury.diameter, at-most: 1 mm}",
        more="in-force: {from: 2020-01-01, until: 2025-01-01}",
    )
    decision = world(SIZE + dated).decide(us_case(on=on))
    assert decision.verdict is (Verdict.OUTSIDE if binds else Verdict.WITHIN)
    assert decision.on == date.fromisoformat(on)
    assert [name for name in rungs(decision, "injury.diameter") if name.endswith("dated")] == (
        ["invented-trade/dated"] if binds else []
    )


def test_a_rule_without_a_known_start_binds_on_every_day():
    undated = rule("undated", "limit: {fact: injury.diameter, at-most: 1 mm}", more="in-force: {from: unknown}")
    decision = world(SIZE + undated).decide(us_case(on="1950-01-01"))
    assert failing(decision) == {"invented-trade/undated"}


@pytest.fixture
def in_zone(monkeypatch):
    """Let the process live in another time zone, until the test ends."""

    def live(zone):
        monkeypatch.setenv("TZ", zone)
        time.tzset()

    yield live
    monkeypatch.undo()
    time.tzset()


# At every hour, one of the two lives another day than UTC. (In TZ, the hours are those behind UTC.)
@pytest.mark.parametrize("zone", ["EAST-14", "WEST+12"])
@pytest.mark.parametrize("tire", [{}, {"date_code": "0124"}], ids=["as it is", "of an age that depends on the day"])
def test_a_case_without_a_day_is_decided_for_the_shops_day_and_says_so(in_zone, zone, tire):
    in_zone(zone)
    asked = {key: value for key, value in us_case(tire=tire).items() if key != "on"}
    before = date.today()
    decision = world(SIZE).decide(asked)
    assert before <= decision.on <= date.today()
    assert decision.case.on == decision.on


# The last four digits of the identification number are week and year (49 CFR 574.5): week 47 of 2026 is November 16 to
# 22 (ISO 8601), so on November 25 such a tire is 3 to 9 days old.
@pytest.mark.parametrize(("days", "outcome"), [(9, "passes"), (8, "unknown"), (3, "unknown"), (2, "fails")])
def test_the_age_of_a_tire_follows_from_its_date_code(days, outcome):
    age = rule("age", f"limit: {{fact: tire.age, at-most: {days} days}}")
    decision = world(SIZE + age).decide(us_case(tire={"date_code": "4726"}))
    assert outcomes(decision, "invented-trade/age") == {outcome}


@pytest.mark.parametrize(("load_range", "outcome"), [("E", {"fails"}), ("F", set())])
def test_the_load_range_is_read_from_the_sidewall(load_range, outcome):
    low = rule("low", "limit: {fact: injury.diameter, at-most: 1 mm}", when="{tire.load_range: {at-most: E}}")
    decision = world(SIZE + low).decide(us_case(tire={"size": f"LT245/75R16/{load_range}"}))
    assert outcomes(decision, "invented-trade/low") == outcome


def test_requirements_are_the_union_of_what_the_rules_require():
    first = rule("first", "require: {steps: [inspect-inside-and-outside, demount]}")
    second = rule("second", "require: {steps: [demount]}", when="{tire.run_flat: true}")
    third = rule("third", "require: {steps: [maker-standard]}", when="{tire.run_flat: true}")
    rulebook = world(SIZE + first + second + third)
    maybe = rulebook.decide(us_case())
    assert maybe.verdict is Verdict.WITHIN
    assert {each.step: (each.when, each.rules) for each in maybe.requirements} == {
        "demount": ("", ("invented-trade/first", "invented-trade/second")),
        "inspect-inside-and-outside": ("", ("invented-trade/first",)),
        "maker-standard": ("tire.run_flat is yes", ("invented-trade/third",)),
    }
    plain = rulebook.decide(us_case(tire={"run_flat": False}))
    assert [each.step for each in plain.requirements] == ["demount", "inspect-inside-and-outside"]


def test_the_order_of_the_packs_does_not_matter_to_the_answer_itself():
    packs = list(everywhere().packs.values())
    case = case_from_json(repair_case(jurisdictions=["US-SC", "CA-ON"], tire={"tread_depth": None}))
    one, other = (Rulebook(listed).decide(case) for listed in (packs, packs[::-1]))
    assert one == other
    assert json.dumps(decision_to_json(one)) == json.dumps(decision_to_json(other))


def test_a_decision_names_the_packs_it_rests_on_and_no_other():
    rulebook = with_packs(everywhere(), pack(SIZE, version="2.5.0"))
    decision = rulebook.decide(repair_case())
    assert list(decision.packs) == ["US", "US-SC", "industry", "invented-shop"]
    assert decision.packs["invented-shop"].version == "2.5.0"
    assert decision.packs["invented-shop"].sha256 == rulebook.packs["invented-shop"].sha256
    assert decision.engine == tirerules.__version__


def test_reasons_stand_with_failures_first():
    decision = trade().decide(us_case(injuries=injury(diameter="8 mm"), tire={"tread_depth": None}))
    order = [str(reason.outcome) for reason in decision.reasons]
    assert order == sorted(order, key=("fails", "unknown", "passes").index)
    assert {"fails", "unknown", "passes"} == set(order)


def test_without_a_repair_there_are_no_methods():
    decision = trade().decide(us_case(activity="road-use", injuries=[]))
    assert (decision.methods, decision.limits_method) == ((), None)


def test_a_limit_on_a_fact_that_only_one_method_has_is_told_for_that_method():
    """The limits shown are those of the best method, so that what is shown is what the shop will do."""
    decision = trade().decide(us_case(injuries=injury(angle="30 deg")))
    assert decision.limits_method == "two-piece"
    assert "injury.angle" not in decision.limits


def test_a_country_alone_is_a_place():
    decision = world(SIZE, country("CA"), country("US")).decide(us_case(jurisdictions=["CA"]))
    assert list(decision.packs) == ["CA", "invented-trade"]


def test_the_sizes_of_the_trade_are_exact_fractions():
    """3/8 in is 9.525 mm exactly; in binary floating point 3 / 8 * 25.4 is 9.524999999999999."""
    measured = tirerules.measure("3/8 in")
    assert measured.low.exact == Fraction(9525, 1000)
    truck = us_case(tire={"class": "medium-truck", "load_range": "G"}, reading="as-enacted", method="one-piece")
    for size, verdict in (("9.525 mm", Verdict.WITHIN), ("9.526 mm", Verdict.OUTSIDE)):
        assert trade().decide({**truck, "injuries": injury(diameter=size)}).verdict is verdict


def test_naming_the_repair_besides_the_road_loosens_nothing():
    """A rule on both acts judges the new repair as one on the road alone does: the tire is driven once repaired."""
    for activities in ("road-use", "repair, road-use"):
        both = rule("both", "limit: {fact: repair.diameter, at-most: 6 mm}", activity=activities)
        decision = world(SIZE + both).decide(us_case(injuries=injury(diameter="8 mm")))
        assert outcomes(decision, "invented-trade/both") == {"fails"}, activities
