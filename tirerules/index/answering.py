"""What the rules of a plan say of a case, remembered of cases that are known alike."""

from __future__ import annotations

from tirerules.index.evaluate import evaluated
from tirerules.index.looks import does_all, looks, packed_by
from tirerules.index.packing import packed_after_repair, packed_case, packer_of, pick_behind, repaired_by
from tirerules.stated import ROW

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from typing import TypeAlias

    from tirerules.index.evaluate import Found
    from tirerules.index.looks import Does, Look
    from tirerules.index.packing import Asked
    from tirerules.index.plan import Plan
    from tirerules.packs.rule import Rule
    from tirerules.stated import Row

    #: Gives the rules of a plan, in its order.
    Rules: TypeAlias = "Callable[[Plan], Sequence[Rule]]"
    #: The names of the rules that a tire fails, by method.
    Failing: TypeAlias = "tuple[tuple[str, ...], ...]"
    Otherwise: TypeAlias = "Callable[[Plan], Failing]"

__all__ = ["AfterRepair", "answered"]


def answered(plan: Plan, case: Asked, row: Row | None, rules: Rules) -> Found | None:
    """Return what the rules say of a case, which may be one `row`; None where only the reference can judge it."""
    if not plan.fits:
        return None
    known = None
    if row is not None:
        known = packed_by((plan.packer or packer_of(plan)).in_row, row)
        found = plan.found.get(known)
        if found is not None:
            return found
    packed = packed_case(plan, case, rules)
    return None if packed is None else evaluated(plan, packed, known)


class AfterRepair:
    """The rules on what a repair may spoil: how the tire of a repair case fares under other activities, once repaired.

    It holds a plan for each of them; what a case in one row says to all is found at once.
    """

    __slots__ = ("_looks", "_memory", "plans")

    def __init__(self, plans: Sequence[Plan]) -> None:
        self.plans, self._memory = tuple(plans), plans[0].memory
        self._looks: tuple[Look, ...] | None = None
        if all(plan.fits for plan in plans):
            parts: dict[str, list[tuple[Does, int]]] = {}
            above, behind = 0, []
            for packer in map(packer_of, plans):
                facts, told = packer.mended
                for fact, does in facts.items():
                    parts.setdefault(fact, []).append((does, above))
                behind.append((told, above))
                above += packer.mended_width
            facts = {fact: does_all(each) for fact, each in parts.items()}
            self._looks = (*looks(facts, ROW), (pick_behind, does_all(behind)))

    def failing(self, case: Asked, methods: tuple[str, ...], otherwise: Otherwise) -> tuple[Failing, ...]:
        """Return the names of the rules that the tire fails, by plan and by method.

        `otherwise` gives them for a plan by which only the reference can judge.
        """
        row = case.stated.row
        if row is None or self._looks is None:
            return self._each(case, methods, otherwise)
        key = (self, packed_by(self._looks, row), methods)
        failing = self._memory.after.get(key)
        if failing is None:
            failing = self._memory.keep_after(key, self._each(case, methods, otherwise))
        return failing

    def _each(self, case: Asked, methods: tuple[str, ...], otherwise: Otherwise) -> tuple[Failing, ...]:
        return tuple(_failing(plan, case, methods) or otherwise(plan) for plan in self.plans)


def _failing(plan: Plan, case: Asked, methods: tuple[str, ...]) -> Failing | None:
    """Return the names of the rules that a repaired tire fails, by method; None where only the reference can judge."""
    packed = packed_after_repair(plan, case, methods[0]) if plan.fits else None
    if packed is None:
        return None
    new = len(case.stated.injuries or (None,))
    each = (repaired_by(plan, packed, method, new) for method in methods)
    return tuple(plan.names_in(evaluated(plan, known).failing) for known in each)
