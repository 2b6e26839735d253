"""A rule that never adds anything, because a broader one of the same pack demands as much wherever it applies.

The broader rule speaks of the same fact, regulates at least the same acts, applies under wider or equal conditions and
is in force on all the same days. What it demands is compared by the algebra, under both readings of a dual figure. Acts
count as they are written: an inspection also answers to the rules of the road, yet an inspection rule of its own tells
what that inspection is about.

Bad, `never-binds`::

    rules:
      - id: tread
        says: Invented.
        activity: [road-use]
        limit: {fact: tire.tread_depth, at-least: 3 mm}
        source: text
      - id: tread-truck
        says: Invented. Laxer than the rule for every tire, which binds trucks too.
        activity: [road-use]
        when: {vehicle.kind: truck}
        limit: {fact: tire.tread_depth, at-least: 2 mm}
        source: text

Good::

    rules:
      - id: tread
        says: Invented.
        activity: [road-use]
        when: {vehicle.kind: {not: truck}}
        limit: {fact: tire.tread_depth, at-least: 3 mm}
        source: text
      - id: tread-truck
        says: Invented.
        activity: [road-use]
        when: {vehicle.kind: truck}
        limit: {fact: tire.tread_depth, at-least: 2 mm}
        source: text
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from tirerules.authoring.checks._meaning import as_strict, body_meaning, contains, limited_fact, version_of, wider
from tirerules.authoring.checks._subject import Check, Code, Subject
from tirerules.errors import Problem
from tirerules.packs.rule import Rule

__all__ = ["CHECK"]

_NEVER: Final = Code("never-binds", "warning", "a broader rule of the pack always demands as much as this one")


def _find(subject: Subject) -> Iterator[Problem]:
    rules = subject.pack.rules
    for index, rule in enumerate(rules):
        # Of two rules that say the same, the first stands and the second is told.
        found = next(
            (
                other
                for at, other in enumerate(rules)
                if at != index and _covers(other, rule) and (at < index or not _covers(rule, other))
            ),
            None,
        )
        if found is not None:
            yield subject.finding(
                _NEVER,
                ("rules", index, "id"),
                f"{rule.id!r} can never bind: {found.id!r} demands as much wherever this one applies",
                f"mend its figure, or tell apart where each applies with `when`; if both are law, keep {found.id!r} "
                "and name this one in its `note`",
            )


def _covers(outer: Rule, inner: Rule) -> bool:
    if not limited_fact(inner) or limited_fact(inner) != limited_fact(outer):
        return False
    if outer.up_to is not None or inner.up_to is not None:
        return False  # the rating of a repair unit moves an extendable limit, either way
    if version_of(outer) == version_of(inner) and body_meaning(outer) != body_meaning(inner):
        return False  # told as versions that overlap
    tested = {condition.fact for condition in outer.conditions}
    if any(condition.negated and condition.fact not in tested for condition in inner.conditions):
        # A rule that applies because of a finding also judges that finding, whatever it limits.
        return False
    return (
        outer.activities >= inner.activities
        and contains(outer, inner)
        and wider(outer, inner)
        and as_strict(outer, inner)
    )


CHECK: Final = Check((_NEVER,), _find)
