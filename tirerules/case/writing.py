"""A case in its JSON form, from its row; reading it back gives the same case."""

from __future__ import annotations

from tirerules.case.reading import BLOCKS, LISTS
from tirerules.case.row import CaseRow
from tirerules.vocabulary import ZONE_EVIDENCE

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from tirerules.case.reading import Keys
    from tirerules.case.row import Row
    from tirerules.case.views import Case

__all__ = ["case_to_json"]


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    return value if isinstance(value, (bool, int, str)) else value.text


def _block(keys: Keys, row: Row) -> dict[str, Any]:
    return {key: _plain(value) for key, (place, _) in keys.items() if (value := row[place]) is not None}


def case_to_json(case: Case | CaseRow) -> dict[str, Any]:
    """Return the JSON form of a case; what is unknown is left out, what is empty stays."""
    row = case if isinstance(case, CaseRow) else case.row
    said: dict[str, Any] = {"jurisdictions": list(row.codes), "activity": row.activity}
    if row.on is not None:
        said["on"] = row.on
    for name, keys in BLOCKS.items():
        if block := _block(keys, row.tire):
            said[name] = block
    for name, rows in (("injuries", row.injuries), ("earlier_repairs", row.repairs)):
        if rows is not None:
            said[name] = [_block(LISTS[name][0], each) for each in rows]
    if row.findings is not None:
        said["findings"] = sorted(row.findings)
    if row.method is not None:
        said["method"] = row.method
    if (unit := row.unit) is not None:
        said["repair_unit"] = {"method": unit.method, "rated_angle": unit.rated_angle.text}
        if unit.document is not None:
            said["repair_unit"]["document"] = unit.document
    said["reading"] = row.reading
    if row.zones != ZONE_EVIDENCE[0]:  # left out as it always was, so that older records keep their digest
        said["zones"] = row.zones
    return said
