"""What the body of a rule demands of a subject, whether that is satisfied, and what could tell where it is unknown."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from tests.reference.geometry import Interval, band
from tests.reference.measures import decimal, exact
from tests.reference.rules import Rule, Truth, is_ceiling, meets, negation, present
from tests.reference.tread import counted
from tests.reference.views import NO_SUCH_FACT, View
from tests.reference.words import BOUNDS, COUNTS

__all__ = ["Demand", "bound_of", "demand", "limited_fact"]


@dataclass(frozen=True)
class Demand:
    """What a body demands of one subject.

    `figure` is what binds, as it is printed, and `strict` the same as a number; both None where no figure is
    demanded, or where it follows from a measure that is missing. `lacks` are the facts that tell where it is unknown
    whether the demand is met. `extended` says that the rating of a repair unit moved the figure.
    """

    met: Truth
    lacks: tuple[str, ...] = ()
    figure: str | None = None
    strict: Fraction | None = None
    extended: bool = False


def limited_fact(rule: Rule) -> str | None:
    """The fact that a rule limits, permits or prohibits; None for one that requires steps."""
    if "disqualify" in rule:
        return "findings"
    return next((str(rule[body]["fact"]) for body in ("limit", "permit", "prohibit") if body in rule), None)


def bound_of(rule: Rule) -> str:
    """The relation of a limit to its figure."""
    return next(each for each in BOUNDS if each in rule["limit"])


def demand(rule: Rule, view: View, case: dict[str, Any]) -> Demand:
    """What a rule demands of a view."""
    if "require" in rule:
        return Demand(True)
    fact = limited_fact(rule)
    assert fact is not None
    value = view.get(fact)
    if "disqualify" in rule:
        return Demand(negation(present(rule, rule["disqualify"]["findings"], value, case)), (fact,))
    if "limit" in rule:
        return _limit(rule, view, case)
    if value is None or value is NO_SUCH_FACT:
        return Demand(None, (fact,))
    permitted = "permit" in rule
    return Demand((value in rule["permit" if permitted else "prohibit"]["values"]) is permitted, (fact,))


def _limit(rule: Rule, view: View, case: dict[str, Any]) -> Demand:
    stated, fact = rule["limit"][bound_of(rule)], rule["limit"]["fact"]
    if isinstance(stated, dict) and "half-of" in stated:
        return _relative(rule, stated, view)
    figure, strict, extended = _figure(rule, stated, view, case)
    limit = strict, strict
    if fact == "tire.tread_depth":
        met, lacks = _deep_enough(rule, view, limit)
    else:
        value = view.get(fact)
        unknown = value is None or value is NO_SUCH_FACT
        met, lacks = None if unknown else meets(fact, value, bound_of(rule), limit), fact
    return Demand(met, (lacks,), figure, strict, extended)


def _relative(rule: Rule, stated: dict[str, Any], view: View) -> Demand:
    """A limit that follows from a measure of the tire; where that has a width, by its stricter end."""
    bound, fact, of = bound_of(rule), rule["limit"]["fact"], stated["half-of"]
    datum, value = view.get(of), view.get(fact)
    if datum is None:
        return Demand(None, (of,) if value is not None else (of, fact))
    rows = stated["share"] if isinstance(stated.get("share"), list) else [{}]
    throughs = [exact(row["through"]) if "through" in row else None for row in rows]
    inset = exact(stated["inset"]) if "inset" in stated else Fraction(0)
    low, high = (max(end, Fraction(0)) for end in band(stated, datum, inset, throughs))
    strict = low if is_ceiling(bound) else high
    met = None if value is None or value is NO_SUCH_FACT else meets(fact, value, bound, (low, high))
    return Demand(met, (of, fact) if low != high else (fact,), f"{decimal(strict)} mm", strict)


def _figure(rule: Rule, stated: Any, view: View, case: dict[str, Any]) -> tuple[str, Fraction, bool]:
    """The figure that binds, as printed and as a number, and whether the rating of a repair unit extends it."""
    if rule["limit"]["fact"] in COUNTS:
        return str(stated), Fraction(stated), False
    text = stated
    if isinstance(stated, dict):
        text, also = stated["value"], stated["also-printed"]
        laxer = exact(text) > exact(also) if is_ceiling(bound_of(rule)) else exact(text) < exact(also)
        if laxer and case.get("reading") != "as-enacted":
            text = also
    unit = case.get("repair_unit")
    if "extendable" in rule and unit and view.get("method") == unit["method"]:
        rated, cap = unit["rated_angle"], rule["extendable"]["up-to"]
        if exact(rated) <= exact(text):
            text = rated
        else:
            extended = cap if exact(cap) < exact(rated) else rated
            if (unit.get("document") or "").strip() and exact(extended) > exact(text):
                return extended.strip(), exact(extended), True
    return text.strip(), exact(text), False


def _deep_enough(rule: Rule, view: View, limit: Interval) -> tuple[Truth, str]:
    """Judge tread by the smallest depth, or by the grooves and places that a law counts before it calls a tire worn.

    The smallest depth says that all are deep enough, but not how many are too shallow.
    """
    least, grid = view.get("tire.tread_depth"), view.get("tire.tread_grid")

    def deep(reading: Interval) -> Truth:
        return meets("tire.tread_depth", reading, bound_of(rule), limit)

    how = {"grooves": "any-one", "places": 1, **rule["limit"].get("counted", {})}
    if "by" in rule or "contradicts" in rule:
        # Indicators stand in the major grooves: read as the tread laws read them, where there is a grid to read.
        if not grid:
            return (None if least is None else deep(least)), "tire.tread_depth"
        by_count = counted(grid, deep, grooves="two-adjacent", places=3)
        return (by_count[0] if by_count else deep(least)), "tire.tread_grid"
    if how == {"grooves": "any-one", "places": 1}:
        return (None if least is None else deep(least)), "tire.tread_depth"
    if view.get("tire.tread_stated") is not None and deep(least) is True:
        return True, "tire.tread_depth"
    if not grid:
        return None, "tire.tread_depth" if least is None else "tire.tread_grid"
    by_count = counted(grid, deep, **how)
    return (by_count[0] if by_count else None), "tire.tread_grid"
