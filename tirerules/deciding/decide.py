"""From a case and the packs of its places to a decision."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from types import MappingProxyType
from typing import Final

from tirerules import words
from tirerules.case import Case
from tirerules.deciding.decision import (
    Account,
    Fares,
    Geometry,
    MethodVerdict,
    Notice,
    Outcome,
    PackLock,
    Question,
    Reason,
    Requirement,
    Verdict,
)
from tirerules.deciding.gaps import Gap, unreviewed
from tirerules.deciding.judging import Answer, Judged, judge_case, limits_reach
from tirerules.deciding.judgment import Judgment, Need
from tirerules.deciding.limits import limit_text, limits_of
from tirerules.deciding.notices import (
    coverage_notices,
    gap_notices,
    own_notices,
    replaced_notices,
    resale_notice,
    rule_notices,
    start_notices,
    tire_after,
)
from tirerules.deciding.questions import worth_asking
from tirerules.deciding.wording import CAUTIONS
from tirerules.packs.pack import Pack
from tirerules.packs.rule import Require, Rule, with_combined
from tirerules.quantities import Quantity
from tirerules.strictest.bounds import all_of, any_of
from tirerules.vocabulary import FACTS, STEPS, Activity, Dimension, Kind, answering

__all__ = ["RESALE", "decide", "failing_rules", "question_of", "requirements_of", "rules_for"]

_UNITS: Final[Mapping[Dimension, str]] = MappingProxyType(
    {
        Dimension.LENGTH: "mm or in",
        Dimension.ANGLE: "deg",
        Dimension.MASS: "kg or lb",
        Dimension.TIME: "years",
    }
)
#: What a repair may spoil: decided for the repaired tire so that a shop is warned.
RESALE: Final = tuple(map(Activity, words.RESALE))
#: Which outcome a person wants to read about first.
_FIRST: Final = (Outcome.FAILS, Outcome.UNKNOWN, Outcome.PASSES)


def rules_for(packs: Iterable[Pack], activity: str) -> tuple[Rule, ...]:
    """Return the rules of `packs` that an activity answers to, by name, whatever the day."""
    wanted = set(answering(Activity(activity)))
    rules = [rule for pack in packs for rule in pack.rules if rule.activities & wanted]
    return tuple(sorted(with_combined(rules), key=lambda rule: rule.name))


def decide(
    case: Case,
    packs: Sequence[Pack],
    on: date,
    engine: str,
    *,
    rules: Sequence[Rule] | None = None,
    resale: Sequence[Notice] | None = None,
) -> Account:
    """Decide `case` on the day `on` by `packs`, which are those of its places and the overlays.

    Pure: the same arguments give the same account, whatever the order of the packs. Where the caller knows already
    which rules in force may apply at all, or what follows for a resale, `rules` and `resale` save working it out.
    """
    packs = sorted(packs, key=lambda pack: pack.id)
    relevant = rules_for(packs, case.activity)
    if rules is None:
        rules = tuple(rule for rule in relevant if rule.in_force(on))
    if case.on != on:
        case = replace(case, on=on)
    judged = judge_case(case, rules, unreviewed(packs, case.jurisdictions, case.activity))
    methods = tuple(_method_verdict(judged, number, method) for number, method in judged.methods)
    verdict = _verdict(judged, methods)
    leading = _leading(methods)
    answers = list(judged.common)
    for (_, method), found in judged.methods.items():
        answers += found if method == leading else ()
    notices = [
        *replaced_notices(packs),
        *coverage_notices(packs, case.activity),
        *gap_notices(answers),
        *rule_notices([answer for answer in answers if isinstance(answer, Judgment)]),
        *start_notices(relevant, on),
        *own_notices(case.stated, {fact for rule in relevant if rule.in_force(on) for fact in _read_by(rule)}),
        *(_resale(case, packs, on, methods, verdict) if resale is None else resale),
    ]
    return Account(
        verdict=verdict,
        case=case,
        on=on,
        methods=methods,
        limits=limits_of(answers),
        limits_method=leading,
        reasons=_reasons(judged.common),
        geometry=tuple(_geometry(judged)),
        # A question that cannot change the verdict is never asked.
        questions=_questions(judged) if verdict is Verdict.UNDETERMINED else (),
        requirements=requirements_of(answers),
        notices=tuple(notices),
        cautions=CAUTIONS,
        packs=MappingProxyType({pack.id: PackLock(str(pack.version), pack.sha256, pack.replaces) for pack in packs}),
        engine=engine,
    )


def _read_by(rule: Rule) -> tuple[str, ...]:
    """Return the facts that a rule reads, in its conditions and its body."""
    body = () if isinstance(rule.body, Require) else (rule.body.fact,)
    return (*(each.fact for each in rule.conditions), *body)


def _method_verdict(judged: Judged, injury: int, method: str) -> MethodVerdict:
    outcome = all_of(answer.outcome for answer in judged.together(injury, method))
    reasons = _reasons(judged.methods[injury, method])
    return MethodVerdict(Fares(method, injury + 1, Verdict.of(outcome)), lambda _: reasons)


def _verdict(judged: Judged, methods: Sequence[MethodVerdict]) -> Verdict:
    """Every rule that no method changes must pass, and every injury must have a method that does."""
    common = all_of(answer.outcome for answer in judged.common)
    if not methods:
        return Verdict.of(common)
    outcomes = {Verdict.WITHIN: True, Verdict.OUTSIDE: False, Verdict.UNDETERMINED: None}
    by_injury = (
        any_of(outcomes[each.verdict] for each in methods if each.injury == injury + 1)
        for injury in range(len(judged.injuries))
    )
    return Verdict.of(all_of((common, *by_injury)))


def _leading(methods: Sequence[MethodVerdict]) -> str | None:
    """Return the method that does best over all injuries; of equals the one a shop prefers."""
    order = (Verdict.OUTSIDE, Verdict.UNDETERMINED, Verdict.WITHIN)
    worst: dict[str, int] = {}
    for each in methods:
        worst[each.method] = min(worst.get(each.method, len(order)), order.index(each.verdict))
    return max(worst, key=worst.__getitem__) if worst else None


def _resale(
    case: Case, packs: Sequence[Pack], on: date, methods: Sequence[MethodVerdict], verdict: Verdict
) -> Iterator[Notice]:
    """Yield how the repaired tire would fare as a used tire, for each method that may repair it."""
    if verdict is Verdict.OUTSIDE:
        return
    in_force = {
        activity: tuple(rule for rule in rules_for(packs, activity) if rule.in_force(on)) for activity in RESALE
    }
    for method in dict.fromkeys(each.method for each in methods if each.verdict is not Verdict.OUTSIDE):
        for activity, rules in in_force.items():
            after = tire_after(case, method, activity)
            answers = judge_case(after, rules).common
            failing = failing_rules(answers)
            if failing:
                yield resale_notice(activity, method, failing)


def failing_rules(answers: Iterable[Answer]) -> tuple[str, ...]:
    """Return the names of the rules that some of `answers` surely fail."""
    return tuple(sorted({each.rule.name for each in answers if isinstance(each, Judgment) and each.outcome is False}))


def _reasons(answers: Iterable[Answer]) -> tuple[Reason, ...]:
    reasons = [
        _reason(answer) for answer in answers if isinstance(answer, Gap) or not isinstance(answer.rule.body, Require)
    ]
    return tuple(sorted(reasons, key=lambda reason: (_FIRST.index(reason.outcome), reason.rule, reason.subject)))


def _reason(answer: Answer) -> Reason:
    if isinstance(answer, Gap):
        return Reason(
            rule=answer.name,
            fact=answer.fact,
            subject=answer.subject,
            measured=answer.measured,
            limit="",
            outcome=Outcome.UNKNOWN,
            applies=True,
            extended=False,
            says=answer.says,
            source=None,
        )
    body = answer.rule.body
    assert not isinstance(body, Require)  # INVARIANT: _reasons leaves requirements out
    return Reason(
        rule=answer.rule.name,
        fact=body.fact,
        subject=answer.subject,
        measured=answer.view.shown.get(body.fact, "unknown"),
        limit=limit_text(answer.rule, answer.chosen),
        outcome=Outcome.of(answer.outcome),
        applies=answer.applies,
        extended=answer.extended,
        says=answer.rule.says,
        source=answer.rule.source,
    )


def _geometry(judged: Judged) -> Iterator[Geometry]:
    """Yield where each injury lies that was measured from the center line, against the narrowest band of any method."""
    for injury, own in enumerate(judged.injuries):
        by_method = (found for (number, _), found in judged.methods.items() if number == injury)
        answers = itertools.chain(own, *by_method)
        found = [each for each in answers if isinstance(each, Judgment) and limits_reach(each.rule)]
        channel = next((each.view.channel for each in found if each.view.channel), None)
        if channel is None:
            continue
        figures = [(each.chosen, each.rule.name) for each in found if each.applies]
        bands = [(chosen.exact, name) for chosen, name in figures if isinstance(chosen, Quantity)]
        band, rule = min(bands, default=(None, ""))
        faces = channel.faces()
        yield Geometry(
            injury=injury + 1,
            offset=found[0].view.shown["injury.from_centerline"],
            outer=faces.outer.high,
            inner=faces.inner.high,
            band=band,
            rule=rule,
            known=channel.bounded,
        )


def requirements_of(answers: Iterable[Answer]) -> tuple[Requirement, ...]:
    """Return the union of what the rules require, in the order of the vocabulary."""
    by_step: dict[str, list[Judgment]] = {}
    for answer in answers:
        if isinstance(answer, Judgment) and isinstance(answer.rule.body, Require):
            for step in answer.rule.body.steps:
                by_step.setdefault(step, []).append(answer)
    return tuple(_requirement(step, by_step[step]) for step in STEPS if step in by_step)


def _requirement(step: str, judgments: Sequence[Judgment]) -> Requirement:
    doubtful = () if any(judgment.applies for judgment in judgments) else judgments[0].rule.conditions
    return Requirement(
        step,
        STEPS[step],
        "; ".join(condition.text for condition in doubtful),
        tuple(sorted({judgment.rule.name for judgment in judgments})),
    )


def _questions(judged: Judged) -> tuple[Question, ...]:
    return tuple(question_of(need, len(judged.injuries)) for need in worth_asking(judged))


def question_of(need: Need, injuries: int) -> Question:
    """Return the question that asks for a fact, of a case with so many injuries."""
    fact = FACTS[need[0]]
    if fact.dimension is not None:
        unit = _UNITS[fact.dimension]
    elif fact.kind is Kind.FLAG:
        unit = "yes or no"
    else:
        unit = "" if fact.kind is Kind.SET else ", ".join(fact.values)
    # With one injury there is nothing to tell apart.
    subject = "" if need[1] == "injury 1" and injuries == 1 else need[1]
    return Question(fact.name, subject, fact.question, unit)
