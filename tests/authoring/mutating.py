"""An invented pack to mutate, and what the tests of mutation ask of it.

`US-UM` (no resident population) stands for a state of one's own; its rules and tickets are nobody's law.
"""

from __future__ import annotations

from tests.support import pack_text
from tirerules.authoring.mutation.mutating import mutate
from tirerules.authoring.mutation.table import COLUMNS

STATE = {
    "pack": "US-UM",
    "kind": "jurisdiction",
    "authority": "statute",
    "coverage": "{tire-sale: rules, vehicle-sale: rules, road-use: none-located}",
}
RULES = """\
- id: tread
  says: Invented.
  activity: [tire-sale, vehicle-sale]
  when: {tire.class: [passenger, light-truck], vehicle.use: {not: commercial}}
  limit: {fact: tire.tread_depth, at-least: 4/32 in}
  source: text
  in-force: {from: 2020-01-01}
- id: zone
  says: Invented.
  activity: [tire-sale]
  permit: {fact: repair.zone, values: [crown, belt-edge]}
  source: text
- id: condition
  says: Invented.
  activity: [tire-sale]
  when: {vehicle.gvwr: {at-most: 10000 lb}}
  disqualify: {findings: [bulge, exposed-cord]}
  source: text
"""
GIVEN = """\
given:
  activity: tire-sale
  tire: {class: passenger, tread_depth: 8/32 in}
  vehicle: {kind: passenger-car, use: private, gvwr: 1900 kg}
  injuries: []
  findings: []
  earlier_repairs: []
"""
SHALLOW = "tire: {tread_depth: 3/32 in}"
OUTSIDE = "{verdict: outside-limits}"


def written(place, *examples, rules=RULES, given=GIVEN, **head):
    """Write the invented pack with these examples (text of YAML items) and return its file."""
    more = given + ("examples:\n" + "".join(f"{each}\n" for each in examples) if examples else "")
    file = place / "US-UM.yaml"
    file.write_text(pack_text(rules, more=more, **{**STATE, **head}), encoding="utf-8")
    return file


def example(case, expect):
    return f"  - case: {{{case}}}\n    expect: {expect}"


def surviving(file, **how):
    return {str(each.mutant).partition("/")[2]: each for each in mutate(file, **how).survivors}


def left(file, **how):
    """Return the names of what survives."""
    return set(surviving(file, offer=False, **how))


def row(**cells):
    said = {
        "code": "US-UM",
        "activity": "tire-sale",
        "conditions": "tire.class=passenger|light-truck;vehicle.use=private",
        "fact": "tire.tread_depth",
        "relation": "at-least",
        "bound": "4/32 in",
        "citation": "Invented Code § 1",
        "evidence": "text-read",
    } | cells
    return ",".join(said.get(column, "") for column in COLUMNS)
