"""A decision put together from pieces is, character for character, the decision written out as JSON."""

from __future__ import annotations

import hashlib
import json
from itertools import islice
from typing import Any

import pytest
from hypothesis import strategies as st

import tirerules
from tests.amounts import law, some_of
from tests.engine import EARLIER_SIZE, SIZE, everywhere, pack, rule, us_case, world
from tests.engine.differential import books, builtin
from tests.support import injury, repair_case
from tirerules import CaseError, Rulebook, decision_to_json
from tirerules.record import parse, pieces
from tirerules.record.reasons import ReasonPieces
from tirerules.record.written import Encoder, TextTable

#: How two figures in one program differ: the masks are those of the case before, the figures are not.
ALIKE = [("5 mm", "20 deg"), ("5.0 mm", "20°"), ("1/5 in", "19 deg to 21 deg"), ('0.2"', "20.5 degrees")]


def assert_written_out(rulebook: Rulebook, said: dict[str, Any]) -> str:
    """Hold the text against `json` (RFC 8259) and the digest against FIPS 180-4; return the text."""
    text = rulebook.decide_json(json.dumps(said))
    assert text == json.dumps(decision_to_json(rulebook.decide(said)), ensure_ascii=False)
    plain = json.loads(text)
    digest = plain.pop("digest")
    canonical = json.dumps(plain, sort_keys=True, separators=(",", ":"))
    assert digest == "sha256:" + hashlib.sha256(canonical.encode()).hexdigest()
    return text


def kinds_of(text: str) -> set[str]:
    """Return what of a decision is in a text, so that a test can say that it saw all of it."""
    said = json.loads(text)
    reasons = [*said["reasons"], *(reason for each in said["methods"] for reason in each["reasons"])]
    rungs = [rung for limits in said["limits"].values() for rung in limits["ladder"]]
    found = {f"{key}" for key in ("geometry", "questions", "requirements", "notices", "methods") if said[key]}
    found |= {f"reason {each['outcome']} {each['applies']}" for each in reasons}
    found |= {f"notice {each['kind']}" for each in said["notices"]}
    found |= {key for rung in rungs for key in rung if key in ("when", "also_printed", "extended")}
    found |= {"gap" for each in reasons if each["rule"].startswith("engine/")}
    found |= {"several subjects" for each in reasons if ", " in each.get("subject", "")}
    found |= {"pair" for each in reasons if " and " in each.get("subject", "")}
    found |= {"the repair that results" for each in reasons if "the repair of" in each.get("subject", "")}
    return found


#: What drawn cases must show, or the comparison would be of less than all.
EVERY_KIND = {
    *("geometry", "questions", "requirements", "notices", "methods", "when", "also_printed", "gap"),
    *("several subjects", "pair", "the repair that results"),
    *("reason fails True", "reason unknown True", "reason unknown None", "reason passes True", "reason passes None"),
    *("notice gap", "notice evidence", "notice zone-named", "notice resale"),
}


@pytest.mark.parametrize("seed", some_of(range(10), 1))
def test_drawn_decisions_of_every_kind_are_written_out(seed):
    seen: set[str] = set()
    compared = 0
    for rulebook, _, cases in [builtin(seed), *islice(books(seed), 30)]:
        for case in islice(cases, 40):
            try:
                text = assert_written_out(rulebook, case)
            except CaseError:
                continue
            seen |= kinds_of(text)
            compared += 1
    assert compared > 600
    assert EVERY_KIND - seen == set()


@pytest.mark.parametrize("activity", ["repair", "road-use", "used-tire-installation", "vehicle-sale", "inspection"])
def test_what_was_kept_for_a_program_says_nothing_of_the_case_before(activity):
    rulebook = everywhere()
    case = us_case(activity=activity)
    texts = []
    for diameter, angle in [*ALIKE, *reversed(ALIKE)]:
        injuries = injury(diameter=diameter, angle=angle) if activity == "repair" else []
        tire = {**case["tire"], "tread_depth": f"{diameter} to 9 mm"}
        texts.append(assert_written_out(rulebook, {**case, "injuries": injuries, "tire": tire}))
    assert texts[:4] == texts[:3:-1]
    assert len(set(texts)) == 4


def test_measures_of_several_injuries_and_repairs_are_written_out():
    measured = [
        {
            "from_centerline": "10 mm",
            "diameter": "5 mm",
            "angle": "10 deg",
            "leans": "toward-shoulder",
            "clock": "1:00",
        },
        {"from_centerline": "70.1 mm", "diameter": "5.5 mm", "angle": "30 deg", "clock": "1:30"},
        {"surface_diameter": "7 mm", "angle": "44 deg", "zone": "crown"},
    ]
    tire = {"class": "passenger", "tread_width": "180.3 mm", "thickness": "11 mm", "size": "225/45R17"}
    earlier = [{"from_centerline": "12 mm", "diameter": "4 mm", "clock": "6:00"}, {"zone": "crown"}, {}]
    unit = {"method": "one-piece", "rated_angle": "35 deg", "document": "an invented data sheet"}
    text = ""
    for injuries, repairs, rated in ((measured, earlier, unit), (measured[:1], [], None), (measured, None, unit)):
        text = assert_written_out(
            everywhere(), repair_case(injuries=injuries, tire=tire, earlier_repairs=repairs, repair_unit=rated)
        )
    assert {"geometry", "extended", "notice extension"} <= kinds_of(text)


def test_a_grid_of_readings_is_written_out():
    tire = {"class": "passenger", "tread_grid": [["3 mm", "1.6 mm", "2/32 in"]] * 3}
    for activity in ("inspection", "road-use", "used-tire-sale"):
        text = assert_written_out(everywhere(), repair_case(activity=activity, tire=tire, injuries=[]))
        assert "(the smallest of " in text


def test_equal_figures_in_two_units_are_printed_as_they_were_for_several_injuries():
    rules = SIZE + rule("fine", "limit: {fact: injury.diameter, at-most: 6.35 mm}", when="{injury.kind: cut}")
    rules += rule("other", "limit: {fact: injury.diameter, at-most: 1/4 in}", when="{injury.kind: puncture}")
    rulebook = world(rules + EARLIER_SIZE)
    cut, puncture = injury(kind="cut", diameter="6 mm"), injury(kind="puncture", diameter="6 mm")
    one = json.loads(assert_written_out(rulebook, us_case(injuries=cut + puncture)))
    other = json.loads(assert_written_out(rulebook, us_case(injuries=puncture + cut)))
    assert one["limits"]["injury.diameter"]["at_most"] == "6.35 mm"
    assert other["limits"]["injury.diameter"]["at_most"] == "1/4 in"
    assert one["limits"]["injury.diameter"]["ladder"] == other["limits"]["injury.diameter"]["ladder"]


@pytest.mark.parametrize("text", ['§ “ü” \\ "é"', "\U0001f6de", '", "x": "'])
def test_texts_that_need_escapes_are_kept(text):
    yaml = rule("odd", "limit: {fact: injury.angle, at-most: 60 deg}").replace(
        "The invented rule odd.", json.dumps(text, ensure_ascii=False)
    )
    rulebook = world(SIZE + yaml)
    for diameter in ("5 mm", "6 mm"):
        said = parse(assert_written_out(rulebook, us_case(injuries=injury(diameter=diameter))))
        assert text in [each["says"] for each in said["reasons"]]


@pytest.mark.parametrize("text", ["a\x7fb\x9bc\u2028d", "\x00\x1b[1m"])
def test_what_a_case_states_is_kept_whatever_it_holds(text):
    unit = {"method": "one-piece", "rated_angle": "35 deg", "document": text}
    assert parse(assert_written_out(world(SIZE), us_case(repair_unit=unit)))["case"]["repair_unit"] == unit


@law(st.text(max_size=30), examples=200)
def test_a_text_is_quoted_as_json_quotes_it(text):
    assert pieces.quoted(text) == (json.dumps(text, ensure_ascii=False), json.dumps(text))


def test_what_a_caller_states_and_no_rule_reads_is_kept_in_the_order_of_the_format():
    case = us_case(tire={"age": "3 years", "class": "passenger", "size": None}, vehicle={}, shop=None)
    said = parse(assert_written_out(world(SIZE), dict(reversed(case.items()))))
    assert list(said["case"]) == [
        *("jurisdictions", "activity", "on", "tire", "vehicle"),
        *("injuries", "earlier_repairs", "findings", "reading"),
    ]
    assert list(said["case"]["tire"]) == ["class", "sealant_layer", "tread_depth", "age"]


def test_a_pack_in_the_place_of_what_ships_is_told_in_every_text():
    rulebook = tirerules.load()
    put_in = rulebook.replacing(pack(SIZE, "industry", "baseline"))
    for book in (rulebook, put_in):
        for _ in range(2):
            assert_written_out(book, repair_case())


def test_digests_are_the_same_before_and_after_openssl_is_loaded():
    rulebook = world(SIZE)
    texts = {assert_written_out(rulebook, us_case()) for _ in range(Encoder.FEW + 3)}
    assert len(texts) == 1


@pytest.mark.parametrize("kind", [TextTable, ReasonPieces])
def test_a_table_that_is_full_is_made_again(monkeypatch, kind):
    monkeypatch.setattr(kind, "BOUND", 2)
    rulebook = world(SIZE + rule("angle", "limit: {fact: injury.angle, at-most: 60 deg}"))
    for diameter in ("5 mm", "55 mm", "5 mm", "1 mm to 60 mm"):
        assert_written_out(rulebook, us_case(injuries=injury(diameter=diameter)))
