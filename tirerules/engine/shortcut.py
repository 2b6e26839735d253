"""The verdict of most cases, and what their limits follow from, without the rest of an evaluation.

Most cases state at most one injury, placed by the name of its zone, and no earlier repair whose place was measured;
nothing about them must be worked out. Of these a few masks say all, judged by `kernel.judge`: `judged_plainly`. Where
the engine's own rules would have to be asked as well, or the case is of another kind, there is no shortcut, and the
evaluator answers. INVARIANT: where there is an answer, it is the evaluator's; a test holds the two together.
"""

from __future__ import annotations

from operator import itemgetter

from tirerules.case.row import INJURY, REPAIR, TIRE
from tirerules.engine.kernel import OUTSIDE, UNDETERMINED, WITHIN, judge
from tirerules.engine.own_rules import unjudged
from tirerules.engine.subjects import tire_values
from tirerules.engine.tables import ABSENT
from tirerules.vocabulary import ZONE_EVIDENCE

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from tirerules.case.row import CaseRow
    from tirerules.engine.program import Program

__all__ = ["Shortcut", "judged_plainly", "shortcut_of"]

_AS_NAMED = ZONE_EVIDENCE[0]
_CLASS, _GRID = TIRE["tire.class"], TIRE["tire.tread_grid"]
_ZONE, _REACH = INJURY["injury.zone"], INJURY["injury.reach"]
_REPAIR_ZONE, _REPAIR_REACH, _REPAIR_OFFSET = (REPAIR[f"repair.{key}"] for key in ("zone", "reach", "from_centerline"))
_measures = itemgetter(INJURY["injury.from_centerline"], INJURY["injury.surface_diameter"])
_UNMEASURED = (None, None)


class Shortcut:
    """What one mask says of a case: the verdict, as a number of `kernel`, and the leading method, None for none.

    `relevant` and `sure` are the masks of the instances that may and that surely apply; `tire` the facts of the tire.
    """

    __slots__ = ("leading", "relevant", "sure", "tire", "verdict")

    def __init__(self, verdict: int, leading: str | None, relevant: int, sure: int, tire: Sequence[Any]) -> None:
        self.verdict, self.leading = verdict, leading
        self.relevant, self.sure, self.tire = relevant, sure, tire


def judged_plainly(program: Program, row: CaseRow) -> tuple[list[Any], bool, int, int, int, int] | None:
    """Return what a few masks say of a plain case; None of another kind.

    It is the facts of the tire, whether an injury is judged, and the masks of `kernel.judge` over the tire with its
    injury and each of its earlier repairs.
    """
    injuries, repairs = row.injuries, row.repairs
    if row.unit is not None or row.zones != _AS_NAMED or row.tire[_GRID] is not None:
        return None
    if repairs:
        if program.each_pair and len(repairs) + len(injuries or ()) > 1:
            return None
        for repair in repairs:
            if repair[_REPAIR_OFFSET] is not None:
                return None
    tire = tire_values(row)
    mask = program.tire_mask(tire)
    rules, hurt = program.full, True
    if injuries:
        if len(injuries) > 1 or _measures(injuries[0]) != _UNMEASURED:
            return None
        injury = list(injuries[0])
        if injury[_ZONE] is not None:
            injury[_REACH] = ABSENT
        mask |= program.injury_mask(injury)
    elif injuries is None and (program.repairing or row.findings is None):
        mask |= program.uninjured
    else:
        rules, hurt = program.lanes[""], False
    width, each_repair = program.width, program.each_repair
    if not repairs or not each_repair:
        if repairs is None:
            mask |= program.unlisted
        else:
            rules &= ~each_repair
        return (tire, hurt, *judge(mask, mask >> width, mask >> 2 * width, mask >> 3 * width, rules))
    relevant = sure = failing = unsure = 0
    for repair in repairs:
        values = list(repair)
        if values[_REPAIR_ZONE] is not None:
            values[_REPAIR_REACH] = ABSENT
        known = mask | program.repair_mask(values)
        found = judge(known, known >> width, known >> 2 * width, known >> 3 * width, rules)
        relevant, sure = relevant | found[0], sure | found[1]
        failing, unsure = failing | found[2], unsure | found[3]
        rules &= each_repair  # what reads no repair was judged with the first
    return tire, hurt, relevant, sure, failing, unsure


def shortcut_of(program: Program, row: CaseRow) -> Shortcut | None:
    """Return what a few masks say of a case; None where they do not say the verdict."""
    judged = judged_plainly(program, row)
    if judged is None:
        return None
    tire, hurt, relevant, sure, failing, unsure = judged
    common = program.common
    verdict = OUTSIDE if failing & common else UNDETERMINED if unsure & common else WITHIN
    if verdict == WITHIN:
        if row.repairs and program.judges_repairs:
            return None  # whether the size of each is limited whatever the unknown words turn out to be
        if program.unreviewed or unjudged(program, row.findings, tire[_CLASS], relevant):
            verdict = UNDETERMINED
    if not program.repairing:
        if verdict == WITHIN:
            if hurt:
                verdict = UNDETERMINED  # with an injury that is not repaired nothing passes
            else:
                for guards in program.tread_guards.values():
                    if not sure & guards:
                        return None
        return Shortcut(verdict, None, relevant, sure, tire)
    leading, most = program.methods[0], OUTSIDE
    for method in program.methods if verdict else ():
        lane = program.lanes[method]
        if failing & lane:
            continue
        by = UNDETERMINED if unsure & lane else verdict
        if by == WITHIN and not sure & program.size_guards[method]:
            return None  # whether its size is limited whatever the unknown words turn out to be
        if by > most:
            leading, most = method, by
            if by == WITHIN:
                break
    return Shortcut(most, leading, relevant, sure, tire)
