"""What a verdict does not say and a person should know. Every pack here is invented unless it is named otherwise."""

from __future__ import annotations

import pytest

from tests.engine import SIZE, country, everywhere, notices, pack, rule, trade, us_case, world
from tests.support import injury, pack_text, repair_case
from tirerules import Decision, Verdict
from tirerules.packs.building import read_pack
from tirerules.packs.pack import Pack

# --- what the packs of a place say of an activity ---------------------------------------------------------------------


def state(rules: str = "", **head: str) -> Pack:
    return pack(rules, "US-SC", "jurisdiction", **head)


def in_state(*packs: Pack) -> Decision:
    return world(SIZE, country(coverage="{repair: rules}", rules=SIZE), *packs).decide(repair_case())


def of_repair(decision: Decision, kind: str) -> list[str]:
    """Return the notices of one kind that speak of repair itself, not of the driving that it leads to."""
    return [text for text in notices(decision, kind) if "road-use" not in text]


def test_none_located_says_that_the_baseline_governs_and_when_that_was_looked_up():
    (said,) = of_repair(in_state(state(coverage="{repair: none-located}")), "none-located")
    assert said.startswith("Invented pack: no ")
    assert "repair" in said
    assert "reviewed 2026-11-25" in said
    assert said.endswith("baseline governs.")


@pytest.mark.parametrize("coverage", ["{repair: not-reviewed}", "{tire-sale: none-located}"], ids=["said", "silent"])
def test_not_reviewed_is_another_answer_whether_said_or_silent(coverage):
    decision = in_state(state(coverage=coverage))
    assert of_repair(decision, "none-located") == []
    assert of_repair(decision, "not-reviewed") == ["Invented pack: its law on repair has not been reviewed."]


def test_a_law_that_was_read_only_in_part_is_told_though_it_has_rules():
    decision = in_state(state(SIZE, coverage="{repair: partial}"))
    assert of_repair(decision, "partial") == ["Invented pack: its law on repair was read only in part."]
    assert of_repair(decision, "none-located") == of_repair(decision, "not-reviewed") == []


def test_a_place_with_rules_needs_no_notice_of_coverage():
    decision = in_state(state(SIZE))
    assert of_repair(decision, "none-located") == []
    assert of_repair(decision, "not-reviewed") == []


def test_the_baseline_and_overlays_make_no_notice_of_coverage():
    """Only places have law to be located; `world` holds a baseline and a country, of which the country is silent."""
    silent = country(coverage="{repair: none-located}")
    decision = world(SIZE, silent, pack(SIZE)).decide(us_case(activity="vehicle-sale", injuries=[]))
    assert len(notices(decision, "not-reviewed")) == 1


# --- how far the rules can be relied on -------------------------------------------------------------------------------


def graded(evidence: str, currency: str = "confirmed") -> Decision:
    """Decide by an invented state whose only rule rests on evidence of one grade."""
    text = pack_text(
        rule("own", "limit: {fact: injury.diameter, at-most: 40 mm}"),
        pack="US-SC",
        kind="jurisdiction",
        authority="statute",
    ).replace("evidence: text-read", f"evidence: {evidence}\n    currency: {currency}")
    return world(SIZE, read_pack(text.encode(), "US-SC.yaml")).decide(repair_case())


@pytest.mark.parametrize(
    ("evidence", "words"),
    [("secondary", "Known from a description, not from the text itself"), ("memory", "Known from memory only")],
)
def test_a_rule_whose_text_was_not_read_is_named(evidence, words):
    (said,) = notices(graded(evidence), "evidence")
    assert said.startswith(words)
    assert said.endswith(": US-SC/own.")


def test_a_rule_whose_text_was_read_is_not_mentioned():
    decision = graded("text-read")
    assert notices(decision, "evidence") == notices(decision, "currency") == []


def test_a_text_that_may_have_been_repealed_is_named():
    decision = graded("text-read", "unconfirmed")
    assert notices(decision, "currency") == ["Not confirmed to be still in force: US-SC/own."]
    assert [each.rules for each in decision.notices if each.kind == "currency"] == [("US-SC/own",)]


def test_weak_evidence_for_a_rule_that_does_not_apply_is_no_matter():
    decision = trade().decide(us_case())
    (said,) = notices(decision, "evidence")
    assert "industry/puncture-size," in said
    assert "motorcycle" not in said
    assert "truck" not in said


# --- gaps -------------------------------------------------------------------------------------------------------------


def test_a_gap_is_told_once_however_many_injuries_meet_it():
    decision = trade().decide(us_case(tire={"class": "trailer"}, injuries=injury() * 3, repairs={"overlap": False}))
    assert len(notices(decision, "gap")) == 1


def test_a_case_that_every_rule_speaks_to_has_no_gap():
    assert notices(trade().decide(us_case()), "gap") == []


# --- laws that start later --------------------------------------------------------------------------------------------


def dated(period: str, on: str) -> Decision:
    later = rule("later", "limit: {fact: injury.diameter, at-most: 1 mm}", more=f"in-force: {period}")
    return world(SIZE + later).decide(us_case(on=on))


def test_a_rule_that_starts_later_is_told_with_its_day():
    decision = dated("{from: 2027-01-01}", "2026-11-25")
    assert decision.verdict is Verdict.WITHIN
    assert notices(decision, "not-yet-in-force") == [
        "invented-trade/later starts only on 2027-01-01, after the day asked about."
    ]


@pytest.mark.parametrize(
    ("period", "on"),
    [
        ("{from: 2027-01-01}", "2027-01-01"),
        ("{from: 2020-01-01, until: 2021-01-01}", "2022-01-01"),
        ("{from: unknown}", "1900-01-01"),
    ],
    ids=["started", "ended", "unknown start"],
)
def test_a_rule_that_has_started_or_ended_is_not_told_as_later(period, on):
    assert notices(dated(period, on), "not-yet-in-force") == []


def test_a_later_rule_on_another_activity_is_not_told():
    later = rule("later", "prohibit: {fact: tire.retread, values: [true]}", activity="tire-sale")
    later = later.replace("  source:", "  in-force: {from: 2027-01-01}\n  source:")
    rulebook = world(SIZE + later)
    assert notices(rulebook.decide(us_case()), "not-yet-in-force") == []
    sold = rulebook.decide(us_case(activity="tire-sale", injuries=[]))
    assert len(notices(sold, "not-yet-in-force")) == 1


# --- a repair that spoils the resale ----------------------------------------------------------------------------------

USED = rule(
    "used-size", "limit: {fact: repair.diameter, at-most: 3 mm}", activity="used-tire-installation, used-tire-sale"
)


def resale(**changes) -> list[str]:
    return notices(world(SIZE + USED, pack("")).decide(us_case(method="one-piece", **changes)), "resale")


def test_a_good_repair_that_bars_the_tire_from_being_sold_as_used_says_so():
    assert resale() == [
        "After a one-piece repair this tire may not be installed as a used tire here (invented-trade/used-size).",
        "After a one-piece repair this tire may not be sold as a used tire here (invented-trade/used-size).",
    ]


@pytest.mark.parametrize(
    "changes",
    [
        {"injuries": injury(diameter="3 mm")},
        {"injuries": injury(diameter=None)},
        {"injuries": injury(diameter="60 mm")},
    ],
    ids=["small enough", "size unknown", "no repair"],
)
def test_no_resale_is_spoiled_where_the_repaired_tire_passes_or_nothing_is_repaired(changes):
    assert resale(**changes) == []


def test_a_tire_that_cannot_be_repaired_needs_no_warning_about_its_resale():
    """One injury could be repaired, the other could not: nothing is going to be sold."""
    assert resale(injuries=injury() + injury(diameter="60 mm")) == []


def test_each_method_that_may_repair_the_tire_has_its_own_warning():
    plugged = rule("method", "permit: {fact: repair.method, values: [two-piece]}", activity="used-tire-installation")
    no_section = rule("section", "prohibit: {fact: method, values: [section]}")
    decision = world(SIZE + plugged + no_section).decide(us_case())
    assert notices(decision, "resale") == [
        "After a one-piece repair this tire may not be installed as a used tire here (invented-trade/method)."
    ]


def test_an_earlier_repair_counts_among_those_of_the_repaired_tire():
    two = rule("two", "limit: {fact: repairs.count, at-most: 1}", activity="used-tire-sale")
    earlier = [{"diameter": "4 mm", "zone": "crown", "method": "one-piece"}]
    rulebook = world(SIZE + two)
    alone = rulebook.decide(us_case(method="one-piece"))
    assert notices(alone, "resale") == []
    second = rulebook.decide(us_case(method="one-piece", earlier_repairs=earlier))
    assert notices(second, "resale") == [
        "After a one-piece repair this tire may not be sold as a used tire here (invented-trade/two)."
    ]


def test_selling_a_used_tire_warns_of_no_resale():
    decision = world(SIZE + USED).decide(us_case(activity="used-tire-sale", injuries=[]))
    assert notices(decision, "resale") == []


# Cal. Bus. & Prof. Code § 9889.30(a): a repair in the shoulder bars a used tire; the baseline bars the repair itself,
# so that the warning has nothing to add. Ohio and California both allow exactly 1/4 in.
@pytest.mark.parametrize("code", ["US-CA", "US-OH", "US-SC"])
def test_a_repair_within_the_trades_limits_stays_within_the_used_tire_laws(code):
    case = repair_case(jurisdictions=[code], tire={"retread": False, "regrooved": False})
    decision = everywhere().decide(case)
    assert decision.verdict is Verdict.WITHIN
    assert notices(decision, "resale") == []


def test_worn_tread_that_may_still_be_repaired_but_not_resold_is_told():
    """2/32 in exactly: repairable as the trade printed it first (2/32 in, 2 mm), not to be installed as used."""
    decision = everywhere().decide(
        repair_case(tire={"tread_depth": "2/32 in"}, reading="as-enacted", method="two-piece")
    )
    assert decision.verdict is Verdict.WITHIN
    assert any(
        "installed as a used tire" in said and "US-SC/used-tire-tread" in said for said in notices(decision, "resale")
    )
