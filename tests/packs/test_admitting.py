"""A caller's file never takes a built-in pack's place in silence. The hostile packs, shops and places are invented."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import tirerules
from tests.engine import notices, rule
from tests.support import injury, pack_text, repair_case, ship
from tirerules import PackError, PinError, ReplaceError, Verdict, case_from_json, decision_to_json, load, replay
from tirerules.authoring.checking import check
from tirerules.cli import main
from tirerules.cli.text import decision_text
from tirerules.packs.library import builtin

SHIPPED = builtin()
NAMES = ("industry", "US", "US-SC", "CA", "CA-ON")
#: A cut of 40 mm in the sidewall: to the trade's baseline, beyond every limit on a puncture.
SLASHED = repair_case(injuries=injury(kind="cut", zone="sidewall", diameter="40 mm", length="40 mm"))
LAX = rule("size", "limit: {fact: injury.diameter, at-most: 99 mm}")


@pytest.fixture(autouse=True)
def few_packs(tmp_path_factory, monkeypatch) -> Path:
    """Let the library ship the packs of two places only; return the folder of them."""
    folder = tmp_path_factory.mktemp("rulepacks")
    for file in Path(str(SHIPPED)).rglob("*.yaml"):
        if file.stem in NAMES:
            (folder / file.name).write_bytes(file.read_bytes())
    ship(monkeypatch, folder)
    return folder


def put(place: Path, pack="industry", version="1.0.1", rules=LAX, name=None, **head) -> Path:
    """Write the hostile pack: a built-in name, a newer version, a limit that nothing exceeds."""
    kind = {"industry": "baseline"}.get(pack, "jurisdiction" if "-" in pack else "country")
    head = {"kind": kind, "authority": "industry-practice" if kind == "baseline" else "statute", **head}
    place.mkdir(exist_ok=True)
    file = place / (name or f"{pack}.yaml")
    file.write_text(pack_text(rules, pack=pack, version=version, **head), encoding="utf-8")
    return file


# --- refused ----------------------------------------------------------------------------------------------------------


def test_a_file_with_the_baselines_name_is_an_error_that_names_file_and_cure(tmp_path):
    file = put(tmp_path)
    for place in (tmp_path, file, str(file)):
        with pytest.raises(PackError) as refused:
            load(place)
        assert str(refused.value) == (
            f"{file}:2:7: [builtin-name] at pack a pack 'industry' ships with tirerules, and this file holds another"
            " -- give yours a name of its own; to have it in place of the built-in one, name it:"
            " load(..., replace=['industry']), or --replace industry on the command line"
        )


@pytest.mark.parametrize("version", ["0.0.1", "1.0.0", "99.0.0"])
@pytest.mark.parametrize("kind", ["baseline", "company", "repair-material"])
def test_no_version_and_no_kind_makes_a_difference(tmp_path, version, kind):
    put(tmp_path, version=version, kind=kind, authority="company" if kind != "baseline" else "industry-practice")
    with pytest.raises(PackError, match="builtin-name"):
        load(tmp_path)


def test_every_file_with_a_name_that_ships_is_told_at_once(tmp_path, monkeypatch):
    ship(monkeypatch, Path(str(SHIPPED)))
    names = sorted(load().lock)
    assert len(names) > 60
    files = {str(put(tmp_path, name, rules="", coverage="{repair: none-located}")): name for name in names}
    with pytest.raises(PackError) as refused:
        load(tmp_path)
    assert sorted(each.file for each in refused.value.problems) == sorted(files)
    for problem in refused.value.problems:
        assert (problem.code, problem.line, problem.column) == ("builtin-name", 2, 7)
        assert f", or --replace {files[problem.file]} on the command line" in problem.hint


def test_one_byte_more_is_another_content(tmp_path, few_packs):
    (tmp_path / "copy.yaml").write_bytes((few_packs / "US-SC.yaml").read_bytes() + b"\n")
    with pytest.raises(PackError, match="a pack 'US-SC' ships with tirerules, and this file holds another"):
        load(tmp_path)


def test_a_second_baseline_is_an_error_that_names_file_and_cure(tmp_path):
    file = put(tmp_path, "invented-trade", kind="baseline", authority="industry-practice")
    with pytest.raises(PackError) as refused:
        load(tmp_path)
    assert str(refused.value) == (
        f"{file}:5:7: [second-baseline] at kind 'invented-trade' is a second baseline: its rules would settle what the"
        " built-in packs leave open, everywhere -- make it a pack of kind company, which can only tighten; to let it"
        " settle that, name it: load(..., replace=['invented-trade']), or --replace invented-trade on the command line"
    )


@pytest.mark.parametrize(
    "arguments",
    [
        ("decide", "--jurisdiction", "US-SC", "--injury-diameter", "40 mm"),
        ("limits", "US-SC"),
        ("coverage",),
        ("vectors", "US-SC"),
        ("audit", "tickets.csv", "out"),
    ],
    ids=lambda arguments: arguments[0],
)
def test_no_command_lets_it_in(tmp_path, capsys, monkeypatch, arguments):
    monkeypatch.chdir(tmp_path)
    put(tmp_path / "own")
    assert main([*arguments, "--packs", "own"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "[builtin-name]" in told.err
    assert "--replace industry" in told.err


def test_what_is_checked_or_compared_may_carry_any_name(tmp_path, few_packs, capsys):
    own = put(tmp_path / "own")
    assert not {"builtin-name", "second-baseline"} & {each.code for each in check(own).problems}
    assert main(["compare", str(few_packs / "industry.yaml"), str(own)]) == 0
    assert "industry" in capsys.readouterr().out


# --- what replaces nothing --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("replace", [(), ("industry", "US-SC")])
def test_the_very_same_bytes_are_the_built_in_pack(tmp_path, few_packs, replace):
    for name in ("industry", "US-SC"):
        (tmp_path / f"copy-of-{name}.yaml").write_bytes((few_packs / f"{name}.yaml").read_bytes())
    rulebook = load(tmp_path, replace=replace)
    assert rulebook.lock == load().lock
    assert notices(rulebook.decide(repair_case()), "replaced") == []


def test_packs_under_names_of_their_own_are_let_in(tmp_path):
    put(tmp_path, "invented-shop", kind="company", authority="company", version="1.0.0")
    put(tmp_path, "XA-01")
    rulebook = load(tmp_path)
    assert {"invented-shop", "XA-01"} < set(rulebook.lock)
    assert notices(rulebook.decide(repair_case(jurisdictions=["XA-01"])), "replaced") == []


def test_a_pin_to_an_older_built_in_version_replaces_nothing(tmp_path, few_packs):
    version = load().lock["US-SC"].version
    newer = (few_packs / "US-SC.yaml").read_text(encoding="utf-8").replace(f"version: {version}", "version: 99.0.0", 1)
    (few_packs / "US-SC@99.0.0.yaml").write_text(newer, encoding="utf-8")
    assert load().lock["US-SC"].version == "99.0.0"
    pinned = load(pins={"US-SC": f"=={version}"})
    assert pinned.lock["US-SC"].version == version
    assert notices(pinned.decide(repair_case()), "replaced") == []


def test_without_the_built_in_packs_there_is_nothing_to_replace(tmp_path):
    put(tmp_path)
    put(tmp_path, "US")
    put(tmp_path, "invented-trade", kind="baseline", authority="industry-practice")
    rulebook = load(tmp_path, builtins=False)
    assert set(rulebook.lock) == {"US", "industry", "invented-trade"}
    assert notices(rulebook.decide(repair_case(jurisdictions=["US"])), "replaced") == []


# --- replaced by name -------------------------------------------------------------------------------------------------


def test_named_it_stands_in_place_of_the_built_in_one_and_every_decision_says_so(tmp_path):
    put(tmp_path)
    assert load().decide(SLASHED).verdict is Verdict.OUTSIDE
    rulebook = load(tmp_path, replace=["industry"])
    entry = rulebook.lock["industry"]
    assert (entry.version, entry.replaces) == ("1.0.1", True)
    assert [name for name, each in rulebook.lock.items() if each.replaces] == ["industry"]
    said = (
        "Pack industry 1.0.1 does not ship with this library: it was put in by name and decides in place of what ships"
        f" (SHA-256 {entry.sha256})."
    )
    for case in (
        SLASHED,
        repair_case(injuries=injury() * 2),
        repair_case(findings=None),
        repair_case(findings=["bulge"], injuries=injury(diameter=None)),
        repair_case(jurisdictions=["CA-ON"], activity="road-use", injuries=[]),
        repair_case(tire={"tread_grid": [["3 mm", "4 mm"]] * 3, "tread_depth": None}),
    ):
        decision = rulebook.decide(case)
        assert notices(decision, "replaced") == [said]
        first = decision_to_json(decision)["notices"][0]
        assert (first["kind"], first["text"], first["rules"]) == ("replaced", said, [])
        assert decision_to_json(decision)["packs"]["industry"]["replaces"] is True
        assert json.loads(rulebook.decide_json(json.dumps(case))) == decision_to_json(decision)
        assert "Pack industry 1.0.1 does not ship with this library" in decision_text(decision)
        assert rulebook.decide(case_from_json(case)).notices == decision.notices


def test_a_case_in_which_it_has_no_part_says_nothing_of_it(tmp_path):
    put(tmp_path, "CA-ON")
    rulebook = load(tmp_path, replace=["CA-ON"])
    assert notices(rulebook.decide(repair_case()), "replaced") == []
    (said,) = notices(rulebook.decide(repair_case(jurisdictions=["US-SC", "CA-ON"])), "replaced")
    assert said.startswith("Pack CA-ON 1.0.1 ")


def test_an_older_version_that_is_named_is_not_outrun_by_the_built_in_one(tmp_path):
    put(tmp_path, version="0.0.1")
    rulebook = load(tmp_path, replace=["industry"])
    assert rulebook.lock["industry"].version == "0.0.1"
    with pytest.raises(PinError, match=r"satisfies ==1\.0\.0 \(versions found: 0\.0\.1\)"):
        load(tmp_path, replace=["industry"], pins={"industry": "==1.0.0"})


def test_only_what_is_named_is_let_in(tmp_path):
    put(tmp_path)
    put(tmp_path, "US-SC")
    with pytest.raises(PackError) as refused:
        load(tmp_path, replace=["industry"])
    assert [each.message for each in refused.value.problems] == [
        "a pack 'US-SC' ships with tirerules, and this file holds another"
    ]
    assert sum(each.replaces for each in load(tmp_path, replace=["industry", "US-SC"]).lock.values()) == 2


def test_a_second_baseline_that_is_named_is_told_too(tmp_path):
    put(tmp_path, "invented-trade", kind="baseline", authority="industry-practice")
    rulebook = load(tmp_path, replace=["invented-trade"])
    assert {"industry", "invented-trade"} < set(rulebook.lock)
    (said,) = notices(rulebook.decide(SLASHED), "replaced")
    assert said.startswith("Pack invented-trade 1.0.1 does not ship with this library")


@pytest.mark.parametrize("name", ["industri", "US-SC", ""])
def test_a_name_that_none_of_the_callers_files_carries_is_an_error(tmp_path, name):
    put(tmp_path, "invented-shop", kind="company", authority="company")
    with pytest.raises(ReplaceError) as refused:
        load(tmp_path, replace=[name])
    assert (refused.value.pack, refused.value.found) == (name, ("invented-shop",))
    assert str(refused.value) == (
        f"{name!r} is named to replace a built-in pack, and none of your files holds it (your packs: invented-shop)"
        " -- give its file or folder too, or do not name it"
    )
    with pytest.raises(ReplaceError, match=r"your packs: none\)"):
        load(replace=[name])


# --- named by digest --------------------------------------------------------------------------------------------------


def test_a_lock_lets_in_what_it_names_by_digest(tmp_path):
    put(tmp_path)
    rulebook = load(tmp_path, replace=["industry"])
    again = load(tmp_path, lock=rulebook.lock)
    assert again.lock == rulebook.lock
    assert decision_to_json(again.decide(SLASHED)) == decision_to_json(rulebook.decide(SLASHED))
    said = json.loads(json.dumps(tirerules.lock_to_json(rulebook.lock)))
    assert load(tmp_path, lock=tirerules.lock_from_json(said)).lock == rulebook.lock


def test_a_lock_on_the_built_in_pack_passes_a_hostile_file_over(tmp_path):
    lock = load().lock
    put(tmp_path)
    put(tmp_path, version=lock["industry"].version, name="same-version.yaml")
    again = load(tmp_path, lock=lock)
    assert again.lock == lock
    assert again.decide(SLASHED).verdict is Verdict.OUTSIDE


def test_a_recorded_decision_is_replayed_with_its_notice(tmp_path):
    put(tmp_path)
    said = json.loads(json.dumps(decision_to_json(load(tmp_path, replace=["industry"]).decide(SLASHED))))
    assert said["notices"][0]["kind"] == "replaced"
    assert replay(said, tmp_path).same


# --- on the command line ----------------------------------------------------------------------------------------------


def test_the_command_names_it_and_says_so(tmp_path, capsys):
    put(tmp_path)
    put(tmp_path, "US-SC")
    flags = ["--packs", str(tmp_path), "--replace", "industry", "--replace", "US-SC"]
    assert main(["decide", "--jurisdiction", "US-SC", "--injury-diameter", "40 mm", *flags]) in (0, 3, 4)
    told = capsys.readouterr().out
    assert told.count("does not ship with this library") == 2
    assert main(["limits", "US-SC", "--activity", "repair", *flags]) == 0
    assert capsys.readouterr().out.count("does not ship with this library") == 2
    assert main(["coverage", *flags]) == 0
    assert main(["decide", "--jurisdiction", "US-SC", *flags, "--replace", "industri"]) == 2
    assert "'industri' is named to replace a built-in pack" in capsys.readouterr().err
