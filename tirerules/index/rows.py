"""Rules as plain rows, which is what packs compile to: JSON in, JSON out, exact, without a class.

A number is a numerator and a denominator in the base unit of its fact; a bound is such a number and whether it is
included. See `Row` for the keys.
"""

from __future__ import annotations

from tirerules.packs.rule import Counted, Limit, Relative, Require
from tirerules.strictest.bounds import Strictest
from tirerules.vocabulary import FACTS, Kind

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, TypeAlias

    from tirerules.packs.pack import Pack
    from tirerules.packs.rule import Body, Condition, Rule
    from tirerules.strictest.bounds import Ceiling, Floor

    #: One rule: `name`, `pack`, `activities`, `from`, `until`, `groups`, `when` (tests), `body` (a test with its fact,
    #: or None for a requirement), `overlay`, `memory` (known from memory only), `contradicts` (a finding, or nothing).
    Row: TypeAlias = dict[str, Any]
    #: One pack: its `id`, its `coverage` by activity, and its `rules` as rows.
    Compiled: TypeAlias = dict[str, Any]

__all__ = ["row_of", "rows_of"]


def rows_of(pack: Pack) -> Compiled:
    """Return `pack` compiled, its rules in the order of the pack."""
    coverage = {str(activity): said for activity, said in pack.coverage.items()}
    return {"id": pack.id, "coverage": coverage, "rules": [row_of(rule) for rule in pack.rules]}


def row_of(rule: Rule) -> Row:
    """Return one rule as a row."""
    return {
        "name": rule.name,
        "pack": rule.pack,
        "activities": sorted(map(str, rule.activities)),
        "from": rule.start and rule.start.isoformat(),
        "until": rule.end and rule.end.isoformat(),
        "groups": sorted(rule.groups),
        "when": [_condition(condition) for condition in rule.conditions],
        "body": _body(rule.body),
        "extendable": rule.up_to is not None,
        "overlay": rule.overlay,
        "memory": rule.source.evidence == "memory",
        "contradicts": rule.contradicts,
    }


def _kind(fact: str) -> str:
    kind = FACTS[fact].kind
    return "number" if FACTS[fact].limitable else "set" if kind is Kind.SET else "word"


def _condition(condition: Condition) -> Row:
    return _test(condition.fact, condition.test) | {"negated": condition.negated}


def _test(fact: str, test: Strictest) -> Row:
    return {
        "fact": fact,
        "kind": _kind(fact),
        "permitted": None if test.permitted is None else sorted(test.permitted),
        "prohibited": sorted(test.prohibited),
        "ceiling": _bound(test.ceiling),
        "floor": _bound(test.floor),
    }


def _bound(bound: Ceiling | Floor | None) -> list[Any] | None:
    return None if bound is None else [bound.above, bound.below, bound.inclusive]


def _body(body: Body) -> Row | None:
    if isinstance(body, Require):
        return None
    if not isinstance(body, Limit):
        return _test(body.fact, Strictest.of(body.constraint()))
    said: Row = {"fact": body.fact, "kind": "number", "counted": body.counted != Counted(), "guards": body.ceiling}
    if isinstance(body.value, Relative):
        return said | {"of": body.value.of}
    return said | {reading: _figure(body, reading) for reading in ("strict", "as-enacted")}


def _figure(body: Limit, reading: str) -> Row:
    chosen = body.constraint(reading)
    assert chosen is not None  # INVARIANT: relative limits are told apart above
    return _test(body.fact, Strictest.of(chosen))
