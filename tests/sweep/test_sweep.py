"""No plainly bad tire is called within the limits, anywhere; and the sweep that says so would have found what was once.

`python -m tests.sweep` decides every row, reads the reasons of all that are undetermined, and prints the counts.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from typing import Any

import pytest

import tirerules
from tests.amounts import some_of
from tests.support import builtin_packs, rulebook_of
from tests.sweep import put_back
from tests.sweep.judging import REFUSED, swept
from tests.sweep.rows import Row, rows
from tests.sweep.way import ACTS, ALL
from tests.sweep.ways import WAYS

#: In how many parts all rows are swept, of which the ordinary run has the first.
PARTS = 6
#: A tread grid takes fifty times as long as a plain case, and reasons ten times as long as a verdict.
ONE_GRID_OF, ONE_REASON_OF = 7, 60
LEAST, SHOWN = 200_000, 50


def in_part(part: int, codes: Sequence[str]) -> Iterator[Row]:
    """Yield the rows of one part, each `PARTS`-th; what is left out in one place is swept in the next."""
    for place, code in enumerate(codes):
        for number, row in enumerate(rows([code]), start=place):
            grid = "tread_grid" in row.way.bad.get("tire", {})
            if number % (PARTS * ONE_GRID_OF if grid else PARTS) == part:
                yield row


@pytest.mark.parametrize("part", some_of(range(PARTS), 1))
def test_each_part_sweeps_all_places_ways_acts_and_tires(part):
    codes = tirerules.load().codes
    whole, mine = (
        [(row.place, row.way.name, row.act, row.tire) for row in found] for found in (rows(codes), in_part(part, codes))
    )
    assert {each[1:] for each in mine} == {each[1:] for each in whole}  # each way, act and tire in some place
    assert {(place, *rest) for place, _, *rest in mine} == {(place, *rest) for place, _, *rest in whole}
    grids = {way.name for way in WAYS if "tread_grid" in way.bad.get("tire", {})}
    counts = Counter(each[:2] for each in whole if each[1] not in grids)
    assert {each[:2] for each in mine} >= {each for each, count in counts.items() if count >= PARTS}


@pytest.mark.parametrize("part", some_of(range(PARTS), 1))
def test_no_plainly_bad_tire_is_within_the_limits_anywhere(part):
    book = tirerules.load()
    sweep = swept(book, in_part(part, book.codes), ONE_REASON_OF)
    if sweep.wrong:
        pytest.fail("\n".join([f"{len(sweep.wrong)} rows are wrong:", *sweep.wrong[:SHOWN]]), pytrace=False)
    assert sweep.count > LEAST / PARTS
    assert sweep.outcomes[REFUSED] <= sweep.count / 100
    assert {each.name for each in WAYS} == set(sweep.by_way)


def test_the_table_of_ways_is_whole():
    assert len({way.name for way in WAYS}) == len(WAYS)
    for way in WAYS:
        assert way.why, way.name
        assert set(way.acts) <= set(ACTS), way.name
        assert set(way.tires) <= set(ALL), way.name
        barred = [way.must_be_outside("US-SC", act, tire) for act in way.acts for tire in way.tires]
        # Where a row may be undetermined, it is said by what.
        assert way.by or all(barred), way.name
        # Nothing is bad by itself but for what it lays over the sound tire, or for the class of that tire.
        assert way.bad != way.good, way.name


@pytest.mark.parametrize(
    ("fault", "places", "ways", "found"),
    [
        (put_back.a_word_is_a_floor, ["US-NJ"], ["no tread, ", "tread below"], "must be outside"),
        (put_back.light_trucks_have_no_band, ["US-TX"], ["in the tread and outside its band"], "within the limits"),
        (
            put_back.earlier_repairs_have_no_band,
            ["US-WY"],
            ["earlier repair in the tread and outside its band"],
            "within the limits",
        ),
        (
            put_back.earlier_section_repairs_of_light_trucks_pass,
            ["US-WY"],
            ["earlier section repair"],
            "light-truck: earlier section repair of a tire that has none: within the limits",
        ),
        (put_back.quadrants_do_not_matter, ["US-WY"], ["two earlier repairs in", "an injury in"], "within the limits"),
        (put_back.business_vehicles_escape, ["US-CO"], ["no tread, commercial"], "must be outside"),
        (put_back.classes_escape_their_mark, ["US-NE"], ["a car on tires of a class"], "must be outside"),
        (
            put_back.commerce_is_enough,
            ["US-ID"],
            ["a light company car"],
            "within the limits; said plainly it is undetermined",
        ),
        (put_back.commerce_is_enough, ["US-ID"], ["injured in the sidewall, front"], "its lawful twin is outside"),
    ],
    ids=lambda value: getattr(value, "__name__", ""),
)
def test_the_sweep_finds_what_was_once_called_within(
    fault: Callable[[list[dict[str, Any]]], list[dict[str, Any]]], places: list[str], ways: Sequence[str], found: str
):
    packs = [pack for pack in builtin_packs() if pack["pack"] in ("industry", "US", *places)]
    chosen = [way for way in WAYS if way.name.startswith(tuple(ways))]
    assert swept(rulebook_of(packs), rows(places, chosen)).wrong == []
    wrong = swept(rulebook_of(fault(packs)), rows(places, chosen)).wrong
    assert [each for each in wrong if found in each] != []
