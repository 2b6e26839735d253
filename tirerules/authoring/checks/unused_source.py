"""A source on which no rule rests: left over, or the rule that should rest on it is missing or names another.

Bad, `unused-source`::

    sources:
      act-1: {citation: Invented Act § 1, authority: statute, evidence: text-read}
      act-2: {citation: Invented Act § 2, authority: statute, evidence: text-read}
    rules:
      - id: tread
        says: Invented.
        activity: [repair]
        limit: {fact: tire.tread_depth, at-least: 3 mm}
        source: act-1

Good::

    sources:
      act-1: {citation: Invented Act § 1, authority: statute, evidence: text-read}
    rules:
      - id: tread
        says: Invented.
        activity: [repair]
        limit: {fact: tire.tread_depth, at-least: 3 mm}
        source: act-1
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from tirerules.authoring.checks._subject import Check, Code, Subject
from tirerules.errors import Problem

__all__ = ["CHECK"]

_UNUSED: Final = Code("unused-source", "warning", "no rule rests on a source")


def _find(subject: Subject) -> Iterator[Problem]:
    used = {rule.source.id for rule in subject.pack.rules}
    for key in subject.pack.sources:
        if key not in used:
            yield subject.finding(
                _UNUSED,
                ("sources", key),
                f"no rule rests on the source {key!r}",
                "name it as a rule's `source`, or delete it; what was read and holds no rule belongs in `notes`",
                at_key=True,
            )


CHECK: Final = Check((_UNUSED,), _find)
