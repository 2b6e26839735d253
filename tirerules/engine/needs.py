"""What could settle an instance that is open: the facts of its open conditions, and those that its body lacks."""

from __future__ import annotations

from tirerules.engine.computed import answer
from tirerules.engine.tables import holds
from tirerules.vocabulary import FACTS, Kind

TYPE_CHECKING = False
if TYPE_CHECKING:
    from tirerules.case.views import RepairUnit
    from tirerules.engine.program import Instance
    from tirerules.engine.subjects import Need, Subject

__all__ = ["needs_of", "open_conditions"]


def needs_of(
    instance: Instance, subject: Subject, mask: int, width: int, unit: RepairUnit | None
) -> tuple[frozenset[Need], Need | None]:
    """Return the facts that could settle an open instance, and of these the one that its body limits.

    `subject` is the one it was judged for, of which `mask` is known.
    """
    body: list[Need] = []
    if mask >> 3 * width & instance.bit:
        lacks: tuple[str, ...] = (instance.fact,)
        if instance.relative is not None or instance.counted:
            lacks = answer(instance, subject, unit).lacks
        body = [need for fact in lacks for need in subject.needs(fact)]
    conditions = [need for fact in open_conditions(instance, subject) for need in subject.needs(fact)]
    return frozenset([*conditions, *body]), body[0] if body else None


def open_conditions(instance: Instance, subject: Subject) -> list[str]:
    """Return the facts of the conditions of which it is not known whether they hold."""
    return [
        fact
        for fact, condition in instance.tests
        if holds(condition, subject.get(fact), cures=instance.cures and FACTS[fact].kind is Kind.SET) is None
    ]
