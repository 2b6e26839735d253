"""The oracle by hand on what follows from other facts: wear indicators, regrooves, commercial vehicles, cracks."""

from __future__ import annotations

from typing import Any

import pytest

from tests.reference.by_hand import ANY_SIZE, OPEN, OUTSIDE, WITHIN, pack, repair, rule, verdict
from tests.reference.oracle import decide

#: Heights of wear indicators (49 CFR 571.139 S5.4 for passenger cars; here all that matters is that one is given).
HEIGHT = {
    **{
        "id": "height",
        "activity": ["road-use", "tire-sale", "vehicle-sale"],
        "when": {"tire.class": ["passenger", "bus"]},
    },
    **{"limit": {"fact": "tire.tread_depth", "at-least": "1/16 in"}, "contradicts": "worn-to-indicators"},
}
#: 1/16 in = 1.5875 mm.
DEEP, SHALLOW, ASTRIDE = "1.5875 mm", "1.587 mm", "1.5 mm to 1.6 mm"
WORN = rule(disqualify={"findings": ["worn-to-indicators"]})


def ask(rules: list[dict[str, Any]], activity: str = "road-use", **case: Any) -> dict[str, Any]:
    """The answer where the trade knows the height of indicators and no floor under tread."""
    asked = {"jurisdictions": ["US"], "activity": activity, "on": "2026-11-25", "injuries": [], "earlier_repairs": []}
    asked |= {"findings": [], **case}
    asked["tire"] = {"class": "passenger", **case.get("tire", {})}
    return decide([pack(*rules), pack(HEIGHT, ANY_SIZE, name="trade", kind="baseline")], asked)


@pytest.mark.parametrize(
    ("rules", "depth", "expected"),
    [
        # Where a place bars worn tires, a reading below the height bars the tire, and is a floor.
        ([WORN], DEEP, WITHIN),
        ([WORN], SHALLOW, OUTSIDE),
        ([WORN], ASTRIDE, OPEN),
        ([WORN], None, OPEN),
        # Where none does, it contradicts what was found, and no floor is located.
        ([], DEEP, OPEN),
        ([], SHALLOW, OPEN),
        # Beside a lower floor it still contradicts.
        ([rule(limit={"fact": "tire.tread_depth", "at-least": "1 mm"})], DEEP, WITHIN),
        ([rule(limit={"fact": "tire.tread_depth", "at-least": "1 mm"})], SHALLOW, OPEN),
        ([rule(limit={"fact": "tire.tread_depth", "at-least": "1 mm"})], "0.9 mm", OUTSIDE),
        ([rule(limit={"fact": "tire.tread_depth", "at-least": "2 mm"})], "1.9 mm", OUTSIDE),
    ],
)
def test_a_reading_below_the_indicators_contradicts_that_they_are_not_reached(rules, depth, expected):
    assert ask(rules, tire={"tread_depth": depth})["verdict"] == expected


def test_the_words_alone_are_no_floor():
    assert ask([WORN], tire={"class": "trailer", "tread_depth": "9 mm"})["verdict"] == OPEN
    assert ask([WORN], tire={"class": None, "tread_depth": "9 mm"})["verdict"] == OPEN
    assert ask([WORN], findings=["worn-to-indicators"], tire={"tread_depth": "9 mm"})["verdict"] == OUTSIDE
    # The height is that of its classes only.
    floor = rule(limit={"fact": "tire.tread_depth", "at-least": "1 mm"})
    assert ask([WORN, floor], tire={"class": "trailer", "tread_depth": "1.5 mm"})["verdict"] == WITHIN
    assert ask([WORN, floor], tire={"class": None, "tread_depth": "1.5 mm"})["verdict"] == OPEN


def test_what_follows_has_the_conditions_days_and_place_of_the_bar():
    floor = rule(limit={"fact": "tire.tread_depth", "at-least": "1 mm"})
    on_buses = {**WORN, "when": {"tire.class": "bus"}}
    assert ask([on_buses, floor], tire={"class": "passenger", "tread_depth": SHALLOW})["verdict"] == OPEN
    assert ask([on_buses, floor], tire={"class": "bus", "tread_depth": SHALLOW})["verdict"] == OUTSIDE
    ended = {**WORN, "in-force": {"until": "2026-11-25"}}
    assert ask([ended, floor], tire={"tread_depth": SHALLOW})["verdict"] == OPEN
    answer = ask([WORN], tire={"tread_depth": SHALLOW})
    assert answer["rules"]["US/r0-by-height"] == {"fails"}
    assert answer["rules"]["trade/height"] == {"unknown"}
    # A figure from memory is no floor, and bars all the same.
    remembered = {**WORN, "source": "memory"}
    assert ask([remembered], tire={"tread_depth": DEEP})["verdict"] == OPEN
    assert ask([remembered], tire={"tread_depth": SHALLOW})["verdict"] == OUTSIDE


def test_what_follows_binds_the_acts_of_the_bar():
    barred_from_sale = rule("used-tire-sale", disqualify={"findings": ["worn-to-indicators"]})
    tire = {"tread_depth": SHALLOW}
    assert ask([barred_from_sale], "used-tire-sale", tire=tire)["verdict"] == OUTSIDE
    assert ask([barred_from_sale], "tire-sale", tire=tire)["verdict"] == OPEN
    assert ask([WORN], "inspection", tire=tire)["verdict"] == OUTSIDE
    hole = [{"diameter": "1 mm"}]
    assert ask([], "repair", injuries=hole, tire=tire)["verdict"] == OPEN
    assert ask([WORN], "repair", injuries=hole, tire=tire)["verdict"] == OUTSIDE
    assert ask([WORN], "repair", injuries=hole, tire={"tread_depth": DEEP})["verdict"] == WITHIN


@pytest.mark.parametrize(
    ("grid", "expected"),
    [
        # Two adjacent grooves below the height at three places; one groove alone, or two places, wear nothing down.
        ([["1 mm", "1 mm", "9 mm"]] * 3, OUTSIDE),
        ([["1 mm", "9 mm", "1 mm"]] * 3, WITHIN),
        ([["1 mm", "1 mm", "9 mm"]] * 2 + [["9 mm", "9 mm", "9 mm"]], WITHIN),
        # Of six places three that are equally spaced: the first, third and fifth.
        ([["1 mm", "1 mm"], ["9 mm", "9 mm"]] * 3, OUTSIDE),
        ([["1 mm", "1 mm"]] * 3 + [["9 mm", "9 mm"]] * 3, WITHIN),
        ([["1 mm to 2 mm", "1 mm", "9 mm"]] * 3, OPEN),
        # Too small a grid: the smallest reading counts.
        ([["1 mm", "9 mm"]] * 2, OUTSIDE),
        ([["1 mm"], ["9 mm"], ["9 mm"]], OUTSIDE),
        ([["9 mm"], ["9 mm"], ["9 mm"]], WITHIN),
    ],
)
def test_indicators_are_read_in_adjacent_grooves_where_there_is_a_grid(grid, expected):
    assert ask([WORN], tire={"tread_grid": grid})["verdict"] == expected


@pytest.mark.parametrize(
    ("counted", "grid", "expected"),
    [
        ({"grooves": "two-adjacent", "places": 1}, [["1 mm", "1 mm", "9 mm"]], OUTSIDE),
        ({"grooves": "two-adjacent", "places": 1}, [["1 mm", "9 mm", "1 mm"]], WITHIN),
        ({"grooves": "any-two", "places": 1}, [["1 mm", "9 mm", "1 mm"]], OUTSIDE),
        ({"grooves": "any-two", "places": 2}, [["1 mm", "9 mm", "1 mm"], ["9 mm", "9 mm", "1 mm"]], WITHIN),
        ({"grooves": "any-one", "places": 2}, [["1 mm", "9 mm"], ["1 mm", "9 mm"]], OUTSIDE),
        ({"grooves": "center", "places": 1}, [["1 mm", "9 mm", "1 mm"]], WITHIN),
        ({"grooves": "center", "places": 1}, [["9 mm", "9 mm", "1 mm", "9 mm"]], OUTSIDE),
        ({"grooves": "every", "places": 1}, [["1 mm", "1 mm", "2 mm"]], WITHIN),
        ({"grooves": "every", "places": 1}, [["1 mm", "1 mm", "1 mm"], ["9 mm", "9 mm", "9 mm"]], OUTSIDE),
        ({"grooves": "any-one", "places": 1}, [["1.9 mm"]], OUTSIDE),
        ({"grooves": "two-adjacent", "places": 3}, [["1 mm", "1 mm"]], OPEN),
        ({"grooves": "any-two", "places": 1}, [["1 mm"]], OPEN),
    ],
)
def test_tread_is_counted_as_a_law_counts_it(counted, grid, expected):
    floor = rule(limit={"fact": "tire.tread_depth", "at-least": "2 mm", "counted": counted})
    asked = {"class": "trailer", "tread_grid": grid}
    assert ask([floor], tire=asked)["verdict"] == expected
    # The smallest depth of the whole tire passes whatever is counted, as long as no reading is smaller.
    stated = ask([floor], tire={**asked, "tread_depth": "2 mm"})["verdict"]
    assert stated == expected


REGROOVED = rule(prohibit={"fact": "tire.regrooved", "values": [True]})


@pytest.mark.parametrize(
    ("tire", "findings", "expected"),
    [
        ({"class": "passenger"}, [], WITHIN),
        ({"class": "light-truck"}, [], WITHIN),
        ({"class": "motorcycle"}, [], WITHIN),
        ({"class": "passenger"}, None, OPEN),
        # Tires of trucks and buses are lawfully regrooved, and nobody speaks of the others.
        *(({"class": each}, [], OPEN) for each in ("medium-truck", "bus", "trailer", "agricultural", None)),
        ({"class": "bus", "regrooved": False}, [], WITHIN),
        ({"class": "bus", "regrooved": True}, [], OUTSIDE),
        ({"class": "passenger", "regrooved": True}, [], OUTSIDE),
        ({"class": "bus"}, ["regroove"], OUTSIDE),
        # Who found one is believed before who says that there is none.
        ({"class": "bus", "regrooved": False}, ["regroove"], OUTSIDE),
        ({"class": "bus", "regrooved": False}, ["unmarked-regroove"], OUTSIDE),
    ],
)
def test_an_inspection_tells_whether_a_tire_was_regrooved(tire, findings, expected):
    assert verdict([REGROOVED], tire=tire, findings=findings) == expected


def test_a_regroove_is_judged_where_it_is_no_lawful_work():
    for name, expected in (("medium-truck", WITHIN), ("bus", WITHIN), ("passenger", OPEN), ("trailer", OPEN)):
        assert verdict([], tire={"class": name}, findings=["regroove"]) == expected
    assert verdict([], tire={}, findings=["regroove"]) == OPEN
    judged = rule(when={"tire.regrooved": True}, require={"steps": ["demount"]})
    assert verdict([judged], tire={"class": "passenger"}, findings=["regroove"]) == WITHIN
    named = rule(when={"findings": ["regroove", "leak"]}, require={"steps": ["demount"]})
    assert verdict([named], tire={"class": "passenger"}, findings=["regroove"]) == WITHIN
    # A rule for tires that are not regrooved does not apply, and judges nothing.
    other = rule(when={"tire.regrooved": False}, require={"steps": ["demount"]})
    assert verdict([other], tire={"class": "passenger"}, findings=["regroove"]) == OPEN
    barred = rule(disqualify={"findings": ["regroove"]})
    assert verdict([barred], tire={"class": "passenger"}, findings=["regroove"]) == OUTSIDE
    # An unmarked one is one; one that was found may be marked.
    assert verdict([barred], tire={"class": "bus"}, findings=["unmarked-regroove"]) == OUTSIDE
    unmarked = rule(disqualify={"findings": ["unmarked-regroove"]})
    assert verdict([unmarked], tire={"class": "bus"}, findings=["regroove"]) == WITHIN
    assert verdict([unmarked], tire={"class": "bus"}, findings=["unmarked-regroove"]) == OUTSIDE


COMMERCIAL = rule(when={"vehicle.commercial_motor_vehicle": True}, prohibit={"fact": "tire.retread", "values": [True]})


@pytest.mark.parametrize(
    ("vehicle", "expected"),
    [
        # The retread fails wherever the rule applies: outside = bound, within = not bound.
        ({}, OPEN),
        *(({"use": use, "gvwr": "30000 lb"}, WITHIN) for use in ("private", "school-bus", "emergency")),
        ({"use": "commercial"}, OPEN),
        ({"use": "commercial", "gvwr": "10001 lb"}, OUTSIDE),
        # 10,001 lb are 4,536.377 kg.
        ({"use": "commercial", "gvwr": "4536.377 kg", "kind": "truck"}, WITHIN),
        ({"use": "commercial", "gvwr": "4536.378 kg", "kind": "truck"}, OUTSIDE),
        ({"use": "commercial", "gvwr": "4536 kg to 4537 kg", "kind": "truck"}, OPEN),
        ({"gvwr": "10001 lb"}, OPEN),
        ({"use": "commercial", "gvwr": "10000 lb"}, OPEN),
        *(
            ({"use": "commercial", "gvwr": "10000 lb", "kind": kind}, WITHIN)
            for kind in ("passenger-car", "multipurpose", "light-truck", "truck", "motorcycle", "street-rod")
        ),
        ({"gvwr": "10000 lb", "kind": "passenger-car"}, WITHIN),
        ({"gvwr": "10000 lb", "kind": "multipurpose", "seats": 8}, WITHIN),
        ({"gvwr": "10000 lb", "kind": "multipurpose", "seats": 9}, OPEN),
        # What is part of a combination is weighed with it.
        *(
            ({"use": "commercial", "gvwr": "10000 lb", "kind": kind}, OPEN)
            for kind in ("trailer", "truck-tractor", "tow-truck")
        ),
        *(({"use": "commercial", "kind": kind, "seats": 9}, OUTSIDE) for kind in ("bus", "minibus")),
        # Who is paid for carrying them is known of a bus, not of every vehicle that has the seats.
        ({"use": "commercial", "gvwr": "10000 lb", "kind": "multipurpose", "seats": 9}, OPEN),
        ({"use": "commercial", "gvwr": "10000 lb", "kind": "truck-tractor", "seats": 9}, OPEN),
        ({"use": "commercial", "gvwr": "10000 lb", "kind": "bus", "seats": 8}, WITHIN),
        ({"use": "commercial", "gvwr": "10000 lb", "kind": "bus"}, OPEN),
        ({"use": "commercial", "kind": "bus", "seats": 8}, OPEN),
        ({"gvwr": "10000 lb", "kind": "bus", "seats": 9}, OPEN),
        # What is stated counts.
        ({"use": "private", "commercial_motor_vehicle": True}, OUTSIDE),
        ({"use": "commercial", "gvwr": "30000 lb", "commercial_motor_vehicle": False}, WITHIN),
    ],
)
def test_weight_kind_and_seats_tell_whether_the_motor_carrier_rules_bind(vehicle, expected):
    assert verdict([COMMERCIAL], vehicle=vehicle, tire={"retread": True}) == expected


@pytest.mark.parametrize(
    ("plies", "findings", "expected"),
    [
        (None, ["weather-cracking"], OPEN),
        (True, ["weather-cracking"], OUTSIDE),
        (False, ["weather-cracking"], WITHIN),
        (None, [], WITHIN),
        (None, None, OPEN),
    ],
)
def test_cracking_of_unknown_depth_is_a_question(plies, findings, expected):
    cracked = rule(
        "repair",
        when={"findings": "weather-cracking"},
        prohibit={"fact": "tire.cracks_reach_plies", "values": [True]},
    )
    assert repair([cracked], tire={"cracks_reach_plies": plies}, findings=findings) == expected
