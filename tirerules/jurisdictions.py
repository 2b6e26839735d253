"""The jurisdictions a rule pack may stand for, as ISO 3166 names them.

Knowing the real codes is what lets an unknown code be refused with its neighbors, and lets "no pack yet" be told apart
from "no such place". Source: ISO 3166-2 for the United States and Canada, and the codes that ISO 3166-1 leaves to users
(XA to XZ), under which a caller may keep an invented or internal place.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

__all__ = ["COUNTRIES", "JURISDICTIONS", "NAMES", "PRIVATE", "country_of", "is_jurisdiction"]

#: Code -> name, countries first; a country's own code stands for its federal rules.
NAMES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "US": "United States",
        "CA": "Canada",
        "US-AK": "Alaska",
        "US-AL": "Alabama",
        "US-AR": "Arkansas",
        "US-AS": "American Samoa",
        "US-AZ": "Arizona",
        "US-CA": "California",
        "US-CO": "Colorado",
        "US-CT": "Connecticut",
        "US-DC": "District of Columbia",
        "US-DE": "Delaware",
        "US-FL": "Florida",
        "US-GA": "Georgia",
        "US-GU": "Guam",
        "US-HI": "Hawaii",
        "US-IA": "Iowa",
        "US-ID": "Idaho",
        "US-IL": "Illinois",
        "US-IN": "Indiana",
        "US-KS": "Kansas",
        "US-KY": "Kentucky",
        "US-LA": "Louisiana",
        "US-MA": "Massachusetts",
        "US-MD": "Maryland",
        "US-ME": "Maine",
        "US-MI": "Michigan",
        "US-MN": "Minnesota",
        "US-MO": "Missouri",
        "US-MP": "Northern Mariana Islands",
        "US-MS": "Mississippi",
        "US-MT": "Montana",
        "US-NC": "North Carolina",
        "US-ND": "North Dakota",
        "US-NE": "Nebraska",
        "US-NH": "New Hampshire",
        "US-NJ": "New Jersey",
        "US-NM": "New Mexico",
        "US-NV": "Nevada",
        "US-NY": "New York",
        "US-OH": "Ohio",
        "US-OK": "Oklahoma",
        "US-OR": "Oregon",
        "US-PA": "Pennsylvania",
        "US-PR": "Puerto Rico",
        "US-RI": "Rhode Island",
        "US-SC": "South Carolina",
        "US-SD": "South Dakota",
        "US-TN": "Tennessee",
        "US-TX": "Texas",
        "US-UM": "United States Minor Outlying Islands",
        "US-UT": "Utah",
        "US-VA": "Virginia",
        "US-VI": "Virgin Islands, U.S.",
        "US-VT": "Vermont",
        "US-WA": "Washington",
        "US-WI": "Wisconsin",
        "US-WV": "West Virginia",
        "US-WY": "Wyoming",
        "CA-AB": "Alberta",
        "CA-BC": "British Columbia",
        "CA-MB": "Manitoba",
        "CA-NB": "New Brunswick",
        "CA-NL": "Newfoundland and Labrador",
        "CA-NS": "Nova Scotia",
        "CA-NT": "Northwest Territories",
        "CA-NU": "Nunavut",
        "CA-ON": "Ontario",
        "CA-PE": "Prince Edward Island",
        "CA-QC": "Quebec",
        "CA-SK": "Saskatchewan",
        "CA-YT": "Yukon",
    }
)
JURISDICTIONS: Final = tuple(NAMES)
COUNTRIES: Final = tuple(code for code in JURISDICTIONS if "-" not in code)

#: A place of the caller's own: ISO 3166-1 will never give these codes to a country.
PRIVATE: Final = re.compile(r"^X[A-Z](-[A-Z0-9]{1,3})?$")


def country_of(code: str) -> str:
    """Return the country of a jurisdiction code: ``US-SC`` -> ``US``; a country is its own country."""
    return code.partition("-")[0]


def is_jurisdiction(code: str) -> bool:
    """Whether `code` is a real jurisdiction, or one of the codes left to users."""
    return code in NAMES or PRIVATE.match(code) is not None
