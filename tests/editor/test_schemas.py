"""What a schema carries for editors: stable names, an explanation of every key and word, and no demand of its own."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from tests.editor import SCHEMA
from tirerules.authoring import schemas
from tirerules.authoring.schemas import words
from tirerules.authoring.schemas.parts import advice, one_of, titled, unprompted
from tirerules.packs import pack, rule
from tirerules.vocabulary import ACTIVITIES, AUTHORITIES, EVIDENCE, FACTS, GROOVES, METHODS, STEPS

#: Written out by hand: who pins a schema by its id, or fetches it by its file name, must find it under both for good.
IDS = {
    "rulepack.schema.json": "urn:tirerules:schema:rulepack:1",
    "case.schema.json": "urn:tirerules:schema:case:1",
    "decision.schema.json": "urn:tirerules:schema:decision:1",
    "brief.schema.json": "urn:tirerules:schema:brief:1",
    "vectors.schema.json": "urn:tirerules:schema:vectors:1",
}
PACK = schemas.build()["rulepack.schema.json"]


def _parts(schema, path=""):
    """Yield every subschema with its path."""
    if isinstance(schema, dict):
        yield path, schema
        for key, part in schema.items():
            yield from _parts(part, f"{path}/{key}")
    elif isinstance(schema, list):
        for index, part in enumerate(schema):
            yield from _parts(part, f"{path}/{index}")


# --- names -----------------------------------------------------------------------------------------------------------


def test_the_ids_of_the_schemas_are_versioned_and_stable():
    files = {file.name: json.loads(file.read_text(encoding="utf-8")) for file in Path(SCHEMA).parent.iterdir()}
    assert {name: schema["$id"] for name, schema in files.items()} == IDS


# --- explanations ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("meanings", "said"),
    [
        (words.ACTIVITIES, ACTIVITIES),
        (words.AUTHORITIES, AUTHORITIES),
        (words.CONDITIONS, rule.RELATIONS),
        (words.COVERAGE, pack.COVERAGE),
        (words.CURRENCY, ("confirmed", "unconfirmed")),
        (words.EVIDENCE, EVIDENCE),
        (words.GROOVES, GROOVES),
        (words.KINDS, pack.KINDS),
        (words.METHODS, METHODS),
        (words.OUTCOMES, pack.OUTCOMES),
        (words.QUESTIONS, FACTS),
        (words.RELATIONS, rule.RELATIONS),
        (words.STEPS, STEPS),
        (words.VERDICT, ("within-limits", "outside-limits", "undetermined")),
    ],
)
def test_every_word_is_explained_in_the_order_of_its_list(meanings, said):
    assert list(meanings) == [str(word) for word in said]
    assert all(meaning.endswith((".", "?", ")")) for meaning in meanings.values())


def test_a_word_without_a_meaning_stops_the_schemas_from_being_written():
    with pytest.raises(KeyError, match="uncharted"):
        words._explained(("charted", "uncharted"), {"charted": "Known."})


def test_every_list_of_words_explains_each_or_none():
    for path, part in _parts(PACK):
        if "enumDescriptions" in part:
            assert len(part["enumDescriptions"]) == len(part["enum"]), path


#: Keys that are not explained where they stand, and why.
_UNEXPLAINED = {
    "not-because": "as below",
    "because": "the checker tells the explanation of a list where the list is empty",
    "values": "as above",
}


def test_every_key_of_a_pack_is_explained():
    bare = {
        (path, key)
        for path, part in _parts(PACK)
        if isinstance(part.get("properties"), dict) and "/if" not in path
        for key, shape in part["properties"].items()
        if not set(shape) <= {"$ref"} and "description" not in shape and key not in _UNEXPLAINED
    }
    assert bare == set()


def test_every_key_of_a_pack_is_headed_by_a_name():
    for path, part in _parts(PACK):
        if isinstance(part.get("properties"), dict) and "/if" not in path:
            for key, shape in part["properties"].items():
                assert set(shape) <= {"$ref"} or shape["title"], f"{path}/{key}"


# --- no demands ------------------------------------------------------------------------------------------------------


def test_what_is_there_for_editors_demands_nothing():
    choices = [(path, part["anyOf"]) for path, part in _parts(PACK) if "anyOf" in part]
    assert choices
    # JSON Schema 2020-12, core 4.3.1: the empty schema takes everything, and one of `anyOf` is enough.
    assert [path for path, options in choices if {} not in options] == []


def test_the_case_of_an_example_is_explained_and_left_to_the_library():
    case = PACK["properties"]["examples"]["items"]["properties"]["case"]
    takes = jsonschema.Draft202012Validator(case).is_valid
    assert not takes([])
    assert takes({"activity": 5, "tire": {"class": ["x"]}, "injuries": {}, "unheard-of": None})
    assert case["anyOf"][1]["properties"]["tire"]["properties"]["class"]["description"] == FACTS["tire.class"].question


# --- the pieces ------------------------------------------------------------------------------------------------------


def test_words_with_meanings_become_an_enum_with_descriptions():
    explained = {"type": "string", "enum": ["a", "b"], "enumDescriptions": ["A.", "B."], "description": "Either."}
    assert one_of({"a": "A.", "b": "B."}, "Either.") == explained
    assert one_of(("a", "b")) == {"type": "string", "enum": ["a", "b"]}


def test_an_unprompted_schema_takes_what_the_schema_takes_and_says_its_own():
    day = {"type": "string", "pattern": "^[0-9]{4}$", "description": "A year.", "examples": ["2026"]}
    part = unprompted(day, "The year it was read.")
    assert part["description"] == "The year it was read."
    assert part["allOf"] == [{"type": "string", "pattern": "^[0-9]{4}$", "examples": ["2026"]}]
    for said in ("2026", "26", 2026, None):
        takes = [jsonschema.Draft202012Validator(each).is_valid(said) for each in (part, day)]
        assert takes[0] is takes[1]


def test_advice_keeps_what_is_said_and_drops_what_is_demanded():
    schema = {
        "type": "object",
        "required": ["a"],
        "additionalProperties": False,
        "description": "Whole.",
        "properties": {
            "a": {"enum": ["x", None], "description": "A."},
            "b": {"type": ["boolean", "null"]},
            "c": {"type": "array", "minItems": 1, "items": {"type": "integer", "minimum": 0}},
            "d": {"type": "string", "pattern": "^x", "examples": ["xy"]},
        },
    }
    assert advice(schema) == {
        "description": "Whole.",
        "properties": {
            "a": {"description": "A.", "examples": ["x"]},
            "b": {"examples": [True, False]},
            "c": {"items": {"examples": [0, 1, 2]}},
            "d": {"examples": ["xy"]},
        },
    }


def test_titles_are_the_names_of_keys_but_for_bare_references_and_single_words():
    schema = {
        "properties": {
            "a": {"type": "string"},
            "b": {"$ref": "#/$defs/c"},
            "d": {"const": 1},
            "e": {"title": "own", "items": {"properties": {"f": {}}}},
        },
        "$defs": {"c": {"type": "string"}},
        "examples": [{"a": "b"}],
    }
    assert titled(schema) == {
        "properties": {
            "a": {"title": "a", "type": "string"},
            "b": {"$ref": "#/$defs/c"},
            "d": {"const": 1},
            "e": {"title": "own", "items": {"properties": {"f": {}}}},
        },
        "$defs": {"c": {"title": "c", "type": "string"}},
        "examples": [{"a": "b"}],
    }
