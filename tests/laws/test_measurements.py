"""Laws of measuring: a worse injury never fares better, a better look never turns an answer around, and neither the
side of the tire nor the unit of a gauge matters.

All tires and injuries are invented; the rules are the built-in baseline's and, where said, an invented pack's. Two laws
that one might expect do not hold, and plane geometry says why: a channel that leans toward the center reaches less far
across it the further out it starts (see `test_further_out_is_worse`), and a hole of one size along the surface is
narrower across the more it is tilted (so the angle's law is about holes measured across).
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from typing import Any

import pytest
from hypothesis import strategies as st

from tests.amounts import law
from tests.engine import SIZE, all_reasons, by_method, rule, trade, us_case, world
from tests.support import injury
from tirerules import Decision, Rulebook, Verdict
from tirerules.vocabulary import GROOVES, PLACES

#: The verdicts from worst to best.
ORDER = (Verdict.OUTSIDE, Verdict.UNDETERMINED, Verdict.WITHIN)
#: Facts of the tire; the others are the injury's.
OF_TIRE = ("thickness", "tread_width", "section_width", "outside_diameter")
UNITS = {"angle": "deg"}


def rank(decision: Decision) -> int:
    return ORDER.index(decision.verdict)


def tenths(low: int, high: int) -> st.SearchStrategy[Fraction]:
    return st.integers(low, high).map(lambda number: Fraction(number, 10))


def decimal(value: Fraction) -> str:
    """Return a value whose decimal ends, exactly."""
    scaled = value * 10**9
    assert scaled.denominator == 1
    return f"{scaled.numerator // 10**9}.{scaled.numerator % 10**9:09d}"


#: Measured injuries, most of them near the edge of the band of a 180 mm tread (67.5 mm) and near 6 mm and 25 degrees.
injuries = st.fixed_dictionaries(
    {
        "diameter": tenths(30, 80),
        "angle": st.one_of(st.just(Fraction(0)), tenths(1, 450)),
        "from_centerline": st.one_of(tenths(0, 100), tenths(500, 700)),
        "thickness": st.one_of(st.none(), tenths(50, 200)),
        "tread_width": st.one_of(st.just(Fraction(180)), tenths(1700, 1900)),
        "leans": st.sampled_from(["toward-shoulder", "toward-center", "along-circumference", None]),
        "zone": st.sampled_from([None, None, "crown", "shoulder"]),
    }
)


def case_of(found: dict[str, Any], **more: Any) -> dict[str, Any]:
    """Return the case of one injury; a number is an exact reading, a pair of numbers a range."""

    def text(name: str, value: Any) -> Any:
        unit = UNITS.get(name, "mm")
        if isinstance(value, tuple):
            return " to ".join(f"{decimal(end)} {unit}" for end in value)
        return f"{decimal(value)} {unit}" if isinstance(value, Fraction) else value

    said = {name: text(name, value) for name, value in found.items()}
    tire = {"section_width": "225 mm", **{name: said.pop(name) for name in OF_TIRE if name in said}}
    return us_case(tire=tire, injuries=injury(**said), **more)


def decide(found: dict[str, Any]) -> Decision:
    return trade().decide(case_of(found))


# --- worse is never better --------------------------------------------------------------------------------------------


@law(injuries, st.sampled_from(["diameter", "angle", "thickness"]), tenths(1, 200), examples=40)
def test_larger_steeper_or_thicker_is_worse(found, fact, more):
    if found[fact] is None:
        found = {**found, fact: Fraction(50)}
    assert rank(decide({**found, fact: found[fact] + more})) <= rank(decide(found))


@law(injuries, tenths(1, 200), examples=40)
def test_further_out_is_worse(found, more):
    """Except for a channel that leans toward the center, which may reach less far across it: there the outer face must
    be the one that reaches further, as it is from half the channel's shift on (here at most 20 mm, at 45 degrees)."""
    if found["leans"] == "toward-center" and found["angle"]:
        found = {**found, "from_centerline": found["from_centerline"] + 10}
    further = {**found, "from_centerline": found["from_centerline"] + more}
    assert rank(decide(further)) <= rank(decide(found))


@law(injuries, tenths(1, 200), examples=40)
def test_a_narrower_tread_is_worse(found, less):
    assert rank(decide({**found, "tread_width": found["tread_width"] - less})) <= rank(decide(found))


@law(injuries, st.sampled_from(["leans", "thickness", "diameter", "angle", "tread_width"]), examples=40)
def test_knowing_less_is_never_a_pass(found, fact):
    if decide({**found, fact: None}).verdict is Verdict.WITHIN:
        assert decide(found).verdict is Verdict.WITHIN


# --- a better look never turns an answer around -----------------------------------------------------------------------

measured = st.sampled_from(["diameter", "angle", "from_centerline", "thickness", "tread_width"])
#: A point inside a range inside another range, as distances below and above the point.
nested = st.tuples(tenths(0, 30), tenths(0, 30), tenths(0, 30), tenths(0, 30))


def ranges(point: Fraction, widths: tuple[Fraction, ...]) -> tuple[Any, Any]:
    """Return a range around a point, and a wider one around that."""
    below, above, below_that, above_that = widths
    inner = (max(point - below, Fraction(0)), point + above)
    return inner, (max(inner[0] - below_that, Fraction(0)), inner[1] + above_that)


def refines(coarse: Decision, fine: Decision) -> bool:
    """Whether the finer look only settles what the coarser one left open."""
    return coarse.verdict in (Verdict.UNDETERMINED, fine.verdict)


@law(injuries, measured, nested, examples=40)
def test_a_point_inside_a_range_gets_the_answer_of_the_range(found, fact, widths):
    point = found[fact] if found[fact] is not None else Fraction(12)
    narrow, wide = ranges(point, widths)
    exact, finer, coarser = (decide({**found, fact: each}) for each in (point, narrow, wide))
    assert refines(finer, exact)
    assert refines(coarser, finer)


@law(injuries, nested, examples=40)
def test_a_range_in_every_measure_at_once(found, widths):
    facts = [fact for fact in ("diameter", "angle", "from_centerline", "thickness", "tread_width") if found[fact]]
    narrow = {fact: ranges(found[fact], widths)[0] for fact in facts}
    wide = {fact: ranges(found[fact], widths)[1] for fact in facts}
    exact, finer, coarser = decide(found), decide({**found, **narrow}), decide({**found, **wide})
    assert refines(finer, exact)
    assert refines(coarser, finer)


@law(tenths(1500, 2050), nested, tenths(400, 700), examples=40)
def test_a_section_width_inside_a_range_across_the_steps(width, widths, offset):
    found = {"from_centerline": offset, "angle": Fraction(0), "zone": None, "tread_width": Fraction(2000)}
    narrow, wide = ranges(width, tuple(each * 5 for each in widths))
    exact, finer, coarser = (decide({**found, "section_width": each}) for each in (width, narrow, wide))
    assert refines(finer, exact)
    assert refines(coarser, finer)


@law(tenths(30, 120), st.one_of(st.none(), tenths(0, 300)), st.one_of(st.none(), tenths(30, 80)), nested, examples=40)
def test_a_size_along_the_surface_inside_a_range(surface, angle, across, widths):
    found = {"surface_diameter": surface, "angle": angle, "diameter": across, "zone": "crown"}
    narrow, wide = ranges(surface, widths)
    exact, finer, coarser = (decide({**found, "surface_diameter": each}) for each in (surface, narrow, wide))
    assert refines(finer, exact)
    assert refines(coarser, finer)


# --- tread ------------------------------------------------------------------------------------------------------------


@cache
def worn(grooves: str, places: int) -> Rulebook:
    counted = f"counted: {{grooves: {grooves}, places: {places}}}"
    return world(SIZE + rule("worn", f"limit: {{fact: tire.tread_depth, at-least: 2 mm, {counted}}}"))


grids = st.tuples(st.sampled_from([1, 2, 3, 4, 6]), st.integers(1, 4)).flatmap(
    lambda shape: st.lists(
        st.lists(tenths(15, 25), min_size=shape[1], max_size=shape[1]), min_size=shape[0], max_size=shape[0]
    )
)


def on_grid(rules: Rulebook, grid: list[list[Any]]) -> Decision:
    def text(reading: Any) -> str:
        ends = reading if isinstance(reading, tuple) else (reading,)
        return " to ".join(f"{decimal(end)} mm" for end in ends)

    rows = [[text(reading) for reading in place] for place in grid]
    return rules.decide(us_case(tire={"tread_depth": None, "tread_grid": rows}))


def changed(grid: list[list[Any]], at: int, change: Any) -> list[list[Any]]:
    place, groove = divmod(at % (len(grid) * len(grid[0])), len(grid[0]))
    return [
        [change(reading) if (row, column) == (place, groove) else reading for column, reading in enumerate(readings)]
        for row, readings in enumerate(grid)
    ]


@law(grids, st.integers(0, 23), tenths(1, 10), st.sampled_from(GROOVES), st.sampled_from(PLACES), examples=40)
def test_a_smaller_reading_is_worse(grid, at, less, grooves, places):
    rules = worn(grooves, places)
    assert rank(on_grid(rules, changed(grid, at, lambda reading: reading - less))) <= rank(on_grid(rules, grid))


@law(tenths(10, 30), tenths(1, 10), examples=40)
def test_a_smaller_smallest_reading_is_worse(depth, less):
    readings = [us_case(tire={"tread_depth": f"{decimal(each)} mm"}) for each in (depth, depth - less)]
    before, after = (rank(trade().decide(case)) for case in readings)
    assert after <= before


@law(grids, st.integers(0, 23), nested, st.sampled_from(GROOVES), st.sampled_from(PLACES), examples=40)
def test_a_reading_inside_a_range_gets_the_answer_of_the_range(grid, at, widths, grooves, places):
    rules = worn(grooves, places)
    exact, finer, coarser = (
        on_grid(rules, grid),
        *(
            on_grid(rules, changed(grid, at, lambda reading, which=which: ranges(reading, widths)[which]))
            for which in (0, 1)
        ),
    )
    assert refines(finer, exact)
    assert refines(coarser, finer)


@law(grids, st.sampled_from(GROOVES), st.sampled_from(PLACES), st.integers(0, 5), examples=40)
def test_neither_the_first_place_nor_the_side_of_a_grid_matters(grid, grooves, places, turn):
    start = turn % len(grid)
    turned = [list(reversed(place)) for place in (*grid[start:], *grid[:start])]
    before, after = (on_grid(worn(grooves, places), each) for each in (grid, turned))
    assert (after.verdict, after.questions) == (before.verdict, before.questions)


# --- several injuries -------------------------------------------------------------------------------------------------

#: One invented limit on pairs at a time, so that passes and failures are both common, and all of them together.
PAIRED = {
    "spacing": rule("spacing", "limit: {fact: repairs.spacing, at-least: 150 mm}"),
    "angle": rule("angle", "limit: {fact: repairs.spacing_angle, at-least: 20 deg}"),
    "overlap": rule("overlap", "prohibit: {fact: repairs.overlap, values: [true]}"),
    "opposed": rule("opposed", "prohibit: {fact: repairs.opposed, values: [true]}"),
    "reach": rule("reach", "limit: {fact: injury.reach, at-most: 55 mm}"),
}
AROUND = {
    **{name: world(SIZE + each) for name, each in PAIRED.items()},
    "all": world(SIZE + "".join(PAIRED.values())),
}
limits = st.sampled_from(list(AROUND))
OTHER = {"left": "right", "right": "left", None: None}
#: Places on a clock, in half hours, so that pairs near the limits are common.
spots = st.fixed_dictionaries(
    {
        "clock": st.integers(0, 24).map(lambda part: part * 30 if part < 24 else None),  # minutes of twelve hours
        "side": st.sampled_from(["left", "right", "left", "right", None]),
        "zone": st.sampled_from(["crown", "sidewall"]),
        "from_centerline": st.integers(0, 60).map(lambda number: f"{number} mm" if number < 60 else None),
        "unit_length": st.sampled_from(["40 mm", "60 mm", "100 mm", "200 mm", None]),
        "unit_width": st.sampled_from(["30 mm", "50 mm", "70 mm", None]),
    }
)
several = st.lists(spots, min_size=2, max_size=3)


def around(limit: str, found: list[dict[str, Any]], turn: int = 0, diameter: str = "630 mm") -> Decision:
    """Decide several injuries, all of them turned around the tire by some minutes of twelve hours."""

    def clock(minute: int | None) -> str | None:
        minute = None if minute is None else (minute + turn) % 720
        return None if minute is None else f"{minute // 60}:{minute % 60:02d}"

    said = [injury(**{**each, "angle": "0 deg", "clock": clock(each["clock"])})[0] for each in found]
    return AROUND[limit].decide(us_case(tire={"outside_diameter": diameter}, injuries=said))


def answers(decision: Decision) -> tuple[Any, ...]:
    """Return all that a decision says of a tire, but for which side of it is which."""
    reasons = [(each.rule, each.subject, each.measured, each.outcome) for each in all_reasons(decision)]
    return decision.verdict, reasons, decision.questions, decision.geometry, dict(decision.limits)


@law(limits, several, examples=40)
def test_left_and_right_are_alike(limit, found):
    mirrored = [{**each, "side": OTHER[each["side"]]} for each in found]
    assert answers(around(limit, mirrored)) == answers(around(limit, found))


@law(limits, several, examples=40)
def test_both_ways_around_the_tire_are_alike(limit, found):
    mirrored = [{**each, "clock": None if each["clock"] is None else -each["clock"] % 720} for each in found]
    assert answers(around(limit, mirrored)) == answers(around(limit, found))


@law(limits, several, st.integers(1, 719), examples=40)
def test_where_the_mark_is_does_not_matter(limit, found, turn):
    assert answers(around(limit, found, turn)) == answers(around(limit, found))


@law(limits, several, examples=40)
def test_the_order_of_injuries_does_not_matter(limit, found):
    before, after = around(limit, found), around(limit, found[::-1])
    assert after.verdict is before.verdict
    assert sorted((each.rule, each.outcome) for each in all_reasons(after)) == sorted(
        (each.rule, each.outcome) for each in all_reasons(before)
    )


@law(limits, several, tenths(5000, 7000), nested, examples=40)
def test_a_diameter_inside_a_range_gets_the_answer_of_the_range(limit, found, diameter, widths):
    narrow, wide = ranges(diameter, tuple(each * 20 for each in widths))
    texts = (f"{decimal(diameter)} mm", *(f"{decimal(low)} mm to {decimal(high)} mm" for low, high in (narrow, wide)))
    exact, finer, coarser = (around(limit, found, diameter=text) for text in texts)
    assert refines(finer, exact)
    assert refines(coarser, finer)


@law(limits, several, spots, examples=40)
def test_another_injury_is_worse(limit, found, another):
    assert rank(around(limit, [*found, another])) <= rank(around(limit, found))


# --- units ------------------------------------------------------------------------------------------------------------

# 1 in = 25.4 mm exactly (International Yard and Pound agreement, 1959), so 1/64 in = 0.396875 mm.
INCH = Fraction("25.4")
parts = {
    "diameter": st.integers(8, 32),
    "from_centerline": st.integers(0, 180),
    "thickness": st.integers(12, 50),
    "tread_width": st.integers(420, 480),
    "tread_depth": st.integers(2, 8),
    "section_width": st.integers(380, 600),
}


def in_inches(number: int) -> str:
    whole, rest = divmod(number, 64)
    return f"{whole} {rest}/64 in" if whole and rest else f"{whole} in" if whole else f"{rest}/64 in"


#: Ways to write so many 64ths of an inch.
WRITTEN = {
    "mm": lambda number: f"{decimal(number * INCH / 64)} mm",
    "cm": lambda number: f"{decimal(number * INCH / 640)} cm",
    "m": lambda number: f"{decimal(number * INCH / 64 / 1000)} m",
    "in": in_inches,
    "decimal in": lambda number: f'{decimal(Fraction(number, 64))}"',
}


@law(
    st.fixed_dictionaries(parts),
    st.sampled_from(["0 deg", "10 deg", "25 deg", "30 deg"]),
    st.sampled_from(["toward-shoulder", "toward-center", "along-circumference", None]),
    st.sampled_from(["strict", "as-enacted"]),
    examples=40,
)
def test_the_unit_of_a_gauge_changes_nothing(numbers, angle, leans, reading):
    def said(write: Any) -> Decision:
        text = {name: write(number) for name, number in numbers.items()}
        tire = {name: text.pop(name) for name in ("thickness", "tread_width", "tread_depth", "section_width")}
        found = injury(**text, angle=angle, leans=leans, zone=None)
        return trade().decide(us_case(tire=tire, injuries=found, reading=reading))

    def answer(decision: Decision) -> tuple[Any, ...]:
        outcomes = [(each.rule, each.subject, each.outcome, each.limit) for each in all_reasons(decision)]
        where = [(each.outer, each.inner, each.band, each.rule, each.known) for each in decision.geometry]
        return decision.verdict, by_method(decision), outcomes, where, decision.questions, dict(decision.limits)

    first, *others = (answer(said(write)) for write in WRITTEN.values())
    assert others == [first] * len(others)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("6.35 mm", "1/4 in"),
        ("9.525 mm", "3/8 in"),
        ("0.635 cm", ".25 in"),
        ("38.1 mm", "1 1/2 in"),
        ("6.1 mm to 6.35 mm", "6.1 mm to 1/4 in"),
        ("6.35 mm ± 0.79375 mm", "1/4 in ± 1/32 in"),
        ("6.35 mm ± 0.396875 mm", "8/32 in ± 1/64 in"),
        ("8/32 in rounded", "8/32 in ± 1/64 in"),
        ("6 mm rounded", "6 mm ± 0.5 mm"),
    ],
)
def test_one_length_in_two_units_gets_one_answer(one, other):
    for fact in ("diameter", "from_centerline"):
        before, after = (
            trade().decide(
                us_case(tire={"size": "225/45R17", "tread_width": "40 mm"}, injuries=injury(zone=None, **found))
            )
            for found in (
                {"from_centerline": "9 mm", "leans": "along-circumference", fact: one},
                {"from_centerline": "9 mm", "leans": "along-circumference", fact: other},
            )
        )
        assert before.verdict is after.verdict
        assert by_method(before) == by_method(after)
        assert [each.margin for each in before.geometry] == [each.margin for each in after.geometry]
