"""Encoded tables say of every row what the reader of cases says of it, and refuse what it refuses."""

from __future__ import annotations

import json
from random import Random

import numpy as np
import pyarrow as pa
import pytest

from tests.batch.tickets import PLAIN, generated_cases, row_of, table_of
from tirerules.batch import COLUMNS
from tirerules.batch.encoding import encode
from tirerules.batch.tickets import ITEM_OF, REQUIRED, case_of
from tirerules.errors import CaseError
from tirerules.record import case_from_json
from tirerules.vocabulary import FACTS

#: What a case checks of several facts together, which encoding leaves to whoever decides.
TOGETHER = ("case-injuries", "case-crack", "case-count", "case-size", "case-place")


def said(problem):
    return problem.code, problem.message, problem.hint, problem.path


def stops(problem):
    """Whether the reader of cases, having found this, does not look at all the rest."""
    code, _, _, path = problem
    return code.startswith(("json-", "batch-")) or path == "repair_unit.rated_angle"


def read_by_cases(row):
    """Return the case of a row, and what its reader finds wrong with single cells."""
    try:
        return case_from_json(case_of(row)), []
    except CaseError as error:
        return None, [problem for problem in error.problems if problem.code not in TOGETHER]


def stated(case, fact):
    """Return the value of a fact of the whole case."""
    group, _, key = fact.rpartition(".")
    block = getattr(case, group) if group else case
    return None if block is None else getattr(block, "class_" if key == "class" else key)


def alike(fact, encoded, typed):
    """Whether an encoded value is that of the case."""
    if fact in ("tire.size",) and typed is not None:
        return encoded.text == typed
    if fact.endswith(".clock") and typed is not None:
        return encoded is not None
    if fact in ("reading", "zones"):
        return encoded is None or encoded == typed
    return encoded == typed


def demand_alike(rows):
    """Hold the encoded table to the cases of its rows; return it."""
    table = table_of(rows)
    found = encode(table)
    problems = {}
    for row, problem in found.problems():
        problems.setdefault(row, []).append(problem)
    assert sorted(problems) == list(problems) == np.flatnonzero(found.refused).tolist()
    for at, row in enumerate(table.to_pylist()):
        case, wrong = read_by_cases(row)
        told, wanted = set(map(said, problems.get(at, ()))), set(map(said, wrong))
        assert bool(told) == bool(wanted), row
        assert told >= wanted, row
        if row["activity"] and not any(map(stops, wanted)):
            assert told == wanted, row
        if case is None:
            continue
        for fact, column in found.whole.items():
            assert alike(fact, column.values[column.codes[at]], stated(case, fact)), (fact, row)
        for name, items in (("injuries", found.injuries), ("earlier_repairs", found.earlier_repairs)):
            typed = getattr(case, name)
            assert items.counts[at] == (-1 if typed is None else len(typed))
            for place, item in enumerate(typed or ()):
                for fact in (fact for fact in FACTS.values() if fact.group == ITEM_OF[name] and not fact.derived):
                    column = items.at(place).get(fact.name)
                    value = None if column is None else column.values[column.codes[at]]
                    assert alike(fact.name, value, getattr(item, fact.key)), (fact.name, place, row)
    return found


def test_generated_cases_are_encoded_as_they_are_read():
    rng = Random(2)
    rows = [row_of(case, rng) for case in generated_cases(150)]
    found = demand_alike(rows)
    assert set(found.whole) > {"jurisdictions", "activity", "findings", "tire.class", "tire.tread_depth"}
    assert found.injuries.most > 1
    assert found.injuries.counts.min() == -1


CELLS = {
    "jurisdictions": ["US-SC", "US-SC, US-GA", "", None],
    "activity": ["repair", "Repair", "", None],
    "on": ["2026-11-30", "2026-02-30", "20261130", "2026-W49-1", None],
    "reading": ["strict", "as-enacted", "", "lax", None],
    "zones": ["measured", "as-named", "", "seen", None],
    "method": ["section", "", "glue", None],
    "findings": ["none", "", "leak,boot", "leak, leak", "leak,,", "dent,hole", None],
    "tire.class": ["bus", "Bus", "", None],
    "tire.size": ["225/65R17", "225/65R17 102H", "wide", "", None],
    "tire.date_code": ["1023", "5423", "x", None],
    "tire.speed_symbol": ["ZR", "(Y)", "y", None],
    "tire.tread_depth": [
        "6/32 in",
        '6/32"',
        "4 mm to 5 mm",
        "5 mm to 4 mm",
        "5",
        "5 kg",
        "-1 mm",
        "6,5 mm",
        "1 ft",
        None,
    ],
    "tire.tread_grid": [
        '[["5 mm", "4 mm"], ["5 mm", "3 mm"]]',
        "none",
        "[]",
        '[["5 mm"], []]',
        "[[5]]",
        "x",
        "null",
        None,
    ],
    "tire.run_flat": ["yes", "NO", "True", "1", "", None],
    "vehicle.gvwr": ["10000 lb", "1 tonne", "heavy", None],
    "vehicle.seats": ["5", "05", "-1", "5.0", "1234567890", "many", None],
    "repair_unit.method": ["section", "glue", None],
    "repair_unit.rated_angle": ["35 deg", "95 deg", "x", None],
    "repair_unit.document": ["an invented sheet", "", None],
    "injury.zone": ["crown", "roof", None],
    "injury.angle": ["20 deg", "90 deg", None],
    "injury.clock": ["3:00", "90 deg", "415 mm", "25:00", None],
    "injuries": [
        *("none", "[]", "null", "[{}]", "[null]", "[3]", "{", "", '[{"zone": null}]', None, None, None),
        '[{"zone": "crown"}, {"zone": "roof", "side": "left", "diameter": "5 mm"}]',
        *(
            '[{"zone": 3, "nozone": "x"}]',
            '[{"zone": "crown",\n "side": "left"}]',
            '[{"zone": "crown", "zone": "bead"}]',
        ),
        *('[], "list": []', "[]}\n{", '[]}{"list": []'),
    ],
    "repair.zone": ["bead", "Bead", None, None],
    "earlier_repairs": ["none", '[{"method": "section"}]', "3", None, None],
}


@pytest.mark.parametrize("share", [0.1, 0.3, 0.6])
def test_whatever_cells_hold_they_are_encoded_as_they_are_read(share):
    rng = Random(share)
    for _ in range(60):
        rows = [
            {name: rng.choice(cells) for name, cells in CELLS.items() if rng.random() < share or name in REQUIRED}
            for _ in range(8)
        ]
        demand_alike(rows)


@pytest.mark.parametrize("name", CELLS)
def test_every_cell_by_itself(name):
    demand_alike([{**PLAIN, "earlier_repairs": None, "injury.zone": None, name: cell} for cell in CELLS[name]])


def test_columns_may_be_typed_or_encoded_and_come_in_chunks():
    rows = [PLAIN, {**PLAIN, "injury.zone": None, "tire.class": "bus"}, {**PLAIN, "injury.diameter": "9 mm"}]
    wanted = encode(table_of(rows * 2))
    parts = [
        pa.table(
            {name: column.dictionary_encode() for name, column in zip(each.column_names, each.columns, strict=True)}
        )
        for each in (table_of(rows), table_of(rows[::-1]))
    ]
    found = encode(pa.concat_tables([parts[0], parts[1].take(pa.array([2, 1, 0]))]))
    for name, column in wanted.whole.items():
        other = found.whole[name]
        assert [column.values[at] for at in column.codes] == [other.values[at] for at in other.codes]
    for fact, column in wanted.injuries.columns.items():
        other = found.injuries.columns[fact]
        assert [column.values[at] for at in column.codes] == [other.values[at] for at in other.codes]


def test_each_distinct_text_is_read_once_and_shared_by_all_places_of_a_list(monkeypatch):
    from tirerules.batch import encoding

    read = []

    def watched(name, said):
        read.append((name, said))
        return read_cell(name, said)

    read_cell = encoding.read_cell
    monkeypatch.setattr(encoding, "read_cell", watched)
    two = json.dumps([{"diameter": "5 mm"}, {"diameter": "6 mm"}])
    row = {"jurisdictions": "US-SC", "activity": "repair", "tire.size": "225/65R17"}
    rows = [{**row, "injuries": two}, {**row, "injuries": f" {two}"}, {**row, "injury.diameter": "5 mm"}] * 50
    found = encode(table_of(rows))
    assert len(read) == len(set(read)) == 5
    assert found.injuries.counts.tolist() == [2, 2, 1] * 50
    assert found.injuries.at(0)["injury.diameter"].values is found.injuries.at(1)["injury.diameter"].values


def test_a_row_with_very_many_injuries_costs_the_others_nothing():
    many = json.dumps([{"zone": "crown"}] * 5000)
    rows = [{**PLAIN, "injury.zone": None, "injury.kind": None, "injury.diameter": None, "injury.angle": None}] * 200
    rows[7] = {**rows[7], "injuries": many}
    found = encode(table_of(rows))
    assert len(found.injuries.rows) == 5000
    assert set(found.injuries.rows.tolist()) == {7}


def test_an_empty_table_is_encoded():
    found = encode(table_of([PLAIN]).slice(0, 0))
    assert (found.count, found.refused.tolist(), list(found.problems())) == (0, [], [])


def test_bytes_that_are_no_text_are_refused():
    table = table_of([PLAIN, PLAIN])
    broken = pa.array([b"passenger", b"pass\xff"], pa.binary()).view(pa.string())
    table = table.set_column(table.column_names.index("tire.class"), "tire.class", broken)
    assert encode(table).refused.tolist() == [False, True]


def test_every_column_of_a_table_of_tickets_can_be_encoded():
    found = encode(pa.table({name: pa.nulls(2, pa.string()) for name in COLUMNS}))
    groups = {f"{group}." for group in ITEM_OF.values()}
    assert set(found.whole) == {name for name in COLUMNS if name not in ITEM_OF and not name.startswith(tuple(groups))}
    assert found.injuries.counts.tolist() == [-1, -1]
