"""A place of the caller's own settles what is open there, and nowhere else. The place and its law are invented."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.engine import everywhere, failing, pack, rule, with_packs
from tests.support import repair_case
from tirerules import Rulebook, Verdict
from tirerules.vocabulary import ACTIVITIES, FINDINGS, settles

#: What nothing that ships limits or judges.
TRACTOR = {"tire": {"class": "agricultural", "sealant_layer": False, "tread_depth": "9 mm"}}
#: Invented law, laxer than any: it limits every size and tread, and judges every finding.
LAX = (
    rule("size", "limit: {fact: injury.diameter, at-most: 99 mm}")
    + rule("classes", "permit: {fact: tire.class, values: [agricultural, passenger]}")
    + rule("tread", "limit: {fact: tire.tread_depth, at-least: 0.1 mm}", activity=", ".join(ACTIVITIES[1:]))
    + "".join(
        rule(
            f"on-{finding}",
            "require: {steps: [demount]}",
            when=f"{{findings: [{finding}]}}",
            activity="repair, road-use",
        )
        for finding in FINDINGS
    )
)


def own(rules: str = LAX, code: str = "XA-01") -> Rulebook:
    return with_packs(everywhere(), pack(rules, code, "country" if "-" not in code else "jurisdiction"))


@pytest.mark.parametrize("code", ["XA-01", "XA"])
def test_its_ceiling_on_size_lets_a_repair_pass_there_alone(code):
    rulebook = own(code=code)
    verdicts = {
        places: rulebook.decide(repair_case(jurisdictions=list(places), **TRACTOR)).verdict
        for places in ((code,), ("US-SC",), (code, "US-SC"), ("US-SC", code))
    }
    assert verdicts.pop((code,)) is Verdict.WITHIN
    assert {*verdicts.values()} == {Verdict.UNDETERMINED}


def test_its_country_settles_it_for_all_its_places():
    rulebook = with_packs(own("", "XA-01"), pack(LAX, "XA", "country"))
    assert rulebook.decide(repair_case(jurisdictions=["XA-01"], **TRACTOR)).verdict is Verdict.WITHIN
    both = with_packs(rulebook, pack("", "XB", "country"))
    assert both.decide(repair_case(jurisdictions=["XA-01", "XB"], **TRACTOR)).verdict is Verdict.UNDETERMINED


def test_it_judges_findings_there_alone():
    case = repair_case(findings=["recalled"])
    rulebook = with_packs(everywhere(), pack(LAX, "XA-01", "jurisdiction"))
    alone, here, both = (
        rulebook.decide({**case, "jurisdictions": places}) for places in (["US-SC"], ["XA-01"], ["US-SC", "XA-01"])
    )
    assert here.verdict is Verdict.WITHIN
    assert both.verdict is alone.verdict is Verdict.UNDETERMINED
    assert "engine/finding-judged" in {reason.rule for reason in both.reasons}


def test_which_packs_settle_what_for_which_places():
    for name in ("industry", "US", "US-SC", "invented-trade"):
        assert settles(name, ["US-SC", "XA-01", "XB"])
    assert settles("XA-01", ["XA-01"])
    assert settles("XA", ["XA", "XA-01", "XA-02"])
    assert not settles("XA", ["XA-01", "XB"])
    assert not settles("XA-01", ["XA-01", "US"])
    assert not settles("XA-01", ["XA"])


cases = st.fixed_dictionaries(
    {
        "activity": st.sampled_from(ACTIVITIES),
        "tire": st.fixed_dictionaries(
            {"class": st.sampled_from(["passenger", "light-truck", "agricultural", "trailer", "motorcycle", None])},
            optional={"tread_depth": st.sampled_from(["0.5 mm", "6 mm"]), "load_range": st.sampled_from(["E", "F"])},
        ),
        "injuries": st.lists(
            st.fixed_dictionaries(
                {"kind": st.just("puncture"), "zone": st.sampled_from(["crown", "sidewall"])},
                optional={"diameter": st.sampled_from(["2 mm", "8 mm"]), "angle": st.just("10 deg")},
            ),
            max_size=1,
        ),
        "findings": st.sampled_from([None, [], ["recalled"], ["bulge"], ["chemical-damage", "boot"]]),
    }
)


@settings(max_examples=120, deadline=None)
@given(cases, st.sampled_from(["US-SC", "US-NJ", "CA-ON", "US-TX"]))
def test_it_never_makes_a_case_pass_elsewhere_that_did_not(changes: dict[str, Any], code: str):
    if changes["activity"] == "repair" and not changes["injuries"]:
        changes = {**changes, "activity": "road-use"}
    case = repair_case(jurisdictions=[code], **changes)
    before = everywhere().decide(case)
    after = RULEBOOK.decide({**case, "jurisdictions": [code, "XA-01"]})
    if before.verdict is Verdict.UNDETERMINED:
        assert after.verdict is not Verdict.WITHIN
    if before.verdict is Verdict.OUTSIDE:
        assert after.verdict is Verdict.OUTSIDE
        assert failing(before) <= failing(after)


RULEBOOK = own()
