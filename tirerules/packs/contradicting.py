"""Rules that follow from two others: the height of wear indicators, and a place's bar on tires that are worn to them.

A limit that `contradicts` a finding says which reading cannot stand beside an inspection that did not record it. By
itself such a rule never fails: a reading below it leaves the case open. With each rule that disqualifies the finding it
makes a third, for the same places, acts, conditions and days, that sets the limit: there the reading is outside.

`combined` is the one statement of which rules meet; rules are values (`tirerules.packs.rule`) or rows
(`tirerules.index.rows`), and each form says how two of its kind become one. Nothing is imported that starts slowly.
"""

from __future__ import annotations

from tirerules.packs.rule import Disqualify, Rule
from tirerules.values import replace

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence
    from typing import Any, TypeVar

    _Rule = TypeVar("_Rule")

__all__ = ["combined", "combined_rows", "name_of", "with_combined"]


def name_of(bar: str, claim: str) -> str:
    """Return the id of the rule that a bar and a limit make together."""
    return f"{bar}-by-{claim}"


def combined(
    rules: Sequence[_Rule],
    finding: Callable[[_Rule], str],
    barred: Callable[[_Rule], Iterable[str]],
    both: Callable[[_Rule, _Rule], _Rule],
) -> list[_Rule]:
    """Return what follows from `rules`.

    `finding` gives the finding that a rule contradicts, or nothing; `barred` the findings that it disqualifies; `both`
    the rule that a bar and a limit make together.
    """
    claims = [rule for rule in rules if finding(rule)]
    return [both(rule, claim) for claim in claims for rule in rules if finding(claim) in barred(rule)]


def with_combined(rules: Sequence[Rule]) -> tuple[Rule, ...]:
    """Return `rules` with those that follow from two of them."""
    return (*rules, *combined(rules, lambda rule: rule.contradicts, _findings, _merged))


def _findings(rule: Rule) -> tuple[str, ...]:
    return rule.body.values if isinstance(rule.body, Disqualify) else ()


def _merged(bar: Rule, claim: Rule) -> Rule:
    conditions = (*bar.conditions, *claim.conditions)
    return replace(bar, id=name_of(bar.id, claim.id), conditions=conditions, body=claim.body)


def combined_rows(rows: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return what follows from rules as rows."""
    return combined(rows, lambda row: str(row["contradicts"]), _barred, _both)


def _barred(row: dict[str, Any]) -> Iterable[str]:
    body = row["body"]
    return body["prohibited"] if body is not None and body["fact"] == "findings" else ()


def _both(bar: dict[str, Any], claim: dict[str, Any]) -> dict[str, Any]:
    return {
        **bar,
        "name": name_of(bar["name"], claim["name"].partition("/")[2]),
        "groups": sorted({*bar["groups"], *claim["groups"]}),
        "when": [*bar["when"], *claim["when"]],
        "body": claim["body"],
    }
