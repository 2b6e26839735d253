"""Small builders for tests: packs from a few lines of YAML, cases from what they differ in. All data is invented."""

from __future__ import annotations

import json
import shutil
import subprocess
import textwrap
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from tirerules import Rulebook, data
from tirerules.packs.building import read_pack
from tirerules.packs.files import content
from tirerules.packs.library import gather, read_whole
from tirerules.packs.pack import Pack

ROOT = Path(__file__).resolve().parents[1]
HEAD = """\
format: 1
pack: {pack}
version: {version}
engine: "{engine}"
kind: {kind}
title: Invented pack
reviewed: 2026-11-25
coverage: {coverage}
sources:
  text:
    citation: Invented Code § 1
    authority: {authority}
    evidence: text-read
"""


def pack_text(
    rules: str = "",
    *,
    pack: str = "invented-shop",
    kind: str = "company",
    version: str = "1.0.0",
    engine: str = ">=1,<2",
    coverage: str = "{repair: rules}",
    authority: str = "company",
    more: str = "",
) -> str:
    """Return the text of an invented pack whose rules are `rules` (a YAML list, or nothing)."""
    head = HEAD.format(pack=pack, kind=kind, version=version, engine=engine, coverage=coverage, authority=authority)
    body = "rules:\n" + textwrap.indent(textwrap.dedent(rules), "  ") if rules else "rules: []\n"
    return head + body + textwrap.dedent(more)


def invented_pack(rules: str = "", **head: Any) -> Pack:
    """Return an invented pack, read as the library reads it."""
    head.setdefault("pack", "invented-shop")
    text = pack_text(rules, **head)
    return read_pack(text.encode(), f"{head['pack']}.yaml")


def repair_case(**changes: Any) -> dict[str, Any]:
    """Return a complete repair case that passes the baseline: a plain passenger tire, 5 mm, 20 degrees, crown.

    `changes` replace top-level keys; a mapping is merged into the block of that name.
    """
    case: dict[str, Any] = {
        "jurisdictions": ["US-SC"],
        "activity": "repair",
        "on": "2026-11-25",
        "tire": {"class": "passenger", "sealant_layer": False, "tread_depth": "6/32 in"},
        "vehicle": {"kind": "passenger-car", "use": "private"},
        "injuries": [{"kind": "puncture", "zone": "crown", "diameter": "5 mm", "angle": "20 deg"}],
        "findings": [],
        "earlier_repairs": [],
    }
    for key, value in changes.items():
        merged = isinstance(value, Mapping) and isinstance(case.get(key), dict)
        case[key] = {**case[key], **value} if merged else value
    return case


def injury(**changes: Any) -> list[dict[str, Any]]:
    """Return the one injury of `repair_case` with `changes`; None takes a fact out."""
    found = {"kind": "puncture", "zone": "crown", "diameter": "5 mm", "angle": "20 deg", **changes}
    return [{key: value for key, value in found.items() if value is not None}]


def ship(monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    """Let the library ship the packs in `folder` alone, and none of them compiled, until the test ends."""
    monkeypatch.setattr(data, "inside", lambda name: str(folder / "nowhere" / name))
    place = data.place
    monkeypatch.setattr(data, "place", lambda name: str(folder) if name == "rulepacks" else place(name))


def read_once(files: Iterable[Any]) -> tuple[Pack, ...]:
    """Read packs as `tirerules.packs.library.read_files` does, and the same bytes of the same file once a session."""
    return gather(files, lambda file: _read_whole(content(file), str(file)))


@cache
def _read_whole(held: bytes, file: str) -> Pack:
    return read_whole(held, file)[1]


def program(name: str) -> str:
    """Return the path of a program that a marked test needs. Fails where it is missing: no test is ever skipped."""
    path = shutil.which(name)
    if path is None:
        pytest.fail(f"{name} was not found on the PATH -- install it, or run the tests that need Python alone")
    return path


#: Seconds that an installation may take.
_PATIENCE = 240
_INSTALL = ("ci", "--no-audit", "--no-fund", "--ignore-scripts", "--loglevel=error")


def installed(source: Path, place: Path) -> Path:
    """Install the Node tools that `source` locks into `place`, with its scripts beside them; return `place`."""
    npm = program("npm")
    for file in source.iterdir():
        if file.suffix in (".json", ".mjs"):
            shutil.copy(file, place)
    done = subprocess.run(
        [npm, *_INSTALL], cwd=place, capture_output=True, text=True, timeout=_PATIENCE, stdin=subprocess.DEVNULL
    )
    if done.returncode:
        pytest.fail(f"{source.name} could not be installed: {done.stderr or done.stdout}", pytrace=False)
    return place


@cache
def builtin_packs() -> list[dict[str, Any]]:
    """Return the packs that ship, as plain data."""
    return [yaml.safe_load(path.read_bytes()) for path in sorted((ROOT / "rulepacks").rglob("*.yaml"))]


def rulebook_of(packs: list[dict[str, Any]]) -> Rulebook:
    """Return the rulebook of packs that are given as plain data."""
    return Rulebook([read_pack(_yaml(pack).encode(), f"{pack['pack']}.yaml") for pack in packs])


def _yaml(pack: dict[str, Any]) -> str:
    # JSON is YAML, and leaves no scalar to be guessed at: "N" is a load range and "2026-11-25" a text.
    return json.dumps(pack, indent=1, default=str, ensure_ascii=False)
