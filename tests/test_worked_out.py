"""What follows of a vehicle and a tire where nobody stated it, by rows, by typed cases and by whole tables alike.

Sources: 49 CFR 390.5 (what a commercial motor vehicle is: 10,001 lb or more alone or in combination, more than 8 people
with the driver for pay), 390.3T(f) (who is left out), 569 (regrooved tires of trucks and buses). 1 lb is 0.45359237 kg
(International Yard and Pound, 1959).
"""

from __future__ import annotations

from itertools import product

import pytest

from tests.engine import asked, notices, outcomes, pack, rule, us_case, world
from tirerules.case import Case, Tire, Vehicle, case_row
from tirerules.case.row import TIRE
from tirerules.engine.subjects import known_tire
from tirerules.engine.worked_out import CARRIER, REGROOVED, carrier, regrooved
from tirerules.errors import CaseError
from tirerules.quantities import measure
from tirerules.vocabulary import FACTS, Dimension

KINDS = FACTS["vehicle.kind"].values
USES = FACTS["vehicle.use"].values
WEIGHTS = (None, "1900 kg", "10000 lb", "4536 kg", "10001 lb", "9999 lb to 10002 lb", "36000 kg")
#: Classes of tires that nobody regrooves, so that an inspection which found no regroove says that there is none (49 CFR
#: 569 is on tires of trucks and buses; common practice for these three).
NEVER_REGROOVED = ("passenger", "light-truck", "motorcycle")


def judged(use: str | None, gvwr: str | None, kind: str | None, seats: int | None, stated: bool | None = None):
    """Return whether the vehicle is a commercial motor vehicle, and what is asked where that cannot be told."""
    return carrier(use, None if gvwr is None else measure(gvwr, Dimension.MASS), kind, seats, stated)


@pytest.mark.parametrize(
    ("use", "gvwr", "kind", "seats", "binds"),
    [
        ("commercial", "1900 kg", "passenger-car", None, False),  # a company car
        ("commercial", "3500 kg", "light-truck", None, False),  # a contractor's van
        ("commercial", "10000 lb", "truck", None, False),
        ("commercial", "10001 lb", "truck", None, True),
        # 10,001 lb is 4,536.377... kg, so that 4,536 kg, as the text prints beside it, is below.
        ("commercial", "4536 kg", "truck", None, False),
        ("commercial", "4537 kg", "truck", None, True),
        ("commercial", None, "bus", 9, True),
        ("commercial", "3000 kg", "minibus", 9, True),
        ("commercial", "3000 kg", "minibus", 8, False),
        ("private", "15000 kg", "truck", None, False),
        ("school-bus", "12000 kg", "bus", 40, False),
        ("emergency", "15000 kg", "truck", None, False),
    ],
)
def test_whether_a_vehicle_is_a_commercial_motor_vehicle(use, gvwr, kind, seats, binds):
    assert judged(use, gvwr, kind, seats) == (binds, None)


@pytest.mark.parametrize(
    ("vehicle", "asks"),
    [
        ((None, None, None, None), "vehicle.use"),
        (("commercial", None, None, None), "vehicle.gvwr"),
        (("commercial", "1900 kg", None, None), "vehicle.kind"),
        (("commercial", "3000 kg", "minibus", None), "vehicle.seats"),
        (("commercial", "9999 lb to 10002 lb", "truck", None), CARRIER),
        # Part of a combination: its own weight does not tell.
        (("commercial", "3000 kg", "trailer", None), CARRIER),
        (("commercial", "4000 kg", "tow-truck", None), CARRIER),
        ((None, "10001 lb", "truck", None), "vehicle.use"),
    ],
)
def test_what_is_asked_where_it_cannot_be_told(vehicle, asks):
    assert judged(*vehicle) == (None, asks)


def test_what_is_stated_wins_over_what_would_follow():
    for use, gvwr, kind, said in product((None, *USES), WEIGHTS, (None, *KINDS), (True, False)):
        assert judged(use, gvwr, kind, None, said) == (said, None)


def test_no_vehicle_in_commerce_is_left_out_that_may_be_bound():
    """Over all kinds and weights: "no" only of what is surely light, of a known kind that draws and carries nobody."""
    for gvwr, kind, seats in product(WEIGHTS, (None, *KINDS), (None, 8, 9)):
        binds, _ = judged("commercial", gvwr, kind, seats)
        light = gvwr in ("1900 kg", "10000 lb", "4536 kg")
        if binds is False:
            assert light
            assert seats != 9
            assert kind not in (None, "trailer", "truck-tractor", "tow-truck")
        if gvwr in ("10001 lb", "36000 kg") or (seats == 9 and kind in ("bus", "minibus")):
            assert binds is True


def test_a_regroove_is_the_worse_of_what_was_found_and_stated():
    for class_, found in product((None, *FACTS["tire.class"].values), ("regroove", "unmarked-regroove")):
        for said in (None, True, False):
            assert regrooved(said, class_, frozenset({found})) is True
    for class_ in FACTS["tire.class"].values:
        assert regrooved(None, class_, frozenset({"leak"})) is (False if class_ in NEVER_REGROOVED else None)
        assert regrooved(None, class_, None) is None
        assert regrooved(True, class_, frozenset()) is True
        assert regrooved(False, class_, None) is False


def test_a_typed_case_and_its_json_say_the_same():
    typed = Case(
        ("US",),
        "road-use",
        tire=Tire(class_="passenger"),
        vehicle=Vehicle(use="commercial", kind="truck", gvwr=measure("10001 lb", Dimension.MASS)),
        findings=frozenset(),
    )
    said = {
        "jurisdictions": ["US"],
        "activity": "road-use",
        "tire": {"class": "passenger"},
        "vehicle": {"use": "commercial", "kind": "truck", "gvwr": "10001 lb"},
        "findings": [],
    }
    for row in (typed.row, case_row(said)):
        assert row.tire[TIRE[CARRIER]] is None
        assert known_tire(row)[CARRIER] is True
        assert known_tire(row)[REGROOVED] is False


FRONT = rule(
    "front",
    "limit: {fact: tire.tread_depth, at-least: 4/32 in}",
    activity="road-use",
    when=f"{{{CARRIER}: true, axle.steer: true}}",
)
FLOOR = rule("floor", "limit: {fact: tire.tread_depth, at-least: 2/32 in}", activity="road-use")


def _driven(rulebook, **vehicle):
    tire = {"class": "light-truck", "tread_depth": "3/32 in"}
    case = us_case(activity="road-use", tire=tire, vehicle=vehicle, axle={"steer": True}, injuries=[])
    del case["vehicle"]["kind" if "kind" not in vehicle else "use"]
    return rulebook.decide({**case, "vehicle": vehicle})


def test_a_light_van_in_commerce_is_not_held_to_the_carrier_rules_and_is_told_so():
    rulebook = world(FRONT + FLOOR)
    van = _driven(rulebook, use="commercial", kind="light-truck", gvwr="3500 kg")
    assert van.verdict == "within-limits"
    assert [text for text in notices(van, "carrier") if "light-truck below 10,001 lb" in text]
    heavy = _driven(rulebook, use="commercial", kind="light-truck", gvwr="5000 kg")
    assert heavy.verdict == "outside-limits"
    assert notices(heavy, "carrier") == []
    unweighed = _driven(rulebook, use="commercial", kind="light-truck")
    assert (unweighed.verdict, asked(unweighed)) == ("undetermined", ["vehicle.gvwr"])


def test_a_rule_that_does_not_bind_closes_no_gap():
    """A company car and the same private car: neither has a floor here, so neither may pass."""
    rulebook = world(FRONT.replace(", axle.steer: true", ""))
    for use in ("commercial", "private"):
        car = _driven(rulebook, use=use, kind="passenger-car", gvwr="1900 kg")
        assert car.verdict == "undetermined"
        assert "engine/limit-located" in {reason.rule for reason in car.reasons}


BARRED = rule("grooves", "prohibit: {fact: tire.regrooved, values: [true]}", activity="road-use")


@pytest.mark.parametrize("class_", FACTS["tire.class"].values)
def test_nothing_whose_regroove_is_unstated_is_within_under_a_bar_on_regrooved_truck_and_bus_tires(class_):
    rulebook = world(BARRED + FLOOR)
    tire = {"class": class_, "tread_depth": "8/32 in"}
    silent = us_case(activity="road-use", tire=tire, injuries=[])
    del silent["tire"]["sealant_layer"]
    found = rulebook.decide(silent)
    if class_ in NEVER_REGROOVED:
        assert found.verdict == "within-limits"
    else:
        assert (found.verdict, asked(found)) == ("undetermined", ["tire.regrooved"])
    uninspected = rulebook.decide({key: value for key, value in silent.items() if key != "findings"})
    assert uninspected.verdict == "undetermined"
    assert rulebook.decide({**silent, "findings": ["regroove"]}).verdict == "outside-limits"


@pytest.mark.parametrize(
    ("class_", "verdict"), [("medium-truck", "within-limits"), ("bus", "within-limits"), ("passenger", "undetermined")]
)
def test_a_regroove_that_no_rule_judges_is_lawful_work_on_truck_and_bus_tires_alone(class_, verdict):
    tire = {"class": class_, "tread_depth": "8/32 in"}
    case = us_case(activity="road-use", tire=tire, injuries=[], findings=["regroove"])
    assert world(FLOOR).decide(case).verdict == verdict


def test_cracking_of_unknown_depth_is_asked_about_and_what_reaches_the_plies_is_out():
    cracks = rule(
        "cracks",
        "prohibit: {fact: tire.cracks_reach_plies, values: [true]}",
        activity="road-use",
        when="{findings: [weather-cracking]}",
    )
    rulebook = world(cracks + FLOOR)
    for said, verdict in ((None, "undetermined"), (False, "within-limits"), (True, "outside-limits")):
        tire = {"class": "passenger", "tread_depth": "8/32 in", "cracks_reach_plies": said}
        case = us_case(activity="road-use", tire=tire, injuries=[], findings=["weather-cracking"])
        found = rulebook.decide(case)
        assert found.verdict == verdict
        assert asked(found) == (["tire.cracks_reach_plies"] if said is None else [])
        assert outcomes(found, "invented-trade/cracks") <= {"passes", "fails", "unknown"}


def test_cracks_that_reach_the_plies_are_no_tire_on_which_no_cracking_was_found():
    case = us_case(tire={"cracks_reach_plies": True}, findings=[])
    with pytest.raises(CaseError, match="cracks reach the plies, but no cracking is among the findings"):
        world(FLOOR).decide(case)


def test_a_pack_of_a_caller_s_own_may_read_what_was_worked_out():
    own = pack(FRONT)
    rulebook = world(FLOOR, own)
    van = _driven(rulebook, use="commercial", kind="truck", gvwr="12000 kg")
    assert outcomes(van, "invented-shop/front") == {"fails"}
