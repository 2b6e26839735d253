"""The checks on meaning: the registry and its documentation, each check at its edges, and its claims against deciding.

All packs and tires here are invented.
"""

from __future__ import annotations

import itertools
import os
import re
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import tirerules
from tests.support import invented_pack
from tirerules.authoring import checking, checks
from tirerules.authoring.checking import check
from tirerules.authoring.checks import CHECKS, CODES, Age, Subject, _meaning, _reading, findings
from tirerules.authoring.examples import run_examples
from tirerules.cli import main
from tirerules.packs.building import build_pack
from tirerules.packs.library import builtin, files_under, read_file, read_files
from tirerules.packs.reading import read
from tirerules.quantities import quantity
from tirerules.rulebook import Rulebook
from tirerules.strictest.bounds import Interval
from tirerules.vocabulary import Dimension

FOLDER = Path(checks.__file__).parent
MODULES = {file.stem: file.read_text(encoding="utf-8") for file in FOLDER.glob("*.py")}
NAMES = sorted(name for name in MODULES if not name.startswith("_"))
ON = date(2026, 11, 25)
COUNTRY = invented_pack(pack="US", kind="country", coverage="{road-use: none-located, inspection: none-located}")
STANDING = (COUNTRY, *read_files(file for file in files_under(builtin()) if file.name == "industry.yaml"))
BASELINE = STANDING[1].rules

HEAD = {
    "reviewed": "reviewed: 2026-11-25\n",
    "coverage": "coverage: {ACT: rules}\n",
    "sources": "sources:\n  text: {citation: Invented house rule, authority: company, evidence: text-read}\n",
    "rules": "rules: []\n",
}


def document(text: str, pack: str = "invented-shop", kind: str = "company"):
    """Return a document made of `text`, which states what differs from a plain head."""
    stated = set(re.findall(r"^(\w+):", text, re.MULTILINE))
    listed = ", ".join(re.findall(r"activity: \[([^\]]+)\]", text))
    acts = ", ".join(f"{act}: rules" for act in dict.fromkeys(listed.split(", ")))
    rest = "".join(line for key, line in HEAD.items() if key not in stated).replace("ACT: rules", acts)
    head = f'format: 1\npack: {pack}\nversion: 1.0.0\nengine: ">=1,<2"\nkind: {kind}\ntitle: Invented\n'
    return read((head + rest + text).encode(), f"{pack}.yaml")


def found(text: str, *, age: Age | None = None, **head: str):
    """Return all that is found in a pack that `text` states the rest of, beside the trade's baseline."""
    said = document(text, **head)
    pack = build_pack(said, "0" * 64)
    ran = tuple(run_examples(pack, Rulebook([*STANDING, pack])))
    return list(findings(Subject(pack, said, ran, BASELINE, age)))


def codes(text: str, **more):
    """Return the codes that are found, but for those that nearly every invented pack has."""
    return [each.code for each in found(text, **more) if each.code not in ("example-missing", "laxer-than-baseline")]


def rule(
    body, *, name="size", when="", act="repair", days="", note="", source="text", says="Invented.", extendable=False
):
    """Return one rule as YAML."""
    lines = [f"  - id: {name}", f"says: {says}", f"activity: [{act}]"]
    lines += [f"when: {{{when}}}"] if when else []
    lines += [body, f"source: {source}"]
    lines += ["extendable: {up-to: 35 deg, by: repair-material}"] if extendable else []
    lines += [f"in-force: {{{days}}}"] if days else []
    lines += [f"note: {note}"] if note else []
    return "\n    ".join(lines) + "\n"


def rules(*said: str) -> str:
    return "rules:\n" + "".join(said)


def ceiling(figure, fact="injury.diameter"):
    return f"limit: {{fact: {fact}, at-most: {figure}}}"


def floor(figure, relation="at-least", counted=""):
    more = f", counted: {{{counted}}}" if counted else ""
    return f"limit: {{fact: tire.tread_depth, {relation}: {figure}{more}}}"


def built(*said: str):
    """Return the rules of one pack."""
    return build_pack(document(rules(*said)), "0" * 64).rules


# --- the registry -----------------------------------------------------------------------------------------------------


def test_every_module_of_the_folder_is_a_check_and_every_check_a_module():
    assert [getattr(checks, name).CHECK for name in NAMES] == list(CHECKS)


def test_every_code_is_told_apart_and_named_in_words():
    names = [code.name for code in CODES]
    assert len(names) == len(set(names))
    assert names == sorted(names)
    assert all(re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", name) for name in names)
    assert all(code.severity in ("error", "warning", "information") for code in CODES)
    assert all(code.says and "\n" not in code.says and len(code.says) < 100 for code in CODES)


def test_the_codes_of_reading_are_those_that_reading_gives():
    root = Path(tirerules.__file__).parent
    sources = [*(root / "packs").glob("*.py"), root / "authoring" / "checking.py"]
    call = re.compile(r"""(?:Problem|problem|add|_add|_problem)\(\s*"([a-z0-9-]+)",""")
    given_ = {code for file in sources for code in call.findall(file.read_text(encoding="utf-8"))}
    assert {code.name for code in _reading.CODES} == given_


DOCUMENTED = [
    (name, code, text)
    for name in NAMES
    for code, text in re.findall(r"^(?:Bad, `([a-z-]+)`|Good)::\n\n((?:(?:    .*)?\n)+)", MODULES[name], re.MULTILINE)
]


@pytest.mark.parametrize("name", NAMES)
def test_every_check_documents_each_of_its_codes_badly_and_one_good_pack(name):
    shown = [code for module, code, _ in DOCUMENTED if module == name]
    assert sorted(shown) == sorted(["", *(code.name for code in getattr(checks, name).CHECK.codes)])


@pytest.mark.parametrize(
    ("name", "code", "text"), DOCUMENTED, ids=[f"{name}-{code or 'good'}" for name, code, _ in DOCUMENTED]
)
def test_the_examples_of_a_docstring_are_as_they_say(name, code, text):
    text = "\n".join(line[4:] for line in text.splitlines()) + "\n"
    mine = {each.name: each for each in getattr(checks, name).CHECK.codes}
    given_ = [each for each in found(text, age=Age(ON, 24)) if each.code in mine]
    assert [each.code for each in given_] == ([code] if code else [])
    for each in given_:
        assert each.severity == mine[each.code].severity
        assert min(each.line, each.column) > 0
        assert all((each.file, each.path, each.message, each.hint))


# --- the built-in packs -----------------------------------------------------------------------------------------------


def test_the_built_in_packs_may_go_live():
    checked = check(str(builtin()))
    assert checked.files == len(list(files_under(builtin())))
    assert [each for each in checked.problems if each.severity != "information"] == []
    assert checked.clean


def test_checking_is_deterministic_and_sorted_by_place(tmp_path):
    for name in ("b", "a"):
        (tmp_path / f"{name}.yaml").write_bytes(b"a: 1\nb: 010\nc: 010\n")
    once, again = check(tmp_path), check(tmp_path)
    assert once.problems == again.problems
    places = [(each.file, each.line, each.column) for each in once.problems]
    assert places == sorted(places)
    assert [line for _, line, _ in places] == [2, 3, 2, 3]


# --- sources ----------------------------------------------------------------------------------------------------------


def test_a_source_is_used_by_the_rule_that_names_it():
    both = (
        "sources:\n"
        "  one: {citation: Invented § 1, authority: statute, evidence: text-read}\n"
        "  two: {citation: Invented § 2, authority: statute, evidence: text-read}\n"
    )
    assert codes(both + rules(rule(ceiling("5 mm"), source="one"), rule(floor("3 mm"), name="b", source="two"))) == []
    (problem,) = [each for each in found(both + rules(rule(ceiling("5 mm"), source="two"))) if "source" in each.code]
    assert (problem.code, problem.path, problem.column) == ("unused-source", "sources.one", 3)
    assert problem.message == "no rule rests on the source 'one'"
    assert problem.hint.startswith("name it as a rule's `source`, or delete it")


def test_a_pack_without_rules_uses_no_source():
    source = "sources:\n  one: {citation: Invented § 1, authority: statute, evidence: text-read}\n"
    assert codes("coverage: {repair: none-located}\n" + source) == ["unused-source"]


CITED = [
    "Invented Code § 1-2-3",
    "Invented Code §§ 4, 5",
    "Invented Tire Act, s. 4(1)",
    "Invented Tire Act, ss 4 and 5",
    "Invented Tire Act section 12",
    "Invented Tire Act, Sec. 12",
    "Inv. Reg. 122/2009 (tire sections)",
    "Invented regulations, Division 7",
    "49 CFR 393.75(a)",
    "49 CFR Part 396, Appendix A",
    "13 AAC 04.230(e)",
    "INV 257.710",
    "INV 46",
    "CQLR c. C-24.2, r. 32",
    "4501:2-1-06",
    "19VAC30-70-130",
    "Ley 103-2025",
    "Loi inventée, article 3",
    "Ley inventada, artículo 3",
    "Invented Act, Part IV",
    "Invented Act, Schedule B",
    "Rule 120(1)",
]
UNCITED = [
    "Invented Tire Act",
    "Invented Tire Act 2019",
    "An act of 1999 on tires",
    "The act's parts",
    "House rules, Paris",
]


@pytest.mark.parametrize("authority", ["statute", "regulation", "inspection-manual"])
@pytest.mark.parametrize("citation", [*CITED, *UNCITED])
def test_a_law_is_cited_by_its_section(citation, authority):
    text = f'sources:\n  text: {{citation: "{citation}", authority: {authority}, evidence: text-read}}\n'
    given_ = [each for each in found(text + rules(rule(ceiling("5 mm")))) if "section" in each.code]
    wanted = "manual-section" if authority == "inspection-manual" else "citation-section"
    assert [each.code for each in given_] == ([] if citation in CITED else [wanted])
    for each in given_:
        assert each.severity == ("information" if wanted == "manual-section" else "warning")
        assert (each.path, each.message) == ("sources.text.citation", f"the citation {citation!r} names no section")


@pytest.mark.parametrize("authority", ["standard", "industry-practice", "maker", "company"])
def test_what_is_no_law_needs_no_section(authority):
    text = f"sources:\n  text: {{citation: Invented chart, authority: {authority}, evidence: secondary}}\n"
    assert codes(text + rules(rule(ceiling("5 mm")))) == []


def _aged(read="", reviewed="2026-11-25", months=12, on=ON):
    dated = f", read: {read}" if read else ""
    text = (
        f"reviewed: {reviewed}\n"
        f"sources:\n  text: {{citation: Invented § 1, authority: statute, evidence: text-read{dated}}}\n"
    )
    return codes(text + rules(rule(ceiling("5 mm"))), age=Age(on, months))


@pytest.mark.parametrize(
    ("read_", "reviewed", "expected"),
    [
        ("2025-11-25", "2026-11-25", []),
        ("2025-11-24", "2026-11-25", ["evidence-old"]),
        ("", "2025-11-25", []),
        ("", "2025-11-24", ["review-old"]),
        ("2026-11-25", "2025-11-24", ["review-old"]),
        ("2020-01-01", "2020-01-01", ["evidence-old", "review-old"]),
        ("2030-01-01", "2026-11-25", []),
    ],
    ids=["just", "too old", "review just", "review too old", "review alone", "both", "not yet"],
)
def test_evidence_is_old_on_the_day_after_so_many_months(read_, reviewed, expected):
    assert sorted(_aged(read_, reviewed)) == expected


def test_nobody_is_told_how_old_evidence_is_who_did_not_ask():
    text = "reviewed: 1999-01-01\n" + rules(rule(ceiling("5 mm")))
    assert codes(text) == []


@pytest.mark.parametrize(
    ("on", "months", "oldest"),
    [
        (date(2026, 3, 31), 1, date(2026, 2, 28)),
        (date(2024, 3, 31), 1, date(2024, 2, 29)),
        (date(2026, 1, 15), 1, date(2025, 12, 15)),
        (date(2026, 12, 31), 12, date(2025, 12, 31)),
        (date(2026, 12, 31), 13, date(2025, 11, 30)),
        (date(2024, 2, 29), 12, date(2023, 2, 28)),
        (date(2, 1, 5), 12, date(1, 1, 5)),
        (date(2, 1, 5), 13, date.min),
        (date(2026, 1, 1), 99999, date.min),
    ],
)
def test_months_are_counted_on_the_calendar(on, months, oldest):
    assert Age(on, months).oldest == oldest


def test_an_old_review_says_how_many_sources_rest_on_it():
    said = (
        "reviewed: 2020-01-01\n"
        "sources:\n  text: {citation: Invented § 1, authority: statute, evidence: text-read}\n"
        + rules(rule(ceiling("5 mm")))
    )
    (problem,) = [each for each in found(said, age=Age(ON, 1)) if each.code == "review-old"]
    assert problem.path == "reviewed"
    assert problem.message == (
        "the pack was last reviewed on 2020-01-01, more than 1 month before 2026-11-25; "
        "so old are 1 of its sources, which have no `read` date of their own"
    )


# --- figures ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "also", "note", "expected"),
    [
        ("10 mm", "11 mm", "", []),
        ("10 mm", "9 mm", "", []),
        ("10 mm", "11.001 mm", "", ["dual-figures"]),
        ("10 mm", "8.999 mm", "", ["dual-figures"]),
        ("1/4 in", "6 mm", "", []),
        ("3/8 in", "10 mm", "", []),
        ("2/32 in", "2 mm", "", ["dual-figures"]),
        ("2/32 in", "2 mm", "Printed as 2 mm.", ["dual-figures-noted"]),
        ("2/32 in", "2 mm", "Printed as 2, not 1.6.", ["dual-figures-noted"]),
        ("2/32 in", "2 mm", "Printed in 2012 as 1.2 mm, 2/32 in or 32.", ["dual-figures"]),
        ("2/32 in", "2 mm", "A note on something else.", ["dual-figures"]),
        ("2 mm", "1/8 in", "It prints 1/8 in.", ["dual-figures-noted"]),
        ("2 mm", "1/8 in", "It prints 1/80 in and 11/8 in.", ["dual-figures"]),
        ("0 mm", "1 mm", "", ["dual-figures"]),
        ("0 mm", "0 in", "", []),
    ],
)
def test_two_printed_figures_differ_by_a_tenth_at_most(value, also, note, expected):
    body = f"limit: {{fact: injury.diameter, at-most: {{value: {value}, also-printed: {also}}}}}"
    given_ = [each for each in found(rules(rule(body, note=f'"{note}"' if note else ""))) if "dual" in each.code]
    assert [each.code for each in given_] == expected
    for each in given_:
        assert each.path == "rules[0].limit.at-most.also-printed"
        assert each.message.startswith(f"the two printed figures of 'size', {value} and {also}, differ")


def test_how_far_apart_two_figures_are_is_told():
    body = "limit: {fact: injury.diameter, at-most: {value: 2/32 in, also-printed: 2 mm}}"
    (problem,) = [each for each in found(rules(rule(body))) if each.code == "dual-figures"]
    # 2/32 in = 1.5875 mm exactly (International Yard and Pound, 1959); 0.4125 / 1.5875 = 26 %
    assert problem.message.endswith("differ by 26 %")
    assert problem.hint == "look at the source again; if it does print 2 mm, say so in the rule's `note`"


# --- versions ---------------------------------------------------------------------------------------------------------

BUT_TWO = "passenger, light-truck, bus, trailer, temporary-spare, agricultural, off-road"


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        ({"days": "until: 2020-01-01"}, {"days": "from: 2020-01-01"}, []),
        ({"days": "until: 2020-01-02"}, {"days": "from: 2020-01-01"}, ["versions-overlap"]),
        ({"days": "until: 2019-12-31"}, {"days": "from: 2020-01-01"}, ["versions-hole"]),
        ({}, {}, ["versions-overlap"]),
        ({"days": "from: 2020-01-01"}, {}, ["versions-overlap"]),
        ({"act": "road-use"}, {}, []),
        ({"act": "repair, road-use"}, {}, []),
        ({"when": "tire.class: bus"}, {}, []),
        ({"when": "tire.class: bus"}, {"when": "tire.class: [bus]"}, ["versions-overlap"]),
        (
            {"when": "tire.class: {not: [motorcycle, medium-truck]}"},
            {"when": f"tire.class: [{BUT_TWO}]"},
            ["versions-overlap"],
        ),
        (
            {"when": "tire.speed_symbol: {more-than: T}"},
            {"when": "tire.speed_symbol: {at-least: U}"},
            ["versions-overlap"],
        ),
        ({"when": "vehicle.gvwr: {at-most: 10 kg}"}, {"when": "vehicle.gvwr: {less-than: 10 kg}"}, []),
        ({"when": "repairs.count: {at-most: 2}"}, {"when": "repairs.count: {less-than: 3}"}, ["versions-overlap"]),
        ({"when": "repairs.count: {at-least: 1}"}, {"when": "repairs.count: {more-than: 0}"}, ["versions-overlap"]),
        ({"when": "findings: [bulge]"}, {"when": "findings: {not: [bulge]}"}, []),
        ({"when": "tire.tread_depth: {at-least: 0 mm}"}, {"when": "tire.tread_depth: {at-most: 9 mm}"}, []),
    ],
)
def test_versions_are_told_by_what_they_mean(first, second, expected):
    text = rules(rule(ceiling("5 mm"), name="one", **first), rule(ceiling("4 mm"), name="other", **second))
    assert [code for code in codes(text) if code.startswith("versions")] == expected


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        (ceiling("1/4 in"), ceiling("0.25 in"), []),
        (ceiling("5 mm"), "limit: {fact: injury.diameter, less-than: 5 mm}", ["versions-overlap"]),
        (ceiling("5 mm"), "limit: {fact: injury.diameter, more-than: 1 mm}", []),
        (ceiling("5 mm"), ceiling("4 mm", "repair.diameter"), []),
        (floor("2 mm"), floor("3 mm", counted="grooves: two-adjacent, places: 1"), []),
        (floor("2 mm", counted="grooves: center"), floor("3 mm", counted="grooves: center"), ["versions-overlap"]),
        (
            "limit: {fact: injury.reach, less-than: {half-of: tire.tread_width, share: 1/2}}",
            "limit: {fact: injury.reach, less-than: {half-of: tire.tread_width, share: 3/4}}",
            ["versions-overlap"],
        ),
        (
            "limit: {fact: injury.reach, less-than: {half-of: tire.tread_width, share: 1/2}}",
            "limit: {fact: injury.reach, less-than: {half-of: tire.tread_width, share: 50 %}}",
            [],
        ),
        (
            "limit: {fact: injury.reach, less-than: {half-of: tire.tread_width, share: 1/2}}",
            "limit: {fact: injury.reach, less-than: {half-of: tire.section_width, share: 1/2}}",
            [],
        ),
        (
            "permit: {fact: injury.zone, values: [crown]}",
            "permit: {fact: injury.zone, values: [crown, shoulder]}",
            ["versions-overlap"],
        ),
        ("prohibit: {fact: injury.zone, values: [bead]}", "prohibit: {fact: injury.zone, values: [sidewall]}", []),
        ("disqualify: {findings: [bulge]}", "disqualify: {findings: [leak]}", []),
        ("require: {steps: [demount]}", "require: {steps: [maker-standard]}", []),
    ],
)
def test_only_limits_and_permissions_have_versions_with_other_figures(one, other, expected):
    text = rules(rule(one, name="one"), rule(other, name="other"))
    assert [code for code in codes(text) if code.startswith("versions")] == expected


def test_an_extended_limit_is_another_version():
    angle = ceiling("25 deg", "injury.angle")
    text = rules(rule(angle, name="one", extendable=True), rule(angle, name="other"))
    assert codes(text) == ["versions-overlap"]


@pytest.mark.parametrize(
    "body", ["prohibit: {fact: injury.zone, values: [bead]}", "disqualify: {findings: [bulge]}", ceiling("5 mm")]
)
def test_days_without_any_version_are_told_for_every_body_but_a_requirement(body):
    text = rules(rule(body, name="old", days="until: 2019-01-01"), rule(body, name="new", days="from: 2020-01-01"))
    (problem,) = [each for each in found(text) if each.code == "versions-hole"]
    assert problem.path == "rules[1].in-force.from"
    assert problem.message == (
        "no version of this rule is in force from 2019-01-01 until 2020-01-01: 'old' ends before this one starts"
    )
    assert problem.hint.endswith("to join them write `until: 2020-01-01` there")


def test_a_hole_that_a_third_version_fills_is_none():
    days = ["until: 2010-01-01", "from: 2020-01-01", "from: 2009-01-01, until: 2020-01-01"]
    text = rules(*(rule(ceiling("5 mm"), name=f"v{at}", days=each) for at, each in enumerate(days)))
    assert codes(text) == []
    longer = rules(
        rule(ceiling("5 mm"), name="long", days="from: 2000-01-01, until: 2020-01-01"),
        rule(ceiling("4 mm"), name="short", days="from: 2005-01-01, until: 2006-01-01"),
        rule(ceiling("3 mm"), name="next", days="from: 2020-01-01"),
    )
    assert codes(longer) == ["versions-overlap"]


def test_an_overlap_says_which_date_mends_it():
    text = rules(
        rule(ceiling("5 mm"), name="old", days="from: 2010-01-01"),
        rule(ceiling("4 mm"), name="new", days="from: 2020-01-01"),
    )
    (problem,) = [each for each in found(text) if each.code == "versions-overlap"]
    assert problem.path == "rules[1].in-force.from"
    assert problem.message.startswith("'new' and 'old' limit the same for the same acts, under equal conditions")
    assert problem.hint.startswith("end 'old' with `until: 2020-01-01`")
    (problem,) = [each for each in found(text.replace("in-force", "note: x # ")) if each.code == "versions-overlap"]
    assert problem.path == "rules[1].id"
    assert problem.hint.startswith("give each its days with `in-force`")


# --- rules that do nothing --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("when", "fact"),
    [
        ("tire.construction: {not: [radial, bias]}", "tire.construction"),
        ("tire.retread: {not: [true, false]}", "tire.retread"),
        ("tire.construction: {not: bias}", ""),
        ("findings: {not: [bulge]}", ""),
        ("findings: [bulge]", ""),
        ("tire.speed_symbol: {at-least: H, at-most: H}", ""),
        ("repairs.count: {more-than: 1, less-than: 3}", ""),
    ],
)
def test_a_condition_that_no_case_can_meet_is_told(when, fact):
    given_ = [each for each in found(rules(rule(ceiling("5 mm"), when=when))) if each.code == "never-applies"]
    assert [each.path for each in given_] == ([f"rules[0].when.{fact}"] if fact else [])
    for each in given_:
        assert each.message == f"'size' can never apply: no value of {fact} satisfies this condition"


@pytest.mark.parametrize(
    "when",
    [
        "tire.speed_symbol: {more-than: H, less-than: V}",
        'tire.load_range: {more-than: "N"}',
        "vehicle.gvwr: {less-than: 0 kg}",
        "vehicle.gvwr: {more-than: 5 kg, at-most: 5 kg}",
        "repairs.count: {more-than: 1, less-than: 2}",
    ],
)
def test_a_range_that_holds_nothing_is_an_error_already(when):
    with pytest.raises(tirerules.PackError) as error:
        found(rules(rule(ceiling("5 mm"), when=when)))
    assert [each.code for each in error.value.problems] == ["condition"]


@pytest.mark.parametrize(
    ("act", "when", "body", "place"),
    [
        ("used-tire-sale", "method: section", ceiling("5 mm"), "rules[0].when.method"),
        ("inspection", "", "prohibit: {fact: method, values: [boot]}", "rules[0].activity"),
        ("repair", "method: section", ceiling("5 mm"), ""),
        ("road-use", "method: section", ceiling("5 mm"), ""),
        ("inspection, repair", "method: section", ceiling("5 mm"), ""),
        ("used-tire-sale", "repair.method: section", ceiling("5 mm"), ""),
    ],
)
def test_a_method_is_chosen_in_a_repair_alone(act, when, body, place):
    given_ = [each.path for each in found(rules(rule(body, when=when, act=act))) if each.code == "never-applies"]
    assert given_ == ([place] if place else [])


@pytest.mark.parametrize(
    ("when", "body", "why"),
    [
        ("injury.zone: crown", "permit: {fact: injury.zone, values: [crown, shoulder]}", "where injury.zone is crown"),
        ("injury.zone: [crown, bead]", "permit: {fact: injury.zone, values: [crown, shoulder]}", ""),
        ("injury.zone: {not: bead}", "prohibit: {fact: injury.zone, values: [bead]}", "injury.zone is not bead"),
        ("findings: {not: [bulge, leak]}", "disqualify: {findings: [bulge]}", "findings is not bulge or leak"),
        ("findings: {not: [bulge]}", "disqualify: {findings: [bulge, leak]}", ""),
        ("findings: [bulge]", "disqualify: {findings: [bulge]}", ""),
        ("", "permit: {fact: tire.construction, values: [radial, bias]}", "every value of tire.construction"),
        ("", "permit: {fact: tire.retread, values: [true, false]}", "every value of tire.retread"),
        ("", floor("0 mm"), "every value of tire.tread_depth"),
        ("", floor("0 mm", "more-than"), ""),
        ("", "limit: {fact: repairs.count, at-least: 0}", "every value of repairs.count"),
        ("", ceiling("89.999 deg", "injury.angle"), ""),
        ("tire.tread_depth: {more-than: 2 mm}", floor("2 mm"), "where tire.tread_depth is more than 2 mm"),
        ("tire.tread_depth: {at-least: 2 mm}", floor("2 mm", "more-than"), ""),
        ("tire.load_range: {at-most: E}", "permit: {fact: tire.load_range, values: [A, B, C, D, E]}", "at most E"),
        ("", "limit: {fact: injury.reach, less-than: {half-of: tire.tread_width}}", ""),
        ("", "require: {steps: [demount]}", ""),
    ],
)
def test_a_rule_that_nothing_can_fail_is_told(when, body, why):
    given_ = [each for each in found(rules(rule(body, when=when))) if each.code == "never-fails"]
    assert len(given_) == bool(why)
    for each in given_:
        assert each.message.startswith("nothing can fail 'size': ")
        assert why in each.message
        assert each.path == f"rules[0].{body.partition(':')[0]}"


@pytest.mark.parametrize(
    ("outer", "inner", "expected"),
    [
        ((floor("3 mm"), {}), (floor("2 mm"), {"when": "tire.class: bus"}), True),
        ((floor("3 mm"), {}), (floor("3 mm"), {"when": "tire.class: bus"}), True),
        ((floor("2 mm"), {}), (floor("3 mm"), {"when": "tire.class: bus"}), False),
        ((floor("3 mm"), {"when": "tire.class: [bus, trailer]"}), (floor("2 mm"), {"when": "tire.class: bus"}), True),
        ((floor("3 mm"), {"when": "tire.class: bus"}), (floor("2 mm"), {"when": "tire.class: [bus, trailer]"}), False),
        ((floor("3 mm"), {"when": "tire.retread: true"}), (floor("2 mm"), {"when": "tire.class: bus"}), False),
        ((floor("3 mm"), {"act": "repair"}), (floor("2 mm"), {"act": "road-use", "when": "tire.class: bus"}), False),
        ((floor("3 mm"), {"act": "road-use"}), (floor("2 mm"), {"act": "inspection"}), False),
        ((floor("3 mm"), {"days": "from: 2020-01-01"}), (floor("2 mm"), {"when": "tire.class: bus"}), False),
        (
            (floor("3 mm"), {"days": "from: 2020-01-01"}),
            (floor("2 mm"), {"when": "tire.class: bus", "days": "from: 2021-01-01, until: 2022-01-01"}),
            True,
        ),
        (
            (floor("3 mm"), {"days": "until: 2020-01-01"}),
            (floor("2 mm"), {"when": "tire.class: bus", "days": "until: 2020-01-02"}),
            False,
        ),
        ((floor("3 mm"), {}), (floor("3 mm", counted="grooves: center"), {"when": "tire.class: bus"}), True),
        ((floor("3 mm", counted="grooves: center"), {}), (floor("2 mm"), {"when": "tire.class: bus"}), False),
        ((floor("3 mm"), {}), (floor("3 mm", "more-than"), {"when": "tire.class: bus"}), False),
        # 3 mm as enacted is stricter than 2.9 mm, and 2.8 mm as printed besides is laxer; read strictly, 3 mm binds.
        (
            ("limit: {fact: tire.tread_depth, at-least: {value: 2.8 mm, also-printed: 3 mm}}", {}),
            (floor("2.9 mm"), {"when": "tire.class: bus"}),
            False,
        ),
        (
            ("disqualify: {findings: [bulge, leak]}", {}),
            ("disqualify: {findings: [leak]}", {"when": "tire.class: bus"}),
            True,
        ),
        (
            ("disqualify: {findings: [bulge]}", {}),
            ("disqualify: {findings: [bulge, leak]}", {"when": "tire.class: bus"}),
            False,
        ),
        (
            ("permit: {fact: injury.zone, values: [crown]}", {}),
            ("prohibit: {fact: injury.zone, values: [bead, sidewall]}", {}),
            True,
        ),
        (
            ("prohibit: {fact: injury.zone, values: [bead, sidewall]}", {}),
            ("permit: {fact: injury.zone, values: [crown]}", {"when": "tire.class: bus"}),
            False,
        ),
        (
            ("limit: {fact: injury.reach, less-than: {half-of: tire.tread_width, inset: 30 mm}}", {}),
            (
                "limit: {fact: injury.reach, at-most: {half-of: tire.tread_width, inset: 1 in}}",
                {"when": "tire.class: bus"},
            ),
            True,
        ),
        (
            ("limit: {fact: injury.reach, less-than: {half-of: tire.tread_width, inset: 30 mm}}", {}),
            (
                "limit: {fact: injury.reach, less-than: {half-of: tire.belt_width, inset: 1 in}}",
                {"when": "tire.class: bus"},
            ),
            False,
        ),
        (
            (ceiling("5 mm", "injury.reach"), {}),
            (
                "limit: {fact: injury.reach, less-than: {half-of: tire.belt_width, inset: 1 in}}",
                {"when": "tire.class: bus"},
            ),
            False,
        ),
        ((ceiling("3 mm"), {}), (ceiling("4 mm"), {"when": "findings: [bulge]"}), False),
        (
            (ceiling("3 mm"), {"when": "findings: [bulge, leak]"}),
            (ceiling("4 mm"), {"when": "findings: [bulge], tire.class: bus"}),
            True,
        ),
        (
            (ceiling("3 mm"), {"when": "findings: {not: [bulge]}"}),
            (ceiling("4 mm"), {"when": "findings: {not: [bulge, leak]}"}),
            True,
        ),
        (
            (ceiling("3 mm"), {"when": "findings: [bulge]"}),
            (ceiling("4 mm"), {"when": "findings: {not: [leak]}"}),
            False,
        ),
        (("require: {steps: [demount]}", {}), ("require: {steps: [demount]}", {"when": "tire.class: bus"}), False),
    ],
)
def test_a_broader_rule_that_demands_as_much_leaves_the_other_nothing(outer, inner, expected):
    said = [rule(outer[0], name="outer", **outer[1]), rule(inner[0], name="inner", **inner[1])]
    for text in (rules(*said), rules(*reversed(said))):
        given_ = [each.message for each in found(text) if each.code == "never-binds"]
        wanted = "'inner' can never bind: 'outer' demands as much wherever this one applies"
        assert given_ == ([wanted] if expected else [])


def test_of_two_rules_that_say_the_same_the_second_is_told():
    text = rules(rule(ceiling("5 mm"), name="one"), rule(ceiling("5.0 mm"), name="other"))
    (problem,) = [each for each in found(text) if each.code == "never-binds"]
    assert problem.message == "'other' can never bind: 'one' demands as much wherever this one applies"
    assert problem.path == "rules[1].id"


def test_an_extendable_limit_is_left_out_of_account():
    one = rule(ceiling("25 deg", "injury.angle"), name="one", extendable=True)
    assert codes(rules(one, rule(ceiling("30 deg", "injury.angle"), name="other", when="tire.class: bus"))) == []
    assert codes(rules(rule(ceiling("20 deg", "injury.angle"), name="two"), one)) == ["versions-overlap"]


# --- beside the baseline ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("body", "more", "named"),
    [
        (ceiling("3/8 in"), {"when": "tire.class: passenger"}, ["industry/puncture-size"]),
        (ceiling("1/4 in"), {"when": "tire.class: passenger"}, ["industry/puncture-size"]),
        (ceiling("6 mm"), {"when": "tire.class: passenger"}, []),
        (
            "limit: {fact: injury.diameter, at-most: {value: 1/4 in, also-printed: 6 mm}}",
            {"when": "tire.class: passenger"},
            [],
        ),
        (ceiling("9 mm"), {"when": "tire.class: off-road"}, []),
        (ceiling("9 mm"), {"act": "road-use"}, []),
        (ceiling("9 mm"), {"days": "until: 2020-01-01", "when": "tire.class: passenger"}, ["industry/puncture-size"]),
        ("limit: {fact: injury.diameter, less-than: 6 mm}", {"when": "tire.class: passenger"}, []),
        (ceiling("30 deg", "injury.angle"), {"when": "method: one-piece"}, ["industry/one-piece-angle"]),
        (ceiling("25 deg", "injury.angle"), {"when": "method: one-piece"}, []),
        (
            "permit: {fact: injury.zone, values: [crown, shoulder]}",
            {"when": "method: one-piece"},
            ["industry/crown-only"],
        ),
        ("prohibit: {fact: injury.zone, values: [bead]}", {"when": "method: one-piece"}, []),
        (floor("1 mm"), {"when": "tire.class: passenger"}, ["industry/tread-depth"]),
        (floor("1 mm", counted="grooves: two-adjacent"), {"when": "tire.class: passenger"}, ["industry/tread-depth"]),
        # read as enacted (2/32 in), the baseline is the laxer one
        (floor("1.9 mm"), {"when": "tire.class: passenger"}, []),
    ],
)
def test_a_limit_that_the_trade_is_stricter_than_is_told_as_information(body, more, named):
    given_ = [each for each in found(rules(rule(body, **more))) if each.code == "laxer-than-baseline"]
    assert [re.findall(r"industry/[a-z-]+", each.message) for each in given_] == ([named] if named else [])
    assert {each.severity for each in given_} <= {"information"}


def test_where_the_trade_is_stricter_is_told():
    (problem,) = [each for each in found(rules(rule(ceiling("5 mm")))) if each.code == "laxer-than-baseline"]
    assert problem.message == (
        "'size' (at most 5 mm) is laxer than the trade baseline, which binds where both apply: "
        "industry/puncture-size-motorcycle-fast, at most 3 mm, where tire.class is motorcycle and tire.speed_symbol "
        "is more than J and at most V"
    )


def test_the_baseline_is_not_laxer_than_itself():
    text = rules(rule(ceiling("9 mm"), when="tire.class: passenger"))
    assert "laxer-than-baseline" not in [each.code for each in found(text, pack="invented-trade", kind="baseline")]


# --- examples ---------------------------------------------------------------------------------------------------------


def example(diameter, verdict, because="", more=""):
    reasons = f", because: [{because}]" if because else ""
    return (
        f"  - case: {{jurisdictions: [US], activity: repair, tire: {{class: passenger, sealant_layer: false, "
        f"tread_depth: 6/32 in}}, injuries: [{{kind: puncture, zone: crown, diameter: {diameter}, angle: 10 deg}}], "
        f"findings: [], earlier_repairs: []}}\n"
        f"    expect: {{verdict: {verdict}{reasons}{more}}}\n"
    )


def _missing(text):
    return [each.path for each in found(text) if each.code == "example-missing"]


def test_an_example_that_fails_because_of_a_rule_is_wanted_for_every_rule():
    said = rules(rule(ceiling("5 mm")))
    assert _missing(said) == ["rules[0].id"]
    assert _missing(said + "examples:\n" + example("5 mm", "within-limits", "size")) == ["rules[0].id"]
    assert _missing(said + "examples:\n" + example("5.1 mm", "outside-limits", "size")) == []
    assert _missing(said + "examples:\n" + example("5.1 mm", "outside-limits")) == []


def test_a_rule_that_fails_one_method_has_its_example():
    said = rules(rule("permit: {fact: method, values: [two-piece]}"))
    assert _missing(said + "examples:\n" + example("5 mm", "within-limits")) == []


@pytest.mark.parametrize(
    "body", ["require: {steps: [demount]}", floor("0 mm"), "permit: {fact: tire.retread, values: [true, false]}"]
)
def test_what_cannot_fail_needs_no_example(body):
    assert _missing(rules(rule(body))) == []


def test_what_can_never_apply_needs_no_example():
    assert _missing(rules(rule(ceiling("5 mm"), when="tire.retread: {not: [true, false]}"))) == []


def test_a_missing_example_says_what_to_write():
    (problem,) = [each for each in found(rules(rule(ceiling("5 mm")))) if each.code == "example-missing"]
    assert problem.message == "no example fails because of 'size'"
    assert problem.hint == "add one just outside it: `expect: {verdict: outside-limits, because: [size]}`"


def _differences(*tickets, said=None, **head):
    text = (said or rules(rule(ceiling("5 mm")))) + "examples:\n" + "".join(tickets)
    return [each for each in found(text, **head) if each.code == "example"]


@pytest.mark.parametrize(
    ("ticket", "path", "message", "hint"),
    [
        (
            example("5.1 mm", "within-limits"),
            "expect.verdict",
            "expected within-limits, got outside-limits",
            "invented-shop/size fails (injury.diameter 5.1 mm, at most 5 mm)",
        ),
        (
            example("4 mm", "outside-limits", "size"),
            "expect.verdict",
            "expected outside-limits, got within-limits",
            "invented-shop/size passes (injury.diameter 4 mm, at most 5 mm)",
        ),
        (
            example("5.1 mm", "outside-limits", "industry/puncture-size"),
            "expect.because[0]",
            "expected because of industry/puncture-size, which does not decide it",
            "industry/puncture-size passes (injury.diameter 5.1 mm, at most 6 mm)",
        ),
        (
            example("5.1 mm", "outside-limits", "siez"),
            "expect.because[0]",
            "expected because of invented-shop/siez, which does not decide it",
            "there is no rule invented-shop/siez; did you mean invented-shop/size?",
        ),
        (
            example("5.1 mm", "outside-limits", "invented-line/size"),
            "expect.because[0]",
            "expected because of invented-line/size, which does not decide it",
            "there is no rule invented-line/size",
        ),
        (
            example("5.1 mm", "outside-limits", "engine/limit-located"),
            "expect.because[0]",
            "expected because of engine/limit-located, which does not decide it",
            "engine/limit-located does not arise",
        ),
        (
            example("5.1 mm", "outside-limits", "industry/puncture-size-motorcycle"),
            "expect.because[0]",
            "expected because of industry/puncture-size-motorcycle, which does not decide it",
            "industry/puncture-size-motorcycle was not judged: it applies where tire.class is motorcycle; "
            "tire.speed_symbol is at most J",
        ),
        (
            example("4 mm", "within-limits", more=", methods: {boot: within-limits}"),
            "expect.methods.boot",
            "expected boot within-limits, got no such method",
            "industry/no-section-repair fails (method section, none of section)",
        ),
        (
            example("4 mm", "within-limits", more=", questions: [tire.age]"),
            "expect.questions",
            "expected the questions ['tire.age'], got []",
            "industry/no-section-repair fails (method section, none of section)",
        ),
    ],
)
def test_a_difference_is_told_where_it_was_expected_with_what_decided(ticket, path, message, hint):
    given_ = {each.path: each for each in _differences(example("5 mm", "within-limits"), ticket)}
    problem = given_[f"examples[1].{path}"]
    assert (problem.severity, problem.message) == ("error", message)
    assert hint in problem.hint.split("\n")


def test_what_fails_is_told_before_what_is_unknown():
    ticket = example("4 mm", "within-limits").replace(", tread_depth: 6/32 in", "")
    (problem,) = _differences(ticket)
    outcomes = [re.search(r" (fails|unknown) ", line)[1] for line in problem.hint.split("\n")]
    assert outcomes == sorted(outcomes)
    assert {"fails", "unknown"} == set(outcomes)


def test_why_a_rule_was_not_judged_is_told():
    said = rules(
        rule(ceiling("5 mm"), name="later", days="from: 2030-01-01"),
        rule(ceiling("4 mm"), name="sale", act="used-tire-sale"),
        rule(ceiling("3 mm", "repair.diameter"), name="earlier"),
    )
    ticket = example("4 mm", "outside-limits", "later, sale, earlier")
    hints = [each.hint.split("\n")[0] for each in _differences(ticket, said=said) if "because" in each.path]
    assert hints == [
        "invented-shop/later was not judged: it is not in force on 2026-11-25",
        "invented-shop/sale was not judged: it regulates used-tire-sale, not repair",
        "invented-shop/earlier was not judged: what it speaks of is not in the case",
    ]


def test_a_pack_that_does_not_answer_for_the_place_is_told():
    said = rules(rule(ceiling("5 mm")))
    ticket = example("4 mm", "outside-limits", "size")
    hints = [
        each.hint.split("\n")[0]
        for each in _differences(ticket, said=said, pack="US-UM", kind="jurisdiction")
        if "because" in each.path
    ]
    assert hints == ["US-UM/size was not judged: US-UM does not answer for US"]


@pytest.mark.parametrize(
    ("old", "new", "path", "message", "at"),
    [
        ("class: passenger", "clas: passenger", "case.tire.clas", "unknown key 'clas'", "clas:"),
        ("diameter: 4 mm", "diameter: 4", "case.injuries[0].diameter", "4 is a bare number without a unit", "4,"),
        ("zone: crown", "zone: crwon", "case.injuries[0].zone", "'crwon' is no injury.zone", "crwon"),
        ("[{kind", "[7, {kind", "case.injuries[0]", "this must be a block of keys", "7"),
        ("activity: repair", "activity: fix", "case.activity", "'fix' is no activity", "fix"),
        ("jurisdictions: [US], ", "", "case", "jurisdictions: the key is missing", "case:"),
    ],
)
def test_a_wrong_case_is_told_at_the_wrong_value(old, new, path, message, at):
    ticket = example("4 mm", "within-limits").replace(old, new)
    (problem,) = _differences(ticket)
    assert problem.path == f"examples[0].{path}"
    assert message in problem.message
    assert problem.column == ticket.index(at) + 1


def test_a_place_that_nobody_answers_for_is_told_at_the_place():
    ticket = example("4 mm", "within-limits").replace("[US]", "[US, US-ZZ]")
    (problem,) = _differences(ticket)
    assert problem.path == "examples[0].case.jurisdictions"
    assert problem.message.startswith("the case cannot be decided: 'US-ZZ' is no jurisdiction code")
    assert problem.hint.startswith("did you mean US-AZ or ")


def test_a_case_that_meets_no_rulebook_is_told_whole():
    pack = build_pack(document(rules(rule(ceiling("5 mm"))) + "examples:\n" + example("4 mm", "within-limits")), "0")

    class Without:
        def decide(self, case):
            raise tirerules.LockError(["it is not here"])

    (ran,) = run_examples(pack, Without())
    assert [(each.path, each.message) for each in ran.differences] == [
        (("case",), "the case cannot be decided: the packs differ from the lock: it is not here")
    ]
    assert ran.failing == frozenset()


def test_a_word_outside_the_vocabulary_is_refused_with_the_nearest(tmp_path):
    file = tmp_path / "invented-shop.yaml"
    text = rules(rule(ceiling("5 mm"), when="tire.class: pasenger"))
    head = 'format: 1\npack: invented-shop\nversion: 1.0.0\nengine: ">=1,<2"\nkind: company\ntitle: Invented\n'
    rest = "".join(HEAD.values()).replace("ACT", "repair").replace("rules: []\n", "")
    file.write_text(head + rest + text, encoding="utf-8")
    (problem,) = check(file).problems
    assert (problem.code, problem.severity) == ("unknown-word", "error")
    assert (problem.path, problem.hint) == ("rules[0].when.tire.class", "did you mean passenger?")


# --- the claims of the checks, against the algebra and against deciding ----------------------------------------------

CLASSES = ("passenger", "bus", "trailer")
FINDINGS = ("bulge", "leak", "exposed-cord")
some = st.lists(st.sampled_from(CLASSES), min_size=1, max_size=3, unique=True).map(", ".join)
seen = st.lists(st.sampled_from(FINDINGS), min_size=1, max_size=3, unique=True).map(", ".join)
mass = st.integers(1, 4).map(lambda tons: f"{tons * 1000} kg")


@st.composite
def spans(draw, fact, figure):
    low, high = draw(figure), draw(figure)
    said = {}
    if draw(st.booleans()):
        said[draw(st.sampled_from(["at-least", "more-than"]))] = low
    if draw(st.booleans()) or not said:
        said[draw(st.sampled_from(["at-most", "less-than"]))] = high
    ends = [quantity(value, Dimension.MASS).exact if "kg" in value else int(value) for value in said.values()]
    if len(ends) == 2 and ends[0] + 1 >= ends[1]:
        said.popitem()  # nothing lies between them
    return f"{fact}: {{{', '.join(f'{relation}: {value}' for relation, value in said.items())}}}"


tests_ = st.one_of(
    some.map(lambda words: f"tire.class: [{words}]"),
    some.map(lambda words: f"tire.class: {{not: [{words}]}}"),
    seen.map(lambda words: f"findings: [{words}]"),
    seen.map(lambda words: f"findings: {{not: [{words}]}}"),
    spans("vehicle.gvwr", mass),
    spans("repairs.count", st.integers(1, 4).map(str)),
)
whens = st.lists(tests_, max_size=3, unique_by=lambda test: test.partition(":")[0]).map(", ".join)
bodies = st.one_of(
    st.builds(
        lambda figure, relation, counted: floor(f"{figure} mm", relation, counted),
        st.integers(0, 4),
        st.sampled_from(["at-least", "more-than"]),
        st.sampled_from(["", "grooves: any-one", "grooves: two-adjacent", "grooves: every, places: 1"]),
    ),
    seen.map(lambda words: f"disqualify: {{findings: [{words}]}}"),
    some.map(lambda words: f"permit: {{fact: tire.class, values: [{words}]}}"),
    some.map(lambda words: f"prohibit: {{fact: tire.class, values: [{words}]}}"),
)
acts = st.sampled_from(["road-use", "inspection", "inspection, road-use"])
days = st.sampled_from(["", "from: 2020-01-01", "until: 2020-01-01", "from: 2019-01-01, until: 2021-01-01"])
wholes = st.builds(lambda **said: said, body=bodies, when=whens, act=acts, days=days)

cases = st.fixed_dictionaries(
    {
        "activity": st.sampled_from(["road-use", "inspection", "repair"]),
        "on": st.sampled_from(["2018-06-01", "2019-06-01", "2020-06-01", "2022-06-01"]),
        "tire": st.fixed_dictionaries(
            {},
            optional={
                "class": st.sampled_from([*CLASSES, "off-road"]),
                "tread_depth": st.sampled_from(["0 mm", "1 mm", "1 mm to 3 mm", "2 mm", "3 mm", "4 mm", "9 mm"]),
                "tread_grid": st.sampled_from([[["1 mm", "3 mm", "2 mm"]], [["4 mm", "4 mm", "1 mm"]]]),
            },
        ),
        "vehicle": st.fixed_dictionaries(
            {}, optional={"gvwr": mass | st.sampled_from(["0 kg", "500 kg", "1 kg to 3500 kg", "5000 kg"])}
        ),
        "repairs": st.fixed_dictionaries({}, optional={"count": st.integers(0, 4)}),
        "findings": st.none() | st.lists(st.sampled_from(FINDINGS), max_size=3, unique=True),
    }
)


def _pack(*said):
    text = "".join(rule(name=f"r{at}", **each) for at, each in enumerate(said))
    covered = "{inspection: none-located, road-use: none-located, repair: none-located}"
    for act in ("inspection", "road-use"):
        if re.search(rf"activity: \[.*{act}", text):
            covered = covered.replace(f"{act}: none-located", f"{act}: rules")
    text = f"coverage: {covered}\n" + ("rules:\n" + text if text else "rules: []\n")
    said_ = document(text, pack="US-UM", kind="jurisdiction")
    return build_pack(said_, "0" * 64), said_


def _decide(pack, case):
    asked = {**case, "jurisdictions": ["US-UM"]}
    if asked["activity"] == "repair":
        asked["repairs"] = {key: max(count, 1) for key, count in case["repairs"].items()}  # with the new one
        asked["injuries"] = [{"kind": "puncture", "zone": "crown", "diameter": "3 mm", "angle": "0 deg"}]
    elif asked["findings"] is not None:
        asked["injuries"] = []
    return Rulebook([COUNTRY, pack]).decide(asked)


@settings(max_examples=60, deadline=None)
@given(said=st.lists(wholes, min_size=2, max_size=3), asked=st.lists(cases, min_size=6, max_size=6))
def test_a_rule_said_never_to_bind_apply_or_fail_changes_no_verdict(said, asked):
    pack, document_ = _pack(*said)
    told = {}
    for each in findings(Subject(pack, document_)):
        if each.code in ("never-binds", "never-applies", "never-fails"):
            told.setdefault(int(re.findall(r"\d+", each.path)[0]), each.code)
    for at, code in told.items():
        name = f"US-UM/r{at}"
        for case in asked:
            decision = _decide(pack, case)
            reasons = [reason for reason in decision.reasons if reason.rule == name]
            if code == "never-applies":
                assert reasons == []
            elif code == "never-fails":
                assert all(reason.outcome != "fails" for reason in reasons)
            elif any(reason.outcome == "fails" for reason in reasons):
                others = [each for each in decision.reasons if each.outcome == "fails" and each.rule != name]
                assert others
            if code != "never-fails":
                alone, _ = _pack(*(each for number, each in enumerate(said) if number != at))
                assert decision.verdict == _decide(alone, case).verdict


@settings(max_examples=40, deadline=None)
@given(outer=wholes, extra=whens, act=acts, day=days, words=some)
def test_a_narrowed_copy_of_a_rule_is_always_found(outer, extra, act, day, words):
    """Completeness where it can be had: the same body under more conditions, for fewer acts, on fewer days."""
    tested = {test.partition(":")[0] for test in re.findall(r"[a-z.]+[a-z]: ", outer["when"])}
    more = [test for test in re.split(r", (?=[a-z.]+: )", extra) if test and test.partition(":")[0] not in tested]
    more = [test for test in more if not test.startswith("findings: [")]  # such a rule also judges its finding
    inner = {
        "body": outer["body"],
        "when": ", ".join(filter(None, [outer["when"], *more])),
        "act": act if act in outer["act"] else outer["act"],
        "days": outer["days"] or day,
    }
    pack, document_ = _pack(outer, inner)
    told = {each.path for each in findings(Subject(pack, document_)) if each.code == "never-binds"}
    assert told & {"rules[0].id", "rules[1].id"}


#: Finer than the figures and words that conditions are made of, so that what two conditions share is among them.
GRID = {
    "tire.class": [frozenset({word}) for word in (*CLASSES, "off-road")],
    "findings": [frozenset(each) for size in range(4) for each in itertools.combinations(FINDINGS, size)],
    "vehicle.gvwr": [quantity(f"{half * 500} kg", Dimension.MASS).exact for half in range(10)],
    "repairs.count": [Fraction(count) for count in range(6)],
}


def _applies(one, values):
    def value(said):
        return Interval(said, said) if isinstance(said, Fraction) else said

    return all(condition.holds(value(values[condition.fact])) for condition in one.conditions)


@settings(max_examples=60, deadline=None)
@given(one=whens, other=whens)
def test_wider_and_overlapping_conditions_are_those_of_every_value(one, other):
    first, second = built(rule(ceiling("5 mm"), name="a", when=one), rule(ceiling("4 mm"), name="b", when=other))
    facts = sorted({condition.fact for each in (first, second) for condition in each.conditions})
    grid = (dict(zip(facts, values, strict=True)) for values in itertools.product(*(GRID[fact] for fact in facts)))
    held = [(_applies(first, values), _applies(second, values)) for values in grid]
    if _meaning.wider(first, second):
        assert all(outer for outer, inner in held if inner)
    if _meaning.version_of(first) == _meaning.version_of(second):
        assert all(outer == inner for outer, inner in held)
    dead = [_meaning.why_it_never_applies(each) is not None for each in (first, second)]
    assert dead == [not any(outer for outer, _ in held), not any(inner for _, inner in held)]
    if not any(dead):
        assert _meaning.overlap(first, second) is any(all(both) for both in held)


def test_versions_need_equal_meanings_both_ways():
    pairs = list(itertools.product(["tire.class: bus", "tire.class: [bus]", "tire.class: {not: bus}"], repeat=2))
    for one, other in pairs:
        first, second = built(rule(ceiling("5 mm"), name="a", when=one), rule(ceiling("4 mm"), name="b", when=other))
        same = _meaning.wider(first, second) and _meaning.wider(second, first)
        assert (_meaning.version_of(first) == _meaning.version_of(second)) is same


@pytest.mark.parametrize(
    ("one", "other", "together"),
    [
        ("findings: [bulge]", "findings: [leak]", True),
        ("findings: [bulge]", "findings: {not: [leak]}", True),
        ("findings: [bulge]", "findings: {not: [bulge, leak]}", False),
        ("findings: [bulge, leak]", "findings: {not: [bulge]}", True),
        ("findings: {not: [bulge]}", "findings: {not: [leak]}", True),
        ("tire.class: bus", "tire.class: {not: bus}", False),
        ("tire.class: bus", "tire.retread: true", True),
        ("vehicle.gvwr: {at-most: 5 kg}", "vehicle.gvwr: {more-than: 5 kg}", False),
        ("vehicle.gvwr: {at-most: 5 kg}", "vehicle.gvwr: {at-least: 5 kg}", True),
        ("repairs.count: {less-than: 3}", "repairs.count: {more-than: 1}", True),
        ("repairs.count: {less-than: 3}", "repairs.count: {more-than: 2}", False),
    ],
)
def test_two_conditions_that_one_tire_can_meet(one, other, together):
    first, second = built(rule(ceiling("5 mm"), name="a", when=one), rule(ceiling("4 mm"), name="b", when=other))
    assert _meaning.overlap(first, second) is together
    assert _meaning.overlap(second, first) is together


@pytest.mark.parametrize(
    ("one", "other", "together"),
    [
        ("until: 2020-01-01", "from: 2020-01-01", False),
        ("until: 2020-01-02", "from: 2020-01-01", True),
        ("from: 2019-01-01, until: 2020-01-01", "from: 2020-01-01, until: 2021-01-01", False),
        ("from: 2019-01-01, until: 2020-01-01", "", True),
        ("", "", True),
    ],
)
def test_two_periods_that_share_a_day(one, other, together):
    first, second = built(rule(ceiling("5 mm"), name="a", days=one), rule(ceiling("4 mm"), name="b", days=other))
    assert _meaning.same_days(first, second) is together
    assert _meaning.same_days(second, first) is together


# --- gathering --------------------------------------------------------------------------------------------------------


def test_one_file_named_twice_is_checked_once(tmp_path):
    file = tmp_path / "broken.yaml"
    file.write_bytes(b"a: 010\n")
    checked = check(tmp_path, file, str(tmp_path / "." / "broken.yaml"))
    assert (checked.files, len(checked.problems)) == (1, 1)


def test_one_file_reached_by_two_paths_is_named_by_the_first(tmp_path):
    (tmp_path / "real").mkdir()
    (tmp_path / "real" / "broken.yaml").write_bytes(b"a: 010\n")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    (problem,) = check(tmp_path / "link", tmp_path / "real").problems
    assert problem.file == str(tmp_path / "link" / "broken.yaml")


@pytest.mark.parametrize(("module", "function"), [(Path, "open"), (os, "scandir")])
def test_what_cannot_be_read_could_not_be_checked(tmp_path, monkeypatch, module, function):
    (tmp_path / "shop.yaml").write_bytes(b"a: 1\n")

    def refuse(path, *_, **__):
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(module, function, refuse)
    with pytest.raises(tirerules.MissingDataError, match=r"Permission denied$"):
        check(tmp_path)


def test_a_file_that_goes_while_it_is_checked_is_shown_without_excerpts(tmp_path, monkeypatch):
    file = tmp_path / "shop.yaml"
    file.write_bytes(b"a: 010\n")

    def gone(path):
        found_ = read_file(path)
        file.unlink()
        return found_

    def read_and_go(path):
        try:
            return gone(path)
        finally:
            file.unlink(missing_ok=True)

    monkeypatch.setattr(checking, "read_file", read_and_go)
    checked = check(file)
    assert [each.code for each in checked.problems] == ["ambiguous-scalar"]
    assert list(checked.lines.values()) == [()]


def test_the_lines_of_a_file_are_those_that_yaml_counts(tmp_path):
    file = tmp_path / "shop.yaml"
    file.write_bytes("\ufeff# é\r\n# \x0c\na: 010\r\n".encode())
    checked = check(file)
    assert [(each.line, each.column) for each in checked.problems if each.code == "yaml-character"] == [(2, 3)]
    (lines,) = checked.lines.values()
    assert lines == ["# é", "# \x0c", "a: 010", ""]


def test_the_command_lists_every_code(capsys):
    assert main(["check", "--codes"]) == 0
    rows = [line.split(None, 2) for line in capsys.readouterr().out.splitlines()]
    assert rows == [[code.name, code.severity, code.says] for code in CODES]
