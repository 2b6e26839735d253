"""Brief records: small, complete enough to decide again, and bound to the whole. The shop is invented."""

from __future__ import annotations

import json
from statistics import median

import pytest

from tests.engine import everywhere
from tests.replaying.releases import be_release
from tests.support import injury, repair_case
from tirerules import Replay, decision_to_json, load, replay
from tirerules.authoring.vectors import plan
from tirerules.record import digest_of
from tirerules.record.brief import decision_to_brief

CHANGES = {
    "within": {},
    "outside": {"injuries": injury(diameter="8 mm", zone="shoulder")},
    "undetermined": {"injuries": injury(angle=None), "tire": {"tread_depth": None}},
    "two places": {"jurisdictions": ["US-SC", "CA-ON"], "reading": "as-enacted"},
    "a sale": {"activity": "used-tire-sale", "injuries": []},
    "nothing known": {"activity": "road-use", "injuries": None, "findings": None, "tire": {}},
}


def brief(**changes):
    return json.loads(json.dumps(decision_to_brief(load().decide(repair_case(**changes)))))


@pytest.mark.parametrize("name", CHANGES)
def test_a_brief_record_replays_and_names_the_whole(name):
    said = brief(**CHANGES[name])
    assert replay(said) == Replay(True, ())
    whole = decision_to_json(load().decide(repair_case(**CHANGES[name])))
    assert said["whole"] == whole["digest"]
    assert (said["verdict"], said["method"], said["case"]) == (whole["verdict"], whole["limits_method"], whole["case"])
    assert [each["fact"] for each in said["questions"]] == [each["fact"] for each in whole["questions"]]
    reasons = [each for by in (whole, *whole["methods"]) for each in by["reasons"]]
    known = {(each["rule"], each["fact"]) for each in reasons}
    assert {(each["rule"], each["fact"]) for each in said["because"]} <= known
    if whole["verdict"] == "outside-limits":
        failing = {(each["fact"]) for each in whole["reasons"] if each["outcome"] == "fails"}
        assert failing <= {each["fact"] for each in said["because"]}
        assert len({(each["fact"], each.get("subject")) for each in said["because"]}) == len(said["because"])
    else:
        binding = {fact for fact, limits in whole["limits"].items() if limits["binding"]}
        assert binding <= {each["fact"] for each in said["because"]}


@pytest.mark.parametrize("key", ["verdict", "because", "questions", "whole", "on", "case", "form"])
def test_a_changed_record_does_not_stand(key):
    said = brief(**CHANGES["undetermined"])
    said[key] = {"verdict": "within-limits", "on": "2026-11-24", "form": 9}.get(key, [])
    if key == "case":
        said["case"] = repair_case(injuries=injury(diameter="7 mm"))
    assert not replay(said).intact
    said["digest"] = digest_of(said)
    found = replay(said)
    assert found.intact
    assert not found.same


def test_a_brief_record_of_an_earlier_release_is_told_as_such(monkeypatch):
    said = brief()
    be_release(monkeypatch, "1.90.0")
    assert replay(said) == Replay(True, (), engine=said["engine"])


def test_a_record_with_remedies_and_margins_replays():
    said = json.loads(json.dumps(decision_to_json(load().decide(repair_case(**CHANGES["outside"])), further=True)))
    assert said["remedies"]["asked"]
    assert said["margins"]
    assert replay(said) == Replay(True, ())
    said["margins"][0]["limit"] = "at most 100 mm"
    said["digest"] = digest_of(said)
    assert not replay(said).same


@pytest.mark.parametrize(
    "codes",
    [("US-NJ", "CA-QC"), pytest.param((), marks=pytest.mark.long)],
    ids=["few", "all"],
)
def test_a_brief_record_is_small(codes):
    """Bounds: 2.5 kB in the middle, 4 kB for 99 of 100, over the plain vectors of every place."""
    plain = [each for each in plan(everywhere(), codes) if "/plain." in each.id]
    sizes = sorted(
        len(json.dumps(decision_to_brief(everywhere().decide(each.case)), ensure_ascii=False).encode())
        for each in plain
    )
    assert len(sizes) > 25
    assert median(sizes) <= 2_500
    assert sizes[int(len(sizes) * 0.99)] <= 4_000
