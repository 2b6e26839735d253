"""`tirerules check`: exit codes, formats, flags, streams, colour. All packs are invented."""

from __future__ import annotations

import json
import os
import pty
import subprocess
import sys
from datetime import date
from pathlib import Path
from types import SimpleNamespace

import pytest

import tirerules
from tests.support import pack_text
from tirerules.authoring import checking
from tirerules.authoring.checks import CODES
from tirerules.cli import check as command
from tirerules.cli import main

RULE = """\
- id: size
  says: Invented.
  activity: [repair]
  when: {tire.class: passenger}
  limit: {fact: injury.diameter, at-most: FIGURE}
  source: text
"""
EXAMPLE = """\
examples:
  - case:
      jurisdictions: [US]
      activity: repair
      tire: {class: passenger, sealant_layer: false, tread_depth: 6/32 in}
      injuries: [{kind: puncture, zone: crown, diameter: 20 mm, angle: 10 deg}]
      findings: []
      earlier_repairs: []
    expect: {verdict: outside-limits, because: [size]}
"""
CLEAN = pack_text(RULE.replace("FIGURE", "5 mm"), more=EXAMPLE)
INFORMATION = pack_text(RULE.replace("FIGURE", "9 mm"), more=EXAMPLE)
WARNING = pack_text(RULE.replace("FIGURE", "5 mm"))
ERROR = pack_text(RULE.replace("FIGURE", "5"), more=EXAMPLE)


pytestmark = pytest.mark.usefixtures("standing_on_few")


@pytest.fixture
def run(capsys):
    """Run `tirerules check`; return its exit code, standard output and standard error."""

    def call(*arguments):
        try:
            code = main(["check", *map(str, arguments)])
        except SystemExit as stopped:  # argparse's own way to refuse a flag
            code = stopped.code
        shown = capsys.readouterr()
        assert "Traceback" not in shown.out + shown.err
        return SimpleNamespace(code=code, out=shown.out, err=shown.err)

    return call


@pytest.fixture
def pack(tmp_path):
    """Write an invented shop's pack and return its path."""

    def write(text, name="invented-shop"):
        path = tmp_path / f"{name}.yaml"
        path.write_text(text, encoding="utf-8")
        return path

    return write


# --- exit codes -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "code", "summary"),
    [
        (CLEAN, 0, "1 file checked, 0 findings\n"),
        (INFORMATION, 0, "1 file checked, 1 finding (1 information)\n"),
        (WARNING, 1, "1 file checked, 1 finding (1 warning)\n"),
        (ERROR, 1, "1 file checked, 1 finding (1 error)\n"),
    ],
    ids=["clean", "information", "warning", "error"],
)
@pytest.mark.parametrize("form", ["text", "json", "github", "sarif"])
def test_the_exit_code_and_the_summary_are_those_of_the_worst_finding(run, pack, text, code, summary, form):
    found = run(pack(text), "--format", form)
    assert (found.code, found.err) == (code, summary)


@pytest.mark.parametrize("form", ["text", "json", "github", "sarif"])
def test_nothing_to_check_is_no_clean_check(run, tmp_path, form):
    found = run(tmp_path, "--format", form)
    assert (found.code, found.out) == (2, "")
    assert found.err == "0 files checked, 0 findings\ntirerules: no .yaml file was found there\n"


def test_a_path_that_is_not_there_is_a_sentence(run, tmp_path):
    found = run(tmp_path / "nowhere")
    assert (found.code, found.out) == (2, "")
    assert found.err == f"tirerules: {tmp_path / 'nowhere'}: no such file or folder\n"


def test_a_file_that_cannot_be_read_is_a_sentence(run, pack, monkeypatch):
    path = pack(CLEAN)

    def refuse(self, *_, **__):
        raise PermissionError(13, "Permission denied", str(self))

    monkeypatch.setattr(Path, "open", refuse)
    found = run(path)
    assert (found.code, found.out) == (2, "")
    assert found.err == f"tirerules: {path}: Permission denied\n"


def test_a_broken_pack_beside_the_checked_one_could_not_run(run, pack, tmp_path, monkeypatch):
    beside = tmp_path / "beside"
    beside.mkdir()
    (beside / "US.yaml").write_text("a: 010\n", encoding="utf-8")
    monkeypatch.setattr(checking, "builtin", lambda: beside)
    found = run(pack(CLEAN))
    assert (found.code, found.out) == (2, "")
    assert "US.yaml:1:4: [ambiguous-scalar]" in found.err


# --- formats ----------------------------------------------------------------------------------------------------------


def test_text_is_the_default_and_shows_the_line(run, pack):
    path = pack(ERROR)
    found = run(path)
    lines = path.read_text(encoding="utf-8").split("\n")
    row = next(number for number, line in enumerate(lines, 1) if "at-most" in line)
    column = lines[row - 1].index("at-most: 5") + len("at-most: ") + 1
    assert found.out.split("\n") == [
        f"{path}:{row}:{column}: error [wrong-type] at rules[0].limit.at-most: "
        "this is the bare number 5; it must be text",
        f"  {row} | {lines[row - 1]}",
        f"  {' ' * len(str(row))} | {' ' * (column - 1)}^",
        '  hint: write, for example, "1/4 in" or "6 mm"',
        "",
    ]
    assert run(path, "--format", "text").out == found.out


def test_json_stands_on_standard_output_even_where_nothing_was_found(run, pack):
    said = json.loads(run(pack(CLEAN), "--format", "json").out)
    assert (said["clean"], said["files"], said["findings"]) == (True, 1, [])
    said = json.loads(run(pack(WARNING), "--format", "json").out)
    (finding,) = said["findings"]
    assert said["clean"] is False
    assert (finding["code"], finding["severity"], finding["path"]) == ("example-missing", "warning", "rules[0].id")


def test_annotations_stand_on_standard_output(run, pack):
    path = pack(WARNING)
    assert run(path, "--format", "github").out.startswith(f"::warning file={path},line=")
    assert run(pack(CLEAN), "--format", "github").out == ""


def test_sarif_stands_on_standard_output(run, pack):
    (one,) = json.loads(run(pack(INFORMATION), "--format", "sarif").out)["runs"]
    assert [(each["ruleId"], each["level"]) for each in one["results"]] == [("laxer-than-baseline", "note")]


def test_all_findings_of_all_files_are_told_at_once_and_sorted(run, pack, tmp_path):
    pack(ERROR, "b")
    pack("a: 010\nb: 010\n", "c")
    pack(WARNING, "a")
    said = json.loads(run(tmp_path, "--format", "json").out)
    told = [(Path(each["file"]).stem, each["line"], each["code"]) for each in said["findings"]]
    assert [file for file, _, _ in told] == ["a", "a", "b", "c", "c"]
    assert told == sorted(told, key=lambda each: each[:2])
    assert {code for file, _, code in told if file == "a"} == {"file-name", "example-missing"}


def test_an_unknown_format_is_refused(run, pack):
    found = run(pack(CLEAN), "--format", "xml")
    assert (found.code, found.out) == (2, "")
    assert "xml" in found.err


# --- codes, age -------------------------------------------------------------------------------------------------------


def test_every_code_is_listed_without_a_path(run):
    found = run("--codes")
    assert (found.code, found.err) == (0, "")
    assert [line.split(None, 2) for line in found.out.splitlines()] == [
        [code.name, code.severity, code.says] for code in CODES
    ]


def test_a_path_is_needed_otherwise(run):
    found = run()
    assert (found.code, found.out) == (2, "")
    assert "the following arguments are required: PATH" in found.err


def test_evidence_is_as_old_as_the_day_says(run, pack):
    path = pack(CLEAN)  # the head of every invented pack says that it was reviewed on 2026-11-25
    assert run(path, "--older-than", "12", "--on", "2027-11-25").code == 0
    found = run(path, "--older-than", "12", "--on", "2027-11-26")
    assert found.code == 1
    assert (
        "warning [review-old] at reviewed: the pack was last reviewed on 2026-11-25, more than 12 months" in found.out
    )


def test_evidence_is_counted_back_from_today(run, pack, monkeypatch):
    class Today(date):
        @classmethod
        def today(cls):
            return cls(2030, 1, 1)

    monkeypatch.setattr(command, "date", Today)
    path = pack(CLEAN)
    assert run(path).code == 0
    assert "more than 36 months before 2030-01-01" in run(path, "--older-than", "36").out
    assert run(path, "--older-than", "38").code == 0


@pytest.mark.parametrize(
    ("flags", "says"),
    [
        (["--older-than", "0"], "'0' is no number of months -- write, for example, 12"),
        (["--older-than", "-3"], "--older-than"),
        (["--older-than", "1.5"], "'1.5' is no number of months"),
        (["--older-than", "²"], "'²' is no number of months"),
        (["--older-than", "100000"], "'100000' is no number of months"),
        (["--older-than", "12", "--on", "tomorrow"], "'tomorrow' is no day of the calendar -- write YYYY-MM-DD"),
        (["--older-than", "12", "--on", "2026-02-30"], "'2026-02-30' is no day of the calendar"),
        (["--older-than", "12", "--on", "20260230"], "'20260230' is no day of the calendar"),
        (["--on", "2026-11-25"], "--on counts back --older-than MONTHS: name both"),
        (["--fix"], "--fix"),
    ],
    ids=" ".join,
)
def test_a_wrong_flag_gets_a_sentence(run, pack, flags, says):
    found = run(pack(CLEAN), *flags)
    assert (found.code, found.out) == (2, "")
    assert says in found.err


def test_the_help_names_the_exit_codes(run):
    found = run("--help")
    assert found.code == 0
    assert "0 clean, or information only; 1 an error or a warning; 2 could not run" in " ".join(found.out.split())


# --- as a process -----------------------------------------------------------------------------------------------------


def _process(path, stdout, **environment):
    clean = {key: value for key, value in os.environ.items() if key != "NO_COLOR"}
    root = Path(tirerules.__file__).parent.parent
    return subprocess.Popen(
        [sys.executable, "-m", "tirerules", "check", str(path)],
        cwd=path.parent,
        env={**clean, "PYTHONPATH": str(root), "PYTHONIOENCODING": "utf-8", **environment},
        stdout=stdout,
        stderr=subprocess.PIPE,
    )


def _on_a_terminal(path, **environment):
    ours, theirs = pty.openpty()
    with _process(path, theirs, **environment) as running:
        os.close(theirs)
        said = b""
        while True:
            try:
                part = os.read(ours, 4096)
            except OSError:  # the other end is closed
                break
            if not part:
                break
            said += part
        os.close(ours)
        running.communicate(timeout=60)
    return running.returncode, said.decode()


def test_colour_is_for_a_terminal_that_has_not_refused_it(pack):
    path = pack("a: 010\n")
    code, said = _on_a_terminal(path)
    assert code == 1
    assert "\x1b[1;31merror\x1b[0m [ambiguous-scalar]" in said
    assert "\x1b" not in _on_a_terminal(path, NO_COLOR="1")[1]
    assert "\x1b[" in _on_a_terminal(path, NO_COLOR="")[1]  # no-color.org: when not an empty string
    with _process(path, subprocess.PIPE) as running:
        out, err = running.communicate(timeout=60)
    assert running.returncode == 1
    assert b"error [ambiguous-scalar]" in out
    assert b"\x1b" not in out
    assert err.decode() == "1 file checked, 1 finding (1 error)\n"
