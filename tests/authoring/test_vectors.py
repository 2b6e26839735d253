"""Test vectors: what is varied, that it is decided as the rules say, and that the same packs give the same bytes.

Where a rule is named `invented`, it and its pack are invented. The vectors of the built-in packs are made once: those
of some places for every run, those of all for the long one.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from fractions import Fraction
from functools import cache
from pathlib import Path
from random import Random
from types import SimpleNamespace

import jsonschema
import pytest

import tirerules
from tests.amounts import some_of
from tests.engine import SIZE, country, pack, rule, with_packs, world
from tests.reference.invent import invented_packs
from tirerules import CaseError, Rulebook, UnknownJurisdictionError
from tirerules.authoring.vectors import Untried, check, decided, plan, shown_by, untried
from tirerules.authoring.vectors.figures import above, below, in_other_unit, inside, straddling, text_of
from tirerules.data import folder
from tirerules.engine.parts import Outcome
from tirerules.packs.building import read_pack
from tirerules.packs.library import builtin, files_under
from tirerules.packs.rule import Require
from tirerules.quantities import measure, quantity
from tirerules.strictest.bounds import Ceiling, Floor, Strictest
from tirerules.vocabulary import ACTIVITIES, Dimension

ROOT = Path(__file__).parents[2]
MANY = 15_000
#: Places whose law has bodies, conditions and bars of most kinds; the baseline and their countries come with them.
SOME = ("CA-BC", "US-NJ")
VALID = jsonschema.Draft202012Validator(json.loads((folder("schemas") / "vectors.schema.json").read_text("utf-8")))


def problems(line):
    return [f"{line['id']}: {error.message}" for error in VALID.iter_errors(line)]


def made(rulebook, *codes):
    """Return every line for some codes by each of its ids, as data."""
    lines = [json.loads(each.text) for each in decided(rulebook, plan(rulebook, codes))]
    return {name: line for line in lines for name in (line["id"], *line["also"])}


def of_rule(rules, name="invented-trade/invented", **head):
    """Return what is varied of the invented rule in `rules`: variation -> line."""
    found = made(world(rules, **head) if not isinstance(rules, Rulebook) else rules)
    return {key.removeprefix(f"{name}/"): line for key, line in found.items() if key.startswith(f"{name}/")}


def outcome(line, name="invented-trade/invented"):
    """Return what an invented rule says in a line: fails, unknown, or nothing against it."""
    return next((said for said in ("failing", "unknown") if name in line["expect"][said]), "")


def outcomes(found, *names):
    return {name: outcome(found[name]) for name in names}


# --- all packs --------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module", params=some_of([SOME, ()], 1), ids=["some places", "all"])
def everything(request):
    """Every vector of the built-in packs that answer for some places, or of all, decided."""
    rulebook = tirerules.load()
    lines, shown = [], set()
    for each in decided(rulebook, plan(rulebook, request.param)):
        shown.update(shown_by(each.answer))
        lines.append(each.json)
    packs = rulebook.packs_for(request.param or rulebook.codes)
    return SimpleNamespace(rulebook=rulebook, codes=request.param, packs=packs, lines=lines, shown=shown)


@pytest.mark.long
def test_the_full_set_stays_within_its_budget():
    assert 5_000 < len(plan(tirerules.load())) < MANY


def test_every_line_is_valid_by_its_schema(everything):
    assert [problem for line in everything.lines for problem in problems(line)] == []


def test_lines_stand_in_the_order_of_their_ids_and_no_id_stands_twice(everything):
    first = [line["id"] for line in everything.lines]
    assert first == sorted(first)
    names = [name for line in everything.lines for name in (line["id"], *line["also"])]
    assert len(names) == len(set(names))
    assert all(line["id"] < min(line["also"], default="~") for line in everything.lines)


def test_no_case_stands_twice(everything):
    cases = [json.dumps(line["case"]) for line in everything.lines]
    assert len(cases) == len(set(cases))


def test_every_rule_is_shown_to_pass_and_to_fail_or_a_reason_is_given(everything):
    rules = {each.name: each for held in everything.packs for each in held.rules}
    found = list(untried(everything.rulebook, everything.codes, everything.shown))
    assert [str(each) for each in found if not each.why] == []
    # A requirement changes no verdict. The others are rules that nothing can meet: few, and each violated somewhere.
    # What only contradicts a finding never surely applies, and is neither.
    steps = {name for name, each in rules.items() if isinstance(each.body, Require) or each.contradicts}
    rest = [each for each in found if each.rule not in steps]
    assert {each.rule for each in found} >= steps
    assert {each.outcomes for each in rest} <= {(Outcome.PASSES,)}
    assert len(rest) < 8
    failing = {name for line in everything.lines for name in line["expect"]["failing"]}
    assert failing >= set(rules) - steps


def test_every_rule_is_exercised_under_its_own_name(everything):
    rules = {each.name for held in everything.packs for each in held.rules}
    named = {"/".join(name.split("/")[:2]) for line in everything.lines for name in (line["id"], *line["also"])}
    assert named >= rules
    assert {name for name in named - rules if "/plain." not in name} == set()


def test_every_place_answers_for_every_activity_whether_it_has_a_rule_or_not(everything):
    asked = {(line["case"]["jurisdictions"][0], line["case"]["activity"]) for line in everything.lines}
    codes = {held.id for held in everything.packs} & set(everything.rulebook.codes)
    assert asked == {(code, activity) for code in codes for activity in ACTIVITIES}
    assert codes >= {*SOME, "US", "CA"}


def test_every_case_names_its_day(everything):
    assert all(line["case"]["on"] for line in everything.lines)


def test_a_part_of_the_set_says_what_the_whole_says(everything):
    whole = {name: line for line in everything.lines for name in (line["id"], *line["also"])}
    part = plan(everything.rulebook, ["CA-BC"])
    names = {name: each for each in part for name in (each.id, *each.also)}
    assert {name.partition("/")[0] for name in names} == {"CA-BC", "CA", "industry"}
    assert names.keys() <= whole.keys()
    said = [json.loads(each.text) for each in decided(everything.rulebook, part[::10])]
    assert [(line["id"], line["case"], line["packs"]) for line in said] == [
        (line["id"], whole[line["id"]]["case"], whole[line["id"]]["packs"]) for line in said
    ]


def test_limits_printed_in_the_packs_are_asked_at_and_on_both_sides(everything):
    """Each figure is found again in the file as printed, and its rule judges the neighbors by its own words."""
    whole = {name: line for line in everything.lines for name in (line["id"], *line["also"])}
    tried = 0
    for held in everything.packs:
        for each in held.rules:
            body = each.body
            if not hasattr(body, "relation") or not hasattr(body.value, "exact") or body.also or str(body.counted):
                continue
            prefix = next(
                name for name in (each.name, *(f"{each.name}/{act}" for act in ACTIVITIES)) if f"{name}/at" in whole
            )
            answer = "unknown" if each.contradicts else "failing"  # what only contradicts a finding never fails
            barred = {where: each.name in whole[f"{prefix}/{where}"]["expect"][answer] for where in SIDES}
            conditioned = any(condition.fact == body.fact for condition in each.conditions)
            if not conditioned:
                assert barred == SIDES_BARRED[body.relation], each.name
                tried += 1
            assert body.value.text in json.dumps(whole[f"{prefix}/at"]["case"], ensure_ascii=False)
    assert tried > (12 if everything.codes else 40)


SIDES = ("below", "at", "above")
SIDES_BARRED = {
    "at-most": {"below": False, "at": False, "above": True},
    "less-than": {"below": False, "at": True, "above": True},
    "at-least": {"below": True, "at": False, "above": False},
    "more-than": {"below": True, "at": True, "above": False},
}


# --- figures ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("figure", "expected"),
    [
        ("3/8 in", ("9.524 mm", "9.526 mm", "9.525 mm")),
        ("6 mm", ("5.999 mm", "6.001 mm", "30/127 in")),
        ("2/32 in", ("1.587 mm", "1.588 mm", "1.5875 mm")),
        ("1/3 in", ("8.466 mm", "8.467 mm", "127/15 mm")),
        ("25 deg", ("24.999 deg", "25.001 deg", None)),
        ("89.9995 deg", ("89.999 deg", None, None)),
        ("0 mm", (None, "0.001 mm", "0 in")),
        ("10000 lb", ("4535.923 kg", "4535.924 kg", "4535.9237 kg")),
        ("1900 kg", ("1899.999 kg", "1900.001 kg", None)),
        ("10 years", ("3652 day", "3653 day", "3652.5 day")),
    ],
)
def test_the_figures_beside_a_limit(figure, expected):
    dimension = next(each for each in Dimension if _reads(figure, each))
    said = quantity(figure, dimension)
    found = (below(said.exact, dimension), above(said.exact, dimension), in_other_unit(said))
    assert found == expected
    low, high, other = (None if text is None else quantity(text, dimension).exact for text in found)
    assert low is None or low < said.exact
    assert high is None or high > said.exact
    assert other in (None, said.exact)
    both = straddling(said.exact, dimension)
    assert (both is None) is (None in (low, high))
    if both is not None:
        across = measure(both, dimension)
        assert across.low.exact < said.exact < across.high.exact


def _reads(text, dimension):
    try:
        return bool(quantity(text, dimension))
    except tirerules.QuantityError:
        return False


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Fraction(9525, 1000), "9.525 mm"),
        (Fraction(5), "5 mm"),
        (Fraction(1, 3), "1/3 mm"),
        (Fraction(5, 1000), "0.005 mm"),
    ],
)
def test_a_number_is_written_exactly(value, text):
    assert text_of(value, "mm") == text
    assert quantity(text, Dimension.LENGTH).exact == value


@pytest.mark.parametrize(
    ("wanted", "dimension", "found"),
    [
        (Strictest(), Dimension.LENGTH, 1),
        (Strictest(ceiling=Ceiling.of(Fraction(6), True)), Dimension.LENGTH, 3),
        (Strictest(floor=Floor.of(Fraction(2), False)), Dimension.LENGTH, 4),
        (Strictest(floor=Floor.of(Fraction(50), True)), Dimension.ANGLE, 70),
        (Strictest(floor=Floor.of(Fraction(2), True), ceiling=Ceiling.of(Fraction(2), True)), Dimension.LENGTH, 2),
        (Strictest(ceiling=Ceiling.of(Fraction(0), False)), Dimension.LENGTH, None),
        (Strictest(ceiling=Ceiling.of(Fraction(1), True)), None, 0),
        (Strictest(floor=Floor.of(Fraction(1), False), ceiling=Ceiling.of(Fraction(2), True)), None, 2),
    ],
)
def test_a_number_well_inside(wanted, dimension, found):
    assert inside(wanted, dimension) == found


# --- what is varied ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("relation", SIDES_BARRED)
def test_a_limit_is_tried_just_below_at_and_just_above(relation):
    found = of_rule(rule("invented", f"limit: {{fact: injury.length, {relation}: 1/2 in}}") + SIZE)
    barred = {where: outcome(found[where]) == "failing" for where in SIDES}
    assert barred == SIDES_BARRED[relation]
    said = {where: found[where]["case"]["injuries"][0]["length"] for where in (*SIDES, "at-in-other-unit")}
    assert said == {"below": "12.699 mm", "at": "1/2 in", "above": "12.701 mm", "at-in-other-unit": "12.7 mm"}
    assert (outcome(found["at-in-other-unit"]) == "failing") is SIDES_BARRED[relation]["at"]
    assert outcome(found["straddling"]) == "unknown"
    assert outcome(found["unknown"]) == "unknown"
    assert found["unknown"]["expect"]["questions"] == ["injury.length"]
    assert "length" not in found["unknown"]["case"]["injuries"][0]
    assert "injuries" not in found["unknown-unrecorded"]["case"]
    key = relation.replace("-", "_")
    assert found["at"]["expect"]["limits"]["injury.length"] == {
        key: "1/2 in",
        "binding": ["invented-trade/invented"],
    }


def test_the_start_passes_and_the_violated_case_does_not():
    found = of_rule(rule("invented", "limit: {fact: injury.angle, at-most: 5 deg}") + SIZE)
    assert found["start"]["expect"]["verdict"] == "within-limits"
    assert found["violated"]["expect"]["verdict"] == "outside-limits"
    assert found["violated"]["case"]["injuries"][0]["angle"] == "5.001 deg"


def test_both_figures_of_a_dual_limit_are_tried_in_both_readings():
    found = of_rule(rule("invented", "limit: {fact: injury.diameter, at-most: {value: 1/4 in, also-printed: 6 mm}}"))
    expected = {
        "below": "failing",
        "at": "failing",
        "above": "failing",
        "below/as-enacted": "",
        "at/as-enacted": "",
        "above/as-enacted": "failing",
        "also-below": "",
        "also-at": "",
        "also-above": "failing",
        "also-below/as-enacted": "",
        "also-at/as-enacted": "",
        "also-above/as-enacted": "",
    }
    assert outcomes(found, *expected) == expected
    assert {name for name in found if "as-enacted" in name} == {name for name in expected if "as-enacted" in name}
    assert found["also-above/as-enacted"]["expect"]["limits"]["injury.diameter"]["at_most"] == "1/4 in"


def test_a_count_is_tried_one_below_at_and_one_above():
    found = of_rule(rule("invented", "limit: {fact: repairs.count, at-most: 2}") + SIZE)
    counts = {where: found[where]["case"]["repairs"]["count"] for where in SIDES}
    assert counts == {"below": 1, "at": 2, "above": 3}
    assert outcomes(found, *SIDES) == {"below": "", "at": "", "above": "failing"}
    assert found["unknown"]["expect"]["questions"] == ["earlier_repairs"]


def test_a_count_that_no_repair_can_keep_is_not_stated():
    found = of_rule(rule("invented", "limit: {fact: repairs.count, less-than: 1}") + SIZE)
    assert {where for where in SIDES if where in found} == {"at", "above"}


@pytest.mark.parametrize(("body", "good"), [("permit", {"crown", "shoulder"}), ("prohibit", {"bead", "belt-edge"})])
def test_every_word_is_tried_inside_and_outside(body, good):
    values = "[crown, shoulder]" if body == "permit" else "[crown, shoulder, sidewall]"
    found = of_rule(rule("invented", f"{body}: {{fact: injury.zone, values: {values}}}") + SIZE)
    words = {name.removeprefix("word-") for name in found if name.startswith("word-")}
    assert words == {"crown", "shoulder", "belt-edge", "sidewall", "bead"}
    assert {word for word in words if outcome(found[f"word-{word}"]) == ""} == good
    assert outcome(found["unknown"]) == "unknown"


def test_each_finding_is_tried_present_absent_and_not_recorded():
    found = of_rule(rule("invented", "disqualify: {findings: [bulge, leak]}", activity="road-use"))
    assert found["start"]["case"]["findings"] == []
    assert outcomes(found, "start", "found-bulge", "found-leak", "unknown") == {
        "start": "",
        "found-bulge": "failing",
        "found-leak": "failing",
        "unknown": "unknown",
    }
    assert "findings" not in found["unknown"]["case"]
    # A repair removes the leak, and not the bulge.
    assert outcomes(found, "under-repair/found-bulge", "under-repair/found-leak") == {
        "under-repair/found-bulge": "failing",
        "under-repair/found-leak": "",
    }


TREAD = "limit: {{fact: tire.tread_depth, at-least: 2/32 in, counted: {{grooves: {grooves}, places: {places}}}}}"


@pytest.mark.parametrize(
    ("grooves", "places", "passing", "open_"),
    [
        ("two-adjacent", 3, {"one-groove", "not-adjacent", "one-place-fewer", "neighbors-of-six"}, True),
        ("any-two", 2, {"one-groove", "one-place-fewer"}, True),
        ("center", 1, {"beside-center"}, False),
        ("every", 2, {"all-but-one-groove", "one-place-fewer"}, True),
        ("any-one", 3, {"one-place-fewer", "neighbors-of-six"}, True),
    ],
)
def test_a_counted_tread_limit_is_tried_on_grids_of_both_sides(grooves, places, passing, open_):
    limit = TREAD.format(grooves=grooves, places=places)
    found = of_rule(rule("invented", limit, activity="road-use"))
    assert outcomes(found, "below/grid", "at/grid", "above/grid") == {
        "below/grid": "failing",
        "at/grid": "",
        "above/grid": "",
    }
    near = {name.removeprefix("worn-") for name in found if name.startswith("worn-")}
    said = {name: outcome(found[f"worn-{name}"]) for name in near}
    assert {name for name, what in said.items() if what == ""} == passing
    assert ("too-few-places-read" in said and said["too-few-places-read"] == "unknown") is open_
    assert said["elsewhere"] == "failing"
    # The smallest reading alone can pass such a law, never fail it.
    assert outcomes(found, "below", "at") == {"below": "unknown", "at": ""}
    assert found["below"]["expect"]["questions"] == ["tire.tread_grid"]
    worn = found["below/grid"]["case"]["tire"]["tread_grid"]
    assert (len(worn), len(worn[0]), sum(depth == "1.587 mm" for row in worn for depth in row)) == (
        3,
        5,
        places * {"two-adjacent": 2, "any-two": 2, "center": 1, "every": 5, "any-one": 1}[grooves],
    )


def test_where_no_tread_is_too_shallow_none_is_made_so():
    limit = "limit: {fact: tire.tread_depth, at-least: 0 mm, counted: {grooves: any-two, places: 2}}"
    found = of_rule(rule("invented", limit, activity="road-use"))
    assert outcomes(found, "at/grid", "above/grid") == {"at/grid": "", "above/grid": ""}
    assert [name for name in found if name.startswith("worn-") or "below" in name or "violated" in name] == []


BAND = """
- id: invented
  says: An invented band.
  activity: [repair]
  limit:
    fact: injury.reach
    less-than: {half-of: tire.section_width, share: [{through: 200 mm, share: 60 %}, {share: 70 %}]}
  source: text
- id: other
  says: Another invented band.
  activity: [repair]
  limit: {fact: injury.reach, less-than: {half-of: tire.tread_width, share: 1/2}}
  source: text
"""


def test_a_band_is_tried_on_both_sides_at_and_beyond_each_step():
    found = of_rule(BAND + SIZE)
    for prefix in ("", "at-200-mm/", "beyond-200-mm/"):
        assert [outcome(found[prefix + where]) for where in (*SIDES, "straddling")] == [
            "",
            "failing",
            "failing",
            "unknown",
        ]
        assert "invented-trade/other" not in found[f"{prefix}above"]["expect"]["failing"]
    at = found["at-200-mm/at"]["case"]
    # 60 % of 200 mm is 60 mm on each side, and the hole of 3 mm reaches 1.5 mm further than its middle.
    assert (at["tire"]["section_width"], at["injuries"][0]["from_centerline"]) == ("200 mm", "58.5 mm")
    assert found["beyond-200-mm/at"]["case"]["tire"]["section_width"] == "200.001 mm"
    assert found["inside/measured-only"]["expect"]["verdict"] == "within-limits"
    assert "zone" not in found["inside/measured-only"]["case"]["injuries"][0]
    assert outcome(found["outside/zone-only"]) == ""
    assert outcome(found["inside/width-unknown"]) == "unknown"
    assert found["inside/width-unknown"]["expect"]["questions"] == ["tire.size"]


def test_a_band_narrower_than_the_hole_is_tried_where_it_can_be_stated():
    found = of_rule(BAND.replace("share: 70 %", "share: 1 %") + SIZE)
    # Half of 1 % of 225 mm is 1.125 mm; the hole of 3 mm reaches 1.5 mm even in the middle.
    assert set(SIDES).isdisjoint(found)
    assert "at-200-mm/at" in found


EXTENDABLE = rule(
    "invented",
    "limit: {fact: injury.angle, at-most: 25 deg}",
    when="{method: one-piece}",
    more="extendable: {up-to: 35 deg, by: repair-material}",
)


def test_an_extension_is_tried_at_below_and_above_its_cap_documented_or_not():
    found = of_rule(EXTENDABLE + SIZE)
    binds = {
        "below-limit": ("12.5 deg", "12.5 deg"),
        "at-limit": ("25 deg", "25 deg"),
        "between": ("30 deg", "25 deg"),
        "at-cap": ("35 deg", "25 deg"),
        "above-cap": ("35 deg", "25 deg"),
    }
    for rating, (documented, undocumented) in binds.items():
        for papers, limit in (("documented", documented), ("undocumented", undocumented)):
            three = [found[f"unit-{rating}/{papers}/{where}"] for where in SIDES]
            assert [outcome(line) for line in three] == ["", "", "failing"]
            assert three[1]["case"]["injuries"][0]["angle"] == limit
            assert three[1]["expect"]["limits"]["injury.angle"]["at_most"] == limit
            assert ("document" in three[1]["case"]["repair_unit"]) is (papers == "documented")
    assert outcome(found["unit-for-other-method/above"]) == "failing"


PAIRS = [
    ("limit: {fact: repairs.spacing, at-least: 400 mm}", "repairs.spacing"),
    ("prohibit: {fact: repairs.overlap, values: [true]}", "repairs.overlap"),
    ("prohibit: {fact: repairs.opposed, values: [true]}", "repairs.opposed"),
    ("limit: {fact: repairs.spacing_angle, at-least: 60 deg}", "repairs.spacing_angle"),
]


@pytest.mark.parametrize("activity", ["repair", "used-tire-sale"])
@pytest.mark.parametrize(("body", "fact"), PAIRS)
def test_a_rule_on_pairs_is_tried_on_two_repairs(body, fact, activity):
    found = of_rule(rule("invented", body, activity=activity) + SIZE)
    start = found["start"]["case"]
    new = len(start["injuries"]) if activity == "repair" else 0
    assert new + len(start["earlier_repairs"]) == 2
    assert outcomes(found, "start", "violated") == {"start": "", "violated": "failing"}
    assert outcome(found["unknown"]) == "unknown"
    if body.startswith("limit"):
        assert outcomes(found, *SIDES) == {"below": "failing", "at": "", "above": ""}


def test_a_crack_is_measured_only_where_one_was_found():
    found = of_rule(rule("invented", "limit: {fact: tire.crack_depth, at-most: 3 mm}", activity="road-use"))
    assert outcomes(found, *SIDES) == {"below": "", "at": "", "above": "failing"}
    assert "weather-cracking" in found["above"]["case"]["findings"]


@pytest.mark.parametrize(
    ("when", "fact", "words", "applying"),
    [
        ("{tire.class: [bus, trailer]}", "tire.class", {"bus", "trailer", "passenger"}, {"bus", "trailer"}),
        ("{tire.class: {not: motorcycle}}", "tire.class", {"motorcycle", "passenger"}, {"passenger"}),
        ("{tire.load_range: {at-least: M}}", "tire.load_range", {"L", "M", "N"}, {"M", "N"}),
        ("{axle.steer: true}", "axle.steer", {"yes", "no"}, {"yes"}),
        ("{findings: [bulge, boot]}", "findings", {"bulge", "boot", "none"}, {"bulge", "boot"}),
        ("{findings: {not: bulge}}", "findings", {"bulge", "none"}, {"none"}),
    ],
)
def test_each_word_of_a_condition_is_tried_and_one_outside(when, fact, words, applying):
    found = of_rule(rule("invented", "limit: {fact: tire.age, at-most: 6 years}", when=when, activity="road-use"))
    prefix = f"when-{fact}-"
    tried = {name.removeprefix(prefix) for name in found if name.startswith(prefix)}
    assert {word for word in tried if not word.startswith("unknown")} == words
    assert {word for word in words if outcome(found[prefix + word]) == "failing"} == applying
    assert outcome(found[f"{prefix}unknown"]) == "unknown"
    assert fact in found[f"{prefix}unknown"]["expect"]["questions"]
    # A question whose answer changes nothing is not asked.
    assert outcome(found[f"{prefix}unknown-but-met"]) == ""


def test_both_ends_of_a_condition_are_tried_on_both_sides():
    when = "{vehicle.gvwr: {more-than: 10000 lb, at-most: 12000 kg}}"
    found = of_rule(rule("invented", "limit: {fact: tire.age, at-most: 6 years}", when=when, activity="road-use"))
    names = ("from/below", "from/at", "from/above", "to/below", "to/at", "to/above")
    assert [outcome(found[f"when-vehicle.gvwr-{name}"]) for name in names] == [
        "",
        "",
        "failing",
        "failing",
        "failing",
        "",
    ]
    assert found["when-vehicle.gvwr-from/at"]["case"]["vehicle"]["gvwr"] == "4535.9237 kg"
    assert outcome(found["when-vehicle.gvwr-from/straddling"]) == "unknown"


def test_both_sides_of_both_dates_are_tried():
    more = "in-force: {from: 2020-03-01, until: 2024-01-01}"
    limit = "limit: {fact: tire.age, at-most: 6 years}"
    found = of_rule(rule("invented", limit, activity="road-use", more=more))
    names = ("from/day-before", "from/day", "until/day-before", "until/day")
    days = [found[name]["case"]["on"] for name in names]
    assert days == ["2020-02-29", "2020-03-01", "2023-12-31", "2024-01-01"]
    assert [outcome(found[name]) for name in names] == ["", "failing", "failing", ""]
    # The pack was reviewed later: the rule is tried on the last day on which it binds.
    assert found["start"]["case"]["on"] == "2023-12-31"


def test_a_rule_that_starts_after_the_review_is_tried_on_its_first_day():
    more = "in-force: {from: 2030-01-01}"
    found = of_rule(rule("invented", "limit: {fact: injury.angle, at-most: 5 deg}", more=more) + SIZE)
    assert found["start"]["case"]["on"] == "2030-01-01"


def test_every_activity_that_answers_to_a_rule_is_tried_and_one_that_does_not():
    found = of_rule(rule("invented", "limit: {fact: tire.age, at-most: 6 years}", activity="road-use"))
    said = {name.split("/")[0]: outcome(line) for name, line in found.items() if name.endswith("/violated")}
    assert said == {
        "under-repair": "failing",
        "under-used-tire-installation": "failing",
        "under-inspection": "failing",
        "under-used-tire-sale": "",
    }
    assert outcome(found["under-inspection/at"]) == ""
    assert "under-used-tire-sale/at" not in found


def test_a_rule_with_several_activities_is_tried_under_each_by_its_name():
    limit = "limit: {fact: tire.age, at-most: 6 years}"
    found = of_rule(rule("invented", limit, activity="road-use, tire-sale"))
    assert {name.split("/")[0] for name in found} >= {"road-use", "tire-sale"}
    assert found["tire-sale/at"]["case"]["activity"] == "tire-sale"


def test_a_requirement_states_what_must_be_done():
    found = of_rule(rule("invented", "require: {steps: [demount]}", when="{tire.run_flat: true}") + SIZE)
    assert found["start"]["expect"]["requirements"] == ["demount"]
    assert found["when-tire.run_flat-no"]["expect"]["requirements"] == []
    assert "requirements" not in of_rule(SIZE, "invented-trade/size")["at"]["expect"]


def test_the_start_is_a_tire_on_which_the_rule_itself_binds():
    rules = rule("strict", "limit: {fact: injury.diameter, at-most: 3 mm}", when="{tire.class: passenger}")
    rules += rule("invented", "limit: {fact: injury.diameter, at-most: 8 mm}")
    found = of_rule(rules)
    assert found["at"]["expect"]["verdict"] == "within-limits"
    assert found["at"]["case"]["tire"]["class"] != "passenger"


# --- what no vector can show ------------------------------------------------------------------------------------------


def _untried(rules, *codes):
    rulebook = world(rules)
    shown = {each for one in decided(rulebook, plan(rulebook, codes)) for each in shown_by(one.answer)}
    return [each for each in untried(rulebook, codes, shown) if each.rule.endswith("/invented")]


NEVER_PASSES = "whatever meets its conditions violates it"
NEVER_FAILS = "whatever meets its conditions satisfies it"
PASSES, FAILS = (Outcome.PASSES,), (Outcome.FAILS,)
AGE = "limit: {fact: tire.age, at-most: 6 years}"


@pytest.mark.parametrize(
    ("body", "when", "activity", "outcomes", "why"),
    [
        (AGE, "{tire.age: {more-than: 6 years}}", "road-use", PASSES, NEVER_PASSES),
        (AGE, "{tire.age: {at-most: 5 years}}", "road-use", FAILS, NEVER_FAILS),
        ("limit: {fact: tire.tread_depth, at-least: 0 mm}", "", "road-use", FAILS, NEVER_FAILS),
        ("limit: {fact: repairs.count, at-most: 0}", "", "repair", PASSES, NEVER_PASSES),
        ("permit: {fact: axle.steer, values: [false]}", "{axle.steer: true}", "road-use", PASSES, NEVER_PASSES),
        ("prohibit: {fact: tire.class, values: [bus]}", "{tire.class: trailer}", "road-use", FAILS, NEVER_FAILS),
        ("disqualify: {findings: [bulge, boot]}", "{findings: bulge}", "road-use", PASSES, NEVER_PASSES),
        ("disqualify: {findings: [bulge]}", "{findings: {not: bulge}}", "road-use", FAILS, NEVER_FAILS),
        (
            "require: {steps: [demount]}",
            "",
            "repair",
            PASSES + FAILS,
            "it requires something to be done, and changes no verdict",
        ),
        (
            "disqualify: {findings: [bulge]}",
            "{method: section}",
            "tire-sale",
            PASSES + FAILS,
            "a method is judged for repairs alone, and it regulates none",
        ),
    ],
)
def test_what_no_vector_can_show_is_told_with_its_reason(body, when, activity, outcomes, why):
    found = _untried(rule("invented", body, when=when, activity=activity) + SIZE)
    assert found == [Untried("invented-trade/invented", outcomes, why)]
    never = " or ".join(outcomes)
    assert str(found[0]) == f"invented-trade/invented never {never} here: {why}"


def test_what_was_not_shown_though_it_could_be_is_told_too():
    rulebook = world(SIZE)
    found = list(untried(rulebook, (), {("invented-trade/size", Outcome.PASSES)}))
    assert [str(each) for each in found] == ["invented-trade/size never fails here: no case was found that shows it"]
    assert list(untried(rulebook, (), {("invented-trade/size", each) for each in PASSES + FAILS})) == []


def test_of_a_rule_that_was_never_tried_both_outcomes_are_told():
    found = [str(each) for each in untried(world(BAND), (), set())]
    assert found == [
        f"invented-trade/{name} never passes or fails here: no case was found that shows it"
        for name in ("invented", "other")
    ]


def test_an_ordinary_rule_leaves_nothing_untried():
    assert _untried(rule("invented", "limit: {fact: injury.angle, at-most: 5 deg}") + SIZE) == []


# --- places and packs -------------------------------------------------------------------------------------------------

OVERLAY = pack(rule("invented", "limit: {fact: injury.diameter, at-most: 4 mm}"))


def test_an_overlay_is_tried_in_every_place_that_is_asked_about():
    rulebook = with_packs(world(SIZE), OVERLAY, country("CA"))
    found = made(rulebook)
    assert found["invented-shop/invented/at@US"]["case"]["jurisdictions"] == ["US"]
    assert found["invented-shop/invented/at@CA"]["case"]["jurisdictions"] == ["CA"]
    one = made(rulebook, "CA", "CA")
    assert {name.partition("@")[2] for name in one if name.startswith("invented-shop/")} == {"CA"}
    assert one["invented-shop/invented/above@CA"]["expect"]["failing"] == ["invented-shop/invented"]
    assert set(one["invented-shop/invented/at@CA"]["packs"]) == {"CA", "invented-shop", "invented-trade"}


def test_a_place_without_a_rule_shows_what_it_answers():
    found = made(world(SIZE, country(coverage="{repair: none-located}")))
    assert found["US/plain.repair/start"]["expect"]["verdict"] == "within-limits"
    assert found["US/plain.road-use/start"]["expect"]["unknown"] == ["engine/law-reviewed", "engine/limit-located"]
    nothing = found["US/plain.repair/nothing-known"]
    assert nothing["case"] == {
        "jurisdictions": ["US"],
        "activity": "repair",
        "on": "2026-11-25",
        "reading": "strict",
    }
    assert nothing["expect"]["verdict"] == "undetermined"


def test_the_baseline_needs_a_country_to_be_tried_in():
    with pytest.raises(UnknownJurisdictionError):
        plan(Rulebook([pack(SIZE, "invented-trade", "baseline")]))


def test_an_unknown_place_is_refused():
    with pytest.raises(UnknownJurisdictionError, match="US-SC"):
        plan(world(SIZE), ["US-SX"])


def test_the_baseline_is_tried_in_the_first_country_that_is_held():
    rulebook = Rulebook([pack(SIZE, "invented-trade", "baseline"), country("CA")])
    assert made(rulebook)["invented-trade/size/at"]["case"]["jurisdictions"] == ["CA"]


# --- the same bytes ---------------------------------------------------------------------------------------------------

FEW = ("US.yaml", "US-NJ.yaml")
WRITE = """
import sys, tirerules
from tirerules.authoring.vectors import decided, plan
rulebook = tirerules.load(*sys.argv[1:], builtins=False)
for each in decided(rulebook, plan(rulebook, ["US-NJ"])):
    print(each.text)
"""


def test_the_same_packs_give_the_same_bytes_whatever_the_seed_and_the_order_of_files():
    files = [str(file) for file in files_under(builtin()) if file.name in FEW]

    def written(seed, order):
        run = subprocess.run(
            [sys.executable, "-c", WRITE, *order],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)},
            capture_output=True,
            check=True,
        )
        return run.stdout

    first = written("0", files)
    assert first.count(b"\n") > 200
    assert written("4711", files[::-1]) == first


def test_two_runs_give_the_same_bytes():
    rules = BAND + EXTENDABLE.replace("id: invented", "id: third") + SIZE
    first, second = ([each.text for each in decided(book, plan(book))] for book in (world(rules), world(rules)))
    assert first == second
    assert all(line.isascii() for line in first)


# --- invented packs ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", some_of(range(10), 3))
def test_any_pack_that_can_be_read_has_vectors_that_stand(seed):
    """Every body, condition, date and extension there is, in invented packs: nothing raises, every line is valid."""
    packs = invented_packs(Random(seed))
    rulebook = Rulebook([read_pack(json.dumps(each).encode(), f"{each['pack']}.yaml") for each in packs])
    lines = list(decided(rulebook, plan(rulebook)))
    assert [problem for each in lines[:: max(1, len(lines) // 100)] for problem in problems(each.json)] == []
    named = {"/".join(name.split("/")[:2]) for each in lines for name in (each.vector.id, *each.vector.also)}
    assert named >= {f"{each['pack']}/{one['id']}" for each in packs for one in each["rules"]}


# --- checking a file --------------------------------------------------------------------------------------------------


def _file(rulebook):
    return "".join(f"{each.text}\n" for each in decided(rulebook, plan(rulebook)))


def test_a_fresh_file_stands():
    rulebook = world(SIZE)
    found = check(_file(rulebook), rulebook)
    assert (found.vectors, found.differences) == (len(plan(rulebook)), ())


def test_a_changed_limit_is_found_with_the_vectors_it_changes():
    text = _file(world(SIZE))
    changed = check(text, world(SIZE.replace("50 mm", "49 mm"))).differences
    assert changed[0].startswith("pack invented-trade differs: recorded 1.0.0 (")
    assert not any(each.startswith("pack ") for each in changed[1:])
    assert "invented-trade/size/at: verdict: recorded within-limits, now outside-limits" in changed
    assert any(each.startswith("invented-trade/size/at: limits: recorded {'injury.diameter': ") for each in changed)


def test_a_changed_text_is_found_though_no_decision_changes():
    changed = check(_file(world(SIZE)), world(SIZE.replace("ceiling on size", "ceiling on the size"))).differences
    assert len(changed) == 1
    assert "pack invented-trade differs" in changed[0]


def test_a_pack_that_came_and_one_that_went_are_found():
    came = check(_file(world(SIZE)), with_packs(world(SIZE), OVERLAY)).differences
    assert any(each.startswith("pack invented-shop differs: recorded none, now 1.0.0") for each in came)
    went = check(_file(with_packs(world(SIZE), OVERLAY)), world(SIZE)).differences
    assert any(each.endswith("now none") for each in went)


def test_a_place_that_can_no_longer_be_asked_about_is_a_difference():
    text = _file(Rulebook([pack(SIZE, "invented-trade", "baseline"), country("CA")]))
    changed = check(text, world(SIZE)).differences
    assert any("holds no pack for CA" in each for each in changed)


def test_another_library_is_a_difference_told_once():
    text = _file(world(SIZE)).replace(f'"engine": "{tirerules.__version__}"', '"engine": "0.9.0"')
    assert check(text, world(SIZE)).differences == (
        f"the library is tirerules {tirerules.__version__}; the vectors were made with 0.9.0",
    )


def test_an_expectation_that_was_tampered_with_is_found():
    text = _file(world(SIZE)).replace('"questions": ["injury.diameter"]', '"questions": []', 1)
    assert [each.partition(": ")[2] for each in check(text, world(SIZE)).differences] == [
        "questions: recorded [], now ['injury.diameter']"
    ]


@cache
def _first_line():
    return _file(world(SIZE)).partition("\n")[0]


def _line(**changes):
    line = json.loads(_first_line())
    return json.dumps({key: value for key, value in {**line, **changes}.items() if value is not None})


@pytest.mark.parametrize(
    ("text", "line", "message"),
    [
        ("", 0, "the file holds no vectors"),
        ("\n\n", 0, "the file holds no vectors"),
        ("{", 1, "this is no JSON"),
        ("\n[]", 2, "this line is no vector"),
        ("{}", 1, "this vector has no 'id'"),
        (_line(expect=None), 1, "this vector has no 'expect'"),
        (_line(packs=[]), 1, "this vector has no 'packs', or one of the wrong kind"),
        (_line(packs={"US": "1.0.0"}), 1, "'packs' is no lock of packs"),
        (_line(expect={}), 1, "this vector expects nothing of 'limits'"),
        (_line(case={"activity": "repair"}), 1, "the key is missing"),
        (_line() + "\n" + _line(case={"jurisdictions": ["US"], "activity": "repare"}), 2, "'repare' is no activity"),
    ],
)
def test_what_is_no_vector_is_refused_with_its_place(text, line, message):
    with pytest.raises(CaseError) as caught:
        check(text, world(SIZE), "mine.jsonl")
    problem = caught.value.problems[0]
    assert (problem.file, problem.line) == ("mine.jsonl", line)
    assert message in problem.message
