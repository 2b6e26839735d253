"""What stands on the sidewall, against published tables and handbook arithmetic."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest

from tirerules.errors import QuantityError
from tirerules.scales import Position, age_on, date_code, load_capacity, position, size
from tirerules.vocabulary import FACTS, Dimension

# Size -> outside diameter in mm: rim code x 25.4 + 2 x section width x aspect ratio (the geometry of the ISO metric
# designation, UN R30 and R54); worked by hand. 225/45R17 is also printed in handbooks, rounded to 634.4 mm / 24.98 in;
# 225/70R19.5, 245/70R19.5, 285/75R24.5 and 295/75R22.5 match a truck tire catalog (31.9, 33.0, 41.3, 39.9 in).
DIAMETERS = [
    ("195/65R15", "634.5"),
    ("205/55R16", "631.9"),
    ("225/45R17", "634.3"),
    ("275/40R20", "728"),
    ("LT245/75R16", "773.9"),
    ("LT265/70R17", "802.8"),
    ("225/70R19.5", "810.3"),
    ("245/70R19.5", "838.3"),
    ("285/75R24.5", "1049.8"),
    ("295/75R22.5", "1014"),
    ("315/80R22.5", "1075.5"),
    ("120/70R17", "599.8"),
    ("180/55R17", "629.8"),
    # Flotation sizes print the diameter and the width in inches (common practice, no source).
    ("31x10.50R15LT", "787.4"),
    ("35x12.50R20", "889"),
]


@pytest.mark.parametrize(("text", "millimeters"), DIAMETERS)
def test_outside_diameter(text, millimeters):
    found = size(text).outside_diameter
    assert found is not None
    assert found.exact == Fraction(millimeters)


@pytest.mark.parametrize(
    ("text", "prefix", "load_range", "load_index", "speed", "construction"),
    [
        ("225/45R17 91W", "", None, 91, "W", "radial"),
        ("225/45ZR17 (94Y)", "", None, 94, "(Y)", "radial"),
        ("LT245/75R16/E", "LT", "E", None, None, "radial"),
        ("LT245/75R16 120/116S (E)", "LT", "E", 120, "S", "radial"),
        ("P215/65R16", "P", None, None, None, "radial"),
        ("295/75R22.5 (G)", "", "G", None, None, "radial"),
        ("275/80R22.5 LRG", "", "G", None, None, "radial"),
        ("11R22.5 (H)", "", "H", None, None, "radial"),
        ("31x10.50R15LT", "LT", None, None, None, "radial"),
        ("180/55ZR17", "", None, None, "ZR", "radial"),
        ("205/55 R16 91V", "", None, 91, "V", "radial"),
        ("120/70-17", "", None, None, None, "bias"),
        ("18.4-38", "", None, None, None, "bias"),
    ],
)
def test_designations_of_the_trade(text, prefix, load_range, load_index, speed, construction):
    found = size(text)
    assert (found.prefix, found.load_range, found.load_index, found.speed_symbol, found.construction) == (
        prefix,
        load_range,
        load_index,
        speed,
        construction,
    )


def test_numeric_designations_give_a_width_and_no_diameter():
    found = size("11R22.5")
    assert found.outside_diameter is None
    assert found.section_width.exact == Fraction("279.4")  # 11 x 25.4


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("225/45", "is no size designation"),
        ("big wheels", "is no size designation"),
        ("LT245/75R16/K", "has no load range K"),
        ("LT245/75R16/I", "has no load range I"),
        ("225/45R17 91I", "has no speed symbol I"),
    ],
)
def test_designations_that_do_not_exist(text, says):
    with pytest.raises(QuantityError, match=says):
        size(text)


# Load index -> kg: the standard table (ISO 4000-1; 71 to 110 as published, the rest from memory).
LOADS = {60: 250, 71: 345, 82: 475, 91: 615, 100: 800, 110: 1060, 121: 1450, 130: 1900, 144: 2800, 150: 3350, 160: 4500}
# Nine truck indices with the pounds that a truck tire catalog prints.
CATALOG = {126: 3750, 128: 3970, 133: 4540, 135: 4805, 141: 5675, 143: 6005, 144: 6175, 146: 6610, 149: 7160}


@pytest.mark.parametrize(("index", "kilograms"), LOADS.items())
def test_load_index(index, kilograms):
    assert load_capacity(index).exact == kilograms


@pytest.mark.parametrize(("index", "pounds"), CATALOG.items())
def test_load_index_against_published_pounds(index, pounds):
    # Catalogs round pounds to the next five or ten.
    assert abs(load_capacity(index).exact / Fraction("0.45359237") - pounds) < 10


@pytest.mark.parametrize("index", range(60, 161))
def test_load_index_follows_its_series(index):
    # kg = 45 x 10^(LI/80) up to the table's rounding, which is at most 1.94 % off (handbook arithmetic).
    assert abs(float(load_capacity(index).exact) / (45 * 10 ** (index / 80)) - 1) < 0.0195


@pytest.mark.parametrize("index", range(60, 81))
def test_eighty_more_is_ten_times_the_load(index):
    # The table drops the half kilograms of its lower rows (257 stands for 257.5), so the upper row may be up to 9 more.
    assert 0 <= load_capacity(index + 80).exact - 10 * load_capacity(index).exact < 10


@pytest.mark.parametrize("index", [59, 161, 0])
def test_load_indices_outside_the_table_are_refused(index):
    with pytest.raises(QuantityError, match="from 60 to 160"):
        load_capacity(index)


# km/h by speed symbol (ECE R30 table; J to N, ZR and (Y) from memory, Q to Y as published).
SPEEDS = [("J", 100), ("K", 110), ("L", 120), ("M", 130), ("N", 140), ("P", 150), ("Q", 160), ("R", 170), ("S", 180)]
SPEEDS += [("T", 190), ("U", 200), ("H", 210), ("V", 240), ("W", 270), ("Y", 300)]


def test_speed_symbols_stand_in_order_of_speed():
    order = FACTS["tire.speed_symbol"].values
    assert [symbol for symbol in order if symbol not in ("ZR", "(Y)")] == [
        symbol for symbol, _ in sorted(SPEEDS, key=lambda pair: pair[1])
    ]
    assert order.index("U") < order.index("H") < order.index("V")  # H between U and V, not after G
    assert order.index("V") < order.index("ZR")  # "above 240 km/h"
    assert order[-1] == "(Y)"  # "above 300 km/h"


def test_load_ranges_skip_i_and_k():
    # Letter -> ply rating; there is no I and no K (trade list, secondary).
    plies = {"A": 2, "B": 4, "C": 6, "D": 8, "E": 10, "F": 12, "G": 14, "H": 16, "J": 18, "L": 20, "M": 22, "N": 24}
    assert FACTS["tire.load_range"].values == tuple(sorted(plies, key=plies.__getitem__))


# Date codes are week and year (49 CFR 574.5; USTMA). Mondays by the ISO 8601 calendar, looked up by hand.
def test_date_code():
    assert date_code("2319") == date(2019, 6, 3)
    assert date_code("0100") == date(2000, 1, 3)
    age = age_on("2319", date(2026, 11, 25))
    assert (age.low.exact, age.high.exact) == (2726, 2732)  # Sunday and Monday of that week
    assert age.low.dimension is Dimension.TIME


@pytest.mark.parametrize(
    ("code", "says"),
    [
        ("239", "from before 2000"),
        ("23", "no date code"),
        ("0019", "does not exist"),
        ("5419", "does not exist"),
        ("5321", "does not exist"),
    ],
)
def test_date_codes_that_name_no_week(code, says):
    with pytest.raises(QuantityError, match=says):
        date_code(code)


def test_a_tire_cannot_be_made_after_the_day_asked_about():
    with pytest.raises(QuantityError, match="after 2019-06-02"):
        age_on("2319", date(2019, 6, 2))


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("3:00", Position(turn=Fraction(1, 4))),
        ("12:00", Position(turn=Fraction(0))),
        ("6:30", Position(turn=Fraction(13, 24))),
        ("90 deg", Position(turn=Fraction(1, 4))),
        ("450°", Position(turn=Fraction(1, 4))),
        ("415 mm", Position(arc=Fraction(415))),
        ("15 in", Position(arc=Fraction(381))),
    ],
)
def test_places_around_the_tire(text, found):
    assert position(text) == found


@pytest.mark.parametrize("text", ["13:00", "3:60", "three", "90", "-3 mm"])
def test_no_places_around_the_tire(text):
    with pytest.raises(QuantityError):
        position(text)
