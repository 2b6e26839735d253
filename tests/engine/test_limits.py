"""The ladder of each fact: strictest first, with the rules that bind, and both figures of a limit printed twice."""

from __future__ import annotations

import itertools
from fractions import Fraction
from types import MappingProxyType

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.engine import SIZE, everywhere, pack, rule, rungs, trade, us_case, with_packs, world
from tests.support import injury, repair_case
from tirerules import Decision, Quantity, Verdict
from tirerules.vocabulary import FACTS

DEPTH = "tire.thickness"


def on_depth(name: str, figure: str, **more: str) -> str:
    return rule(name, f"limit: {{fact: {DEPTH}, {figure}}}", **more)


def decide(rules: str, **changes) -> Decision:
    return world(SIZE + rules).decide(us_case(**changes))


def names(found: list[str]) -> list[str]:
    """Return rule names without the pack they all come from."""
    return [name.removeprefix("invented-trade/") for name in found]


# --- order and binding ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("figures", "order", "binds"),
    [
        ({"a": "at-most: 8 mm", "b": "at-most: 6 mm", "c": "at-most: 7 mm"}, ["b", "c", "a"], ["b"]),
        ({"a": "at-least: 8 mm", "b": "at-least: 6 mm", "c": "at-least: 7 mm"}, ["a", "c", "b"], ["a"]),
        # At one value the exclusive relation is the stricter.
        ({"a": "at-most: 6 mm", "b": "less-than: 6 mm"}, ["b", "a"], ["b"]),
        ({"a": "at-least: 6 mm", "b": "more-than: 6 mm"}, ["b", "a"], ["b"]),
        # Not at different values.
        ({"a": "less-than: 6.001 mm", "b": "at-most: 6 mm"}, ["b", "a"], ["b"]),
        # 1/4 in, 0.25 in and 6.35 mm are one length (1 in = 25.4 mm exactly), so these three tie.
        ({"a": "at-most: 1/4 in", "b": "at-most: 6.35 mm", "c": "at-most: .25 in"}, ["a", "b", "c"], ["a", "b", "c"]),
        ({"a": "at-most: 1/4 in", "b": "at-most: 6.36 mm"}, ["a", "b"], ["a"]),
        # A floor and a ceiling bind side by side.
        ({"a": "at-least: 2 mm", "b": "at-most: 6 mm", "c": "at-most: 7 mm"}, ["b", "c", "a"], ["a", "b"]),
    ],
    ids=[
        "ceilings",
        "floors",
        "exclusive ceiling",
        "exclusive floor",
        "lower beats exclusive",
        "ties",
        "near tie",
        "both",
    ],
)
def test_the_strictest_stands_first_and_binds(figures, order, binds):
    decision = decide("".join(on_depth(name, figure) for name, figure in figures.items()))
    assert names(rungs(decision, DEPTH)) == order
    assert names(list(decision.limits[DEPTH].binding)) == binds


@pytest.mark.parametrize("relation", ["at-most", "less-than", "at-least", "more-than"])
def test_a_figure_stands_under_its_relation_alone(relation):
    limits = decide(on_depth("one", f"{relation}: 6 mm")).limits[DEPTH]
    said = {name: getattr(limits, name.replace("-", "_")) for name in ("at-most", "less-than", "at-least", "more-than")}
    assert {name: str(value) for name, value in said.items() if value is not None} == {relation: "6 mm"}
    assert (limits.permitted, limits.prohibited) == (None, ())


def test_a_beaten_relation_shows_no_figure():
    limits = decide(on_depth("a", "at-most: 6 mm") + on_depth("b", "less-than: 6 mm")).limits[DEPTH]
    assert (limits.at_most, str(limits.less_than)) == (None, "6 mm")


def test_of_equal_figures_the_one_that_the_first_binding_rule_prints_is_shown():
    limits = decide(on_depth("b", "at-most: 6.35 mm") + on_depth("a", "at-most: 1/4 in")).limits[DEPTH]
    assert str(limits.at_most) == "1/4 in"


def test_a_count_is_limited_in_whole_numbers():
    counts = rule("two", "limit: {fact: repairs.count, at-most: 2}") + rule(
        "three", "limit: {fact: repairs.count, at-most: 3}"
    )
    limits = decide(counts).limits["repairs.count"]
    assert (limits.at_most, names(list(limits.binding))) == (2, ["two"])


def test_none_at_all_is_a_limit_too():
    limits = decide(rule("never", "limit: {fact: repairs.count, at-most: 0}")).limits["repairs.count"]
    assert limits.at_most == 0
    assert limits.at_most is not None


figures = st.tuples(
    st.sampled_from(["at-most", "less-than"]), st.sampled_from(["3 mm", "6 mm", "1/4 in", "6.35 mm", "3/8 in"])
)
MILLIMETERS = {
    "3 mm": Fraction(3),
    "6 mm": Fraction(6),
    "1/4 in": Fraction(635, 100),
    "6.35 mm": Fraction(635, 100),
    "3/8 in": Fraction(9525, 1000),
}


@settings(max_examples=40, deadline=None)
@given(st.lists(figures, min_size=1, max_size=5))
def test_the_binding_rules_are_those_that_no_other_is_stricter_than(said):
    """The strictest found by sorting, with the inch as 25.4 mm, is the strictest that the ladder shows."""
    decision = decide("".join(on_depth(f"r{at}", f"{rel}: {value}") for at, (rel, value) in enumerate(said)))
    strictness = [(MILLIMETERS[value], relation == "at-most") for relation, value in said]
    strictest = min(strictness)
    assert names(list(decision.limits[DEPTH].binding)) == [
        f"r{at}" for at, each in enumerate(strictness) if each == strictest
    ]
    ladder = [strictness[int(name[1:])] for name in names(rungs(decision, DEPTH))]
    assert ladder == sorted(strictness)


# --- rules that only may apply ----------------------------------------------------------------------------------------


def test_a_rule_that_only_may_apply_stands_last_and_never_binds():
    maybe = on_depth("maybe", "at-most: 1 mm", when="{tire.retread: true}")
    decision = decide(maybe + on_depth("sure", "at-most: 6 mm"))
    limits = decision.limits[DEPTH]
    assert names(rungs(decision, DEPTH)) == ["sure", "maybe"]
    assert names(list(limits.binding)) == ["sure"]
    assert str(limits.at_most) == "6 mm"
    assert [(rung.applies, rung.when) for rung in limits.ladder] == [(True, ""), (None, "tire.retread is yes")]


def test_where_every_rule_only_may_apply_nothing_binds():
    limits = decide(on_depth("maybe", "at-most: 1 mm", when="{tire.retread: true}")).limits[DEPTH]
    assert (limits.at_most, limits.binding) == (None, ())
    assert len(limits.ladder) == 1


def test_a_rule_that_does_not_apply_is_no_rung():
    other = on_depth("other", "at-most: 1 mm", when="{tire.class: bus}")
    assert DEPTH not in decide(other).limits


def test_a_rule_that_surely_applies_to_one_injury_is_sure():
    cut = rule("cut", "limit: {fact: injury.diameter, at-most: 2 mm}", when="{injury.kind: cut}")
    decision = decide(cut, injuries=injury(kind=None) + injury(kind="cut"))
    rung = next(each for each in decision.limits["injury.diameter"].ladder if each.rule.id == "cut")
    assert rung.applies is True
    assert names(rungs(decision, "injury.diameter")) == ["cut", "size"]


def test_conditions_are_told_with_each_rung():
    both = on_depth("both", "at-most: 6 mm", when="{tire.class: [passenger, bus], tire.tread_depth: {at-least: 2 mm}}")
    (rung,) = decide(both).limits[DEPTH].ladder
    assert rung.when == "tire.class is passenger or bus; tire.tread_depth is at least 2 mm"


# --- two printed figures ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("reading", "limit", "at_most"), [("strict", "at most 6 mm", "6 mm"), ("as-enacted", "at most 1/4 in", "1/4 in")]
)
def test_both_printed_figures_are_always_visible(reading, limit, at_most):
    """The charts print "1/4 in (6 mm)": the figure as enacted and the other stand in the ladder in both readings."""
    limits = trade().decide(us_case(reading=reading)).limits["injury.diameter"]
    rung = next(each for each in limits.ladder if each.rule.id == "puncture-size")
    assert (rung.limit, rung.as_enacted, rung.also_printed) == (limit, "at most 1/4 in", "6 mm")
    assert str(limits.at_most) == at_most


def test_a_limit_printed_once_has_no_second_figure():
    (rung,) = decide(on_depth("once", "at-most: 6 mm")).limits[DEPTH].ladder
    assert (rung.limit, rung.as_enacted, rung.also_printed) == ("at most 6 mm", "at most 6 mm", "")


def test_the_reading_changes_the_order_of_the_ladder():
    rules = on_depth("dual", "at-most: {value: 1/4 in, also-printed: 6 mm}") + on_depth("plain", "at-most: 6.2 mm")
    assert names(rungs(decide(rules), DEPTH)) == ["dual", "plain"]
    assert names(rungs(decide(rules, reading="as-enacted"), DEPTH)) == ["plain", "dual"]


def test_an_extended_rung_shows_the_figure_that_it_extends():
    unit = {"method": "one-piece", "rated_angle": "35 deg", "document": "invented data sheet 12"}
    limits = trade().decide(us_case(repair_unit=unit)).limits["injury.angle"]
    rung = next(each for each in limits.ladder if each.rule.id == "one-piece-angle")
    assert (rung.limit, rung.as_enacted, rung.extended) == ("at most 35 deg", "at most 25 deg", True)


# --- words ------------------------------------------------------------------------------------------------------------


def zones(name: str, body: str, values: str) -> str:
    return rule(name, f"{body}: {{fact: injury.zone, values: [{values}]}}")


def test_permitted_values_meet_by_intersection():
    rules = (
        zones("a", "permit", "crown, shoulder") + zones("b", "permit", "crown, bead") + zones("c", "permit", "crown")
    )
    limits = decide(rules).limits["injury.zone"]
    assert (limits.permitted, names(list(limits.binding))) == (("crown",), ["c"])


def test_permitted_sets_that_only_together_are_strictest_both_bind():
    rules = zones("a", "permit", "crown, shoulder") + zones("b", "permit", "crown, bead")
    limits = decide(rules).limits["injury.zone"]
    assert (limits.permitted, names(list(limits.binding))) == (("crown",), ["a", "b"])


def test_prohibited_values_meet_by_union():
    rules = (
        zones("a", "prohibit", "bead") + zones("b", "prohibit", "sidewall, bead") + zones("c", "prohibit", "shoulder")
    )
    decision = decide(rules)
    limits = decision.limits["injury.zone"]
    assert (limits.prohibited, names(list(limits.binding))) == (("bead", "shoulder", "sidewall"), ["b", "c"])
    assert limits.permitted is None
    assert names(rungs(decision, "injury.zone")) == ["b", "a", "c"]


def test_permitted_and_prohibited_values_stand_side_by_side():
    limits = decide(zones("a", "permit", "crown, bead") + zones("b", "prohibit", "bead")).limits["injury.zone"]
    assert (limits.permitted, limits.prohibited) == (("bead", "crown"), ("bead",))
    assert names(list(limits.binding)) == ["a", "b"]


def test_disqualifying_findings_are_prohibited_values():
    rules = rule("a", "disqualify: {findings: [bulge]}") + rule("b", "disqualify: {findings: [bead-damage]}")
    limits = decide(rules).limits["findings"]
    assert (limits.prohibited, names(list(limits.binding))) == (("bead-damage", "bulge"), ["a", "b"])
    assert [rung.limit for rung in limits.ladder] == ["none of bulge", "none of bead-damage"]


def test_a_flag_is_permitted_or_prohibited_as_yes_and_no():
    limits = decide(rule("a", "prohibit: {fact: tire.retread, values: [true]}")).limits["tire.retread"]
    assert limits.prohibited == ("yes",)
    assert limits.ladder[0].limit == "none of yes"


def test_a_requirement_limits_nothing():
    assert set(decide(rule("steps", "require: {steps: [demount]}")).limits) == {"injury.diameter"}


# --- the whole --------------------------------------------------------------------------------------------------------


def test_the_facts_stand_in_the_order_in_which_a_person_would_be_asked():
    limits = trade().decide(us_case()).limits
    assert list(limits) == [name for name in FACTS if name in limits]
    assert {"findings", "injury.diameter", "injury.zone", "method"} <= set(limits)


def test_limits_of_a_place_need_no_measurements():
    """Who asks for the limits alone states the place, the activity and the tire, and measures nothing."""
    limits = trade().limits({"jurisdictions": ["US"], "activity": "repair", "tire": {"class": "passenger"}})
    assert str(limits["injury.diameter"].at_most) == "6 mm"
    assert str(limits["injury.angle"].at_most) == "25 deg"
    assert limits["injury.zone"].permitted == ("crown",)
    assert limits["injury.diameter"].binding == ("industry/puncture-size",)


def test_limits_are_those_of_the_decision():
    assert everywhere().limits(repair_case()) == everywhere().decide(repair_case()).limits


def test_every_rung_carries_its_source():
    for code in everywhere().codes:
        for limits in everywhere().decide(repair_case(jurisdictions=[code])).limits.values():
            assert all(rung.rule.source.citation and rung.rule.source.evidence for rung in limits.ladder)
            assert set(limits.binding) <= {rung.rule.name for rung in limits.ladder if rung.applies}


def test_limits_cannot_be_changed():
    limits = trade().limits(us_case())
    assert isinstance(limits, MappingProxyType)
    with pytest.raises(AttributeError, match="a FactLimits never changes"):
        limits["injury.diameter"].binding = ()


@pytest.mark.parametrize("order", list(itertools.permutations(["5 mm", "6 mm", "7 mm"])))
def test_an_overlay_never_loosens_the_strictest(order):
    own, other, third = order
    rulebook = world(
        on_depth("base", f"at-most: {own}") + SIZE,
        pack(on_depth("mine", f"at-most: {other}")),
        pack(on_depth("units", f"at-most: {third}"), "invented-units", "repair-material"),
    )
    at_most = rulebook.decide(us_case()).limits[DEPTH].at_most
    assert isinstance(at_most, Quantity)
    assert at_most.exact == 5


def test_the_strictest_limit_is_the_one_the_verdict_turns_on():
    own = pack(rule("own", "limit: {fact: injury.diameter, less-than: 5 mm}"))
    for size, verdict in (("4.999 mm", Verdict.WITHIN), ("5 mm", Verdict.OUTSIDE)):
        decision = with_packs(trade(), own).decide(us_case(injuries=injury(diameter=size)))
        assert str(decision.limits["injury.diameter"].less_than) == "5 mm"
        assert decision.verdict is verdict
