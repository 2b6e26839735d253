"""A limit that is laxer than the trade baseline's on the same fact and act, where both apply.

Nothing need be wrong with the pack: the stricter limit binds, and a law that is laxer than trade practice is stated as
it is. It is told because a slip of the pen looks the same. Only rules on the same act are compared, not those on what
the act leads to.

Bad, `laxer-than-baseline`::

    rules:
      - id: size
        says: Invented. The trade allows a passenger tire's puncture of 1/4 in (6 mm).
        activity: [repair]
        when: {tire.class: passenger}
        limit: {fact: injury.diameter, at-most: 3/8 in}
        source: text

Good::

    rules:
      - id: size
        says: Invented.
        activity: [repair]
        when: {tire.class: passenger}
        limit: {fact: injury.diameter, at-most: 5 mm}
        source: text
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from tirerules.authoring.checks._meaning import as_strict, overlap, same_days
from tirerules.authoring.checks._subject import Check, Code, Subject
from tirerules.errors import Problem
from tirerules.packs.rule import Limit, Permit, Rule

__all__ = ["CHECK"]

_LAXER: Final = Code("laxer-than-baseline", "information", "the trade baseline is stricter where a limit applies")


def _find(subject: Subject) -> Iterator[Problem]:
    if subject.pack.kind == "baseline":
        return
    for index, rule in enumerate(subject.pack.rules):
        stricter = [other for other in subject.baseline if _laxer(rule, other)]
        if stricter:
            named = "; ".join(f"{other.name}, {_text(other)}{_where(other)}" for other in stricter)
            body = type(rule.body).__name__.lower()
            yield subject.finding(
                _LAXER,
                ("rules", index, body),
                f"{rule.id!r} ({_text(rule)}) is laxer than the trade baseline, which binds where both apply: {named}",
                "if the source says so, nothing is to be done",
            )


def _laxer(rule: Rule, other: Rule) -> bool:
    same = isinstance(rule.body, (Limit, Permit)) and type(rule.body) is type(other.body)
    together = bool(rule.activities & other.activities) and same_days(rule, other) and overlap(rule, other)
    return same and together and as_strict(other, rule) and not as_strict(rule, other)


def _text(rule: Rule) -> str:
    return rule.body.text(rule.body.chosen("strict") if isinstance(rule.body, Limit) else None)


def _where(rule: Rule) -> str:
    when = " and ".join(condition.text for condition in rule.conditions)
    return f", where {when}" if when else ""


CHECK: Final = Check((_LAXER,), _find)
