"""Lets the library keep next to nothing of what it worked out."""

from __future__ import annotations

import pytest

from tirerules.case.reading import _Days
from tirerules.engine.programs import Programs
from tirerules.engine.tables import Table
from tirerules.engine.worked_out import _Sizes
from tirerules.quantities import Readings

__all__ = ["BOUNDED", "keep"]

#: Everything that keeps what it made from cases or texts, each of which has a `BOUND`.
BOUNDED = (Table, Readings, Programs, _Days, _Sizes)


def keep(monkeypatch: pytest.MonkeyPatch, most: int) -> None:
    """Let whatever is bounded keep no more than `most` entries, until the test ends."""
    for kind in BOUNDED:
        monkeypatch.setattr(kind, "BOUND", most)
