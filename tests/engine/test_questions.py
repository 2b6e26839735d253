"""Which facts are asked for: as few as can settle it, the most decisive first, none whose answer changes nothing."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.engine import SIZE, asked, everywhere, outcomes, pack, rule, trade, us_case, with_packs, world
from tests.support import injury, repair_case
from tirerules import Decision, Verdict
from tirerules.engine.entries import entries
from tirerules.engine.needs import needs_of
from tirerules.engine.questions import smallest_cover
from tirerules.vocabulary import FACTS, Fact, Kind

OLD = "limit: {fact: tire.age, at-most: 5 years}"


# --- by example -------------------------------------------------------------------------------------------------------


def test_one_fact_that_settles_two_rules_is_asked_instead_of_two_facts():
    rules = rule("age", OLD, when="{tire.retread: true}")
    rules += rule("depth", "limit: {fact: tire.tread_depth, at-least: 9 mm}", when="{tire.retread: true}")
    decision = world(SIZE + rules).decide(us_case(tire={"tread_depth": None}))
    assert outcomes(decision, "invented-trade/age") == outcomes(decision, "invented-trade/depth") == {"unknown"}
    assert asked(decision) == ["tire.retread"]


def test_what_only_one_fact_can_settle_is_asked_and_nothing_that_it_settles_with():
    rules = rule("age", OLD)
    rules += rule("old-retread", "limit: {fact: tire.age, at-most: 1 year}", when="{tire.retread: true}")
    assert asked(world(SIZE + rules).decide(us_case())) == ["tire.age"]


def test_the_fact_that_settles_most_stands_first_after_the_inspection():
    rules = rule("found", "disqualify: {findings: [bulge]}")
    rules += rule("age", OLD) + rule("age-too", "limit: {fact: tire.age, at-least: 1 day}")
    rules += rule("width", "limit: {fact: vehicle.gvwr, at-most: 9000 kg}")
    rules += rule("depth", "limit: {fact: tire.tread_depth, at-least: 1 mm}")
    decision = world(SIZE + rules).decide(us_case(findings=None, tire={"tread_depth": None}))
    # Those that settle one rule each stand in the order of the vocabulary.
    assert asked(decision) == ["findings", "tire.age", "tire.tread_depth", "vehicle.gvwr"]


@pytest.mark.parametrize(
    ("changes", "verdict"),
    [
        ({"injuries": injury(diameter="8 mm", zone=None, angle=None, kind=None)}, Verdict.OUTSIDE),
        ({"findings": ["bead-damage"], "tire": {"class": None}}, Verdict.OUTSIDE),
        ({"tire": {"sealant_layer": None, "retread": None}, "shop": {"full_service": None}}, Verdict.WITHIN),
    ],
    ids=["too large", "bead damage", "whatever the sealant layer"],
)
def test_a_settled_case_asks_nothing_however_much_is_unknown(changes, verdict):
    decision = trade().decide(us_case(**changes))
    assert (decision.verdict, asked(decision)) == (verdict, [])


def test_where_one_method_passes_the_others_are_not_asked_about():
    decision = trade().decide(us_case(injuries=injury(angle=None)))
    assert decision.verdict is Verdict.WITHIN
    assert asked(decision) == []


def test_where_one_method_passes_only_what_bears_on_all_of_them_is_asked():
    decision = trade().decide(us_case(injuries=injury(angle=None), tire={"tread_depth": None}))
    assert (decision.verdict, asked(decision)) == (Verdict.UNDETERMINED, ["tire.tread_depth"])


def test_the_method_that_takes_the_fewest_answers_is_asked_about():
    rules = rule("slow", OLD, when="{method: one-piece}")
    rules += rule("slow-too", "limit: {fact: vehicle.gvwr, at-most: 9000 kg}", when="{method: one-piece}")
    rules += rule("quick", "limit: {fact: injury.length, at-most: 1 m}", when="{method: two-piece}")
    rules += rule("never", "prohibit: {fact: method, values: [section]}")
    assert asked(world(SIZE + rules).decide(us_case())) == ["injury.length"]


def test_a_method_that_no_answer_can_save_is_not_asked_about():
    rules = rule("size", "limit: {fact: injury.diameter, at-most: 6 mm}", when="{method: two-piece}")
    rules += rule("quick", OLD, when="{method: section}")
    rules += rule("wide", "limit: {fact: vehicle.gvwr, at-most: 9000 kg}", when="{method: two-piece}")
    rules += rule("long", "limit: {fact: injury.length, at-most: 1 m}", when="{method: two-piece}")
    # No ceiling on size was located for one-piece and section repairs: they stay open whatever is answered.
    decision = world(rules).decide(us_case())
    assert decision.verdict is Verdict.UNDETERMINED
    assert sorted(asked(decision)) == ["injury.length", "vehicle.gvwr"]


def test_each_injury_is_asked_about_by_its_number():
    decision = world(SIZE).decide(us_case(injuries=injury(diameter=None) + injury() + injury(diameter=None)))
    assert [(each.fact, each.subject) for each in decision.questions] == [
        ("injury.diameter", "injury 1"),
        ("injury.diameter", "injury 3"),
    ]


def test_a_single_injury_needs_no_number():
    (question,) = world(SIZE).decide(us_case(injuries=injury(diameter=None))).questions
    assert (question.fact, question.subject) == ("injury.diameter", "")


def test_where_an_answer_can_no_longer_permit_it_may_still_forbid():
    """An agricultural tire meets a gap that no answer closes; its worn tread would still be a clear no."""
    decision = trade().decide(us_case(tire={"class": "agricultural", "tread_depth": None}))
    assert outcomes(decision, "engine/limit-located") == {"unknown"}
    assert asked(decision) == ["tire.tread_depth"]
    worn = trade().decide(us_case(tire={"class": "agricultural", "tread_depth": "1 mm"}))
    assert worn.verdict is Verdict.OUTSIDE


@pytest.mark.parametrize(
    ("limit", "unit"),
    [
        ("limit: {fact: tire.age, at-most: 5 years}", "years"),
        ("limit: {fact: tire.thickness, at-most: 1 mm}", "mm or in"),
        ("limit: {fact: injury.angle, at-most: 25 deg}", "deg"),
        ("limit: {fact: vehicle.gvwr, at-most: 5000 kg}", "kg or lb"),
        ("prohibit: {fact: tire.retread, values: [true]}", "yes or no"),
        ("permit: {fact: tire.construction, values: [radial]}", "radial, bias"),
        ("disqualify: {findings: [bulge]}", ""),
    ],
)
def test_a_question_comes_with_its_wording_and_unit(limit, unit):
    case = us_case(findings=None, injuries=injury(angle=None))
    (question,) = world(SIZE + rule("asks", limit)).decide(case).questions
    assert question.unit == unit
    assert question.ask == FACTS[question.fact].question


def test_a_commercial_rule_is_asked_about_only_where_the_tire_would_fail_it():
    """The example of the design: a rule on commercial vehicles matters only if the use is unknown and it would fail."""
    commercial = rule("commercial", "limit: {fact: tire.tread_depth, at-least: 4 mm}", when="{vehicle.use: commercial}")
    rulebook = world(SIZE + commercial)
    for depth, questions in (("5 mm", []), ("3 mm", ["vehicle.use"])):
        case = us_case(vehicle={"use": None}, tire={"tread_depth": depth})
        assert asked(rulebook.decide(case)) == questions


# --- smallest sets, against trying every set --------------------------------------------------------------------------

NAMES = [name for name, fact in FACTS.items() if fact.kind is not Kind.RECORDS][:9]


def chosen_for(groups: Iterable[Iterable[str]]) -> list[str]:
    """Return the facts that are asked for open answers, each of which any one of a group of facts can settle."""
    return [name for name, _ in smallest_cover([(frozenset((name, "") for name in each), None) for each in groups])]


def hits_all(chosen: Iterable[str], groups: Iterable[Iterable[str]]) -> bool:
    return all(set(chosen) & set(group) for group in groups)


@given(st.lists(st.frozensets(st.sampled_from(NAMES), min_size=1, max_size=4), max_size=7))
def test_the_set_asked_for_is_one_of_the_smallest(groups):
    found = chosen_for(groups)
    smallest = next(
        size
        for size in range(len(NAMES) + 1)
        if any(hits_all(chosen, groups) for chosen in itertools.combinations(NAMES, size))
    )
    assert hits_all(found, groups)
    assert len(found) == smallest


@given(st.lists(st.frozensets(st.sampled_from(NAMES), min_size=1, max_size=4), max_size=6), st.randoms())
def test_the_order_of_rules_does_not_change_what_is_asked(groups, random):
    shuffled = list(groups)
    random.shuffle(shuffled)
    assert chosen_for(groups) == chosen_for(shuffled)


def test_a_very_large_choice_is_still_covered():
    """Thirty facts in pairs that share nothing: too many sets to try them all, so the cover is found step by step."""
    names = [name for name, fact in FACTS.items() if fact.kind is not Kind.RECORDS][:32]
    groups = [pair for at in range(0, len(names), 2) for pair in (names[at : at + 2],)]
    found = chosen_for(groups)
    assert hits_all(found, groups)
    assert len(found) == len(groups)


# --- properties over the built-in rules -------------------------------------------------------------------------------

#: Values to try for a fact of each dimension: on both sides of the figures of the trade.
FIGURES = {
    "length": ["0 mm", "2 mm", "5 mm", "8 mm", "1 m"],
    "angle": ["0 deg", "30 deg", "60 deg"],
    "mass": ["1000 kg", "20000 kg"],
    "time": ["1 month", "30 years"],
}


def answers_to(fact: Fact) -> list[Any]:
    """Return values that a case may give to `fact`."""
    if fact.kind is Kind.QUANTITY:
        return FIGURES[str(fact.dimension)]
    if fact.kind is Kind.SET:
        return [[], ["bulge"], ["bead-damage", "recalled"]]
    if fact.kind is Kind.COUNT:
        return [1, 2, 9]
    if fact.kind is Kind.FLAG:
        return [True, False]
    if fact.kind is Kind.RECORDS:
        return [[]]
    return list(fact.values)


def answered(case: dict[str, Any], fact: Fact, value: Any) -> dict[str, Any]:
    """Return `case`, which has one injury, with one more fact known."""
    if fact.group == "injury":
        return {**case, "injuries": [{**case["injuries"][0], fact.key: value}]}
    if fact.group:
        return {**case, fact.group: {**case.get(fact.group, {}), fact.key: value}}
    return {**case, fact.name: value}


#: Facts from which no other follows: a size designation also says the load range, a place on the tread the zone.
SINGLE = {
    "tire": (
        *("class", "load_range", "speed_symbol", "construction", "body_ply", "sealant_layer", "run_flat", "foam_liner"),
        *("retread", "regrooved", "same_vehicle", "tread_depth", "age"),
    ),
    "vehicle": ("kind", "use", "gvwr"),
    "axle": ("steer",),
    "shop": ("full_service",),
    "sale": ("for_retreading",),
    "injury": ("kind", "diameter", "length", "angle", "zone"),
}


def single_facts(group: str) -> list[Fact]:
    return [FACTS[f"{group}.{key}"] for key in SINGLE[group]]


TIRE_FACTS = [fact for group in SINGLE for fact in single_facts(group)]


def known_of(group: str) -> st.SearchStrategy[dict[str, Any]]:
    optional = {fact.key: st.sampled_from(answers_to(fact)) for fact in single_facts(group)}
    return st.fixed_dictionaries({}, optional=optional)


cases = st.fixed_dictionaries(
    {
        "jurisdictions": st.sampled_from([["US-SC"], ["US-NJ"], ["US-CA", "US-OH"], ["US"]]),
        "activity": st.sampled_from(["repair", "repair", "repair", "used-tire-installation", "tire-sale", "road-use"]),
        "on": st.just("2026-11-25"),
        "tire": known_of("tire"),
        "vehicle": known_of("vehicle"),
        "axle": known_of("axle"),
        "injuries": known_of("injury").map(lambda found: [found]),
        "earlier_repairs": st.just([]),
    },
    optional={
        "findings": st.sampled_from([[], [], ["recalled"]]),
        "reading": st.sampled_from(["strict", "as-enacted"]),
    },
)


def needed(decision: Decision) -> set[str]:
    """Return every fact that some open rule, or some rule of the engine's own, still waits for."""
    evaluation = decision.evaluation
    program, unit = evaluation.program, evaluation.row.unit
    gaps = list(evaluation.gaps)
    for number, method in itertools.product(range(len(evaluation.injuries)), program.methods):
        gaps += evaluation.gaps_of(number, method)
    waiting = [
        needs_of(each.instance, each.subject, each.look.mask, program.width, unit)[0]
        for each in entries(evaluation, "", "injury", *program.methods)
        if each.outcome is None
    ]
    return {name for needs in (*waiting, *(gap.needs(evaluation) for gap in gaps)) for name, _ in needs}


def known(case: dict[str, Any], fact: Fact) -> bool:
    if fact.group == "injury":
        return fact.key in case["injuries"][0]
    return fact.key in case.get(fact.group, {}) if fact.group else fact.name in case


@settings(max_examples=150, deadline=None)
@given(cases, st.data())
def test_an_answer_to_a_fact_that_no_rule_waits_for_changes_no_verdict(case, data):
    decision = everywhere().decide(case)
    waiting = needed(decision)
    others = [fact for fact in TIRE_FACTS if fact.name not in waiting and not known(case, fact)]
    before = decision.verdict
    for fact in data.draw(st.lists(st.sampled_from(others), max_size=6, unique=True)) if others else []:
        value = data.draw(st.sampled_from(answers_to(fact)))
        assert everywhere().decide(answered(case, fact, value)).verdict is before, (fact.name, value)


@settings(max_examples=150, deadline=None)
@given(cases)
def test_a_question_is_asked_only_of_an_undetermined_case_and_only_of_what_a_rule_waits_for(case):
    decision = everywhere().decide(case)
    if decision.verdict is not Verdict.UNDETERMINED:
        assert decision.questions == ()
    assert set(asked(decision)) <= needed(decision)
    assert len(set(decision.questions)) == len(decision.questions)
    assert not any(known(case, FACTS[name]) for name in asked(decision))


#: One round of answers settles these; what a rule of another class of tire would ask is not in the way.
settled_cases = st.fixed_dictionaries(
    {
        "jurisdictions": st.just(["US"]),
        "activity": st.just("repair"),
        "on": st.just("2026-11-25"),
        "tire": st.fixed_dictionaries(
            {"class": st.sampled_from(["passenger", "motorcycle"])},
            optional={
                "tread_depth": st.sampled_from(["1 mm", "4 mm"]),
                "sealant_layer": st.booleans(),
                "speed_symbol": st.sampled_from(["J", "V"]),
            },
        ),
        "injuries": known_of("injury").map(lambda found: [found]),
    },
    optional={
        "findings": st.sampled_from([[], ["bulge"], ["bead-damage"]]),
        "earlier_repairs": st.just([]),
        "shop": st.fixed_dictionaries({"full_service": st.booleans()}),
    },
)


def settles(case: dict[str, Any], decision: Decision) -> bool:
    """Whether some answers to what is asked settle the verdict."""
    facts = [FACTS[name] for name in asked(decision)]
    for values in itertools.product(*(answers_to(fact) for fact in facts)):
        then = case
        for fact, value in zip(facts, values, strict=True):
            then = answered(then, fact, value)
        if trade().decide(then).verdict is not Verdict.UNDETERMINED:
            return True
    return False


@settings(max_examples=40, deadline=None)
@given(settled_cases)
def test_some_answers_to_what_is_asked_settle_the_verdict(case):
    decision = trade().decide(case)
    gap = any(reason.rule.startswith("engine/") for reason in decision.reasons) or any(
        reason.rule.startswith("engine/") for each in decision.methods for reason in each.reasons
    )
    if decision.verdict is Verdict.UNDETERMINED and not gap:
        assert asked(decision)
        assert settles(case, decision)


def test_answering_one_question_after_another_ends():
    """A counter that knows nothing but the place is led to a verdict, a question at a time."""
    plain = {
        "findings": [],
        "earlier_repairs": [],
        "repairs.overlap": False,
        "tire.class": "passenger",
        "tire.tread_depth": "6/32 in",
        "tire.sealant_layer": False,
        "shop.full_service": False,
        "injury.kind": "puncture",
        "injury.zone": "crown",
        "injury.diameter": "5 mm",
        "injury.angle": "20 deg",
    }
    case: dict[str, Any] = {"jurisdictions": ["US"], "activity": "repair", "on": "2026-11-25", "injuries": [{}]}
    for _ in plain:
        decision = trade().decide(case)
        if not decision.questions:
            break
        for name in asked(decision):
            case = answered(case, FACTS[name], plain[name])
    assert trade().decide(case).verdict is Verdict.WITHIN


def test_an_overlay_can_add_a_question():
    own = pack(rule("own", OLD))
    decision = with_packs(trade(), own).decide(us_case())
    assert (decision.verdict, asked(decision)) == (Verdict.UNDETERMINED, ["tire.age"])
    assert asked(everywhere().decide(repair_case())) == []
