"""Whether examples notice a changed rule, and whether the examples that are offered do. All packs are invented.

`US-UM` (no resident population) stands for a state of one's own; its rules and tickets are nobody's law.
"""

from __future__ import annotations

import pytest

from tests.authoring.mutating import OUTSIDE, RULES, SHALLOW, STATE, example, left, surviving
from tests.support import invented_pack
from tirerules.authoring.mutation.mutating import mutate
from tirerules.authoring.mutation.operators import KINDS, Place, mutants_of
from tirerules.authoring.mutation.report import pasting, scores, tables
from tirerules.authoring.mutation.steps import moved_ends, stepped
from tirerules.authoring.mutation.writing import yaml_lines
from tirerules.quantities import quantity
from tirerules.vocabulary import Dimension

OPEN = "{verdict: undetermined}"
#: A mutant of each kind, and the case that a person would write to notice it, with what must be expected.
FITTING = [
    ("tread bound at-least to more-than", "tire: {tread_depth: 4/32 in}", "{verdict: within-limits}"),
    ("tread figure-up 4/32 in to 5/32 in", "tire: {tread_depth: 4/32 in}", "{verdict: within-limits}"),
    ("tread figure-down 4/32 in to 3/32 in", SHALLOW, OUTSIDE),
    ("tread condition tire.class is passenger or light-truck", "tire: {class: bus, tread_depth: 3/32 in}", OPEN),
    ("tread word tire.class light-truck", "tire: {class: light-truck, tread_depth: 3/32 in}", OUTSIDE),
    ("tread act vehicle-sale", f"activity: vehicle-sale, {SHALLOW}", OUTSIDE),
    ("tread date start 2020-01-01 to 2019-12-31", f'"on": 2019-12-31, {SHALLOW}', OPEN),
    ("tread date start 2020-01-01 to 2020-01-02", f'"on": 2020-01-01, {SHALLOW}', OUTSIDE),
    ("tread rule", SHALLOW, OUTSIDE),
    ("tread word-added vehicle.use private", SHALLOW, OUTSIDE),
    ("tread act-added road-use", f"activity: road-use, {SHALLOW}", OPEN),
    ("zone word belt-edge", "earlier_repairs: [{zone: belt-edge}]", "{verdict: within-limits, because: [zone]}"),
    ("zone word-added sidewall", "earlier_repairs: [{zone: sidewall}]", OUTSIDE),
    ("condition word bulge", "findings: [bulge]", OUTSIDE),
    ("condition bound vehicle.gvwr to excluded", "findings: [bulge], vehicle: {gvwr: 10000 lb}", OUTSIDE),
    ("condition figure-up vehicle.gvwr to 10001 lb", "findings: [bulge], vehicle: {gvwr: 10001 lb}", OPEN),
    ("condition figure-down vehicle.gvwr to 9999 lb", "findings: [bulge], vehicle: {gvwr: 10000 lb}", OUTSIDE),
]


pytestmark = pytest.mark.usefixtures("standing_on_few")


# --- noticing ---------------------------------------------------------------------------------------------------------


def test_a_pack_without_examples_scores_nothing(write):
    found_ = scores(mutate(write(), offer=False))
    made, noticed = found_.overall
    assert made == sum(each for each, _ in found_.by_kind.values()) > 20
    assert noticed == 0
    assert all(made for made, _ in found_.by_kind.values())
    assert not found_.reached(1, 0)


@pytest.mark.parametrize(("mutant", "case", "expect"), FITTING, ids=[mutant for mutant, *_ in FITTING])
def test_a_mutant_survives_without_its_example_and_not_with_it(write, mutant, case, expect):
    assert mutant in left(write())
    noticed = mutate(write(example(case, expect)), offer=False)
    assert noticed.broken == ()
    assert mutant not in {str(each.mutant).partition("/")[2] for each in noticed.survivors}


def test_every_kind_has_a_fitting_example():
    assert {mutant.split()[1] for mutant, *_ in FITTING} == set(KINDS)


def test_an_example_that_does_not_hold_notices_nothing(write):
    wrong = mutate(write(example(SHALLOW, "{verdict: within-limits}")), offer=False)
    assert [problem.code for problem in wrong.broken] == ["example"]
    assert scores(wrong).overall[1] == 0


# --- the examples that are offered ------------------------------------------------------------------------------------


def test_the_examples_that_are_offered_notice_what_they_say(write):
    before = mutate(write())
    offered = {id(each.killer): each.killer for each in before.survivors if each.killer is not None}
    lines = ["\n".join(yaml_lines(killer)) for killer in offered.values()]
    assert max(len(line) for text in lines for line in text.split("\n")) <= 120
    after = mutate(write(*lines))
    assert after.broken == ()
    assert {str(each.mutant) for each in after.survivors} == {
        str(each.mutant) for each in before.survivors if each.killer is None
    }
    assert scores(after).reached(97, 95)


def test_what_is_printed_can_be_pasted_as_it_stands(write):
    printed = list(pasting(mutate(write()), {}))
    assert printed[0].startswith("# ")
    after = mutate(write("\n".join(printed[1:])))
    assert after.broken == ()
    assert scores(after).reached(97, 95)


def test_an_offered_example_says_no_more_than_it_must(write):
    offered = surviving(write())["tread figure-down 4/32 in to 3/32 in"].killer
    assert offered is not None
    assert set(offered.case) == {"tire"}
    assert offered.expect == {"verdict": "outside-limits", "because": ["tread"]}


def test_an_act_that_another_one_brings_along_is_told_as_equivalent(write):
    rules = RULES.replace("[tire-sale, vehicle-sale]", "[tire-sale, used-tire-sale]")
    coverage = "{tire-sale: rules, used-tire-sale: rules}"
    kept = surviving(write(rules=rules, coverage=coverage))["tread act used-tire-sale"]
    assert kept.killer is None
    assert kept.why.startswith("equivalent: ")


def test_what_must_be_done_is_noticed_by_the_steps(write):
    rules = """\
- id: steps
  says: Invented.
  activity: [road-use]
  when: {tire.class: passenger}
  require: {steps: [maker-standard]}
  source: text
"""
    head = {"rules": rules, "coverage": "{road-use: rules}"}
    removed = surviving(write(**head))["steps rule"]
    assert removed.killer is not None
    assert "maker-standard" in removed.killer.expect["steps"]


# --- the operators ----------------------------------------------------------------------------------------------------


def test_a_mutant_differs_from_its_rule_and_has_a_name_of_its_own():
    pack = invented_pack(RULES, **STATE)
    mutants = list(mutants_of(Place(pack, pack.rules)))
    assert len({str(mutant) for mutant in mutants}) == len(mutants)
    assert all(mutant.changed != mutant.rule for mutant in mutants)
    assert {mutant.kind for mutant in mutants} == set(KINDS)


def test_an_act_is_added_where_the_law_was_read_and_says_least():
    pack = invented_pack(RULES, **STATE)
    added = {str(each).partition("/")[2] for each in mutants_of(Place(pack, pack.rules)) if each.kind == "act-added"}
    # Of the acts that were reviewed, road use has no rule at all.
    assert added == {"tread act-added road-use", "zone act-added road-use", "condition act-added road-use"}


@pytest.mark.parametrize(
    ("figure", "up", "down"),
    [
        ("1/4 in", "9/32 in", "7/32 in"),
        ("4/32 in", "5/32 in", "3/32 in"),
        ("1 1/2 in", "49/32 in", "47/32 in"),
        ("3.2 mm", "3.3 mm", "3.1 mm"),
        ("6 mm", "7 mm", "5 mm"),
        ("0 mm", "1 mm", None),
    ],
)
def test_a_step_is_what_a_slip_of_the_pen_would_print(figure, up, down):
    exact = quantity(figure, Dimension.LENGTH)
    for step, expected in ((1, up), (-1, down)):
        moved = stepped(exact, step)
        assert moved == (None if expected is None else quantity(expected, Dimension.LENGTH))


def test_no_angle_reaches_a_right_one_and_no_count_is_negative():
    assert stepped(quantity("89 deg", Dimension.ANGLE), 1) is None
    assert stepped(0, -1) is None
    assert stepped(2, 1) == 3


def test_the_ends_of_a_range_move_but_for_those_of_the_list_itself():
    scale = ("A", "B", "C", "D", "E")
    assert moved_ends(frozenset("AB"), scale, 1) == [("A to C", frozenset("ABC"))]
    assert moved_ends(frozenset("BC"), scale, -1) == [("A to C", frozenset("ABC")), ("B to B", frozenset("B"))]
    assert moved_ends(frozenset("A"), scale, -1) == []
    assert moved_ends(frozenset("AC"), scale, 1) is None


# --- hostile packs ----------------------------------------------------------------------------------------------------

HOSTILE = """\
- id: first-day
  says: Invented.
  activity: [repair, used-tire-installation, used-tire-sale, tire-sale, vehicle-sale, road-use, inspection]
  when: {repairs.count: {at-least: 0, at-most: 999999999}, vehicle.gvwr: {more-than: 1/3 lb}}
  limit: {fact: tire.tread_depth, at-least: 0 mm}
  source: text
  in-force: {from: 0001-01-01, until: 9999-12-31}
- id: everything
  says: Invented.
  activity: [inspection]
  permit: {fact: tire.retread, values: [true, false]}
  source: text
- id: nothing-left
  says: Invented.
  activity: [repair]
  when: {tire.class: passenger, tire.retread: true}
  limit: {fact: injury.angle, at-most: 89.999999999 deg}
  source: text
- id: band
  says: Invented.
  activity: [repair]
  when: {injury.angle: {less-than: 0.0001 deg}}
  limit: {fact: injury.reach, at-most: {half-of: tire.tread_width, share: 1 %, inset: 999999999 m}}
  source: text
"""


def test_a_hostile_pack_is_mutated_like_any_other(write):
    acts = ("repair", "used-tire-installation", "used-tire-sale", "tire-sale", "vehicle-sale", "road-use", "inspection")
    coverage = "{" + ", ".join(f"{act}: rules" for act in acts) + "}"
    hostile = mutate(write(rules=HOSTILE, given="", coverage=coverage))
    assert scores(hostile).overall[0] > 20
    # The calendar has no day before its first one.
    assert not any(" date start " in str(each.mutant) for each in hostile.survivors)
    assert "\x1b" not in "\n".join(pasting(hostile, {})) + tables(scores(hostile))


def test_a_pack_without_rules_has_nothing_to_notice(write):
    empty = scores(mutate(write(rules="", given="", coverage="{road-use: none-located}")))
    assert empty.overall == (0, 0)
    assert empty.reached(100, 100)
