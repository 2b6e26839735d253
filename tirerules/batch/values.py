"""The columns of a table of tickets by value: each distinct value is read once, for all rows that hold it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from tirerules.batch.blocks import looked_up
from tirerules.batch.tickets import value_of
from tirerules.errors import CaseError
from tirerules.index.plain import plain_case
from tirerules.stated import INJURY, REPAIR, WHOLE

__all__ = ["Column", "Reader"]


#: A value that must be read by the full reader: because it is wrong, or because something follows from it.
_LEFT: Final = object()
_PLACE: Final = {"jurisdictions": ["US"], "activity": "road-use"}
#: From these, whatever they hold, something must be worked out first.
_WORKED_OUT: Final = frozenset(
    {"tire.size", "injuries", "method", "repairs.count", "repairs.spacing", "repairs.opposed"}
    | {f"repair.{key}" for key in ("diameter", "zone", "from_centerline", "side", "method")}
)
_OFFSET: Final = REPAIR["repair.from_centerline"]
_MOST_REMEMBERED: Final = 100_000
_MOST_LISTS: Final = 1_000


@dataclass(frozen=True, slots=True)
class Column:
    """One column: for each row the place of its value among `values`.

    Where some row is null, the last value is None, for null. `left` are the places of values that must be read by the
    full reader; here they stand as None too.
    """

    name: str
    codes: Any  #: int32 array
    values: list[Any]
    left: frozenset[int] = frozenset()
    nulls: bool = True

    def stated(self) -> Any:
        """Return for each row whether it is not null."""
        return self.codes != len(self.values) - 1 if self.nulls else np.ones(len(self.codes), bool)

    def where(self, test: Any) -> Any:
        """Return for each row whether a test holds for its value."""
        return looked_up(np.array([bool(test(value)) for value in self.values], bool), self.codes)

    def distinct(self) -> Column:
        """Return the column with each value once, where several of its values were read as the same."""
        places = {value: at for at, value in enumerate(dict.fromkeys(self.values))}
        if len(places) == len(self.values):
            return self
        codes = np.array([places[value] for value in self.values], np.int32)
        return Column(self.name, looked_up(codes, self.codes), list(places))

    def take(self, rows: Any) -> Column:
        """Return the column of some of the rows."""
        return replace(self, codes=self.codes.take(rows))


class Reader:
    """Reads columns, and remembers what it has read from one table to the next."""

    def __init__(self) -> None:
        self._known: dict[str, dict[Any, Any]] = {}
        self._lists: dict[tuple[str, tuple[Any, ...], bool], tuple[list[Any], frozenset[int]]] = {}

    def column(self, name: str, held: pa.DictionaryArray, values: list[Any]) -> Column:
        """Return a dictionary-encoded column whose dictionary holds `values`."""
        nulls = held.indices.null_count > 0
        read, left = self._values(name, tuple(values), nulls)
        indices = held.indices.cast(pa.int32())
        if nulls:
            indices = pc.fill_null(indices, len(values))
        return Column(name, indices.to_numpy(), read, left, nulls)

    def _values(self, name: str, said: tuple[Any, ...], nulls: bool) -> tuple[list[Any], frozenset[int]]:
        """Return the values read, the same list for the same values, and the places of those that are left."""
        held = self._lists.get((name, said, nulls))
        if held is None:
            if len(self._lists) > _MOST_LISTS:
                self._lists.clear()
            known = self._known.setdefault(name, {})
            if len(known) > _MOST_REMEMBERED:
                known.clear()
            for value in said:
                if value not in known:
                    known[value] = None if value is None else _read(name, value)
            read = [known[value] for value in said]
            left = frozenset(at for at, value in enumerate(read) if value is _LEFT)
            null = [None] if nulls or not said else []
            values = [*(None if value is _LEFT else value for value in read), *null]
            held = self._lists[name, said, nulls] = values, left
        return held


def _read(name: str, said: Any) -> Any:
    """Return a value as the plain reader of cases has it, or _LEFT."""
    if name in _WORKED_OUT:
        return _LEFT
    try:
        value = value_of(name, said)
    except CaseError:
        return _LEFT
    group, _, key = name.rpartition(".")
    if group == "injury":
        stated: dict[str, Any] = {"injuries": [{key: value}]}
    else:
        stated = {group: {key: value}} if group else {name: value}
    case = plain_case(_PLACE | stated)
    if case is None:
        return _LEFT
    if group:
        injuries = case.stated.injuries
        return injuries[0][INJURY[name]] if injuries else case.stated.whole[WHOLE[name]]
    if name == "earlier_repairs":
        repairs = case.stated.repairs or ()
        measured = any(repair[_OFFSET] is not None for repair in repairs)
        return _LEFT if measured or len(repairs) > 1 else case.stated.repairs
    return case.stated.findings if name == "findings" else getattr(case, name)
