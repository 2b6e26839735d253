"""Running a pack's own examples: the case as written, decided by the pack together with the packs it stands on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from tirerules.deciding.decision import Decision, Outcome, Reason, Verdict
from tirerules.errors import CaseError, Problem, TirerulesError
from tirerules.packs.pack import Example, Pack
from tirerules.rulebook import Rulebook

__all__ = ["example_problems"]

#: Which reasons "because" speaks of, by verdict.
_DECIDING = {
    Verdict.WITHIN: Outcome.PASSES,
    Verdict.OUTSIDE: Outcome.FAILS,
    Verdict.UNDETERMINED: Outcome.UNKNOWN,
}


def example_problems(pack: Pack, rulebook: Rulebook) -> Iterator[Problem]:
    """Yield every way in which an example of `pack` differs from what `rulebook`, which holds it, decides."""
    for number, example in enumerate(pack.examples):
        for message, hint in _differences(pack, example, rulebook):
            yield Problem("example", message, hint, pack.file, example.line, 1, f"examples[{number}]")


def _differences(pack: Pack, example: Example, rulebook: Rulebook) -> Iterator[tuple[str, str]]:
    case: dict[str, Any] = {"on": pack.reviewed.isoformat(), **example.case}
    if pack.kind in ("country", "jurisdiction"):
        case.setdefault("jurisdictions", [pack.id])
    try:
        decision = rulebook.decide(case)
    except CaseError as error:
        for problem in error.problems:
            yield f"the case is wrong at {problem.path}: {problem.message}", problem.hint
        return
    except TirerulesError as error:
        yield f"the case cannot be decided: {error}", ""
        return
    yield from _compare(pack, example.expect, decision)


def _compare(pack: Pack, expect: Mapping[str, Any], decision: Decision) -> Iterator[tuple[str, str]]:
    if expect["verdict"] != decision.verdict:
        yield f"expected {expect['verdict']}, got {decision.verdict}", _why(decision)
    reasons = [*decision.reasons, *(reason for method in decision.methods for reason in method.reasons)]
    deciding = {reason.rule for reason in reasons if reason.outcome is _DECIDING[decision.verdict]}
    for name in expect.get("because", ()):
        rule = name if "/" in name else f"{pack.id}/{name}"
        if rule not in deciding:
            yield f"expected because of {rule}, which does not decide it", _why(decision)
    for method, wanted in expect.get("methods", {}).items():
        got = {verdict.verdict for verdict in decision.methods if verdict.method == method}
        if got != {wanted}:
            yield f"expected {method} {wanted}, got {', '.join(sorted(got)) or 'no such method'}", _why(decision)
    asked = [question.fact for question in decision.questions]
    if "questions" in expect and asked != list(expect["questions"]):
        yield f"expected the questions {list(expect['questions'])}, got {asked}", ""


def _why(decision: Decision) -> str:
    """What decided it, rule by rule."""

    def line(reason: Reason) -> str:
        limit = f", {reason.limit}" if reason.limit else ""
        return f"{reason.rule} {reason.outcome} ({reason.fact} {reason.measured}{limit})"

    open_ = [reason for reason in decision.reasons if reason.outcome is not Outcome.PASSES]
    for method in decision.methods:
        open_ += [reason for reason in method.reasons if reason.outcome is not Outcome.PASSES]
    return "; ".join(dict.fromkeys(line(reason) for reason in open_)) or "every rule passes"
