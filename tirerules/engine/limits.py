"""The strictest limit on each fact, the rules that set it, and the ladder of all the others behind it."""

from __future__ import annotations

from math import lcm
from types import MappingProxyType

from tirerules.engine.parts import FactLimits, Rung
from tirerules.packs.rule import RELATIONS, Limit, Require
from tirerules.strictest.bounds import Ceiling, Floor, Permitted, Prohibited, Strictest, binding
from tirerules.vocabulary import FACTS

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from typing import Any

    from tirerules.engine.entries import Entry
    from tirerules.quantities import Quantity

__all__ = ["limits_of", "strictest_of"]


def limits_of(found: Iterable[Entry]) -> Mapping[str, FactLimits]:
    """Return the limits on every fact that entries limit, in the order of the vocabulary."""
    by_fact: dict[str, dict[tuple[str, str], Entry]] = {}
    for entry in found:
        body = entry.rule.body
        if not isinstance(body, Require):
            # The same rule judged for two injuries is one rung: keep the surest.
            rungs = by_fact.setdefault(body.fact, {})
            key = (entry.rule.name, str(entry.chosen))
            if key not in rungs or rungs[key].applies is None:
                rungs[key] = entry
    return MappingProxyType({fact: _limits(fact, list(by_fact[fact].values())) for fact in FACTS if fact in by_fact})


def strictest_of(found: Iterable[Entry]) -> tuple[Strictest, Mapping[str, Quantity | int | None], tuple[str, ...]]:
    """Return the strictest limit that entries on one fact surely set, its figures by relation, and the rules that bind."""
    sure = [entry for entry in found if entry.applies and entry.constraint is not None]
    constraints = [entry.constraint for entry in sure]
    strictest = Strictest.of(*constraints)
    figures: dict[str, Quantity | int | None] = dict.fromkeys(RELATIONS)
    for entry, constraint in zip(sure, constraints, strict=True):
        body = entry.rule.body
        if isinstance(body, Limit) and constraint in (strictest.ceiling, strictest.floor):
            # Of equal figures in two units, the one that the first binding rule prints.
            figures[body.relation] = figures[body.relation] or entry.chosen
    return strictest, figures, tuple(sorted({sure[index].rule.name for index in binding(constraints)}))


def _limits(fact: str, found: list[Entry]) -> FactLimits:
    strictest, figures, binds = strictest_of(found)
    return FactLimits(
        fact=fact,
        at_most=figures["at-most"],
        less_than=figures["less-than"],
        at_least=figures["at-least"],
        more_than=figures["more-than"],
        permitted=None if strictest.permitted is None else tuple(sorted(strictest.permitted)),
        prohibited=tuple(sorted(strictest.prohibited)),
        binding=binds,
        ladder=tuple(_rung(entry) for entry in _ranked(found)),
    )


def _ranked(found: Sequence[Entry]) -> list[Entry]:
    """Return entries, the strictest first."""
    bounds = [entry.constraint for entry in found if isinstance(entry.constraint, (Ceiling, Floor))]
    scale = lcm(*(bound.below for bound in bounds))
    return sorted(found, key=lambda entry: _rank(entry, scale))


def _rank(entry: Entry, scale: int) -> tuple[Any, ...]:
    """Ceilings lowest first, floors highest first, permitted sets smallest first, prohibited sets largest first."""
    strictness: tuple[int, int, bool]
    constraint = entry.constraint
    match constraint:
        case None:  # the tire's measure that it follows from is unknown
            strictness = (3, 0, False)
        case Ceiling():
            strictness = (0, constraint.above * (scale // constraint.below), constraint.inclusive)
        case Floor():
            strictness = (1, -constraint.above * (scale // constraint.below), constraint.inclusive)
        case Permitted():
            strictness = (2, len(constraint.words), False)
        case Prohibited():
            strictness = (2, -len(constraint.words), False)
    return (entry.applies is None, *strictness, entry.rule.name)


def _rung(entry: Entry) -> Rung:
    rule, body = entry.rule, entry.rule.body
    also = body.also if isinstance(body, Limit) else None
    return Rung(
        rule=rule,
        limit=body.text(entry.chosen),
        as_enacted=body.text(),
        also_printed="" if also is None else str(also),
        applies=entry.applies,
        when="; ".join(condition.text for condition in rule.conditions),
        extended=entry.extended,
    )
