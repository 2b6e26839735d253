"""Bodies that no value of one fact answers alone: bands that follow from the tire, counted tread, rated units.

`answer` says of one rule and one subject whether the body is satisfied, by which figure, and what could settle it; the
evaluator turns it into the two body bits of the instance, and the explanation shows the rest.
"""

from __future__ import annotations

from tirerules.engine.tables import ABSENT, admits_span, span_of
from tirerules.packs.rule import WORN, Counted, Limit
from tirerules.strictest.bounds import Strictest

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from tirerules.case.views import RepairUnit
    from tirerules.engine.program import Instance
    from tirerules.engine.subjects import Subject
    from tirerules.packs.rule import Relative
    from tirerules.quantities import Quantity
    from tirerules.strictest.bounds import Constraint

__all__ = ["Answer", "answer"]


class Answer:
    """How a body fares: whether it is satisfied, what it demands here, and the facts that could settle it.

    `chosen` is the figure that binds, None for words and while the measure it follows from is unknown; `extended` says
    that it rests on the documented rating of a repair unit.
    """

    __slots__ = ("chosen", "constraint", "extended", "lacks", "satisfied")

    def __init__(
        self,
        satisfied: bool | None,
        constraint: Constraint | None,
        lacks: tuple[str, ...],
        chosen: Quantity | int | None = None,
        extended: bool = False,
    ) -> None:
        self.satisfied, self.constraint, self.lacks = satisfied, constraint, lacks
        self.chosen, self.extended = chosen, extended


def answer(instance: Instance, subject: Subject, unit: RepairUnit | None) -> Answer:
    """Answer for a limit whose figure or measure must be worked out for the subject."""
    body = instance.rule.body
    assert isinstance(body, Limit)  # INVARIANT: only limits are computed
    relative = instance.relative
    if relative is not None:
        return _relative(instance, body, relative, subject)
    if instance.counted:
        return _counted(instance, body, subject)
    return _rated(instance, body, subject, unit)


def admits(constraint: Constraint, value: Any) -> bool | None:
    """Whether a number satisfies a bound wherever it lies; None where that, or the number, is unknown."""
    return None if value is None or value is ABSENT else admits_span(Strictest.of(constraint), span_of(value))


def _relative(instance: Instance, body: Limit, length: Relative, subject: Subject) -> Answer:
    """Judge a limit that follows from the tire: by the stricter end of what the tire's measure can give."""
    datum, value, fact = subject.get(length.of), subject.get(instance.fact), instance.fact
    if datum is None:
        return Answer(None, None, (length.of, *(() if value is not None else (fact,))))
    from tirerules.engine.geometry import interval
    from tirerules.quantities import Quantity, decimal_text

    known = interval(datum)
    assert known is not None  # INVARIANT: a band follows from a length
    ends = length.range(known)
    strict, lax = (ends.low, ends.high) if body.ceiling else (ends.high, ends.low)
    satisfied = admits(body.bound(strict), value)
    if satisfied is False and admits(body.bound(lax), value) is not False:
        satisfied = None
    chosen = Quantity.of(strict, "mm", f"{decimal_text(strict)} mm")
    return Answer(satisfied, body.bound(strict), (length.of, fact) if ends.low != ends.high else (fact,), chosen)


def _counted(instance: Instance, body: Limit, subject: Subject) -> Answer:
    """Judge tread depth as a law counts it.

    The smallest reading alone can show that a tire passes, never that it fails such a law. The height of the wear
    indicators is reached as most laws count contact; of a grid too small for that, the smallest reading counts.
    """
    constraint = instance.constraint
    assert constraint is not None  # INVARIANT: a counted limit has a figure
    depth, grid, stated = subject.get("tire.tread_depth"), subject.tire["tire.tread_grid"], subject.tire.stated_depth
    chosen = instance.chosen
    if grid is not None:
        from tirerules.engine.geometry import measured
        from tirerules.engine.tread import counted_depth
    if body.indicators and grid is not None:
        worn = counted_depth(grid, WORN)
        return Answer(
            admits(constraint, depth if worn is None else measured(worn)), constraint, ("tire.tread_grid",), chosen
        )
    if body.counted == Counted():
        return Answer(admits(constraint, depth), constraint, (instance.fact,), chosen)
    if (grid is None or stated) and admits(constraint, depth) is True:
        return Answer(True, constraint, ("tire.tread_depth",), chosen)
    if grid is None:
        return Answer(None, constraint, ("tire.tread_depth" if depth is None else "tire.tread_grid",), chosen)
    found = counted_depth(grid, body.counted)
    satisfied = None if found is None else admits(constraint, measured(found))
    return Answer(satisfied, constraint, ("tire.tread_grid",), chosen)


def _rated(instance: Instance, body: Limit, subject: Subject, unit: RepairUnit | None) -> Answer:
    """Judge an extendable limit by the figure that binds, which the rating of the unit at hand may change.

    A rating below the limit tightens it, documented or not; one above it counts only with its document, and only up to
    the rule's cap.
    """
    chosen, extended = instance.chosen, False
    up_to = instance.rule.up_to
    assert chosen is not None  # INVARIANT: a limit that is not relative has a figure
    if up_to is not None and unit is not None and unit.method == instance.method:
        assert not isinstance(chosen, int)  # INVARIANT: only angles are extendable
        if unit.rated_angle <= chosen:
            chosen = unit.rated_angle
        else:
            highest = min(unit.rated_angle, up_to)
            if unit.documented and highest > chosen:
                chosen, extended = highest, True
    constraint = body.bound(chosen if isinstance(chosen, int) else chosen.exact)
    return Answer(admits(constraint, subject.get(instance.fact)), constraint, (instance.fact,), chosen, extended)
