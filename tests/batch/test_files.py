"""Files in and out: nothing lost whatever a line holds, parts that are whole, and an audit that goes on."""

from __future__ import annotations

import csv
import io
import json
from datetime import date
from pathlib import Path
from random import Random
from types import SimpleNamespace

import pyarrow as pa
import pyarrow.csv
import pyarrow.parquet
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.batch.tickets import PLAIN, few_places, generated_cases, row_of, table_of
from tests.engine import pack, rule, with_packs
from tests.support import repair_case
from tirerules.batch import BatchError, audit, decide_batch, parts, sources
from tirerules.errors import MissingDataError

DAY = date(2026, 11, 25)
HEADER = ",".join(PLAIN)
LINE = ",".join(PLAIN.values())


def told_in(folder, form="parquet"):
    """Return the answers and what was set aside, part after part."""
    answers = []
    for path in sorted(folder.glob(f"part-*.{form}")):
        if form == "parquet":
            answers += pa.parquet.read_table(path).to_pylist()
        elif form == "csv":
            nulls = pa.csv.ConvertOptions(strings_can_be_null=True)
            answers += pa.csv.read_csv(path, convert_options=nulls).to_pylist()
        else:
            answers += map(json.loads, path.read_text(encoding="utf-8").splitlines())
    aside = [
        json.loads(line)
        for path in sorted(folder.glob("set-aside-*.jsonl"))
        for line in path.read_text(encoding="utf-8").splitlines()
    ]
    return answers, aside


def journal(folder):
    return json.loads((folder / "audit.json").read_text(encoding="utf-8"))


def write(path, table):
    """Write tickets in the format of the file's suffix."""
    if path.suffix == ".parquet":
        pa.parquet.write_table(table, path)
    elif path.suffix == ".csv":
        text = io.StringIO(newline="")
        rows = csv.writer(text)
        rows.writerow(table.column_names)
        rows.writerows(list(row.values()) for row in table.to_pylist())
        path.write_text(text.getvalue(), encoding="utf-8")
    else:
        path.write_text("".join(json.dumps(row) + "\n" for row in table.to_pylist()), encoding="utf-8")
    return path


# --- the same answers from every format


@pytest.mark.parametrize("form", ["parquet", "csv", "jsonl"])
@pytest.mark.parametrize("suffix", ["parquet", "csv", "jsonl"])
def test_every_format_gives_the_answers_of_the_table(suffix, form, tmp_path):
    rng = Random(3)
    rows = [{**row_of(case, rng), "ticket": f'A{at}, of "B"'} for at, case in enumerate(generated_cases(40))]
    rows += [{**rows[0], "injuries": None, "injury.angle": "steep", "ticket": "bad"}]
    wanted = decide_batch(few_places(), table_of(rows), keep=["ticket"], day=DAY)
    source = write(tmp_path / f"tickets.{suffix}", table_of(rows))
    report = audit(few_places(), source, tmp_path / "out", form=form, keep=["ticket"], batch_rows=7, day=DAY)
    answers, aside = told_in(tmp_path / "out", form)
    full = wanted.answers.to_pylist()
    if form == "jsonl":
        full = [{key: value for key, value in row.items() if value is not None} for row in full]
    assert answers == full
    assert [(each["row"], each["ticket"]) for each in aside] == [(40, "bad")]
    assert "steep" in aside[0]["reason"]
    assert (report.rows, report.decided, report.set_aside) == (41, 40, 1)


def test_nested_json_lines_are_decided_as_the_cases_that_they_are(tmp_path):
    cases = generated_cases(120)
    source = tmp_path / "cases.jsonl"
    source.write_text(
        "\n\n".join(json.dumps({**case, "ticket": at}) for at, case in enumerate(cases)), encoding="utf-8"
    )
    audit(few_places(), source, tmp_path / "out", keep=["ticket"], day=DAY)
    answers, aside = told_in(tmp_path / "out")
    assert aside == []
    assert [each["verdict"] for each in answers] == [str(few_places().decide(case).verdict) for case in cases]
    assert [each["ticket"] for each in answers] == [str(at) for at in range(len(cases))]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"tire": {"clas": "passenger"}}, "unknown column 'tire.clas' -- did you mean tire.class?"),
        ({"tire": 5}, "unknown column 'tire'"),
        ({"ticket": 5}, "a column that is only to be carried through must be named (keep)"),
        ({"tire": {"class": ["bus"]}}, 'at tire.class ["bus"] cannot stand here'),
        ({"injuries": [{"diameter": 5}]}, "at injury.diameter 5 cannot stand here"),
        ({"tire": {"sealant_layer": 1}}, "at tire.sealant_layer 1 cannot stand here"),
        ({"repairs": {"count": True}}, "repairs.count must be a whole number"),
        ({"injuries": [None]}, "injuries[0] this must be a block of keys"),
        ({"injuries": []}, "a repair without an injury"),
        ({"injury.zone": "crown"}, "the row states injuries both here and in columns for one (zone)"),
        ({"tire.class": "bus"}, "at tire.class the key stands twice"),
        ({"repair_unit": {"method": "one-piece"}}, "repair_unit.rated_angle the key is missing"),
        ({"findings": ["boot", 3]}, "at findings"),
        ({"on": 20261125}, "at on 20261125 cannot stand here"),
    ],
)
def test_a_bad_case_among_json_lines_is_set_aside(change, said, tmp_path):
    source = tmp_path / "cases.jsonl"
    source.write_text(f"{json.dumps(repair_case())}\n{json.dumps({**repair_case(), **change})}\n", encoding="utf-8")
    audit(few_places(), source, tmp_path / "out")
    answers, aside = told_in(tmp_path / "out")
    assert [each["row"] for each in answers] == [0]
    assert aside[0]["row"] == 1
    assert said in aside[0]["reason"]


def test_a_json_case_with_an_injury_of_which_nothing_is_known_keeps_it(tmp_path):
    source = tmp_path / "cases.jsonl"
    case = repair_case(injuries=[{}])
    source.write_text(json.dumps(case), encoding="utf-8")
    audit(few_places(), source, tmp_path / "out", form="jsonl")
    ((answer,), _) = told_in(tmp_path / "out", "jsonl")
    assert answer["verdict"] == str(few_places().decide(case).verdict) == "undetermined"


# --- lines that are no tickets

BAD_LINES = {
    b'US-SC,repair,"2026': "unexpected end of data",
    b"US-SC,repair": "2 cells where the header names 14 columns",
    LINE.encode() + b",": "15 cells where the header names 14 columns",
    b'"US-SC"x,repair': "',' expected after '\"'",
    LINE.encode().replace(b"crown", b"cr\xffwn"): "the line is no UTF-8 text",
    LINE.encode().replace(b"crown", b"cr\rwn"): "new-line character seen in unquoted field",
    LINE.encode() + b"\rmore": "new-line character seen",
    b"x" * (1 << 20) + b"x": "the line is longer than 1048576 bytes",
}


@pytest.mark.parametrize("bad", BAD_LINES, ids=[text[:30] for text in BAD_LINES.values()])
def test_a_line_that_cannot_be_read_counts_as_a_row_and_is_set_aside_with_its_number(bad, tmp_path):
    source = tmp_path / "tickets.csv"
    good = LINE.encode()
    source.write_bytes(
        b"\xef\xbb\xbf" + b"\r\n".join([HEADER.encode(), good, b"", bad, good.replace(b"5 mm", b'"5 mm"')])
    )
    report = audit(few_places(), source, tmp_path / "out")
    answers, aside = told_in(tmp_path / "out")
    assert [(each["row"], each["verdict"]) for each in answers] == [(0, "within-limits"), (2, "within-limits")]
    (line,) = aside
    assert line["row"] == 1
    assert line["reason"].startswith("line 4: ")
    assert BAD_LINES[bad] in line["reason"]
    assert (report.rows, report.decided, report.set_aside) == (3, 2, 1)


def test_rows_are_set_aside_in_their_order_whatever_is_wrong_with_them(tmp_path):
    source = tmp_path / "tickets.csv"
    wrong = LINE.replace("crown", "roof")
    source.write_text("\n".join([HEADER, wrong, "x", LINE, "x", wrong]), encoding="utf-8")
    audit(few_places(), source, tmp_path / "out")
    answers, aside = told_in(tmp_path / "out")
    assert [each["row"] for each in answers] == [2]
    assert [(each["row"], "cells" in each["reason"]) for each in aside] == [
        (0, False),
        (1, True),
        (3, True),
        (4, False),
    ]


def test_inch_marks_and_quoted_cells_are_read_as_they_stand(tmp_path):
    source = tmp_path / "tickets.csv"
    inch = {**PLAIN, "tire.tread_depth": '6/32"', "jurisdictions": "US-SC,US-GA"}
    quoted = ",".join('"' + cell.replace('"', '""') + '"' if "," in cell else cell for cell in inch.values())
    source.write_text(f"{HEADER}\n{LINE}\n{quoted}\n", encoding="utf-8")
    audit(few_places(), source, tmp_path / "out")
    answers, aside = told_in(tmp_path / "out")
    assert [each["verdict"] for each in answers] == ["within-limits"] * 2
    assert aside == []


def test_a_long_line_is_read_whole(tmp_path):
    source = tmp_path / "tickets.csv"
    note = "x" * (1_048_000 - len(LINE))
    source.write_text(f"{HEADER},note\n{LINE},short\n{LINE},{note}\n{LINE},{note}\n", encoding="utf-8")
    audit(few_places(), source, tmp_path / "out", keep=["note"])
    answers, aside = told_in(tmp_path / "out")
    assert ([len(each["note"]) for each in answers], aside) == ([5, len(note), len(note)], [])


LINES = st.one_of(
    st.sampled_from(
        [LINE, LINE, '"', "", LINE + "x", LINE.replace("5 mm", '"5 mm"'), ",,", '"US-SC', "{}", "[", "null"]
    ),
    st.just(json.dumps(repair_case())),
    st.text(max_size=20),
).map(lambda text: text.encode("utf-8", "replace")) | st.binary(max_size=20)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    lines=st.lists(LINES, max_size=8),
    size=st.integers(1, 3),
    suffix=st.sampled_from(["csv", "jsonl"]),
    end=st.sampled_from([b"\n", b"\r\n"]),
)
def test_rows_in_are_answers_and_rows_set_aside_whatever_the_lines_hold(lines, size, suffix, end, tmp_path_factory):
    folder = tmp_path_factory.mktemp("any")
    source = folder / f"tickets.{suffix}"
    body = end.join(lines)
    source.write_bytes((HEADER.encode() + end if suffix == "csv" else b"") + body)
    rows = sum(bool(line.strip()) for line in body.split(b"\n"))
    report = audit(few_places(), source, folder / "out", batch_rows=size)
    answers, aside = told_in(folder / "out")
    found = [each["row"] for each in (*answers, *aside)]
    assert sorted(found) == list(range(rows))
    assert report.rows == rows == len(answers) + report.set_aside
    for told in (answers, aside):
        assert [each["row"] for each in told] == sorted(each["row"] for each in told)
    for each in aside:
        assert each["reason"]


# --- parts


def test_parquet_is_read_by_batches_whatever_its_row_groups(tmp_path):
    rows = [{**PLAIN, "ticket": at} for at in range(23)]
    source = tmp_path / "tickets.parquet"
    pa.parquet.write_table(table_of(rows), source, row_group_size=5)
    report = audit(few_places(), source, tmp_path / "out", batch_rows=7, keep=["ticket"])
    sizes = [pa.parquet.read_metadata(path).num_rows for path in sorted((tmp_path / "out").glob("part-*"))]
    assert sizes == [7, 7, 7, 2]
    answers, _ = told_in(tmp_path / "out")
    assert [(each["row"], each["ticket"]) for each in answers] == [(at, at) for at in range(23)]
    assert report.counts == {("within-limits",): 23}


@pytest.mark.parametrize("suffix", ["parquet", "csv", "jsonl"])
def test_an_empty_file_gives_one_empty_part(suffix, tmp_path):
    source = tmp_path / f"tickets.{suffix}"
    write(source, table_of([PLAIN]).slice(0, 0))
    report = audit(few_places(), source, tmp_path / "out")
    assert (report.rows, report.set_aside) == (0, 0)
    assert pa.parquet.read_table(tmp_path / "out" / "part-00000.parquet").num_rows == 0
    assert journal(tmp_path / "out")["finished"] is True


def test_the_journal_names_packs_library_day_source_and_counts(tmp_path):
    source = write(
        tmp_path / "tickets.csv", table_of([PLAIN, {**PLAIN, "injury.diameter": "9 mm"}, {**PLAIN, "on": "?"}])
    )
    audit(few_places(), source, tmp_path / "out", day=DAY)
    said = journal(tmp_path / "out")
    assert said["verdicts"] == {"within-limits": 1, "outside-limits": 1, "undetermined": 0}
    assert (said["rows"], said["decided"], said["set_aside"], said["on"]) == (3, 2, 1, "2026-11-25")
    assert said["packs"]["US-SC"]["sha256"] == few_places().lock["US-SC"].sha256
    assert said["source"]["bytes"] == source.stat().st_size
    assert said["options"] == {"format": "parquet", "keep": [], "batch_rows": 250_000}
    metadata = pa.parquet.read_schema(tmp_path / "out" / "part-00000.parquet").metadata
    assert metadata[b"tirerules.day"] == b"2026-11-25"


@pytest.fixture
def stopped(tmp_path, monkeypatch):
    """An audit of nine tickets, three a part, that stops when it is about to write the third part."""

    def make(suffix):
        rows = [{**PLAIN, "injury.diameter": f"{at} mm", "ticket": f"A{at}"} for at in range(1, 9)]
        rows.insert(4, {**PLAIN, "injury.diameter": "bad", "ticket": "bad"})
        source = write(tmp_path / f"tickets.{suffix}", table_of(rows))
        whole = tmp_path / "whole"
        audit(few_places(), source, whole, batch_rows=3, keep=["ticket"], form="jsonl", day=DAY)
        write_whole = parts.write_whole

        def stopping(path, fill):
            if path.name.startswith("part-00002"):
                raise KeyboardInterrupt
            return write_whole(path, fill)

        monkeypatch.setattr(parts, "write_whole", stopping)
        with pytest.raises(KeyboardInterrupt):
            audit(few_places(), source, tmp_path / "out", batch_rows=3, keep=["ticket"], form="jsonl", day=DAY)
        monkeypatch.setattr(parts, "write_whole", write_whole)

        def go_on(**change):
            said = {"batch_rows": 3, "keep": ["ticket"], "form": "jsonl", "resume": True, **change}
            return audit(said.pop("book", few_places()), said.pop("source", source), tmp_path / "out", **said)

        return SimpleNamespace(source=source, folder=tmp_path / "out", whole=whole, go_on=go_on)

    return make


@pytest.mark.parametrize("suffix", ["parquet", "csv", "jsonl"])
def test_a_stopped_audit_goes_on_from_the_parts_that_are_whole(suffix, stopped):
    run = stopped(suffix)
    assert journal(run.folder)["finished"] is False
    before = {path.name: path.stat().st_mtime_ns for path in run.folder.glob("part-*")}
    assert sorted(before) == ["part-00000.jsonl", "part-00001.jsonl"]
    report = run.go_on()
    assert {name: (run.folder / name).stat().st_mtime_ns for name in before} == before, "whole parts are left alone"
    assert told_in(run.folder, "jsonl") == told_in(run.whole, "jsonl")
    assert journal(run.folder) == journal(run.whole), "the day is still that on which the audit began"
    assert (report.rows, report.set_aside) == (9, 1)
    assert not list(run.folder.glob(".*"))


def test_a_finished_audit_has_nothing_left_to_do(stopped):
    run = stopped("csv")
    first = run.go_on()
    again = {path.name: path.stat().st_mtime_ns for path in run.folder.glob("part-*")}
    assert run.go_on() == first
    assert {path.name: path.stat().st_mtime_ns for path in run.folder.glob("part-*")} == again


@pytest.mark.parametrize("broken", ["part-00000.jsonl", "part-00001.jsonl", "set-aside-00001.jsonl"])
def test_a_part_that_is_not_whole_is_made_again(broken, stopped):
    run = stopped("csv")
    path = run.folder / broken
    path.write_bytes(path.read_bytes()[:-10])
    run.go_on()
    assert told_in(run.folder, "jsonl") == told_in(run.whole, "jsonl")


def test_an_audit_does_not_go_on_with_anything_else(stopped, tmp_path):
    run = stopped("csv")
    text = run.source.read_text(encoding="utf-8")
    for change, said in (
        ({"keep": ["ticket", "on"]}, 'options keep was ["ticket"], is ["ticket", "on"]'),
        ({"batch_rows": 4}, "options batch_rows was 3, is 4"),
        ({"form": "csv"}, 'options format was "jsonl", is "csv"'),
        ({"day": date(2026, 11, 24)}, 'on was "2026-11-25", is "2026-11-24"'),
        ({"book": tighter()}, 'packs invented-shop was none, is {"version"'),
    ):
        with pytest.raises(BatchError) as caught:
            run.go_on(**change)
        assert said in str(caught.value)
    run.source.write_text(text + "\n" + text.splitlines()[1], encoding="utf-8")
    with pytest.raises(BatchError, match="source bytes was"):
        run.go_on()


def tighter():
    return with_packs(few_places(), pack(rule("size", "limit: {fact: injury.diameter, at-most: 1 mm}")))


# --- what cannot be audited


def test_a_folder_that_holds_something_is_not_written_into(tmp_path):
    source = write(tmp_path / "tickets.csv", table_of([PLAIN]))
    audit(few_places(), source, tmp_path / "out")
    with pytest.raises(BatchError, match="holds an audit already -- let it go on"):
        audit(few_places(), source, tmp_path / "out")
    with pytest.raises(BatchError, match="is not empty and holds no audit"):
        audit(few_places(), source, tmp_path, resume=True)
    with pytest.raises(BatchError, match="this is no folder"):
        audit(few_places(), source, source)
    (tmp_path / "out" / "audit.json").write_text('{"parts": [{}], "on": "2026-11-25"}')
    with pytest.raises(BatchError, match="this is no journal of an audit"):
        audit(few_places(), source, tmp_path / "out", resume=True)
    (tmp_path / "none").mkdir()
    assert audit(few_places(), source, tmp_path / "none", resume=True).rows == 1


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("tickets.txt", b"", "the file's name does not say its format -- name it .parquet, .csv, .jsonl"),
        ("tickets.csv", b"", "the file has no header line"),
        ("tickets.csv", b"\n", "the file has no header line"),
        ("tickets.csv", b"\xff\n", "the header line is no UTF-8 text"),
        ("tickets.csv", b"activity,jurisdictions,injury.zon\n", "did you mean injury.zone"),
        ("tickets.csv", b"activity;jurisdictions\n", "unknown column 'activity;jurisdictions'"),
        ("tickets.csv", b"activity,activity,jurisdictions\n", "the column stands twice"),
        ("tickets.parquet", b"PAR1", "this is no Parquet file"),
    ],
)
def test_a_file_that_is_none_is_refused_before_anything_is_written(name, content, said, tmp_path):
    (tmp_path / name).write_bytes(content)
    with pytest.raises(BatchError) as caught:
        audit(few_places(), tmp_path / name, tmp_path / "out")
    assert said in str(caught.value)
    assert not (tmp_path / "out").exists()


def test_a_column_whose_name_is_no_text_is_refused(tmp_path):
    """The bug: a traceback, and exit code 1, which says that tickets were set aside."""
    source = tmp_path / "tickets.parquet"
    table = table_of([{**PLAIN, "QQQQ": "x"}])
    pa.parquet.write_table(table, source, store_schema=False)
    source.write_bytes(source.read_bytes().replace(b"QQQQ", b"\xff\xfe\xfa\xfb"))
    with pytest.raises(BatchError, match="the name of a column is no UTF-8 text"):
        audit(few_places(), source, tmp_path / "out", keep=["QQQQ"])
    assert not (tmp_path / "out").exists()
    stream = pa.BufferOutputStream()
    with pa.ipc.new_stream(stream, table.schema) as writer:
        writer.write_table(table)
    content = stream.getvalue().to_pybytes().replace(b"QQQQ", b"\xff\xfe\xfa\xfb")
    with pytest.raises(BatchError, match="the name of a column is no UTF-8 text"):
        decide_batch(few_places(), pa.ipc.open_stream(content).read_all())


def test_columns_of_a_wrong_type_are_refused_before_anything_is_written(tmp_path):
    source = write(tmp_path / "tickets.parquet", table_of([{**PLAIN, "injury.diameter": 5.0}]))
    with pytest.raises(BatchError, match="the column holds double"):
        audit(few_places(), source, tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_other_things_that_cannot_be_run(tmp_path):
    source = write(tmp_path / "tickets.csv", table_of([PLAIN]))
    with pytest.raises(MissingDataError, match="No such file"):
        audit(few_places(), tmp_path / "none.csv", tmp_path / "out")
    with pytest.raises(BatchError, match="'xml' is no format of parts"):
        audit(few_places(), source, tmp_path / "out", form="xml")
    with pytest.raises(BatchError, match="a part of 0 rows"):
        audit(few_places(), source, tmp_path / "out", batch_rows=0)
    nested = tmp_path / "nested.parquet"
    pa.parquet.write_table(table_of([{**PLAIN, "ticket": [1, 2]}]), nested)
    with pytest.raises(BatchError, match=r"part-00000\.csv: .*could not be written"):
        audit(few_places(), nested, tmp_path / "out", form="csv", keep=["ticket"])


def test_a_file_that_breaks_off_stops_the_audit_with_a_sentence(tmp_path):
    source = tmp_path / "tickets.parquet"
    rows = [{**PLAIN, "ticket": f"{at:0>40}"} for at in range(3000)]
    pa.parquet.write_table(table_of(rows), source, row_group_size=1000, compression="none", use_dictionary=False)
    content = bytearray(source.read_bytes())
    middle = len(content) // 2
    content[middle : middle + 4000] = b"\xff" * 4000
    source.write_bytes(content)
    with pytest.raises(BatchError, match="cannot be read beyond row"):
        audit(few_places(), source, tmp_path / "out", keep=["ticket"], batch_rows=500)


def test_only_a_part_of_a_file_is_held_at_a_time(tmp_path):
    source = write(tmp_path / "tickets.csv", table_of([PLAIN] * 10))
    chunks = sources.open_source(source, ()).chunks(sources.open_source(source, ()).start, 4)
    first = next(chunks)
    assert (first.table.num_rows, first.end.row) == (4, 4)
    assert first.end.offset < source.stat().st_size / 2
    assert [chunk.end.row for chunk in chunks] == [8, 10]


def test_paths_may_be_texts(tmp_path):
    source = write(tmp_path / "tickets.jsonl", table_of([PLAIN]))
    assert audit(few_places(), str(source), str(tmp_path / "out")).folder == Path(tmp_path / "out")
