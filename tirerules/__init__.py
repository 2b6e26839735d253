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

from __future__ import annotations

from tirerules._deferred import deferred
from tirerules._version import __version__
from tirerules.rulebook import Rulebook, load

TYPE_CHECKING = False
if TYPE_CHECKING:
    from tirerules.answering import answered
    from tirerules.case import Axle, Case, EarlierRepair, Injury, Repairs, RepairUnit, Road, Sale, Shop, Tire, Vehicle
    from tirerules.decision import Decision
    from tirerules.engine.parts import (
        Choice,
        FactLimits,
        Geometry,
        MethodVerdict,
        Notice,
        PackLock,
        Question,
        Reason,
        Requirement,
        Rung,
    )
    from tirerules.errors import (
        CaseError,
        ConflictError,
        LockError,
        MissingDataError,
        PackError,
        PinError,
        Problem,
        QuantityError,
        ReplaceError,
        ReplayError,
        TirerulesError,
        UnknownJurisdictionError,
    )
    from tirerules.packs.rule import Source
    from tirerules.quantities import Measured, Quantity, measure, quantity
    from tirerules.record import (
        case_from_json,
        case_to_json,
        decision_to_json,
        lock_from_json,
        lock_to_json,
        vocabulary_to_json,
    )
    from tirerules.replaying import Replay, replay
    from tirerules.vocabulary import Activity, Dimension, Outcome, Verdict

__all__ = [
    "Activity",
    "Axle",
    "Case",
    "CaseError",
    "Choice",
    "ConflictError",
    "Decision",
    "Dimension",
    "EarlierRepair",
    "FactLimits",
    "Geometry",
    "Injury",
    "LockError",
    "Measured",
    "MethodVerdict",
    "MissingDataError",
    "Notice",
    "Outcome",
    "PackError",
    "PackLock",
    "PinError",
    "Problem",
    "Quantity",
    "QuantityError",
    "Question",
    "Reason",
    "RepairUnit",
    "Repairs",
    "ReplaceError",
    "Replay",
    "ReplayError",
    "Requirement",
    "Road",
    "Rulebook",
    "Rung",
    "Sale",
    "Shop",
    "Source",
    "Tire",
    "TirerulesError",
    "UnknownJurisdictionError",
    "Vehicle",
    "Verdict",
    "__version__",
    "answered",
    "case_from_json",
    "case_to_json",
    "decision_to_json",
    "load",
    "lock_from_json",
    "lock_to_json",
    "measure",
    "quantity",
    "replay",
    "vocabulary_to_json",
]

#: Module -> what it gives this one, when it is first asked for.
_ELSEWHERE = {
    "tirerules.answering": ("answered",),
    "tirerules.engine.parts": (
        "Choice",
        "FactLimits",
        "Geometry",
        "MethodVerdict",
        "Notice",
        "PackLock",
        "Question",
        "Reason",
        "Requirement",
        "Rung",
    ),
    "tirerules.packs.rule": ("Source",),
    "tirerules.case": (
        "Axle",
        "Case",
        "EarlierRepair",
        "Injury",
        "RepairUnit",
        "Repairs",
        "Road",
        "Sale",
        "Shop",
        "Tire",
        "Vehicle",
    ),
    "tirerules.decision": ("Decision",),
    "tirerules.errors": (
        "CaseError",
        "ConflictError",
        "LockError",
        "MissingDataError",
        "PackError",
        "PinError",
        "Problem",
        "QuantityError",
        "ReplaceError",
        "ReplayError",
        "TirerulesError",
        "UnknownJurisdictionError",
    ),
    "tirerules.quantities": (
        "Measured",
        "Quantity",
        "measure",
        "quantity",
    ),
    "tirerules.record": (
        "case_from_json",
        "case_to_json",
        "decision_to_json",
        "lock_from_json",
        "lock_to_json",
        "vocabulary_to_json",
    ),
    "tirerules.replaying": (
        "Replay",
        "replay",
    ),
    "tirerules.vocabulary": (
        "Activity",
        "Dimension",
        "Outcome",
        "Verdict",
    ),
}


#: A process that only decides needs little of what is public.
if not TYPE_CHECKING:  # a checker would take any name for one of the package
    __getattr__ = deferred(globals(), _ELSEWHERE)


def __dir__() -> list[str]:
    return __all__
