"""Which program decides each row: by its places, activity, reading, named method and day."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Hashable
from datetime import date
from typing import Any

import numpy as np

from tirerules.batch.encoding import EncodedColumn, EncodedTable
from tirerules.batch.following import jointly
from tirerules.engine.program import Program
from tirerules.errors import UnknownJurisdictionError
from tirerules.packs.rule import READINGS
from tirerules.rulebook import Rulebook

__all__ = ["Choosing", "days_of"]


def days_of(table: EncodedTable, day: date) -> EncodedColumn:
    """Return the day of each row as text, YYYY-MM-DD; of one that names none `day`."""
    column = table.column("on")
    return EncodedColumn("on", column.codes + np.int32(1), [None, day.isoformat(), *column.values[1:]])


class Choosing:
    """Finds programs, and keeps one for all places and days whose programs judge alike (`Rulebook.likeness`).

    `programs` are those that were found. INVARIANT: it depends on the rules, and on which places, activities and days
    were asked about.
    """

    def __init__(self, rulebook: Rulebook) -> None:
        self.programs: list[Program] = []
        self._rulebook = rulebook
        self._numbers: dict[Hashable, int] = {}
        self._spans: dict[tuple[tuple[str, ...], str], list[str]] = {}
        self._known: dict[Hashable, int | None] = {}

    def numbers(self, table: EncodedTable, days: EncodedColumn) -> Any:
        """Return for each row the number of its program, -1 where there is none (int32 array)."""
        asked = [table.column(name) for name in ("jurisdictions", "activity")]
        every = {
            day
            for codes, activity in jointly("", asked, lambda codes, activity: (codes, activity)).values[1:]
            for day in self._changes(codes, activity)
        }
        changes = sorted(every)
        spans = [None if on is None else bisect_right(changes, on) for on in days.values]
        # Of the days between two changes, the first that a row names stands for all.
        first = dict(zip(reversed(spans), reversed(days.values), strict=True))
        values = list(dict.fromkeys([None, *spans]))
        codes = np.array([values.index(span) for span in spans], np.int32).take(days.codes)
        span = EncodedColumn("on", codes, [first[value] if value is not None else None for value in values])
        found = jointly("", [*asked, table.column("reading"), table.column("method"), span], self._number)
        return np.array([-1, *found.values[1:]], np.int32).take(found.codes)

    def _changes(self, codes: tuple[str, ...] | None, activity: str | None) -> list[str]:
        if codes is None or activity is None:
            return []
        if (codes, activity) not in self._spans:
            try:
                changes = self._rulebook.changes(codes, activity)
            except UnknownJurisdictionError:
                changes = []
            self._spans[codes, activity] = changes
        return self._spans[codes, activity]

    def _number(
        self,
        codes: tuple[str, ...] | None,
        activity: str | None,
        reading: str | None,
        method: str | None,
        on: str | None,
    ) -> int | None:
        if codes is None or activity is None or on is None:
            return None
        reading = reading or READINGS[0]
        key = codes, activity, reading, method, bisect_right(self._changes(codes, activity), on)
        if key not in self._known:
            self._known[key] = self._find(codes, activity, reading, method, on)
        return self._known[key]

    def _find(self, codes: tuple[str, ...], activity: str, reading: str, method: str | None, on: str) -> int | None:
        try:
            key = (self._rulebook.likeness(codes, activity, on), activity, reading, method)
        except UnknownJurisdictionError:
            return None
        number = self._numbers.get(key)
        if number is None:
            number = self._numbers[key] = len(self.programs)
            self.programs.append(self._rulebook.program(codes, activity, on, reading, method))
        return number
