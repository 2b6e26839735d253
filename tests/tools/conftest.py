"""The Node tools: installed once a session, outside the checkout, at the versions of the lock file."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from tests.support import program

HERE = Path(__file__).parent
_INSTALL = ("ci", "--no-audit", "--no-fund", "--ignore-scripts", "--loglevel=error")
#: Seconds that an installation may take.
_PATIENCE = 240


@pytest.fixture(scope="session")
def tools(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with the tools installed, and the scripts of this one beside them."""
    npm, place = program("npm"), tmp_path_factory.mktemp("schema-tools")
    for file in HERE.iterdir():
        if file.suffix in (".json", ".mjs"):
            shutil.copy(file, place)
    done = subprocess.run(
        [npm, *_INSTALL], cwd=place, capture_output=True, text=True, timeout=_PATIENCE, stdin=subprocess.DEVNULL
    )
    if done.returncode:
        pytest.fail(f"the tools could not be installed: {done.stderr or done.stdout}", pytrace=False)
    return place
