"""Makes the compiled packs when a wheel or an sdist is built: hatchling calls this file by its path (`pyproject.toml`).

Nothing is written into the tree that is built. An editable install gets none, since what it ships may be edited at any
moment: ``python -m tirerules.packs.compiling`` makes those of a checkout.
"""

from __future__ import annotations

import sys
from tempfile import TemporaryDirectory
from typing import Any

__all__ = ["get_build_hook"]


def get_build_hook() -> Any:
    """Return the class that hatchling asks for; hatchling itself is at hand in a build alone."""
    from hatchling.builders.hooks.plugin.interface import BuildHookInterface

    class CompiledPacks(BuildHookInterface):  # type: ignore[misc]  # hatchling is not there where mypy runs
        """Compiles every pack that ships, and puts what was made into the archive as data of the package."""

        PLUGIN_NAME = "compiled-packs"

        def initialize(self, version: str, build_data: dict[str, Any]) -> None:
            """Compile the packs of the tree that is built. Raises PackError, which ends the build, for a broken one."""
            if version == "editable":
                return
            sys.path.insert(0, self.root)
            from tirerules.packs.compiling import compile_shipped

            self._made = TemporaryDirectory()
            for file in compile_shipped(self._made.name):
                name = file.replace("\\", "/").rpartition("/")[2]
                build_data["force_include"][file] = f"tirerules/_data/compiled/{name}"

        def finalize(self, version: str, build_data: dict[str, Any], artifact_path: str) -> None:
            """Delete what was made, once it stands in the archive."""
            if version != "editable":
                self._made.cleanup()

    return CompiledPacks
