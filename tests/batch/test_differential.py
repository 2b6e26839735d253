"""Columns held to the single decision on drawn rows: everything that the batch tells of a row, whatever it states."""

from __future__ import annotations

import json
from random import Random

import pytest

from tests.batch.test_arrays import CELLS, DAY, drawn
from tests.batch.test_columns import by_row, told
from tests.batch.tickets import few_places, generated_cases, row_of, table_of
from tirerules.batch import decide_batch, questions_of
from tirerules.batch.tickets import case_of

#: Seeds of the ordinary run and of the long one; each draws 1,000 rows.
SEEDS = [*range(3), *(pytest.param(seed, marks=pytest.mark.long) for seed in range(3, 30))]
#: What some rows state beside the plain cells.
SIZES = ["205/55R16", "225/45R17 94H", "LT245/75R16", "11R22.5", None]
CLOCKS = ["3:00", "9:00", "200 deg", None]
OFFSETS = ["0 mm", "40 mm", "62.5 mm", "3 in", "70 mm to 80 mm", None]


def differing(rows):
    """Return the rows of which the batch says another thing than the single decision."""
    answered = decide_batch(few_places(), table_of(rows), day=DAY)
    assert answered.set_aside.num_rows == 0, answered.set_aside.to_pylist()[:3]
    answers = by_row(answered.answers)
    found = []
    for at, row in enumerate(rows):
        answer = answers[at] | {"questions": set(questions_of(answers[at]["questions"]))}
        single = told({"on": DAY.isoformat(), **case_of(row)})
        if answer != single:
            found.append((row, {key: (answer[key], single[key]) for key in single if answer[key] != single[key]}))
    return found


def item(rng, group):
    """Return an injury or an earlier repair with some of its facts."""
    facts = {
        "zone": ["crown", "crown", "shoulder", "sidewall", None],
        "diameter": ["3 mm", "5 mm", "1/4 in", "5 mm to 7 mm", "9 mm", None],
        "side": ["left", "right", None],
        "clock": CLOCKS,
        "from_centerline": OFFSETS if rng.random() < 0.3 else [None],
        "unit_length": ["40 mm", None],
        "unit_width": ["30 mm", None],
    }
    if group == "injury":
        facts |= {
            "kind": ["puncture", "puncture", "cut", None],
            "angle": ["10 deg", "20 deg", "40 deg", None],
            "leans": ["toward-shoulder", "along-circumference", None],
            "surface_diameter": ["6 mm", "8 mm"] if rng.random() < 0.1 else [None],
        }
    else:
        facts["method"] = ["one-piece", "section", "plug-only", None]
    chosen = {key: rng.choice(cells) for key, cells in facts.items()}
    return {key: value for key, value in chosen.items() if value is not None}


def odd(count, seed):
    """Return rows with sizes, several injuries and earlier repairs, places, units and grids."""
    rng = Random(seed)
    rows = drawn(count, seed)
    for row in rows:
        for name, group in (("injuries", "injury"), ("earlier_repairs", "repair")):
            if rng.random() < 0.6:
                for column in [column for column in row if column.startswith(f"{group}.")]:
                    row[column] = None
                least = 1 if group == "injury" and row["activity"] == "repair" else 0
                row[name] = json.dumps([item(rng, group) for _ in range(rng.randint(least, 3))])
        if rng.random() < 0.4:
            row |= {"tire.size": rng.choice(SIZES), "tire.load_range": None, "tire.speed_symbol": None}
            row["tire.section_width"] = None
        if rng.random() < 0.2:
            row |= {"tire.tread_width": rng.choice(["160 mm", "150 mm to 170 mm"]), "tire.thickness": "10 mm"}
        if rng.random() < 0.1:
            row |= {"zones": "measured"}
        if rng.random() < 0.1:
            row |= {
                "tire.tread_grid": '[["4 mm", "3 mm"], ["4 mm", "2 mm"], ["4 mm", "3 mm"]]',
                "tire.tread_depth": None,
            }
        if rng.random() < 0.1:
            row |= {"repair_unit.method": "one-piece", "repair_unit.rated_angle": "35 deg"}
        if rng.random() < 0.1:
            row |= {"repair_unit.document": "sheet 1"} if "repair_unit.method" in row else {"tire.age": "7 years"}
        if rng.random() < 0.1:
            row |= {"tire.date_code": "2318"}
        if rng.random() < 0.1:
            row |= {"repairs.count": "7"}
        if rng.random() < 0.1:
            row |= {
                "repairs.spacing": rng.choice(["100 mm", "800 mm"]),
                "repairs.opposed": rng.choice(["yes", "no", None]),
            }
        if rng.random() < 0.1:
            row |= {"method": rng.choice(["one-piece", "section", "plug-only"])}
    return rows


@pytest.mark.parametrize("seed", SEEDS)
def test_drawn_rows(seed):
    """Plain rows, rows with sizes, lists and measures, and rows that sit on the figures of the rules."""
    rng = Random(seed)
    special = odd(300, 200 + seed)
    assert {name for row in special for name in row} > set(CELLS)
    on_figures = [row_of(case, rng) for case in generated_cases(200, 300 + seed)]
    assert differing([*drawn(500, 100 + seed), *special]) == []
    assert differing(on_figures) == []
