"""Wrong engines, made from the right one by an edit of its text, to prove that the comparison notices each of them.

A mutant is one line of `MUTANTS`: a file of the package, the text that stands there once, what stands there instead,
and what that gets wrong. It lives in a copy of the package in a folder of its own, with the packs and schemas that the
package looks for beside it, and is tried in a process of its own with a seed that never changes.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from tests.support import ROOT

__all__ = ["MUTANTS", "Mutant", "caught"]

_SEED: Final = 7
_CASES: Final = 3_000
#: What a checkout holds besides the package, without which no pack is found.
_BESIDE: Final = ("rulepacks", "schemas", "pyproject.toml")


@dataclass(frozen=True, slots=True)
class Mutant:
    """An edit of one file of the package, and what it gets wrong."""

    file: str
    old: str
    new: str
    wrong: str

    def apply(self, package: Path) -> None:
        """Edit the copy of the package in a folder. Raises ValueError where the text does not stand there just once."""
        path = package / self.file
        text = path.read_text(encoding="utf-8")
        if text.count(self.old) != 1:
            raise ValueError(f"{self.file} holds {text.count(self.old)} times {self.old!r} -- name it anew")
        path.write_text(text.replace(self.old, self.new), encoding="utf-8")


MUTANTS: Final = (
    Mutant(
        "deciding/gaps.py",
        'if _limits(each.rule, fact) and each.rule.source.evidence != "memory"]',
        "if _limits(each.rule, fact)]",
        "a figure from memory lets a tire pass",
    ),
    Mutant(
        "deciding/limits.py",
        "return (judgment.applies is None, *strictness, judgment.rule.name)",
        "return (*strictness, judgment.rule.name)",
        "a limit that only may apply stands before one that does",
    ),
    Mutant(
        "deciding/questions.py",
        "-weight[need], -limited[need], _ORDER[need[0]]",
        "-limited[need], -weight[need], _ORDER[need[0]]",
        "what many rules wait for is asked after what one limits",
    ),
)


def caught(mutant: Mutant | None, folder: Path) -> str:
    """Return the disagreement that the comparison shows of a mutant, or nothing where it shows none.

    Without a mutant the copy is right. Raises RuntimeError where the comparison itself did not run.
    """
    shutil.copytree(ROOT / "tirerules", folder / "tirerules", ignore=shutil.ignore_patterns("__pycache__"))
    for name in _BESIDE:
        copy = shutil.copytree if (ROOT / name).is_dir() else shutil.copy
        copy(ROOT / name, folder / name)
    if mutant is not None:
        mutant.apply(folder / "tirerules")
    # The copy comes first; the tests are those of the checkout, whose packs of test data are the same.
    paths = os.pathsep.join((str(folder), str(ROOT)))
    environment = {**os.environ, "PYTHONPATH": paths, "TIRERULES_CACHE": str(folder / "cache")}
    command = [sys.executable, "-m", "tests.engine.differential", str(_SEED), str(_CASES)]
    done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1) or (done.returncode == 1) is not bool(done.stdout):
        raise RuntimeError(f"the comparison did not run: {done.stderr[-2000:]}")
    return done.stdout
