"""The strictest limit on each fact, the rules that set it, and the ladder of all the others behind it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import Any

from tirerules.deciding.judging import Answer
from tirerules.deciding.judgment import Judgment
from tirerules.packs.rule import RELATIONS, Limit, Require, Rule
from tirerules.quantities import Quantity
from tirerules.strictest.bounds import Ceiling, Floor, Permitted, Prohibited, Strictest, binding
from tirerules.vocabulary import FACTS

__all__ = ["FactLimits", "Rung", "limits_of"]


@dataclass(frozen=True, slots=True)
class Rung:
    """One rule's limit on a fact, as one step of the ladder."""

    rule: Rule
    limit: str  #: as it binds under the case's reading, with its relation
    as_enacted: str
    also_printed: str
    applies: bool | None
    when: str
    extended: bool


@dataclass(frozen=True, slots=True)
class FactLimits:
    """What limits one fact.

    The strictest limit is that of the rules that surely apply; rules that only may apply stand in the ladder, marked.
    At most one of `at_most` and `less_than`, and of `at_least` and `more_than`, is set.
    """

    fact: str
    at_most: Quantity | int | None
    less_than: Quantity | int | None
    at_least: Quantity | int | None
    more_than: Quantity | int | None
    permitted: tuple[str, ...] | None
    prohibited: tuple[str, ...]
    binding: tuple[str, ...]  #: names of the rules that set the strictest limit
    ladder: tuple[Rung, ...]  #: strictest first


def limits_of(answers: Iterable[Answer]) -> Mapping[str, FactLimits]:
    """Return the limits on every fact that `answers` limit, in the order of the vocabulary."""
    by_fact: dict[str, dict[tuple[str, str], Judgment]] = {}
    for answer in answers:
        if isinstance(answer, Judgment) and not isinstance(answer.rule.body, Require):
            # The same rule judged for two injuries is one rung: keep the surest.
            rungs = by_fact.setdefault(answer.rule.body.fact, {})
            key = (answer.rule.name, str(answer.chosen))
            if key not in rungs or rungs[key].applies is None:
                rungs[key] = answer
    return MappingProxyType({fact: _limits(fact, list(by_fact[fact].values())) for fact in FACTS if fact in by_fact})


def _limits(fact: str, judgments: list[Judgment]) -> FactLimits:
    sure = [judgment for judgment in judgments if judgment.applies and judgment.constraint is not None]
    constraints = [judgment.constraint for judgment in sure if judgment.constraint is not None]
    strictest = Strictest.of(*constraints)
    binds = sorted({sure[index].rule.name for index in binding(constraints)})
    figures: dict[str, Quantity | int | None] = dict.fromkeys(RELATIONS)
    for judgment, constraint in zip(sure, constraints, strict=True):
        body = judgment.rule.body
        if isinstance(body, Limit) and constraint in (strictest.ceiling, strictest.floor):
            # Of equal figures in two units, the one that the first binding rule prints.
            figures[body.relation] = figures[body.relation] or judgment.chosen
    prohibited = tuple(sorted(strictest.prohibited))
    return FactLimits(
        fact=fact,
        at_most=figures["at-most"],
        less_than=figures["less-than"],
        at_least=figures["at-least"],
        more_than=figures["more-than"],
        permitted=None if strictest.permitted is None else tuple(sorted(strictest.permitted)),
        prohibited=prohibited,
        binding=tuple(binds),
        ladder=tuple(_rung(judgment) for judgment in sorted(judgments, key=_rank)),
    )


def _rank(judgment: Judgment) -> tuple[Any, ...]:
    """Ceilings lowest first, floors highest first, permitted sets smallest first, prohibited sets largest first."""
    strictness: tuple[int, Fraction, bool]
    match judgment.constraint:
        case None:  # the tire's measure that it follows from is unknown
            strictness = (3, Fraction(0), False)
        case Ceiling() as bound:
            strictness = (0, bound.value, bound.inclusive)
        case Floor() as bound:
            strictness = (1, -bound.value, bound.inclusive)
        case Permitted(words):
            strictness = (2, Fraction(len(words)), False)
        case Prohibited(words):
            strictness = (2, Fraction(-len(words)), False)
    return (judgment.applies is None, *strictness, judgment.rule.name)


def _rung(judgment: Judgment) -> Rung:
    rule, body = judgment.rule, judgment.rule.body
    also = body.also if isinstance(body, Limit) else None
    return Rung(
        rule=rule,
        limit=body.text(judgment.chosen),
        as_enacted=body.text(),
        also_printed="" if also is None else str(also),
        applies=judgment.applies,
        when="; ".join(condition.text for condition in rule.conditions),
        extended=judgment.extended,
    )
