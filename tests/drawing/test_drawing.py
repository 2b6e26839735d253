"""Pictures, read back: every drawing is parsed again, and its shapes must hold the decision's own figures.

All tires and injuries are invented. Reference: the place of a channel is plane trigonometry, done here with mpmath, and
the scale of each drawing is taken from its two bands or from its own offset, not from the code that drew it.
"""

from __future__ import annotations

import copy
import re
from decimal import Decimal
from fractions import Fraction
from typing import Any
from xml.etree import ElementTree

import mpmath
import pytest

from tirerules import Decision, case_from_json, load
from tirerules.drawing import Picture, pictures

SVG = "{http://www.w3.org/2000/svg}"
#: What a drawing rounds to: hundredths of its units, and thousandths of a mm.
SHOWN = 0.02

MEASURED: dict[str, Any] = {
    "jurisdictions": ["US-SC"],
    "activity": "repair",
    "on": "2026-11-25",
    "tire": {"class": "passenger", "size": "225/45R17", "tread_width": "200 mm", "thickness": "14 mm"},
    "injuries": [
        {
            "kind": "puncture",
            "diameter": "5 mm",
            "angle": "20 deg",
            "leans": "toward-shoulder",
            "from_centerline": "40 mm",
            "side": "left",
            "clock": "3:00",
            "unit_width": "40 mm",
            "unit_length": "60 mm",
        }
    ],
    "earlier_repairs": [{"zone": "crown", "diameter": "4 mm", "clock": "7:30", "unit_length": "50 mm"}],
}


def measured(tire: dict[str, Any] | None = None, **changes: Any) -> Decision:
    case = copy.deepcopy(MEASURED)
    case["tire"] |= tire or {}
    case["injuries"][0] |= changes
    return load().decide(case_from_json(case))


def section(decision: Decision) -> tuple[Picture, ElementTree.Element]:
    picture = pictures(decision)[0]
    return picture, ElementTree.fromstring(picture.svg)


def figures(root: ElementTree.Element) -> dict[str, tuple[float, list[tuple[float, float]]]]:
    """Return what a drawing states of itself: each figure in mm, with the points of the line that shows it."""
    return {
        shape.get("data-figure", ""): (float(shape.get("data-mm", "")), points(shape))
        for shape in root.iter(f"{SVG}path")
        if shape.get("data-figure")
    }


def points(shape: ElementTree.Element) -> list[tuple[float, float]]:
    numbers = [float(number) for number in re.findall(r"-?[0-9.]+", shape.get("d", ""))]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def words(root: ElementTree.Element) -> str:
    return " ".join(text.text or "" for text in root.iter(f"{SVG}text"))


@pytest.mark.parametrize("side", ["left", "right", None])
@pytest.mark.parametrize(
    ("leans", "offset", "angle"),
    [
        ("toward-shoulder", "40 mm", "20 deg"),
        ("toward-shoulder", "72 mm", "24 deg"),
        ("toward-center", "40 mm", "20 deg"),
        ("along-circumference", "55.5 mm", "10 deg"),
        ("toward-shoulder", "0 mm", "0 deg"),
    ],
)
def test_a_drawing_holds_the_figures_of_its_decision(side: str | None, leans: str, offset: str, angle: str) -> None:
    decision = measured(side=side, leans=leans, from_centerline=offset, angle=angle)
    (found,), (_, root) = decision.geometry, section(decision)
    assert found.band is not None
    assert found.margin is not None
    drawn = figures(root)
    wanted = {"reach-outside": found.outer, "reach-inside": found.inner, "band": found.band, "margin": found.margin}
    for name, length in wanted.items():
        assert Decimal(str(drawn[name][0])) == round(Decimal(length.numerator) / Decimal(length.denominator), 3), name
    # Where the lines stand, at the scale that the band's own line gives.
    sign = -1 if side == "left" else 1
    middle = 680 / 2
    scale = (drawn["band"][1][0][0] - middle) * sign / drawn["band"][0]
    assert scale > 1
    for name in ("reach-outside", "reach-inside"):
        assert all((x - middle) * sign == pytest.approx(drawn[name][0] * scale, abs=SHOWN) for x, _ in drawn[name][1])
    (one, _), (other, _) = drawn["margin"][1]
    assert (other - one) * sign == pytest.approx(drawn["margin"][0] * scale, abs=2 * SHOWN)


@pytest.mark.parametrize(("leans", "toward"), [("toward-shoulder", 1), ("toward-center", -1)])
def test_a_channel_is_tilted_as_it_was_measured(leans: str, toward: int) -> None:
    decision = measured(leans=leans, side="right")
    _, root = section(decision)
    scale = (figures(root)["band"][1][0][0] - 340) / 75
    (channel,) = (points(each) for each in root.iter(f"{SVG}path") if each.get("fill") == "#1b1b1b")
    (left, top), (right, _), (inner_right, bottom), (inner_left, _) = channel
    angle = mpmath.radians(20)
    assert bottom - top == pytest.approx(14 * scale, abs=SHOWN)
    assert inner_left - left == pytest.approx(float(toward * 14 * mpmath.tan(angle)) * scale, abs=2 * SHOWN)
    assert right - left == pytest.approx(float(5 / mpmath.cos(angle)) * scale, abs=2 * SHOWN)
    assert inner_right - inner_left == pytest.approx(right - left, abs=2 * SHOWN)


@pytest.mark.parametrize("fact", ["diameter", "angle", "leans", "from_centerline", "unit_width"])
def test_what_is_unknown_is_drawn_and_told_as_unknown(fact: str) -> None:
    picture, root = section(measured(**{fact: None, **({"zone": "crown"} if fact == "from_centerline" else {})}))
    assert f"injury.{fact}" in picture.text
    assert any(shape.get("stroke-dasharray") for shape in root.iter(f"{SVG}path"))
    if fact in ("diameter", "angle"):  # of an unknown lean the worst is known
        assert "reach-outside" not in figures(root)
        assert "margin" not in figures(root)
    if fact == "from_centerline":
        assert "offset" not in figures(root)
        assert "crown" in picture.text


@pytest.mark.parametrize(("fact", "kept"), [("size", "tire.section_width"), ("tread_width", "tire.tread_width")])
def test_a_tire_of_unknown_size_is_dashed(fact: str, kept: str) -> None:
    picture, _ = section(measured({fact: None}))
    assert kept in picture.text


@pytest.mark.parametrize("zone", ["crown", "belt-edge", "shoulder", "sidewall", "bead"])
def test_a_named_zone_is_hatched(zone: str) -> None:
    decision = measured(from_centerline=None, zone=zone)
    picture, root = section(decision)
    assert any((shape.get("fill") or "").startswith("url(#section-1") for shape in root.iter(f"{SVG}path"))
    assert zone in picture.text


def test_the_way_around_shows_every_place_where_it_is() -> None:
    decision = measured()
    _, picture = pictures(decision)
    root = ElementTree.fromstring(picture.svg)
    drawn = figures(root)
    # 3:00 is a quarter of a turn, 7:30 five eighths (a clock face, by hand); a drawing's clock starts at the top.
    for name, turn in (("turn-injury-1", Fraction(1, 4)), ("turn-repair-1", Fraction(5, 8))):
        stated, ((x1, y1), (x2, y2)) = drawn[name]
        assert stated == float(turn)
        bearing = mpmath.atan2(x2 - x1, -(y2 - y1)) / (2 * mpmath.pi) % 1
        assert float(bearing) == pytest.approx(float(turn), abs=1e-3)
    # 135 degrees of the circumference of 634.3 mm (17 x 25.4 + 2 x 225 x 0.45): 747.2.. mm, by hand.
    assert float(mpmath.pi * mpmath.mpf("634.3") * 135 / 360) == pytest.approx(747.26, abs=0.01)
    assert "135 deg apart, at least 747.3 mm" in picture.text


@pytest.mark.parametrize("decision", [measured(), measured(clock="415 mm"), measured({"size": None}, clock="415 mm")])
def test_a_picture_is_inert_and_says_the_same_in_words(decision: Decision) -> None:
    names = [picture.name for picture in pictures(decision)]
    assert names == ["section-1", "around"]
    for picture in pictures(decision):
        root = ElementTree.fromstring(picture.svg)
        assert {each.tag.removeprefix(SVG) for each in root.iter()} <= {
            *("svg", "title", "desc", "defs", "pattern", "path", "rect", "g", "circle", "text")
        }
        assert not re.search(r"href|style=|\bon[a-z]+=|javascript|url\((?!#)", picture.svg)
        assert root.findtext(f"{SVG}desc") == picture.text
        assert root.findtext(f"{SVG}title") == picture.title
        assert " ".join(picture.text.split()) in " ".join(words(root).split())


def test_words_of_others_are_escaped() -> None:
    case = copy.deepcopy(MEASURED)
    case["injuries"][0]["clock"] = "3:00"
    case["repair_unit"] = {"method": "one-piece", "rated_angle": "35 deg", "document": "<script>\x1b[31m"}
    for picture in pictures(load().decide(case_from_json(case))):
        ElementTree.fromstring(picture.svg)
        assert "<script" not in picture.svg


def test_nothing_recorded_is_not_drawn() -> None:
    assert pictures(load().decide(case_from_json({"jurisdictions": ["US-SC"], "activity": "road-use"}))) == ()
