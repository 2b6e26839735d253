"""What is asked: one tire, its injuries and earlier repairs, where, when and for which activity.

`row` is the case as it is decided, `reading` the one reader of the JSON form, `refusing` what is wrong with one,
`checks` what a case may not say together, `views` the typed values. None means unknown, everywhere.
"""

from __future__ import annotations

from tirerules._deferred import deferred

TYPE_CHECKING = False
if TYPE_CHECKING:
    from tirerules.case.reading import case_row
    from tirerules.case.row import CaseRow
    from tirerules.case.views import (
        Axle,
        Case,
        EarlierRepair,
        Injury,
        Repairs,
        RepairUnit,
        Road,
        Sale,
        Shop,
        Tire,
        Vehicle,
    )
    from tirerules.case.writing import case_to_json

__all__ = [
    "Axle",
    "Case",
    "CaseRow",
    "EarlierRepair",
    "Injury",
    "RepairUnit",
    "Repairs",
    "Road",
    "Sale",
    "Shop",
    "Tire",
    "Vehicle",
    "case_row",
    "case_to_json",
]

_VIEWS = (
    *("Axle", "Case", "EarlierRepair", "Injury", "Repairs", "RepairUnit", "Road", "Sale", "Shop", "Tire", "Vehicle"),
)
#: Module -> what it gives this one, when it is first asked for: a case in JSON is decided without its typed form.
if not TYPE_CHECKING:  # a checker would take any name for one of the package
    __getattr__ = deferred(
        globals(),
        {
            "tirerules.case.views": _VIEWS,
            "tirerules.case.row": ("CaseRow",),
            "tirerules.case.reading": ("case_row",),
            "tirerules.case.writing": ("case_to_json",),
        },
    )
