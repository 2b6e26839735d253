"""How flags are read: once, in full, and a list of words as one list, in every subcommand."""

from __future__ import annotations

import argparse
import json
from importlib import import_module

import pytest

from tests.support import pack_text, repair_case, ship
from tirerules.cli import COMMANDS, main
from tirerules.cli.parser import Parser

#: The flags that may be repeated, by hand: all others state one thing.
REPEATABLE = {"--jurisdiction", "--packs", "--pin", "--replace", "--findings", "--keep", "--host", "--origin"}


def parser_of(command: str) -> Parser:
    commands = Parser(prog="tirerules").add_subparsers()
    import_module(f"tirerules.cli.{command}").configure(commands)
    return commands.choices[command]


def flags() -> list[tuple[str, str, list[str]]]:
    """Return every flag of every subcommand with words that it takes."""
    found = []
    for command in COMMANDS:
        for action in parser_of(command)._actions:
            for flag in action.option_strings:
                if flag.startswith("--") and flag != "--help":
                    word = next(iter(action.choices)) if action.choices else "1"
                    word = {"--on": "2026-11-25", "--pin": "US=>=1"}.get(flag, word)
                    count = 1 if action.nargs is None else action.nargs
                    found.append((command, flag, [word] * int(count)))
    return found


FLAGS = flags()
SINGLE = [each for each in FLAGS if each[1] not in REPEATABLE]


@pytest.fixture
def refused(capsys):
    """Run the command line, which must refuse it; return the last line of what it says."""

    def call(*arguments: str) -> str:
        with pytest.raises(SystemExit) as stopped:
            main(arguments)
        out, err = capsys.readouterr()
        assert (stopped.value.code, out) == (2, "")
        return err.splitlines()[-1]

    return call


def test_all_flags_are_tried():
    assert {command for command, _, _ in FLAGS} == set(COMMANDS)
    assert {flag for _, flag, _ in FLAGS} > REPEATABLE
    assert len(FLAGS) > 130


@pytest.mark.parametrize(("command", "flag", "words"), SINGLE, ids=[f"{each[0]} {each[1]}" for each in SINGLE])
def test_a_flag_for_one_value_is_refused_when_given_twice(refused, command, flag, words):
    said = refused(command, flag, *words, flag, *words)
    assert said == f"tirerules {command}: error: argument {flag}: is given twice -- leave one of them out"


@pytest.mark.parametrize(("command", "flag"), [each[:2] for each in FLAGS], ids=[f"{c} {f}" for c, f, _ in FLAGS])
def test_no_flag_is_abbreviated(command, flag):
    others = {each for name, each, _ in FLAGS if name == command}
    for length in range(3, len(flag)):
        if flag[:length] not in others:
            _, unread = parser_of(command).parse_known_args(["x", "x", flag[:length]])
            assert flag[:length] in unread


def test_an_abbreviated_flag_is_refused_and_the_whole_one_offered(refused):
    said = refused("decide", "--jurisdictio", "US-SC")
    assert said == (
        "tirerules decide: error: unrecognized arguments: --jurisdictio"
        " -- did you mean --jurisdiction? Flags are written in full"
    )
    assert "did you mean --older-than?" in refused("check", "--older", "12", "rulepacks")
    assert refused("decide", "\x1b[1m", "extra").endswith(r"unrecognized arguments: extra")
    assert refused("--verion").startswith("tirerules: error: ")


# --- lists ------------------------------------------------------------------------------------------------------------


def case(capsys, *arguments: str) -> dict:
    main(["decide", "--json", "--jurisdiction", "US-SC", *arguments])
    return json.loads(capsys.readouterr().out)["case"]


@pytest.mark.parametrize(
    ("words", "found"),
    [
        (["none"], []),
        (["none", "none"], []),
        (["bulge", "leak"], ["bulge", "leak"]),
        (["leak, bulge", "bulge"], ["bulge", "leak"]),
    ],
    ids=" + ".join,
)
def test_lists_join(capsys, words, found):
    assert case(capsys, *(part for word in words for part in ("--findings", word)))["findings"] == found


@pytest.mark.parametrize("words", [["bulge", "none"], ["none", "bulge"], ["none,bulge"], ["leak,bulge", "none"]])
def test_none_beside_words_is_refused(refused, words):
    """The bug: the last of several values won, so that a tire with a bulge was told to be repairable."""
    said = refused("decide", "--jurisdiction", "US-SC", *(part for word in words for part in ("--findings", word)))
    others = "leak, bulge" if "leak,bulge" in words else "bulge"
    assert said.endswith(f"argument --findings: none contradicts {others} -- leave one of them out")


def test_places_join(capsys):
    assert case(capsys, "--jurisdiction", "US-NJ")["jurisdictions"] == ["US-SC", "US-NJ"]


def test_pins_of_several_packs_join(capsys):
    code = main(["coverage", "--format", "json", "--pin", "US-SC=>=1", "--pin", "US-NJ=>=1"])
    assert (code, capsys.readouterr().err) == (0, "")


@pytest.mark.parametrize(
    ("pins", "says"),
    [
        (["US-SC=>=1", "US-SC=<2"], "the pack US-SC is pinned twice -- join them: --pin US-SC=>=1,<2"),
        (["US-SC"], "'US-SC' pins nothing -- write PACK=SPEC, such as US-SC=~=1.2"),
        (["US-SC="], "'US-SC=' pins nothing"),
        (["=>=1"], "'=>=1' pins nothing"),
    ],
)
def test_a_pin_that_would_be_lost_is_refused(refused, pins, says):
    assert f"argument --pin: {says}" in refused("coverage", *(part for pin in pins for part in ("--pin", pin)))


# --- what an empty word would have hidden -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "arguments",
    [
        ["decide", "--jurisdiction", "US", "--lock", ""],
        ["decide", ""],
        ["decide", "", "--jurisdiction", "US"],
        ["vectors", "--check", ""],
        ["vectors", "US", "--out", ""],
        ["coverage", "--packs", ""],
        ["audit", "tickets.csv", "out", "--against", ""],
    ],
    ids=" ".join,
)
def test_an_empty_file_name_is_no_missing_flag(capsys, tmp_path, monkeypatch, arguments):
    (tmp_path / "US.yaml").write_text(pack_text(pack="US", kind="country"), encoding="utf-8")  # nothing to wait for
    ship(monkeypatch, tmp_path)
    monkeypatch.chdir(tmp_path)
    code = main(arguments)
    out, err = capsys.readouterr()
    assert (code, out) == (2, "")
    assert err.startswith("tirerules: ")
    assert "defect" not in err


def test_a_file_beside_an_empty_flag_is_refused(capsys, tmp_path):
    file = tmp_path / "ticket.json"
    file.write_text(json.dumps(repair_case()), encoding="utf-8")
    assert main(["decide", str(file), "--on", ""]) == 2
    assert "--on is not used with" in capsys.readouterr().err


@pytest.mark.parametrize("count", ["9" * 5000, "٣", "-1", "1.5", "1e3", ""])
def test_a_count_is_a_few_plain_figures(capsys, count):
    assert main(["decide", "--jurisdiction", "US-SC", f"--repairs-count={count}"]) == 2
    assert "repairs.count must be a whole number, 0 or more" in capsys.readouterr().err


def test_parsers_share_nothing_between_calls():
    parser = parser_of("decide")
    for _ in range(2):
        read = parser.parse_args(["--jurisdiction", "US", "--findings", "leak", "--pin", "US=>=1", "--on", "x"])
        assert (read.jurisdiction, read.findings, read.pin, read.on) == (["US"], ["leak"], {"US": ">=1"}, "x")
    assert isinstance(parser, argparse.ArgumentParser)
