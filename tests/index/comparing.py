"""The two ways held against each other: `Rulebook.decide` and the reference evaluation, rule by rule over all rules."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any

import pytest

import tirerules
from tirerules import Case, Decision, Rulebook, case_from_json, decision_to_json
from tirerules.deciding.decide import decide
from tirerules.deciding.decision import Account, MethodVerdict, Reason
from tirerules.index.plain import PlainCase
from tirerules.index.plan import OWN_FIGURES, SEVERAL_INJURIES

__all__ = ["PARTS", "compare", "compare_whole", "judged_by_bits", "reference"]

#: Every part of a decision, by its name in `Decision` and in `Account`.
PARTS = (
    *("verdict", "limits_method", "limits", "questions", "requirements", "notices", "reasons", "geometry"),
    *("cautions", "packs", "case", "on", "engine", "one_method"),
)


def reference(rulebook: Rulebook, case: Case, **known: Any) -> Account:
    """Return the account of the reference evaluation, which hears every rule of the places that the case names."""
    assert case.on is not None
    return decide(case, rulebook.packs_for(case.jurisdictions), case.on, tirerules.__version__, **known)


def judged_by_bits(decision: Decision) -> bool:
    """Whether the verdict was found by bits; else the reference was asked, and comparing proves nothing."""
    return decision._found is not None


def _methods(methods: Iterable[MethodVerdict]) -> list[tuple[Any, ...]]:
    return [(each.method, each.injury, each.verdict) for each in methods]


def _failing(reasons: Iterable[Reason]) -> set[str]:
    return {each.rule for each in reasons if each.outcome == "fails"}


def _rules(reasons: Iterable[Reason]) -> set[str]:
    return {each.rule for each in reasons if not each.rule.startswith("engine/")}


def compare(rulebook: Rulebook, said: Mapping[str, Any], seen: Counter[Any]) -> bool:
    """Compare what bits find of a case with what the reference finds; return whether bits found anything.

    Compared are the verdict, the methods, which rules fail, which are heard at all, the limits unless the
    reference tells them, and the questions where there may be some. `seen` counts what occurred.
    """
    case = case_from_json(said)
    decision = rulebook.decide(said)
    if not judged_by_bits(decision):
        return False
    plain = isinstance(decision._asked, PlainCase)
    decisions = (decision, rulebook.decide(case)) if plain else (decision,)
    account = reference(rulebook, case, resale=())
    every = [*account.reasons, *(reason for method in account.methods for reason in method.reasons)]
    for decision in decisions:
        found, plan = decision._found, decision._plan
        differing = {
            "verdict": (decision.verdict, account.verdict),
            "limits_method": (decision.limits_method, account.limits_method),
            "methods": (_methods(decision.methods), _methods(account.methods)),
            "failing": (set(plan.names_in(found.failing)), _failing(account.reasons)),
            "failing by method": (
                [set(plan.names_in(each.failing)) for each in found.methods],
                [_failing(each.reasons) for each in account.methods],
            ),
            "relevant": (set(plan.names_in(found.relevant & plan.limiting)), _rules(every)),
        }
        _assert_same(said, differing)
    asks = account.verdict == "undetermined"
    if asks:
        _assert_same(said, {"questions": (decision.questions, account.questions)})
    if asks or not decision._found.flags & (OWN_FIGURES | SEVERAL_INJURIES):
        _assert_same(said, {"limits": (decision.limits, account.limits)})
    seen["read plainly",] += plain
    _count(said, account, every, seen)
    return True


def compare_whole(rulebook: Rulebook, said: Mapping[str, Any]) -> bool:
    """Compare every part of a decision on a typed case, and the JSON text of one in JSON; return as `compare`."""
    case = case_from_json(said)
    account = reference(rulebook, case)
    decision = rulebook.decide(case)
    _assert_same(said, {part: (getattr(decision, part), getattr(account, part)) for part in PARTS})
    told, wanted = ((_methods(each.methods), [by.reasons for by in each.methods]) for each in (decision, account))
    _assert_same(said, {"methods": (told, wanted)})
    text = json.dumps(decision_to_json(account), ensure_ascii=False)
    _assert_same(said, {"text": (rulebook.decide_json(json.dumps(said)), text)})
    return judged_by_bits(decision)


def _assert_same(said: Mapping[str, Any], pairs: Mapping[str, tuple[Any, Any]]) -> None:
    for part, (found, wanted) in pairs.items():
        if found != wanted:
            text = json.dumps(said, ensure_ascii=False, indent=1)
            pytest.fail(f"{part}\nby bits:   {found}\nreference: {wanted}\n{text}", pytrace=False)


def _count(said: Mapping[str, Any], account: Account, every: Iterable[Reason], seen: Counter[Any]) -> None:
    repairing = account.case.activity == "repair"
    seen["verdict", repairing, str(account.verdict)] += 1
    seen["activity", str(account.case.activity)] += 1
    seen["reading", account.case.reading] += 1
    for method in account.methods:
        seen["method", method.method, str(method.verdict)] += 1
    for name in ("injuries", "earlier_repairs", "findings"):
        seen["unrecorded", name] += said.get(name) is None
    seen["several injuries",] += len(account.case.injuries or ()) > 1
    seen["geometry",] += bool(account.geometry)
    seen["pairs",] += any(" and " in reason.subject for reason in every)
    seen["questions",] += bool(account.questions)
    for reason in every:
        seen["outcome", reason.rule, str(reason.outcome)] += 1
