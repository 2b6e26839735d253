"""Proving a recorded decision, years later: same case, same packs, same answer. The shop is invented."""

from __future__ import annotations

import copy
import json
import subprocess
from pathlib import Path
from typing import Any

import pytest

from tests.replaying.releases import NEWER, be_release, packs_of, records_of
from tests.support import injury, pack_text, repair_case, ship
from tirerules import (
    CaseError,
    LockError,
    MissingDataError,
    Replay,
    ReplayError,
    TirerulesError,
    UnknownJurisdictionError,
    decision_to_json,
    load,
    replay,
    replaying,
)
from tirerules.packs.library import builtin
from tirerules.packs.revisions import RevisionError
from tirerules.record import digest_of, parse

SMALL = """
- id: small
  says: The invented shop repairs no injury above {size}.
  activity: [repair]
  limit: {{fact: injury.diameter, at-most: {size}}}
  source: text
"""


pytestmark = pytest.mark.usefixtures("shipping_few")


def write(folder, size: str = "4 mm", version: str = "1.0.0", name: str = "invented-shop.yaml"):
    """Write an invented shop's pack and return its path."""
    path = folder / name
    path.write_text(pack_text(SMALL.format(size=size), version=version), encoding="utf-8")
    return path


def not_at_hand(said: dict[str, Any], *places: Any) -> tuple[str, ...]:
    """Return which packs of a record a replay does not find."""
    with pytest.raises(LockError) as caught:
        replay(said, *places)
    return caught.value.differences


def recorded(*folders, **changes) -> dict[str, Any]:
    """Return a decision as a program in another language keeps it."""
    return parse(json.dumps(decision_to_json(load(*folders).decide(repair_case(**changes)))))


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"injuries": injury(diameter="8 mm")},
        {"injuries": injury(angle=None), "tire": {"tread_depth": None}},
        {"jurisdictions": ["US-SC", "CA-ON"], "reading": "as-enacted"},
        {"activity": "used-tire-installation", "injuries": [], "on": "2025-04-30"},
        {"repair_unit": {"method": "one-piece", "rated_angle": "35 deg", "document": "invented data sheet 12"}},
    ],
    ids=["within", "outside", "undetermined", "two places", "before a law's start", "with a unit"],
)
def test_a_decision_stands(changes):
    assert replay(recorded(**changes)) == Replay(True, ())


def test_a_decision_that_named_no_day_is_replayed_for_the_day_it_was_made(monkeypatch):
    said = decision_to_json(load().decide({key: value for key, value in repair_case().items() if key != "on"}))
    monkeypatch.setattr("tirerules.rulebook._today", None)  # the clock must not be asked again
    assert replay(said).same


def test_a_decision_by_a_callers_own_pack_stands_where_that_pack_is(tmp_path):
    write(tmp_path)
    said = recorded(tmp_path)
    assert said["verdict"] == "outside-limits"
    assert replay(said, tmp_path).same


def test_a_newer_version_beside_it_changes_nothing(tmp_path):
    write(tmp_path)
    said = recorded(tmp_path)
    write(tmp_path, "9 mm", "2.0.0", "invented-shop@2.0.0.yaml")
    assert load(tmp_path).packs["invented-shop"].version.major == 2
    assert replay(said, tmp_path).same


def test_another_pack_that_the_decision_did_not_use_changes_nothing(tmp_path):
    said = recorded()
    write(tmp_path)
    assert replay(said, tmp_path).same


# --- where it does not stand ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("verdict", "outside-limits"),
        ("say", "Not repairable within the limits"),
        ("methods", []),
        ("limits", {}),
        ("reasons", []),
        ("questions", [{"fact": "tire.age", "ask": "How old is the tire?"}]),
        ("requirements", []),
        ("notices", []),
        ("cautions", []),
    ],
)
def test_a_record_that_was_changed_is_found_out_twice(key, value):
    said = recorded()
    assert said[key] != value
    found = replay({**said, key: value})
    assert not found.same
    assert "does not match its own digest" in found.differences[0]
    assert {line.partition(" ")[0] for line in found.differences[1:]} == {key}
    assert not found.intact


def test_a_forger_who_mends_the_digest_is_found_out_by_the_answer():
    said = {**recorded(injuries=injury(diameter="8 mm")), "verdict": "within-limits"}
    said["digest"] = digest_of(said)
    found = replay(said)
    assert not found.same
    assert found.differences == ("verdict differs: recorded within-limits, now outside-limits",)


def test_a_case_that_was_changed_is_found_out():
    said = copy.deepcopy(recorded())
    said["case"]["injuries"][0]["diameter"] = "8 mm"
    found = replay(said)
    assert not found.same
    assert "does not match its own digest" in found.differences[0]
    assert "verdict differs: recorded within-limits, now outside-limits" in found.differences


def test_a_day_that_was_changed_is_found_out():
    found = replay({**recorded(), "on": "2026-11-24"})
    assert not found.same
    assert "does not match its own digest" in found.differences[0]
    assert [line.partition(" ")[0] for line in found.differences[1:]] == ["case"]


def test_a_long_difference_is_cut_short():
    said = {**recorded(), "cautions": ["x" * 500]}
    (line,) = [line for line in replay(said).differences if line.startswith("cautions")]
    assert len(line) < 200
    assert "..." in line


def test_a_pack_whose_content_changed_is_found_out(tmp_path):
    write(tmp_path)
    said = recorded(tmp_path)
    write(tmp_path, "9 mm")
    (line,) = not_at_hand(said, tmp_path)
    assert line.startswith("invented-shop 1.0.0 has other content (")
    assert said["packs"]["invented-shop"]["sha256"][:12] in line


def test_a_single_byte_is_a_change(tmp_path):
    path = write(tmp_path)
    said = recorded(tmp_path)
    path.write_bytes(path.read_bytes() + b"\n")
    assert not_at_hand(said, tmp_path)


def test_a_pack_of_another_version_is_found_out(tmp_path):
    write(tmp_path)
    said = recorded(tmp_path)
    write(tmp_path, version="1.0.1")
    assert not_at_hand(said, tmp_path) == ("invented-shop 1.0.0 is not here (found: 1.0.1)",)


def test_a_pack_that_is_gone_is_found_out(tmp_path):
    write(tmp_path)
    said = recorded(tmp_path)
    assert not_at_hand(said) == ("invented-shop 1.0.0 is not here (found: none)",)


def test_what_is_not_at_hand_can_be_named(tmp_path):
    write(tmp_path)
    with pytest.raises(
        LockError, match=r"found: none\) -- name where the packs of that day are: a folder, a file, or "
    ):
        replay(recorded(tmp_path))


def test_every_pack_that_differs_is_told_at_once(tmp_path):
    write(tmp_path)
    said = copy.deepcopy(recorded(tmp_path))
    said["packs"]["US"]["version"] = "0.1.0"
    said["packs"]["industry"]["sha256"] = "0" * 64
    said["digest"] = digest_of(said)
    assert [line.partition(" ")[0] for line in not_at_hand(said)] == ["US", "industry", "invented-shop"]


def test_a_version_that_is_none_is_a_version_that_is_not_here():
    said = copy.deepcopy(recorded())
    said["packs"]["US"]["version"] = "one"
    found = replay(said)
    assert (found.same, found.intact) == (False, False)
    assert "US one is not here" in found.differences[1]


# --- where its packs are ----------------------------------------------------------------------------------------------


@pytest.fixture
def changed(tmp_path, monkeypatch):
    """Let every pack that ships change in a comment; return a record from before, and a folder with the packs it names.

    No version changes, so that only their bytes tell the packs apart.
    """
    said = recorded()
    old, new = tmp_path / "old", tmp_path / "new"
    for file in Path(builtin()).iterdir():
        for folder, more in ((old, b""), (new, b"# Changed.\n")):
            folder.mkdir(exist_ok=True)
            (folder / file.name).write_bytes(file.read_bytes() + more)
    ship(monkeypatch, new)
    return said, old


def test_the_packs_of_that_day_are_found_by_their_bytes_in_a_folder_or_in_files(changed):
    said, old = changed
    assert [line.split()[2:5] for line in not_at_hand(said)] == [["has", "other", "content"]] * 3
    assert replay(said, old) == Replay(True, ())
    assert replay(said, str(old)).same
    files = [old / f"{pack}.yaml" for pack in said["packs"]]
    assert replay(said, *files).same


def test_what_a_place_lacks_is_taken_from_the_packs_that_ship(changed, tmp_path, monkeypatch):
    said, old = changed
    own = tmp_path / "own"
    own.mkdir()
    (own / "US.yaml").write_bytes((old / "US.yaml").read_bytes())
    (old / "US.yaml").write_bytes(b"no pack")
    ship(monkeypatch, old)
    assert replay(said, own).same


def test_what_a_place_holds_besides_is_not_even_read(changed):
    said, old = changed
    (old / "broken.yaml").write_text("no pack", encoding="utf-8")
    (old / "US@1.0.0.yaml").write_bytes((old / "US.yaml").read_bytes() + b"# Another with this version.\n")
    assert replay(said, old).same


def test_a_revision_in_git_is_a_place(changed, tmp_path, monkeypatch):
    said, old = changed
    for name in ("GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.chdir(tmp_path)
    git = ["git", "-c", "user.name=Invented", "-c", "user.email=invented@shop.example"]
    for arguments in (
        ["init", "-q"],
        ["add", "old"],
        ["commit", "-q", "-m", "one"],
        ["tag", "v1"],
        ["rm", "-rq", "old"],
    ):
        subprocess.run([*git, *arguments], check=True)
    assert not old.exists()
    assert replay(said, "v1:old") == Replay(True, ())
    assert replay(said, "HEAD:old/US.yaml", "HEAD:old").same
    with pytest.raises(RevisionError, match="v2: git knows no such revision"):
        replay(said, "v2:old")


@pytest.mark.parametrize("place", ["nowhere", "empty"])
def test_a_place_without_packs_is_told(place, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "empty").mkdir()
    with pytest.raises(MissingDataError, match=f"{place}: no "):
        replay(recorded(), place)


# --- another release of the library -----------------------------------------------------------------------------------


def test_the_same_answer_by_a_later_release_is_told_as_such(monkeypatch):
    be_release(monkeypatch, "1.90.0")
    said = recorded()
    be_release(monkeypatch, "1.90.1")
    assert replay(said) == Replay(True, (), engine="1.90.0")
    assert recorded()["digest"] != said["digest"]


def test_the_same_answer_by_an_earlier_release_is_told_as_such(monkeypatch):
    be_release(monkeypatch, "1.90.1")
    said = recorded()
    be_release(monkeypatch, "1.90.0")
    assert replay(said) == Replay(True, (), engine="1.90.1")


@pytest.mark.parametrize("release", ["1.90.1", "1.89"])
def test_another_answer_by_another_release_is_another_answer(release, monkeypatch):
    be_release(monkeypatch, "1.90.0")
    said = {**recorded(), "verdict": "undetermined"}
    said["digest"] = digest_of(said)
    be_release(monkeypatch, release)
    found = replay(said)
    assert found.differences == ("verdict differs: recorded undetermined, now within-limits",)
    assert (found.same, found.intact, found.engine) == (False, True, "1.90.0")


@pytest.fixture
def old(tmp_path, monkeypatch):
    """Return a record of release 1.0.0 and the folder of its packs; let the library be a later release."""
    be_release(monkeypatch, NEWER)
    return records_of("1.0.0")[0], packs_of("1.0.0", tmp_path / "packs")


def test_what_only_a_later_release_says_is_no_other_answer(old, monkeypatch):
    """It is told beside the answer: the form of the record has no place for it."""
    said, packs = old
    written = replaying.decision_to_json

    def says_more(decision, further):
        now = written(decision, further=further)
        now["notices"] = [*now["notices"], {"kind": "invented", "text": "The shop is invented.", "rules": []}]
        now["reasons"] = [{**reason, "margin": "1 mm"} for reason in now["reasons"]]
        return {**now, "remedies": []}

    monkeypatch.setattr(replaying, "decision_to_json", says_more)
    found = replay(said, packs)
    assert (found.same, found.differences, found.engine) == (True, (), "1.0.0")
    assert {"decision.remedies", "reasons.margin", "invented: The shop is invented."} <= {*found.beyond}
    # A record that says it was made by this very release is held to all that the release says.
    own = {**said, "engine": NEWER}
    own["digest"] = digest_of(own)
    # So it lacks what the release before this one did not say of questions, requirements and notices, nor its form.
    lacking = {"notices", "reasons", "remedies", "form", "requirements"}
    assert {line.partition(" ")[0] for line in replay(own, packs).differences} == lacking


def test_a_notice_of_a_known_kind_is_part_of_the_answer(old):
    said, packs = old
    first, *rest = said["notices"]
    less = {**said, "notices": rest}
    less["digest"] = digest_of(less)
    (line,) = replay(less, packs).differences
    assert line.startswith(f"notices differs at {first['kind']}")
    assert f": recorded nothing, now {first['text'][:40]}" in line


@pytest.mark.parametrize(
    "engine", ["newest", "", None, 1.0, "9" * 5_000, "1.0.0" + ".0" * 40], ids=lambda said: str(said)[:9]
)
def test_a_record_of_no_release_is_refused(engine):
    with pytest.raises(ReplayError, match="the decision names no version of the library"):
        replay({**recorded(), "engine": engine})


# --- what is no decision ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("said", [None, [], "decision", 7, [{}]], ids=repr)
def test_what_is_no_block_of_keys_is_no_decision(said):
    with pytest.raises(ReplayError, match="this is no decision"):
        replay(said)


@pytest.mark.parametrize("key", ["case", "packs", "digest", "engine", "verdict", "on"])
def test_a_decision_that_lacks_what_a_replay_needs_is_refused(key):
    with pytest.raises(ReplayError, match=f"the decision lacks {key}"):
        replay({name: value for name, value in recorded().items() if name != key})


def test_all_that_a_decision_lacks_is_told_at_once():
    with pytest.raises(ReplayError, match="lacks case, packs, digest, engine, verdict, on"):
        replay({})


@pytest.mark.parametrize("packs", [None, [], "packs", {"US": None}, {"US": {"version": "1.0.0"}}], ids=repr)
def test_a_decision_without_a_lock_is_refused(packs):
    with pytest.raises(ReplayError, match="no lock of packs"):
        replay({**recorded(), "packs": packs})


def test_a_lock_without_the_packs_of_the_place_is_refused():
    said = copy.deepcopy(recorded())
    del said["packs"]["US-SC"]
    with pytest.raises(UnknownJurisdictionError, match="no pack for US-SC"):
        replay(said)


@pytest.mark.parametrize(
    ("change", "path"),
    [
        ({"on": "yesterday"}, "on"),
        ({"case": {"jurisdictions": ["US-SC"]}}, "activity"),
        ({"case": {}}, "jurisdictions"),
    ],
    ids=["day", "no activity", "empty"],
)
def test_a_record_whose_case_cannot_be_read_is_refused(change, path):
    with pytest.raises(CaseError) as caught:
        replay({**recorded(), **change})
    assert path in [each.path for each in caught.value.problems]
    assert isinstance(caught.value, TirerulesError)
