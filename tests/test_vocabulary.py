"""The vocabulary: its stable names, its scales in their published order, and the case that follows from it."""

from __future__ import annotations

import typing

import pytest

from tests.reference import words as independent
from tirerules import case as cases
from tirerules import vocabulary, words
from tirerules.jurisdictions import COUNTRIES, JURISDICTIONS, country_of
from tirerules.quantities import Measured
from tirerules.values import fields
from tirerules.vocabulary import (
    ACTIVITIES,
    AUTHORITIES,
    CURED_BY_REPAIR,
    EVIDENCE,
    FACTS,
    FINDINGS,
    IMPROPER_METHODS,
    LAW,
    METHODS,
    REPAIR_METHODS,
    STEPS,
    Activity,
    Dimension,
    Kind,
    answering,
    facts_of,
)

# --- stable names: typed again here, because packs and other people's software rely on them ---------------------------

QUANTITIES = {
    "tire.section_width": Dimension.LENGTH,
    "tire.tread_width": Dimension.LENGTH,
    "tire.thickness": Dimension.LENGTH,
    "tire.outside_diameter": Dimension.LENGTH,
    "tire.tread_depth": Dimension.LENGTH,
    "tire.age": Dimension.TIME,
    "vehicle.gvwr": Dimension.MASS,
    "injury.diameter": Dimension.LENGTH,
    "injury.length": Dimension.LENGTH,
    "injury.angle": Dimension.ANGLE,
    "injury.from_centerline": Dimension.LENGTH,
    "repair.diameter": Dimension.LENGTH,
    "repairs.spacing": Dimension.LENGTH,
}
ZONES = {"crown", "shoulder", "belt-edge", "sidewall", "bead"}
EVERY_METHOD = {"one-piece", "two-piece", "section", "plug-only", "patch-only", "boot", "temporary-sealant"}
CHOICES = {
    "tire.class": {
        "passenger",
        "light-truck",
        "medium-truck",
        "bus",
        "motorcycle",
        "trailer",
        "temporary-spare",
        "agricultural",
        "off-road",
    },
    "tire.construction": {"radial", "bias"},
    "tire.body_ply": {"steel", "textile"},
    "vehicle.use": {"private", "commercial", "school-bus", "emergency"},
    "injury.kind": {"puncture", "cut"},
    "injury.leans": {"toward-shoulder", "toward-center", "along-circumference"},
    "injury.zone": ZONES,
    "repair.zone": ZONES,
    "repair.method": EVERY_METHOD,
    "method": EVERY_METHOD,
}
FLAGS = ["tire.sealant_layer", "tire.run_flat", "tire.foam_liner", "tire.retread", "axle.steer", "repairs.overlap"]
STABLE_FINDINGS = {
    "run-flat-damage",
    "liner-separation",
    "casing-separation",
    "tread-separation",
    "exposed-cord",
    "bead-damage",
    "weather-cracking",
    "impact-damage",
    "bulge",
    "liner-damage",
    "chemical-damage",
    "cord-corrosion",
    "zipper-rupture",
    "worn-to-indicators",
    "unmarked-regroove",
    "identification-number-defaced",
    "recalled",
    "temporary-sealant",
    "earlier-improper-repair",
    "boot",
    "sidewall-plug",
    "embedded-object",
    "leak",
    "not-for-highway-marking",
    "liner-contaminated",
}
#: Activity -> the activities whose rules it answers to.
IMPLIED = {
    "repair": ["repair", "road-use"],
    "used-tire-installation": ["used-tire-installation", "road-use"],
    "used-tire-sale": ["used-tire-sale", "tire-sale"],
    "tire-sale": ["tire-sale"],
    "vehicle-sale": ["vehicle-sale"],
    "road-use": ["road-use"],
    "inspection": ["inspection", "road-use"],
}


@pytest.mark.parametrize(("name", "dimension"), QUANTITIES.items(), ids=QUANTITIES)
def test_a_measured_fact_keeps_its_name_and_dimension(name, dimension):
    assert (FACTS[name].kind, FACTS[name].dimension) == (Kind.QUANTITY, dimension)


@pytest.mark.parametrize(("name", "values"), CHOICES.items(), ids=CHOICES)
def test_a_choice_keeps_its_name_and_values(name, values):
    assert FACTS[name].kind is Kind.CHOICE
    assert values <= set(FACTS[name].values)


@pytest.mark.parametrize("name", FLAGS)
def test_a_yes_or_no_fact_keeps_its_name(name):
    assert FACTS[name].kind is Kind.FLAG


def test_findings_and_counts_keep_their_names():
    assert set(FINDINGS) >= STABLE_FINDINGS
    assert (FACTS["findings"].kind, FACTS["findings"].values) == (Kind.SET, FINDINGS)
    assert FACTS["repairs.count"].kind is Kind.COUNT


@pytest.mark.parametrize(("activity", "answers"), IMPLIED.items(), ids=IMPLIED)
def test_an_activity_answers_to_its_own_rules_and_to_those_it_implies(activity, answers):
    assert list(answering(Activity(activity))) == answers


def test_no_activity_is_missing_from_the_table_above():
    assert set(IMPLIED) == set(ACTIVITIES) == {activity.value for activity in Activity}


# --- scales ----------------------------------------------------------------------------------------------------------

#: km/h. UN Regulation No. 30 and 54 speed symbols. J to M from memory (L 75 mph and M 81 mph read in a catalogue);
#: N to Y secondary; the half km/h says "above".
SPEEDS = {
    "J": 100,
    "K": 110,
    "L": 120,
    "M": 130,
    "N": 140,
    "P": 150,
    "Q": 160,
    "R": 170,
    "S": 180,
    "T": 190,
    "U": 200,
    "H": 210,
    "V": 240,
    "ZR": 240.5,  # "above 240 km/h" (secondary)
    "W": 270,
    "Y": 300,
    "(Y)": 300.5,  # "above 300 km/h" (from memory)
}
#: Load range -> ply rating (secondary; G 14 and H 16 read in a published catalogue).
PLY_RATINGS = {"A": 2, "B": 4, "C": 6, "D": 8, "E": 10, "F": 12, "G": 14, "H": 16, "J": 18, "L": 20, "M": 22, "N": 24}


def test_speed_symbols_stand_in_the_order_of_their_speeds():
    assert set(FACTS["tire.speed_symbol"].values) == set(SPEEDS)
    assert list(FACTS["tire.speed_symbol"].values) == sorted(SPEEDS, key=SPEEDS.__getitem__)


def test_h_stands_between_u_and_v():
    order = FACTS["tire.speed_symbol"].values
    assert order.index("U") < order.index("H") < order.index("V")
    assert sorted("UHV") != ["U", "H", "V"]  # the alphabet would say otherwise


def test_load_ranges_stand_in_the_order_of_their_ply_ratings():
    assert list(FACTS["tire.load_range"].values) == sorted(PLY_RATINGS, key=PLY_RATINGS.__getitem__)
    assert not {"I", "K"} & set(FACTS["tire.load_range"].values)


def test_only_these_two_facts_are_scales():
    assert {name for name, fact in FACTS.items() if fact.kind is Kind.SCALE} == {"tire.speed_symbol", "tire.load_range"}


# --- jurisdictions ---------------------------------------------------------------------------------------------------

#: ISO 3166-2, typed from the published code list: 50 states, 1 district, 6 outlying areas; 10 provinces, 3 territories.
STATES = (
    "AL AK AZ AR CA CO CT DE FL GA HI ID IL IN IA KS KY LA ME MD MA MI MN MS MO MT NE NV NH NJ NM NY NC ND OH OK OR PA "
    "RI SC SD TN TX UT VT VA WA WV WI WY"
)
DISTRICT_AND_OUTLYING = "DC AS GU MP PR UM VI"
PROVINCES = "AB BC MB NB NL NS ON PE QC SK"
TERRITORIES = "NT NU YT"


def test_the_jurisdictions_are_those_of_iso_3166_2():
    assert (len(STATES.split()), len(PROVINCES.split())) == (50, 10)
    expected = {"US", "CA"}
    expected |= {f"US-{code}" for code in f"{STATES} {DISTRICT_AND_OUTLYING}".split()}
    expected |= {f"CA-{code}" for code in f"{PROVINCES} {TERRITORIES}".split()}
    assert set(JURISDICTIONS) == expected
    assert len(JURISDICTIONS) == len(expected) == 2 + 57 + 13


@pytest.mark.parametrize(("code", "country"), [("US-SC", "US"), ("CA-ON", "CA"), ("US", "US"), ("CA", "CA")])
def test_a_code_names_its_country(code, country):
    assert country_of(code) == country


def test_countries_come_first():
    assert JURISDICTIONS[: len(COUNTRIES)] == COUNTRIES == ("US", "CA")


# --- what the table promises about itself ----------------------------------------------------------------------------

#: Kind -> (a rule may limit it, test it, permit or prohibit its values, ask for more or less of it).
USES = {
    Kind.QUANTITY: (True, True, False, True),
    Kind.COUNT: (True, True, False, True),
    Kind.FLAG: (False, True, True, False),
    Kind.CHOICE: (False, True, True, False),
    Kind.SCALE: (False, True, True, True),
    Kind.SET: (False, True, False, False),
    Kind.TEXT: (False, False, False, False),
    Kind.GRID: (False, False, False, False),
    Kind.RECORDS: (False, False, False, False),
}


@pytest.mark.parametrize("fact", FACTS.values(), ids=FACTS)
def test_the_kind_of_a_fact_says_what_a_rule_may_do_with_it(fact):
    limitable, testable, choosable, ordered = USES[fact.kind]
    testable = testable and not fact.derived  # a rule may limit what follows from other facts, and not ask for it
    assert (fact.limitable, fact.testable, fact.choosable, fact.ordered) == (limitable, testable, choosable, ordered)


@pytest.mark.parametrize("fact", FACTS.values(), ids=FACTS)
def test_a_fact_has_a_question_and_what_its_kind_needs(fact):
    assert "?" in fact.question
    assert (fact.dimension is not None) is (fact.kind in (Kind.QUANTITY, Kind.GRID))
    assert bool(fact.values) is (fact.kind in (Kind.CHOICE, Kind.SCALE, Kind.SET, Kind.FLAG))
    assert len(set(fact.values)) == len(fact.values)


@pytest.mark.parametrize("fact", FACTS.values(), ids=FACTS)
def test_a_facts_name_is_its_group_and_its_key(fact):
    assert fact.name == (f"{fact.group}.{fact.key}" if fact.group else fact.key)
    assert (fact in facts_of(fact.group)) is not fact.derived


def test_words_stand_once_and_subsets_are_subsets():
    for listed in (FINDINGS, METHODS, AUTHORITIES, EVIDENCE, ACTIVITIES, tuple(STEPS)):
        assert len(set(listed)) == len(listed)
    assert set(FINDINGS) > CURED_BY_REPAIR
    assert set(AUTHORITIES) > LAW
    assert not set(REPAIR_METHODS) & set(IMPROPER_METHODS)
    assert set(METHODS) == {*REPAIR_METHODS, *IMPROPER_METHODS}


def test_words_are_those_of_the_independent_reading():
    assert tuple(ACTIVITIES) == independent.ACTIVITIES
    assert independent.FINDINGS == FINDINGS
    assert independent.METHODS == METHODS
    assert independent.JUDGED_METHODS == REPAIR_METHODS
    assert independent.CURED == CURED_BY_REPAIR
    assert {activity: implied for activity, (implied,) in vocabulary.IMPLIES.items()} == independent.IMPLIED
    assert {name for name, fact in FACTS.items() if fact.kind is Kind.FLAG} >= {*independent.FLAGS}
    assert {name for name, fact in FACTS.items() if fact.dimension} >= {*independent.QUANTITIES}


def test_facts_about_pairs_are_those_of_all_repairs_together():
    assert {*FACTS} >= vocabulary.PAIRED
    assert {fact for fact in FACTS if fact.startswith("repairs.")} - {"repairs.count"} == vocabulary.PAIRED


# --- what follows from what -------------------------------------------------------------------------------------------

#: Typed again: a size designation gives these (ISO metric designation, UN R30/R54), a date code the age (49 CFR 574.5),
#: use, weight, kind and seats whether the federal carrier rules bind (49 CFR 390.5); the others are geometry.
FOLLOWS = {
    "tire.section_width": {"tire.size"},
    "tire.outside_diameter": {"tire.size"},
    "tire.construction": {"tire.size"},
    "tire.load_range": {"tire.size"},
    "tire.speed_symbol": {"tire.size"},
    "tire.age": {"tire.date_code"},
    "tire.tread_depth": {"tire.tread_grid"},
    "tire.regrooved": {"findings", "tire.class"},
    "vehicle.commercial_motor_vehicle": {"vehicle.use", "vehicle.gvwr", "vehicle.kind", "vehicle.seats"},
    "injury.diameter": {"injury.surface_diameter", "injury.angle"},
    "injury.reach": {
        *("injury.from_centerline", "injury.diameter", "injury.angle", "injury.leans"),
        "tire.thickness",
    },
    "repair.reach": {"repair.from_centerline", "repair.diameter"},
    "repairs.count": {"injuries", "earlier_repairs"},
}


def test_a_fact_says_what_it_is_worked_out_from():
    told = {name: {*fact.follows_from} for name, fact in FACTS.items() if fact.follows_from}
    assert {name: told[name] for name in FOLLOWS} == FOLLOWS
    assert told.keys() - FOLLOWS.keys() == vocabulary.PAIRED
    assert told["repairs.spacing_angle"] == {"injury.clock", "repair.clock", "tire.outside_diameter"}
    assert all(told["repairs.spacing_angle"] <= told[name] for name in vocabulary.PAIRED)


@pytest.mark.parametrize("fact", FACTS.values(), ids=FACTS)
def test_what_a_fact_follows_from_are_other_facts_and_never_itself(fact):
    assert bool(fact.follows_from) or not fact.derived
    reached, ahead = set(), [*fact.follows_from]
    while ahead:
        name = ahead.pop()
        reached.add(name)
        ahead += [each for each in FACTS[name].follows_from if each not in reached]
    assert fact.name not in reached


def test_only_lawmakers_texts_are_law():
    assert {"statute", "regulation", "inspection-manual"} == LAW
    assert list(AUTHORITIES)[3:] == ["standard", "industry-practice", "maker", "company"]
    assert EVIDENCE == ("text-read", "secondary", "memory")


# --- the case follows from the table ---------------------------------------------------------------------------------

GROUPS = [
    getattr(cases, name) for name in cases.__all__ if isinstance(getattr(getattr(cases, name), "group", None), str)
]
_PYTHON = {
    Kind.QUANTITY: Measured,
    Kind.COUNT: int,
    Kind.FLAG: bool,
    Kind.CHOICE: str,
    Kind.SCALE: str,
    Kind.TEXT: str,
    Kind.GRID: tuple[tuple[Measured, ...], ...],
}


def _fields(group):
    return {f"{group.group}.{name.rstrip('_')}": name for name in fields(group)}


@pytest.mark.parametrize("group", GROUPS, ids=lambda group: group.__name__)
def test_the_fields_of_a_group_are_the_facts_of_the_table(group):
    assert set(_fields(group)) == {fact.name for fact in facts_of(group.group)}


@pytest.mark.parametrize("group", GROUPS, ids=lambda group: group.__name__)
def test_every_field_may_be_unknown_and_else_has_the_type_of_its_fact(group):
    known = {"ClassVar": typing.ClassVar, "Measured": Measured, **vars(words)}
    hints = typing.get_type_hints(group, localns=known)
    for fact, name in _fields(group).items():
        named = FACTS[fact].kind in (Kind.CHOICE, Kind.SCALE)
        kind = typing.Literal[FACTS[fact].values] if named else _PYTHON[FACTS[fact].kind]
        assert hints[name] == kind | None
        assert getattr(group(), name) is None


def test_every_grouped_fact_has_its_group_and_every_other_its_field_of_the_case():
    assert {fact.group for fact in FACTS.values() if fact.group} == {group.group for group in GROUPS}
    assert len(GROUPS) == len({group.group for group in GROUPS})
    of_case = set(fields(cases.Case))
    alone = {name for name, fact in FACTS.items() if not fact.group}
    assert alone <= of_case
    assert alone >= {"findings", "injuries", "earlier_repairs", "method"}
