"""The oracle's geometry by hand: how far an injury reaches, bands, zones that measures contradict or prove, pairs.

Worked for a casing 12 mm thick and a hole of 6 mm at 25 degrees: it shifts 5.60 mm and shows as 6.62 mm on the surface
(handbook arithmetic: 12 tan 25 = 5.5957, 6 / cos 25 = 6.6203).
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any

import mpmath
import pytest

from tests.reference.by_hand import ANY_SIZE, OPEN, OUTSIDE, WITHIN, pack, repair, rule, verdict
from tests.reference.geometry import injury_reach, sine_and_cosine
from tests.reference.oracle import decide

CROWN = rule("repair", permit={"fact": "injury.zone", "values": ["crown"]})
OLD_CROWN = rule(permit={"fact": "repair.zone", "values": ["crown"]})


def band(limit: Any, fact: str = "injury.reach", activity: str = "repair", **parts: Any) -> dict[str, Any]:
    """A band that the edge is part of."""
    return rule(activity, limit={"fact": fact, "at-most": limit}, **parts)


def hole(offset: str, **parts: Any) -> dict[str, Any]:
    """A hole of 6 mm, straight through unless said otherwise."""
    return {"from_centerline": offset, "diameter": "6 mm", "angle": "0 deg", **parts}


@pytest.mark.parametrize("degrees", [Fraction(1, 1000), Fraction(25), Fraction(45), Fraction(89999, 1000)])
def test_sine_and_cosine_lie_between_their_bounds(degrees):
    """Reference: mpmath with 40 digits."""
    with mpmath.workdps(40):
        radians = mpmath.mpf(degrees.numerator) / degrees.denominator * mpmath.pi / 180
        for (low, high), truth in zip(
            sine_and_cosine(degrees), (mpmath.sin(radians), mpmath.cos(radians)), strict=True
        ):
            assert mpmath.mpf(low.numerator) / low.denominator <= truth <= mpmath.mpf(high.numerator) / high.denominator
            assert high - low < Fraction(1, 10**25)


@pytest.mark.parametrize(
    ("offset", "leans", "low", "high"),
    [
        # 60 + 5.5957 + 3.3101; 60 + 3.3101, since the inner opening is nearer; 60 + 3, since it leans sideways.
        (60, "toward-shoulder", "68.9058", "68.9058"),
        (60, "toward-center", "63.3101", "63.3101"),
        (60, "along-circumference", "63", "63"),
        # The least of the three, and the most.
        (60, None, "63", "68.9058"),
        # From 2 mm on one side it runs to 3.5957 mm on the other.
        (2, "toward-center", "6.9058", "6.9058"),
    ],
)
def test_reach_of_a_tilted_channel(offset, leans, low, high):
    found = injury_reach(_at(offset), _at(6), _at(25), leans, _at(12))
    assert [float(each) for each in found] == pytest.approx([float(low), float(high)], abs=5e-5)


def test_reach_where_a_measure_is_missing():
    assert injury_reach(_at(60), None, _at(0), None, None) == (60, math.inf)
    assert injury_reach(_at(60), _at(6), None, None, _at(12)) == (63, math.inf)
    assert injury_reach(_at(60), _at(6), _at(25), None, None)[1] == math.inf
    # Straight through, or around the tire, the thickness does not matter.
    assert injury_reach(_at(60), _at(6), _at(0), None, None) == (63, 63)
    assert injury_reach(_at(60), _at(6), None, "along-circumference", None) == (63, 63)


def test_reach_over_intervals():
    # Toward the center, shifted by 12 tan 45 = 12: an offset of 6 puts both openings 6 out, one of 0 or 10 more.
    low, high = injury_reach((Fraction(0), Fraction(10)), _at(0), _at(45), "toward-center", _at(12))
    assert float(low) == pytest.approx(6)
    assert float(high) == pytest.approx(12)
    low, high = injury_reach((Fraction(7), Fraction(10)), (Fraction(4), Fraction(6)), _at(0), None, None)
    assert (low, high) == (9, 13)


@pytest.mark.parametrize(
    ("limit", "tire", "offset", "expected"),
    [
        # Half of 3/4 of 200 mm is 75 mm; 72 + 3 = 75.
        ({"half-of": "tire.tread_width", "share": "3/4"}, {"tread_width": "200 mm"}, "72 mm", WITHIN),
        ({"half-of": "tire.tread_width", "share": "3/4"}, {"tread_width": "200 mm"}, "72.001 mm", OUTSIDE),
        ({"half-of": "tire.tread_width", "share": "75 %"}, {"tread_width": "200 mm"}, "72 mm", WITHIN),
        # 200 / 2 - 38.1 = 61.9 mm.
        ({"half-of": "tire.tread_width", "inset": "1 1/2 in"}, {"tread_width": "200 mm"}, "58.9 mm", WITHIN),
        ({"half-of": "tire.tread_width", "inset": "1 1/2 in"}, {"tread_width": "200 mm"}, "58.901 mm", OUTSIDE),
        # 70 % of 200 less 10 on each side.
        ({"half-of": "tire.belt_width", "share": "7/10", "inset": "10 mm"}, {"belt_width": "200 mm"}, "57 mm", WITHIN),
        ({"half-of": "tire.tread_width", "share": "3/4"}, {}, "10 mm", OPEN),
        # The tread is 198 to 202 mm wide, the half of its 3/4 so 74.25 to 75.75.
        ({"half-of": "tire.tread_width", "share": "3/4"}, {"tread_width": "200 mm ± 2 mm"}, "71.25 mm", WITHIN),
        ({"half-of": "tire.tread_width", "share": "3/4"}, {"tread_width": "200 mm ± 2 mm"}, "71.26 mm", OPEN),
        ({"half-of": "tire.tread_width", "share": "3/4"}, {"tread_width": "200 mm ± 2 mm"}, "72.75 mm", OPEN),
        ({"half-of": "tire.tread_width", "share": "3/4"}, {"tread_width": "200 mm ± 2 mm"}, "72.76 mm", OUTSIDE),
        ("75 mm", {}, "72 mm", WITHIN),
        ("75 mm", {}, "72 mm to 73 mm", OPEN),
        ("75 mm", {}, "72.1 mm to 73 mm", OUTSIDE),
    ],
)
def test_oracle_draws_bands(limit, tire, offset, expected):
    assert repair([band(limit)], hole(offset), tire=tire) == expected


STEPS = [{"through": "155 mm", "share": "60 %"}, {"through": "200 mm", "share": "65 %"}, {"share": "70 %"}]


@pytest.mark.parametrize(
    ("section", "inside", "beyond"),
    [
        # BTMA's area T by section width: 155 -> 93, 156 -> 101.4, 200 -> 130, 201 -> 140.7 mm, half of it on each side.
        ("155 mm", "46.5", "46.501"),
        ("156 mm", "50.7", "50.701"),
        ("200 mm", "65", "65.001"),
        ("201 mm", "70.35", "70.351"),
    ],
)
def test_oracle_steps_a_share_with_the_width(section, inside, beyond):
    stepped = band({"half-of": "tire.section_width", "share": STEPS})
    answers = [
        repair([stepped], hole(f"{edge} mm", diameter="0 mm"), tire={"section_width": section})
        for edge in (inside, beyond)
    ]
    assert answers == [WITHIN, OUTSIDE]


def test_oracle_looks_on_both_sides_of_a_step():
    # From 150 to 160 mm the band is 45 to 46.5 mm below the step, and 50.375 to 52 mm above it.
    stepped = band({"half-of": "tire.section_width", "share": STEPS})
    at = ("45 mm", "45.001 mm", "52 mm", "52.001 mm")
    answers = [
        repair([stepped], hole(edge, diameter="0 mm"), tire={"section_width": "150 mm to 160 mm"}) for edge in at
    ]
    assert answers == [WITHIN, OPEN, OPEN, OUTSIDE]
    # Where the share falls, the widest lies below the step: 155 x 0.7 / 2 = 54.25, and 160 x 0.6 / 2 = 48.
    falling = band(
        {"half-of": "tire.section_width", "share": [{"through": "155 mm", "share": "70 %"}, {"share": "60 %"}]}
    )
    edges = ("46.5 mm", "46.6 mm", "54.25 mm", "54.26 mm")
    answers = [
        repair([falling], hole(edge, diameter="0 mm"), tire={"section_width": "154 mm to 160 mm"}) for edge in edges
    ]
    assert answers == [WITHIN, OPEN, OPEN, OUTSIDE]


def test_oracle_judges_a_tilted_hole_by_its_wider_reach():
    tilted = {"angle": "25 deg", "leans": "toward-shoulder"}
    tire = {"thickness": "12 mm"}
    assert repair([band("68.906 mm")], hole("60 mm", **tilted), tire=tire) == WITHIN
    assert repair([band("68.905 mm")], hole("60 mm", **tilted), tire=tire) == OUTSIDE
    assert repair([band("68.905 mm")], hole("60 mm", angle="25 deg"), tire=tire) == OPEN
    assert repair([band("68.906 mm")], hole("60 mm", **tilted)) == OPEN
    # Whatever is missing, 60 + 3 is already too far.
    assert repair([band("62 mm")], hole("60 mm", angle=None)) == OUTSIDE


def test_oracle_leaves_a_named_zone_without_a_measure_out_of_bands():
    assert repair([band("10 mm")], {"zone": "crown", "diameter": "6 mm"}) == WITHIN
    assert repair([band("10 mm")], {"diameter": "6 mm"}) == OPEN
    asked = {"findings": [], "activity": "used-tire-sale"}
    old = band("10 mm", "repair.reach", "tire-sale")
    sized = {**rule(limit={"fact": "repair.diameter", "at-most": "60 mm"}), "activity": ["used-tire-sale"]}
    assert verdict([old, sized], earlier_repairs=[{"zone": "crown", "diameter": "6 mm"}], **asked) == WITHIN
    assert verdict([old], earlier_repairs=[{"diameter": "6 mm"}], **asked) == OPEN
    assert verdict([old], earlier_repairs=None, **asked) == OPEN
    assert verdict([old], earlier_repairs=[], **asked) == WITHIN


@pytest.mark.parametrize(
    ("repaired", "expected"),
    [
        # 72 + 6 / 2 = 75.
        ({"from_centerline": "72 mm", "diameter": "6 mm"}, WITHIN),
        ({"from_centerline": "72 mm", "diameter": "6.1 mm"}, OUTSIDE),
        ({"from_centerline": "72 mm", "diameter": "5 mm to 7 mm"}, OPEN),
        ({"from_centerline": "72 mm"}, OPEN),
        ({"from_centerline": "76 mm"}, OUTSIDE),
    ],
)
def test_oracle_measures_earlier_repairs(repaired, expected):
    assert verdict([band("75 mm", "repair.reach", "road-use")], earlier_repairs=[repaired]) == expected


@pytest.mark.parametrize(
    ("offset", "zone", "tread", "expected"),
    [
        # The tread ends 100 mm from the center line; the hole is 6 mm wide.
        ("97 mm", "crown", "200 mm", WITHIN),
        ("97.001 mm", "crown", "200 mm", OPEN),
        ("102.999 mm", "crown", "200 mm", OPEN),
        ("103 mm", "crown", "200 mm", OUTSIDE),
        ("102 mm to 104 mm", "crown", "200 mm", OPEN),
        ("103 mm to 104 mm", "crown", "200 mm", OUTSIDE),
        ("103 mm", "crown", "200 mm ± 1 mm", OPEN),
        ("103.5 mm", "crown", "200 mm ± 1 mm", OUTSIDE),
        ("103 mm", "crown", None, WITHIN),
        ("10 mm", "sidewall", "200 mm", OUTSIDE),
    ],
)
def test_oracle_judges_the_worse_of_the_named_zone_and_the_measured_place(offset, zone, tread, expected):
    tire = {"tread_width": tread}
    assert repair([CROWN], hole(offset, zone=zone), tire=tire) == expected
    earlier = {"from_centerline": offset, "diameter": "6 mm", "zone": zone}
    assert verdict([OLD_CROWN], earlier_repairs=[earlier], tire=tire) == expected


def test_oracle_calls_shoulder_what_lies_beyond_the_tread():
    tire = {"tread_width": "200 mm"}
    barred = rule("repair", prohibit={"fact": "injury.zone", "values": ["shoulder"]})
    for zone, expected in (("crown", OUTSIDE), ("belt-edge", OUTSIDE), ("shoulder", OUTSIDE), ("sidewall", WITHIN)):
        assert repair([barred], hole("120 mm", zone=zone), tire=tire) == expected
    # A belt edge that may lie beyond stays one.
    assert repair([barred], hole("99 mm", zone="belt-edge"), tire=tire) == WITHIN
    named = rule("repair", prohibit={"fact": "injury.zone", "values": ["belt-edge"]})
    assert repair([named], hole("99 mm", zone="belt-edge"), tire=tire) == OUTSIDE
    # A channel that leaves the tread inside: 90 + 12 tan 45 = 102 > 100.
    leaving = {"angle": "45 deg", "leans": "toward-shoulder", "zone": "crown"}
    assert repair([CROWN], hole("90 mm", **leaving), tire={**tire, "thickness": "12 mm"}) == OPEN
    # Without its size nobody knows how near its nearest edge is.
    assert repair([CROWN], hole("120 mm", zone="crown", diameter=None), tire=tire) == OPEN


def test_oracle_takes_no_zone_that_was_not_measured_where_measurement_is_demanded():
    named = {"zone": "crown", "diameter": "6 mm"}
    assert repair([CROWN], named, zones="as-named") == WITHIN
    assert repair([CROWN], named, zones="measured") == OPEN
    assert repair([CROWN], hole("10 mm", zone="crown"), zones="measured") == WITHIN
    assert repair([CROWN], {"zone": "sidewall", "diameter": "6 mm"}, zones="measured") == OPEN
    assert verdict([OLD_CROWN], earlier_repairs=[named], zones="measured") == OPEN
    assert verdict([OLD_CROWN], earlier_repairs=[{**named, "from_centerline": "10 mm"}], zones="measured") == WITHIN
    # Nor does it keep a band from asking where the hole is.
    assert repair([band("90 mm")], named, zones="measured") == OPEN


def test_oracle_proves_the_crown_by_every_band_that_applies():
    wide, narrow = band("60 mm"), band("40 mm")
    assert repair([CROWN, wide], hole("50 mm")) == WITHIN
    assert repair([CROWN], hole("50 mm")) == OPEN
    assert repair([CROWN, wide, narrow], hole("50 mm")) == OUTSIDE
    assert (
        repair([CROWN, wide, {**narrow, "when": {"tire.class": "bus"}}], hole("50 mm"), tire={"class": "bus"})
        == OUTSIDE
    )
    assert repair([CROWN, wide, {**narrow, "when": {"tire.class": "bus"}}], hole("50 mm")) == OPEN
    assert (
        repair([CROWN, wide, {**narrow, "when": {"tire.class": "bus"}}], hole("50 mm"), tire={"class": "trailer"})
        == WITHIN
    )
    # One that may apply, and holds the hole, proves nothing by itself.
    assert repair([CROWN, {**wide, "when": {"tire.class": "bus"}}], hole("50 mm")) == OPEN
    # A band for one method proves the zone for that method.
    other = {**wide, "when": {"method": "two-piece"}}
    assert repair([CROWN, other], hole("50 mm"), method="two-piece") == OPEN
    by_method = {**CROWN, "when": {"method": ["one-piece", "two-piece"]}}
    assert repair([by_method, other], hole("50 mm"), method="two-piece") == WITHIN
    assert repair([by_method, other], hole("50 mm"), method="one-piece") == OPEN


def test_oracle_takes_no_shop_and_no_memory_for_a_proof():
    wide = band("110 mm")
    assert repair([CROWN, {**wide, "source": "memory"}], hole("50 mm")) == OPEN
    # A shop's own band may bar a tire; it cannot settle what law and trade leave open.
    packs = [pack(CROWN), pack(wide, name="shop", kind="company"), pack(ANY_SIZE, name="trade", kind="baseline")]
    case = {"jurisdictions": ["US"], "activity": "repair", "on": "2026-11-25", "findings": [], "earlier_repairs": []}
    assert decide(packs, {**case, "injuries": [hole("50 mm")]})["verdict"] == OPEN
    assert decide(packs, {**case, "injuries": [hole("109 mm")]})["verdict"] == OUTSIDE


def test_oracle_proves_no_name_that_measures_contradict():
    wide = band("110 mm")
    # The band holds it, and yet it may lie beyond the tread.
    assert repair([CROWN, wide], hole("102 mm", zone="crown"), tire={"tread_width": "200 mm"}) == OPEN


def test_oracle_proves_the_crown_for_earlier_repairs_too():
    old = band("60 mm", "repair.reach", "road-use")
    assert verdict([OLD_CROWN, old], earlier_repairs=[{"from_centerline": "50 mm", "diameter": "6 mm"}]) == WITHIN
    assert verdict([OLD_CROWN], earlier_repairs=[{"from_centerline": "50 mm", "diameter": "6 mm"}]) == OPEN


def test_oracle_judges_the_new_repair_where_it_reaches():
    driven = band("68.905 mm", "repair.reach", "road-use")
    tire, tilted = {"thickness": "12 mm"}, {"angle": "25 deg", "leans": "toward-shoulder"}
    assert repair([driven], hole("60 mm", **tilted), tire=tire) == OUTSIDE
    assert repair([driven], hole("59 mm", **tilted), tire=tire) == WITHIN
    assert repair([driven], {"zone": "crown", "diameter": "6 mm"}) == WITHIN


@pytest.mark.parametrize(
    ("clocks", "expected"),
    [
        (("3:00", "5:00"), WITHIN),  # 60 degrees apart
        (("3:00", "4:59"), OUTSIDE),
        (("0 deg", "300 deg"), WITHIN),  # the short way round
        (("0 deg", "301 deg"), OUTSIDE),
        (("3:00", None), OPEN),
        (("0:00", "4:00", "8:00"), WITHIN),
        (("0:00", "4:00", "5:30"), OUTSIDE),
    ],
)
def test_oracle_measures_pairs_around_the_axle(clocks, expected):
    apart = rule(limit={"fact": "repairs.spacing_angle", "at-least": "60 deg"})
    assert verdict([apart], earlier_repairs=[{"clock": each} for each in clocks]) == expected
    # What is repaired now lies near what was repaired before.
    bound = {**apart, "activity": ["repair"]}
    first, *rest = ({"diameter": "1 mm", "clock": each} for each in clocks)
    sized = {**rule(limit={"fact": "repair.diameter", "at-most": "60 mm"}), "activity": ["repair"]}
    assert repair([bound, sized], first, earlier_repairs=rest) == expected


def test_oracle_measures_how_far_an_open_injury_lies_from_earlier_repairs():
    apart = rule(limit={"fact": "repairs.spacing_angle", "at-least": "60 deg"})
    repairs = [{"clock": "0:00"}, {"clock": "3:00"}]
    for clock, expected in (("1:59", OUTSIDE), ("6:00", OPEN)):
        assert verdict([apart], injuries=[{"clock": clock}], earlier_repairs=repairs) == expected


def test_oracle_measures_pairs_along_the_outside():
    # 90 degrees of 634.3 mm are 498.2 mm (handbook arithmetic: pi x 634.3 / 4 = 498.178).
    clocks = [{"clock": "0:00"}, {"clock": "3:00"}]
    tire = {"outside_diameter": "634.3 mm"}
    for least, expected in (("498.1 mm", WITHIN), ("498.2 mm", OUTSIDE)):
        apart = rule(limit={"fact": "repairs.spacing", "at-least": least})
        assert verdict([apart], earlier_repairs=clocks, tire=tire) == expected
        assert verdict([apart], earlier_repairs=clocks) == OPEN
        # What is stated of all of them is not measured again; of more than are listed, something is unknown.
        assert verdict([apart], earlier_repairs=clocks, tire=tire, repairs={"spacing": "600 mm"}) == WITHIN
        more = {WITHIN: OPEN, OUTSIDE: OUTSIDE}[expected]
        assert verdict([apart], earlier_repairs=clocks, tire=tire, repairs={"count": 3}) == more


def _at(number: int) -> tuple[Fraction, Fraction]:
    return Fraction(number), Fraction(number)
