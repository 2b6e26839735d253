"""Which plan answers for each row: that of its places, its activity, its reading, and the span in which its day lies.

A span lies between two changes of law. Plans with the same rules are one: most places have no rules of their own. Of a
plan with more rules than a word has bits, rows whose class is known get the rules on tires of that class.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

import numpy as np

from tirerules.batch.blocks import looked_up
from tirerules.batch.facets import column_of
from tirerules.batch.grouping import combined, dense
from tirerules.batch.planned import MOST_RULES, Planned
from tirerules.batch.values import Column
from tirerules.errors import TirerulesError
from tirerules.index.plain import READINGS
from tirerules.index.plan import Plan
from tirerules.rulebook import Rulebook

__all__ = ["Plans"]

_COLUMNS: Final = ("jurisdictions", "activity", "reading", "tire.class", "on")
#: Places, activity, reading and class of tire; None for what is unknown, or what only the full reader reads or refuses.
_Said = tuple[tuple[str, ...] | None, str | None, str | None, str | None]


@dataclass(frozen=True, slots=True)
class _Spans:
    """The spans of days for some combinations of places, activity, reading and class."""

    key: tuple[Any, ...]
    held: tuple[Any, ...]  #: the values, kept so that their identity, which is in the key, is not given to others
    said: Sequence[_Said]  #: the combinations
    by_day: Any  #: the span of each day (int32 array)
    days: Mapping[int, str]  #: one day of each span; any stands for all
    count: int  #: how many spans there may be


class Plans:
    """Finds the plans of rows, and remembers them; most tables ask for those that the last one asked for."""

    def __init__(self, rulebook: Rulebook, day: date) -> None:
        """Hold the rulebook, and the day of rows that name none."""
        self._rulebook, self._day = rulebook, day.isoformat()
        self._by_number: list[Planned] = []
        self._by_rules: dict[Any, Planned] = {}
        self._by_plan: dict[int, tuple[Plan, Planned]] = {}
        self._changes: dict[tuple[tuple[str, ...], str], list[str] | None] = {}
        self._spans: _Spans | None = None
        self._found: tuple[_Spans, bytes, tuple[Planned, ...], Any] | None = None

    def __getitem__(self, number: int) -> Planned:
        """Return a plan by its number."""
        return self._by_number[number]

    @property
    def remembered(self) -> int:
        """How much is remembered."""
        return len(self._changes) + sum(each.remembered for each in self._by_number)

    def of(self, columns: Mapping[str, Column], count: int) -> tuple[tuple[Planned, ...], Any]:
        """Return the plans of rows, and for each row the place of its own among them (int32 array).

        -1 stands for rows without a plan, and for those whose plan is too large for bits.
        """
        *said, days = (column_of(columns, name, count).distinct() for name in _COLUMNS)
        asked, group = dense(*combined([(column.codes, len(column.values)) for column in said]))
        spans = self._spans_of(said, days, asked)
        by_row = looked_up(spans.by_day, days.codes)
        asked, group = dense(*combined([(group, len(asked)), (by_row, spans.count)]))
        plans, places = self._plans_of(spans, asked)
        return plans, looked_up(places, group)

    def _spans_of(self, said: Sequence[Column], days: Column, asked: Any) -> _Spans:
        """Return the spans for the combinations of what is said that are asked for, by their joint codes."""
        values = tuple(column.values for column in (*said, days))
        key = (*map(id, values), asked.tobytes())
        if self._spans is None or self._spans.key != key:
            places, activities, readings, classes = (
                [column.values[at] for at in codes]
                for column, codes in zip(
                    said, np.unravel_index(asked, [len(column.values) for column in said]), strict=True
                )
            )
            combinations = list(zip(places, activities, readings, classes, strict=True))
            named = {(codes, activity) for codes, activity, *_ in combinations if codes and activity}
            changes = sorted({day for each in named for day in self._changes_of(*each) or ()})
            # Days are compared as text: each is written YYYY-MM-DD.
            written = [day or self._day for day in days.values]
            by_day = [bisect_right(changes, day) for day in written]
            self._spans = _Spans(
                key=key,
                held=values,
                said=combinations,
                by_day=np.array(by_day, np.int32),
                days=dict(zip(by_day, written, strict=True)),
                count=len(changes) + 1,
            )
        return self._spans

    def _plans_of(self, spans: _Spans, asked: Any) -> tuple[tuple[Planned, ...], Any]:
        """Return the plans of combinations and spans, which are given by their joint codes, and the place of each."""
        key = asked.tobytes()
        if self._found is None or self._found[0] is not spans or self._found[1] != key:
            every = [self._plan(spans.said[at // spans.count], spans.days[at % spans.count]) for at in asked.tolist()]
            plans = dict.fromkeys(each for each in every if each is not None)
            places = dict(zip(plans, range(len(plans)), strict=True))
            found = np.array([-1 if each is None else places[each] for each in every], np.int32)
            self._found = spans, key, tuple(plans), found
        return self._found[2:]

    def _changes_of(self, codes: tuple[str, ...], activity: str) -> list[str] | None:
        """Return the days on which some rule starts or ends; None where the full reader must say why there is none."""
        if (codes, activity) not in self._changes:
            try:
                self._changes[codes, activity] = self._rulebook.changes(codes, activity)
            except TirerulesError:
                self._changes[codes, activity] = None
        return self._changes[codes, activity]

    def _plan(self, said: _Said, day: str) -> Planned | None:
        codes, activity, reading, class_ = said
        if not codes or not activity or self._changes_of(codes, activity) is None:
            return None
        plan = self._rulebook.plan(codes, activity, reading or READINGS[0], day)
        if class_ is not None and plan.limiting.bit_length() > MOST_RULES:
            plan = plan.of_class(class_)
        if id(plan) not in self._by_plan:
            # The plan is kept, so that its identity is not given to another.
            self._by_plan[id(plan)] = plan, self._planned(plan)
        planned = self._by_plan[id(plan)][1]
        return planned if planned.usable else None

    def _planned(self, plan: Plan) -> Planned:
        """Return the first plan that was met with the same rules."""
        guards = tuple(sorted(plan.tread_guards.values()))
        key = (plan.names, plan.activity, plan.reading, guards, plan.unreviewed)
        if key not in self._by_rules:
            self._by_rules[key] = Planned(plan, self._rulebook.rules_of(plan), len(self._by_number))
            self._by_number.append(self._by_rules[key])
        return self._by_rules[key]
