"""The compiled rules of one rulebook: a plan for each place, activity, reading and span of days, made when asked for.

Plans are shared by every case that meets them, and between threads: two made at once are equal.
"""

from __future__ import annotations

from bisect import bisect_right

from tirerules.index.after_repair import AfterRepair
from tirerules.index.plan import Memory, Plan, make_room
from tirerules.packs.contradicting import combined_rows
from tirerules.vocabulary import IMPLIES, RESALE

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date

    from tirerules.index.rows import Compiled, Row
    from tirerules.stated import Asks

__all__ = ["Book"]

#: So many combinations of places and activities are kept compiled.
_MOST_PLACES = 2_000
#: One entry for every day that was asked about; forgotten all at once beyond so many.
_MOST_DAYS = 100_000


class _Place:
    """The rules that some places answer to under one activity, whatever the day."""

    __slots__ = ("changes", "plans", "rows", "unreviewed")

    def __init__(self, packs: Sequence[Compiled], codes: Sequence[str], activity: str) -> None:
        wanted = {activity, *IMPLIES.get(activity, ())}
        every = (row for pack in packs for row in pack["rules"])
        asked = [row for row in every if not wanted.isdisjoint(row["activities"])]
        self.rows: list[Row] = [*asked, *combined_rows(asked)]
        #: Days on which some rule starts or ends.
        self.changes = sorted({day for row in self.rows for day in (row["from"], row["until"]) if day})
        self.unreviewed = activity != "repair" and any(
            pack["id"] in codes and pack["coverage"].get(activity, "not-reviewed") == "not-reviewed" for pack in packs
        )
        self.plans: dict[tuple[str, int], Plan] = {}


class Book:
    """Makes plans and keeps them."""

    __slots__ = ("_after_by_day", "_by_day", "_memory", "_packs_for", "_places")

    def __init__(self, packs_for: Callable[[Sequence[str]], Sequence[Compiled]]) -> None:
        """Hold what finds the compiled packs of some places; it raises where there are none."""
        self._packs_for = packs_for
        self._places: dict[tuple[tuple[str, ...], str], _Place] = {}
        self._memory = Memory()
        self._by_day: dict[tuple[Asks, date | str], Plan] = {}
        self._after_by_day: dict[tuple[Asks, date | str], AfterRepair] = {}

    def plan(self, asks: Asks, on: date | str) -> Plan:
        """Return the plan for places, an activity and a reading on a day, which may be given as YYYY-MM-DD.

        Raises UnknownJurisdictionError as what finds the packs does.
        """
        key = (asks, on)
        plan = self._by_day.get(key)
        if plan is None:
            codes, activity, reading = asks
            plan = make_room(self._by_day, _MOST_DAYS)[key] = self._make(codes, str(activity), reading, str(on))
        return plan

    def after_repair(self, asks: Asks, on: date | str) -> AfterRepair:
        """Return the rules on what a repair may spoil, for places and a reading on a day. Raises as `plan`."""
        key = (asks, on)
        after = self._after_by_day.get(key)
        if after is None:
            codes, _, reading = asks
            plans = tuple(self.plan((codes, activity, reading), on) for activity in RESALE)
            # Kept with a plan, so that nothing outlives the plans of its places.
            known = plans[0].cache("after repair")
            after = known.get(plans)
            if after is None:
                after = known[plans] = AfterRepair(plans)
            make_room(self._after_by_day, _MOST_DAYS)[key] = after
        return after

    def changes(self, codes: tuple[str, ...], activity: str) -> list[str]:
        """Return the days, YYYY-MM-DD, on which some rule for the places `codes` starts or ends. Raises as `plan`."""
        return self._place(codes, activity).changes

    def _place(self, codes: tuple[str, ...], activity: str) -> _Place:
        place = self._places.get((codes, activity))
        if place is None:
            if len(self._places) >= _MOST_PLACES:
                self._by_day.clear()
                self._after_by_day.clear()
            place = make_room(self._places, _MOST_PLACES)[codes, activity] = _Place(
                self._packs_for(codes), codes, activity
            )
        return place

    def _make(self, codes: tuple[str, ...], activity: str, reading: str, day: str) -> Plan:
        place = self._place(codes, activity)
        span = bisect_right(place.changes, day)
        plan = place.plans.get((reading, span))
        if plan is None:
            rows = [row for row in place.rows if _in_force(row, day)]
            implied = IMPLIES.get(activity, ())
            since = place.changes[span - 1] if span else ""
            plan = Plan(rows, activity, implied, codes, reading, place.unreviewed, self._memory, since)
            place.plans[reading, span] = plan
        return plan


def _in_force(row: Row, day: str) -> bool:
    return (row["from"] is None or row["from"] <= day) and (row["until"] is None or day < row["until"])
