"""Proving a recorded decision, years later: same case, same packs, same library, same answer. The shop is invented."""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest

from tests.support import injury, pack_text, repair_case, ship
from tirerules import (
    CaseError,
    Replay,
    ReplayError,
    TirerulesError,
    UnknownJurisdictionError,
    decision_to_json,
    load,
    replay,
)
from tirerules.packs.library import builtin
from tirerules.record import digest_of, parse

SHIPPED = builtin()

SMALL = """
- id: small
  says: The invented shop repairs no injury above {size}.
  activity: [repair]
  limit: {{fact: injury.diameter, at-most: {size}}}
  source: text
"""


@pytest.fixture(autouse=True)
def few_packs(tmp_path_factory, monkeypatch):
    """Let the library ship the packs of one place only: reading all of them for every test would take minutes."""
    folder = tmp_path_factory.mktemp("rulepacks")
    for name in ("industry.yaml", "US/US.yaml", "US/US-SC.yaml", "CA/CA.yaml", "CA/CA-ON.yaml"):
        file = folder / name.rpartition("/")[2]
        file.write_bytes((SHIPPED / name).read_bytes())
    ship(monkeypatch, folder)


def write(folder, size: str = "4 mm", version: str = "1.0.0", name: str = "invented-shop.yaml"):
    """Write an invented shop's pack and return its path."""
    path = folder / name
    path.write_text(pack_text(SMALL.format(size=size), version=version), encoding="utf-8")
    return path


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
    assert [line.partition(" ")[0] for line in found.differences[1:]] == [key]


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


def test_a_decision_of_another_version_of_the_library_is_told_as_such():
    said = {**recorded(), "engine": "0.9.0"}
    said["digest"] = digest_of(said)
    found = replay(said)
    assert not found.same
    assert len(found.differences) == 1
    assert found.differences[0].startswith("engine differs: recorded 0.9.0, now ")


def test_a_long_difference_is_cut_short():
    said = {**recorded(), "cautions": ["x" * 500]}
    (line,) = [line for line in replay(said).differences if line.startswith("cautions")]
    assert len(line) < 200
    assert "..." in line


def test_a_pack_whose_content_changed_is_found_out(tmp_path):
    write(tmp_path)
    said = recorded(tmp_path)
    write(tmp_path, "9 mm")
    found = replay(said, tmp_path)
    assert not found.same
    (line,) = found.differences
    assert line.startswith("invented-shop 1.0.0 has other content (")
    assert said["packs"]["invented-shop"]["sha256"][:12] in line


def test_a_single_byte_is_a_change(tmp_path):
    path = write(tmp_path)
    said = recorded(tmp_path)
    path.write_bytes(path.read_bytes() + b"\n")
    assert not replay(said, tmp_path).same


def test_a_pack_of_another_version_is_found_out(tmp_path):
    write(tmp_path)
    said = recorded(tmp_path)
    write(tmp_path, version="1.0.1")
    assert replay(said, tmp_path).differences == ("invented-shop 1.0.0 is not here (found: 1.0.1)",)


def test_a_pack_that_is_gone_is_found_out(tmp_path):
    write(tmp_path)
    said = recorded(tmp_path)
    assert replay(said).differences == ("invented-shop 1.0.0 is not here (found: none)",)


def test_every_pack_that_differs_is_told_at_once(tmp_path):
    write(tmp_path)
    said = copy.deepcopy(recorded(tmp_path))
    said["packs"]["US"]["version"] = "0.1.0"
    said["packs"]["industry"]["sha256"] = "0" * 64
    said["digest"] = digest_of(said)
    found = replay(said)
    assert [line.partition(" ")[0] for line in found.differences] == ["US", "industry", "invented-shop"]


def test_a_version_that_is_none_is_a_version_that_is_not_here():
    said = copy.deepcopy(recorded())
    said["packs"]["US"]["version"] = "one"
    assert "US one is not here" in replay(said).differences[1]


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
