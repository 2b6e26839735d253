"""The direct reader of the trade's forms: never another value, and never another yes, than the readers it goes before.

Three oracles: pint with exact fractions for values, the general reader of `tirerules.quantities` for acceptance, and
the pattern that schemas use for form.
"""

from __future__ import annotations

import json
import random
import re
import subprocess
import sys
from fractions import Fraction
from pathlib import Path

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tirerules import QuantityError, exact, measure, quantities
from tirerules.quantities import PATTERN, UNITS
from tirerules.vocabulary import Dimension

_PINT = pint.UnitRegistry(non_int_type=Fraction)
#: Unit -> (pint's name, pint's name of the base unit).
_NAMES = {
    "mm": ("millimeter", "millimeter"),
    "cm": ("centimeter", "millimeter"),
    "m": ("meter", "millimeter"),
    "in": ("inch", "millimeter"),
    "deg": ("degree", "degree"),
    "kg": ("kilogram", "kilogram"),
    "lb": ("pound", "kilogram"),
    "day": ("day", "day"),
    "month": ("month", "day"),
    "year": ("year", "day"),
}
#: What a counter types for each unit.
_WORDS = {
    "mm": ["mm", "MM"],
    "cm": ["cm", "CM"],
    "m": ["m"],
    "in": ["in", "IN", "inch", "inches", "INCHES", '"', "\u2033", "\u201d"],
    "deg": ["deg", "DEG", "degree", "degrees", "°", "\u00ba"],
    "kg": ["kg", "KG"],
    "lb": ["lb", "lbs", "LBS"],
    "day": ["day", "days", "DAYS"],
    "month": ["month", "months"],
    "year": ["year", "years", "YEAR"],
}


# --- values ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("unit", exact.FACTORS)
def test_the_size_of_every_unit_is_pints_to_the_last_digit(unit):
    name, base = _NAMES[unit]
    dimension, above, below = exact.FACTORS[unit]
    assert Fraction(above, below) == _PINT.Quantity(Fraction(1), name).to(base).magnitude
    assert _PINT.Quantity(Fraction(1), name).check(_PINT.get_dimensionality(base))
    assert UNITS[unit] is Dimension(dimension)


@pytest.mark.parametrize(
    ("text", "above", "below", "unit"),
    [
        # 1 in = 25.4 mm and 1 lb = 0.453 592 37 kg: agreement of 1959; a year is 365.25 days: the Julian year.
        ("5 mm", 5, 1, "mm"),
        ("1/4 in", 254, 40, "in"),
        ("1 1/2 in", 762, 20, "in"),
        ("1-1/2 in", 762, 20, "in"),
        ('0.25"', 6350, 1000, "in"),
        (".25 in", 6350, 1000, "in"),
        ("25°", 25, 1, "deg"),
        ("25 deg", 25, 1, "deg"),
        ("10000 lb", 453592370000, 100000000, "lb"),
        ("6 years", 219150, 100, "year"),
        ("12 months", 438300, 1200, "month"),
        (" 6\u00a0mm ", 6, 1, "mm"),
        ("0 mm", 0, 1, "mm"),
    ],
)
def test_gives_the_printed_number_times_the_size_of_its_unit(text, above, below, unit):
    assert exact.read(text) == (above, below, unit)


def _printed(rng):
    """Return a number as a counter prints it, and its value by Python's own fractions."""
    whole = str(rng.randrange(10 ** rng.randint(1, 9)))
    match rng.randrange(5):
        case 0:
            return whole, Fraction(whole)
        case 1:
            rest = "".join(rng.choices("0123456789", k=rng.randint(1, 18)))
            return f"{whole}.{rest}", Fraction(f"{whole}.{rest}")
        case 2:
            rest = "".join(rng.choices("0123456789", k=rng.randint(1, 18)))
            return f".{rest}", Fraction(f"0.{rest}")
        case 3:
            below = rng.choice([2, 4, 8, 16, 32, 64, rng.randint(1, 999_999_999)])
            return f"{whole}/{below}", Fraction(int(whole), below)
        case _:
            below = rng.choice([2, 4, 8, 16, 32, 64, rng.randint(1, 999_999_999)])
            above = rng.randrange(below)
            return f"{whole}{rng.choice(' -')}{above}/{below}", int(whole) + Fraction(above, below)


def test_fifty_thousand_generated_texts_are_read_as_pint_reads_them():
    rng = random.Random(1959)
    names = {unit: (_PINT.Unit(name), _PINT.Unit(base)) for unit, (name, base) in _NAMES.items()}
    steep = 0
    for _ in range(50_000):
        number, value = _printed(rng)
        unit = rng.choice(list(_WORDS))
        text = number + rng.choice(["", " ", "\u00a0", "\u2009"]) + rng.choice(_WORDS[unit])
        expected = _PINT.Quantity(value, names[unit][0]).m_as(names[unit][1])
        read = exact.read(text)
        if unit == "deg" and expected >= 90:
            steep += 1
            assert read is None, text
        else:
            assert read is not None, text
            assert (Fraction(read[0], read[1]), read[2]) == (expected, unit), text
    assert 2000 < steep < 5000


# --- acceptance ------------------------------------------------------------------------------------------------------

#: What texts that are nearly quantities are made of.
_PIECES = [
    *"0123456789",
    *"./-+,' \"°",
    "1",
    "5",
    "1/4",
    "1 1/2",
    "0.25",
    "999999999",
    "1234567890",
    "0.123456789012345678",
    "90",
    "89.999",
    *(word for words in _WORDS.values() for word in words),
    *("Mm", "M", "mM", "ft", "t", "kgs", "º", "\u00a0", "\u2009", "\u202f", "\n", "\t", "٣", "６", "²", "½", "ℓ"),
    *(" to ", "±", " ± ", "+/-", " rounded", "rounded"),
]


def _texts():
    rng = random.Random(1893)
    for _ in range(50_000):
        number, _value = _printed(rng)
        text = number + rng.choice(["", " "]) + rng.choice(_WORDS[rng.choice(list(_WORDS))])
        for _ in range(rng.randrange(3)):  # damage it
            at = rng.randrange(len(text) + 1)
            text = text[:at] + rng.choice([*_PIECES, ""]) + text[at + rng.randrange(2) :]
        yield text
    for _ in range(20_000):
        yield "".join(rng.choices(_PIECES, k=rng.randint(1, 5)))


def _general(text, dimension):
    """The answer of the general reader alone: value and unit, or None."""
    try:
        read = quantities._general(exact.plain(text), dimension)
    except QuantityError:
        return None
    return read.exact, read.unit


def _told(text):
    """The answer of the direct reader: its dimension, its value and unit; or nothing."""
    read = exact.read(text)
    return {} if read is None else {UNITS[read[2]]: (Fraction(read[0], read[1]), read[2])}


def test_it_accepts_what_the_general_reader_accepts_and_nothing_else():
    accepted = refused = 0
    for text in _texts():
        told = _told(text)
        for dimension in Dimension:
            general = _general(text, dimension)
            if general is not None and general[1] not in UNITS:
                general = None  # a unit beside the trade's own: the direct reader leaves it alone
            assert told.get(dimension) == general, (text, dimension)
        accepted, refused = accepted + bool(told), refused + (not told)
        if told:
            assert re.search(PATTERN, exact.plain(text)), text
    assert min(accepted, refused) > 15_000


@settings(max_examples=2000, deadline=None)
@given(st.one_of(st.text(max_size=12), st.lists(st.sampled_from(_PIECES), max_size=6).map("".join)))
def test_any_text_at_all_is_read_alike_or_left_alone(text):
    told = _told(text)
    for dimension in Dimension:
        general = _general(text, dimension)
        assert told.get(dimension) == (general if general and general[1] in UNITS else None)


@pytest.mark.parametrize("dimension", Dimension)
@pytest.mark.parametrize("text", ["6 mm", "90 deg", "6", "1 ft", "1 1/0 in", "1 3/2 in", "6 Mm", "6" * 81 + " mm", ""])
def test_the_public_reader_gives_what_the_two_give(text, dimension):
    def said(reader, given_):
        try:
            read = reader(given_, dimension)
        except QuantityError as error:
            return str(error)
        return read.exact, read.magnitude, read.unit, read.text

    assert said(quantities.quantity, f" {text}") == said(quantities._general, text)


# --- measurements ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "low", "high", "unit"),
    [
        ("6 mm", "6", "6", "mm"),
        ("5 mm to 1/4 in", "5", "6.35", "mm"),
        ("6.0 mm ± 0.3 mm", "5.7", "6.3", "mm"),
        ("1/4 in +/- 0.1 mm", "6.25", "6.45", "in"),
        ("0.2 mm ± 0.3 mm", "0", "0.5", "mm"),
        ("4/32 in rounded", "2.778125", "3.571875", "in"),
        ("6.0 mm rounded", "5.95", "6.05", "mm"),
        ("6 years rounded", "2008.875", "2374.125", "year"),
    ],
)
def test_a_measurement_has_two_exact_ends(text, low, high, unit):
    ends = exact.span(text)
    assert ends is not None
    assert (Fraction(*ends[0]), Fraction(*ends[1]), ends[2]) == (Fraction(low), Fraction(high), unit)


@pytest.mark.parametrize(
    "text",
    [
        "6 mm to 5 mm",
        "6 mm to 5 deg",
        "80 deg ± 10 deg",
        "80 deg to 90 deg",
        "1 mm to 2 mm to 3 mm",
        "6 mm ± 1 mm rounded",
        "6 mm ±",
        "6 ± 1 mm",
        "1 ft to 2 ft",
    ],
)
def test_it_leaves_to_the_general_reader_what_that_refuses_or_knows_better(text):
    assert exact.span(text) is None


def test_a_width_may_reach_up_to_a_right_angle():
    assert exact.span("80 deg ± 9.9 deg") == ((701, 10), (899, 10), "deg")


def test_measurements_are_read_as_the_general_reader_reads_them():
    rng = random.Random(1975)
    accepted = refused = 0
    for _ in range(20_000):
        unit = rng.choice(list(_WORDS))
        one, other = (f"{_small(rng)} {rng.choice(_WORDS[each])}" for each in (unit, rng.choice([unit, unit, "in"])))
        sign = rng.choice(
            [" to ", "±", " ± ", "+/-", " +/- ", " rounded", " rounded ", "", " - ", "±±", "rounded", " to"]
        )
        text = one + sign + (other if rng.random() < 0.9 and "rounded" not in sign and sign else "")
        told = exact.span(text)
        for dimension in Dimension:
            try:
                general = measure(text, dimension)
            except QuantityError:
                general = None
            if told is not None and UNITS[told[2]] is dimension:
                assert general is not None, text
                assert (Fraction(*told[0]), Fraction(*told[1])) == (general.low.exact, general.high.exact), text
            else:
                assert general is None, (text, dimension)
        accepted, refused = accepted + (told is not None), refused + (told is None)
    assert min(accepted, refused) > 5000


def _small(rng):
    return rng.choice([str(rng.randrange(120)), f"{rng.randrange(95)}.{rng.randrange(100)}", f"{rng.randrange(9)}/32"])


# --- imports ---------------------------------------------------------------------------------------------------------

_ALONE = """
import json, sys
parent = type(sys)("tirerules")
parent.__path__ = [sys.argv[1]]
sys.modules["tirerules"] = parent  # the module alone, without what the package's face imports
before = set(sys.modules)
from tirerules import quantities as exact
exact.read("1 1/2 in"), exact.read("6 furlong"), exact.span("6.0 mm ± 0.3 mm")
print(json.dumps(sorted(set(sys.modules) - before)))
"""


def test_it_imports_nothing():
    where = str(Path(exact.__file__).parent)
    done = subprocess.run([sys.executable, "-c", _ALONE, where], capture_output=True, text=True, check=True, timeout=60)
    assert json.loads(done.stdout) == ["tirerules.exact"]
