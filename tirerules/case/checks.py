"""What a case may not say together: counts that differ, a sidewall that says another thing, cracks that nobody found.

One statement for rows however they were made; a row that passes `consistent` needs no further look.
"""

from __future__ import annotations

from operator import itemgetter

from tirerules.case.row import TIRE, CaseRow
from tirerules.errors import Problem, QuantityError
from tirerules.vocabulary import FACTS, Activity

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["consistent", "contradictions"]

_SIZE, _DATE_CODE, _DEPTH, _TO_PLIES, _COUNT = (
    TIRE[fact]
    for fact in ("tire.size", "tire.date_code", "tire.crack_depth", "tire.cracks_reach_plies", "repairs.count")
)
#: What some contradiction is about; of most tires nothing of it is stated.
_suspects = itemgetter(_SIZE, _DATE_CODE, _DEPTH, _TO_PLIES, _COUNT)
_NOTHING = (None,) * 5
_ABOVE_240 = FACTS["tire.speed_symbol"].values.index("ZR")


def consistent(row: CaseRow) -> bool:
    """Whether nothing in a row contradicts itself."""
    if not row.codes or (row.injuries == () and row.activity == Activity.REPAIR):
        return False
    return _suspects(row.tire) == _NOTHING or next(contradictions(row), None) is None


def contradictions(row: CaseRow) -> Iterator[Problem]:
    """Yield what a row says that cannot be, each with its path and its cure."""
    if not row.codes:
        yield Problem(
            "case-place", "no jurisdiction is named", "name at least one, such as US-SC", path="jurisdictions"
        )
    if row.activity == Activity.REPAIR and row.injuries == ():
        yield Problem(
            "case-injuries", "a repair without an injury", "name the injuries to be repaired", path="injuries"
        )
    yield from _sidewall(row)
    yield from _cracks(row)
    yield from _counts(row)
    code = row.tire[_DATE_CODE]
    if code is not None and row.on is not None:
        from datetime import date

        from tirerules.scales import age_on

        try:
            age_on(code, date.fromisoformat(row.on))
        except QuantityError as error:
            yield Problem("case-value", f"{error.text!r} {error.reason}", error.hint, path="tire.date_code")


def _sidewall(row: CaseRow) -> Iterator[Problem]:
    """Yield where the case and the designation on the sidewall say different things."""
    if row.tire[_SIZE] is None:
        return
    from tirerules.scales import size

    read = size(row.tire[_SIZE])
    for key in ("load_range", "speed_symbol", "construction"):
        stated, printed = row.tire[TIRE[f"tire.{key}"]], getattr(read, key)
        # ZR in a designation says "above 240 km/h"; the service description, or the case, may say how far above.
        if printed == "ZR" and stated in FACTS["tire.speed_symbol"].values[_ABOVE_240:]:
            continue
        if None not in (stated, printed) and stated != printed:
            message = f"the size says {printed}, the case says {stated}"
            yield Problem("case-size", message, "look at the sidewall again", path=f"tire.{key}")


def _cracks(row: CaseRow) -> Iterator[Problem]:
    if row.findings is None or "weather-cracking" in row.findings:
        return
    cure = "add weather-cracking to findings"
    if row.tire[_TO_PLIES]:
        message = "cracks reach the plies, but no cracking is among the findings"
        yield Problem("case-crack", message, cure, path="tire.cracks_reach_plies")
    depth = row.tire[_DEPTH]
    if depth is not None and depth.ends[2]:
        message = "a crack depth is given, but no cracking is among the findings"
        yield Problem("case-crack", message, cure, path="tire.crack_depth")


def _counts(row: CaseRow) -> Iterator[Problem]:
    least = len(row.repairs or ())
    if row.activity == Activity.REPAIR:
        least += 1 if row.injuries is None else len(row.injuries)
    said = row.tire[_COUNT]
    if said is not None and said < least:
        message = f"the case speaks of {least} repairs but says {said}"
        yield Problem("case-count", message, "mend repairs.count or leave it out", path="repairs.count")
