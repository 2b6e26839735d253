"""An example whose decision is not the one it expects, or whose case cannot be decided.

Each difference is told at the place of what was expected, with what each rule said instead.

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

__all__ = ["CHECK"]

_DIFFERS: Final = Code("example", "error", "an example is decided otherwise than it expects, or its case is wrong")


def _find(subject: Subject) -> Iterator[Problem]:
    for ran in subject.ran:
        for each in ran.differences:
            path = ("examples", ran.number, *each.path)
            yield subject.finding(_DIFFERS, path, each.message, each.hint, at_key=each.key)


CHECK: Final = Check((_DIFFERS,), _find)
