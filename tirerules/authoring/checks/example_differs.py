"""An example whose decision is not the one it expects, or whose case cannot be decided.

Each difference is told at the place of what was expected, with what each rule said instead. What is wrong with a fact
that the pack gives for all its examples is told once, at that fact.

Bad, `example`::

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
        expect: {verdict: within-limits}

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

from tirerules.authoring.checks._subject import Check, Code, Subject
from tirerules.errors import Problem
from tirerules.packs.reading import Path

__all__ = ["CHECK"]

_DIFFERS: Final = Code("example", "error", "an example is decided otherwise than it expects, or its case is wrong")


def _find(subject: Subject) -> Iterator[Problem]:
    found = (
        subject.finding(_DIFFERS, _written(subject, ran.number, each.path), each.message, each.hint, at_key=each.key)
        for ran in subject.ran
        for each in ran.differences
    )
    yield from dict.fromkeys(found)


def _written(subject: Subject, number: int, path: Path) -> Path:
    """Return where the pack writes what stands at `path` of an example: in the example itself, or under `given`."""
    own: Path = ("examples", number, *path)
    given: Path = ("given", *path[1:])
    places = subject.document.values
    return given if path[0] == "case" and own not in places and given in places else own


CHECK: Final = Check((_DIFFERS,), _find)
