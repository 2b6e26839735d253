"""What a repair may spoil: how the tire of a repair case fares under other activities once it is repaired."""

from __future__ import annotations

from tirerules.index.evaluate import evaluated
from tirerules.index.looks import does_all, looks, packed_by
from tirerules.index.packing import filled, in_row, left_by_repair, packer_of, paired_with, pick_behind, spots_of
from tirerules.stated import INJURY, MEASURED_ZONES, NO_REPAIRS, REPAIR, ROW, WHOLE

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from typing import Any, TypeAlias

    from tirerules.index.looks import Does, Look
    from tirerules.index.packing import Asked
    from tirerules.index.plan import Failing, Packed, Plan
    from tirerules.stated import Row

    Otherwise: TypeAlias = "Callable[[Plan], Failing]"

__all__ = ["AfterRepair"]

_AT_GRID = WHOLE["tire.tread_grid"]
_SIZE, _AT_SURFACE, _AT_OFFSET = (
    INJURY[f"injury.{key}"] for key in ("diameter", "surface_diameter", "from_centerline")
)
_AT_REPAIR_OFFSET = REPAIR["repair.from_centerline"]


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
                facts, told, width = packer.mended
                for fact, does in facts.items():
                    parts.setdefault(fact, []).append((does, above))
                behind.append((told, above))
                above += width
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


def _across(case: Asked, injuries: Sequence[Row], method: str) -> Sequence[Row]:
    """Return injuries with their size across the channel, where it was measured along the surface."""
    if all(each[_AT_SURFACE] is None for each in injuries):
        return injuries
    from tirerules.deciding.facts import repaired

    typed: Any = case  # INVARIANT: only a typed case states such measures
    sizes = [repaired(injury, method).diameter for injury in typed.injuries or ()]
    return [(*row[:_SIZE], in_row(size), *row[_SIZE + 1 :]) for row, size in zip(injuries, sizes, strict=True)]


def packed_after_repair(plan: Plan, case: Asked, method: str) -> Packed | None:
    """Return what will be known of the tire of a repair case once it is repaired, for another activity.

    By which method it was is added by `repaired_by`; `method` is any of those that are asked about.
    """
    stated = case.stated
    row, findings = stated.whole, stated.findings
    injuries: Sequence[Row] = stated.injuries or (INJURY.nothing,)
    if row[_AT_GRID] is not None or stated.flags & MEASURED_ZONES:
        return None
    placed = [*(each[_AT_OFFSET] for each in injuries), *(each[_AT_REPAIR_OFFSET] for each in stated.repairs or ())]
    if any(each is not None for each in placed):
        return None
    row, worked_out = filled(case)
    injuries = _across(case, injuries, method)
    findings = left_by_repair(findings)
    packer = plan.packer or packer_of(plan)
    count = len(injuries) + len(stated.repairs or ())
    total = None if stated.repairs is None else count
    tire, pair = packer.tire(row, findings, total)
    pairs: tuple[int, ...] = ()
    if packer.paired and count > 1:
        spots = spots_of(injuries, stated.repairs)
        if stated.injuries is None and any(clock is not None for _, _, clock, _ in spots):
            return None
        pairs = paired_with(packer, case, worked_out, (row, total, tire), spots)
    if stated.repairs is None:
        return tire | pair, pairs, packer.repairs(None), (), NO_REPAIRS, None, findings
    mended = [packer.becomes(each) for each in injuries]
    return tire | pair, pairs, (*packer.repairs(stated.repairs), *mended), (), 0, None, findings


def repaired_by(plan: Plan, packed: Packed, method: str, new: int) -> Packed:
    """Return what is known of a repaired tire once the last `new` repairs are known to be by one method."""
    word = plan.word("repair.method", method)
    repairs = packed[2]
    if not word or packed[4] & NO_REPAIRS:
        return packed
    earlier = len(repairs) - new
    return packed[0], packed[1], (*repairs[:earlier], *[each | word for each in repairs[earlier:]]), *packed[3:]
