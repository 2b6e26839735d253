"""The built-in packs against a table of the law that was typed from the citations, not from the packs.

`law.csv` holds one row for each figure or closed list that a statute, a regulation or an inspection manual sets: the
place, the act it regulates, a situation in which it surely binds (`a|b` stands for either), the fact, the bound as
printed, and how tread depth is counted. Source: the provision in the column `citation`; the column `evidence` says how
it was checked, and a row marked `memory` is from memory. Where a text does not say whether the figure itself passes or
how tread is counted, the row holds the stricter reading. A street rod has no word of its own and stands as a passenger
car. The tests decide cases on both sides of every bound and exactly on it.
"""

from __future__ import annotations

import csv
import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import pycountry
import pytest

import tirerules
from tirerules.engine.parts import Outcome, Rung
from tirerules.jurisdictions import JURISDICTIONS
from tirerules.packs.rule import Counted, Limit, Permit, Require
from tirerules.quantities import Quantity, decimal_text, quantity
from tirerules.vocabulary import FACTS, METHODS, Activity, Dimension, Kind, answering

RULEBOOK = tirerules.load()
ON = "2026-11-25"


@dataclass(frozen=True)
class Row:
    """What one provision says."""

    code: str
    activity: str
    conditions: str
    fact: str
    relation: str
    bound: str
    counted: str
    citation: str
    url: str
    evidence: str

    @property
    def section(self) -> str:
        """The number of the section: the last word of the citation with a digit in it, without its subsections."""
        numbers = [word for word in self.citation.split() if any(letter.isdigit() for letter in word)]
        return numbers[-1].partition("(")[0].strip(",;") if numbers else self.citation.rpartition(", ")[2]

    @property
    def exact(self) -> Fraction:
        return quantity(self.bound, self.dimension).exact

    @property
    def failing(self) -> int:
        """On which side of the bound a case fails: above (1) or below (-1)."""
        return 1 if self.relation in ("at-most", "less-than") else -1

    @property
    def inclusive(self) -> bool:
        return self.relation in ("at-most", "at-least")

    @property
    def dimension(self) -> Dimension:
        dimension = FACTS[self.fact].dimension
        assert dimension is not None
        return dimension

    @property
    def count(self) -> Counted:
        grooves, _, places = self.counted.partition("/")
        return Counted(grooves, int(places)) if self.counted else Counted()

    @property
    def words(self) -> frozenset[str]:
        return frozenset(self.bound.split("|"))

    def cases(self) -> Iterator[dict[str, Any]]:
        """Yield the case of each combination of the row's conditions, which leaves everything else unknown."""
        stated = [part.partition("=") for part in self.conditions.split(";") if part]
        for values in itertools.product(*(value.split("|") for _, _, value in stated)):
            case: dict[str, Any] = {"jurisdictions": [self.code], "activity": self.activity, "on": ON}
            for (fact, _, _), value in zip(stated, values, strict=True):
                put(case, fact, value)
            # A figure that the law prints in two units is asked for as enacted.
            yield {**case, "reading": "as-enacted"}


LISTED = {"repair": "earlier_repairs", "injury": "injuries"}


def put(case: dict[str, Any], fact: str, value: Any) -> None:
    """Set one fact of a case in its JSON form; the facts of an injury or an earlier repair are those of one."""
    group, _, key = fact.rpartition(".")
    if fact == "findings":
        case[fact] = [value]
    elif group in LISTED:
        before = case.get(LISTED[group], [{}])
        case[LISTED[group]] = [{**before[0], key: value}]
    else:
        value = {"true": True, "yes": True, "false": False}.get(value, value)
        case[group] = {**case.get(group, {}), key: value}


def table() -> list[Row]:
    with (Path(__file__).parent / "law.csv").open(encoding="utf-8", newline="") as file:
        return [Row(**each) for each in csv.DictReader(file)]


ROWS = table()
FIGURES = [row for row in ROWS if row.relation != "prohibited"]
LISTS = [row for row in ROWS if row.relation == "prohibited"]


def named(rows: list[Row]) -> list[Any]:
    return [
        pytest.param(row, id=f"{number}-{row.code}-{row.activity}-{row.fact}-{row.section}")
        for number, row in enumerate(rows)
    ]


# --- what the packs hold ---


def from_the_section(row: Row, case: dict[str, Any]) -> list[Rung]:
    """Return the rungs that the row's own pack takes from the row's section and that surely apply to the case.

    What follows from a bar on worn indicators and their height is no figure of the section.
    """
    limits = RULEBOOK.limits(case)
    written = {rule.name for rule in RULEBOOK.packs[row.code].rules}
    return [
        rung
        for rung in (limits[row.fact].ladder if row.fact in limits else ())
        if rung.rule.name in written
        and rung.applies
        and rung.rule.activities & set(answering(Activity(row.activity)))
        and names(rung.rule.source.citation, row.section)
        and rung.rule.source.evidence == row.evidence
    ]


def names(citation: str, section: str) -> bool:
    """Whether a citation names a section: not a longer number that holds it."""
    at = citation.find(section)
    while at >= 0:
        before, after = citation[:at][-1:], citation[at + len(section) :]
        longer = after[:1].isalnum() or after[:1] == "-" or (after[:1] == "." and after[1:2].isdigit())
        if not longer and not before.isdigit() and before not in (".", "-", "/"):
            return True
        at = citation.find(section, at + 1)
    return False


def figures(row: Row) -> Iterator[tuple[dict[str, Any], list[Rung]]]:
    """Yield each case of the row and the rungs that say what the row says, seen from just beyond the bound."""
    for case in row.cases():
        found = from_the_section(row, measured(row, case, beside(row, row.failing)))
        yield case, [rung for rung in found if held(rung.rule.body) == (row.fact, row.relation, row.exact, row.count)]


def held(body: object) -> tuple[str, str, Fraction, Counted] | None:
    """Return the figure that a rule holds, as enacted, where it is a quantity; the height of indicators is none."""
    value = getattr(body, "value", None)
    if not isinstance(value, Quantity) or body.indicators:
        return None
    return body.fact, body.relation, value.exact, body.counted


def bars(rung: Rung, word: str) -> bool:
    """Whether a rung rules a word out: it is prohibited, or not among what alone is permitted."""
    body = rung.rule.body
    if isinstance(body, Limit):
        return False
    return word not in body.values if isinstance(body, Permit) else word in body.values


@pytest.mark.parametrize("row", named(FIGURES))
def test_a_figure_stands_in_the_pack_as_the_law_prints_it(row):
    assert [case for case, rungs in figures(row) if not rungs] == []


@pytest.mark.parametrize("row", named(LISTS))
def test_all_words_of_a_list_are_barred_by_the_pack(row):
    for case in row.cases():
        rungs = from_the_section(row, case)
        assert {word for word in row.words if any(bars(rung, word) for rung in rungs)} == row.words


# --- what the library decides ---


def outcomes(row: Row, case: dict[str, Any], rungs: list[Rung]) -> set[str]:
    """Decide the case and return the outcomes of the rules behind `rungs`."""
    rules = {rung.rule.name for rung in rungs}
    decision = RULEBOOK.decide(case)
    return {str(reason.outcome) for reason in decision.reasons if reason.rule in rules and reason.fact == row.fact}


#: Four major grooves, and the fewest of them that a law wants worn; the center lies between the middle two.
WORN_GROOVES = {"any-one": (3,), "any-two": (0, 2), "two-adjacent": (1, 2), "center": (1,), "every": (0, 1, 2, 3)}


def readings(count: Counted, worn: str, spared: int | None = None) -> list[list[str]]:
    """Return a grid of three places in which no more is worn than a law counts; one of those readings is `spared`."""
    low = list(itertools.product(range(count.places), WORN_GROOVES[count.grooves]))
    if spared is not None:
        low.pop(spared)
    return [[worn if (place, groove) in low else "20 mm" for groove in range(4)] for place in range(3)]


def measured(row: Row, case: dict[str, Any], value: str, spared: int | None = None) -> dict[str, Any]:
    case = {**case}
    if row.fact == "tire.tread_depth":
        case["tire"] = {**case.get("tire", {}), "tread_grid": readings(row.count, value, spared)}
    else:
        put(case, row.fact, value)
    return case


MICROMETER = Fraction(1, 1000)


def beside(row: Row, side: int) -> str:
    """Return a length a micrometer above (1) or below (-1) the bound."""
    return f"{decimal_text(row.exact + side * MICROMETER, 9)} mm"


@pytest.mark.parametrize("row", named(FIGURES))
def test_a_figure_decides_on_both_sides_and_exactly_on_it(row):
    for case, rungs in figures(row):
        assert outcomes(row, measured(row, case, beside(row, row.failing)), rungs) == {"fails"}
        passing = [beside(row, -row.failing)]
        if row.inclusive:
            passing.append(row.bound)
        else:
            assert outcomes(row, measured(row, case, row.bound), rungs) == {"fails"}
        for value in passing:
            found = outcomes(row, measured(row, case, value), rungs)
            # A figure from memory may fail a tire and stay silent on one that it would pass.
            assert found == {"passes"} or (row.evidence == "memory" and found == set())


@pytest.mark.parametrize("row", named([row for row in FIGURES if row.fact == "tire.tread_depth"]))
def test_a_tire_with_one_reading_less_worn_than_the_law_counts_passes(row):
    readings_that_count = row.count.places * len(WORN_GROOVES[row.count.grooves])
    for (case, rungs), spared in itertools.product(figures(row), range(readings_that_count)):
        found = outcomes(row, measured(row, case, beside(row, -1), spared), rungs)
        assert found == {"passes"} or (row.evidence == "memory" and found == set())


#: A word of the same fact that no law names.
HARMLESS = {"repair.zone": "crown", "repair.method": "one-piece", "tire.class": "passenger", "injury.kind": "cut"}


@pytest.mark.parametrize("row", named(LISTS))
def test_each_word_of_a_list_fails_and_its_absence_passes(row):
    for case, word in itertools.product(row.cases(), sorted(row.words)):
        rungs = [rung for rung in from_the_section(row, case) if bars(rung, word)]
        assert outcomes(row, measured(row, case, word), rungs) == {"fails"}
        without = (
            {**case, "findings": []} if row.fact == "findings" else measured(row, case, HARMLESS.get(row.fact, "false"))
        )
        assert outcomes(row, without, rungs) == {"passes"}


def test_ten_years_are_not_more_than_ten_years():
    # Haw. Admin. Rules § 19-133.2-29(b): many sidewall cracks and more than ten years old.
    def failing(age: str) -> list[str]:
        tire = {"age": age, "tread_depth": "6/32 in"}
        case = {"jurisdictions": ["US-HI"], "activity": "inspection", "on": ON, "tire": tire}
        decision = RULEBOOK.decide({**case, "findings": ["weather-cracking"]})
        return [reason.rule for reason in decision.reasons if reason.outcome == Outcome.FAILS]

    assert failing("10 years") == []
    assert len(failing("3653 days")) == 1


# --- what no law says ---


@pytest.mark.parametrize("code", [code for code in JURISDICTIONS if code in RULEBOOK.codes])
def test_no_law_in_force_limits_the_repair_of_the_owners_own_tire(code):
    # No law in force was found anywhere in the two countries that says when or how a shop may repair a puncture; what
    # there is stands in laws on selling, fitting, driving on and inspecting tires.
    laws = [rule for rule in RULEBOOK.packs[code].rules if Activity.REPAIR in rule.activities and rule.source.law]
    assert [rule.id for rule in laws if not isinstance(rule.body, Require)] == []


#: Where bills on used tires died, were vetoed or were withdrawn, and no law took their place.
BILLS = {
    "US-FL": "SB 1588 (2013), SB 236 (2015), SB 380 (2017)",
    "US-IN": "HB 1774 (2018)",
    "US-NY": "A9683/S7082 (2012), S4820 (2013)",
    "US-OK": "HB 1082, SB 117 (2015)",
    "US-TX": "HB 2486 (2013), HB 2774 (2017, vetoed), SB 511 (2019)",
}


@pytest.mark.parametrize("code", BILLS, ids=[f"{code}: {bills}" for code, bills in BILLS.items()])
def test_a_bill_that_never_became_law_limits_no_used_tire(code):
    used = {Activity.USED_TIRE_INSTALLATION, Activity.USED_TIRE_SALE}
    facts = {getattr(rule.body, "fact", "") for rule in RULEBOOK.packs[code].rules if rule.activities & used}
    assert {fact for fact in facts if fact == "tire.tread_depth" or fact.startswith("repair.")} == set()


#: A case just outside what a law covers, and the section and figure (any, where it is empty) that must not reach it.
TRUCK = {"kind": "truck", "use": "commercial"}
STEER = {"axle": {"steer": True}, "tire": {"class": "medium-truck"}}
NO_SNOW = {"road": {"snow_restriction": False}}
OUT_OF_SCOPE = [
    ("US", "road-use", {"vehicle": {"use": "private", "kind": "truck"}, **STEER}, "393.75", ""),
    ("US-CA", "used-tire-installation", {"tire": {"same_vehicle": True}}, "9889.30", ""),
    ("US-OH", "used-tire-installation", {"vehicle": {"kind": "multipurpose"}}, "1345.022", ""),
    ("US-OH", "used-tire-installation", {"vehicle": {"kind": "truck"}}, "1345.022", ""),
    ("US-CO", "road-use", {"vehicle": {"use": "commercial", "gvwr": "16001 lb"}}, "42-4-228", ""),
    ("US-AZ", "road-use", {"vehicle": {"kind": "passenger-car"}}, "R13-3-1102", ""),
    ("US-UT", "inspection", {"vehicle": {"kind": "bus"}}, "R714-160-8", ""),
    ("US-NC", "road-use", {"vehicle": {**TRUCK, "gvwr": "10000 lb"}, **STEER}, "20-122.1", "4/32 in"),
    ("US-NH", "inspection", {"vehicle": {**TRUCK, "gvwr": "10000 lb"}, **STEER}, "3226.02", "4/32 in"),
    ("US-VA", "inspection", {"vehicle": {**TRUCK, "gvwr": "10000 lb"}, **STEER}, "30-70-500", "4/32 in"),
    ("US-SD", "road-use", {"vehicle": {**TRUCK, "gvwr": "26000 lb"}, **STEER}, "32-19-13", "3/32 in"),
    ("CA-BC", "road-use", {"vehicle": {**TRUCK, "gvwr": "5499 kg"}, **STEER, **NO_SNOW}, "26/58", ""),
    ("CA-ON", "road-use", {"vehicle": {**TRUCK, "gvwr": "4500 kg"}, **STEER}, "3", "3 mm"),
    ("CA-QC", "road-use", {"vehicle": {**TRUCK, "gvwr": "4499 kg"}, **STEER}, "120", "3.2 mm"),
    ("CA-QC", "road-use", {"vehicle": {"kind": "motorcycle"}, "tire": {"class": "motorcycle"}}, "120", ""),
]


@pytest.mark.parametrize(
    ("code", "activity", "facts", "section", "figure"),
    OUT_OF_SCOPE,
    ids=[f"{number}-{code}-{section}" for number, (code, _, _, section, _) in enumerate(OUT_OF_SCOPE)],
)
def test_a_law_sets_no_tread_depth_outside_its_scope(code, activity, facts, section, figure):
    limits = RULEBOOK.limits({"jurisdictions": [code], "activity": activity, "on": ON, **facts})
    ladder = limits["tire.tread_depth"].ladder if "tire.tread_depth" in limits else ()
    found = [rung for rung in ladder if rung.rule.pack == code and names(rung.rule.source.citation, section)]
    assert [rung.rule.id for rung in found if figure in rung.as_enacted] == []


# --- the table itself ---


def test_every_code_of_the_table_has_a_pack():
    assert {row.code for row in ROWS} <= set(RULEBOOK.codes)


def test_no_two_rows_set_the_same_figure():
    keys = [(row.code, row.activity, row.conditions, row.fact, row.citation) for row in FIGURES]
    assert sorted(keys) == sorted(set(keys))


def test_every_word_of_the_table_is_a_word_of_the_vocabulary():
    known = {fact.name: set(fact.values) for fact in FACTS.values()} | {"repair.method": set(METHODS)}
    said = {(row.fact, word) for row in LISTS for word in row.words}
    assert {(fact, word) for fact, word in said if word not in known[fact]} == set()
    assert {row.fact for row in FIGURES if FACTS[row.fact].kind is not Kind.QUANTITY} == set()


@pytest.mark.parametrize("code", [code for code in JURISDICTIONS if code in RULEBOOK.codes])
def test_every_figure_of_a_pack_stands_in_the_table(code):
    said = {(row.fact, row.relation, row.exact, row.count) for row in FIGURES if row.code == code}
    figures = {rule.id: held(rule.body) for rule in RULEBOOK.packs[code].rules if isinstance(rule.body, Limit)}
    assert {name: figure for name, figure in figures.items() if figure not in said} == {}


# --- places ---


@pytest.mark.parametrize("country", ["US", "CA"])
def test_jurisdictions_are_those_of_iso_3166_2(country):
    # Reference: pycountry, which ships the ISO 3166 lists of the Debian iso-codes project.
    listed = {each.code for each in pycountry.subdivisions.get(country_code=country)}
    assert {code for code in JURISDICTIONS if code.startswith(f"{country}-")} == listed
