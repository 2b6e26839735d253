"""Tread depth as laws count it: hand-worked grids, the law's own wording as an oracle, and verdicts by invented rules.

All readings are invented, in 32nds of an inch unless a unit stands beside them.
"""

from __future__ import annotations

import itertools
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.engine import SIZE, all_reasons, asked, outcomes, rule, us_case, world
from tirerules import CaseError, Decision, Verdict, case_from_json, case_to_json
from tirerules.case import Tire
from tirerules.engine.geometry import interval
from tirerules.engine.tread import counted_depth, least_reading
from tirerules.packs.rule import Counted
from tirerules.quantities import Measured, measure
from tirerules.strictest.bounds import Floor, Interval
from tirerules.vocabulary import FACTS, GROOVES, PLACES, Dimension

#: Readings by place around the tire and groove across it.
Grid = tuple[tuple[Measured, ...], ...]


def grid(*places: str) -> Grid:
    """Return a grid of exact readings in mm: a text for each place, in it a number for each groove, edge to edge."""
    return tuple(tuple(measure(f"{each} mm") for each in place.split()) for place in places)


def depth(found: Grid, grooves: str, places: int) -> Fraction | None:
    """Return the depth that counts on a grid of exact readings."""
    counted = counted_depth(found, Counted(grooves, places))
    if counted is None:
        return None
    assert counted.low == counted.high
    return counted.low


# --- hand-worked grids: the least, over every choice of grooves and places, of the greatest reading in it ------------

# Place by place the greatest of each pair of grooves (1-2, 1-3, 1-4, 2-3, 2-4, 3-4):
#   2 7 3 8  ->  7 3 8 7 8 8
#   1 6 4 9  ->  6 4 9 6 9 9
#   3 5 2 7  ->  5 3 7 5 7 7
THREE_PLACES = grid("2 7 3 8", "1 6 4 9", "3 5 2 7")
WORKED = [
    ("any-one", 1, 1),  # the least of all twelve
    ("any-one", 2, 2),  # groove 1 at places 1 and 2: 2, 1; every other pair of places in one groove is deeper
    ("any-one", 3, 3),  # groove 1: 2, 1, 3; grooves 2 to 4 reach 7, 4 and 9
    ("any-two", 1, 3),  # grooves 1 and 3 at place 1 (or 3)
    ("any-two", 2, 3),  # grooves 1 and 3 at places 1 and 3: 3, 3
    ("any-two", 3, 4),  # grooves 1 and 3: 3, 4, 3
    ("two-adjacent", 1, 5),  # grooves 1 and 2 (or 2 and 3) at place 3
    ("two-adjacent", 2, 6),  # the same at places 2 and 3: 6, 5
    ("two-adjacent", 3, 7),  # the same at all places: 7, 6, 5
    ("center", 1, 2),  # grooves 2 and 3 are equally near: groove 3 at place 3
    ("center", 2, 3),  # groove 3 at places 1 and 3: 3, 2
    ("center", 3, 4),  # groove 3: 3, 4, 2; groove 2 reaches 7
    ("every", 1, 7),  # the greatest of each place: 8, 9, 7
    ("every", 2, 8),  # places 1 and 3
    ("every", 3, 9),
]


@pytest.mark.parametrize(("grooves", "places", "expected"), WORKED, ids=[f"{row[0]} x {row[1]}" for row in WORKED])
def test_every_way_of_counting_on_a_hand_worked_grid(grooves, places, expected):
    assert depth(THREE_PLACES, grooves, places) == expected


def test_every_way_of_counting_is_worked_by_hand():
    assert {(grooves, places) for grooves, places, _ in WORKED} == set(itertools.product(GROOVES, PLACES))


@pytest.mark.parametrize(
    ("found", "grooves", "places", "expected"),
    [
        # Six places: three that are equally spaced are the first, third and fifth, or the second, fourth and sixth.
        (grid("1", "9", "2", "9", "3", "9"), "any-one", 3, 3),
        (grid("9", "3", "9", "1", "9", "2"), "any-one", 3, 3),
        (grid("1", "1", "1", "9", "9", "9"), "any-one", 3, 9),
        (grid("1 9", "9 9", "1 2", "9 9", "1 3", "9 9"), "two-adjacent", 3, 9),
        (grid("1 1", "9 9", "2 2", "9 9", "3 2", "9 9"), "two-adjacent", 3, 3),
        # Two places are any two, however near each other: the stricter reading of "two places 15 in apart".
        (grid("1", "1", "9", "9", "9", "9", "9", "9"), "any-one", 2, 1),
        (grid("1", "9", "9", "9", "2", "9", "9", "9"), "any-one", 2, 2),
        (grid("4", "5"), "any-one", 2, 5),
        # Two low readings in two grooves of one place are not two places, nor one groove at each of two places.
        (grid("1 1 9", "9 9 9"), "any-one", 2, 9),
        (grid("1 9 9", "9 9 1"), "any-one", 2, 9),
    ],
    ids=[
        "odd places of six",
        "even places of six",
        "three neighbors of six",
        "one of two grooves",
        "both grooves",
        "neighbors of eight",
        "opposite of eight",
        "two places",
        "two grooves at one place",
        "two grooves at two places",
    ],
)
def test_which_places_belong_together(found, grooves, places, expected):
    assert depth(found, grooves, places) == expected


@pytest.mark.parametrize(
    ("place", "expected"),
    [("4", 4), ("5 4", 4), ("4 5", 4), ("1 4 1", 4), ("1 4 5 1", 4), ("1 5 4 1", 4), ("1 1 5 4 1 1", 4)],
)
def test_the_groove_nearest_the_center_of_an_even_number_is_either_of_two(place, expected):
    assert depth(grid(place), "center", 1) == expected


@pytest.mark.parametrize(
    ("found", "grooves", "places"),
    [
        (grid("1"), "two-adjacent", 1),
        (grid("1"), "any-two", 1),
        (grid("1", "1", "1"), "two-adjacent", 3),
        (grid("1 1"), "any-one", 2),
        (grid("1 1"), "every", 3),
        (grid("1 1", "1 1"), "center", 3),
        # Of four or five equally spaced places no three are equally spaced.
        (grid("1 1", "1 1", "1 1", "1 1"), "two-adjacent", 3),
        (grid("1", "1", "1", "1", "1"), "any-one", 3),
    ],
    ids=[
        "one groove, two adjacent",
        "one groove, any two",
        "one groove, three places",
        "one place, two wanted",
        "one place, three wanted",
        "two places, three wanted",
        "four places, three wanted",
        "five places, three wanted",
    ],
)
def test_a_grid_too_small_to_count_so_gives_no_depth(found, grooves, places):
    assert depth(found, grooves, places) is None


def test_widths_go_through_end_by_end():
    # One place: grooves 2..4, 3..5, 1..9. Adjacent pairs reach max(2, 3)..max(4, 5) = 3..5 and max(3, 1)..9 = 3..9;
    # the least of those is 3..5. The least reading anywhere is min(2, 3, 1)..min(4, 5, 9) = 1..4.
    row = tuple(measure(f"{low} mm to {high} mm") for low, high in ((2, 4), (3, 5), (1, 9)))
    assert counted_depth((row,), Counted("two-adjacent", 1)) == Interval(Fraction(3), Fraction(5))
    least, shown = least_reading((row,), None)
    assert interval(least) == Interval(Fraction(1), Fraction(4))
    assert shown == "1 mm to 9 mm (the smallest of 3 readings)"


@pytest.mark.parametrize(
    ("stated", "least", "shown"),
    [
        ("1 mm", "1", "1 mm (the smallest of 13 readings)"),
        ("9 mm", "1", "1 mm (the smallest of 13 readings)"),
        ("1/2 mm", "1/2", "1/2 mm (the smallest of 13 readings)"),
    ],
)
def test_the_least_of_a_grid_and_of_a_stated_depth(stated, least, shown):
    found, text = least_reading(THREE_PLACES, measure(stated))
    assert (found.low.exact, found.high.exact, text) == (Fraction(least), Fraction(least), shown)


# --- the law's own wording as an oracle -------------------------------------------------------------------------------


def worn(readings: list[list[int]], grooves: str, places: int, limit: int) -> bool | None:
    """Say whether some choice of grooves and places reads below `limit` everywhere; None where there is no choice.

    Places are angles: of three, each is a third of a turn from the next (Utah Admin. Code R714-160 and other states:
    "any two adjacent major grooves at three equally spaced locations").
    """
    count, width = len(readings), len(readings[0])
    turns = [Fraction(place, count) for place in range(count)]
    rows = [
        chosen
        for chosen in itertools.combinations(range(count), places)
        if places < 3 or all(turns[chosen[at]] - turns[chosen[0]] == Fraction(at, 3) for at in range(3))
    ]
    middle = Fraction(width - 1, 2)
    nearest = min(abs(column - middle) for column in range(width))
    columns = {
        "any-one": [(column,) for column in range(width)],
        "any-two": [pair for pair in itertools.product(range(width), repeat=2) if pair[0] < pair[1]],
        "two-adjacent": [(column, column + 1) for column in range(width - 1)],
        "center": [(column,) for column in range(width) if abs(column - middle) == nearest],
        "every": [tuple(range(width))],
    }[grooves]
    choices = list(itertools.product(rows, columns))
    if not choices:
        return None
    return any(all(readings[row][column] < limit for row in down for column in along) for down, along in choices)


readings = st.tuples(st.integers(1, 7), st.integers(1, 5)).flatmap(
    lambda shape: st.lists(
        st.lists(st.integers(0, 4), min_size=shape[1], max_size=shape[1]), min_size=shape[0], max_size=shape[0]
    )
)


@settings(max_examples=300, deadline=None)
@given(readings, st.sampled_from(GROOVES), st.sampled_from(PLACES), st.integers(0, 5))
def test_a_tire_is_worn_where_the_counted_depth_is_below_the_limit(found, grooves, places, limit):
    counted = depth(grid(*(" ".join(map(str, row)) for row in found)), grooves, places)
    expected = worn(found, grooves, places, limit)
    assert (counted is None) == (expected is None)
    if counted is not None:
        assert (Floor.of(Fraction(limit), True).admits(Interval(counted, counted)) is False) == expected


# --- verdicts by invented rules ---------------------------------------------------------------------------------------

ADJACENT = "{grooves: two-adjacent, places: 3}"


def floor(name: str, figure: str, counted: str = "", **more: str) -> str:
    how = f", counted: {counted}" if counted else ""
    return rule(name, f"limit: {{fact: tire.tread_depth, {figure}{how}}}", **more)


def readings_of(*places: str) -> list[list[str]]:
    return [[f"{each}/32 in" for each in place.split()] for place in places]


def decide(rules: str, *places: str, tread_depth: str | None = None, **changes) -> Decision:
    """Decide an invented repair by an invented floor, with the readings of some places or the smallest depth."""
    tire = {"tread_depth": tread_depth, **({"tread_grid": readings_of(*places)} if places else {})}
    return world(SIZE + rules).decide(us_case(tire=tire, **changes))


@pytest.mark.parametrize(
    ("counted", "places", "verdict"),
    [
        (ADJACENT, ("1 4 4 4", "1 4 4 4", "1 4 4 4"), "within-limits"),
        (ADJACENT, ("1 1 4 4", "1 1 4 4", "1 1 4 4"), "outside-limits"),
        (ADJACENT, ("4 4 1 0", "4 4 0 1", "4 4 1 1"), "outside-limits"),
        (ADJACENT, ("1 4 1 4", "1 4 1 4", "1 4 1 4"), "within-limits"),
        (ADJACENT, ("1 1 4 4", "1 1 4 4", "1 2 4 4"), "within-limits"),
        (ADJACENT, ("1 1 4 4", "1 1 4 4", "4 4 1 1"), "within-limits"),
        ("{grooves: any-two, places: 3}", ("1 4 1 4", "1 4 1 4", "1 4 1 4"), "outside-limits"),
        ("{grooves: every, places: 2}", ("1 1 1", "1 1 1", "4 4 4"), "outside-limits"),
        ("{grooves: every, places: 2}", ("1 1 1", "1 2 1", "4 4 4"), "within-limits"),
        ("{grooves: center, places: 3}", ("1 2 1", "1 2 1", "1 2 1"), "within-limits"),
        ("{grooves: center, places: 3}", ("4 1 4", "4 1 4", "4 1 4"), "outside-limits"),
        ("{grooves: any-one, places: 2}", ("1 4", "4 4", "4 4"), "within-limits"),
        ("{grooves: any-one, places: 2}", ("1 4", "4 4", "1 4"), "outside-limits"),
        ("{grooves: any-one, places: 1}", ("4 4", "4 4", "1 4"), "outside-limits"),
        ("", ("4 4", "4 4", "1 4"), "outside-limits"),
    ],
    ids=[
        "one groove low",
        "two adjacent low",
        "the last two low",
        "two low, not adjacent",
        "low at two places of three",
        "low, but not the same two",
        "any two low",
        "all grooves at two places",
        "all grooves at one place",
        "center groove at the bound",
        "center groove low",
        "low at one place of two",
        "low at two places",
        "any point, said in full",
        "any point",
    ],
)
def test_a_grid_is_judged_as_the_rule_counts(counted, places, verdict):
    decision = decide(floor("worn", "at-least: 2/32 in", counted), *places)
    assert str(decision.verdict) == verdict


def test_the_reason_says_how_the_law_counts_and_how_many_readings_there_are():
    decision = decide(floor("worn", "at-least: 2/32 in", ADJACENT), "1 1 4 4", "1 1 4 4", "1 1 4 4")
    (found,) = [each for each in all_reasons(decision) if each.rule == "invented-trade/worn"]
    assert found.limit == "at least 2/32 in, counted in two adjacent grooves at 3 places"
    assert found.measured == "1/32 in (the smallest of 12 readings)"


# "Less than 2/32 in" leaves 2/32 in standing; "2/32 in or less" (the truck chart) does not. 2/32 in = 1.5875 mm, as
# 1 in = 25.4 mm exactly (International Yard and Pound agreement, 1959).
@pytest.mark.parametrize(
    ("figure", "low", "verdict"),
    [
        ("at-least: 2/32 in", "2/32 in", "within-limits"),
        ("at-least: 2/32 in", "1.5875 mm", "within-limits"),
        ("at-least: 2/32 in", "1.587499999999 mm", "outside-limits"),
        ("more-than: 2/32 in", "2/32 in", "outside-limits"),
        ("more-than: 2/32 in", "1.5875 mm", "outside-limits"),
        ("more-than: 2/32 in", "1.587500000001 mm", "within-limits"),
    ],
)
def test_exactly_on_the_bound(figure, low, verdict):
    place = [low, low, "9/32 in"]
    decision = world(SIZE + floor("worn", figure, ADJACENT)).decide(
        us_case(tire={"tread_depth": None, "tread_grid": [place] * 3})
    )
    assert str(decision.verdict) == verdict


# --- the smallest reading alone ---------------------------------------------------------------------------------------


def test_the_smallest_reading_alone_passes_a_counted_floor():
    decision = decide(floor("worn", "at-least: 2/32 in", ADJACENT), tread_depth="2/32 in")
    assert (decision.verdict, asked(decision)) == (Verdict.WITHIN, [])


@pytest.mark.parametrize("counted", [f"{{grooves: {each}}}" for each in GROOVES if each != "any-one"] + [ADJACENT])
def test_the_smallest_reading_alone_never_fails_a_counted_floor_and_asks_for_all_readings(counted):
    decision = decide(floor("worn", "at-least: 2/32 in", counted), tread_depth="0 mm")
    assert outcomes(decision, "invented-trade/worn") == {"unknown"}
    (question,) = decision.questions
    assert (question.fact, question.ask) == ("tire.tread_grid", FACTS["tire.tread_grid"].question)
    assert "every major groove" in question.ask
    assert "three equally spaced places" in question.ask


def test_an_unknown_depth_is_asked_for_before_a_grid():
    assert asked(decide(floor("worn", "at-least: 2/32 in", ADJACENT))) == ["tire.tread_depth"]


def test_the_smallest_reading_fails_a_floor_at_any_point():
    decision = decide(floor("worn", "at-least: 2/32 in"), tread_depth="1/32 in")
    assert decision.verdict is Verdict.OUTSIDE


def test_a_depth_stated_besides_a_grid_counts_at_any_point_and_not_in_grooves():
    rules = floor("point", "at-least: 2/32 in") + floor("worn", "at-least: 2/32 in", ADJACENT)
    decision = decide(rules, "4 4", "4 4", "4 4", tread_depth="1/32 in")
    assert outcomes(decision, "invented-trade/point") == {"fails"}
    assert outcomes(decision, "invented-trade/worn") == {"passes"}
    (found,) = [each for each in all_reasons(decision) if each.rule == "invented-trade/point"]
    assert found.measured == "1/32 in (the smallest of 7 readings)"


@pytest.mark.parametrize(
    ("counted", "places"),
    [
        (ADJACENT, ("9",)),
        (ADJACENT, ("9 9",)),
        (ADJACENT, ("9 9", "9 9")),
        (ADJACENT, ("9 9", "9 9", "9 9", "9 9")),
        (ADJACENT, ("0 0", "0 0")),
        ("{grooves: any-two, places: 1}", ("9",)),
        ("{grooves: every, places: 2}", ("9 9",)),
        ("{grooves: any-one, places: 2}", ("0 0",)),
    ],
    ids=[
        "one reading",
        "one place",
        "two places",
        "four places",
        "two places, bald",
        "one groove",
        "every groove, one place",
        "one place, bald",
    ],
)
def test_a_grid_too_small_for_the_rule_is_a_question_not_a_pass_nor_a_failure(counted, places):
    decision = decide(floor("worn", "at-least: 2/32 in", counted), *places)
    assert (decision.verdict, asked(decision)) == (Verdict.UNDETERMINED, ["tire.tread_grid"])


# --- widths and gauges ------------------------------------------------------------------------------------------------


# A gauge in 32nds that rounds reads n for n - 1/2 to n + 1/2 (handbook arithmetic): 2/32 in may be 3/64 in. Guarded
# acceptance (JCGM 106): a minimum passes when the least that the reading can mean reaches the limit.
@pytest.mark.parametrize(
    ("reading", "verdict"),
    [
        ("2/32 in", "within-limits"),
        ("2/32 in rounded", "undetermined"),
        ("3/32 in rounded", "within-limits"),
        ("1/32 in rounded", "outside-limits"),
        ("2/32 in ± 1/64 in", "undetermined"),
        ("5/64 in ± 1/64 in", "within-limits"),
        ("1/32 in to 2/32 in", "undetermined"),
        ("1/32 in to 1.58 mm", "outside-limits"),
        ("2/32 in to 4/32 in", "within-limits"),
    ],
)
def test_a_reading_with_a_width_in_the_grooves_that_count(reading, verdict):
    place = [reading, reading, "9/32 in"]
    decision = world(SIZE + floor("worn", "at-least: 2/32 in", ADJACENT)).decide(
        us_case(tire={"tread_depth": None, "tread_grid": [place] * 3})
    )
    assert str(decision.verdict) == verdict
    assert asked(decision) == (["tire.tread_grid"] if verdict == "undetermined" else [])


def test_a_width_in_a_groove_that_does_not_count_changes_nothing():
    place = ["0 mm to 9/32 in", "9/32 in", "9/32 in"]
    decision = world(SIZE + floor("worn", "at-least: 2/32 in", ADJACENT)).decide(
        us_case(tire={"tread_depth": None, "tread_grid": [place] * 3})
    )
    assert decision.verdict is Verdict.WITHIN


def test_readings_in_inches_and_millimeters_are_one_grid():
    # 3/32 in = 2.38125 mm, 2.4 mm is more: of each place the greater of two, of three places the greatest.
    places = [["3/32 in", "2.4 mm"], ["2.4 mm", "3/32 in"], ["3/32 in", "3/32 in"]]
    rules = floor("exact", "at-least: 2.4 mm", ADJACENT) + floor("above", "more-than: 2.4 mm", ADJACENT)
    decision = world(SIZE + rules).decide(us_case(tire={"tread_depth": None, "tread_grid": places}))
    assert outcomes(decision, "invented-trade/exact") == {"passes"}
    assert outcomes(decision, "invented-trade/above") == {"fails"}


# --- steer axle and snow ----------------------------------------------------------------------------------------------

# After 49 CFR 393.75(b), (c): 4/32 in on the front wheels of a bus, truck or truck tractor, 2/32 in on all others, at
# any point on a major tread groove. The rules here are invented.
STEER = floor("steer", "at-least: 4/32 in", when="{axle.steer: true}") + floor(
    "other", "at-least: 2/32 in", when="{axle.steer: false}"
)


@pytest.mark.parametrize(
    ("steer", "low", "verdict", "questions"),
    [
        (True, "4", "within-limits", []),
        (True, "3", "outside-limits", []),
        (False, "3", "within-limits", []),
        (False, "2", "within-limits", []),
        (False, "1", "outside-limits", []),
        (None, "4", "within-limits", []),
        (None, "3", "undetermined", ["axle.steer"]),
        (None, "1", "undetermined", ["axle.steer"]),
    ],
)
def test_a_steer_axle_needs_more_and_is_asked_for_where_it_matters(steer, low, verdict, questions):
    decision = decide(STEER, f"9 {low} 9", "9 9 9", axle={"steer": steer})
    assert (str(decision.verdict), asked(decision)) == (verdict, questions)


@pytest.mark.parametrize(
    ("activity", "restriction", "expected"),
    [
        ("road-use", True, {"fails"}),
        ("road-use", False, set()),
        ("road-use", None, {"unknown"}),
        ("repair", None, set()),
        ("used-tire-installation", None, set()),
    ],
)
def test_a_snow_restriction_concerns_a_drive_alone(activity, restriction, expected):
    snow = floor("snow", "at-least: 6/32 in", when="{road.snow_restriction: true}", activity="road-use")
    decision = decide(snow, "5 5", "5 5", activity=activity, road={"snow_restriction": restriction})
    assert outcomes(decision, "invented-trade/snow") == expected


# --- grids that are none ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("said", "path", "message"),
    [
        ([], "tire.tread_grid", "a reading for every groove at every place"),
        ([[]], "tire.tread_grid", "a reading for every groove at every place"),
        ([["2 mm"], []], "tire.tread_grid", "a reading for every groove at every place"),
        ([["2 mm", "2 mm"], ["2 mm"]], "tire.tread_grid", "a reading for every groove at every place"),
        ([["2 mm", "2 mm"], None], "tire.tread_grid", "a reading for every groove at every place"),
        ("2 mm", "tire.tread_grid", "this must be a list"),
        ({"1": ["2 mm"]}, "tire.tread_grid", "this must be a list"),
        (["2 mm"], "tire.tread_grid[0]", "this must be a list"),
        ([["2 mm", "2 mm"], ["2 mm", "2"]], "tire.tread_grid[1][1]", "bare number without a unit"),
        ([["2 mm", 2]], "tire.tread_grid[0][1]", "bare number without a unit"),
        ([[None, "2 mm"]], "tire.tread_grid[0][0]", "is no length"),
        ([["2 deg"]], "tire.tread_grid[0][0]", "is an angle where a length belongs"),
        ([["-2 mm"]], "tire.tread_grid[0][0]", "is negative"),
        ([[["2 mm"]]], "tire.tread_grid[0][0]", "is no text that states a length"),
    ],
    ids=[
        "empty",
        "a place without grooves",
        "one place without grooves",
        "ragged",
        "a place left out",
        "a text",
        "a block",
        "no list of grooves",
        "no unit",
        "a number",
        "a reading left out",
        "an angle",
        "negative",
        "too deep",
    ],
)
def test_a_malformed_grid_is_refused_with_its_place(said, path, message):
    with pytest.raises(CaseError) as refused:
        case_from_json(us_case(tire={"tread_grid": said}))
    (problem,) = refused.value.problems
    assert problem.path == path
    assert message in problem.message


def test_every_bad_reading_of_a_grid_is_told_at_once():
    with pytest.raises(CaseError) as refused:
        case_from_json(us_case(tire={"tread_grid": [["2", "2 mm"], ["2 mm", "two"]]}))
    assert [problem.path for problem in refused.value.problems] == ["tire.tread_grid[0][0]", "tire.tread_grid[1][1]"]


@pytest.mark.parametrize(
    "said",
    [
        [(measure("2 mm"),)],
        ((measure("2 mm"),), (measure("2 deg", Dimension.ANGLE),)),
        (("2 mm",),),
        ((measure("2 mm"),), ()),
    ],
    ids=["a list", "an angle", "text", "ragged"],
)
def test_a_grid_made_in_python_is_checked_too(said):
    with pytest.raises(CaseError) as refused:
        Tire(tread_grid=said)
    assert [problem.path for problem in refused.value.problems] == ["tire.tread_grid"]


def test_a_grid_survives_its_json_form():
    said = [["2/32 in", "2.4 mm"], ["3/32 in rounded", "1 mm to 2 mm"]]
    case = case_from_json(us_case(tire={"tread_grid": said}))
    assert case_to_json(case)["tire"]["tread_grid"] == said
    assert case_from_json(case_to_json(case)) == case
