"""Columns of facts that follow from other columns where a row does not state them, by `tirerules.worked_out`.

Every distinct combination of the columns that a fact follows from is completed once. The result is a lookup table from
combination to value; it is kept by the values of its columns, so that tables with the same values share it.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from typing import Any, Final

import numpy as np

from tirerules.batch.blocks import looked_up
from tirerules.batch.facets import column_of
from tirerules.batch.grouping import combined, dense
from tirerules.batch.values import Column
from tirerules.worked_out import CARRIER, CARRIER_FACTS, REGROOVED, carrier, heavy, regrooved

__all__ = ["Completing"]

_GVWR: Final = "vehicle.gvwr"
_GROOVE_FACTS: Final = (REGROOVED, "tire.class", "findings")
_MOST_KEPT: Final = 1_000


def _carrier(*vehicle: Any) -> Any:
    """Return whether the carrier rules bind; where that is not known, the name of the fact to ask for."""
    binds, asked = carrier(*vehicle)
    return asked if binds is None else binds


class Completing:
    """Completes the columns of tables."""

    def __init__(self) -> None:
        #: The completed values, and for each combination of values the place of its own: by fact and by those values.
        self._known: dict[tuple[Hashable, ...], tuple[list[Any], Any, Any]] = {}

    def of(self, columns: Mapping[str, Column], count: int) -> Mapping[str, Column]:
        """Return the columns with those that follow from them.

        Where it is not known whether the carrier rules bind, the value is the name of the fact to ask for.
        """
        found = dict(columns)
        if any(fact in columns for fact in CARRIER_FACTS):
            vehicle = [column_of(columns, fact, count) for fact in CARRIER_FACTS]
            vehicle[CARRIER_FACTS.index(_GVWR)] = _by_weight(column_of(columns, _GVWR, count))
            found[CARRIER] = self._column(CARRIER, vehicle, _carrier)
        if any(fact in columns for fact in _GROOVE_FACTS):
            found[REGROOVED] = self._column(
                REGROOVED, [column_of(columns, fact, count) for fact in _GROOVE_FACTS], regrooved
            )
        return found

    def _column(self, name: str, said: Sequence[Column], complete: Callable[..., Any]) -> Column:
        joint, group = dense(*combined([(column.codes, len(column.values)) for column in said]))
        key = (name, *(tuple(column.values) for column in said), joint.tobytes())
        if key not in self._known:
            if len(self._known) > _MOST_KEPT:
                self._known.clear()
            places = np.unravel_index(joint, [len(column.values) for column in said])
            each = zip(
                *([column.values[at] for at in at_] for column, at_ in zip(said, places, strict=True)), strict=True
            )
            completed = [complete(*row) for row in each]
            values = list(dict.fromkeys(completed))
            self._known[key] = values, np.array([values.index(value) for value in completed], np.int32), joint
        values, table, _ = self._known[key]
        return Column(name, looked_up(table, group), values, nulls=False)


def _by_weight(gvwr: Column) -> Column:
    """Return the column of weights with one weight for all that tell the same of a vehicle."""
    tells = [None if value is None else (heavy(value),) for value in gvwr.values]
    like = {told: gvwr.values[at] for at, told in reversed(list(enumerate(tells)))}
    values = list(like.values())
    codes = np.array([list(like).index(told) for told in tells], np.int32)
    return Column(gvwr.name, looked_up(codes, gvwr.codes), values, nulls=False)
