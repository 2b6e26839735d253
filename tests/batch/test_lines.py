"""Files of lines by Arrow and by the line reader: the same rows, texts and refusals, whatever the lines hold."""

from __future__ import annotations

import itertools
import json
from pathlib import Path
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.batch.tickets import PLAIN, generated_cases, row_of
from tests.support import repair_case
from tirerules.batch import lines as reading
from tirerules.batch.csv_lines import CsvLines
from tirerules.batch.json_lines import JsonLines
from tirerules.batch.sources import open_source

NAMES = ("jurisdictions", "activity", "injury.diameter", "note")
JSON_COLUMNS = ("injuries", "earlier_repairs", "tire.tread_grid")


class Looked:
    """How many lines each reader took, and whether Arrow may take any."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.arrow = True
        self.by_arrow = 0
        for kind in (CsvLines, JsonLines):
            monkeypatch.setattr(kind, "_block", self.watched(kind._block))
        monkeypatch.setattr(reading, "_FEW_LINES", 1)

    def watched(self, block):
        def read(source, text, count):
            table = block(source, text, count) if self.arrow else None
            self.by_arrow += 0 if table is None else count
            return table

        return read


@pytest.fixture
def looked(monkeypatch):
    return Looked(monkeypatch)


def rows_of(path: Path, keep: tuple[str, ...] = (), size: int = 7):
    """Return all rows as they were read, and those that could not be."""
    source = open_source(path, keep)
    rows, unreadable, at = {}, [], source.start
    for chunk in source.chunks(source.start, size):
        assert len(chunk.rows) + len(chunk.unreadable) <= size
        for row, said in zip(chunk.rows.tolist(), chunk.table.to_pylist(), strict=True):
            rows[row] = {name: plain(name, value) for name, value in said.items() if value is not None}
        unreadable += chunk.unreadable
        assert chunk.end.offset > at.offset or chunk.end == at
        at = chunk.end
    assert not path.read_bytes()[at.offset :].strip(), "only blank lines are left"
    return rows, unreadable


def plain(name, value):
    """Return a value; a list in JSON without the keys that are null, which say nothing."""
    if name not in JSON_COLUMNS:
        return value
    try:
        said = json.loads(value)
    except json.JSONDecodeError:
        return value
    if not isinstance(said, list):
        return said
    return [{k: v for k, v in each.items() if v is not None} if isinstance(each, dict) else each for each in said]


def demand_same(looked, path, keep=(), size=7):
    looked.arrow = True
    found = rows_of(path, keep, size)
    looked.arrow = False
    assert found == rows_of(path, keep, size)
    return found


# --- CSV

CELLS = st.sampled_from(
    [
        *(
            "US-SC",
            "repair",
            "",
            '""',
            '"US-SC,US-GA"',
            '6/32"',
            '"6/32"""',
            '"',
            'a"b"c',
            '"a"b',
            '"a" ',
            ' "a"',
            '"a,b',
        ),
        *(
            "\r",
            "a\rb",
            "\x00",
            "é",
            "\ufeff",
            "\ufeffa",
            "none",
            "5 mm",
            '""""',
            '"""',
            "x y",
            "\t",
            "0x1",
            "NULL",
            "nan",
        ),
    ]
)
CSV_LINES = (
    st.lists(CELLS, min_size=4, max_size=4).map(",".join)
    | st.lists(CELLS, max_size=5).map(",".join)
    | st.just("US-SC,repair,5 mm,plain")
    | st.sampled_from(["", " ", "\t", "\x0b", "\r"])
).map(lambda text: text.encode("utf-8")) | st.binary(max_size=12)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(CSV_LINES, max_size=12), st.sampled_from([b"\n", b"\r\n"]), st.booleans())
def test_csv_by_arrow_is_csv_by_lines(looked, tmp_path, lines, end, ended):
    path = tmp_path / "tickets.csv"
    path.write_bytes(",".join(NAMES).encode() + end + end.join(lines) + (end if ended else b""))
    demand_same(looked, path, ("note",))


def test_quoted_cells_and_inch_marks_need_no_line_reader(looked, tmp_path):
    path = tmp_path / "tickets.csv"
    quoted = '"US-SC,US-GA",repair,"1/4""","said ""so"""\n'
    for lines in ('US-SC,repair,1/4",x\n' * 9, quoted * 9):
        path.write_text(",".join(NAMES) + "\n" + lines, encoding="utf-8")
        before = looked.by_arrow
        rows, unreadable = demand_same(looked, path, ("note",))
        assert looked.by_arrow == before + 9
        assert (len(rows), unreadable) == (9, [])
        assert rows[0]["injury.diameter"] == '1/4"'


def test_one_bad_line_costs_its_neighbours_nothing(looked, tmp_path):
    path = tmp_path / "tickets.csv"
    lines = ["US-SC,repair,5 mm,x"] * 40
    lines[17] = "US-SC,repair"
    path.write_text("\n".join([",".join(NAMES), *lines]), encoding="utf-8")
    rows, unreadable = demand_same(looked, path, ("note",), 100)
    assert looked.by_arrow == len(rows) == 39
    assert unreadable == [(17, "line 19: [batch-file] 2 cells where the header names 4 columns")]


# --- JSON lines

VALUES = st.sampled_from(
    [
        *(None, "crown", "5 mm", "", "é\u0000", 5, 5.5, 1e300, True, False, 10**30),
        *([], {}, ["leak"], ["leak", None], [1], [[]]),
    ]
)
ITEM = st.none() | st.fixed_dictionaries({}, optional={"zone": VALUES, "side": VALUES})
NESTED = st.fixed_dictionaries(
    {"jurisdictions": st.just(["US-SC"]) | VALUES, "activity": st.just("repair") | VALUES},
    optional={
        "tire": st.none() | st.fixed_dictionaries({}, optional=dict.fromkeys(("class", "run_flat", "clas"), VALUES)),
        "tire.class": VALUES,
        "tire.tread_grid": VALUES | st.just([["5 mm", None], None]),
        "repairs": st.fixed_dictionaries({}, optional={"count": VALUES}),
        "injuries": st.lists(ITEM, max_size=2) | VALUES,
        "injury.zone": VALUES,
        "earlier_repairs": VALUES,
        "findings": VALUES,
        "note": VALUES,
        "other": VALUES,
    },
).map(json.dumps)
TEXTS = st.sampled_from(
    [
        *(
            "null",
            "{}",
            "{}{}",
            '{"activity":',
            '"repair"}',
            "{}null{}",
            "{} null",
            "[]",
            "3",
            "",
            " ",
            "\t{} ",
            "\ufeff{}",
        ),
        *('{"activity": "a", "activity": "b"}', '{"tire": {"class": "bus", "class": "bus"}}', '{"note": 01}', "\x00"),
        *('{"note": NaN}', '{"note": 1e400}', '{"note": -0}', '{"note": "\\ud800"}', '{"note": "\\ud83d\\ude00"}'),
        *('{"note": "a\tb"}', '{"note": 5, "repairs": {"count": 1.0}}', '{"note": "x"},', '{"tire": {}}', '{"": 1}'),
        '{"injuries": [{"zone": "crown", "zone": "bead"}]}',
        '{"note": ' + "[" * 2000 + "]" * 2000 + "}",
        '{"note": 1' + "0" * 5000 + "}",
    ]
)
JSON_LINES = st.one_of(NESTED, NESTED, NESTED, TEXTS).map(lambda text: text.encode("utf-8")) | st.binary(max_size=8)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(JSON_LINES, max_size=10),
    st.sampled_from([b"\n", b"\r\n", b"\n\n"]),
    st.sampled_from([(), ("note",), ("injuries", "note"), ("tire",), ("findings", "tire.run_flat")]),
)
def test_json_by_arrow_is_json_by_lines(looked, tmp_path, lines, end, keep):
    path = tmp_path / "tickets.jsonl"
    path.write_bytes(end.join(lines))
    demand_same(looked, path, keep)


@pytest.mark.parametrize("flat", [False, True])
def test_cases_are_read_by_arrow_as_by_lines(looked, tmp_path, flat):
    cases, rng = generated_cases(120), Random(4)
    path = tmp_path / "tickets.jsonl"
    said = [row_of(case, rng) if flat else case for case in cases]
    path.write_text("".join(json.dumps(each, ensure_ascii=at % 2 == 0) + "\n" for at, each in enumerate(said)), "utf-8")
    rows, unreadable = demand_same(looked, path, (), 50)
    assert (len(rows), unreadable) == (120, [])
    assert looked.by_arrow > 60


def test_what_a_key_holds_may_change_from_line_to_line(looked, tmp_path):
    """A shop that writes its flags as words from some day on must not be read as it wrote them before."""
    path = tmp_path / "tickets.jsonl"
    flags = [True, False, None, "yes", "no", None, False] * 30
    cases = [{**PLAIN, "tire.sealant_layer": flag, "repairs.count": 1 if flag else "1"} for flag in flags]
    path.write_text("\n".join(map(json.dumps, cases)), encoding="utf-8")
    rows, unreadable = demand_same(looked, path, (), 1000)
    wanted = [flag if flag is None or isinstance(flag, str) else str(flag).lower() for flag in flags]
    assert [rows[at].get("tire.sealant_layer") for at in range(len(flags))] == wanted
    assert unreadable == []


def test_a_line_reader_learns_keys_that_come_late(looked, tmp_path):
    path = tmp_path / "tickets.jsonl"
    cases = [repair_case()] * 300 + [repair_case(axle={"steer": True})] * 300
    path.write_text("\n".join(map(json.dumps, cases)), encoding="utf-8")
    rows, _ = demand_same(looked, path, (), 1000)
    assert [at for at, row in rows.items() if row.get("axle.steer")] == list(range(300, 600))
    assert looked.by_arrow >= 590


# --- long lines and where chunks end


@pytest.mark.parametrize("suffix", ["csv", "jsonl"])
def test_a_line_too_long_is_passed_over_wherever_the_block_ends(looked, tmp_path, monkeypatch, suffix):
    monkeypatch.setattr(reading, "_BLOCK", 64)
    monkeypatch.setattr(reading, "_LONGEST_LINE", 100)
    good = "US-SC,repair,5 mm,x" if suffix == "csv" else json.dumps({"jurisdictions": "US-SC", "activity": "repair"})
    path = tmp_path / f"tickets.{suffix}"
    for length in (99, 100, 101, 150, 300, 1000):
        lines = [good, "x" * length, good, "", good]
        path.write_text("\n".join([",".join(NAMES)] * (suffix == "csv") + lines), encoding="utf-8")
        rows, unreadable = demand_same(looked, path, ("note",) if suffix == "csv" else (), 2)
        assert list(rows) == [0, 2, 3]
        assert (" longer than 100 bytes" in unreadable[0][1]) == (length + 1 > 100)


def test_a_chunk_ends_where_the_next_begins_whatever_the_blocks(looked, tmp_path, monkeypatch):
    monkeypatch.setattr(reading, "_BLOCK", 50)
    path = tmp_path / "tickets.csv"
    path.write_text(
        "\n".join([",".join(NAMES), *(f"US-SC,repair,{at} mm,\n \n" for at in range(30))]), encoding="utf-8"
    )
    source = open_source(path, ("note",))
    chunks = list(source.chunks(source.start, 4))
    assert [len(chunk.rows) for chunk in chunks] == [4] * 7 + [2]
    for before, chunk in itertools.pairwise(chunks):
        again = next(source.chunks(before.end, 4))
        assert again.table.to_pylist() == chunk.table.to_pylist()
        assert again.rows.tolist() == chunk.rows.tolist()
        assert again.end == chunk.end
