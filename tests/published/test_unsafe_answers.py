"""Plainly bad tires that were once called within the limits, each beside the lawful twin that must not be refused.

The law or the trade practice that settles a pair stands in its id or beside it. Sources: the enacted texts named there;
for the trade, the charts of the makers' association for passenger, light-truck and truck tires, BTMA's repair area and
ITRA's list of conditions that rule out a repair, as read in copies; the height of wear indicators 49 CFR 571.139 S5.4,
571.119 S6.4.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from tests.engine import all_reasons, everywhere
from tirerules import Decision
from tirerules.engine.parts import Outcome, Verdict
from tirerules.jurisdictions import JURISDICTIONS
from tirerules.vocabulary import FACTS

ON = "2026-11-30"
PLACES = [code for code in JURISDICTIONS if code in everywhere().codes]
CLASSES = FACTS["tire.class"].values
USED = ("repair", "used-tire-installation", "used-tire-sale")

#: A sound car tire; an example says in what its tire differs.
SOUND: Mapping[str, Any] = {
    "tire": {
        "class": "passenger",
        "tread_depth": "8/32 in",
        "construction": "radial",
        "sealant_layer": False,
        "same_vehicle": False,
    },
    "vehicle": {"kind": "passenger-car", "use": "private", "gvwr": "1900 kg"},
    "axle": {"steer": True},
    "road": {"snow_restriction": False},
    "injuries": [],
    "earlier_repairs": [],
    "findings": [],
}
#: A nail hole that every limit lets pass, if it lies in the crown.
NAIL: Mapping[str, Any] = {"kind": "puncture", "zone": "crown", "diameter": "5 mm", "angle": "0 deg"}
#: A repair of such a hole.
MENDED: Mapping[str, Any] = {"zone": "crown", "diameter": "5 mm", "method": "one-piece"}


def decide(code: str, activity: str, **facts: Any) -> Decision:
    """Decide the sound tire with what is different about it; a block of facts is laid over the sound one's."""
    case: dict[str, Any] = {"jurisdictions": [code], "activity": activity, "on": ON, **SOUND}
    for group, said in facts.items():
        case[group] = {**SOUND[group], **said} if isinstance(SOUND.get(group), Mapping) else said
    return everywhere().decide(case)


def failing(decision: Decision) -> set[str]:
    return {reason.rule for reason in all_reasons(decision) if reason.outcome == Outcome.FAILS}


# --- no tread, where the law names wear indicators and no depth -------------------------------------------------------

BARE = [["0.1 mm"] * 4] * 3


@pytest.mark.parametrize("activity", ["road-use", "used-tire-installation"])
@pytest.mark.parametrize("readings", [{"tread_depth": "0.1 mm"}, {"tread_depth": None, "tread_grid": BARE}])
def test_new_jersey_n_j_s_a_39_3_72_refuses_a_tire_without_tread(activity, readings):
    decision = decide("US-NJ", activity, tire={"same_vehicle": True, **readings})
    assert "US-NJ/road-wear-indicators-by-indicator-height" in failing(decision)
    assert decision.verdict == Verdict.OUTSIDE


@pytest.mark.parametrize(
    ("class_", "worn", "sound"),
    [("passenger", "1.58 mm", "1/16 in"), ("motorcycle", "0.79 mm", "1/32 in"), ("medium-truck", "1.58 mm", "1/16 in")],
    ids=["571.139 S5.4: 1/16 in", "571.119 S6.4, motorcycles: 1/32 in", "571.119 S6.4: 1/16 in"],
)
def test_indicators_stand_as_high_as_federal_standards_say(class_, worn, sound):
    verdicts = [
        decide("US-NJ", "road-use", tire={"class": class_, "tread_depth": depth}).verdict for depth in (worn, sound)
    ]
    assert verdicts == [Verdict.OUTSIDE, Verdict.WITHIN]


@pytest.mark.parametrize("tire", [{"tread_depth": None}, {"class": "trailer"}, {"class": "agricultural"}])
def test_a_bar_on_worn_indicators_alone_limits_no_tread(tire):
    decision = decide("US-NJ", "road-use", tire=tire)
    assert decision.verdict == Verdict.UNDETERMINED


def test_where_no_law_bars_worn_indicators_a_reading_below_them_is_open():
    # Cal. Veh. Code § 27465(b): 1/32 in; the indicators of a car tire stand at 1/16 in.
    assert decide("US-CA", "road-use", tire={"tread_depth": "1.2 mm"}).verdict == Verdict.UNDETERMINED
    assert decide("US-CA", "road-use", tire={"tread_depth": "1/16 in"}).verdict == Verdict.WITHIN


# --- outside the tread, whatever it is called -------------------------------------------------------------------------

WIDE = {"section_width": "245 mm", "tread_width": "200 mm"}


@pytest.mark.parametrize("class_", CLASSES)
@pytest.mark.parametrize("code", PLACES)
def test_a_hole_beyond_the_tread_is_repaired_nowhere(code, class_):
    # The association's charts: tread area only. Half of 200 mm is 100 mm.
    tire = {**WIDE, "class": class_, "load_range": "E"}
    injury = {**NAIL, "from_centerline": "120 mm"}
    decision = decide(code, "repair", tire=tire, injuries=[injury], method="one-piece")
    assert decision.verdict == Verdict.OUTSIDE
    assert {"industry/band-tread", "industry/crown-only"} <= failing(decision)


@pytest.mark.parametrize("load_range", ["C", "E", "F", "G"])
def test_a_light_truck_tires_hole_near_the_center_is_repaired(load_range):
    tire = {**WIDE, "class": "light-truck", "load_range": load_range}
    vehicle = {"kind": "light-truck"}
    for offset, verdict in (("40 mm", Verdict.WITHIN), ("120 mm", Verdict.OUTSIDE)):
        injury = {**NAIL, "from_centerline": offset}
        decision = decide("US-NJ", "repair", tire=tire, vehicle=vehicle, injuries=[injury], method="two-piece")
        assert decision.verdict == verdict


def test_a_light_truck_tire_of_unknown_load_range_is_asked_for_it_between_the_two_bands():
    # 62 mm and half of 5 mm: inside three quarters of the tread, outside 1 1/2 in from its edge (61.9 mm).
    injury = {**NAIL, "from_centerline": "62 mm"}
    decision = decide("US-NJ", "repair", tire={**WIDE, "class": "light-truck"}, injuries=[injury], method="one-piece")
    assert (decision.verdict, [each.fact for each in decision.questions]) == (
        Verdict.UNDETERMINED,
        ["tire.load_range"],
    )


# --- what is already there is judged as what is new -------------------------------------------------------------------


@pytest.mark.parametrize("activity", USED)
@pytest.mark.parametrize("class_", CLASSES)
def test_an_earlier_repair_beyond_the_tread_is_improper(activity, class_):
    # As for a new hole: the association's charts, tread area only.
    tire = {**WIDE, "class": class_, "load_range": "E"}
    injuries = [NAIL] if activity == "repair" else []
    for code in ("US-NJ", "US-CO", "CA-QC"):
        for offset, bad in (("120 mm", True), ("20 mm", False)):
            repairs = [{**MENDED, "from_centerline": offset}]
            facts = {"tire": tire, "injuries": injuries, "earlier_repairs": repairs, "repairs": {"overlap": False}}
            decision = everywhere().decide({**merged(facts), "jurisdictions": [code], "activity": activity, "on": ON})
            assert ("industry/earlier-repair-band-tread" in failing(decision)) is bad
            if bad:
                assert decision.verdict == Verdict.OUTSIDE


def merged(facts: Mapping[str, Any]) -> dict[str, Any]:
    return {**SOUND, **facts, "tire": {**SOUND["tire"], **facts["tire"]}}


@pytest.mark.parametrize("activity", USED[1:])
@pytest.mark.parametrize(
    ("tire", "rule"),
    [
        ({"class": "passenger"}, "earlier-section-repair"),
        ({"class": "motorcycle", "speed_symbol": "H"}, "earlier-section-repair-motorcycle"),
        ({"class": "light-truck", "load_range": "E"}, "earlier-section-repair-light-truck"),
        ({"class": "bus", "load_range": "E"}, "earlier-section-repair-light-truck"),
        ({"class": "light-truck", "load_range": "F"}, ""),
        ({"class": "medium-truck", "load_range": "G"}, ""),
    ],
)
def test_an_earlier_section_repair_is_judged_as_a_new_one(activity, tire, rule):
    # The association's light chart allows none; its truck chart starts at load range F.
    repairs = [{"zone": "sidewall", "diameter": "5 mm", "method": "section"}]
    decision = decide("US-IA", activity, tire=tire, earlier_repairs=repairs)
    assert {name for name in failing(decision) if "section" in name} == ({f"industry/{rule}"} if rule else set())


# --- two injuries in one quadrant of a bias tire ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("construction", "clock", "verdict"),
    [
        ("bias", "2:59", Verdict.OUTSIDE),
        ("bias", "3:00", Verdict.WITHIN),
        ("radial", "1:00", Verdict.WITHIN),
        (None, "1:00", Verdict.UNDETERMINED),
    ],
)
def test_itra_list_two_in_one_quadrant_rule_out_a_bias_tire(construction, clock, verdict):
    injuries = [{**NAIL, "clock": place} for place in ("12:00", clock)]
    repairs = {"overlap": False}
    tire = {"construction": construction}
    decision = decide("US-NJ", "repair", tire=tire, injuries=injuries, repairs=repairs, method="one-piece")
    assert decision.verdict == verdict


# --- Colorado's vans and winter roads, Virginia's farm tires ----------------------------------------------------------

WORN = {"tread_depth": None, "tread_grid": [["1.5 mm", "1.5 mm", "5 mm"]] * 3}


@pytest.mark.parametrize("activity", ["road-use", "vehicle-sale", "used-tire-sale"])
@pytest.mark.parametrize(
    ("vehicle", "bound"),
    [
        ({"kind": "light-truck", "use": "commercial", "gvwr": "3500 kg"}, True),
        ({"kind": "truck", "use": "commercial", "gvwr": "16000 lb"}, True),
        ({"kind": "truck", "use": "commercial", "gvwr": "16001 lb"}, False),
        ({"kind": "tow-truck", "use": "commercial", "gvwr": "9000 lb"}, False),
        ({"kind": "light-truck", "use": "private", "gvwr": "3500 kg"}, True),
    ],
)
def test_c_r_s_42_4_235_1_a_leaves_out_commercial_vehicles_of_16001_lb(activity, vehicle, bound):
    # C.R.S. § 42-4-228(5)(c)(III): 2/32 in, except on commercial vehicles so defined.
    names = failing(decide("US-CO", activity, tire=WORN, vehicle=vehicle))
    assert any(name.startswith("US-CO/") and "tread" in name for name in names) is bound


@pytest.mark.parametrize(
    ("day", "rule"),
    [("2019-08-01", ""), ("2019-08-02", "traction-tread"), ("2025-08-06", "traction-tread-2025")],
    ids=["before HB 19-1207", "HB 19-1207", "SB 25-069"],
)
def test_c_r_s_42_4_106_5_a_i_b_has_a_start(day, rule):
    case = {**SOUND, "jurisdictions": ["US-CO"], "activity": "road-use", "on": day, "road": {"snow_restriction": True}}
    tread = {"tread_depth": "5/32 in"}
    names = failing(everywhere().decide({**case, "tire": {**SOUND["tire"], **tread}}))
    assert names == ({f"US-CO/{rule}"} if rule else set())


def test_a_pass_under_colorados_restriction_tells_of_drive_and_marks():
    decision = decide("US-CO", "road-use", road={"snow_restriction": True})
    assert decision.verdict == Verdict.WITHIN
    said = next(rule.says for rule in everywhere().packs["US-CO"].rules if rule.id == "traction-tread-2025")
    assert "mark" in said
    assert "four- or all-wheel drive" in said


@pytest.mark.parametrize("kind", ["passenger-car", "light-truck", "truck", "bus", "trailer"])
@pytest.mark.parametrize(
    "facts",
    [{"findings": ["not-for-highway-marking"]}, {"tire": {"class": "agricultural"}}, {"tire": {"class": "off-road"}}],
    ids=["marked", "farm tire", "off-road tire"],
)
def test_19vac30_70_130_1_rejects_tires_for_the_farm_and_off_the_highway(kind, facts):
    assert decide("US-VA", "inspection", vehicle={"kind": kind}, **facts).verdict == Verdict.OUTSIDE
    assert decide("US-VA", "inspection", vehicle={"kind": kind}).verdict != Verdict.OUTSIDE


@pytest.mark.parametrize("class_", ["agricultural", "off-road"])
@pytest.mark.parametrize(
    ("code", "activity", "kind"),
    [
        ("US", "inspection", "truck"),  # 49 CFR Part 396, App. A, item 10
        ("US-MD", "tire-sale", "passenger-car"),  # Md. Code, Transp. § 22-405.5
        ("US-MD", "inspection", "passenger-car"),  # COMAR 11.14.05.05
        ("US-NY", "inspection", "passenger-car"),  # 15 NYCRR 79.21
        ("US-PA", "inspection", "passenger-car"),  # 67 Pa. Code § 175.80
        ("US-PA", "road-use", "light-truck"),  # 75 Pa.C.S. § 4525(a)
    ],
)
def test_who_bars_the_mark_bars_the_classes_that_are_made_for_no_highway(code, activity, kind, class_):
    vehicle = {"kind": kind, "use": "commercial", "gvwr": "12000 lb"} if kind == "truck" else {"kind": kind}
    assert decide(code, activity, tire={"class": class_}, vehicle=vehicle).verdict == Verdict.OUTSIDE


# --- whom 49 CFR 390.5 binds ------------------------------------------------------------------------------------------

STATES = [code for code in PLACES if code == "US" or code.startswith("US-")]


@pytest.mark.parametrize("code", STATES)
def test_a_rule_that_does_not_bind_a_company_car_closes_no_gap(code):
    # 49 CFR 390.5: 10,001 lb or more; 1,900 kg are 4,189 lb.
    private, company = (
        decide(code, "road-use", tire={"tread_depth": "3/32 in"}, vehicle={"use": use}, axle={"steer": False})
        for use in ("private", "commercial")
    )
    assert not (company.verdict == Verdict.WITHIN and private.verdict == Verdict.UNDETERMINED)
    assert not any(name.startswith("US/") for name in failing(company))


@pytest.mark.parametrize("code", STATES)
def test_a_light_business_vans_repair_is_refused_by_no_federal_rule(code):
    tire = {"class": "light-truck", "load_range": "E", "tread_depth": "3/32 in"}
    for gvwr, bound in (("3500 kg", False), ("10000 lb", False), ("10001 lb", True)):
        vehicle = {"kind": "light-truck", "use": "commercial", "gvwr": gvwr}
        decision = decide(code, "repair", tire=tire, vehicle=vehicle, injuries=[NAIL], method="one-piece")
        # 49 CFR 393.75(b): 4/32 in on the front wheels of a truck.
        assert ("US/front-tread" in failing(decision)) is bound


# --- an open puncture, snow tires, cracks and bulges ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("code", "activity"),
    [("US-CA", "used-tire-installation"), ("US-NJ", "used-tire-sale"), ("US-NJ", "tire-sale")],
    ids=["Cal. Bus. & Prof. Code § 9889.30(a)(2)(D)", "N.J. P.L. 2017, c. 215", "N.J. P.L. 2017, c. 215, any tire"],
)
def test_an_open_puncture_is_a_fault_in_used_tire_laws(code, activity):
    assert decide(code, activity, injuries=[NAIL]).verdict == Verdict.OUTSIDE
    assert decide(code, activity).verdict == Verdict.WITHIN


@pytest.mark.parametrize(("depth", "verdict"), [("4.7 mm", Verdict.OUTSIDE), ("6/32 in", Verdict.WITHIN)])
def test_cal_veh_code_27465_b_3_asks_6_32_inch_of_snow_tires_in_place_of_devices(depth, verdict):
    decision = decide("US-CA", "road-use", tire={"tread_depth": depth}, road={"snow_restriction": True})
    assert decision.verdict == verdict


@pytest.mark.parametrize(
    "vehicle",
    [{"kind": "trailer", "gvwr": "4000 lb"}, {"kind": "truck", "gvwr": "9000 lb"}],
    ids=["camp trailer", "two-axle truck"],
)
def test_cal_veh_code_34500_leaves_light_private_trailers_and_trucks_out(vehicle):
    class_ = "trailer" if vehicle["kind"] == "trailer" else "light-truck"
    tire = {"class": class_, "tread_depth": "1/16 in", "regrooved": False}
    assert decide("US-CA", "road-use", tire=tire, vehicle=vehicle).verdict == Verdict.WITHIN


@pytest.mark.parametrize(
    ("reach", "verdict"), [(True, Verdict.OUTSIDE), (None, Verdict.UNDETERMINED), (False, Verdict.WITHIN)]
)
def test_itra_list_cracking_rules_a_repair_out_where_it_reaches_the_body_plies(reach, verdict):
    tire = {"cracks_reach_plies": reach}
    decision = decide("US-NJ", "repair", tire=tire, findings=["weather-cracking"], injuries=[NAIL])
    assert decision.verdict == verdict


@pytest.mark.parametrize(
    ("tire", "verdict"),
    [
        ({"class": "passenger"}, Verdict.OUTSIDE),
        ({"class": "motorcycle", "speed_symbol": "J"}, Verdict.OUTSIDE),
        ({"class": "light-truck", "load_range": "E"}, Verdict.OUTSIDE),
        ({"class": "medium-truck", "load_range": "G"}, Verdict.UNDETERMINED),
    ],
)
def test_a_bulge_rules_a_repair_out_but_where_a_truck_tires_may_be_marked(tire, verdict):
    # TMC RP 226 lets a marked bulge of a repaired truck tire stand; 49 CFR 570.9 takes a bulge as separation.
    assert decide("US-MD", "repair", tire=tire, findings=["bulge"], injuries=[NAIL]).verdict == verdict
