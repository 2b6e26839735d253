"""Facts of a tire and its vehicle that follow from others where nobody stated them.

- `vehicle.commercial_motor_vehicle` follows from use, weight, kind and seats (49 CFR 390.5 and 390.3T(f));
- `tire.regrooved` follows from the recorded inspection and the class: passenger, light-truck and motorcycle tires are
  not regrooved unless somebody found it; tires of trucks and buses lawfully are, so there silence says nothing;
- what stands on the sidewall gives widths, construction, load range, speed symbol and age (`sidewall`).

What each follows from stands in its row of the vocabulary (`Fact.follows_from`).
"""

from __future__ import annotations

from tirerules.case.row import TIRE
from tirerules.quantities import Measured
from tirerules.vocabulary import REGROOVES

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

__all__ = ["CARRIER", "REGROOVED", "REGROOVED_LAWFULLY", "carrier", "regrooved", "sidewall"]

CARRIER, REGROOVED = "vehicle.commercial_motor_vehicle", "tire.regrooved"
#: Classes of tires of which an inspection that found no regroove says that there is none.
_SETTLED_BY_INSPECTION = frozenset({"passenger", "light-truck", "motorcycle"})
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
_OUTWARD = ("vehicle.use", "vehicle.gvwr", "vehicle.kind")


def _heavy(mass: Measured) -> bool | None:
    """Whether a weight surely is, or surely is not, that of a heavy vehicle."""
    low, below_low, high, below_high = mass.ends
    if low * _HEAVY[1] >= _HEAVY[0] * below_low:
        return True
    return False if high * _HEAVY[1] < _HEAVY[0] * below_high else None


def carrier(use: Any, gvwr: Any, kind: Any, seats: Any, stated: Any) -> tuple[bool | None, str | None]:
    """Return whether a vehicle is a commercial motor vehicle, and which fact to ask for where that is not known.

    >>> from tirerules.quantities import measure
    >>> from tirerules.vocabulary import Dimension
    >>> carrier("commercial", measure("1900 kg", Dimension.MASS), "passenger-car", None, None)
    (False, None)
    >>> carrier("commercial", None, "truck", None, None)
    (None, 'vehicle.gvwr')
    """
    if stated is not None:
        return stated, None
    if use in _OUTSIDE:
        return False, None
    weighs = None if gvwr is None else _heavy(gvwr)
    bus, many = kind in _BUSES, seats is not None and seats > _PASSENGERS
    if use is not None and (weighs or (bus and many)):
        return True, None
    light = weighs is False and not many and kind is not None and kind not in _COMBINED
    if light and (not bus or seats is not None):
        return False, None
    for fact, value in zip(_OUTWARD, (use, gvwr, kind), strict=True):
        if value is None:
            return None, fact
    return None, "vehicle.seats" if bus and seats is None and weighs is False else CARRIER


def regrooved(stated: Any, class_: Any, findings: frozenset[str] | None) -> bool | None:
    """Return whether a tire was regrooved: of a finding and a statement the worse, of silence what the class allows."""
    if stated is True or (findings is not None and not REGROOVES.isdisjoint(findings)):
        return True
    if stated is None and findings is not None and class_ in _SETTLED_BY_INSPECTION:
        return False
    return bool(stated) if stated is not None else None


class _Sizes(dict):  # type: ignore[type-arg]  # size designation -> what it says, by place in a row of the tire
    """What size designations say of a tire. INVARIANT: at most `BOUND` texts are kept, then all are forgotten."""

    BOUND = 20_000

    def __missing__(self, text: str) -> tuple[tuple[int, Any], ...]:
        from tirerules.scales import size

        read = size(text)
        keys = ("section_width", "outside_diameter", "construction", "load_range", "speed_symbol")
        found = [(TIRE[f"tire.{key}"], getattr(read, key)) for key in keys]
        if len(self) >= self.BOUND:
            self.clear()
        says = self[text] = tuple(
            (place, value if isinstance(value, str) else Measured(value, value, value.text))
            for place, value in found
            if value is not None
        )
        return says


_SIZES = _Sizes()
_SIZE, _DATE_CODE, _AGE = TIRE["tire.size"], TIRE["tire.date_code"], TIRE["tire.age"]


def sidewall(tire: list[Any], on: str | None) -> None:
    """Fill in what the sidewall says and nobody stated."""
    if tire[_SIZE] is not None:
        for place, value in _SIZES[tire[_SIZE]]:
            if tire[place] is None:
                tire[place] = value
    if tire[_DATE_CODE] is not None and on is not None and tire[_AGE] is None:
        from datetime import date

        from tirerules.scales import age_on

        tire[_AGE] = age_on(tire[_DATE_CODE], date.fromisoformat(on))
