"""`tirerules compare` as an editor and a build use it: files, folders, revisions, exit codes. All data is invented."""

from __future__ import annotations

import hashlib
import json
import pickle
import subprocess
from pathlib import Path
from types import SimpleNamespace

import pytest

from tests.support import pack_text, repair_case
from tirerules import load
from tirerules.cli import main
from tirerules.packs.reading import MAX_BYTES
from tirerules.packs.revisions import RevisionError

SIZE = """
- id: size
  says: An invented limit.
  activity: [repair]
  limit: {fact: injury.diameter, at-most: 5 mm}
  source: text
"""


def shop(figure: str = "5 mm", version: str = "1.0.0", pack: str = "invented-shop") -> str:
    return pack_text(SIZE.replace("5 mm", figure), version=version, pack=pack)


OLD, LOOSER, TIGHTER = shop(), shop("6 mm"), shop("4 mm", "1.1.0")


@pytest.fixture
def run(capsys, monkeypatch, tmp_path):
    """Run `tirerules compare` in an empty folder; return its exit code, standard output and standard error."""
    monkeypatch.chdir(tmp_path)

    def call(*arguments: str) -> SimpleNamespace:
        try:
            code = main(["compare", *arguments])
        except SystemExit as stopped:  # argparse's own way to refuse a flag
            code = stopped.code
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return SimpleNamespace(code=code, out=out, err=err, lines=out.splitlines())

    return call


def put(name: str, text: str) -> str:
    """Write a file in the current folder."""
    path = Path(name)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return name


# --- files and folders ------------------------------------------------------------------------------------------------


def test_two_files_are_compared(run):
    found = run(put("old.yaml", OLD), put("new.yaml", TIGHTER))
    assert found.code == 0
    assert found.lines == [
        "invented-shop 1.0.0 -> 1.1.0 (Invented pack): tighter; needs a new minor version",
        "  repair: injury.diameter at most 5 mm -> at most 4 mm (tighter) [size]",
    ]
    assert found.err == "1 pack changed, 0 unchanged; version gate: passes\n"


def test_two_folders_are_compared(run):
    for side, text in (("old", OLD), ("new", TIGHTER)):
        put(f"{side}/a/invented-shop.yaml", text)
        put(f"{side}/same.yaml", shop(pack="invented-other"))
        put(f"{side}/.hidden/broken.yaml", "no pack")
        put(f"{side}/notes.txt", "no pack")
    put("new/added.yaml", shop(pack="invented-third"))
    found = run("old", "new")
    assert [line.split(" (")[0] for line in found.lines if not line.startswith(" ")] == [
        "invented-shop 1.0.0 -> 1.1.0",
        "invented-third 1.0.0",
    ]
    assert found.err == "2 packs changed, 1 unchanged; version gate: passes\n"


@pytest.mark.parametrize(
    ("new", "flags", "code"),
    [
        (OLD, ["--gate"], 0),
        (TIGHTER, ["--gate"], 0),
        (LOOSER, ["--gate"], 1),
        (LOOSER, [], 0),
        (TIGHTER, ["--gate", "--changelog", "empty.md"], 1),
        (TIGHTER, ["--changelog", "empty.md"], 0),
        (TIGHTER, ["--gate", "--changelog", "full.md"], 0),
        (OLD, ["--gate", "--changelog", "empty.md"], 0),
    ],
)
def test_only_the_gate_makes_the_command_fail(run, new, flags, code):
    put("empty.md", "# Changes\n")
    put("full.md", "# Changes\n\n- invented-shop 1.1.0: 5 mm is no longer repaired.\n")
    found = run(put("old.yaml", OLD), put("new.yaml", new), *flags)
    assert found.code == code
    assert ("[version-unbumped]" in found.out) is (new == LOOSER)


def test_a_refusal_has_a_place_and_a_cure(run):
    found = run(put("old.yaml", OLD), put("new.yaml", LOOSER), "--gate")
    assert found.lines[-1] == (
        "  new.yaml:3:10: [version-unbumped] at version the pack changed and its version did not; the first number "
        "must rise for: repair: injury.diameter at most 5 mm -> at most 6 mm (looser) -- write 2.0.0"
    )
    assert found.err.splitlines()[0] == "1 pack changed, 0 unchanged; version gate: 1 problem"


def left(place: str, text: str, version: str = "1.0.0") -> list[str]:
    """Return what the gate says of the one version of the shop's pack that only the old side holds."""
    return [
        f"records that name these versions replay only by the old packs: tirerules replay RECORD --packs {place}",
        f"  invented-shop {version} (sha256 {hashlib.sha256(text.encode()).hexdigest()[:12]})",
    ]


def test_the_gate_says_which_records_need_the_old_side(run):
    old, new = put("old.yaml", OLD), put("new.yaml", TIGHTER)
    assert run(old, new, "--gate").err.splitlines()[1:] == left("old.yaml", OLD)
    assert run(old, new).err.splitlines()[1:] == []
    assert run(old, put("same.yaml", OLD), "--gate").err.splitlines()[1:] == []
    # The old version is kept beside the new one: records find it there.
    put("both/invented-shop@1.0.0.yaml", OLD)
    put("both/invented-shop.yaml", TIGHTER)
    assert run(old, "both", "--gate").err.splitlines()[1:] == []
    # An older version goes, and the newest stays as it is.
    gone = run("both", new, "--gate")
    assert (gone.code, gone.err.splitlines()) == (
        0,
        ["0 packs changed, 1 unchanged; version gate: passes", *left("both", OLD)],
    )
    said = json.loads(run(old, new, "--gate", "--format", "json").out)
    sha256 = hashlib.sha256(OLD.encode()).hexdigest()
    assert said["left"] == [{"pack": "invented-shop", "version": "1.0.0", "sha256": sha256}]


@pytest.mark.parametrize("new", [OLD + "# A word.\n", OLD.replace("An invented limit.", "A limit."), LOOSER])
def test_no_content_changes_under_one_version(run, new):
    """Not even a comment: records and locks name the bytes."""
    old = put("old.yaml", OLD)
    found = run(old, put("new.yaml", new), "--gate")
    assert found.code == 1
    assert "[version-unbumped]" in found.out
    assert found.err.splitlines()[1:] == left("old.yaml", OLD)


def test_a_pack_that_is_gone_leaves_its_records_behind(run):
    put("old/invented-shop.yaml", OLD)
    for side in ("old", "new"):
        put(f"{side}/same.yaml", shop(pack="invented-other"))
    put("log.md", "- invented-shop removed: the shop has closed.\n")
    assert run("old", "new", "--gate").code == 1
    found = run("old", "new", "--gate", "--changelog", "log.md")
    assert (found.code, found.err.splitlines()[1:]) == (0, left("old", OLD))


def test_every_format_tells_the_same(run):
    places = (put("old.yaml", OLD), put("new.yaml", LOOSER))
    said = json.loads(run(*places, "--format", "json").out)
    assert [change["says"] for change in said["packs"][0]["changes"]] == ["at most 5 mm -> at most 6 mm"]
    assert said["packs"][0]["problems"][0]["code"] == "version-unbumped"
    table = run(*places, "--format", "markdown")
    assert "| **looser** | repair | injury.diameter at most 5 mm → at most 6 mm | size |" in table.lines
    assert run(*places).out == run(*places, "--format", "text").out


def test_nothing_is_said_where_nothing_changed(run):
    found = run(put("old.yaml", OLD), put("new.yaml", OLD))
    assert (found.code, found.out) == (0, "nothing changed\n")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["nowhere.yaml", "old.yaml"], "nowhere.yaml: no such file or folder"),
        (["old.yaml", "empty"], "empty: no .yaml file was found there"),
        (["old.yaml", "broken.yaml"], "broken.yaml:1:1: [wrong-type] this is the text 'no pack'"),
        (["old.yaml", "old.yaml", "--changelog", "nowhere.md"], "nowhere.md: No such file or directory"),
        (["old.yaml", "old.yaml", "--changelog", "empty"], "empty: Is a directory"),
        (["old.yaml", "old.yaml", "--changelog", "latin.md"], "latin.md: this is no UTF-8 text (byte 1) -- save it"),
        (["old.yaml"], "give either OLD and NEW, or --git OLDREV NEWREV PATH"),
        (["old.yaml", "old.yaml", "--git", "a", "b", "c"], "give either OLD and NEW, or --git OLDREV NEWREV PATH"),
        ([], "give either OLD and NEW, or --git OLDREV NEWREV PATH"),
        (["twice", "old.yaml"], "pack invented-shop 1.0.0 stands with other content in"),
        (["old.yaml", "HEAD:old.yaml"], "this is no git repository"),
        (["--git", "HEAD~1", "HEAD", "old.yaml"], "this is no git repository"),
    ],
)
def test_what_cannot_be_compared_is_told_in_a_sentence(run, arguments, said, monkeypatch, tmp_path):
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path.parent))
    put("old.yaml", OLD)
    put("broken.yaml", "no pack")
    put("twice/a.yaml", OLD)
    put("twice/b.yaml", LOOSER)
    Path("empty").mkdir()
    Path("latin.md").write_bytes(b"\xe9t\xe9")
    found = run(*arguments)
    assert (found.code, found.out) == (2, "")
    assert said in found.err


# --- revisions --------------------------------------------------------------------------------------------------------


def git(*arguments: str) -> str:
    command = ["git", "-c", "user.name=Invented", "-c", "user.email=invented@shop.example", *arguments]
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout.strip()


@pytest.fixture
def repository(run, monkeypatch):
    """Make a repository whose first commit holds a pack, and whose second a tighter one and another."""
    for name in ("GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE"):
        monkeypatch.delenv(name, raising=False)
    git("init", "-q", "-b", "main")
    put("packs/invented-shop.yaml", OLD)
    put("packs/.hidden/broken.yaml", "no pack")
    put("other.txt", "no pack")
    git("add", "-A")
    git("commit", "-q", "-m", "one")
    git("tag", "v1")
    put("packs/invented-shop.yaml", TIGHTER)
    put("packs/deep/é ü.yaml", shop(pack="invented-other"))
    git("add", "-A")
    git("commit", "-q", "-m", "two")
    return run


TIGHTENED = "  repair: injury.diameter at most 5 mm -> at most 4 mm (tighter) [size]"


@pytest.mark.parametrize(
    "arguments",
    [
        ["--git", "v1", "HEAD", "packs"],
        ["--git", "v1", "main", "./packs/"],
        ["--git", "HEAD~1", "HEAD", "."],
        ["v1:packs", "packs"],
        ["v1:packs/", "HEAD:packs"],
        ["v1:./packs", "packs"],
        ["v1:", "HEAD:"],
    ],
)
def test_revisions_are_compared(repository, arguments):
    found = repository(*arguments)
    assert found.code == 0
    assert TIGHTENED in found.lines
    assert "2 packs changed, 0 unchanged" in found.err


def test_one_file_of_two_revisions_is_compared(repository):
    found = repository("--git", "v1", "HEAD", "packs/invented-shop.yaml")
    assert found.lines[1:] == [TIGHTENED]
    assert repository("--git", "v1", "HEAD", "packs/.hidden/broken.yaml").code == 2


def test_paths_are_taken_from_the_current_folder(repository, monkeypatch):
    monkeypatch.chdir("packs")
    for arguments in (
        ["--git", "v1", "HEAD", "."],
        ["v1:./invented-shop.yaml", "HEAD:packs/invented-shop.yaml"],
        ["v1:packs", "."],
    ):
        assert TIGHTENED in repository(*arguments).lines
    monkeypatch.chdir("..")
    monkeypatch.chdir("..")
    inside = next(path for path in Path().iterdir() if (path / ".git").is_dir())
    assert TIGHTENED in repository("--git", "v1", "HEAD", str(inside / "packs")).lines


def test_nothing_is_checked_out(repository):
    put("packs/invented-shop.yaml", "an unfinished edit")
    before = git("status", "--porcelain")
    assert repository("--git", "v1", "HEAD", "packs").code == 0
    assert git("status", "--porcelain") == before
    assert Path("packs/invented-shop.yaml").read_text(encoding="utf-8") == "an unfinished edit"


def test_a_path_that_one_revision_lacks_was_added_or_removed(repository):
    there = repository("--git", "v1", "HEAD", "packs/deep")
    assert there.lines[0] == "invented-other 1.0.0 (Invented pack): added"
    back = repository("--git", "HEAD", "v1", "packs/deep", "--gate")
    assert back.lines[0] == "invented-other 1.0.0 (Invented pack): removed"
    assert back.code == 1
    assert "HEAD:packs/deep/é ü.yaml:3:10: [pack-removed]" in back.out


def test_records_of_a_revision_replay_by_the_commit_that_the_gate_names(repository, capsys, monkeypatch):
    """A branch moves on; what it named on the day of the change does not."""
    commit = git("rev-parse", "v1")
    for arguments in (["v1:packs", "packs"], ["--git", "v1", "HEAD", "packs"], ["v1:./packs", "HEAD:packs"]):
        assert repository(*arguments, "--gate").err.splitlines()[1:] == left(f"{commit}:packs", OLD)
    record = put("record.json", load("packs/invented-shop.yaml").decide_json(json.dumps(repair_case())))
    old = put("old.json", load(put("old.yaml", OLD)).decide_json(json.dumps(repair_case())))
    assert main(["replay", record, "--packs", "packs"]) == 0
    assert main(["replay", old, "--packs", "packs"]) == 2
    assert main(["replay", old, "--packs", f"{commit}:packs"]) == 0
    assert main(["replay", old, "--packs", f"{commit}:packs", "--packs", "packs"]) == 0
    assert "invented-shop 1.0.0 is not here (found: 1.1.0) -- name where" in capsys.readouterr().err
    monkeypatch.chdir("packs")
    assert main(["replay", "../old.json", "--packs", f"{commit}:./invented-shop.yaml"]) == 0


def test_a_local_file_comes_before_a_revision(repository):
    put("v1:packs", OLD)
    assert TIGHTENED in repository("v1:packs", "packs/invented-shop.yaml").lines


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--git", "v9", "HEAD", "packs"], "v9: git knows no such revision -- name a commit, a branch or a tag"),
        (["--git", "v1", "--all", "packs"], "expected 3 arguments"),
        (["-x:packs", "packs"], "unrecognized arguments"),
        (["--", "-x:packs", "packs"], "-x: git knows no such revision"),
        ([":packs", "packs"], "git knows no such revision"),
        (["--git", "v1", "HEAD", "nowhere"], "nowhere: neither 'v1' nor 'HEAD' has it -- name a pack or a folder"),
        (["--git", "v1", "HEAD", "other"], "other: neither 'v1' nor 'HEAD' has it"),
        (["--git", "v1", "HEAD", ".."], "this is no git repository"),
        (["v1:nowhere", "packs"], "v1:nowhere: the revision 'v1' has no file or folder 'nowhere'"),
        (["v1:../packs", "packs"], "../packs: this lies outside the git repository"),
        (["HEAD:packs/.hidden", "packs"], "HEAD:packs/.hidden/broken.yaml:1:1: [wrong-type]"),
        (["v1:other.txt", "packs"], "v1:other.txt:1:1: [wrong-type]"),
    ],
)
def test_what_git_does_not_have_is_told_in_a_sentence(repository, arguments, said):
    found = repository(*arguments)
    assert (found.code, found.out) == (2, "")
    assert said in found.err


def test_a_folder_without_packs_is_told(repository):
    put("texts/notes.txt", "no pack")
    git("add", "-A")
    git("commit", "-q", "-m", "three")
    assert "texts: no .yaml file was found there in 'v1' or 'HEAD'" in repository("--git", "v1", "HEAD", "texts").err
    assert "HEAD:texts: no .yaml file was found there" in repository("HEAD:texts", "packs").err


def test_links_and_parts_of_other_repositories_are_refused(repository):
    Path("packs/link.yaml").symlink_to("invented-shop.yaml")
    Path("packs/note.txt").symlink_to("nowhere.txt")
    git("add", "-A")
    git("commit", "-q", "-m", "three")
    assert (
        "HEAD:packs/link.yaml: this is a symbolic link, which is not followed" in repository("HEAD:packs", "packs").err
    )
    git("update-index", "--add", "--cacheinfo", f"160000,{git('rev-parse', 'HEAD')},packs/part")
    git("rm", "-q", "--cached", "packs/link.yaml")
    Path("packs/link.yaml").unlink()
    git("commit", "-q", "-m", "four")
    assert "HEAD:packs/part: this is a part of another repository" in repository("HEAD:packs", "packs").err


def test_a_file_too_large_is_refused_before_it_is_read(repository):
    put("packs/large.yaml", "#" * (MAX_BYTES + 1))
    git("add", "-A")
    git("commit", "-q", "-m", "three")
    assert (
        "HEAD:packs/large.yaml:1:1: [file-too-large] the file has 1,000,001 bytes"
        in repository("HEAD:packs", "packs").err
    )


@pytest.mark.parametrize(
    ("lost", "said"),
    [("HEAD:packs/invented-shop.yaml", "git cannot show it"), ("HEAD:packs", "packs: git cannot list it")],
)
def test_a_damaged_repository_is_told(repository, lost, said):
    name = git("rev-parse", lost)
    thing = Path(".git/objects", name[:2], name[2:])
    thing.chmod(0o644)
    thing.unlink()
    found = repository("HEAD:packs", "packs")
    assert (found.code, found.out) == (2, "")
    assert said in found.err


def test_a_missing_git_is_told(repository, monkeypatch):
    monkeypatch.setenv("PATH", "/nowhere")
    assert repository("HEAD:packs", "packs").err == "tirerules: git: the git command was not found -- install git\n"


def test_the_error_survives_pickling():
    error = RevisionError("v9", "git knows no such revision", "name a commit")
    assert str(pickle.loads(pickle.dumps(error))) == str(error) == "v9: git knows no such revision -- name a commit"
    assert isinstance(error, LookupError)
