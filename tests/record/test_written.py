"""A decision written by filling in a form is, text for text, the decision written out."""

from __future__ import annotations

import hashlib
import itertools
import json
from random import Random
from typing import Any

import pytest

import tirerules
from tests.engine import SIZE, everywhere, rule, us_case, world
from tests.index.comparing import reference
from tests.support import injury, repair_case
from tirerules import Rulebook, case_from_json, decision_to_json
from tirerules.record import parse, written

DAYS = ("2026-11-25", "2026-11-26", "2027-01-01")
#: Alike to every rule that ships, and yet to be told in other words.
ALIKE: dict[str, tuple[Any, ...]] = {
    "injuries.diameter": ("5 mm", "5.0 mm", "1/5 in", "4.9 mm ± 0.1 mm", "4 mm to 5 mm", '0.2"'),
    "injuries.angle": ("20 deg", "20°", "19 deg to 21 deg", "20.5 degrees"),
    "tire.tread_depth": ("6/32 in", "6/32 in rounded", "4.8 mm", "0.5 cm", "7/32 in"),
    "earlier_repairs.diameter": ("3 mm", "3.1 mm", "1/8 in"),
    "vehicle.gvwr": ("1900 kg", "1901 kg", "4200 lb"),
    "on": DAYS,
}
#: What makes the rules see another case.
APART: dict[str, tuple[Any, ...]] = {
    "findings": ([], ["leak"], ["leak", "embedded-object"], ["bulge"], None),
    "injuries.zone": ("crown", "shoulder", None),
    "injuries.kind": ("puncture", "cut", None),
    "tire.class": ("passenger", "light-truck", None),
    "earlier_repairs": ([], [{"zone": "crown", "method": "one-piece", "diameter": "3 mm"}], [{}], None),
    "reading": ("strict", "as-enacted", None),
    "method": (None, "section", "plug-only"),
    "repairs.count": (None, 1, 3),
    "road.snow_restriction": (None, True, False),
    "tire.size": (None, "225/45R17", "P205/55R16"),
}
ACTIVITIES = ("repair", "repair", "repair", "road-use", "used-tire-installation", "vehicle-sale", "inspection")


def assert_written_out(rulebook: Rulebook, said: dict[str, Any]) -> str:
    """Hold the text against the reference; return it."""
    text = rulebook.decide_json(json.dumps(said))
    assert text == json.dumps(decision_to_json(reference(rulebook, case_from_json(said))), ensure_ascii=False)
    plain = parse(text)
    digest = plain.pop("digest")
    canonical = json.dumps(plain, sort_keys=True, separators=(",", ":"))
    assert digest == "sha256:" + hashlib.sha256(canonical.encode()).hexdigest()
    return text


def put(case: dict[str, Any], name: str, value: Any) -> None:
    """State a fact of a case, of the first injury or earlier repair; where there is none, nothing."""
    group, _, key = name.rpartition(".")
    block: Any = case.setdefault(group, {}) if group else case
    if isinstance(block, list):
        block = block[0] if block else {}
    if block is not None:
        block[key] = value


@pytest.fixture
def forms(monkeypatch) -> list[Any]:
    """Every form that is made."""
    made: list[Any] = []
    of = written.form_of

    def noting(*known: Any) -> Any:
        made.append(of(*known))
        return made[-1]

    monkeypatch.setattr(written, "form_of", noting)
    return made


def test_measurements_that_differ_are_told_each_in_its_own_words(forms):
    rulebook = tirerules.load()
    texts = [
        assert_written_out(rulebook, us_case(on=day, injuries=injury(diameter=diameter, angle=angle)))
        for diameter, angle, day in itertools.product(ALIKE["injuries.diameter"], ALIKE["injuries.angle"][:2], DAYS)
    ]
    assert len(set(texts)) == len(texts) == 36
    assert len(forms) < 5


def test_one_form_serves_cases_that_every_rule_sees_alike(forms):
    rulebook, case = world(SIZE), us_case()
    for diameter in ("1 mm", "2 mm", "1/4 in", "50 mm", "49 mm ± 1 mm"):
        text = assert_written_out(rulebook, {**case, "injuries": injury(diameter=diameter)})
        assert f'"measured": {json.dumps(diameter, ensure_ascii=False)}' in text
    (form,) = forms
    assert form.quotes
    assert_written_out(rulebook, {**case, "injuries": injury(diameter="51 mm")})
    assert len(forms) == 2


@pytest.mark.parametrize("part", range(4))
def test_cases_alike_and_apart_are_written_out(forms, part):
    rng, rulebook = Random(part), everywhere()
    places = [code for code in rulebook.codes if code.startswith("US")]
    written_of: list[str] = []
    for _ in range(75):
        case = repair_case(jurisdictions=rng.sample(places, rng.choice((1, 1, 2))), activity=rng.choice(ACTIVITIES))
        for name in rng.sample(sorted(APART), rng.choice((0, 1, 2, 4))):
            put(case, name, rng.choice(APART[name]))
        if case["activity"] != "repair" and rng.random() < 0.7:
            case["injuries"] = []
        listed = len(case["earlier_repairs"] or ()) + (len(case["injuries"]) if case["activity"] == "repair" else 0)
        if (case.get("repairs", {}).get("count") or listed) < listed:
            continue
        for _ in range(6):
            for name in rng.sample(sorted(ALIKE), rng.choice((1, 2, 3))):
                put(case, name, rng.choice(ALIKE[name]))
            written_of.append(assert_written_out(rulebook, case))
    assert len(set(written_of)) > 250
    assert 20 < len(forms) < len(written_of) / 2


@pytest.mark.parametrize(
    "text",
    ["<hole 3>", '"<hole 0>"', '§ “ü” \\ "é"', "\U0001f6de"],
)
def test_texts_that_look_like_holes_or_need_escapes_are_kept(text):
    yaml = rule("odd", "limit: {fact: injury.angle, at-most: 60 deg}").replace(
        "The invented rule odd.", json.dumps(text, ensure_ascii=False)
    )
    rulebook = world(SIZE + yaml)
    for diameter in ("5 mm", "6 mm"):
        said = assert_written_out(rulebook, us_case(injuries=injury(diameter=diameter)))
        assert json.dumps(text, ensure_ascii=False) in said


def test_what_a_caller_states_and_no_rule_reads_is_kept_in_the_order_of_the_format():
    case = us_case(tire={"age": "3 years", "class": "passenger", "size": None}, vehicle={}, shop=None)
    case = dict(reversed(case.items()))
    said = parse(assert_written_out(world(SIZE), case))
    assert list(said["case"]) == [
        *("jurisdictions", "activity", "on", "tire", "vehicle"),
        *("injuries", "earlier_repairs", "findings", "reading"),
    ]
    assert list(said["case"]["tire"]) == ["class", "sealant_layer", "tread_depth", "age"]
