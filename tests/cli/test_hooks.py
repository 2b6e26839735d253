"""The hooks for pre-commit, with the real tool: what they let into a repository of packs, and what they keep out.

The shop and its packs are invented. The hooks are installed once, from a copy of this checkout as it stands.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.invented import shop_pack

ROOT = Path(__file__).parent.parent.parent
#: What the hooks are made from.
_PARTS = ("tirerules", "rulepacks", "schemas", "pyproject.toml", "README.md", "LICENSE", ".pre-commit-hooks.yaml")
#: Seconds that the installation of the hooks may take.
_PATIENCE = 180


class Shop:
    """A repository of an invented shop, with the hooks in force."""

    def __init__(self, place, environment):
        self.place, self._environment = place, environment

    def run(self, *command):
        return subprocess.run(
            command, cwd=self.place, env=self._environment, capture_output=True, text=True, timeout=_PATIENCE
        )

    def git(self, *arguments):
        done = self.run("git", *arguments)
        assert done.returncode == 0, done.stderr
        return done.stdout

    def write(self, text, name="rulepacks/invented-shop.yaml"):
        file = self.place / name
        file.parent.mkdir(exist_ok=True)
        file.write_text(text, encoding="utf-8")

    def commit(self):
        """Try to commit everything; return whether the hooks let it in, and what they said."""
        self.git("add", "--all")
        done = self.run("git", "commit", "--quiet", "--message", "invented")
        return done.returncode == 0, done.stdout + done.stderr


def _repository(place, environment):
    for command in (["init", "--quiet", "--initial-branch=main"], ["add", "--all"], ["commit", "-qm", "invented"]):
        subprocess.run(["git", *command], cwd=place, env=environment, check=True, capture_output=True)


@pytest.fixture(scope="module")
def published(tmp_path_factory):
    """Return a repository with the first version of the invented pack, and the environment in which git runs there."""
    place = tmp_path_factory.mktemp("hooks")
    environment = {
        **{name: value for name, value in os.environ.items() if not name.startswith(("GIT_", "PYTHON", "COV"))},
        **{f"GIT_{who}_NAME": "Invented" for who in ("AUTHOR", "COMMITTER")},
        **{f"GIT_{who}_EMAIL": "invented@example.com" for who in ("AUTHOR", "COMMITTER")},
        "GIT_CONFIG_GLOBAL": os.devnull,
        "PRE_COMMIT_HOME": str(place / "home"),
        "PRE_COMMIT_COLOR": "never",
    }
    library = place / "library"
    library.mkdir()
    for part in _PARTS:
        source = ROOT / part
        if source.is_dir():
            shutil.copytree(source, library / part, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source, library)
    _repository(library, environment)
    head = subprocess.run(["git", "rev-parse", "HEAD"], cwd=library, capture_output=True, text=True, check=True)
    shop = place / "shop"
    (shop / "rulepacks").mkdir(parents=True)
    (shop / "rulepacks" / "invented-shop.yaml").write_text(shop_pack(), encoding="utf-8")
    (shop / ".pre-commit-config.yaml").write_text(
        f"repos:\n  - repo: {library}\n    rev: {head.stdout.strip()}\n"
        "    hooks:\n      - id: tirerules-check\n      - id: tirerules-compare\n",
        encoding="utf-8",
    )
    _repository(shop, environment)
    installed = subprocess.run(
        [sys.executable, "-m", "pre_commit", "install", "--install-hooks"],
        cwd=shop,
        env=environment,
        capture_output=True,
        text=True,
        timeout=_PATIENCE,
    )
    assert installed.returncode == 0, installed.stdout + installed.stderr
    return shop, environment


@pytest.fixture
def shop(published):
    """Return the shop as it was published; what a test commits is undone before the next."""
    place, environment = published
    here = Shop(place, environment)
    start = here.git("rev-parse", "HEAD").strip()
    yield here
    here.git("reset", "--quiet", "--hard", start)
    here.git("clean", "--quiet", "-d", "--force")


def _outcomes(said):
    """Return the outcome of each hook by the name that is shown."""
    return dict(re.findall(r"^(.+?)\.{3,}.*?(Passed|Failed|Skipped)$", said, flags=re.MULTILINE))


CHECK, COMPARE = "check rule packs", "compare rule packs with those of the last commit"


def test_the_manifest_is_valid():
    done = subprocess.run(
        [sys.executable, "-m", "pre_commit", "validate-manifest", str(ROOT / ".pre-commit-hooks.yaml")],
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_a_change_with_its_version_is_let_in(shop):
    shop.write(shop_pack(3, "1.1.0"))
    let_in, said = shop.commit()
    assert let_in, said
    assert _outcomes(said) == {CHECK: "Passed", COMPARE: "Passed"}


def test_a_misspelt_key_is_kept_out_with_its_place(shop):
    shop.write(shop_pack(version="1.0.1").replace("says:", "syas:"))
    let_in, said = shop.commit()
    assert not let_in
    assert _outcomes(said) == {CHECK: "Failed", COMPARE: "Failed"}
    assert re.search(r"rulepacks/invented-shop\.yaml:[0-9]+:[0-9]+: .*unknown key 'syas'", said)


def test_an_example_that_fails_is_kept_out(shop):
    shop.write(shop_pack(version="1.0.1").replace("verdict: within-limits", "verdict: outside-limits"))
    let_in, said = shop.commit()
    assert not let_in
    assert _outcomes(said) == {CHECK: "Failed", COMPARE: "Passed"}


def test_a_looser_limit_with_a_small_step_of_the_version_is_kept_out(shop):
    shop.write(shop_pack(5, "1.1.0"))
    let_in, said = shop.commit()
    assert not let_in
    assert _outcomes(said) == {CHECK: "Passed", COMPARE: "Failed"}
    assert "write 2.0.0" in said


def test_a_pack_that_is_taken_out_is_not_let_go_in_silence(shop):
    shop.write(shop_pack(pack="invented-line"), name="rulepacks/invented-line.yaml")
    assert shop.commit()[0]
    (shop.place / "rulepacks" / "invented-line.yaml").unlink()
    let_in, said = shop.commit()
    assert not let_in
    # No file is left to be checked; the comparison runs all the same.
    assert _outcomes(said) == {CHECK: "Skipped", COMPARE: "Failed"}
    assert "invented-line" in said


def test_other_yaml_files_are_left_alone(shop):
    shop.write("anything: [at, all]\n", name="settings.yaml")
    let_in, said = shop.commit()
    assert let_in, said
    assert _outcomes(said) == {CHECK: "Skipped", COMPARE: "Passed"}
