"""What the rules of a plan say of a case, remembered of cases that are known alike."""

from __future__ import annotations

from tirerules.index.evaluate import evaluated
from tirerules.index.looks import packed_by
from tirerules.index.packing import packed_case, packer_of

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tirerules.index.evaluate import Found
    from tirerules.index.packing import Asked
    from tirerules.index.plan import Plan
    from tirerules.packs.rule import Rule
    from tirerules.stated import Row

__all__ = ["answered"]


def answered(plan: Plan, case: Asked, row: Row | None, rules: Callable[[Plan], Sequence[Rule]]) -> Found | None:
    """Return what the rules say of a case, which may be one `row`; None where only the reference can judge it.

    `rules` gives the rules of a plan, in its order, where a measured injury must be held against one.
    """
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
