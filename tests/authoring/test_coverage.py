"""Coverage shows every code, counts what is there, and names what is missing."""

from __future__ import annotations

import csv
import io
import json
from collections import Counter

import pytest

import tirerules
from tests.support import invented_pack, pack_text
from tirerules.authoring.coverage import NO_PACK, cells, missing
from tirerules.cli import main
from tirerules.jurisdictions import JURISDICTIONS
from tirerules.packs.building import read_pack
from tirerules.rulebook import Rulebook
from tirerules.vocabulary import ACTIVITIES

RULE = """
- id: {id}
  says: Invented.
  activity: [road-use]
  limit: {{fact: tire.tread_depth, at-least: 1 mm}}
  source: text
"""


@pytest.fixture(scope="module")
def book():
    return tirerules.load()


def test_every_code_and_activity_has_a_cell(book):
    assert [(cell.code, cell.activity) for cell in cells(book)] == [
        (code, activity) for code in JURISDICTIONS for activity in ACTIVITIES
    ]


def test_every_rule_is_counted_once_for_each_of_its_activities(book):
    expected = sum(
        len(rule.activities) for pack in book.packs.values() if pack.id in JURISDICTIONS for rule in pack.rules
    )
    assert sum(cell.rules for cell in cells(book)) == expected
    assert all(sum(cell.grades) == cell.rules for cell in cells(book))


def test_a_place_of_the_callers_own_is_shown_with_its_weakest_evidence():
    text = pack_text(
        RULE.format(id="a") + RULE.format(id="b").replace("source: text", "source: heard"),
        pack="XA-01",
        kind="jurisdiction",
        coverage="{road-use: partial, repair: none-located}",
        authority="statute",
    )
    heard = "sources:\n  heard: {citation: Hearsay § 2, authority: statute, evidence: memory, read: 2020-02-02}\n"
    mine = read_pack(text.replace("sources:\n", heard).encode(), "XA-01.yaml")
    found = {cell.activity: cell for cell in cells(Rulebook([mine])) if cell.code == "XA-01"}
    road = found["road-use"]
    assert (road.coverage, road.rules, road.weakest) == ("partial", 2, "memory")
    assert str(road.oldest) == "2020-02-02"
    assert (found["repair"].coverage, found["repair"].weakest) == ("none-located", "")
    assert found["inspection"].coverage == "not-reviewed"


def test_what_is_missing_is_named():
    mine = invented_pack(pack="XA-01", kind="jurisdiction", coverage="{repair: none-located}")
    said = list(missing(Rulebook([mine])))
    assert said[0].startswith("no pack: US, CA, US-AK")
    assert "road-use not reviewed: XA-01" in said
    assert not any("repair not reviewed" in line for line in said)


def test_places_without_a_pack_are_told_apart(book):
    assert {cell.code for cell in cells(book) if cell.coverage == NO_PACK} == {"US-UM"}


def test_the_three_formats_say_the_same(capsys):
    assert main(["coverage", "--format", "json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert main(["coverage", "--format", "csv"]) == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert [{key: str(value) for key, value in cell.items()} for cell in said["cells"]] == rows
    assert main(["coverage"]) == 0
    table = capsys.readouterr().out
    assert all(line in table for line in said["missing"])
    shown = Counter(line.split()[0] for line in table.splitlines() if line[:2] in ("US", "CA"))
    assert shown == Counter(JURISDICTIONS)
