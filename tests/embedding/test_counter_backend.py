"""A counter's backend in Python: from an empty form to a decided, stored and replayed record.

The shop is invented, and so are its tires. The backend knows no rule and no fact: it asks only what the library asks,
shows the choices and units it is given, and stores brief records.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from typing import Any

import pytest

from tests.engine import everywhere
from tirerules import CaseError, Question, answered, replay
from tirerules.record.brief import decision_to_brief

#: What stands before the technician of the invented shop: the words of a person, by what is asked.
BEFORE = {
    "findings": "nothing",
    "earlier_repairs": "none",
    "injuries": "one",
    "tire.class": "Passenger tire",
    "injury.kind": "Puncture",
    "injury.zone": "Crown",
    "injury.diameter": "4 mm",
    "injury.angle": "10 deg",
    "tire.tread_depth": "7 mm",
    "vehicle.use": "Private",
    "vehicle.kind": "Passenger car",
    "vehicle.gvwr": "1900 kg",
}
WORDS: dict[str, Any] = {"nothing": [], "none": 0, "one": 1}


class Counter:
    """Leads a ticket to its record: `screen` shows a question and returns what was entered."""

    def __init__(self, screen: Callable[[Question], str]) -> None:
        self._screen = screen
        self._records = sqlite3.connect(":memory:")
        self._records.execute("create table record (digest text primary key, said text not null)")

    def ticket(self, code: str, activity: str, on: str) -> str:
        """Ask until nothing more is asked, store the record, and return its digest."""
        case: dict[str, Any] = {"jurisdictions": [code], "activity": activity, "on": on}
        asked = 0
        while questions := everywhere().decide(case).questions:
            assert asked < 40
            asked += 1
            case = self._put(case, questions[0])
        said = decision_to_brief(everywhere().decide(case))
        self._records.execute("insert or replace into record values (?, ?)", (said["digest"], json.dumps(said)))
        return said["digest"]

    def _put(self, case: dict[str, Any], question: Question) -> dict[str, Any]:
        entered = self._screen(question)
        by_label = {choice.label: choice.word for choice in question.choices}
        value = by_label.get(entered, WORDS.get(entered, entered))
        return answered(case, question, value)

    def record(self, digest: str) -> dict[str, Any]:
        """Return a record as it was stored."""
        ((text,),) = self._records.execute("select said from record where digest = ?", (digest,)).fetchall()
        return json.loads(text)


def technician(question: Question) -> str:
    """Answer as the invented technician does: by what lies on the bench, or else No, or the first that is offered."""
    if question.fact in BEFORE:
        return BEFORE[question.fact]
    if question.kind == "flag":
        return "No"
    if question.kind == "quantity":
        return f"200 {question.units[0]}" if question.units[0] != "years" else "3 years"
    return {"set": "nothing", "records": "none"}.get(question.kind) or question.choices[0].label


@pytest.mark.parametrize(("code", "activity"), [("US-SC", "repair"), ("CA-QC", "repair"), ("US-NJ", "used-tire-sale")])
def test_a_ticket_goes_from_an_empty_form_to_a_replayed_record(code, activity):
    counter = Counter(technician)
    said = counter.record(counter.ticket(code, activity, "2026-11-25"))
    assert said["questions"] == []
    assert said["verdict"] in ("within-limits", "undetermined")
    assert said["verdict"] == "within-limits" or said["because"][0]["rule"].startswith("engine/")
    assert replay(said).same
    said["case"]["tire"]["class"] = "bus"
    assert not replay(said).same


def test_what_was_mistyped_is_told_at_its_field():
    def clumsy(question: Question) -> str:
        return "bald" if question.fact == "findings" else technician(question)

    with pytest.raises(CaseError) as refused:
        Counter(clumsy).ticket("US-SC", "repair", "2026-11-25")
    assert refused.value.problems[0].path == "findings"
