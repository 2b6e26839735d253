"""Rules that follow from two others: the height of wear indicators, and a place's bar on tires that are worn to them.

A limit that `contradicts` a finding says which reading cannot stand beside an inspection that did not record it. By
itself such a rule never fails: a reading below it leaves the case open. With each rule that disqualifies the finding it
makes a third, for the same places, acts, conditions and days, that sets the limit: there the reading is outside.
"""

from __future__ import annotations

from tirerules.packs.rule import Disqualify, Rule
from tirerules.values import replace

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["name_of", "with_combined"]


def name_of(bar: str, claim: str) -> str:
    """Return the id of the rule that a bar and a limit make together."""
    return f"{bar}-by-{claim}"


def with_combined(rules: Sequence[Rule]) -> tuple[Rule, ...]:
    """Return `rules` with those that follow from two of them."""
    claims = [rule for rule in rules if rule.contradicts]
    return (*rules, *(_both(bar, claim) for claim in claims for bar in rules if _bars(bar, claim.contradicts)))


def _bars(rule: Rule, finding: str) -> bool:
    return isinstance(rule.body, Disqualify) and finding in rule.body.values


def _both(bar: Rule, claim: Rule) -> Rule:
    conditions = (*bar.conditions, *claim.conditions)
    return replace(bar, id=name_of(bar.id, claim.id), conditions=conditions, body=claim.body)
