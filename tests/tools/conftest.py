"""The Node tools: installed once a session, outside the checkout, at the versions of the lock file."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support import installed


@pytest.fixture(scope="session")
def tools(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with the tools installed, and the scripts of this one beside them."""
    return installed(Path(__file__).parent, tmp_path_factory.mktemp("schema-tools"))
