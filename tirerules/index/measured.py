"""What was measured: how far an injury reaches, whether that proves it to lie in the crown, how repairs lie to others.

The reach of a channel, the bands that follow from the tire's own measures and what lies within them are those of
`tirerules.deciding`; here they become bits.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tirerules.case import Case
from tirerules.deciding.facts import injury_views, pair_views
from tirerules.deciding.judgment import satisfies
from tirerules.deciding.view import ABSENT as NOT_THERE
from tirerules.deciding.view import View
from tirerules.index.bits import ABSENT, Table
from tirerules.index.plan import Plan
from tirerules.packs.rule import Rule
from tirerules.quantities import Measured as Gauged
from tirerules.quantities import Quantity
from tirerules.strictest.bounds import Interval
from tirerules.vocabulary import REPAIR_METHODS

__all__ = ["Measured", "lengths", "pairs"]

_REACH, _ZONE = "injury.reach", "injury.zone"
#: What is known of an injury, and of the repair that it becomes.
_Pair = tuple[int, int]


def _packed_value(value: Any, table: Table) -> int:
    """Return what a value of a view does: an interval, words, what is not there, or nothing."""
    if isinstance(value, Interval):
        low, high = value.low, value.high
        return table.span(low.numerator, low.denominator, high.numerator, high.denominator)
    return int(table[ABSENT if value is NOT_THERE else value])


def lengths(case: Case, worked_out: Mapping[str, Any]) -> dict[str, Interval]:
    """Return the measures of the tire, stated or worked out."""
    known = {**worked_out, **dict(case.tire.known())}
    return {fact: _interval(value) for fact, value in known.items() if isinstance(value, (Gauged, Quantity))}


def _interval(value: Gauged | Quantity) -> Interval:
    low, high = (value, value) if isinstance(value, Quantity) else (value.low, value.high)
    return Interval(low.exact, high.exact)


def pairs(case: Case, worked_out: Mapping[str, Any]) -> tuple[Mapping[str, Any], ...]:
    """Return what is known of each pair of repairs, new ones and earlier ones."""
    diameter = lengths(case, worked_out).get("tire.outside_diameter")
    known = View({} if diameter is None else {"tire.outside_diameter": diameter})
    return tuple(view.values for view in pair_views(case, known))


@dataclass(frozen=True, slots=True)
class Measured:
    """One plan's way with the measured injuries of a case; `tire` is what is known of the tire, packed."""

    plan: Plan
    rules: Callable[[Plan], Sequence[Rule]]
    case: Case
    tire: int
    lengths: Mapping[str, Interval]  #: measures of the tire by fact

    def every(self) -> tuple[tuple[int, int, Mapping[str, _Pair]], ...]:
        """Return what is known of every injury of the case."""
        measures = ("tire.thickness", "tire.tread_width")
        known = {fact: length for fact, length in self.lengths.items() if fact in measures}
        return tuple(self.packed(view) for view in injury_views(self.case, View(known)))

    def packed(self, view: View) -> tuple[int, int, Mapping[str, _Pair]]:
        """Return what is known of an injury and of the repair it becomes, and the same by method once it is located."""
        tables = self.plan.tables
        facts = [fact for fact in tables if fact.startswith("injury.") and fact not in (_REACH, _ZONE)]
        own = 0
        for fact in facts:
            own |= _packed_value(view.values.get(fact), tables[fact])
        own |= self._reach(view, own)
        zone = view.values.get(_ZONE)
        if zone is None and self._in_crown(own, "injury", view):
            zone = frozenset({"crown"})
        by_method: dict[str, _Pair] = {}
        for method in (self.case.method,) if self.case.method else REPAIR_METHODS:
            here = zone
            if here is None and self._in_crown(own | self.plan.word("method", method), "injury+method", view):
                here = frozenset({"crown"})
            by_method[method] = self._placed(own, here, view)
        return (*self._placed(own, zone, view), by_method)

    def _placed(self, own: int, zone: Any, view: View) -> _Pair:
        as_repair = 0
        for fact, table in self.plan.tables.items():
            if fact.startswith("repair.") and fact != "repair.method":
                known = {
                    "repair.diameter": view.values.get("injury.diameter"),
                    "repair.zone": zone,
                    "repair.reach": view.values.get(_REACH),
                }
                as_repair |= _packed_value(known.get(fact), table)
        return own | self.plan.word(_ZONE, zone), as_repair

    def _reach(self, view: View, own: int) -> int:
        """Return what the reach does to the bands, some of which follow from the measures of this tire."""
        table = self.plan.tables.get(_REACH)
        reach = view.values.get(_REACH)
        if table is None or not isinstance(reach, Interval):
            return 0 if table is None else _packed_value(reach, table)
        packed = _packed_value(reach, table)
        known = View({**self.lengths, _REACH: reach})
        for at, row in enumerate(self.plan.rows):
            body = row["body"]
            out = (self.tire | own) >> at & 1
            if body is not None and body["fact"] == _REACH and "of" in body and not out:
                no, maybe = self.plan.body_bits(at)
                answer = satisfies(self.rules(self.plan)[at], known, self.case)
                packed = packed & ~maybe | (0 if answer else maybe if answer is None else no)
        return packed

    def _in_crown(self, own: int, group: str, view: View) -> bool:
        """Whether some band surely applies, and the injury lies within every one that may."""
        if view.channel is None or not view.zone_unnamed(_ZONE):
            return False
        n, packed = self.plan.count, self.tire | own | self.plan.word(_ZONE, None)
        bands = self.plan.group(group) & self.plan.bands & ~packed
        return bool(bands & self.plan.proving & ~(packed >> n)) and not bands & (packed >> 2 * n)
