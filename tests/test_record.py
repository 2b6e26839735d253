"""Cases, decisions and locks as JSON: the contract for software in other languages. All tires are invented."""

from __future__ import annotations

import copy
import dataclasses
import json
from collections.abc import Iterator
from datetime import date
from functools import cache
from types import MappingProxyType
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.amounts import law
from tests.engine import SIZE, all_reasons, everywhere, rule, trade, us_case, world
from tests.support import injury, repair_case
from tirerules import (
    CaseError,
    Decision,
    Measured,
    Quantity,
    ReplayError,
    Rulebook,
    Verdict,
    case_from_json,
    case_to_json,
    decision_to_json,
    lock_from_json,
    lock_to_json,
)
from tirerules.engine.parts import PackLock
from tirerules.packs.rule import Rule, Source
from tirerules.packs.schema import schema
from tirerules.record import digest_of, parse
from tirerules.values import Frozen, Value, fields, replace
from tirerules.vocabulary import ACTIVITIES, FACTS, FINDINGS, METHODS, Fact, Kind, facts_of

# --- the schemas ------------------------------------------------------------------------------------------------------


@cache
def validator(name: str) -> Any:
    """Return a validator (jsonschema, a general-purpose library) for one of the schemas that ship."""
    kind = jsonschema.Draft202012Validator
    kind.check_schema(schema(name))
    return kind(schema(name))


def wrong(name: str, said: Any) -> list[str]:
    """Return where `said` breaks a schema, as paths and keywords."""
    return [f"{error.json_path} {error.validator}" for error in validator(name).iter_errors(said)]


EXAMPLES = [
    pytest.param(pack, number, id=f"{pack}-{number}")
    for pack, held in sorted(everywhere().packs.items())
    for number in range(len(held.examples))
]


@pytest.mark.parametrize(("pack", "number"), EXAMPLES)
def test_every_example_of_every_pack_is_decided_in_the_form_of_the_schema(pack, number):
    held = everywhere().packs[pack]
    said = {"on": held.reviewed.isoformat(), **held.examples[number].case}
    if held.kind != "baseline":
        said.setdefault("jurisdictions", [pack])
    case = {**said, "on": str(said["on"])}
    assert wrong("case", case) == []
    assert wrong("decision", decision_to_json(everywhere().decide(case))) == []


def test_the_schema_refuses_what_is_no_decision():
    said = decision_to_json(trade().decide(us_case()))
    assert wrong("decision", said) == []
    assert wrong("decision", {**said, "verdict": "perhaps"}) == ["$.verdict enum"]
    assert wrong("decision", {**said, "case": {**said["case"], "tire": {"class": 1}}}) == ["$.case.tire anyOf"]
    assert wrong("decision", {key: value for key, value in said.items() if key != "digest"}) == ["$ required"]


# --- generated cases --------------------------------------------------------------------------------------------------

TEXTS = {
    "length": ["6 mm", "1/4 in", '1 1/2"', "0.25 in", "5 mm to 6 mm", "6.0 mm ± 0.3 mm", "1 cm", ".5 in", "2 inches"],
    "angle": ["20 deg", "25°", "0 deg", "10 deg to 20 deg"],
    "mass": ["1900 kg", "10000 lb", "4000 lbs ± 100 lbs"],
    "time": ["6 years", "18 months", "1 day to 2 days"],
}
#: Facts from which others follow must agree with them, so a case made of any values at all leaves them out.
FOLLOWED = (
    *("tire.size", "tire.date_code", "tire.crack_depth", "tire.cracks_reach_plies", "tire.tread_grid"),
    "repairs.count",
)


def value_of(fact: Fact) -> st.SearchStrategy[Any]:
    if fact.kind is Kind.QUANTITY:
        return st.sampled_from(TEXTS[str(fact.dimension)])
    if fact.kind is Kind.FLAG:
        return st.booleans()
    if fact.kind is Kind.COUNT:
        return st.integers(0, 60)
    return st.sampled_from(fact.values)


def block(group: str) -> st.SearchStrategy[dict[str, Any]]:
    """Return blocks of a case, each fact of which may be left out, be null (unknown) or be known."""
    facts = [fact for fact in facts_of(group) if fact.name not in FOLLOWED and fact.kind is not Kind.TEXT]
    return st.fixed_dictionaries({}, optional={fact.key: st.none() | value_of(fact) for fact in facts})


case_documents = st.fixed_dictionaries(
    {
        "jurisdictions": st.lists(st.sampled_from(["US-SC", "US", "CA", "US-NJ", "CA-ON"]), min_size=1, max_size=3),
        "activity": st.sampled_from(["repair", "used-tire-installation", "tire-sale", "road-use", "inspection"]),
    },
    optional={
        "on": st.dates(date(1960, 1, 1), date(2060, 12, 31)).map(date.isoformat),
        "tire": block("tire"),
        "vehicle": block("vehicle"),
        "axle": block("axle"),
        "shop": block("shop"),
        "sale": block("sale"),
        "repairs": block("repairs"),
        "injuries": st.none() | st.lists(block("injury"), min_size=1, max_size=3),
        "earlier_repairs": st.none() | st.lists(block("repair"), max_size=3),
        "findings": st.none() | st.lists(st.sampled_from(FINDINGS), unique=True, max_size=4),
        "method": st.none() | st.sampled_from(METHODS),
        "reading": st.sampled_from(["strict", "as-enacted"]),
        "repair_unit": st.fixed_dictionaries(
            {"method": st.sampled_from(METHODS), "rated_angle": st.sampled_from(["15 deg", "35°"])},
            optional={"document": st.none() | st.sampled_from(["", "invented data sheet 12"])},
        ),
    },
)


@given(case_documents)
def test_a_case_survives_the_way_to_json_and_back(said):
    case = case_from_json(said)
    there = case_to_json(case)
    assert case_from_json(there) == case
    assert case_to_json(case_from_json(parse(json.dumps(there)))) == there
    assert wrong("case", said) == wrong("case", there) == []


@given(case_documents)
def test_a_case_written_as_json_says_what_was_said_and_nothing_more(said):
    """Every known value stands where it was, as it was written; nothing that was unknown has become known."""

    def known(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
        if isinstance(value, dict):
            for key, each in value.items():
                yield from known(each, f"{path}.{key}")
        elif isinstance(value, list) and path not in (".findings", ".jurisdictions"):
            yield f"{path}#", len(value)
            for number, each in enumerate(value):
                yield from known(each, f"{path}[{number}]")
        elif value is not None:
            yield path, sorted(value) if path == ".findings" else value

    there = dict(known(case_to_json(case_from_json(said))))
    assert there == {".reading": "strict", **dict(known(said))}


@law(case_documents, examples=25)
def test_every_decision_has_the_form_of_the_schema(said):
    decision = everywhere().decide(said)
    there = decision_to_json(decision)
    assert wrong("decision", there) == []
    assert parse(json.dumps(there)) == there
    assert there["digest"] == digest_of(there)


@law(case_documents, examples=25)
def test_a_decision_decides_its_own_case_again(said):
    there = decision_to_json(everywhere().decide(said))
    assert decision_to_json(everywhere().decide(there["case"])) == there


# --- what is refused --------------------------------------------------------------------------------------------------


def problems(said: Any) -> dict[str, tuple[str, str]]:
    """Return the code and message of every problem with a case, by path."""
    with pytest.raises(CaseError) as caught:
        case_from_json(said)
    assert len({each.path for each in caught.value.problems}) == len(caught.value.problems)
    return {each.path: (each.code, each.message) for each in caught.value.problems}


def test_all_problems_of_a_case_are_told_at_once_each_with_its_path():
    found = problems(
        {
            "jurisdictions": "US-SC",
            "activity": 7,
            "on": "2026-02-30",
            "tyre": {},
            "tire": {"class": "pasenger", "retread": "no", "tread_depth": 4, "tred_depth": "4 mm", "age": "6 mm"},
            "vehicle": ["truck"],
            "injuries": [{"diameter": "1/4"}, {"zone": "tread", "angle": "95 deg"}, "a nail"],
            "earlier_repairs": {"zone": "crown"},
            "findings": "none",
            "repairs": {"count": "two"},
            "repair_unit": {"rated_angle": "35 mm"},
        }
    )
    assert set(found) == {
        "jurisdictions",
        "activity",
        "on",
        "tyre",
        "tire.class",
        "tire.retread",
        "tire.tread_depth",
        "tire.tred_depth",
        "tire.age",
        "vehicle",
        "injuries[0].diameter",
        "injuries[1].zone",
        "injuries[1].angle",
        "injuries[2]",
        "earlier_repairs",
        "findings",
        "repairs.count",
        "repair_unit.rated_angle",
        "repair_unit.method",
    }
    assert {found[path][0] for path in ("tyre", "tire.tred_depth")} == {"case-key"}
    assert {found[path][0] for path in ("tire.tread_depth", "tire.age", "injuries[0].diameter")} == {"quantity"}


@pytest.mark.parametrize(
    ("said", "path", "hint"),
    [
        ({"tyre": {}}, "tyre", "did you mean tire?"),
        ({"tire": {"clas": "bus"}}, "tire.clas", "did you mean class?"),
        ({"tire": {"class": "pasenger"}}, "tire.class", "did you mean passenger?"),
        ({"injuries": [{"zone": "crwn"}]}, "injuries[0].zone", "did you mean crown?"),
        ({"tire": {"tread_depth": 4}}, "tire.tread_depth", 'write "4 mm" or "4 in"'),
        ({"on": "11/25/2026"}, "on", "write YYYY-MM-DD"),
        ({"on": "2026-1-5"}, "on", "write YYYY-MM-DD"),
    ],
)
def test_a_problem_says_what_to_write_instead(said, path, hint):
    with pytest.raises(CaseError) as caught:
        case_from_json({"jurisdictions": ["US"], "activity": "repair", **said})
    assert [(each.path, each.hint) for each in caught.value.problems] == [(path, hint)]


@pytest.mark.parametrize("said", [None, {}, [], "case", 7, True], ids=repr)
def test_what_names_no_place_and_no_activity_is_no_case(said):
    found = problems(said)
    assert {"jurisdictions", "activity"} <= set(found)


@pytest.mark.parametrize("key", ["jurisdictions", "activity"])
def test_place_and_activity_cannot_be_left_unknown(key):
    assert set(problems({"jurisdictions": ["US"], "activity": "repair", key: None})) == {key}
    assert wrong("case", {"jurisdictions": ["US"], "activity": "repair", key: None}) != []


# --- null is unknown --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name",
    [
        "findings",
        "method",
        *(
            fact.name
            for group in dict.fromkeys(fact.group for fact in FACTS.values() if fact.group)
            for fact in facts_of(group)
        ),
    ],
)
def test_null_says_unknown(name):
    group, _, key = name.rpartition(".")
    lists = {"injury": "injuries", "repair": "earlier_repairs"}
    plain: dict[str, Any] = {"jurisdictions": ["US"], "activity": "road-use", "injuries": [{}], "earlier_repairs": [{}]}
    if group in lists:
        said = {**plain, lists[group]: [{key: None}]}
    elif group:
        said = {**plain, group: {key: None}}
    else:
        said = {**plain, key: None}
    assert case_from_json(said) == case_from_json(plain)
    assert wrong("case", said) == []


@pytest.mark.parametrize("key", ["on", "method", "repair_unit", "injuries", "earlier_repairs", "findings"])
def test_null_is_as_good_as_nothing(key):
    plain = {"jurisdictions": ["US"], "activity": "road-use"}
    assert case_from_json({**plain, key: None}) == case_from_json(plain)
    assert wrong("case", {**plain, key: None}) == []


def test_an_empty_list_is_not_the_same_as_an_unknown_one():
    plain = {"jurisdictions": ["US"], "activity": "road-use"}
    for key in ("findings", "earlier_repairs", "injuries"):
        case = case_from_json({**plain, key: []})
        assert case != case_from_json(plain)
        assert case_to_json(case)[key] == []


# --- strict JSON ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ('{"activity": "repair", "activity": "road-use"}', "json-duplicate"),
        ('{"tire": {"class": "bus", "class": "bus"}}', "json-duplicate"),
        ('[{"zone": "crown", "zone": null}]', "json-duplicate"),
        ('{"age": NaN}', "json-constant"),
        ('{"age": Infinity}', "json-constant"),
        ('{"age": -Infinity}', "json-constant"),
        ("", "json-syntax"),
        ("{", "json-syntax"),
        ("{} {}", "json-syntax"),
        ("{'a': 1}", "json-syntax"),
        ('{"a": 01}', "json-syntax"),
        ('{"a": 1,}', "json-syntax"),
        ("[" * 100_000, "json-syntax"),
        ('{"a":' * 100_000, "json-syntax"),
        ('{"count": ' + "9" * 5_000 + "}", "json-syntax"),
        ('{"count": -' + "9" * 5_000 + "}", "json-syntax"),
    ],
    ids=[
        "duplicate key",
        "duplicate key in a block",
        "duplicate key in a list",
        "NaN",
        "Infinity",
        "minus Infinity",
        "empty",
        "cut off",
        "two documents",
        "single quotes",
        "leading zero",
        "trailing comma",
        "nested lists",
        "nested blocks",
        "huge number",
        "huge negative number",
    ],
)
def test_json_that_readers_take_in_different_ways_is_refused(text, code):
    with pytest.raises(CaseError) as caught:
        parse(text)
    assert [each.code for each in caught.value.problems] == [code]


def test_the_place_of_a_mistake_in_json_is_told():
    with pytest.raises(CaseError) as caught:
        parse('{\n "activity": repair\n}')
    assert [(each.line, each.column) for each in caught.value.problems] == [(2, 14)]


def test_good_json_is_read_as_it_stands():
    text = '{"a": [1, -2.5, "é \\u00e9", true, false, null, {}]}'
    assert parse(text) == json.loads(text)


# --- digests ----------------------------------------------------------------------------------------------------------


@cache
def recorded() -> dict[str, Any]:
    """Return a decision with methods, questions, notices and requirements."""
    case = repair_case(injuries=injury(diameter=None), tire={"run_flat": True}, vehicle={"use": None})
    return decision_to_json(everywhere().decide(case))


def leaves(said: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Yield the path of every value that is no list and no block."""
    if isinstance(said, (dict, list)):
        for key, value in said.items() if isinstance(said, dict) else enumerate(said):
            yield from leaves(value, (*path, key))
    else:
        yield path


def test_the_digest_is_that_of_any_other_sha_256():
    # From `printf '%s' '{"a":"\u00e9","b":[1,null,true]}' | sha256sum` (GNU coreutils).
    digest = "9f7d338ad91483cf3fce982c954777f9009f687e66fdc4b8033df92f8f341cf6"
    assert digest_of({"b": [1, None, True], "a": "é"}) == f"sha256:{digest}"
    assert digest_of({"a": "é", "b": [1, None, True], "digest": "whatever"}) == f"sha256:{digest}"


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_any_change_changes_the_digest(data):
    said = copy.deepcopy(recorded())
    before = said.pop("digest")
    *way, last = data.draw(st.sampled_from(sorted(leaves(said), key=str)))
    spot = said
    for step in way:
        spot = spot[step]
    value = spot[last]
    changes = {bool: lambda: not value, int: lambda: value + 1, str: lambda: value + " "}
    spot[last] = changes.get(type(value), lambda: "was null")()
    assert digest_of(said) != before
    spot[last] = value
    assert digest_of(said) == before


def test_leaving_something_out_changes_the_digest():
    for key in recorded():
        if key != "digest":
            assert digest_of({name: value for name, value in recorded().items() if name != key}) != recorded()["digest"]


def test_the_order_of_keys_does_not_change_the_digest():
    assert digest_of(dict(reversed(recorded().items()))) == recorded()["digest"]


def test_each_answer_has_a_digest_of_its_own():
    digests = {
        decision_to_json(trade().decide(us_case(**changes)))["digest"]
        for changes in ({}, {"on": "2026-11-24"}, {"reading": "as-enacted"}, {"injuries": injury(diameter="5.0 mm")})
    }
    assert len(digests) == 4


# --- what a decision says as JSON -------------------------------------------------------------------------------------


def test_the_stable_names_of_a_decision():
    said = decision_to_json(everywhere().decide(repair_case(injuries=injury(diameter="8 mm", angle=None))))
    assert said["verdict"] == "outside-limits"
    assert said["say"] == "Not repairable within the limits"
    assert [(each["method"], each["verdict"]) for each in said["methods"]] == [
        ("one-piece", "outside-limits"),
        ("two-piece", "outside-limits"),
        ("section", "outside-limits"),
    ]
    limits = said["limits"]["injury.diameter"]
    assert limits["at_most"] == "6 mm"
    assert limits["binding"] == ["industry/puncture-size"]
    (reason,) = [each for each in said["reasons"] if each["rule"] == "industry/puncture-size"]
    assert {key: reason[key] for key in ("fact", "measured", "limit", "outcome", "applies", "evidence")} == {
        "fact": "injury.diameter",
        "measured": "8 mm",
        "limit": "at most 6 mm",
        "outcome": "fails",
        "applies": True,
        "evidence": "secondary",
    }
    assert reason["citation"]
    assert said["packs"].keys() == {"US", "US-SC", "industry"}
    assert said["on"] == said["case"]["on"] == "2026-11-25"


def test_a_question_comes_with_its_words():
    said = decision_to_json(trade().decide(us_case(tire={"tread_depth": None})))
    assert said["questions"] == [
        {
            "fact": "tire.tread_depth",
            "ask": FACTS["tire.tread_depth"].question,
            "unit": "mm or in",
            "kind": "quantity",
            "units": ["mm", "in"],
            "several": False,
            "path": "/tire/tread_depth",
        }
    ]


@pytest.mark.parametrize("reading", ["strict", "as-enacted"])
def test_a_ladder_shows_both_printed_figures(reading):
    said = decision_to_json(trade().decide(us_case(reading=reading)))
    rung = next(
        each for each in said["limits"]["injury.diameter"]["ladder"] if each["rule"] == "industry/puncture-size"
    )
    assert (rung["as_enacted"], rung["also_printed"]) == ("at most 1/4 in", "6 mm")
    assert rung["limit"] == {"strict": "at most 6 mm", "as-enacted": "at most 1/4 in"}[reading]


def test_the_cautions_travel_with_every_answer():
    """The design's list: no legal advice, dismount and inspect, trained persons only."""
    for case in (us_case(), us_case(injuries=injury(diameter="8 mm")), us_case(findings=None)):
        cautions = " ".join(decision_to_json(trade().decide(case))["cautions"])
        assert "Not legal advice" in cautions
        assert "Dismount the tire and inspect it inside and outside" in cautions
        assert "Only trained persons repair tires" in cautions


def test_what_the_library_itself_could_not_let_pass_cites_no_source():
    said = decision_to_json(trade().decide(us_case(tire={"class": "agricultural"})))
    (reason,) = [each for each in said["methods"][0]["reasons"] if each["rule"] == "engine/limit-located"]
    assert reason.keys().isdisjoint({"citation", "authority", "evidence"})


@pytest.mark.parametrize(
    ("activity", "verdict", "say"),
    [
        ("repair", "within-limits", "Repairable within the limits, by the one-piece method"),
        ("used-tire-installation", "within-limits", "May be installed as a used tire"),
        ("used-tire-installation", "outside-limits", "May not be installed as a used tire"),
        ("used-tire-sale", "outside-limits", "May not be sold as a used tire"),
        ("tire-sale", "outside-limits", "May not be sold"),
        ("tire-sale", "within-limits", "May be sold"),
        ("road-use", "outside-limits", "May not be used on the road"),
        ("road-use", "within-limits", "May be used on the road"),
        ("repair", "outside-limits", "Not repairable within the limits"),
        *((activity, "undetermined", "Cannot be told yet") for activity in ACTIVITIES),
    ],
)
def test_the_words_for_people_follow_the_activity(activity, verdict, say):
    fails = rule("tread", "limit: {fact: tire.tread_depth, at-least: 2 mm}", activity=", ".join(ACTIVITIES))
    depth = {"within-limits": "8 mm", "outside-limits": "0.5 mm", "undetermined": None}[verdict]
    injuries = injury() if activity == "repair" else []
    case = us_case(activity=activity, injuries=injuries, tire={"tread_depth": depth}, method=None)
    said = decision_to_json(world(SIZE + fails).decide(case))
    assert (said["verdict"], said["say"]) == (verdict, say)


# --- decisions cannot be changed --------------------------------------------------------------------------------------


def parts(value: Any, seen: set[int]) -> Iterator[Any]:
    """Yield `value` and everything in it that is no plain text, number or the like."""
    if id(value) in seen:
        return
    seen.add(id(value))
    yield value
    if isinstance(value, Value):
        inside = [getattr(value, each) for each in fields(value)]
    elif isinstance(value, Decision):
        names = [name for name, said in vars(Decision).items() if isinstance(said, property) and name[0] != "_"]
        inside = [getattr(value, name) for name in names]
    elif isinstance(value, (MappingProxyType, dict)):
        inside = list(value.values())
    else:
        inside = list(value) if isinstance(value, (tuple, list, set, frozenset)) else []
    for each in inside:
        yield from parts(each, seen)


def decided() -> Decision:
    return everywhere().decide(repair_case(injuries=injury(angle=None), tire={"tread_depth": None}))


def test_everything_in_a_decision_is_immutable():
    decision = decided()
    found = list(parts(decision, set()))
    assert not [value for value in found if isinstance(value, (list, dict, set, bytearray))]
    assert not [value for value in found if dataclasses.is_dataclass(value)]
    records = [value for value in found if isinstance(value, Frozen) and value is not decision]
    assert len({type(value) for value in records}) > 10
    assert {Rule, Source, Quantity} < {type(value) for value in records}
    for value in records:
        name = "text" if isinstance(value, (Quantity, Measured)) else fields(value)[0]
        with pytest.raises(AttributeError):
            setattr(value, name, None)
    for name in ("verdict", "limits", "reasons", "anything"):
        with pytest.raises(AttributeError):
            setattr(decision, name, None)


def test_the_mappings_of_a_decision_refuse_a_change():
    decision = decided()
    for mapping in (decision.limits, decision.packs):
        assert isinstance(mapping, MappingProxyType)
        assert len(mapping) > 0


def test_changing_the_json_of_a_decision_does_not_change_the_decision():
    decision = decided()
    said = decision_to_json(decision)
    said["case"]["jurisdictions"].append("US-NJ")
    said["limits"].clear()
    said["methods"][0]["verdict"] = "within-limits"
    assert decision.case.jurisdictions == ("US-SC",)
    assert decision.verdict is Verdict.UNDETERMINED
    assert decision_to_json(decision) != said


def test_changing_a_case_after_the_decision_changes_nothing():
    case = repair_case()
    decision = everywhere().decide(case)
    before = decision_to_json(decision)
    case["injuries"][0]["diameter"] = "60 mm"
    case["findings"].append("bulge")
    assert decision_to_json(decision) == before


def test_every_reason_names_a_rule_of_a_pack_that_the_decision_records():
    decision = decided()
    assert {reason.rule.partition("/")[0] for reason in all_reasons(decision)} <= set(decision.packs)


# --- locks ------------------------------------------------------------------------------------------------------------


def test_a_lock_survives_the_way_to_json_and_back():
    lock = everywhere().lock
    assert lock_from_json(lock_to_json(lock)) == dict(lock)
    assert lock_from_json(parse(json.dumps(lock_to_json(lock)))) == dict(lock)
    assert list(lock_to_json(lock)) == sorted(lock)


def test_a_lock_is_read_from_a_decision():
    decision = decided()
    assert lock_from_json(decision_to_json(decision)["packs"]) == dict(decision.packs)
    assert all(isinstance(entry, PackLock) and len(entry.sha256) == 64 for entry in decision.packs.values())


def test_a_lock_says_which_packs_were_put_in_place_of_what_ships():
    packs = [replace(held, replaces=held.id == "industry") for held in everywhere().packs.values()]
    decision = Rulebook(packs).decide(repair_case())
    said = decision_to_json(decision)
    assert wrong("decision", said) == []
    assert [pack for pack, entry in said["packs"].items() if "replaces" in entry] == ["industry"]
    assert said["packs"]["industry"]["replaces"] is True
    assert lock_from_json(said["packs"]) == dict(decision.packs)
    assert [each["kind"] for each in said["notices"]].count("replaced") == 1


@pytest.mark.parametrize(
    "said", [None, [], "lock", 7, {"US": None}, {"US": "1.0.0"}, {"US": {"version": "1.0.0"}}, {"US": []}], ids=repr
)
def test_what_is_no_lock_is_refused(said):
    with pytest.raises(ReplayError) as caught:
        lock_from_json(said)
    assert [(each.code, each.path) for each in caught.value.problems] == [("lock", "packs")]
