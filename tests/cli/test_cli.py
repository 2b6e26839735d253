"""The command line as a shop, a program and a build use it. Every shop, ticket and pack of a shop is invented."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import subprocess
import sys
import threading
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import tirerules
from tests.engine import SIZE, rule
from tests.replaying.releases import NEWER, be_release, packs_of, records_of
from tests.support import injury, pack_text, repair_case
from tirerules import decision_to_json
from tirerules.cli import asking, main
from tirerules.cli.text import rested_on
from tirerules.engine.parts import Outcome, Reason
from tirerules.jurisdictions import JURISDICTIONS
from tirerules.record import digest_of
from tirerules.vocabulary import ACTIVITIES

ROOT = Path(__file__).parents[2]

#: The flags of `repair_case`: a plain passenger tire, 5 mm, 20 degrees, crown, in South Carolina.
PLAIN = [
    *("--jurisdiction", "US-SC", "--on", "2026-11-25"),
    *("--tire-class", "passenger", "--tire-sealant-layer", "no", "--tire-tread-depth", "6/32 in"),
    *("--vehicle-kind", "passenger-car", "--vehicle-use", "private"),
    *("--injury-kind", "puncture", "--injury-zone", "crown", "--injury-diameter", "5 mm", "--injury-angle", "20 deg"),
    *("--findings", "none", "--earlier-repairs", "none"),
]


@pytest.fixture(autouse=True)
def _few_packs_and_colour(shipping_few, monkeypatch):
    monkeypatch.delenv("NO_COLOR", raising=False)


@pytest.fixture
def run(capsys, monkeypatch):
    """Run the command line; return its exit code, standard output and standard error.

    A decision in text is read whole here; the short answer has tests of its own (`tests/cli/test_short.py`).
    """

    def call(*arguments: str, stdin: bytes = b"") -> SimpleNamespace:
        if arguments[:1] == ("decide",) and not {"-", "--json", "--help"} & {*arguments}:
            arguments = (*arguments, "--full")
        monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(stdin)))
        try:
            code = main(arguments)
        except SystemExit as stopped:  # argparse's own way to refuse a flag
            code = stopped.code
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return SimpleNamespace(code=code, out=out, err=err, lines=out.splitlines())

    return call


def with_flags(**flags: str | None) -> list[str]:
    """Return the plain flags with some of them changed, added or (None) left out."""
    said = dict(zip(PLAIN[::2], PLAIN[1::2], strict=True))
    said |= {"--" + name.replace("_", "-"): value for name, value in flags.items() if value is not None}
    gone = {"--" + name.replace("_", "-") for name, value in flags.items() if value is None}
    return [word for name, value in said.items() if name not in gone for word in (name, value)]


def json_file(folder: Path, said: Any, name: str = "ticket.json") -> str:
    path = folder / name
    path.write_text(said if isinstance(said, str) else json.dumps(said), encoding="utf-8")
    return str(path)


def shop_pack(folder: Path, rules: str = "", **head: str) -> str:
    """Write an invented shop's pack and return its path."""
    path = folder / "invented-shop.yaml"
    path.write_text(pack_text(rules or rule("small", "limit: {fact: injury.diameter, at-most: 4 mm}"), **head), "utf-8")
    return str(path)


# --- decide: flags ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("flags", "code", "first"),
    [
        ({}, 0, "REPAIRABLE WITHIN THE LIMITS, BY THE ONE-PIECE METHOD"),
        ({"injury_diameter": "8 mm"}, 3, "NOT REPAIRABLE WITHIN THE LIMITS"),
        ({"findings": None}, 4, "CANNOT BE TOLD YET"),
        ({"findings": "bead-damage, bulge"}, 3, "NOT REPAIRABLE WITHIN THE LIMITS"),
        ({"activity": "used-tire-installation", "injuries": "none"}, 0, "MAY BE INSTALLED AS A USED TIRE"),
    ],
    ids=["within", "outside", "undetermined", "findings", "another activity"],
)
def test_the_verdict_stands_on_the_first_line_and_sets_the_exit_code(run, flags, code, first):
    if flags.get("activity"):
        flags = {**flags, "injury_kind": None, "injury_zone": None, "injury_diameter": None, "injury_angle": None}
    found = run("decide", *with_flags(**flags))
    assert (found.code, found.lines[0], found.err) == (code, first, "")


def test_the_second_line_says_where_what_and_when(run):
    found = run("decide", *with_flags(reading="as-enacted"), "--jurisdiction", "CA-ON")
    assert found.lines[1] == "US-SC, CA-ON | repair | 2026-11-25 | as-enacted reading"


def test_flags_say_the_same_as_a_case_in_json(run):
    found = run("decide", "--json", *PLAIN)
    assert json.loads(found.out) == decision_to_json(tirerules.load().decide(repair_case()))
    assert len(found.lines) == 1


def test_every_kind_of_fact_has_a_flag(run):
    found = run(
        "decide",
        "--json",
        *with_flags(
            findings="leak, embedded-object",
            earlier_repairs=None,
            repair_zone="crown",
            repair_diameter="4 mm",
            repair_method="one-piece",
            repairs_count="2",
            repairs_overlap="no",
            tire_load_range="E",
            tire_size="225/45R17",
            axle_steer="yes",
            shop_full_service="no",
            sale_for_retreading="no",
            method="one-piece",
            unit_method="one-piece",
            unit_rated_angle="35 deg",
            unit_document="invented data sheet 12",
        ),
    )
    case = json.loads(found.out)["case"]
    assert case["findings"] == ["embedded-object", "leak"]
    assert case["earlier_repairs"] == [{"diameter": "4 mm", "zone": "crown", "method": "one-piece"}]
    assert case["repairs"] == {"count": 2, "overlap": False}
    assert (case["tire"]["load_range"], case["tire"]["size"], case["method"]) == ("E", "225/45R17", "one-piece")
    assert (case["axle"], case["shop"], case["sale"]) == (
        {"steer": True},
        {"full_service": False},
        {"for_retreading": False},
    )
    assert case["repair_unit"] == {
        "method": "one-piece",
        "rated_angle": "35 deg",
        "document": "invented data sheet 12",
    }


def test_what_no_flag_says_is_unknown(run):
    found = run("decide", "--json", "--jurisdiction", "US")
    case = json.loads(found.out)["case"]
    assert set(case) == {"jurisdictions", "activity", "on", "reading"}
    assert found.code == 4


# --- decide: what a counter person reads ------------------------------------------------------------------------------


def section(out: str, title: str) -> str:
    """Return the lines under a title, as one line of text."""
    found = re.search(rf"^{title}\n(.*?)(?:\n\n|\Z)", out, re.DOTALL | re.MULTILINE)
    return " ".join(found[1].split()) if found else ""


def test_the_citation_and_the_grade_of_evidence_stand_beside_what_decides(run):
    why = section(run("decide", *with_flags(injury_diameter="8 mm")).out, "Why")
    assert "NO injury.diameter: 8 mm -- at most 6 mm" in why
    assert "A passenger tire's puncture may be at most 1/4 in" in why
    assert "[industry-practice, secondary] (industry/puncture-size)" in why
    source = tirerules.load().packs["industry"].sources["light-chart"]
    assert source.citation in why


# 6 mm = 6/25.4 in = 0.236 in; 3/8 in = 9.525 mm (1 in = 25.4 mm exactly).
@pytest.mark.parametrize(
    ("flags", "shown"),
    [
        ({"injury_diameter": "8 mm"}, "at most 6 mm (0.236 in)"),
        ({"injury_diameter": "8 mm", "reading": "as-enacted"}, "at most 1/4 in (6.35 mm)"),
        ({"tire_tread_depth": "1 mm"}, "at least 2 mm (0.079 in)"),
    ],
)
def test_a_limit_is_shown_in_both_units(run, flags, shown):
    assert shown in section(run("decide", *with_flags(**flags)).out, "Why")


def test_the_cautions_are_always_shown(run):
    for flags in ({}, {"injury_diameter": "8 mm"}, {"findings": None}):
        caution = section(run("decide", *with_flags(**flags)).out, "Caution")
        assert "Not legal advice" in caution
        assert "inspect it inside and outside before any repair" in caution
        assert "Only trained persons repair tires" in caution


def test_what_is_to_be_measured_is_asked_in_words(run):
    found = run("decide", *with_flags(tire_tread_depth=None, findings=None))
    asked = section(found.out, "Find out next")
    assert asked.startswith("1. What did the inspection, inside and outside, find?")
    assert "2. What is the smallest tread depth on the tire? [mm or in] (tire.tread_depth)" in asked
    assert "findings: not known; needed for" in section(found.out, "Why")


def test_what_must_be_done_is_told_unless_there_is_nothing_to_do(run):
    assert "Take the tire off the wheel." in section(run("decide", *PLAIN).out, "Provided that")
    assert section(run("decide", *with_flags(injury_diameter="8 mm")).out, "Provided that") == ""


def test_each_method_is_told_with_what_is_against_it(run):
    methods = section(run("decide", *with_flags(tire_sealant_layer="yes")).out, "By method")
    assert methods.startswith("one-piece: within limits two-piece: outside limits: A tire with a factory sealant layer")
    assert "(industry/sealant-layer-method)" in methods


def test_only_a_rule_that_fails_is_a_reason_for_an_outside(run):
    """The bug: "a tire with a factory sealant layer ..." was given where nobody had spoken of one."""
    outside = run("decide", *with_flags(tire_sealant_layer=None, injury_diameter="8 mm"))
    methods = section(outside.out, "By method")
    assert (outside.code, "sealant" in methods) == (3, False)
    assert methods.startswith("one-piece: outside limits two-piece: outside limits section: outside limits: ")
    assert methods.endswith("(industry/no-section-repair)")  # which fails
    open_yet = run("decide", *with_flags(tire_sealant_layer=None, injury_angle="30 deg"))
    assert open_yet.code == 4
    assert "two-piece: undetermined: A tire with a factory sealant layer" in section(open_yet.out, "By method")


def test_repairs_that_nobody_mentioned_are_not_listed_one_by_one(run):
    why = section(run("decide", *with_flags(earlier_repairs=None)).out, "Why")
    assert why.count("not known") == 1
    assert re.match(r"\?\? earlier_repairs: not known; needed for industry/.*-repair-size, .*industry/no-overlap$", why)
    assert "repair.diameter" not in why
    mentioned = section(run("decide", *with_flags(earlier_repairs=None, repair_zone="crown")).out, "Why")
    assert "repair.diameter (earlier repair 1): not known" in mentioned
    assert "earlier_repairs" not in mentioned


def test_what_two_injuries_leave_open_is_not_laid_to_repairs(run, tmp_path):
    case = repair_case(injuries=injury() + injury(), earlier_repairs=None)
    why = section(run("decide", json_file(tmp_path, case)).out, "Why")
    assert "repairs.overlap: not known" in why
    assert "earlier_repairs: not known" in why


SOUND = (
    *("--tire-class", "passenger", "--tire-tread-depth", "9 mm", "--tire-regrooved", "no"),
    *("--vehicle-kind", "passenger-car", "--vehicle-use", "private", "--findings", "none", "--earlier-repairs", "none"),
)


@pytest.mark.parametrize(
    ("place", "activity"),
    [("US-SC", "used-tire-installation"), ("US-NJ", "tire-sale"), ("US-NJ", "road-use"), ("CA-ON", "road-use")],
)
def test_a_within_names_what_it_rests_on(run, place, activity):
    found = run("decide", "--jurisdiction", place, "--activity", activity, *SOUND)
    assert found.code == 0
    assert section(found.out, "Why").startswith("ok ")


def passes(fact: str, limit: str = "", *, applies: bool = True) -> Reason:
    return Reason(f"invented/{fact}{limit}", fact, "", "5 mm", limit, Outcome.PASSES, applies, False, "", None)


def test_the_strictest_limits_come_first_then_any_then_what_was_not_found():
    strict, lax = passes("tire.tread_depth", "3 mm"), passes("tire.tread_depth", "2 mm")
    found, doubtful = passes("findings"), passes("tire.age", "1", applies=False)
    decision = SimpleNamespace(limits={"tire.tread_depth": SimpleNamespace(binding=(strict.rule,))})
    assert rested_on(decision, [lax, found, strict, doubtful]) == [strict]
    assert rested_on(decision, [lax, found, doubtful]) == [lax]
    assert rested_on(decision, [found, doubtful]) == [found]


@pytest.mark.parametrize(
    ("flag", "word", "offered"),
    [
        ("injury-zone", "tread", "crown"),  # once bead, which looks more like it
        ("repair-zone", "Center", "crown"),
        ("injury-zone", "edge", "shoulder or belt-edge"),
        ("tire-class", "car", "passenger"),
        ("vehicle-kind", "car", "passenger-car"),
        ("findings", "dry rot", "weather-cracking"),
        ("method", "patch", "patch-only"),
        ("injury-zone", "crwn", "crown"),
    ],
)
def test_an_everyday_word_is_answered_with_the_trades_and_never_taken_for_it(run, flag, word, offered):
    found = run("decide", "--jurisdiction", "US-SC", f"--{flag}", word)
    assert (found.code, found.out) == (2, "")
    assert found.err.endswith(f" -- did you mean {offered}?\n")


def test_several_injuries_are_told_apart(run, tmp_path):
    two = injury() + injury(diameter="8 mm")
    case = repair_case(injuries=two, repairs={"overlap": False}, tire={"construction": "radial"})
    found = run("decide", json_file(tmp_path, case))
    assert "NO injury.diameter (injury 2): 8 mm" in section(found.out, "Why")
    assert "injury 1, one-piece: within limits" in section(found.out, "By method")


def test_an_extended_limit_is_told_as_such(run):
    unit = {"unit_method": "one-piece", "unit_rated_angle": "35 deg", "unit_document": "invented data sheet 12"}
    found = run("decide", *with_flags(injury_angle="35 deg", tire_sealant_layer="yes", **unit))
    assert found.code == 0
    assert "Extended on the unit's documented rating." in section(found.out, "Why")


def test_a_gap_in_the_law_is_noted(run):
    assert re.search(r"South Carolina: no [a-z ]*repair [a-z ]*was located", section(run("decide", *PLAIN).out, "Note"))


def test_no_line_is_wider_than_a_terminal(run):
    for arguments in (PLAIN, with_flags(findings=None), with_flags(injury_diameter="8 mm")):
        assert max(map(len, run("decide", *arguments).lines)) <= 100


# A 5 mm channel at 20 degrees through 12 mm, its outer opening 40 mm from the center line, leaning nobody knows where:
# outside it reaches 40 + 2.5 / cos 20 = 42.66 mm, inside 12 tan 20 = 4.37 mm further, 47.03 mm (handbook trigonometry).
# The band is what the baseline makes of 180 mm of tread, so only its margin is computed here.
def test_where_a_measured_injury_lies_is_told(run):
    measured = {"injury_from_centerline": "40 mm", "tire_tread_width": "180 mm", "tire_size": "225/45R17 91W"}
    found = run("decide", *with_flags(tire_thickness="12 mm", **measured))
    lies = section(found.out, "Where it lies")
    assert "injury 1: 40 mm from the center line" in lies
    assert "reaches 42.66 mm (1.68 in) outside and 47.03 mm (1.851 in) inside" in lies
    band, margin = (float(number) for number in re.findall(r"(?:band|margin) (-?[0-9.]+) mm", lies))
    assert band - margin == pytest.approx(47.03, abs=0.011)
    unknown = run("decide", *with_flags(injury_angle=None, **measured))
    assert section(unknown.out, "Where it lies").endswith("how far it reaches is not known yet")
    assert "(injury.angle)" in section(unknown.out, "Find out next")


def test_an_injury_of_which_only_the_zone_is_known_has_no_measured_place(run):
    assert section(run("decide", *PLAIN).out, "Where it lies") == ""


def test_a_measured_injury_on_a_tire_without_a_band_has_nothing_to_be_held_against(run):
    found = run(
        "decide", *with_flags(tire_class="agricultural", injury_from_centerline="40 mm", tire_thickness="12 mm")
    )
    assert section(found.out, "Where it lies") == ""


# --- colour -----------------------------------------------------------------------------------------------------------


# NO_COLOR: "when present and not an empty string" (no-color.org, from memory).
@pytest.mark.parametrize(
    ("terminal", "no_color", "coloured"),
    [(False, None, False), (True, None, True), (True, "1", False), (True, "", True), (False, "", False)],
)
def test_colour_is_for_terminals_that_want_it(run, monkeypatch, terminal, no_color, coloured):
    monkeypatch.setattr(sys.stdout, "isatty", lambda: terminal, raising=False)
    if no_color is not None:
        monkeypatch.setenv("NO_COLOR", no_color)
    found = run("decide", *PLAIN)
    assert ("\x1b[" in found.out) is coloured
    assert re.sub(r"\x1b\[[0-9;]*m", "", found.lines[0]) == "REPAIRABLE WITHIN THE LIMITS, BY THE ONE-PIECE METHOD"


def test_json_has_no_colour_even_on_a_terminal(run, monkeypatch):
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    assert "\x1b[" not in run("decide", "--json", *PLAIN).out


# --- decide: a file ---------------------------------------------------------------------------------------------------


def test_a_case_is_read_from_a_file(run, tmp_path):
    path = json_file(tmp_path, repair_case())
    found = run("decide", path, "--json")
    assert json.loads(found.out) == decision_to_json(tirerules.load().decide(repair_case()))
    assert run("decide", path).lines[0] == "REPAIRABLE WITHIN THE LIMITS, BY THE ONE-PIECE METHOD"


@pytest.mark.parametrize("more", [(), ("--json",)], ids=["text", "JSON"])
def test_a_pipe_is_read_once_and_so_are_the_packs(run, tmp_path, monkeypatch, more):
    loads: list[object] = []
    monkeypatch.setattr(asking, "load", lambda *folders, **chosen: loads.append(folders) or tirerules.load())
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    for _ in range(2):
        writer = threading.Thread(target=pipe.write_text, args=(json.dumps(repair_case()), "utf-8"))
        writer.start()
        found = run("decide", str(pipe), *more)
        writer.join()
        assert (found.code, found.err) == (0, "")
    assert loads == [(), ()]


def test_nothing_that_a_decision_says_is_kept_on_disk(run, tmp_path, monkeypatch):
    monkeypatch.setenv("TIRERULES_CACHE", str(tmp_path / "cache"))
    for more in ((), ("--json",)):
        assert run("decide", *PLAIN, *more).code == 0
    kept = [file.name.partition("-")[0] for file in (tmp_path / "cache").iterdir()]
    assert {*kept} == {"heads", "pack"}


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("{", "json-syntax"),
        ("", "json-syntax"),
        ("[" * 100_000, "nested too deep"),
        ('{"activity": NaN}', "NaN is no value"),
        ('{"activity": "repair", "activity": "repair"}', "stands twice"),
        ("[]", "case"),
        ({"activity": "repair"}, "jurisdictions"),
        (repair_case(tire={"class": "car"}), "tire.class"),
        (repair_case(jurisdictions=["US-SX"]), "did you mean US-SC or US-SD?"),
        (repair_case(jurisdictions=["US-TX"]), "holds no pack for US-TX"),
    ],
    ids=["cut off", "empty", "deep", "NaN", "twice", "list", "no place", "wrong word", "unknown code", "no pack"],
)
def test_a_wrong_case_is_refused_on_standard_error(run, tmp_path, content, says):
    found = run("decide", json_file(tmp_path, content))
    assert (found.code, found.out) == (2, "")
    assert says in found.err
    assert found.err.startswith("tirerules: ")


def test_all_problems_of_a_case_are_shown(run, tmp_path):
    case = repair_case(tire={"class": "car", "tread_depth": 4}, injuries=injury(zone="tread"))
    found = run("decide", json_file(tmp_path, case))
    assert [place for place in ("tire.class", "tire.tread_depth", "injuries[0].zone") if place in found.err] == [
        "tire.class",
        "tire.tread_depth",
        "injuries[0].zone",
    ]


def test_a_file_that_cannot_be_read_is_named(run, tmp_path):
    missing = run("decide", str(tmp_path / "nothing.json"))
    assert (missing.code, missing.out) == (2, "")
    assert "nothing.json" in missing.err
    folder = run("decide", str(tmp_path))
    assert (folder.code, folder.out) == (2, "")
    assert str(tmp_path) in folder.err
    (tmp_path / "latin.json").write_bytes('{"tire": {"size": "é"}}'.encode("latin-1"))
    latin = run("decide", str(tmp_path / "latin.json"))
    assert (latin.code, latin.out) == (2, "")
    assert "no UTF-8 text" in latin.err


# --- decide: a stream -------------------------------------------------------------------------------------------------


def lines_of(*cases: Any) -> bytes:
    return b"".join(json.dumps(case).encode() + b"\n" for case in cases)


def test_one_case_a_line_in_and_one_decision_a_line_out(run):
    cases = [repair_case(), repair_case(injuries=injury(diameter="8 mm")), repair_case(findings=None)]
    found = run("decide", "-", stdin=lines_of(*cases))
    rulebook = tirerules.load()
    assert [json.loads(line) for line in found.lines] == [decision_to_json(rulebook.decide(case)) for case in cases]
    assert found.err == ""


def test_a_bad_line_costs_only_itself(run):
    good = lines_of(repair_case())
    bad = [
        b"{",
        b"\xff\xfe\n".rstrip(),
        b'{"activity": "repair"}',
        json.dumps(repair_case(tire={"class": "car", "age": 5})).encode(),
        json.dumps(repair_case(jurisdictions=["US-SX"])).encode(),
        json.dumps(repair_case(jurisdictions=["US-TX"])).encode(),
        b'{"a": 1, "a": 2}',
        b'{"a": NaN}',
        b"[" * 50_000,
        b"7",
        b"null",
    ]
    stream = good + b"".join(line + b"\n" + good for line in bad)
    found = run("decide", "-", stdin=stream)
    answers = [json.loads(line) for line in found.lines]
    assert [each["verdict"] for each in answers[::2]] == ["within-limits"] * (len(bad) + 1)
    errors = [each["error"] for each in answers[1::2]]
    assert [error["line"] for error in errors] == list(range(2, 2 * len(bad) + 1, 2))
    assert [error["problems"][0]["code"] for error in errors] == [
        "json-syntax",
        "not-utf-8",
        "case-key",
        "case-value",
        "case-place",
        "case-place",
        "json-duplicate",
        "json-constant",
        "json-syntax",
        "case-value",
        "case-key",
    ]
    assert [each["path"] for each in errors[3]["problems"]] == ["tire.class", "tire.age"]
    assert "did you mean US-SC or US-SD?" in errors[4]["problems"][0]["message"]
    assert (found.code, found.err) == (2, "")


def test_blank_lines_are_no_cases_and_still_count(run):
    found = run("decide", "-", stdin=b"\n \r\n" + lines_of(repair_case()).replace(b"\n", b"\r\n") + b"\n{\n")
    answers = [json.loads(line) for line in found.lines]
    assert answers[0]["verdict"] == "within-limits"
    assert answers[1]["error"]["line"] == 5


def test_a_last_line_needs_no_end(run):
    found = run("decide", "-", stdin=lines_of(repair_case()).rstrip())
    assert (found.code, len(found.lines)) == (0, 1)


def test_letters_of_any_script_come_back_as_they_are(run):
    unit = {"method": "one-piece", "rated_angle": "35 deg", "document": "フィクション 12 — invenção"}
    found = run("decide", "-", stdin=json.dumps(repair_case(repair_unit=unit), ensure_ascii=False).encode())
    assert unit["document"] in found.out


WITHIN = repair_case()
OUTSIDE = repair_case(injuries=injury(diameter="8 mm"))
OPEN = repair_case(findings=None)
WRONG = {"activity": "repair"}


@pytest.mark.parametrize(
    ("cases", "code"),
    [
        ([], 0),
        ([WITHIN], 0),
        ([WITHIN, OPEN], 4),
        ([OUTSIDE, OPEN, WITHIN], 3),
        ([WITHIN, OUTSIDE], 3),
        ([WRONG, OUTSIDE, OPEN, WITHIN], 2),
        ([WITHIN, WRONG], 2),
    ],
    ids=["none", "within", "undetermined", "outside", "outside last", "wrong", "wrong last"],
)
def test_a_stream_ends_with_the_worst_of_its_lines(run, cases, code):
    assert run("decide", "-", stdin=lines_of(*cases)).code == code


junk = st.binary(max_size=60).filter(lambda line: line.strip() and b"\n" not in line)
values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(st.characters(codec="utf-8")),
    lambda inside: st.lists(inside, max_size=3) | st.dictionaries(st.sampled_from(["class", "size", "é"]), inside),
    max_leaves=6,
)
keys = st.sampled_from(["jurisdictions", "activity", "on", "tire", "injuries", "findings", "repair_unit", "reading"])
odd_cases = st.dictionaries(keys, values).map(lambda said: json.dumps(said, ensure_ascii=False).encode())


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(lines=st.lists(junk | odd_cases, min_size=5, max_size=30))
def test_whatever_comes_in_one_answer_a_line_comes_out(run, lines):
    found = run("decide", "-", stdin=b"\n".join(lines))
    answers = [json.loads(line) for line in found.lines]
    assert len(answers) == len(lines)
    for number, answer in enumerate(answers, start=1):
        if "error" in answer:
            assert answer["error"]["line"] == number
            assert all(each["code"] and each["message"] for each in answer["error"]["problems"])
        else:
            assert answer["verdict"] in ("within-limits", "outside-limits", "undetermined")


# --- wrong flags ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ([], "COMMAND"),
        (["repair"], "repair"),
        (["decide"], "no jurisdiction is named"),
        (["decide", "--activity", "fix", "--jurisdiction", "US"], "fix"),
        (["decide", "--jurisdiction", "US", "--reading", "lax"], "lax"),
        (["decide", "--jurisdiction", "US-SX"], "did you mean US-SC or US-SD?"),
        (["decide", "--jurisdiction", "US", "--tire-class", "car"], "'car' is no tire.class"),
        (["decide", "--jurisdiction", "US", "--tire-retread", "maybe"], "tire.retread must be true or false"),
        (["decide", "--jurisdiction", "US", "--tire-tread-depth", "4"], '"4 mm" or "4 in"'),
        (["decide", "--jurisdiction", "US", "--injury-angle", "95 deg"], "below 90 deg"),
        (["decide", "--jurisdiction", "US", "--repairs-count", "two"], "whole number"),
        (["decide", "--jurisdiction", "US", "--repairs-count", "²"], "whole number"),
        (["decide", "--jurisdiction", "US", "--findings", "bulgy"], "did you mean bulge?"),
        (["decide", "--jurisdiction", "US", "--on", "tomorrow"], "write YYYY-MM-DD"),
        (["decide", "--jurisdiction", "US", "--injuries", "one"], "one"),
        (["decide", "--jurisdiction", "US", "--injuries", "none"], "a repair without an injury"),
        (["decide", "--jurisdiction", "US", "--unit-rated-angle", "35 deg"], "name the method that the unit is for"),
        (["decide", "--jurisdiction", "US", "--packs", "/no/such/folder"], "/no/such/folder"),
        (["decide", "--jurisdiction", "US", "--pin", "US-XX===1.0.0"], "US-XX"),
        (["decide", "--jurisdiction", "US", "--pin", "US=newest"], "no version specifier"),
        (["decide", "--jurisdiction", "US", "--pin", "US===9.9.9"], "US"),
        (["decide", "--jurisdiction", "US", "--lock", "/no/such/file"], "/no/such/file"),
        (["limits"], "CODE"),
        (["limits", "US-SX"], "did you mean US-SC or US-SD?"),
        (["limits", "US", "--activity", "fix"], "fix"),
        (["check"], "PATH"),
        (["check", "/no/such/folder"], "/no/such/folder"),
        (["replay"], "FILE"),
        (["replay", "/no/such/file"], "/no/such/file"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_a_wrong_question_gets_a_sentence_on_standard_error(run, arguments, says):
    found = run(*arguments)
    assert (found.code, found.out) == (2, "")
    assert says in found.err


def test_the_version_is_told(run):
    found = run("--version")
    assert (found.code, found.out) == (0, f"tirerules {tirerules.__version__}\n")


@pytest.mark.parametrize("command", ["decide", "limits", "check", "coverage", "replay"])
def test_every_command_explains_itself(run, command):
    found = run(command, "--help")
    assert found.code == 0
    assert f"usage: tirerules {command}" in found.out
    assert command in run("--help").out


# --- packs of one's own, pins and locks -------------------------------------------------------------------------------


def test_a_shops_own_pack_is_used(run, tmp_path):
    found = run("decide", *PLAIN, "--packs", shop_pack(tmp_path))
    assert found.code == 3
    assert "(invented-shop/small)" in found.out
    assert run("decide", *PLAIN, "--packs", str(tmp_path)).out == found.out


def test_a_shops_loose_rule_changes_no_answer(run, tmp_path):
    """It stands in the ladder and does not bind."""
    loose = run("decide", *PLAIN, "--packs", shop_pack(tmp_path, SIZE), "--json")
    limits = json.loads(loose.out)["limits"]["injury.diameter"]
    assert loose.code == 0
    assert [rung["rule"] for rung in limits["ladder"]] == ["industry/puncture-size", "invented-shop/size"]
    assert limits["binding"] == ["industry/puncture-size"]


def test_a_broken_pack_stops_the_decision_and_is_named(run, tmp_path):
    path = shop_pack(tmp_path)
    Path(path).write_text(Path(path).read_text("utf-8").replace("at-most: 4 mm", "at-most: 4"), "utf-8")
    found = run("decide", *PLAIN, "--packs", path)
    assert (found.code, found.out) == (2, "")
    assert f"{path}:" in found.err


def test_a_pin_chooses_the_version(run, tmp_path):
    for version, size in (("1.0.0", "9 mm"), ("2.0.0", "4 mm")):
        rules = rule("own", f"limit: {{fact: injury.diameter, at-most: {size}}}")
        (tmp_path / f"invented-shop@{version}.yaml").write_text(pack_text(rules, version=version), "utf-8")
    packs = ["--packs", str(tmp_path)]
    assert run("decide", *PLAIN, *packs).code == 3
    assert run("decide", *PLAIN, *packs, "--pin", "invented-shop=~=1.0").code == 0
    assert run("decide", *PLAIN, *packs, "--pin", "invented-shop===2.0.0").code == 3
    nothing = run("decide", *PLAIN, *packs, "--pin", "invented-shop=>=3")
    assert (nothing.code, nothing.out) == (2, "")
    assert "versions found: 1.0.0, 2.0.0" in nothing.err


def test_a_recorded_decision_is_a_lock(run, tmp_path):
    recorded = json_file(tmp_path, run("decide", "--json", *PLAIN).out, "decision.json")
    assert run("decide", *PLAIN, "--lock", recorded).code == 0
    lock = json_file(tmp_path, json.loads(Path(recorded).read_text("utf-8"))["packs"], "lock.json")
    assert run("decide", *PLAIN, "--lock", lock).code == 0
    other = run("decide", *with_flags(jurisdiction="US-NJ"), "--lock", lock)
    assert (other.code, other.out) == (2, "")
    assert "no pack for US-NJ" in other.err


def test_a_lock_that_does_not_fit_is_refused(run, tmp_path):
    lock = json.loads(run("decide", "--json", *PLAIN).out)["packs"]
    lock["US"]["sha256"] = "0" * 64
    found = run("decide", *PLAIN, "--lock", json_file(tmp_path, lock))
    assert (found.code, found.out) == (2, "")
    assert re.search(r"the packs differ from the lock: US \S+ has other content", found.err)


@pytest.mark.parametrize("said", ["{", "[]", "7", '{"US": {}}', '{"packs": 7}'])
def test_what_is_no_lock_is_refused(run, tmp_path, said):
    found = run("decide", *PLAIN, "--lock", json_file(tmp_path, said))
    assert (found.code, found.out) == (2, "")
    assert found.err.startswith("tirerules: ")


# --- limits -----------------------------------------------------------------------------------------------------------


def test_limits_show_the_ladder_with_a_star_for_what_binds(run):
    found = run("limits", "US-SC", "--activity", "repair", "--tire-class", "passenger", "--on", "2026-11-25")
    assert (found.code, found.err) == (0, "")
    assert found.lines[0] == "REPAIR, by the one-piece method | US-SC | 2026-11-25"
    at = found.lines.index("  injury.diameter")
    assert found.lines[at + 1] == "   * at most 6 mm (0.236 in) (as enacted: at most 1/4 in, also printed 6 mm)"
    assert found.lines[at + 2].startswith("       industry/puncture-size: ")


def test_limits_mark_what_only_may_apply(run):
    found = run("limits", "US-SC", "--activity", "repair", "--tire-class", "light-truck")
    at = found.lines.index("  injury.diameter")
    rungs = [line for line in found.lines[at + 1 :] if line.startswith("     ")]
    assert any("only if" in line and "tire.load_range" in line for line in rungs)


def test_limits_of_every_activity_are_told_unless_one_is_named(run):
    found = run("limits", "US-SC", "--on", "2026-11-25")
    titles = [line.partition(" | ")[0].partition(",")[0] for line in found.lines if " | US-SC | " in line]
    assert titles == [str(activity).upper() for activity in ACTIVITIES]
    assert re.search(r"no [a-z ]*repair [a-z ]*was located", found.out)


def test_limits_show_that_three_eighths_bind_used_tires_alone(run):
    """S.C. Code Ann. § 39-75-210: damage larger than 3/8 inch (9.525 mm) makes a used tire unsafe."""
    repair = run("limits", "US-SC", "--activity", "repair").out
    used = run("limits", "US-SC", "--activity", "used-tire-installation", "--on", "2026-11-25").out
    assert "US-SC/" not in repair
    assert "at most 3/8 in (9.525 mm)" in used
    assert "US-SC/used-tire-puncture-size: S.C. Code Ann. § 39-75-210" in " ".join(used.split())


DEAD = """\
not-law:
  - title: Invented bill 12
    outcome: vetoed
    year: 2024
    would-have-set: An invented ceiling of 1 mm.
"""


def test_a_bill_that_is_no_law_is_told_apart_from_the_ladder(run, tmp_path):
    """It is told for its own place only, and binds nowhere."""
    head = {"pack": "US-TX", "kind": "jurisdiction", "coverage": "{repair: none-located}", "authority": "statute"}
    (tmp_path / "US-TX.yaml").write_text(pack_text(more=DEAD, **head), "utf-8")
    arguments = ("--activity", "repair", "--packs", str(tmp_path))
    told = run("limits", "US-TX", *arguments).out.partition("NOT LAW (never binds)\n")
    assert "US-TX: Invented bill 12 (vetoed 2024): An invented ceiling of 1 mm." in told[2]
    assert "Invented bill 12" not in told[0]
    assert "Invented bill 12" not in run("limits", "US-SC", *arguments).out


def test_limits_as_json_are_those_of_the_decision(run):
    found = run("limits", "US-SC", "CA-ON", "--json", "--on", "2026-11-25", "--tire-class", "passenger")
    said = json.loads(found.out)
    assert list(said) == [str(activity) for activity in ACTIVITIES]
    case = {
        "jurisdictions": ["US-SC", "CA-ON"],
        "activity": "repair",
        "on": "2026-11-25",
        "tire": {"class": "passenger"},
    }
    assert said["repair"] == decision_to_json(tirerules.load().decide(case))["limits"]
    one = run("limits", "US-SC", "--json", "--activity", "road-use")
    assert list(json.loads(one.out)) == ["road-use"]


# --- coverage ---------------------------------------------------------------------------------------------------------


def test_coverage_shows_every_code_and_activity(run):
    found = run("coverage")
    assert (found.code, found.err) == (0, "")
    head, *rows = found.out.partition("\n\n")[0].splitlines()
    assert head.split() == [*(str(activity) for activity in ACTIVITIES), "oldest", "review"]
    assert [row.split()[0] for row in rows] == list(JURISDICTIONS)
    texas = next(row for row in rows if row.startswith("US-TX"))
    assert texas.split() == ["US-TX", *("-" for _ in ACTIVITIES), "-"]
    assert "US-TX" in section(found.out, "Missing")


def test_coverage_counts_the_rules_of_each_pack(run):
    cells = json.loads(run("coverage", "--format", "json").out)["cells"]
    packs = tirerules.load().packs
    assert len(cells) == len(JURISDICTIONS) * len(ACTIVITIES)
    for cell in cells:
        held = packs.get(cell["code"])
        rules = [each for each in held.rules if cell["activity"] in each.activities] if held else []
        assert cell["rules"] == len(rules)
        assert cell["text_read"] + cell["secondary"] + cell["memory"] == len(rules)
        assert cell["coverage"] == (held.coverage.get(cell["activity"], "not-reviewed") if held else "no-pack")


def test_coverage_as_csv_says_the_same_as_json(run):
    rows = list(csv.DictReader(io.StringIO(run("coverage", "--format", "csv").out)))
    cells = json.loads(run("coverage", "--format", "json").out)["cells"]
    assert rows == [{key: str(value) for key, value in cell.items()} for cell in cells]


# --- check ------------------------------------------------------------------------------------------------------------


#: An invented shop's rule with an example on each side of it, as a check wants them.
SMALL = rule("small", "limit: {fact: injury.diameter, at-most: 4 mm}", when="{tire.class: passenger}")


def examples(*sizes_and_verdicts: str) -> str:
    """Return the examples of a pack: an invented ticket for each size, with the verdict that is expected."""
    pairs = zip(sizes_and_verdicts[::2], sizes_and_verdicts[1::2], strict=True)
    said = [
        {"case": repair_case(injuries=injury(diameter=size)), "expect": {"verdict": verdict}} for size, verdict in pairs
    ]
    return f"examples: {json.dumps(said)}\n"


GOOD = ("4 mm", "within-limits", "4.1 mm", "outside-limits")


def test_a_clean_pack_is_clean(run, tmp_path):
    text = pack_text(SMALL, more=examples(*GOOD))
    (tmp_path / "invented-shop.yaml").write_text(
        text.replace('"outside-limits"', '"outside-limits", "because": ["small"]')
    )
    found = run("check", str(tmp_path))
    assert (found.code, found.out) == (0, "")
    assert "1 file checked, 0 findings" in found.err


def test_findings_stand_on_standard_output_with_their_place(run, tmp_path):
    path = tmp_path / "invented-shop.yaml"
    path.write_text(pack_text(SMALL.replace("4 mm", "4 furlongs"), more=examples(*GOOD)))
    found = run("check", str(path))
    assert found.code == 1
    assert re.match(rf"{re.escape(str(path))}:\d+:\d+: .*\[quantity\] at rules\[0\]\.limit\.at-most", found.lines[0])
    assert "1 file checked, 1 finding" in found.err


def test_an_example_that_fails_is_a_finding(run, tmp_path):
    path = tmp_path / "invented-shop.yaml"
    path.write_text(pack_text(SMALL, more=examples(*GOOD, "4.1 mm", "within-limits")))
    found = run("check", str(path))
    assert found.code == 1
    assert "examples[2]" in found.out
    assert "expected within-limits, got outside-limits" in found.out


def test_a_folder_without_packs_could_not_be_checked(run, tmp_path):
    found = run("check", str(tmp_path))
    assert (found.code, found.out) == (2, "")
    assert "no .yaml file" in found.err


# --- replay -----------------------------------------------------------------------------------------------------------


def test_a_recorded_decision_stands(run, tmp_path):
    found = run("replay", json_file(tmp_path, run("decide", "--json", *PLAIN).out))
    assert (found.code, found.err) == (0, "")
    assert "the decision stands" in found.out


def test_a_tampered_decision_does_not_stand(run, tmp_path):
    said = json.loads(run("decide", "--json", *with_flags(injury_diameter="8 mm")).out)
    found = run("replay", json_file(tmp_path, {**said, "verdict": "within-limits"}))
    assert found.code == 1
    assert found.out.splitlines()[0].startswith("the record does not match its own digest")
    assert "verdict differs: recorded within-limits, now outside-limits" in found.out


def test_a_decision_by_a_shops_pack_is_replayed_with_it(run, tmp_path):
    path = shop_pack(tmp_path)
    recorded = json_file(tmp_path, run("decide", "--json", *PLAIN, "--packs", path).out)
    assert run("replay", recorded, "--packs", path).code == 0
    without = run("replay", recorded)
    assert (without.code, without.out) == (2, "")
    assert "invented-shop 1.0.0 is not here (found: none) -- name where the packs of that day are" in without.err
    assert run("replay", recorded, "--packs", str(tmp_path / "nowhere")).code == 2


def test_what_another_release_answers_is_said_to_be_the_same_or_another(run, tmp_path, monkeypatch):
    packs = str(packs_of("1.0.0", tmp_path / "packs"))
    said = records_of("1.0.0")[0]
    be_release(monkeypatch, NEWER)
    found = run("replay", json_file(tmp_path, said), "--packs", packs)
    assert (found.code, found.err) == (0, "")
    first, *rest = found.out.splitlines()
    assert first == (
        f"same answer, newer library: made by tirerules 1.0.0, decided again by {NEWER}; same case, same packs, same "
        "digest once the version is put back"
    )
    assert all(line.startswith(f"said besides by {NEWER}: ") for line in rest)
    said |= {"verdict": "undetermined"}
    found = run("replay", json_file(tmp_path, said | {"digest": digest_of(said)}), "--packs", packs)
    assert (found.code, found.err) == (1, "")
    assert found.out.splitlines() == [
        f"another answer (made by tirerules 1.0.0, decided again by {NEWER})",
        "verdict differs: recorded undetermined, now within-limits",
    ]
    be_release(monkeypatch, "1.90.1")
    later = run("decide", "--json", *PLAIN).out
    be_release(monkeypatch, "1.90.0")
    assert run("replay", json_file(tmp_path, later)).out.startswith(
        "same answer, older library: made by tirerules 1.90.1"
    )


@pytest.mark.parametrize("said", ["{", "[]", "7", "{}", '{"packs": {}}'])
def test_what_is_no_decision_cannot_be_replayed(run, tmp_path, said):
    found = run("replay", json_file(tmp_path, said))
    assert (found.code, found.out) == (2, "")
    assert found.err.startswith("tirerules: ")


# --- as a process -----------------------------------------------------------------------------------------------------


def process(*arguments: str, folder: Path, stdin: bytes = b"") -> subprocess.CompletedProcess[bytes]:
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8"}
    command = [sys.executable, "-m", "tirerules", *arguments]
    return subprocess.run(
        command, cwd=folder, env=environment, input=stdin, capture_output=True, check=False, timeout=60
    )


def test_the_command_runs_as_a_module_from_any_folder(tmp_path):
    done = process("decide", *PLAIN, folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout.decode().splitlines()[0] == "REPAIRABLE WITHIN THE LIMITS, BY THE ONE-PIECE METHOD"
    assert b"\x1b[" not in done.stdout


def test_a_stream_goes_on_after_bad_lines_in_a_real_pipe(tmp_path):
    done = process("decide", "-", folder=tmp_path, stdin=b"\xff\n" + lines_of(OUTSIDE) + b"{\n")
    answers = [json.loads(line) for line in done.stdout.decode().splitlines()]
    assert (done.returncode, done.stderr) == (2, b"")
    assert [each.get("verdict") for each in answers] == [None, "outside-limits", None]


def test_a_reader_that_goes_away_gets_no_traceback(tmp_path):
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-m", "tirerules", "decide", "-"]
    pipe = subprocess.PIPE
    with subprocess.Popen(command, cwd=tmp_path, env=environment, stdin=pipe, stdout=pipe, stderr=pipe) as running:
        assert running.stdin is not None
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.close()
        running.stdin.write(lines_of(OUTSIDE) * 3)
        running.stdin.close()
        said = running.stderr.read()
        assert running.wait(timeout=60) == 2
    assert said == b""
