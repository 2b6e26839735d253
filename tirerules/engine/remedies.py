"""Remedies: the smallest sets of what a shop can change that bring an outside case within the limits.

A shop can change the method, the repair unit at hand (with the document of its rating), what is done with the tire, and
the day, where a rule has a recorded end. What is measured, the class of the tire and the place are never changed: a
fact is changed on the tire, not in the form. Sets are tried from the smallest and cheapest (`COSTS`) on, and one that
holds a smaller one is left out. INVARIANT: a set is told only where the changed case was judged to be within.
"""

from __future__ import annotations

from tirerules.case.checks import consistent
from tirerules.case.row import INJURY, TIRE, CaseRow
from tirerules.engine.evaluator import Evaluation
from tirerules.engine.kernel import OUTSIDE, WITHIN, bits_of
from tirerules.engine.parts import Change, Remedies, Remedy
from tirerules.engine.shortcut import shortcut_of
from tirerules.quantities import Measured, Quantity
from tirerules.vocabulary import ACTIVITIES, REPAIR_METHODS, Activity

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator
    from typing import Final

    from tirerules.case.views import RepairUnit
    from tirerules.engine.programs import Programs

__all__ = ["COSTS", "MOST", "remedies_of"]

#: What each kind of change costs a shop, for the order of remedies (common practice, no source): another method is in
#: the shop, a unit and its document are to be had, doing something else with the tire is another sale, a day is a wait.
COSTS: Final = {"method": 1, "repair_unit": 2, "activity": 4, "on": 8}
#: No remedy changes more facts than this.
MOST: Final = 3
_METHOD, _ANGLE = TIRE["method"], INJURY["injury.angle"]


def remedies_of(programs: Programs, row: CaseRow) -> Remedies:
    """Return the remedies of a case, which names its day; not asked where the case is not outside the limits."""
    if _verdict(programs, row) != OUTSIDE:
        return Remedies(False, ())
    found: list[Remedy] = []
    for remedy in sorted(_tried(programs, row), key=_order):
        if not any({*less.changes} <= {*remedy.changes} for less in found):
            found.append(remedy)
    return Remedies(True, tuple(found))


def _order(remedy: Remedy) -> tuple[int, int, tuple[tuple[str, str], ...]]:
    facts = [each.fact for each in remedy.changes]
    return len(facts), sum(COSTS[fact] for fact in facts), tuple((each.fact, each.to) for each in remedy.changes)


def _tried(programs: Programs, row: CaseRow) -> Iterator[Remedy]:
    """Yield every set of changes that works, each with the earliest day that does."""
    for activity in ACTIVITIES:
        same = activity == row.activity
        changes = () if same else (Change("activity", str(activity)),)
        for method in (row.method, *_other_methods(row)) if activity == Activity.REPAIR else (row.method,):
            more = changes if method == row.method else (*changes, Change("method", str(method)))
            for unit, change in _units(programs, row, activity, method):
                some = more if change is None else (*more, change)
                if len(some) > MOST:
                    continue
                day = _first_day(programs, _changed(row, activity, method, unit), wait=len(some) < MOST)
                if day is not None:
                    some = some if day == row.on else (*some, Change("on", day))
                    if some:
                        yield Remedy(some)


def _other_methods(row: CaseRow) -> tuple[str | None, ...]:
    """Return what else could be named: where none is, each method is judged already."""
    return () if row.method is None else tuple(each for each in REPAIR_METHODS if each != row.method)


def _units(
    programs: Programs, row: CaseRow, activity: str, method: str | None
) -> Iterator[tuple[RepairUnit | None, Change | None]]:
    """Yield the unit at hand, none, and a unit for each method whose documented rating is the angle of the injuries."""
    yield row.unit, None
    program = programs.program(row.codes, activity, row.reading, method, row.on or "")
    if not program.rated:
        return  # no rule asks for a unit's rating
    from tirerules.case.views import RepairUnit

    if row.unit is not None:
        yield None, Change("repair_unit", "none")
    angle = _widest(row)
    if angle is None:
        return
    for name in program.methods:
        unit = RepairUnit(name, angle, "to be had")
        at_hand = row.unit
        if at_hand is None or (at_hand.method, at_hand.rated_angle, at_hand.documented) != (name, angle, True):
            yield unit, Change("repair_unit", f"{name} {angle}", document=True)


def _widest(row: CaseRow) -> Quantity | None:
    """Return the greatest angle that an injury may have; None where one is not known."""
    angles = [injury[_ANGLE] for injury in row.injuries or ()]
    if not angles or not all(isinstance(each, Measured) for each in angles):
        return None
    widest: Quantity = max(each.high for each in angles)
    return widest


def _changed(row: CaseRow, activity: str, method: str | None, unit: RepairUnit | None) -> CaseRow:
    tire = list(row.tire)
    tire[_METHOD] = method
    parts = (tuple(tire), row.injuries, row.repairs, unit, row.reading, row.zones)
    return CaseRow(row.codes, str(activity), row.on, *parts)


def _first_day(programs: Programs, row: CaseRow, *, wait: bool) -> str | None:
    """Return the first day, from that of the case on, on which the case is within; None where there is none.

    `wait`: whether a later day may be named.
    """
    if not consistent(row):
        return None  # an inspection may state no injury; a repair must
    if _verdict(programs, row) == WITHIN:
        return row.on
    if not wait:
        return None
    return next((day for day in _ends(programs, row) if _verdict(programs, row.dated(day)) == WITHIN), None)


def _ends(programs: Programs, row: CaseRow) -> list[str]:
    """Return the later days on which a rule ends, soonest first, from that on which what surely fails has ended.

    None where something that fails, whatever the method, never ends.
    """
    ends = {str(rule.end) for rule in programs.place(row.codes, row.activity).rules if rule.end is not None}
    later = sorted(end for end in ends if end > (row.on or ""))
    if not later:
        return []
    program = programs.of(row)
    failing = 0
    for each in Evaluation(program, row).judged:
        failing |= each.failing & program.common
    failed = [program.instances[place].rule for place in bits_of(failing)]
    if any(rule.end is None for rule in failed):
        return []
    first = max((str(rule.end) for rule in failed), default="")
    return [end for end in later if end >= first]


def _verdict(programs: Programs, row: CaseRow) -> int:
    program = programs.of(row)
    return (shortcut_of(program, row) or Evaluation(program, row)).verdict
