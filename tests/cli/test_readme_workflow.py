"""The workflow and the hooks that README.md shows, run as they stand there, so that they cannot rot.

The shop, its pack and its change log are invented.
"""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

from tests.cli.invented import shop_pack

ROOT = Path(__file__).parent.parent.parent
README = ROOT / "README.md"


def _shown(word):
    """Return the one YAML block of the README that holds `word`."""
    blocks = re.findall(r"^```yaml\n(.*?)^```$", README.read_text(encoding="utf-8"), flags=re.MULTILINE | re.DOTALL)
    found = [block for block in blocks if word in block]
    assert len(found) == 1, f"README.md has {len(found)} YAML blocks with {word!r}"
    return yaml.safe_load(found[0])


def _commands():
    """Return the commands of the workflow that are ours."""
    (job,) = _shown("tirerules compare --gate")["jobs"].values()
    return [step["run"] for step in job["steps"] if step.get("run", "").startswith("tirerules ")]


def _git(place, *arguments):
    identity = ("-c", "user.name=Invented", "-c", "user.email=invented@example.com")
    subprocess.run(["git", *identity, *arguments], cwd=place, check=True, capture_output=True)


def _write(place, text):
    file = place / "rulepacks" / "invented-shop.yaml"
    file.parent.mkdir(exist_ok=True)
    file.write_text(text, encoding="utf-8")


@pytest.fixture
def place(tmp_path):
    """Return a repository whose main branch has version 1.0.0 of the invented pack."""
    _write(tmp_path, shop_pack(4))
    (tmp_path / "CHANGELOG.md").write_text("- invented-shop 1.0.0: first.\n", encoding="utf-8")
    for arguments in (["init", "-q"], ["add", "-A"], ["commit", "-qm", "invented"]):
        _git(tmp_path, *arguments)
    _git(tmp_path, "update-ref", "refs/remotes/origin/main", "HEAD")
    return tmp_path


def _run(place, command):
    """Run one command as a shell of the workflow would, with this library; return its exit code and what it printed."""
    ours = f"{shlex.quote(sys.executable)} -m tirerules"
    words = command.replace("tirerules ", f"{ours} ", 1)
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        ["bash", "-euo", "pipefail", "-c", words], cwd=place, env=environment, capture_output=True, text=True
    )
    return done.returncode, done.stdout + done.stderr


def test_the_workflow_lets_a_good_change_pass(place):
    _write(place, shop_pack(3, "1.1.0"))
    with (place / "CHANGELOG.md").open("a", encoding="utf-8") as log:
        log.write("- invented-shop 1.1.0: punctures over 3 mm are no longer repaired.\n")
    found = {command: _run(place, command) for command in _commands()}
    assert len(found) == 3
    assert all(code == 0 for code, _ in found.values()), found
    assert "invented-shop" in (place / "changes.md").read_text(encoding="utf-8")


def test_the_workflow_stops_a_change_without_a_version(place):
    _write(place, shop_pack(5))
    codes = [_run(place, command)[0] for command in _commands() if "--gate" in command]
    assert codes == [1]


def test_the_workflow_stops_a_change_without_an_entry_in_the_change_log(place):
    _write(place, shop_pack(3, "1.1.0"))
    ((code, said),) = [_run(place, command) for command in _commands() if "--gate" in command]
    assert code == 1
    assert "the change log has no entry for invented-shop 1.1.0" in said


def test_the_workflow_annotates_a_misspelt_key_at_its_line(place):
    text = shop_pack().replace("says:", "syas:")
    _write(place, text)
    line = text[: text.index("syas:")].count("\n") + 1
    ((code, said),) = [_run(place, command) for command in _commands() if "check" in command]
    assert code == 1
    assert re.search(rf"^::error file=rulepacks/invented-shop\.yaml,line={line},", said, flags=re.MULTILINE), said


def test_the_hooks_that_are_shown_are_those_of_the_manifest(place):
    manifest = {hook["id"]: hook for hook in yaml.safe_load((ROOT / ".pre-commit-hooks.yaml").read_text())}
    ((repository,),) = (_shown("tirerules-check")["repos"],)
    shown = {hook["id"]: hook.get("args", []) for hook in repository["hooks"]}
    assert list(shown) == list(manifest)
    compare = shlex.join([*shlex.split(manifest["tirerules-compare"]["entry"]), *shown["tirerules-compare"]])
    assert _run(place, compare)[0] == 0
    _write(place, shop_pack(5))
    assert _run(place, compare)[0] == 1
