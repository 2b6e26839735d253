"""Rule packs of invented places, as many as wanted: nobody's law, every figure made by counting.

The codes are of those that ISO 3166 leaves to users, so that no real place is spoken for.
"""

from __future__ import annotations

import itertools
import string
from collections.abc import Iterator
from pathlib import Path
from typing import Final

__all__ = ["codes", "write_packs"]

_LETTERS: Final = string.digits + string.ascii_uppercase
_CLASSES: Final = ("passenger", "light-truck", "medium-truck", "bus", "motorcycle")
_USES: Final = ("private", "commercial", "school-bus", "emergency")
_KINDS: Final = ("passenger-car", "multipurpose", "light-truck", "truck", "trailer")
_FINDINGS: Final = ("exposed-cord", "bead-damage", "tread-separation", "liner-damage", "bulge")
_HEAD: Final = """format: 1
pack: {code}
version: 1.0.0
engine: ">=1,<2"
kind: jurisdiction
title: Invented place {code}
reviewed: 2026-11-25
coverage: {{repair: none-located, used-tire-installation: rules, road-use: rules}}
sources:
  invented:
    citation: Invented Code of {code} § 1
    authority: statute
    evidence: text-read
    read: 2026-11-25
rules:
"""
_RULE: Final = """  - id: rule-{number}
    says: An invented rule of {code}.
    activity: [{activity}]
    {body}
    source: invented
    in-force: {{from: {year}-01-01}}
"""
_WHEN: Final = "    when: {{{}}}\n"


def codes(count: int) -> Iterator[str]:
    """Yield `count` codes of invented places, of which there are 46,656."""
    endings = itertools.product(_LETTERS, repeat=3)
    return (f"XA-{''.join(ending)}" for ending in itertools.islice(endings, count))


def write_packs(folder: Path, count: int, rules: int = 10) -> list[str]:
    """Write `count` packs of `rules` rules each into a folder, and return their codes."""
    found = list(codes(count))
    for at, code in enumerate(found):
        text = _HEAD.format(code=code) + "".join(_rule(code, at, number) for number in range(rules))
        (folder / f"{code}.yaml").write_text(text, encoding="utf-8")
    return found


def _rule(code: str, at: int, number: int) -> str:
    turn = at + number
    # The first rule holds for every tire, so that each place has a floor on tread.
    conditions = (
        f"tire.class: {_CLASSES[turn % len(_CLASSES)]}" if number else "",
        f"vehicle.use: {_USES[turn // 5 % len(_USES)]}" if number % 3 == 2 else "",
        f"vehicle.kind: {{not: {_KINDS[turn // 7 % len(_KINDS)]}}}" if number % 4 == 3 else "",
    )
    when = ", ".join(filter(None, conditions))
    bodies = (
        f"limit: {{fact: tire.tread_depth, at-least: 1.{turn % 90 + 10} mm}}",
        f"limit: {{fact: repair.diameter, at-most: {6 + turn % 5} mm}}",
        f"disqualify: {{findings: [{_FINDINGS[turn % len(_FINDINGS)]}]}}",
        "prohibit: {fact: repair.zone, values: [sidewall, bead]}",
        f"limit: {{fact: vehicle.gvwr, at-most: {40000 + turn} kg}}",
    )
    rule = _RULE.format(
        number=number,
        code=code,
        activity="road-use" if number % 2 == 0 else "used-tire-installation",
        body=bodies[number % len(bodies)],
        year=2000 + turn % 24,
    )
    return rule + (_WHEN.format(when) if when else "")
