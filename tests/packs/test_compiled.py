"""The compiled form of a pack gives back the very pack, and nothing slow is imported for it. All packs are invented."""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import date
from decimal import Decimal
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest

from tests.support import invented_pack
from tirerules.packs import compiled, compiling, pack, rule
from tirerules.packs.compiled import pack_of, to_plain, unpacked
from tirerules.packs.pack import Example, NotLaw, Pack, Rest
from tirerules.packs.rule import Source
from tirerules.quantities import Quantity
from tirerules.strictest import bounds
from tirerules.values import Value, fields, replace
from tirerules.vocabulary import Activity

ROOT = Path(__file__).parents[2]
#: One rule for each body and each sort of condition and figure.
RULES = """\
- id: two-figures
  says: Invented.
  activity: [repair]
  when:
    tire.class: [passenger, bus]
    tire.speed_symbol: {less-than: V}
    tire.tread_depth: {more-than: 1.5 mm, less-than: 9.5 mm}
  limit: {fact: injury.angle, at-most: 25 deg}
  extendable: {up-to: 40 deg, by: repair-material}
  in-force: {from: 2020-02-29, until: 2030-01-01}
  note: Invented too.
  source: text
- id: printed-twice
  says: Invented.
  activity: [repair, road-use]
  limit: {fact: injury.diameter, less-than: {value: 1/4 in, also-printed: 6 mm}}
  source: text
- id: band
  says: Invented.
  activity: [repair]
  limit:
    fact: injury.reach
    at-most: {half-of: tire.tread_width, share: [{share: 3/4, through: 205 mm}, {share: 70 %}], inset: 5 mm}
  source: text
- id: count
  says: Invented.
  activity: [repair]
  when: {findings: [regroove], tire.class: {not: [bus]}}
  limit: {fact: repairs.count, at-most: 2}
  source: text
- id: counted
  says: Invented.
  activity: [road-use]
  when: {findings: {not: [leak]}}
  limit: {fact: tire.tread_depth, at-least: 2/32 in, counted: {grooves: two-adjacent, places: 3}}
  source: text
- {id: permit, says: Invented., activity: [repair], permit: {fact: injury.zone, values: [crown]}, source: text}
- {id: prohibit, says: Invented., activity: [repair], prohibit: {fact: tire.retread, values: [true]}, source: text}
- {id: disqualify, says: Invented., activity: [road-use], disqualify: {findings: [regroove]}, source: text}
- {id: require, says: Invented., activity: [repair], require: {steps: [demount]}, source: text}
"""
HEAD = {"kind": "baseline", "authority": "industry-practice", "coverage": "{repair: rules, road-use: partial}"}
#: What no rule above says of its source.
OTHER_SOURCE = Source(
    "other", "Act", "statute", "memory", "https://example.org/a", date(2026, 1, 2), False, "Invented."
)


@pytest.fixture(scope="module")
def whole() -> Pack:
    found = invented_pack(RULES, **HEAD)
    height = replace(found.rules[4], id="height", contradicts="worn-to-indicators", overlay=True, source=OTHER_SOURCE)
    return replace(
        found,
        rules=(*found.rules, height),
        sources=MappingProxyType({**found.sources, "other": OTHER_SOURCE}),
        rest=Rest(
            (Example(MappingProxyType({"a": [Decimal("1.50"), None]}), MappingProxyType({"b": "é"}), 7),),
            ("one",),
            (NotLaw("Invented bill", "died", "nothing", "2020", "https://example.org"),),
        ),
    )


def again(held: Pack) -> Pack:
    return unpacked([compiling._text(part) for part in to_plain(held)], held.file, held.sha256)


def test_a_pack_comes_back(whole):
    found = again(whole)
    assert found == whole
    assert repr(to_plain(found)) == repr(to_plain(whole))
    assert found.file == whole.file
    assert {type(each.body) for each in found.rules} == {
        rule.Limit,
        rule.Permit,
        rule.Prohibit,
        rule.Disqualify,
        rule.Require,
    }


def test_texts_come_back_as_printed(whole):
    printed = {
        str(each.body.value): str(each.body.also) for each in again(whole).rules if isinstance(each.body, rule.Limit)
    }
    assert printed == {
        "25 deg": "None",
        "1/4 in": "6 mm",
        "half of (3/4 through 205 mm, 70 % above) of the tread width less 5 mm": "None",
        "2": "None",
        "2/32 in": "None",
    }


#: What stands for a field of each type that is another value than any in the pack above.
OTHER: dict[type, Any] = {
    str: lambda said: f"{said} other",
    int: lambda said: said + 2,
    bool: lambda said: not said,
    type(None): lambda said: date(2001, 2, 3),
    date: lambda said: date(2001, 2, 3),
    tuple: lambda said: said + said[-1:] if said else ("other",),
    frozenset: lambda said: said | {Activity.INSPECTION},
    MappingProxyType: lambda said: MappingProxyType({**said, Activity.INSPECTION: OTHER_SOURCE}),
    Quantity: lambda said: Quantity(said.above + 1, said.below, said.unit, f"{said.text} other"),
}


def values_in(held: Any) -> dict[type, list[Value]]:
    """Every value of the library that a pack is made of, by class."""
    found: dict[type, list[Value]] = {}
    waiting = [held]
    while waiting:
        each = waiting.pop()
        if isinstance(each, Value):
            found.setdefault(type(each), []).append(each)
            waiting += [getattr(each, name) for name in fields(each)]
        elif isinstance(each, (tuple, frozenset)):
            waiting += each
        elif isinstance(each, MappingProxyType):
            waiting += each.values()
    return found


def test_the_pack_above_holds_every_class_that_a_pack_is_made_of(whole):
    classes = {each for module in (pack, rule) for each in vars(module).values() if isinstance(each, type)}
    made_of = {
        each for each in classes if issubclass(each, Value) and each.__module__ in (pack.__name__, rule.__name__)
    }
    assert {*values_in(whole)} == made_of | {bounds.Ceiling, bounds.Floor, bounds.Strictest}


#: Of how a pack is loaded, or what stands elsewhere in the same form.
NOT_SAID = {("Pack", "sha256"), ("Pack", "file"), ("Pack", "replaces"), ("Disqualify", "fact"), ("Rule", "pack")}
WRITERS = {
    "Pack": lambda each: to_plain(each),
    "Rule": lambda each: compiled._plain_rule(each, 0),
    "Condition": lambda each: compiled._plain_rule(_rule_with(conditions=(each,)), 0),
    "Strictest": compiled._plain_test,
    "Ceiling": compiled._plain_bound,
    "Floor": compiled._plain_bound,
    "Source": compiled._plain_source,
    "Relative": compiled._plain_figure,
    "Share": lambda each: compiled._plain_figure(rule.Relative("tire.tread_width", (each,), None, "")),
    "Counted": lambda each: compiled._plain_body(rule.Limit("tire.tread_depth", "at-least", 1, None, each)),
    "Example": lambda each: [dict(each.case), dict(each.expect), each.line],
    "NotLaw": lambda each: [getattr(each, name) for name in fields(each)],
    "Rest": lambda each: to_plain(replace(invented_pack(RULES, **HEAD), rest=each)),
}


def _rule_with(**changes: Any) -> rule.Rule:
    return replace(invented_pack(RULES, **HEAD).rules[0], **changes)


def test_no_field_is_lost(whole):
    """Whoever adds a field to a class finds out here that it is to be written."""
    tried = set()
    for kind, held in values_in(whole).items():
        write = WRITERS.get(kind.__name__, compiled._plain_body)
        for name in fields(kind):
            if (kind.__name__, name) in NOT_SAID:
                continue
            for each in held:
                value = getattr(each, name)
                other = OTHER.get(type(value))
                if other is None:  # a value in a value: its own class is tried
                    tried.add((kind, name))
                    continue
                try:
                    changed = replace(each, **{name: other(value)})
                    said = write(changed)
                except (ValueError, AttributeError, TypeError, KeyError):
                    continue  # not every value may stand there; another one of the class will do
                assert said != write(each), f"{kind.__name__}.{name}"
                tried.add((kind, name))
    assert tried == {
        (kind, name) for kind in values_in(whole) for name in fields(kind) if (kind.__name__, name) not in NOT_SAID
    }


def test_what_is_written_is_plain(whole):
    text = [compiling._text(part) for part in to_plain(whole)]
    assert all(each.isascii() and "\n" not in each for each in text)
    assert pack_of([json.loads(each, parse_float=Decimal) for each in text], whole.file, whole.sha256) == whole


SLOW = ["yaml", "jsonschema", "pint", "packaging", "re", "fractions", "json", "typing", "dataclasses", "decimal"]
_PROCESS = f"""
from tirerules.packs import compiled
text = [line.rstrip(chr(10)) for line in open(sys.argv[1], encoding="ascii")]
pack = compiled.unpacked(text, "own.yaml", "0" * 64)
assert len([rule.groups for rule in pack.rules]) == 10
print(*sorted(set({SLOW}) & set(sys.modules)))
"""


def test_nothing_slow_is_imported(whole, tmp_path):
    file = tmp_path / "lines"
    plain = replace(whole, rest=Rest((), whole.notes, whole.not_law))  # an example alone may hold a number with a point
    file.write_text("\n".join(compiling._text(part) for part in to_plain(plain)), encoding="ascii")
    run = [sys.executable, "-S", "-c", f"import sys; sys.path.insert(0, {str(ROOT)!r})" + _PROCESS, str(file)]
    assert subprocess.check_output(run, text=True, timeout=120) == "\n"
