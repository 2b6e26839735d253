"""`tirerules audit` as a chain's office uses it. The chain, its tickets and the place XA-01 are invented."""

from __future__ import annotations

import json
import sys
from types import SimpleNamespace

import pytest

from tests.batch.tickets import PLAIN, few_places, xa_pack
from tirerules import cli, lock_to_json
from tirerules.batch.columns import Decider
from tirerules.cli import asking
from tirerules.rulebook import Rulebook, load

HEADER = ",".join(["ticket", *PLAIN])


def line(ticket, **change):
    row = {**PLAIN, **{key.replace("__", "."): value for key, value in change.items()}}
    return ",".join([ticket, *row.values()])


@pytest.fixture
def run(capsys, monkeypatch, tmp_path):
    """Run `tirerules audit` in an empty folder with few built-in packs; return exit code and both streams."""
    monkeypatch.chdir(tmp_path)
    built_in = list(few_places().packs.values())

    def few(*folders, pins=None, lock=None, replace=()):
        own = load(
            *folders,
            pins=pins,
            lock=lock and {key: lock[key] for key in lock if key == "XA-01"},
            builtins=False,
            replace=replace,
        )
        return Rulebook([*built_in, *own.packs.values()])

    monkeypatch.setattr(asking, "load", few)

    def call(*arguments):
        try:
            code = cli.main(["audit", *arguments])
        except SystemExit as stopped:
            code = stopped.code
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return SimpleNamespace(code=code, out=out, err=err)

    return call


def put(path, *lines):
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return str(path)


def test_every_ticket_decided_is_exit_code_0_and_the_last_line_counts(run, tmp_path):
    source = put(
        tmp_path / "tickets.csv", HEADER, line("A1"), line("A2", injury__diameter="9 mm"), line("A3", findings="")
    )
    done = run(source, "out", "--keep", "ticket", "--format", "csv")
    assert (done.code, done.out) == (0, "")
    assert done.err.splitlines()[-1] == "3 tickets: 1 outside-limits, 1 undetermined, 1 within-limits, 0 set aside"
    assert "%" not in done.err, "no progress bar where nobody looks"
    (head, first, *_) = (tmp_path / "out" / "part-00000.csv").read_text(encoding="utf-8").splitlines()
    assert head.startswith('"row","verdict"')
    assert first.startswith('0,"within-limits"')


def test_a_ticket_set_aside_is_exit_code_1(run, tmp_path):
    source = put(tmp_path / "tickets.csv", HEADER, line("A1"), line("A2", injury__diameter="9"), "A3,US-SC")
    done = run(source, "out", "--keep", "ticket")
    assert done.code == 1
    assert done.err.splitlines()[-1] == "3 tickets: 1 within-limits, 2 set aside"
    aside = [json.loads(text) for text in (tmp_path / "out" / "set-aside-00000.jsonl").read_text().splitlines()]
    assert [(row["row"], row.get("ticket")) for row in aside] == [(1, "A2"), (2, None)]


def test_what_cannot_run_is_exit_code_2_with_a_sentence(run, tmp_path):
    source = put(tmp_path / "tickets.csv", HEADER, line("A1"))
    for arguments, said in (
        (["none.csv", "out"], "none.csv: No such file or directory"),
        ([source, "out"], "unknown column 'ticket'"),
        ([source, "out", "--keep", "ticket", "--batch-rows", "0"], "a part of 0 rows"),
        ([source, "out", "--from", "parquet"], "this is no Parquet file"),
        ([source, source, "--keep", "ticket"], "this is no folder"),
        ([source, "out", "--keep", "ticket", "--against", "none.json"], "none.json: No such file or directory"),
        ([source, "out", "--format", "xml"], "invalid choice: 'xml'"),
    ):
        done = run(*arguments)
        assert (done.code, done.out) == (2, "")
        assert said in done.err
    assert not (tmp_path / "out").exists()


def test_the_format_of_a_file_whose_name_does_not_say_it(run, tmp_path):
    source = put(tmp_path / "tickets.txt", HEADER, line("A1"))
    assert run(source, "out", "--from", "csv", "--keep", "ticket").code == 0


def test_stopping_and_going_on(run, tmp_path, monkeypatch):
    source = put(tmp_path / "tickets.csv", HEADER, *(line(f"A{at}", injury__diameter=f"{at} mm") for at in range(1, 8)))
    arguments = (source, "out", "--keep", "ticket", "--batch-rows", "3")
    decide = Decider.decide

    def stopping(decider, table, rows):
        if "5 mm" in table["injury.diameter"].to_pylist():
            raise KeyboardInterrupt
        return decide(decider, table, rows)

    with monkeypatch.context() as interrupted:
        interrupted.setattr(Decider, "decide", stopping)
        done = run(*arguments)
    assert done.code == 2
    assert done.err.splitlines()[-1] == (
        "tirerules: stopped; the parts that are whole stand, and --resume goes on from them"
    )
    assert "holds an audit already -- let it go on (resume)" in run(*arguments).err
    done = run(*arguments, "--resume")
    assert done.code == 0
    assert done.err.splitlines()[-1] == "7 tickets: 1 outside-limits, 6 within-limits, 0 set aside"


def test_a_progress_bar_on_a_terminal(run, tmp_path, monkeypatch):
    source = put(tmp_path / "tickets.csv", HEADER, line("A1"))
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    done = run(source, "out", "--keep", "ticket")
    assert "100%" in done.err
    assert done.err.splitlines()[-1] == "1 tickets: 1 within-limits, 0 set aside"


@pytest.fixture
def two_versions(tmp_path):
    """An invented place whose invented ceiling was tightened from 6 mm to 4 mm; both versions in a folder."""
    folder = tmp_path / "packs"
    folder.mkdir()
    old, new = folder / "XA-01-old.yaml", folder / "XA-01-new.yaml"
    old.write_text(xa_pack(6, "1.0.0"), encoding="utf-8")
    new.write_text(xa_pack(4, "1.1.0"), encoding="utf-8")
    lock = lock_to_json(Rulebook([*few_places().packs.values(), *load(old, builtins=False).packs.values()]).lock)
    return SimpleNamespace(folder=str(folder), lock=lock)


@pytest.mark.parametrize("form", ["lock", "decision", "audit"])
def test_against_older_packs_tells_what_changed_as_a_table(form, run, tmp_path, two_versions):
    lock = tmp_path / "old.json"
    said = {"lock": two_versions.lock}.get(form, {"packs": two_versions.lock, "parts": [], "verdict": "within-limits"})
    lock.write_text(json.dumps(said), encoding="utf-8")
    lines = [line(f"A{at}", jurisdictions="XA-01", injury__diameter=f"{at} mm") for at in range(3, 7)]
    source = put(tmp_path / "tickets.csv", HEADER, *lines, line("B1"))
    done = run(source, "out", "--keep", "ticket", "--against", str(lock), "--packs", two_versions.folder)
    assert done.code == 0
    # The trade's 6 mm bound together with the place's own, and no longer does.
    assert done.out.splitlines() == [
        "tickets  place  rule        verdict",
        "      2  XA-01  XA-01/size  within-limits -> outside-limits",
        "      2  XA-01  XA-01/size  within-limits -> within-limits",
    ]
    assert done.err.splitlines()[-1] == "5 tickets: 4 changed, 1 unchanged, 0 set aside"


def test_against_packs_that_are_not_here(run, tmp_path, two_versions):
    lock = tmp_path / "old.json"
    lock.write_text(json.dumps({"XA-01": {"version": "0.9.0", "sha256": "0" * 64}}), encoding="utf-8")
    source = put(tmp_path / "tickets.csv", HEADER, line("A1"))
    done = run(source, "out", "--keep", "ticket", "--against", str(lock), "--packs", two_versions.folder)
    assert done.code == 2
    assert "XA-01 0.9.0 is not here (found: 1.0.0, 1.1.0)" in done.err
