"""The quick way of `tirerules decide` prints what the full command prints, and takes nothing that it would refuse."""

from __future__ import annotations

import argparse
import io
import itertools
import json
import os
import subprocess
import sys
from pathlib import Path
from random import Random
from typing import Any

import pytest

import tirerules
from tests.deciding import SIZE, rule, world
from tests.record.test_written import ACTIVITIES, ALIKE, APART, put
from tests.support import pack_text, repair_case
from tirerules import cli
from tirerules.cli import asking, decide, quick
from tirerules.packs.cache import VARIABLE
from tirerules.record import keeping
from tirerules.rulebook import Rulebook

ROOT = Path(__file__).parents[2]


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch) -> Path:
    """An empty cache."""
    folder = tmp_path / "cache"
    monkeypatch.setenv(VARIABLE, str(folder))
    return folder


@pytest.fixture
def ways(capsys, monkeypatch):
    """Return what runs the command both ways: the exit code and the output of each, or None where it is not taken."""
    loaded: dict[tuple[str, ...], Rulebook] = {}

    def load(*folders: str, **chosen: Any) -> Rulebook:
        if chosen.get("pins") or chosen.get("lock"):
            return tirerules.load(*folders, **chosen)
        return loaded.setdefault(folders, tirerules.load(*folders))

    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO()))
    monkeypatch.setattr(quick, "load", load)
    monkeypatch.setattr(asking, "load", load)

    def both(*arguments: str) -> tuple[Any, Any]:
        code = quick.decided(arguments)
        at_once = capsys.readouterr()
        assert not at_once.err
        assert (code is None) is (at_once.out == "")
        try:
            full = cli._run(["decide", *arguments])
        except SystemExit as refused:
            full = refused.code
        told = capsys.readouterr()
        return None if code is None else (code, at_once.out), (full, told.out)

    return both


def drawn(rng: Random) -> dict[str, Any]:
    """Return a case that is like many others but for its measurements."""
    code = rng.choice(("US-SC", "US-NJ", "US-CA", "US-TX"))
    case = repair_case(jurisdictions=[code], activity=rng.choice(ACTIVITIES))
    for name in rng.sample(sorted(APART), rng.choice((0, 0, 1, 2))):
        put(case, name, rng.choice(APART[name]))
    for name in rng.sample(sorted(ALIKE), 3):
        put(case, name, rng.choice(ALIKE[name]))
    return case


@pytest.mark.parametrize("more", [(), ("--json",)], ids=["text", "JSON"])
def test_what_was_told_once_is_told_again_in_the_same_words(ways, tmp_path, more):
    rng, taken = Random(len(more)), 0
    for number in range(120):
        file = tmp_path / f"{number}.json"
        file.write_text(json.dumps(drawn(rng)), encoding="utf-8")
        first, full = ways(str(file), *more)
        again, _ = ways(str(file), *more)
        assert first in (None, full)  # another case that is known alike was told before
        assert again in (None, full)
        taken += (again is not None) + (first is not None)
    assert taken > 120


def test_a_form_tells_the_measurements_of_each_case(ways, folder):
    plain = ["--jurisdiction=US-SC", "--tire-class", "passenger", "--findings", "none", "--earlier-repairs", "none"]
    asked = list(itertools.product(ALIKE["on"], ("9 mm", "9.0 mm", "0.4 in", "9.1 mm ± 0.1 mm", '0.36"')))
    for day, size in asked:
        ways(*plain, f"--on={day}", "--injury-diameter", size)
        at_once, full = ways(*plain, f"--on={day}", "--injury-diameter", size)
        assert at_once == full
        assert f"injury.diameter: {size} --" in at_once[1]
        assert f"| {day} |" in at_once[1]
    assert len(list(folder.glob("form-*"))) < len(asked) / 3


# --- flags ------------------------------------------------------------------------------------------------------------

WORDS = (
    *("--jurisdiction", "US-SC", "--jurisdiction=US-NJ", "--json", "--activity", "road-use", "--activity=repair"),
    *("--tire-class", "passenger", "--tire-class=bus", "--tire-run-flat", "yes", "--injury-diameter", "5 mm"),
    *("--findings", "none", "leak,bulge", "--earlier-repairs", "--repair-zone", "crown", "--on", "2026-11-25"),
    *("--repairs-count", "2", "--reading", "as-enacted", "--packs", "--pin", "US-SC==1.0.0", "--lock", "--tire-clas"),
    *("--unit-method", "one-piece", "--", "-", "", "-h", "--tire_class", "ticket.json", "--json=yes", "--injuries"),
)


def test_flags_are_read_as_by_the_full_command():
    parser = argparse.ArgumentParser()
    decide.configure(parser.add_subparsers())
    rng, taken = Random(1), 0
    for _ in range(40_000):
        given = [rng.choice(WORDS) for _ in range(rng.choice((1, 2, 3, 4, 6)))]
        options = quick._options(given)
        if options is not None:
            taken += 1
            full = vars(parser.parse_args(["decide", *given])) if fits(options) else {**options}
            assert {name: full[name] for name in options} == options
            assert all(value in (None, False, []) for name, value in full.items() if name not in (*options, "run"))
    assert taken > 2_000


def fits(options: dict[str, Any]) -> bool:
    """Whether the words are of those that argparse lets pass; the reader of cases refuses others afterwards."""
    choices = {"activity": ACTIVITIES, "reading": ("strict", "as-enacted"), "earlier_repairs": ("none",)}
    choices["injuries"] = ("none",)
    return all(options.get(name, words[0]) in words for name, words in choices.items())


@pytest.mark.parametrize(
    "arguments",
    [
        (),
        ("-",),
        ("-h",),
        ("--tire-class", "passenger"),
        ("--jurisdiction", "US-SC", "--tire-class", "paseneger"),
        ("--jurisdiction", "US-SC", "--activity", "fly"),
        ("--jurisdiction", "US-SC", "--activity"),
        ("--jurisdiction", "US-SC", "--tire-clas", "passenger"),
        ("--jurisdiction", "US-SC", "--tire-class", "bus", "--tire-class", "passenger"),
        ("--jurisdiction", "US-SC", "--injury-diameter", "-5 mm"),
        ("--jurisdiction", "US-SC", "--injury-diameter", "5"),
        ("--jurisdiction", "US-SC", "--earlier-repairs", "none", "--repair-zone", "crown"),
        ("--jurisdiction", "US-SC", "--pin", "US-SC==1.0.0"),
        ("--jurisdiction", "US-SC", "--unit-method", "one-piece", "--unit-rated-angle", "35 deg"),
        ("--jurisdiction", "US-SC", "--tire-date-code", "4616"),
        ("--jurisdiction", "XX"),
        ("--jurisdiction", "US-SC", "--packs", "missing"),
        ("missing.json",),
        ("missing.json", "--jurisdiction", "US-SC"),
        ("a.json", "b.json"),
    ],
    ids=" ".join,
)
def test_what_is_wrong_or_rare_is_left_to_the_full_command(ways, arguments):
    ways(*arguments)
    at_once, _ = ways(*arguments)
    assert at_once is None


# --- what is kept -----------------------------------------------------------------------------------------------------

CASE = ("--jurisdiction", "US-SC", "--injury-diameter", "5 mm", "--on", "2026-11-25")


def test_another_rulebook_is_told_by_forms_of_its_own(ways, tmp_path):
    own = tmp_path / "own"
    own.mkdir()
    policy = rule("smaller", "limit: {fact: injury.diameter, at-most: 2 mm}")
    (own / "company.yaml").write_text(pack_text(policy, pack="company-invented", kind="company"), encoding="utf-8")
    ways(*CASE)
    at_once, _ = ways(*CASE, "--packs", str(own))
    assert at_once is None
    at_once, full = ways(*CASE, "--packs", str(own))
    assert at_once == full
    assert "company-invented/smaller" in full[1]
    at_once, full = ways(*CASE)
    assert at_once == full
    assert "company-invented" not in full[1]


def test_a_form_that_other_code_made_is_none(ways, monkeypatch):
    ways(*CASE)
    assert ways(*CASE)[0]
    monkeypatch.setattr(keeping, "state_of", lambda makers: "of another day")
    assert ways(*CASE)[0] is None
    assert ways(*CASE)[0]
    monkeypatch.setattr(keeping, "state_of", lambda makers: "")  # it cannot be told
    ways(*CASE)
    assert ways(*CASE)[0] is None


def test_a_form_that_was_changed_is_none(ways, folder):
    ways(*CASE)
    (form,) = folder.glob("form-*")
    whole = form.read_bytes()
    for changed in (whole.replace(b"5 mm", b"9 mm"), whole.replace(b"MAY NOT", b"MAY"), whole[:-1], b""):
        if changed != whole:
            form.write_bytes(changed)
            assert ways(*CASE)[0] is None
    assert ways(*CASE)[0]


def test_without_a_cache_nothing_is_taken(ways, monkeypatch):
    monkeypatch.setenv(VARIABLE, "off")
    ways(*CASE)
    assert ways(*CASE)[0] is None


def test_the_oldest_forms_are_forgotten(folder, monkeypatch):
    monkeypatch.setattr(keeping, "_MOST_KEPT", 3)
    rulebook = world(SIZE)
    found = ([], ["bulge"], ["leak"], ["boot"], None)
    decisions = [rulebook.decide(repair_case(jurisdictions=["US"], findings=each)) for each in found]
    other = folder / "pack-of-another.tirerules"
    for at, decision in enumerate(decisions):
        keeping.keep(rulebook, decision, "Form", {"number": at})
        other.touch()
        for file in folder.glob("form-*"):
            os.utime(file, ns=(file.stat().st_atime_ns, file.stat().st_mtime_ns - 10**9))
    left = [keeping.kept(rulebook, decision, "Form") for decision in decisions]
    assert left == [None, None, {"number": 2}, {"number": 3}, {"number": 4}]
    assert len(list(folder.glob("form-*"))) == 3
    assert other.exists()


def test_forms_depend_on_all_code_that_makes_them(folder):
    """Every module that a process imports to make one lies in a folder whose state names the entry."""
    program = "import sys\nfrom tirerules.cli import main\nmain(sys.argv[1:])\nprint(*sys.modules, file=sys.stderr)"
    for more in ((), ("--json",)):
        done = subprocess.run([sys.executable, "-c", program, "decide", *CASE, *more], capture_output=True, cwd=ROOT)
        modules = [name for name in done.stderr.decode().split() if name.partition(".")[0] == "tirerules"]
        folders = {name.partition(".")[2].rpartition(".")[0] for name in modules}
        assert "tirerules.telling" in modules
        assert folders <= {*keeping._MAKERS}
    assert len(list(folder.glob("form-*"))) == 2


@pytest.mark.parametrize("more", [(), ("--json",)], ids=["text", "JSON"])
def test_a_process_that_finds_a_form_imports_nothing_slow(more):
    program = "import sys\nfrom tirerules.cli import main\nmain(sys.argv[1:])\nprint(*sys.modules, file=sys.stderr)"
    command = [sys.executable, "-c", program, "decide", *CASE, *more]
    first, second = (subprocess.run(command, capture_output=True, cwd=ROOT) for _ in range(2))
    assert first.stdout == second.stdout != b""
    modules = set(second.stderr.decode().split())
    assert not modules & {"argparse", "dataclasses", "typing", "re", "json", "datetime", "tirerules.telling", "yaml"}


# --- colour -----------------------------------------------------------------------------------------------------------


def test_only_the_verdict_is_coloured_and_only_on_a_terminal(monkeypatch):
    monkeypatch.delenv("NO_COLOR", raising=False)
    assert quick.coloured("NO\nwhy", "outside-limits") == "NO\nwhy"
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    assert quick.coloured("NO\nwhy", "outside-limits") == "\x1b[1;31mNO\x1b[0m\nwhy"
    monkeypatch.setenv("NO_COLOR", "1")
    assert quick.coloured("NO\nwhy", "outside-limits") == "NO\nwhy"
    assert quick.EXIT.keys() == quick.COLOURS.keys() == {*map(str, tirerules.Verdict)}
    assert {asking.attribute(fact[0]) for fact in asking.STATED} < quick._ONCE
