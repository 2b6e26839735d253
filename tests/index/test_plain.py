"""The short reader of cases takes nothing that the full one refuses, and reads what it takes as the full one does."""

from __future__ import annotations

from collections import Counter
from datetime import date
from itertools import islice
from random import Random
from types import MappingProxyType
from typing import Any

import pytest

import tirerules
from tests.deciding import everywhere
from tests.reference.drawing import drawn_cases
from tests.support import builtin_packs, repair_case
from tirerules import Rulebook, case_from_json
from tirerules.index.packing import packed_case
from tirerules.index.plain import plain_case

PARTS, CASES_OF_A_PART = 4, 2_500
#: Values that no fact or only some may have: of a wrong type, misspelt, in odd forms, too large.
ODD = (
    *(
        None,
        True,
        False,
        0,
        1,
        -1,
        3,
        1.0,
        2.5,
        10**40,
        float("nan"),
        "",
        " ",
        [],
        {},
        (),
        [None],
        [[]],
        [{}],
        {"x": 1},
    ),
    *(
        "yes",
        "no",
        "true",
        "none",
        "unknown",
        "1",
        "5",
        "5 mm",
        " 5 mm",
        "5 mm ",
        "5  mm",
        "5mm",
        "5 MM",
        "5 Mm",
        "5 in",
    ),
    *(
        "5,5 mm",
        "-5 mm",
        "5 mm to 4 mm",
        "4 mm to 5 in",
        "5 mm ± 6 mm",
        "5 ± 1 mm",
        "5 mm +/- 1 mm",
        "0x5 mm",
        "1e3 mm",
    ),
    *(
        "٥ mm",
        "5\u00a0mm",
        "5 mm\n",
        "1/0 in",
        "4/32 in rounded",
        "1 1/2 in",
        "3/2 1 in",
        "20 deg",
        "95 deg",
        "4 years",
    ),
    *("9" * 30 + " mm", "0." + "1" * 30 + " mm", "10000 lb", "passenger", "Passenger", "crown", "CROWN", "repair"),
    *(
        "one-piece",
        "section",
        "strict",
        "as-enacted",
        "puncture",
        "left",
        "E",
        "H",
        "(Y)",
        "leak",
        b"5 mm",
        date(2026, 1, 1),
    ),
    *("2026-11-25", "2026-02-29", "2028-02-29", "2100-02-29", "0000-01-01", "2026-13-01", "2026-00-10", "2026-1-01"),
    *(
        "2026-11-31",
        "20261125",
        "2026-11-25 ",
        "２０２６-11-25",
        "2026-11-2５",
        "+026-11-25",
        "225/45R17",
        "225/45 R17",
        "LT245/75R16/E",
    ),
    *(
        "225/45ZR17 94W",
        "4616",
        "3:00",
        "13:00",
        "415 mm",
        ["leak"],
        ["leak", "leak"],
        ["US-SC", "US-SC"],
        ["us-sc"],
        [1],
        ["XX"],
    ),
)
KEYS = (
    *(
        "class",
        "class_",
        "zone",
        "Zone",
        "diameter",
        "size",
        "reach",
        "spacing_angle",
        "count",
        "clock",
        "method",
        "on",
    ),
    *(
        "injury",
        "injuries",
        "findings",
        "repairs",
        "tire",
        "reading",
        "worked_out",
        "__class__",
        "said",
        "",
        1,
        None,
        ("a",),
    ),
)


class Text(str):
    """Text that is not of the plain type, as some readers of documents give."""


def _blocks(said: dict[Any, Any]) -> list[Any]:
    """Return every block and list in a case, itself included."""
    found: list[Any] = [said]
    for block in found:
        found += [
            each for each in (block.values() if isinstance(block, dict) else block) if isinstance(each, (dict, list))
        ]
    return found


def _copied(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _copied(each) for key, each in value.items()}
    return [_copied(each) for each in value] if isinstance(value, list) else value


def _mutated(rng: Random, case: dict[str, Any]) -> Any:
    """Return a case with one, two or three odd changes."""
    said = _copied(case)
    for _ in range(rng.choice((1, 1, 2, 3))):
        block = rng.choice(_blocks(said))
        places = list(block) if isinstance(block, dict) else list(range(len(block)))
        place = rng.choice(places) if places else None
        match rng.choice(("change", "change", "change", "add", "drop", "retype")):
            case "change" if places:
                block[place] = _copied(rng.choice(ODD))
            case "add" if isinstance(block, dict):
                block[rng.choice(KEYS)] = _copied(rng.choice(ODD))
            case "add":
                block.append(_copied(rng.choice((*block, *ODD))))
            case "drop" if places:
                del block[place]
            case "retype" if places:
                block[place] = _retyped(rng, block[place])
    return _retyped(rng, said) if rng.random() < 0.02 else said


def _retyped(rng: Random, value: Any) -> Any:
    """Return the same in another type, or in another spelling."""
    if isinstance(value, dict):
        return rng.choice((MappingProxyType(value), list(value.items()), list(value), None))
    if isinstance(value, list):
        return rng.choice((tuple(value), value * 2, dict.fromkeys(range(len(value))), value and value[0]))
    if isinstance(value, bool):
        return rng.choice((int(value), str(value), ("no", "yes")[value]))
    if isinstance(value, str):
        return rng.choice((Text(value), f" {value}", value.upper(), value.title(), value.encode(), [value], value * 2))
    return str(value)


def _refusal(decide: Any, said: Any) -> Any:
    """Return what a reader finds wrong with a case; None if nothing."""
    try:
        decide(said)
    except tirerules.CaseError as error:
        return error.problems
    return None


def _packed(rulebook: Rulebook, case: Any) -> Any:
    plan = rulebook.plan(case.jurisdictions, case.activity, case.reading, case.on or "2026-11-25")
    return packed_case(plan, case, lambda: rulebook.rules_of(plan))


def _assert_read_alike(rulebook: Rulebook, said: Any, seen: Counter[str]) -> None:
    problems, plain = _refusal(case_from_json, said), plain_case(said)
    if problems is not None:
        seen["refused"] += 1
        assert plain is None, said
        assert _refusal(rulebook.decide, said) == problems, said
    elif plain is not None:
        seen["read plainly"] += 1
        typed = case_from_json(said)
        assert (plain.jurisdictions, plain.activity, plain.reading) == (
            typed.jurisdictions,
            typed.activity,
            typed.reading,
        )
        assert plain.on == (None if typed.on is None else typed.on.isoformat())
        try:
            assert _packed(rulebook, plain) == _packed(rulebook, typed), said
        except tirerules.UnknownJurisdictionError:
            seen["unknown place"] += 1
    else:
        seen["left to the full reader"] += 1


@pytest.mark.parametrize("part", range(PARTS))
def test_a_case_with_odd_changes_is_read_as_by_the_full_reader(part):
    rng, rulebook = Random(part), everywhere()
    half = CASES_OF_A_PART // 2
    drawn = islice(drawn_cases(rng, builtin_packs()), half)
    simple = [repair_case(tire={"size": "225/45R17"}, repairs={"count": 2}, method="section")] * half
    seen: Counter[str] = Counter()
    for case in (*drawn, *simple):
        _assert_read_alike(rulebook, _mutated(rng, case), seen)
    assert min(seen["refused"], seen["read plainly"], seen["left to the full reader"]) > CASES_OF_A_PART / 50
    assert seen["unknown place"] > 0


@pytest.mark.parametrize(
    "change",
    [
        *({"reading": odd} for odd in (False, 0, [], {}, "Strict", True)),
        *({"on": odd} for odd in ("", 0, "2026-02-29", "2026-11-25T00:00", "٢٠٢٦-11-25", False)),
        *({"method": odd} for odd in ("", [], "glue")),
        *({"repair_unit": odd} for odd in ({}, [], "", False)),
        *({"findings": odd} for odd in ({}, "", "leak", ["leak", None], [["leak"]], ["leak", "leek"], False)),
        *({"injuries": odd} for odd in ({}, "", [None], [{}, None], [[]], False, [{"zone": "crown", "": 1}])),
        *({"jurisdictions": odd} for odd in ([], "US-SC", None, [None], ["US-SC", 1], {"US-SC": 1})),
        *({"tire": odd} for odd in ([], "", False, {"class": ""}, {"class": False}, {"run_flat": 1}, {"size": ""})),
        *({"repairs": {"count": odd}} for odd in (True, 1.0, "1", -1, 0)),
        *({"tire": {"tread_depth": odd}} for odd in (6, "6/32", "6/32in.", "-6 mm", "6 deg", "6 mm to 5 mm", ["6 mm"])),
        {"axle": {"steer": 0}},
        {"Tire": {}},
        {"injuries": [{"reach": "5 mm"}]},
    ],
    ids=str,
)  # fmt: skip
def test_what_looks_like_nothing_is_refused_as_by_the_full_reader(change):
    seen: Counter[str] = Counter()
    _assert_read_alike(everywhere(), {**repair_case(), **change}, seen)
    assert not seen["read plainly"]
    if change not in ({"repair_unit": {}}, {"tire": {"tread_depth": "6/32in."}}):
        assert seen["refused"]
