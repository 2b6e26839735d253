"""Comparing two versions of a pack on their meaning: what is told, of whom, and what leaves a case undetermined.

Every pack, rule, place and figure here is invented.
"""

from __future__ import annotations

import json
import pickle
import re
from datetime import date
from typing import Any

import pytest

from tests.authoring.comparing import at_most, changes_of, effects, one, pack_of, said_of
from tests.engine import SIZE, rule, us_case, world
from tests.support import injury, invented_pack
from tirerules.authoring.comparing import regions
from tirerules.authoring.comparing.axes import axes_for
from tirerules.authoring.comparing.change import Effect, Kind, Level
from tirerules.authoring.comparing.comparison import compare_packs
from tirerules.authoring.comparing.meaning import limit_changes
from tirerules.authoring.comparing.regions import TooManyCellsError, text_of
from tirerules.packs.pack import Pack
from tirerules.packs.rule import Condition
from tirerules.strictest.bounds import Strictest
from tirerules.vocabulary import FACTS

# --- in words ---------------------------------------------------------------------------------------------------------


def test_a_tighter_limit_is_told_for_whom_and_since_when():
    old = one(at_most("3/8 in"), when={"tire.class": "passenger"}, **{"in-force": {"from": "2020-01-01"}})
    new = {**old, **at_most("1/4 in")}
    assert said_of([old], [new]) == [
        "used-tire-installation, tire.class passenger, from 2020-01-01: "
        "repair.diameter at most 3/8 in -> at most 1/4 in (tighter)"
    ]
    (change,) = changes_of([old], [new])
    assert (change.level, change.rules, change.start, change.end) == (Level.MINOR, ("limit",), date(2020, 1, 1), None)


WORDS = {
    "looser": (one(at_most("6 mm")), one(at_most("8 mm")), "repair.diameter at most 6 mm -> at most 8 mm (looser)"),
    "inclusive": (
        one({"limit": {"fact": "repair.diameter", "less-than": "6 mm"}}),
        one(at_most("6 mm")),
        "repair.diameter less than 6 mm -> at most 6 mm (looser)",
    ),
    "gone": (one(at_most("6 mm")), None, "repair.diameter at most 6 mm -> no limit (looser)"),
    "added": (None, one(at_most("6 mm")), "repair.diameter no limit -> at most 6 mm (tighter)"),
    "later": (
        one(at_most("6 mm"), **{"in-force": {"from": "2020-01-01"}}),
        one(at_most("6 mm"), **{"in-force": {"from": "2021-01-01"}}),
        "repair.diameter at most 6 mm: from 2020-01-01 -> from 2021-01-01 (moved, looser)",
    ),
    "ends": (
        one(at_most("6 mm")),
        one(at_most("6 mm"), **{"in-force": {"until": "2021-01-01"}}),
        "repair.diameter at most 6 mm: on every day -> before 2021-01-01 (moved, looser)",
    ),
    "ends later": (
        one(at_most("6 mm"), **{"in-force": {"from": "2020-01-01", "until": "2021-01-01"}}),
        one(at_most("6 mm"), **{"in-force": {"from": "2020-01-01", "until": "2022-01-01"}}),
        "repair.diameter at most 6 mm: from 2020-01-01 until 2021-01-01 -> "
        "from 2020-01-01 until 2022-01-01 (moved, tighter)",
    ),
    "later and longer": (
        one(at_most("6 mm"), **{"in-force": {"from": "2020-01-01", "until": "2021-01-01"}}),
        one(at_most("6 mm"), **{"in-force": {"from": "2020-06-01", "until": "2022-01-01"}}),
        "repair.diameter at most 6 mm: from 2020-01-01 until 2021-01-01 -> "
        "from 2020-06-01 until 2022-01-01 (moved, looser and tighter)",
    ),
    "values": (
        one({"prohibit": {"fact": "repair.zone", "values": ["sidewall", "bead"]}}),
        one({"prohibit": {"fact": "repair.zone", "values": ["bead"]}}),
        "repair.zone none of sidewall, bead -> none of bead (looser)",
    ),
    "no value": (
        one({"permit": {"fact": "tire.retread", "values": [False]}}),
        one({"prohibit": {"fact": "tire.retread", "values": [True, False]}}),
        "tire.retread one of no -> no value at all (tighter)",
    ),
    "other values": (
        one({"permit": {"fact": "repair.zone", "values": ["crown"]}}),
        one({"permit": {"fact": "repair.zone", "values": ["shoulder"]}}),
        "repair.zone one of crown -> one of shoulder (looser and tighter)",
    ),
    "findings": (
        one({"disqualify": {"findings": ["bulge", "leak"]}}),
        one({"disqualify": {"findings": ["bulge", "recalled"]}}),
        "findings no longer disqualify: leak; now disqualify: recalled (looser and tighter)",
    ),
    "steps": (
        one({"require": {"steps": ["demount"]}}),
        one({"require": {"steps": ["demount", "maker-standard"]}}),
        "requirements now ask for: maker-standard (tighter)",
    ),
    "count": (
        one({"limit": {"fact": "repairs.count", "less-than": 3}}),
        one(at_most(3, "repairs.count")),
        "repairs.count less than 3 -> at most 3 (looser)",
    ),
    "counted": (
        one({"limit": {"fact": "tire.crack_depth", "at-most": "1 mm"}}),
        one({"limit": {"fact": "tire.crack_depth", "at-most": "1/32 in"}}),
        "tire.crack_depth at most 1 mm -> at most 1/32 in (tighter)",
    ),
    "two figures": (
        one(at_most({"value": "1/4 in", "also-printed": "6 mm"})),
        one(at_most("1/4 in")),
        "repair.diameter at most 1/4 in (6 mm) -> at most 1/4 in (looser)",
    ),
    "as enacted only": (
        one(at_most({"value": "1/4 in", "also-printed": "6 mm"})),
        one(at_most("6 mm")),
        "repair.diameter at most 1/4 in (6 mm) -> at most 6 mm, as enacted (tighter)",
    ),
}


@pytest.mark.parametrize(("old", "new", "said"), WORDS.values(), ids=WORDS)
def test_a_change_is_told_in_words(old, new, said):
    found = said_of([old] if old else [], [new] if new else [])
    assert found == [f"used-tire-installation: {said}"]


def test_limits_that_follow_one_another_can_move_together():
    def rules(day: str) -> list[dict[str, Any]]:
        return [
            one(at_most("8 mm"), "first", **{"in-force": {"from": "2010-01-01", "until": day}}),
            one(at_most("6 mm"), "second", **{"in-force": {"from": day}}),
        ]

    assert said_of(rules("2020-01-01"), rules("2021-01-01")) == [
        "used-tire-installation: repair.diameter at most 8 mm from 2010-01-01 until 2020-01-01; at most 6 mm from "
        "2020-01-01 -> at most 8 mm from 2010-01-01 until 2021-01-01; at most 6 mm from 2021-01-01 (moved, looser)"
    ]


def test_a_gap_in_time_is_no_move():
    whole = one(at_most("6 mm"), "whole")
    parts = [
        one(at_most("6 mm"), "first", **{"in-force": {"until": "2020-01-01"}}),
        one(at_most("6 mm"), "second", **{"in-force": {"from": "2021-01-01"}}),
    ]
    assert said_of([whole], parts) == [
        "used-tire-installation, from 2020-01-01 until 2021-01-01: repair.diameter at most 6 mm -> no limit (looser)"
    ]


def test_ways_to_count_tread_are_told_apart():
    def floor(figure: Any, name: str, **counted: Any) -> dict[str, Any]:
        more = {"counted": counted} if counted else {}
        return one({"limit": {"fact": "tire.tread_depth", "at-least": figure, **more}}, name)

    plain = floor({"value": "4 mm", "also-printed": "6 mm"}, "plain")
    adjacent = floor("5 mm", "adjacent", grooves="two-adjacent", places=3)
    # A floor on every reading is one on any count of them; only as enacted does the counted one add anything.
    assert said_of([plain], [plain, adjacent]) == [
        "used-tire-installation: tire.tread_depth at least 4 mm (6 mm) -> at least 4 mm (6 mm) and as enacted at least "
        "5 mm in two adjacent grooves at 3 places, as enacted (tighter)"
    ]
    assert said_of([adjacent], [floor("5 mm", "plain")]) == [
        "used-tire-installation: tire.tread_depth at least 5 mm in two adjacent grooves at 3 places -> at least 5 mm "
        "(tighter)"
    ]
    assert effects(changes_of([adjacent], [floor("4 mm", "plain")])) == {Effect.MIXED}


def test_under_the_two_readings_two_rules_can_set_the_limit():
    dual = one(at_most({"value": "10 mm", "also-printed": "6 mm"}), "dual")
    assert said_of([dual], [dual, one(at_most("8 mm"), "plain")]) == [
        "used-tire-installation: repair.diameter at most 10 mm (6 mm) -> "
        "at most 10 mm (6 mm) (as enacted: at most 8 mm), as enacted (tighter)"
    ]


CASES_OF_WHOM = {
    "a word": ({"tire.class": "bus"}, "tire.class bus"),
    "words": ({"tire.class": ["bus", "passenger"]}, "tire.class passenger or bus"),
    "all but": ({"tire.class": {"not": ["bus", "trailer"]}}, "tire.class other than bus or trailer"),
    "a flag": ({"tire.retread": True}, "tire.retread yes"),
    "low steps": ({"tire.load_range": {"at-most": "E"}}, "tire.load_range at most E"),
    "high steps": ({"tire.load_range": {"more-than": "E"}}, "tire.load_range at least F"),
    "middle steps": ({"tire.load_range": ["B", "C"]}, "tire.load_range B or C"),
    "from": ({"vehicle.gvwr": {"more-than": "10000 lb"}}, "vehicle.gvwr more than 10000 lb"),
    "between": (
        {"vehicle.gvwr": {"at-least": "4000 kg", "less-than": "5000 kg"}},
        "vehicle.gvwr at least 4000 kg and less than 5000 kg",
    ),
    "one figure": ({"vehicle.gvwr": {"at-least": "4000 kg", "at-most": "4000 kg"}}, "vehicle.gvwr 4000 kg"),
    "a count": ({"repairs.count": {"more-than": 1}}, "repairs.count more than 1"),
    "a finding": ({"findings": ["bulge"]}, "with the finding bulge"),
    "no finding": ({"findings": {"not": ["bulge", "leak"]}}, "without the finding bulge or leak"),
    "of an injury": ({"injury.kind": "cut"}, "injury.kind cut"),
    "several": ({"tire.class": "bus", "axle.steer": True}, "tire.class bus, axle.steer yes"),
}


@pytest.mark.parametrize(("when", "whom"), CASES_OF_WHOM.values(), ids=CASES_OF_WHOM)
def test_those_whom_it_concerns_are_told_in_words(when, whom):
    found = changes_of([one(at_most("6 mm"), when=when)], [one(at_most("8 mm"), when=when)])
    assert [change.whom for change in found] == [f"used-tire-installation, {whom}"]


def test_what_differs_from_class_to_class_is_told_class_by_class():
    def rules(*said: tuple[str, str, str]) -> list[dict[str, Any]]:
        return [
            one(at_most(figure), name, when={"tire.class": name}, **{"in-force": {"from": day}})
            for name, figure, day in said
        ]

    old = rules(("bus", "5 mm", "2020-01-01"), ("passenger", "7 mm", "2020-01-01"))
    assert said_of(old, rules(("bus", "6 mm", "2020-01-01"), ("passenger", "8 mm", "2020-01-01"))) == [
        "used-tire-installation, tire.class bus, from 2020-01-01: repair.diameter at most 5 mm -> at most 6 mm "
        "(looser)",
        "used-tire-installation, tire.class passenger, from 2020-01-01: repair.diameter at most 7 mm -> at most 8 mm "
        "(looser)",
    ]
    one_size = rules(("bus", "5 mm", "2020-01-01"), ("passenger", "5 mm", "2022-01-01"))
    assert said_of(one_size, rules(("bus", "5 mm", "2021-01-01"), ("passenger", "5 mm", "2023-01-01"))) == [
        "used-tire-installation, tire.class bus: repair.diameter at most 5 mm: from 2020-01-01 -> from 2021-01-01 "
        "(moved, looser)",
        "used-tire-installation, tire.class passenger: repair.diameter at most 5 mm: from 2022-01-01 -> from "
        "2023-01-01 (moved, looser)",
    ]


def test_of_equally_few_statements_the_shortest_are_told():
    def rules(figure: str) -> list[dict[str, Any]]:
        low = {"tire.class": ["light-truck", "bus"], "tire.load_range": {"at-most": "E"}}
        return [one(at_most(figure), "car", when={"tire.class": "passenger"}), one(at_most(figure), "truck", when=low)]

    assert [(change.when, change.rules) for change in changes_of(rules("6 mm"), rules("8 mm"))] == [
        (("tire.class light-truck or bus", "tire.load_range at most E"), ("truck",)),
        (("tire.class passenger",), ("car",)),
    ]


def test_between_two_whole_numbers_there_is_none():
    body = at_most("6 mm")
    old, new = ([one(body, when={"repairs.count": test})] for test in ({"more-than": 2}, {"at-least": 3}))
    assert changes_of(old, new) == ()
    assert said_of(old, [one(body, when={"repairs.count": {"at-least": 2}})]) == [
        "used-tire-installation, repairs.count 2: repair.diameter no limit -> at most 6 mm (tighter)"
    ]


def test_findings_are_told_apart_one_by_one():
    both, first = (
        one(at_most("6 mm"), when={"findings": ["bulge", "leak"]}),
        one(at_most("6 mm"), when={"findings": "bulge"}),
    )
    assert said_of([both], [first]) == [
        "used-tire-installation, without the finding bulge, with the finding leak: repair.diameter at most 6 mm -> no "
        "limit (looser)"
    ]


def test_a_band_is_never_narrower_than_nothing():
    def band(inset: str) -> dict[str, Any]:
        return one({"limit": {"fact": "injury.reach", "less-than": {"half-of": "tire.tread_width", "inset": inset}}})

    assert said_of([band("1 1/2 in")], [band("1 in")]) == [
        "used-tire-installation, tire.tread_width more than 50.8 mm: injury.reach less than half of the tread width "
        "less 1 1/2 in -> less than half of the tread width less 1 in (looser)"
    ]


def test_where_two_bands_cross_the_first_still_binds():
    share = {"limit": {"fact": "injury.reach", "less-than": {"half-of": "tire.tread_width", "share": "3/4"}}}
    inset = {"limit": {"fact": "injury.reach", "less-than": {"half-of": "tire.tread_width", "inset": "1 in"}}}
    assert [change.when for change in changes_of([one(share, "share"), one(inset, "inset")], [])] == [
        ("tire.tread_width at most 203.2 mm",),
        ("tire.tread_width more than 203.2 mm",),
    ]
    for body in (share, inset):
        body["limit"]["more-than"] = body["limit"].pop("less-than")
    assert [change.when for change in changes_of([one(share, "share"), one(inset, "inset")], [])] == [
        ("tire.tread_width at most 203.2 mm",),
        ("tire.tread_width more than 203.2 mm",),
    ]


def test_figures_that_no_rule_prints_are_told_in_the_base_unit():
    # Where 3/4 of the width crosses the whole of it less 1 in on each side: 3/8 w = w/2 - 25.4 mm, so at 203.2 mm.
    def band(**said):
        return {"limit": {"fact": "injury.reach", "less-than": {"half-of": "tire.tread_width", **said}}}

    old, new = one(band(share="3/4"), activity=["repair"]), one(band(inset="1 in"), activity=["repair"])
    assert [(change.when, change.says, change.kind) for change in changes_of([old], [new])] == [
        (
            ("tire.tread_width more than 203.2 mm",),
            "less than half of 3/4 of the tread width -> less than half of the tread width less 1 in",
            Kind.LOOSER,
        ),
        (
            ("tire.tread_width less than 203.2 mm",),
            "less than half of 3/4 of the tread width -> less than half of the tread width less 1 in",
            Kind.TIGHTER,
        ),
    ]


def test_steps_of_a_band_are_compared_one_by_one():
    def band(last):
        steps = [{"through": "155 mm", "share": "60 %"}, {"share": last}]
        return one({"limit": {"fact": "injury.reach", "at-most": {"half-of": "tire.section_width", "share": steps}}})

    assert said_of([band("65 %")], [band("70 %")]) == [
        "used-tire-installation, tire.section_width more than 155 mm: injury.reach at most half of 65 % of the "
        "section width -> at most half of 70 % of the section width (looser)"
    ]


def test_an_extension_is_compared_at_every_rating():
    def angle(**more):
        return one(at_most("25 deg", "injury.angle"), activity=["repair"], when={"method": "one-piece"}, **more)

    def up_to(figure):
        return angle(extendable={"up-to": figure, "by": "repair-material"})

    start = "repair, method one-piece: injury.angle at most 25 deg"
    assert said_of([up_to("30 deg")], [up_to("35 deg")]) == [
        f"{start}, extendable up to 30 deg -> at most 25 deg, extendable up to 35 deg (looser)"
    ]
    # Without the extension a rating below the limit no longer counts either.
    assert said_of([up_to("30 deg")], [angle()]) == [
        f"{start}, extendable up to 30 deg -> at most 25 deg; a unit rated lower no longer lowers it "
        "(looser and tighter)"
    ]
    assert said_of([angle()], [up_to("30 deg")]) == [
        f"{start} -> at most 25 deg, extendable up to 30 deg; a unit rated lower lowers it (looser and tighter)"
    ]
    assert effects(changes_of([up_to("35 deg")], [up_to("30 deg")])) == {Effect.TIGHTER}


def test_an_extension_counts_only_where_the_method_is_read():
    plain = rule("angle", "limit: {fact: injury.angle, at-most: 25 deg}")
    open_ = rule(
        "angle",
        "limit: {fact: injury.angle, at-most: 25 deg}",
        more="extendable: {up-to: 35 deg, by: repair-material}",
    )
    assert limit_changes(invented_pack(plain).rules, invented_pack(open_).rules) == ()
    for rating, angle in (("35 deg", "30 deg"), ("15 deg", "20 deg")):
        unit = {"method": "one-piece", "rated_angle": rating, "document": "invented sheet"}
        case = us_case(injuries=injury(angle=angle), repair_unit=unit)
        assert world(SIZE + plain).decide(case).verdict == world(SIZE + open_).decide(case).verdict
    reading = plain.replace("  limit", "  when: {method: one-piece}\n  limit")
    changed = open_.replace("  limit", "  when: {method: one-piece}\n  limit")
    assert effects(limit_changes(invented_pack(reading).rules, invented_pack(changed).rules)) == {Effect.MIXED}


def test_what_differs_only_in_the_activity_is_told_once():
    old = one(at_most("6 mm"), activity=["used-tire-installation", "used-tire-sale"])
    assert said_of([old], [{**old, **at_most("8 mm")}]) == [
        "used-tire-installation and used-tire-sale: repair.diameter at most 6 mm -> at most 8 mm (looser)"
    ]


def test_the_weightiest_change_comes_first():
    old = [one(at_most("6 mm"), "size"), one({"disqualify": {"findings": ["leak"]}}, "leak")]
    new = [one(at_most("5 mm"), "size")]
    assert [change.kind for change in changes_of(old, new)] == [Kind.LOOSER, Kind.TIGHTER]


# --- what does not exist ----------------------------------------------------------------------------------------------


def test_a_condition_on_injuries_lets_a_tire_without_one_go():
    body = {"limit": {"fact": "repair.diameter", "at-most": "6 mm"}}
    old, new = one(body), one(body, when={"injury.kind": ["puncture", "cut"]})
    assert said_of([old], [new]) == [
        "used-tire-installation, no injury: repair.diameter at most 6 mm -> no limit (looser)"
    ]
    assert said_of([one(body, when={"injury.kind": "cut"})], [new]) == [
        "used-tire-installation, injury.kind puncture: repair.diameter no limit -> at most 6 mm (tighter)"
    ]
    assert said_of([one(body, "cuts", when={"injury.kind": "cut"}), new], [old]) == [
        "used-tire-installation, no injury: repair.diameter no limit -> at most 6 mm (tighter)"
    ]


def test_a_method_exists_with_its_injury():
    body = {"limit": {"fact": "injury.diameter", "at-most": "6 mm"}}
    every = list(FACTS["method"].values)
    old, new = one(body, activity=["repair"]), one(body, activity=["repair"], when={"method": every})
    assert changes_of([old], [new]) == ()
    tread = {"limit": {"fact": "tire.crack_depth", "at-most": "1 mm"}}
    old = one(tread, activity=["repair"], when={"method": every})
    assert changes_of([old], [{**old, "when": {"injury.kind": ["puncture", "cut"]}}]) == ()


def test_where_there_is_no_injury_nothing_is_said_of_its_kind():
    test = Condition("injury.kind", Strictest(permitted=frozenset({"cut"})), "")
    axes = axes_for([test], "repair.diameter", {})
    assert [axis.fact for axis in axes] == ["injury.kind", "injury"]
    assert text_of(axes, (frozenset({0}), frozenset({0}))) == ("no injury",)
    assert text_of(axes, (frozenset({0, 1}), frozenset({1}))) == ("an injury",)
    assert text_of(axes, (frozenset({0}), frozenset({1}))) == ("injury.kind puncture",)
    assert text_of(axes, (frozenset({0, 1}), frozenset({0, 1}))) == ()


def test_a_condition_on_spacing_lets_a_single_repair_go():
    body = {"limit": {"fact": "tire.crack_depth", "at-most": "1 mm"}}
    split = [
        one(body, "near", when={"repairs.spacing": {"less-than": "100 mm"}}),
        one(body, "far", when={"repairs.spacing": {"at-least": "100 mm"}}),
    ]
    assert said_of([one(body)], split) == [
        "used-tire-installation, fewer than two repairs: tire.crack_depth at most 1 mm -> no limit (looser)"
    ]
    assert "an injury" in said_of([], [one(body, when={"injury.kind": ["cut", "puncture"]})])[0]


# --- what leaves a case undetermined ----------------------------------------------------------------------------------


def place(*rules: str, **head: Any) -> Pack:
    """Return an invented country's pack that must bear a real code."""
    named = sorted(
        {word for each in rules for said in re.findall(r"activity: \[(.*)\]", each) for word in said.split(", ")}
    )
    head.setdefault("coverage", json.dumps(dict.fromkeys(named or ["road-use"], "rules" if named else "none-located")))
    return invented_pack("".join(rules), pack="US", kind="country", authority="statute", **head)


TREAD = rule("tread", "limit: {fact: tire.tread_depth, at-least: 2 mm}", activity="road-use")
DRIVING: dict[str, Any] = {"activity": "road-use", "injuries": [], "tire": {"tread_depth": "5 mm"}}


def test_the_first_floor_on_tread_settles_what_was_open():
    old, new = place(), place(TREAD)
    assert [str(change) for change in limit_changes(old.rules, new.rules)] == [
        "road-use: tire.tread_depth no limit -> at least 2 mm (tighter)",
        "road-use: tire.tread_depth is limited now, where a case was undetermined unless another pack limited it "
        "(coverage)",
    ]
    assert [world("", each).decide(us_case(**DRIVING)).verdict for each in (old, new)] == [
        "undetermined",
        "within-limits",
    ]
    back = limit_changes(new.rules, old.rules)
    assert [(change.kind, change.level) for change in back] == [
        (Kind.LOOSER, Level.MAJOR),
        (Kind.COVERAGE, Level.MINOR),
    ]


def test_the_first_ceiling_on_size_settles_what_was_open():
    size = rule("size", "limit: {fact: injury.diameter, at-most: 50 mm}", activity="repair, road-use")
    old, new = place(), place(size)
    assert [str(change) for change in limit_changes(old.rules, new.rules)] == [
        "repair and road-use: injury.diameter no limit -> at most 50 mm (tighter)",
        "repair and road-use: injury.diameter is limited now, where a case was undetermined unless another pack "
        "limited it (coverage)",
    ]
    assert [world("", each).decide(us_case()).verdict for each in (old, new)] == ["undetermined", "within-limits"]
    crown = rule("crown", "permit: {fact: injury.zone, values: [crown]}")
    assert [change.kind for change in limit_changes((), place(crown).rules)] == [Kind.TIGHTER]
    # Neither a size where nothing is repaired nor tread where something is leaves a case open.
    for body, activity in (
        ("{fact: injury.diameter, at-most: 9 mm}", "inspection"),
        ("{fact: tire.tread_depth, at-least: 1 mm}", "repair"),
    ):
        found = limit_changes((), place(rule("other", f"limit: {body}", activity=activity)).rules)
        assert [change.kind for change in found] == [Kind.TIGHTER]


def test_an_act_that_another_act_of_a_rule_is_implied_by_changes_nothing():
    sale = "disqualify: {findings: [bulge]}"
    twice, once, used = (
        place(rule("sale", sale, activity=acts)).rules
        for acts in ("used-tire-sale, tire-sale", "tire-sale", "used-tire-sale")
    )
    assert limit_changes(twice, once) == limit_changes(once, twice) == ()
    (change,) = limit_changes(twice, used)
    assert (change.kind, change.activities) == (Kind.LOOSER, ("tire-sale",))
    # What changes for an act changes for those that imply it, and is told once.
    (change,) = limit_changes((), once)
    assert (change.kind, change.activities) == (Kind.TIGHTER, ("tire-sale",))


def test_a_limit_that_repeats_its_figure_as_its_condition_settles_nothing():
    narrow = TREAD.replace("  limit", "  when: {tire.tread_depth: {less-than: 2 mm}}\n  limit")
    old, new = place(narrow), place(TREAD)
    assert [str(change) for change in limit_changes(old.rules, new.rules)] == [
        "road-use, tire.tread_depth at least 2 mm: tire.tread_depth is limited now, where a case was undetermined "
        "unless another pack limited it (coverage)"
    ]
    thin = us_case(**{**DRIVING, "tire": {"tread_depth": "1 mm"}})
    for case, verdicts in ((us_case(**DRIVING), ["undetermined", "within-limits"]), (thin, ["outside-limits"] * 2)):
        assert [world("", each).decide(case).verdict for each in (old, new)] == verdicts


def test_a_limit_within_its_own_condition_is_compared_by_what_remains_possible():
    def floor(figure: str) -> dict[str, Any]:
        when = {"tire.tread_depth": {"less-than": "4 mm"}}
        return one({"limit": {"fact": "tire.tread_depth", "at-least": figure}}, when=when)

    assert said_of([floor("2 mm")], [floor("3 mm")]) == [
        "used-tire-installation, tire.tread_depth at least 2 mm and less than 3 mm: tire.tread_depth no limit -> at "
        "least 3 mm (tighter)"
    ]
    assert changes_of([floor("5 mm")], [floor("6 mm")]) == ()


def test_values_that_repeat_themselves_as_a_condition_are_compared_by_what_remains_possible():
    fast = {"tire.speed_symbol": {"more-than": "V"}}
    old = one({"permit": {"fact": "tire.speed_symbol", "values": ["H", "V"]}}, when=fast)
    new = one({"prohibit": {"fact": "tire.speed_symbol", "values": ["ZR", "W", "Y", "(Y)"]}})
    assert changes_of([old], [new]) == ()
    assert said_of([old], [one({"prohibit": {"fact": "tire.speed_symbol", "values": ["W", "Y", "(Y)"]}})]) == [
        "used-tire-installation, tire.speed_symbol ZR: tire.speed_symbol one of H, V -> no limit (looser)"
    ]


def test_a_counted_floor_is_not_settled_by_the_smallest_reading():
    def floor(figure: str) -> dict[str, Any]:
        counted = {"grooves": "center", "places": 1}
        return {"limit": {"fact": "tire.tread_depth", "at-least": figure, "counted": counted}}

    when = {"tire.tread_depth": {"less-than": "2 mm"}}
    assert said_of([one(floor("2 mm"), when=when)], [one(floor("3 mm"), when=when)]) == [
        "used-tire-installation, tire.tread_depth less than 2 mm: tire.tread_depth at least 2 mm in the groove "
        "nearest the center at 1 place -> at least 3 mm in the groove nearest the center at 1 place (tighter)"
    ]


def test_a_finding_that_a_rule_speaks_to_is_settled():
    cracks = rule(
        "cracks",
        "limit: {fact: tire.crack_depth, at-most: 1 mm}",
        when="{findings: [weather-cracking]}",
        activity="road-use",
    )
    old, new = place(TREAD), place(TREAD, cracks)
    found = limit_changes(old.rules, new.rules)
    assert [str(change) for change in found if change.kind is Kind.COVERAGE] == [
        "road-use: findings that a rule now speaks to, where a case with one was undetermined unless another pack "
        "did: weather-cracking (coverage)"
    ]
    case = us_case(
        **{**DRIVING, "findings": ["weather-cracking"], "tire": {"tread_depth": "5 mm", "crack_depth": "0.5 mm"}}
    )
    assert [world("", each).decide(case).verdict for each in (old, new)] == ["undetermined", "within-limits"]
    back = [str(change) for change in limit_changes(new.rules, old.rules) if change.kind is Kind.COVERAGE]
    assert "no rule speaks to any longer" in back[0]


def test_a_bar_on_worn_tires_is_no_floor_and_a_company_settles_nothing():
    worn = rule("worn", "disqualify: {findings: [worn-to-indicators]}", activity="road-use")
    assert [change.subject for change in limit_changes(place().rules, place(worn).rules)] == ["findings"]
    shop = invented_pack(TREAD, coverage="{road-use: rules}")
    assert [change.kind for change in limit_changes((), shop.rules)] == [Kind.TIGHTER]


# --- what a repair leads to -------------------------------------------------------------------------------------------

ON_REPAIRS = "limit: {fact: repair.diameter, at-most: 6 mm}"


def test_a_rule_that_takes_up_repairs_still_judges_the_repair_being_made():
    old = [rule("size", ON_REPAIRS, activity="road-use")]
    new = [rule("size", ON_REPAIRS, activity="repair, road-use")]
    tread = rule("tread", "limit: {fact: tire.tread_depth, at-least: 1 mm}", activity="repair, road-use")
    found = limit_changes(place(*old).rules, place(*new).rules)
    assert [str(change) for change in found] == ["repair: repair.diameter no limit -> at most 6 mm (tighter)"]
    case = us_case(injuries=injury(diameter="8 mm"))
    assert {world(SIZE + tread, place(*each)).decide(case).verdict for each in (old, new)} == {"outside-limits"}
    assert effects(limit_changes(place(*new).rules, place(*old).rules)) == {Effect.LOOSER}


def test_a_rule_that_takes_up_repairs_sees_what_a_repair_removes():
    # Under a repair a rule on driving does not see the leak, so it applies; as the repair's own it sees it.
    body = {"limit": {"fact": "tire.crack_depth", "at-most": "1 mm"}, "when": {"findings": {"not": "leak"}}}
    old, new = one(body, activity=["road-use"]), one(body, activity=["repair", "road-use"])
    assert said_of([old], [new]) == [
        "repair, with what it leads to, with the finding leak: tire.crack_depth at most 1 mm -> no limit (looser)",
        "repair, without the finding leak: tire.crack_depth no limit -> at most 1 mm (tighter)",
    ]
    # One that asks for a leak can never apply under a repair, nor disqualify for one.
    for body in (
        {"limit": {"fact": "tire.crack_depth", "at-most": "1 mm"}, "when": {"findings": "leak"}},
        {"disqualify": {"findings": ["leak"]}},
    ):
        old, new = one(body, activity=["road-use"]), one(body, activity=["repair", "road-use"])
        assert {change.activities for change in changes_of([old], [new])} == {("repair",)}


def test_a_figure_that_moves_for_both_is_told_once():
    old = one(at_most("6 mm"), activity=["repair", "road-use"])
    assert said_of([old], [{**old, **at_most("8 mm")}]) == [
        "repair and road-use: repair.diameter at most 6 mm -> at most 8 mm (looser)"
    ]


# --- bounds of the work -----------------------------------------------------------------------------------------------


def test_too_many_cells_are_an_error_and_never_a_cut(monkeypatch):
    facts = ("tire.section_width", "tire.tread_width", "tire.belt_width")
    old = [
        one(at_most(f"{10 + step} mm"), f"r{place}-{step}", when={fact: {"at-least": f"{10 * step} mm"}})
        for place, fact in enumerate(facts)
        for step in range(1, 4)
    ]
    new = [one(at_most("10 mm"), "all")]
    assert effects(changes_of(old, new)) == {Effect.TIGHTER}
    monkeypatch.setattr(regions, "MOST_STEPS", 100)
    with pytest.raises(TooManyCellsError) as caught:
        changes_of(old, new)
    assert str(caught.value) == (
        "the rules on repair.diameter (used-tire-installation) cannot be compared: together they test "
        "tire.section_width, tire.tread_width, tire.belt_width, which makes more than 100 cells -- change fewer rules "
        "at a time, or let each rule test fewer facts"
    )
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)
    # Rules that nobody changed cost nothing.
    assert changes_of(old, [*old, one({"disqualify": {"findings": ["leak"]}}, "leak")]) != ()


def test_a_requirement_that_is_only_renamed_changes_nothing():
    body = {"require": {"steps": ["demount", "maker-standard"]}}
    found = compare_packs(pack_of([one(body, "a")]), pack_of([one(body, "b")]))
    assert found
    assert {change.kind for change in found} <= {Kind.TEXT, Kind.EVIDENCE}
