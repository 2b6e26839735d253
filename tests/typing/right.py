"""A program of an invented shop that is right: a type checker has nothing to say of it."""

from __future__ import annotations

from typing import assert_type

import tirerules
from tirerules import Case, Decision, FactLimits, Injury, Notice, Question, Reason, Tire, Verdict, answered
from tirerules.documents import Case as CaseDocument
from tirerules.words import TireClass, is_tire_class


def class_of(column: str) -> TireClass | None:
    return column if is_tire_class(column) else None


def decide(column: str) -> Decision:
    tire = Tire(class_=class_of(column), tread_depth=tirerules.measure("6/32 in"))
    hole = Injury(kind="puncture", zone="crown", diameter=tirerules.measure("4 mm"))
    return tirerules.load().decide(Case(jurisdictions=("US-SC",), activity="repair", tire=tire, injuries=(hole,)))


decision = decide("passenger")
assert_type(decision.verdict, Verdict)
assert_type(decision.reasons, tuple[Reason, ...])
assert_type(decision.notices, tuple[Notice, ...])
assert_type(decision.limits["injury.diameter"], FactLimits)
questions: tuple[Question, ...] = decision.questions
case: Case = answered(decision.case, questions[0], "5 mm") if questions else decision.case
document: CaseDocument = {"jurisdictions": ["US-SC"], "activity": "repair", "tire": {"class": "passenger"}}
tirerules.load().decide(document)
