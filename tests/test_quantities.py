"""Quantities: what the trade prints is read exactly, and everything else is refused with what to write instead.

Three oracles: pint with exact fractions for values, a reading of our own by a pattern and Python's fractions for what
is accepted, and the pattern that schemas use for form.
"""

from __future__ import annotations

import json
import pickle
import random
import re
import subprocess
import sys
from decimal import ROUND_HALF_EVEN, Context, Decimal
from fractions import Fraction
from pathlib import Path

import pint
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

import tirerules
from tirerules import Measured, Quantity, QuantityError, measure, quantities, quantity
from tirerules.quantities import EXAMPLES, FACTORS, FURTHER, PATTERN, UNITS, decimal_text, plain, read, span
from tirerules.vocabulary import Dimension

LENGTH, ANGLE, MASS, TIME = Dimension.LENGTH, Dimension.ANGLE, Dimension.MASS, Dimension.TIME

# --- published values ------------------------------------------------------------------------------------------------

#: 1 in = 25.4 mm exactly: International Yard and Pound agreement, 1959; NIST Handbook 44, Appendix C.
INCHES = {
    "1/32 in": "0.79375",
    "2/32 in": "1.5875",
    "1/16 in": "1.5875",
    "3/32 in": "2.38125",
    "4/32 in": "3.175",
    "1/8 in": "3.175",
    "6/32 in": "4.7625",
    "3/16 in": "4.7625",
    "1/4 in": "6.35",
    "5/16 in": "7.9375",
    "3/8 in": "9.525",
    "1/2 in": "12.7",
    "1 in": "25.4",
    "1 1/2 in": "38.1",
    "2 1/2 in": "63.5",
    "3 in": "76.2",
    "3 1/2 in": "88.9",
}


@pytest.mark.parametrize(("inches", "millimeters"), INCHES.items(), ids=INCHES)
def test_an_inch_is_exactly_25_4_mm(inches, millimeters):
    assert quantity(inches, LENGTH).exact == Fraction(millimeters)
    assert quantity(inches, LENGTH) == quantity(f"{millimeters} mm", LENGTH)


@pytest.mark.parametrize(
    ("pounds", "kilograms"),
    [
        # 1 lb = 0.453 592 37 kg exactly: the same agreement of 1959; NIST Handbook 44, Appendix C.
        ("1 lb", "0.45359237"),
        ("10000 lb", "4535.9237"),
        ("10001 lb", "4536.37729237"),
    ],
)
def test_a_pound_is_exactly_0_45359237_kg(pounds, kilograms):
    assert quantity(pounds, MASS).exact == Fraction(kilograms)


@pytest.mark.parametrize(
    ("text", "days"),
    [
        # The Julian year of 365.25 days (SI Brochure and IAU practice); a month is a twelfth of it.
        ("1 year", "365.25"),
        ("6 years", "2191.5"),
        ("12 months", "365.25"),
        ("1 month", "30.4375"),
        ("1 day", "1"),
        ("365 days", "365"),
    ],
)
def test_a_year_is_365_25_days_and_a_month_its_twelfth(text, days):
    assert quantity(text, TIME).exact == Fraction(days)


@pytest.mark.parametrize(
    ("inches", "printed", "printed_is_smaller"),
    [
        # The millimeters that trade charts print beside the inch; the sign follows from 1 in = 25.4 mm (see above).
        ("1/8 in", "3 mm", True),
        ("1/4 in", "6 mm", True),
        ("5/16 in", "8 mm", False),
        ("3/8 in", "10 mm", False),
        ("2/32 in", "1.6 mm", False),
        ("2/32 in", "2 mm", False),
        ("1/32 in", "0.8 mm", False),
        ("3/32 in", "2.4 mm", False),
        ("4/32 in", "3.2 mm", False),
    ],
)
def test_printed_millimeters_are_not_the_inch_they_stand_beside(inches, printed, printed_is_smaller):
    enacted, also = quantity(inches, LENGTH), quantity(printed, LENGTH)
    assert enacted != also
    assert (also < enacted) is printed_is_smaller


# --- the forms of the trade ------------------------------------------------------------------------------------------

FORMS = [
    # (text, dimension, exact number of base units, unit as kept); forms are common practice, no source
    ("1/4 in", LENGTH, "6.35", "in"),
    ("2/32 in", LENGTH, "1.5875", "in"),
    ("1 1/2 in", LENGTH, "38.1", "in"),
    ("1-1/2 in", LENGTH, "38.1", "in"),
    ("0.25 in", LENGTH, "6.35", "in"),
    ('0.25"', LENGTH, "6.35", "in"),
    ('1/4"', LENGTH, "6.35", "in"),
    ('1 1/2 "', LENGTH, "38.1", "in"),
    ("1/4″", LENGTH, "6.35", "in"),  # U+2033, the typographer's inch mark
    ("1/4”", LENGTH, "6.35", "in"),  # U+201D, what a word processor makes of "
    (".5 in", LENGTH, "12.7", "in"),
    ("1 inch", LENGTH, "25.4", "in"),
    ("2 inches", LENGTH, "50.8", "in"),
    ("1/4 IN", LENGTH, "6.35", "in"),
    ("6 mm", LENGTH, "6", "mm"),
    ("6mm", LENGTH, "6", "mm"),
    ("6.0 mm", LENGTH, "6", "mm"),
    ("6 MM", LENGTH, "6", "mm"),
    ("  6 mm  ", LENGTH, "6", "mm"),
    ("6\u00a0mm", LENGTH, "6", "mm"),  # no-break space
    ("6\u2009mm", LENGTH, "6", "mm"),  # thin space
    ("6\u202fmm", LENGTH, "6", "mm"),  # narrow no-break space
    ("0.6 cm", LENGTH, "6", "cm"),
    ("0.006 m", LENGTH, "6", "m"),
    ("0 mm", LENGTH, "0", "mm"),
    ("0/4 in", LENGTH, "0", "in"),
    ("10/32 in", LENGTH, "7.9375", "in"),
    ("25 deg", ANGLE, "25", "deg"),
    ("25°", ANGLE, "25", "deg"),
    ("25 °", ANGLE, "25", "deg"),
    ("25º", ANGLE, "25", "deg"),  # U+00BA, the ordinal sign that stands for a degree sign on some keyboards
    ("1 degree", ANGLE, "1", "deg"),
    ("25 degrees", ANGLE, "25", "deg"),
    ("0 deg", ANGLE, "0", "deg"),
    ("89.999 deg", ANGLE, "89.999", "deg"),
    ("1900 kg", MASS, "1900", "kg"),
    ("10000 lbs", MASS, "4535.9237", "lb"),
]


@pytest.mark.parametrize(("text", "dimension", "exact", "unit"), FORMS, ids=[form[0] for form in FORMS])
def test_reads_the_forms_of_the_trade(text, dimension, exact, unit):
    read = quantity(text, dimension)
    assert (read.dimension, read.exact, read.unit) == (dimension, Fraction(exact), unit)


def test_keeps_the_value_as_printed():
    printed = quantity("1-1/2 in", LENGTH)
    assert str(printed) == "1-1/2 in"
    assert (printed.magnitude, printed.unit) == (Fraction(3, 2), "in")


def test_every_form_of_a_quarter_inch_is_one_length():
    forms = ["1/4 in", "0.25 in", '0.25"', "2/8 in", "8/32 in", "6.35 mm", "0.635 cm", "0.00635 m", ".250 inches"]
    read = {quantity(form, LENGTH) for form in forms}
    assert read == {quantity("6.35 mm", LENGTH)}
    assert len({hash(quantity(form, LENGTH)) for form in forms}) == 1


def test_a_quarter_inch_is_not_its_neighbors():
    # 3/8 in x 25.4 in binary floats is 9.524999999999999 (IEEE 754); the exact value is 9.525.
    assert 3 / 8 * 25.4 != 9.525
    assert quantity("3/8 in", LENGTH) == quantity("9.525 mm", LENGTH)
    assert quantity("3/8 in", LENGTH) > quantity("9.524999999999999 mm", LENGTH)
    assert quantity("1/4 in", LENGTH) != quantity("6 mm", LENGTH)


def test_order_crosses_units():
    texts = ["1/4 in", "1 cm", "6 mm", "1/8 in", "0.001 m", "3/8 in", "1 in"]
    ordered = sorted(texts, key=lambda text: quantity(text, LENGTH))
    assert ordered == ["0.001 m", "1/8 in", "6 mm", "1/4 in", "3/8 in", "1 cm", "1 in"]


def test_six_of_one_dimension_is_not_six_of_another():
    assert quantity("6 mm", LENGTH) != quantity("6 deg", ANGLE)
    assert quantity("6 kg", MASS) != quantity("6 days", TIME)


# --- against a general reference library -----------------------------------------------------------------------------

#: pint with exact fractions: an independent reading of every unit and conversion.
_PINT = pint.UnitRegistry(non_int_type=Fraction)
#: Spelling -> (dimension, pint's name, pint's name of the base unit).
_SPELLINGS = {
    **dict.fromkeys(("in", "IN", '"', "inch", "inches", "INCHES"), (LENGTH, "inch", "millimeter")),
    **dict.fromkeys(("mm", "MM"), (LENGTH, "millimeter", "millimeter")),
    "cm": (LENGTH, "centimeter", "millimeter"),
    "m": (LENGTH, "meter", "millimeter"),
    **dict.fromkeys(("deg", "DEG", "°", "degree", "degrees"), (ANGLE, "degree", "degree")),
    "kg": (MASS, "kilogram", "kilogram"),
    **dict.fromkeys(("lb", "lbs", "LB"), (MASS, "pound", "kilogram")),
    **dict.fromkeys(("day", "days"), (TIME, "day", "day")),
    **dict.fromkeys(("month", "months"), (TIME, "month", "day")),
    **dict.fromkeys(("year", "years"), (TIME, "year", "day")),
}
_BASE = {LENGTH: "millimeter", ANGLE: "degree", MASS: "kilogram", TIME: "day"}
_wholes = st.integers(0, 999_999_999)
_digits = st.text("0123456789", min_size=1, max_size=18)


@st.composite
def _numbers(draw):
    """A number as printed, with its value by Python's own fractions."""
    form = draw(st.sampled_from(["whole", "decimal", "point", "fraction", "mixed"]))
    if form == "whole":
        whole = draw(_wholes)
        return str(whole), Fraction(whole)
    if form == "decimal":
        text = f"{draw(_wholes)}.{draw(_digits)}"
        return text, Fraction(text)
    if form == "point":
        text = f".{draw(_digits)}"
        return text, Fraction(f"0{text}")
    below = draw(st.integers(1, 999_999_999))
    if form == "fraction":
        above = draw(_wholes)
        return f"{above}/{below}", Fraction(above, below)
    whole, above = draw(_wholes), draw(st.integers(0, below - 1))
    return f"{whole}{draw(st.sampled_from(' -'))}{above}/{below}", whole + Fraction(above, below)


_printed = st.tuples(_numbers(), st.sampled_from(["", " "]), st.sampled_from(sorted(_SPELLINGS)))


@settings(max_examples=2500, deadline=None)
@given(_printed)
def test_agrees_with_pint_on_any_number_and_unit(printed):
    (number, value), space, spelling = printed
    dimension, name, base = _SPELLINGS[spelling]
    expected = _PINT.Quantity(value, name).to(base).magnitude
    text = f"{number}{space}{spelling}"
    if dimension is ANGLE and expected >= 90:
        with pytest.raises(QuantityError):
            quantity(text, dimension)
    else:
        assert quantity(text, dimension).exact == expected


@settings(max_examples=500, deadline=None)
@given(_printed, _printed)
def test_orders_as_pint_orders(one, other):
    def both(printed):
        (number, value), space, spelling = printed
        dimension, name, _ = _SPELLINGS[spelling]
        if dimension is not LENGTH:
            spelling, name = "mm", "millimeter"
        return quantity(f"{number}{space}{spelling}", LENGTH), _PINT.Quantity(value, name)

    (ours, theirs), (our_other, their_other) = both(one), both(other)
    assert (ours < our_other) == (theirs < their_other)
    assert (ours == our_other) == (theirs == their_other)


@settings(max_examples=300, deadline=None)
@given(_numbers(), st.sampled_from(["mm", "cm", "m", "in"]), st.sampled_from(["mm", "cm", "m", "in"]))
def test_converts_as_pint_converts(number, unit, other):
    text, value = number
    expected = _PINT.Quantity(value, _SPELLINGS[unit][1]).to(_SPELLINGS[other][1]).magnitude
    assert quantity(f"{text} {unit}", LENGTH).to(other) == expected


@settings(max_examples=500, deadline=None)
@given(st.text("0123456789/.,-+±° \"'emiMncdglbyrToNa\u00a0\n٣", max_size=12), st.sampled_from(list(Dimension)))
@example("", LENGTH)
@example("٣ mm", LENGTH)
def test_any_text_is_a_quantity_or_is_refused(text, dimension):
    try:
        read = quantity(text, dimension)
    except QuantityError:
        return
    assert read.exact >= 0
    assert quantity(str(read), dimension) == read


# --- refusals --------------------------------------------------------------------------------------------------------

_WRITE = {dimension: f"write {shown}" for dimension, shown in EXAMPLES.items()}

REFUSED = [
    # (id, what is given, dimension, what the error shows, reason, hint)
    ("bare text", "6", LENGTH, "6", "is a bare number without a unit", 'write "6 mm" or "6 in"'),
    ("bare decimal", "6.5", LENGTH, "6.5", "is a bare number without a unit", 'write "6.5 mm" or "6.5 in"'),
    ("bare fraction", "1/4", LENGTH, "1/4", "is a bare number without a unit", 'write "1/4 mm" or "1/4 in"'),
    ("bare mixed", "1 1/2", LENGTH, "1 1/2", "is a bare number without a unit", 'write "1 1/2 mm" or "1 1/2 in"'),
    ("bare angle", "25", ANGLE, "25", "is a bare number without a unit", 'write "25 deg"'),
    ("bare mass", "10000", MASS, "10000", "is a bare number without a unit", 'write "10000 kg" or "10000 lb"'),
    ("bare time", "6", TIME, "6", "is a bare number without a unit", 'write "6 day" or "6 month" or "6 year"'),
    ("int", 6, LENGTH, 6, "is a bare number without a unit", 'write "6 mm" or "6 in"'),
    ("float", 6.5, LENGTH, 6.5, "is a bare number without a unit", 'write "6.5 mm" or "6.5 in"'),
    ("true", True, LENGTH, True, "is no length", _WRITE[LENGTH]),
    ("false", False, ANGLE, False, "is no angle", _WRITE[ANGLE]),
    ("none", None, MASS, None, "is no mass", _WRITE[MASS]),
    ("bytes", b"6 mm", LENGTH, b"6 mm", "is no text that states a length", _WRITE[LENGTH]),
    ("list", ["6 mm"], LENGTH, ["6 mm"], "is no text that states a length", _WRITE[LENGTH]),
    ("nan text", "NaN", LENGTH, "NaN", "is no length", _WRITE[LENGTH]),
    ("nan with unit", "nan mm", LENGTH, "nan mm", "is no length", _WRITE[LENGTH]),
    ("inf text", "inf mm", LENGTH, "inf mm", "is no length", _WRITE[LENGTH]),
    ("infinity", "Infinity mm", LENGTH, "Infinity mm", "is no length", _WRITE[LENGTH]),
    ("negative", "-6 mm", LENGTH, "-6 mm", "is negative, which no length here can be", _WRITE[LENGTH]),
    ("negative spaced", "- 1/4 in", LENGTH, "- 1/4 in", "is negative, which no length here can be", _WRITE[LENGTH]),
    ("negative angle", "-5 deg", ANGLE, "-5 deg", "is negative, which no angle here can be", _WRITE[ANGLE]),
    ("plus", "+6 mm", LENGTH, "+6 mm", "is no length", _WRITE[LENGTH]),
    ("angle for length", "25 deg", LENGTH, "25 deg", "is an angle where a length belongs", _WRITE[LENGTH]),
    ("length for angle", "6 mm", ANGLE, "6 mm", "is a length where an angle belongs", _WRITE[ANGLE]),
    ("mass for length", "6 kg", LENGTH, "6 kg", "is a mass where a length belongs", _WRITE[LENGTH]),
    ("time for mass", "6 years", MASS, "6 years", "is a time where a mass belongs", _WRITE[MASS]),
    ("length for time", "6 mm", TIME, "6 mm", "is a length where a time belongs", _WRITE[TIME]),
    ("megameter", "6 Mm", LENGTH, "6 Mm", "has the unknown unit 'Mm'", "did you mean mm?"),
    ("mixed case", "6 mM", LENGTH, "6 mM", "has the unknown unit 'mM'", "did you mean mm?"),
    ("misspelt", "6 inchs", LENGTH, "6 inchs", "has the unknown unit 'inchs'", "did you mean inch or inches?"),
    ("furlong", "1 furlong", LENGTH, "1 furlong", "has the unknown unit 'furlong'", "did you mean mm, cm, m, in?"),
    ("misspelt foot", "1 fot", LENGTH, "1 fot", "has the unknown unit 'fot'", "did you mean foot?"),
    ("foot for mass", "1 ft", MASS, "1 ft", "is a length where a mass belongs", _WRITE[MASS]),
    ("mixed case foot", "1 Ft", LENGTH, "1 Ft", "has the unknown unit 'Ft'", "did you mean ft?"),
    ("radian", "0.4 rad", ANGLE, "0.4 rad", "has the unknown unit 'rad'", "did you mean deg?"),
    ("tonne", "2 t", MASS, "2 t", "has the unknown unit 't'", "did you mean kg, lb?"),
    ("y", "6 y", TIME, "6 y", "has the unknown unit 'y'", "did you mean day, month, year?"),
    ("comma", "6,5 mm", LENGTH, "6,5 mm", "has a comma", f"use a point, as in 6.5 mm; {_WRITE[LENGTH]}"),
    ("exponent", "1e3 mm", LENGTH, "1e3 mm", "is no length", _WRITE[LENGTH]),
    ("division by zero", "1/0 in", LENGTH, "1/0 in", "divides by zero", ""),
    ("mixed by zero", "1 1/0 in", LENGTH, "1 1/0 in", "divides by zero", ""),
    (
        "improper",
        "1 3/2 in",
        LENGTH,
        "1 3/2 in",
        "is a whole number with an improper fraction",
        'write it as "1 1/2 in"',
    ),
    (
        "whole fraction",
        "1-2/2 in",
        LENGTH,
        "1-2/2 in",
        "is a whole number with an improper fraction",
        'write it as "1 1/2 in"',
    ),
    (
        "right angle",
        "90 deg",
        ANGLE,
        "90 deg",
        "is no angle from straight through",
        "write an angle from 0 deg to below 90 deg",
    ),
    (
        "right angle sign",
        "90.0°",
        ANGLE,
        "90.0°",
        "is no angle from straight through",
        "write an angle from 0 deg to below 90 deg",
    ),
    ("too long", "6" * 81, LENGTH, "6" * 20 + "...", "is too long for a quantity", _WRITE[LENGTH]),
    ("ten digits", "1234567890 mm", LENGTH, "1234567890 mm", "is no length", _WRITE[LENGTH]),
    ("two spaces", "6  mm", LENGTH, "6  mm", "is no length", _WRITE[LENGTH]),
    ("two quantities", "6 mm 7 mm", LENGTH, "6 mm 7 mm", "is no length", _WRITE[LENGTH]),
    ("decimal and fraction", "1.5 1/2 in", LENGTH, "1.5 1/2 in", "is no length", _WRITE[LENGTH]),
    ("point without digits", "5. mm", LENGTH, "5. mm", "is no length", _WRITE[LENGTH]),
    ("other digits", "٣ mm", LENGTH, "٣ mm", "is no length", _WRITE[LENGTH]),
    ("full-width digits", "６ mm", LENGTH, "６ mm", "is no length", _WRITE[LENGTH]),
    ("foot mark", "6'", LENGTH, "6'", "is no length", _WRITE[LENGTH]),
    ("unit alone", "mm", LENGTH, "mm", "is no length", _WRITE[LENGTH]),
    ("empty", "", LENGTH, "", "is no length", _WRITE[LENGTH]),
    ("spaces", "   ", LENGTH, "", "is no length", _WRITE[LENGTH]),
    ("range", "5 mm to 6 mm", LENGTH, "5 mm to 6 mm", "is no length", _WRITE[LENGTH]),
]


@pytest.mark.parametrize(
    ("given_", "dimension", "shown", "reason", "hint"), [row[1:] for row in REFUSED], ids=[row[0] for row in REFUSED]
)
def test_refuses_with_what_to_write_instead(given_, dimension, shown, reason, hint):
    with pytest.raises(QuantityError) as refused:
        quantity(given_, dimension)
    error = refused.value
    assert (error.text, error.reason, error.hint) == (shown, reason, hint)
    assert str(error) == f"{shown!r}: {reason}" + (f" -- {hint}" if hint else "")


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf"), -3, -3.5], ids=repr)
def test_numbers_that_are_no_size_are_refused_like_any_bare_number(value):
    with pytest.raises(QuantityError) as refused:
        quantity(value, LENGTH)
    assert refused.value.reason == "is a bare number without a unit"


@pytest.mark.parametrize(
    ("unit", "dimension"),
    [
        *((unit, LENGTH) for unit in ("km", "Mm", "dm", "um", "µm", "nm", "thou", "mi", "fathom")),
        *((unit, ANGLE) for unit in ("rad", "grad", "turn", "arcmin")),
        *((unit, MASS) for unit in ("mg", "t", "oz", "stone", "ton", "slug")),
        *((unit, TIME) for unit in ("s", "min", "h", "fortnight")),
    ],
)
def test_units_that_pint_knows_and_the_trade_does_not_use_are_refused(unit, dimension):
    # Each is of the right dimension for pint, so nothing but the closed list keeps it out.
    assert _PINT.Quantity(Fraction(1), unit).check(_PINT.get_dimensionality(_BASE[dimension]))
    with pytest.raises(QuantityError):
        quantity(f"1 {unit}", dimension)


@pytest.mark.parametrize(
    ("text", "dimension", "exact", "unit"),
    [
        # Foot and yard: 12 and 36 inches of 25.4 mm (agreement of 1959). Tonne: 1000 kg (SI Brochure, table 8).
        ("1 ft", LENGTH, "304.8", "ft"),
        ("1 1/2 feet", LENGTH, "457.2", "ft"),
        ("1 FOOT", LENGTH, "304.8", "ft"),
        ("1 yd", LENGTH, "914.4", "yd"),
        ("2 yards", LENGTH, "1828.8", "yd"),
        ("250 g", MASS, "0.25", "g"),
        ("1 gram", MASS, "0.001", "g"),
        ("1.9 tonnes", MASS, "1900", "tonne"),
        ("6 weeks", TIME, "42", "week"),
    ],
)
def test_reads_a_few_units_of_statutes_beside_the_trades_own(text, dimension, exact, unit):
    read = quantity(text, dimension)
    assert (read.exact, read.unit, str(read)) == (Fraction(exact), unit, text)
    assert quantity(f"{read.magnitude} {unit}", dimension) == read


def test_a_measurement_may_be_in_such_a_unit():
    read = measure("3 weeks ± 1 day", TIME)
    assert (str(read.low), str(read.high)) == ("2.8571 week", "3.1429 week")
    assert (read.low.exact, read.high.exact) == (20, 22)


@pytest.mark.parametrize("unit", FURTHER)
def test_such_a_unit_is_what_pint_calls_by_that_name(unit):
    dimension, name = FURTHER[unit]
    assert unit not in UNITS
    assert quantity(f"1 {unit}", dimension).exact == _PINT.Quantity(Fraction(1), unit).to(_BASE[dimension]).magnitude
    assert _PINT.Unit(unit) == _PINT.Unit(name)


def test_the_error_is_a_value_error_too():
    with pytest.raises(ValueError, match="bare number"):
        quantity("6", LENGTH)


def test_a_refusal_is_not_remembered_as_an_answer():
    for _ in range(2):
        with pytest.raises(QuantityError, match="unknown unit"):
            quantity("6 furlong", LENGTH)


# --- other units -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "dimension", "unit", "number"),
    [
        ("1/4 in", LENGTH, "mm", "6.35"),
        ("6.35 mm", LENGTH, "in", "1/4"),
        ("1/4 in", LENGTH, "cm", "0.635"),
        ("1/4 in", LENGTH, "m", "0.00635"),
        ("6 mm", LENGTH, "in", "30/127"),
        ("4535.9237 kg", MASS, "lb", "10000"),
        ("2191.5 days", TIME, "year", "6"),
        ("25 deg", ANGLE, "deg", "25"),
    ],
)
def test_gives_the_exact_number_of_another_unit(text, dimension, unit, number):
    converted = quantity(text, dimension).to(unit)
    assert isinstance(converted, Fraction)
    assert converted == Fraction(number)


@pytest.mark.parametrize(
    ("text", "dimension", "unit", "offers"),
    [
        ("1/4 in", LENGTH, "deg", "mm, cm, m, in"),
        ("1/4 in", LENGTH, "ft", "mm, cm, m, in"),
        ("1/4 in", LENGTH, "inch", "mm, cm, m, in"),
        ("25 deg", ANGLE, "mm", "deg"),
        ("1 kg", MASS, "day", "kg, lb"),
        ("1 day", TIME, "kg", "day, month, year"),
    ],
)
def test_will_not_convert_to_a_unit_of_another_dimension(text, dimension, unit, offers):
    with pytest.raises(QuantityError) as refused:
        quantity(text, dimension).to(unit)
    error = refused.value
    assert (error.text, error.reason, error.hint) == (text, f"cannot be given in {unit!r}", f"choose one of: {offers}")


# --- measurements ----------------------------------------------------------------------------------------------------

MEASURED = [
    # (text, dimension, low, high) in base units
    ("6 mm", LENGTH, "6", "6"),
    ("5 mm to 6 mm", LENGTH, "5", "6"),
    ("5 mm to 5 mm", LENGTH, "5", "5"),
    ("5 mm to 1/4 in", LENGTH, "5", "6.35"),
    ("2/32 in to 3/32 in", LENGTH, "1.5875", "2.38125"),
    ("6.0 mm ± 0.3 mm", LENGTH, "5.7", "6.3"),
    ("6.0 mm +/- 0.3 mm", LENGTH, "5.7", "6.3"),
    ("6.0 mm±0.3 mm", LENGTH, "5.7", "6.3"),
    ("6 mm\u00a0±\u00a00.3\u00a0mm", LENGTH, "5.7", "6.3"),
    ("1/4 in ± 0.1 mm", LENGTH, "6.25", "6.45"),
    ("6 mm ± 1/64 in", LENGTH, "5.603125", "6.396875"),
    ("6 mm ± 0 mm", LENGTH, "6", "6"),
    # A gauge shows its nearest step, so the value lies half a step either way (JCGM 100:2008, F.2.2.1; from memory).
    ("4/32 in rounded", LENGTH, "2.778125", "3.571875"),
    ("1/4 in rounded", LENGTH, "3.175", "9.525"),
    ("1 1/2 in rounded", LENGTH, "31.75", "44.45"),
    ("6 mm rounded", LENGTH, "5.5", "6.5"),
    ("6.0 mm rounded", LENGTH, "5.95", "6.05"),
    ("0.25 in rounded", LENGTH, "6.223", "6.477"),
    (".5 in rounded", LENGTH, "11.43", "13.97"),
    ("0 mm rounded", LENGTH, "0", "0.5"),
    ("25 deg rounded", ANGLE, "24.5", "25.5"),
    ("6 years rounded", TIME, "2008.875", "2374.125"),
    ("20 deg to 25 deg", ANGLE, "20", "25"),
    ("20° ± 2°", ANGLE, "18", "22"),
    ("9900 lb to 10000 lb", MASS, "4490.564463", "4535.9237"),
    ("5 years to 6 years", TIME, "1826.25", "2191.5"),
]


@pytest.mark.parametrize(("text", "dimension", "low", "high"), MEASURED, ids=[row[0] for row in MEASURED])
def test_a_measurement_has_two_exact_ends(text, dimension, low, high):
    read = measure(text, dimension)
    assert (read.low.exact, read.high.exact) == (Fraction(low), Fraction(high))
    assert read.dimension is dimension


def test_a_width_reaches_below_zero_at_most_to_zero():
    read = measure("0.2 mm ± 0.3 mm")
    assert (read.low.exact, read.high.exact) == (0, Fraction("0.5"))


def test_a_measurement_keeps_its_own_words_and_shows_its_ends_in_its_unit():
    read = measure(" 6.0 mm ± 0.3 mm ")
    assert (str(read), str(read.low), str(read.high)) == ("6.0 mm ± 0.3 mm", "5.7 mm", "6.3 mm")


def test_measurements_are_equal_when_their_ends_are():
    assert measure("1/4 in") == measure("6.35 mm")
    assert measure("6 mm ± 0.3 mm") == measure("5.7 mm to 6.3 mm")
    assert hash(measure("6 mm ± 0.3 mm")) == hash(measure("5.7 mm to 6.3 mm"))
    assert measure("5 mm to 6 mm") != measure("6 mm")


@pytest.mark.parametrize(("text", "degrees"), [("90 deg", "90"), ("179.9°", "179.9"), ("0 deg", "0")])
def test_an_angle_around_a_tire_may_pass_a_right_angle(text, degrees):
    assert quantity(text, ANGLE, around=True).exact == Fraction(degrees)


def test_two_places_of_a_tire_are_less_than_half_a_turn_apart():
    with pytest.raises(QuantityError) as refused:
        quantity("180 deg", ANGLE, around=True)
    assert refused.value.reason == "is no angle between two places of a tire"
    assert refused.value.hint == "write an angle from 0 deg to below 180 deg"


def test_a_measurement_is_a_length_unless_told_otherwise():
    assert measure("6 mm") == measure("6 mm", LENGTH)


REFUSED_MEASUREMENTS = [
    ("6 mm to 5 mm", LENGTH, "6 mm to 5 mm", "is a range whose ends are reversed", 'write "5 mm to 6 mm"'),
    ("1/4 in to 6 mm", LENGTH, "1/4 in to 6 mm", "is a range whose ends are reversed", 'write "6 mm to 1/4 in"'),
    ("5 to 6 mm", LENGTH, "5", "is a bare number without a unit", 'write "5 mm" or "5 in"'),
    ("5 mm to 6", LENGTH, "6", "is a bare number without a unit", 'write "6 mm" or "6 in"'),
    ("6 mm ± 0.3", LENGTH, "0.3", "is a bare number without a unit", 'write "0.3 mm" or "0.3 in"'),
    ("6 ± 0.3 mm", LENGTH, "6", "is a bare number without a unit", 'write "6 mm" or "6 in"'),
    ("6 mm ± 2 deg", LENGTH, "2 deg", "is an angle where a length belongs", _WRITE[LENGTH]),
    ("6 mm ± -1 mm", LENGTH, "-1 mm", "is negative, which no length here can be", _WRITE[LENGTH]),
    (
        "80 deg to 95 deg",
        ANGLE,
        "95 deg",
        "is no angle from straight through",
        "write an angle from 0 deg to below 90 deg",
    ),
    ("1 mm to 2 mm to 3 mm", LENGTH, "2 mm to 3 mm", "is no length", _WRITE[LENGTH]),
    ("6 mm ±", LENGTH, "", "is no length", _WRITE[LENGTH]),
    ("6 rounded", LENGTH, "6", "is a bare number without a unit", 'write "6 mm" or "6 in"'),
    ("rounded", LENGTH, "rounded", "is no length", _WRITE[LENGTH]),
    ("6 mm rounded down", LENGTH, "6 mm rounded down", "is no length", _WRITE[LENGTH]),
    ("5 mm to 6 mm rounded", LENGTH, "6 mm rounded", "is no length", _WRITE[LENGTH]),
    ("6 mm ± 1 mm rounded", LENGTH, "1 mm rounded", "is no length", _WRITE[LENGTH]),
    ("5 mm - 6 mm", LENGTH, "5 mm - 6 mm", "is no length", _WRITE[LENGTH]),
    (6, LENGTH, 6, "is a bare number without a unit", 'write "6 mm" or "6 in"'),
    (None, ANGLE, None, "is no angle", _WRITE[ANGLE]),
]


@pytest.mark.parametrize(
    ("given_", "dimension", "shown", "reason", "hint"),
    REFUSED_MEASUREMENTS,
    ids=[str(row[0]) for row in REFUSED_MEASUREMENTS],
)
def test_refuses_a_measurement_with_what_to_write_instead(given_, dimension, shown, reason, hint):
    with pytest.raises(QuantityError) as refused:
        measure(given_, dimension)
    assert (refused.value.text, refused.value.reason, refused.value.hint) == (shown, reason, hint)


@settings(max_examples=500, deadline=None)
@given(_numbers(), _numbers(), st.sampled_from(["±", "+/-", " ± ", " +/- "]))
def test_a_width_spans_its_middle_on_both_sides(middle, width, sign):
    (text, value), (width_text, width_value) = middle, width
    read = measure(f"{text} in{sign}{width_text} mm")
    around = value * Fraction(254, 10)
    assert read.high.exact == around + width_value
    assert read.low.exact == max(around - width_value, 0)


@settings(max_examples=500, deadline=None)
@given(_numbers(), _numbers())
def test_a_range_is_its_two_ends_in_order(one, other):
    (first, value), (second, other_value) = one, other
    text = f"{first} mm to {second} mm"
    if value <= other_value:
        assert measure(text) == Measured(quantity(f"{first} mm", LENGTH), quantity(f"{second} mm", LENGTH), text)
    else:
        with pytest.raises(QuantityError, match="ends are reversed"):
            measure(text)


# --- any text at all, by an independent reading ----------------------------------------------------------------------

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


@pytest.mark.parametrize("unit", FACTORS)
def test_the_size_of_every_unit_is_pints_to_the_last_digit(unit):
    dimension, name, base = _SPELLINGS[unit]
    _, above, below = FACTORS[unit]
    assert Fraction(above, below) == _PINT.Quantity(Fraction(1), name).to(base).magnitude
    assert _PINT.Quantity(Fraction(1), name).check(_PINT.get_dimensionality(base))
    assert UNITS[unit] is dimension


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
    assert read(text) == (above, below, unit)


def _printed_by(rng):
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
    names = {unit: tuple(map(_PINT.Unit, _SPELLINGS[unit][1:])) for unit in FACTORS}
    steep = 0
    for _ in range(50_000):
        number, value = _printed_by(rng)
        unit = rng.choice(list(_WORDS))
        text = number + rng.choice(["", " ", "\u00a0", "\u2009"]) + rng.choice(_WORDS[unit])
        expected = _PINT.Quantity(value, names[unit][0]).m_as(names[unit][1])
        found = read(text)
        if unit == "deg" and expected >= 90:
            steep += 1
            assert found is None, text
        else:
            assert found is not None, text
            assert (Fraction(found[0], found[1]), found[2]) == (expected, unit), text
    assert 2000 < steep < 5000


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
        number, _value = _printed_by(rng)
        text = number + rng.choice(["", " "]) + rng.choice(_WORDS[rng.choice(list(_WORDS))])
        for _ in range(rng.randrange(3)):  # damage it
            at = rng.randrange(len(text) + 1)
            text = text[:at] + rng.choice([*_PIECES, ""]) + text[at + rng.randrange(2) :]
        yield text
    for _ in range(20_000):
        yield "".join(rng.choices(_PIECES, k=rng.randint(1, 5)))


_PLAIN = str.maketrans(dict.fromkeys("\u00a0\u2009\u202f", " ") | dict.fromkeys("\u2033\u201d", '"') | {"\u00ba": "°"})
_UNIT_OF = {word.translate(_PLAIN): unit for unit, words in _WORDS.items() for word in words}
_UNIT_OF |= {word.upper(): unit for word, unit in _UNIT_OF.items() if len(word) > 1}
_FORM = re.compile(
    r"(?:(?:([0-9]{1,9})[ -])?([0-9]{1,9})/([0-9]{1,9})|([0-9]{1,9}(?:\.[0-9]{1,18})?|\.[0-9]{1,18}))"
    r' ?([A-Za-z]+|["°])'
)


def _expected(text, around=False):
    """What a text states by a pattern and Python's fractions: dimension, value in base units, unit; else None."""
    found = _FORM.fullmatch(text.translate(_PLAIN).strip())
    unit = found and _UNIT_OF.get(found[5])
    if unit is None:
        return None
    if found[4]:
        value = Fraction(found[4])
    elif int(found[3]) == 0 or (found[1] and int(found[2]) >= int(found[3])):
        return None
    else:
        value = int(found[1] or 0) + Fraction(int(found[2]), int(found[3]))
    dimension = _SPELLINGS[unit][0]
    value *= _SIZES[unit]
    return None if dimension is ANGLE and value >= (180 if around else 90) else (dimension, value, unit)


_SIZES = {unit: _PINT.Quantity(Fraction(1), _SPELLINGS[unit][1]).to(_SPELLINGS[unit][2]).magnitude for unit in FACTORS}


def _told(text):
    found = read(text)
    return found and (UNITS[found[2]], Fraction(found[0], found[1]), found[2])


def test_seventy_thousand_texts_are_accepted_as_the_independent_reading_accepts_them():
    accepted = refused = 0
    for text in _texts():
        told = _told(text)
        assert told == _expected(text), text
        accepted, refused = accepted + bool(told), refused + (not told)
        if told:
            assert re.search(PATTERN, plain(text)), text
    assert min(accepted, refused) > 15_000


@settings(max_examples=2000, deadline=None)
@given(st.one_of(st.text(max_size=12), st.lists(st.sampled_from(_PIECES), max_size=6).map("".join)))
def test_any_text_is_read_by_the_public_reader_as_by_the_independent_one(text):
    expected, around = _expected(text), _expected(text, around=True)
    assert _told(text) == expected
    for dimension in Dimension:
        for asked, wanted in ((False, expected), (True, around)):
            try:
                told = quantity(text, dimension, around=asked)
            except QuantityError:
                assert wanted is None or wanted[0] is not dimension
            else:
                if told.unit in UNITS:
                    assert (told.dimension, told.exact, told.unit) == wanted
                assert told.text == text.translate(_PLAIN).strip()


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
def test_the_reader_of_the_trades_forms_gives_both_ends_of_a_measurement(text, low, high, unit):
    ends = span(text)
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
def test_the_reader_of_the_trades_forms_leaves_everything_else_alone(text):
    assert span(text) is None


def test_a_width_may_reach_up_to_a_right_angle():
    assert span("80 deg ± 9.9 deg") == ((701, 10), (899, 10), "deg")


def _expected_span(text):
    """What a text states as a measurement, by the independent reading of its figures."""
    text = text.translate(_PLAIN).strip()
    for sign in (" to ", "±", "+/-"):
        if sign in text:
            one, other = map(_expected, text.split(sign, 1))
            if one is None or other is None or one[0] is not other[0]:
                return None
            if sign == " to ":
                return (one[0], one[1], other[1]) if one[1] <= other[1] else None
            return _both_sides(one[0], one[1], other[1])
    if text.endswith(" rounded"):
        text = text.removesuffix(" rounded")
        one = _expected(text)
        if one is None:
            return None
        parts = re.search(r"/([0-9]+)", text)
        digits = re.search(r"\.([0-9]+)", text)
        step = Fraction(1, int(parts[1])) if parts else Fraction(1, 10 ** len(digits[1] if digits else ""))
        return _both_sides(one[0], one[1], step * _SIZES[one[2]] / 2)
    one = _expected(text)
    return one and (one[0], one[1], one[1])


def _both_sides(dimension, middle, width):
    if dimension is ANGLE and middle + width >= 90:
        return None
    return dimension, max(middle - width, Fraction(0)), middle + width


def test_twenty_thousand_measurements_are_read_as_the_independent_reading_reads_them():
    rng = random.Random(1975)
    accepted = refused = 0
    for _ in range(20_000):
        unit = rng.choice(list(_WORDS))
        one, other = (f"{_small(rng)} {rng.choice(_WORDS[each])}" for each in (unit, rng.choice([unit, unit, "in"])))
        sign = rng.choice(
            [" to ", "±", " ± ", "+/-", " +/- ", " rounded", " rounded ", "", " - ", "±±", "rounded", " to"]
        )
        text = one + sign + (other if rng.random() < 0.9 and "rounded" not in sign and sign else "")
        expected = _expected_span(text)
        for dimension in Dimension:
            try:
                told = measure(text, dimension)
            except QuantityError:
                assert expected is None or expected[0] is not dimension, text
            else:
                assert (told.dimension, told.low.exact, told.high.exact) == expected, text
                assert told.ends == (*expected[1].as_integer_ratio(), *expected[2].as_integer_ratio())
        accepted, refused = accepted + (expected is not None), refused + (expected is None)
    assert min(accepted, refused) > 5000


def _small(rng):
    return rng.choice([str(rng.randrange(120)), f"{rng.randrange(95)}.{rng.randrange(100)}", f"{rng.randrange(9)}/32"])


# --- values ----------------------------------------------------------------------------------------------------------


def test_a_quantity_is_in_lowest_terms_whatever_it_is_made_of():
    made = Quantity(254, 40, "in", "1/4 in")
    assert (made.above, made.below, made.dimension, made.magnitude) == (127, 20, LENGTH, Fraction(1, 4))
    assert made == Quantity.of(Fraction("6.35"), "mm") == quantity("6.35 mm", LENGTH)
    assert repr(made) == "Quantity(above=127, below=20, unit='in', text='1/4 in')"


@pytest.mark.parametrize(("above", "below", "unit"), [(1, 0, "mm"), (1, -2, "mm"), (1, 1, "furlong"), (1, 1, "Mm")])
def test_what_is_no_quantity_cannot_be_made(above, below, unit):
    with pytest.raises(ValueError, match="is no quantity"):
        Quantity(above, below, unit, "")


@pytest.mark.parametrize(
    ("exact", "unit", "text"),
    [
        # 1 in = 25.4 mm and 1 lb = 0.453 592 37 kg: the agreement of 1959.
        (Fraction("6.35"), "in", "0.25 in"),
        (Fraction(6), "in", "0.2362 in"),
        (6, "mm", "6 mm"),
        (Fraction("4535.9237"), "lb", "10000 lb"),
        (Fraction(42), "week", "6 week"),
    ],
)
def test_a_number_becomes_a_quantity_that_is_printed_with_four_decimals(exact, unit, text):
    made = Quantity.of(exact, unit)
    assert (made.exact, made.unit, str(made)) == (exact, unit, text)
    assert str(Quantity.of(exact, unit, "as printed")) == "as printed"


def test_a_number_becomes_no_quantity_of_another_dimension():
    assert Quantity.of(6, "mm", dimension=LENGTH) == quantity("6 mm", LENGTH)
    with pytest.raises(ValueError, match="'mm' is no unit of angle"):
        Quantity.of(6, "mm", dimension=ANGLE)


def test_quantities_of_two_dimensions_stand_in_one_order_and_no_other_thing_in_any():
    length, angle = quantity("6 mm", LENGTH), quantity("6 deg", ANGLE)
    assert sorted([length, angle]) == sorted([angle, length])
    assert (length < angle) is not (length > angle)
    assert length != 6
    with pytest.raises(TypeError):
        _ = length < 6


_EVERY_FORM = ["1/4 in", "5 mm to 1/4 in", "6.0 mm ± 0.3 mm", "1/4 in +/- 0.1 mm", "4/32 in rounded", "1 ft to 13 in"]


@pytest.mark.parametrize("text", _EVERY_FORM)
def test_what_was_read_pickles_and_never_changes(text):
    measured = measure(text)
    again = pickle.loads(pickle.dumps(measured))
    assert (again, hash(again), str(again), repr(again)) == (measured, hash(measured), text, repr(measured))
    assert str(pickle.loads(pickle.dumps(measured.low))) == str(measured.low)
    for value, name in ((measured, "text"), (measured, "ends"), (measured.low, "above"), (measured.low, "other")):
        with pytest.raises(AttributeError, match="never changes"):
            setattr(value, name, 1)
        with pytest.raises(AttributeError, match="never changes"):
            delattr(value, name)


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("1/4 in", "1/4 in", "1/4 in"),
        ("5 mm to  1/4\u00a0in", "5 mm", "1/4 in"),
        ("6.0 mm ± 0.3 mm", "5.7 mm", "6.3 mm"),
        ("1/4 in +/- 0.1 mm", "0.2461 in", "0.2539 in"),
        ("4/32 in rounded", "0.1094 in", "0.1406 in"),
        ("0.2 mm ± 0.3 mm", "0 mm", "0.5 mm"),
    ],
)
def test_the_ends_of_a_measurement_are_printed_as_they_stand_or_as_they_follow(text, low, high):
    measured = measure(text)
    assert (str(measured.low), str(measured.high)) == (low, high)


def test_a_measurement_is_made_of_its_ends_as_it_is_read_from_text():
    made = Measured(quantity("5 mm", LENGTH), quantity("1/4 in", LENGTH), "between two gauges")
    assert made == measure("5 mm to 1/4 in")
    assert hash(made) == hash(measure("5 mm to 1/4 in"))
    assert (str(made), str(made.low), str(made.high), made.unit) == ("between two gauges", "5 mm", "1/4 in", "mm")
    assert made != measure("5 mm to 6 mm")
    assert measure("6 deg", ANGLE) != measure("6 mm")
    assert measure("6 mm") != "6 mm"


def test_a_text_that_was_read_is_looked_up_and_the_table_is_bounded(monkeypatch):
    monkeypatch.setattr(quantities.Readings, "BOUND", 3)
    known = quantities.READINGS[LENGTH]
    known.clear()
    first = measure("1 mm")
    assert measure("1 mm") is first
    for text in ("2 mm", "3 mm", "4 mm"):
        assert measure(text).low.exact == int(text[0])
        assert 0 < len(known) <= 3
    assert measure("1 mm") == first
    with pytest.raises(QuantityError):
        measure("1 mm", ANGLE)


@settings(max_examples=300)
@given(st.integers(-(10**9), 10**9), st.integers(1, 10**4), st.integers(0, 6))
def test_decimal_text_takes_a_pair_of_whole_numbers_too(above, below, places):
    assert decimal_text((above, below), places) == decimal_text(Fraction(above, below), places)


# --- text for people and for schemas ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [
        ("0", 3, "0"),
        ("6", 3, "6"),
        ("6.35", 3, "6.35"),
        ("9.525", 2, "9.52"),  # a tie goes to the even digit (IEEE 754, Python's round)
        ("9.535", 2, "9.54"),
        ("1.5875", 3, "1.588"),
        ("1.0005", 3, "1"),
        ("30/127", 4, "0.2362"),
        ("0.0004", 3, "0"),
        ("-0.0004", 3, "0"),
        ("-1.25", 3, "-1.25"),
        ("999.9999", 3, "1000"),
        ("2.5", 0, "2"),
    ],
)
def test_decimal_text_rounds_for_display(value, places, text):
    assert decimal_text(Fraction(value), places) == text


@settings(max_examples=500)
@given(st.integers(-(10**9), 10**9), st.integers(1, 10**4), st.integers(0, 6))
def test_decimal_text_agrees_with_the_decimal_module(above, below, places):
    precise = Context(prec=60)
    expected = precise.divide(Decimal(above), Decimal(below)).quantize(
        Decimal(1).scaleb(-places), rounding=ROUND_HALF_EVEN, context=precise
    )
    shown = decimal_text(Fraction(above, below), places)
    assert Decimal(shown) == expected
    assert not shown.startswith("-0") or expected < 0
    assert not ("." in shown and shown.endswith("0"))


@pytest.mark.parametrize("text", [form[0] for form in FORMS if form[0].isascii() and form[0] == form[0].strip()])
def test_the_pattern_for_schemas_accepts_what_is_read(text):
    assert re.search(PATTERN, text)


@pytest.mark.parametrize(
    "text", ["6", "1/4", "1 1/2", "-6 mm", "+6 mm", "6,5 mm", "1e3 mm", "5 mm to 6 mm", "6 mm ± 1 mm", "mm", "", "٣ mm"]
)
def test_the_pattern_for_schemas_refuses_what_has_another_form(text):
    assert re.search(PATTERN, text) is None


def test_every_dimension_has_units_and_an_example_that_reads():
    assert set(EXAMPLES) == set(Dimension) == set(UNITS.values())
    for dimension, shown in EXAMPLES.items():
        read = [quantity(each.strip('"'), dimension) for each in shown.split(" or ")]
        assert all(isinstance(each, Quantity) and each.exact > 0 for each in read)


# --- imports and threads ---------------------------------------------------------------------------------------------


def _python(script):
    """Run `script` in a fresh interpreter and return what it prints, read as JSON."""
    done = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
        cwd=Path(tirerules.__file__).parent.parent,
    )
    return json.loads(done.stdout)


def test_pint_is_imported_by_the_first_text_that_names_a_unit_beside_the_trades_own():
    script = """
import json, sys
import tirerules
seen = []
for text in ("6 mm", "4/32 in rounded", "6.0 mm ± 0.3 mm", "5 mm to 1/4 in", "1 ft"):
    seen.append(sorted({"pint", "jsonschema"} & set(sys.modules)))
    tirerules.measure(text)
seen.append(sorted({"pint", "jsonschema"} & set(sys.modules)))
for text in ("6", "1 mi"):
    try:
        tirerules.measure(text)
    except tirerules.QuantityError:
        seen.append("refused")
print(json.dumps(seen))
"""
    assert _python(script) == [[], [], [], [], [], ["pint"], "refused", "refused"]


def test_eight_threads_that_read_first_at_the_same_moment_get_equal_values():
    script = """
import json, threading
from concurrent.futures import ThreadPoolExecutor
from tirerules import Dimension, quantity
texts = [("1/4 in", "length"), ("1 ft", "length"), ("10000 lb", "mass"), ("6 weeks", "time"), ("25 deg", "angle")]
gate = threading.Barrier(8)
def read(_):
    gate.wait()
    return [str(quantity(text, Dimension(name)).exact) for text, name in texts]
with ThreadPoolExecutor(8) as pool:
    print(json.dumps(list(pool.map(read, range(8)))))
"""
    # 1959 agreement: 25.4 mm and 0.453 592 37 kg.
    assert _python(script) == [["127/20", "1524/5", "45359237/10000", "42", "25"]] * 8
