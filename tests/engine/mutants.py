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
        "engine/kernel.py",
        "    unsure = missed & (may | doubtful)",
        "    unsure = missed & doubtful",
        "a rule that only may apply fails a case",
    ),
    Mutant(
        "engine/kernel.py",
        "return relevant, relevant & ~may, missed ^ unsure, unsure",
        "return relevant, relevant, missed ^ unsure, unsure",
        "a limit that only may apply counts as located",
    ),
    Mutant(
        "engine/tables.py",
        "return left <= right if bound.inclusive else left < right",
        "return left <= right",
        "less than is read as at most",
    ),
    Mutant(
        "engine/tables.py",
        "return self.maybe if answer is None or self.weak else self.no",
        "return self.maybe if answer is None else self.no",
        "the smallest reading fails a counted law",
    ),
    Mutant(
        "engine/tables.py",
        "    words = known - CURED_BY_REPAIR if cures else known",
        "    words = known",
        "what a repair removes bars the road after it",
    ),
    Mutant(
        "engine/program.py",
        'return not (self.rule.overlay or self.rule.contradicts) and self.rule.source.evidence != "memory"',
        "return not (self.rule.overlay or self.rule.contradicts)",
        "a figure from memory lets a tire pass",
    ),
    Mutant(
        "engine/program.py",
        "                self.constant |= may  # it tells",
        "                self.constant |= 0  # it tells",
        "a height of wear indicators fails a tire by itself",
    ),
    Mutant(
        "engine/own_rules.py",
        "    return reached == cover.every",
        "    return bool(reached)",
        "a limit that covers some unknown words covers all",
    ),
    Mutant(
        "engine/own_rules.py",
        "        found.add(NO_HIGHWAY[class_])",
        "        pass",
        "a class made for no highway passes unjudged",
    ),
    Mutant(
        "engine/evaluator.py",
        "            verdict = own if own < whole else whole",
        "            verdict = own",
        "an injury passes on a tire that does not",
    ),
    Mutant(
        "engine/bands.py",
        "    if not missed:",
        "    if missed or not missed:",
        "a band that an injury leaves proves it to lie in the crown",
    ),
    Mutant(
        "engine/computed.py",
        "            if unit.documented and highest > chosen:",
        "            if highest > chosen:",
        "a rating without its document extends a limit",
    ),
    Mutant(
        "record/reasons.py",
        '("passes", None),',
        '("passes", True),',
        "the text says of a rule that may apply and passes that it does apply",
    ),
    Mutant(
        "engine/limits.py",
        "return (each.applies is None, *strictness, each.rule.name)",
        "return (*strictness, each.rule.name)",
        "a limit that only may apply stands before one that does",
    ),
    Mutant(
        "engine/questions.py",
        'need: (need[0] != "findings", -count, -limited.get(need, 0),',
        'need: (need[0] != "findings", -limited.get(need, 0), -count,',
        "what many rules wait for is asked after what one limits",
    ),
    Mutant(
        "engine/resale.py",
        "tire[_FINDINGS] = row.findings - CURED_BY_REPAIR",
        "tire[_FINDINGS] = row.findings",
        "a repaired tire still leaks when it is sold",
    ),
    Mutant(
        "engine/places.py",
        "        known.values[reach] = ABSENT\n",
        "        pass\n",
        "a named zone is held against bands",
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
