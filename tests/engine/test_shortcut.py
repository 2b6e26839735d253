"""A shortcut, where there is one, is what the evaluator says.

Tires and tickets are invented; places, rules and their words are those that ship.
"""

from __future__ import annotations

from itertools import islice, product
from random import Random
from typing import Any

import pytest

from tests.amounts import some_of
from tests.engine import everywhere
from tests.reference.drawing import drawn_cases
from tests.support import builtin_packs, injury, repair_case
from tirerules.case import case_row
from tirerules.case.row import CaseRow
from tirerules.engine.evaluator import Evaluation
from tirerules.engine.limits import limits_of, limits_shortly
from tirerules.engine.program import Program
from tirerules.engine.shortcut import shortcut_of
from tirerules.vocabulary import ACTIVITIES

ON = "2026-11-25"
#: What an invented ticket states of some facts; None is unknown. The diameters lie around what laws and trade name.
STATED = {
    "class": ("passenger", "light-truck", "bus", "off-road", None),
    "zone": ("crown", "shoulder", "sidewall", None),
    "diameter": ("3.1 mm", "6.2 mm", "6.35 mm", "9.6 mm", None),
    "angle": ("0 deg", "24.9 deg", "31 deg", None),
    "depth": ("1 mm", "2.4 mm", "7.9 mm", None),
    "findings": ([], ["bulge"], ["leak"], ["regroove"], None),
    "repairs": (
        [],
        [],
        None,
        [{"zone": "crown", "diameter": "5 mm", "method": "one-piece"}],
        [{"zone": "shoulder", "diameter": "9.6 mm"}, {}],
    ),
    "method": ("one-piece", "plug-only", None, None),
}


def program_of(row: CaseRow) -> Program:
    return everywhere().program(row.codes, row.activity, row.on or ON, row.reading, row.method)


def agreed(program: Program, row: CaseRow) -> int | None:
    """Return the verdict of a shortcut once it agrees with the evaluator; None where there is no shortcut."""
    short, whole = shortcut_of(program, row), Evaluation(program, row)
    if short is None:
        return None
    assert (short.verdict, short.leading) == (whole.verdict, whole.leading), row.tire
    assert (short.relevant, short.sure) == (whole.relevant, whole.sure), row.tire
    assert limits_shortly(program, short) in (None, limits_of(whole)), row.tire
    return short.verdict


def ticket(rng: Random, code: str, activity: str) -> dict[str, Any]:
    said = {key: rng.choice(values) for key, values in STATED.items()}
    hole = injury(zone=said["zone"], diameter=said["diameter"], angle=said["angle"])
    return repair_case(
        jurisdictions=[code],
        activity=activity,
        tire={"class": said["class"], "tread_depth": said["depth"]},
        injuries=hole if activity == "repair" or rng.random() < 0.3 else rng.choice(([], None)),
        findings=said["findings"],
        earlier_repairs=said["repairs"],
        method=said["method"] if activity == "repair" else None,
    )


@pytest.mark.parametrize("seed", some_of(range(10), 2))
def test_a_shortcut_says_what_the_evaluator_says_in_every_place(seed):
    rng, seen = Random(seed), dict.fromkeys((None, 0, 1, 2), 0)
    for code, activity in product(everywhere().codes, ACTIVITIES):
        for _ in range(4):
            row = case_row(ticket(rng, code, activity))
            seen[agreed(program_of(row), row)] += 1
    assert all(seen.values())
    assert seen[None] < 0.4 * sum(seen.values())


def test_a_shortcut_says_what_the_evaluator_says_of_odd_cases():
    short = 0
    for case in islice(drawn_cases(Random(11), builtin_packs()), 600):
        row = case_row(case)
        short += agreed(program_of(row), row) is not None
    assert short > 50
