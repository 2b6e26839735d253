"""Versions of one rule whose days overlap or leave a hole.

Rules of one pack that limit one fact in one direction, for the same acts and under equal conditions, are taken for
versions of one rule, whatever they are called and however their conditions are written. On any day one version is in
force: two with different figures are told, and days between two versions on which there is none.

Bad, `versions-overlap`::

    rules:
      - id: tread
        says: Invented. The old figure.
        activity: [repair]
        limit: {fact: tire.tread_depth, at-least: 2 mm}
        source: text
        in-force: {from: 2010-01-01}
      - id: tread-2020
        says: Invented. The new figure.
        activity: [repair]
        limit: {fact: tire.tread_depth, at-least: 3 mm}
        source: text
        in-force: {from: 2020-01-01}

Bad, `versions-hole`::

    rules:
      - id: tread
        says: Invented. The old figure.
        activity: [repair]
        limit: {fact: tire.tread_depth, at-least: 2 mm}
        source: text
        in-force: {from: 2010-01-01, until: 2019-12-31}
      - id: tread-2020
        says: Invented. The new figure. The day before it, which `until` leaves out, no figure is in force.
        activity: [repair]
        limit: {fact: tire.tread_depth, at-least: 3 mm}
        source: text
        in-force: {from: 2020-01-01}

Good::

    rules:
      - id: tread
        says: Invented. The old figure.
        activity: [repair]
        limit: {fact: tire.tread_depth, at-least: 2 mm}
        source: text
        in-force: {from: 2010-01-01, until: 2020-01-01}
      - id: tread-2020
        says: Invented. The new figure.
        activity: [repair]
        limit: {fact: tire.tread_depth, at-least: 3 mm}
        source: text
        in-force: {from: 2020-01-01}
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Final

from tirerules.authoring.checks._meaning import body_meaning, same_days, version_of
from tirerules.authoring.checks._subject import Check, Code, Subject
from tirerules.errors import Problem
from tirerules.packs.rule import Rule

__all__ = ["CHECK"]

_OVERLAP: Final = Code("versions-overlap", "warning", "two versions of a rule with different figures bind on one day")
_HOLE: Final = Code("versions-hole", "warning", "there are days between two versions of a rule on which none binds")

_Numbered = tuple[int, Rule]


def _find(subject: Subject) -> Iterator[Problem]:
    groups: dict[object, list[_Numbered]] = {}
    for index, rule in enumerate(subject.pack.rules):
        if (common := version_of(rule)) is not None:
            groups.setdefault(common, []).append((index, rule))
    for versions in groups.values():
        versions.sort(key=lambda each: (each[1].start or date.min, each[0]))
        yield from _overlaps(subject, versions)
        yield from _holes(subject, versions)


def _overlaps(subject: Subject, versions: Sequence[_Numbered]) -> Iterator[Problem]:
    for later, (index, rule) in enumerate(versions):
        for _, other in versions[:later]:
            if same_days(rule, other) and body_meaning(rule) != body_meaning(other):
                dated = rule.start is not None and (other.start is None or other.start < rule.start)
                cure = f"end {other.id!r} with `until: {rule.start}`" if dated else "give each its days with `in-force`"
                yield subject.finding(
                    _OVERLAP,
                    ("rules", index, "in-force", "from") if dated else ("rules", index, "id"),
                    f"{rule.id!r} and {other.id!r} limit the same for the same acts, under equal conditions and on "
                    "the same days, but not to the same",
                    f"{cure}; if both bind, tell apart where each applies with `when`",
                )


def _holes(subject: Subject, versions: Sequence[_Numbered]) -> Iterator[Problem]:
    end, last = versions[0][1].end, versions[0][1]
    for index, rule in versions[1:]:
        if end is not None and rule.start is not None and end < rule.start:
            yield subject.finding(
                _HOLE,
                ("rules", index, "in-force", "from"),
                f"no version of this rule is in force from {end} until {rule.start}: {last.id!r} ends before this "
                "one starts",
                f"`until` is the first day no longer in force; to join them write `until: {rule.start}` there",
            )
        if end is not None and (rule.end is None or rule.end > end):
            end, last = rule.end, rule


CHECK: Final = Check((_OVERLAP, _HOLE), _find)
