"""A rule that no example of its pack breaks: nobody has seen it stop a tire.

Every limit, permission, prohibition and disqualification needs an example that surely fails because of it, for the tire
as a whole or for one of the methods; a limit that only contradicts a finding never fails, and needs one that it leaves
open. A rule that can never apply or fail is told as such instead.

Bad, `example-missing`::

    rules:
      - id: size
        says: Invented.
        activity: [repair]
        limit: {fact: injury.diameter, at-most: 3 mm}
        source: text

Good::

    rules:
      - id: size
        says: Invented.
        activity: [repair]
        limit: {fact: injury.diameter, at-most: 3 mm}
        source: text
    examples:
      - case:
          jurisdictions: [US]
          activity: repair
          tire: {class: passenger, sealant_layer: false, tread_depth: 6/32 in}
          injuries: [{kind: puncture, zone: crown, diameter: 4 mm, angle: 10 deg}]
          findings: []
          earlier_repairs: []
        expect: {verdict: outside-limits, because: [size]}
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from tirerules.authoring.checks._meaning import why_it_never_applies, why_it_never_fails
from tirerules.authoring.checks._subject import Check, Code, Subject
from tirerules.errors import Problem
from tirerules.packs.rule import Require, Rule

__all__ = ["CHECK"]

_MISSING: Final = Code("example-missing", "warning", "no example of the pack fails because of a rule")


def _find(subject: Subject) -> Iterator[Problem]:
    broken = frozenset[str]().union(*(ran.failing for ran in subject.ran))
    unsettled = frozenset[str]().union(*(ran.unsettled for ran in subject.ran))
    for index, rule in enumerate(subject.pack.rules):
        if rule.name not in (unsettled if rule.contradicts else broken) and _testable(rule):
            wanted = ("is left open by", "undetermined") if rule.contradicts else ("fails because of", "outside-limits")
            yield subject.finding(
                _MISSING,
                ("rules", index, "id"),
                f"no example {wanted[0]} {rule.id!r}",
                f"add one just outside it: `expect: {{verdict: {wanted[1]}, because: [{rule.id}]}}`",
            )


def _testable(rule: Rule) -> bool:
    dead = why_it_never_applies(rule) is not None or why_it_never_fails(rule) is not None
    return not isinstance(rule.body, Require) and not dead


CHECK: Final = Check((_MISSING,), _find)
