"""A rule that nothing can fail: every value satisfies it, or its own conditions do.

Such a rule looks like a limit and lets everything pass. Most often the limit is on the wrong fact, a value is missing
from a list, or what was meant as a condition was written as a limit.

Bad, `never-fails`::

    rules:
      - id: zone
        says: Invented. Repairs in the crown lie in the crown or the shoulder.
        activity: [repair]
        when: {injury.zone: crown}
        permit: {fact: injury.zone, values: [crown, shoulder]}
        source: text

Good::

    rules:
      - id: zone
        says: Invented. Repairs of punctures lie in the crown or the shoulder.
        activity: [repair]
        when: {injury.kind: puncture}
        permit: {fact: injury.zone, values: [crown, shoulder]}
        source: text
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from tirerules.authoring.checks._meaning import why_it_never_fails
from tirerules.authoring.checks._subject import Check, Code, Subject
from tirerules.errors import Problem

__all__ = ["CHECK"]

_NEVER: Final = Code("never-fails", "warning", "nothing can fail a rule")


def _find(subject: Subject) -> Iterator[Problem]:
    for index, rule in enumerate(subject.pack.rules):
        why = why_it_never_fails(rule)
        if why is not None:
            body = type(rule.body).__name__.lower()
            hint = "mend the figure, the values or the condition, or delete the rule"
            yield subject.finding(_NEVER, ("rules", index, body), f"nothing can fail {rule.id!r}: {why}", hint)


CHECK: Final = Check((_NEVER,), _find)
