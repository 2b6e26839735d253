"""What a decision says, cut down to what a vector states of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from tirerules.authoring.vectors.cases import Json
from tirerules.case import Case
from tirerules.decision import Decision
from tirerules.engine.parts import FactLimits, Outcome, Reason
from tirerules.packs.rule import RELATIONS
from tirerules.record import lock_to_json
from tirerules.rulebook import Rulebook

__all__ = ["Answer", "answer"]


@dataclass(frozen=True, slots=True)
class Answer:
    """A decided case: the decision, and which rules say what of it, over all injuries and methods."""

    decision: Decision
    failing: tuple[str, ...]
    unknown: tuple[str, ...]
    passing: tuple[str, ...]  #: the rules that surely apply, and pass wherever they apply

    def expect(self, facts: tuple[str, ...], *, steps: bool) -> Json:
        """Return what a vector states: the limits on `facts` alone, and what must be done only if asked for."""
        decision = self.decision
        said: Json = {
            "verdict": str(decision.verdict),
            "methods": [
                {"method": each.method, "injury": each.injury, "verdict": str(each.verdict)}
                for each in decision.methods
            ],
            "failing": list(self.failing),
            "unknown": list(self.unknown),
            "questions": [question.fact for question in decision.questions],
            "limits_method": decision.limits_method,
            "limits": {fact: _limits(decision.limits.get(fact)) for fact in facts},
        }
        if steps:
            said["requirements"] = [each.step for each in decision.requirements]
        return said

    @property
    def provenance(self) -> Json:
        """Which packs decided it, and which library."""
        return {"packs": lock_to_json(self.decision.packs), "engine": self.decision.engine}


def answer(rulebook: Rulebook, case: Case | Mapping[str, Any]) -> Answer:
    """Decide a case. Raises as `Rulebook.decide`."""
    decision = rulebook.decide(case)
    said: dict[Outcome, set[str]] = {outcome: set() for outcome in Outcome}
    for reason in _reasons(decision):
        if reason.outcome is not Outcome.PASSES or reason.applies:
            said[reason.outcome].add(reason.rule)
    failing, unknown = said[Outcome.FAILS], said[Outcome.UNKNOWN]
    passing = said[Outcome.PASSES] - failing - unknown
    return Answer(decision, tuple(sorted(failing)), tuple(sorted(unknown)), tuple(sorted(passing)))


def _reasons(decision: Decision) -> Iterator[Reason]:
    yield from decision.reasons
    for method in decision.methods:
        yield from method.reasons


def _limits(found: FactLimits | None) -> Json:
    """Return the strictest limit on a fact, and the rules that set it: of none, that nothing surely limits it."""
    if found is None:
        return {"binding": []}
    said: Json = {}
    for relation in RELATIONS:
        value = getattr(found, relation.replace("-", "_"))
        if value is not None:
            said[relation.replace("-", "_")] = value if isinstance(value, int) else str(value)
    if found.permitted is not None:
        said["permitted"] = list(found.permitted)
    if found.prohibited:
        said["prohibited"] = list(found.prohibited)
    return said | {"binding": list(found.binding)}
