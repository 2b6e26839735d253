"""Text of others as it is shown: nothing in it acts, and nothing in it is lost."""

from __future__ import annotations

import ast
import json
import sys
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tirerules.errors import Problem
from tirerules.escaping import BIDI_CONTROLS, escaped, escaped_json, inert, is_control, shortened

#: Code points of the property Bidi_Control (Unicode Character Database, PropList.txt, from memory).
BIDI = [0x061C, 0x200E, 0x200F, *range(0x202A, 0x202F), *range(0x2066, 0x206A)]
#: What a terminal obeys: C0 and C1 (ISO/IEC 6429); and what ends a line to some readers.
OBEYED = [*range(0x20), *range(0x7F, 0xA0), 0x2028, 0x2029]
ANY = st.text(st.characters(), max_size=40)  # halves of characters too
HOSTILE = st.text(st.sampled_from([*map(chr, (*BIDI, *OBEYED)), *"\ud800\ufeff\u200b\U000e0001", *"aé €😀\\:#[x"]))


def test_controls_are_what_the_standards_name():
    found = [code for code in range(sys.maxunicode + 1) if is_control(chr(code))]
    halves = [*range(0xD800, 0xE000)]
    assert found == sorted([*BIDI, *OBEYED, *halves])
    assert sorted(map(ord, BIDI_CONTROLS)) == BIDI


@given(ANY | HOSTILE)
def test_nothing_in_an_escaped_text_acts(text):
    shown = escaped(text)
    assert not any(map(is_control, shown))
    assert all(each.isprintable() or unicodedata.category(each) == "Zs" for each in shown)


@given(HOSTILE.map(lambda text: text.replace("\\", "")))
def test_an_escaped_text_can_be_read_back(text):
    assert ast.literal_eval('"' + escaped(text) + '"') == text


@given(ANY)
def test_to_escape_twice_changes_nothing(text):
    assert escaped(escaped(text)) == escaped(text)


@pytest.mark.parametrize("text", ["", "1/4 in (6 mm)", "§ 12-3 « Québec » \u00a0\u202f35 °", "пневматик 車 😀"])
def test_what_can_be_read_stays_as_it_is(text):
    assert escaped(text) == text
    assert json.loads(escaped_json(json.dumps([text], ensure_ascii=False))) == [text]


@given(st.recursive(HOSTILE | st.integers(), lambda inner: st.lists(inner) | st.dictionaries(HOSTILE, inner)))
def test_escaped_json_says_the_same(value):
    shown = escaped_json(json.dumps(value, ensure_ascii=False, indent=1))
    assert json.loads(shown) == json.loads(json.dumps(value))
    assert not any(is_control(each) for each in shown if each != "\n")
    assert inert(shown) == shown


#: The documentation of the build service names `::command::` at the start of a line; `##[command]` is its older form,
#: and `##name[command]` another service's (from memory).
@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("::error::no", "\\x3a:error::no"),
        ("a\n  ::error file=x::no\nb", "a\n  \\x3a:error file=x::no\nb"),
        ("a ::error::no", "a ::error::no"),
        ("a ##[error]no", "a \\x23#[error]no"),
        ("##service[set x]", "\\x23#service[set x]"),
        ("### Title [1]", "### Title [1]"),
        ("§ 1 # 2 [3]", "§ 1 # 2 [3]"),
    ],
)
def test_no_line_is_a_command_to_a_build_service(text, shown):
    assert inert(text) == shown


@given(st.text(st.sampled_from("::#[ \na")))
def test_no_text_becomes_a_command(text):
    assert not any(line.strip().startswith("::") or "##[" in line for line in inert(text).split("\n"))


def test_a_problem_is_one_line_whatever_it_holds():
    problem = Problem("x", "a\n::b\x1b", "c\u2028d", "e\rf.yaml", 1, 2, "g\x9bh")
    assert str(problem) == r"e\rf.yaml:1:2: [x] at g\x9bh a\n::b\x1b -- c\u2028d"


def test_a_quotation_is_bounded():
    assert shortened("9" * 200) == "9" * 200
    assert shortened("9" * 5000) == f"{'9' * 20}... (5,000 characters)"
