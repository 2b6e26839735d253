"""Margins: how far each measure is from each limit on it, stated and not advised.

A margin is what is left between a measurement and a limit, exact and with the sign of what is left: it is negative
where the limit is missed. A measurement has a width, so a margin is a span from `least` to `most`; both are None where
the measure is unknown or not one number (a grid of readings that a law counts in its own way).
"""

from __future__ import annotations

from tirerules.engine.entries import entries
from tirerules.engine.parts import Margin
from tirerules.packs.rule import Limit
from tirerules.quantities import Measured, Quantity
from tirerules.strictest.bounds import Ceiling, Floor

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator
    from typing import Any, TypeAlias

    from tirerules.engine.entries import Entry
    from tirerules.engine.evaluator import Evaluation

    #: What is left at worst and at best.
    Span: TypeAlias = "tuple[Quantity | int, Quantity | int] | tuple[None, None]"

__all__ = ["margins_of"]


def margins_of(evaluation: Evaluation) -> Iterator[Margin]:
    """Yield the margin to every limit that no method changes, and to those of the leading method; each once."""
    found = entries(evaluation, "", "injury", *([evaluation.leading] if evaluation.leading is not None else []))
    seen = set()
    for entry in found:
        body = entry.rule.body
        if not isinstance(body, Limit):
            continue
        subject, fact = entry.subject, entry.instance.fact
        least, most = _span(entry, subject.get(fact))
        label, limit = subject.label(entry.instance.named), body.text(entry.chosen)
        margin = Margin(body.fact, label, entry.rule.name, limit, subject.shown(fact), least, most, entry.applies)
        if margin not in seen:
            seen.add(margin)
            yield margin


def _span(entry: Entry, value: Any) -> Span:
    bound = entry.constraint
    counted = entry.instance.counted and entry.subject.get("tire.tread_grid") is not None
    if not isinstance(bound, (Ceiling, Floor)) or counted:
        return None, None
    if isinstance(value, int) and not isinstance(value, bool):
        left = bound.above // bound.below - value  # counts are limited by counts
        return (left, left) if isinstance(bound, Ceiling) else (-left, -left)
    if not isinstance(value, Measured):
        return None, None
    low, below_low, high, below_high = value.ends
    at_low = _between(bound, low, below_low, value.unit)
    at_high = _between(bound, high, below_high, value.unit)
    return (at_high, at_low) if isinstance(bound, Ceiling) else (at_low, at_high)


def _between(bound: Ceiling | Floor, above: int, below: int, unit: str) -> Quantity:
    """Return what is left between a bound and an exact number of base units, in the unit of the measurement."""
    from fractions import Fraction

    left = Fraction(bound.above, bound.below) - Fraction(above, below)
    return Quantity.of(left if isinstance(bound, Ceiling) else -left, unit)
