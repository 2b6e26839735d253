"""Decisions and locks as JSON, with a digest: text in, text out, nothing lost."""

from __future__ import annotations

from tirerules.case.writing import case_to_json
from tirerules.engine.parts import PackLock, Reason
from tirerules.engine.words import verdict_words
from tirerules.packs.rule import RELATIONS
from tirerules.quantities import decimal_text

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from fractions import Fraction
    from typing import Any

    from tirerules.decision import Decision
    from tirerules.engine.parts import (
        FactLimits,
        Geometry,
        Margin,
        MethodVerdict,
        Notice,
        Question,
        Remedies,
        Requirement,
        Rung,
    )
    from tirerules.quantities import Quantity
    from tirerules.templates import Parameter

__all__ = [
    "FORM",
    "decision_to_json",
    "digest_of",
    "geometry_to_json",
    "limits_to_json",
    "lock_from_json",
    "lock_to_json",
    "margin_to_json",
    "notice_to_json",
    "question_to_json",
    "remedies_to_json",
    "requirement_to_json",
]


#: The number of the form in which decisions are written: 1 is that of release 1.0.0, 2 that of 1.1.0, which did not say
#: so. It grows when a decision says more; `tirerules.record.earlier` knows what earlier forms say.
FORM = 3


def _figure(value: Quantity | int) -> str | int:
    return value if isinstance(value, int) else str(value)


def _reason(reason: Reason) -> dict[str, Any]:
    said: dict[str, Any] = {"rule": reason.rule, "fact": reason.fact}
    said |= {key: text for key in ("subject", "measured", "limit") if (text := getattr(reason, key))}
    said |= {"outcome": str(reason.outcome), "applies": reason.applies, "says": reason.says}
    if reason.extended:
        said["extended"] = True
    return said | _source(reason)


def _source(said: Reason | Rung) -> dict[str, str]:
    source = said.source if isinstance(said, Reason) else said.rule.source
    if source is None:
        return {}
    return {"citation": source.citation, "authority": source.authority, "evidence": source.evidence}


def _rung(rung: Rung) -> dict[str, Any]:
    said: dict[str, Any] = {"rule": rung.rule.name, "limit": rung.limit, "as_enacted": rung.as_enacted}
    said |= {key: text for key in ("also_printed", "when") if (text := getattr(rung, key))}
    said["applies"] = rung.applies
    if rung.extended:
        said["extended"] = True
    return said | _source(rung)


def limits_to_json(limits: Mapping[str, FactLimits]) -> dict[str, Any]:
    """Return the JSON form of the limits on every fact, with their ladders."""
    return {fact: _limits(found) for fact, found in limits.items()}


def _limits(limits: FactLimits) -> dict[str, Any]:
    said: dict[str, Any] = {
        name: _figure(value)
        for name in (relation.replace("-", "_") for relation in RELATIONS)
        if (value := getattr(limits, name)) is not None
    }
    if limits.permitted is not None:
        said["permitted"] = list(limits.permitted)
    if limits.prohibited:
        said["prohibited"] = list(limits.prohibited)
    return said | {"binding": list(limits.binding), "ladder": [_rung(rung) for rung in limits.ladder]}


def geometry_to_json(found: Geometry) -> dict[str, Any]:
    """Return the JSON form of where an injury lies."""
    said: dict[str, Any] = {"injury": found.injury, "offset": found.offset, "known": found.known}
    if found.known:
        said |= {"reach_outside": _millimeters(found.outer), "reach_inside": _millimeters(found.inner)}
    if found.band is not None and found.margin is not None:
        said |= {"band": _millimeters(found.band), "rule": found.rule}
        said |= {"margin": _millimeters(found.margin)} if found.known else {}
    return said


def _millimeters(value: Fraction) -> str:
    return f"{decimal_text(value)} mm"


def _method(verdict: MethodVerdict) -> dict[str, Any]:
    return {
        "method": verdict.method,
        "injury": verdict.injury,
        "verdict": str(verdict.verdict),
        "reasons": [_reason(reason) for reason in verdict.reasons],
    }


def question_to_json(question: Question) -> dict[str, Any]:
    """Return the JSON form of a question."""
    said: dict[str, Any] = {key: text for key in ("fact", "subject", "ask", "unit") if (text := getattr(question, key))}
    said["kind"] = question.kind
    if question.choices:
        said["choices"] = [{"word": each.word, "label": each.label} for each in question.choices]
    if question.units:
        said["units"] = list(question.units)
    said["several"] = question.several
    if question.number is not None:
        said["number"] = question.number
    return said | {"path": question.path}


def requirement_to_json(each: Requirement) -> dict[str, Any]:
    """Return the JSON form of a requirement."""
    when = {"when": each.when} if each.when else {}
    more = {"template": each.template, "parameters": _parameters(each.parameters)}
    return {"step": each.step, "say": each.say, **when, "rules": list(each.rules), **more}


def notice_to_json(notice: Notice) -> dict[str, Any]:
    """Return the JSON form of a notice."""
    more = {"template": notice.template, "parameters": _parameters(notice.parameters)}
    return {"kind": notice.kind, "text": notice.text, "rules": list(notice.rules), **more}


def _parameters(said: Iterable[tuple[str, Parameter]]) -> dict[str, Any]:
    return {key: list(value) if isinstance(value, tuple) else value for key, value in said}


def margin_to_json(margin: Margin) -> dict[str, Any]:
    """Return the JSON form of a margin; what is unknown is left out."""
    said: dict[str, Any] = {"fact": margin.fact, "rule": margin.rule, "limit": margin.limit, "applies": margin.applies}
    if margin.subject:
        said["subject"] = margin.subject
    said["measured"] = margin.measured
    if margin.least is not None and margin.most is not None:
        said |= {"least": _figure(margin.least), "most": _figure(margin.most)}
    return said


def remedies_to_json(remedies: Remedies) -> dict[str, Any]:
    """Return the JSON form of what a shop could change."""
    return {
        "asked": remedies.asked,
        "sets": [
            [
                {"fact": each.fact, "to": each.to, **({"document": True} if each.document else {})}
                for each in set_.changes
            ]
            for set_ in remedies.sets
        ],
    }


def decision_to_json(decision: Decision, *, further: bool = False) -> dict[str, Any]:
    """Return the JSON form of a decision, with its digest; `further` adds what is told on request alone.

    That is what a shop could change (``remedies``) and how far each measure is from each limit (``margins``).
    """
    said: dict[str, Any] = {
        "verdict": str(decision.verdict),
        "activity": str(decision.row.activity),
        "say": verdict_words(decision.row.activity, decision.verdict, decision.one_method),
        "methods": [_method(verdict) for verdict in decision.methods],
        "limits": limits_to_json(decision.limits),
        "limits_method": decision.limits_method,
        "reasons": [_reason(reason) for reason in decision.reasons],
        "geometry": [geometry_to_json(each) for each in decision.geometry],
        "questions": [question_to_json(each) for each in decision.questions],
        "requirements": [requirement_to_json(each) for each in decision.requirements],
        "notices": [notice_to_json(each) for each in decision.notices],
        **(_further(decision) if further else {}),
        "cautions": list(decision.cautions),
        "case": case_to_json(decision.row),
        "packs": lock_to_json(decision.packs),
        "engine": decision.engine,
        "form": FORM,
        "on": decision.on.isoformat(),
    }
    return said | {"digest": digest_of(said)}


def _further(decision: Decision) -> dict[str, Any]:
    margins = [margin_to_json(each) for each in decision.margins]
    return {"remedies": remedies_to_json(decision.remedies), "margins": margins}


def digest_of(said: Mapping[str, Any]) -> str:
    """Return the digest of a decision's JSON form: SHA-256 over its keys in order, without the digest itself."""
    import hashlib
    import json

    plain = {key: value for key, value in said.items() if key != "digest"}
    text = json.dumps(plain, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return "sha256:" + hashlib.sha256(text.encode("ascii")).hexdigest()


def lock_to_json(lock: Mapping[str, PackLock]) -> dict[str, Any]:
    """Return the JSON form of a lock."""
    return {
        pack: {"version": entry.version, "sha256": entry.sha256, **({"replaces": True} if entry.replaces else {})}
        for pack, entry in sorted(lock.items())
    }


def lock_from_json(said: Any) -> dict[str, PackLock]:
    """Read a lock. Raises ReplayError where it is none."""

    def entries() -> Iterator[tuple[str, PackLock]]:
        for pack, entry in said.items():
            version, sha256, replaces = entry["version"], entry["sha256"], entry.get("replaces", False)
            if not (isinstance(version, str) and isinstance(sha256, str) and isinstance(replaces, bool)):
                raise TypeError
            yield str(pack), PackLock(version, sha256, replaces)

    try:
        return dict(entries())
    except (AttributeError, KeyError, TypeError):
        from tirerules.errors import Problem, ReplayError

        hint = 'write {"US": {"version": "1.0.0", "sha256": "..."}}'
        raise ReplayError([Problem("lock", "this is no lock of packs", hint, path="packs")]) from None
