"""What a lock demands is compiled from the bytes it names, whatever stands in the user's cache. All packs are invented,
but for those that ship, which take part where a test says so."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

import pytest
import yaml

import tirerules
from tests.engine import rule
from tests.support import injury, pack_text, repair_case, ship
from tirerules import LockError, PackError, PinError, Verdict, data, decision_to_json, load, lock_to_json, replay
from tirerules.engine.parts import PackLock
from tirerules.packs import cache, compiling, library, locking, shipped
from tirerules.packs.library import builtin
from tirerules.rulebook import locked

SHIPPED = Path(str(builtin()))
NAMES = ("industry", "US", "US-SC", "CA", "CA-ON")
#: 8 mm across the channel: more than the trade's 1/4 in for a passenger tire.
TOO_LARGE = repair_case(injuries=injury(diameter="8 mm"))


@pytest.fixture(autouse=True)
def folder(tmp_path, tmp_path_factory, monkeypatch) -> Path:
    """Let the library ship the packs of two places only, and return the cache: a folder that is not there yet."""
    place = tmp_path_factory.mktemp("rulepacks")
    for file in SHIPPED.rglob("*.yaml"):
        if file.stem in NAMES:
            (place / file.name).write_bytes(file.read_bytes())
    ship(monkeypatch, place)
    locking._read.cache_clear()
    folder = tmp_path / "caches" / "tirerules"
    monkeypatch.setenv(cache.VARIABLE, str(folder))
    return folder


@pytest.fixture
def read(monkeypatch) -> list[str]:
    """The names of the packs that are read the full way from now on."""
    found: list[str] = []
    really = library.read

    def noting(held: bytes, file: str) -> Any:
        found.append(Path(file).stem)
        return really(held, file)

    monkeypatch.setattr(library, "read", noting)
    return found


def put(place: Path, millimeters: int = 5, version="1.0.0", pack="invented-shop", name=None) -> Path:
    place.mkdir(exist_ok=True)
    text = pack_text(rule("size", f"limit: {{fact: injury.diameter, at-most: {millimeters} mm}}"), pack=pack)
    file = place / (name or f"{pack}@{version}.yaml")
    file.write_text(text.replace("version: 1.0.0", f"version: {version}"), encoding="utf-8")
    return file


# --- a forged entry ---------------------------------------------------------------------------------------------------


def forge(folder: Path) -> None:
    """Put an entry of the baseline with laxer figures into the cache, sealed as whoever can read this code seals it.

    The entry stands under the digest of the genuine file, so that a lock made of what it says is the genuine lock.
    """
    genuine = (SHIPPED / "industry.yaml").read_bytes()
    lax = genuine.replace(b"1/4 in", b"99 mm").replace(b"6 mm", b"99 mm")
    assert lax != genuine
    lines = compiling.compiled(lax, "industry.yaml")
    sha256 = hashlib.sha256(genuine).hexdigest()
    owner = f"packs {tirerules.__version__} {shipped.FORMAT} {data.PACKAGE}"
    cache.Cache(str(folder), owner, shipped._CODE).put(f"pack-{sha256}", lines)


def test_a_forged_entry_fools_whoever_trusts_the_cache_and_no_lock(folder):
    honest = load()
    assert honest.decide(TOO_LARGE).verdict is Verdict.OUTSIDE
    record = decision_to_json(honest.decide(TOO_LARGE))
    forge(folder)
    fooled = load()
    # What the seal does not prevent, so that the note in `tirerules.packs.cache` on whom it trusts stays true.
    assert fooled.decide(TOO_LARGE).verdict is Verdict.WITHIN
    assert fooled.lock == honest.lock
    for lock in (honest.lock, fooled.lock, fooled.decide(TOO_LARGE).packs):
        assert decision_to_json(load(lock=lock).decide(TOO_LARGE)) == record
    assert replay(record).same
    assert not replay(decision_to_json(fooled.decide(TOO_LARGE))).same


def test_without_the_cache_a_forged_entry_fools_nobody(folder, monkeypatch):
    load()
    forge(folder)
    monkeypatch.setenv(cache.VARIABLE, "off")
    assert load().decide(TOO_LARGE).verdict is Verdict.OUTSIDE


@pytest.mark.parametrize("mode", [0o770, 0o707])
def test_in_a_folder_that_others_may_write_it_fools_nobody(folder, mode):
    load()
    forge(folder)
    folder.chmod(mode)
    assert load().decide(TOO_LARGE).verdict is Verdict.OUTSIDE


@pytest.mark.parametrize("mode", [0o660, 0o606])
def test_nor_does_one_that_others_may_write_itself(folder, mode):
    load()
    forge(folder)
    for entry in folder.glob("pack-*"):
        entry.chmod(mode)
    assert load().decide(TOO_LARGE).verdict is Verdict.OUTSIDE


# --- what is read -----------------------------------------------------------------------------------------------------


def test_a_lock_leaves_the_cache_alone(folder, read):
    lock = load().lock
    for entry in folder.iterdir():
        entry.unlink()
    folder.rmdir()
    read.clear()
    again = load(lock=lock)
    decision_to_json(again.decide(TOO_LARGE))
    assert again.lock == lock
    assert not folder.exists()


def test_only_what_the_question_needs_is_compiled_and_once(read):
    lock = load().lock
    read.clear()
    again = load(lock=lock)
    assert (again.lock, again.codes, read) == (lock, load().codes, [])
    for _ in range(2):
        decision_to_json(again.decide(TOO_LARGE))
        assert sorted(read) == ["US", "US-SC", "industry"]
    decision_to_json(again.decide(repair_case(jurisdictions=["CA"])))
    assert sorted(read) == ["CA", "US", "US-SC", "industry"]
    assert {*again.packs} == {*NAMES}


def test_what_a_lock_does_not_name_is_not_read(tmp_path, read):
    put(tmp_path)
    lock = load(tmp_path).lock
    (tmp_path / "broken.yaml").write_text("no: [pack", encoding="utf-8")
    (tmp_path / "later.yaml").write_text(pack_text(pack="invented-later", engine=">=9"), encoding="utf-8")
    put(tmp_path, 9, name="same-version.yaml")
    read.clear()
    again = load(tmp_path, lock=lock)
    assert again.lock == lock
    assert "invented-shop/size" in again.decide(repair_case()).limits["injury.diameter"].binding
    assert sorted(read) == ["US", "US-SC", "industry", "invented-shop@1.0.0"]


def test_bytes_from_anywhere_do(tmp_path):
    held = [(f"somewhere:{file.name}", file.read_bytes()) for file in SHIPPED.rglob("*.yaml") if file.stem in NAMES]
    lock = load().decide(TOO_LARGE).packs
    again = locked(held, lock)
    assert decision_to_json(again.decide(TOO_LARGE)) == decision_to_json(load().decide(TOO_LARGE))
    assert again.packs["industry"].file == "somewhere:industry.yaml"


def test_the_bytes_are_held_from_the_first_look_on(tmp_path):
    file = put(tmp_path)
    again = load(tmp_path, lock=load(tmp_path).lock)
    put(tmp_path, 99)
    assert str(again.packs["invented-shop"].rules[0].body.value) == "5 mm"
    file.unlink()
    assert again.decide(repair_case(injuries=injury(diameter="6 mm"))).verdict is Verdict.OUTSIDE


# --- what is refused --------------------------------------------------------------------------------------------------


def test_the_digest_of_another_pack_is_refused():
    lock = load().lock
    with pytest.raises(LockError) as refused:
        load(lock={**lock, "US-SC": lock["CA-ON"], "US": PackLock("0.9.0", lock["US"].sha256)})
    other, version = refused.value.differences
    assert other == f"US 0.9.0 is not here (found: {lock['US'].version})"
    assert version.startswith(f"US-SC {lock['CA-ON'].version} ")


def test_it_is_refused_too_where_only_the_compiled_pack_tells(tmp_path):
    """Written as JSON, which is YAML, no line of its own says which pack a file holds."""
    data = yaml.safe_load(put(tmp_path, pack="invented-line").read_bytes())
    file = tmp_path / "line.yaml"
    file.write_text(json.dumps(data, default=str), encoding="utf-8")
    digest = hashlib.sha256(file.read_bytes()).hexdigest()
    assert load(file, lock={"invented-line": ("1.0.0", digest)}, builtins=False).packs["invented-line"].rules
    for pack, version in (("invented-shop", "1.0.0"), ("invented-line", "1.0.1")):
        rulebook = load(file, lock={pack: (version, digest)}, builtins=False)
        with pytest.raises(LockError) as refused:
            assert rulebook.packs
        (difference,) = refused.value.differences
        assert difference == f"{pack} {version} names by its digest what is invented-line 1.0.0 ({file})"


def test_a_pack_for_another_library_is_refused_when_it_is_needed(tmp_path):
    file = tmp_path / "later.yaml"
    file.write_text(pack_text(pack="invented-later", engine=">=9"), encoding="utf-8")
    later = PackLock("1.0.0", hashlib.sha256(file.read_bytes()).hexdigest())
    rulebook = load(tmp_path, lock={**load().lock, "invented-later": later})
    with pytest.raises(PackError, match="the pack is written for tirerules >=9"):
        rulebook.decide(repair_case())


def test_a_pack_without_a_name_is_a_sentence(tmp_path):
    data = yaml.safe_load(put(tmp_path).read_bytes())
    held = json.dumps(data, default=str).encode()
    rulebook = locked([("own.yaml", held)], {"": ("1.0.0", hashlib.sha256(held).hexdigest())})
    assert rulebook.codes == ()
    with pytest.raises(LockError, match="names by its digest what is invented-shop"):
        assert rulebook.packs


@pytest.mark.parametrize("version", ["1" * 5_000, "1." * 3_000 + "0", "newest", ""])
def test_a_version_of_any_length_is_a_sentence(tmp_path, version):
    put(tmp_path)
    digest = load(tmp_path).lock["invented-shop"].sha256
    for pins in ({}, {"invented-shop": "<2"}):
        with pytest.raises(LockError) as refused:
            load(tmp_path, lock={"invented-shop": (version, digest)}, pins=pins)
        assert len(str(refused.value)) < 200
        assert "(found: 1.0.0)" in str(refused.value)


def test_a_pin_beside_a_lock_must_agree_with_it(tmp_path):
    for version in ("1.9.0", "1.10.0"):
        put(tmp_path, version=version)
    lock = {"invented-shop": load(tmp_path, pins={"invented-shop": "==1.9.0"}).lock["invented-shop"]}
    assert load(tmp_path, lock=lock, pins={"invented-shop": "<1.10"}).lock == lock
    with pytest.raises(LockError, match=r"invented-shop 1\.9\.0 is locked but pinned to >=1\.10$"):
        load(tmp_path, lock=lock, pins={"invented-shop": ">=1.10"})
    with pytest.raises(PinError, match=r"'newest', which is no version specifier \(versions found: 1\.9\.0\)"):
        load(tmp_path, lock=lock, pins={"invented-shop": "newest"})
    with pytest.raises(PinError, match=r"no version of pack US satisfies <2 \(versions found: none\)"):
        load(tmp_path, lock=lock, pins={"US": "<2"})


def test_the_versions_found_are_told_in_their_order(tmp_path):
    for version in ("1.10.0", "1.9.0", "10.0.0"):
        put(tmp_path, version=version)
    with pytest.raises(LockError, match=r"invented-shop 2\.0\.0 is not here \(found: 1\.9\.0, 1\.10\.0, 10\.0\.0\)"):
        load(tmp_path, lock={"invented-shop": ("2.0.0", "0" * 64)})


# --- the lock itself --------------------------------------------------------------------------------------------------


def test_a_lock_in_json_says_what_was_replaced_and_nothing_else_is_new():
    lock = {"industry": PackLock("1.0.1", "0" * 64, replaces=True), "US": PackLock("1.0.0", "1" * 64)}
    said = lock_to_json(lock)
    assert said == {
        "US": {"version": "1.0.0", "sha256": "1" * 64},
        "industry": {"version": "1.0.1", "sha256": "0" * 64, "replaces": True},
    }
    assert tirerules.lock_from_json(said) == lock
