"""The oracle worked by hand: each verdict was found on paper, from the words of the rules. All packs are invented."""

from __future__ import annotations

import json
from random import Random
from typing import Any

import jsonschema
import pytest

from tests.reference.by_hand import ANY_SIZE, ANY_TREAD, OPEN, OUTSIDE, WITHIN, pack, repair, rule, verdict
from tests.reference.generate import invented_case, targets
from tests.reference.invent import invented_packs
from tests.reference.oracle import decide
from tests.reference.smaller import smaller
from tests.reference.words import ACTIVITIES
from tests.support import ROOT


def test_invented_packs_and_cases_fit_the_schemas():
    validators = {
        name: jsonschema.Draft202012Validator(json.loads((ROOT / f"schemas/{name}.schema.json").read_bytes()))
        for name in ("rulepack", "case")
    }
    for seed in range(20):
        rng = Random(seed)
        packs = invented_packs(rng, placed=True)
        cases = [invented_case(rng, target, placed=True) for target in targets(rng, packs, 5)]
        for name, documents in (("rulepack", packs), ("case", cases)):
            problems = [error.message for each in documents for error in validators[name].iter_errors(each)]
            assert problems == []


_SIX = {"fact": "injury.diameter", "at-most": "6 mm"}
#: A ceiling on earlier repairs, which no tire of these tests reaches.
EARLIER = {"activity": ["repair"], "limit": {"fact": "repair.diameter", "at-most": "60 mm"}}


@pytest.mark.parametrize(("findings", "expected"), [(["leak"], WITHIN), ({"not": ["leak"]}, OUTSIDE)])
def test_a_repair_removes_the_leak_whether_or_not_findings_were_recorded(findings, expected):
    barred = rule(when={"findings": findings}, prohibit={"fact": "axle.steer", "values": [True]})
    assert repair([barred], axle={"steer": True}, findings=None) == expected


def test_what_is_known_of_an_earlier_repair_locates_no_limit_on_the_injury():
    """A limit that applies by two facts of which an earlier repair answers one: only the tire itself is looked at.

    Every answer to the other fact would locate the limit; that is not noticed, which errs to the safe side.
    """
    when = {"repair.zone": "crown", "tire.retread": [True, False]}
    limit = {"activity": ["repair"], "when": when, "limit": _SIX}
    earlier = [{"zone": "crown", "diameter": "1 mm"}]
    case = {"injuries": [{"diameter": "1 mm"}], "earlier_repairs": earlier, "findings": []}
    asked = {"jurisdictions": ["US"], "activity": "repair", "on": "2026-11-25", **case}
    assert decide([pack(limit, EARLIER)], asked)["verdict"] == OPEN
    # Where the tire answers it, the limit applies for certain.
    assert decide([pack(limit, EARLIER)], {**asked, "tire": {"retread": True}})["verdict"] == WITHIN


def test_a_limit_for_one_method_locates_none_on_earlier_repairs():
    """What limits the size of earlier repairs where the new one is of one piece leaves it open for a section repair."""
    by_method = {**EARLIER, "when": {"method": "one-piece"}}
    case = {"injuries": [{"diameter": "1 mm"}], "earlier_repairs": [{"diameter": "1 mm"}], "findings": []}
    asked = {"jurisdictions": ["US"], "activity": "repair", "on": "2026-11-25", **case}
    size = {"activity": ["repair"], "limit": _SIX}
    assert decide([pack(size, by_method)], asked)["verdict"] == OPEN
    assert decide([pack(size, EARLIER)], asked)["verdict"] == WITHIN


@pytest.mark.parametrize(
    ("bound", "figure", "measured", "expected"),
    [
        # 1/4 in = 25.4 / 4 = 6.35 mm exactly.
        ("at-most", "1/4 in", "6.35 mm", WITHIN),
        ("at-most", "1/4 in", "6.351 mm", OUTSIDE),
        ("less-than", "1/4 in", "6.35 mm", OUTSIDE),
        ("at-least", "6.35 mm", "0.25 in", WITHIN),
        ("more-than", "6.35 mm", "1/4 in", OUTSIDE),
        # 1 1/2 in = 38.1 mm, 3.81 cm.
        ("at-most", "1 1/2 in", "3.81 cm", WITHIN),
        # 6.3 + 0.05 = 6.35, which passes; 6.3 + 0.06 = 6.36, which does not, while 6.24 does.
        ("at-most", "1/4 in", "6.3 mm ± 0.05 mm", WITHIN),
        ("at-most", "1/4 in", "6.3 mm ± 0.06 mm", OPEN),
        ("at-most", "1/4 in", "6.35 mm to 7 mm", OPEN),
        ("less-than", "1/4 in", "6.35 mm to 7 mm", OUTSIDE),
        ("at-least", "2 mm", "1.9 mm to 2 mm", OPEN),
        # 0.2 - 0.3 is cut off at 0, which "more than 0" does not let through: not certain, but possible.
        ("more-than", "0 mm", "0.2 mm ± 0.3 mm", OPEN),
        ("at-least", "0 mm", "0.2 mm ± 0.3 mm", WITHIN),
        ("at-most", "1/4 in", None, OPEN),
        # Printed as 1/4 in and as 6 mm: the smaller binds a ceiling, the larger a floor.
        ("at-most", {"value": "1/4 in", "also-printed": "6 mm"}, "6.2 mm", OUTSIDE),
        ("at-least", {"value": "2/32 in", "also-printed": "2 mm"}, "1.8 mm", OUTSIDE),
    ],
)
def test_oracle_measures_exactly(bound, figure, measured, expected):
    limit = rule(limit={"fact": "tire.tread_depth", bound: figure})
    assert verdict([limit], tire={"tread_depth": measured}) == expected


def test_oracle_reads_printed_pairs_as_enacted_on_demand():
    limit = rule(limit={"fact": "tire.tread_depth", "at-least": {"value": "2/32 in", "also-printed": "2 mm"}})
    # 2/32 in = 1.5875 mm, so 1.8 mm passes the figure as enacted and fails the other.
    assert verdict([limit], tire={"tread_depth": "1.8 mm"}, reading="as-enacted") == WITHIN


def test_oracle_knows_masses_and_times():
    heavy = rule(limit={"fact": "vehicle.gvwr", "at-most": "10000 lb"})
    # 10000 x 0.45359237 kg = 4535.9237 kg.
    assert verdict([heavy], vehicle={"gvwr": "4535.9237 kg"}) == WITHIN
    assert verdict([heavy], vehicle={"gvwr": "4535.9238 kg"}) == OUTSIDE
    old = rule(limit={"fact": "tire.age", "less-than": "6 years"})
    # 6 years = 72 months = 6 x 365.25 = 2191.5 days.
    assert verdict([old], tire={"age": "72 months"}) == OUTSIDE
    assert verdict([old], tire={"age": "2191 days"}) == WITHIN


@pytest.mark.parametrize(
    ("when", "tire", "expected"),
    [
        # The body fails wherever it applies, so: outside = applies, within = does not, undetermined = may.
        ({"tire.class": "bus"}, {"class": "bus"}, OUTSIDE),
        ({"tire.class": ["bus", "trailer"]}, {"class": "passenger"}, WITHIN),
        ({"tire.class": {"not": "bus"}}, {"class": "passenger"}, OUTSIDE),
        ({"tire.class": {"not": ["bus", "trailer"]}}, {"class": "trailer"}, WITHIN),
        ({"tire.class": "bus"}, {}, OPEN),
        ({"tire.class": {"not": "bus"}}, {"class": None}, OPEN),
        # False beats unknown.
        ({"tire.class": "bus", "tire.retread": True}, {"retread": False}, WITHIN),
        ({"tire.class": "bus", "tire.retread": True}, {"retread": True}, OPEN),
        # H stands between U and V; there is no I, so J follows H.
        ({"tire.speed_symbol": {"more-than": "U", "less-than": "V"}}, {"speed_symbol": "H"}, OUTSIDE),
        ({"tire.speed_symbol": {"at-least": "V"}}, {"speed_symbol": "H"}, WITHIN),
        ({"tire.load_range": {"more-than": "H", "less-than": "L"}}, {"load_range": "J"}, OUTSIDE),
        ({"tire.load_range": {"at-most": "E"}}, {"load_range": "F"}, WITHIN),
        # An interval is inside, outside, or neither.
        ({"tire.age": {"at-least": "5 years", "less-than": "10 years"}}, {"age": "5 years to 9 years"}, OUTSIDE),
        ({"tire.age": {"at-least": "5 years", "less-than": "10 years"}}, {"age": "10 years to 12 years"}, WITHIN),
        ({"tire.age": {"at-least": "5 years", "less-than": "10 years"}}, {"age": "4 years to 5 years"}, OPEN),
    ],
)
def test_oracle_reads_conditions(when, tire, expected):
    failing = rule(when=when, permit={"fact": "vehicle.use", "values": ["emergency"]})
    assert verdict([failing], tire=tire, vehicle={"use": "private"}) == expected


def test_oracle_passes_a_rule_that_may_apply_if_its_body_passes_for_certain():
    permit = rule(when={"tire.class": "bus"}, permit={"fact": "vehicle.use", "values": ["emergency"]})
    assert verdict([permit], vehicle={"use": "emergency"}) == WITHIN
    assert verdict([rule(when={"tire.class": "bus"}, require={"steps": ["demount"]})]) == WITHIN


def test_oracle_permits_and_prohibits():
    permit = rule(permit={"fact": "tire.body_ply", "values": ["steel"]})
    prohibit = rule(prohibit={"fact": "tire.body_ply", "values": ["steel"]})
    answers = [verdict([each], tire={"body_ply": ply}) for each in (permit, prohibit) for ply in ("steel", "textile")]
    assert answers == [WITHIN, OUTSIDE, OUTSIDE, WITHIN]
    assert verdict([permit]) == OPEN
    assert verdict([prohibit]) == OPEN


def test_oracle_disqualifies_for_findings():
    barred = rule(disqualify={"findings": ["bulge", "leak"]})
    assert verdict([barred], findings=["bulge"]) == OUTSIDE
    assert verdict([barred], findings=[]) == WITHIN
    assert verdict([barred]) == OPEN


def test_oracle_takes_rules_by_place_activity_and_day():
    barred = rule(prohibit={"fact": "tire.retread", "values": [True]})
    packs = [pack(), pack(barred, name="US-SC", kind="jurisdiction"), pack(name="CA")]
    packs.append(pack(ANY_TREAD, name="trade", kind="baseline"))
    asked = {
        "activity": "road-use",
        "on": "2026-11-25",
        "tire": {"retread": True, "tread_depth": "9 mm"},
        "injuries": [],
    }
    assert decide(packs, {**asked, "jurisdictions": ["US-SC", "CA"]})["verdict"] == OUTSIDE
    assert decide(packs, {**asked, "jurisdictions": ["US"]})["verdict"] == WITHIN
    everywhere = [*packs, pack(barred, name="shop", kind="company")]
    assert decide(everywhere, {**asked, "jurisdictions": ["CA"]})["verdict"] == OUTSIDE
    federal = [pack(barred), pack(name="US-SC", kind="jurisdiction")]
    assert decide(federal, {**asked, "jurisdictions": ["US-SC"]})["verdict"] == OUTSIDE


def test_oracle_answers_to_the_activity_that_an_activity_implies():
    answering = {}
    for activity in ("road-use", "tire-sale", "repair", "vehicle-sale"):
        barred = rule(activity, prohibit={"fact": "axle.steer", "values": [True]})
        asked = {each: verdict([barred], each, axle={"steer": True}, injuries=None) for each in ACTIVITIES}
        answering[activity] = {each for each, answer in asked.items() if answer == OUTSIDE}
    assert answering == {
        "road-use": {"road-use", "repair", "used-tire-installation", "inspection"},
        "tire-sale": {"tire-sale", "used-tire-sale"},
        "repair": {"repair"},
        "vehicle-sale": {"vehicle-sale"},
    }


@pytest.mark.parametrize(
    ("in_force", "on", "expected"),
    [
        ({"from": "2026-01-01"}, "2025-12-31", WITHIN),
        ({"from": "2026-01-01"}, "2026-01-01", OUTSIDE),
        ({"until": "2026-01-01"}, "2025-12-31", OUTSIDE),
        ({"until": "2026-01-01"}, "2026-01-01", WITHIN),
        ({"from": "unknown"}, "1990-01-01", OUTSIDE),
    ],
)
def test_oracle_counts_the_first_day_and_not_the_last(in_force, on, expected):
    barred = rule(prohibit={"fact": "tire.retread", "values": [True]}, in_force=in_force)
    assert verdict([barred], on=on, tire={"retread": True}) == expected


def test_oracle_judges_each_earlier_repair_and_takes_silence_for_one_of_which_nothing_is_known():
    limit = rule(limit={"fact": "repair.diameter", "at-most": "6 mm"})
    assert verdict([limit], earlier_repairs=[{"diameter": "5 mm"}, {"diameter": "7 mm"}]) == OUTSIDE
    assert verdict([limit], earlier_repairs=[]) == WITHIN
    assert verdict([limit], earlier_repairs=None) == OPEN
    pairs = rule("repair", when={"repair.zone": "crown"}, limit={"fact": "injury.diameter", "at-most": "6 mm"})
    assert repair([pairs], {"diameter": "7 mm"}, earlier_repairs=[{"zone": "bead"}, {"zone": "crown"}]) == OUTSIDE
    bead = [{"zone": "bead", "diameter": "1 mm"}]
    assert repair([pairs, EARLIER], {"diameter": "7 mm"}, earlier_repairs=bead) == WITHIN
    # What a tire carries is judged as what is new: nothing limits its size.
    assert repair([pairs], {"diameter": "7 mm"}, earlier_repairs=bead) == OPEN


def test_oracle_derives_the_number_of_repairs():
    two = rule("repair", limit={"fact": "repairs.count", "at-most": 2})
    # One injury and one earlier repair make two; a second injury, three.
    assert repair([two, EARLIER], {"diameter": "1 mm"}, earlier_repairs=[{"diameter": "1 mm"}]) == WITHIN
    assert repair([two], {"diameter": "1 mm"}, {"diameter": "1 mm"}, earlier_repairs=[{}]) == OUTSIDE
    assert repair([two], {"diameter": "1 mm"}, earlier_repairs=None) == OPEN
    assert repair([two], {"diameter": "1 mm"}, earlier_repairs=[{}], repairs={"count": 3}) == OUTSIDE
    # Outside a repair the injuries do not count.
    used = rule(limit={"fact": "repairs.count", "at-most": 2})
    assert verdict([used], injuries=[{}], earlier_repairs=[{}, {}]) == OPEN
    assert verdict([used], injuries=[{}], earlier_repairs=[{}, {}, {}]) == OUTSIDE


def test_oracle_knows_that_one_repair_neither_overlaps_nor_has_a_spacing():
    overlap = rule("repair", prohibit={"fact": "repairs.overlap", "values": [True]})
    spacing = rule("repair", limit={"fact": "repairs.spacing", "at-least": "16 in"})
    assert repair([overlap, spacing]) == WITHIN
    assert repair([overlap], earlier_repairs=[{}]) == OPEN
    assert repair([spacing], earlier_repairs=[{}]) == OPEN
    one = [{"diameter": "1 mm"}]
    assert repair([spacing, EARLIER], earlier_repairs=one, repairs={"spacing": "406.4 mm"}) == WITHIN
    # A stated spacing is judged even of a single repair.
    assert repair([spacing], repairs={"spacing": "400 mm"}) == OUTSIDE


def test_oracle_judges_methods_of_each_injury():
    barred = rule("repair", prohibit={"fact": "method", "values": ["section"]})
    steep = rule("repair", when={"method": "one-piece"}, limit={"fact": "injury.angle", "at-most": "25 deg"})
    flat = rule("repair", when={"method": "two-piece"}, limit={"fact": "injury.angle", "at-most": "20 deg"})
    injuries = [{"diameter": "5 mm", "angle": angle} for angle in ("25 deg", "30 deg", "19 deg to 21 deg")]
    case = {
        **{"jurisdictions": ["US"], "activity": "repair", "on": "2026-11-25"},
        **{"findings": [], "injuries": injuries, "earlier_repairs": []},
    }
    answer = decide([pack(ANY_SIZE, barred, steep, flat)], case)
    assert answer["methods"] == [
        *((1, "one-piece", WITHIN), (1, "two-piece", OUTSIDE), (1, "section", OUTSIDE)),
        *((2, "one-piece", OUTSIDE), (2, "two-piece", OUTSIDE), (2, "section", OUTSIDE)),
        *((3, "one-piece", WITHIN), (3, "two-piece", OPEN), (3, "section", OUTSIDE)),
    ]
    # The second injury has no method; without it, each of the others has one.
    assert answer["verdict"] == OUTSIDE
    assert decide([pack(ANY_SIZE, barred, steep, flat)], {**case, "injuries": injuries[::2]})["verdict"] == WITHIN
    # A rule on methods speaks of repairs only.
    assert verdict([rule(prohibit={"fact": "method", "values": ["section"]})], method="section") == WITHIN


@pytest.mark.parametrize(
    ("unit", "angle", "expected"),
    [
        (None, "26 deg", OUTSIDE),
        ({"rated_angle": "30 deg", "document": "sheet"}, "30 deg", WITHIN),
        ({"rated_angle": "30 deg", "document": "sheet"}, "30.1 deg", OUTSIDE),
        # The cap is 35 degrees, whatever the rating.
        ({"rated_angle": "45 deg", "document": "sheet"}, "35 deg", WITHIN),
        ({"rated_angle": "45 deg", "document": "sheet"}, "35.1 deg", OUTSIDE),
        # Without a document the limit of 25 degrees stays; a lower rating binds even so.
        ({"rated_angle": "30 deg"}, "26 deg", OUTSIDE),
        ({"rated_angle": "30 deg", "document": ""}, "25 deg", WITHIN),
        ({"rated_angle": "20 deg"}, "21 deg", OUTSIDE),
        ({"rated_angle": "20 deg"}, "20 deg", WITHIN),
        ({"rated_angle": "30 deg", "document": "sheet", "method": "two-piece"}, "26 deg", OUTSIDE),
    ],
)
def test_oracle_extends_an_angle(unit, angle, expected):
    steep = rule(
        "repair",
        when={"method": "one-piece"},
        limit={"fact": "injury.angle", "at-most": "25 deg"},
        extendable={"up-to": "35 deg", "by": "repair-material"},
    )
    stated = unit and {"method": "one-piece", **unit}
    assert repair([steep], {"diameter": "1 mm", "angle": angle}, repair_unit=stated) == expected


def test_oracle_never_extends_below_the_limit_itself():
    steep = rule(
        "repair",
        when={"method": "one-piece"},
        limit={"fact": "injury.angle", "at-most": "25 deg"},
        extendable={"up-to": "20 deg", "by": "repair-material"},
    )
    unit = {"method": "one-piece", "rated_angle": "30 deg", "document": "sheet"}
    assert repair([steep], {"diameter": "1 mm", "angle": "25 deg"}, repair_unit=unit) == WITHIN


def test_oracle_lets_a_repair_cure_what_it_removes():
    leak = rule("road-use", disqualify={"findings": ["leak", "embedded-object"]})
    assert verdict([leak], findings=["leak"]) == OUTSIDE
    assert repair([leak], findings=["leak"]) == WITHIN
    assert repair([leak], findings=None) == WITHIN
    assert repair([{**leak, "activity": ["repair", "road-use"]}], findings=["leak"]) == OUTSIDE
    mixed = rule("road-use", disqualify={"findings": ["leak", "bulge"]})
    assert repair([mixed], findings=None) == OPEN
    # A condition on it is false of a repaired tire, so what depends on it does not apply.
    leaking = rule("road-use", when={"findings": ["leak"]}, prohibit={"fact": "tire.retread", "values": [True]})
    tight = rule("road-use", when={"findings": {"not": ["leak"]}}, prohibit={"fact": "tire.retread", "values": [True]})
    for findings in (["leak"], [], None):
        assert repair([leaking], findings=findings, tire={"retread": True}) == WITHIN
        assert repair([tight], findings=findings, tire={"retread": True}) == OUTSIDE


def test_oracle_wants_every_finding_judged():
    bus = rule(when={"tire.class": "bus"}, disqualify={"findings": ["bulge"]})
    assert verdict([bus], tire={"class": "bus"}, findings=["recalled"]) == OPEN
    assert verdict([bus], tire={"class": "passenger"}, findings=["bulge"]) == OPEN
    named = rule(when={"findings": ["bulge"]}, require={"steps": ["demount"]})
    assert verdict([bus, named], tire={"class": "passenger"}, findings=["bulge"]) == WITHIN
    # A rule for tires without the finding says nothing of one with it.
    absent = rule(when={"findings": {"not": ["bulge"]}}, require={"steps": ["demount"]})
    assert verdict([absent], findings=["bulge"]) == OPEN
    assert repair([], findings=["leak"]) == WITHIN
    assert verdict([], findings=["leak"]) == OPEN


def test_oracle_wants_the_tread_limited_outside_a_repair():
    asked = {
        "jurisdictions": ["US"],
        "on": "2026-11-25",
        "injuries": [],
        "findings": [],
        "tire": {"tread_depth": "9 mm"},
    }
    floor = {**ANY_TREAD, "when": {"tire.class": "bus"}}
    worn = rule("tire-sale", when={"tire.class": {"not": "bus"}}, disqualify={"findings": ["worn-to-indicators"]})
    deep = rule("tire-sale", limit={"fact": "tire.tread_depth", "at-most": "20 mm"})
    answers = [
        decide([pack(*rules)], {**asked, "activity": "tire-sale"})["verdict"]
        for rules in ([], [floor], [deep], [ANY_TREAD], [floor, worn])
    ]
    assert answers == [OPEN, OPEN, OPEN, WITHIN, OPEN]
    # Each place has to speak for itself, or the trade for all; a shop cannot.
    places = [pack(), pack(ANY_TREAD, name="CA")]
    both = {**asked, "activity": "tire-sale", "jurisdictions": ["US", "CA"]}
    for answer, packs in (
        (OPEN, places),
        (OPEN, [*places, pack(ANY_TREAD, name="shop", kind="company")]),
        (WITHIN, [*places, pack(ANY_TREAD, name="trade", kind="baseline")]),
    ):
        assert decide(packs, both)["verdict"] == answer
    small = [{"diameter": "1 mm"}]
    assert decide([pack(ANY_SIZE)], {**asked, "activity": "repair", "injuries": small})["verdict"] == WITHIN


def test_oracle_wants_the_law_of_each_place_read_outside_a_repair():
    places = [pack(ANY_TREAD), pack(name="US-SC", kind="jurisdiction")]
    asked = {"jurisdictions": ["US-SC"], "on": "2026-11-25", "injuries": [], "tire": {"tread_depth": "9 mm"}}
    assert decide(places, {**asked, "activity": "tire-sale"})["verdict"] == WITHIN
    del places[1]["coverage"]["tire-sale"]
    places[1]["coverage"]["inspection"] = "not-reviewed"
    assert decide(places, {**asked, "activity": "tire-sale"})["verdict"] == OPEN
    assert decide(places, {**asked, "activity": "inspection"})["verdict"] == OPEN
    # What the act implies need not have been read, nor another place's law.
    places[0]["coverage"] = places[1]["coverage"] = {"inspection": "none-located", "road-use": "not-reviewed"}
    assert decide(places, {**asked, "activity": "inspection"})["verdict"] == WITHIN


def test_oracle_lets_no_figure_from_memory_end_a_silence():
    asked = {"jurisdictions": ["US"], "on": "2026-11-25", "injuries": [], "tire": {"tread_depth": "9 mm"}}
    for source, answer in (("secondary", WITHIN), ("memory", OPEN)):
        tread = [pack({**ANY_TREAD, "source": source})]
        assert decide(tread, {**asked, "activity": "road-use"})["verdict"] == answer
        size = [pack({**ANY_SIZE, "source": source})]
        small = {**asked, "activity": "repair", "injuries": [{"diameter": "1 mm"}]}
        assert decide(size, small)["verdict"] == answer
    # It binds all the same, and it can speak of a finding.
    barred = rule(source="memory", prohibit={"fact": "tire.retread", "values": [True]})
    assert verdict([barred], tire={"retread": True}) == OUTSIDE
    bulging = rule(source="memory", when={"findings": ["bulge"]}, require={"steps": ["demount"]})
    assert verdict([bulging], findings=["bulge"]) == WITHIN


def test_oracle_wants_no_injury_left_open_outside_a_repair():
    small = rule(limit={"fact": "injury.diameter", "at-most": "6 mm"})
    assert verdict([small], injuries=[{"diameter": "5 mm"}]) == OPEN
    assert verdict([small], injuries=[{"diameter": "7 mm"}]) == OUTSIDE
    assert verdict([small], injuries=[]) == WITHIN
    # Nothing recorded is one injury of which nothing is known, unless what was found was recorded.
    assert verdict([], injuries=None) == OPEN
    assert verdict([small], injuries=None, findings=[]) == WITHIN


def test_oracle_judges_the_tire_as_repaired_by_the_rules_on_driving_it():
    patch = rule("road-use", prohibit={"fact": "repair.method", "values": ["one-piece"]})
    assert repair([patch]) == OUTSIDE
    assert repair([patch], method="section") == WITHIN
    assert repair([{**patch, "activity": ["repair", "road-use"]}]) == OUTSIDE
    large = rule("road-use", limit={"fact": "repair.diameter", "at-most": "6 mm"})
    assert repair([large], {"diameter": "6 mm"}) == WITHIN
    assert repair([large], {"diameter": "6.1 mm"}) == OUTSIDE
    assert repair([large], {"diameter": "6 mm"}, earlier_repairs=[{"diameter": "7 mm"}]) == OUTSIDE


def test_oracle_takes_the_smallest_tread_for_what_it_says():
    adjacent = {"fact": "tire.tread_depth", "at-least": "2 mm", "counted": {"grooves": "two-adjacent", "places": 1}}
    # The smallest of all readings is 2 mm, so no groove is below it; at 1.9 mm, one is, and perhaps no other.
    assert verdict([rule(limit=adjacent)], tire={"tread_depth": "2 mm"}) == WITHIN
    assert verdict([rule(limit=adjacent)], tire={"tread_depth": "1.9 mm"}) == OPEN


def small(**when: Any) -> dict[str, Any]:
    """A ceiling of 6 mm on the injury, where `when` holds."""
    conditions = {name.replace("__", "."): test for name, test in when.items()}
    return rule("repair", when=conditions, limit={"fact": "injury.diameter", "at-most": "6 mm"})


@pytest.mark.parametrize(
    ("rules", "case", "expected"),
    [
        ([], {}, OPEN),
        ([small()], {}, WITHIN),
        ([rule("repair", limit={"fact": "injury.diameter", "at-least": "1 mm"})], {}, OPEN),
        ([small(tire__class="bus")], {"tire": {"class": "trailer"}}, OPEN),
        ([small(tire__class="bus")], {}, OPEN),
        # Bus or not, one of the two applies.
        ([small(tire__class="bus"), small(tire__class={"not": "bus"})], {}, WITHIN),
        ([small(tire__load_range={"at-most": "E"}), small(tire__load_range={"at-least": "F"})], {}, WITHIN),
        ([small(tire__load_range={"at-most": "E"}), small(tire__load_range={"more-than": "F"})], {}, OPEN),
        ([small(tire__retread=True), small(tire__retread=False, tire__run_flat=True)], {}, OPEN),
        (
            [small(tire__retread=True), small(tire__retread=False, tire__run_flat=True)],
            {"tire": {"run_flat": True}},
            WITHIN,
        ),
        # The values of a quantity cannot all be tried.
        ([small(vehicle__gvwr={"at-most": "1 kg"}), small(vehicle__gvwr={"more-than": "1 kg"})], {}, OPEN),
        # Nor is one settled that lies astride the figure.
        (
            [small(vehicle__gvwr={"at-most": "2 kg"}), small(vehicle__gvwr={"more-than": "2 kg"})],
            {"vehicle": {"gvwr": "1 kg to 3 kg"}},
            OPEN,
        ),
        # An earlier repair whose zone is not known is in the crown or is not; where there is none, no rule speaks.
        (
            [small(repair__zone="crown"), small(repair__zone={"not": "crown"}), EARLIER],
            {"earlier_repairs": [{"diameter": "1 mm"}]},
            WITHIN,
        ),
        ([small(repair__zone="crown"), small(repair__zone={"not": "crown"})], {}, OPEN),
        # Each earlier repair has a method of its own. Were both of one method, one rule would apply; but the one in the
        # crown may be of one piece and the one in the bead a section repair, and then none does.
        (
            [
                small(repair__zone="crown", repair__method="section"),
                small(repair__zone={"not": "crown"}, repair__method={"not": "section"}),
            ],
            {"earlier_repairs": [{"zone": "crown"}, {"zone": "bead"}]},
            OPEN,
        ),
    ],
)
def test_oracle_wants_the_size_limited_whatever_is_unknown(rules, case, expected):
    asked = {"jurisdictions": ["US"], "activity": "repair", "on": "2026-11-25", "method": "section", "findings": []}
    asked |= {"injuries": [{"diameter": "5 mm"}], "earlier_repairs": [], **case}
    assert decide([pack(*rules)], asked)["verdict"] == expected


def test_a_disagreement_is_made_small():
    rng = Random(3)
    packs = invented_packs(rng, placed=True)
    case = {
        "jurisdictions": ["US"],
        "activity": "repair",
        "on": "2026-11-25",
        "tire": {"class": "bus", "retread": True},
    }

    def still(fewer: list[dict[str, Any]], less: dict[str, Any]) -> bool:
        return len(fewer) == len(packs) and less.get("tire", {}).get("class") == "bus"

    fewer, less = smaller(packs, case, still)
    assert [each["rules"] for each in fewer] == [[] for _ in packs]
    assert less == {**case, "tire": {"class": "bus"}}
