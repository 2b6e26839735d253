"""Bits worked by hand, exactness at bounds, what is forgotten, and rules that bits cannot judge."""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from fractions import Fraction
from itertools import islice
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import tirerules
from tests.deciding import SIZE, country, pack, rule, us_case, world
from tests.index.comparing import compare_whole, judged_by_bits
from tests.reference.drawing import drawn_cases
from tests.index.forgetting import remember
from tests.support import builtin_packs, injury, repair_case
from tirerules import Rulebook, Verdict, case_from_json
from tirerules.index import evaluate, plain
from tirerules.index.bits import ABSENT, Reader, Table
from tirerules.index.plan import Plan
from tirerules.index.rows import rows_of
from tirerules.strictest.bounds import Ceiling, Floor, Interval, all_of
from tirerules.vocabulary import FINDINGS

# --- a plan by hand ---------------------------------------------------------------------------------------------------

TWO = rule("hole", "limit: {fact: injury.diameter, at-most: 1/4 in}") + rule(
    "zone", "prohibit: {fact: injury.zone, values: [sidewall, bead]}", when="{tire.class: passenger}"
)
STEPS = rule("a-step", "require: {steps: [demount]}", when="{tire.run_flat: true}")


def plan_of(rules: str, activity: str = "repair", reading: str = "strict") -> Plan:
    return Plan(rows_of(pack(rules))["rules"], activity, (), ("US",), reading, False)


def test_a_small_plan_by_hand():
    plan = plan_of(TWO)
    assert plan.names == ("invented-shop/hole", "invented-shop/zone")  # rules 0 and 1 of 2
    # Bits 0-1: does not apply. 2-3: may not apply. 4-5: not satisfied. 6-7: perhaps not. 8: the one condition is open.
    # 9, 10, 11: injury.diameter, injury.zone, tire.class are unknown.
    diameter, zone, kind = (plan.tables[fact] for fact in ("injury.diameter", "injury.zone", "tire.class"))
    assert (diameter["6.35 mm"], diameter["6.36 mm"]) == (0, 1 << 4)
    assert diameter["6 mm to 7 mm"] == 1 << 4 | 1 << 6
    assert diameter[None] == 1 << 4 | 1 << 6 | 1 << 9
    assert diameter[ABSENT] == 1 << 0
    assert (zone["crown"], zone["bead"], zone[ABSENT]) == (0, 1 << 5, 1 << 1)
    assert zone[None] == 1 << 5 | 1 << 7 | 1 << 10
    assert (kind["passenger"], kind["bus"]) == (0, 1 << 1)
    assert kind[None] == 1 << 3 | 1 << 8 | 1 << 11


def test_a_requirement_stands_behind_what_limits_and_never_fails():
    plan = plan_of(STEPS + TWO)
    assert plan.names == ("invented-shop/hole", "invented-shop/zone", "invented-shop/a-step")
    assert plan.limiting == 0b011
    # Bits 0-2, 3-5, 6-8 and 9-11 are the rules; 12 is the condition of `zone`, 13 that of `a-step`.
    assert plan.tables["tire.run_flat"][False] == 1 << 2
    assert plan.tables["tire.run_flat"][True] == 0
    assert plan.tables["tire.run_flat"][None] & (1 << 14) - 1 == 1 << 5 | 1 << 13


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
    plan = plan_of(TWO)
    packed = plan.word("tire.class", kind) | plan.word("injury.zone", zone) | plan.tables["injury.diameter"][diameter]
    answers = evaluate.Answers()
    answers.add(plan, packed, plan.full)
    assert (answers.outcome, answers.sure, answers.relevant, answers.failing) == expected


def test_what_a_repair_removes_is_gone_for_what_it_leads_to():
    leak = "disqualify: {findings: [leak, bulge]}"
    plan = Plan(
        rows_of(pack(rule("drive", leak, activity="road-use") + rule("mend", leak)))["rules"],
        *("repair", ("road-use",), ("US",), "strict", False),
    )
    drive, mend = (plan.body_bits(at)[0] for at in range(2))
    assert plan.names == ("invented-shop/drive", "invented-shop/mend")
    findings = plan.tables["findings"]
    assert [findings[frozenset(found)] for found in ((), ("leak",), ("bulge",), ("leak", "bulge"))] == (
        [0, mend, drive | mend, drive | mend]
    )


# --- exactness --------------------------------------------------------------------------------------------------------


# Lengths around 1/4 in = 6.35 mm and 1/3 in = 8.4666... mm: on it, and a millionth of a millimeter to each side.
@pytest.mark.parametrize(
    ("figure", "below", "on", "above"),
    [
        ("1/4 in", ("6.349999 mm", "0.249999999 in"), ("6.35 mm", "1/4 in", "0.25 in", "8/32 in"), ("6.350001 mm",)),
        ("6.35 mm", ("6.349999 mm",), ("6.35 mm", "0.635 cm", "1/4 in"), ("6.350001 mm", "0.250000001 in")),
        ("1/3 in", ("8.466666 mm", "0.333333333 in"), ("1/3 in", "2/6 in", "127/15 mm"), ("8.466667 mm",)),
        ("2/3 in", ("16.933333 mm", "1/3 in"), ("2/3 in", "4/6 in", "254/15 mm"), ("16.933334 mm", "0.666666667 in")),
    ],
)
@pytest.mark.parametrize(
    ("bound", "passing"),
    [
        ("at-most", (True, True, False)),
        ("less-than", (True, False, False)),
        ("at-least", (False, True, True)),
        ("more-than", (False, False, True)),
    ],
)
def test_bounds_are_exact(bound, passing, figure, below, on, above):
    rulebook = world(SIZE + rule("figure", f"limit: {{fact: injury.diameter, {bound}: {figure}}}"))
    for texts, passes in zip((below, on, above), passing, strict=True):
        for text in texts:
            case = us_case(injuries=injury(diameter=text))
            for said in (case, case_from_json(case)):
                decision = rulebook.decide(said)
                assert judged_by_bits(decision)
                assert decision.verdict == (Verdict.WITHIN if passes else Verdict.OUTSIDE), text


@st.composite
def bounded(draw: st.DrawFn) -> dict[str, Any]:
    """A test of a number as rows have it: a ceiling, a floor, or both."""
    numbers = st.tuples(st.integers(0, 40), st.integers(1, 12), st.booleans())
    which = draw(st.sampled_from(("ceiling", "floor", "both")))
    return {
        "kind": "number",
        "ceiling": draw(numbers) if which != "floor" else None,
        "floor": draw(numbers) if which != "ceiling" else None,
    }


#: Numbers on the bounds above, close to them and between them; not in lowest terms.
numbers = st.builds(
    lambda above, below, off, times: ((above * 10**6 + off) * below * times, below * below * 10**6 * times),
    *(st.integers(0, 40), st.integers(1, 12), st.sampled_from((0, 0, 1, 500_000)), st.integers(1, 3)),
)


def _reference(test: dict[str, Any], value: Interval) -> bool | None:
    bounds = [
        made(Fraction(*test[name][:2]), test[name][2])
        for name, made in (("ceiling", Ceiling), ("floor", Floor))
        if test[name] is not None
    ]
    return all_of(bound.admits(value) for bound in bounds)


def _table(tests: list[dict[str, Any]]) -> Table:
    readers = [
        Reader(test, no=1 << 2 * at, maybe=2 << 2 * at, takes_out=0, cures=False, weak=False)
        for at, test in enumerate(tests)
    ]
    return Table("injury.diameter", "number", readers, 0)


@settings(max_examples=1_000, deadline=None)
@given(st.lists(bounded(), max_size=6), st.lists(st.tuples(numbers, numbers), min_size=1, max_size=6))
def test_a_table_answers_as_the_algebra_for_every_number_and_width(tests, spans):
    table = _table(tests)
    for ends in spans * 2:  # the second time from what is remembered
        low, high = sorted(ends, key=lambda end: Fraction(*end))
        wanted = 0
        for at, test in enumerate(tests):
            answer = _reference(test, Interval(Fraction(*low), Fraction(*high)))
            wanted |= {True: 0, False: 1, None: 2}[answer] << 2 * at
        assert table.span(*low, *high) == wanted


@settings(max_examples=500, deadline=None)
@given(st.lists(bounded(), min_size=1, max_size=6), numbers, numbers)
def test_two_numbers_at_one_place_are_the_same_to_every_rule(tests, one, other):
    table = _table(tests)
    same = [_reference(test, Interval(*[Fraction(*one)] * 2)) for test in tests] == (
        [_reference(test, Interval(*[Fraction(*other)] * 2)) for test in tests]
    )
    if table.place(*one) == table.place(*other):
        assert same
    assert (table.place(*one) < table.place(*other)) <= (Fraction(*one) < Fraction(*other))


def test_places_by_hand():
    """Bounds 2 and 5 make five places: below 2, on it, between, on 5, above; thirds are told apart from them."""
    test = {"kind": "number", "ceiling": [5, 1, True], "floor": [2, 1, False]}
    table = _table([test])
    assert [table.place(*each) for each in ((0, 1), (5, 3), (6, 3), (7, 3), (14, 3), (15, 3), (16, 3))] == (
        [0, 0, 1, 2, 2, 3, 4]
    )
    assert [table.span(*each, *each) for each in ((5, 3), (6, 3), (7, 3), (15, 3), (16, 3))] == [1, 1, 0, 0, 1]
    assert table.span(6, 3, 7, 3) == 2


# --- what is remembered -----------------------------------------------------------------------------------------------


def _answer(rulebook: Rulebook, said: Any) -> tuple[Any, ...]:
    decision = rulebook.decide(said)
    return decision.verdict, [(each.method, each.verdict) for each in decision.methods], decision.limits_method


def test_forgetting_changes_no_answer_and_nothing_grows_beyond_its_limit(monkeypatch):
    drawn = list(islice(drawn_cases(Random(8), builtin_packs()), 400))
    drawn += [
        repair_case(
            on=f"2026-{month:02}-{day:02}",
            injuries=injury(diameter=f"{day}/{month} mm"),
            findings=[FINDINGS[day % len(FINDINGS)]],
        )
        for month in range(1, 13)
        for day in range(1, 29)
    ]
    cases = [each for said in drawn for each in (said, case_from_json(said))]
    remembering = tirerules.load()
    wanted = [_answer(remembering, each) for each in cases]
    texts = [json.dumps(said) for said in drawn[::5]]
    told = [remembering.decide_json(text) for text in texts]
    most = 20
    remember(monkeypatch, most)
    forgetful = tirerules.load()
    assert [_answer(forgetful, each) for each in cases] == wanted
    assert [forgetful.decide_json(text) for text in texts] == told
    # What makes a table forget is remembered then, and there are values that it never forgets. Pieces of text are
    # forgotten between two forms, each of which has some dozens.
    held, free = _held(forgetful), _held(remembering)
    limits = defaultdict(lambda: most + 3, {"Memory.pieces": most + 100})
    assert {what: size for what, size in held.items() if size > limits[what]} == {}
    assert len(forgetful._book._memory._found) <= most + 1 < len(remembering._book._memory._found)
    growing = {"Book._by_day", "Book._places", "Memory.forms", "Plan.tables.values"}
    assert {what for what, size in free.items() if size > most + 3} >= growing


#: By class and attribute: as large as the rules make it, whatever is asked.
_FIXED = {"Plan.tables", "Plan.groups", "Plan.judging", "Plan.tread_guards"}


def _held(rulebook: Rulebook) -> dict[str, int]:
    """Return the size of the largest of everything that a rulebook remembers, by class and attribute."""
    sizes: Counter[str] = Counter()
    met: set[int] = set()

    def look(value: Any, name: str) -> None:
        if id(value) in met:
            return
        met.add(id(value))
        if isinstance(value, dict):
            sizes[name] = max(sizes[name], len(value))
            for each in (*value, *value.values()):
                look(each, f"{name}.values")
        elif isinstance(value, (tuple, list)):
            for each in value:
                look(each, name)
        if isinstance(value, Table):
            assert {None, ABSENT} <= value.keys()
        elif type(value).__module__.startswith("tirerules.index"):
            for slot in [slot for slot in type(value).__slots__ if hasattr(value, slot)]:
                look(getattr(value, slot), f"{type(value).__name__}.{slot}")

    look(rulebook._book, "")
    return {name: size for name, size in sizes.items() if name not in _FIXED}


def test_texts_and_sidewalls_are_forgotten(monkeypatch):
    rulebook = tirerules.load()
    sizes = [f"{width}/45R17" for width in range(155, 355, 5)]
    cases = [repair_case(tire={"size": size}, injuries=injury(diameter=f"{at}/7 mm")) for at, size in enumerate(sizes)]
    wanted = [_answer(rulebook, each) for each in cases]
    plain._SIDEWALLS.clear()
    plain._TEXTS["length"].clear()
    remember(monkeypatch, 5)
    for each, answer in zip(cases, wanted, strict=True):
        assert _answer(rulebook, each) == answer
        assert 0 < len(plain._SIDEWALLS) <= 6
        assert 0 < len(plain._TEXTS["length"]) <= 7


# --- what bits cannot judge -------------------------------------------------------------------------------------------

DRIVE = "road-use"
UNFIT = {
    "a size limit that reads an earlier repair": (
        rule("a", "limit: {fact: injury.diameter, at-most: 8 mm}", when="{repair.zone: crown}"),
        [us_case(earlier_repairs=[{"zone": zone}]) for zone in ("crown", "bead", None)],
    ),
    "a size limit that reads a pair": (
        rule("a", "limit: {fact: injury.diameter, at-most: 8 mm}", when="{repairs.overlap: false}"),
        [us_case(repairs={"overlap": overlap}, earlier_repairs=[{}]) for overlap in (True, False, None)],
    ),
    "a tread limit that reads an injury": (
        rule("a", "limit: {fact: tire.tread_depth, at-least: 2/32 in}", when="{injury.zone: crown}", activity=DRIVE),
        [us_case(activity=DRIVE, injuries=hurt) for hurt in ([], injury(), injury(zone="bead"), injury(zone=None))],
    ),
}


@pytest.mark.parametrize(("rules", "cases"), UNFIT.values(), ids=UNFIT)
def test_a_plan_that_does_not_fit_is_decided_by_the_reference(rules, cases):
    for rulebook in (
        world(rules),
        world(rules, country(rules=rule("b", "limit: {fact: injury.angle, at-most: 9 deg}"))),
    ):
        for case in cases:
            plan = rulebook.plan(("US",), case["activity"], "strict", case["on"])
            assert not plan.fits
            assert not compare_whole(rulebook, case)


def test_a_plan_that_fits_is_not():
    assert compare_whole(world(TWO), us_case())
