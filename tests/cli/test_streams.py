"""What the command line reads and writes on machines unlike this one: other code pages, pipes, closed and full streams.

No other system is used here: code pages, line ends and missing streams are simulated. All data is invented.
"""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

import tirerules
from tests.cli.invented import shop_pack
from tests.support import repair_case
from tirerules.cli import main, streams
from tirerules.packs import cache
from tirerules.rulebook import Rulebook

ROOT = Path(__file__).parents[2]
#: A ticket whose words no Western code page holds.
CYRILLIC = repair_case(repair_unit={"method": "one-piece", "rated_angle": "35 deg", "document": "лист 12 → 車"})
MARK = b"\xef\xbb\xbf"


class Disk(io.RawIOBase):
    """A stream that cannot be written."""

    def __init__(self, error: OSError) -> None:
        self.error = error

    def writable(self) -> bool:
        return True

    def fileno(self) -> int:
        return os.open(os.devnull, os.O_WRONLY)

    def write(self, _: object) -> int:
        raise self.error


def run_under(code_page: str, *arguments: str, folder: Path, stdin: bytes = b"") -> tuple[int, str, str]:
    """Run the command in a process whose streams have a code page, as where the locale is not UTF-8."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": code_page, "PYTHONUTF8": "0"}
    command = [sys.executable, "-m", "tirerules", *arguments]
    done = subprocess.run(command, cwd=folder, env=environment, input=stdin, capture_output=True, timeout=120)
    return done.returncode, done.stdout.decode("utf-8"), done.stderr.decode("utf-8")


def lines_of(*cases: object, end: bytes = b"\n") -> bytes:
    return b"".join(json.dumps(case, ensure_ascii=False).encode() + end for case in cases)


# --- code pages -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("code_page", ["cp1252", "ascii", "cp932"])
def test_a_stream_is_utf_8_whatever_the_code_page(tmp_path, code_page):
    code, out, err = run_under(code_page, "decide", "-", folder=tmp_path, stdin=lines_of(CYRILLIC, CYRILLIC))
    assert (code, err) == (0, "")
    documents = [json.loads(line)["case"]["repair_unit"]["document"] for line in out.splitlines()]
    assert documents == ["лист 12 → 車"] * 2


def test_markdown_with_arrows_is_written(tmp_path):
    for name, millimeters, version in (("old", 5, "1.0.0"), ("new", 4, "1.1.0")):
        (tmp_path / name).mkdir()
        (tmp_path / name / "invented-shop.yaml").write_text(shop_pack(millimeters, version), encoding="utf-8")
    code, out, err = run_under("cp1252", "compare", "--format", "markdown", "old", "new", folder=tmp_path)
    assert code == 0
    assert "1.0.0 → 1.1.0" in out
    assert err.startswith("1 pack changed")


def test_messages_and_file_names_of_any_script_are_written(tmp_path):
    (tmp_path / "закон.yaml").write_text("a: 1\na: 2\n", encoding="utf-8")
    code, out, err = run_under("cp1252", "check", "закон.yaml", folder=tmp_path)
    assert (code, err) == (1, "1 file checked, 1 finding (1 error)\n")
    assert out.startswith("закон.yaml:2:1: error [duplicate-key]")
    code, out, err = run_under("cp1252", "decide", "нет.json", folder=tmp_path)
    assert (code, out, err) == (2, "", "tirerules: нет.json: No such file or directory\n")


def test_half_a_character_stands_as_an_escape(monkeypatch):
    out = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(out, encoding="cp1252"))
    streams.prepare()
    streams.give("a\udcffb → é")
    assert out.getvalue().decode("utf-8") == "a\\udcffb → é\n"


# --- byte order marks, line ends --------------------------------------------------------------------------------------


def test_a_byte_order_mark_before_json_is_accepted(capsysbinary, monkeypatch, tmp_path):
    file = tmp_path / "ticket.json"
    file.write_bytes(MARK + lines_of(repair_case(), end=b"\r\n"))
    assert main(["decide", str(file)]) == 0
    stream = io.BytesIO(MARK + lines_of(repair_case(), repair_case(), end=b"\r\n"))
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(stream))
    assert main(["decide", "-"]) == 0
    assert tirerules.load().decide_json("\ufeff" + json.dumps(repair_case()))
    record = tmp_path / "record.json"
    capsysbinary.readouterr()
    assert main(["decide", str(file), "--json"]) == 0
    record.write_bytes(MARK + capsysbinary.readouterr().out)
    assert main(["replay", str(record)]) == 0
    assert main(["limits", "US-SC", "--lock", str(record)]) == 0


def test_a_file_in_utf_16_is_refused_with_a_cure(capsys, tmp_path):
    file = tmp_path / "ticket.json"
    file.write_bytes(json.dumps(repair_case()).encode("utf-16"))
    assert main(["decide", str(file)]) == 2
    assert "the file is no UTF-8 text -- save it as UTF-8" in capsys.readouterr().err


@pytest.mark.usefixtures("standing_on_few")
def test_packs_and_cases_with_windows_line_ends_are_the_same(capsys, tmp_path):
    answers = []
    for name, end in (("unix", "\n"), ("windows", "\r\n")):
        folder = tmp_path / name
        folder.mkdir()
        (folder / "invented-shop.yaml").write_bytes(shop_pack().replace("\n", end).encode())
        case = json.dumps(repair_case(), indent=1).replace("\n", end)
        (folder / "ticket.json").write_bytes(case.encode())
        assert main(["check", str(folder)]) == 0
        capsys.readouterr()
        assert main(["decide", str(folder / "ticket.json"), "--packs", str(folder), "--full"]) == 3
        answers.append(capsys.readouterr().out)
    assert answers[0] == answers[1]
    assert "invented-shop/size" in answers[0]


# --- paths ------------------------------------------------------------------------------------------------------------


def test_backslashes_in_a_path_are_no_escapes(capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    name = r"C:\new\table\x1b.json"  # a name here, a path elsewhere
    assert main(["decide", name]) == 2
    assert capsys.readouterr().err == f"tirerules: {name}: No such file or directory\n"
    Path(name).write_text(json.dumps(repair_case()), encoding="utf-8")
    assert main(["decide", name]) == 0


# --- streams that fail ------------------------------------------------------------------------------------------------


def test_a_full_disk_is_no_answer(capsys, monkeypatch):
    full = OSError(28, "No space left on device")
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(io.BufferedWriter(Disk(full)), encoding="utf-8"))
    monkeypatch.setattr(os, "dup2", lambda *_: None)
    assert main(["decide", "--jurisdiction", "US-SC"]) == 2
    assert capsys.readouterr().err == "tirerules: the answer cannot be written: No space left on device\n"


def test_a_closed_standard_output_is_no_answer(capsys, monkeypatch):
    monkeypatch.setattr(sys, "stdout", None)
    assert main(["decide", "--jurisdiction", "US-SC"]) == 2
    assert "standard output is closed" in capsys.readouterr().err


def test_a_closed_standard_error_sends_no_message_among_the_results(capsys, monkeypatch):
    monkeypatch.setattr(sys, "stderr", None)
    assert main(["decide", "--jurisdiction", "US-SX"]) == 2
    with pytest.raises(SystemExit, match="2"):
        main(["decide", "--jurisdiction", "US-SC", "--tire-clas", "bus"])
    assert capsys.readouterr().out == ""


def test_a_standard_error_that_cannot_be_written_changes_no_exit_code(monkeypatch):
    monkeypatch.setattr(sys, "stderr", io.TextIOWrapper(Disk(OSError(5, "gone")), encoding="utf-8", write_through=True))
    assert main(["decide", "--jurisdiction", "US-SX"]) == 2


# --- a cache that another process holds -------------------------------------------------------------------------------


@pytest.mark.usefixtures("shipping_few")
@pytest.mark.parametrize("locked", ["read", "replace", "remove"])
def test_a_cache_file_that_another_process_locks_changes_no_answer(capsys, tmp_path, monkeypatch, locked):
    """On some systems a file that is open elsewhere can be neither read nor replaced nor deleted."""
    monkeypatch.setenv(cache.VARIABLE, str(tmp_path / "cache"))
    question = ["decide", "--jurisdiction", "US-SC", "--on", "2026-11-25"]
    assert main(question) == 4
    first = capsys.readouterr().out

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "The process cannot access the file because it is being used by another process")

    if locked == "read":
        opened = open
        inside = str(tmp_path / "cache")
        monkeypatch.setattr(
            cache,
            "open",
            lambda path, *how, **more: refuse() if str(path).startswith(inside) else opened(path, *how, **more),
            raising=False,
        )
    else:
        for entry in (tmp_path / "cache").iterdir():
            entry.write_bytes(b"damaged")
        monkeypatch.setattr(cache.os, locked, refuse)
    assert main(question) == 4
    assert capsys.readouterr() == (first, "")


# --- defects of the library -------------------------------------------------------------------------------------------


def fail(*_: object) -> None:
    raise RuntimeError("a value\n\x1b[1mnobody thought of")


def test_a_defect_is_exit_code_2_and_says_what_it_is(capsys, monkeypatch):
    """The bug: a traceback ends with exit code 1, which several commands document as an answer."""
    monkeypatch.setattr(Rulebook, "decide", fail)
    monkeypatch.delenv("TIRERULES_TRACEBACK", raising=False)
    assert main(["decide", "--jurisdiction", "US-SC"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    first, second = err.splitlines()
    assert first == (
        "tirerules: this is a defect of the library, not of your input: "
        r"RuntimeError: a value\n\x1b[1mnobody thought of"
    )
    assert "Please report it" in second
    assert f"tirerules {tirerules.__version__}" in second
    assert "TIRERULES_TRACEBACK=1" in second


def test_the_traceback_of_a_defect_is_there_for_who_asks(capsys, monkeypatch):
    monkeypatch.setattr(Rulebook, "decide", fail)
    monkeypatch.setenv("TIRERULES_TRACEBACK", "1")
    assert main(["decide", "--jurisdiction", "US-SC"]) == 2
    err = capsys.readouterr().err
    assert "Traceback (most recent call last)" in err
    assert "\x1b" not in err


@pytest.mark.parametrize("error", [RecursionError("deep"), MemoryError(), ValueError("x"), KeyError("x"), OSError("x")])
def test_whatever_goes_wrong_is_no_answer(capsys, monkeypatch, tmp_path, error):
    def broken(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr("tirerules.cli.check.check", broken)
    monkeypatch.setattr("tirerules.cli.compare.hold", broken)
    (tmp_path / "invented-shop.yaml").write_text(shop_pack(), encoding="utf-8")
    assert main(["check", str(tmp_path)]) == 2
    assert main(["compare", str(tmp_path), str(tmp_path)]) == 2
    assert capsys.readouterr().err.count("a defect of the library") == 2


def test_a_defect_costs_a_stream_one_line(capsys, monkeypatch):
    decide = Rulebook.decide
    monkeypatch.setattr(
        Rulebook, "decide", lambda book, case: fail() if case["on"] == "2000-01-01" else decide(book, case)
    )
    stdin = lines_of(repair_case(), repair_case(on="2000-01-01"), repair_case())
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin)))
    assert main(["decide", "-"]) == 2
    out, err = capsys.readouterr()
    answers = [json.loads(line) for line in out.splitlines()]
    assert [each.get("verdict") for each in answers] == ["within-limits", None, "within-limits"]
    assert answers[1]["error"]["line"] == 2
    assert answers[1]["error"]["problems"][0]["code"] == "defect"
    assert "a defect of the library" in err


def test_who_stops_the_command_gets_no_traceback(capsys, monkeypatch):
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(Rulebook, "decide", stop)
    assert main(["decide", "--jurisdiction", "US-SC"]) == 2
    assert capsys.readouterr().err == "tirerules: stopped\n"
