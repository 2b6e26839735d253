"""What stands on the sidewall, read: size designation, load index, date code, and where around the tire something is.

Sources: the size geometry is that of the ISO metric designation (rim code x 25.4 + 2 x section width x aspect ratio,
UN R30/R54); load indices are the standard table (ISO 4000-1, from memory beyond 71-110); date codes are week and year
(49 CFR 574.5). Nothing here guesses: what cannot be read raises :class:`~tirerules.errors.QuantityError`.
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache

from tirerules.quantities import Measured, Quantity, decimal_text, quantity
from tirerules.units import number_of
from tirerules.values import Value
from tirerules.vocabulary import FACTS, Dimension

TYPE_CHECKING = False
if TYPE_CHECKING:
    import re
    from fractions import Fraction
    from typing import Final

    from tirerules.errors import QuantityError

__all__ = ["Position", "Size", "age_on", "date_code", "load_capacity", "position", "size"]

#: What may stand around the service description and says nothing that is read here.
_MARKS: Final = r"(?:\ +(?:XL|SL|HL|RF|TL|TT|M/C|M\+S|REINF|EXTRA\ LOAD))*"
_SERVICE: Final = rf"""{_MARKS}
    (?:\ +\(?(?P<index>[0-9]{{2,3}})(?:/[0-9]{{2,3}})?(?P<symbol>[A-Z])(?P<closing>\))?)?
    (?:\ */\ *(?P<slash>[A-Z])|\ *\((?P<bracket>[A-Z])\)|\ +(?:LR|LOAD\ RANGE)\ *(?P<words>[A-Z]))?{_MARKS}
"""
_METRIC: Final = rf"""(?P<prefix>P|LT|ST|T)?(?P<width>[0-9]{{3}})/(?P<aspect>[0-9]{{2,3}})\ ?
    (?P<rating>ZR|[SHVZ]?(?P<build>R|D|B|-))(?P<rim>[0-9]{{2}}(?:\.[0-9])?)(?P<suffix>LT|ST|C)?{_SERVICE}"""
_FLOTATION: Final = rf"""(?P<diameter>[0-9]{{2}}(?:\.[0-9]{{1,2}})?)X(?P<across>[0-9]{{1,2}}(?:\.[0-9]{{1,2}})?)\ ?
    (?P<build>R|D|B|-)(?P<rim>[0-9]{{2}}(?:\.[0-9])?)(?P<suffix>LT|ST)?{_SERVICE}"""
_NUMERIC: Final = rf"""(?P<across>[0-9]{{1,2}}(?:\.[0-9]{{1,2}})?)\ ?
    (?P<build>R|D|B|-)(?P<rim>[0-9]{{2}}(?:\.[0-9])?)(?P<suffix>LT|ST|C)?{_SERVICE}"""
_FORMS: Final = 'write it as on the sidewall: "225/45R17 91W", "LT245/75R16/E", "295/75R22.5 (G)" or "31x10.50R15LT"'

#: Load index -> kg, from index 60 on.
_LOADS: Final = (
    (250, 257, 265, 272, 280, 290, 300, 307, 315, 325)  # noqa: RUF005  # one row for each ten reads as the table does
    + (335, 345, 355, 365, 375, 387, 400, 412, 425, 437)
    + (450, 462, 475, 487, 500, 515, 530, 545, 560, 580)
    + (600, 615, 630, 650, 670, 690, 710, 730, 750, 775)
    + (800, 825, 850, 875, 900, 925, 950, 975, 1000, 1030)
    + (1060, 1090, 1120, 1150, 1180, 1215, 1250, 1285, 1320, 1360)
    + (1400, 1450, 1500, 1550, 1600, 1650, 1700, 1750, 1800, 1850)
    + (1900, 1950, 2000, 2060, 2120, 2180, 2240, 2300, 2360, 2430)
    + (2500, 2575, 2650, 2725, 2800, 2900, 3000, 3075, 3150, 3250)
    + (3350, 3450, 3550, 3650, 3750, 3875, 4000, 4125, 4250, 4375, 4500)
)
_FIRST_LOAD: Final = 60


class Size(Value):
    """What a size designation says. Lengths are nominal; None where the designation does not say."""

    text: str
    prefix: str  #: P, LT, ST, T or nothing
    section_width: Quantity
    outside_diameter: Quantity | None
    construction: str  #: radial or bias
    section_height: Quantity | None = None
    load_range: str | None = None
    load_index: int | None = None
    speed_symbol: str | None = None


def size(text: str) -> Size:
    """Read a size designation: ISO metric, P- and LT-metric, truck, flotation or motorcycle.

    Raises QuantityError for what is none, and for a load range or speed symbol that does not exist.
    """
    said = " ".join(text.upper().split())
    metric, flotation, numeric = (form.fullmatch(said) for form in _size_forms())
    found = metric or flotation or numeric
    if found is None:
        raise _refused(text, "is no size designation", _FORMS)
    load_range = found["slash"] or found["bracket"] or found["words"]
    _known(text, "tire.load_range", load_range)
    diameter = height = None
    if metric is not None:
        width = _millimeters(int(metric["width"]), 1)
        height = _millimeters(int(metric["width"]) * int(metric["aspect"]), 100)
        rim, parts = _number(metric["rim"])
        sides = 2 * int(metric["width"]) * int(metric["aspect"])
        diameter = _millimeters(2540 * rim + sides * parts, 100 * parts)
        prefix = metric["prefix"] or (metric["suffix"] if metric["suffix"] in ("LT", "ST") else "")
        inside = metric["rating"].removesuffix(metric["build"] or "R")
        in_middle = "ZR" if metric["rating"] == "ZR" else inside or None
    else:
        width = _inches(found["across"])
        # A numeric designation (11R22.5) gives the width in inches and no aspect ratio, so no diameter follows.
        if flotation is not None:
            diameter = _inches(flotation["diameter"])
        prefix, in_middle = found["suffix"] or "", None
    symbol = found["symbol"]
    if symbol is not None and found["closing"]:
        # (Y) stands for "above 300 km/h"; (W), on motorcycle tires, for "above 270", which W says as well as any.
        symbol = f"({symbol})" if symbol == "Y" else symbol
    speed = symbol or in_middle
    _known(text, "tire.speed_symbol", speed)
    return Size(
        text=text,
        prefix=prefix,
        section_width=width,
        outside_diameter=diameter,
        construction="radial" if (found["build"] or "R") == "R" else "bias",
        section_height=height,
        load_range=load_range,
        load_index=int(found["index"]) if found["index"] else None,
        speed_symbol=speed,
    )


def _known(text: str, fact: str, word: str | None) -> None:
    words = FACTS[fact].values
    if word is not None and word not in words:
        raise _refused(text, f"has no {fact.partition('.')[2].replace('_', ' ')} {word}", f"one of: {', '.join(words)}")


@cache
def _size_forms() -> tuple[re.Pattern[str], ...]:
    """Return what reads a metric, a flotation and a numeric designation, compiled when the first size is read."""
    import re

    return tuple(re.compile(form, re.VERBOSE) for form in (_METRIC, _FLOTATION, _NUMERIC))


def _refused(text: object, reason: str, hint: str = "") -> QuantityError:
    from tirerules.errors import QuantityError

    return QuantityError(text, reason, hint)


def _number(text: str) -> tuple[int, int]:
    printed = number_of(text)
    assert printed is not None  # INVARIANT: the forms above take digits alone
    return printed


def _inches(text: str) -> Quantity:
    above, below = _number(text)
    return _millimeters(254 * above, 10 * below)


def _millimeters(above: int, below: int) -> Quantity:
    return Quantity(above, below, "mm", f"{decimal_text((above, below), 4)} mm")


def load_capacity(index: int) -> Quantity:
    """Return the load that a load index stands for, in kg. Raises QuantityError outside 60 to 160."""
    if not 0 <= index - _FIRST_LOAD < len(_LOADS):
        last = _FIRST_LOAD + len(_LOADS) - 1
        raise _refused(index, "is no load index in the table", f"from {_FIRST_LOAD} to {last}")
    kilograms = _LOADS[index - _FIRST_LOAD]
    return Quantity(kilograms, 1, "kg", f"{kilograms} kg")


def date_code(code: str) -> date:
    """Return the Monday of the week that a date code (week, year) names.

    Raises QuantityError for a code that names no week. Codes of three digits (before 2000) are refused, because they do
    not tell the decade.
    """
    digits = code.isascii() and code.isdigit()
    if digits and len(code) == 3:
        raise _refused(code, "is a date code from before 2000, which does not tell the decade", "give tire.age")
    if not digits or len(code) != 4:
        raise _refused(code, "is no date code", 'write the last four digits, week then year: "2319"')
    try:
        return date.fromisocalendar(2000 + int(code[2:]), int(code[:2]), 1)
    except ValueError:
        raise _refused(code, f"names week {code[:2]} of 20{code[2:]}, which does not exist") from None


def age_on(code: str, on: date) -> Measured:
    """Return how old a tire with the date code `code` is on the day `on`: a span of one week.

    Raises QuantityError as `date_code` does, and for a week after `on`.
    """
    monday = date_code(code)
    if monday > on:
        raise _refused(code, f"is a week after {on}", "check the code and the day asked about")
    youngest = max((on - (monday + timedelta(days=6))).days, 0)
    return Measured(_days(youngest), _days((on - monday).days), f"made in week {code[:2]} of 20{code[2:]}")


def _days(count: int) -> Quantity:
    return Quantity(count, 1, "day", f"{count} day")


class Position(Value):
    """Where around the tire: a share of a full turn, or a distance along the tread in mm; one of the two is set."""

    turn: Fraction | None = None
    arc: Fraction | None = None


def position(text: str) -> Position:
    """Read a place around the tire: clock (``3:00``), angle (``90 deg``) or distance along the tread (``415 mm``).

    All are counted from one mark, such as the valve, in one direction. Raises QuantityError for what is none.
    """
    import re
    from fractions import Fraction

    from tirerules.errors import QuantityError

    said = text.strip()
    clock = re.fullmatch(r"([0-9]{1,2}):([0-9]{2})", said)
    if clock is not None:
        hours, minutes = int(clock[1]), int(clock[2])
        if not (0 <= hours <= 12 and minutes < 60):
            raise _refused(text, "is no place on a clock face", 'write "3:00", from 0:00 to 12:59')
        return Position(turn=Fraction(60 * hours + minutes, 720) % 1)
    angle = re.fullmatch(r"([0-9]{1,3}(?:\.[0-9]{1,6})?) ?(?:deg|°)", said)
    if angle is not None:
        return Position(turn=Fraction(angle[1]) / 360 % 1)
    try:
        return Position(arc=quantity(said, Dimension.LENGTH).exact)
    except QuantityError:
        hint = 'write a clock position "3:00", an angle "90 deg" or a distance along the tread "415 mm"'
        raise _refused(text, "is no place around the tire", hint) from None
