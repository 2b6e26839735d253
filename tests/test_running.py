"""How the tests are run: by Python alone as the README says, the others by `.ci/run`, and none left out unseen."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
#: Marker of a program that a machine may lack -> a test file that needs it.
NEEDS = {"node": "tests/editor/test_yaml_language_server.py", "java": "tests/batch/test_spark.py"}


def pytest_in(folder: Path, *arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", *arguments]
    return subprocess.run(command, cwd=folder, env={**os.environ, **environment}, capture_output=True, text=True)


def test_each_program_that_tests_need_has_a_marker_that_only_ci_selects():
    options = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["pytest"]["ini_options"]
    assert [said.partition(":")[0] for said in options["markers"]] == [*NEEDS, "long"]
    left_out = " and ".join(f"not {each}" for each in (*NEEDS, "long"))
    assert options["addopts"][options["addopts"].index("-m") + 1] == left_out
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert re.search(r'^\.venv/bin/python -m pytest -m "(.*)"$', script, re.MULTILINE)[1] == " or ".join(NEEDS)


def test_the_readmes_command_leaves_out_what_needs_another_program():
    done = pytest_in(ROOT, "--collect-only", "-q", *NEEDS.values())
    assert re.search(r"^no tests collected \([0-9]+ deselected\)", done.stdout, re.MULTILINE), done.stdout


@pytest.mark.parametrize(
    ("marker", "test"),
    [
        (
            "node",
            "tests/authoring/test_schemas_patterns.py::test_node_reads_every_pattern_as_python_does",
        ),
        ("java", "tests/batch/test_spark.py::test_two_workers_give_the_answers_of_one_process"),
    ],
)
def test_without_the_program_the_other_command_fails(marker, test, tmp_path):
    """A PATH without programs is a machine without them."""
    done = pytest_in(ROOT, "-q", "-m", marker, test, PATH=str(tmp_path), JAVA_HOME="")
    assert done.returncode == 1, done.stdout
    assert f"{marker} was not found on the PATH -- install it" in done.stdout


def test_a_test_or_a_module_that_is_skipped_fails(tmp_path):
    shutil.copy(ROOT / "tests" / "conftest.py", tmp_path)
    # These skip on purpose: the run of them must fail.
    (tmp_path / "test_skipping.py").write_text(
        "import pytest\ndef test_one():\n    pytest.skip('no time')\n"
        "@pytest.mark.skipif(True, reason='no will')\ndef test_two(): ...\n"
        "@pytest.mark.xfail(strict=True)\ndef test_three():\n    raise ValueError\n",
        encoding="utf-8",
    )
    done = pytest_in(tmp_path, "-q")
    assert done.returncode == 1
    assert "1 failed, 1 xfailed, 1 error" in done.stdout, done.stdout
    assert "no time" in done.stdout
    assert "no will" in done.stdout
    (tmp_path / "test_skipping.py").write_text(
        "import pytest\npytest.importorskip('no_such_library')\n", encoding="utf-8"
    )
    done = pytest_in(tmp_path, "-q")
    assert done.returncode == 2  # pytest's own code for a run that was interrupted, here by what cannot be collected
    assert "could not import 'no_such_library'" in done.stdout
