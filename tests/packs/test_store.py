"""The store of compiled packs: always what the full way gives, never over a changed file, and slower at worst.

All packs here are invented but for those that ship with the library, which take part where a test says so.
"""

from __future__ import annotations

import errno
import hashlib
import json
import os
import subprocess
import sys
import threading
import zipfile
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import strategies as st

import tirerules
from tests.amounts import law, some_of
from tests.support import pack_text
from tirerules import MissingDataError, PackError, PinError, data, plain_json
from tirerules.packs import cache, compiling, library, reading, shipped, store
from tirerules.packs.choosing import choose
from tirerules.packs.compiled import to_plain
from tirerules.packs.files import MAX_BYTES, builtin, content, files_in

ROOT = Path(tirerules.__file__).parent.parent
#: What deciding needs of the packs that ship, and what makes a process start slowly.
SLOW = ["dataclasses", "fractions", "importlib.resources", "json", "jsonschema", "packaging", "pathlib", "pint"]
SLOW += ["re", "typing", "yaml"]
RULES = """\
- id: size
  says: Invented.
  activity: [repair]
  when: {tire.class: [passenger], tire.speed_symbol: {less-than: V}, tire.tread_depth: {at-least: 1.5 mm}}
  limit: {fact: injury.diameter, at-most: {value: 1/4 in, also-printed: 6 mm}}
  source: text
- id: band
  says: Invented.
  activity: [repair]
  limit: {fact: injury.reach, at-most: {half-of: tire.tread_width, share: 3/4, inset: 5 mm}}
  source: text
"""
MORE = """
notes: ["é “ü” \\U0001F6DE \\\\ \\" end", 'two']
not-law: [{title: Invented bill, outcome: died, would-have-set: nothing, year: 2020}]
given: {jurisdictions: [US], tire: {class: bus, load_range: G, retread: false}, findings: []}
examples:
  - case: {activity: road-use, tire: {load_range: null, tread_depth: 4/32 in}}
    expect: {verdict: undetermined}
  - case: {activity: repair, tire: {class: passenger, tread_depth: "6/32 in"}, aside: [1.50, -0.0, 12, true, null]}
    expect: {verdict: undetermined}
"""


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    """The cache of every test: a folder that is not there yet. Of compiled packs, none ship (`test_shipped.py`)."""
    monkeypatch.setattr(data, "inside", lambda name: str(tmp_path / "nowhere" / name))
    place = tmp_path / "caches" / "tirerules"
    monkeypatch.setenv(cache.VARIABLE, str(place))
    return place


@pytest.fixture
def packs(tmp_path):
    """Three invented packs; the first says all that a pack can say."""
    place = tmp_path / "packs"
    write(place, "invented-all", rules=RULES, more=MORE)
    write(place, "invented-line")
    write(place, "invented-shop")
    return place


def write(place, pack, version="1.0.0", rules=RULES, **head):
    place.mkdir(parents=True, exist_ok=True)
    file = place / f"{pack}@{version}.yaml"
    file.write_text(pack_text(rules, pack=pack, version=version, **head), encoding="utf-8")
    return file


def heads(place):
    return store.heads(files_in(place), store.Store())


def compiled(place):
    """The heads of a place whose packs have all been compiled and kept."""
    found = heads(place)
    for head in found:
        assert head.pack
    return found


def fully(place):
    """The packs of a place, read whole as if there were no store."""
    return library.read_files(library.files_under(place))


def entries(folder, kind="pack"):
    return sorted(folder.glob(f"{kind}-*"))


@pytest.fixture
def no_yaml(monkeypatch):
    """Let no YAML be read from now on, once the returned function is called."""

    def refuse(*_, **__):
        raise AssertionError("read the full way")

    def patch():
        monkeypatch.setattr(library, "read", refuse)
        monkeypatch.setattr(reading.yaml, "parse", refuse)

    return patch


def assert_the_same(found, whole):
    assert [head.id for head in found] == [pack.id for pack in whole]
    for head, pack in zip(found, whole, strict=True):
        told = (head.version, head.kind, head.sha256, head.file)
        assert told == (str(pack.version), pack.kind, pack.sha256, pack.file)
        assert head.pack == pack
        assert head.pack.file == pack.file
        assert repr(to_plain(head.pack)) == repr(to_plain(pack))  # also what equality leaves out: texts as printed


# --- what it gives ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("state", ["cold", "warm", "off"])
def test_every_pack_is_what_the_full_way_gives(packs, folder, monkeypatch, no_yaml, state):
    whole = fully(packs)
    if state == "off":
        monkeypatch.setenv(cache.VARIABLE, "off")
    elif state == "warm":
        compiled(packs)
        no_yaml()
    assert_the_same(heads(packs), whole)
    assert folder.exists() is (state != "off")


def test_every_pack_that_ships_is_what_the_full_way_gives(no_yaml):
    whole = library.read_files(library.files_under(library.builtin()))
    compiled(builtin())
    no_yaml()
    assert_the_same(heads(builtin()), whole)
    assert len(whole) > 60


def test_values_are_made_once(packs):
    (head, *_) = heads(packs)
    assert head.pack is head.pack


def test_eight_threads_that_ask_at_the_same_moment_get_the_same_value(packs):
    (head, *_) = heads(packs)
    gate = threading.Barrier(8)

    def ask(_):
        gate.wait()
        return head.pack

    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(ask, range(8)))
    assert all(pack is head.pack for pack in answers)


def test_the_same_bytes_in_two_files_are_two_heads_of_one_pack(packs, tmp_path):
    file = packs / "invented-shop@1.0.0.yaml"
    twin = tmp_path / "twin.yaml"
    twin.write_bytes(file.read_bytes())
    for _ in range(2):
        found = store.heads([str(file), str(twin)], store.Store())
        assert [head.file for head in found] == [head.pack.file for head in found] == [str(file), str(twin)]


_PLAIN = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**15), 10**15)
    | st.text()
    | st.from_regex(r"-?(0|[1-9][0-9]{0,8})\.[0-9]{1,5}", fullmatch=True).map(Decimal),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=20,
)


@law(_PLAIN, examples=150)
def test_a_document_comes_back_as_it_was(value):
    text = compiling._text(value)
    assert text.isascii()
    assert "\n" not in text
    assert repr(json.loads(text, parse_float=Decimal)) == repr(value)
    again = plain_json.parsed(text)
    assert repr(again) == repr(value)  # 1.50 is not 1.5, and True is not 1


@law(_PLAIN, examples=150)
def test_what_is_scanned_is_what_json_reads(value):
    text = json.dumps(value, default=float)
    assert repr(plain_json.parsed(text)) == repr(json.loads(text, parse_float=Decimal))


_CASES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(),
    lambda each: st.lists(each, max_size=4) | st.dictionaries(st.text(), each, max_size=4),
    max_leaves=12,
)


def as_json_has_it(value: Any) -> tuple[str, str]:
    sorted_ascii = json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return json.dumps(value, ensure_ascii=False), sorted_ascii


@law(_CASES, examples=150)
def test_what_is_encoded_is_what_json_writes(value):
    assert (plain_json.ENCODE(value), plain_json.CANONICAL(value)) == as_json_has_it(value)


@pytest.mark.parametrize("value", [b"x", {1, 2}, float("nan")], ids=str)
def test_what_is_no_json_is_refused(value):
    with pytest.raises((TypeError, ValueError)):
        plain_json.ENCODE({"a": [value]})


def test_without_pythons_private_scanner_json_is_imported(monkeypatch):
    monkeypatch.setitem(sys.modules, "_json", None)
    assert repr(plain_json._parser()('{"a": [1.50, 2]}')) == "{'a': [Decimal('1.50'), 2]}"
    encode, canonical = plain_json._encoders()
    value = {"b": ["é\u2028", 1, None, True], "a": {}}
    assert (encode(value), canonical(value)) == as_json_has_it(value)


# --- when an entry is used -------------------------------------------------------------------------------------------


def test_a_changed_file_is_read_anew(packs):
    before = compiled(packs)
    file = packs / "invented-shop@1.0.0.yaml"
    status = file.stat()
    file.write_text(file.read_text(encoding="utf-8").replace("1/4 in", "1/8 in"), encoding="utf-8")
    os.utime(file, ns=(status.st_atime_ns, status.st_mtime_ns))  # same name, size and time: only the bytes differ
    assert file.stat().st_size == status.st_size
    after = heads(packs)
    assert_the_same(after, fully(packs))
    assert [head.sha256 == old.sha256 for head, old in zip(after, before, strict=True)] == [True, True, False]
    assert str(after[2].pack.rules[0].body.value) == "1/8 in"


def test_only_what_is_asked_for_is_compiled(packs, folder, monkeypatch):
    read = []
    really = library.read
    monkeypatch.setattr(library, "read", lambda held, file: read.append(file) or really(held, file))
    _, line, _ = heads(packs)
    assert (read, entries(folder)) == ([], [])
    assert line.pack.id == "invented-line"
    assert read == [line.file]
    assert [file.name[5:69] for file in entries(folder)] == [line.sha256]


def test_only_what_changed_is_read_anew(packs, folder):
    compiled(packs)
    kept = {file: file.stat().st_mtime_ns for file in entries(folder)}
    write(packs, "invented-shop", "1.1.0")
    compiled(packs)
    assert len(entries(folder)) == 4
    assert all(file.stat().st_mtime_ns == time for file, time in kept.items())


_DAMAGE = {
    "empty": lambda body: b"",
    "cut short": lambda body: body[: len(body) // 2],
    "one byte lost": lambda body: body[:-1],
    "one byte more": lambda body: body + b"\n",
    "one letter changed": lambda body: body.replace(b"nvented", b"nverted", 1),
    "without its seal": lambda body: body.partition(b"\n")[2],
    "other seal": lambda body: b"0" * 64 + body[64:],
    "no text": lambda body: b"\xff\x00" * 100,
    "other JSON": lambda body: b'{"rules": []}',
}


@pytest.mark.parametrize("kind", ["pack", "heads"])
@pytest.mark.parametrize("damage", _DAMAGE.values(), ids=_DAMAGE)
def test_a_damaged_entry_is_ignored_and_written_anew(packs, folder, kind, damage):
    compiled(packs)
    sound = {file: file.read_bytes() for file in entries(folder, kind)}
    for file, body in sound.items():
        assert damage(body) != body
        file.write_bytes(damage(body))
    found = heads(packs)
    assert_the_same(found, fully(packs))
    assert {file: file.read_bytes() for file in entries(folder, kind)} == sound


def test_the_entry_of_one_pack_is_none_for_another(packs, folder):
    compiled(packs)
    first, second, third = entries(folder)
    second.write_bytes(first.read_bytes())
    third.write_bytes(entries(folder, "heads")[0].read_bytes())
    assert_the_same(heads(packs), fully(packs))


def test_another_version_of_the_library_keeps_its_own_entries(packs, folder, monkeypatch):
    compiled(packs)
    ours = {file: file.read_bytes() for file in folder.iterdir()}
    monkeypatch.setattr(store, "__version__", "1.0.1")
    compiled(packs)
    assert len(list(folder.iterdir())) == 2 * len(ours)
    assert all(file.read_bytes() == body for file, body in ours.items())


def test_another_state_of_the_code_overwrites_its_entries(packs, folder, monkeypatch, no_yaml):
    compiled(packs)
    before = {file: file.read_bytes() for file in folder.iterdir()}
    monkeypatch.setattr(shipped, "_CODE", f"{shipped._CODE} changed")
    compiled(packs)
    after = {file: file.read_bytes() for file in folder.iterdir()}
    assert set(after) == set(before)
    assert all(after[file] != body for file, body in before.items())
    no_yaml()
    compiled(packs)


def test_where_the_state_of_the_code_cannot_be_told_nothing_is_kept(packs, folder, monkeypatch):
    monkeypatch.setattr(shipped, "_CODE", "")
    assert_the_same(heads(packs), fully(packs))
    assert not folder.exists()


def test_an_entry_that_went_meanwhile_is_made_again(packs, folder):
    compiled(packs)
    found = heads(packs)
    for file in entries(folder):
        file.unlink()
    whole = fully(packs)
    assert [head.pack for head in found] == [*whole]
    assert len(entries(folder)) == 3


def test_it_is_not_made_again_from_another_file(packs, folder):
    file = packs / "invented-shop@1.0.0.yaml"
    head = heads(packs)[2]
    for entry in entries(folder):
        entry.unlink()
    file.write_text(file.read_text(encoding="utf-8").replace("1/4 in", "1/2 in"), encoding="utf-8")
    with pytest.raises(MissingDataError) as refused:
        _ = head.pack
    assert str(refused.value) == f"{file}: the file has changed since it was read -- load the packs again"
    file.unlink()
    with pytest.raises(MissingDataError) as refused:
        _ = head.pack
    assert str(refused.value) == f"{file}: No such file or directory"


def test_what_was_written_long_ago_goes_when_something_is_written(packs, folder):
    compiled(packs)
    old = entries(folder)[0]
    others = folder / "notes.txt"
    others.write_text("not ours", encoding="utf-8")
    long_ago = old.stat().st_mtime - 91 * 86400
    for file in (old, others):
        os.utime(file, (long_ago, long_ago))
    heads(packs)
    assert old.exists()
    write(packs, "invented-new")
    heads(packs)
    assert not old.exists()
    assert others.exists()
    assert len(entries(folder)) == 2
    assert_the_same(heads(packs), fully(packs))


# --- packs that are refused ------------------------------------------------------------------------------------------


def test_the_problems_of_all_heads_are_told_as_by_the_full_way(packs, folder):
    write(packs, "invented-one", rules=RULES.replace("1/4 in", "6 furlong"), kind="shop")
    write(packs, "Invented-two")
    (packs / "broken.yaml").write_text("a: 010\n", encoding="utf-8")
    with pytest.raises(PackError) as whole:
        fully(packs)
    for _ in range(2):  # nothing about it is remembered
        with pytest.raises(PackError) as refused:
            heads(packs)
        assert refused.value.problems == whole.value.problems
        assert len({problem.file for problem in refused.value.problems}) == 3
    assert not entries(folder, "heads")


def test_what_is_wrong_with_a_rule_is_told_by_whoever_asks_for_the_pack(packs, folder):
    file = write(packs, "invented-line", rules=RULES.replace("1/4 in", "6 furlong"))
    with pytest.raises(PackError) as whole:
        fully(packs)
    for _ in range(2):
        found = heads(packs)
        for _ in range(2):  # it is refused as often as it is asked for: never passed over
            with pytest.raises(PackError) as refused:
                _ = found[1].pack
            assert refused.value.problems == whole.value.problems
            assert {problem.file for problem in refused.value.problems} == {str(file)}
    assert not entries(folder)


def test_a_pack_that_breaks_later_stops_whoever_needs_it(packs):
    compiled(packs)
    file = packs / "invented-shop@1.0.0.yaml"
    file.write_text(file.read_text(encoding="utf-8").replace("1/4 in", "1/4"), encoding="utf-8")
    *_, shop = heads(packs)
    with pytest.raises(PackError, match="invented-shop"):
        assert shop.pack


def test_a_file_that_is_too_large_is_refused(tmp_path):
    file = tmp_path / "huge.yaml"
    file.write_bytes(b"#" * (2 * MAX_BYTES))
    assert len(content(str(file))) == MAX_BYTES + 1
    with pytest.raises(PackError) as refused:
        heads(file)
    assert [problem.code for problem in refused.value.problems] == ["file-too-large"]


@pytest.mark.parametrize("size", [0, 1, 65_535, 65_536, 65_537, 200_000, MAX_BYTES, MAX_BYTES + 1])
def test_a_file_is_read_to_its_end(tmp_path, size):
    file = tmp_path / "file"
    held = os.urandom(size)
    file.write_bytes(held)
    assert content(str(file)) == held


def test_a_version_for_another_library_is_left_out_where_one_fits(packs, no_yaml):
    write(packs, "invented-shop", "2.0.0", engine=">=2")
    whole = fully(packs)
    assert_the_same(compiled(packs), whole)
    no_yaml()
    assert_the_same(heads(packs), whole)
    assert [str(pack.version) for pack in whole] == ["1.0.0"] * 3


def test_it_is_refused_where_no_other_version_is_there(packs):
    write(packs, "invented-new", "2.0.0", engine=">=2")
    for _ in range(2):
        with pytest.raises(PackError) as refused:
            heads(packs)
        assert [problem.code for problem in refused.value.problems] == ["engine"]


def test_a_file_that_cannot_be_read_is_a_sentence(packs, monkeypatch):
    file = packs / "invented-shop@1.0.0.yaml"
    found = list(files_in(packs))
    file.unlink()
    with pytest.raises(MissingDataError) as refused:
        store.heads(found, store.Store())
    assert str(refused.value) == f"{file}: No such file or directory"


# --- choosing --------------------------------------------------------------------------------------------------------


def test_heads_are_chosen_as_packs_are(packs):
    for version in ("1.10.0", "1.9.0"):
        write(packs, "invented-shop", version)
    found, whole = heads(packs), fully(packs)
    for pins in ({}, {"invented-shop": "<1.10"}):
        chosen = store.choose_heads(found, pins)
        expected = choose(whole, pins)
        assert [(head.id, head.version) for head in chosen] == [(pack.id, str(pack.version)) for pack in expected]


def test_where_there_is_no_choice_the_order_is_the_same(packs):
    found, whole = heads(packs), fully(packs)
    assert [head.id for head in store.choose_heads(found[::-1], {})] == [pack.id for pack in choose(whole[::-1], {})]


def test_pins_count_where_there_is_one_version_of_each(packs):
    with pytest.raises(PinError):
        store.choose_heads(heads(packs), {"invented-shop": "==2.*"})


# --- the folder ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("platform", "environment", "expected"),
    [
        ("linux", {"XDG_CACHE_HOME": "/caches"}, "/caches/tirerules"),
        ("linux", {"XDG_CACHE_HOME": "relative", "HOME": "/home/me"}, "/home/me/.cache/tirerules"),
        ("linux", {"XDG_CACHE_HOME": "", "HOME": "/home/me"}, "/home/me/.cache/tirerules"),
        ("linux", {"HOME": "/home/me", "LOCALAPPDATA": "/no"}, "/home/me/.cache/tirerules"),
        ("darwin", {"HOME": "/Users/me", "XDG_CACHE_HOME": "/no"}, "/Users/me/Library/Caches/tirerules"),
        ("win32", {"LOCALAPPDATA": "/local", "HOME": "/no"}, "/local/tirerules"),
        ("win32", {"HOME": "/no"}, None),
        ("linux", {"TIRERULES_CACHE": "/mine", "HOME": "/home/me"}, "/mine"),
        ("linux", {"TIRERULES_CACHE": "~/mine", "HOME": "/home/me"}, "/home/me/mine"),
        ("linux", {"TIRERULES_CACHE": "", "HOME": "/home/me"}, "/home/me/.cache/tirerules"),
        ("linux", {"TIRERULES_CACHE": "off", "HOME": "/home/me"}, None),
    ],
)
def test_the_folder_is_where_the_user_keeps_such_things(monkeypatch, platform, environment, expected):
    for name in ("TIRERULES_CACHE", "XDG_CACHE_HOME", "LOCALAPPDATA", "HOME"):
        monkeypatch.delenv(name, raising=False)
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    monkeypatch.setattr(cache.sys, "platform", platform)
    assert cache.user_folder() == expected


def test_a_relative_folder_is_below_the_current_one(monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv(cache.VARIABLE, "here")
    assert cache.user_folder() == str(tmp_path / "here")


def test_the_folder_is_made_for_the_user_alone(packs, folder):
    heads(packs)
    assert folder.stat().st_mode & 0o777 == 0o700
    assert {file.suffix for file in folder.iterdir()} == {".tirerules"}


def test_entries_are_made_for_the_user_alone_whatever_others_are_given(packs, folder):
    before = os.umask(0)
    try:
        compiled(packs)
    finally:
        os.umask(before)
    assert folder.stat().st_mode & 0o777 == 0o700
    assert {file.stat().st_mode & 0o777 for file in folder.iterdir()} == {0o600}


@pytest.mark.parametrize("mode", [0o620, 0o602, 0o666])
def test_an_entry_that_others_may_write_is_not_read_and_is_made_anew(packs, folder, monkeypatch, mode):
    compiled(packs)
    for file in folder.iterdir():
        file.chmod(mode)
    seen, really = [], library.read
    monkeypatch.setattr(library, "read", lambda *given_: seen.append(given_) or really(*given_))
    compiled(packs)
    assert len(seen) == 3
    compiled(packs)
    assert len(seen) == 3
    assert {file.stat().st_mode & 0o777 for file in folder.iterdir()} == {0o600}


def test_an_entry_of_another_user_is_not_read(packs, folder, no_yaml, monkeypatch):
    compiled(packs)
    really = os.fstat

    def of_another(number):
        status = list(really(number))
        status[4] += 1  # st_uid
        return os.stat_result(status)

    monkeypatch.setattr(os, "fstat", of_another)
    no_yaml()
    with pytest.raises(AssertionError, match="read the full way"):
        heads(packs)


def test_where_the_platform_tells_no_owner_the_folder_is_used(packs, no_yaml, monkeypatch):
    monkeypatch.delattr(os, "geteuid")
    whole = fully(packs)
    compiled(packs)
    no_yaml()
    assert_the_same(heads(packs), whole)


@pytest.mark.parametrize("mode", [0o720, 0o702, 0o777, 0o1777])
def test_a_folder_that_others_may_write_is_neither_used_nor_mended(packs, folder, mode):
    compiled(packs)
    for file in entries(folder):
        file.unlink()
    folder.chmod(mode)
    left = sorted(folder.iterdir())
    assert_the_same(heads(packs), fully(packs))
    assert sorted(folder.iterdir()) == left
    assert folder.stat().st_mode & 0o7777 == mode


def test_what_stands_in_such_a_folder_is_not_read(packs, folder, monkeypatch):
    compiled(packs)
    folder.chmod(0o777)
    seen = []
    monkeypatch.setattr(library, "read", lambda *given_: seen.append(given_) or compiling_read(*given_))
    compiling_read = sys.modules["tirerules.packs.reading"].read
    compiled(packs)
    assert len(seen) == 3


def test_a_folder_of_another_user_is_not_used(packs, folder, monkeypatch):
    folder.mkdir(parents=True, mode=0o700)
    monkeypatch.setattr(os, "geteuid", lambda: folder.stat().st_uid + 1)
    assert_the_same(heads(packs), fully(packs))
    assert list(folder.iterdir()) == []


def test_a_link_is_not_used(packs, folder, tmp_path):
    target = tmp_path / "elsewhere"
    target.mkdir(mode=0o700)
    folder.parent.mkdir()
    folder.symlink_to(target)
    assert_the_same(heads(packs), fully(packs))
    assert list(target.iterdir()) == []


def test_a_folder_that_cannot_be_made_changes_nothing(packs, folder):
    folder.parent.write_text("a file stands in the way", encoding="utf-8")
    assert_the_same(heads(packs), fully(packs))


class _Full:
    """A file on a full disk: it is made, and takes half of what is written."""

    def __init__(self, path, mode, **_):
        self.stream = open(path, mode)  # noqa: SIM115, PTH123

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.stream.close()

    def write(self, content):
        self.stream.write(content[: len(content) // 2])
        raise OSError(errno.ENOSPC, "No space left on device")


@pytest.mark.parametrize("step", ["write", "replace"])
def test_a_full_disk_changes_nothing(packs, folder, monkeypatch, step):
    if step == "write":
        monkeypatch.setattr(cache, "open", _Full, raising=False)
        folder.mkdir(parents=True, mode=0o700)
    else:
        monkeypatch.setattr(os, "replace", lambda *_: _Full("/dev/null", "wb").write(b""))
    assert_the_same(heads(packs), fully(packs))
    assert list(folder.iterdir()) == []  # nothing half-written is left


# --- many processes --------------------------------------------------------------------------------------------------

#: The modules alone, without what the package's own face imports.
_ALONE = f"""
import sys
parent = type(sys)("tirerules")
parent.__path__ = [{str(ROOT / "tirerules")!r}]
sys.modules["tirerules"] = parent
"""
_PROCESS = (
    _ALONE
    + """
import hashlib, json
from tirerules.packs import files, store
found = store.choose_heads(store.heads(files.files_in(sys.argv[1]), store.Store()), {})
told = [[head.id, head.version, head.sha256, repr(head.pack)] for head in found]
print(json.dumps([hashlib.sha256(json.dumps(told).encode()).hexdigest(), "yaml" in sys.modules]))
"""
)


@pytest.mark.parametrize("count", some_of((6, 20), 1))
def test_processes_that_start_at_once_on_an_empty_folder_agree(packs, folder, count):
    for name in ("industry.yaml", "US/US.yaml", "US/US-SC.yaml"):
        (packs / Path(name).name).write_bytes((ROOT / "rulepacks" / name).read_bytes())
    command = [sys.executable, "-c", _PROCESS, str(packs)]
    piped = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    steady = {**os.environ, "PYTHONHASHSEED": "0"}  # sets are shown in one order
    running = [subprocess.Popen(command, env=steady, **piped) for _ in range(count)]
    outputs = [process.communicate(timeout=300) for process in running]
    assert [process.returncode for process in running] == [0] * count, outputs
    assert {err for _, err in outputs} == {""}
    (said,) = {json.loads(out)[0] for out, _ in outputs}
    assert len(entries(folder)) == 6
    assert len(entries(folder, "heads")) == 1
    assert len(list(folder.iterdir())) == 7  # nothing unfinished is left
    later = subprocess.run(command, capture_output=True, text=True, check=True, env=steady)
    assert json.loads(later.stdout) == [said, False]


# --- start-up --------------------------------------------------------------------------------------------------------

_LIGHT = (
    _ALONE
    + """
from tirerules.packs import files, store
from tirerules import data
data.inside = lambda name: "nowhere"
found = store.choose_heads(store.heads(files.files_in(files.builtin()), store.Store()), {})
rules = sum(len(head.pack.rules) for head in found)
loaded = set(sys.modules)
import json
print(json.dumps([len(found), rules, sorted(loaded)]))
"""
)


def test_reading_all_packs_again_imports_nothing_slow():
    run = [sys.executable, "-c", _LIGHT]
    first, again = (json.loads(subprocess.check_output(run, timeout=120)) for _ in range(2))
    assert first[:2] == again[:2]
    assert first[0] > 60
    assert "yaml" in first[2]
    assert not set(SLOW) & set(again[2])


def test_a_kept_pack_is_built_without_yaml_and_jsonschema(packs):
    compiled(packs)
    script = (
        _ALONE
        + """
import json
from tirerules.packs import files, store
for head in store.heads(files.files_in(sys.argv[1]), store.Store()):
    head.pack
print(json.dumps(sorted({"yaml", "jsonschema", "pint"} & set(sys.modules))))
"""
    )
    run = [sys.executable, "-c", script, str(packs)]
    assert json.loads(subprocess.check_output(run, timeout=120)) == []


# --- files -----------------------------------------------------------------------------------------------------------


def test_a_link_that_leads_nowhere_is_told(packs):
    link = packs / "US-XX.yaml"
    link.symlink_to(packs / "gone.yaml")
    with pytest.raises(MissingDataError) as refused:
        list(files_in(packs))
    assert str(refused.value) == f"{link}: is or leads to neither a file nor a folder -- mend it or delete it"
    link.rename(packs / "folder")  # it could have been a folder of packs
    with pytest.raises(MissingDataError, match="folder: is or leads to neither"):
        list(files_in(packs))


def test_an_editors_mark_for_an_open_file_is_no_pack(packs):
    (packs / ".#invented-shop@1.0.0.yaml").symlink_to("somebody@somewhere.1234")
    assert len(list(files_in(packs))) == 3


def test_what_is_neither_file_nor_folder_is_told(packs):
    os.mkfifo(packs / "US-XX.yaml")
    with pytest.raises(MissingDataError, match=r"US-XX\.yaml: is or leads to neither"):
        list(files_in(packs))


def test_a_link_to_a_file_or_a_folder_is_followed_and_a_circle_is_not(packs, tmp_path):
    other = tmp_path / "other"
    write(other, "invented-other")
    (packs / "linked.yaml").symlink_to(other / "invented-other@1.0.0.yaml")
    (packs / "sub").symlink_to(other)
    (packs / "circle").symlink_to(packs)
    names = [os.path.relpath(file, packs) for file in files_in(packs)]
    assert names == [
        "invented-all@1.0.0.yaml",
        "invented-line@1.0.0.yaml",
        "invented-shop@1.0.0.yaml",
        "linked.yaml",
        "sub/invented-other@1.0.0.yaml",
    ]


def test_a_folder_that_cannot_be_read_is_a_sentence(packs, monkeypatch):
    def refuse(path):
        raise PermissionError(13, "Permission denied", path)

    monkeypatch.setattr(os, "scandir", refuse)
    with pytest.raises(MissingDataError) as refused:
        list(files_in(packs))
    assert str(refused.value) == f"{packs}: Permission denied"


@pytest.mark.parametrize("place", [str, Path])
def test_what_is_not_there_is_told(tmp_path, place):
    with pytest.raises(MissingDataError, match="nowhere: no such file or folder"):
        list(files_in(place(tmp_path / "nowhere")))


def test_packs_in_an_archive_are_found_in_the_same_order(packs, tmp_path):
    write(packs / "sub", "invented-deep")
    write(packs / ".hidden", "invented-hidden")
    (packs / "notes.txt").write_text("no pack", encoding="utf-8")
    archive = tmp_path / "packs.zip"
    with zipfile.ZipFile(archive, "w") as stream:
        for file in packs.rglob("*"):
            stream.write(file, Path("packs") / file.relative_to(packs))
    inside = zipfile.Path(archive, "packs/")
    names = [str(file).partition("packs.zip/packs/")[2] for file in files_in(inside)]
    assert names == [os.path.relpath(file, packs) for file in files_in(packs)]
    for _ in range(2):
        found = heads(inside)
        assert [head.sha256 for head in found] == [head.sha256 for head in heads(packs)]
        assert repr(found[0].pack.rules) == repr(heads(packs)[0].pack.rules)
    with pytest.raises(MissingDataError, match="nowhere: no such file or folder"):
        list(files_in(inside / "nowhere"))


def test_the_library_finds_its_packs_inside_an_archive(tmp_path, folder):
    archive = tmp_path / "library.zip"
    with zipfile.ZipFile(archive, "w") as stream:
        for file in (ROOT / "tirerules").rglob("*.py"):
            stream.write(file, file.relative_to(ROOT))
        for name in ("rulepacks/industry.yaml", "rulepacks/US/US.yaml", "schemas/rulepack.schema.json"):
            stream.write(ROOT / name, Path("tirerules/_data") / name)
    script = """
import json, sys
sys.path.insert(0, sys.argv[1])
from tirerules.packs import files, store
found = store.heads(files.files_in(files.builtin()), store.Store())
print(json.dumps([[head.file, head.sha256, len(head.pack.rules)] for head in found]))
"""
    run = [sys.executable, "-c", script, str(archive)]
    said = json.loads(subprocess.check_output(run, timeout=120, cwd=tmp_path))
    assert [each[0].partition("library.zip/")[2] for each in said] == [
        "tirerules/_data/rulepacks/US/US.yaml",
        "tirerules/_data/rulepacks/industry.yaml",
    ]
    industry = (ROOT / "rulepacks" / "industry.yaml").read_bytes()
    assert said[1][1] == hashlib.sha256(industry).hexdigest()
    assert all(each[2] > 10 for each in said)
    assert not folder.exists()  # what the code is like cannot be told there
