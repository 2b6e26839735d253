"""The jurisdictions a rule pack may stand for, as ISO 3166 names them.

Knowing the real codes is what lets an unknown code be refused with its neighbours, and lets "no pack yet" be told
apart from "no such place". Source: ISO 3166-2 for the United States and Canada.
"""

from __future__ import annotations

from typing import Final

__all__ = ["COUNTRIES", "JURISDICTIONS", "country_of"]

COUNTRIES: Final = ("US", "CA")

_SUBDIVISIONS: Final = {
    "US": (
        "AK AL AR AS AZ CA CO CT DC DE FL GA GU HI IA ID IL IN KS KY LA MA MD ME MI MN MO MP MS MT NC ND NE NH NJ NM "
        "NV NY OH OK OR PA PR RI SC SD TN TX UM UT VA VI VT WA WI WV WY"
    ),
    "CA": "AB BC MB NB NL NS NT NU ON PE QC SK YT",
}

#: Every code, countries first; a country's own code stands for its federal rules.
JURISDICTIONS: Final = COUNTRIES + tuple(
    f"{country}-{part}" for country, parts in _SUBDIVISIONS.items() for part in parts.split()
)


def country_of(code: str) -> str:
    """Return the country of a jurisdiction code: ``US-SC`` -> ``US``; a country is its own country."""
    return code.partition("-")[0]
