"""What a process imports before its first answer: milliseconds are counted in modules here, and timed nowhere.

What Python itself has loaded by then differs from machine to machine, so a process is asked which modules the answer
added to those of a bare interpreter.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.engine import SIZE
from tests.support import injury, pack_text, repair_case
from tirerules.cli import COMMANDS

ROOT = Path(__file__).parents[1]
#: What makes a process start slowly, with the modules that only they need.
SLOW = frozenset(
    {
        *("yaml", "jsonschema", "pint", "packaging", "dataclasses", "typing", "inspect", "importlib.resources"),
        *("fractions", "decimal", "numbers", "pathlib", "logging", "shutil", "traceback", "tokenize", "hashlib"),
        *("difflib", "json", "importlib"),
    }
)
#: What the library does without and the command line does not: argparse imports both.
SLOW_FOR_THE_LIBRARY = SLOW | {"argparse", "re"}
#: What only text that nobody wrote a direct reader for needs.
SLOWEST = frozenset({"yaml", "jsonschema", "pint"})

_PROCESS = """
import sys
before = {{*sys.modules}}
import tirerules
rulebook = tirerules.load()
case = {case!r}
decision = rulebook.decide(case)
verdict = str(decision.verdict)
light = [*({{*sys.modules}} - before)]
text = rulebook.decide_json({text!r})
whole = [*({{*sys.modules}} - before)]
import json
print(json.dumps([verdict, light, json.loads(text)["verdict"], whole]))
"""


def process(*command: str, given: str = "") -> str:
    """Run Python from the checkout and return what it prints; a packs' cache is warm when it has run twice."""
    for _ in range(2):
        ran = subprocess.run(
            [sys.executable, *command], cwd=ROOT, input=given, text=True, capture_output=True, timeout=120, check=False
        )
    assert ran.stderr == ""
    return ran.stdout


def answered(case: dict[str, Any]) -> tuple[str, set[str], str, set[str]]:
    verdict, light, same, whole = json.loads(process("-c", _PROCESS.format(case=case, text=json.dumps(case))))
    return verdict, {*light}, same, {*whole}


PLAIN = {
    "repair": repair_case(),
    "outside": repair_case(injuries=injury(diameter="1/2 in")),
    "unrecorded": repair_case(findings=None, earlier_repairs=None),
    "used tire": repair_case(activity="used-tire-installation", injuries=[], jurisdictions=["US-SC", "CA-ON"]),
    "today": repair_case(on=None),
}
WORKED_OUT = {
    "several injuries": repair_case(injuries=injury() * 2, earlier_repairs=[{"zone": "crown", "diameter": "3 mm"}]),
    "sidewall": repair_case(
        tire={"size": "225/45R17", "tread_width": "180 mm", "thickness": "10 mm", "date_code": "4625"}
    ),
    "measured": repair_case(injuries=injury(zone=None, from_centerline="60 mm", leans="toward-shoulder", clock="3:00")),
    "grid": repair_case(tire={"tread_grid": [["3 mm", "4 mm"]] * 3, "tread_depth": None}),
}


@pytest.mark.parametrize("case", PLAIN.values(), ids=PLAIN)
def test_a_verdict_and_a_whole_text_import_nothing_slow(case):
    verdict, light, same, whole = answered(case)
    assert verdict == same
    assert light & SLOW_FOR_THE_LIBRARY == set()
    assert whole & SLOW_FOR_THE_LIBRARY == set()
    assert {
        each for each in light if each.startswith(("tirerules.record", "tirerules.cli", "tirerules.batch"))
    } == set()


@pytest.mark.parametrize("case", WORKED_OUT.values(), ids=WORKED_OUT)
def test_what_is_worked_out_imports_no_reader_of_other_texts(case):
    verdict, _, same, whole = answered(case)
    assert verdict == same
    assert whole & SLOWEST == set()


def test_packs_of_the_callers_own_import_nothing_slow_once_they_are_compiled(tmp_path):
    (tmp_path / "own.yaml").write_text(pack_text(SIZE), encoding="utf-8")
    script = f"import sys; before = {{*sys.modules}}; import tirerules; book = tirerules.load({str(tmp_path)!r})\n"
    script += f"book.decide({repair_case()!r}).verdict; print(*({{*sys.modules}} - before))"
    added = process("-c", script).split()
    assert "tirerules.engine.evaluator" in added
    assert {*added} & (SLOW_FOR_THE_LIBRARY - {"importlib"}) == set()


def flags() -> list[str]:
    """Return the flags of a plain ticket."""
    stated = ["--jurisdiction", "US-SC", "--tire-class", "passenger", "--injury-kind", "puncture"]
    return [*stated, "--injury-zone", "crown", "--injury-diameter", "5.3 mm", "--findings", "none"]


@pytest.mark.parametrize("form", ["text", "json"])
@pytest.mark.parametrize("way", ["flags", "file", "stream"])
def test_the_command_imports_only_what_it_uses(tmp_path, way, form):
    (tmp_path / "case.json").write_text(json.dumps(repair_case()), encoding="utf-8")
    given = {"flags": flags(), "file": [str(tmp_path / "case.json")], "stream": ["-"]}[way]
    if form == "json" and way != "stream":
        given = [*given, "--json"]
    script = "import sys; before = {*sys.modules}; from tirerules.cli import main; code = main(sys.argv[1:])\n"
    script += "print(*({*sys.modules} - before))"
    out = process("-c", script, "decide", *given, given=json.dumps(repair_case()) + "\n")
    added = {*out.rstrip("\n").rpartition("\n")[2].split()}
    assert "tirerules.engine.evaluator" in added
    assert added & SLOW == set()
    assert {f"tirerules.cli.{name}" for name in COMMANDS} & added == {"tirerules.cli.decide"}


def test_a_process_without_a_place_to_write_answers_as_any_other(tmp_path):
    script = f"import tirerules; print(tirerules.load().decide({repair_case()!r}).verdict)"
    place = {"HOME": "/nonexistent", "XDG_CACHE_HOME": "/nonexistent", "TIRERULES_CACHE": "/nonexistent"}
    with_none = subprocess.check_output(
        [sys.executable, "-c", script], cwd=ROOT, text=True, env={**os.environ, **place}, timeout=120
    )
    assert with_none == process("-c", script)
