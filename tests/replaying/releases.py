"""What is kept of an earlier release, and how a test lets the library be another release than it is."""

from __future__ import annotations

import zipfile
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from packaging.version import Version

from tirerules import __version__
from tirerules.record import parse

__all__ = ["NEWER", "be_release", "packs_of", "records_of"]

_HERE = Path(__file__).parent
#: A later release than the one whose records are kept: this library, once it is one.
NEWER = str(max(Version("1.1.0"), Version(__version__)))
#: Where the version of the library has a part in deciding, reading packs or replaying.
_READ_BY = ("decision", "replaying", "packs.library", "packs.store", "cli.replay")


def records_of(release: str) -> list[dict[str, Any]]:
    """Return the records of a release."""
    text = (_HERE / f"records-{release}.jsonl").read_text(encoding="utf-8")
    return [parse(line) for line in text.splitlines()]


def packs_of(release: str, folder: Path) -> Path:
    """Write the packs of a release into a folder and return it."""
    with zipfile.ZipFile(_HERE / f"packs-{release}.zip") as packs:
        packs.extractall(folder)
    return folder


def be_release(patch: pytest.MonkeyPatch, release: str) -> None:
    """Let the library take itself for another release."""
    for module in _READ_BY:
        patch.setattr(import_module(f"tirerules.{module}"), "__version__", release)
