"""Several injuries and earlier repairs of one tire: spacing, overlap, sidewall injuries that face each other.

All tires, injuries and rules are invented. Sizes of tires follow from their designation (rim code x 25.4 + 2 x section
width x aspect ratio, UN R30 and R54), as worked in tests/published.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import mpmath
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.engine import EARLIER_SIZE, SIZE, all_reasons, asked, outcomes, rule, us_case, world
from tests.support import injury
from tirerules import CaseError, Decision, Verdict, case_from_json
from tirerules.case import Case, EarlierRepair, Injury
from tirerules.case.row import CaseRow
from tirerules.engine.pairs import Pair, pairs, spots
from tirerules.engine.parts import Reason
from tirerules.quantities import measure
from tirerules.strictest.bounds import Interval
from tirerules.vocabulary import FACTS

mpmath.mp.dps = 40
#: 225/45R17: 17 x 25.4 + 2 x 225 x 0.45 = 634.3 mm, 1,992.712 mm around.
SEDAN = Fraction("634.3")


def exactly(value: object) -> Interval:
    return Interval(Fraction(str(value)), Fraction(str(value)))


def row_of(*injuries: Injury, repairs: tuple[EarlierRepair, ...] = ()) -> CaseRow:
    return Case(("US",), "repair", injuries=injuries, earlier_repairs=repairs).row


def two(one: dict[str, Any], other: dict[str, Any], diameter: Fraction | None = SEDAN) -> Pair:
    """Return what follows from two new injuries of one tire."""
    around = None if diameter is None else Interval(diameter, diameter)
    (found,) = pairs(spots(row_of(Injury(**one), Injury(**other)).injuries, ()), around)
    return found


def clocks(*places: str | None) -> list[dict[str, Any]]:
    """Return one injury, straight through the crown, at each place."""
    return [injury(angle="0 deg", clock=place)[0] for place in places]


def repairs(*places: str | None) -> list[dict[str, Any]]:
    said = {"zone": "crown", "diameter": "4 mm", "method": "one-piece"}
    return [{**said, **({"clock": place} if place else {})} for place in places]


def apart(figure: str, fact: str = "repairs.spacing") -> str:
    return rule("apart", f"limit: {{fact: {fact}, {figure}}}")


#: An invented floor of the form that one tire maker is reported to state (15 in; secondary).
FIFTEEN = apart("at-least: 15 in")
NO_OVERLAP = rule("overlap", "prohibit: {fact: repairs.overlap, values: [true]}")
NOT_OPPOSED = rule("opposed", "prohibit: {fact: repairs.opposed, values: [true]}")


def decide(rules: str, size: str | None = "225/45R17", **changes) -> Decision:
    tire = {"size": size, **changes.pop("tire", {})}
    return world(SIZE + rules).decide(us_case(tire=tire, **changes))


def said_of(decision: Decision, name: str = "apart") -> dict[str, Reason]:
    """Return what a rule says of each pair, by the pair's name."""
    return {each.subject: each for each in all_reasons(decision) if each.rule == f"invented-trade/{name}"}


def judged(decision: Decision, name: str = "apart") -> dict[str, str]:
    return {subject: str(reason.outcome) for subject, reason in said_of(decision, name).items()}


# --- spacing ----------------------------------------------------------------------------------------------------------

# Plane geometry: a share of a turn times pi times the outside diameter; the shorter way round counts. On 634.3 mm:
# 1/4 turn 498.178 mm, 1/6 332.119, 1/12 166.059, 1/18 110.706, 1/2 996.356; a full turn 1,992.712 mm.
SPACINGS = [
    ("3:00", "9:00", "996.356", "180"),
    ("12:00", "3:00", "498.178", "90"),
    ("12:00", "0:00", "0", "0"),
    ("3:00", "3:00", "0", "0"),
    ("11:00", "1:00", "332.119", "60"),
    ("1:00", "11:00", "332.119", "60"),
    ("11:30", "0:30", "166.059", "30"),
    ("12:30", "11:30", "166.059", "30"),
    ("9:00", "3:00", "996.356", "180"),
    ("0 deg", "270 deg", "498.178", "90"),
    ("350 deg", "10 deg", "110.706", "20"),
    ("360 deg", "30°", "166.059", "30"),
    ("3:00", "90 deg", "0", "0"),
    ("4:30", "75 deg", "332.119", "60"),
    ("0 mm", "381 mm", "381", "68.831"),
    ("100 mm", "19 in", "382.6", "69.120"),
    ("1900 mm", "100 mm", "192.712", "34.815"),
    ("3:00", "600 mm", "101.822", "18.395"),
    ("600 mm", "3:00", "101.822", "18.395"),
    ("330 deg", "100 mm", "266.059", "48.066"),
]


@pytest.mark.parametrize(("one", "other", "millimeters", "degrees"), SPACINGS)
def test_spacing_and_angle_of_two_places(one, other, millimeters, degrees):
    found = two({"clock": one}, {"clock": other})
    assert found.spacing is not None
    assert found.angle is not None
    assert float(found.spacing.low) == pytest.approx(float(millimeters), abs=6e-4)
    assert found.spacing.high - found.spacing.low < Fraction(1, 10**9)
    assert float(found.angle.low) == pytest.approx(float(degrees), abs=6e-4)


minutes = st.integers(0, 12 * 60 - 1).map(lambda at: (f"{at // 60}:{at % 60:02d}", mpmath.mpf(at) / 720, None))
degrees = st.integers(0, 3599).map(lambda at: (f"{at // 10}.{at % 10} deg", mpmath.mpf(at) / 3600, None))
arcs = st.integers(0, 15000).map(lambda at: (f"{at // 10}.{at % 10} mm", None, mpmath.mpf(at) / 10))
places = st.one_of(minutes, degrees, arcs)


@settings(max_examples=300, deadline=None)
@given(places, places, st.integers(4800, 11000))
def test_spacing_holds_the_truth_between_its_ends(one, other, tenths):
    """Reference: mpmath, 40 digits; places as shares of a turn, the shorter way round."""
    around = mpmath.mpf(tenths) / 10 * mpmath.pi
    first, second = (arc / around if turn is None else turn for _, turn, arc in (one, other))
    gap = abs(first - second)
    truth = min(gap, 1 - gap) * around
    found = two({"clock": one[0]}, {"clock": other[0]}, Fraction(tenths, 10)).spacing
    assert found is not None
    low, high = (mpmath.mpf(end.numerator) / end.denominator for end in (found.low, found.high))
    assert low <= truth + mpmath.mpf(10) ** -30
    assert high >= truth - mpmath.mpf(10) ** -30
    assert high - low < mpmath.mpf(10) ** -9


@pytest.mark.parametrize("kind", ["3:00", "75 deg"])
def test_an_angle_needs_no_diameter_and_a_distance_does(kind):
    found = two({"clock": kind}, {"clock": "6:00"}, diameter=None)
    assert (found.angle.low, found.angle.high) == (degrees := {"3:00": 90, "75 deg": 105}[kind], degrees)
    assert (found.spacing, found.unplaced) == (None, None)


def test_an_angle_and_a_distance_need_a_diameter_to_be_told_apart():
    found = two({"clock": "3:00"}, {"clock": "600 mm"}, diameter=None)
    assert (found.spacing, found.angle, found.unplaced) == (None, None, None)


def test_without_a_place_nothing_follows_and_no_diameter_is_missed():
    found = two({"clock": "3:00"}, {})
    assert (found.spacing, found.angle) == (None, None)
    assert found.unplaced is not None
    assert (found.unplaced.label, found.unplaced.get("clock")) == ("injury 2", None)


def test_a_measured_diameter_with_a_width_gives_a_spacing_with_a_width():
    placed = row_of(Injury(clock="0:00"), Injury(clock="3:00"))
    (found,) = pairs(spots(placed.injuries, ()), Interval(Fraction(600), Fraction(640)))
    # 600 pi / 4 = 471.239 mm, 640 pi / 4 = 502.655 mm.
    assert (float(found.spacing.low), float(found.spacing.high)) == pytest.approx((471.239, 502.655), abs=6e-4)
    assert (found.angle.low, found.angle.high) == (90, 90)


# 15 in = 381 mm as an angle on each size: 381 x 360 / (pi x outside diameter), by hand from the diameters of
# tests/published: 634.3 -> 68.8308 deg (as printed for this size: 68.83), 773.9 -> 56.4148, 787.4 (31 in) -> 55.4475,
# 1014 -> 43.0566, 599.8 -> 72.7899.
SIZES = [
    ("225/45R17", "68.8308", "68.8309"),
    ("LT245/75R16/E", "56.4147", "56.4148"),
    ("31x10.50R15LT", "55.4475", "55.4476"),
    ("295/75R22.5 (G)", "43.0565", "43.0566"),
    ("120/70ZR17", "72.7899", "72.7900"),
]


@pytest.mark.parametrize(("size", "near", "far"), SIZES, ids=[row[0] for row in SIZES])
def test_fifteen_inches_as_an_angle_by_the_size_designation(size, near, far):
    assert judged(decide(FIFTEEN, size, injuries=clocks("0 deg", f"{near} deg"))) == {"injury 1 and injury 2": "fails"}
    assert judged(decide(FIFTEEN, size, injuries=clocks("0 deg", f"{far} deg"))) == {"injury 1 and injury 2": "passes"}


@pytest.mark.parametrize(
    ("measured", "outcome"),
    # 69 degrees of 634.3 mm (the size) are 381.94 mm; of 632 mm 380.55 mm; of 640 mm 385.37 mm.
    [(None, "passes"), ("632 mm", "fails"), ("640 mm", "passes"), ("632 mm to 640 mm", "unknown"), ("25 in", "passes")],
)
def test_a_measured_outside_diameter_counts_before_the_size(measured, outcome):
    decision = decide(FIFTEEN, tire={"outside_diameter": measured}, injuries=clocks("0 deg", "69 deg"))
    assert judged(decision) == {"injury 1 and injury 2": outcome}


@pytest.mark.parametrize("size", [None, "11R22.5"], ids=["no size", "a size that gives no diameter"])
def test_an_unknown_diameter_is_a_question(size):
    decision = decide(FIFTEEN, size, injuries=clocks("0:00", "6:00"))
    assert decision.verdict is Verdict.UNDETERMINED
    assert len(asked(decision)) == 1
    assert set(asked(decision)) <= {"tire.size", "tire.outside_diameter"}


def test_an_angle_between_repairs_can_be_limited_without_a_diameter():
    rules = apart("at-least: 60 deg", "repairs.spacing_angle")
    assert judged(decide(rules, None, injuries=clocks("11:00", "1:00"))) == {"injury 1 and injury 2": "passes"}
    (found,) = said_of(decide(rules, None, injuries=clocks("11:00", "0:59"))).values()
    assert (found.outcome, found.measured) == ("fails", "59.5 deg")


def test_places_not_given_are_asked_as_the_spacing_they_would_give():
    decision = decide(FIFTEEN, injuries=clocks(None, "6:00"))
    assert [(each.fact, each.subject) for each in decision.questions] == [("repairs.spacing", "injury 1 and injury 2")]
    assert decision.questions[0].ask == FACTS["repairs.spacing"].question


@pytest.mark.parametrize("clock", ["13:00", "3:60", "noon", "90"])
def test_a_place_that_is_none_is_refused_with_its_path(clock):
    with pytest.raises(CaseError) as refused:
        case_from_json(us_case(injuries=clocks("3:00", clock)))
    assert [problem.path for problem in refused.value.problems] == ["injuries[1].clock"]


# --- rounding ---------------------------------------------------------------------------------------------------------


# Half a turn of 1,000 mm is 500 pi mm; mpmath says on which side of it each limit lies.
@pytest.mark.parametrize(
    ("limit", "verdict"),
    [
        ("1570.7963267948", "within-limits"),
        ("1570.7963267948970", "undetermined"),  # 4e-13 mm above the truth
        ("1570.79632679489662", "undetermined"),  # 8e-16 mm above the truth, nearer than a binary float tells
        ("1570.7963267949", "outside-limits"),  # 3e-12 mm above the truth
    ],
)
def test_a_spacing_is_never_rounded_up_to_its_limit(limit, verdict):
    decision = decide(
        apart(f"at-least: {limit} mm"), None, tire={"outside_diameter": "1000 mm"}, injuries=clocks("0:00", "6:00")
    )
    assert str(decision.verdict) == verdict
    assert (mpmath.mpf(limit) <= 500 * mpmath.pi) == (verdict == "within-limits")


@pytest.mark.parametrize(
    ("figure", "verdict"),
    [
        ("at-least: 15 in", "within-limits"),
        ("more-than: 15 in", "outside-limits"),
        ("more-than: 380.999999 mm", "within-limits"),
        ("at-least: 381.000001 mm", "outside-limits"),
    ],
)
def test_a_distance_along_the_tread_is_exact(figure, verdict):
    # 15 in = 381 mm exactly; no diameter enters it as long as the other way round is longer.
    assert str(decide(apart(figure), injuries=clocks("100 mm", "481 mm")).verdict) == verdict


# --- which pair -------------------------------------------------------------------------------------------------------


def test_the_pair_that_fails_is_named_and_the_others_pass():
    decision = decide(FIFTEEN, injuries=clocks("0:00", "0:30", "6:00"))
    assert decision.verdict is Verdict.OUTSIDE
    assert judged(decision) == {
        "injury 1 and injury 2": "fails",
        "injury 1 and injury 3": "passes",
        "injury 2 and injury 3": "passes",
    }
    # 15 degrees of 1,992.712 mm are 83.03 mm; 165 degrees 913.3 mm.
    measured = {subject: reason.measured for subject, reason in said_of(decision).items()}
    assert measured["injury 1 and injury 2"] == "83 mm"
    assert measured["injury 2 and injury 3"] == "913.3 mm"


def test_every_pair_that_fails_has_a_reason_of_its_own():
    decision = decide(FIFTEEN, injuries=clocks("0:00", "1:00", "2:00"))
    found = [each for each in decision.reasons if each.rule == "invented-trade/apart" and each.outcome == "fails"]
    assert [each.subject for each in found] == [
        "injury 1 and injury 2",
        "injury 1 and injury 3",
        "injury 2 and injury 3",
    ]
    assert [each.measured for each in found] == ["166.1 mm", "332.1 mm", "166.1 mm"]


def test_an_injury_is_held_against_each_earlier_repair():
    decision = decide(FIFTEEN, injuries=clocks("0:00"), earlier_repairs=repairs("0:10", "5:00"))
    assert judged(decision) == {
        "injury 1 and earlier repair 1": "fails",
        "injury 1 and earlier repair 2": "passes",
        "earlier repair 1 and earlier repair 2": "passes",
    }


def test_two_earlier_repairs_are_held_against_each_other():
    decision = decide(FIFTEEN, injuries=clocks("6:00"), earlier_repairs=repairs("0:00", "0:10"))
    assert {subject for subject, outcome in judged(decision).items() if outcome == "fails"} == {
        "earlier repair 1 and earlier repair 2"
    }


def test_a_single_injury_has_no_spacing_and_no_rule_on_it_applies():
    decision = decide(FIFTEEN + NO_OVERLAP, injuries=clocks(None))
    assert judged(decision) == {}
    assert (decision.verdict, asked(decision)) == (Verdict.WITHIN, [])


# --- what the case states ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stated", "verdict"),
    [("400 mm", "within-limits"), ("380 mm", "outside-limits"), ("14 in to 16 in", "undetermined")],
)
def test_a_stated_spacing_counts_before_the_places(stated, verdict):
    decision = decide(FIFTEEN, injuries=clocks("0:00", "0:30"), repairs={"spacing": stated})
    assert str(decision.verdict) == verdict
    assert [(each.subject, each.measured) for each in said_of(decision).values()] == [("", stated)]


@pytest.mark.parametrize(("stated", "verdict"), [(False, "within-limits"), (True, "outside-limits")])
def test_a_stated_overlap_counts_before_the_units(stated, verdict):
    units = {"unit_length": "60 mm", "unit_width": "60 mm", "from_centerline": "10 mm", "side": "left"}
    near = [{**each, **units} for each in clocks("0 mm", "5 mm" if not stated else "900 mm")]
    decision = decide(NO_OVERLAP, injuries=near, repairs={"overlap": stated})
    assert judged(decision, "overlap") == {"": "passes" if verdict == "within-limits" else "fails"}
    assert str(decision.verdict) == verdict


def test_what_is_stated_of_one_thing_leaves_the_other_to_the_pairs():
    decision = decide(FIFTEEN + NO_OVERLAP, injuries=clocks("0:00", "0:30", "6:00"), repairs={"overlap": False})
    assert judged(decision, "overlap") == {"": "passes"}
    assert judged(decision)["injury 1 and injury 2"] == "fails"


def test_what_is_stated_counts_in_a_rule_that_asks_for_more_of_a_pair():
    apart_unless_opposed = rule(
        "apart", "limit: {fact: repairs.spacing, at-least: 15 in}", when="{repairs.opposed: false}"
    )
    for stated, outcome in (("400 mm", "passes"), ("300 mm", "fails")):
        decision = decide(apart_unless_opposed, injuries=clocks("0:00", "0:30"), repairs={"spacing": stated})
        assert judged(decision) == {"injury 1 and injury 2": outcome}


@pytest.mark.parametrize(
    ("places", "verdict", "questions"),
    [
        (("0:00", "0:30"), "outside-limits", []),
        (("0:00", "6:00"), "undetermined", ["earlier_repairs"]),
        (("0:00",), "undetermined", ["earlier_repairs"]),
    ],
    ids=["a known pair fails", "a known pair passes", "no known pair"],
)
def test_unrecorded_earlier_repairs_hide_no_failing_pair(places, verdict, questions):
    decision = decide(FIFTEEN, injuries=clocks(*places), earlier_repairs=None)
    assert (str(decision.verdict), asked(decision)) == (verdict, questions)


@pytest.mark.parametrize(
    ("repairs_before", "limit", "verdict"),
    [((), 2, "within-limits"), (("6:00",), 2, "outside-limits"), (("6:00",), 3, "within-limits")],
)
def test_new_repairs_and_earlier_ones_are_counted_together(repairs_before, limit, verdict):
    rules = EARLIER_SIZE + rule("count", f"limit: {{fact: repairs.count, at-most: {limit}}}")
    before = [{**each, "diameter": "4 mm"} for each in repairs(*repairs_before)]
    decision = decide(rules, injuries=clocks("0:00", "3:00"), earlier_repairs=before)
    assert str(decision.verdict) == verdict


# --- overlap ----------------------------------------------------------------------------------------------------------


def unit(clock: str, offset: str | None, side: str | None, length: str | None, width: str | None) -> dict[str, Any]:
    said = {"from_centerline": offset, "unit_length": length, "unit_width": width}
    found: dict[str, Any] = {key: measure(text) for key, text in said.items() if text is not None}
    return {"clock": clock, "side": side, **found}


#: A unit of 40 mm x 30 mm, 10 mm left of the center line, at the mark.
HERE = ("0 mm", "10 mm", "left", "40 mm", "30 mm")

# Rectangles in the plane: two of 40 x 30 mm overlap where they are nearer than 40 mm around and nearer than 30 mm
# across; touching is no overlap.
OVERLAPS = [
    ("same place", HERE, True),
    ("just overlapping around", ("39.999 mm", *HERE[1:]), True),
    ("touching around", ("40 mm", *HERE[1:]), False),
    ("apart around", ("300 mm", *HERE[1:]), False),
    ("apart around, nothing else known", ("300 mm", None, None, "40 mm", None), False),
    ("smaller unit touching", ("30 mm", "10 mm", "left", "20 mm", "30 mm"), False),
    ("smaller unit overlapping", ("30 mm", "10 mm", "left", "20.1 mm", "30 mm"), True),
    ("just overlapping across", ("0 mm", "39.999 mm", "left", "40 mm", "30 mm"), True),
    ("touching across", ("0 mm", "40 mm", "left", "40 mm", "30 mm"), False),
    ("touching across the center line", ("0 mm", "20 mm", "right", "40 mm", "30 mm"), False),
    ("overlapping across the center line", ("0 mm", "19.9 mm", "right", "40 mm", "30 mm"), True),
    ("apart across, place unknown", (None, "50 mm", "left", "40 mm", "30 mm"), False),
    ("near on either side", ("0 mm", "15 mm", None, "40 mm", "30 mm"), True),
    ("near on one side only", ("0 mm", "25 mm", None, "40 mm", "30 mm"), None),
    ("apart on either side", ("0 mm", "60 mm", None, "40 mm", "30 mm"), False),
    ("length unknown", ("0 mm", "10 mm", "left", None, "30 mm"), None),
    ("width unknown", ("0 mm", "10 mm", "left", "40 mm", None), None),
    ("offset unknown", ("0 mm", None, "left", "40 mm", "30 mm"), None),
    ("place unknown", (None, "10 mm", "left", "40 mm", "30 mm"), None),
    ("length with a width", ("40 mm", "10 mm", "left", "39 mm to 41 mm", "30 mm"), None),
    ("length with a width, at least touching", ("40 mm", "10 mm", "left", "40 mm to 41 mm", "30 mm"), None),
    ("length with a width, surely over", ("35 mm", "10 mm", "left", "39 mm to 41 mm", "30 mm"), True),
    ("offset with a width", ("0 mm", "39 mm to 41 mm", "left", "40 mm", "30 mm"), None),
]


@pytest.mark.parametrize(("other", "expected"), [row[1:] for row in OVERLAPS], ids=[row[0] for row in OVERLAPS])
def test_overlap_follows_from_the_size_of_the_units(other, expected):
    one, another = unit(*HERE), unit(*other)
    assert two(one, another).overlap is expected
    assert two(another, one).overlap is expected


@pytest.mark.parametrize(
    ("other", "verdict", "questions"),
    [
        ({"clock": "30 mm"}, "outside-limits", []),
        ({"clock": "40 mm"}, "within-limits", []),
        ({"clock": "30 mm", "unit_length": None}, "undetermined", ["repairs.overlap"]),
    ],
    ids=["overlaps", "touches", "size not given"],
)
def test_an_overlapping_pair_fails_by_name(other, verdict, questions):
    units = {"unit_length": "40 mm", "unit_width": "30 mm", "from_centerline": "10 mm", "side": "left"}
    found = [{**injury(angle="0 deg")[0], **units, "clock": "0 mm"}, {**injury(angle="0 deg")[0], **units, **other}]
    decision = decide(NO_OVERLAP, injuries=found)
    assert (str(decision.verdict), asked(decision)) == (verdict, questions)
    assert list(judged(decision, "overlap")) == ["injury 1 and injury 2"]


def test_overlap_with_an_earlier_repair():
    units = {"unit_length": "40 mm", "unit_width": "30 mm", "from_centerline": "10 mm", "side": "left"}
    decision = decide(
        NO_OVERLAP,
        injuries=[{**clocks("3:00")[0], **units}],
        earlier_repairs=[{**repairs("3:05")[0], **units}, {**repairs("9:00")[0], **units}],
    )
    # Five minutes on the clock are 2.5 degrees, 13.8 mm of 1,992.7 mm.
    assert judged(decision, "overlap") == {
        "injury 1 and earlier repair 1": "fails",
        "injury 1 and earlier repair 2": "passes",
        "earlier repair 1 and earlier repair 2": "passes",
    }


# --- sidewall injuries that face each other ---------------------------------------------------------------------------

LEFT = {"zone": "sidewall", "side": "left", "clock": "3:00"}
OPPOSED = [
    ("across from each other", {"side": "right"}, True),
    ("same, by angle", {"side": "right", "clock": "90 deg"}, True),
    ("same side", {}, False),
    ("another place", {"side": "right", "clock": "9:00"}, False),
    ("in the crown", {"side": "right", "zone": "crown"}, False),
    ("side unknown", {"side": None}, None),
    ("place unknown", {"side": "right", "clock": None}, None),
    ("zone unknown", {"side": "right", "zone": None}, None),
    ("another place, side unknown", {"side": None, "clock": "9:00"}, False),
    ("same side, place unknown", {"clock": None}, False),
]


@pytest.mark.parametrize(("other", "expected"), [row[1:] for row in OPPOSED], ids=[row[0] for row in OPPOSED])
def test_two_injuries_that_face_each_other(other, expected):
    assert two(LEFT, {**LEFT, **other}, None).opposed is expected
    assert two({**LEFT, **other}, LEFT, None).opposed is expected


@pytest.mark.parametrize(
    ("other", "verdict", "questions"),
    [
        ({"side": "right"}, "outside-limits", []),
        ({"side": "left"}, "within-limits", []),
        ({}, "undetermined", ["repairs.opposed"]),
    ],
)
def test_opposed_injuries_fail_by_name(other, verdict, questions):
    near, far = (injury(**{**LEFT, "side": None, **side})[0] for side in ({"side": "left"}, other))
    decision = decide(NOT_OPPOSED, injuries=[near, far])
    assert (str(decision.verdict), asked(decision)) == (verdict, questions)
    assert list(judged(decision, "opposed")) == ["injury 1 and injury 2"]


def test_one_injury_faces_no_other():
    decision = decide(NOT_OPPOSED, injuries=injury(**LEFT))
    assert judged(decision, "opposed") == {"": "passes"}


# --- earlier improper repairs -----------------------------------------------------------------------------------------


def test_an_earlier_repair_that_is_improper_is_named():
    rules = rule("proper", "permit: {fact: repair.method, values: [one-piece, two-piece]}")
    earlier = [*repairs("0:00"), {"zone": "crown", "diameter": "4 mm", "method": "plug-only"}]
    decision = decide(rules, injuries=clocks("6:00"), earlier_repairs=earlier)
    assert outcomes(decision, "invented-trade/proper") == {"passes", "fails"}
    assert judged(decision, "proper")["earlier repair 1"] == "passes"
    assert judged(decision, "proper")["earlier repair 2"] == "fails"


def test_spots_are_named_in_the_order_of_the_case():
    row = row_of(Injury(), Injury(), repairs=(EarlierRepair(),))
    found = spots(row.injuries, row.repairs)
    assert [spot.label for spot in found] == ["injury 1", "injury 2", "earlier repair 1"]
    assert [pair.label for pair in pairs(found, exactly("634.3"))] == [
        "injury 1 and injury 2",
        "injury 1 and earlier repair 1",
        "injury 2 and earlier repair 1",
    ]
