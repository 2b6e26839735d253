"""What tests of mutation share."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest

from tests.authoring.mutating import written


@pytest.fixture
def write(tmp_path: Path) -> Callable[..., Path]:
    """Return what writes the invented pack with some examples and returns its file."""
    return partial(written, tmp_path)
