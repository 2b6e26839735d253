"""One rule against one subject: does it apply, is it satisfied, what could settle it.

Three-valued throughout: a rule whose conditions are not known to hold *may* apply. A subject passes a rule for certain
when the rule does not apply or its body is satisfied wherever the measurements lie; it fails for certain when the rule
applies and its body is violated wherever they lie. Anything else is unknown, with the facts that could settle it.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from tirerules.case import Case
from tirerules.deciding.tread import counted_depth
from tirerules.deciding.view import ABSENT, View
from tirerules.packs.rule import WORN, Condition, Counted, Disqualify, Limit, Permit, Prohibit, Relative, Require, Rule
from tirerules.quantities import Quantity, decimal_text
from tirerules.strictest.bounds import Ceiling, Constraint, Floor, Interval, Prohibited, Strictest, all_of
from tirerules.vocabulary import CURED_BY_REPAIR, FACTS, Activity, Kind

__all__ = ["Judgment", "Need", "applies_to_itself", "holds", "judge", "needs", "satisfies"]

#: A fact that could settle something, and which injury or earlier repair it is asked of.
Need = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Judgment:
    """What one rule says of one subject. Only rules that apply or may apply leave one."""

    rule: Rule
    view: View
    applies: bool | None
    outcome: bool | None  #: True passes, False fails, None unknown
    #: What the body demands here; None for a requirement, and while the measure it follows from is unknown.
    constraint: Constraint | None
    needs: frozenset[Need] = frozenset()
    asks_first: Need | None = None  #: of the needs, the one that the body limits
    chosen: Quantity | int | None = None  #: the figure that binds, for a limit
    extended: bool = False  #: whether the figure rests on the documented rating of a repair unit

    @property
    def subject(self) -> str:
        """Which injury or repair it speaks of; empty for the tire as a whole."""
        facts = [condition.fact for condition in self.rule.conditions]
        return self.view.subject_of([*facts, "" if isinstance(self.rule.body, Require) else self.rule.body.fact])


def applies_to_itself(rule: Rule, case: Case) -> bool:
    """Whether the rule regulates the activity itself, not only one that it implies."""
    return case.activity in rule.activities


def judge(rule: Rule, view: View, case: Case) -> Judgment | None:
    """Judge one subject by one rule; None where the rule surely does not apply to it."""
    implied = case.activity == Activity.REPAIR and not applies_to_itself(rule, case)
    if implied:
        view = view.after_repair()
    held = [(condition, _holds(condition, view, implied)) for condition in rule.conditions]
    applies = all_of(answer for _, answer in held)
    if rule.contradicts and applies:
        applies = None  # it tells of a contradiction, which never decides by itself
    body = rule.body
    if applies is False or (not isinstance(body, Require) and view.get(body.fact) is ABSENT):
        return None
    if isinstance(body, Require):
        return Judgment(rule, view, applies, True, None)
    if isinstance(body, Limit):
        test = _limit(rule, body, view, case)
    else:
        test = _Test(_words(body, view.get(body.fact), implied), body.constraint(), (body.fact,))
    if test.satisfied is True or (test.satisfied is False and applies is True):
        return Judgment(
            rule, view, applies, test.satisfied, test.constraint, chosen=test.chosen, extended=test.extended
        )
    body_needs = [need for fact in test.lacks for need in needs(fact, view)] if test.satisfied is None else []
    conditions = [need for condition, answer in held if answer is None for need in needs(condition.fact, view)]
    return Judgment(
        rule,
        view,
        applies,
        None,
        test.constraint,
        frozenset([*conditions, *body_needs]),
        body_needs[0] if body_needs else None,
        test.chosen,
        test.extended,
    )


def satisfies(rule: Rule, view: View, case: Case) -> bool | None:
    """Whether a subject satisfies the limit that a rule sets, apart from whether the rule applies."""
    assert isinstance(rule.body, Limit)  # INVARIANT: asked of bands
    return _limit(rule, rule.body, view, case).satisfied


def _holds(condition: Condition, view: View, implied: bool) -> bool | None:
    """Whether a condition holds; findings that the repair removes are absent from what the repair leads to."""
    words = condition.test.prohibited
    if implied and words and words <= CURED_BY_REPAIR and FACTS[condition.fact].kind is Kind.SET:
        return not condition.negated
    return holds(condition, view)


def holds(condition: Condition, view: View) -> bool | None:
    """Whether a condition holds in a view; what does not exist satisfies none."""
    value = view.get(condition.fact)
    return False if value is ABSENT else condition.holds(value)  # type: ignore[arg-type]  # ABSENT is the only other


@dataclass(frozen=True, slots=True)
class _Test:
    """How a body fares: whether it is satisfied, what it demands here, and what could settle it."""

    satisfied: bool | None
    constraint: Constraint | None
    lacks: tuple[str, ...]
    chosen: Quantity | int | None = None
    extended: bool = False


def _words(body: Permit | Prohibit | Disqualify, value: object, implied: bool) -> bool | None:
    constraint = body.constraint()
    if implied and isinstance(constraint, Prohibited):
        # The repair itself removes these: they bar driving as the tire is, not repairing it.
        constraint = Prohibited(constraint.words - CURED_BY_REPAIR)
    if isinstance(constraint, Prohibited) and not constraint.words:
        return True
    return Strictest.of(constraint).admits(value) if isinstance(value, frozenset) else None


def _limit(rule: Rule, body: Limit, view: View, case: Case) -> _Test:
    if isinstance(body.value, Relative):
        return _relative(body, body.value, view)
    chosen, extended = _figure(rule, body, view, case)
    bound = body.bound(chosen.exact if isinstance(chosen, Quantity) else Fraction(chosen))
    if body.indicators and view.grid is not None:
        worn = counted_depth(view.grid, WORN) or view.interval(body.fact)
        satisfied, lacks = _admits(bound, worn), "tire.tread_grid"
    elif body.counted != Counted():
        satisfied, lacks = _as_counted(bound, view, body.counted)
    else:
        satisfied, lacks = _admits(bound, view.interval(body.fact)), body.fact
    return _Test(satisfied, bound, (lacks,), chosen, extended)


def _admits(bound: Ceiling | Floor, value: Interval | None) -> bool | None:
    return None if value is None else bound.admits(value)


def _relative(body: Limit, length: Relative, view: View) -> _Test:
    """Judge a limit that follows from the tire: by the stricter end of what the tire's measure can give."""
    datum, value = view.interval(length.of), view.interval(body.fact)
    if datum is None:
        return _Test(None, None, (length.of, *(() if value else (body.fact,))))
    ends = length.range(datum)
    strict, lax = (ends.low, ends.high) if body.ceiling else (ends.high, ends.low)
    satisfied = _admits(body.bound(strict), value)
    if satisfied is False and _admits(body.bound(lax), value) is not False:
        satisfied = None
    chosen = Quantity.of(strict, "mm", f"{decimal_text(strict)} mm")
    lacks = (length.of, body.fact) if ends.low != ends.high else (body.fact,)
    return _Test(satisfied, body.bound(strict), lacks, chosen)


def _as_counted(bound: Ceiling | Floor, view: View, counted: Counted) -> tuple[bool | None, str]:
    """Judge tread depth as a law counts it; also return the fact that could settle it where that is unknown.

    The smallest reading alone can show that a tire passes, never that it fails such a law.
    """
    depth = view.interval("tire.tread_depth")
    if view.smallest_stated and depth is not None and bound.admits(depth) is True:
        return True, "tire.tread_depth"
    if view.grid is None:
        return None, "tire.tread_depth" if depth is None else "tire.tread_grid"
    return _admits(bound, counted_depth(view.grid, counted)), "tire.tread_grid"


def _figure(rule: Rule, body: Limit, view: View, case: Case) -> tuple[Quantity | int, bool]:
    """Return the figure that binds, and whether the rating of the unit at hand extends it.

    A rating below the limit tightens it, documented or not; one above it counts only with its document, and only up to
    the rule's cap.
    """
    chosen, unit = body.chosen(case.reading), case.repair_unit
    assert chosen is not None  # INVARIANT: relative limits are judged elsewhere
    if rule.up_to is None or unit is None or view.get("method") != frozenset({unit.method}):
        return chosen, False
    assert isinstance(chosen, Quantity)  # INVARIANT: only angles are extendable
    if unit.rated_angle <= chosen:
        return unit.rated_angle, False
    extended = min(unit.rated_angle, rule.up_to)
    return (extended, True) if unit.documented and extended > chosen else (chosen, False)


def needs(fact: str, view: View) -> list[Need]:
    """Return what to ask for `fact`, best first: itself, or what it follows from."""
    return [(each, view.subject_of([each])) for each in view.missing.get(fact, (fact,))]
