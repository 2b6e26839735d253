"""What a repair may spoil: how the tire of a repair case fares under other activities once it is repaired."""

from __future__ import annotations

from tirerules.case.row import INJURY, REPAIR, TIRE, CaseRow
from tirerules.engine.evaluator import Evaluation
from tirerules.engine.kernel import OUTSIDE, bits_of
from tirerules.engine.shortcut import judged_plainly
from tirerules.vocabulary import CURED_BY_REPAIR, RESALE, Activity

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator
    from typing import Any

    from tirerules.case.row import Row
    from tirerules.engine.program import Program
    from tirerules.engine.programs import Programs

__all__ = ["failing_after"]

#: What is known of a repair and was known of the injury: the places of both in their rows.
_SAME = tuple(
    (REPAIR[fact], INJURY[f"injury.{fact.partition('.')[2]}"])
    for fact in REPAIR
    if f"injury.{fact.partition('.')[2]}" in INJURY and fact != "repair.reach"
)
_DIAMETER, _SURFACE, _ANGLE = (INJURY[f"injury.{key}"] for key in ("diameter", "surface_diameter", "angle"))
_METHOD, _FINDINGS, _OF_REPAIR = TIRE["method"], TIRE["findings"], REPAIR["repair.method"]


class _Judgment(Evaluation):
    """An evaluation that only judges the rules: of what fails no verdict is asked, nor what no rule speaks to."""

    __slots__ = ()

    def _conclude(self) -> None:
        """Conclude nothing."""


def failing_after(evaluation: Evaluation, programs: Programs) -> Iterator[tuple[str, Activity, tuple[str, ...]]]:
    """Yield the rules that the tire fails once it is repaired, by method that may repair it and by act of `RESALE`."""
    if not evaluation.methods or evaluation.verdict == OUTSIDE:
        return
    row = evaluation.row
    found: dict[Any, tuple[str, ...]] = {}
    possible = dict.fromkeys(each.name for each in evaluation.methods if each.verdict != OUTSIDE)
    for method in possible:
        for activity in map(Activity, RESALE):
            program = programs.program(row.codes, activity, row.reading, None, row.on or "")
            # Methods that no rule tells apart come to the same.
            table = program.tables.get("repair.method")
            key = activity, None if table is None else table[method]
            if key not in found:
                failing = _failing(program, _repaired(row, method, activity))
                found[key] = tuple(sorted({program.instances[place].rule.name for place in bits_of(failing)}))
            if found[key]:
                yield method, activity, found[key]


def _failing(program: Program, row: CaseRow) -> int:
    """Return the instances that a tire surely fails."""
    plain = judged_plainly(program, row)
    return _Judgment(program, row).judged[0].failing if plain is None else plain[4]


def _repaired(row: CaseRow, method: str, activity: str) -> CaseRow:
    """Return the case of the same tire once repaired by `method`, under another activity."""
    tire = list(row.tire)
    tire[_METHOD] = None
    if row.findings is not None:
        tire[_FINDINGS] = row.findings - CURED_BY_REPAIR
    repairs = None
    if row.repairs is not None:
        repairs = (*row.repairs, *(_as_repair(each, method) for each in row.injuries or (INJURY.nothing,)))
    return CaseRow(row.codes, activity, row.on, tuple(tire), (), repairs, None, row.reading, row.zones)


def _as_repair(injury: Row, method: str) -> Row:
    """Return the repair that an injury becomes, with all that is known of its size and place."""
    repair: list[Any] = list(REPAIR.nothing)
    for place, was in _SAME:
        repair[place] = injury[was]
    if injury[_SURFACE] is not None:
        from tirerules.engine.geometry import measured
        from tirerules.engine.places import across_channel

        size = across_channel(injury[_SURFACE], injury[_ANGLE], injury[_DIAMETER])
        repair[REPAIR["repair.diameter"]] = measured(size)
    repair[_OF_REPAIR] = method
    return tuple(repair)
