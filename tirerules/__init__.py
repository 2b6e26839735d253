"""Rule packs for tire injury repair, and the strictest limit that applies to a given injury.

>>> import tirerules
>>> decision = tirerules.load().decide(
...     {
...         "jurisdictions": ["US-SC"],
...         "activity": "repair",
...         "on": "2026-11-25",
...         "tire": {"class": "passenger"},
...         "injuries": [{"kind": "puncture", "zone": "crown", "diameter": "8 mm", "angle": "20 deg"}],
...     }
... )
>>> decision.verdict
<Verdict.OUTSIDE: 'outside-limits'>
>>> str(decision.limits["injury.diameter"].at_most)
'6 mm'
"""

from tirerules._version import __version__
from tirerules.case import Axle, Case, EarlierRepair, Injury, Repairs, RepairUnit, Road, Sale, Shop, Tire, Vehicle
from tirerules.deciding.decision import Verdict
from tirerules.decision import Decision
from tirerules.errors import (
    CaseError,
    ConflictError,
    LockError,
    MissingDataError,
    PackError,
    PinError,
    Problem,
    QuantityError,
    ReplayError,
    TirerulesError,
    UnknownJurisdictionError,
)
from tirerules.quantities import Measured, Quantity, measure, quantity
from tirerules.record import case_from_json, case_to_json, decision_to_json, lock_from_json, lock_to_json
from tirerules.replaying import Replay, replay
from tirerules.rulebook import Rulebook, load
from tirerules.vocabulary import Activity, Dimension

__all__ = [
    "Activity",
    "Axle",
    "Case",
    "CaseError",
    "ConflictError",
    "Decision",
    "Dimension",
    "EarlierRepair",
    "Injury",
    "LockError",
    "Measured",
    "MissingDataError",
    "PackError",
    "PinError",
    "Problem",
    "Quantity",
    "QuantityError",
    "RepairUnit",
    "Repairs",
    "Replay",
    "ReplayError",
    "Road",
    "Rulebook",
    "Sale",
    "Shop",
    "Tire",
    "TirerulesError",
    "UnknownJurisdictionError",
    "Vehicle",
    "Verdict",
    "__version__",
    "case_from_json",
    "case_to_json",
    "decision_to_json",
    "load",
    "lock_from_json",
    "lock_to_json",
    "measure",
    "quantity",
    "replay",
]
