"""What a check found, as text, JSON, workflow commands and SARIF: every format whole, and none obeys a pack's text."""

from __future__ import annotations

import json
import re
import unicodedata
from pathlib import Path
from urllib.parse import unquote, urlsplit

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import tirerules
from tirerules.authoring import reports
from tirerules.authoring.checking import Checked, check
from tirerules.authoring.checks import CODES
from tirerules.errors import Problem

SARIF = jsonschema.Draft7Validator(
    json.loads((Path(__file__).parent / "sarif-2.1.0.subset.schema.json").read_text(encoding="utf-8"))
)
BROKEN = Path(__file__).parent.parent / "packs" / "broken"

ERROR = Problem("quantity", "'5' is no length", 'write "6 mm"', "packs/shop.yaml", 2, 8, "rules[0].limit.at-most")
WARNING = Problem("never-binds", "it never binds", "", "packs/shop.yaml", 3, 1, "", "warning")
NOTE = Problem(
    "laxer-than-baseline", "100 % laxer,\nor so", "a: b", "packs/other.yaml", 1, 1, "rules[1]", "information"
)
LINES = {"packs/shop.yaml": ["format: 1", "size:  5", "x"], "packs/other.yaml": ["format: 1"]}
ALL = Checked(2, (ERROR, WARNING, NOTE), LINES)
NONE = Checked(3, ())


def _one(problem, *lines):
    return Checked(1, (problem,), {problem.file: lines})


# --- text -------------------------------------------------------------------------------------------------------------


def test_a_finding_stands_with_its_place_its_line_and_its_cure():
    assert reports.text(_one(ERROR, *LINES[ERROR.file])).split("\n") == [
        "packs/shop.yaml:2:8: error [quantity] at rules[0].limit.at-most: '5' is no length",
        "  2 | size:  5",
        "    |        ^",
        '  hint: write "6 mm"',
    ]


def test_what_a_finding_lacks_is_left_out():
    assert reports.text(Checked(1, (Problem("engine", "no library fits"),))) == ": error [engine] no library fits"
    placed = Problem("engine", "no library fits", file="a.yaml", line=9, column=1)
    assert reports.text(_one(placed, "one line")) == "a.yaml:9:1: error [engine] no library fits"
    assert reports.text(NONE) == ""


def test_a_hint_of_several_lines_keeps_them():
    problem = Problem("example", "it differs", "US/a fails\nUS/b is unknown", "a.yaml", 1, 1)
    assert reports.text(_one(problem, "x")).split("\n")[-2:] == ["  hint: US/a fails", "  hint: US/b is unknown"]


@pytest.mark.parametrize(
    ("line", "column", "shown", "before"),
    [
        ("a: 1", 1, "a: 1", 0),
        ("a: 1", 4, "a: 1", 3),
        ("a: 1", 5, "a: 1", 4),
        ("a: 1", 99, "a: 1", 4),
        ("a: 1", 0, "a: 1", 0),
        ("\ta: 1", 2, " a: 1", 1),
        ("é: x", 4, "é: x", 3),
        ("e\u0301: x", 5, "e\u0301: x", 3),
        ("\u30bf\u30a4: x", 5, "\u30bf\u30a4: x", 6),
        ("\x1b[2J: x", 7, "\\x1b[2J: x", 9),
        ("a\u202eb: x", 6, "a\\u202eb: x", 10),
        ("\u00a7\u00a01: x", 6, "\u00a7\u00a01: x", 5),
        ("", 1, "", 0),
    ],
    ids=[
        "first",
        "last",
        "behind",
        "far behind",
        "no column",
        "tab",
        "accent",
        "combining",
        "wide",
        "escape",
        "bidi",
        "nbsp",
        "empty",
    ],
)
def test_the_caret_stands_under_the_column(line, column, shown, before):
    problem = Problem("quantity", "wrong", "", "a.yaml", 1, column)
    head, excerpt, caret = reports.text(_one(problem, line)).split("\n")
    assert head.startswith("a.yaml:1:")
    assert excerpt == f"  1 | {shown}"
    assert caret == f"    | {' ' * before}^"


@pytest.mark.parametrize("column", [1, 40, 100, 101, 250, 299, 300])
def test_of_a_long_line_the_part_around_the_column_is_shown(column):
    line = "".join(chr(0x100 + number) for number in range(300))  # three hundred different letters
    problem = Problem("quantity", "wrong", "", "a.yaml", 1, column)
    _, excerpt, caret = reports.text(_one(problem, line)).split("\n")
    assert len(excerpt) <= len("  1 | ") + 102
    assert excerpt[caret.index("^")] == line[column - 1]
    cut = excerpt.removeprefix("  1 | ")
    assert cut.strip("…") in line
    assert len(cut.strip("…")) == 100
    assert cut.startswith("…") is (line[:5] not in cut)
    assert cut.endswith("…") is (line[-5:] not in cut)


def test_colour_marks_the_severity_and_the_caret_alone():
    plain, painted = reports.text(ALL), reports.text(ALL, colour=True)
    assert "\x1b" not in plain
    assert re.sub(r"\x1b\[[0-9;]*m", "", painted) == plain
    assert "\x1b[1;31merror\x1b[0m" in painted
    assert "\x1b[1;33mwarning\x1b[0m" in painted
    assert "\x1b[1;36minformation\x1b[0m" in painted
    assert painted.count("\x1b[0m") == 6


@pytest.mark.parametrize(
    ("checked", "line"),
    [
        (NONE, "3 files checked, 0 findings"),
        (_one(ERROR), "1 file checked, 1 finding (1 error)"),
        (ALL, "2 files checked, 3 findings (1 error, 1 warning, 1 information)"),
        (Checked(1, (ERROR, ERROR, WARNING, WARNING)), "1 file checked, 4 findings (2 errors, 2 warnings)"),
        (Checked(1, (NOTE, NOTE)), "1 file checked, 2 findings (2 information)"),
    ],
)
def test_the_summary_counts_by_severity(checked, line):
    assert reports.summary(checked) == line


def test_only_information_is_clean():
    assert NONE.clean
    assert Checked(1, (NOTE,)).clean
    assert not Checked(1, (NOTE, WARNING)).clean
    assert not Checked(1, (ERROR,)).clean


# --- JSON -------------------------------------------------------------------------------------------------------------


def test_json_holds_every_finding_whole():
    said = json.loads(reports.json_report(ALL))
    assert list(said) == ["format", "engine", "files", "clean", "findings"]
    assert (said["format"], said["engine"], said["files"], said["clean"]) == (1, tirerules.__version__, 2, False)
    assert [Problem(**each) for each in said["findings"]] == list(ALL.problems)
    assert json.loads(reports.json_report(NONE)) == {**said, "files": 3, "clean": True, "findings": []}


# --- workflow commands ------------------------------------------------------------------------------------------------


def test_an_annotation_names_file_line_column_and_code():
    assert reports.github(ALL).split("\n") == [
        "::error file=packs/shop.yaml,line=2,col=8,title=tirerules%3A quantity::'5' is no length%0Awrite \"6 mm\"",
        "::warning file=packs/shop.yaml,line=3,col=1,title=tirerules%3A never-binds::it never binds",
        "::notice file=packs/other.yaml,line=1,col=1,title=tirerules%3A laxer-than-baseline::"
        "100 %25 laxer,%0Aor so%0Aa: b",
    ]
    assert reports.github(NONE) == ""


def test_what_ends_a_property_is_escaped():
    # GitHub Actions, workflow commands: in data % CR LF, in properties also : and ,
    problem = Problem("quantity", "50%\r\nof: it, all", "", "a,b:c%/d\n.yaml", 1, 1)
    assert reports.github(_one(problem)) == (
        "::error file=a%2Cb%3Ac%25/d%0A.yaml,line=1,col=1,title=tirerules%3A quantity::50%25\\r%0Aof: it, all"
    )


def test_a_place_that_is_not_known_is_left_out():
    assert reports.github(Checked(1, (Problem("engine", "x"),))) == "::error title=tirerules%3A engine::x"


# --- SARIF ------------------------------------------------------------------------------------------------------------


def _log(checked):
    log = json.loads(reports.sarif(checked))
    assert list(SARIF.iter_errors(log)) == []
    return log


def test_a_log_is_valid_and_says_what_was_found():
    log = _log(ALL)
    (run,) = log["runs"]
    assert log["version"] == "2.1.0"
    assert run["columnKind"] == "unicodeCodePoints"
    assert (run["tool"]["driver"]["name"], run["tool"]["driver"]["version"]) == ("tirerules", tirerules.__version__)
    assert run["results"][0] == {
        "ruleId": "quantity",
        "ruleIndex": [code.name for code in CODES].index("quantity"),
        "level": "error",
        "message": {"text": "'5' is no length\nwrite \"6 mm\""},
        "locations": [
            {
                "physicalLocation": {
                    "artifactLocation": {"uri": "packs/shop.yaml"},
                    "region": {"startLine": 2, "startColumn": 8},
                },
                "logicalLocations": [{"fullyQualifiedName": "rules[0].limit.at-most"}],
            }
        ],
    }
    assert [each["level"] for each in run["results"]] == ["error", "warning", "note"]
    assert "logicalLocations" not in run["results"][1]["locations"][0]


def test_a_log_describes_every_code_and_points_to_it():
    # SARIF 2.1.0, 3.27.6: ruleIndex is the position in rules; 3.49.3: ids are unique among them.
    (run,) = _log(ALL)["runs"]
    described = run["tool"]["driver"]["rules"]
    assert [each["id"] for each in described] == [code.name for code in CODES]
    for each, code in zip(described, CODES, strict=True):
        assert each["shortDescription"] == each["fullDescription"]
        assert each["shortDescription"]["text"].lower() == f"{code.says.lower()}."
        assert each["help"]["text"].startswith(each["shortDescription"]["text"])
    for result in run["results"]:
        told = described[result["ruleIndex"]]
        assert told["id"] == result["ruleId"]
        assert told["defaultConfiguration"]["level"] == result["level"]


def test_a_clean_check_leaves_a_log_without_results():
    (run,) = _log(NONE)["runs"]
    assert run["results"] == []


def test_a_place_without_a_line_has_no_region():
    (run,) = _log(Checked(1, (Problem("engine", "x", file="a.yaml"),)))["runs"]
    assert run["results"][0]["locations"] == [{"physicalLocation": {"artifactLocation": {"uri": "a.yaml"}}}]


@pytest.mark.parametrize(
    ("file", "uri"),
    [
        ("packs/US/US-SC.yaml", "packs/US/US-SC.yaml"),
        ("../packs/a b.yaml", "../packs/a%20b.yaml"),
        ("a:b.yaml", "a%3Ab.yaml"),
        ("Québec.yaml", "Qu%C3%A9bec.yaml"),
        ("a\udcffb.yaml", "a%FFb.yaml"),
        ("/srv/pack s/a.yaml", "file:///srv/pack%20s/a.yaml"),
    ],
)
def test_a_file_is_named_by_a_reference(file, uri):
    (run,) = _log(_one(Problem("engine", "x", file=file, line=1, column=1)))["runs"]
    assert run["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] == uri


@pytest.mark.parametrize(
    "spoil",
    [
        lambda log: log.update(version="2.0.0"),
        lambda log: log["runs"][0].pop("tool"),
        lambda log: log["runs"][0]["results"][0].pop("message"),
        lambda log: log["runs"][0]["results"][0].update(level="information"),
        lambda log: log["runs"][0]["results"][0].update(rule="x"),
        lambda log: log["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["region"].update(startLine=0),
        lambda log: log["runs"][0]["tool"]["driver"]["rules"][0].pop("id"),
    ],
)
def test_the_schema_refuses_what_the_standard_does(spoil):
    log = _log(ALL)
    spoil(log)
    assert not SARIF.is_valid(log)


# --- every format, whatever a pack says -------------------------------------------------------------------------------

anything = st.text(st.characters(exclude_categories=()), max_size=12)
problems = st.builds(
    Problem,
    st.sampled_from([code.name for code in CODES]),
    anything,
    anything,
    st.sampled_from(["a.yaml", "b/é.yaml", "c\n,:%.yaml"]),
    st.integers(0, 3),
    st.integers(0, 9),
    anything,
    st.sampled_from(["error", "warning", "information"]),
)
checkeds = st.builds(
    lambda found, lines: Checked(1, tuple(found), {each.file: lines for each in found}),
    st.lists(problems, max_size=4),
    st.lists(anything, max_size=3),
)


def _harmless(text):
    return all(each == "\n" or each.isprintable() or unicodedata.category(each) == "Zs" for each in text)


@settings(max_examples=80, deadline=None)
@given(checkeds)
def test_no_format_passes_on_what_a_terminal_or_a_workflow_could_obey(checked):
    text, commands = reports.text(checked), reports.github(checked)
    for said in (text, commands, reports.json_report(checked), reports.sarif(checked)):
        assert _harmless(said)
        said.encode("utf-8")
    assert [line for line in text.split("\n") if line.strip().startswith("::")] == []
    lines = commands.split("\n") if commands else []
    assert len(lines) == len(checked.problems)
    assert all(re.match(r"::(error|warning|notice) ([a-z]+=[^,:\n]*,?)+::", line) for line in lines)


@settings(max_examples=80, deadline=None)
@given(checkeds)
def test_json_and_sarif_hold_whatever_is_said(checked):
    said = json.loads(reports.json_report(checked))
    assert [Problem(**each) for each in said["findings"]] == list(checked.problems)
    (run,) = _log(checked)["runs"]
    for result, problem in zip(run["results"], checked.problems, strict=True):
        assert result["message"]["text"].startswith(problem.message)
        uri = result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
        assert unquote(uri) == problem.file
        assert not urlsplit(uri).scheme


def test_the_broken_packs_are_told_whole_in_every_format():
    checked = check(BROKEN)
    text, commands = reports.text(checked), reports.github(checked)
    assert len(checked.problems) > 60
    heads = [line for line in text.split("\n") if not line.startswith("  ")]
    assert len(heads) == len(commands.split("\n")) == len(checked.problems)
    assert len(_log(checked)["runs"][0]["results"]) == len(checked.problems)
    assert len(json.loads(reports.json_report(checked))["findings"]) == len(checked.problems)
    carets = [line for line in text.split("\n") if re.fullmatch(r" +\| +\^|    \| \^", line)]
    assert len(carets) == len(checked.problems)


def test_the_table_of_codes_has_a_line_for_each():
    lines = reports.codes_table().split("\n")
    assert len(lines) == len(CODES)
    assert lines[0].split(None, 2) == [CODES[0].name, CODES[0].severity, CODES[0].says]
