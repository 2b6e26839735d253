"""Rows judged together: equal to the single decision whatever is unknown, and however the work is cut into pieces."""

from __future__ import annotations

import itertools
from datetime import date
from random import Random

import pyarrow as pa
import pytest

import tirerules
from tests.batch.test_columns import by_row, told
from tests.batch.tickets import PLAIN, few_places, table_of
from tests.engine import rule, world
from tirerules.batch import Decider, decide_batch, questions_of
from tirerules.batch.tickets import case_of
from tirerules.engine.evaluator import Evaluation

DAY = date(2026, 11, 25)
#: What rows are drawn from, column by column; None is unknown.
CELLS = {
    "jurisdictions": ["US-SC", "US-NJ", "US-GA", "CA-ON", "US-SC,US-GA", "US-NJ,US-SC"],
    "activity": ["repair", "repair", "repair", "used-tire-installation", "road-use", "tire-sale"],
    "on": ["2026-11-25", "2019-01-01", None],
    "reading": ["as-enacted", None, None],
    "tire.class": ["passenger", "passenger", "light-truck", "medium-truck", "bus", "motorcycle", None],
    "tire.load_range": ["B", "E", "H", None],
    "tire.speed_symbol": ["S", "W", None],
    "tire.sealant_layer": ["no", "no", "yes", None],
    "tire.run_flat": ["no", "no", "yes", None],
    "tire.retread": ["no", "yes", None],
    "tire.regrooved": ["no", "yes", None],
    "tire.same_vehicle": ["yes", "no", None],
    "tire.tread_depth": ["6/32 in", "1 mm", "3/32 in to 5/32 in", None],
    "tire.section_width": ["205 mm", None, None, None, None],
    "vehicle.kind": ["passenger-car", "truck", "bus", "motorcycle", "trailer", None],
    "vehicle.use": ["private", "commercial", "school-bus", None],
    "vehicle.gvwr": ["1600 kg", "26000 lb", "10000 lb ± 5 lb", None],
    "vehicle.seats": ["5", "9", None, None],
    "vehicle.commercial_motor_vehicle": ["yes", "no", None, None, None],
    "tire.cracks_reach_plies": ["no", None],  # "yes" beside findings without cracks is refused
    "axle.steer": ["yes", "no", None],
    "shop.full_service": ["no", "yes", None],
    "road.snow_restriction": ["no", "yes", None],
    "injury.kind": ["puncture", "puncture", "cut", None],
    "injury.zone": ["crown", "crown", "sidewall", "shoulder", None],
    "injury.diameter": ["4 mm", "4 mm", "8 mm", "5 mm to 7 mm", None],
    "injury.angle": ["10 deg", "10 deg", "40 deg", None],
    "injury.length": ["20 mm", None],
    "findings": [
        "none",
        "none",
        "none",
        "run-flat-damage",
        "leak",
        "boot,exposed-cord",
        "identification-number-defaced",
        "weather-cracking",
        "regroove",
        None,
    ],
    "earlier_repairs": [
        *("none", "none", "none", None),
        '[{"zone": "crown", "diameter": "4 mm", "method": "one-piece"}]',
        '[{"zone": "sidewall", "diameter": "4 mm"}]',
        '[{"method": "plug-only"}]',
    ],
    "repairs.overlap": ["no", "yes", None, None],
}


def drawn(count, seed):
    """Return rows of plain tickets, some cells of which are drawn anew."""
    rng = Random(seed)
    rows = []
    for _ in range(count):
        part = rng.choice((0.1, 0.3, 1))
        row = {**dict.fromkeys(CELLS), **PLAIN}
        row |= {name: rng.choice(cells) for name, cells in CELLS.items() if rng.random() < part}
        rows.append(
            row | {"jurisdictions": rng.choice(CELLS["jurisdictions"]), "activity": rng.choice(CELLS["activity"])}
        )
    return rows


def test_rows_with_anything_unknown_equal_the_single_decision():
    rows = drawn(600, 3)
    answers = by_row(decide_batch(few_places(), table_of(rows), day=DAY).answers)
    assert sorted(answers) == list(range(len(rows)))
    for at, row in enumerate(rows):
        answers[at]["questions"] = set(questions_of(answers[at]["questions"]))
        assert answers[at] == told({"on": DAY.isoformat(), **case_of(row)}), row
    verdicts = [answer["verdict"] for answer in answers.values()]
    assert {verdicts.count(verdict) > 50 for verdict in set(verdicts)} == {True}
    assert len({frozenset(answer["questions"]) for answer in answers.values()}) > 20


def whole_rows():
    """Return rows on which nothing is unknown, none of them within the limits for the same reasons."""
    known = {name: cells[0] for name, cells in CELLS.items()} | {"tire.section_width": None, "reading": None}
    kinds = {
        "passenger": {},
        "motorcycle": {"tire.speed_symbol": "W", "vehicle.kind": "motorcycle"},
        "medium-truck": {"tire.load_range": "H", "vehicle.kind": "truck", "vehicle.gvwr": "26000 lb"},
    }
    repaired = {"earlier_repairs": '[{"zone": "sidewall", "diameter": "4 mm"}]', "injury.zone": "sidewall"}
    for tire, kind in kinds.items():
        row = known | {"tire.class": tire} | kind
        yield row
        yield row | repaired
        yield row | {"findings": "identification-number-defaced", "tire.regrooved": "yes"}
        used = row | {name: None for name in row if name.startswith("injury.") or name == "repairs.overlap"}
        yield used | {"activity": "used-tire-installation", "jurisdictions": "US-NJ,US-SC"}
        yield used | {"activity": "road-use", "jurisdictions": "CA-ON"}


def test_whichever_two_facts_are_unknown_the_questions_are_those_of_the_single_decision():
    """Rows that differ in nothing but what is unknown: most of them are open, and wait for something else."""
    rows = []
    for row in whole_rows():
        stated = [name for name in row if row[name] is not None and name not in ("jurisdictions", "activity", "on")]
        rows += [row | dict.fromkeys(pair) for pair in itertools.combinations(stated, 2)]
    answers = decide_batch(few_places(), table_of(rows), day=DAY).answers.to_pylist()
    for row, answer in zip(rows, answers, strict=True):
        decision = few_places().decide({"on": DAY.isoformat(), **case_of(row)})
        asked = {question.fact for question in decision.questions}
        assert (answer["verdict"], set(questions_of(answer["questions"]))) == (str(decision.verdict), asked), row
    assert len({answer["questions"] for answer in answers}) > 30


@pytest.mark.parametrize(
    ("what", "value"),
    [
        ("grouping.LARGEST_KEY", 2_000),  # keys that do not fit one number
        ("grouping._FEW", -1),  # joint codes of which few occur
        ("joint._MOST_CODES", 1),  # every column by itself
        ("joint._FEW", 0),  # every figure by where it stands
        ("deciding._BLOCK", 7),  # many blocks
        ("words.Words.BOUND", 0),  # nothing is kept of masks
        ("answers.LimitTexts.BOUND", 0),  # nor of texts
    ],
)
def test_however_the_work_is_cut_the_answers_are_the_same(monkeypatch, what, value):
    table = table_of(drawn(300, 4))
    whole = by_row(Decider(few_places(), day=DAY).decide(table).answers)
    monkeypatch.setattr(f"tirerules.batch.{what}", value)
    monkeypatch.setattr("tirerules.batch.grouping._SPARSE", 0 if what == "grouping._FEW" else 16)
    decider = Decider(few_places(), day=DAY)
    for _ in range(2):
        assert by_row(decider.decide(table).answers) == whole


def test_what_was_remembered_of_other_tables_changes_no_answer():
    decider = Decider(few_places(), day=DAY)
    tables = [table_of(drawn(40, seed)) for seed in range(6)]
    for table in [*tables, *tables]:
        fresh = Decider(few_places(), day=DAY).decide(table)
        assert by_row(decider.decide(table).answers) == by_row(fresh.answers)


#: Invented rules that are open in several ways, each of which asks for something else.
SEVERAL_WAYS = "".join(
    (
        rule("size", "limit: {fact: injury.diameter, at-most: 9 mm}"),
        rule(
            "small",
            "limit: {fact: injury.diameter, at-most: 3 mm}",
            when="{tire.class: passenger, vehicle.use: private, axle.steer: true}",
        ),
        rule("counted", "limit: {fact: tire.tread_depth, at-least: 2 mm, counted: {grooves: two-adjacent, places: 2}}"),
        rule("floor", "limit: {fact: tire.tread_depth, at-least: 1 mm}", activity="tire-sale"),
        rule("across", "prohibit: {fact: repairs.opposed, values: [true]}"),
        rule(
            "by-method", "limit: {fact: injury.angle, at-most: 20 deg}", when="{method: one-piece, tire.retread: true}"
        ),
    )
)


def test_one_rule_may_be_open_in_several_ways():
    """Each row leaves one fact out, or two; a finding that no rule judges leaves it open whatever is known."""
    book = world(SEVERAL_WAYS)
    repair = '[{"zone": "%s", "diameter": "4 mm"}]'
    whole = dict.fromkeys(CELLS) | {
        **{"jurisdictions": "US", "activity": "repair", "on": "2026-11-25", "tire.class": "passenger"},
        **{"vehicle.use": "private", "axle.steer": "yes", "tire.retread": "yes", "tire.tread_depth": "1 mm"},
        **{"injury.zone": "sidewall", "injury.angle": "30 deg", "injury.diameter": "3 mm", "findings": "none"},
        **{"earlier_repairs": "none", "repairs.overlap": "no"},
    }
    changes = [
        *({name: None} for name in whole),
        *({"injury.diameter": "5 mm", "tire.tread_depth": "3 mm", name: None} for name in whole),
        *({"tire.tread_depth": depth} for depth in ("3 mm", "1 mm to 3 mm", None)),
        *({"tire.tread_depth": "3 mm", "findings": found} for found in ("none", "boot", "leak", "boot,leak", None)),
        *({"tire.tread_depth": "3 mm", "earlier_repairs": repair % zone} for zone in ("sidewall", "crown")),
        {"tire.tread_depth": "3 mm", "earlier_repairs": repair % "sidewall", "injury.zone": None},
        {"tire.tread_depth": "3 mm", "earlier_repairs": '[{"method": "one-piece"}]'},
    ]
    sold = {"activity": "tire-sale", "repairs.overlap": None, "injury.zone": None, "injury.angle": None}
    sold |= {"injury.diameter": None}
    changes += [sold | {"findings": found} for found in ("none", "boot", "leak", None)]
    rows = [whole | change for change in changes if change.get("jurisdictions", 1) and change.get("activity", 1)]
    answers = decide_batch(book, table_of(rows), day=DAY).answers.to_pylist()
    for row, answer in zip(rows, answers, strict=True):
        decision = book.decide({"on": DAY.isoformat(), **case_of(row)})
        asked = {question.fact for question in decision.questions}
        assert (answer["verdict"], set(questions_of(answer["questions"]))) == (str(decision.verdict), asked), row
    asked = {fact for answer in answers for fact in questions_of(answer["questions"])}
    assert {
        "tire.class",
        "vehicle.use",
        "axle.steer",
        "tire.tread_depth",
        "tire.tread_grid",
        "repairs.opposed",
    } <= asked
    assert {answer["verdict"] for answer in answers} == {"within-limits", "undetermined", "outside-limits"}


def counting(monkeypatch):
    """Return the cases that are evaluated one by one from now on."""
    evaluated = []

    def evaluation(program, case):
        evaluated.append(case)
        return Evaluation(program, case)

    monkeypatch.setattr("tirerules.batch.deciding.Evaluation", evaluation)
    return evaluated


def test_plain_rows_are_never_evaluated_one_by_one(monkeypatch):
    evaluated = counting(monkeypatch)
    depths = [f"{depth / 10} mm" for depth in range(30, 90)]
    rows = [{**PLAIN, "injury.diameter": None, "tire.tread_depth": depth} for depth in depths]
    answers = Decider(few_places(), day=DAY).decide(table_of(rows)).answers
    assert {questions_of(bits) for bits in answers["questions"].to_pylist()} == {("injury.diameter",)}
    assert evaluated == []


def test_open_rows_of_placed_repairs_that_wait_for_the_same_are_evaluated_once(monkeypatch):
    evaluated = counting(monkeypatch)
    injury = '{"kind": "puncture", "zone": "crown", "clock": "%s"}'
    injuries = f"[{injury % '3:00'}, {injury % '9:00'}]"
    plain = {name: cell for name, cell in PLAIN.items() if not name.startswith("injury.")}
    depths = [f"{depth / 10} mm" for depth in range(30, 90)]
    rows = [{**plain, "injuries": injuries, "tire.tread_depth": depth} for depth in depths]
    answers = Decider(few_places(), day=DAY).decide(table_of(rows)).answers
    assert len(set(answers["questions"].to_pylist())) == 1
    assert len(evaluated) == 1


def test_without_questions_all_else_is_the_same():
    table = table_of(drawn(200, 9))
    with_, without = (decide_batch(few_places(), table, day=DAY, questions=asked).answers for asked in (True, False))
    assert set(without["questions"].to_pylist()) == {0}
    assert set(with_["questions"].to_pylist()) != {0}
    assert with_.drop_columns(["questions"]).equals(without.drop_columns(["questions"]))


def test_places_with_the_same_rules_are_told_apart_where_one_is_asked_about_twice():
    """Two places that know no rule of their own: what is missing in one is missing in both."""
    rows = [
        {**PLAIN, "activity": "used-tire-installation", "jurisdictions": places, "tire.tread_depth": depth}
        for places in ("US-SC", "US-GA", "US-SC,US-GA", "US-NJ,US-GA")
        for depth in ("6/32 in", None)
    ]
    for row in rows:
        row.update(dict.fromkeys((name for name in row if name.startswith(("injury.", "vehicle."))), None))
    answers = by_row(decide_batch(few_places(), table_of(rows), day=DAY).answers)
    for at, row in enumerate(rows):
        answers[at]["questions"] = set(questions_of(answers[at]["questions"]))
        assert answers[at] == told(case_of(row))


def test_rubbish_in_the_columns_that_choose_the_rules_is_set_aside_row_by_row():
    rubbish = [f"no such {number}" for number in range(300)]
    table = pa.table(
        {
            "jurisdictions": [*rubbish, "US-SC", "US-XX"],
            "activity": [*reversed(rubbish), "repair", "repair"],
            "on": [*rubbish, None, None],
        }
    )
    answered = decide_batch(few_places(), table, day=DAY)
    assert answered.answers["row"].to_pylist() == [300]
    assert answered.set_aside["row"].to_pylist() == [*range(300), 301]
    assert "'no such 299' is no activity" in answered.set_aside["reason"][0].as_py()


def test_the_rulebooks_of_two_deciders_do_not_mix():
    one, other = tirerules.load(), few_places()
    table = table_of([PLAIN, {**PLAIN, "jurisdictions": "US-OH"}])
    assert decide_batch(one, table).set_aside.num_rows == 0
    assert decide_batch(other, table).set_aside["row"].to_pylist() == [1]
    assert decide_batch(one, table).set_aside.num_rows == 0
