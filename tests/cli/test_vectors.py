"""`tirerules vectors` as a build uses it. The library ships an invented baseline and two invented countries here."""

from __future__ import annotations

import json
import stat
from types import SimpleNamespace

import pytest

from tests.engine import SIZE, rule
from tests.support import pack_text, ship
from tirerules.cli import main

COVERAGE = "{repair: rules}"


def _pack(place, name, rules="", **head):
    head.setdefault("coverage", COVERAGE if rules else "{repair: none-located}")
    file = place / f"{name}.yaml"
    file.write_text(pack_text(rules, pack=name, **head), encoding="utf-8")
    return str(file)


@pytest.fixture(autouse=True)
def shipped(tmp_path_factory, monkeypatch):
    """Let the library ship three small packs; the folder is returned so that a test can change one."""
    place = tmp_path_factory.mktemp("rulepacks")
    _pack(place, "invented-trade", SIZE, kind="baseline", authority="industry-practice")
    for code in ("US", "CA"):
        _pack(place, code, kind="country", authority="statute")
    ship(monkeypatch, place)
    return place


@pytest.fixture
def run(capsys):
    """Run the command line; return its exit code, standard output and standard error."""

    def call(*arguments):
        try:
            code = main(["vectors", *map(str, arguments)])
        except SystemExit as stopped:  # argparse's own way to refuse a flag
            code = stopped.code
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return SimpleNamespace(code=code, out=out, err=err)

    return call


def ids(text):
    return [name for line in map(json.loads, text.splitlines()) for name in (line["id"], *line["also"])]


def test_lines_go_to_standard_output_and_the_count_to_standard_error(run):
    found = run()
    assert found.code == 0
    lines = found.out.splitlines()
    assert found.err == f"{len(lines)} vectors written, for {len(ids(found.out))} boundaries\n"
    assert {name.partition("/")[0] for name in ids(found.out)} == {"invented-trade", "US", "CA"}
    assert list(json.loads(lines[0])) == ["id", "also", "case", "expect", "packs", "engine"]


def test_codes_choose_the_packs_that_answer_for_them(run):
    found = run("CA")
    assert {name.partition("/")[0] for name in ids(found.out)} == {"invented-trade", "CA"}


def test_a_file_holds_the_bytes_that_standard_output_shows(run, tmp_path):
    out = tmp_path / "vectors.jsonl"
    found = run("--out", out)
    assert (found.code, found.out) == (0, "")
    assert out.read_bytes() == run().out.encode("ascii")
    assert [file.name for file in tmp_path.iterdir()] == ["vectors.jsonl"]
    assert stat.S_IMODE(out.stat().st_mode) & 0o044


def test_an_overlay_of_ones_own_is_tried_in_every_place(run, tmp_path):
    overlay = _pack(tmp_path, "invented-shop", rule("small", "limit: {fact: injury.diameter, at-most: 4 mm}"))
    names = ids(run("--packs", overlay).out)
    assert {"invented-shop/small/at@US", "invented-shop/small/at@CA"} <= set(names)


def test_what_no_vector_shows_is_told(run, tmp_path):
    overlay = _pack(tmp_path, "invented-shop", rule("steps", "require: {steps: [demount]}"))
    found = run("US", "--packs", overlay)
    assert found.code == 0
    assert found.err.splitlines()[0] == (
        "invented-shop/steps never passes or fails here: it requires something to be done, and changes no verdict"
    )


def test_a_file_that_cannot_be_finished_leaves_the_old_one(run, tmp_path, monkeypatch):
    out = tmp_path / "vectors.jsonl"
    out.write_text("old", encoding="utf-8")

    def broken(rulebook, vectors):
        yield SimpleNamespace(answer=None, text="half a file")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("tirerules.cli.vectors.decided", broken)
    monkeypatch.setattr("tirerules.cli.vectors.shown_by", lambda answer: ())
    found = run("--out", out)
    assert (found.code, found.out) == (2, "")
    assert found.err == f"tirerules: {out}: No space left on device\n"
    assert out.read_text(encoding="utf-8") == "old"
    assert [file.name for file in tmp_path.iterdir()] == ["vectors.jsonl"]


@pytest.mark.parametrize("place", ["nowhere/vectors.jsonl", "."])
def test_a_place_that_takes_no_file_is_told(run, tmp_path, monkeypatch, place):
    monkeypatch.chdir(tmp_path)
    found = run("--out", place)
    assert (found.code, found.out) == (2, "")
    assert found.err.startswith(f"tirerules: {tmp_path}")
    assert ("No such file or directory" if "nowhere" in place else "this is no file") in found.err


def test_through_a_link_the_file_behind_it_is_written(run, tmp_path):
    real, link = tmp_path / "real.jsonl", tmp_path / "link.jsonl"
    real.write_text("old", encoding="utf-8")
    link.symlink_to(real)
    assert run("--out", link).code == 0
    assert link.is_symlink()
    assert real.read_text(encoding="utf-8") != "old"


def test_an_unknown_code_is_refused_with_the_nearest(run):
    found = run("US-SX")
    assert (found.code, found.out) == (2, "")
    assert "did you mean US-SC" in found.err


# --- --check ----------------------------------------------------------------------------------------------------------


def test_a_fresh_file_stands(run, tmp_path):
    out = tmp_path / "vectors.jsonl"
    run("--out", out)
    found = run("--check", out)
    count = len(out.read_text(encoding="ascii").splitlines())
    assert (found.code, found.out, found.err) == (0, "", f"{count} vectors decided again, 0 differences\n")


def test_a_changed_pack_is_found(run, tmp_path, shipped):
    out = tmp_path / "vectors.jsonl"
    run("--out", out)
    looser = SIZE.replace("50 mm", "60 mm")
    _pack(shipped, "invented-trade", looser, kind="baseline", authority="industry-practice", version="2.0.0")
    found = run("--check", out)
    lines = found.out.splitlines()
    assert found.code == 1
    assert lines[0].startswith("pack invented-trade differs: recorded 1.0.0 (")
    assert "invented-trade/size/above: verdict: recorded outside-limits, now within-limits" in lines
    assert found.err.endswith(f" vectors decided again, {len(lines)} differences\n")


def test_one_difference_is_one(run, tmp_path, shipped):
    out = tmp_path / "vectors.jsonl"
    run("--out", out)
    renamed = SIZE.replace("ceiling on size", "ceiling on the size")
    _pack(shipped, "invented-trade", renamed, kind="baseline", authority="industry-practice")
    found = run("--check", out)
    assert found.code == 1
    assert found.err.endswith(", 1 difference\n")


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "the file holds no vectors -- write one: tirerules vectors"),
        (b"{}\n", ":1: [vector] this vector has no 'id'"),
        (b'{"id": "a", "id": "b"}\n', "the key 'id' stands twice"),
        (b"\xff\n", "the file is no UTF-8 text"),
    ],
)
def test_what_is_no_file_of_vectors_is_refused(run, tmp_path, content, message):
    file = tmp_path / "mine.jsonl"
    file.write_bytes(content)
    found = run("--check", file)
    assert (found.code, found.out) == (2, "")
    assert str(file) in found.err
    assert message in found.err


def test_a_missing_file_is_told(run, tmp_path):
    found = run("--check", tmp_path / "none.jsonl")
    assert (found.code, found.out) == (2, "")
    assert "none.jsonl: No such file or directory" in found.err


@pytest.mark.parametrize("arguments", [("US", "--check", "f"), ("--check", "f", "--out", "g")])
def test_contradicting_flags_are_refused(run, arguments):
    found = run(*arguments)
    assert (found.code, found.out) == (2, "")
    assert "error: " in found.err
