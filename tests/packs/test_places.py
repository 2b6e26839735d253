"""Packs by their place: folders, files, revisions; and packs that were read already. All data is invented."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from tirerules import MissingDataError
from tirerules.packs.places import from_place, lasting
from tirerules.packs.revisions import RevisionError


@pytest.fixture
def repository(tmp_path, monkeypatch):
    """Go to a repository whose one commit holds a pack in a folder; return the id of the commit."""
    for name in ("GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.chdir(tmp_path)
    Path("packs").mkdir()
    Path("packs/invented-shop.yaml").write_text("a: 1\n", encoding="utf-8")
    git = ["git", "-c", "user.name=Invented", "-c", "user.email=invented@shop.example"]
    for arguments in (["init", "-q", "-b", "main"], ["add", "-A"], ["commit", "-q", "-m", "one"], ["tag", "v1"]):
        subprocess.run([*git, *arguments], check=True)
    return subprocess.run([*git, "rev-parse", "HEAD"], check=True, capture_output=True, text=True).stdout.strip()


def test_a_place_is_a_folder_a_file_or_a_revision(repository):
    (name, content) = ("packs/invented-shop.yaml", b"a: 1\n")
    for place in ("packs", Path("packs"), "packs/invented-shop.yaml", Path("packs/invented-shop.yaml")):
        assert from_place(place) == ((name, content),)
    for place in ("v1:packs", "main:packs/", "HEAD:./packs/invented-shop.yaml"):
        ((found, read),) = from_place(place)
        assert (found, read) == (f"{place.partition(':')[0]}:{name}", content)


def test_what_was_given_as_a_path_is_no_revision(repository):
    with pytest.raises(MissingDataError, match="v1:packs: no such file or folder"):
        from_place(Path("v1:packs"))


@pytest.mark.parametrize(
    ("place", "inside"),
    [("main:packs", "packs"), ("v1:packs/", "packs"), ("HEAD:./packs", "packs"), ("HEAD:.", ""), ("HEAD:", "")],
)
def test_a_revision_lasts_by_its_commit(repository, place, inside):
    assert lasting(place) == f"{repository}:{inside}"


def test_what_is_on_disk_lasts_by_its_name(repository):
    assert lasting("packs") == "packs"
    Path("v1:packs").mkdir()
    assert lasting("v1:packs") == "v1:packs"
    with pytest.raises(RevisionError, match="v9: git knows no such revision"):
        lasting("v9:packs")
