"""From a document to a pack: what a rule becomes, and every mistake with its line, its column and its cure.

The place of each expected problem is marked in the text itself; all packs here are invented.
"""

from __future__ import annotations

import hashlib
import re
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import strategies as st
from packaging.specifiers import SpecifierSet
from packaging.version import Version

import tirerules.packs
from tests.amounts import law
from tests.support import invented_pack, pack_text
from tirerules import Activity, PackError, quantity
from tirerules.packs.building import read_pack
from tirerules.packs.pack import Example, NotLaw
from tirerules.packs.rule import Counted, Disqualify, Limit, Permit, Prohibit, Require
from tirerules.strictest.bounds import Interval
from tirerules.vocabulary import FACTS, Dimension

#: Marks the place of a problem in the texts below; taken out before reading.
HERE = "‸"

SIZE = "limit: {fact: injury.diameter, at-most: 6 mm}"
ANGLE = "limit: {fact: injury.angle, at-most: 25 deg}"


def _rule(*lines, identity="invented-rule", says="Invented.", activity="[repair]", source="text"):
    """Return one rule with `lines` for its body and all else."""
    head = [f"- id: {identity}", f"  says: {says}", f"  activity: {activity}"]
    return "\n".join([*head, *(f"  {line}" for line in lines), f"  source: {source}"]) + "\n"


def _marked(text):
    places, clean = [], ""
    for part in text.split(HERE)[:-1]:
        clean += part
        places.append((clean.count("\n") + 1, len(clean) - (clean.rfind("\n") + 1) + 1))
    return clean + text.split(HERE)[-1], places


def _check(text, expected):
    """Assert that `text` has the problems `expected`, each (code, path, message, hint), at its marks and in order."""
    text, places = _marked(text)
    with pytest.raises(PackError) as refused:
        read_pack(text.encode(), "invented.yaml")
    found = refused.value.problems
    assert [(each.code, each.path, each.message, each.hint) for each in found] == expected
    assert [(each.line, each.column) for each in found] == places
    assert {each.file for each in found} == {"invented.yaml"}


# --- what a pack becomes ---------------------------------------------------------------------------------------------

WHOLE = """\
format: 1
pack: US-UM
version: 2.10.3
engine: ">=1,<2"
kind: jurisdiction
title: Invented islands
reviewed: 2026-11-25
coverage: {repair: rules, road-use: none-located, inspection: not-reviewed}
notes: [Everything here is invented., No such law exists.]
sources:
  code-1:
    citation: Invented Code § 1
    url: https://legislature.example/1
    authority: statute
    evidence: memory
    read: 2026-11-24
    currency: unconfirmed
    note: Invented.
  guide:
    citation: Invented guide
    authority: standard
    evidence: secondary
rules:
  - id: size
    says: >-
      Invented: a puncture may be
      at most 1/4 in.
    activity: [repair]
    when: {tire.class: passenger, vehicle.gvwr: {less-than: 10000 lb}}
    limit: {fact: injury.diameter, at-most: {value: 1/4 in, also-printed: 6 mm}}
    source: code-1
    in-force: {from: 2020-01-01, until: 2024-02-29}
    note: An invented note.
not-law:
  - {title: Invented Bill 1, outcome: vetoed, would-have-set: A limit of 3 mm., year: 2020, url: https://bills.example/1}
  - {title: Invented Bill 2, outcome: died, would-have-set: Nothing.}
examples:
  - case: {activity: repair}
    expect: {verdict: undetermined}
"""


def test_the_head_of_a_pack():
    pack = read_pack(WHOLE.encode(), "US-UM.yaml")
    assert (pack.id, pack.version, pack.kind, pack.title) == (
        "US-UM",
        Version("2.10.3"),
        "jurisdiction",
        "Invented islands",
    )
    assert (pack.engine, pack.reviewed, pack.file) == (SpecifierSet(">=1,<2"), date(2026, 11, 25), "US-UM.yaml")
    assert pack.notes == ("Everything here is invented.", "No such law exists.")
    # SHA-256 (FIPS 180-4) by Python's hashlib.
    assert pack.sha256 == hashlib.sha256(WHOLE.encode()).hexdigest()


def test_what_a_pack_covers_and_that_silence_is_not_reviewed():
    pack = read_pack(WHOLE.encode(), "US-UM.yaml")
    assert {activity.value: pack.covers(activity) for activity in Activity} == {
        "repair": "rules",
        "road-use": "none-located",
        "inspection": "not-reviewed",
        "used-tire-installation": "not-reviewed",
        "used-tire-sale": "not-reviewed",
        "tire-sale": "not-reviewed",
        "vehicle-sale": "not-reviewed",
    }


def test_a_source_keeps_what_was_read_and_how():
    sources = read_pack(WHOLE.encode(), "US-UM.yaml").sources
    code, guide = sources["code-1"], sources["guide"]
    assert (code.id, code.citation, code.url) == ("code-1", "Invented Code § 1", "https://legislature.example/1")
    assert (code.authority, code.evidence, code.read, code.note) == (
        "statute",
        "memory",
        date(2026, 11, 24),
        "Invented.",
    )
    assert (code.confirmed, code.law) == (False, True)
    assert (guide.url, guide.read, guide.confirmed, guide.law, guide.note) == ("", None, True, False, "")


def test_a_rule_keeps_everything_it_says():
    (rule,) = read_pack(WHOLE.encode(), "US-UM.yaml").rules
    assert (rule.id, rule.name, rule.note) == ("size", "US-UM/size", "An invented note.")
    assert rule.says == "Invented: a puncture may be at most 1/4 in."
    assert rule.activities == {Activity.REPAIR}
    assert rule.source.id == "code-1"
    assert [condition.text for condition in rule.conditions] == [
        "tire.class is passenger",
        "vehicle.gvwr is less than 10000 lb",
    ]
    assert rule.body == Limit(
        "injury.diameter", "at-most", quantity("1/4 in", Dimension.LENGTH), quantity("6 mm", Dimension.LENGTH)
    )
    assert rule.groups == {"tire", "vehicle", "injury"}


@pytest.mark.parametrize(
    ("day", "binds"),
    [("2019-12-31", False), ("2020-01-01", True), ("2024-02-28", True), ("2024-02-29", False)],
)
def test_a_rule_binds_from_its_first_day_to_the_day_before_its_end(day, binds):
    (rule,) = read_pack(WHOLE.encode(), "US-UM.yaml").rules
    assert rule.in_force(date.fromisoformat(day)) is binds


@pytest.mark.parametrize("period", ["", "\n  in-force: {from: unknown}", "\n  in-force: {}"])
def test_a_rule_without_a_known_start_binds_on_every_day(period):
    (rule,) = invented_pack(_rule(SIZE).rstrip() + period + "\n").rules
    assert (rule.start, rule.end) == (None, None)
    assert rule.in_force(date.min)
    assert rule.in_force(date.max)


def test_examples_and_texts_that_are_no_law_are_kept():
    pack = read_pack(WHOLE.encode(), "US-UM.yaml")
    line = WHOLE.splitlines().index("  - case: {activity: repair}") + 1
    assert pack.examples == (Example({"activity": "repair"}, {"verdict": "undetermined"}, line),)
    assert pack.not_law == (
        NotLaw("Invented Bill 1", "vetoed", "A limit of 3 mm.", "2020", "https://bills.example/1"),
        NotLaw("Invented Bill 2", "died", "Nothing."),
    )


# --- what is given for every example ---------------------------------------------------------------------------------

UNREAD = "{repair: not-reviewed}"
GIVEN = """\
given:
  activity: road-use
  tire: {class: passenger, tread_depth: 6/32 in, load_range: G}
  findings: []
  injuries: [{kind: puncture, zone: crown}, {kind: cut}]
examples:
"""


@pytest.mark.parametrize(
    ("case", "changed"),
    [
        ("{}", {}),
        ("{tire: {}}", {}),
        # A block merges key by key, a scalar replaces.
        ("{activity: repair}", {"activity": "repair"}),
        ("{tire: {class: bus}}", {"tire": {"class": "bus", "tread_depth": "6/32 in", "load_range": "G"}}),
        (
            "{tire: {retread: true}, axle: {steer: true}}",
            {
                "tire": {"class": "passenger", "tread_depth": "6/32 in", "load_range": "G", "retread": True},
                "axle": {"steer": True},
            },
        ),
        # A list replaces, whatever its length: nothing of the given injuries is left.
        ("{injuries: [{zone: bead}]}", {"injuries": [{"zone": "bead"}]}),
        ("{injuries: []}", {"injuries": []}),
        ("{findings: [bulge]}", {"findings": ["bulge"]}),
        # What has another shape replaces too; deciding tells what is wrong with it.
        ("{tire: bus, findings: {bulge: true}}", {"tire": "bus", "findings": {"bulge": True}}),
        # Null removes what is given, and stays where nothing is.
        ("{findings: null}", {"findings": ...}),
        ("{tire: null}", {"tire": ...}),
        ("{tire: {tread_depth: null}}", {"tire": {"class": "passenger", "load_range": "G"}}),
        ("{tire: {load_range: null}}", {"tire": {"class": "passenger", "tread_depth": "6/32 in"}}),
        (
            "{tire: {speed_symbol: null}, method: null}",
            {
                "tire": {"class": "passenger", "tread_depth": "6/32 in", "load_range": "G", "speed_symbol": None},
                "method": None,
            },
        ),
    ],
)
def test_an_examples_case_is_laid_over_what_is_given(case, changed):
    bare = f"  - case: {case}\n    expect: {{verdict: undetermined}}\n"
    text = pack_text(coverage=UNREAD, more=GIVEN + bare + "  - case: {}\n    expect: {verdict: undetermined}\n")
    whole = {
        "activity": "road-use",
        "tire": {"class": "passenger", "tread_depth": "6/32 in", "load_range": "G"},
        "findings": [],
        "injuries": [{"kind": "puncture", "zone": "crown"}, {"kind": "cut"}],
    }
    first, second = read_pack(text.encode(), "invented.yaml").examples
    assert first.case == {key: value for key, value in (whole | changed).items() if value is not ...}
    assert second.case == whole  # what one example says is not left over for the next
    assert first.line == text.splitlines().index(f"  - case: {case}") + 1


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        (f"{HERE}[]", ("wrong-type", "given", "this is a list; it must be a block of keys", "")),
        (f"{HERE}null", ("wrong-type", "given", "this is empty; it must be a block of keys", "")),
        (f"{{{HERE}tyre: {{}}}}", ("unknown-key", "given.tyre", "unknown key 'tyre'", "did you mean tire?")),
        (
            f"{{tire: {{class: passenger, {HERE}clas: bus}}}}",
            ("unknown-key", "given.tire.clas", "unknown key 'clas'", "did you mean class?"),
        ),
        (
            f"{{tire: {{class: {HERE}passanger}}}}",
            ("unknown-word", "given.tire.class", "'passanger' is not allowed here", "did you mean passenger?"),
        ),
        (
            f"{{findings: [bulge, {HERE}buldge]}}",
            ("unknown-word", "given.findings[1]", "'buldge' is not allowed here", "did you mean bulge?"),
        ),
        (
            f"{{tire: {{tread_depth: {HERE}5}}}}",
            (
                "wrong-type",
                "given.tire.tread_depth",
                "this is the bare number 5; it must be text",
                'write, for example, "1/4 in" or "6 mm"',
            ),
        ),
        (
            f"{{injuries: {HERE}none}}",
            ("wrong-type", "given.injuries", "this is the text 'none'; it must be a list", ""),
        ),
        # What is not known is not given.
        (f"{{findings: {HERE}null}}", ("wrong-type", "given.findings", "this is empty; it must be a list", "")),
        (
            f"{{tire: {{retread: {HERE}null}}}}",
            ("wrong-type", "given.tire.retread", "this is empty; it must be true or false", ""),
        ),
    ],
)
def test_what_is_given_wrongly_is_told_with_its_place(given, expected):
    text, places = _marked(pack_text(coverage=UNREAD, more=f"given: {given}\n"))
    with pytest.raises(PackError) as refused:
        read_pack(text.encode(), "invented.yaml")
    (found,) = refused.value.problems
    code, path, message, hint = expected
    assert (found.code, found.path, found.message, found.hint) == (code, path, message, hint)
    assert [(found.line, found.column)] == places


def test_any_part_of_a_case_may_be_given():
    given = 'given: {repair_unit: {rated_angle: 45 deg}, "on": 2026-01-01, jurisdictions: [US], findings: []}\n'
    pack = read_pack(pack_text(coverage=UNREAD, more=given).encode(), "invented.yaml")
    assert pack.examples == ()


def test_a_pack_and_its_rules_cannot_be_changed():
    pack = read_pack(WHOLE.encode(), "US-UM.yaml")
    with pytest.raises(AttributeError, match="never changes"):
        pack.title = "Other"
    with pytest.raises(AttributeError, match="never changes"):
        pack.rules[0].id = "other"
    with pytest.raises(TypeError):
        pack.sources["other"] = pack.sources["guide"]
    with pytest.raises(TypeError):
        pack.coverage[Activity.REPAIR] = "none-located"
    with pytest.raises(TypeError):
        pack.examples[0].case["activity"] = "inspection"


def test_two_readings_of_one_file_are_equal_wherever_it_lies():
    assert read_pack(WHOLE.encode(), "one.yaml") == read_pack(WHOLE.encode(), "other.yaml")
    assert read_pack(WHOLE.encode(), "one.yaml") != read_pack(WHOLE.encode() + b"#", "one.yaml")


# --- bodies ----------------------------------------------------------------------------------------------------------


def _body(*lines):
    (rule,) = invented_pack(_rule(*lines)).rules
    return rule.body


@pytest.mark.parametrize("relation", ["at-most", "less-than", "at-least", "more-than"])
def test_a_limit_keeps_its_relation_and_its_figure(relation):
    body = _body(f"limit: {{fact: tire.tread_depth, {relation}: 2/32 in}}")
    assert body == Limit("tire.tread_depth", relation, quantity("2/32 in", Dimension.LENGTH))
    assert str(body.value) == "2/32 in"


def test_a_limit_on_a_count_is_a_whole_number():
    assert _body("limit: {fact: repairs.count, at-most: 2}") == Limit("repairs.count", "at-most", 2)


@pytest.mark.parametrize(
    ("relation", "value", "also", "strict"),
    [
        # 1/4 in = 6.35 mm and 3/8 in = 9.525 mm (International Yard and Pound, 1959)
        ("at-most", "1/4 in", "6 mm", "6 mm"),
        ("at-most", "3/8 in", "10 mm", "3/8 in"),
        ("less-than", "1/4 in", "6 mm", "6 mm"),
        ("at-least", "2/32 in", "2 mm", "2 mm"),
        ("at-least", "2/32 in", "1.5 mm", "2/32 in"),
        ("more-than", "2/32 in", "2 mm", "2 mm"),
    ],
)
def test_the_stricter_of_two_printed_figures_binds_unless_read_as_enacted(relation, value, also, strict):
    body = _body(f"limit: {{fact: tire.tread_depth, {relation}: {{value: {value}, also-printed: {also}}}}}")
    assert (str(body.value), str(body.also)) == (value, also)
    assert str(body.chosen("strict")) == strict
    assert str(body.chosen("as-enacted")) == value


@pytest.mark.parametrize(
    ("counted", "expected", "words"),
    [
        ("", Counted("any-one", 1), ""),
        (", counted: {grooves: any-one}", Counted("any-one", 1), ""),
        (", counted: {grooves: any-one, places: 3}", Counted("any-one", 3), "in any one groove at 3 places"),
        (", counted: {grooves: two-adjacent}", Counted("two-adjacent", 1), "in two adjacent grooves at 1 place"),
        (
            ", counted: {grooves: center, places: 2}",
            Counted("center", 2),
            "in the groove nearest the center at 2 places",
        ),
        (", counted: {grooves: any-two, places: 3}", Counted("any-two", 3), "in any two grooves at 3 places"),
        (", counted: {grooves: every, places: 3}", Counted("every", 3), "in every groove at 3 places"),
    ],
)
def test_a_floor_on_tread_says_how_readings_are_counted(counted, expected, words):
    body = _body(f"limit: {{fact: tire.tread_depth, at-least: 2/32 in{counted}}}")
    assert (body.counted, str(body.counted)) == (expected, words)


def test_words_are_permitted_prohibited_disqualifying_or_required():
    assert _body("permit: {fact: injury.zone, values: [crown]}") == Permit("injury.zone", ("crown",))
    assert _body("prohibit: {fact: method, values: [boot, plug-only]}") == Prohibit("method", ("boot", "plug-only"))
    assert _body("disqualify: {findings: [bulge, leak]}") == Disqualify(("bulge", "leak"))
    assert _body("require: {steps: [demount]}") == Require(("demount",))


def test_true_and_false_become_yes_and_no():
    assert _body("permit: {fact: shop.full_service, values: [true]}") == Permit("shop.full_service", ("yes",))
    assert _body("prohibit: {fact: repairs.overlap, values: [true, false]}").values == ("yes", "no")


def test_a_ceiling_on_the_angle_may_be_extendable():
    (rule,) = invented_pack(_rule(ANGLE, "extendable: {up-to: 35 deg, by: repair-material}")).rules
    assert rule.up_to == quantity("35 deg", Dimension.ANGLE)


@pytest.mark.parametrize("authority", ["standard", "industry-practice", "maker", "company"])
def test_an_extension_needs_an_authority_that_is_no_law(authority):
    text = _rule(ANGLE, "extendable: {up-to: 35 deg, by: repair-material}")
    (rule,) = invented_pack(text, authority=authority).rules
    assert rule.source.law is False
    assert str(rule.up_to) == "35 deg"


#: The British repair area as a share of the nominal section width (BTMA; read in BTMA's own advice to the trade).
BRITISH = "[{through: 155 mm, share: 60 %}, {through: 200 mm, share: 65 %}, {share: 70 %}]"


def _band(said):
    body = _body(f"limit: {{fact: injury.reach, at-most: {{{said}}}}}")
    return body.value


@pytest.mark.parametrize(
    ("width", "area"),
    [(125, 75), (135, 81), (145, 87), (155, 93), (165, 107), (175, 114), (185, 120), (195, 127)],
)
def test_a_stepped_share_gives_the_published_repair_areas(width, area):
    # BTMA prints the whole area rounded to millimeters; the band is its half, on one side of the center line.
    reach = _band(f"half-of: tire.section_width, share: {BRITISH}").range(Interval(Fraction(width), Fraction(width)))
    assert reach.low == reach.high
    assert round(2 * reach.low) == area


@pytest.mark.parametrize(
    ("width", "half"),
    [("155", "46.5"), ("156", "50.7"), ("195", "63.375"), ("200", "65"), ("201", "70.35"), ("225", "78.75")],
)
def test_a_stepped_share_is_exact_on_both_sides_of_a_step(width, half):
    # Own arithmetic on the shares above: 225 x 0.70 / 2 = 78.75.
    measured = Interval(Fraction(width), Fraction(width))
    expected = Interval(Fraction(half), Fraction(half))
    assert _band(f"half-of: tire.section_width, share: {BRITISH}").range(measured) == expected


@pytest.mark.parametrize(
    ("said", "low", "high", "text"),
    [
        # From 150 to 160 mm the step at 155 mm lies inside: 45 mm at 150, 50.375 just above 155, 52 at 160.
        (f"half-of: tire.section_width, share: {BRITISH}", "45", "52", None),
        # A falling step: 54.25 mm at 155, 46.5 just above it.
        (
            "half-of: tire.belt_width, share: [{through: 155 mm, share: 70 %}, {share: 60 %}]",
            "46.5",
            "54.25",
            "half of (70 % through 155 mm, 60 % above) of the belt width",
        ),
        ("half-of: tire.tread_width, share: 3/4", "56.25", "60", "half of 3/4 of the tread width"),
        ("half-of: tire.tread_width, share: 75%", "56.25", "60", "half of 75% of the tread width"),
        ("half-of: tire.tread_width, inset: 1 in", "49.6", "54.6", "half of the tread width less 1 in"),
        ("half-of: tire.belt_width, inset: 100 mm", "0", "0", "half of the belt width less 100 mm"),
        ("half-of: tire.belt_width", "75", "80", "half of the belt width"),
    ],
)
def test_a_relative_limit_spans_what_the_tire_may_give(said, low, high, text):
    band = _band(said)
    assert band.range(Interval(Fraction(150), Fraction(160))) == Interval(Fraction(low), Fraction(high))
    assert text is None or str(band) == text


def test_a_relative_limit_has_no_figure_before_a_tire_is_measured():
    body = _body("limit: {fact: injury.reach, at-most: {half-of: tire.tread_width}}")
    assert body.chosen("strict") is None
    assert body.chosen("as-enacted") is None


def test_a_stepped_share_says_its_steps():
    text = str(_band(f"half-of: tire.section_width, share: {BRITISH}"))
    assert text == "half of (60 % through 155 mm, 65 % through 200 mm, 70 % above) of the section width"


# --- conditions ------------------------------------------------------------------------------------------------------


def _condition(said):
    (rule,) = invented_pack(_rule(f"when: {{{said}}}", SIZE)).rules
    (condition,) = rule.conditions
    return condition


def _words_that_hold(condition):
    values = FACTS[condition.fact].values
    return [word for word in values if condition.holds(frozenset({word})) is True]


#: Symbols by speed (UN R30 and R54; see tests/test_vocabulary.py): ... T 190, U 200, H 210, V 240, ZR above 240 ...
@pytest.mark.parametrize(
    ("said", "holds", "text"),
    [
        ("tire.class: bus", ["bus"], "tire.class is bus"),
        ("tire.class: [bus, trailer]", ["bus", "trailer"], "tire.class is bus or trailer"),
        (
            "tire.class: {not: [passenger, light-truck, bus, motorcycle, trailer, off-road]}",
            ["medium-truck", "temporary-spare", "agricultural"],
            "tire.class is not passenger or light-truck or bus or motorcycle or trailer or off-road",
        ),
        ("tire.construction: {not: bias}", ["radial"], "tire.construction is not bias"),
        ("tire.run_flat: true", ["yes"], "tire.run_flat is yes"),
        ("tire.run_flat: false", ["no"], "tire.run_flat is no"),
        ("tire.run_flat: {not: true}", ["no"], "tire.run_flat is not yes"),
        (
            "tire.speed_symbol: {at-least: U, at-most: V}",
            ["U", "H", "V"],
            "tire.speed_symbol is at least U and at most V",
        ),
        (
            "tire.speed_symbol: {more-than: T, less-than: V}",
            ["U", "H"],
            "tire.speed_symbol is more than T and less than V",
        ),
        ("tire.speed_symbol: {more-than: H}", ["V", "ZR", "W", "Y", "(Y)"], "tire.speed_symbol is more than H"),
        ("tire.speed_symbol: {less-than: L}", ["J", "K"], "tire.speed_symbol is less than L"),
        ("tire.speed_symbol: H", ["H"], "tire.speed_symbol is H"),
        ("tire.load_range: {at-least: H, at-most: L}", ["H", "J", "L"], "tire.load_range is at least H and at most L"),
        ("tire.load_range: [E, F]", ["E", "F"], "tire.load_range is E or F"),
    ],
)
def test_a_condition_on_words_holds_for_these_words_alone(said, holds, text):
    condition = _condition(said)
    assert _words_that_hold(condition) == holds
    assert condition.text == text
    assert condition.holds(None) is None


@pytest.mark.parametrize(
    ("said", "holds", "fails"),
    [
        ("vehicle.gvwr: {at-most: 10000 lb}", "4535.9237", "4535.9238"),
        ("vehicle.gvwr: {less-than: 10000 lb}", "4535.9236", "4535.9237"),
        ("vehicle.gvwr: {at-least: 10000 lb}", "4535.9237", "4535.9236"),
        ("vehicle.gvwr: {more-than: 10000 lb}", "4535.9238", "4535.9237"),
        ("vehicle.gvwr: {more-than: 1000 kg, at-most: 2000 kg}", "2000", "1000"),
        ("tire.tread_depth: {at-least: 2/32 in}", "1.5875", "1.5874"),
        ("injury.angle: {at-most: 25 deg}", "25", "25.001"),
        ("repairs.count: {at-most: 2}", "2", "3"),
        ("repairs.count: {more-than: 2}", "3", "2"),
        ("tire.age: {at-most: 6 years}", "2191.5", "2191.6"),
    ],
)
def test_a_condition_on_a_number_is_exact_at_its_edge(said, holds, fails):
    # 10000 lb = 4535.9237 kg, 1 in = 25.4 mm (International Yard and Pound, 1959); the year has 365.25 days.
    condition = _condition(said)
    inside, outside = Fraction(holds), Fraction(fails)
    assert condition.holds(Interval(inside, inside)) is True
    assert condition.holds(Interval(outside, outside)) is False
    assert condition.holds(Interval(min(inside, outside), max(inside, outside))) is None


@pytest.mark.parametrize(
    ("said", "found", "holds"),
    [
        ("findings: leak", {"leak"}, True),
        ("findings: leak", {"leak", "bulge"}, True),
        ("findings: leak", {"bulge"}, False),
        ("findings: leak", set(), False),
        ("findings: [leak, bulge]", {"bulge"}, True),
        ("findings: {not: leak}", {"leak"}, False),
        ("findings: {not: leak}", {"bulge"}, True),
        ("findings: {not: leak}", set(), True),
    ],
)
def test_a_condition_on_findings_asks_whether_any_is_present(said, found, holds):
    assert _condition(said).holds(frozenset(found)) is holds


# --- mistakes that the schema sees -----------------------------------------------------------------------------------

_LENGTH_FORM = 'write, for example, "1/4 in" or "6 mm"'
_DAY_FORM = 'write, for example, "2026-11-25"'
_AUTHORITIES = "one of: statute, regulation, inspection-manual, standard, industry-practice, maker, company"
_CLASSES = f"one of: {', '.join(FACTS['tire.class'].values)}"

HEAD_MISTAKES = [
    # (id, what stands in the right pack, what stands there instead, [(code, path, message, hint)])
    (
        "other format",
        "format: 1",
        "format: ‸2",
        [("unknown-word", "format", "the bare number 2 is not allowed here", "one of: 1")],
    ),
    (
        "format as flag",
        "format: 1",
        "format: ‸true",
        [("unknown-word", "format", "true is not allowed here", "one of: 1")],
    ),
    (
        "empty title",
        "title: Invented pack",
        'title: ‸""',
        [("empty", "title", "this is empty", "The name people use.")],
    ),
    (
        "number for title",
        "title: Invented pack",
        "title: ‸5",
        [("wrong-type", "title", "this is the bare number 5; it must be text", "")],
    ),
    (
        "flag for title",
        "title: Invented pack",
        "title: ‸true",
        [("wrong-type", "title", "this is true; it must be text", "")],
    ),
    (
        "list for title",
        "title: Invented pack",
        "title: ‸[x]",
        [("wrong-type", "title", "this is a list; it must be text", "")],
    ),
    (
        "nothing for title",
        "title: Invented pack",
        "title: ‸null",
        [("wrong-type", "title", "this is empty; it must be text", "")],
    ),
    (
        "version form",
        "version: 1.0.0",
        "version: ‸1.0.x",
        [("wrong-form", "version", "'1.0.x' has the wrong form", 'write, for example, "1.0.0"')],
    ),
    (
        "version number",
        "version: 1.0.0",
        "version: ‸1.0",
        [("wrong-type", "version", "this is the bare number 1.0; it must be text", 'write, for example, "1.0.0"')],
    ),
    (
        "version with zero",
        "version: 1.0.0",
        "version: ‸1.00.0",
        [("wrong-form", "version", "'1.00.0' has the wrong form", 'write, for example, "1.0.0"')],
    ),
    (
        "empty engine",
        'engine: ">=1,<2"',
        'engine: ‸""',
        [("empty", "engine", "this is empty", 'write, for example, ">=1,<2"')],
    ),
    (
        "kind",
        "kind: company",
        "kind: ‸compny",
        [("unknown-word", "kind", "'compny' is not allowed here", "did you mean company?")],
    ),
    (
        "far kind",
        "kind: company",
        "kind: ‸zzz",
        [
            (
                "unknown-word",
                "kind",
                "'zzz' is not allowed here",
                "one of: baseline, country, jurisdiction, company, repair-material",
            )
        ],
    ),
    (
        "pack name",
        "pack: invented-shop",
        "pack: ‸Invented Shop",
        [
            (
                "wrong-form",
                "pack",
                "'Invented Shop' has the wrong form",
                "A jurisdiction code (US-SC), a country (US), or a name of your own in small letters.",
            )
        ],
    ),
    (
        "day form",
        "reviewed: 2026-11-25",
        "reviewed: ‸25.11.2026",
        [("wrong-form", "reviewed", "'25.11.2026' has the wrong form", _DAY_FORM)],
    ),
    (
        "day as number",
        "reviewed: 2026-11-25",
        "reviewed: ‸20261125",
        [("wrong-type", "reviewed", "this is the bare number 20261125; it must be text", _DAY_FORM)],
    ),
    (
        "missing key",
        "format: 1\npack: invented-shop\n",
        "‸format: 1\n",
        [("missing-key", "", "the key 'pack' is missing", "")],
    ),
    (
        "misspelt key",
        'format: 1\npack: invented-shop\nversion: 1.0.0\nengine: ">=1,<2"\nkind: company\ntitle:',
        '‸format: 1\npack: invented-shop\nversion: 1.0.0\nengine: ">=1,<2"\nkind: company\n‸titel:',
        [
            ("missing-key", "", "the key 'title' is missing", ""),
            ("unknown-key", "titel", "unknown key 'titel'", "did you mean title?"),
        ],
    ),
    (
        "empty coverage",
        "coverage: {repair: rules}",
        "coverage: ‸{}",
        [
            (
                "empty",
                "coverage",
                "this is empty",
                "What the review found for each activity; one that is missing was not reviewed.",
            )
        ],
    ),
    (
        "coverage word",
        "coverage: {repair: rules}",
        "coverage: {repair: ‸ruls}",
        [("unknown-word", "coverage.repair", "'ruls' is not allowed here", "did you mean rules?")],
    ),
    (
        "coverage activity",
        "coverage: {repair: rules}",
        "coverage: {‸repare: rules}",
        [("unknown-key", "coverage.repare", "unknown key 'repare'", "did you mean repair?")],
    ),
    (
        "sources as list",
        "sources:\n  text:\n    citation: Invented Code § 1\n    authority: company\n    evidence: text-read\n",
        "sources: ‸[]\n",
        [("wrong-type", "sources", "this is a list; it must be a block of keys", "")],
    ),
    (
        "source without evidence",
        "  text:\n    citation: Invented Code § 1\n    authority: company\n    evidence: text-read\n",
        "  ‸text:\n    citation: Invented Code § 1\n    authority: company\n",
        [("missing-key", "sources.text", "the key 'evidence' is missing", "")],
    ),
    (
        "authority",
        "authority: company",
        "authority: ‸law",
        [("unknown-word", "sources.text.authority", "'law' is not allowed here", _AUTHORITIES)],
    ),
    (
        "evidence",
        "evidence: text-read",
        "evidence: ‸text-raed",
        [("unknown-word", "sources.text.evidence", "'text-raed' is not allowed here", "did you mean text-read?")],
    ),
    (
        "url",
        "evidence: text-read",
        "evidence: text-read\n    url: ‸ftp://texts.example",
        [
            (
                "wrong-form",
                "sources.text.url",
                "'ftp://texts.example' has the wrong form",
                "A public copy of the text itself.",
            )
        ],
    ),
    (
        "rules as block",
        "rules:\n",
        "rules: ‸{}\nnotes:\n",
        [("wrong-type", "rules", "this is a block of keys; it must be a list", "")],
    ),
]


@pytest.mark.parametrize(
    ("right", "wrong", "expected"), [row[1:] for row in HEAD_MISTAKES], ids=[row[0] for row in HEAD_MISTAKES]
)
def test_a_mistake_in_the_head_is_told_with_its_place(right, wrong, expected):
    text = pack_text(_rule(SIZE))
    assert text.count(right) == 1
    text = text.replace(right, wrong)
    if "notes:" in wrong:
        text = text[: text.index("notes:")]
    _check(text, expected)


RULE_MISTAKES = [
    # (id, lines of the rule's body, [(code, path below the rule, message, hint)])
    (
        "unit missing",
        ["limit: {fact: injury.diameter, at-most: ‸6}"],
        [("wrong-type", "limit.at-most", "this is the bare number 6; it must be text", _LENGTH_FORM)],
    ),
    (
        "unit missing, decimal",
        ["limit: {fact: injury.diameter, at-most: ‸6.5}"],
        [("wrong-type", "limit.at-most", "this is the bare number 6.5; it must be text", _LENGTH_FORM)],
    ),
    (
        "unit missing in quotes",
        ['limit: {fact: injury.diameter, at-most: ‸"6"}'],
        [("wrong-form", "limit.at-most", "'6' has the wrong form", _LENGTH_FORM)],
    ),
    (
        "negative",
        ["limit: {fact: injury.diameter, at-most: ‸-6 mm}"],
        [("wrong-form", "limit.at-most", "'-6 mm' has the wrong form", _LENGTH_FORM)],
    ),
    (
        "range for a limit",
        ["limit: {fact: injury.diameter, at-most: ‸5 mm to 6 mm}"],
        [("wrong-form", "limit.at-most", "'5 mm to 6 mm' has the wrong form", _LENGTH_FORM)],
    ),
    (
        "unknown fact",
        ["limit: {fact: ‸injury.diametre, at-most: 6 mm}"],
        [("unknown-word", "limit.fact", "'injury.diametre' is not allowed here", "did you mean injury.diameter?")],
    ),
    ("no fact", ["‸limit: {at-most: 6 mm}"], [("missing-key", "limit", "the key 'fact' is missing", "")]),
    (
        "misspelt relation",
        ["limit: {fact: injury.diameter, ‸at-mots: 6 mm}"],
        [("unknown-key", "limit.at-mots", "unknown key 'at-mots'", "did you mean at-most?")],
    ),
    (
        "half a dual",
        ["limit: {fact: injury.diameter, ‸at-most: {value: 1/4 in}}"],
        [("missing-key", "limit.at-most", "the key 'also-printed' is missing", "")],
    ),
    (
        "three figures",
        ["limit: {fact: tire.tread_depth, at-least: {value: 1/4 in, also-printed: 6 mm, ‸or: 7 mm}}"],
        [("unknown-key", "limit.at-least.or", "unknown key 'or'", "one of: value, also-printed")],
    ),
    (
        "word for a count",
        ["limit: {fact: repairs.count, at-most: ‸two}"],
        [("wrong-type", "limit.at-most", "this is the text 'two'; it must be a whole number", None)],
    ),
    (
        "part of a count",
        ["limit: {fact: repairs.count, at-most: ‸1.5}"],
        [("wrong-type", "limit.at-most", "this is the bare number 1.5; it must be a whole number", None)],
    ),
    (
        "misspelt zone",
        ["permit: {fact: injury.zone, values: [‸crwn]}"],
        [("unknown-word", "permit.values[0]", "'crwn' is not allowed here", "did you mean crown?")],
    ),
    ("no values", ["permit: {fact: injury.zone, values: ‸[]}"], [("empty", "permit.values", "this is empty", "")]),
    (
        "one value twice",
        ["permit: {fact: injury.zone, values: ‸[crown, crown]}"],
        [("repeated", "permit.values", "a value stands here twice", "delete one")],
    ),
    (
        "value without list",
        ["permit: {fact: injury.zone, values: ‸crown}"],
        [("wrong-type", "permit.values", "this is the text 'crown'; it must be a list", "")],
    ),
    (
        "yes for true",
        ['prohibit: {fact: repairs.overlap, values: [‸"yes"]}'],
        [("wrong-type", "prohibit.values[0]", "this is the text 'yes'; it must be true or false", "")],
    ),
    (
        "method that is none",
        ["prohibit: {fact: method, values: [boot, ‸plug]}"],
        [("unknown-word", "prohibit.values[1]", "'plug' is not allowed here", "did you mean plug-only?")],
    ),
    (
        "finding that is none",
        ["disqualify: {findings: [bulge, ‸leek]}"],
        [("unknown-word", "disqualify.findings[1]", "'leek' is not allowed here", "did you mean leak?")],
    ),
    (
        "step that is none",
        ["require: {steps: [‸demont]}"],
        [("unknown-word", "require.steps[0]", "'demont' is not allowed here", "did you mean demount?")],
    ),
    (
        "who extends",
        [ANGLE, "extendable: {up-to: 35 deg, by: ‸shop}"],
        [("unknown-word", "extendable.by", "'shop' is not allowed here", "one of: repair-material")],
    ),
    (
        "misspelt word",
        ["when: {tire.class: ‸pasenger}", SIZE],
        [("unknown-word", "when.tire.class", "'pasenger' is not allowed here", "did you mean passenger?")],
    ),
    (
        "misspelt word in a list",
        ["when: {tire.class: [passenger, ‸pasenger]}", SIZE],
        [("unknown-word", "when.tire.class[1]", "'pasenger' is not allowed here", "did you mean passenger?")],
    ),
    (
        "misspelt word not meant",
        ["when: {tire.class: {not: ‸pasenger}}", SIZE],
        [("unknown-word", "when.tire.class.not", "'pasenger' is not allowed here", "did you mean passenger?")],
    ),
    (
        "far word",
        ["when: {tire.class: ‸zzz}", SIZE],
        [("unknown-word", "when.tire.class", "'zzz' is not allowed here", _CLASSES)],
    ),
    (
        "load range I",
        ["when: {tire.load_range: ‸I}", SIZE],
        [
            (
                "unknown-word",
                "when.tire.load_range",
                "'I' is not allowed here",
                "one of: A, B, C, D, E, F, G, H, J, L, M, N",
            )
        ],
    ),
    (
        "empty condition",
        ["when: ‸{}", SIZE],
        [("empty", "when", "this is empty", "The rule applies where every condition holds.")],
    ),
    (
        "conditions as list",
        ["when: ‸[passenger]", SIZE],
        [("wrong-type", "when", "this is a list; it must be a block of keys", "")],
    ),
    (
        "order of unordered words",
        ["when: {tire.class: {‸at-most: bus}}", SIZE],
        [("unknown-key", "when.tire.class.at-most", "unknown key 'at-most'", "one of: not")],
    ),
    (
        "not of a number",
        ["when: {vehicle.gvwr: {‸not: 5 kg}}", SIZE],
        [
            (
                "unknown-key",
                "when.vehicle.gvwr.not",
                "unknown key 'not'",
                "one of: at-most, less-than, at-least, more-than",
            )
        ],
    ),
    (
        "number without relation",
        ["when: {vehicle.gvwr: ‸10000 lb}", SIZE],
        [("wrong-type", "when.vehicle.gvwr", "this is the text '10000 lb'; it must be a block of keys", "")],
    ),
    (
        "number without unit",
        ["when: {vehicle.gvwr: {at-most: ‸10000}}", SIZE],
        [
            (
                "wrong-type",
                "when.vehicle.gvwr.at-most",
                "this is the bare number 10000; it must be text",
                'write, for example, "1900 kg" or "10000 lb"',
            )
        ],
    ),
    (
        "flag as text",
        ['when: {tire.run_flat: ‸"yes"}', SIZE],
        [("wrong-type", "when.tire.run_flat", "this is the text 'yes'; it must be true or false", "")],
    ),
    (
        "share without its measure",
        ["limit: {fact: injury.reach, at-most: {half-of: ‸tire.thickness, share: 3/4}}"],
        [
            (
                "unknown-word",
                "limit.at-most.half-of",
                "'tire.thickness' is not allowed here",
                "one of: tire.tread_width, tire.section_width, tire.belt_width",
            )
        ],
    ),
    (
        "share as decimal",
        ["limit: {fact: injury.reach, at-most: {half-of: tire.tread_width, share: ‸0.7}}"],
        [
            (
                "wrong-type",
                "limit.at-most.share",
                "this is the bare number 0.7; it must be text",
                'write, for example, "3/4" or "70 %"',
            )
        ],
    ),
    (
        "groove that is none",
        ["limit: {fact: tire.tread_depth, at-least: 2/32 in, counted: {grooves: ‸any-tow}}"],
        [("unknown-word", "limit.counted.grooves", "'any-tow' is not allowed here", "did you mean any-two?")],
    ),
    (
        "four places",
        ["limit: {fact: tire.tread_depth, at-least: 2/32 in, counted: {grooves: every, places: ‸4}}"],
        [("unknown-word", "limit.counted.places", "the bare number 4 is not allowed here", "one of: 1, 2, 3")],
    ),
    (
        "misspelt start",
        [SIZE, "in-force: {‸frm: 2024-01-01}"],
        [("unknown-key", "in-force.frm", "unknown key 'frm'", "did you mean from?")],
    ),
    (
        "unknown end",
        [SIZE, "in-force: {until: ‸unknown}"],
        [("wrong-form", "in-force.until", "'unknown' has the wrong form", _DAY_FORM)],
    ),
]


@pytest.mark.parametrize(
    ("lines", "expected"), [row[1:] for row in RULE_MISTAKES], ids=[row[0] for row in RULE_MISTAKES]
)
def test_a_mistake_in_a_rule_is_told_with_its_place(lines, expected):
    text, places = _marked(pack_text(_rule(*lines)))
    with pytest.raises(PackError) as refused:
        read_pack(text.encode(), "invented.yaml")
    found = refused.value.problems
    assert [(each.code, each.path, each.message) for each in found] == [
        (code, f"rules[0].{path}", message) for code, path, message, _ in expected
    ]
    assert [(each.line, each.column) for each in found] == places
    assert all(hint is None or each.hint == hint for each, (_, _, _, hint) in zip(found, expected, strict=True))


OTHER_MISTAKES = [
    (
        "identity",
        {"identity": "‸Invented Rule"},
        (
            "wrong-form",
            "id",
            "'Invented Rule' has the wrong form",
            "The rule's name within the pack; never reused for another rule.",
        ),
    ),
    (
        "empty sentence",
        {"says": '‸""'},
        ("empty", "says", "this is empty", "The rule in one plain sentence of our own words."),
    ),
    (
        "activity that is none",
        {"activity": "[‸repare]"},
        ("unknown-word", "activity[0]", "'repare' is not allowed here", "did you mean repair?"),
    ),
    (
        "activity without list",
        {"activity": "‸repair"},
        ("wrong-type", "activity", "this is the text 'repair'; it must be a list", ""),
    ),
    ("no activity", {"activity": "‸[]"}, ("empty", "activity", "this is empty", "What the rule regulates.")),
    (
        "one activity twice",
        {"activity": "‸[repair, repair]"},
        ("repeated", "activity", "a value stands here twice", "delete one"),
    ),
    (
        "unknown source",
        {"source": "‸txet"},
        ("unknown-source", "source", "no source has the key 'txet'", "did you mean text?"),
    ),
    (
        "far source",
        {"source": "‸zzz"},
        ("unknown-source", "source", "no source has the key 'zzz'", "add it under `sources`"),
    ),
]


@pytest.mark.parametrize(
    ("head", "expected"), [row[1:] for row in OTHER_MISTAKES], ids=[row[0] for row in OTHER_MISTAKES]
)
def test_a_mistake_around_the_body_is_told_with_its_place(head, expected):
    code, path, message, hint = expected
    _check(pack_text(_rule(SIZE, **head)), [(code, f"rules[0].{path}", message, hint)])


EXAMPLE_MISTAKES = [
    ("no expectation", "‸case: {}", ("missing-key", "", "the key 'expect' is missing", "")),
    (
        "verdict that is none",
        "case: {}\n    expect: {verdict: ‸fine}",
        (
            "unknown-word",
            ".expect.verdict",
            "'fine' is not allowed here",
            "one of: within-limits, outside-limits, undetermined",
        ),
    ),
    (
        "no reason",
        "case: {}\n    expect: {verdict: undetermined, because: ‸[]}",
        ("empty", ".expect.because", "this is empty", ""),
    ),
    (
        "question that is none",
        "case: {}\n    expect: {verdict: undetermined, questions: [‸tire.clas]}",
        ("unknown-word", ".expect.questions[0]", "'tire.clas' is not allowed here", "did you mean tire.class?"),
    ),
    (
        "method that is none",
        "case: {}\n    expect: {verdict: undetermined, methods: {‸plug: undetermined}}",
        ("unknown-key", ".expect.methods.plug", "unknown key 'plug'", "did you mean plug-only?"),
    ),
    (
        "case as list",
        "case: ‸[]\n    expect: {verdict: undetermined}",
        ("wrong-type", ".case", "this is a list; it must be a block of keys", ""),
    ),
]


@pytest.mark.parametrize(
    ("said", "expected"), [row[1:] for row in EXAMPLE_MISTAKES], ids=[row[0] for row in EXAMPLE_MISTAKES]
)
def test_a_mistake_in_an_example_is_told_with_its_place(said, expected):
    code, path, message, hint = expected
    text = pack_text(_rule(SIZE), more=f"examples:\n  - {said}\n")
    _check(text, [(code, f"examples[0]{path}", message, hint)])


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("[]", "a list"),
        ("only text", "the text 'only text'"),
        ("5", "the bare number 5"),
        ("1.5", "the bare number 1.5"),
        ("true", "true"),
        ("null", "empty"),
    ],
)
def test_a_document_that_is_no_block_of_keys_is_refused(text, kind):
    _check(f"{HERE}{text}", [("wrong-type", "", f"this is {kind}; it must be a block of keys", "")])


def test_every_missing_key_of_an_empty_pack_is_named():
    with pytest.raises(PackError) as refused:
        read_pack(b"{}", "invented.yaml")
    assert [problem.message for problem in refused.value.problems] == [
        f"the key {key!r} is missing"
        for key in (
            "format",
            "pack",
            "version",
            "engine",
            "kind",
            "title",
            "reviewed",
            "coverage",
            "sources",
            "rules",
        )
    ]


def test_a_word_offered_for_a_misspelt_one_agrees_with_it_longest_from_the_start():
    text, _ = _marked(pack_text(_rule("limit: {fact: injury.diametre, at-most: 6 mm}")))
    with pytest.raises(PackError) as refused:
        read_pack(text.encode(), "invented.yaml")
    (problem,) = refused.value.problems
    offered = re.findall(r"[a-z]+\.[a-z_]+", problem.hint)
    assert offered == ["injury.diameter"]


# --- mistakes of meaning, which no schema sees -----------------------------------------------------------------------

_ENDS = "`until` is the first day no longer in force"
_BODIES = "keep one of: limit, permit, prohibit, disqualify, require"
_RELATIONS = "keep one of: at-most, less-than, at-least, more-than"
_RIGHT_ANGLE = "write an angle from 0 deg to below 90 deg"
_MENDED = "exchange or mend its ends"
FALLING = "[{through: 200 mm, share: 60 %}, {through: 155 mm, share: 65 %}, {share: 70 %}]"

MEANING = [
    # (id, lines of the rule's body, mark, [(code, path below the rule, message, hint)])
    (
        "two bodies",
        ["‸", SIZE, "disqualify: {findings: [leak]}"],
        ("rule-body", "", "a rule has one body; this one has limit and disqualify", _BODIES),
    ),
    (
        "three bodies",
        ["‸", SIZE, "disqualify: {findings: [leak]}", "require: {steps: [demount]}"],
        ("rule-body", "", "a rule has one body; this one has limit and disqualify and require", _BODIES),
    ),
    ("no body", ["‸", "note: Invented."], ("rule-body", "", "a rule has one body; this one has none", _BODIES)),
    (
        "no figure",
        ["limit: ‸{fact: injury.diameter}"],
        ("limit-figure", ".limit", "a limit has one figure; this one has none", _RELATIONS),
    ),
    (
        "two figures",
        ["limit: ‸{fact: injury.diameter, at-most: 6 mm, less-than: 7 mm}"],
        ("limit-figure", ".limit", "a limit has one figure; this one has at-most and less-than", _RELATIONS),
    ),
    (
        "other dimension",
        ["limit: {fact: injury.diameter, at-most: ‸25 deg}"],
        ("quantity", ".limit.at-most", "'25 deg' is an angle where a length belongs", 'write "1/4 in" or "6 mm"'),
    ),
    (
        "other dimension beside",
        ["limit: {fact: injury.diameter, at-most: {value: 1/4 in, also-printed: ‸6 deg}}"],
        (
            "quantity",
            ".limit.at-most.also-printed",
            "'6 deg' is an angle where a length belongs",
            'write "1/4 in" or "6 mm"',
        ),
    ),
    (
        "unknown unit",
        ["limit: {fact: injury.diameter, at-most: ‸6 furlong}"],
        ("quantity", ".limit.at-most", "'6 furlong' has the unknown unit 'furlong'", "did you mean mm, cm, m, in?"),
    ),
    (
        "megameter",
        ["limit: {fact: injury.diameter, at-most: ‸6 Mm}"],
        ("quantity", ".limit.at-most", "'6 Mm' has the unknown unit 'Mm'", "did you mean mm?"),
    ),
    (
        "zero below",
        ["limit: {fact: injury.diameter, at-most: ‸1/0 in}"],
        ("quantity", ".limit.at-most", "'1/0 in' divides by zero", ""),
    ),
    (
        "right angle",
        ["limit: {fact: injury.angle, at-most: ‸90 deg}"],
        ("quantity", ".limit.at-most", "'90 deg' is no angle from straight through", _RIGHT_ANGLE),
    ),
    (
        "extended size",
        [SIZE, "extendable: ‸{up-to: 35 deg, by: repair-material}"],
        ("extension", ".extendable", "only a ceiling on injury.angle can be extended", "delete `extendable`"),
    ),
    (
        "extended floor",
        ["limit: {fact: injury.angle, at-least: 5 deg}", "extendable: ‸{up-to: 35 deg, by: repair-material}"],
        ("extension", ".extendable", "only a ceiling on injury.angle can be extended", "delete `extendable`"),
    ),
    (
        "extended permission",
        ["permit: {fact: method, values: [section]}", "extendable: ‸{up-to: 35 deg, by: repair-material}"],
        ("extension", ".extendable", "only a ceiling on injury.angle can be extended", "delete `extendable`"),
    ),
    (
        "extended past right",
        [ANGLE, "extendable: {up-to: ‸95 deg, by: repair-material}"],
        ("quantity", ".extendable.up-to", "'95 deg' is no angle from straight through", _RIGHT_ANGLE),
    ),
    (
        "reversed dates",
        [SIZE, "in-force: {from: 2024-01-01, until: ‸2023-01-01}"],
        (
            "dates-reversed",
            ".in-force.until",
            "the rule ends on 2023-01-01, which is not after its start on 2024-01-01",
            _ENDS,
        ),
    ),
    (
        "no day in force",
        [SIZE, "in-force: {from: 2024-01-01, until: ‸2024-01-01}"],
        (
            "dates-reversed",
            ".in-force.until",
            "the rule ends on 2024-01-01, which is not after its start on 2024-01-01",
            _ENDS,
        ),
    ),
    # 2024 is a leap year, 2023 and 1900 are none (Gregorian calendar).
    (
        "start on no day",
        [SIZE, "in-force: {from: ‸2024-02-30}"],
        ("date", ".in-force.from", "'2024-02-30' is no day of the calendar", "write YYYY-MM-DD"),
    ),
    (
        "end on no day",
        [SIZE, "in-force: {until: ‸2023-02-29}"],
        ("date", ".in-force.until", "'2023-02-29' is no day of the calendar", "write YYYY-MM-DD"),
    ),
    (
        "thirteenth month",
        [SIZE, "in-force: {from: ‸2024-13-01}"],
        ("date", ".in-force.from", "'2024-13-01' is no day of the calendar", "write YYYY-MM-DD"),
    ),
    (
        "year nought",
        [SIZE, "in-force: {from: ‸0000-01-01}"],
        ("date", ".in-force.from", "'0000-01-01' is no day of the calendar", "write YYYY-MM-DD"),
    ),
    (
        "not beside a range",
        ["when: {tire.speed_symbol: ‸{at-most: H, not: V}}", SIZE],
        ("condition", ".when.tire.speed_symbol", "`not` stands alone in a condition", "split the rule in two"),
    ),
    (
        "no mass in a range",
        ["when: {vehicle.gvwr: ‸{at-most: 10000 lb, at-least: 4536 kg}}", SIZE],
        ("condition", ".when.vehicle.gvwr", "no value can satisfy this range", _MENDED),
    ),
    (
        "no mass at an edge",
        ["when: {vehicle.gvwr: ‸{less-than: 10000 lb, at-least: 10000 lb}}", SIZE],
        ("condition", ".when.vehicle.gvwr", "no value can satisfy this range", _MENDED),
    ),
    (
        "no count in a range",
        ["when: {repairs.count: ‸{at-most: 1, at-least: 2}}", SIZE],
        ("condition", ".when.repairs.count", "no value can satisfy this range", _MENDED),
    ),
    (
        "no symbol in a range",
        ["when: {tire.speed_symbol: ‸{at-least: V, at-most: H}}", SIZE],
        ("condition", ".when.tire.speed_symbol", "no value can satisfy this range", _MENDED),
    ),
    (
        "other dimension in a range",
        ["when: {vehicle.gvwr: {at-most: 10000 lb, at-least: ‸5 mm}}", SIZE],
        (
            "quantity",
            ".when.vehicle.gvwr.at-least",
            "'5 mm' is a length where a mass belongs",
            'write "1900 kg" or "10000 lb"',
        ),
    ),
    (
        "no share",
        ["limit: {fact: injury.reach, at-most: {half-of: tire.tread_width, share: ‸0 %}}"],
        ("share", ".limit.at-most.share", "a share is more than nothing and at most the whole", "write 3/4 or 70 %"),
    ),
    (
        "more than the whole",
        ["limit: {fact: injury.reach, at-most: {half-of: tire.tread_width, share: ‸5/4}}"],
        ("share", ".limit.at-most.share", "a share is more than nothing and at most the whole", "write 3/4 or 70 %"),
    ),
    (
        "steps without end",
        ["limit: {fact: injury.reach, at-most: {half-of: tire.tread_width, share: [‸{through: 155 mm, share: 60 %}]}}"],
        (
            "share-steps",
            ".limit.at-most.share[0]",
            "the last step has no `through`, every other one has",
            "name the widths up to which a share holds",
        ),
    ),
    (
        "step without width",
        ["limit: {fact: injury.reach, at-most: {half-of: tire.tread_width, share: [‸{share: 60 %}, {share: 65 %}]}}"],
        (
            "share-steps",
            ".limit.at-most.share[0]",
            "the last step has no `through`, every other one has",
            "name the widths up to which a share holds",
        ),
    ),
    (
        "falling steps",
        [f"limit: {{fact: injury.reach, at-most: {{half-of: tire.tread_width, share: {HERE}{FALLING}}}}}"],
        ("share-steps", ".limit.at-most.share", "the steps are not in rising order", "order them by `through`"),
    ),
    (
        "inset in degrees",
        ["limit: {fact: injury.reach, at-most: {half-of: tire.tread_width, inset: ‸10 deg}}"],
        ("quantity", ".limit.at-most.inset", "'10 deg' is an angle where a length belongs", 'write "1/4 in" or "6 mm"'),
    ),
    (
        "counted ceiling",
        ["limit: {fact: tire.tread_depth, at-most: 2/32 in, counted: ‸{grooves: every}}"],
        ("counted", ".limit.counted", "only a floor is counted over grooves and places", "delete `counted`"),
    ),
    (
        "contradicting ceiling",
        ["limit: {fact: tire.tread_depth, at-most: 2/32 in}", "contradicts: ‸worn-to-indicators"],
        (
            "contradicts",
            ".contradicts",
            "only a floor on tread depth, counted in no other way, contradicts a finding",
            "delete `contradicts`",
        ),
    ),
    (
        "contradicting in a company's pack",
        ["limit: {fact: tire.tread_depth, at-least: 2/32 in}", "contradicts: ‸worn-to-indicators"],
        (
            "contradicts",
            ".contradicts",
            "a rule that contradicts a finding stands in a baseline and has no dates",
            "delete `contradicts`, or `in-force`",
        ),
    ),
]


@pytest.mark.parametrize(("lines", "expected"), [row[1:] for row in MEANING], ids=[row[0] for row in MEANING])
def test_a_mistake_of_meaning_is_told_with_its_place(lines, expected):
    code, path, message, hint = expected
    rule = _rule(*(line for line in lines if line != HERE))
    if HERE in lines:  # the mistake is the rule's, which starts at its first key
        rule = rule.replace("- id", f"- {HERE}id")
    _check(pack_text(rule), [(code, f"rules[0]{path}", message, hint)])


def test_ten_thousand_pounds_and_4536_kg_leave_a_range_of_kilograms():
    # 10000 lb = 4535.9237 kg (International Yard and Pound, 1959): just below 4536 kg, so the range is not empty here.
    assert _condition("vehicle.gvwr: {at-least: 10000 lb, at-most: 4536 kg}").holds(
        Interval(Fraction("4535.95"), Fraction("4535.95"))
    )


@pytest.mark.parametrize("authority", ["statute", "regulation", "inspection-manual"])
def test_no_law_can_be_extended(authority):
    text = pack_text(_rule(ANGLE, f"extendable: {HERE}{{up-to: 35 deg, by: repair-material}}"), authority=authority)
    message = "no repair-material maker can extend a law"
    _check(text, [("extension", "rules[0].extendable", message, "delete `extendable`")])


@pytest.mark.parametrize("engine", ["1", "new", ">=", "1.0.x", ">=1;<2"])
def test_an_engine_that_is_no_version_specifier_is_refused(engine):
    message = f"{engine!r} is no version specifier"
    text = pack_text(_rule(SIZE), engine=engine).replace('engine: "', f'engine: {HERE}"')
    _check(text, [("engine", "engine", message, 'write, for example, ">=1,<2" in quotes')])


@pytest.mark.parametrize(
    ("pack", "kind", "message", "hint"),
    [
        ("US-XX", "jurisdiction", "'US-XX' is the code of no jurisdiction", "did you mean US-TX or US-VA or US-VI?"),
        ("US-ON", "jurisdiction", "'US-ON' is the code of no jurisdiction", None),
        ("US", "jurisdiction", "'US' is the code of no jurisdiction", "see ISO 3166-2"),
        ("invented-land", "jurisdiction", "'invented-land' is the code of no jurisdiction", "see ISO 3166-2"),
        ("US-SC", "country", "'US-SC' is the code of no country", None),
        ("UK", "country", "'UK' is the code of no country", "see ISO 3166-2"),
        (
            "US-NY",
            "company",
            "a pack of kind company cannot take a jurisdiction's code",
            "write a name of your own in small letters",
        ),
        (
            "US",
            "baseline",
            "a pack of kind baseline cannot take a jurisdiction's code",
            "write a name of your own in small letters",
        ),
        (
            "CA-ON",
            "repair-material",
            "a pack of kind repair-material cannot take a jurisdiction's code",
            "write a name of your own in small letters",
        ),
        (
            "engine",
            "company",
            "the name 'engine' stands before what the library itself says of a case",
            "write another name of your own",
        ),
    ],
)
def test_a_pack_takes_a_code_that_its_kind_may_take(pack, kind, message, hint):
    # ISO 3166-2: US-XX, US-ON and UK stand in no code list.
    text, (place,) = _marked(pack_text(_rule(SIZE), pack=f"{HERE}{pack}", kind=kind))
    with pytest.raises(PackError) as refused:
        read_pack(text.encode(), "invented.yaml")
    (problem,) = refused.value.problems
    assert (problem.code, problem.path, problem.message) == ("pack-code", "pack", message)
    assert (problem.line, problem.column) == place
    assert hint is None or problem.hint == hint


@pytest.mark.parametrize(
    ("coverage", "rules", "path", "message", "hint"),
    [
        (
            "{repair: ‸none-located}",
            _rule(SIZE),
            ".repair",
            "coverage says 'none-located' for repair, but the pack has rules for it",
            "make the two agree",
        ),
        (
            "{repair: ‸not-reviewed}",
            _rule(SIZE),
            ".repair",
            "coverage says 'not-reviewed' for repair, but the pack has rules for it",
            "make the two agree",
        ),
        (
            "{repair: rules, road-use: ‸partial}",
            _rule(SIZE),
            ".road-use",
            "coverage says 'partial' for road-use, but the pack has no rules for it",
            "make the two agree",
        ),
        (
            "{repair: rules, road-use: ‸rules}",
            _rule(SIZE),
            ".road-use",
            "coverage says 'rules' for road-use, but the pack has no rules for it",
            "make the two agree",
        ),
        (
            "{repair: ‸rules}",
            "",
            ".repair",
            "coverage says 'rules' for repair, but the pack has no rules for it",
            "make the two agree",
        ),
        (
            "‸{road-use: none-located}",
            _rule(SIZE),
            "",
            "the pack has rules for repair, which coverage does not name",
            "add repair: rules",
        ),
    ],
)
def test_coverage_and_rules_agree(coverage, rules, path, message, hint):
    _check(pack_text(rules, coverage=coverage), [("coverage", f"coverage{path}", message, hint)])


def test_coverage_may_be_partial_where_there_are_rules():
    assert invented_pack(_rule(SIZE), coverage="{repair: partial}").covers(Activity.REPAIR) == "partial"


def test_a_source_read_on_no_day_is_refused():
    text = pack_text(_rule(SIZE)).replace(
        "    evidence: text-read\n", f"    evidence: text-read\n    read: {HERE}2024-02-30\n"
    )
    message = "'2024-02-30' is no day of the calendar"
    _check(text, [("date", "sources.text.read", message, "write YYYY-MM-DD")])


def test_a_review_on_no_day_is_refused():
    text = pack_text(_rule(SIZE)).replace("2026-11-25", f"{HERE}2026-11-31")
    _check(text, [("date", "reviewed", "'2026-11-31' is no day of the calendar", "write YYYY-MM-DD")])


def test_a_negative_count_is_refused_at_its_place():
    text, (place,) = _marked(pack_text(_rule(f"limit: {{fact: repairs.count, at-most: {HERE}-1}}")))
    with pytest.raises(PackError) as refused:
        read_pack(text.encode(), "invented.yaml")
    (problem,) = refused.value.problems
    assert ((problem.line, problem.column), problem.path) == (place, "rules[0].limit.at-most")


def test_a_source_key_that_is_no_word_is_refused_by_its_name():
    text = pack_text(_rule(SIZE)).replace("  text:\n", "  Text One:\n")
    with pytest.raises(PackError, match="'Text One'"):
        read_pack(text.encode(), "invented.yaml")


def test_two_rules_with_one_id_are_told_with_the_line_of_the_first():
    rules = _rule(SIZE) + _rule(ANGLE, identity="other") + _rule(ANGLE, identity=f"{HERE}invented-rule")
    line = pack_text(rules).splitlines().index("  - id: invented-rule") + 1
    message = f"the id 'invented-rule' stands already on line {line}"
    _check(pack_text(rules), [("duplicate-rule", "rules[2].id", message, "give it another id")])


def test_all_mistakes_of_meaning_are_told_at_once_in_the_order_of_the_file():
    rules = (
        _rule("limit: {fact: injury.diameter, at-most: ‸25 deg}", "in-force: {from: ‸2024-02-30}", source="‸txet")
        + _rule("when: {vehicle.gvwr: ‸{at-most: 1 kg, more-than: 1 kg}}", SIZE, identity="‸invented-rule")
        + _rule(SIZE, "disqualify: {findings: [leak]}", identity="third").replace("- id", "- ‸id")
    )
    text = pack_text(rules, engine="new", coverage="{repair: ‸none-located}").replace('engine: "', 'engine: ‸"')
    text, places = _marked(text.replace("reviewed: ", "reviewed: ‸").replace("2026-11-25", "2026-02-30"))
    with pytest.raises(PackError) as refused:
        read_pack(text.encode(), "invented.yaml")
    found = refused.value.problems
    assert [each.code for each in found] == [
        "engine",
        "date",
        "coverage",
        "quantity",
        "date",
        "unknown-source",
        "duplicate-rule",
        "condition",
        "rule-body",
    ]
    assert sorted((each.line, each.column) for each in found) == sorted(places)
    assert str(refused.value).count("\n") == len(found) - 1


def test_all_mistakes_of_form_are_told_at_once_in_the_order_of_the_file():
    rule = """\
- source: text
  limit: {fact: injury.diameter, at-most: ‸6}
  activity: [‸repare]
  says: ‸""
  id: invented-rule
"""
    text, places = _marked(pack_text(rule).replace("kind: company", "kind: ‸compny"))
    with pytest.raises(PackError) as refused:
        read_pack(text.encode(), "invented.yaml")
    found = refused.value.problems
    assert [each.code for each in found] == ["unknown-word", "wrong-type", "unknown-word", "empty"]
    assert [(each.line, each.column) for each in found] == places


def test_mistakes_of_form_are_told_before_those_of_meaning():
    rules = _rule("limit: {fact: injury.diameter, at-most: ‸6}", "in-force: {from: 2024-02-30}", source="txet")
    expected = [("wrong-type", "rules[0].limit.at-most", "this is the bare number 6; it must be text", _LENGTH_FORM)]
    _check(pack_text(rules), expected)


# --- damaged packs ---------------------------------------------------------------------------------------------------

_VALUES = ["null", "5", "-1", "1.5", "true", "[]", "{}", '""', "x", "6 mm", "25 deg", "[x]", "[[x]]", "{x: 1}", "US-SC"]
_VALUES += [
    "2024-02-30",
    "unknown",
    "[repair]",
    "{not: x}",
    "{at-most: 6 mm}",
    "{fact: method}",
    "ON",
    "*x",
    "'",
    "[",
    "~",
]
_LINES = [line for line in WHOLE.splitlines() if ": " in line]


@law(
    st.lists(st.tuples(st.sampled_from(_LINES), st.integers(0, 5), st.sampled_from(_VALUES)), min_size=1, max_size=3),
    examples=150,
)
def test_a_damaged_pack_is_built_or_refused_with_places(damage):
    text = WHOLE
    for line, which, value in damage:
        pieces = re.split(r"(?<=: )", line)
        at = 1 + which % (len(pieces) - 1)  # put `value` for what follows one of the colons of the line
        text = text.replace(line, "".join(pieces[:at]) + value + ("}" * pieces[at].count("}") if at > 1 else ""))
    try:
        pack = read_pack(text.encode(), "invented.yaml")
    except PackError as error:
        places = [(problem.line, problem.column) for problem in error.problems]
        assert places == sorted(places)  # being built is an outcome too
        assert places[0] >= (1, 1)
    else:
        assert len(pack.rules) == 1


# --- a register of what is tested ------------------------------------------------------------------------------------


#: `bad-key` is not told yet for the key of a source; `schema` words what only the schema checker can word.
NOT_SHOWN = {"bad-key", "schema"}


def test_every_code_of_building_and_schema_is_shown_above():
    above = Path(__file__).read_text(encoding="utf-8").split("# --- a register")[0]
    folder = Path(tirerules.packs.__file__).parent
    source = "".join(file.read_text(encoding="utf-8") for file in (*folder.glob("*building.py"), folder / "schema.py"))
    codes = set(re.findall(r'(?:self\._?add|document\.problem)\(\s*"([a-z-]+)"', source))
    shown = set(re.findall(r'"([a-z-]+)"', above))
    assert len(codes & shown) > 15
    assert codes - shown <= NOT_SHOWN
