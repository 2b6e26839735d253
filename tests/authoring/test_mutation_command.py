"""`tirerules check --mutate`: a published table, the list of reasons, exit codes. All packs and rows are invented."""

from __future__ import annotations

import re

import pytest

from tests.authoring.mutating import OUTSIDE, SHALLOW, example, left, row
from tirerules.authoring import checking
from tirerules.authoring.mutation.mutating import mutate
from tirerules.authoring.mutation.report import found, pasting, scores
from tirerules.authoring.mutation.survivors import read_reasons, stale
from tirerules.authoring.mutation.table import COLUMNS, read_table
from tirerules.cli import main
from tirerules.errors import MissingDataError, PackError

pytestmark = pytest.mark.usefixtures("standing_on_few")


# --- a table of the law -----------------------------------------------------------------------------------------------


@pytest.fixture
def table(tmp_path):
    def call(*rows):
        file = tmp_path / "invented.csv"
        file.write_text("\n".join((",".join(COLUMNS), *rows)) + "\n", encoding="utf-8")
        return str(file)

    return call


def test_a_row_notices_what_it_says(write, table):
    barred = row(conditions="vehicle.gvwr=1900 kg", fact="findings", relation="prohibited", bound="bulge|exposed-cord")
    kept = left(write(), table=read_table(table(row(), barred)))
    noticed = {
        "tread bound at-least to more-than",
        "tread figure-up 4/32 in to 5/32 in",
        "tread figure-down 4/32 in to 3/32 in",
        "tread rule",
        "tread act tire-sale",
        "tread word tire.class light-truck",
        "condition word bulge",
        "condition word exposed-cord",
        "condition rule",
    }
    assert noticed <= left(write())
    assert noticed & kept == set()
    assert "tread date start 2020-01-01 to 2019-12-31" in kept


def test_a_row_that_the_pack_does_not_hold_notices_nothing(write, table):
    assert left(write(), table=read_table(table(row(bound="5/32 in")))) == left(write())


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a,b\n", "its columns must be code,activity"),
        (f"{','.join(COLUMNS)}\nUS-UM,tire-sale\n", ":2: 2 cells"),
        (f"{','.join(COLUMNS)}\n{row(fact='tire.shine')}\n", ":2: the row makes no case"),
        (f"{','.join(COLUMNS)}\n{row(bound='4')}\n", ":2: the row makes no case"),
        (f"{','.join(COLUMNS)}\n{row(relation='about')}\n", ":2: 'tire-sale' 'about'"),
        (f"{','.join(COLUMNS)}\n{row(conditions='tire.class=submarine')}\n", ":2: the row makes no case"),
    ],
)
def test_a_table_that_is_none_is_refused_with_its_line(tmp_path, text, said):
    file = tmp_path / "law.csv"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(MissingDataError, match=re.escape(said)):
        read_table(str(file))


# --- reasons ----------------------------------------------------------------------------------------------------------


def test_a_listed_survivor_counts_and_is_explained(write, tmp_path):
    listed = tmp_path / "survivors.yaml"
    listed.write_text("US-UM/tread rule: it is invented\n", encoding="utf-8")
    reasons = read_reasons(str(listed))
    mutated = mutate(write(), offer=False)
    assert scores(mutated).overall[1] == 0
    assert stale(reasons, mutated) == []
    told = {each.message: each for each in found(mutated, reasons).problems}
    mine = next(each for message, each in told.items() if message.endswith(": US-UM/tread rule"))
    assert (mine.severity, mine.hint) == ("information", "listed: it is invented")
    assert not any("# notices US-UM/tread rule" in line for line in pasting(mutated, reasons))


def test_a_listed_change_that_is_noticed_is_told(write, tmp_path):
    noticed = mutate(write(example(SHALLOW, OUTSIDE)), offer=False)
    reasons = {"US-UM/tread rule": "it is invented", "US-XX/other rule": "of a pack that is not at hand"}
    assert stale(reasons, noticed) == [
        "'US-UM/tread rule' is listed, but it is noticed or no rule gives it -- delete the entry"
    ]


@pytest.mark.parametrize("text", ["- one\n", "US-UM/tread rule:\n", "US-UM/tread rule: ' '\n", "just text\n"])
def test_a_list_without_reasons_is_refused(tmp_path, text):
    file = tmp_path / "survivors.yaml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(PackError):
        read_reasons(str(file))


# --- the command ------------------------------------------------------------------------------------------------------


@pytest.fixture
def run(capsys):
    def call(*arguments):
        try:
            code = main(["check", *map(str, arguments)])
        except SystemExit as stopped:  # argparse's own way to refuse a flag
            code = stopped.code
        shown = capsys.readouterr()
        assert "Traceback" not in shown.out + shown.err
        return code, shown.out, shown.err

    return call


def test_the_command_ends_by_the_score(write, run, table):
    code, out, _ = run("--mutate", write())
    assert code == 1
    assert "# notices US-UM/tread rule" in out
    offered = "\n".join(line for line in out.split("\n") if line.startswith("  "))
    code, out, _ = run("--mutate", write(offered), "--table", table(row()))
    assert (code, "noticed" in out) == (0, True)
    assert run("--mutate", write(), "--least", "0", "--least-each", "0")[0] == 0


def test_the_command_refuses_what_does_not_go_together(write, run, tmp_path):
    file = write()
    assert run(file, "--least", "50")[0] == 2
    assert run("--mutate", file, "--older-than", "12")[0] == 2
    assert run("--mutate", file, "--least", "101")[0] == 2
    assert run("--mutate", tmp_path / "nowhere.yaml")[0] == 2
    assert run("--mutate", file, "--table", tmp_path / "nowhere.csv")[0] == 2
    file.write_text("format: [", encoding="utf-8")
    assert run("--mutate", file)[0] == 2


def test_survivors_are_findings_in_the_formats_of_a_check(write, run):
    code, out, err = run("--mutate", write(), "--format", "json")
    assert code == 1
    assert '"code": "mutant-survives"' in out
    assert "act-added" in err


# --- what an example can expect beside verdicts -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("expect", "said"),
    [
        ("not-because: [tread]", "expected not because of US-UM/tread, which decides it"),
        ("not-because: [zone]", ""),
        ("steps: [demount]", "expected the steps ['demount'], got []"),
        ("steps: []", ""),
    ],
)
def test_an_example_can_say_what_must_not_decide_and_what_must_be_done(write, expect, said):
    file = write(example(SHALLOW, f"{{verdict: outside-limits, because: [tread], {expect}}}"))
    told = [each.message for each in checking.check(file).problems if each.code == "example"]
    assert told == ([said] if said else [])
