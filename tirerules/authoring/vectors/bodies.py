"""What a rule limits, permits or bars, varied: one case on each side of every figure and for every word.

Each function takes the case from which a rule's vectors start, and yields the name of a variation and its case.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any, Final

from tirerules.authoring.vectors import treads
from tirerules.authoring.vectors.cases import Json, stated, unrecorded, with_fact, without
from tirerules.authoring.vectors.figures import BASE, above, below, in_other_unit, straddling, text_of
from tirerules.authoring.vectors.starting import spoken, words_of
from tirerules.packs.rule import (
    READINGS,
    RELATIONS,
    Counted,
    Disqualify,
    Limit,
    Permit,
    Prohibit,
    Relative,
    Require,
    Rule,
)
from tirerules.quantities import Quantity, measure
from tirerules.strictest.bounds import Interval, Strictest
from tirerules.vocabulary import CURED_BY_REPAIR, FACTS, Dimension

__all__ = ["Varied", "around", "left_out", "of_body", "violated"]

Varied = Iterator[tuple[str, Json]]

#: What a case leaves out so that a fact which follows from others is unknown.
_RESTS_ON: Final[Mapping[str, tuple[str, ...]]] = {
    "tire.tread_depth": ("tire.tread_depth", "tire.tread_grid"),
    "injury.reach": ("injury.from_centerline", "injury.zone"),
    "repair.reach": ("repair.from_centerline", "repair.zone"),
    "injury.diameter": ("injury.diameter", "injury.surface_diameter"),
    "repairs.opposed": ("repairs.opposed", "injury.zone", "repair.zone"),
    "repairs.spacing_angle": ("injury.clock", "repair.clock"),
}


def of_body(rule: Rule, start: Json) -> Varied:
    """Yield the variations of what `rule` says."""
    body = rule.body
    match body:
        case Limit(value=Relative() as length):
            yield from _band(body, length, start)
        case Limit():
            yield from _limit(body, start)
            if rule.up_to is not None:
                yield from _extension(rule, body, start)
        case Permit() | Prohibit():
            for word in FACTS[body.fact].values:
                yield from _named(f"word-{word}", with_fact(start, body.fact, spoken(FACTS[body.fact], word)))
        case Disqualify():
            for finding in body.values:
                yield f"found-{finding}", {**start, "findings": [finding]}
        case Require():
            return
    yield from left_out("unknown", start, body.fact)


def left_out(name: str, case: Json, fact: str) -> Varied:
    """Yield the cases in which a fact is unknown: left out, and for a list that was not recorded at all."""
    group = FACTS[fact].group
    if fact == "repairs.count":
        yield name, unrecorded(without(case, fact), "repair")
        return
    yield name, without(case, *_RESTS_ON.get(fact, (fact,)))
    if group in ("injury", "repair"):
        yield f"{name}-unrecorded", unrecorded(case, group)


def violated(rule: Rule, case: Json) -> Json | None:
    """Return the case in which the body of `rule` is violated, with its conditions as they are if that is possible.

    None where nothing violates it: a requirement, or a permission of every word there is.
    """
    body = rule.body
    if isinstance(body, Require):
        return None
    if isinstance(body, Disqualify):
        # What the rule's own condition excludes shows nothing; of the rest, what a repair removes bars no repair.
        excluded = {
            word
            for each in rule.conditions
            if each.fact == body.fact and not each.negated
            for word in each.test.prohibited
        }
        first = min(body.values, key=lambda each: (each in excluded, each in CURED_BY_REPAIR, body.values.index(each)))
        return {**case, "findings": sorted({*case["findings"], first})}
    if isinstance(body, Limit):
        return _beyond(body, case)
    bad = [word for word in FACTS[body.fact].values if not Strictest.of(body.constraint()).admits(frozenset({word}))]
    for condition in rule.conditions:
        if condition.fact == body.fact:
            bad = [word for word in bad if word in words_of(body.fact, condition.test)] or bad
    return with_fact(case, body.fact, spoken(FACTS[body.fact], bad[0])) if bad else None


def _beyond(body: Limit, case: Json) -> Json | None:
    """Return the case in which a limit is just not met; None where every value meets it."""
    figure, dimension = body.chosen(READINGS[0]), FACTS[body.fact].dimension
    ceiling, inclusive = RELATIONS[body.relation]
    if isinstance(body.value, Relative):
        exact = _length(body.value, case)
    else:
        exact = figure.exact if isinstance(figure, Quantity) else Fraction(figure or 0)
    values = dict(around(exact, dimension))
    value = values.get(("above" if ceiling else "below") if inclusive else "at")
    if value is None:
        return None
    if body.counted != Counted():
        return with_fact(case, "tire.tread_grid", treads.worn_everywhere(value))
    return with_fact(case, body.fact, value)


def _named(name: str, case: Json | None) -> Varied:
    if case is not None:
        yield name, case


# --- figures ----------------------------------------------------------------------------------------------------------


def around(exact: Fraction, dimension: Dimension | None, printed: str | None = None) -> Iterator[tuple[str, Any]]:
    """Yield the values just below, at and just above a figure, by name; those that no case can state are left out."""
    if dimension is None:
        yield from (
            (name, int(exact) + step) for name, step in (("below", -1), ("at", 0), ("above", 1)) if exact + step >= 0
        )
        return
    values = (
        ("below", below(exact, dimension)),
        ("at", printed or text_of(exact, BASE[dimension])),
        ("above", above(exact, dimension)),
    )
    yield from ((name, value) for name, value in values if value is not None)


def _limit(body: Limit, start: Json) -> Varied:
    dimension = FACTS[body.fact].dimension
    figures = [("", body.value), *([("also-", body.also)] if body.also is not None else [])]
    for prefix, figure in figures:
        assert not isinstance(figure, Relative)  # INVARIANT: relative limits are varied elsewhere
        exact = figure.exact if isinstance(figure, Quantity) else Fraction(figure)
        printed = figure.text if isinstance(figure, Quantity) else None
        for where, value in around(exact, dimension, printed):
            for name, case in _stating(body, prefix + where, start, value):
                yield name, case
                if body.also is not None:
                    yield f"{name}/as-enacted", {**case, "reading": "as-enacted"}
        if isinstance(figure, Quantity) and dimension is not None:
            for name, text in (
                (f"{prefix}at-in-other-unit", in_other_unit(figure)),
                (f"{prefix}straddling", straddling(exact, dimension)),
            ):
                if text is not None:
                    yield from _stating(body, name, start, text)
    if body.counted != Counted() and dimension is not None:
        exact = body.value.exact if isinstance(body.value, Quantity) else Fraction(0)
        yield from treads.counted(body.counted, below(exact, dimension), stated(start, "tire.tread_depth"), start)


def _stating(body: Limit, name: str, start: Json, value: Any) -> Varied:
    """Yield the case in which the limited fact has a value; for tread, by one reading and by a grid of them."""
    yield from _named(name, with_fact(start, body.fact, value))
    if body.fact == "tire.tread_depth":
        for grid_name, grid in treads.grids(body.counted, value, stated(start, "tire.tread_depth")):
            yield from _named(f"{name}/{grid_name}", with_fact(start, "tire.tread_grid", grid))


def _length(length: Relative, case: Json) -> Fraction:
    datum = measure(stated(case, length.of)).low.exact
    return length.range(Interval(datum, datum)).low


def _band(body: Limit, length: Relative, start: Json) -> Varied:
    """Yield both sides of a band, on a tire at each step of its table, just beyond it, and at an ordinary width."""
    steps = [share.through for share in length.shares if share.through is not None]
    widths = [("", stated(start, length.of))]
    for step in steps:
        widths += [(f"at-{step.text}/", step.text), (f"beyond-{step.text}/", above(step.exact, step.dimension))]
    for prefix, width in widths:
        tire = with_fact(start, length.of, width)
        assert tire is not None  # INVARIANT: a width of the tire can always be stated
        exact = _length(length, tire)
        for where, value in (*around(exact, Dimension.LENGTH), ("straddling", straddling(exact, Dimension.LENGTH))):
            if value is not None:
                yield from _named(f"{prefix}{where}".replace(" ", "-"), with_fact(tire, body.fact, value))
    for side, case in (("inside", start), ("outside", _beyond(body, start))):
        if case is not None:
            yield f"{side}/measured-only", without(case, "injury.zone")
            yield f"{side}/zone-only", without(case, "injury.from_centerline")
            yield f"{side}/width-unknown", without(case, length.of)
            yield f"{side}/angle-unknown", without(case, "injury.angle")


# --- extensions -------------------------------------------------------------------------------------------------------


def _extension(rule: Rule, body: Limit, start: Json) -> Varied:
    """Yield units rated below the limit, between it and the cap, at and above the cap, with and without a document."""
    limit, cap = body.chosen(READINGS[0]), rule.up_to
    assert isinstance(limit, Quantity)  # INVARIANT: only angles are extendable
    assert cap is not None
    ratings = {
        "below-limit": limit.exact / 2,
        "at-limit": limit.exact,
        "between": (limit.exact + cap.exact) / 2,
        "at-cap": cap.exact,
        "above-cap": (cap.exact + 90) / 2,
    }
    method = stated(start, "method") or "one-piece"
    other = "two-piece" if method != "two-piece" else "one-piece"
    for name, rating in ratings.items():
        for papers, document in (("documented", "invented data sheet"), ("undocumented", None)):
            unit = {"method": method, "rated_angle": text_of(rating, "deg")}
            unit |= {"document": document} if document else {}
            binds = min(rating, max(cap.exact, limit.exact) if document else limit.exact)
            for where, value in around(binds, Dimension.ANGLE):
                case = with_fact(start, body.fact, value)
                if case is not None:
                    yield f"unit-{name}/{papers}/{where}", {**case, "repair_unit": unit}
    beyond = with_fact(start, body.fact, above(limit.exact, Dimension.ANGLE))
    if beyond is not None:
        unit = {"method": other, "rated_angle": cap.text, "document": "invented data sheet"}
        yield "unit-for-other-method/above", {**beyond, "repair_unit": unit}
