"""The library as its users have it: a wheel of this checkout, installed with its compiled modules.

Other packages are found where this process finds them, so that nothing is fetched but what builds the wheel.
"""

from __future__ import annotations

import subprocess
import sys
import sysconfig
import venv
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from tests.benchmarks.measuring import say
from tests.benchmarks.processes import CACHE, OUTSIDE, ROOT, clean

__all__ = ["Installation"]

#: No folder can be made below it, by nobody: a home that cannot be written.
_NO_HOME: Final = "/dev/null"


@dataclass(frozen=True)
class Installation:
    """Where the interpreter and the command are."""

    python: Path
    command: Path

    @classmethod
    def made(cls, folder: Path) -> Installation:
        """Build the wheel and install it. Raises CalledProcessError where that fails, which says why."""
        say("", "building a wheel of this checkout and installing it ...")
        pip = [sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check"]
        subprocess.run([*pip, "wheel", "--no-deps", "--wheel-dir", folder, ROOT], env=clean(), check=True)
        (wheel,) = folder.glob("tirerules-*.whl")
        venv.create(folder / "venv", symlinks=True)
        place = folder / "venv" / ("Scripts" if sys.platform == "win32" else "bin")
        python = place / "python"
        install = [*pip, "--python", python, "install", "--no-deps", "--no-index", wheel]
        subprocess.run(install, env=clean(), check=True)
        asked = [python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"]
        packages = Path(subprocess.run(asked, capture_output=True, text=True, check=True).stdout.strip())
        (packages / "others.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
        made = cls(python, place / "tirerules")
        made.demand(packages)
        return made

    def demand(self, packages: Path) -> None:
        """Raise AssertionError unless the interpreter imports the library from `packages`, as compiled modules."""
        asked = [self.python, "-c", "import tirerules; print(tirerules.__file__, tirerules.__cached__)"]
        said = subprocess.run(
            asked, env=clean(), cwd=OUTSIDE, capture_output=True, text=True, check=True
        ).stdout.split()
        if not (Path(said[0]).is_relative_to(packages) and Path(said[1]).is_file()):
            raise AssertionError(f"the library is imported from {said}, not from {packages}")

    @staticmethod
    def environment(cache: Path | None, *, home: bool = True) -> dict[str, str]:
        """Return the environment of a process: with a folder for compiled packs, with none, or with no home at all."""
        if not home:
            return clean(HOME=_NO_HOME)
        return clean(**{CACHE: "off" if cache is None else str(cache)})
