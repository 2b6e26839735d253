"""A new rule pack to start from: it passes `check` as it stands, claims nothing, and tells its editor what to write."""

from __future__ import annotations

from datetime import date
from typing import Final

from tirerules.errors import TirerulesError, nearest
from tirerules.escaping import is_control
from tirerules.jurisdictions import JURISDICTIONS, NAMES, country_of, is_jurisdiction

__all__ = ["ScaffoldError", "scaffold"]

_TEXT: Final = """\
# yaml-language-server: $schema={schema}
#
# {title} ({code}), part of {parent}. A new pack: it claims nothing yet. How to write one: rulepacks/README.md.
format: 1
pack: {code}
version: 1.0.0
engine: ">=1,<2"
kind: {kind}
title: {title}
reviewed: {today}
# What the review found for each act: rules, partial, none-located (somebody looked) or not-reviewed (nobody has).
coverage:
  repair: not-reviewed
  used-tire-installation: not-reviewed
  used-tire-sale: not-reviewed
  tire-sale: not-reviewed
  vehicle-sale: not-reviewed
  road-use: not-reviewed
  inspection: not-reviewed

# Conflicts, ambiguities and parts that were not read, in plain words:
# notes:
#   - The penalty section was not read.

# The texts that the rules rest on. `evidence` is text-read, secondary or memory: how it was really checked.
sources: {{}}
#   code-1-2-3:
#     citation: Example Code § 1-2-3
#     url: https://legislature.example/1-2-3
#     authority: statute
#     evidence: text-read
#     read: {today}

# One rule, one sentence of our own, one figure exactly as printed, inclusive or exclusive exactly as the text says.
rules: []
#   - id: used-tire-puncture-size
#     says: A used tire with a puncture repair of damage over 3/8 inch may not be installed.
#     activity: [used-tire-installation]
#     when: {{tire.class: [passenger, light-truck]}}
#     limit: {{fact: repair.diameter, at-most: 3/8 in}}
#     source: code-1-2-3
#     in-force: {{from: {today}}}

# Invented tires. Each limit wants an example on each side of it and one exactly on it. What is given holds in every
# example; a case that writes the same key says otherwise, and null takes a given fact away.
given:
  tire: {{class: passenger, sealant_layer: false, retread: false, regrooved: false, tread_depth: 6/32 in}}
  vehicle: {{kind: passenger-car, use: private}}
  axle: {{steer: false}}
  injuries: []
  findings: []
  earlier_repairs: []
examples:
  - case:
      activity: repair
      injuries: [{{kind: puncture, zone: crown, diameter: 8 mm, angle: 20 deg}}]
    # The trade's baseline governs until the place has rules of its own: 8 mm is too large for a passenger tire.
    expect: {{verdict: outside-limits, because: [industry/puncture-size]}}
"""


class ScaffoldError(TirerulesError, ValueError):
    """A code for which no new pack can be started."""

    def __init__(self, code: str, reason: str) -> None:
        super().__init__(code, reason)
        self.code, self.reason = code, reason

    def __str__(self) -> str:
        return f"{self.code}: {self.reason}"


def scaffold(code: str, today: date, schema: str, title: str = "") -> str:
    """Return the text of a new pack for a jurisdiction, reviewed `today`.

    `schema` is where an editor finds the schema; `title` is needed for a place of the caller's own (XA-01 ...), which
    ISO does not name. Raises ScaffoldError for a code that is none, or has no title that a pack can hold.
    """
    if not is_jurisdiction(code):
        offers = nearest(code, JURISDICTIONS)
        meant = f"; did you mean {' or '.join(offers)}?" if offers else ""
        raise ScaffoldError(code, f"is no jurisdiction code (ISO 3166, or XA to XZ for a place of your own){meant}")
    named = title or NAMES.get(code, "")
    if not named:
        raise ScaffoldError(code, "ISO does not name it; add --title")
    if any(map(is_control, named)):
        raise ScaffoldError(code, "the title holds a control character, which no pack may hold")
    parent = NAMES.get(country_of(code), country_of(code))
    kind = "country" if country_of(code) == code else "jurisdiction"
    return _TEXT.format(
        code=code, title=_plain(named), parent=parent, kind=kind, today=today.isoformat(), schema=schema
    )


def _plain(title: str) -> str:
    """Quote a title that YAML would read as something else."""
    safe = all(letter.isalpha() or letter in " .-'" for letter in title) and title[0].isalpha() and len(title) > 3
    return title if safe else '"' + title.replace("\\", "\\\\").replace('"', '\\"') + '"'
