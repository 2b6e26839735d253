"""What the packs cover: every jurisdiction by every activity, how well it was checked, and what is missing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from tirerules.jurisdictions import JURISDICTIONS
from tirerules.packs.pack import Pack
from tirerules.rulebook import Rulebook
from tirerules.vocabulary import ACTIVITIES, EVIDENCE, Activity

__all__ = ["NO_PACK", "Cell", "cell_to_json", "cells", "coverage_to_json", "missing"]

#: What is said of a place for which there is no pack at all.
NO_PACK: Final = "no-pack"


@dataclass(frozen=True, slots=True)
class Cell:
    """One jurisdiction and one activity."""

    code: str
    title: str
    activity: Activity
    coverage: str  #: one of the words of `coverage` in a pack, or ``no-pack``
    rules: int
    grades: tuple[int, ...]  #: how many of the rules have each grade of evidence, best grade first
    weakest: str  #: the weakest grade among them: what the activity rests on at worst
    oldest: date | None  #: the oldest day on which the pack was reviewed or one of these rules' texts was read


def cells(rulebook: Rulebook) -> Iterator[Cell]:
    """Yield a cell for every ISO code and activity, then for places of the caller's own."""
    private = [code for code in rulebook.codes if code not in JURISDICTIONS]
    for code in (*JURISDICTIONS, *private):
        pack = rulebook.packs.get(code)
        for activity in ACTIVITIES:
            yield _cell(code, pack, activity)


def _cell(code: str, pack: Pack | None, activity: Activity) -> Cell:
    if pack is None:
        return Cell(code, "", activity, NO_PACK, 0, (0,) * len(EVIDENCE), "", None)
    rules = [rule for rule in pack.rules if activity in rule.activities]
    count = Counter(rule.source.evidence for rule in rules)
    grades = tuple(count[grade] for grade in EVIDENCE)
    weakest = next((grade for grade in reversed(EVIDENCE) if count[grade]), "")
    oldest = min([pack.reviewed, *(rule.source.read for rule in rules if rule.source.read)])
    return Cell(code, pack.title, activity, pack.covers(activity), len(rules), grades, weakest, oldest)


def missing(rulebook: Rulebook) -> Iterator[str]:
    """Yield in words what a compliance lead still has to have looked at."""
    without = [code for code in JURISDICTIONS if code not in rulebook.packs]
    if without:
        yield f"no pack: {', '.join(without)}"
    for activity in ACTIVITIES:
        for word, said in (("not-reviewed", "not reviewed"), ("partial", "read only in part")):
            codes = [cell.code for cell in cells(rulebook) if cell.activity is activity and cell.coverage == word]
            if codes:
                yield f"{activity} {said}: {', '.join(codes)}"


def cell_to_json(cell: Cell) -> dict[str, Any]:
    """Return a cell as plain data."""
    grades = {grade.replace("-", "_"): count for grade, count in zip(EVIDENCE, cell.grades, strict=True)}
    return {
        "code": cell.code,
        "title": cell.title,
        "activity": str(cell.activity),
        "coverage": cell.coverage,
        "rules": cell.rules,
        **grades,
        "weakest_evidence": cell.weakest,
        "oldest_review": cell.oldest.isoformat() if cell.oldest else "",
    }


def coverage_to_json(rulebook: Rulebook) -> dict[str, Any]:
    """Return what the packs cover, and what is missing, as plain data."""
    return {"cells": [cell_to_json(cell) for cell in cells(rulebook)], "missing": list(missing(rulebook))}
