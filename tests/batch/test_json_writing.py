"""Tables as JSON lines: what Python's own encoder (the standard library's `json`) writes of each row."""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal

import pyarrow as pa
import pytest

from tirerules.batch import json_writing
from tirerules.batch.json_writing import write_json_lines

TEXTS = ["a", None, 'said "so"', '6/32"\\', "é\u2028\U0001f6de", "\x00\n\t", "", "a"]
COLUMNS = {
    "row": pa.array(range(8)),
    "text": pa.array(TEXTS),
    "larger": pa.array(TEXTS, pa.large_string()),
    'odd "name"': pa.array(TEXTS).dictionary_encode(),
    "coded": pa.DictionaryArray.from_arrays([0, 1, None, 1, 2, 0, 0, 0], ["x", None, "y"]),
    "flag": pa.array([True, None, False] * 2 + [None, True]),
    "number": pa.array([0.0, -0.0, 1e300, None, 0.1, 5.0, -1.5, 2.0]),
    "big": pa.array([2**64 - 1, None] * 4, pa.uint64()),
    "day": pa.array([date(2026, 11, 30), None] * 4),
    "decimal": pa.array([Decimal("1.50"), None] * 4),
    "list": pa.array([[1, None], None, [], [2]] * 2),
    "block": pa.array([{"a": 1}, None] * 4),
    "nothing": pa.nulls(8),
}


def by_python(table):
    rows = ({key: value for key, value in row.items() if value is not None} for row in table.to_pylist())
    return "".join(json.dumps(row, ensure_ascii=False, default=str) + "\n" for row in rows)


@pytest.mark.parametrize("most", [1, 3, 100])
def test_lines_are_those_of_the_standard_library(tmp_path, monkeypatch, most):
    monkeypatch.setattr(json_writing, "_BATCH_ROWS", most)
    table = pa.table(COLUMNS)
    for each in (table, table.slice(3, 4), table.slice(0, 0), table.select(["text"]), pa.concat_tables([table, table])):
        write_json_lines(each, tmp_path / "lines.jsonl")
        assert (tmp_path / "lines.jsonl").read_bytes().decode("utf-8") == by_python(each)


def test_bytes_that_are_no_text_are_not_written(tmp_path):
    broken = pa.array([b"pass\xff"], pa.binary()).view(pa.string())
    with pytest.raises(UnicodeDecodeError):
        write_json_lines(pa.table({"text": broken}), tmp_path / "lines.jsonl")
