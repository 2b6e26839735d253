"""The rule-pack schema in a real YAML language server, over its protocol: what an editor completes, says, underlines.

All packs here are invented, but for those of the library itself, which must be shown without a fault. `¦` stands where
the cursor is.
"""

from __future__ import annotations

import itertools
import re
from datetime import date
from pathlib import Path

import pytest

from tests.editor import SCHEMA, SETTLED
from tests.editor.client import CURSOR
from tests.support import pack_text
from tirerules.authoring.scaffold import scaffold
from tirerules.authoring.schemas import words
from tirerules.packs.library import builtin, files_under
from tirerules.packs.rule import RELATIONS
from tirerules.templates import filled
from tirerules.vocabulary import ACTIVITIES, AUTHORITIES, EVIDENCE, FACTS, FINDINGS, GROOVES, METHODS, STEPS

pytestmark = pytest.mark.node

MODELINE = f"# yaml-language-server: $schema={SCHEMA}\n"
TESTABLE = [name for name, fact in FACTS.items() if fact.testable]
LIMITABLE = [name for name, fact in FACTS.items() if fact.limitable]
CHOOSABLE = [name for name, fact in FACTS.items() if fact.choosable]
CLASSES = list(FACTS["tire.class"].values)
BODIES = [
    *("when", "limit", "permit", "prohibit", "disqualify", "require", "extendable", "contradicts", "in-force"),
    "note",
]

_names = (f"invented-{number}.yaml" for number in itertools.count(1))


def _rule(*lines, activity="[repair]"):
    """Return a pack with one rule that ends in `lines`."""
    rule = f"- id: invented\n  says: Invented.\n  source: text\n  activity: {activity}\n"
    return MODELINE + pack_text(rule + "".join(f"  {line}\n" for line in lines))


def _head(before, after):
    """Return a pack in whose head `after` stands in place of `before`."""
    text = pack_text()
    assert text.count(before) == 1
    return MODELINE + text.replace(before, after)


def _example(*lines):
    return MODELINE + pack_text(more="examples:\n" + "".join(f"  {line}\n" for line in lines))


def _labels(editor, text):
    return [each.label for each in editor.completions(editor.open(next(_names), text))]


# --- completion ------------------------------------------------------------------------------------------------------

OFFERED = {
    "facts under when": (_rule("when:", "  ¦"), TESTABLE),
    "facts under when, typed in part": (_rule("when:", "  tire.c¦"), TESTABLE),
    "facts in braces, typed in part": (_rule("when: {t¦}"), TESTABLE),
    "facts not yet there": (
        _rule("when:", "  tire.class: [bus]", "  ¦"),
        [name for name in TESTABLE if name != "tire.class"],
    ),
    "words of a condition": (_rule("when:", "  tire.class: ¦"), CLASSES),
    "words of a condition in braces": (_rule("when: {tire.class: ¦}"), CLASSES),
    "words of a condition's list": (_rule("when: {tire.class: [bus, ¦]}"), CLASSES),
    "words of a condition's block list": (_rule("when:", "  tire.class:", "    - ¦"), CLASSES),
    "words of an exception": (_rule("when: {tire.class: {not: ¦}}"), CLASSES),
    "a yes or no": (_rule("when: {tire.run_flat: ¦}"), ["true", "false"]),
    "findings of a condition": (_rule("when: {findings: [¦]}"), list(FINDINGS)),
    "how to compare on a scale": (_rule("when:", "  tire.load_range:", "    ¦"), [*RELATIONS, "not"]),
    "words of a scale": (_rule("when: {tire.load_range: {at-least: ¦}}"), list(FACTS["tire.load_range"].values)),
    "how to compare a measure": (_rule("when:", "  vehicle.gvwr:", "    ¦"), list(RELATIONS)),
    "facts to limit": (_rule("limit:", "  fact: ¦"), LIMITABLE),
    "facts to limit in braces": (_rule("limit: {fact: ¦}"), LIMITABLE),
    "how to limit": (_rule("limit:", "  fact: injury.diameter", "  ¦"), list(RELATIONS)),
    "how to limit in braces": (_rule("limit: {fact: injury.diameter, a¦}"), list(RELATIONS)),
    "how to limit tread": (
        _rule("limit:", "  fact: tire.tread_depth", "  at-least: 2/32 in", "  ¦"),
        ["at-most", "less-than", "more-than", "counted"],
    ),
    "grooves": (_rule("limit: {fact: tire.tread_depth, at-least: 2/32 in, counted: {grooves: ¦}}"), list(GROOVES)),
    "measures of a band": (
        _rule("limit: {fact: injury.reach, less-than: {half-of: ¦}}"),
        ["tire.tread_width", "tire.section_width", "tire.belt_width"],
    ),
    "facts to permit": (_rule("permit: {fact: ¦}"), CHOOSABLE),
    "facts to prohibit": (_rule("prohibit: {fact: ¦}"), CHOOSABLE),
    "values to permit": (_rule("permit: {fact: repair.method, values: [¦]}"), list(METHODS)),
    "values to prohibit": (
        _rule("prohibit:", "  fact: repair.zone", "  values:", "    - ¦"),
        list(FACTS["repair.zone"].values),
    ),
    "findings that disqualify": (_rule("disqualify: {findings: [¦]}"), list(FINDINGS)),
    "steps": (_rule("require: {steps: [¦]}"), list(STEPS)),
    "activities": (_rule(activity="[¦]"), list(ACTIVITIES)),
    "another activity": (_rule(activity="[repair, ¦]"), list(ACTIVITIES)),
    "activities of a block list": (_rule(activity="\n    - ¦"), list(ACTIVITIES)),
    "what a rule may hold": (_rule("¦"), BODIES),
    "what a review found": (_head("{repair: rules}", "{repair: ¦}"), list(words.COVERAGE)),
    "activities of a review": (_head("{repair: rules}", "\n  ¦"), list(ACTIVITIES)),
    "kinds": (_head("kind: company", "kind: ¦"), list(words.KINDS)),
    "authorities": (_head("authority: company", "authority: ¦"), list(AUTHORITIES)),
    "evidence": (_head("evidence: text-read", "evidence: ¦"), list(EVIDENCE)),
    "the rest of a source": (
        _head("evidence: text-read", "evidence: text-read\n    ¦"),
        ["url", "read", "currency", "note"],
    ),
    "activities of an example": (_example("- case: {activity: ¦}"), list(ACTIVITIES)),
    "classes of an example": (_example("- case: {tire: {class: ¦}}"), CLASSES),
    "findings of an example": (_example("- case: {findings: [¦]}"), list(FINDINGS)),
    "activities that are given": (MODELINE + pack_text(more="given: {activity: ¦}\n"), list(ACTIVITIES)),
    "classes that are given": (MODELINE + pack_text(more="given: {tire: {class: ¦}}\n"), CLASSES),
    "findings that are given": (MODELINE + pack_text(more="given: {findings: [¦]}\n"), list(FINDINGS)),
    "verdicts": (_example("- case: {}", "  expect: {verdict: ¦}"), list(words.VERDICT)),
}


@pytest.mark.parametrize(("text", "offered"), OFFERED.values(), ids=OFFERED)
def test_exactly_the_words_that_fit_are_offered(editor, text, offered):
    assert _labels(editor, text) == offered


def test_the_facts_of_an_injury_are_offered_in_an_example(editor):
    text = _example("- case:", "    injuries:", "      - kind: puncture", "        ¦")
    assert {"diameter", "angle", "leans", "zone", "from_centerline"} <= set(_labels(editor, text))


@pytest.mark.parametrize(
    ("text", "meanings"),
    [
        (_rule("when:", "  ¦"), {name: FACTS[name].question for name in TESTABLE}),
        (_rule("limit: {fact: ¦}"), {name: FACTS[name].question for name in LIMITABLE}),
        (_rule("limit:", "  fact: injury.diameter", "  ¦"), words.RELATIONS),
        (_rule(activity="[¦]"), words.ACTIVITIES),
        (_rule("require: {steps: [¦]}"), {step: filled(f"step.{step}", {}) for step in STEPS}),
        (_head("evidence: text-read", "evidence: ¦"), words.EVIDENCE),
        (_head("{repair: rules}", "{repair: ¦}"), words.COVERAGE),
    ],
    ids=["when", "limit", "relations", "activity", "steps", "evidence", "coverage"],
)
def test_what_is_offered_is_explained_in_our_words(editor, text, meanings):
    offered = editor.completions(editor.open(next(_names), text))
    assert {each.label: each.about for each in offered} == meanings


#: Places where a person completes a key and goes on to write what the law says.
KEYS = {
    "rule": _rule("¦"),
    "when": _rule("when:", "  ¦"),
    "limit of a length": _rule("limit:", "  fact: injury.diameter", "  ¦"),
    "limit of an angle": _rule("limit:", "  fact: injury.angle", "  ¦"),
    "limit of a time": _rule("limit:", "  fact: tire.age", "  ¦"),
    "limit of a count": _rule("limit:", "  fact: repairs.count", "  ¦"),
    "condition on a time": _rule("when:", "  tire.age:", "    ¦"),
    "condition on a mass": _rule("when:", "  vehicle.gvwr:", "    ¦"),
    "condition on a count": _rule("when:", "  repairs.count:", "    ¦"),
    "two figures": _rule("limit:", "  fact: injury.diameter", "  at-most:", "    ¦"),
    "band": _rule("limit:", "  fact: injury.reach", "  less-than:", "    half-of: tire.tread_width", "    ¦"),
    "extension": _rule("extendable:", "  ¦"),
    "dates": _rule("in-force:", "  ¦"),
    "source": _head("evidence: text-read", "¦"),
    "review": _head("reviewed: 2026-11-25", "¦"),
    "coverage": _head("{repair: rules}", "\n  ¦"),
}


@pytest.mark.parametrize("text", KEYS.values(), ids=KEYS)
def test_completing_a_key_writes_no_figure_no_day_and_no_evidence(editor, text):
    # A figure or a day that an editor put there would look like one that somebody read in the text of a law.
    offered = editor.completions(editor.open(next(_names), text))
    keys = [each for each in offered if each.writes.startswith(f"{each.label}:")]
    assert keys
    for each in offered:
        written = re.sub(r"\$\{?[0-9]+\}?", "", each.writes)
        assert ":" in written, f"{each.label} would write {each.writes!r}: no key"
        assert not re.search(r"[0-9]|text-read|confirmed|unknown", written), f"{each.label} writes {each.writes!r}"


# --- hover -----------------------------------------------------------------------------------------------------------

EXPLAINED = {
    "coverage": (_head("coverage:", "cov¦erage:"), ["What the review found for each activity"]),
    "an activity of it": (_head("{repair:", "{rep¦air:"), [words.ACTIVITIES["repair"], words.COVERAGE["partial"]]),
    "evidence": (
        _head("evidence:", "evid¦ence:"),
        ["How the value was checked", f"`secondary`: {words.EVIDENCE['secondary']}"],
    ),
    "a grade of evidence": (_head("text-read", "text-re¦ad"), [f"`text-read`: {words.EVIDENCE['text-read']}"]),
    "injury.diameter under when": (
        _rule("when: {injury.dia¦meter: {at-most: 6 mm}}"),
        ["#### injury.diameter", FACTS["injury.diameter"].question],
    ),
    "injury.diameter that is limited": (
        _rule("limit: {fact: injury.dia¦meter, at-most: 6 mm}"),
        [f"`injury.diameter`: {FACTS['injury.diameter'].question}"],
    ),
    "how to compare": (
        _rule("limit: {fact: injury.diameter, at-m¦ost: 6 mm}"),
        ["#### at-most", words.RELATIONS["at-most"], "1/4 in"],
    ),
    "an activity": (_rule(activity="[re¦pair]"), [f"`repair`: {words.ACTIVITIES['repair']}"]),
    "when": (_rule("wh¦en: {tire.class: bus}"), ["The rule applies where every condition holds."]),
    "the day a text was read": (
        _head("evidence: text-read", "evidence: text-read\n    re¦ad: 2026-11-25"),
        ["The day the text was read"],
    ),
    "counted": (
        _rule("limit: {fact: tire.tread_depth, at-least: 2/32 in, coun¦ted: {grooves: any-two}}"),
        ["must all be too shallow"],
    ),
    "a fact of an example": (_example("- case: {tire: {cl¦ass: bus}}"), [FACTS["tire.class"].question]),
}


@pytest.mark.parametrize(("text", "said"), EXPLAINED.values(), ids=EXPLAINED)
def test_pointing_at_a_word_explains_it(editor, text, said):
    shown = editor.hover(editor.open(next(_names), text)).replace("\\", "")
    assert all(each in shown for each in said), shown


def test_what_is_explained_is_headed_by_its_own_name(editor):
    shown = editor.hover(editor.open(next(_names), _head("coverage:", "cov¦erage:")))
    assert shown.startswith("#### coverage\n")


# --- underlining -----------------------------------------------------------------------------------------------------

#: The cursor stands where the underlined word begins.
UNDERLINED = {
    "misspelt key of a pack": (_head("title:", "¦titel:"), "titel"),
    "misspelt key of a source": (_head("citation:", "¦citaton:"), "citaton"),
    "misspelt key of a rule": (_rule("¦wen: {tire.class: bus}"), "wen"),
    "misspelt fact of a condition": (_rule("when: {¦tire.clas: bus}"), "tire.clas"),
    "misspelt fact of a limit": (_rule("limit: {fact: ¦injury.diametre, at-most: 6 mm}"), "injury.diametre"),
    "misspelt key of a limit": (_rule("limit:", "  fact: injury.diameter", "  ¦at-mots: 6 mm"), "at-mots"),
    "misspelt key of a band": (
        _rule("limit: {fact: injury.reach, less-than: {half-of: tire.tread_width, ¦shar: 3/4}}"),
        "shar",
    ),
    "counted where nothing is counted": (
        _rule("limit: {fact: injury.diameter, at-most: 6 mm, ¦counted: {grooves: any-two}}"),
        "counted",
    ),
    "wrong word of a condition": (_rule("when:", "  tire.class: ¦car"), "car"),
    "wrong word of a condition's list": (_rule("when: {tire.class: [bus, ¦car]}"), "car"),
    "wrong word of a scale": (_rule("when: {tire.load_range: {at-least: ¦I}}"), "I"),
    "wrong activity": (_rule(activity="[¦repare]"), "repare"),
    "wrong coverage": (_head("{repair: rules}", "{repair: ¦rule}"), "rule"),
    "wrong evidence": (_head("text-read", "¦text-raed"), "text-raed"),
    "wrong value": (_rule("permit: {fact: repair.method, values: [¦one-peice]}"), "one-peice"),
    "wrong finding": (_rule("disqualify:", "  findings:", "    - bulge", "    - ¦leek"), "leek"),
    "wrong groove": (
        _rule("limit: {fact: tire.tread_depth, at-least: 2/32 in, counted: {grooves: ¦middle}}"),
        "middle",
    ),
    "figure without a unit": (_rule("limit: {fact: injury.diameter, at-most: ¦6}"), "6"),
    "second figure without a unit": (
        _rule("limit: {fact: injury.diameter, at-most: {value: 1/4 in, also-printed: ¦6}}"),
        "6",
    ),
    "day in another form": (_rule("in-force: {from: ¦25.11.2026}"), "25.11.2026"),
    "wrong verdict": (_example("- case: {}", "  expect: {verdict: ¦repairable}"), "repairable"),
}


@pytest.mark.parametrize(("text", "word"), UNDERLINED.values(), ids=UNDERLINED)
def test_a_mistake_is_underlined_on_its_line(editor, text, word):
    opened = editor.open(next(_names), text)
    found = editor.underlined(opened)
    assert (opened.cursor.line, word) in [(each.line, each.underlined) for each in found]
    # Besides the word itself only a key that is missing for it may be told.
    assert [each.message for each in found if each.underlined != word and "Missing" not in each.message] == []


def test_a_missing_key_is_told_by_its_name(editor):
    opened = editor.open(next(_names), _head("reviewed: 2026-11-25\n", ""))
    assert [each.message for each in editor.underlined(opened)] == ['Missing property "reviewed".']


# --- right packs -----------------------------------------------------------------------------------------------------

RIGHT = {
    "two figures": _rule("limit: {fact: injury.diameter, at-most: {value: 1/4 in, also-printed: 6 mm}}"),
    "tread that is counted": _rule(
        "limit: {fact: tire.tread_depth, at-least: 2/32 in, counted: {grooves: two-adjacent, places: 3}}"
    ),
    "band": _rule("limit: {fact: injury.reach, less-than: {half-of: tire.tread_width, share: 3/4, inset: 1 in}}"),
    "band in steps": _rule(
        "limit:",
        "  fact: injury.reach",
        "  less-than:",
        "    half-of: tire.section_width",
        "    share: [{through: 255 mm, share: 3/4}, {share: 70 %}]",
    ),
    "a count": _rule("limit: {fact: repairs.count, at-most: 2}"),
    "an extension": _rule(
        "limit: {fact: injury.angle, at-most: 25 deg}", "extendable: {up-to: 35 deg, by: repair-material}"
    ),
    "every kind of condition": _rule(
        "when:",
        "  tire.class: [passenger, light-truck]",
        "  vehicle.kind: {not: [motorcycle, trailer]}",
        "  tire.load_range: {at-least: C, at-most: E}",
        "  tire.speed_symbol: (Y)",
        "  tire.run_flat: false",
        "  vehicle.gvwr: {more-than: 4500 kg}",
        "  tire.age: {at-least: 6 years}",
        "  findings: [weather-cracking]",
        "require: {steps: [demount]}",
        "in-force: {from: unknown, until: 2030-01-01}",
    ),
    "a scaffold": scaffold("US-UM", date(2026, 11, 25), str(SCHEMA)),
}


@pytest.mark.parametrize("text", RIGHT.values(), ids=RIGHT)
def test_a_right_pack_has_nothing_underlined(editor, text):
    assert editor.underlined(editor.open(next(_names), text)) == []


def test_the_packs_of_the_library_find_their_schema_and_have_nothing_underlined(editor):
    files = [Path(str(file)) for file in files_under(builtin())]
    # All are opened before the first answer is awaited: the server thinks for a fifth of a second about each.
    opened = {file.name: editor.open(file, file.read_text(encoding="utf-8")) for file in files}
    assert {name: editor.underlined(text) for name, text in opened.items()} == {name: [] for name in opened}
    # Nothing would be underlined either where no schema was found: so the same texts again, with one key too many.
    wrong = {
        file.name: editor.open(file.with_name(f"wrong-{file.name}"), file.read_text(encoding="utf-8") + "\nwen: 1\n")
        for file in files
    }
    found = {name: [each.underlined for each in editor.underlined(text)] for name, text in wrong.items()}
    assert found == {name: ["wen"] for name in wrong}


# --- how an editor is told of the schema -----------------------------------------------------------------------------


def test_the_schema_can_be_given_by_the_settings_instead_of_a_first_line(editor):
    text = _rule("wen: {}", "limit: {fact: ¦}").removeprefix(MODELINE)
    opened = editor.open(f"{SETTLED}/invented-settled.yaml", text)
    assert [each.label for each in editor.completions(opened)] == LIMITABLE
    assert "wen" in [each.underlined for each in editor.underlined(opened)]


def test_without_either_nothing_is_completed_and_nothing_underlined(editor):
    opened = editor.open("elsewhere/invented.yaml", _rule("wen: {}", "limit: {fact: ¦}").removeprefix(MODELINE))
    assert (editor.completions(opened), editor.underlined(opened)) == ([], [])


def test_a_first_line_may_lead_to_the_schema_from_the_pack(editor):
    place = editor.root / "beside"
    place.mkdir()
    (place / "rulepack.schema.json").write_bytes(SCHEMA.read_bytes())
    text = _rule("limit: {fact: ¦}").replace(str(SCHEMA), "../rulepack.schema.json")
    assert [each.label for each in editor.completions(editor.open("beside/packs/invented.yaml", text))] == LIMITABLE


def test_a_schema_that_is_not_there_is_told(editor):
    text = _rule().replace(str(SCHEMA), "../nowhere.schema.json")
    (found,) = editor.underlined(editor.open("beside/lost.yaml", text))
    assert "Unable to load schema" in found.message
    assert "nowhere.schema.json" in found.message


def test_the_cursor_is_no_character_of_any_pack():
    assert not [file for file in files_under(builtin()) if CURSOR in file.read_text(encoding="utf-8")]
