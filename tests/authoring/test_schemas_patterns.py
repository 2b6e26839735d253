"""The patterns of all schemas are regular expressions of ECMA-262 with its flag u, and mean there what they do here.

JSON Schema 2020-12 (core, 6.4) names ECMA-262 with Unicode semantics; validators in other languages refuse a schema
with anything else. `readable` follows the grammar of ECMA-262, 22.2.1 (Pattern with [+UnicodeMode]), from memory.
"""

from __future__ import annotations

import json
import re
import subprocess
from collections.abc import Iterator
from typing import Any

import pytest

from tests.support import program
from tirerules.authoring import schemas
from tirerules.authoring.schemas.parts import SLUG
from tirerules.quantities import PATTERN

#: Texts on which Python and ECMA-262 are compared; line ends and figures of other scripts are where readers differ.
TEXTS = (
    *("1.0.0", "01.0.0", "1.0.0\n", "\n1.0.0", "1.0", "999999999.0.0", "9999999999.0.0", "1.0.٣"),
    *("US-SC", "US", "industry", "invented-shop", "US-SC\n", "US\u2028", "ÜS", "a--b", "a-1", "1-a"),
    *("1/4 in", '0.25"', "25°", "6 mm", "6mm", "1 1/2 in", "1-1/2 in", ".5 mm", "٦ mm", "6 µm", "6 mm\n", "-6 mm"),
    *("70 %", "3/4", "0/0", "2026-11-25", "2026-11-25\n", "unknown", "https://law.example/1", "ftp://law.example"),
    *("a" * 64, "A" * 64, "sha256:" + "0" * 64, "US-SC/size/at", "US-SC/size", "a b/c/d", "é/é/é", "😀/😀/😀", ""),
)


def _patterns(schema: Any) -> Iterator[str]:
    if isinstance(schema, dict):
        if isinstance(schema.get("pattern"), str):
            yield schema["pattern"]
        yield from schema.get("patternProperties", ())
        for part in schema.values():
            yield from _patterns(part)
    elif isinstance(schema, list):
        for part in schema:
            yield from _patterns(part)


PATTERNS = sorted({pattern for schema in schemas.build().values() for pattern in _patterns(schema)})

#: What may stand behind a backslash: the syntax characters and the slash, outside of classes; in them also the hyphen.
#: The classes d, s and w are left out: Python's hold the figures, spaces and letters of every script.
_SYNTAX = r"[\^$\\.*+?()\[\]{}|/]"
_ATOM = rf"(?:[^\\^$.*+?()\[\]{{}}|]|\.|\\{_SYNTAX}|\\[fnrtv])"
_CLASS = rf"\[\^?(?:[^\\\]\[]|\\{_SYNTAX}|\\-|\\[fnrtv])*\]"
_TOKEN = re.compile(rf"{_CLASS}|{_ATOM}|\^|\$|\((?:\?[:=!])?|\)|\||(?:[*+?]|\{{[0-9]+(?:,[0-9]*)?\}})\??")


def readable(pattern: str) -> bool:
    """Whether a pattern is made of what ECMA-262 with the flag u, and Python, both read alike."""
    at, depth = 0, 0
    repeatable = False  # whether a quantifier may follow
    while at < len(pattern):
        found = _TOKEN.match(pattern, at)
        if found is None:
            return False
        token, at = found[0], found.end()
        if token[0] in "*+?" or (token[0] == "{"):
            if not repeatable:
                return False
            repeatable = False
        elif token[0] == "(":
            depth, repeatable = depth + 1, False
        elif token == ")":
            depth, repeatable = depth - 1, True
            if depth < 0:
                return False
        else:
            repeatable = token not in ("^", "$", "|")
    return depth == 0


@pytest.mark.parametrize("pattern", PATTERNS)
def test_every_pattern_of_a_schema_is_read_by_other_languages(pattern):
    assert readable(pattern)
    re.compile(pattern)


@pytest.mark.parametrize(
    "pattern", [r"[\"°]", r"\Z", r"(?P<a>b)", r"(?i)a", r"\d", r"a{,2}", r"]", r"}", r"a++", r"\é"]
)
def test_what_only_python_reads_is_found(pattern):
    assert not readable(pattern)


@pytest.mark.parametrize("pattern", [r"^a{2}$", r"a{2,}?b", r"[^\]\-a]", r"(?:a|b)*", r"(?=a)a", r"\.\/", '["°]'])
def test_what_both_read_is_let_pass(pattern):
    assert readable(pattern)


def test_the_patterns_are_found():
    assert {PATTERN, SLUG, "^https?://"} <= set(PATTERNS)


_PROGRAM = """
const [patterns, texts] = JSON.parse(require("fs").readFileSync(0, "utf8"));
const found = patterns.map(each => { const read = new RegExp(each, "u"); return texts.map(text => read.test(text)); });
process.stdout.write(JSON.stringify(found));
"""


@pytest.mark.node
def test_node_reads_every_pattern_as_python_does():
    asked = json.dumps([PATTERNS, TEXTS])
    done = subprocess.run(
        [program("node"), "-e", _PROGRAM], input=asked, capture_output=True, text=True, encoding="utf-8"
    )
    assert done.returncode == 0, done.stderr
    # `$` is the very end there; the library asks for the same (`tirerules.packs.schema`).
    ours = [[bool(re.search(re.sub(r"\$$", r"\\Z", each), text)) for text in TEXTS] for each in PATTERNS]
    assert json.loads(done.stdout) == ours
    assert any(any(row) for row in ours)


@pytest.mark.node
def test_node_refuses_what_is_found_to_be_no_pattern():
    for pattern in (r"[\"°]", r"\Z", r"(?P<a>b)", r"a{,2}", r"]", r"}", r"a++", r"\é"):
        done = subprocess.run([program("node"), "-e", f"new RegExp({json.dumps(pattern)}, 'u')"], capture_output=True)
        assert done.returncode != 0, pattern
