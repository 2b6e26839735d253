"""Columns in, columns out: equal to the single decision, row by row; bad rows set aside, none lost."""

from __future__ import annotations

import json
from datetime import date
from random import Random

import pyarrow as pa
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import tirerules
from tests.batch.tickets import PLAIN, few_places, generated_cases, row_of, table_of
from tirerules import TirerulesError, Verdict
from tirerules.batch import (
    ANSWER_SCHEMA,
    QUESTION_FACTS,
    BatchError,
    decide_batch,
    decide_batches,
    questions_of,
)
from tirerules.vocabulary import FACTS

DAY = date(2026, 11, 25)
SIZE, TREAD = "injury.diameter", "tire.tread_depth"
WORDS = {"at_most": "at most", "less_than": "less than", "at_least": "at least", "more_than": "more than"}


def told(case):
    """Return what the single decision says of a case, written down a second time."""
    decision = few_places().decide(case)
    best = [each for each in decision.methods if each.method == decision.limits_method]
    reasons = [*decision.reasons, *(reason for each in best for reason in each.reasons)]
    failing = next((reason for reason in reasons if reason.outcome == "fails"), None)
    said = {
        "verdict": str(decision.verdict),
        "method": decision.limits_method,
        "failing_rule": failing and failing.rule,
        "failing_fact": failing and failing.fact,
        "questions": {question.fact for question in decision.questions},
    }
    for name, fact in (("size", SIZE), ("tread", TREAD)):
        limits = decision.limits.get(fact)
        figures = [f"{word} {getattr(limits, key)}" for key, word in WORDS.items() if limits and getattr(limits, key)]
        said[f"{name}_limit"] = ", ".join(figures) or None
        said[f"{name}_rule"] = (limits and ",".join(limits.binding)) or None
    return said


def by_row(table):
    return {row.pop("row"): row for row in table.to_pylist()}


# --- the same as one by one


def test_every_row_equals_the_single_decision():
    cases = generated_cases(250)
    rng = Random(1)
    rows = [row_of(case, rng) for case in cases for _ in range(2)]
    order = list(range(len(rows)))
    rng.shuffle(order)
    answered = decide_batch(few_places(), table_of([rows[at] for at in order]), day=DAY)
    assert answered.set_aside.to_pylist() == []
    answers = by_row(answered.answers)
    expected = [told(case) for case in cases]
    for row, at in enumerate(order):
        answers[row]["questions"] = set(questions_of(answers[row]["questions"]))
        assert answers[row] == expected[at // 2], cases[at // 2]
    verdicts = {each["verdict"] for each in expected}
    assert verdicts == set(map(str, Verdict)), "the cases must tell the verdicts apart"
    failing = [each["failing_rule"] for each in expected if each["verdict"] == "outside-limits"]
    assert None not in failing
    assert any(each["questions"] for each in expected)


@pytest.mark.parametrize("encode", [False, True])
@pytest.mark.parametrize("kind", [pa.string(), pa.large_string(), pa.string_view()])
def test_text_may_be_plain_or_dictionary_encoded_whatever_its_width(kind, encode):
    rows = [PLAIN, {**PLAIN, "injury.diameter": None}, {**PLAIN, "jurisdictions": "US-SC, US-GA"}]
    plain = table_of(rows)
    wanted = decide_batch(few_places(), plain).answers
    if encode:
        wide = pa.table(
            {name: column.dictionary_encode().cast(pa.dictionary(pa.int16(), kind)) for name, column in zip_(plain)}
        )
    else:
        wide = pa.table({name: column.cast(kind) for name, column in zip_(plain)})
    assert decide_batch(few_places(), wide).answers.equals(wanted)


def test_a_null_among_the_values_of_a_dictionary_is_a_null():
    rows = [PLAIN, {**PLAIN, "injury.diameter": None}, {**PLAIN, "jurisdictions": None}, {**PLAIN, "findings": None}]
    table = table_of(rows)
    names = {name: list(dict.fromkeys(column.to_pylist())) for name, column in zip_(table)}
    encoded = {
        name: pa.DictionaryArray.from_arrays([names[name].index(value) for value in column.to_pylist()], names[name])
        for name, column in zip_(table)
    }
    assert encoded["injury.diameter"].null_count == 0
    found, wanted = decide_batch(few_places(), pa.table(encoded)), decide_batch(few_places(), table)
    assert (found.answers, found.set_aside) == (wanted.answers, wanted.set_aside)


def zip_(table):
    return zip(table.column_names, table.columns, strict=True)


def test_chunks_with_dictionaries_of_their_own():
    one, other = (table_of([{**PLAIN, "injury.diameter": size}]) for size in ("5 mm", "9 mm"))
    parts = [pa.table({name: column.dictionary_encode() for name, column in zip_(each)}) for each in (one, other)]
    found = decide_batch(few_places(), pa.concat_tables([*parts, parts[0]])).answers
    assert found["verdict"].to_pylist() == ["within-limits", "outside-limits", "within-limits"]


def test_lists_flags_counts_and_dates_by_their_own_types():
    typed = {
        "jurisdictions": pa.array([["US-SC", "US-GA"]]),
        "findings": pa.array([[]], pa.list_(pa.string())),
        "on": pa.array([date(2026, 11, 25)], pa.date32()),
        "tire.sealant_layer": pa.array([False]),
        "repairs.count": pa.array([1], pa.int16()),
    }
    texts = {
        "jurisdictions": "US-SC,US-GA",
        "findings": "none",
        "on": "2026-11-25",
        "tire.sealant_layer": "no",
        "repairs.count": "1",
    }
    table = table_of([PLAIN])
    for name, column in typed.items():
        if name in table.column_names:
            table = table.drop_columns([name])
        table = table.append_column(name, column)
    answered = decide_batch(few_places(), table)
    assert answered.answers.equals(decide_batch(few_places(), table_of([{**PLAIN, **texts}])).answers)
    assert answered.answers["verdict"].to_pylist() == ["within-limits"]


def test_a_null_is_unknown_and_never_no():
    silent = ("findings", "earlier_repairs", "tire.tread_depth", "injury.diameter", "tire.class")
    rows = [PLAIN, *({**PLAIN, name: None} for name in silent)]
    verdicts = decide_batch(few_places(), table_of(rows)).answers["verdict"].to_pylist()
    assert verdicts == ["within-limits"] + ["undetermined"] * len(silent)


def test_a_null_among_words_is_set_aside_not_dropped():
    table = table_of([PLAIN]).drop_columns(["findings"]).append_column("findings", pa.array([["boot", None]]))
    answered = decide_batch(few_places(), table)
    assert answered.answers.num_rows == 0
    assert "'null' is no finding" in answered.set_aside["reason"][0].as_py()


def test_columns_of_blocks_are_the_columns_that_they_hold():
    flat = table_of([PLAIN, {**PLAIN, "tire.class": None}])
    columns: dict[str, dict[str, list[object]]] = {}
    for name, column in zip_(flat):
        group, _, key = name.rpartition(".")
        columns.setdefault(group, {})[key] = column.to_pylist()
    plain = columns.pop("")
    blocks = {
        group: [dict(zip(parts, row, strict=True)) for row in zip(*parts.values(), strict=True)]
        for group, parts in columns.items()
    }
    assert set(blocks) == {"tire", "vehicle", "injury"}
    found = decide_batch(few_places(), pa.table(plain | blocks)).answers
    assert found.equals(decide_batch(few_places(), flat).answers)
    blocks["tire"][0] = None  # a block that is null says of nothing in it what it is
    verdicts = decide_batch(few_places(), pa.table(plain | blocks)).answers["verdict"].to_pylist()
    assert verdicts == ["undetermined", "undetermined"]


def test_several_injuries_as_json_and_one_earlier_repair_in_columns():
    row = {key: value for key, value in PLAIN.items() if not key.startswith("injury.") and key != "earlier_repairs"}
    several = [
        {"kind": "puncture", "zone": "crown", "diameter": "5 mm", "angle": "10 deg", "clock": "3:00"},
        {"kind": "puncture", "zone": "sidewall", "diameter": "5 mm", "angle": "10 deg", "clock": "9:00"},
    ]
    earlier = {"repair.zone": "crown", "repair.diameter": "4 mm", "repair.method": "one-piece", "repair.clock": "6:00"}
    table = table_of([{**row, "injuries": json.dumps(several), **earlier}])
    nested = {
        "jurisdictions": ["US-SC"],
        "activity": "repair",
        "on": "2026-11-25",
        "tire": {"class": "passenger", "sealant_layer": False, "tread_depth": "6/32 in"},
        "vehicle": {"kind": "passenger-car", "use": "private"},
        "injuries": several,
        "findings": [],
        "earlier_repairs": [{"zone": "crown", "diameter": "4 mm", "method": "one-piece", "clock": "6:00"}],
    }
    (answer,) = decide_batch(few_places(), table).answers.to_pylist()
    answer["questions"] = set(questions_of(answer["questions"]))
    assert answer == {"row": 0, **told(nested)}
    assert answer["verdict"] == "outside-limits"


def test_a_row_without_a_day_is_decided_for_the_day_of_the_batch_and_the_answers_say_which():
    table = table_of([{**PLAIN, "on": None, "jurisdictions": "US-NJ"}])
    answers = decide_batch(few_places(), table, day=date(1990, 1, 1)).answers
    assert answers.schema.metadata[b"tirerules.day"] == b"1990-01-01"
    assert answers["verdict"].to_pylist() == [str(few_places().decide(nested(date(1990, 1, 1))).verdict)]
    today = decide_batch(few_places(), table).answers.schema.metadata[b"tirerules.day"].decode()
    assert abs(date.fromisoformat(today) - date.today()).days <= 1


def nested(on):
    return {
        "jurisdictions": ["US-NJ"],
        "activity": "repair",
        "on": on.isoformat(),
        "tire": {"class": "passenger", "sealant_layer": False, "tread_depth": "6/32 in"},
        "vehicle": {"kind": "passenger-car", "use": "private"},
        "injuries": [{"kind": "puncture", "zone": "crown", "diameter": "5 mm", "angle": "20 deg"}],
        "findings": [],
        "earlier_repairs": [],
    }


# --- the answers' form


def test_the_answers_have_the_documented_schema_and_then_what_is_kept():
    table = table_of([{**PLAIN, "ticket": 7}, {**PLAIN, "ticket": 8, "injury.diameter": "5"}])
    answered = decide_batch(few_places(), table, keep=["ticket", "jurisdictions"], first_row=100)
    assert answered.answers.select(ANSWER_SCHEMA.names).schema.equals(ANSWER_SCHEMA, check_metadata=False)
    assert answered.answers.column_names == [*ANSWER_SCHEMA.names, "ticket", "jurisdictions"]
    assert (answered.answers["row"].to_pylist(), answered.answers["ticket"].to_pylist()) == ([100], [7])
    (aside,) = answered.set_aside.to_pylist()
    reason = '[quantity] at injuries[0].diameter \'5\' is a bare number without a unit -- write "5 mm" or "5 in"'
    assert aside == {"row": 101, "reason": reason, "ticket": 8, "jurisdictions": "US-SC"}


def test_question_bits_fit_a_signed_integer_and_name_every_fact_that_can_be_asked():
    assert len(QUESTION_FACTS) <= 63
    assert set(QUESTION_FACTS) == {name for name, fact in FACTS.items() if not fact.derived}
    assert json.loads(ANSWER_SCHEMA.metadata[b"tirerules.questions"]) == list(QUESTION_FACTS)
    bits = 1 | 1 << len(QUESTION_FACTS) - 1
    assert questions_of(bits) == (QUESTION_FACTS[0], QUESTION_FACTS[-1])
    assert pa.array([sum(1 << at for at in range(len(QUESTION_FACTS)))], pa.int64())[0].as_py() > 0


def test_an_empty_table_has_no_answers_and_the_same_schema():
    answered = decide_batch(few_places(), table_of([PLAIN]).slice(0, 0))
    assert (answered.answers.num_rows, answered.set_aside.num_rows) == (0, 0)
    assert answered.answers.schema.equals(ANSWER_SCHEMA, check_metadata=False)


def test_a_stream_numbers_its_rows_through():
    batches = table_of([PLAIN] * 5).to_batches(max_chunksize=2)
    found = [answered.answers["row"].to_pylist() for answered in decide_batches(few_places(), batches, first_row=10)]
    assert found == [[10, 11], [12, 13], [14]]
    reader = pa.RecordBatchReader.from_batches(batches[0].schema, batches)
    assert [each.answers.num_rows for each in decide_batches(few_places(), reader)] == [2, 2, 1]


# --- what is refused, and what is set aside


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"injury.diametre": "5 mm"}, "unknown column 'injury.diametre' -- did you mean injury.diameter?"),
        ({"ticket": "A"}, "a column that is only to be carried through must be named (keep)"),
        ({"injury.reach": "5 mm"}, "unknown column 'injury.reach'"),
        ({"injury.diameter": 5.0}, 'the column holds double -- give text; a quantity with its unit, such as "5 mm"'),
        (
            {"tire.sealant_layer": 0},
            "the column holds int64 -- give true or false, or the text yes or no (or true or false)",
        ),
        ({"findings": [1]}, "give text with words separated by commas, or a list of texts"),
    ],
)
def test_columns_that_no_ticket_has_are_refused(change, said):
    with pytest.raises(BatchError) as caught:
        decide_batch(few_places(), table_of([{**PLAIN, **change}]))
    assert said in str(caught.value)


def test_everything_wrong_with_the_columns_is_told_at_once():
    table = pa.table([["x"], ["y"], ["z"]], names=["activity", "activity", "zone"])
    with pytest.raises(BatchError) as caught:
        decide_batch(few_places(), table, keep=["ticket", "verdict"])
    assert [problem.path for problem in caught.value.problems] == [
        *("activity", "zone", "jurisdictions", "ticket", "verdict", "verdict"),
    ]
    with pytest.raises(BatchError, match="a dict is no Arrow table"):
        decide_batch(few_places(), {})


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"jurisdictions": "US-XX"}, "'US-XX' is no jurisdiction code"),
        ({"jurisdictions": "US-NY"}, "this rulebook holds no pack for US-NY"),
        ({"jurisdictions": None}, "at jurisdictions the key is missing"),
        ({"activity": "sell"}, "'sell' is no activity"),
        ({"injury.zone": "Crown"}, "'Crown' is no injury.zone -- did you mean crown?"),
        ({"findings": ""}, "'' is no finding"),
        ({"findings": "none,boot"}, "'none' is no finding"),
        ({"on": "25.11.2026"}, "'25.11.2026' is no day of the calendar -- write YYYY-MM-DD"),
        ({"tire.sealant_layer": "maybe"}, "tire.sealant_layer must be true or false"),
        ({"repairs.count": "two"}, "repairs.count must be a whole number"),
        ({"repairs.count": "0"}, "the case speaks of 1 repairs but says 0"),
        ({"injuries": "{"}, "[json-syntax] at injuries this is no JSON"),
        ({"injuries": "[]"}, "the row states injuries both here and in columns for one"),
        ({"repair.zone": "crown"}, "the row states earlier_repairs both here and in columns for one (zone)"),
        ({"tire.tread_grid": '[["5 mm"], []]'}, "must have a reading for every groove at every place"),
    ],
)
def test_a_bad_row_is_set_aside_with_its_reason(change, said):
    answered = decide_batch(few_places(), table_of([PLAIN, {**PLAIN, **change}, PLAIN]))
    assert answered.answers["row"].to_pylist() == [0, 2]
    (aside,) = answered.set_aside.to_pylist()
    assert aside["row"] == 1
    assert said in aside["reason"]


def test_bytes_that_are_no_text_are_set_aside():
    table = table_of([PLAIN, PLAIN])
    broken = pa.array([b"passenger", b"pass\xff"], pa.binary()).view(pa.string())
    table = table.set_column(table.column_names.index("tire.class"), "tire.class", broken)
    answered = decide_batch(few_places(), table)
    assert (answered.answers["row"].to_pylist(), answered.set_aside["row"].to_pylist()) == ([0], [1])


CELLS = {
    "jurisdictions": st.sampled_from(["US-SC", "US-SC,US-GA", "US-XX", "", None, " US"]),
    "activity": st.sampled_from(["repair", "used-tire-sale", "Repair", None]),
    "on": st.sampled_from(["2026-11-25", "2026-02-30", None]),
    "injury.diameter": st.sampled_from(["5 mm", "6", "7 mm to 5 mm", "1/4 in", None, "é"]),
    "injury.zone": st.sampled_from(["crown", "sidewall", "roof", None]),
    "injuries": st.sampled_from([None, None, "none", "[{}]", "[", "3"]),
    "findings": st.sampled_from(["none", "boot", "boot,", None]),
    "tire.sealant_layer": st.sampled_from(["yes", "no", "true", "0", None]),
}


@settings(max_examples=40, deadline=None)
@given(st.lists(st.fixed_dictionaries(CELLS), max_size=12), st.integers(0, 2**40))
def test_rows_in_are_answers_and_rows_set_aside_each_once_and_as_decided_alone(rows, first):
    table = pa.table({name: pa.array([row[name] for row in rows], pa.string()) for name in CELLS})
    answered = decide_batch(few_places(), table, first_row=first, day=DAY)
    good, bad = answered.answers["row"].to_pylist(), answered.set_aside["row"].to_pylist()
    assert sorted(good + bad) == list(range(first, first + len(rows)))
    assert good == sorted(good)
    assert bad == sorted(bad)
    for at, row in enumerate(rows):
        alone = pa.table({name: pa.array([row[name]], pa.string()) for name in CELLS})
        alone = decide_batch(few_places(), alone, day=DAY)
        assert alone.answers.num_rows == ((first + at) in good)


def test_a_reason_is_the_text_of_the_library_s_own_error():
    case = {"jurisdictions": ["US-SC"], "activity": "repair", "on": "2026-11-25", "tire": {"class": "boat"}}
    with pytest.raises(TirerulesError) as caught:
        tirerules.case_from_json(case)
    table = table_of([{"jurisdictions": "US-SC", "activity": "repair", "on": "2026-11-25", "tire.class": "boat"}])
    assert decide_batch(few_places(), table).set_aside["reason"].to_pylist() == [str(caught.value)]
