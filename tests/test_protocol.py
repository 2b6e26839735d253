"""The protocol of messages: each is answered by exactly one line, a bad one costs only itself. The shop is invented."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path
from random import Random
from typing import Any

import pytest

from tests.support import injury, repair_case
from tirerules import __version__, decision_to_json, load, lock_to_json, protocol
from tirerules.cli.decide import _bounded
from tirerules.protocol import ANSWERS, LONGEST, PROTOCOL, reply
from tirerules.record.brief import decision_to_brief
from tirerules.record.decisions import FORM

pytestmark = pytest.mark.usefixtures("shipping_few")
PAGE = Path(protocol.__file__).with_suffix(".md")


def answer(message: Any, number: int = 1) -> dict[str, Any]:
    text = message if isinstance(message, bytes) else json.dumps(message).encode()
    found = reply(load(), text, number).text
    assert "\n" not in found
    return json.loads(found)


def test_a_case_alone_is_answered_by_its_decision():
    assert answer(repair_case()) == decision_to_json(load().decide(repair_case()))


@pytest.mark.parametrize("identity", [0, -1, 10**30, "", "ticket 7", "日本", "x" * 200])
def test_an_id_is_echoed(identity):
    found = answer({"id": identity, "case": repair_case()})
    assert (found["id"], type(found["id"])) == (identity, type(identity))
    assert found["decision"]["verdict"] == "within-limits"
    assert answer({"id": identity, "case": 1})["id"] == identity
    assert answer({"id": identity, "about": True})["id"] == identity


@pytest.mark.parametrize("wanted", ANSWERS)
def test_an_answer_has_the_form_that_was_asked_for(wanted):
    decision = load().decide(repair_case(injuries=injury(diameter="8 mm")))
    expected = {
        "whole": decision_to_json(decision),
        "brief": decision_to_brief(decision),
        "further": decision_to_json(decision, further=True),
    }[wanted]
    assert answer({"id": 1, "answer": wanted, "case": repair_case(injuries=injury(diameter="8 mm"))}) == {
        "id": 1,
        "decision": expected,
    }


def test_the_library_says_what_it_is():
    assert answer({"about": True})["about"] == {
        "protocol": PROTOCOL,
        "engine": __version__,
        "form": FORM,
        "packs": lock_to_json(load().lock),
    }


BAD = [
    (b"\xff", "not-utf-8", None),
    (b"{", "json-syntax", None),
    (b'{"id": 1, "id": 2}', "json-duplicate", None),
    (b'{"id": NaN, "case": {}}', "json-constant", None),
    (b"x" * (LONGEST + 1), "too-long", None),
    ({"id": 1}, "message-key", 1),
    ({"id": 1, "case": repair_case(), "on": "2026-11-25"}, "message-key", 1),
    ({"id": 1.5, "case": repair_case()}, "message-value", None),
    ({"id": None, "case": repair_case()}, "message-value", None),
    ({"id": True, "case": repair_case()}, "message-value", None),
    ({"id": "x" * 201, "case": repair_case()}, "message-value", None),
    ({"id": 1, "case": repair_case(), "answer": "short"}, "message-value", 1),
    ({"id": 1, "case": repair_case(), "answer": ["brief"]}, "message-value", 1),
    ({"id": 1, "case": repair_case(jurisdictions=["US-XX"])}, "case-place", 1),
    ({"id": 1, "case": repair_case(tire={"class": "car"})}, "case-value", 1),
    ({"jurisdictions": ["US-SC"], "activity": "repair", "tyre": {}}, "case-key", None),
    ([], "case-value", None),
    (b"null", "case-key", None),
]


@pytest.mark.parametrize(("message", "code", "identity"), BAD)
def test_a_bad_message_is_answered_by_what_is_wrong_with_it(message, code, identity):
    found = answer(message, 12)
    problems = found["error"]["problems"]
    assert code in {each["code"] for each in problems}, problems
    assert found.get("id") == identity
    assert found["error"].get("line") == (12 if identity is None else None)
    assert all(each["message"] for each in problems)


def test_a_line_that_is_too_long_is_passed_over_to_its_end():
    lines = [b"a\n", b"x" * (3 * LONGEST) + b"\n", b"b\r\n", b"y" * LONGEST + b"\n", b"", b"c"]
    found = [(number, line[:2], len(line)) for number, line in _bounded(io.BytesIO(b"".join(lines)))]
    assert found == [(1, b"a", 1), (2, b"xx", LONGEST + 2), (3, b"b", 1), (4, b"yy", LONGEST), (5, b"c", 1)]


def test_whatever_comes_is_answered_by_one_line():
    rng, text = Random(3), json.dumps({"id": 1, "case": repair_case(), "answer": "brief"}).encode()
    for _ in range(300):
        bad = bytearray(text)
        for _ in range(rng.randint(1, 4)):
            bad[rng.randrange(len(bad))] = rng.randrange(256)
        found = answer(bytes(bad).replace(b"\n", b" "))
        assert {*found} <= {"id", "decision", "error", "verdict", *decision_to_json(load().decide(repair_case()))}


def test_the_page_says_what_the_code_does():
    """Every example of the page is sent, and its answer begins as the page says; every code of the table is used."""
    page = PAGE.read_text(encoding="utf-8")
    lines = [line.strip() for line in page.splitlines() if line.startswith("    ")]
    for message, shown in zip(lines[::2], lines[1::2], strict=True):
        found = reply(load(), message.encode(), 1).text
        start = re.split(r",? ?\.\.\.", shown.replace("{...}", "..."))[0]
        assert found.startswith(start), (found[:200], start)
    assert f"Protocol number: {PROTOCOL}" in page
    assert f"{LONGEST:,} bytes" in page
    codes = {code for _, code, _ in BAD}
    assert codes <= {*re.findall(r"`([a-z0-9-]+)`", page)}
