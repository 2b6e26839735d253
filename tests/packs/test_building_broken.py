"""Golden broken packs through the command line: exit code 1, file, line and column, our own words, never a traceback.

The packs lie in `broken/` and are invented; what is too large or is no text is made here.
"""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

import tirerules
from tests.support import pack_text
from tirerules.authoring import checking
from tirerules.cli import main
from tirerules.packs.library import builtin, files_under
from tirerules.packs.reading import MAX_BYTES, MAX_DEPTH, MAX_NODES

BROKEN = Path(__file__).parent / "broken"

#: File -> (line, column, code, what the message says, what the cure says); every file has exactly this one error.
GOLDEN = {
    "tab-indent": (19, 1, "yaml-tab", "a tab in the indentation", "indent with spaces"),
    "duplicate-key": (21, 5, "duplicate-key", "the key 'says' stands already on line 17", "keep one of them"),
    "unquoted-on": (7, 8, "ambiguous-scalar", "ON is yes or no to some YAML readers", 'write "ON" in quotes'),
    "unquoted-on-key": (22, 51, "yaml-key", "the key 'on' is no plain text", 'write "on" in quotes'),
    "octal": (21, 11, "ambiguous-scalar", "010 is an octal number to some YAML readers", 'write "010" in quotes'),
    "unit-missing": (
        19,
        45,
        "wrong-type",
        "this is the bare number 5; it must be text",
        'write, for example, "1/4 in"',
    ),
    "wrong-dimension": (19, 45, "quantity", "'5 deg' is an angle where a length belongs", 'write "1/4 in" or "6 mm"'),
    "negative": (19, 45, "wrong-form", "'-5 mm' has the wrong form", 'write, for example, "1/4 in" or "6 mm"'),
    "unknown-source": (20, 13, "unknown-source", "no source has the key 'hose-rule'", "did you mean house-rule?"),
    "unknown-fact": (19, 19, "unknown-word", "'injury.diametre' is not allowed", "did you mean injury.diameter?"),
    "reversed-dates": (
        21,
        41,
        "dates-reversed",
        "ends on 2023-01-01, which is not after its start",
        "`until` is the first",
    ),
    "impossible-date": (21, 22, "date", "'2024-02-30' is no day of the calendar", "write YYYY-MM-DD"),
    "wrong-type": (18, 15, "wrong-type", "this is the text 'repair'; it must be a list", ""),
    "version-form": (4, 10, "wrong-form", "'1.0.x' has the wrong form", 'write, for example, "1.0.0"'),
    "unsatisfied-engine": (
        5,
        9,
        "engine",
        "the pack is written for tirerules >=99; this is ",
        "install a library that fits",
    ),
    "engine-form": (5, 9, "engine", "'new' is no version specifier", 'write, for example, ">=1,<2" in quotes'),
    "two-bodies": (
        16,
        5,
        "rule-body",
        "a rule has one body; this one has limit and disqualify",
        "keep one of: limit, ",
    ),
    "no-body": (16, 5, "rule-body", "a rule has one body; this one has none", "keep one of: limit, permit, "),
    "two-figures": (19, 12, "limit-figure", "one figure; this one has at-most and less-than", "keep one of: at-most, "),
    "two-rules-with-one-id": (21, 9, "duplicate-rule", "the id 'size' stands already on line 16", "give it another id"),
    "coverage-mismatch": (
        9,
        20,
        "coverage",
        "coverage says 'none-located' for repair, but the pack has rules",
        "agree",
    ),
    "extendable-law": (20, 17, "extension", "no repair-material maker can extend a law", "delete `extendable`"),
    "misspelt-key": (19, 5, "unknown-key", "unknown key 'limt'", "did you mean limit?"),
    "misspelt-value": (19, 24, "unknown-word", "'pasenger' is not allowed here", "did you mean passenger?"),
    "misspelt-finding": (19, 36, "unknown-word", "'liner-seperation' is not", "did you mean liner-separation?"),
    # 10000 lb = 4535.9237 kg exactly (International Yard and Pound, 1959)
    "impossible-range": (19, 26, "condition", "no value can satisfy this range", "exchange or mend its ends"),
    "not-beside-a-range": (19, 31, "condition", "`not` stands alone in a condition", "split the rule in two"),
    "no-such-jurisdiction": (3, 7, "pack-code", "'US-ZZ' is the code of no jurisdiction", "did you mean US-AZ"),
    "code-of-a-place": (3, 7, "pack-code", "a pack of kind company cannot take", "a name of your own in small letters"),
    "missing-key": (2, 1, "missing-key", "the key 'reviewed' is missing", ""),
    "second-document": (21, 1, "yaml-documents", "a second document starts here", "one file holds one pack"),
    "tag": (7, 8, "yaml-tag", "the tag tag:yaml.org,2002:python/object/apply:os.getcwd", "a pack is plain data"),
    "merge-key": (19, 13, "yaml-key", "the key '<<' is no plain text", 'write "<<" in quotes'),
    "unclosed-bracket": (19, 10, "yaml-syntax", "this is no YAML: ", ""),
    "long-number": (19, 43, "number-too-long", "a number of 16 characters", "at most 15 characters"),
    "list-at-the-top": (2, 1, "wrong-type", "this is a list; it must be a block of keys", ""),
    "directive": (1, 1, "yaml-directive", "a YAML directive", "delete the line that starts with %"),
    "empty": (1, 1, "yaml-empty", "the file is empty", ""),
    "invented-failing-example": (
        29,
        23,
        "example",
        "expected within-limits, got outside-limits",
        "/size fails (injury.diameter 5.5 mm, at most 5 mm)",
    ),
    "invented-wrong-case": (
        22,
        58,
        "example",
        "the case is wrong at tire.clas: unknown key 'clas'",
        "did you mean class?",
    ),
    "invented-nowhere": (
        22,
        45,
        "example",
        "the case cannot be decided: 'US-ZZ' is no jurisdiction code",
        "did you mean US-AZ",
    ),
    "escape-sequence": (17, 11, "control-character", "the character U+001B, which is no part of a text", "delete it"),
    "turned-text": (7, 17, "control-character", "the character U+202E (right-to-left override), which", "delete it"),
    "turned-comment": (6, 30, "control-character", "the character U+2066 (left-to-right isolate), which", "delete it"),
    "tab-within-text": (12, 23, "control-character", "a tab within text on one line", "write a space"),
    "line-end-escape": (7, 8, "control-character", "the end of a line within text on one line", "on several lines"),
    "key-with-a-control": (8, 1, "control-character", "the character U+0008, which is no part of a text", "delete it"),
    "version-with-many-digits": (4, 10, "wrong-form", "'1.0.9999999999999999... (5,004 characters)' has", "1.0.0"),
    "engine-with-many-digits": (5, 9, "engine", "(5,004 characters)' is no version specifier", ">=1,<2"),
    "id-with-a-line-end": (16, 9, "wrong-form", r"'size\n' has the wrong form", ""),
    "everyday-word": (19, 25, "unknown-word", "'car' is not allowed here", "did you mean passenger?"),
    "other-name": (
        1,
        1,
        "file-name",
        "the file 'other-name' holds the pack 'invented-shop'",
        "name it invented-shop.yaml",
    ),
}

_RULE = """\
- id: size
  says: Invented.
  activity: [repair]
  limit: {fact: injury.diameter, at-most: 5 mm}
  source: text
"""
_GOOD = pack_text(_RULE)

#: What is no text, or too large to keep: name -> (content, line, column, code, message, cure).
MADE = {
    "latin-1": (
        _GOOD.replace("Invented pack", "Québec").encode("latin-1"),
        (6, 10, "not-utf-8", "byte 0xe9 is no UTF-8 text", "save the file as UTF-8"),
    ),
    "utf-16": (_GOOD.encode("utf-16"), (1, 1, "not-utf-8", "is no UTF-8 text", "save the file as UTF-8")),
    "nul": (
        _GOOD.replace("Invented pack", "Inv\0nted").encode(),
        (6, 11, "yaml-character", "a character that YAML does not allow", ""),
    ),
    "control-character": (
        _GOOD.replace("Invented pack", "\x1b[2J").encode(),
        (6, 8, "yaml-character", "a character that YAML does not allow", ""),
    ),
    "too-deep": (
        f"{_GOOD}notes: {'[' * 60}{']' * 60}\n".encode(),
        (_GOOD.count("\n") + 1, 7 + MAX_DEPTH, "yaml-too-deep", "more than 40 levels", "a pack is never this deep"),
    ),
    "too-many-values": (
        ("[" + "x," * MAX_NODES + "]").encode(),
        (1, 2 * MAX_NODES, "yaml-too-many-nodes", "more than 50,000 values", "split the pack"),
    ),
    "five-thousand-digits": (
        _GOOD.replace("Invented pack", "9" * 5000).encode(),
        (6, 8, "number-too-long", "a number of 5000 characters", "at most 15 characters"),
    ),
    "only-a-comment": (b"# Invented.\n", (1, 1, "yaml-empty", "the file is empty", "")),
}


@pytest.fixture(scope="module")
def few(tmp_path_factory):
    """A folder with the baseline, one country and one state of the built-in packs."""
    place = tmp_path_factory.mktemp("few")
    for file in files_under(builtin()):
        if file.name in ("industry.yaml", "US.yaml", "US-SC.yaml"):
            (place / file.name).write_bytes(file.read_bytes())
    return place


@pytest.fixture(autouse=True)
def _fast(few, monkeypatch):
    """Let packs stand on these few: reading all of them for every test takes minutes."""
    monkeypatch.setattr(checking, "builtin", lambda: few)


def _errors(said):
    """Return what is told of each error: its line, the excerpt and the cure, which are indented under it."""
    found = re.split(r"\n(?! )", said.rstrip("\n"))
    return [each for each in found if re.match(r".*: error \[", each)]


def _check(path, capsys):
    """Run `tirerules check` in this process and return its exit code, its errors and what it says beside them."""
    code = main(["check", str(path)])
    shown = capsys.readouterr()
    assert "Traceback" not in shown.out + shown.err
    return code, _errors(shown.out), shown.err


def _assert_told(error, path, expected):
    row, column, code, message, cure = expected
    place, _, rest = error.partition(f": error [{code}]")
    assert place == f"{path}:{row}:{column}"
    said, _, told = rest.partition("\n")
    assert message in said
    assert cure in told


def test_every_broken_pack_is_in_the_table():
    assert {file.stem for file in BROKEN.iterdir()} == {*GOLDEN, "alias-bomb"}
    assert len(GOLDEN) >= 25


@pytest.mark.parametrize("name", GOLDEN)
def test_a_broken_pack_is_told_with_its_place_and_cure(name, capsys):
    path = BROKEN / f"{name}.yaml"
    code, (error,), beside = _check(path, capsys)
    assert code == 1
    assert re.match(r"1 file checked, \d findings? \(1 error[,)]", beside)
    _assert_told(error, path, GOLDEN[name])


@pytest.mark.parametrize("name", MADE)
def test_what_is_no_text_or_too_large_is_told_with_its_place_and_cure(name, tmp_path, capsys):
    content, expected = MADE[name]
    path = tmp_path / f"{name}.yaml"
    path.write_bytes(content)
    code, (error,), beside = _check(path, capsys)
    assert (code, beside) == (1, "1 file checked, 1 finding (1 error)\n")
    _assert_told(error, path, expected)


def test_a_file_of_fifty_megabytes_is_refused(tmp_path, capsys):
    path = tmp_path / "huge.yaml"
    with path.open("wb") as stream:
        stream.truncate(50_000_000)  # sparse: takes no space
    code, (finding,), _ = _check(path, capsys)
    assert code == 1
    _assert_told(
        finding, path, (1, 1, "file-too-large", f"the file has more than {MAX_BYTES:,} bytes", "split it into several")
    )


def test_an_alias_bomb_is_refused_at_every_alias(capsys):
    # Nine lists of nine lists of nine lists of nine: 9 ** 4 = 6561 values from five lines.
    path = BROKEN / "alias-bomb.yaml"
    code, findings, beside = _check(path, capsys)
    assert (code, beside) == (1, "1 file checked, 30 findings (30 errors)\n")
    _assert_told(findings[0], path, (2, 4, "yaml-anchor", "the anchor &a", "a pack repeats what it says"))
    _assert_told(findings[-1], path, (5, 37, "yaml-alias", "the alias *c", "write the value out again"))
    assert sum("[yaml-alias]" in finding for finding in findings) == 3 * 9


def test_the_whole_folder_is_told_at_once(capsys):
    code, findings, beside = _check(BROKEN, capsys)
    assert code == 1
    assert beside.startswith(f"{len(GOLDEN) + 1} files checked, ")
    assert f"({len(GOLDEN) + 30} errors, " in beside
    told = {re.match(r"(.*?)\.yaml:\d+:\d+: error \[", finding)[1] for finding in findings}
    assert told == {str(BROKEN / name) for name in (*GOLDEN, "alias-bomb")}


@pytest.mark.parametrize("name", ["unquoted-on", "unit-missing", "invented-failing-example"])
def test_a_real_process_says_the_same(name):
    path = BROKEN / f"{name}.yaml"
    done = subprocess.run(
        [sys.executable, "-m", "tirerules", "check", str(path)],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
        cwd=Path(tirerules.__file__).parent.parent,
    )
    (error,) = _errors(done.stdout)
    assert done.returncode == 1
    assert done.stderr.startswith("1 file checked, ")
    _assert_told(error, path, GOLDEN[name])


def test_the_pack_that_the_broken_ones_differ_from_has_no_error(tmp_path, capsys):
    # The last check on the golden files: taking the mistake out takes the finding away.
    text = (BROKEN / "tab-indent.yaml").read_text(encoding="utf-8")
    path = tmp_path / "invented-tab-indent.yaml"
    path.write_text(text.replace("\t", "    "), encoding="utf-8")
    _, errors, _ = _check(path, capsys)
    assert errors == []


def test_a_missing_path_is_a_sentence_and_exit_code_2(tmp_path, capsys):
    code, findings, beside = _check(tmp_path / "nowhere.yaml", capsys)
    assert (code, findings) == (2, [])
    assert beside == f"tirerules: {tmp_path / 'nowhere.yaml'}: no such file or folder\n"


def test_a_folder_without_packs_is_exit_code_2(tmp_path, capsys):
    code, findings, beside = _check(tmp_path, capsys)
    assert (code, findings) == (2, [])
    assert beside == "0 files checked, 0 findings\ntirerules: no .yaml file was found there\n"
