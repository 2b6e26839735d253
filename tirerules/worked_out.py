"""Facts of a tire and its vehicle that follow from others where nobody stated them, in one table for every reader.

`completed` takes a row of the facts of the whole tire (`tirerules.stated.WHOLE`) and gives the row in which they stand:

- `vehicle.commercial_motor_vehicle` follows from use, weight, kind and seats (49 CFR 390.5 and 390.3T(f));
- `tire.regrooved` follows from the recorded inspection and the class: passenger, light-truck and motorcycle tires are
  not regrooved unless somebody found it; tires of trucks and buses lawfully are, so there silence says nothing.

Nothing is imported here that starts slowly. What sets the row of a tire (a size, a date code) is read elsewhere.
"""

from __future__ import annotations

from operator import itemgetter

from tirerules.quantities import span
from tirerules.vocabulary import REGROOVES

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    #: A value for each fact of the whole tire.
    Row = tuple[Any, ...]

__all__ = [
    "CARRIER",
    "CARRIER_FACTS",
    "REGROOVED",
    "REGROOVED_LAWFULLY",
    "SETTLED_BY_INSPECTION",
    "Completer",
    "carrier",
    "heavy",
    "regrooved",
]

CARRIER, REGROOVED = "vehicle.commercial_motor_vehicle", "tire.regrooved"
#: What tells whether a vehicle is a commercial motor vehicle, in the order in which a person is asked.
CARRIER_FACTS = ("vehicle.use", "vehicle.gvwr", "vehicle.kind", "vehicle.seats", CARRIER)
#: Classes of tires of which an inspection that found no regroove says that there is none.
SETTLED_BY_INSPECTION = frozenset({"passenger", "light-truck", "motorcycle"})
#: Classes of tires that are lawfully made to be regrooved (49 CFR 569).
REGROOVED_LAWFULLY = frozenset({"medium-truck", "bus"})

#: 49 CFR 390.5 (1): 10,001 lb or more, in kg as numerator and denominator (1 lb is 0.45359237 kg).
_HEAVY = (10_001 * 45_359_237, 100_000_000)
#: 49 CFR 390.5 (2): more than 8 people with the driver, for pay; a bus in commercial use is taken as being for pay.
_PASSENGERS = 8
#: Uses that 49 CFR 390.3T(f) leaves out, or that are not in commerce.
_OUTSIDE = frozenset({"private", "school-bus", "emergency"})
_BUSES = frozenset({"bus", "minibus"})
#: Kinds that draw a trailer or are one, so that their own weight does not tell that of the combination.
_COMBINED = frozenset({"trailer", "truck-tractor", "tow-truck"})


def _span(mass: Any) -> tuple[int, int, int, int]:
    """Return both ends of a mass as it stands in a row: as text of a trade form, or as four whole numbers."""
    if isinstance(mass, tuple):
        return mass
    measured = span(mass)
    assert measured is not None  # INVARIANT: a row holds what was read as a mass
    return *measured[0], *measured[1]


def heavy(mass: Any) -> bool | None:
    """Whether a weight surely is, or surely is not, that of a heavy vehicle."""
    low, below_low, high, below_high = _span(mass)
    if low * _HEAVY[1] >= _HEAVY[0] * below_low:
        return True
    return False if high * _HEAVY[1] < _HEAVY[0] * below_high else None


def carrier(use: Any, gvwr: Any, kind: Any, seats: Any, stated: Any) -> tuple[bool | None, str | None]:
    """Return whether a vehicle is a commercial motor vehicle, and which fact to ask for where that is not known.

    >>> carrier("commercial", "1900 kg", "passenger-car", None, None)
    (False, None)
    >>> carrier("commercial", None, "truck", None, None)
    (None, 'vehicle.gvwr')
    """
    if stated is not None:
        return stated, None
    if use in _OUTSIDE:
        return False, None
    weighs = None if gvwr is None else heavy(gvwr)
    bus, many = kind in _BUSES, seats is not None and seats > _PASSENGERS
    if use is not None and (weighs or (bus and many)):
        return True, None
    light = weighs is False and not many and kind is not None and kind not in _COMBINED
    if light and (not bus or seats is not None):
        return False, None
    for fact, value in zip(CARRIER_FACTS, (use, gvwr, kind), strict=False):
        if value is None:
            return None, fact
    return None, "vehicle.seats" if bus and seats is None and weighs is False else CARRIER


def regrooved(stated: Any, class_: Any, findings: frozenset[str] | None) -> bool | None:
    """Return whether a tire was regrooved: of a finding and a statement the worse, of silence what the class allows."""
    if stated is True or (findings is not None and not REGROOVES.isdisjoint(findings)):
        return True
    if stated is None and findings is not None and class_ in SETTLED_BY_INSPECTION:
        return False
    return bool(stated) if stated is not None else None


class Completer:
    """Completes rows in which facts stand at given places."""

    __slots__ = ("_at_carrier", "_at_regrooved", "_class", "_vehicle")

    def __init__(self, places: Mapping[str, int]) -> None:
        self._vehicle = itemgetter(*(places[fact] for fact in CARRIER_FACTS))
        self._class, self._at_regrooved = places["tire.class"], places[REGROOVED]
        self._at_carrier = places[CARRIER]

    def __call__(self, row: Row, findings: frozenset[str] | None) -> tuple[Row, str | None]:
        """Return a row with what follows from it, and which fact tells whether the carrier rules bind, if unknown."""
        binds, asked = carrier(*self._vehicle(row))
        grooves = regrooved(row[self._at_regrooved], row[self._class], findings)
        if binds is not row[self._at_carrier] or grooves is not row[self._at_regrooved]:
            filled = list(row)
            filled[self._at_carrier], filled[self._at_regrooved] = binds, grooves
            row = tuple(filled)
        return row, asked
