"""The language server of these tests: installed once a session, outside the checkout, at its pinned version."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from tests.editor import SCHEMA, SETTLED
from tests.editor.client import LanguageServer
from tests.support import program

HERE = Path(__file__).parent
#: Seconds that an installation may take.
_PATIENCE = 120

_INSTALL = ("ci", "--no-audit", "--no-fund", "--ignore-scripts", "--loglevel=error")


@pytest.fixture(scope="session")
def server_command(tmp_path_factory):
    """Return the command that starts the server."""
    npm, node = program("npm"), program("node")
    place = tmp_path_factory.mktemp("language-server")
    for name in ("package.json", "package-lock.json"):
        shutil.copy(HERE / name, place)
    done = subprocess.run(
        [npm, *_INSTALL], cwd=place, capture_output=True, text=True, timeout=_PATIENCE, stdin=subprocess.DEVNULL
    )
    if done.returncode:
        pytest.fail(f"the language server could not be installed: {done.stderr or done.stdout}", pytrace=False)
    return [node, str(place / "node_modules" / "yaml-language-server" / "bin" / "yaml-language-server"), "--stdio"]


@pytest.fixture(scope="session")
def editor(server_command, tmp_path_factory):
    """Yield a running server whose settings give the schema to the packs in the folder `SETTLED`, and to no others."""
    settings = {
        "yaml": {
            "validate": True,
            "hover": True,
            "completion": True,
            "schemas": {SCHEMA.as_uri(): [f"{SETTLED}/*.yaml"]},
            # No schema from anywhere else, and no network.
            "schemaStore": {"enable": False},
        }
    }
    with LanguageServer(server_command, tmp_path_factory.mktemp("workspace"), settings) as server:
        yield server
