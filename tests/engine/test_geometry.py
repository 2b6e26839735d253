"""Injuries measured from the center line: bands, tilted channels, surface sizes, and what the sidewall says.

All tires, injuries and invented rules are invented; the built-in bands are checked against the sources named beside
them. Angles are from straight through. The tread is flat, so that the reach of a channel is plane geometry: offset
+ thickness x tan(angle) toward its lean + half the diameter / cos(angle).
"""

from __future__ import annotations

import json
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

import mpmath
import pytest

from tests.engine import SIZE, all_reasons, asked, by_method, failing, outcomes, pack, rule, trade, us_case, world
from tests.support import injury, ship
from tirerules import CaseError, Decision, Verdict, case_from_json, decision_to_json
from tirerules.cli import main
from tirerules.packs.library import builtin
from tirerules.vocabulary import FACTS

mpmath.mp.dps = 40

SECTION, TREAD = "industry/band-section-width", "industry/band-tread-width"
#: A tire so wide in one measure that its band never binds.
WIDE = {"section_width": "2000 mm", "tread_width": "2000 mm"}


def found(**changes: Any) -> list[dict[str, Any]]:
    """Return one injury whose place was measured: 5 mm, straight through, at the center line, no zone named."""
    return injury(**{"zone": None, "angle": "0 deg", "from_centerline": "0 mm", **changes})


def trial(tire: dict[str, Any], **changes: Any) -> Decision:
    """Decide one measured injury by the built-in baseline."""
    return trade().decide(us_case(tire=tire, injuries=found(**changes)))


def banded(figure: str, tire: dict[str, Any], more: str = "", **changes: Any) -> Decision:
    """Decide one measured injury by an invented band alone."""
    rules = rule("band", f"limit: {{fact: injury.reach, {figure}}}") + more
    return world(SIZE + rules).decide(us_case(tire=tire, injuries=found(**changes)))


def measured_as(decision: Decision, fact: str) -> set[str]:
    return {reason.measured for reason in all_reasons(decision) if reason.fact == fact}


# --- bands of the baseline --------------------------------------------------------------------------------------------

# Half of 60, 65 or 70 % of the section width, stepping at 155 and 200 mm (BTMA area T, not rounded), by hand:
# 155 x 0.6 / 2 = 46.5; 155.1 x 0.65 / 2 = 50.4075; 156 -> 50.7; 200 -> 65; 200.1 x 0.7 / 2 = 70.035; 201 -> 70.35.
STEPS = [("155", "46.5"), ("155.1", "50.4075"), ("156", "50.7"), ("200", "65"), ("200.1", "70.035"), ("201", "70.35")]


@pytest.mark.parametrize(("width", "half"), STEPS)
def test_the_share_of_the_section_width_steps_at_155_and_200_mm(width, half):
    tire = {**WIDE, "section_width": f"{width} mm"}
    for offset, outcome in ((Decimal(half) - Decimal("2.501"), "passes"), (Decimal(half) - Decimal("2.5"), "fails")):
        assert outcomes(trial(tire, from_centerline=f"{offset} mm"), SECTION) == {outcome}


# 195 x 0.65 / 2 = 63.375; 225 x 0.7 / 2 = 78.75 (BTMA prints 157.5 for 225, both sides together).
@pytest.mark.parametrize(
    ("size", "half"),
    [("155/80R13", "46.5"), ("165/70R14", "53.625"), ("195/65R15 91H", "63.375"), ("225/45ZR17 (94Y)", "78.75")],
)
def test_the_section_width_is_read_off_the_sidewall(size, half):
    decision = trial({"size": size, "tread_width": "2000 mm"})
    assert [(each.band, each.rule) for each in decision.geometry] == [(Fraction(half), SECTION)]


def test_a_measured_section_width_counts_before_the_designation():
    decision = trial({"size": "225/45R17", "section_width": "200 mm", "tread_width": "2000 mm"})
    assert [each.band for each in decision.geometry] == [65]


# Three quarters of the tread for cars (BS AU 159f) and half of it for motorcycles (the same, as described in 2009);
# 1 1/2 in = 38.1 mm inside the edge for trucks (trade articles): 160 x 3/8 = 60; 120 / 4 = 30; 220 / 2 - 38.1 = 71.9.
CLASSES = [
    ("passenger", {"section_width": "2000 mm", "tread_width": "160 mm"}, "60"),
    ("motorcycle", {"speed_symbol": "J", "tread_width": "120 mm"}, "30"),
    ("medium-truck", {"load_range": "G", "tread_width": "220 mm"}, "71.9"),
    ("bus", {"load_range": "G", "tread_width": "220 mm"}, "71.9"),
]


@pytest.mark.parametrize(("kind", "tire", "half"), CLASSES, ids=[row[0] for row in CLASSES])
def test_the_band_of_each_class_ends_just_inside_its_edge(kind, tire, half):
    inside, edge = Decimal(half) - Decimal("1.001"), Decimal(half) - Decimal("1")
    tire = {"class": kind, **tire}
    assert trial(tire, diameter="2 mm", from_centerline=f"{inside} mm").verdict is Verdict.WITHIN
    decision = trial(tire, diameter="2 mm", from_centerline=f"{edge} mm")
    assert by_method(decision)["one-piece"] == by_method(decision)["two-piece"] == "outside-limits"


@pytest.mark.parametrize(
    ("section", "tread", "band", "binding"),
    [
        ("225 mm", "190 mm", "71.25", [TREAD]),  # 78.75 against 190 x 3/8
        ("195 mm", "180 mm", "63.375", [SECTION]),  # 63.375 against 67.5
        ("225 mm", "210 mm", "78.75", [SECTION, TREAD]),  # both 78.75
    ],
    ids=["tread", "section", "a tie"],
)
def test_the_narrowest_band_binds_and_is_reported_with_its_margin(section, tread, band, binding):
    decision = trial({"section_width": section, "tread_width": tread}, from_centerline="40 mm")
    (where,) = decision.geometry
    assert where.rule in binding
    assert (where.band, where.margin) == (Fraction(band), Fraction(band) - Fraction("42.5"))
    assert (where.injury, where.offset, where.outer, where.inner, where.known) == (
        1,
        "40 mm",
        Fraction("42.5"),
        Fraction("42.5"),
        True,
    )
    limits = decision.limits["injury.reach"]
    assert list(limits.binding) == binding
    assert limits.less_than.exact == Fraction(band)


def test_outside_the_band_the_margin_is_negative():
    decision = trial({**WIDE, "tread_width": "160 mm"}, from_centerline="60 mm")
    assert decision.verdict is Verdict.OUTSIDE
    assert [each.margin for each in decision.geometry] == [Fraction("-2.5")]


def test_each_injury_has_a_place_of_its_own():
    both = [*found(from_centerline="10 mm"), *found(from_centerline="59 mm")]
    decision = trade().decide(
        us_case(
            tire={**WIDE, "tread_width": "160 mm", "construction": "radial"}, injuries=both, repairs={"overlap": False}
        )
    )
    assert [(each.injury, each.margin) for each in decision.geometry] == [(1, Fraction("47.5")), (2, Fraction("-1.5"))]
    assert by_method(decision, injury=1)["one-piece"] == "within-limits"
    assert by_method(decision, injury=2)["one-piece"] == "outside-limits"


def test_the_json_form_gives_both_faces_band_and_margin():
    decision = trial({**WIDE, "tread_width": "160 mm"}, from_centerline="59 mm")
    assert decision_to_json(decision)["geometry"] == [
        {
            "injury": 1,
            "offset": "59 mm",
            "known": True,
            "reach_outside": "61.5 mm",
            "reach_inside": "61.5 mm",
            "band": "60 mm",
            "rule": TREAD,
            "margin": "-1.5 mm",
        }
    ]


# --- invented bands ---------------------------------------------------------------------------------------------------

# By hand, for a tread of 200 mm and a belt of 180 mm: 100; 75; 100 - 25.4 = 74.6; 100 - 38.1 = 61.9; 90 - 12.7 = 77.3;
# 75 - 10 = 65; 100 - 120 is nothing.
FORMS = [
    ("half-of: tire.tread_width", "100"),
    ("half-of: tire.tread_width, share: 3/4", "75"),
    ("half-of: tire.tread_width, share: 75 %", "75"),
    ("half-of: tire.tread_width, inset: 1 in", "74.6"),
    ("half-of: tire.tread_width, inset: 1 1/2 in", "61.9"),
    ("half-of: tire.belt_width, inset: 1/2 in", "77.3"),
    ("half-of: tire.tread_width, share: 3/4, inset: 10 mm", "65"),
]


@pytest.mark.parametrize(("form", "half"), FORMS, ids=[row[0] for row in FORMS])
def test_the_edge_of_an_invented_band(form, half):
    tire = {"tread_width": "200 mm", "belt_width": "180 mm"}
    offset = f"{Decimal(half) - 5} mm"
    just_over = f"{Decimal(half) - Decimal('4.999999')} mm"
    for relation, at, verdict in (
        ("at-most", offset, Verdict.WITHIN),
        ("at-most", just_over, Verdict.OUTSIDE),
        ("less-than", offset, Verdict.OUTSIDE),
    ):
        decision = banded(f"{relation}: {{{form}}}", tire, diameter="10 mm", from_centerline=at)
        assert (decision.verdict, decision.geometry[0].band) == (verdict, Fraction(half))


def test_an_inset_wider_than_the_tread_leaves_no_band():
    decision = banded("at-most: {half-of: tire.tread_width, inset: 120 mm}", {"tread_width": "200 mm"})
    assert (decision.verdict, decision.geometry[0].band) == (Verdict.OUTSIDE, 0)


def test_a_plain_distance_from_the_center_line_is_a_band_too():
    assert banded("at-most: 2 in", {}, from_centerline="48.3 mm").verdict is Verdict.WITHIN  # 48.3 + 2.5 = 50.8
    assert banded("at-most: 2 in", {}, from_centerline="48.301 mm").verdict is Verdict.OUTSIDE


# --- a datum that was not measured ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("datum", "fact", "words"),
    [
        ("tire.tread_width", "tire.tread_width", "How wide is the tread, edge to edge?"),
        ("tire.belt_width", "tire.belt_width", "How wide is the tread belt, edge to edge?"),
        ("tire.section_width", "tire.size", "What size designation stands on the sidewall?"),
    ],
)
def test_a_datum_not_measured_is_a_question(datum, fact, words):
    decision = banded(f"at-most: {{half-of: {datum}, share: 3/4}}", {}, from_centerline="10 mm")
    assert decision.verdict is Verdict.UNDETERMINED
    (question,) = decision.questions
    assert (question.fact, question.ask) == (fact, words)
    assert decision.geometry[0].band is None
    assert decision.geometry[0].margin is None


def test_a_band_that_fails_leaves_the_other_datum_unasked():
    decision = trial({"size": "225/45R17"}, from_centerline="77 mm")
    assert (decision.verdict, asked(decision)) == (Verdict.OUTSIDE, [])
    assert outcomes(decision, TREAD) == {"unknown"}


def test_a_band_that_passes_does_not():
    decision = trial({"size": "225/45R17"}, from_centerline="10 mm")
    assert (decision.verdict, asked(decision)) == (Verdict.UNDETERMINED, ["tire.tread_width"])


# --- zones ------------------------------------------------------------------------------------------------------------


def test_inside_every_band_the_injury_is_in_the_crown_by_measurement():
    decision = trial({"size": "225/45R17", "tread_width": "180 mm"}, from_centerline="60 mm")
    assert decision.verdict is Verdict.WITHIN
    assert outcomes(decision, "industry/crown-only") == {"passes"}
    assert measured_as(decision, "injury.zone") == {"crown (by measurement)"}


def test_outside_a_band_the_zone_is_not_asked_for():
    decision = trial({"size": "225/45R17", "tread_width": "180 mm"}, from_centerline="66 mm")
    assert (decision.verdict, asked(decision)) == (Verdict.OUTSIDE, [])
    assert TREAD in failing(decision)


def test_a_named_zone_without_a_measurement_leaves_the_bands_out():
    decision = trade().decide(us_case(tire={"size": "225/45R17", "tread_width": "180 mm"}))
    assert decision.verdict is Verdict.WITHIN
    assert measured_as(decision, "injury.zone") == {"crown"}
    assert measured_as(decision, "injury.reach") == set()
    assert decision.geometry == ()


@pytest.mark.parametrize(
    ("zone", "offset", "fails"),
    [
        ("crown", "10 mm", set()),
        ("shoulder", "10 mm", {"industry/crown-only"}),
        ("crown", "66 mm", {TREAD}),
        ("shoulder", "66 mm", {"industry/crown-only", TREAD}),
    ],
)
def test_a_named_zone_and_a_measurement_must_both_pass(zone, offset, fails):
    decision = trial({"size": "225/45R17", "tread_width": "180 mm"}, zone=zone, from_centerline=offset)
    # A section repair has no place here whatever the zone.
    assert failing(decision) - {"industry/no-section-repair"} == fails


@pytest.mark.parametrize(
    "tire", [{}, {"size": "225/45R17", "tread_width": "180 mm"}], ids=["tire not measured", "tire measured"]
)
def test_neither_zone_nor_measurement_is_one_question(tire):
    decision = trade().decide(us_case(tire=tire, injuries=injury(zone=None)))
    assert decision.verdict is Verdict.UNDETERMINED
    assert [question.ask for question in decision.questions] == [FACTS["injury.zone"].question]


def test_a_zone_is_not_proved_by_a_band_that_only_may_apply():
    band = rule("band", "limit: {fact: injury.reach, at-most: 50 mm}", when="{tire.retread: true}")
    crown = rule("crown", "permit: {fact: injury.zone, values: [crown]}")
    rules = world(SIZE + band + crown)
    assert asked(rules.decide(us_case(injuries=found()))) == ["injury.zone"]
    assert rules.decide(us_case(injuries=found(), tire={"retread": True})).verdict is Verdict.WITHIN
    assert asked(rules.decide(us_case(injuries=found(), tire={"retread": False}))) == ["injury.zone"]


# --- tilted channels --------------------------------------------------------------------------------------------------

# 12 mm thick at 25 degrees: the channel moves 12 x tan 25 = 5.5957 mm; 6 mm across show as 6.6203 mm (handbook
# arithmetic, 5.60 and 6.62). From 60 mm it reaches 60 + 3.3101 = 63.3101 mm outside. Around the tire it is 6 mm wide.
LEANS = [
    ("toward-shoulder", "63.3101", "68.9058"),  # 60 + 5.5957 + 3.3101
    ("toward-center", "63.3101", "57.7144"),  # 60 - 5.5957 + 3.3101
    ("along-circumference", "63", "63"),
    (None, "63.3101", "68.9058"),
]
TILTED = {"from_centerline": "60 mm", "diameter": "6 mm", "angle": "25 deg"}


@pytest.mark.parametrize(("leans", "outer", "inner"), LEANS, ids=[str(row[0]) for row in LEANS])
def test_a_tilted_channel_reaches_as_far_as_plane_geometry_says(leans, outer, inner):
    tire = {**WIDE, "tread_width": "180 mm", "thickness": "12 mm"}
    (where,) = trial(tire, **TILTED, leans=leans).geometry
    assert (float(where.outer), float(where.inner)) == pytest.approx((float(outer), float(inner)), abs=1e-4)
    assert where.known


@pytest.mark.parametrize(
    ("tread", "expected"),
    [
        # 180 x 3/8 = 67.5: only the lean toward the shoulder leaves the band.
        ("180 mm", ["outside-limits", "within-limits", "within-limits", "undetermined"]),
        ("190 mm", ["within-limits"] * 4),  # 71.25: every lean stays inside
        ("165 mm", ["outside-limits"] * 4),  # 61.875: no lean does
        # 168.3 x 3/8 = 63.1125: inside by 63, outside by 63.3101; the lean around the tire alone passes.
        ("168.3 mm", ["outside-limits", "outside-limits", "within-limits", "undetermined"]),
    ],
)
def test_an_unknown_lean_is_the_worst_case_and_asked_for_where_it_matters(tread, expected):
    tire = {**WIDE, "tread_width": tread, "thickness": "12 mm"}
    decisions = [trial(tire, **TILTED, leans=leans) for leans, _, _ in LEANS]
    assert [str(decision.verdict) for decision in decisions] == expected
    assert asked(decisions[-1]) == (["injury.leans"] if expected[-1] == "undetermined" else [])


def test_an_injury_that_starts_in_the_crown_and_ends_in_the_shoulder_fails_with_both_numbers():
    tire = {**WIDE, "tread_width": "180 mm", "thickness": "12 mm"}
    decision = trial(tire, **TILTED, leans="toward-shoulder")
    (where,) = decision.geometry
    assert decision.verdict is Verdict.OUTSIDE
    assert where.outer < where.band < where.inner
    said = decision_to_json(decision)["geometry"][0]
    assert (said["reach_outside"], said["reach_inside"], said["band"]) == ("63.31 mm", "68.906 mm", "67.5 mm")


@pytest.mark.parametrize(
    ("changes", "verdict", "questions"),
    [
        ({"leans": "toward-shoulder"}, "undetermined", [{"tire.thickness"}]),
        ({"leans": "toward-center"}, "undetermined", [{"tire.thickness"}]),
        ({}, "undetermined", [{"injury.leans", "tire.thickness"}]),
        ({"leans": "along-circumference"}, "within-limits", []),
        ({"leans": "toward-shoulder", "angle": "0 deg"}, "within-limits", []),
        ({"angle": "0 deg"}, "within-limits", []),
        ({"leans": "toward-shoulder", "angle": "0 deg to 1 deg"}, "undetermined", [{"tire.thickness"}]),
        ({"leans": "toward-shoulder", "from_centerline": "64.2 mm"}, "outside-limits", []),  # 67.51 mm already outside
        ({"leans": "toward-center", "from_centerline": "64.2 mm"}, "outside-limits", []),
        ({"from_centerline": "64.5 mm"}, "outside-limits", []),  # 67.5 mm even around the tire, and the edge is out
        ({"leans": "toward-shoulder", "diameter": "7 mm"}, "outside-limits", []),
        ({"from_centerline": "62 mm to 66 mm", "angle": "0 deg"}, "undetermined", [{"injury.from_centerline"}]),
        ({"angle": None}, "undetermined", [{"injury.angle"}]),
        ({"diameter": None, "angle": "0 deg"}, "undetermined", [{"injury.diameter"}]),
    ],
    ids=[
        "toward the shoulder",
        "toward the center",
        "lean unknown",
        "around the tire",
        "straight through",
        "straight through, lean unknown",
        "hardly tilted",
        "outside already",
        "outside already, toward the center",
        "outside already, lean unknown",
        "too large already",
        "straight through, place with a width",
        "angle unknown",
        "diameter unknown",
    ],
)
def test_thickness_and_lean_are_asked_for_only_where_they_can_change_the_verdict(changes, verdict, questions):
    decision = trial({**WIDE, "tread_width": "180 mm"}, **{**TILTED, **changes})
    assert str(decision.verdict) == verdict
    assert len(decision.questions) == len(questions)
    assert all(question.fact in allowed for question, allowed in zip(decision.questions, questions, strict=True))


@pytest.mark.parametrize(
    ("missing", "known"),
    [
        ({}, True),
        ({"leans": None}, True),  # the worst case is known
        ({"thickness": None}, False),
        ({"thickness": None, "leans": None}, False),
        ({"thickness": None, "leans": "along-circumference"}, True),
        ({"thickness": None, "angle": "0 deg"}, True),
        ({"angle": None}, False),
        ({"angle": None, "leans": "along-circumference"}, True),
        ({"diameter": None}, False),
        ({"diameter": None, "leans": "along-circumference"}, False),
    ],
    ids=[
        "all measured",
        "lean unknown",
        "thickness unknown",
        "lean and thickness unknown",
        "around the tire",
        "straight through",
        "angle unknown",
        "angle unknown, around the tire",
        "diameter unknown",
        "diameter unknown, around the tire",
    ],
)
def test_a_reach_is_told_only_where_it_is_known(missing, known):
    changes = {"leans": "toward-shoulder", "thickness": "12 mm", **missing}
    tire = {**WIDE, "tread_width": "180 mm", "thickness": changes.pop("thickness")}
    decision = trial(tire, **{**TILTED, **changes})
    (said,) = decision_to_json(decision)["geometry"]
    assert said["known"] is decision.geometry[0].known is known
    assert (said["offset"], said["band"]) == ("60 mm", "67.5 mm")
    assert ("reach_outside" in said, "reach_inside" in said, "margin" in said) == (known, known, known)


# 45 degrees through 12 mm moves the channel 12 mm (tan 45 = 1); 5 mm across show as 5 x sqrt 2 = 7.0711 mm. From 2 mm
# right of the center line it comes out 10 mm left of it, and reaches 13.5355 mm; outside it reaches 5.5355 mm.
@pytest.mark.parametrize(
    ("offset", "tread", "verdict", "inner"),
    [
        ("2 mm", "27.08 mm", "within-limits", "13.5355"),
        ("2 mm", "27.07 mm", "outside-limits", "13.5355"),
        ("5 mm", "27.07 mm", "within-limits", "10.5355"),  # further out, and yet less far across
        ("0 mm", "31.08 mm", "within-limits", "15.5355"),
        ("0 mm", "31.07 mm", "outside-limits", "15.5355"),
        ("12 mm", "31.08 mm", "within-limits", "3.5355"),
    ],
)
def test_a_channel_that_leans_toward_the_center_may_cross_it(offset, tread, verdict, inner):
    tire = {"tread_width": tread, "thickness": "12 mm"}
    decision = banded(
        "at-most: {half-of: tire.tread_width}", tire, from_centerline=offset, angle="45 deg", leans="toward-center"
    )
    assert str(decision.verdict) == verdict
    assert float(decision.geometry[0].inner) == pytest.approx(float(inner), abs=1e-4)


@pytest.mark.parametrize("thickness", [None, "12 mm", "40 mm"])
@pytest.mark.parametrize("angle", ["0 deg", "25 deg", "60 deg"])
def test_a_channel_around_the_tire_reaches_no_further_than_its_half_width(angle, thickness):
    figure = "at-most: {half-of: tire.tread_width}"
    for tread, verdict in (("25 mm", Verdict.WITHIN), ("24.999 mm", Verdict.OUTSIDE)):
        tire = {"tread_width": tread, "thickness": thickness}
        decision = banded(figure, tire, from_centerline="10 mm", angle=angle, leans="along-circumference")
        assert decision.verdict is verdict


@pytest.mark.parametrize("leans", ["toward-shoulder", "toward-center", None])
@pytest.mark.parametrize(("angle", "offset"), [(25, 30), (40, 3), (1, 80)])
def test_a_reach_is_never_rounded_down_to_its_limit(angle, offset, leans):
    """A limit just below the truth is not passed, one a micrometer above it is. Reference: mpmath, 40 digits."""
    radians = mpmath.mpf(angle) * mpmath.pi / 180
    half, shift = mpmath.mpf(3) / mpmath.cos(radians), 12 * mpmath.tan(radians)
    inner = abs(offset - shift) if leans == "toward-center" else offset + shift
    truth = max(offset + half, inner + half)
    below = f"{mpmath.floor(truth * 10**12) / 10**12}"[:18]
    above = f"{truth + mpmath.mpf('0.001')}"[:18]
    assert mpmath.mpf(below) < truth < mpmath.mpf(above)
    for limit, within in ((below, False), (above, True)):
        decision = banded(
            f"at-most: {limit} mm",
            {"thickness": "12 mm"},
            from_centerline=f"{offset} mm",
            diameter="6 mm",
            angle=f"{angle} deg",
            leans=leans,
        )
        assert (decision.verdict is Verdict.WITHIN) is within


# --- the size along the surface and across the channel ----------------------------------------------------------------

SIX = rule("six", "limit: {fact: injury.diameter, at-most: 6 mm}")


def sized(**changes: Any) -> Decision:
    return world(SIX).decide(us_case(injuries=injury(**{"diameter": None, **changes})))


# 6 mm across show as 6.62 mm along the surface at 25 degrees and as 8.49 mm at 45 (handbook arithmetic).
@pytest.mark.parametrize(
    ("surface", "angle", "verdict", "questions"),
    [
        ("6 mm", "0 deg", "within-limits", []),
        ("6.62 mm", "25 deg", "within-limits", []),  # 5.99975 mm
        ("6.63 mm", "25 deg", "outside-limits", []),  # 6.00882 mm
        ("6.62 mm", "0 deg", "outside-limits", []),
        ("8.48 mm", "45 deg", "within-limits", []),  # 5.99627 mm
        ("8.49 mm", "45 deg", "outside-limits", []),  # 6.00334 mm
        ("6.62 mm", None, "undetermined", ["injury.angle"]),
        ("6 mm", None, "within-limits", []),  # as wide as it looks, at worst
        ("6.62 mm", "20 deg to 30 deg", "undetermined", ["injury.diameter"]),
        ("6.1 mm to 6.3 mm", "25 deg", "within-limits", []),
        ("6.5 mm to 6.7 mm", "25 deg", "undetermined", ["injury.diameter"]),
    ],
)
def test_a_hole_is_judged_across_its_channel(surface, angle, verdict, questions):
    decision = sized(surface_diameter=surface, angle=angle)
    assert (str(decision.verdict), asked(decision)) == (verdict, questions)


@pytest.mark.parametrize("angle", [25, 35, 60])
def test_a_size_across_is_never_rounded_down_to_its_limit(angle):
    """Reference: mpmath, 40 digits. Where the cosine is a half, the limit itself is the truth's own neighbor below."""
    truth = mpmath.mpf(8) * mpmath.cos(mpmath.mpf(angle) * mpmath.pi / 180)
    below = f"{mpmath.ceil(truth * 10**12 - 1) / 10**12}"[:15]
    assert mpmath.mpf(below) < truth
    for limit, within in ((below, False), (f"{truth + mpmath.mpf('0.001')}"[:15], True)):
        rules = world(rule("size", f"limit: {{fact: injury.diameter, at-most: {limit} mm}}"))
        decision = rules.decide(us_case(injuries=injury(diameter=None, surface_diameter="8 mm", angle=f"{angle} deg")))
        assert (decision.verdict is Verdict.WITHIN) is within


@pytest.mark.parametrize(
    ("changes", "shown"),
    [
        ({"diameter": "5 mm"}, "5 mm"),
        ({"surface_diameter": "6.62 mm", "angle": "25 deg"}, "6.62 mm along the surface (up to 6 mm across)"),
        ({"surface_diameter": "1/4 in", "angle": "25 deg"}, "1/4 in along the surface (up to 5.755 mm across)"),
    ],
    ids=["across", "along the surface", "in inches"],
)
def test_the_reason_says_which_size_was_given(changes, shown):
    # 6.35 mm x cos 25 = 5.7550 mm.
    assert measured_as(sized(**changes), "injury.diameter") == {shown}


@pytest.mark.parametrize(
    ("diameter", "surface", "angle", "verdict"),
    [
        ("5.9 mm", "6.62 mm", "25 deg", "within-limits"),
        ("6.1 mm", "6.62 mm", "25 deg", "outside-limits"),
        ("5.9 mm", "6.7 mm", "25 deg", "outside-limits"),  # 6.0723 mm across
        ("6.1 mm", "5 mm", "0 deg", "outside-limits"),
        ("5 mm", "6.1 mm", "0 deg", "outside-limits"),
        ("5 mm", "6.1 mm", None, "undetermined"),
        ("6.1 mm", "5 mm", None, "outside-limits"),
    ],
)
def test_of_two_sizes_the_larger_counts(diameter, surface, angle, verdict):
    assert str(sized(diameter=diameter, surface_diameter=surface, angle=angle).verdict) == verdict


def test_the_reach_follows_from_the_size_across():
    # 6.6203 mm along the surface at 25 degrees are 6 mm across, and so 6.6203 mm wide again on each face.
    tire = {**WIDE, "tread_width": "180 mm", "thickness": "12 mm"}
    changes = {**TILTED, "diameter": None, "surface_diameter": "6.6203 mm", "leans": "toward-shoulder"}
    (where,) = trial(tire, **changes).geometry
    assert (float(where.outer), float(where.inner)) == pytest.approx((63.3101, 68.9058), abs=1e-4)


# --- widths -----------------------------------------------------------------------------------------------------------


# The step at 155 mm is a jump: 150 -> 45, 155 -> 46.5, just above 155 -> 50.375, 160 -> 52 (half widths, by hand).
@pytest.mark.parametrize(
    ("width", "reach", "outcome"),
    [
        ("150 mm to 160 mm", "44.999", "passes"),
        ("150 mm to 160 mm", "45", "unknown"),
        ("150 mm to 160 mm", "48", "unknown"),  # in the gap that no width gives, but between those that two do
        ("150 mm to 160 mm", "51.999", "unknown"),
        ("150 mm to 160 mm", "52", "fails"),
        ("155 mm ± 5 mm", "44.999", "passes"),
        ("155 mm ± 5 mm", "52", "fails"),
        ("150 mm to 155 mm", "46.499", "unknown"),
        ("150 mm to 155 mm", "46.5", "fails"),
        ("155 mm to 156 mm", "46.5", "unknown"),
        ("155 mm to 156 mm", "46.499", "passes"),
        ("155.5 mm to 160 mm", "50.5", "passes"),  # 155.5 x 0.65 / 2 = 50.5375
        ("155.5 mm to 160 mm", "50.5375", "unknown"),
    ],
)
def test_a_section_width_with_a_width_is_judged_at_both_ends(width, reach, outcome):
    offset = Decimal(reach) - Decimal("2.5")
    decision = trial({"section_width": width, "tread_width": "2000 mm"}, from_centerline=f"{offset} mm")
    assert outcomes(decision, SECTION) == {outcome}


# An invented band that falls: 70 % through 100 mm, 50 % above. 90 -> 31.5, 100 -> 35, just above 100 -> 25,
# 101 -> 25.25, 110 -> 27.5. The width that gives the least lies inside the range, or directly above its lower end.
@pytest.mark.parametrize(
    ("width", "reach", "verdict"),
    [
        ("90 mm to 110 mm", "25", "within-limits"),
        ("90 mm to 110 mm", "25.1", "undetermined"),
        ("90 mm to 110 mm", "35", "undetermined"),
        ("90 mm to 110 mm", "35.001", "outside-limits"),
        ("100 mm to 101 mm", "25.1", "undetermined"),
        ("100 mm to 101 mm", "25", "within-limits"),
        ("90 mm to 100 mm", "31.5", "within-limits"),
        ("100 mm", "35", "within-limits"),
    ],
)
def test_a_band_that_falls_at_a_step_is_judged_on_both_sides_of_it(width, reach, verdict):
    shares = "[{through: 100 mm, share: 70 %}, {share: 50 %}]"
    offset = f"{Decimal(reach) - Decimal('2.5')} mm"
    decision = banded(
        f"at-most: {{half-of: tire.tread_width, share: {shares}}}", {"tread_width": width}, from_centerline=offset
    )
    assert str(decision.verdict) == verdict


def test_the_stricter_end_of_a_measured_datum_is_the_band_reported():
    decision = trial({"section_width": "150 mm to 160 mm", "tread_width": "2000 mm"}, from_centerline="10 mm")
    assert [(each.band, each.rule) for each in decision.geometry] == [(45, SECTION)]
    decision = banded("at-most: {half-of: tire.tread_width, inset: 1 in}", {"tread_width": "200 mm ± 2 mm"})
    assert decision.geometry[0].band == Fraction("73.6")  # 99 - 25.4


# Guarded acceptance (JCGM 106): a maximum passes when reading + uncertainty <= limit. Limits: 6 mm (strict reading),
# 1/4 in = 6.35 mm (as enacted), both of the light charts.
@pytest.mark.parametrize(
    ("reading", "reads", "verdict"),
    [
        ("6.1 mm ± 0.3 mm", "as-enacted", "undetermined"),  # 6.4 > 6.35, though 6.1 alone would pass
        ("6.1 mm ± 0.25 mm", "as-enacted", "within-limits"),
        ("5 mm to 6 mm", "strict", "within-limits"),  # a 6 mm gauge does not enter, a 5 mm gauge does
        ("6 mm to 7 mm", "strict", "undetermined"),
        ("6.001 mm to 7 mm", "strict", "outside-limits"),
        ("1/4 in to 5/16 in", "as-enacted", "undetermined"),
        ("5 mm rounded", "strict", "within-limits"),
        ("6 mm rounded", "strict", "undetermined"),
        ("7 mm rounded", "strict", "outside-limits"),
        ("6 mm", "strict", "within-limits"),
    ],
)
def test_a_size_with_a_width_passes_only_at_its_upper_end(reading, reads, verdict):
    decision = trade().decide(us_case(injuries=injury(diameter=reading), reading=reads))
    assert str(decision.verdict) == verdict
    assert asked(decision) == (["injury.diameter"] if verdict == "undetermined" else [])


@pytest.mark.parametrize(
    ("changes", "verdict"),
    [
        ({"from_centerline": "58 mm ± 1 mm"}, "within-limits"),  # 67.91 at worst, below 68
        ({"from_centerline": "58 mm ± 2 mm"}, "undetermined"),
        ({"from_centerline": "62 mm ± 2 mm"}, "outside-limits"),  # 68.9058 at best
        ({"angle": "15 deg to 25 deg"}, "within-limits"),
        ({"angle": "20 deg to 30 deg"}, "undetermined"),
        ({"diameter": "4 mm to 6 mm"}, "within-limits"),
        ({"from_centerline": "59.2 mm", "diameter": "4 mm to 6 mm"}, "undetermined"),
        ({"thickness": "10 mm to 12 mm"}, "within-limits"),
        ({"thickness": "10 mm to 14 mm"}, "undetermined"),
        ({"thickness": "15 mm to 20 mm"}, "outside-limits"),
    ],
)
def test_every_measure_of_a_channel_may_have_a_width(changes, verdict):
    # 6 mm at 25 degrees through 12 mm reaches 8.9058 mm further than its offset; the band ends at 68 mm.
    tire = {"tread_width": "136 mm", "thickness": changes.pop("thickness", "12 mm")}
    changes = {**TILTED, "from_centerline": "58.5 mm", "leans": "toward-shoulder", **changes}
    assert str(banded("at-most: {half-of: tire.tread_width}", tire, **changes).verdict) == verdict


# --- what the sidewall says -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("tire", "diameter", "verdict", "questions"),
    [
        ({"class": "light-truck", "size": "LT245/75R16/E"}, "6.2 mm", "outside-limits", []),
        ({"class": "light-truck", "size": "LT245/75R16 120/116S (E)"}, "6 mm", "within-limits", []),
        ({"class": "light-truck", "size": "LT245/75R16 (F)"}, "6.4 mm", "within-limits", []),
        ({"class": "light-truck", "size": "LT245/75R16"}, "6.4 mm", "undetermined", ["tire.load_range"]),
        (
            {"class": "medium-truck", "size": "295/75R22.5 (G)", "tread_depth": "10/32 in"},
            "9.5 mm",
            "within-limits",
            [],
        ),
        ({"class": "motorcycle", "size": "120/70R17 58H"}, "3 mm", "within-limits", []),
        ({"class": "motorcycle", "size": "120/70R17 58H"}, "3.1 mm", "outside-limits", []),
        ({"class": "motorcycle", "size": "120/70-17 58J"}, "6 mm", "within-limits", []),
        ({"class": "motorcycle", "size": "120/70R17"}, "6 mm", "undetermined", ["tire.speed_symbol"]),
        ({"class": "motorcycle", "size": "180/55ZR17"}, "1 mm", "outside-limits", []),
        ({"class": "motorcycle", "size": "180/55ZR17 73W"}, "1 mm", "outside-limits", []),
    ],
    ids=[
        "load range E, too large",
        "load range E",
        "load range F",
        "load range not shown",
        "load range G",
        "speed H",
        "speed H, too large",
        "speed J",
        "speed not shown",
        "speed ZR",
        "speed W",
    ],
)
def test_load_range_and_speed_are_read_off_the_sidewall(tire, diameter, verdict, questions):
    decision = trade().decide(us_case(tire=tire, injuries=injury(diameter=diameter)))
    assert (str(decision.verdict), asked(decision)) == (verdict, questions)


@pytest.mark.parametrize(
    ("size", "fact", "stated", "printed"),
    [
        ("LT245/75R16/E", "load_range", "F", "E"),
        ("295/75R22.5 (G)", "load_range", "H", "G"),
        ("225/45R17 91W", "speed_symbol", "V", "W"),
        ("225/45ZR17 (94Y)", "speed_symbol", "Y", "(Y)"),
        ("120/70-17", "construction", "radial", "bias"),
    ],
)
def test_a_case_that_contradicts_the_sidewall_is_refused(size, fact, stated, printed):
    with pytest.raises(CaseError) as refused:
        case_from_json(us_case(tire={"size": size, fact: stated}))
    (problem,) = refused.value.problems
    assert (problem.code, problem.path) == ("case-size", f"tire.{fact}")
    assert problem.message == f"the size says {printed}, the case says {stated}"
    assert getattr(case_from_json(us_case(tire={"size": size, fact: printed})).tire, fact) == printed


def test_the_case_may_say_how_fast_a_zr_tire_is():
    fast = rule("fast", "limit: {fact: injury.diameter, at-most: 1 mm}", when="{tire.speed_symbol: {more-than: W}}")
    rules = world(SIZE + fast)
    verdicts = [
        rules.decide(us_case(tire={"size": "225/45ZR17", "speed_symbol": symbol})).verdict for symbol in ("W", "Y")
    ]
    assert verdicts == [Verdict.WITHIN, Verdict.OUTSIDE]


# Week 23 of 2019 runs from Monday 2019-06-03 to Sunday 2019-06-09 (ISO 8601 calendar). Six years of 365.25 days are
# 2,191.5 days: a tire of Monday is older from 2025-06-03 on, one of Sunday from 2025-06-09 on.
@pytest.mark.parametrize(
    ("on", "verdict"),
    [
        ("2019-06-03", "within-limits"),
        ("2025-06-02", "within-limits"),
        ("2025-06-03", "undetermined"),
        ("2025-06-08", "undetermined"),
        ("2025-06-09", "outside-limits"),
    ],
)
def test_the_date_code_gives_the_age_on_the_day_of_the_case(on, verdict):
    shop = pack(rule("old", "limit: {fact: tire.age, at-most: 6 years}"))
    decision = world(SIZE, shop).decide(us_case(on=on, tire={"date_code": "2319"}))
    assert str(decision.verdict) == verdict
    assert measured_as(decision, "tire.age") == {"made in week 23 of 2019"}
    age = date.fromisoformat(on) - date(2019, 6, 3)
    assert (age <= timedelta(days=2191.5)) == (verdict == "within-limits")


def test_a_tire_made_after_the_day_of_the_case_is_refused():
    # Week 49 of 2026 starts on Monday 2026-11-30 (ISO 8601 calendar).
    with pytest.raises(CaseError) as refused:
        trade().decide(us_case(on="2026-11-29", tire={"date_code": "4926"}))
    assert [problem.path for problem in refused.value.problems] == ["tire.date_code"]
    assert trade().decide(us_case(on="2026-11-30", tire={"date_code": "4926"})).verdict is Verdict.WITHIN


def test_without_a_date_code_the_age_is_asked_for():
    shop = pack(rule("old", "limit: {fact: tire.age, at-most: 6 years}"))
    assert asked(world(SIZE, shop).decide(us_case())) == ["tire.age"]


# --- the command line -------------------------------------------------------------------------------------------------


@pytest.fixture
def say(tmp_path, monkeypatch, capsys):
    """Decide a case by `tirerules decide --full` with the packs of the baseline and the United States.

    It returns the exit code and what is printed.

    Runs of white space are one space, so that no test depends on where a line ends.
    """
    folder = tmp_path / "rulepacks"
    folder.mkdir()
    for name in ("industry.yaml", "US/US.yaml"):
        (folder / name.rpartition("/")[2]).write_bytes((builtin() / name).read_bytes())
    ship(monkeypatch, folder)

    def call(case: dict[str, Any]) -> tuple[int, str]:
        path = tmp_path / "ticket.json"
        path.write_text(json.dumps(case), encoding="utf-8")
        code = main(["decide", str(path), "--full"])
        return code, " ".join(capsys.readouterr().out.split())

    return call


@pytest.mark.parametrize(
    ("tread", "code", "margin"),
    [("190 mm", 0, "margin 2.34 mm (0.092 in)"), ("180 mm", 3, "margin -1.41 mm (-0.055 in)")],
    ids=["inside", "outside"],
)
def test_the_text_shows_offset_both_faces_band_and_margin_in_both_units(say, tread, code, margin):
    # 71.25 - 68.9058 = 2.3442; 67.5 - 68.9058 = -1.4058; 63.3101 mm = 2.4925 in; 68.9058 mm = 2.7128 in.
    tire = {"size": "225/45R17", "tread_width": tread, "thickness": "12 mm"}
    done, text = say(us_case(tire=tire, injuries=found(**TILTED, leans="toward-shoulder")))
    band = {"190 mm": "band 71.25 mm (2.805 in)", "180 mm": "band 67.5 mm (2.657 in)"}[tread]
    assert done == code
    assert "injury 1: 60 mm from the center line" in text
    assert "reaches 63.31 mm (2.493 in) outside and 68.91 mm (2.713 in) inside" in text
    assert f"{band} ({TREAD}); {margin}" in text


def test_the_text_says_which_size_was_given(say):
    _, text = say(us_case(injuries=injury(diameter=None, surface_diameter="6.6 mm", angle="25 deg")))
    # 6.6 x cos 25 = 5.9816 mm.
    assert "injury.diameter: 6.6 mm along the surface (up to 5.982 mm across) -- at most 6 mm (0.236 in)" in text


def test_the_text_leaves_out_where_an_injury_lies_that_was_not_measured(say):
    code, text = say(us_case())
    assert code == 0
    assert "mm from the center line" not in text


def test_the_text_asks_for_a_datum(say):
    code, text = say(us_case(tire={"size": "225/45R17"}, injuries=found(from_centerline="10 mm")))
    assert code == 4
    assert "1. How wide is the tread, edge to edge? [mm or in] (tire.tread_width)" in text


def test_the_text_says_so_where_the_angle_is_not_known(say):
    tire = {"size": "225/45R17", "tread_width": "190 mm", "thickness": "12 mm"}
    code, text = say(us_case(tire=tire, injuries=found(from_centerline="10 mm", angle=None)))
    assert code == 4
    assert "injury 1: 10 mm from the center line; how far it reaches is not known yet" in text
    assert "How far is the injury's channel from straight through (0 deg)?" in text


def test_the_text_names_the_pair_that_overlaps(say):
    units = {"unit_length": "40 mm", "unit_width": "30 mm", "side": "left", "zone": "crown", "from_centerline": "5 mm"}
    near = [{**found()[0], **units, "clock": clock} for clock in ("3:00", "3:05")]
    code, text = say(us_case(tire={"size": "225/45R17", "tread_width": "190 mm"}, injuries=near))
    assert code == 3
    assert "repairs.overlap (injury 1 and injury 2): yes" in text
