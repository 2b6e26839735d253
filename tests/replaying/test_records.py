"""Every record of release 1.0.0 goes on replaying, by its own packs: the same answer, or a difference that is listed.

The records and packs are data of this folder (see its docstring), so that the test runs in any copy of the project: a
shallow clone and an unpacked source archive too.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from pathlib import Path

import pytest
from packaging.version import Version

from tests.replaying.making import CONTRADICTED, COUNT, cases
from tests.replaying.releases import NEWER, be_release, packs_of, records_of
from tirerules import Replay, __version__, case_from_json, case_to_json, decision_to_json, load, lock_from_json, replay
from tirerules.record import digest_of
from tirerules.record.earlier import form_of
from tirerules.vocabulary import ACTIVITIES, FACTS, VERDICTS

RECORDS = records_of("1.0.0")
#: The parts of a record that are its answer.
ANSWER = ("verdict", "methods", "limits", "reasons")

_NAMED = {name: COUNT - len(CONTRADICTED) + place for place, name in enumerate(CONTRADICTED, start=1)}
#: Why release 1.1.0 answers otherwise -> line of the record -> its verdict since then. Everything else must stay as it
#: was. No record is added to make a change pass: one stands here because the old answer could hurt someone, or because
#: a question was asked whose answer was known.
OTHERWISE = {
    "the zone is judged by the worse of its name and its measured place": {
        _NAMED["crown, measured beyond the tread"]: "outside-limits",
        _NAMED["crown of a light truck, measured beyond the tread"]: "outside-limits",
        _NAMED["earlier repair in the crown, measured beyond the tread"]: "outside-limits",
        _NAMED["earlier repair in the crown, measured astride the tread's edge"]: "undetermined",
    },
    "a rule against tires worn to the indicators is no floor on tread": {
        37: "undetermined",  # New Jersey, road use
        202: "undetermined",  # Canada and New Jersey, road use
        250: "undetermined",  # Ontario and New Jersey, inspection
        _NAMED["no tread, not worn to the indicators"]: "undetermined",
        _NAMED["no tread, not worn to the indicators, as a used tire"]: "undetermined",
    },
    "a recorded inspection that found no regroove says that the tire was not regrooved": {
        _NAMED["no regroove found, none stated"]: "within-limits",
        _NAMED["no regroove found, none stated, in another place"]: "within-limits",
    },
    "nothing limits the size of an earlier repair": {
        **dict.fromkeys((6, 102, 150, 214, 230), "outside-limits"),
        **dict.fromkeys((50, 134, 167, 178, 215), "undetermined"),
    },
    "no rule speaks of a class that is made for no highway": {
        **dict.fromkeys((25, 51, 156, 169, 285), "outside-limits"),
        **dict.fromkeys(
            (
                12,
                13,
                26,
                64,
                65,
                77,
                78,
                90,
                91,
                103,
                104,
                117,
                129,
                130,
                142,
                143,
                155,
                181,
                194,
                195,
                207,
                208,
                220,
                221,
                233,
                234,
                246,
                247,
                259,
                260,
                272,
                273,
            ),
            "undetermined",
        ),
    },
    "neither of an earlier repair's size nor of a class that is made for no highway": {
        **dict.fromkeys((38, 182), "outside-limits"),
        **dict.fromkeys((39, 116), "undetermined"),
    },
}


_LISTS = ("injuries", "earlier_repairs")
#: Facts without which the records would leave a part of the deciding untried.
_STATED = {
    *("tire.size", "tire.date_code", "tire.tread_grid", "tire.crack_depth", "tire.age", "tire.tread_width"),
    *("injuries[].from_centerline", "injuries[].surface_diameter", "injuries[].clock", "injuries[].leans"),
    *("earlier_repairs[].from_centerline", "earlier_repairs[].method", "earlier_repairs[].clock", "repairs"),
    *("vehicle.use", "repair_unit", "method", "shop", "road", "sale"),
}


@pytest.fixture(scope="module")
def packs(tmp_path_factory) -> Path:
    """Return a folder with the packs of the release."""
    return packs_of("1.0.0", tmp_path_factory.mktemp("packs"))


@pytest.fixture(scope="module")
def replayed(packs) -> dict[int, Replay]:
    """Return what a later release finds of every record, by line."""
    with pytest.MonkeyPatch.context() as patch:
        be_release(patch, NEWER)
        return {line: replay(said, packs) for line, said in enumerate(RECORDS, start=1)}


# --- what is kept -----------------------------------------------------------------------------------------------------


def test_the_records_speak_of_everything():
    assert len(RECORDS) == COUNT == 300
    assert {said["engine"] for said in RECORDS} == {"1.0.0"}
    assert all(said["case"]["on"] == said["on"] for said in RECORDS)
    asked = Counter((said["activity"], said["verdict"]) for said in RECORDS)
    assert set(asked) == {(activity, verdict) for activity in ACTIVITIES for verdict in VERDICTS}
    classes = FACTS["tire.class"].values
    assert {said["case"]["tire"].get("class") for said in RECORDS} == {*classes, None}
    stated = {
        f"{key}[].{name}" for said in RECORDS for key in _LISTS for each in said["case"].get(key, ()) for name in each
    }
    stated |= {f"{key}.{name}" for said in RECORDS for key in ("tire", "vehicle") for name in said["case"].get(key, ())}
    stated |= {key for said in RECORDS for key in said["case"]}
    assert stated >= _STATED
    kinds = {notice["kind"] for said in RECORDS for notice in said["notices"]}
    assert kinds == form_of("1.0.0", NEWER).notices
    assert any(each["known"] and "margin" in each for said in RECORDS for each in said["geometry"])
    assert any(reason.get("extended") for said in RECORDS for method in said["methods"] for reason in method["reasons"])


def test_every_pack_of_the_release_is_kept_and_named_by_a_record(packs):
    kept = {hashlib.sha256(path.read_bytes()).hexdigest() for path in packs.rglob("*.yaml")}
    assert {entry["sha256"] for said in RECORDS for entry in said["packs"].values()} == kept
    assert len(kept) == 72
    assert {code for said in RECORDS for code in said["case"]["jurisdictions"]} == {*load(packs, builtins=False).codes}


def test_no_record_was_edited():
    assert [line for line, said in enumerate(RECORDS, start=1) if digest_of(said) != said["digest"]] == []


def test_the_cases_are_those_that_the_script_draws(packs):
    drawn = [case_to_json(case_from_json(case)) for case in cases(load(packs, builtins=False))]
    assert drawn == [said["case"] for said in RECORDS]


# --- what is found of it ----------------------------------------------------------------------------------------------


def test_every_record_gets_the_same_answer_but_for_those_that_are_listed(replayed):
    listed = {line for rows in OTHERWISE.values() for line in rows}
    assert {line: found.differences for line, found in replayed.items() if not found.same and line not in listed} == {}
    assert all(found.intact and found.engine == "1.0.0" for found in replayed.values())


@pytest.mark.parametrize(("why", "rows"), OTHERWISE.items(), ids=OTHERWISE)
def test_what_is_judged_otherwise_is_said(why, rows, replayed):
    since = Version(__version__) >= Version("1.1.0")
    assert {line for line in rows if not replayed[line].same} == (set(rows) if since else set()), why
    for line, verdict in rows.items():
        said, found = RECORDS[line - 1], replayed[line]
        before = said["verdict"]
        verdicts = [f"verdict differs: recorded {before}, now {verdict}"] if since and verdict != before else []
        assert [each for each in found.differences if each.startswith("verdict ")] == verdicts
        assert found.same or {each.partition(" ")[0] for each in found.differences} & {*ANSWER}


def test_the_answer_and_the_digest_are_the_same_part_by_part(replayed, packs, monkeypatch):
    """What a replay concludes, concluded without it."""
    be_release(monkeypatch, NEWER)
    form = form_of("1.0.0", NEWER)
    for line, said in enumerate(RECORDS, start=1):
        if replayed[line].same:
            rulebook = load(packs, lock=lock_from_json(said["packs"]), builtins=False)
            now = decision_to_json(rulebook.decide(said["case"]))
            assert {key: now[key] for key in ANSWER} == {key: said[key] for key in ANSWER}, line
            assert now["engine"] == NEWER
            then, _ = form.told(now)
            assert digest_of({**then, "engine": "1.0.0"}) == said["digest"], line
