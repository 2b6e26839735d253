"""Answers put into cases: from an empty form to a verdict by asking only the questions that the library gives.

All tires are invented. A place in a case is a JSON Pointer (RFC 6901), followed here by a reader of its own.
"""

from __future__ import annotations

import copy
from contextlib import suppress
from random import Random
from typing import Any

import pytest

from tests.amounts import some_of
from tests.engine import everywhere
from tirerules import Case, CaseError, Question, answered, case_from_json, case_to_json, measure
from tirerules.engine.form import question
from tirerules.vocabulary import ACTIVITIES, FACTS, Dimension, Verdict

PLAIN = {"jurisdictions": ["US-SC"], "activity": "repair", "on": "2026-11-25"}
#: An invented tire that nothing is wrong with: what a person at a counter would answer.
SOUND: dict[str, Any] = {
    "findings": [],
    "earlier_repairs": [],
    "injuries": 1,
    "tire.class": "passenger",
    "tire.tread_depth": "7 mm",
    "tire.construction": "radial",
    "injury.kind": "puncture",
    "injury.zone": "crown",
    "injury.diameter": "4 mm",
    "injury.angle": "10 deg",
    "vehicle.use": "private",
    "vehicle.kind": "passenger-car",
    "vehicle.gvwr": "1900 kg",
}
BY_DIMENSION = {
    Dimension.LENGTH: "200 mm",
    Dimension.ANGLE: "5 deg",
    Dimension.MASS: "1900 kg",
    Dimension.TIME: "3 years",
}
BY_NAME: dict[str, Any] = {
    "tire.size": "225/45R17",
    "tire.date_code": "2324",
    "injury.clock": "3:00",
    "repair.clock": "9:00",
    "tire.tread_grid": [["7 mm", "7 mm"], ["7 mm", "7 mm"], ["7 mm", "7 mm"]],
}


def answer_of(asked: Question) -> Any:
    if asked.fact in SOUND:
        return SOUND[asked.fact]
    if asked.fact in BY_NAME:
        return BY_NAME[asked.fact]
    if asked.kind == "flag":
        return "no"
    if asked.kind == "choice":
        return asked.choices[0].word
    return {"set": [], "records": 0, "count": 1}.get(asked.kind) if asked.kind != "quantity" else _quantity(asked)


def _quantity(asked: Question) -> str:
    dimension = FACTS[asked.fact].dimension
    assert dimension is not None
    assert BY_DIMENSION[dimension].split()[1] in asked.units
    return BY_DIMENSION[dimension]


def at(case: Any, pointer: str) -> Any:
    for token in pointer.split("/")[1:]:
        case = case[int(token)] if isinstance(case, list) else case[token]
    return case


def forms(case: dict[str, Any]) -> list[Any]:
    return [case, case_from_json(case)]


@pytest.mark.parametrize("code", some_of(everywhere().codes, 6))
@pytest.mark.parametrize("activity", ACTIVITIES)
def test_an_empty_form_is_led_to_a_verdict(code, activity):
    case: dict[str, Any] = {"jurisdictions": [code], "activity": str(activity), "on": "2026-11-25"}
    typed = case_from_json(case)
    for _ in range(40):
        decision = everywhere().decide(case)
        if not decision.questions:
            break
        first = decision.questions[0]
        before = copy.deepcopy(case)
        after, typed = answered(case, first, answer_of(first)), answered(typed, first, answer_of(first))
        assert case == before  # nothing is changed in place
        assert at(after, first.path) is not None
        assert case_to_json(case_from_json(after)) == case_to_json(typed)
        case = after
    assert not decision.questions, decision.questions
    # Nobody asks on: it is settled, or what is left no answer could settle (law that was not read, an open injury).
    assert decision.verdict is not Verdict.UNDETERMINED or any(each.kind == "gap" for each in decision.notices)


@pytest.mark.parametrize("fact", [fact for fact, row in FACTS.items() if not row.derived])
def test_every_fact_can_be_answered_where_its_question_says(fact):
    said = {**PLAIN, "injuries": [{}, {}], "earlier_repairs": [{}, {}]}
    asked = question(fact, "", {"injury": "injury 2", "repair": "earlier repair 2"}.get(FACTS[fact].group, ""))
    for case in forms(said):
        # The number of repairs must be that of the lists.
        after = answered(case, asked, 4 if fact == "repairs.count" else answer_of(asked))
        plain = case_to_json(after) if isinstance(after, Case) else after
        assert at(plain, asked.path) is not None
        assert asked.number in (2, None)


REFUSED = [
    ("tire.class", "pasenger", "did you mean passenger"),
    ("tire.class", "car", "did you mean passenger"),
    ("tire.class", None, "one of: passenger"),
    ("findings", "bulge", "give a list of words"),
    ("findings", ["bubble"], "did you mean bulge"),
    ("tire.run_flat", 1, "answer yes or no"),
    ("vehicle.seats", True, "whole number"),
    ("vehicle.seats", -1, "whole number"),
    ("injury.diameter", 6, "give a text with its unit (mm or in)"),
    ("injury.diameter", "6", "bare number without a unit"),
    ("injury.angle", "6 mm", "angle"),
    ("injuries", "one", "give a list of mappings"),
    ("injuries", [{"siz": "6 mm"}], "unknown key"),
    ("tire.tread_grid", "6 mm", "give one list of depths"),
    ("injury.clock", "13:99", "write"),
]


@pytest.mark.parametrize(("fact", "value", "told"), REFUSED)
def test_what_does_not_fit_is_refused_with_its_cure(fact, value, told):
    for case in forms(PLAIN):
        with pytest.raises(CaseError) as refused:
            answered(case, question(fact, "", ""), value)
        assert told in str(refused.value)


def test_a_question_of_another_case_is_refused():
    third = question("injury.diameter", "injury 3", "injury 3")
    for case in forms({**PLAIN, "injuries": [{}]}):
        with pytest.raises(CaseError, match=r"the case has no injuries\[2\]"):
            answered(case, third, "5 mm")


def test_values_of_the_library_answer_too():
    case = answered(case_from_json(PLAIN), question("injury.diameter", "", "injury 1"), measure("5 mm ± 0.2 mm"))
    assert case_to_json(case)["injuries"] == [{"diameter": "5 mm ± 0.2 mm"}]
    assert answered(PLAIN, question("findings", "", ""), {"leak", "bulge"})["findings"] == ["bulge", "leak"]


@pytest.mark.parametrize("seed", some_of(range(40), 6))
def test_an_answer_never_makes_a_wrong_case(seed):
    """Whatever is answered, what comes back is a case that can be decided, or a refusal."""
    rng, case = Random(seed), dict(PLAIN)
    values = [None, "", "no", "yes", 3, -1, True, [], ["bulge"], {}, [{}], "5 mm", "5 deg", "crown", "passenger", 1.5]
    for _ in range(30):
        fact = rng.choice(list(FACTS))
        with suppress(CaseError):
            case = answered(case, question(fact, "", ""), rng.choice(values))
        everywhere().decide(case)
