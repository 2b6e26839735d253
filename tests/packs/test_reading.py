"""Reading YAML: one meaning for every reader; a place and a cure for every refusal; nothing is built before it is safe.

Every test runs under libyaml's loader and under the pure Python one; the parsers' own wording is never compared.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
from decimal import Decimal
from pathlib import Path

import pytest
import yaml
from hypothesis import strategies as st

import tirerules
from tests.amounts import law, some_of
from tirerules import PackError
from tirerules.packs.reading import LOADER, MAX_BYTES, MAX_DEPTH, MAX_NODES, PURE_LOADER, path_text, read

LOADERS = {"libyaml": LOADER, "pure": PURE_LOADER}
#: Marks the place of a problem in the texts below; taken out before reading.
HERE = "‸"


#: What holds of texts as large as may be: the pure loader takes seconds for each.
LARGE = pytest.mark.parametrize("loader", some_of(LOADERS.values(), 1), ids=list(LOADERS))


@pytest.fixture(params=LOADERS.values(), ids=list(LOADERS))
def loader(request):
    return request.param


def _data(text, loader=LOADER):
    return read(text.encode(), "invented.yaml", loader).data


def _problems(content, loader=LOADER):
    with pytest.raises(PackError) as refused:
        read(content.encode() if isinstance(content, str) else content, "invented.yaml", loader)
    return refused.value.problems


def _marked(text):
    """Return the text without its marks, and the line and column of each mark."""
    places, clean = [], ""
    for part in text.split(HERE)[:-1]:
        clean += part
        places.append((clean.count("\n") + 1, len(clean) - (clean.rfind("\n") + 1) + 1))
    return clean + text.split(HERE)[-1], places


def test_both_loaders_are_there():
    # Without libyaml the tests below would run the pure loader twice.
    assert issubclass(LOADER, yaml.CSafeLoader)
    assert issubclass(PURE_LOADER, yaml.SafeLoader)


# --- what is read ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "data"),
    [
        ('a: "ON"', {"a": "ON"}),
        ('a: "no"', {"a": "no"}),
        ("a: 'yes'", {"a": "yes"}),
        ('a: "010"', {"a": "010"}),
        ('a: "1:30"', {"a": "1:30"}),
        ('a: "1e3"', {"a": "1e3"}),
        ('a: "null"', {"a": "null"}),
        ('a: "5"', {"a": "5"}),
        ('"on": x', {"on": "x"}),
        ('"1": x', {"1": "x"}),
        ("a: |\n  no\n", {"a": "no\n"}),
        ("a: >-\n  off\n", {"a": "off"}),
        ("a: 1/4 in", {"a": "1/4 in"}),
        ("a: 3:00 pm", {"a": "3:00 pm"}),
        ("a: 2024-02-30", {"a": "2024-02-30"}),  # a day is text until somebody knows that it is a day
        ("a: 1.0.0", {"a": "1.0.0"}),
        ("a: é § ±", {"a": "é § ±"}),
        ("a: true\nb: false", {"a": True, "b": False}),
        ("a: null\nb: ~\nc:", {"a": None, "b": None, "c": None}),
        ("a: 0\nb: -7\nc: 42", {"a": 0, "b": -7, "c": 42}),
        ("a: 1.50", {"a": Decimal("1.50")}),
        ("[p, [q], {r: 1}]", ["p", ["q"], {"r": 1}]),
        ("- p\n- - q\n- r: 1\n", ["p", ["q"], {"r": 1}]),
        ("{}", {}),
        ("---\na: 1\n...\n", {"a": 1}),
        ("# a comment\na: 1  # another\n", {"a": 1}),
    ],
)
def test_reads_plain_data(text, data, loader):
    found = _data(text, loader)
    assert found == data
    assert json.dumps(found, default=str) == json.dumps(data, default=str)  # true is not 1, Decimal is not int


def test_decimals_are_exact_and_keep_their_digits(loader):
    found = _data("a: 0.1\nb: -0.25\nc: 123456789.12345\nd: 1.10", loader)
    assert {type(value) for value in found.values()} == {Decimal}
    assert found["a"] + found["a"] + found["a"] == Decimal("0.3")  # 0.1 + 0.1 + 0.1 != 0.3 in binary floats (IEEE 754)
    assert [str(value) for value in found.values()] == ["0.1", "-0.25", "123456789.12345", "1.10"]


def test_a_byte_order_mark_is_accepted(loader):
    document = read(b"\xef\xbb\xbfa: 1\n", "invented.yaml", loader)
    assert document.data == {"a": 1}
    assert document.keys[("a",)] == (1, 1)


def test_windows_line_ends_are_accepted(loader):
    document = read(b"a: 1\r\nb:\r\n  - x\r\n", "invented.yaml", loader)
    assert document.data == {"a": 1, "b": ["x"]}
    assert document.values[("b", 0)] == (3, 5)


def test_every_value_and_every_key_has_its_place(loader):
    text, (outer, inner, first, key, value) = _marked(
        f"{HERE}rules:\n  {HERE}- {HERE}id: x\n    {HERE}when: {HERE}[z]\n"
    )
    document = read(text.encode(), "invented.yaml", loader)
    assert document.keys == {
        ("rules",): outer,
        ("rules", 0, "id"): first,
        ("rules", 0, "when"): key,
    }
    assert document.values[("rules",)] == inner
    assert document.values[("rules", 0)] == first
    assert document.values[("rules", 0, "when")] == value
    assert document.values[("rules", 0, "when", 0)] == (value[0], value[1] + 1)


def test_a_problem_stands_at_its_value_its_key_or_its_nearest_known_parent(loader):
    document = read(b"a:\n  b: 1\n", "invented.yaml", loader)
    at_value = document.problem("x", ("a", "b"), "m")
    at_key = document.problem("x", ("a", "b"), "m", at_key=True)
    below = document.problem("x", ("a", "c", 3), "m", "h", at_key=True)
    assert (at_value.line, at_value.column, at_value.path) == (2, 6, "a.b")
    assert (at_key.line, at_key.column) == (2, 3)
    assert (below.line, below.column, below.path) == (2, 3, "a.c[3]")
    assert str(below) == "invented.yaml:2:3: [x] at a.c[3] m -- h"


@pytest.mark.parametrize(
    ("path", "text"),
    [((), ""), (("a",), "a"), ((0,), "[0]"), (("rules", 2, "limit", "at-most"), "rules[2].limit.at-most")],
)
def test_a_path_is_written_as_people_write_it(path, text):
    assert path_text(path) == text


# --- characters that steer instead of being read ----------------------------------------------------------------------

_WRITTEN = 'x: "é"\na: {}\n'  # a letter of two bytes before: places are counted in characters


@pytest.mark.parametrize(
    ("value", "code", "column"),
    [
        *((f'"b\\x{code:02x}"', code, 4) for code in (0x00, 0x07, 0x08, 0x09, 0x0A, 0x0D, 0x1B, 0x7F, 0x85, 0x9B)),
        *((f'"b\\u{code:04x}"', code, 4) for code in (0x061C, 0x200E, 0x200F, 0x202A, 0x202E, 0x2066, 0x2069, 0x2028)),
        *(
            (f"b{chr(code)}", code, 5)
            for code in (0x061C, 0x200E, 0x200F, 0x202A, 0x202E, 0x2066, 0x2069, 0x2028, 0x85)
        ),
        *((f"b # {chr(code)}", code, 8) for code in (0x202E, 0x2066, 0x2029)),
        ('["b", "c\td"]', 0x09, 12),
    ],
    ids=ascii,
)
def test_a_character_that_steers_is_refused_at_its_place(value, code, column, loader):
    """Controls (Unicode category Cc), marks of direction (property Bidi_Control), and ends of lines to some readers."""
    (problem,) = _problems(_WRITTEN.format(value), loader)
    assert (problem.code, problem.line, problem.column) == ("control-character", 2, column)
    named = {0x09: "a tab within text", 0x0A: "the end of a line within text"}.get(code, f"U+{code:04X}")
    assert named in problem.message
    assert problem.message.isprintable()


@pytest.mark.parametrize("key", ['"b\\e"', '"b\\n"', "b\u202e", '"b\tc"'])
def test_a_key_is_held_to_the_same(key, loader):
    (problem,) = _problems(f"x: 1\n{key}: 1\n", loader)
    assert (problem.code, problem.line) == ("control-character", 2)


def test_half_a_character_is_refused(loader):
    (problem,) = _problems('a: "\\ud800"\n', loader)  # libyaml itself refuses it
    assert (problem.code, problem.line) in {("control-character", 1), ("yaml-syntax", 1)}


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("a: |\n  b\n  c\n", "b\nc\n"),
        ("a: >\n  b\n\n  c\n", "b\nc\n"),
        ('a: "b\n\n  c"\n', "b\nc"),
        ("a: b\n\n  c\n", "b\nc"),
        ("a: >-\r\n  b\r\n  c\r\n", "b c"),
        ("a: b\u00a0c\u200bd é 車 😀\n", "b\u00a0c\u200bd é 車 😀"),
    ],
)
def test_text_on_several_lines_and_letters_of_any_script_are_read(text, value, loader):
    assert _data(text, loader) == {"a": value}


def test_every_character_that_steers_is_told(loader):
    problems = _problems('a: "\\e"\nb: ["\\x9b", c, "\\a"]\n', loader)
    assert [(each.code, each.line, each.column) for each in problems] == [
        ("control-character", 1, 4),
        ("control-character", 2, 5),
        ("control-character", 2, 16),
    ]


# --- what is refused, with its place and its cure --------------------------------------------------------------------

_YES_NO = "is yes or no to some YAML readers and text to others"
_CASE = "is not the same to all YAML readers"
_SEPARATED = "is a number with separators to some YAML readers"
_BASE = "is a number in another base to some YAML readers"
_SOME = "is a number to some YAML readers only"
_SPECIAL = "has a special meaning to some YAML readers"

#: Plain scalars that YAML 1.1 (type repository, yaml.org/type) and YAML 1.2.2 (10.3.2, core schema) take differently.
AMBIGUOUS = [
    *((word, _YES_NO) for word in ("y", "Y", "n", "N", "yes", "Yes", "YES", "no", "No", "NO")),
    *((word, _YES_NO) for word in ("on", "On", "ON", "off", "Off", "OFF")),
    *((word, _CASE) for word in ("True", "TRUE", "False", "FALSE", "Null", "NULL")),
    *(
        (word, "is an octal number to some YAML readers")
        for word in ("010", "007", "-012", "+01", "00", "00.5", "01.5")
    ),
    *((word, _BASE) for word in ("0o17", "0x1F", "0b101", "-0x1f", "0XAB")),
    *((word, "is a base-60 number to some YAML readers") for word in ("1:30", "190:20:30", "-1:30", "1:30.5", "0:07")),
    *((word, _SEPARATED) for word in ("1_000", "10_000_000", "-1_0", "0_1", "1_", "1_0.5", ".5_0")),
    *((word, _SOME) for word in ("+1", "+1.5", "5.", ".5", "-.5", "1e3", "1E3", "1.5e-3", "1e+9", "6.02e23")),
    *((word, "is no number a rule can use") for word in (".inf", "-.inf", "+.Inf", ".INF", ".nan", ".NaN")),
    *((word, _SPECIAL) for word in ("=", "<<")),
]


@pytest.mark.parametrize(("word", "why"), AMBIGUOUS, ids=[word for word, _ in AMBIGUOUS])
def test_a_scalar_that_readers_take_differently_is_refused_and_told_how_to_write(word, why, loader):
    (problem,) = _problems(f"a: 1\nb: [x, {word}]\n", loader)
    assert (problem.code, problem.line, problem.column, problem.path) == ("ambiguous-scalar", 2, 8, "b[1]")
    assert (problem.message, problem.hint) == (f"{word} {why}", f'write "{word}" in quotes')


@pytest.mark.parametrize(("word", "_why"), AMBIGUOUS, ids=[word for word, _ in AMBIGUOUS])
def test_the_same_scalar_in_quotes_is_text(word, _why, loader):
    assert _data(f'a: "{word}"', loader) == {"a": word}


@pytest.mark.parametrize("word", ["on", "yes", "N", "1", "1.5", "true", "null", "~", "010", "<<", "="])
def test_a_key_that_is_no_plain_text_to_every_reader_is_refused(word, loader):
    (problem,) = _problems(f"a:\n  {word}: x\n", loader)
    assert (problem.code, problem.line, problem.column, problem.path) == ("yaml-key", 2, 3, "a")
    assert problem.message == f"the key {word!r} is no plain text"
    assert problem.hint == f'write "{word}" in quotes'


@pytest.mark.parametrize("key", ["[x]", "{x: 1}"])
def test_a_key_that_is_a_collection_is_refused(key, loader):
    text, (place,) = _marked(f"a: 1\n? {HERE}{key}\n: 2\n")
    (problem,) = _problems(text, loader)
    assert (problem.code, problem.line, problem.column) == ("yaml-key", *place)
    assert (problem.message, problem.hint) == ("this key is no plain text", "a key is one word")


REFUSED = [
    # (id, text with its places marked, [(code, path, message, hint)])
    (
        "duplicate key",
        "a: 1\nb: 2\n‸a: 3\n",
        [("duplicate-key", "a", "the key 'a' stands already on line 1", "keep one of them")],
    ),
    (
        "duplicate key in quotes",
        'x:\n  a: 1\n  ‸"a": 3\n',
        [("duplicate-key", "x.a", "the key 'a' stands already on line 2", "keep one of them")],
    ),
    (
        "duplicate key in braces",
        "x: {a: 1, ‸a: 1}\n",
        [("duplicate-key", "x.a", "the key 'a' stands already on line 1", "keep one of them")],
    ),
    (
        "anchor and alias",
        "a: ‸&x [1]\nb: ‸*x\n",
        [
            ("yaml-anchor", "", "the anchor &x", "delete it; a pack repeats what it says"),
            ("yaml-alias", "", "the alias *x", "write the value out again"),
        ],
    ),
    (
        "merge key with alias",
        "a: ‸&x {b: 1}\nc:\n  <<: ‸*x\n",
        [
            ("yaml-anchor", "", "the anchor &x", "delete it; a pack repeats what it says"),
            ("yaml-alias", "", "the alias *x", "write the value out again"),
        ],
    ),
    (
        "merge key",
        "c:\n  ‸<<: {b: 1}\n",
        [("yaml-key", "c", "the key '<<' is no plain text", 'write "<<" in quotes')],
    ),
    (
        "tag of a type",
        "a: ‸!!str 1\n",
        [("yaml-tag", "", "the tag tag:yaml.org,2002:str", "delete it; a pack is plain data")],
    ),
    ("own tag", "a: ‸!own 1\n", [("yaml-tag", "", "the tag !own", "delete it; a pack is plain data")]),
    (
        "tag that would run code",
        "a: ‸!!python/object/apply:os.system [exit 1]\n",
        [
            (
                "yaml-tag",
                "",
                "the tag tag:yaml.org,2002:python/object/apply:os.system",
                "delete it; a pack is plain data",
            )
        ],
    ),
    (
        "second document",
        "a: 1\n‸---\nb: 2\n",
        [("yaml-documents", "", "a second document starts here", "one file holds one pack")],
    ),
    (
        "version directive",
        "‸%YAML 1.2\n---\na: 1\n",
        [("yaml-directive", "", "a YAML directive", "delete the line that starts with %")],
    ),
    (
        "tag directive",
        "‸%TAG ! tag:invented.example,2026:\n---\na: 1\n",
        [("yaml-directive", "", "a YAML directive", "delete the line that starts with %")],
    ),
    ("tab indent", "a:\n‸\tb: 1\n", [("yaml-tab", "", "a tab in the indentation", "indent with spaces")]),
    (
        "tab after spaces",
        "a:\n  b: 1\n ‸\tc: 2\n",
        [("yaml-tab", "", "a tab in the indentation", "indent with spaces")],
    ),
    ("tab before a dash", "rules:\n‸\t- id: x\n", [("yaml-tab", "", "a tab in the indentation", "indent with spaces")]),
    (
        "long number",
        "a: ‸1234567890123456\n",
        [("number-too-long", "a", "a number of 16 characters", "at most 15 characters")],
    ),
    (
        "long decimal",
        "a: [1, ‸0.12345678901234]\n",
        [("number-too-long", "a[1]", "a number of 16 characters", "at most 15 characters")],
    ),
    (
        # Python itself refuses to convert more than 4300 digits (sys.int_info.default_max_str_digits).
        "number of five thousand digits",
        f"a: ‸{'7' * 5000}\n",
        [("number-too-long", "a", "a number of 5000 characters", "at most 15 characters")],
    ),
    ("control character", "a: 1\nb: x‸\x01\n", [("yaml-character", "", "a character that YAML does not allow", "")]),
    ("nul", "a: 1\nb: ‸\x00\n", [("yaml-character", "", "a character that YAML does not allow", "")]),
    ("delete", "a: ‸\x7f\n", [("yaml-character", "", "a character that YAML does not allow", "")]),
]


@pytest.mark.parametrize(("text", "expected"), [row[1:] for row in REFUSED], ids=[row[0] for row in REFUSED])
def test_refuses_with_place_and_cure(text, expected, loader):
    text, places = _marked(text)
    found = _problems(text, loader)
    assert [(each.code, each.path, each.message, each.hint) for each in found] == expected
    assert [(each.line, each.column) for each in found] == places
    assert {each.file for each in found} == {"invented.yaml"}


@pytest.mark.parametrize(
    "text",
    [
        "a: b‸: c\n",
        "a: ‸@x\n",
        "a: ‸`x\n",
        "a: ‸%x\n",
        "- a\n‸b: 1\n",
        "a: ‸- b\n",
        'a: "b"‸c\n',
        "‸: a\n",
    ],
)
def test_what_is_no_yaml_is_told_with_its_line(text, loader):
    text, (place,) = _marked(text)
    (problem,) = _problems(text, loader)
    assert problem.code == "yaml-syntax"
    assert problem.message.startswith("this is no YAML: ")  # the rest is the parser's own wording
    assert problem.line == place[0]
    assert abs(problem.column - place[1]) <= 1


@pytest.mark.parametrize("text", ['a: "x', "a: [1", "a: {b: 1", "a: 'x\n\n"])
def test_what_is_never_closed_is_told_at_or_after_its_start(text, loader):
    (problem,) = _problems(text, loader)
    assert problem.code == "yaml-syntax"
    assert 1 <= problem.line <= text.count("\n") + 2
    assert problem.column >= 1


@pytest.mark.parametrize("content", [b"", b"\n\n", b"# nothing but a comment\n", b"\xef\xbb\xbf"])
def test_an_empty_file_is_refused(content, loader):
    (problem,) = _problems(content, loader)
    assert (problem.code, problem.message, problem.line, problem.column) == ("yaml-empty", "the file is empty", 1, 1)


@pytest.mark.parametrize(
    ("content", "byte", "line", "column"),
    [
        ("title: Québec\n".encode("latin-1"), "0xe9", 1, 10),
        (b"a: 1\nb: \xff\n", "0xff", 2, 4),
        ("a: 1\n".encode("utf-16"), "0xff", 1, 1),
        (b"a: \xc3", "0xc3", 1, 4),
        (b"a: \xed\xa0\x80", "0xed", 1, 4),  # a surrogate, which RFC 3629 forbids in UTF-8
    ],
    ids=["latin-1", "stray byte", "utf-16", "cut off", "surrogate"],
)
def test_what_is_no_utf_8_is_refused_at_its_byte(content, byte, line, column, loader):
    (problem,) = _problems(content, loader)
    assert (problem.code, problem.line, problem.column) == ("not-utf-8", line, column)
    assert (problem.message, problem.hint) == (f"byte {byte} is no UTF-8 text", "save the file as UTF-8")


def test_all_problems_of_a_file_are_told_at_once_in_its_order(loader):
    text, places = _marked(
        """\
title: ‸ON
reviewed: ‸010
when: {‸on: x, z: ‸no}
‸title: 2
count: ‸12345678901234567890
"""
    )
    found = _problems(text, loader)
    assert [each.code for each in found] == [
        "ambiguous-scalar",
        "ambiguous-scalar",
        "yaml-key",
        "ambiguous-scalar",
        "duplicate-key",
        "number-too-long",
    ]
    assert [(each.line, each.column) for each in found] == places


def test_all_that_may_not_be_expanded_is_told_before_anything_is_built(loader):
    text, places = _marked("‸%YAML 1.2\n---\na: ‸&x ON\nb: ‸!own no\nc: ‸*x\n")
    found = _problems(text, loader)
    assert [each.code for each in found] == ["yaml-directive", "yaml-anchor", "yaml-tag", "yaml-alias"]
    assert [(each.line, each.column) for each in found] == places


# --- bounds ----------------------------------------------------------------------------------------------------------


@LARGE
def test_a_file_of_the_largest_size_is_read_and_one_byte_more_is_not(loader):
    body = b"a: 1\n"
    largest = body + b"\n" * (MAX_BYTES - len(body))
    assert read(largest, "invented.yaml", loader).data == {"a": 1}
    (problem,) = _problems(largest + b"\n", loader)
    assert (problem.code, problem.line, problem.column) == ("file-too-large", 1, 1)
    assert problem.message == "the file has more than 1,000,000 bytes"
    assert problem.hint == "split it into several packs"


def test_the_deepest_document_is_read_and_one_level_more_is_not(loader):
    assert json.dumps(_data("[" * MAX_DEPTH + "]" * MAX_DEPTH, loader)) == "[" * MAX_DEPTH + "]" * MAX_DEPTH
    (problem,) = _problems("[" * (MAX_DEPTH + 1) + "]" * (MAX_DEPTH + 1), loader)
    assert (problem.code, problem.line, problem.column) == ("yaml-too-deep", 1, MAX_DEPTH + 1)
    assert (problem.message, problem.hint) == ("more than 40 levels", "a pack is never this deep")


def test_five_hundred_brackets_are_refused_at_the_first_that_is_too_deep(loader):
    (problem,) = _problems("[" * 500, loader)
    assert (problem.code, problem.column) == ("yaml-too-deep", MAX_DEPTH + 1)


@LARGE
def test_the_longest_document_is_read_and_one_value_more_is_not(loader):
    items = ",".join(["1"] * (MAX_NODES - 1))  # the list itself is a value too
    assert len(_data(f"[{items}]", loader)) == MAX_NODES - 1
    (problem,) = _problems(f"[{items},1]", loader)
    assert (problem.code, problem.line, problem.column) == ("yaml-too-many-nodes", 1, 2 + 2 * (MAX_NODES - 1))
    assert (problem.message, problem.hint) == ("more than 50,000 values", "split the pack")


def test_the_longest_number_is_read(loader):
    assert _data("a: 123456789012345", loader) == {"a": 123456789012345}
    assert _data("a: 0.1234567890123", loader) == {"a": Decimal("0.1234567890123")}


def test_an_alias_bomb_is_refused_without_being_expanded(loader):
    # The "billion laughs" pattern: nine levels of nine would be 387 million values (9 ** 9).
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 9)]
    found = _problems("\n".join(lines), loader)
    assert {each.code for each in found} == {"yaml-anchor", "yaml-alias"}
    assert len(found) == 9 + 8 * 9


# --- against other readers -------------------------------------------------------------------------------------------


def _core_schema(text):
    """What a plain scalar means by YAML 1.2.2, section 10.3.2 (core schema), typed from its table."""
    if text in ("null", "Null", "NULL", "~", ""):
        return None
    if text in ("true", "True", "TRUE", "false", "False", "FALSE"):
        return text.lower() == "true"
    if re.fullmatch(r"[-+]?[0-9]+", text):
        return int(text)
    if re.fullmatch(r"0o[0-7]+", text):
        return int(text[2:], 8)
    if re.fullmatch(r"0x[0-9a-fA-F]+", text):
        return int(text[2:], 16)
    if re.fullmatch(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?", text):
        return float(text)
    if re.fullmatch(r"[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)", text):
        return float("inf")
    return text


@law(
    st.one_of(
        st.text("0123456789.+-eExobaF:nfty~=", min_size=1, max_size=7),
        st.sampled_from([word for word, _ in AMBIGUOUS]),
        st.from_regex(r"[a-z]{1,6}", fullmatch=True),
    )
    # Decimals with a leading zero, such as 00.5, mean a number to other readers of both versions and text here.
    .filter(lambda text: not re.match(r"[-+]?0[0-9]+\.", text)),
    st.sampled_from(list(LOADERS)),
    examples=300,
)
def test_a_plain_scalar_that_is_read_means_the_same_by_yaml_1_1_and_1_2(text, name):
    try:
        found = _data(f"a: {text}\n", LOADERS[name])["a"]
    except PackError:
        return
    assert _same(found, _core_schema(text))
    assert _same(found, yaml.load(f"a: {text}\n", Loader=yaml.CSafeLoader)["a"])  # PyYAML, a YAML 1.1 reader


def _same(found, other):
    return (float(found) if isinstance(found, Decimal) else found) == other and isinstance(found, bool) is isinstance(
        other, bool
    )


_texts = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Cn"], exclude_characters="\ufeff"), max_size=8
)
_json = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**14) + 1, 10**14) | _texts,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(_texts, inner, max_size=3),
    max_leaves=12,
)


@law(_json, st.sampled_from([None, 2]), examples=100)
def test_json_is_read_as_json_under_both_loaders(data, indent):
    # YAML 1.2.2, section 1.3: every JSON document is a YAML document; Python's json is the reference.
    text = json.dumps(data, ensure_ascii=False, indent=indent)
    for each in LOADERS.values():
        assert json.dumps(_data(text, each)) == json.dumps(json.loads(text))


_READ = [
    "x",
    "two words",
    "1/4 in",
    '"N"',
    "'no'",
    "12",
    "-1.50",
    "true",
    "null",
    "é",
    "[x, 1]",
    "{k: x}",
    "2024-02-30",
]
_REFUSED = ["ON", "010", "1e3", "&a x", "*a", "!t x", "12345678901234567890", "@x", "x: x", "'x"]


@st.composite
def _simple_documents(draw, depth=0):
    """Lines of block YAML: keys that may stand twice, values of which some are refused."""
    lines = []
    for _ in range(draw(st.integers(1, 3))):
        head = draw(st.sampled_from(["a: ", "a: ", "b: ", "c: ", '"on": ', "on: "]))
        if depth < 2 and draw(st.booleans()):
            lines += [head.rstrip(), *(f"  {line}" for line in draw(_simple_documents(depth + 1)))]
        else:
            lines.append(head + draw(st.sampled_from(_READ * 3 + _REFUSED)))
    return lines


@law(_simple_documents(), st.sampled_from(["\n", "\r\n"]), examples=150)
def test_both_loaders_agree_on_simple_documents(lines, end):
    def outcome(loader):
        try:
            document = read(end.join(lines).encode(), "invented.yaml", loader)
        except PackError as error:
            return [(each.code, each.line) for each in error.problems]
        return document.data, document.values, document.keys

    assert outcome(LOADER) == outcome(PURE_LOADER)


@law(
    st.text(st.sampled_from(list("ab1.:-[]{},\"'#&*!|>?%@`\t\n\r \x00\x01\x85\u2028\ufeffé\\")), max_size=30)
    | st.text(max_size=30).filter(lambda text: not re.search("[\ud800-\udfff]", text)),
    st.sampled_from(list(LOADERS)),
    examples=200,
)
def test_any_text_is_read_or_refused_with_a_place(text, name):
    _read_or_place(text.encode(), LOADERS[name])


@law(st.binary(max_size=30), st.sampled_from(list(LOADERS)), examples=100)
def test_any_bytes_are_read_or_refused_with_a_place(content, name):
    _read_or_place(content, LOADERS[name])


def _read_or_place(content, loader):
    try:
        read(content, "invented.yaml", loader)
    except PackError as error:
        assert error.problems  # noqa: PT017  # being read is an outcome too
        for problem in error.problems:
            assert problem.line >= 1
            assert problem.column >= 1
            assert problem.file == "invented.yaml"


def test_other_libraries_keep_their_yaml():
    script = """
import copy, json, yaml
kinds = [yaml.SafeLoader, yaml.CSafeLoader, yaml.FullLoader, yaml.Loader]
tables = lambda: [[copy.deepcopy(kind.yaml_implicit_resolvers), dict(kind.yaml_constructors)] for kind in kinds]
text = "[ON, 010, 1:30, 2024-02-29, 1.5]"
before, read_before = tables(), repr(yaml.safe_load(text))
from tirerules.packs.reading import LOADER, PURE_LOADER, read
for loader in (LOADER, PURE_LOADER):
    read(b"a: 1", "invented.yaml", loader)
print(json.dumps([before == tables(), read_before, repr(yaml.safe_load(text))]))
"""
    done = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
        cwd=Path(tirerules.__file__).parent.parent,
    )
    same, before, after = json.loads(done.stdout)
    assert same is True
    assert before == after == "[True, 8, 90, datetime.date(2024, 2, 29), 1.5]"
