"""Channel, band and spacing geometry against worked values, a reference library, and simple plane geometry."""

from __future__ import annotations

import math
import random
from fractions import Fraction
from functools import cache

import mpmath
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Point, box

from tests.amounts import some_of
from tests.support import invented_pack, repair_case
from tirerules.engine.geometry import PI, Channel, across, cosine, secant, tangent
from tirerules.packs.building import read_pack
from tirerules.packs.pack import Pack
from tirerules.rulebook import Rulebook, load
from tirerules.strictest.bounds import Interval

mpmath.mp.dps = 40


def exactly(value: object) -> Interval:
    return Interval(Fraction(str(value)), Fraction(str(value)))


# --- trigonometry is rounded against the injury (reference: mpmath, 40 digits) ---


@given(st.fractions(0, 89, max_denominator=1000))
def test_trigonometry_is_never_below_the_truth_and_hardly_above(angle):
    radians = mpmath.mpf(angle.numerator) / angle.denominator * mpmath.pi / 180
    for rounded, truth in (
        (tangent(angle), mpmath.tan(radians)),
        (secant(angle), mpmath.sec(radians)),
        (cosine(angle), mpmath.cos(radians)),
    ):
        found = mpmath.mpf(rounded.numerator) / rounded.denominator
        assert found >= truth
        assert found <= truth * (1 + mpmath.mpf(10) ** -9)


def test_straight_through_is_exact():
    assert (tangent(Fraction(0)), secant(Fraction(0)), cosine(Fraction(0))) == (0, 1, 1)


def test_pi_lies_between_its_bounds():
    truth = mpmath.pi
    assert mpmath.mpf(PI.low.numerator) / PI.low.denominator < truth
    assert mpmath.mpf(PI.high.numerator) / PI.high.denominator > truth


# --- worked values: casing 12 mm thick, 0 deg straight through (handbook arithmetic) ---

SHIFTS = [(15, "3.22"), (25, "5.60"), (35, "8.40"), (40, "10.07"), (45, "12.00")]
ELLIPSES = [(15, "6.21"), (25, "6.62"), (35, "7.32"), (40, "7.83"), (45, "8.49")]


@pytest.mark.parametrize(("angle", "millimeters"), SHIFTS)
def test_lateral_shift_through_the_casing(angle, millimeters):
    channel = Channel(exactly(0), exactly(6), exactly(angle), "toward-shoulder", exactly(12))
    faces = channel.faces()
    assert float(faces.inner.high - faces.outer.high) == pytest.approx(float(millimeters), abs=0.006)


@pytest.mark.parametrize(("angle", "millimeters"), ELLIPSES)
def test_long_axis_on_the_surface_of_a_6_mm_hole(angle, millimeters):
    channel = Channel(exactly(0), exactly(6), exactly(angle), "toward-shoulder", exactly(12))
    assert 2 * float(channel.faces().outer.high) == pytest.approx(float(millimeters), abs=0.006)
    back = across(exactly(2 * Fraction(channel.faces().outer.high)), exactly(angle))
    assert float(back.high) == pytest.approx(6, abs=1e-9)
    assert back.high >= 6  # rounded against the injury


def test_an_unknown_angle_makes_the_surface_size_the_worst_case():
    assert across(exactly("6.62"), None) == Interval(Fraction(0), Fraction("6.62"))


# --- the share of the section width: half-widths in mm (BTMA area T, unrounded; arithmetic) ---

HALVES = [
    ("125", "37.5"), ("135", "40.5"), ("155", "46.5"), ("156", "50.7"), ("165", "53.625"), ("195", "63.375"),
    ("200", "65"), ("201", "70.35"), ("205", "71.75"), ("225", "78.75"), ("245", "85.75"), ("315", "110.25"),
]  # fmt: skip


@pytest.mark.parametrize(("width", "half"), HALVES)
def test_band_by_section_width(width, half):
    case = repair_case(
        tire={"section_width": f"{width} mm", "tread_width": "900 mm"},
        injuries=[{"kind": "puncture", "from_centerline": "0 mm", "diameter": "1 mm", "angle": "0 deg"}],
    )
    (found,) = load().decide(case).geometry
    assert (found.band, found.rule) == (Fraction(half), "industry/band-section-width")


# --- spacing on a 225/45R17, 1,992.7 mm around (arithmetic) ---

SPACING = [("150 mm", "27.10"), ("15 in", "68.83"), ("16 in", "73.42"), ("400 mm", "72.26")]
ANGLES = [("30 deg", "166.1"), ("90 deg", "498.2"), ("120 deg", "664.2")]

APART = """
- id: spacing
  says: Invented. Repairs lie apart.
  activity: [repair]
  limit: {{fact: {fact}, at-least: {figure}}}
  source: text
"""


@cache
def three_packs() -> tuple[Pack, ...]:
    packs = load().packs
    return packs["industry"], packs["US"], packs["US-SC"]


def spaced(fact: str, figure: str, **case: object):
    rulebook = Rulebook([*three_packs(), invented_pack(APART.format(fact=fact, figure=figure))])
    return rulebook.decide(repair_case(**case))


def spots(*clocks: str) -> list[dict[str, str]]:
    return [
        {"kind": "puncture", "zone": "crown", "diameter": "5 mm", "angle": "0 deg", "clock": clock} for clock in clocks
    ]


@pytest.mark.parametrize(("distance", "degrees"), SPACING)
def test_a_distance_around_the_tire_as_an_angle(distance, degrees):
    near, far = f"{float(degrees) - 0.02:.2f} deg", f"{float(degrees) + 0.02:.2f} deg"
    tire = {"size": "225/45R17"}
    over = {"overlap": False}
    assert (
        spaced("repairs.spacing", distance, tire=tire, repairs=over, injuries=spots("0 deg", far)).verdict
        == "within-limits"
    )
    assert (
        spaced("repairs.spacing", distance, tire=tire, repairs=over, injuries=spots("0 deg", near)).verdict
        == "outside-limits"
    )


@pytest.mark.parametrize(("degrees", "distance"), ANGLES)
def test_an_angle_around_the_tire_as_a_distance(degrees, distance):
    decision = spaced("repairs.spacing", "1 mm", tire={"size": "225/45R17"}, injuries=spots("0 deg", degrees))
    measured = {reason.measured for reason in decision.reasons if reason.rule == "invented-shop/spacing"}
    assert {f"{float(text.removesuffix(' mm')):.1f}" for text in measured} == {distance}


# --- an oracle of plane geometry: footprints and band as polygons ---

BAND = """\
format: 1
pack: invented-band
version: 1.0.0
engine: ">=1,<2"
kind: baseline
title: Invented band
reviewed: 2026-11-25
coverage: {repair: rules}
sources:
  text: {citation: Invented Code § 1, authority: standard, evidence: text-read}
rules:
  - id: band
    says: Invented. Injuries lie in the central part of the tread.
    activity: [repair]
    limit: {fact: injury.reach, at-most: {half-of: tire.tread_width, share: 3/4}}
    source: text
  - id: size
    says: Invented. Any size up to a foot.
    activity: [repair]
    limit: {fact: injury.diameter, at-most: 12 in}
    source: text
"""
#: Within a micrometer of the edge the library must be the stricter one; beyond it the two must agree.
MICROMETER = 1e-3


def footprint_margin(offset: float, diameter: float, angle: float, leans: str, thickness: float, half: float) -> float:
    """How far the openings on both faces, and the channel between them, stay inside the band; negative outside.

    Shapely draws a unit disk of 128 corners, scales it to the ellipse of the opening and moves it into place; its
    corners include the outermost points across the tire, so its bounds are those of the circle.
    """
    disk = Point(0, 0).buffer(1, quad_segs=32)
    long = diameter / 2 / math.cos(math.radians(angle))
    lateral = leans != "along-circumference"
    ellipse = affinity.scale(disk, long if lateral else diameter / 2, diameter / 2 if lateral else long)
    shift = thickness * math.tan(math.radians(angle))
    across_tire = {"toward-shoulder": shift, "toward-center": -shift, "along-circumference": 0.0}[leans]
    around_tire = shift if not lateral else 0.0
    outer = affinity.translate(ellipse, offset, 0)
    inner = affinity.translate(ellipse, offset + across_tire, around_tire)
    channel = outer.union(inner).convex_hull
    band = box(-half, -1e6, half, 1e6)
    left, _, right, _ = channel.bounds
    margin = min(half - right, half + left)
    assert band.covers(channel) == (margin >= 0)
    return margin


@pytest.mark.parametrize("count", some_of((2_500, 10_000), 1))
def test_random_injuries_against_polygons(count):
    rng = random.Random(20261125)
    rulebook = Rulebook([read_pack(BAND.encode(), "invented-band.yaml"), *three_packs()[1:]])
    seen = {"inside": 0, "outside": 0, "edge": 0}
    for number in range(count):
        width = rng.randint(120, 320)
        half = width * 3 / 8
        diameter, thickness = rng.randint(1, 300) / 10, rng.randint(50, 250) / 10
        angle = rng.choice([0, rng.randint(1, 60)])
        leans = rng.choice(["toward-shoulder", "toward-center", "along-circumference"])
        offset = rng.randint(0, round(half * 10)) / 10
        if number % 4 == 0:  # aim at the edge
            offset = round(max(half - diameter / 2 / math.cos(math.radians(angle)), 0), 4)
        case = repair_case(
            tire={"tread_width": f"{width} mm", "thickness": f"{thickness} mm"},
            injuries=[
                {
                    "kind": "puncture", "from_centerline": f"{offset} mm", "diameter": f"{diameter} mm",
                    "angle": f"{angle} deg", "leans": leans,
                }
            ],
        )  # fmt: skip
        inside = rulebook.decide(case).verdict == "within-limits"
        margin = footprint_margin(offset, diameter, angle, leans, thickness, half)
        if abs(margin) <= MICROMETER:
            seen["edge"] += 1
            assert not inside or margin >= 0 or angle == 0, (case, margin)
        else:
            seen["inside" if margin > 0 else "outside"] += 1
            assert inside == (margin > 0), (case, margin)
    assert min(seen.values()) > count / 100, seen
