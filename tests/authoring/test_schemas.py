"""The JSON Schemas: on disk as generated, valid by JSON Schema 2020-12, and naming what the vocabulary names."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import tirerules
from tests.support import injury, pack_text, repair_case
from tirerules import CaseError, documents, words
from tirerules.authoring import schemas
from tirerules.authoring.schemas.groups import groups_text
from tirerules.authoring.schemas.literals import documents_text, words_text
from tirerules.case import groups
from tirerules.data import folder
from tirerules.packs.library import builtin, files_under, read_file
from tirerules.packs.reading import read
from tirerules.packs.rule import RELATIONS
from tirerules.record import case_from_json
from tirerules.vocabulary import (
    ACTIVITIES,
    AUTHORITIES,
    EVIDENCE,
    FACTS,
    FINDINGS,
    GROOVES,
    METHODS,
    PLACES,
    STEPS,
    VERDICTS,
    Dimension,
    Kind,
    facts_of,
)

BUILT = schemas.build()
#: Parts that a figure refers to, which are not put in where it stands.
FORMS = ("relative", *Dimension)


def in_one_piece(schema: Any, defs: dict[str, Any]) -> Any:
    """Return a schema with each named part where it is referred to, and what may be null said in its type."""
    if isinstance(schema, list):
        return [in_one_piece(each, defs) for each in schema]
    if not isinstance(schema, dict):
        return schema
    name = schema.get("$ref", "").removeprefix("#/$defs/")
    if name and name not in FORMS:
        return in_one_piece({**defs[name], **{key: each for key, each in schema.items() if key != "$ref"}}, defs)
    said = {key: in_one_piece(each, defs) for key, each in schema.items()}
    either = said.get("anyOf", [])
    if len(either) == 2 and either[1] == {"type": "null"} and "type" in either[0]:
        del said["anyOf"]
        said = {**either[0], "type": [either[0]["type"], "null"], **said}
    return said


PACK, CASE, DECISION = (
    in_one_piece(BUILT[f"{name}.schema.json"], BUILT[f"{name}.schema.json"]["$defs"])
    for name in ("rulepack", "case", "decision")
)
RULE = PACK["$defs"]["rule"]["properties"]
CASE_PROPERTIES = CASE["properties"]


def _validator(schema):
    """Return a checker that knows no other document: a schema refers to nothing outside itself."""
    return jsonschema.Draft202012Validator(schema)


# --- the files -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", BUILT)
def test_the_file_on_disk_is_what_the_vocabulary_gives(name):
    assert json.loads((folder("schemas") / name).read_text(encoding="utf-8")) == BUILT[name]


def test_the_typed_groups_of_facts_are_what_the_vocabulary_gives():
    assert Path(groups.__file__).read_text(encoding="utf-8") == groups_text()


@pytest.mark.parametrize(
    ("module", "text"), [(words, words_text), (documents, documents_text)], ids=["words", "documents"]
)
def test_the_types_are_what_vocabulary_and_schemas_give(module, text):
    assert Path(module.__file__).read_text(encoding="utf-8") == text()


def test_no_other_file_lies_with_the_schemas():
    assert {file.name for file in folder("schemas").iterdir()} == set(BUILT)


@pytest.mark.parametrize("name", BUILT)
def test_a_schema_is_valid_by_the_2020_12_meta_schema(name):
    # JSON Schema 2020-12, https://json-schema.org/draft/2020-12/schema, as the jsonschema library carries it.
    assert BUILT[name]["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    meta = jsonschema.Draft202012Validator.META_SCHEMA
    assert list(jsonschema.Draft202012Validator(meta).iter_errors(BUILT[name])) == []


def test_rewriting_gives_the_same_bytes(tmp_path):
    schemas.write(str(tmp_path))
    for name in BUILT:
        assert (tmp_path / name).read_bytes() == (folder("schemas") / name).read_bytes()


def test_every_schema_carries_its_format_number():
    assert {schema["$id"] for schema in BUILT.values()} == {
        "urn:tirerules:schema:rulepack:1",
        "urn:tirerules:schema:case:1",
        "urn:tirerules:schema:decision:1",
        "urn:tirerules:schema:brief:1",
        "urn:tirerules:schema:vectors:1",
    }


def _objects(part, path=""):
    """Yield every subschema that describes an object by its keys, with its path."""
    if isinstance(part, dict):
        if isinstance(part.get("properties"), dict) and part.get("type") is not None:
            yield path, part
        for key, inner in part.items():
            yield from _objects(inner, f"{path}/{key}")
    elif isinstance(part, list):
        for index, inner in enumerate(part):
            yield from _objects(inner, f"{path}/{index}")


@pytest.mark.parametrize("name", ["rulepack.schema.json", "case.schema.json", "vectors.schema.json"])
def test_no_object_that_is_sent_takes_a_key_that_is_not_named(name):
    # A body that names its fact is closed by the branch for that fact (see the next test).
    open_ = {path for path, part in _objects(BUILT[name]) if part.get("additionalProperties") is not False}
    bodies = {"limit", "permit", "prohibit"} if name.startswith("rulepack") else set()
    # What only selects, or only offers words to an editor, demands nothing of keys.
    open_ = {
        path for path in open_ if not path.endswith("/if") and "/anyOf/1" not in path and not path.endswith("/allOf/1")
    }
    assert open_ == {f"/$defs/rule/properties/{body}" for body in bodies}


@pytest.mark.parametrize("name", ["decision.schema.json", "brief.schema.json"])
def test_what_is_answered_may_say_more_in_a_later_minor_version(name):
    """Keys may be added, and words but for the verdict and the outcome, which a program must be able to rely on."""
    text = json.dumps({**BUILT[name], "$defs": {**BUILT[name]["$defs"], "PackLock": {}}})
    assert '"additionalProperties": false' not in text
    closed = {tuple(sorted(map(str, each["enum"]))) for each in _closed(BUILT[name])}
    verdicts = tuple(sorted(map(str, VERDICTS)))
    assert closed <= {verdicts, ("fails", "passes", "unknown"), ("False", "None", "True")}
    assert verdicts in closed


def _closed(part: Any) -> Iterator[dict[str, Any]]:
    """Yield every list of words beside which nothing else is accepted."""
    if isinstance(part, dict):
        if "enum" in part:
            yield part
        for key, inner in part.items():
            if key == "anyOf" and {"type": "string"} in inner:
                continue
            yield from _closed(inner)
    elif isinstance(part, list):
        for inner in part:
            yield from _closed(inner)


@pytest.mark.parametrize("body", ["limit", "permit", "prohibit"])
def test_every_fact_a_body_may_name_has_a_closed_branch(body):
    named = RULE[body]["properties"]["fact"]["enum"]
    branches = {fact: each["then"] for each in RULE[body]["allOf"] for fact in each["if"]["properties"]["fact"]["enum"]}
    assert sorted(branches) == sorted(named)
    for branch in branches.values():
        assert branch["additionalProperties"] is False
        assert branch["properties"]["fact"] == {}


# --- the vocabulary in the rule-pack schema --------------------------------------------------------------------------


def test_a_condition_may_test_every_testable_fact_and_no_other():
    assert set(RULE["when"]["properties"]) == {name for name, fact in FACTS.items() if fact.testable}


def test_a_limit_names_every_measured_fact_and_no_other():
    assert set(RULE["limit"]["properties"]["fact"]["enum"]) == {name for name, fact in FACTS.items() if fact.limitable}


@pytest.mark.parametrize("body", ["permit", "prohibit"])
def test_a_permission_names_every_fact_with_single_values_and_no_other(body):
    assert set(RULE[body]["properties"]["fact"]["enum"]) == {name for name, fact in FACTS.items() if fact.choosable}


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (RULE["disqualify"]["properties"]["findings"]["items"]["enum"], FINDINGS),
        (RULE["require"]["properties"]["steps"]["items"]["enum"], STEPS),
        (RULE["activity"]["items"]["enum"], ACTIVITIES),
        (PACK["properties"]["coverage"]["properties"], ACTIVITIES),
        (PACK["properties"]["sources"]["additionalProperties"]["properties"]["authority"]["enum"], AUTHORITIES),
        (PACK["properties"]["sources"]["additionalProperties"]["properties"]["evidence"]["enum"], EVIDENCE),
        (
            PACK["properties"]["examples"]["items"]["properties"]["expect"]["properties"]["questions"]["items"]["enum"],
            FACTS,
        ),
        (
            PACK["properties"]["examples"]["items"]["properties"]["expect"]["properties"]["methods"]["properties"],
            METHODS,
        ),
        (CASE_PROPERTIES["activity"]["enum"], ACTIVITIES),
        (CASE_PROPERTIES["findings"]["items"]["enum"], FINDINGS),
        (CASE_PROPERTIES["method"]["enum"], [*METHODS, None]),
        (CASE_PROPERTIES["repair_unit"]["properties"]["method"]["enum"], METHODS),
        (DECISION["properties"]["activity"]["anyOf"][0]["enum"], ACTIVITIES),
        (DECISION["properties"]["requirements"]["items"]["properties"]["step"]["anyOf"][0]["enum"], STEPS),
        (DECISION["properties"]["methods"]["items"]["properties"]["method"]["anyOf"][0]["enum"], METHODS),
    ],
    ids=[
        "disqualify",
        "require",
        "activity",
        "coverage",
        "authority",
        "evidence",
        "expected questions",
        "expected methods",
        "case activity",
        "case findings",
        "case method",
        "repair unit",
        "decision activity",
        "decision step",
        "decision method",
    ],
)
def test_the_words_of_the_schema_are_those_of_the_vocabulary(found, words):
    assert list(found) == list(words)


@pytest.mark.parametrize("name", [name for name, fact in FACTS.items() if fact.choosable])
def test_the_values_of_a_fact_stand_where_a_rule_names_them(name):
    fact = FACTS[name]
    word = {"type": "boolean"} if fact.kind is Kind.FLAG else {"type": "string", "enum": list(fact.values)}
    for body in ("permit", "prohibit"):
        branch = next(each for each in RULE[body]["allOf"] if name in each["if"]["properties"]["fact"]["enum"])
        assert branch["then"]["properties"]["values"]["items"] == word
    alone = RULE["when"]["properties"][name]["else"]
    assert (alone["else"], alone["then"]["items"]) == (word, word)


@pytest.mark.parametrize("name", [name for name, fact in FACTS.items() if fact.kind is Kind.QUANTITY])
def test_a_figure_refers_to_the_form_of_its_dimension(name):
    form = {"$ref": f"#/$defs/{FACTS[name].dimension}"}
    branch = next(each for each in RULE["limit"]["allOf"] if name in each["if"]["properties"]["fact"]["enum"])
    for relation in RELATIONS:
        assert branch["then"]["properties"][relation]["else"] == form
        if FACTS[name].testable:
            assert RULE["when"]["properties"][name]["properties"][relation] == form


def test_a_form_is_defined_for_every_dimension():
    assert {name for name in PACK["$defs"] if "pattern" in PACK["$defs"][name]} == set(Dimension)


def test_only_tread_depth_is_counted_over_grooves():
    (counted,) = (branch for branch in RULE["limit"]["allOf"] if "counted" in branch["then"]["properties"])
    assert counted["if"]["properties"]["fact"]["enum"] == ["tire.tread_depth"]
    how = counted["then"]["properties"]["counted"]["properties"]
    assert (how["grooves"]["enum"], how["places"]["enum"]) == (list(GROOVES), list(PLACES))


# --- the vocabulary in the case schema -------------------------------------------------------------------------------

_RECORDS = {"injury": "injuries", "repair": "earlier_repairs"}


def _group_schema(group):
    return CASE_PROPERTIES[_RECORDS[group]]["items"] if group in _RECORDS else CASE_PROPERTIES[group]


@pytest.mark.parametrize("group", sorted({fact.group for fact in FACTS.values() if fact.group}))
def test_a_group_of_the_case_takes_the_facts_of_the_table(group):
    assert set(_group_schema(group)["properties"]) == {fact.key for fact in facts_of(group)}


@pytest.mark.parametrize("name", [name for name, fact in FACTS.items() if fact.group and not fact.derived])
def test_a_fact_of_a_case_takes_its_values_or_null_and_carries_its_question(name):
    fact = FACTS[name]
    shape = _group_schema(fact.group)["properties"][fact.key]
    takes = _validator(shape).is_valid
    assert shape["description"] == fact.question
    assert takes(None)
    assert not takes({})
    good = {
        Kind.FLAG: [True, False],
        Kind.COUNT: [0, 2],
        Kind.QUANTITY: ["6 mm"],
        Kind.TEXT: ["225/45R17"],
        Kind.GRID: [[["6 mm", "7 mm"], ["6 mm", "7 mm"]]],
    }.get(fact.kind, fact.values)
    assert all(takes(value) for value in good)
    bad = {Kind.FLAG: "yes", Kind.COUNT: -1, Kind.QUANTITY: 6, Kind.TEXT: 6, Kind.GRID: ["6 mm"]}
    assert not takes(bad.get(fact.kind, "no such word"))


# --- the schemas against the library ---------------------------------------------------------------------------------


@pytest.mark.parametrize("file", list(files_under(builtin())), ids=lambda file: file.name)
def test_a_built_in_pack_is_valid_by_the_schema_as_plain_data(file):
    document, _ = read_file(file)
    assert list(_validator(PACK).iter_errors(document.data)) == []


def _case(**changes):
    case = repair_case(**changes)
    return {key: value for key, value in case.items() if value != "drop"}


CASES = {
    "complete": repair_case(),
    "several places": repair_case(jurisdictions=["US-SC", "US"]),
    "nothing known": {"jurisdictions": ["US"], "activity": "repair"},
    "nulls": repair_case(tire={"load_range": None}, findings=None, earlier_repairs=None, method=None, on=None),
    "not inspected": _case(findings="drop"),
    "range": repair_case(injuries=injury(diameter="5 mm to 6 mm")),
    "width": repair_case(injuries=injury(angle="20 deg ± 2 deg")),
    "earlier repair": repair_case(
        earlier_repairs=[{"zone": "crown", "diameter": "4 mm", "method": "one-piece", "clock": "3:00"}]
    ),
    "repair unit": repair_case(repair_unit={"method": "one-piece", "rated_angle": "35 deg", "document": "sheet 12"}),
    "as enacted": repair_case(reading="as-enacted"),
    "counts": repair_case(repairs={"count": 2, "spacing": "400 mm", "overlap": False}),
}
WRONG_CASES = {
    "no place": repair_case(jurisdictions=[]),
    "no activity": _case(activity="drop"),
    "other activity": repair_case(activity="repare"),
    "unknown key": repair_case(tyre={"class": "passenger"}),
    "unknown fact": repair_case(tire={"klass": "passenger"}),
    "unknown word": repair_case(tire={"class": "car"}),
    "bare number": repair_case(injuries=injury(diameter=5)),
    "yes as text": repair_case(tire={"run_flat": "yes"}),
    "negative count": repair_case(repairs={"count": -1}),
    "unknown finding": repair_case(findings=["leek"]),
    "findings as text": repair_case(findings="leak"),
    "one injury": repair_case(injuries={"kind": "puncture"}),
    "unknown reading": repair_case(reading="lax"),
    "unknown method": repair_case(method="plug"),
    "day as number": repair_case(on=20261125),
    "other day form": repair_case(on="25.11.2026"),
    "unit without angle": repair_case(repair_unit={"method": "one-piece"}),
}


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_schema_and_library_take_the_same_cases(case):
    assert list(_validator(CASE).iter_errors(case)) == []
    assert case_from_json(copy.deepcopy(case)).activity == case["activity"]


@pytest.mark.parametrize("case", WRONG_CASES.values(), ids=WRONG_CASES)
def test_schema_and_library_refuse_the_same_cases(case):
    assert not _validator(CASE).is_valid(case)
    with pytest.raises(CaseError):
        case_from_json(copy.deepcopy(case))


@pytest.fixture(scope="module")
def rulebook():
    return tirerules.load()


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_a_decision_is_valid_by_its_schema(case, rulebook):
    decision = json.loads(json.dumps(tirerules.decision_to_json(rulebook.decide(case))))
    assert list(_validator(DECISION).iter_errors(decision)) == []


_RULE = """\
- id: invented
  says: Invented.
  activity: [repair]
  {body}
  source: text
"""
_FIGURES = st.tuples(
    st.sampled_from(["6", "0.25", ".5", "1/4", "1 1/2", "1-1/2", "1 3/2", "1/0", "-6", "two", "", "1e3"]),
    st.sampled_from(["", " ", "  "]),
    st.sampled_from(["mm", "MM", "Mm", "in", '"', "°", "deg", "lbs", "years", "furlong", "", "mm to 7 mm"]),
).map("".join)


@settings(max_examples=200, deadline=None)
@given(st.sampled_from([fact.name for fact in FACTS.values() if fact.kind is Kind.QUANTITY]), _FIGURES)
def test_the_library_takes_no_figure_that_the_schema_refuses(fact, figure):
    limit = json.dumps({"fact": fact, "at-most": figure})
    text = pack_text(_RULE.replace("{body}", f"limit: {limit}"))
    valid = _validator(PACK).is_valid(read(text.encode(), "invented.yaml").data)
    try:
        tirerules.quantity(figure, FACTS[fact].dimension)
    except tirerules.QuantityError:
        return
    assert valid
