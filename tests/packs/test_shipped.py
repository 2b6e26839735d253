"""Compiled packs that ship: used for the very bytes they were made from, and for nothing else. Edits are invented."""

from __future__ import annotations

import hashlib
import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.packs.test_locking import forge
from tests.support import injury, pack_text, repair_case
from tirerules import LockError, MissingDataError, PackError, Verdict, data, decision_to_json, load, replay
from tirerules.packs import cache, compiling, heads, library, locking, reading, shipped
from tirerules.packs.compiled import to_plain
from tirerules.packs.files import digest

ROOT = Path(__file__).parents[2]
NAMES = ("industry.yaml", "US/US.yaml", "US/US-SC.yaml", "US/US-NY.yaml")
#: 5.5 mm across the channel: less than the trade's 1/4 in for a passenger tire, more than 1/5 in.
SMALL = repair_case(injuries=injury(diameter="5.5 mm"))


@pytest.fixture(scope="module")
def made(tmp_path_factory) -> Path:
    """The data of a wheel that ships the packs of three places."""
    place = tmp_path_factory.mktemp("wheel")
    for name in NAMES:
        (place / "rulepacks" / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / "rulepacks" / name, place / "rulepacks" / name)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(data, "inside", lambda name: str(place / name))
        compiling.compile_shipped(str(place / "compiled"))
    return place


@pytest.fixture(autouse=True)
def installed(made, tmp_path, monkeypatch) -> Path:
    """Let the library be installed with these packs, compiled; return its data. No cache is used."""
    place = tmp_path / "_data"
    shutil.copytree(made, place)
    monkeypatch.setattr(data, "inside", lambda name: str(place / name))
    monkeypatch.setattr(shipped, "_INSTALLED", True)
    monkeypatch.setenv(cache.VARIABLE, "off")
    locking._read.cache_clear()
    return place


@pytest.fixture
def read(monkeypatch) -> list[str]:
    """The names of the files whose YAML is read from now on, heads and whole packs."""
    found: list[str] = []
    whole, top = library.read, reading.top_texts

    def noting(held, file):
        found.append(f"{Path(file).stem} whole")
        return whole(held, file)

    def noting_head(held, file, keys):
        found.append(f"{Path(file).stem} head")
        return top(held, file, keys)

    monkeypatch.setattr(library, "read", noting)
    monkeypatch.setattr(heads, "top_texts", noting_head)
    return found


def edit(file: Path, before: str, after: str) -> None:
    text = file.read_text(encoding="utf-8")
    assert before in text
    file.write_text(text.replace(before, after), encoding="utf-8")


def entry_of(place: Path, name: str) -> Path:
    sha256 = hashlib.sha256((place / "rulepacks" / name).read_bytes()).hexdigest()
    return place / "compiled" / f"{sha256}.jsonl"


# --- what they say ----------------------------------------------------------------------------------------------------


def test_they_are_what_the_files_say_and_no_file_is_read_as_yaml(installed, read):
    whole = {pack.id: pack for pack in library.read_files(library.files_under(installed / "rulepacks"))}
    read.clear()
    rulebook = load()
    assert dict(rulebook.packs) == whole
    assert [repr(to_plain(pack)) for pack in rulebook.packs.values()] == [
        repr(to_plain(whole[name])) for name in rulebook.packs
    ]
    assert {each: (lock.version, lock.sha256) for each, lock in rulebook.lock.items()} == {
        each: (str(pack.version), pack.sha256) for each, pack in whole.items()
    }
    assert rulebook.decide(SMALL).verdict is Verdict.WITHIN
    assert read == []


def test_only_the_files_of_a_question_are_looked_into(installed, monkeypatch):
    opened, really = [], open

    def noting(file, *more, **named):
        opened.append(str(file))
        return really(file, *more, **named)

    monkeypatch.setattr("builtins.open", noting)
    assert load().decide(SMALL).verdict is Verdict.WITHIN
    names = {Path(file).stem for file in opened if file.endswith(".yaml")}
    assert names == {"industry", "US", "US-SC"}


def test_every_pack_that_ships_has_one(tmp_path, monkeypatch):
    monkeypatch.undo()
    folder = tmp_path / "all"
    made = compiling.compile_shipped(str(folder))
    files = sorted((ROOT / "rulepacks").rglob("*.yaml"))
    assert len(files) > 70
    digests = {hashlib.sha256(file.read_bytes()).hexdigest() for file in files}
    assert {Path(each).stem for each in made} == {"index", *digests}
    assert {Path(each) for each in made} == {*folder.iterdir()}
    _, index = json.loads((folder / "index.json").read_text(encoding="ascii"))
    assert {*index} == {file.relative_to(ROOT / "rulepacks").as_posix() for file in files}


def test_they_are_the_same_bytes_whenever_they_are_made(installed):
    before = {file.name: file.read_bytes() for file in (installed / "compiled").iterdir()}
    (installed / "compiled" / "left-behind.jsonl").write_text("[]", encoding="ascii")
    compiling.compile_shipped(str(installed / "compiled"))
    assert {file.name: file.read_bytes() for file in (installed / "compiled").iterdir()} == before


# --- edited files -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("before", "after"), [("1/4 in", "1/5 in"), ("1/4 in", "10/50 in")], ids=["same length", "other length"]
)
def test_an_edited_file_is_decided_by_what_it_says_now(installed, read, before, after):
    """The trade's figure for passenger tires, made smaller by hand in an installed package."""
    file = installed / "rulepacks" / "industry.yaml"
    edit(file, before, after)
    edit(file, "6 mm", "5 mm")
    rulebook = load()
    assert rulebook.decide(SMALL).verdict is Verdict.OUTSIDE
    assert sorted(read) == ["industry head", "industry whole"]
    assert rulebook.lock["industry"].sha256 == hashlib.sha256(file.read_bytes()).hexdigest()


def test_a_lock_of_an_edited_file_is_of_what_it_says_now(installed):
    file = installed / "rulepacks" / "US" / "US-NY.yaml"
    version = load().lock["US-NY"].version
    other = "9" + version[1:]
    edit(file, f"version: {version}", f"version: {other}")
    lock = load().lock["US-NY"]
    assert (lock.version, lock.sha256) == (other, hashlib.sha256(file.read_bytes()).hexdigest())
    with pytest.raises(LockError):
        load(lock={"US-NY": (version, lock.sha256)})


def test_pins_count_for_what_an_edited_file_says_now(installed):
    file = installed / "rulepacks" / "US" / "US-NY.yaml"
    version = load().lock["US-NY"].version
    edit(file, f"version: {version}", f"version: 9{version[1:]}")
    assert load(pins={"US-NY": ">=9"}).lock["US-NY"].version == f"9{version[1:]}"


def test_a_file_that_breaks_stops_whoever_needs_it(installed):
    file = installed / "rulepacks" / "US" / "US-SC.yaml"
    edit(file, "kind: jurisdiction", "kind: jurisdictiom")
    rulebook = load()
    for _ in range(2):
        with pytest.raises(PackError, match="jurisdictiom"):
            rulebook.decide(SMALL)
    assert rulebook.decide(repair_case(jurisdictions=["US-NY"])).verdict


def test_a_file_that_holds_another_pack_now_is_refused(installed):
    edit(installed / "rulepacks" / "US" / "US-SC.yaml", "pack: US-SC", "pack: US-NC")
    with pytest.raises(MissingDataError, match=r"held the pack US-SC when .* now US-NC -- give it a name of its own"):
        load().decide(SMALL)


def test_a_file_that_changes_after_the_load_is_refused(installed):
    rulebook = load()
    edit(installed / "rulepacks" / "US" / "US-SC.yaml", "3/8 in", "1/8 in")
    with pytest.raises(MissingDataError, match="has changed since it was read -- load the packs again"):
        rulebook.decide(SMALL)


def test_a_file_that_is_gone_after_the_load_is_refused(installed):
    rulebook = load()
    (installed / "rulepacks" / "US" / "US-SC.yaml").unlink()
    with pytest.raises(MissingDataError, match=r"US-SC\.yaml: No such file or directory"):
        rulebook.decide(SMALL)


def test_a_file_that_was_added_counts(installed, read):
    (installed / "rulepacks" / "shop.yaml").write_text(pack_text(), encoding="utf-8")
    assert "invented-shop" in load().lock
    assert read == ["shop head"]


def test_the_same_bytes_elsewhere_need_no_yaml_but_for_their_head(installed, tmp_path, read):
    own = tmp_path / "own"
    shutil.copytree(installed / "rulepacks", own)
    assert load(own, builtins=False).decide(SMALL).verdict is Verdict.WITHIN
    assert sorted(read) == ["US head", "US-NY head", "US-SC head", "industry head"]


# --- a folder that cannot be used -------------------------------------------------------------------------------------


def spoil_version(place: Path) -> None:
    edit(place / "compiled" / "index.json", '[[1, "', '[[1, "0')


def spoil_format(place: Path) -> None:
    edit(place / "compiled" / "index.json", "[[1, ", "[[0, ")


def cut_index(place: Path) -> None:
    file = place / "compiled" / "index.json"
    file.write_bytes(file.read_bytes()[:-100])


def empty_index(place: Path) -> None:
    (place / "compiled" / "index.json").write_bytes(b"")


def delete_all(place: Path) -> None:
    shutil.rmtree(place / "compiled")


@pytest.mark.parametrize("spoil", [spoil_version, spoil_format, cut_index, empty_index, delete_all])
def test_a_folder_that_something_else_made_is_as_if_it_were_not_there(installed, read, spoil):
    spoil(installed)
    assert load().decide(SMALL).verdict is Verdict.WITHIN
    assert sorted(each for each in read if each.endswith("whole")) == ["US whole", "US-SC whole", "industry whole"]


@pytest.mark.parametrize(
    "damage",
    [
        lambda file: file.unlink(),
        lambda file: file.write_bytes(file.read_bytes()[:-9]),
        lambda file: file.write_bytes(b""),
    ],
    ids=["gone", "cut short", "empty"],
)
def test_an_entry_that_is_damaged_is_made_anew_in_memory(installed, read, damage):
    damage(entry_of(installed, "industry.yaml"))
    assert load().decide(SMALL).verdict is Verdict.WITHIN
    assert read == ["industry whole"]


def test_in_a_checkout_other_code_makes_them_void(installed, monkeypatch, read):
    monkeypatch.setattr(shipped, "_INSTALLED", False)
    monkeypatch.setattr(shipped, "_CODE", shipped.state_of_code())
    load().decide(SMALL)
    assert read == []
    monkeypatch.setattr(shipped, "_CODE", shipped.state_of_code() + " more.py 00000000")
    load().decide(SMALL)
    assert sorted({each.partition(" ")[0] for each in read}) == ["US", "US-NY", "US-SC", "industry"]


def test_the_state_of_the_code_follows_the_code(tmp_path, monkeypatch):
    package = tmp_path / "tirerules"
    for name in ("packs", "strictest"):
        (package / name).mkdir(parents=True)
        (package / name / "module.py").write_text("1\n", encoding="utf-8")
    monkeypatch.setattr(data, "PACKAGE", str(package))
    monkeypatch.setattr(data, "place", lambda name: str(ROOT / name))
    before = shipped.state_of_code()
    assert before == shipped.state_of_code()
    (package / "packs" / "module.py").write_text("2\n", encoding="utf-8")
    after = shipped.state_of_code()
    assert after not in ("", before)
    monkeypatch.setattr(data, "place", lambda name: None)
    assert shipped.state_of_code() == ""


# --- whom is trusted --------------------------------------------------------------------------------------------------


def test_a_forged_entry_in_the_users_cache_is_not_even_looked_at(tmp_path, monkeypatch):
    folder = tmp_path / "caches" / "tirerules"
    folder.parent.mkdir()
    monkeypatch.setenv(cache.VARIABLE, str(folder))
    forge(folder)
    assert [*folder.iterdir()]
    assert load().decide(repair_case(injuries=injury(diameter="8 mm"))).verdict is Verdict.OUTSIDE


def test_a_lock_and_a_replay_go_by_bytes_and_need_no_yaml(installed, read):
    record = decision_to_json(load().decide(SMALL))
    assert decision_to_json(load(lock=record_lock(record)).decide(SMALL)) == record
    assert replay(record).same
    assert read == []
    edit(installed / "rulepacks" / "industry.yaml", "1/4 in", "1/5 in")
    with pytest.raises(LockError, match=r"industry .* has other content"):
        replay(record)


def record_lock(record):
    return {pack: (said["version"], said["sha256"]) for pack, said in record["packs"].items()}


def test_nothing_is_written(installed):
    before = {file: file.stat().st_mtime_ns for file in installed.rglob("*")}
    decision_to_json(load().decide(SMALL))
    assert {file: file.stat().st_mtime_ns for file in installed.rglob("*")} == before


# --- heads ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("file", sorted((ROOT / "rulepacks").rglob("*.yaml"))[::6], ids=lambda file: file.stem)
@pytest.mark.parametrize("loader", [reading.LOADER, reading.PURE_LOADER], ids=["fast", "pure"])
def test_a_head_is_what_the_whole_pack_says(file, loader):
    held = file.read_bytes()
    told = reading.top_texts(held, file.name, ("pack", "version", "kind", "engine"), loader)
    document = reading.read(held, file.name)
    assert told == {key: document.data[key] for key in told}
    assert len(told) == 4
    assert tuple(heads.read_head(held, file.name)) == (told["pack"], told["version"], told["kind"], digest(held))


HEAD = pack_text()


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("pack: invented-shop", "pack: US-SC"),
        ("pack: invented-shop", "pack: 1shop"),
        ("pack: invented-shop", "pack: engine"),
        ("pack: invented-shop", "pack: no"),
        ("pack: invented-shop", "pack: 12"),
        ("pack: invented-shop", "pack: [invented-shop]"),
        ("pack: invented-shop", "pack: {pack: invented-shop}"),
        ("pack: invented-shop", "pack: &a invented-shop"),
        ("pack: invented-shop", "pack: !x invented-shop"),
        ("pack: invented-shop", 'pack: "invented\\u202Eshop"'),
        ("pack: invented-shop\n", ""),
        ("version: 1.0.0", "version: 1.0"),
        ("version: 1.0.0", "version: 1.0.00"),
        ("version: 1.0.0", "version: 1." + "0" * 300),
        ("kind: company", "kind: shop"),
        ("kind: company", "kind: jurisdiction"),
        ('engine: ">=1,<2"', "engine: newest"),
        ('engine: ">=1,<2"', 'engine: ">=9"'),
        ("format: 1", "\tformat: 1"),
        ("format: 1", "- format"),
    ],
)
def test_a_head_that_is_not_plain_is_refused_as_the_whole_pack_is(before, after):
    held = HEAD.replace(before, after).encode()
    with pytest.raises(PackError) as whole:
        library.read_whole(held, "own.yaml")
    with pytest.raises(PackError) as refused:
        heads.read_head(held, "own.yaml")
    assert refused.value.problems == whole.value.problems


def test_a_head_that_is_repeated_further_down_is_refused_with_the_pack(tmp_path):
    (tmp_path / "own.yaml").write_text(HEAD + "pack: invented-other\n", encoding="utf-8")
    rulebook = load(tmp_path)
    with pytest.raises(PackError, match="the key 'pack' stands already on line 2"):
        rulebook.decide(SMALL)


# --- the command ------------------------------------------------------------------------------------------------------


def test_the_command_makes_a_folder(tmp_path):
    run = [sys.executable, "-m", "tirerules.packs.compiling", str(tmp_path / "made")]
    said = subprocess.check_output(run, text=True, timeout=300)
    assert said == f"{tmp_path / 'made'}: {len([*(tmp_path / 'made').iterdir()]) - 1} packs compiled\n"
