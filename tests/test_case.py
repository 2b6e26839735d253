"""A case made in Python: complete and checked when made, immutable ever after. All tires are invented."""

from __future__ import annotations

import pickle
from datetime import date

import pytest

from tests.engine import everywhere
from tirerules import (
    Axle,
    Case,
    CaseError,
    Dimension,
    EarlierRepair,
    Injury,
    Repairs,
    RepairUnit,
    Sale,
    Shop,
    Tire,
    Vehicle,
    Verdict,
    case_from_json,
    measure,
    quantity,
)
from tirerules.case.refusing import problem_with
from tirerules.vocabulary import FACTS, Activity, Kind

DEGREES = Dimension.ANGLE
DEPTH = measure("4 mm")


def case(**changes) -> Case:
    return Case(**{"jurisdictions": ("US-SC",), "activity": "repair", "injuries": (Injury(),), **changes})


def problems(make) -> dict[str, str]:
    """Return the path and message of every problem with what `make` builds."""
    with pytest.raises(CaseError) as caught:
        make()
    return {problem.path: problem.message for problem in caught.value.problems}


def test_a_case_made_in_python_is_the_case_that_its_json_reads_as():
    made = Case(
        jurisdictions=("US-SC",),
        activity=Activity.REPAIR,
        on=date(2026, 11, 25),
        tire=Tire(class_="passenger", sealant_layer=True, tread_depth=measure("6/32 in")),
        vehicle=Vehicle(use="private"),
        injuries=(Injury(kind="puncture", zone="crown", diameter=measure("5 mm"), angle=measure("20 deg", DEGREES)),),
        findings=frozenset(),
        earlier_repairs=(),
        repair_unit=RepairUnit("one-piece", quantity("35 deg", DEGREES), "invented data sheet 12"),
    )
    read = case_from_json(
        {
            "jurisdictions": ["US-SC"],
            "activity": "repair",
            "on": "2026-11-25",
            "tire": {"class": "passenger", "sealant_layer": True, "tread_depth": "6/32 in"},
            "vehicle": {"use": "private"},
            "injuries": [{"kind": "puncture", "zone": "crown", "diameter": "5 mm", "angle": "20 deg"}],
            "findings": [],
            "earlier_repairs": [],
            "repair_unit": {"method": "one-piece", "rated_angle": "35 deg", "document": "invented data sheet 12"},
        }
    )
    assert made == read
    decided = everywhere().decide(made)
    assert decided.verdict is Verdict.WITHIN
    assert decided == everywhere().decide(read)


def test_what_is_not_said_is_unknown_and_not_empty():
    plain = Case(jurisdictions=("US",), activity="road-use")
    assert (plain.injuries, plain.earlier_repairs, plain.findings, plain.on, plain.method) == (None,) * 5
    groups = (plain.tire, plain.vehicle, plain.axle, plain.shop, plain.road, plain.sale, plain.repairs)
    assert [known for group in groups for known in group.known()] == []
    assert set(plain.row.tire) == {None}
    assert plain.reading == "strict"


def test_no_and_zero_are_known():
    tire = Tire(retread=False, tread_depth=measure("0 mm"))
    assert dict(tire.known()) == {"tire.retread": False, "tire.tread_depth": measure("0 mm")}
    assert dict(Repairs(count=0).known()) == {"repairs.count": 0}


@pytest.mark.parametrize(
    ("make", "path", "says"),
    [
        (lambda: Tire(class_="pasenger"), "tire.class", "'pasenger' is no tire.class"),
        (lambda: Tire(load_range="I"), "tire.load_range", "'I' is no tire.load_range"),
        (lambda: Tire(speed_symbol="I"), "tire.speed_symbol", "'I' is no tire.speed_symbol"),
        (lambda: Tire(retread="no"), "tire.retread", "must be true or false"),
        (lambda: Tire(retread=0), "tire.retread", "must be true or false"),
        (lambda: Tire(tread_depth="6/32 in"), "tire.tread_depth", "must be a measured length"),
        (lambda: Tire(tread_depth=4.0), "tire.tread_depth", "must be a measured length"),
        (lambda: Tire(age=measure("5 mm")), "tire.age", "must be a measured time"),
        (lambda: Tire(size=225), "tire.size", "must be text"),
        (lambda: Tire(size="a big one"), "tire.size", "is no size designation"),
        (lambda: Tire(date_code="5325"), "tire.date_code", "names week 53 of 2025, which does not exist"),
        (lambda: Tire(date_code=2319), "tire.date_code", "must be text"),
        (lambda: Injury(clock="13:00"), "injury.clock", "is no place on a clock face"),
        (lambda: Tire(tread_grid="4 mm"), "tire.tread_grid", "a reading for every groove at every place"),
        (lambda: Tire(tread_grid=()), "tire.tread_grid", "a reading for every groove at every place"),
        (lambda: Tire(tread_grid=((),)), "tire.tread_grid", "a reading for every groove at every place"),
        (lambda: Tire(tread_grid=(("4 mm",),)), "tire.tread_grid", "must hold measured depths"),
        (lambda: Tire(tread_grid=((measure("6 years", Dimension.TIME),),)), "tire.tread_grid", "measured depths"),
        (lambda: Tire(tread_grid=((DEPTH, DEPTH), (DEPTH,))), "tire.tread_grid", "every groove at every place"),
        (
            lambda: case(tire=Tire(size="LT245/75R16/E", load_range="F")),
            "tire.load_range",
            "the size says E, the case says F",
        ),
        (
            lambda: case(tire=Tire(size="225/45R17 91W", speed_symbol="V")),
            "tire.speed_symbol",
            "the size says W, the case says V",
        ),
        (
            lambda: case(tire=Tire(size="225/45R17", construction="bias")),
            "tire.construction",
            "the size says radial, the case says bias",
        ),
        (lambda: case(tire=Tire(crack_depth=DEPTH), findings=frozenset()), "tire.crack_depth", "no cracking is among"),
        (lambda: Vehicle(kind="car"), "vehicle.kind", "'car' is no vehicle.kind"),
        (lambda: Vehicle(use=True), "vehicle.use", "True is no vehicle.use"),
        (lambda: Axle(steer="front"), "axle.steer", "must be true or false"),
        (lambda: Shop(full_service=1), "shop.full_service", "must be true or false"),
        (lambda: Sale(for_retreading="yes"), "sale.for_retreading", "must be true or false"),
        (lambda: Injury(zone="tread"), "injury.zone", "'tread' is no injury.zone"),
        (lambda: Injury(angle=measure("5 mm")), "injury.angle", "must be a measured angle"),
        (lambda: EarlierRepair(method="mushroom"), "repair.method", "'mushroom' is no repair.method"),
        (lambda: Repairs(count=-1), "repairs.count", "must be a whole number, 0 or more"),
        (lambda: Repairs(count=1.0), "repairs.count", "must be a whole number, 0 or more"),
        (lambda: Repairs(count=True), "repairs.count", "must be a whole number, 0 or more"),
        (lambda: Repairs(overlap="no"), "repairs.overlap", "must be true or false"),
        (lambda: case(jurisdictions=()), "jurisdictions", "no jurisdiction is named"),
        (lambda: case(activity="repiar"), "activity", "'repiar' is no activity"),
        (lambda: case(activity=None), "activity", "None is no activity"),
        (lambda: case(reading="lax"), "reading", "'lax' is no reading"),
        (lambda: case(method="plug"), "method", "'plug' is no repair method"),
        (lambda: case(findings=frozenset({"bulgy"})), "findings", "'bulgy' is no finding"),
        (lambda: case(injuries=()), "injuries", "a repair without an injury"),
        (
            lambda: case(repair_unit=RepairUnit("plug", quantity("35 deg", DEGREES))),
            "repair_unit.method",
            "'plug' is no repair method",
        ),
        (
            lambda: case(earlier_repairs=(EarlierRepair(),), repairs=Repairs(count=1)),
            "repairs.count",
            "the case speaks of 2 repairs but says 1",
        ),
    ],
)
def test_a_value_that_the_vocabulary_does_not_have_is_refused_with_its_path(make, path, says):
    found = problems(make)
    assert list(found) == [path]
    assert says in found[path]


def test_the_word_that_was_meant_is_offered():
    with pytest.raises(CaseError, match=r"did you mean passenger\?"):
        Tire(class_="pasenger")
    with pytest.raises(CaseError, match="one of: strict, as-enacted"):
        case(reading="lax")


def test_all_problems_of_a_group_are_told_at_once():
    assert set(problems(lambda: Tire(class_="car", retread="no", age=3))) == {"tire.class", "tire.retread", "tire.age"}


def test_all_problems_of_a_case_are_told_at_once():
    found = problems(lambda: case(jurisdictions=(), activity="fix", reading="lax", method="plug"))
    assert set(found) == {"jurisdictions", "activity", "reading", "method"}


@pytest.mark.parametrize(
    ("activity", "injuries", "earlier", "total"),
    [
        ("repair", 2, 1, 3),
        ("repair", 1, 0, 1),
        ("repair", None, 1, None),
        ("repair", 1, None, None),
        ("road-use", 2, 1, 1),
        ("used-tire-sale", 0, 3, 3),
        ("used-tire-sale", None, 3, 3),
        ("used-tire-sale", 1, None, None),
    ],
)
def test_how_many_repairs_the_tire_will_carry(activity, injuries, earlier, total):
    made = case(
        activity=activity,
        injuries=None if injuries is None else (Injury(),) * injuries,
        earlier_repairs=None if earlier is None else (EarlierRepair(),) * earlier,
    )
    assert made.row.total == total


@pytest.mark.parametrize(
    ("tire", "findings"),
    [
        (Tire(size="LT245/75R16/E", load_range="E", construction="radial"), ()),
        # ZR says "above 240 km/h"; the case may say how far above (speed symbol tables; from memory).
        (Tire(size="275/40ZR20", speed_symbol="Y"), ()),
        (Tire(size="225/45R17", speed_symbol="V"), ()),
        (Tire(crack_depth=DEPTH), None),
        (Tire(crack_depth=DEPTH), ("weather-cracking",)),
        (Tire(crack_depth=measure("0 mm")), ()),
        (Tire(tread_grid=((DEPTH, DEPTH), (DEPTH, DEPTH))), ()),
    ],
)
def test_what_agrees_is_accepted(tire, findings):
    made = case(tire=tire, findings=None if findings is None else frozenset(findings))
    assert made.tire == tire


def test_a_count_above_the_lists_is_believed():
    made = case(earlier_repairs=(EarlierRepair(),), repairs=Repairs(count=5))
    assert (made.repairs.count, made.row.total) == (5, 2)


def test_a_tire_that_is_not_being_repaired_needs_no_injury():
    assert case(activity="road-use", injuries=()).injuries == ()


@pytest.mark.parametrize(
    ("document", "documented"), [("invented data sheet 12", True), (None, False), ("", False), (" \n", False)]
)
def test_a_rating_is_documented_by_a_document_that_is_named(document, documented):
    assert RepairUnit("one-piece", quantity("35 deg", DEGREES), document).documented is documented


@pytest.mark.parametrize("name", ["tire.class", "tire.tread_depth", "tire.retread", "repairs.count", "tire.size"])
def test_a_fact_refuses_what_is_of_another_kind(name):
    fact = FACTS[name]
    good = {
        Kind.CHOICE: "passenger",
        Kind.QUANTITY: measure("5 mm"),
        Kind.FLAG: True,
        Kind.COUNT: 2,
        Kind.TEXT: "225/45R17",
    }
    assert problem_with(fact, good[fact.kind]) is None
    for bad in (object(), [], {}, 2.5, None, b"5 mm"):
        assert problem_with(fact, bad) is not None


@pytest.mark.parametrize(
    ("value", "field"),
    [(case(), "reading"), (Tire(), "class_"), (Injury(), "zone"), (Repairs(), "count"), (EarlierRepair(), "zone")],
    ids=["case", "tire", "injury", "repairs", "earlier repair"],
)
def test_a_case_cannot_be_changed(value, field):
    before = getattr(value, field)
    with pytest.raises(AttributeError, match="never changes"):
        setattr(value, field, "changed")
    with pytest.raises((AttributeError, TypeError)):
        value.invented = 1
    assert getattr(value, field) == before


def test_a_case_can_be_a_key_and_be_sent_to_another_process():
    made = case(tire=Tire(class_="passenger", tread_depth=measure("6.0 mm ± 0.3 mm")), findings=frozenset({"leak"}))
    assert pickle.loads(pickle.dumps(made)) == made
    assert {made: 1}[case(tire=made.tire, findings=frozenset({"leak"}))] == 1


def test_an_error_about_a_case_can_be_sent_to_another_process():
    with pytest.raises(CaseError) as caught:
        Tire(class_="car")
    again = pickle.loads(pickle.dumps(caught.value))
    assert (type(again), again.problems, str(again)) == (CaseError, caught.value.problems, str(caught.value))
    assert isinstance(again, ValueError)
