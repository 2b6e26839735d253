"""What a decision says besides its verdict, worked out when it is read.

All of it is the business of `tirerules.deciding`; here it is asked for no more than is needed, and what is the same for
many cases is told once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType
from typing import TYPE_CHECKING

from tirerules._version import __version__
from tirerules.case import Case
from tirerules.deciding.decide import RESALE, decide, failing_rules, question_of, requirements_of, rules_for
from tirerules.deciding.decision import Account, Fares, MethodVerdict, Notice, Question, Reason, Requirement
from tirerules.deciding.gaps import OPEN_INJURY, UNRECORDED, unjudged_says, unlimited_says, unreviewed
from tirerules.deciding.judging import judge_case
from tirerules.deciding.judgment import Judgment
from tirerules.deciding.limits import FactLimits, limits_of
from tirerules.deciding.notices import (
    OWN_KINDS,
    coverage_notices,
    own_notices,
    replaced_notices,
    resale_notice,
    rule_notices,
    said_notices,
    start_notices,
    tire_after,
)
from tirerules.deciding.view import View
from tirerules.decision import VERDICTS
from tirerules.index.asking import needs_of
from tirerules.index.evaluate import UNDETERMINED, Found
from tirerules.index.plain import PlainCase
from tirerules.index.plan import NO_INJURIES, SEVERAL_INJURIES, Plan
from tirerules.packs.pack import Pack
from tirerules.packs.rule import Limit, Require, Rule
from tirerules.quantities import Quantity
from tirerules.record.cases import case_from_json
from tirerules.vocabulary import FACTS, Activity

if TYPE_CHECKING:
    from tirerules.decision import Desk
    from tirerules.index.plan import Failing

__all__ = [
    "RESALE",
    "Shared",
    "account",
    "case",
    "failing_after",
    "limits",
    "methods",
    "needs_of",
    "own_notices",
    "resale",
    "shared",
]


def case(asked: Case | PlainCase, on: date) -> Case:
    """Return a case in its typed form, with the day it was decided for."""
    typed = asked if isinstance(asked, Case) else case_from_json(asked.said())
    return typed if typed.on == on else replace(typed, on=on)


def account(
    asked: Case, packs: Sequence[Pack], on: date, rules: Sequence[Rule] | None, resale: Sequence[Notice] | None
) -> Account:
    """Return the account by the reference evaluation; of `rules` alone where it is known that no other may apply."""
    return decide(asked, packs, on, __version__, rules=rules, resale=resale)


class Shared:
    """What is the same for every case that is known alike: all but what quotes a measurement."""

    __slots__ = ("notices", "questions", "requirements")

    def __init__(
        self, questions: tuple[Question, ...], requirements: tuple[Requirement, ...], notices: tuple[Notice, ...]
    ) -> None:
        self.questions, self.requirements, self.notices = questions, requirements, notices


def shared(plan: Plan, found: Found, desk: Desk, on: date, whole: Callable[[], Account]) -> Shared:
    """Return what is the same for every case with the same findings; `whole` gives the account of one of them.

    What is each case's own (`tirerules.deciding.notices.OWN_KINDS`) is left out.
    """
    if found.flags & SEVERAL_INJURIES:  # told in an order of their own
        account = whole()
        own = tuple(notice for notice in account.notices if notice.kind not in OWN_KINDS)
        return Shared(account.questions, account.requirements, own)
    needs = needs_of(plan, found.packed) if found.verdict == UNDETERMINED else ()
    questions = whole().questions if needs is None else tuple(question_of(need, 1) for need in needs)
    packs, rules = desk.packs_for(plan.codes), desk.rules_of(plan)
    judgments = _demands(plan, rules, found.sure, found.maybe, found.late)
    gaps = (gap.says for gap in unreviewed(sorted(packs, key=lambda pack: pack.id), plan.codes, plan.activity))
    notices = (
        *replaced_notices(packs),
        *coverage_notices(packs, plan.activity),
        *said_notices((*gaps, *_gaps(found))),
        *rule_notices(judgments),
        *start_notices(rules_for(packs, plan.activity), on),
    )
    return Shared(questions, requirements_of(judgments), notices)


def _gaps(found: Found) -> Iterator[str]:
    """Yield what no rule speaks to, in words."""
    for kind, what in found.gaps:
        if kind == "finding":
            yield unjudged_says(what)
        elif kind == "tread":
            yield unlimited_says("tire.tread_depth", what)
        elif kind == "repair":
            yield unlimited_says("repair.diameter")
        else:
            yield UNRECORDED if found.flags & NO_INJURIES else OPEN_INJURY
    if any(each.unlimited for each in found.methods if each.name == found.leading):
        yield unlimited_says("injury.diameter")


def methods(found: Found, tell: Callable[[Fares], tuple[Reason, ...]]) -> tuple[MethodVerdict, ...]:
    """Return how each injury fares by each method; `tell` gives the reasons when it is asked."""
    known: list[Fares] | None = found.pieces.get("fares")
    if known is None:
        known = [Fares(each.name, each.injury, VERDICTS[each.verdict]) for each in found.methods]
        found.pieces["fares"] = known
    return tuple([MethodVerdict(fares, tell) for fares in known])


@lru_cache(maxsize=10_000)
def resale(methods: tuple[str, ...], after: tuple[Failing, ...]) -> tuple[Notice, ...]:
    """Return notices of the rules that fail, by activity of `RESALE` and then by method, once the tire is repaired."""
    return tuple(
        resale_notice(activity, method, failing)
        for method, *by_activity in zip(methods, *after, strict=True)
        for activity, failing in zip(RESALE, by_activity, strict=True)
        if failing
    )


def limits(plan: Plan, rules: Sequence[Rule], sure: int, maybe: int, late: int) -> Mapping[str, FactLimits]:
    """Return the limits that some rules of a plan set, none of which waits for a measure of the tire.

    They are told in the order in which they are judged, those that apply by the method alone (`late`) behind others.
    What the same rules set on a fact is one value for all cases and all places.
    """
    known = plan.cache("limits of a fact")
    found: dict[str, FactLimits] = {}
    for fact, limiting in _limiting(plan).items():
        masks = (sure & limiting, maybe & limiting, late & limiting)
        if masks[0] | masks[1]:
            each = known.get((fact, masks))
            if each is None:
                each = known[fact, masks] = _limits_of_fact(plan, rules, fact, masks)
            found[fact] = each
    return MappingProxyType(found)


def _limiting(plan: Plan) -> Mapping[str, int]:
    """Return the rules that limit each fact, in the order of the vocabulary."""
    known = plan.cache("rules that limit a fact")
    if not known:
        masks: dict[str, int] = {}
        for at, row in enumerate(plan.rows):
            if row["body"] is not None:
                masks[row["body"]["fact"]] = masks.get(row["body"]["fact"], 0) | 1 << at
        known[None] = {fact: masks[fact] for fact in FACTS if fact in masks}
    limiting: Mapping[str, int] = known[None]
    return limiting


def _limits_of_fact(plan: Plan, rules: Sequence[Rule], fact: str, masks: tuple[int, int, int]) -> FactLimits:
    key = (fact, plan.reading, *map(plan.names_in, masks))
    told: FactLimits = plan.memory.limits_by(key, lambda: limits_of(_demands(plan, rules, *masks))[fact])
    return told


def _demands(plan: Plan, rules: Sequence[Rule], sure: int, maybe: int, late: int) -> list[Judgment]:
    told = [at for at in plan.in_order if (sure | maybe) >> at & 1]
    told.sort(key=lambda at: late >> at & 1)
    return [_demand(rules[at], True if sure >> at & 1 else None, plan.reading) for at in told]


def _demand(rule: Rule, applies: bool | None, reading: str) -> Judgment:
    """Return what a rule demands, of no subject in particular."""
    body = rule.body
    if isinstance(body, Require):
        return Judgment(rule, View(), applies, True, None)
    if not isinstance(body, Limit):
        return Judgment(rule, View(), applies, None, body.constraint())
    chosen = body.chosen(reading)
    if chosen is None:
        return Judgment(rule, View(), applies, None, None)
    exact = chosen.exact if isinstance(chosen, Quantity) else Fraction(chosen)
    return Judgment(rule, View(), applies, None, body.bound(exact), chosen=chosen)


def failing_after(
    asked: Case | PlainCase, on: date | str, methods: Sequence[str], activity: str, rules: Sequence[Rule]
) -> Failing:
    """Return, by the reference, which rules fail under `activity` once the tire is repaired, for each method."""
    typed = case(asked, on if isinstance(on, date) else date.fromisoformat(on))
    after = (tire_after(typed, method, Activity(activity)) for method in methods)
    return tuple(failing_rules(judge_case(each, rules).common) for each in after)
