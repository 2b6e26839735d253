"""Lets the library remember next to nothing."""

from __future__ import annotations

import pytest

from tirerules.index import bits, book, evaluate, looks, packing, plain, plan
from tirerules.record import blocks, written

__all__ = ["remember"]

_MODULES = (bits, book, evaluate, looks, packing, plain, plan, written, blocks)
#: How far a search goes; it bounds nothing that is remembered.
_OTHER = "_MOST_COMBINATIONS"


def remember(monkeypatch: pytest.MonkeyPatch, most: int) -> None:
    """Let whatever is remembered hold about `most` entries, until the test ends."""
    for module in _MODULES:
        for name in [name for name in vars(module) if name.startswith("_MOST_") and name != _OTHER]:
            monkeypatch.setattr(module, name, most)
