"""What follows from what stands on the sidewall: the size designation, and the week of manufacture.

ISO metric: rim code x 25.4 + 2 x section width x aspect ratio is the outside diameter; others give widths in
inches. 49 CFR 574.5: the date code is a week and a year, so that a tire is as old as a span of seven days.
"""

from __future__ import annotations

import re
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from tests.reference.measures import decimal
from tests.reference.words import UNITS

__all__ = ["of_date_code", "of_size"]

_SHAPE = re.compile(
    r"(?:P|LT|ST|T)?(?:(?P<width>\d{3})/(?P<aspect>\d\d\d?)|(?P<across>[\d.]+)|(?P<high>[\d.]+)X(?P<wide>[\d.]+))"
    r" ?(?P<fast>Z|[SHV](?=[RDB-]))?(?P<build>[RDB-])(?P<rim>[\d.]+)(?:LT|ST|C)?"
    r"(?: +\(?\d\d\d?(?:/\d\d\d?)?(?P<symbol>[A-Z])\)?)?(?: */ *(?P<slash>[A-Z])| *\((?P<bracket>[A-Z])\))?"
)


def of_size(text: str) -> tuple[dict[str, Any], dict[str, str]]:
    """What a size designation says of the tire, and how that is shown."""
    found = _SHAPE.fullmatch(" ".join(text.upper().split()))
    if found is None:
        raise ValueError(f"no size designation: {text!r}")
    inch = UNITS["in"]
    diameter: Fraction | None = None
    if found["width"]:
        width = Fraction(found["width"])
        diameter = Fraction(found["rim"]) * inch + 2 * width * Fraction(found["aspect"]) / 100
    else:
        width = Fraction(found["across"] or found["wide"]) * inch
        if found["high"]:
            diameter = Fraction(found["high"]) * inch
    fast = {"Z": "ZR", None: None}.get(found["fast"], found["fast"])
    said = {
        "tire.construction": "radial" if found["build"] == "R" else "bias",
        "tire.load_range": found["slash"] or found["bracket"],
        "tire.speed_symbol": found["symbol"] or fast,
    }
    words = {name: str(word) for name, word in said.items() if word is not None}
    lengths = {"tire.section_width": width, "tire.outside_diameter": diameter}
    lengths = {name: length for name, length in lengths.items() if length is not None}
    texts = {name: f"{decimal(length, 4)} mm" for name, length in lengths.items() if length is not None}
    return {**words, **{name: (length, length) for name, length in lengths.items()}}, {**words, **texts}


def of_date_code(code: str, on: str) -> tuple[dict[str, Any], dict[str, str]]:
    """How old a tire is on a day, and how that is shown."""
    week, year = int(code[:2]), 2000 + int(code[2:])
    monday, asked = date.fromisocalendar(year, week, 1), date.fromisoformat(on)
    youngest = max((asked - monday - timedelta(days=6)).days, 0)
    age = Fraction(youngest), Fraction((asked - monday).days)
    return {"tire.age": age}, {"tire.age": f"made in week {code[:2]} of {year}"}
