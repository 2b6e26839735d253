"""A rulebook: a fixed set of packs, the same answer for everyone who asks it. Shops and their rules are invented."""

from __future__ import annotations

import itertools
import json
import sys
import threading
from concurrent.futures import ThreadPoolExecutor
from types import MappingProxyType
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import tirerules
from tests.amounts import law
from tests.engine import (
    SIZE,
    country,
    everywhere,
    failing,
    pack,
    rule,
    trade,
    us_case,
    with_packs,
    world,
)
from tests.support import injury, repair_case
from tirerules import (
    ConflictError,
    LockError,
    Rulebook,
    UnknownJurisdictionError,
    Verdict,
    case_from_json,
    decision_to_json,
    load,
)
from tirerules.jurisdictions import JURISDICTIONS

CASES: list[dict[str, Any]] = [
    repair_case(jurisdictions=[code], injuries=injury(diameter=size, angle=angle), tire=tire, findings=findings)
    for code, size, angle, tire, findings in itertools.product(
        ("US-SC", "CA-ON"),
        ("5 mm", "5.9 mm ± 0.2 mm"),
        ("20 deg", None),
        ({"sealant_layer": True}, {"class": "light-truck", "tread_depth": None}),
        ([], None, ["bulge"]),
    )
]


def answers(rulebook: Rulebook, cases: list[dict[str, Any]]) -> list[str]:
    return [json.dumps(decision_to_json(rulebook.decide(case))) for case in cases]


# --- shared between threads -------------------------------------------------------------------------------------------


def test_eight_threads_get_the_same_answers_from_one_rulebook():
    rulebook = load()
    expected = answers(everywhere(), CASES)
    start = threading.Barrier(8)

    def ask(offset: int) -> list[str]:
        turned = CASES[offset:] + CASES[:offset]
        start.wait(timeout=30)
        found = answers(rulebook, turned)
        return found[len(CASES) - offset :] + found[: len(CASES) - offset]

    before = sys.getswitchinterval()
    sys.setswitchinterval(1e-5)  # hand over as often as can be
    try:
        with ThreadPoolExecutor(8) as threads:
            found = list(threads.map(ask, range(0, 8 * 5, 5)))
    finally:
        sys.setswitchinterval(before)
    assert len(found) == 8
    assert all(each == expected for each in found)
    assert len(set(expected)) == len(expected)


def plain_state() -> dict[str, str]:
    """Return what every module of the library holds in names of its own, except for functions, classes and caches."""
    return {
        f"{module}.{name}": repr(value)
        for module, held in sorted(sys.modules.items())
        if module.partition(".")[0] == "tirerules"
        for name, value in sorted(vars(held).items())
        if not name.startswith("__")
        and isinstance(value, (int, str, list, dict, set, tuple, frozenset, MappingProxyType))
    }


def test_deciding_changes_no_state_of_the_library():
    answers(everywhere(), CASES[:5])  # so that what is imported late is imported
    before = plain_state()
    answers(with_packs(everywhere(), pack(rule("own", "limit: {fact: injury.diameter, at-most: 1 mm}"))), CASES[:20])
    with pytest.raises(UnknownJurisdictionError):
        everywhere().decide(repair_case(jurisdictions=["US-SX"]))
    assert plain_state() == before
    assert {"tirerules.vocabulary.FACTS", "tirerules.jurisdictions.JURISDICTIONS"} <= set(before)


def test_an_overlay_is_a_rulebook_of_its_own_and_leaves_the_other_as_it_was():
    before = answers(trade(), [us_case()])
    stricter = with_packs(trade(), pack(rule("own", "limit: {fact: injury.diameter, at-most: 1 mm}")))
    assert stricter.decide(us_case()).verdict is Verdict.OUTSIDE
    assert answers(trade(), [us_case()]) == before


def test_a_rulebook_cannot_be_changed():
    rulebook = trade()
    with pytest.raises(AttributeError):
        rulebook.packs = {}
    with pytest.raises(AttributeError):
        rulebook.invented = 1
    assert isinstance(rulebook.packs, MappingProxyType)
    assert isinstance(rulebook.lock, MappingProxyType)
    for held in rulebook.packs.values():
        assert isinstance(held.rules, tuple)
        assert isinstance(held.coverage, MappingProxyType)
        assert isinstance(held.sources, MappingProxyType)


# --- the order and repetition of packs --------------------------------------------------------------------------------


def held() -> list[Any]:
    shop = pack(
        rule("own", "limit: {fact: injury.diameter, at-most: 1/4 in}") + rule("care", "require: {steps: [demount]}")
    )
    units = pack(rule("own", "limit: {fact: injury.angle, at-most: 20 deg}"), "invented-units", "repair-material")
    wanted = ("industry", "US", "US-SC", "CA", "CA-ON")
    return [*(everywhere().packs[name] for name in wanted), shop, units]


TIES: list[dict[str, Any]] = [
    repair_case(jurisdictions=["US-SC", "CA-ON"], reading="as-enacted"),
    repair_case(jurisdictions=["CA-ON", "US-SC"], injuries=injury(diameter="8 mm")),
    repair_case(jurisdictions=["US-SC"], injuries=injury(angle=None), findings=None, tire={"tread_depth": None}),
]


@law(st.permutations(range(7)), st.lists(st.integers(0, 6), max_size=3), examples=8)
def test_the_order_and_repetition_of_packs_do_not_matter(order, again):
    packs = held()
    shuffled = Rulebook([packs[at] for at in (*order, *again)])
    assert answers(shuffled, TIES) == answers(Rulebook(packs), TIES)


@settings(max_examples=20, deadline=None)
@given(
    st.permutations(["injuries", "tire", "findings", "activity", "on", "vehicle", "jurisdictions", "earlier_repairs"])
)
def test_the_order_of_a_cases_keys_does_not_matter(order):
    case = us_case()
    assert answers(trade(), [{key: case[key] for key in order}]) == answers(trade(), [case])


def test_a_place_named_twice_counts_once():
    once = everywhere().decide(repair_case())
    twice = everywhere().decide(repair_case(jurisdictions=["US-SC", "US-SC"]))
    assert (once.limits, once.methods, once.notices, once.packs) == (
        twice.limits,
        twice.methods,
        twice.notices,
        twice.packs,
    )


# --- adding a pack only tightens --------------------------------------------------------------------------------------

#: An invented shop's rules, lax and strict, on what the baseline limits too.
OWN = [
    "limit: {fact: injury.diameter, at-most: 3 mm}",
    "limit: {fact: injury.diameter, at-most: 30 mm}",
    "limit: {fact: injury.angle, at-most: 60 deg}",
    "limit: {fact: tire.tread_depth, at-least: 0.1 mm}",
    "limit: {fact: tire.age, at-most: 5 years}",
    "limit: {fact: repairs.count, at-most: 9}",
    "permit: {fact: injury.zone, values: [crown, shoulder, sidewall]}",
    "permit: {fact: method, values: [one-piece, two-piece, section, plug-only]}",
    "prohibit: {fact: method, values: [two-piece]}",
    "prohibit: {fact: tire.retread, values: [true]}",
    "disqualify: {findings: [recalled]}",
    "require: {steps: [demount]}",
]
WHEN = ["", "{tire.class: passenger}", "{tire.retread: true}", "{method: one-piece}", "{findings: [recalled]}"]

own_rules = st.lists(st.tuples(st.sampled_from(OWN), st.sampled_from(WHEN)), min_size=1, max_size=4)
asked_cases = st.fixed_dictionaries(
    {
        "tire": st.fixed_dictionaries(
            {"class": st.sampled_from(["passenger", "motorcycle", "light-truck", "agricultural", None])},
            optional={
                "tread_depth": st.sampled_from(["0.5 mm", "6 mm"]),
                "retread": st.booleans(),
                "speed_symbol": st.sampled_from(["J", "W"]),
                "load_range": st.sampled_from(["E", "F"]),
                "age": st.just("6 years"),
            },
        ),
        "injuries": st.lists(
            st.fixed_dictionaries(
                {"kind": st.just("puncture"), "zone": st.sampled_from(["crown", "shoulder"])},
                optional={
                    "diameter": st.sampled_from(["2 mm", "5 mm", "8 mm", "5 mm to 7 mm"]),
                    "angle": st.sampled_from(["10 deg", "30 deg"]),
                },
            ),
            min_size=1,
            max_size=2,
        ),
        "findings": st.sampled_from([None, [], ["leak"], ["bead-damage"], ["recalled"]]),
        "method": st.sampled_from([None, None, "one-piece", "plug-only"]),
    },
    optional={"repairs": st.just({"overlap": False})},
)


@law(own_rules, asked_cases, examples=60)
def test_an_overlay_never_makes_a_case_pass_that_did_not(own, changes):
    """Not by looser figures, and not by speaking where law and trade are silent."""
    case = {**us_case(), **changes}
    before = trade().decide(case)
    rules = "".join(rule(f"own-{at}", body, when=when) for at, (body, when) in enumerate(own))
    after = with_packs(trade(), pack(rules)).decide(case)
    if before.verdict is Verdict.OUTSIDE:
        assert after.verdict is Verdict.OUTSIDE
    if before.verdict is Verdict.UNDETERMINED:
        assert after.verdict is not Verdict.WITHIN
    assert {name for name in failing(before) if name.startswith("industry/")} <= failing(after)


@law(st.sampled_from(sorted(set(everywhere().codes) - {"US", "CA"})), asked_cases, examples=60)
def test_another_place_never_makes_a_case_pass_that_did_not(code, changes):
    case = {**repair_case(jurisdictions=["US-SC"]), **changes}
    before, after = (everywhere().decide({**case, "jurisdictions": places}) for places in (["US-SC"], ["US-SC", code]))
    if before.verdict is Verdict.OUTSIDE:
        assert after.verdict is Verdict.OUTSIDE
    if before.verdict is Verdict.UNDETERMINED:
        assert after.verdict is not Verdict.WITHIN


# --- which packs a rulebook holds, and for whom it speaks -------------------------------------------------------------


def test_the_newest_version_of_a_pack_counts():
    old, new = (pack(SIZE, version=version) for version in ("1.9.0", "1.10.0"))
    for packs in ([old, new], [new, old]):
        assert str(Rulebook([country(), *packs]).packs["invented-shop"].version) == "1.10.0"


def test_two_packs_that_claim_one_version_are_a_conflict():
    one, other = pack(SIZE), pack(SIZE + rule("more", "limit: {fact: injury.angle, at-most: 5 deg}"))
    with pytest.raises(ConflictError, match=r"pack invented-shop 1\.0\.0 stands with other content"):
        Rulebook([one, other])


def test_the_same_pack_twice_is_no_conflict():
    assert list(Rulebook([country(), pack(SIZE), pack(SIZE)]).packs) == ["US", "invented-shop"]


@pytest.mark.parametrize(
    ("codes", "expected"),
    [
        (["US-SC"], {"US", "US-SC", "industry", "invented-shop"}),
        (["US"], {"US", "industry", "invented-shop"}),
        (["US-SC", "CA-ON"], {"US", "US-SC", "CA", "CA-ON", "industry", "invented-shop"}),
    ],
)
def test_a_place_brings_its_country_the_baseline_and_the_overlays(codes, expected):
    rulebook = with_packs(everywhere(), pack(SIZE))
    assert {each.id for each in rulebook.packs_for(codes)} == expected


def test_codes_are_the_places_that_a_rulebook_can_speak_for_countries_first():
    rulebook = world(SIZE, country("CA"), pack("", "US-SC", "jurisdiction"), pack("", "CA-ON", "jurisdiction"))
    assert rulebook.codes == ("US", "CA", "US-SC", "CA-ON")
    assert [code for code in JURISDICTIONS if code in everywhere().codes] == list(everywhere().codes)


# ISO 3166-2:US has 57 codes (50 states, a district, 6 outlying areas), ISO 3166-2:CA has 13 (10 provinces, 3
# territories).
def test_the_codes_are_those_of_iso_3166():
    assert len([code for code in JURISDICTIONS if code.startswith("US-")]) == 57
    assert len([code for code in JURISDICTIONS if code.startswith("CA-")]) == 13
    assert len(set(JURISDICTIONS)) == 2 + 57 + 13


@pytest.mark.parametrize(
    ("code", "offers"),
    [("US-SX", ("US-SC", "US-SD")), ("CA-OM", ("CA-ON",)), ("US-TX-1", ("US-TX",)), ("Ontario", ()), ("", ())],
)
def test_an_unknown_code_is_offered_what_looks_like_it(code, offers):
    with pytest.raises(UnknownJurisdictionError) as caught:
        everywhere().decide(repair_case(jurisdictions=[code]))
    assert (caught.value.code, caught.value.real, caught.value.offers) == (code, False, offers)
    assert isinstance(caught.value, LookupError)


def test_one_unknown_code_among_good_ones_is_refused():
    with pytest.raises(UnknownJurisdictionError, match="'US-XX'"):
        everywhere().decide(repair_case(jurisdictions=["US-SC", "US-XX"]))


# --- locks ------------------------------------------------------------------------------------------------------------


def test_a_lock_brings_the_same_rulebook_back():
    again = load(lock=everywhere().lock)
    assert again.lock == everywhere().lock
    assert answers(again, TIES) == answers(everywhere(), TIES)


def test_the_lock_of_a_decision_holds_its_own_packs_only():
    lock = everywhere().decide(repair_case()).packs
    again = load(lock=lock)
    assert set(again.packs) == {"US", "US-SC", "industry"}
    assert answers(again, [repair_case()]) == answers(everywhere(), [repair_case()])


def test_a_lock_that_does_not_fit_is_refused_with_every_difference():
    lock = {
        name: (entry.version, entry.sha256) for name, entry in everywhere().lock.items() if name in ("US", "industry")
    }
    lock["US"] = ("9.9.9", lock["US"][1])
    lock["industry"] = (lock["industry"][0], "0" * 64)
    with pytest.raises(LockError) as caught:
        load(lock=lock)
    assert [line.partition(" ")[0] for line in caught.value.differences] == ["US", "industry"]


# --- the two ways to ask ----------------------------------------------------------------------------------------------


def test_a_case_and_its_json_get_one_answer():
    for case in CASES[:6]:
        assert everywhere().decide(case_from_json(case)) == everywhere().decide(case)


def test_the_built_in_rulebook_holds_its_baseline_and_both_countries():
    assert {"industry", "US", "CA", "US-SC"} <= set(everywhere().packs)
    assert {held.kind for held in everywhere().packs.values()} == {"baseline", "country", "jurisdiction"}
    assert all(name == held.id for name, held in everywhere().packs.items())


def test_no_built_in_packs_at_all_can_be_asked_for():
    assert dict(load(builtins=False).packs) == {}
    assert load(builtins=False).codes == ()


def test_what_the_library_offers_is_what_it_lists():
    """The public names are few and listed, and each of them is there."""
    assert sorted(tirerules.__all__) == list(tirerules.__all__)
    assert {"load", "Rulebook", "Case", "Decision", "Verdict", "replay"} <= set(tirerules.__all__)
    assert [name for name in tirerules.__all__ if not hasattr(tirerules, name)] == []
