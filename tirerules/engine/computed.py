"""Bodies that no value of one fact answers alone: bands that follow from the tire, counted tread, rated units.

`answer` says of one rule and one subject whether the body is satisfied, by which figure, and what could settle it; the
evaluator turns it into the two body bits of the instance, and the explanation shows the rest.
"""

from __future__ import annotations

from math import gcd

from tirerules.engine.tables import ABSENT, admits_span, span_of
from tirerules.packs.rule import WORN, Counted, Limit
from tirerules.quantities import Quantity, decimal_text
from tirerules.strictest.bounds import Ceiling, Strictest

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from tirerules.case.views import RepairUnit
    from tirerules.engine.program import Instance
    from tirerules.engine.subjects import Known, Subject
    from tirerules.packs.rule import Relative
    from tirerules.quantities import Measured
    from tirerules.strictest.bounds import Constraint

__all__ = ["Answer", "Figure", "answer", "figure_of"]

_NO_WORDS: frozenset[str] = frozenset()


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
    if value is None or value is ABSENT:
        return None
    under = isinstance(constraint, Ceiling)
    test = Strictest(constraint if under else None, None if under else constraint, None, _NO_WORDS)  # type: ignore[arg-type]  # of a number
    return admits_span(test, span_of(value))


class Figure:
    """What a limit that follows from a measure comes to, at the strict and at the lax end of what that can be.

    `exact` says that both are one; `chosen` is the strict one, as it is shown.
    """

    __slots__ = ("chosen", "exact", "lax", "strict")

    def __init__(self, body: Limit, length: Relative, datum: Measured) -> None:
        """Work out a length from what is known of the tire's measure, an exact span of mm."""
        low, below_low, high, below_high = datum.ends
        self.exact = (low, below_low) == (high, below_high)
        if self.exact:
            number, unit = length.at(low, below_low)
            strict = lax = (number // (shared := gcd(number, unit)), unit // shared) if number > 0 else (0, 1)
        else:
            from tirerules.engine.geometry import interval

            ends = length.range(interval(datum))  # type: ignore[arg-type]  # it is a measure
            strict, lax = ends.low.as_integer_ratio(), ends.high.as_integer_ratio()
            self.exact = strict == lax
            if not body.ceiling:
                strict, lax = lax, strict
        self.strict, self.lax = body.bound_at(*strict), body.bound_at(*lax)
        self.chosen = Quantity(*strict, "mm", f"{decimal_text(strict)} mm")


def figure_of(body: Limit, length: Relative, tire: Known, datum: Measured) -> Figure:
    """Return what a limit comes to for a known measure of the tire: the same for every subject, so worked out once."""
    figure = tire.figures.get(id(body))
    if figure is None:
        figure = tire.figures[id(body)] = Figure(body, length, datum)
    return figure


def _relative(instance: Instance, body: Limit, length: Relative, subject: Subject) -> Answer:
    """Judge a limit that follows from the tire: by the stricter end of what the tire's measure can give."""
    datum, value, fact = subject.get(length.of), subject.get(instance.fact), instance.fact
    if datum is None:
        return Answer(None, None, (length.of, *(() if value is not None else (fact,))))
    figure = figure_of(body, length, subject.tire, datum)
    satisfied = admits(figure.strict, value)
    if satisfied is False and not figure.exact and admits(figure.lax, value) is not False:
        satisfied = None
    return Answer(satisfied, figure.strict, (fact,) if figure.exact else (length.of, fact), figure.chosen)


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
