"""The verdict of most cases, and what their limits follow from, without the rest of an evaluation.

Most cases state at most one injury, placed by the name of its zone, and no earlier repair; nothing about them must be
worked out. Of these one mask says all, judged by `kernel.judge`. Where the engine's own rules would have to be asked,
or the case is of another kind, there is no shortcut, and the evaluator answers. INVARIANT: where there is an answer, it
is the evaluator's; a test holds the two together on drawn cases.
"""

from __future__ import annotations

from operator import itemgetter

from tirerules.case.row import INJURY, TIRE
from tirerules.engine.kernel import OUTSIDE, UNDETERMINED, WITHIN, judge
from tirerules.engine.subjects import tire_values
from tirerules.engine.tables import ABSENT
from tirerules.vocabulary import NO_HIGHWAY, ZONE_EVIDENCE

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from tirerules.case.row import CaseRow
    from tirerules.engine.program import Program

__all__ = ["Shortcut", "shortcut_of"]

_AS_NAMED = ZONE_EVIDENCE[0]
_CLASS, _GRID = TIRE["tire.class"], TIRE["tire.tread_grid"]
_ZONE, _REACH = INJURY["injury.zone"], INJURY["injury.reach"]
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


def shortcut_of(program: Program, row: CaseRow) -> Shortcut | None:
    """Return what one mask says of a case; None where it does not say the verdict."""
    injuries = row.injuries
    if row.repairs or row.unit is not None or row.zones != _AS_NAMED or row.tire[_GRID] is not None:
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
    if row.repairs is None:
        mask |= program.unlisted
    else:
        rules &= ~program.each_repair
    width, common = program.width, program.common
    relevant, sure, failing, unsure = judge(mask, mask >> width, mask >> 2 * width, mask >> 3 * width, rules)
    verdict = OUTSIDE if failing & common else UNDETERMINED if unsure & common else WITHIN
    if verdict == WITHIN and (program.unreviewed or row.findings or tire[_CLASS] in NO_HIGHWAY):
        return None  # the engine's own rules have a say
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
