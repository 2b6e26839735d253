"""Many rows at once: what `tirerules.index` does with the bits of one case, done with columns of them.

The rows of a table are sorted by plan (place, activity, reading, span of days). Python runs for each plan, each value
and each distinct answer, never for each row. Left to `Rulebook.decide` are rows that state what must be worked out
first (a size, measurements from the center line, several injuries or earlier repairs), rows whose plan is too large,
and rows that cannot be decided yet, about which questions must be asked.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from datetime import date
from typing import Any, Final

import numpy as np

from tirerules.batch.answers import Told
from tirerules.batch.joining import Shapes
from tirerules.batch.planned import Planned, Rows
from tirerules.batch.values import Column
from tirerules.errors import TirerulesError
from tirerules.index.plain import READINGS
from tirerules.rulebook import Rulebook

__all__ = ["Arrays"]

#: Numbers of fewer plans than this fit 16 bits.
_FEW_PLANS: Final = 2**15
#: With one of these, a band may follow from the tire: then the zone must be named.
_MEASURES: Final = ("tire.section_width", "tire.tread_width", "tire.belt_width")


class Arrays:
    """Decides the rows of tables, as far as bits alone decide them, and remembers plans."""

    def __init__(self, rulebook: Rulebook, day: date, told: Told) -> None:
        """Hold the rulebook, the day of rows that name none, and what was told, where answers are given places."""
        self._rulebook, self._day = rulebook, day.isoformat()
        self._told = told
        self._planned: dict[int, Planned] = {}
        self._shapes = Shapes()

    def decide(self, columns: Mapping[str, Column], count: int) -> Any:
        """Return for each row the place of its answer, or -1 where it is left (int64 array)."""
        places = np.full(count, -1, np.int64)
        plans, number = self._plans(columns, count)
        # Few plans are sorted by far the fastest, by their 16 bits.
        narrow = np.int16 if len(plans) < _FEW_PLANS else np.int32
        number = np.where(self._left(columns, count), -1, number).astype(narrow)
        table = self._shapes.joined(columns, count)
        order = np.argsort(number, kind="stable")
        starts = np.cumsum(np.bincount(number.astype(np.int32) + 1, minlength=len(plans) + 1))
        for planned, start, stop in zip(plans, starts[:-1], starts[1:], strict=True):
            if start < stop and planned is not None and planned.usable:
                where = order[start:stop]
                places[where] = planned.decide(Rows(table, where))
        return places

    def _left(self, columns: Mapping[str, Column], count: int) -> Any:
        """Return the rows that the full reader must read, or of which something must be worked out first."""
        left = np.zeros(count, bool)
        for column in columns.values():
            if column.left:
                left |= np.isin(column.codes, list(column.left))
        if "tire.crack_depth" in columns:
            cracks = columns["tire.crack_depth"].where(lambda value: value is not None)
            named = columns.get("findings")
            left |= cracks & (named.where(lambda found: not _cracked(found)) if named else False)
        for name in _MEASURES:
            if name in columns:
                zone = columns.get("injury.zone")
                measured = columns[name].where(lambda value: value is not None)
                left |= measured & (zone.where(lambda value: value is None) if zone else True)
        return left

    def _plans(self, columns: Mapping[str, Column], count: int) -> tuple[list[Planned | None], Any]:
        """Return plans, and for each row the number of its plan; -1 where there is none."""
        places, activities = columns["jurisdictions"], columns["activity"]
        readings = columns.get("reading") or Column("reading", np.zeros(count, np.uint16), [None])
        days = columns.get("on") or Column("on", np.zeros(count, np.uint16), [None])
        said = [self._day if day is None else day for day in days.values]
        numbers = np.array([date.fromisoformat(day).toordinal() for day in said])
        size = len(activities.values) * len(readings.values)
        joint = places.codes.astype(np.int32) * size + activities.codes * len(readings.values) + readings.codes
        spans = np.full((len(places.values) * size, len(said)), -1, np.int32)
        keys = itertools.product(places.values, activities.values, readings.values)
        present = np.bincount(joint, minlength=len(spans)) > 0
        plans: list[Planned | None] = []
        for at, (codes, activity, reading) in enumerate(keys):
            changes = self._changes(codes, activity) if present[at] and codes and activity else None
            if changes is not None:
                within = np.searchsorted(changes, numbers, side="right")
                spans[at] = within + len(plans)
                # Any day of a span stands for all of them.
                found, first = np.unique(within, return_index=True)
                example = dict(zip(found.tolist(), [said[number] for number in first], strict=True))
                plans += [
                    self._plan(codes, activity, reading or READINGS[0], example[span]) if span in example else None
                    for span in range(len(changes) + 1)
                ]
        return plans, spans[joint, days.codes]

    def _changes(self, codes: tuple[str, ...], activity: str) -> Any:
        try:
            changes = self._rulebook.changes(codes, activity)
            return np.array([date.fromisoformat(day).toordinal() for day in changes], np.int64)
        except TirerulesError:
            return None  # the full reader says why

    def _plan(self, codes: tuple[str, ...], activity: str, reading: str, day: str) -> Planned:
        plan = self._rulebook.plan(codes, activity, reading, day)
        planned = self._planned.get(id(plan))
        if planned is None:
            planned = self._planned[id(plan)] = Planned(plan, self._rulebook.rules_of(plan), self._told)
        return planned


def _cracked(found: Any) -> bool:
    return found is None or "weather-cracking" in found
