"""A rule that can never apply: a condition that no case can meet, or one on the method where no method is judged.

A rule tests each fact at most once, so its conditions contradict one another only within one test. That a range holds
nothing and that a period is reversed are errors already when the pack is read; here it is a list of which every value
is ruled out. A method is judged in a repair alone, so a rule that reads it and regulates other acts is never judged.

Bad, `never-applies`::

    rules:
      - id: size
        says: Invented. There is no third construction.
        activity: [repair]
        when: {tire.construction: {not: [radial, bias]}}
        limit: {fact: injury.diameter, at-most: 3 mm}
        source: text

Good::

    rules:
      - id: size
        says: Invented.
        activity: [repair]
        when: {tire.construction: {not: bias}}
        limit: {fact: injury.diameter, at-most: 3 mm}
        source: text
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from tirerules.authoring.checks._meaning import why_it_never_applies
from tirerules.authoring.checks._subject import Check, Code, Subject
from tirerules.errors import Problem

__all__ = ["CHECK"]

_NEVER: Final = Code("never-applies", "warning", "no case can meet a rule's conditions")


def _find(subject: Subject) -> Iterator[Problem]:
    for index, rule in enumerate(subject.pack.rules):
        found = why_it_never_applies(rule)
        if found is not None:
            fact, why = found
            tested = fact in {condition.fact for condition in rule.conditions}
            path = ("rules", index, "when", fact) if tested else ("rules", index, "activity")
            message = f"{rule.id!r} can never apply: {why}"
            yield subject.finding(_NEVER, path, message, "mend the condition or the activity, or delete the rule")


CHECK: Final = Check((_NEVER,), _find)
