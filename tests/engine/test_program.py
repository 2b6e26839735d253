"""Programs worked by hand: instances and their lanes, masks and their planes, what covers every unknown word.

All rules are invented. A mask of a program with n instances has n bits for each plane, from the lowest: does not apply,
may not apply, is missed, is perhaps missed.
"""

from __future__ import annotations

from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.engine import EARLIER_SIZE, SIZE, asked, country, outcomes, pack, rule, us_case, world
from tests.support import injury
from tirerules.engine.kernel import INTS, judge, outcome
from tirerules.engine.program import Cover, Instance, Program
from tirerules.engine.tables import ABSENT
from tirerules.packs.pack import Pack
from tirerules.quantities import measure
from tirerules.vocabulary import FACTS, REPAIR_METHODS, Activity, answering

DRIVE = "road-use"


def program_of(rules: str, activity: str = "repair", methods: tuple[str, ...] = (), **more: Any) -> Program:
    """Return the program of the rules of an invented company's pack in the country US."""
    return of_packs([pack(rules)], activity, methods, **more)


def of_packs(packs: list[Pack], activity: str = "repair", methods: tuple[str, ...] = (), **more: Any) -> Program:
    wanted = set(answering(Activity(activity)))
    rules = [each for held in packs for each in held.rules if each.activities & wanted]
    return Program(rules, ("US",), activity, more.pop("reading", "strict"), methods, **more)


def named(found: Instance) -> tuple[str, str, str | None, bool]:
    return found.rule.id, found.lane, found.method, found.mended


# --- masks by hand ----------------------------------------------------------------------------------------------------

TWO = rule("hole", "limit: {fact: injury.diameter, at-most: 1/4 in}") + rule(
    "zone", "prohibit: {fact: injury.zone, values: [sidewall, bead]}", when="{tire.class: passenger}"
)
STEPS = rule("a-step", "require: {steps: [demount]}", when="{tire.run_flat: true}")


def test_a_small_program_by_hand():
    program = program_of(TWO)
    assert [named(each) for each in program.instances] == (
        [("hole", "injury", None, False), ("zone", "injury", None, False)]
    )
    # Bits 0-1: does not apply. 2-3: may not apply. 4-5: missed. 6-7: perhaps missed.
    diameter, zone, kind = (program.tables[fact] for fact in ("injury.diameter", "injury.zone", "tire.class"))
    assert (diameter[measure("6.35 mm")], diameter[measure("6.36 mm")]) == (0, 1 << 4)
    assert diameter[measure("6 mm to 7 mm")] == diameter[None] == 1 << 4 | 1 << 6
    assert diameter[ABSENT] == 1 << 0
    assert (zone["crown"], zone["bead"], zone[ABSENT]) == (0, 1 << 5, 1 << 1)
    assert zone[None] == 1 << 5 | 1 << 7
    assert (kind["passenger"], kind["bus"], kind[None]) == (0, 1 << 1, 1 << 3)
    assert (program.width, program.full, program.limiting, program.constant) == (2, 0b11, 0b11, 0)


@pytest.mark.parametrize(
    ("kind", "zone", "diameter", "expected"),
    [
        ("passenger", "crown", "5 mm", (2, 0b11, 0b11, 0)),
        ("passenger", "bead", "5 mm", (0, 0b11, 0b11, 0b10)),
        ("bus", "bead", "5 mm", (2, 0b01, 0b01, 0)),
        (None, "crown", "5 mm", (2, 0b01, 0b11, 0)),
        (None, "bead", "5 mm", (1, 0b01, 0b11, 0)),
        (None, "bead", "7 mm", (0, 0b01, 0b11, 0b01)),
        ("passenger", None, "5 mm", (1, 0b11, 0b11, 0)),
        ("passenger", "crown", None, (1, 0b11, 0b11, 0)),
        ("passenger", "crown", "6 mm to 7 mm", (1, 0b11, 0b11, 0)),
    ],
)
def test_answers_by_hand(kind, zone, diameter, expected):
    """Verdict (0 outside, 1 undetermined, 2 within), and the rules that surely apply, that may, and that fail."""
    program = program_of(TWO)
    known = {
        "tire.class": kind,
        "injury.zone": zone,
        "injury.diameter": None if diameter is None else measure(diameter),
    }
    mask, width = 0, program.width
    for fact, value in known.items():
        mask |= program.tables[fact][value]
    planes = (mask >> plane * width for plane in range(4))
    relevant, sure, failing, unsure = judge(*planes, program.full)
    assert (outcome(INTS, failing, unsure, gap=False), sure, relevant, failing) == expected


def test_a_requirement_stands_behind_what_limits_and_never_fails():
    program = program_of(STEPS + TWO)
    assert [each.rule.id for each in program.instances] == ["hole", "zone", "a-step"]
    assert (program.limiting, program.width) == (0b011, 3)
    table = program.tables["tire.run_flat"]
    assert (table[True], table[False], table[None]) == (0, 1 << 2, 1 << 5)
    worst = 0
    for each in program.tables.values():
        for value in (None, ABSENT):
            worst |= each[value]
    assert worst >> 2 * 3 & 0b100 == 0


def test_what_a_repair_removes_is_gone_for_what_it_leads_to():
    leak = "disqualify: {findings: [leak, bulge]}"
    program = program_of(rule("drive", leak, activity=DRIVE) + rule("mend", leak))
    drive, mend = (each.bit << 2 * program.width for each in program.instances)
    assert [each.rule.id for each in program.instances] == ["drive", "mend"]
    findings = program.tables["findings"]
    assert [findings[frozenset(found)] for found in ((), ("leak",), ("bulge",), ("leak", "bulge"))] == (
        [0, mend, drive | mend, drive | mend]
    )


def test_a_rule_that_is_told_by_two_facts_reads_both():
    program = program_of(
        rule("both", "limit: {fact: tire.age, at-most: 5 years}", when="{tire.retread: true, tire.run_flat: true}")
    )
    assert {fact: table[False] for fact, table in program.tables.items() if fact != "tire.age"} == (
        {"tire.retread": 1, "tire.run_flat": 1}
    )


def test_the_reading_chooses_the_figure_that_binds():
    """1/4 in = 6.35 mm: the strict reading takes the smaller of two printed figures, that as enacted the first."""
    printed = rule("two", "limit: {fact: injury.diameter, at-most: {value: 1/4 in, also-printed: 6 mm}}")
    found = {reading: program_of(printed, reading=reading) for reading in ("strict", "as-enacted")}
    masks = {reading: each.tables["injury.diameter"][measure("6.2 mm")] for reading, each in found.items()}
    assert masks == {"strict": 1 << 2, "as-enacted": 0}
    assert [str(each.instances[0].chosen) for each in found.values()] == ["6 mm", "1/4 in"]


# --- instances and lanes ----------------------------------------------------------------------------------------------

LANES = (
    rule("age", "limit: {fact: tire.age, at-most: 9 years}")
    + rule("angle", "limit: {fact: injury.angle, at-most: 25 deg}", when="{method: one-piece}")
    + rule("method", "permit: {fact: method, values: [one-piece, two-piece]}")
    + rule("repaired", "limit: {fact: repair.diameter, at-most: 6 mm}", activity=DRIVE)
    + rule(
        "repaired-by",
        "permit: {fact: repair.zone, values: [crown]}",
        when="{repair.method: {not: section}}",
        activity=DRIVE,
    )
    + rule("size", "limit: {fact: injury.diameter, at-most: 9 mm}")
    + rule("step", "require: {steps: [demount]}", when="{method: section}")
)


def test_a_rule_is_judged_once_for_each_method_and_for_the_repair_that_it_leads_to():
    program = program_of(LANES, methods=("one-piece", "section"))
    assert [named(each) for each in program.instances] == [
        ("age", "", None, False),
        ("repaired", "", None, False),
        ("repaired-by", "", None, False),
        ("size", "injury", None, False),
        ("angle", "one-piece", "one-piece", False),
        ("method", "one-piece", "one-piece", False),
        ("repaired", "one-piece", "one-piece", True),
        ("repaired-by", "one-piece", "one-piece", True),
        # No angle of a section repair is limited; the zone of one neither.
        ("method", "section", "section", False),
        ("repaired", "section", "section", True),
        ("step", "section", "section", False),
    ]
    assert {lane: [*_ids(program, mask)] for lane, mask in program.lanes.items()} == {
        "": ["age", "repaired", "repaired-by"],
        "injury": ["size"],
        "one-piece": ["angle", "method", "repaired", "repaired-by"],
        "section": ["method", "repaired", "step"],
    }
    assert sum(program.lanes.values()) == program.full
    assert program.by_injury == (program.full, program.full & ~program.lanes[""])
    assert [*_ids(program, program.each_repair)] == ["repaired", "repaired-by"]


def _ids(program: Program, mask: int) -> list[str]:
    return [each.rule.id for each in program.instances if each.bit & mask]


def test_the_repair_that_an_injury_becomes_is_read_by_the_facts_of_the_injury():
    program = program_of(LANES, methods=("one-piece",))
    by_name = {each.rule.id: each for each in program.instances if each.mended}
    assert by_name["repaired"].fact == "injury.diameter"
    assert by_name["repaired-by"].fact == "injury.zone"
    assert by_name["repaired-by"].tests == ()  # by which method it is repaired is known
    assert by_name["repaired"].named == ("repair.diameter",)  # a person is told what the pack says
    diameter = program.tables["injury.diameter"][measure("7 mm")]
    assert _ids(program, diameter >> 2 * program.width) == ["repaired"]
    assert _ids(program, program.tables["repair.diameter"][measure("7 mm")] >> 2 * program.width) == ["repaired"]
    assert diameter != program.tables["repair.diameter"][measure("7 mm")]


def test_of_the_new_repair_nobody_says_what_no_injury_says():
    """A rule on the side of a repair stays open of the repair that an injury becomes, and is asked of the earlier."""
    program = program_of(
        rule("side", "prohibit: {fact: repair.side, values: [left]}", activity=DRIVE), methods=("boot",)
    )
    (earlier, mended) = program.instances
    width = program.width
    assert (earlier.mended, mended.mended) == (False, True)
    assert program.constant == mended.bit << 2 * width | mended.bit << 3 * width
    assert program.tables["repair.side"]["left"] == earlier.bit << 2 * width


def test_nothing_is_repaired_under_another_act():
    program = program_of(LANES, DRIVE, REPAIR_METHODS)
    assert program.methods == ()
    assert [named(each) for each in program.instances] == (
        [("repaired", "", None, False), ("repaired-by", "", None, False)]
    )


def test_what_a_method_settles_is_known_before_any_case():
    program = program_of(LANES, methods=("one-piece", "boot"))
    (fits, other) = (each for each in program.instances if each.rule.id == "method")
    assert (fits.method, other.method) == ("one-piece", "boot")
    assert program.constant >> 2 * program.width == other.bit
    assert "method" not in program.tables


def test_a_rule_that_contradicts_never_surely_applies():
    height = rule(
        "height",
        "limit: {fact: tire.tread_depth, at-least: 1/16 in}",
        activity=DRIVE,
        more="contradicts: worn-to-indicators",
    )
    program = of_packs([pack(height, "invented-trade", "baseline")], DRIVE)
    assert program.constant == 1 << program.width
    assert not program.instances[0].located
    assert program.tread_guards == {"US": 0}


# --- what guards and judges -------------------------------------------------------------------------------------------


def test_only_located_ceilings_of_law_and_trade_guard_the_size():
    trade = pack(
        SIZE
        + rule("least", "limit: {fact: injury.diameter, at-least: 1 mm}")
        + rule("long", "limit: {fact: injury.length, at-most: 1 m}")
        + rule("one-piece", "limit: {fact: injury.diameter, at-most: 6 mm}", when="{method: one-piece}"),
        "invented-trade",
        "baseline",
    )
    shop = pack(rule("own", "limit: {fact: injury.diameter, at-most: 9 mm}"))
    program = of_packs([trade, shop], methods=("one-piece", "two-piece"))
    assert {method: _ids(program, guards) for method, guards in program.size_guards.items()} == (
        {"one-piece": ["size", "one-piece"], "two-piece": ["size"]}
    )


def test_a_floor_on_tread_guards_the_places_that_it_speaks_for():
    floor = "limit: {fact: tire.tread_depth, at-least: 2 mm}"
    packs = [
        pack(rule("trade", floor, activity=DRIVE), "invented-trade", "baseline"),
        country(rules=rule("land", floor, activity=DRIVE)),
        pack(rule("state", floor, activity=DRIVE), "US-NJ", "jurisdiction"),
        pack(rule("shop", floor, activity=DRIVE)),
    ]
    rules = [each for held in packs for each in held.rules]
    program = Program(rules, ("US-NJ", "US-SC"), DRIVE, "strict", ())
    assert {code: set(_ids(program, guards)) for code, guards in program.tread_guards.items()} == (
        {"US-NJ": {"trade", "land", "state"}, "US-SC": {"trade", "land"}}
    )


def test_what_judges_a_finding():
    trade = pack(
        rule("barred", "disqualify: {findings: [bulge, recalled]}")
        + rule("heard", "require: {steps: [demount]}", when="{findings: [recalled]}")
        + rule("grooves", "prohibit: {fact: tire.regrooved, values: [true]}"),
        "invented-trade",
        "baseline",
    )
    shop = pack(rule("own", "disqualify: {findings: [chemical-damage]}"))
    program = of_packs([trade, shop])
    assert {word: _ids(program, mask) for word, mask in program.judging.items()} == (
        {"bulge": ["barred"], "recalled": ["barred", "heard"], "regroove": ["grooves"]}
    )


# --- what covers every unknown word -----------------------------------------------------------------------------------

TWO_FACTS = ("axle.steer", "tire.construction")


def test_every_combination_of_unknown_words_is_counted():
    cover = Cover(TWO_FACTS)
    words = [FACTS[fact].values for fact in TWO_FACTS]
    assert cover.every == (1 << len(words[0]) * len(words[1])) - 1
    for fact, listed in zip(TWO_FACTS, words, strict=True):
        masks = [cover.holding[fact, word] for word in listed]
        assert sum(masks) == cover.every  # each combination has one word of each fact
        assert {mask.bit_count() for mask in masks} == {(cover.every).bit_count() // len(listed)}


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_a_cover_admits_what_a_condition_admits(data):
    """Reference: every combination tried on its own."""
    words = {fact: FACTS[fact].values for fact in TWO_FACTS}
    fact = data.draw(st.sampled_from(TWO_FACTS))
    chosen = data.draw(st.lists(st.sampled_from(words[fact]), min_size=1, unique=True))
    listed = ", ".join({"yes": "true", "no": "false"}.get(word, word) for word in chosen)
    (condition,) = pack(rule("any", "require: {steps: [demount]}", when=f"{{{fact}: [{listed}]}}")).rules[0].conditions
    found = Cover(TWO_FACTS).admitting(condition)
    for number, combination in enumerate(product(*words.values())):
        said = dict(zip(TWO_FACTS, combination, strict=True))
        assert bool(found >> number & 1) == (said[fact] in chosen)


def test_what_cannot_be_listed_is_not_counted():
    assert Cover.of(["tire.class", "axle.steer"]) is not None
    for number in ("tire.tread_depth", "vehicle.seats"):
        assert Cover.of([number]) is None
    assert Cover.of([fact for fact in FACTS if FACTS[fact].choosable]) is None  # too many to try


def test_a_program_counts_the_combinations_of_some_facts_once():
    program = program_of(TWO)
    assert program.cover(["tire.class", "axle.steer"]) is program.cover(["axle.steer", "tire.class"])
    assert program.cover(["tire.tread_depth"]) is program.cover(["tire.tread_depth"]) is None


# --- rules that read an injury, a repair and a pair together ----------------------------------------------------------


@pytest.mark.parametrize(
    ("zone", "outcome", "verdict", "questions"),
    [
        ("crown", {"passes"}, "within-limits", []),
        ("bead", set(), "undetermined", []),  # no limit on the injury's size was located
        (None, {"passes"}, "undetermined", ["repair.zone"]),
    ],
)
def test_a_size_limit_that_reads_an_earlier_repair(zone, outcome, verdict, questions):
    rules = rule("a", "limit: {fact: injury.diameter, at-most: 8 mm}", when="{repair.zone: crown}") + EARLIER_SIZE
    decision = world(rules).decide(us_case(earlier_repairs=[{"diameter": "4 mm", "zone": zone}]))
    assert (outcomes(decision, "invented-trade/a"), str(decision.verdict)) == (outcome, verdict)
    assert asked(decision) == questions


@pytest.mark.parametrize(
    ("overlap", "outcome", "verdict"),
    [(False, {"passes"}, "within-limits"), (True, set(), "undetermined"), (None, {"passes"}, "undetermined")],
)
def test_a_size_limit_that_reads_a_pair(overlap, outcome, verdict):
    rules = rule("a", "limit: {fact: injury.diameter, at-most: 8 mm}", when="{repairs.overlap: false}") + EARLIER_SIZE
    case = us_case(repairs={"overlap": overlap}, earlier_repairs=[{"diameter": "4 mm"}])
    decision = world(rules).decide(case)
    assert (outcomes(decision, "invented-trade/a"), str(decision.verdict)) == (outcome, verdict)


@pytest.mark.parametrize(
    ("hurt", "depth", "outcome", "verdict"),
    [
        ([], "1/32 in", set(), "undetermined"),  # the rule reads an injury, and there is none
        (injury(), "1/32 in", {"fails"}, "outside-limits"),
        (injury(), "2/32 in", {"passes"}, "undetermined"),  # an injury that is still open never passes
        (injury(zone="bead"), "1/32 in", set(), "undetermined"),
        (injury(zone=None), "1/32 in", {"unknown"}, "undetermined"),
    ],
)
def test_a_tread_limit_that_reads_an_injury(hurt, depth, outcome, verdict):
    rules = rule("a", "limit: {fact: tire.tread_depth, at-least: 2/32 in}", when="{injury.zone: crown}", activity=DRIVE)
    decision = world(rules).decide(us_case(activity=DRIVE, injuries=hurt, tire={"tread_depth": depth}))
    assert (outcomes(decision, "invented-trade/a"), str(decision.verdict)) == (outcome, verdict)
