"""A new pack passes `check` as it stands and is never written over another."""

from __future__ import annotations

from datetime import date

import pytest

import tirerules
from tirerules.authoring.checking import check
from tirerules.authoring.scaffold import ScaffoldError, scaffold
from tirerules.cli import main
from tirerules.jurisdictions import JURISDICTIONS, NAMES
from tirerules.packs.building import read_pack

TODAY = date(2026, 11, 25)


@pytest.mark.parametrize("code", JURISDICTIONS)
def test_every_real_code_gets_a_pack_that_can_be_read(code):
    pack = read_pack(scaffold(code, TODAY, "x.json").encode(), f"{code}.yaml")
    assert (pack.id, pack.title, pack.reviewed, pack.rules) == (code, NAMES[code], TODAY, ())
    assert set(pack.coverage.values()) == {"not-reviewed"}


@pytest.mark.parametrize("title", ["Invented Province", 'He said "no": yes # really', "on", "12", "Île inventée\\x"])
def test_any_title_survives(title):
    assert read_pack(scaffold("XA-01", TODAY, "x.json", title).encode(), "XA-01.yaml").title == title


def test_the_command_writes_a_pack_that_passes_check_and_decides(tmp_path, capsys):
    assert main(["new", "XA-01", "--title", "Invented Province", "--to", str(tmp_path)]) == 0
    file = tmp_path / "XA" / "XA-01.yaml"
    assert capsys.readouterr().out.strip() == str(file)
    assert check(tmp_path).problems == ()
    book = tirerules.load(tmp_path)
    assert "XA-01" in book.codes
    decision = book.decide({"jurisdictions": ["XA-01"], "activity": "repair", "tire": {"class": "passenger"}})
    assert any(notice.kind == "not-reviewed" and "Invented Province" in notice.text for notice in decision.notices)


def test_the_schema_that_an_editor_is_pointed_at_exists(tmp_path):
    main(["new", "XA-01", "--title", "Invented Province", "--to", str(tmp_path)])
    file = tmp_path / "XA" / "XA-01.yaml"
    named = file.read_text().splitlines()[0].partition("$schema=")[2]
    assert (file.parent / named).resolve().is_file()


def test_nothing_is_overwritten(tmp_path, capsys):
    arguments = ["new", "XA-01", "--title", "Invented Province", "--to", str(tmp_path)]
    main(arguments)
    before = (tmp_path / "XA" / "XA-01.yaml").read_bytes()
    assert main(arguments) == 2
    assert "exists already and is not overwritten" in capsys.readouterr().err
    assert (tmp_path / "XA" / "XA-01.yaml").read_bytes() == before


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["US-SC"], "a pack exists already ("),
        (["US-SX"], "did you mean US-SC or US-SD?"),
        (["XA-01"], "add --title"),
        (["us-sc"], "is no jurisdiction code"),
    ],
)
def test_what_cannot_be_started(arguments, says, tmp_path, capsys):
    assert main(["new", *arguments, "--to", str(tmp_path)]) == 2
    assert says in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_cannot_be_written_is_told(tmp_path, capsys):
    (tmp_path / "XA").write_text("a file in the way")
    assert main(["new", "XA-01", "--title", "Invented Province", "--to", str(tmp_path)]) == 2
    assert "cannot be written" in capsys.readouterr().err


def test_the_error_carries_its_data():
    with pytest.raises(ScaffoldError) as caught:
        scaffold("US-SX", TODAY, "x.json")
    assert (caught.value.code, "US-SC" in caught.value.reason) == ("US-SX", True)
