"""The language server of these tests: installed once a session, outside the checkout, at its pinned version."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.editor import SCHEMA, SETTLED
from tests.editor.client import LanguageServer
from tests.support import installed, program


@pytest.fixture(scope="session")
def server_command(tmp_path_factory):
    """Return the command that starts the server."""
    node = program("node")
    place = installed(Path(__file__).parent, tmp_path_factory.mktemp("language-server"))
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
