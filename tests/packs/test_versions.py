"""Versions and specifiers of any length: read, or refused by the same exceptions, and never converted without bound."""

from __future__ import annotations

import pytest
from packaging.specifiers import InvalidSpecifier
from packaging.version import InvalidVersion, Version

from tests.engine import rule
from tests.support import pack_text
from tirerules import LockError, PackError, PinError, load
from tirerules.cli import main
from tirerules.engine.parts import PackLock
from tirerules.packs.building import read_pack
from tirerules.packs.versions import MAX_DIGITS, specifiers_of, version_of

#: More than Python converts to a number (4,300 digits by default; sys.set_int_max_str_digits).
DIGITS = "9" * 5000
RULES = rule("size", "limit: {fact: injury.diameter, at-most: 4 mm}")


def test_what_is_too_long_is_malformed():
    assert version_of("1.2.3") == Version("1.2.3")
    assert "1.2.3" in specifiers_of(">=1,<2")
    for text in (DIGITS, f"1.{DIGITS}", f"1!{DIGITS}", f"1.0+{DIGITS}"):
        with pytest.raises(InvalidVersion):
            version_of(text)
        with pytest.raises(InvalidSpecifier):
            specifiers_of(f"=={text}")


@pytest.mark.parametrize("version", [DIGITS, f"1.0.{DIGITS}", f"{DIGITS}.0.0", f"1.0.{'9' * (MAX_DIGITS + 1)}"])
def test_a_pack_of_such_a_version_is_refused(version, tmp_path, capsys):
    file = tmp_path / "invented-shop.yaml"
    file.write_text(pack_text().replace("version: 1.0.0", f'version: "{version}"'), encoding="utf-8")
    with pytest.raises(PackError, match="has the wrong form"):
        load(str(file))
    for command in (["check", str(file)], ["compare", str(file), str(file)], ["coverage", "--packs", str(file)]):
        assert main(command) in (1, 2)
        err = capsys.readouterr().err
        assert "defect" not in err
        assert DIGITS not in err


def test_the_largest_number_of_a_version_is_read():
    largest = "9" * MAX_DIGITS
    text = pack_text(RULES, version=f"{largest}.0.{largest}")
    pack = read_pack(text.encode(), "invented-shop.yaml")
    assert str(pack.version) == f"{largest}.0.{largest}"


@pytest.mark.parametrize("key", ["format", "engine"])
def test_so_is_one_of_such_a_format_or_engine(key, tmp_path):
    file = tmp_path / "invented-shop.yaml"
    for said in (DIGITS, f'"{DIGITS}"', f'">={DIGITS}"'):
        lines = [f"{key}: {said}" if line.startswith(f"{key}:") else line for line in pack_text().splitlines()]
        file.write_text("\n".join(lines), encoding="utf-8")
        with pytest.raises(PackError):  # of the format, by whoever needs the pack
            _ = load(str(file)).packs


def test_pins_and_locks_of_such_versions_are_refused():
    lock = load().lock
    for spec in (f"=={DIGITS}", DIGITS, f">=1,<{DIGITS}"):
        with pytest.raises(PinError, match="which is no version specifier"):
            load(pins={"US-SC": spec})
        with pytest.raises(PinError, match="which is no version specifier"):
            load(pins={"US-SC": spec}, lock=lock)
    for version in (DIGITS, f"1.0.{DIGITS}"):
        with pytest.raises(LockError):
            load(lock={**lock, "US-SC": PackLock(version, "0" * 64)})


@pytest.mark.parametrize("word", ["size\n", "size\n\n", "\nsize"])
def test_the_end_of_a_pattern_is_the_end_of_the_text(word):
    """To ECMA-262 `$` is the very end; to Python's `re` it also stands before a last line feed."""
    block = "".join(f"        {line}\n" for line in word.split("\n")[:-1])
    rules = RULES.replace("id: size\n", f"id: |\n{block}")
    with pytest.raises(PackError, match="has the wrong form"):
        read_pack(pack_text(rules).encode(), "invented-shop.yaml")
