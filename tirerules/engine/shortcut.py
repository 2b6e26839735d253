"""The verdict of most cases, without the rest of an evaluation.

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
    from tirerules.case.row import CaseRow
    from tirerules.engine.program import Program

__all__ = ["verdict_of"]

_AS_NAMED = ZONE_EVIDENCE[0]
_CLASS, _GRID = TIRE["tire.class"], TIRE["tire.tread_grid"]
_ZONE, _REACH = INJURY["injury.zone"], INJURY["injury.reach"]
_measures = itemgetter(INJURY["injury.from_centerline"], INJURY["injury.surface_diameter"])
_UNMEASURED = (None, None)


def verdict_of(program: Program, row: CaseRow) -> int | None:
    """Return the verdict, as a number of `kernel`, of a case that one mask answers; None for any other."""
    injuries = row.injuries
    if row.repairs or row.unit is not None or row.zones != _AS_NAMED or row.tire[_GRID] is not None:
        return None
    tire = tire_values(row)
    mask = program.tire_mask(tire)
    hurt = True
    if injuries:
        if len(injuries) > 1 or _measures(injuries[0]) != _UNMEASURED:
            return None
        injury = list(injuries[0])
        if injury[_ZONE] is not None:
            injury[_REACH] = ABSENT
        mask |= program.injury_mask(injury)
        rules = program.full
    elif injuries is None and (program.repairing or row.findings is None):
        mask |= program.uninjured
        rules = program.full
    else:
        rules, hurt = program.lanes[""], False
    if row.repairs is None:
        mask |= program.unlisted
    else:
        rules &= ~program.each_repair
    width = program.width
    _, sure, failing, unsure = judge(mask, mask >> width, mask >> 2 * width, mask >> 3 * width, rules)
    common = program.common
    if failing & common:
        return OUTSIDE
    verdict = UNDETERMINED if unsure & common else WITHIN
    if program.repairing:
        best = OUTSIDE
        for method in program.methods:
            lane = program.lanes[method]
            if failing & lane:
                continue
            if not unsure & lane and verdict == WITHIN and sure & program.size_guards[method]:
                best = WITHIN
                break
            if not unsure & lane and verdict == WITHIN:
                return None  # whether its size is limited whatever the unknown words turn out to be
            best = UNDETERMINED
        if best < verdict:
            verdict = best
    elif verdict == WITHIN:
        if hurt:
            return UNDETERMINED  # with an injury that is not repaired nothing passes
        for guards in program.tread_guards.values():
            if not sure & guards:
                return None
    if verdict == WITHIN and (program.unreviewed or row.findings or tire[_CLASS] in NO_HIGHWAY):
        return None
    return verdict
