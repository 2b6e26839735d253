"""Cases with one number are known alike: whatever is found of one of them is true of all."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import islice
from random import Random
from typing import Any

import tirerules
from tests.reference.drawing import drawn_cases
from tests.support import builtin_packs
from tirerules import Case, CaseError, Rulebook, case_from_json
from tirerules.index.answering import answered
from tirerules.index.asking import needs_of
from tirerules.index.evaluate import Found, evaluate
from tirerules.index.looks import packed_by
from tirerules.index.packing import packed_case, packer_of
from tirerules.index.plan import Plan
from tirerules.words import REPAIR_METHODS

DAY = "2026-11-25"
DRAWN = 3_000


def _in_one_row() -> Iterator[Case]:
    """Yield cases of a few places, each with others that differ in a few facts, so that many are known alike."""
    rng = Random(41)
    for said in islice(drawn_cases(rng, builtin_packs()), DRAWN):
        places = [rng.choice(("US-SC", "US-CO", "CA-QC"))]
        activity = rng.choice(("repair", "repair", "repair", "used-tire-sale", "road-use"))
        case = {**said, "jurisdictions": places, "activity": activity, "on": DAY}
        for _ in range(12):
            try:
                typed = case_from_json(case)
            except CaseError:  # what was changed contradicts what was not
                typed = None
            if typed is None or typed.stated.row is None:
                break
            yield typed
            case = _changed(rng, case)


def _changed(rng: Random, case: dict[str, Any]) -> dict[str, Any]:
    """Return a case with some facts changed."""
    changed = {key: dict(case.get(key) or {}) for key in ("tire", "shop")}
    changed["tire"]["tread_depth"] = rng.choice(("2 mm", "3 mm", "5 mm", "6 mm"))
    changed["tire"]["retread"] = rng.choice((True, False, None))
    changed["shop"]["full_service"] = rng.choice((True, False, None))
    injuries = case.get("injuries")
    if injuries:
        size = {"diameter": rng.choice(("3 mm", "4 mm", "7 mm", "9 mm", None))}
        injuries = [{**injury, **size} for injury in injuries]
    findings = rng.choice((case.get("findings"), [], ["bulge"], ["recalled"], ["leak"], None))
    method = rng.choice((case.get("method"), None, *REPAIR_METHODS))
    return {**case, **changed, "injuries": injuries, "findings": findings, "method": method}


def _plan(rulebook: Rulebook, case: Case) -> Plan:
    return rulebook.plan(case.jurisdictions, case.activity, case.reading, DAY)


def _said(plan: Plan, found: Found) -> Any:
    """Return everything that is told by what was found, apart from what was packed."""
    methods = [(each.name, each.injury, each.verdict, each.failing, each.unlimited) for each in found.methods]
    heard = found.failing, found.sure, found.maybe, found.late, found.relevant
    needs = needs_of(plan, found.packed)
    return found.verdict, found.leading, methods, heard, found.gaps, found.flags, needs


def test_whatever_is_found_of_a_case_is_true_of_all_with_its_number():
    rulebook = tirerules.load()
    alike: dict[Any, set[Any]] = defaultdict(set)
    told: dict[Any, Any] = {}
    verdicts = set()
    for case in _in_one_row():
        plan = _plan(rulebook, case)
        packed = packed_case(plan, case, rulebook.rules_of)
        assert packed is not None
        said = _said(plan, evaluate(plan, packed))
        number = plan, packed_by(packer_of(plan).in_row, case.stated.row)
        assert told.setdefault(number, said) == said, case
        answer = answered(plan, case, case.stated.row, rulebook.rules_of)
        assert answer is not None
        assert _said(plan, answer) == said, case
        alike[number].add(case.stated.row)
        verdicts.add(said[0])
    assert verdicts == {0, 1, 2}
    # Enough different rows share a number for this to prove something.
    assert sum(len(rows) - 1 for rows in alike.values()) > 200


def test_what_a_repair_spoils_is_true_of_all_cases_with_one_number():
    rulebook = tirerules.load()
    spoilt = 0
    cases = [case for case in _in_one_row() if case.activity == "repair"]
    for case in cases:
        after = rulebook._book.after_repair(case.stated.asks, DAY)
        remembered = after.failing(case, REPAIR_METHODS, _refuse)
        assert remembered == after._each(case, REPAIR_METHODS, _refuse), case
        spoilt += any(map(any, remembered))
    assert len(cases) > 1_000
    assert 100 < spoilt < len(cases)
    assert len(rulebook._book._memory.after) < len(cases) - 100


def _refuse(plan: Plan) -> Any:
    raise AssertionError(f"only the reference can judge by {plan.names}")
