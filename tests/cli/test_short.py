"""The short answer: fifteen kinds of tickets of an invented shop, each told in at most fifteen lines of 80 columns."""

from __future__ import annotations

import json
import re

import pytest

from tests.cli.kinds import KINDS
from tests.support import injury, repair_case
from tirerules import decision_to_json, load
from tirerules.cli import main
from tirerules.cli.short import line_text, short_text
from tirerules.escaping import is_control
from tirerules.labels import name_of

LINES, COLUMNS = 15, 80
CASES = {"two punctures": repair_case(injuries=injury(clock="3:00") + injury(diameter="4 mm", clock="9:00"))}


@pytest.fixture(scope="module")
def answers(tmp_path_factory):
    """Return what is printed for each kind, short and as JSON."""
    found = dict(KINDS)
    for name, case in CASES.items():
        file = tmp_path_factory.mktemp("tickets") / "ticket.json"
        file.write_text(json.dumps(case), encoding="utf-8")
        found[name] = (str(file),)
    return found


@pytest.mark.parametrize("name", [*KINDS, *CASES])
def test_each_kind_is_told_in_fifteen_lines(name, answers, capsys):
    code = main(["decide", *answers[name]])
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) <= LINES, "\n".join(lines)
    assert max(map(len, lines)) <= COLUMNS, "\n".join(lines)
    assert main(["decide", *answers[name], "--json"]) == code
    said = json.loads(capsys.readouterr().out)
    text = " ".join(" ".join(lines).split())
    assert lines[0] == said["say"].upper()
    assert "Not legal advice" in text
    assert "Only trained persons repair tires." in text
    if said["verdict"] == "outside-limits":
        assert_decided_by(said, text)
        assert ("Nothing that a shop can change" in text) or ("Within the limits instead" in text)
    if said["verdict"] == "undetermined" and said["questions"]:
        assert said["questions"][0]["ask"] in text
        flags = re.findall(r"\((--[a-z-]+)\)", text)
        assert all(flag in help_text(capsys) for flag in flags if flag != "--full")
    if said["verdict"] == "within-limits":
        assert "Provided that" in text


def assert_decided_by(said, text):
    """A rule that fails is named by its fact and its measure, with the grade of its source."""
    reasons = [*said["reasons"], *(each for by in said["methods"] for each in by["reasons"])]
    failing = [each for each in reasons if each["outcome"] == "fails"]
    assert any(name_of(each["fact"]) in text and each["measured"] in text for each in failing)
    assert "text read]" in text or "known from a description]" in text


def help_text(capsys):
    with pytest.raises(SystemExit):
        main(["decide", "--help"])
    return capsys.readouterr().out


def test_what_may_be_done_instead_is_told():
    case = repair_case(injuries=injury(angle="30 deg"), method="one-piece")
    text = " ".join(short_text(load().decide(case)).split())
    assert "Within the limits instead: by the two-piece method." in text
    assert "one-piece 30 deg unit whose maker documents that angle" in text


def test_of_several_injuries_each_is_named():
    both = load().decide(
        repair_case(injuries=injury(diameter="8 mm", clock="3:00") + injury(diameter="9 mm", clock="9:00"))
    )
    text = short_text(both)
    assert "Size across the channel (injury 1): 8 mm" in text
    assert "Size across the channel (injury 2): 9 mm" in text
    assert "(injury 1)" not in short_text(load().decide(repair_case(injuries=injury(diameter="8 mm"))))


@pytest.mark.parametrize("width", [40, 60, 100])
def test_the_terminal_has_the_width_it_has(width):
    for case in (repair_case(), repair_case(injuries=injury(diameter="9 mm"))):
        assert max(map(len, short_text(load().decide(case), width).splitlines())) <= max(width, 60)


def test_one_line_is_one_line_and_full_is_full(capsys):
    flags = KINDS["6.2 mm"]
    assert main(["decide", *flags, "--line"]) == 3
    (line,) = capsys.readouterr().out.splitlines()
    assert line.startswith("Not repairable within the limits | US-SC | 2026-11-25 | Size across the channel: 6.2 mm")
    assert main(["decide", *flags, "--full"]) == 3
    full = capsys.readouterr().out
    assert len(full.splitlines()) > LINES
    assert "Caution" in full


def test_nothing_that_others_wrote_acts(tmp_path):
    evil = "x\x1b[31m\n::error::y"
    unit = {"method": "one-piece", "rated_angle": "30 deg", "document": evil}
    decision = load().decide(repair_case(repair_unit=unit))
    for text in (short_text(decision), line_text(decision)):
        assert not any(is_control(character) for character in text if character != "\n")
        assert not any(line.startswith("::") for line in text.splitlines())
    assert decision_to_json(decision)["case"]["repair_unit"]["document"] == evil
