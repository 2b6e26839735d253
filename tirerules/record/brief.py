"""A decision as a brief record: what a shop keeps of each ticket, enough to decide it again and to prove the answer.

It holds the case, the packs, the day and the engine, the verdict and the leading method, one rule for each fact that
fails or else that binds, the facts that are asked for, and the digest of the whole decision. INVARIANT: the whole
follows from it: deciding its case by its packs gives a decision with the digest ``whole``.
"""

from __future__ import annotations

from tirerules.case.writing import case_to_json
from tirerules.engine.entries import entries
from tirerules.engine.words import verdict_words
from tirerules.record.decisions import FORM, digest_of, lock_to_json
from tirerules.vocabulary import Verdict

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator
    from typing import Any

    from tirerules.decision import Decision

__all__ = ["BRIEF", "decision_to_brief"]

#: The value of ``record`` that tells a brief record from a whole decision.
BRIEF = "brief"


def decision_to_brief(decision: Decision) -> dict[str, Any]:
    """Return the brief record of a decision, with the digest of the whole and its own."""
    from tirerules.record.written import digest_in, written

    said: dict[str, Any] = {
        "record": BRIEF,
        "verdict": str(decision.verdict),
        "say": verdict_words(decision.row.activity, decision.verdict, decision.one_method),
        "method": decision.limits_method,
        "because": list(_because(decision)),
        "questions": [{"fact": each.fact, "path": each.path} for each in decision.questions],
        "case": case_to_json(decision.row),
        "packs": lock_to_json(decision.packs),
        "engine": decision.engine,
        "form": FORM,
        "on": decision.row.on,
        "whole": digest_in(written(decision)),
    }
    return said | {"digest": digest_of(said)}


def _because(decision: Decision) -> Iterator[dict[str, Any]]:
    """Yield one rule for each fact that fails; of a case that fails none, for each fact that is limited."""
    if decision.verdict is Verdict.OUTSIDE:
        yield from _failing(decision)
        return
    for gap in decision.told.gaps:
        yield {"rule": gap.rule.name, "fact": gap.rule.fact}
    for fact, limits in decision.limits.items():
        for rung in limits.ladder:
            if rung.applies and rung.rule.name in limits.binding:
                yield {
                    "rule": rung.rule.name,
                    "fact": fact,
                    "limit": rung.limit,
                    "citation": rung.rule.source.citation,
                    "evidence": rung.rule.source.evidence,
                }
                break


def _failing(decision: Decision) -> Iterator[dict[str, Any]]:
    evaluation, told = decision.evaluation, set()
    lanes = ("", "injury", *([] if evaluation.leading is None else [evaluation.leading]))
    for entry in entries(evaluation, *lanes):
        body = entry.rule.body
        if entry.outcome is not False or body.fact is None or (body.fact, entry.label) in told:
            continue
        told.add((body.fact, entry.label))
        said = {"rule": entry.rule.name, "fact": body.fact}
        if entry.label:
            said["subject"] = entry.label
        said["measured"] = entry.subject.shown(entry.instance.fact)
        said["limit"] = body.text(entry.chosen)
        source = entry.rule.source
        yield said | {"citation": source.citation, "evidence": source.evidence}
