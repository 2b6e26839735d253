"""Evidence that nobody has looked at for longer than `--older-than MONTHS` allows, counted back from a day.

A source's own `read` date counts; a source that has none was last looked at when the pack was reviewed. A pack whose
review is that old is told once, for all that rests on it: its sources without a date, and what `coverage` says of acts
for which nothing was located.

Bad, `evidence-old`::

    reviewed: 2026-11-25
    sources:
      act-1: {citation: Invented Act § 1, authority: statute, evidence: text-read, read: 2020-02-29}
    rules:
      - id: tread
        says: Invented.
        activity: [repair]
        limit: {fact: tire.tread_depth, at-least: 3 mm}
        source: act-1

Bad, `review-old`::

    reviewed: 2020-02-29
    coverage: {repair: none-located}
    rules: []

Good::

    reviewed: 2026-11-25
    sources:
      act-1: {citation: Invented Act § 1, authority: statute, evidence: text-read, read: 2026-11-25}
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

_EVIDENCE: Final = Code("evidence-old", "warning", "a source was read longer ago than --older-than allows")
_REVIEW: Final = Code("review-old", "warning", "a pack was reviewed longer ago than --older-than allows")


def _find(subject: Subject) -> Iterator[Problem]:
    age, pack = subject.age, subject.pack
    if age is None:
        return
    if pack.reviewed < age.oldest:
        undated = sum(source.read is None for source in pack.sources.values())
        rest = f"; so old are {undated} of its sources, which have no `read` date of their own" if undated else ""
        message = f"the pack was last reviewed on {pack.reviewed}, more than {age}{rest}"
        yield subject.finding(_REVIEW, ("reviewed",), message, "go through it again, then write the day here")
    for key, source in pack.sources.items():
        if source.read is not None and source.read < age.oldest:
            yield subject.finding(
                _EVIDENCE,
                ("sources", key, "read"),
                f"the source {key!r} was last read on {source.read}, more than {age}",
                "read it again: is it still in force, does it still say so? Then write the day here",
            )


CHECK: Final = Check((_EVIDENCE, _REVIEW), _find)
