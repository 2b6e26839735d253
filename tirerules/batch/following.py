"""What follows from several columns together: worked out once for each combination of values that occurs.

The facts are those that `tirerules.engine.worked_out` and `tirerules.engine.places` work out for one case, and the
contradictions those that `tirerules.case.checks` finds in one; here they are asked of combinations.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

import numpy as np

from tirerules.batch.encoding import EncodedColumn, EncodedTable
from tirerules.batch.grouping import joint_groups
from tirerules.batch.single import bare_case
from tirerules.case.checks import contradictions
from tirerules.case.row import TIRE
from tirerules.engine.worked_out import CARRIER, REGROOVED, carrier, regrooved, sidewall
from tirerules.vocabulary import FACTS, Activity

__all__ = ["ASKED", "completed", "contradictory", "jointly", "part_of", "stated_else"]

#: A column beside the facts: which fact to ask for where it is not known whether the carrier rules bind.
ASKED: Final = "carrier asked"
_SIZE, _DATE_CODE, _AGE = "tire.size", "tire.date_code", "tire.age"
_ON_SIDEWALL: Final = tuple(fact.name for fact in FACTS.values() if fact.follows_from == (_SIZE,))
_CRACKS: Final = ("findings", "tire.crack_depth", "tire.cracks_reach_plies")


def jointly(fact: str, columns: Sequence[EncodedColumn], work: Callable[..., Any]) -> EncodedColumn:
    """Return the column of what `work` makes of each combination of the columns' values that occurs."""
    first, groups = joint_groups([(column.codes, len(column.values)) for column in columns])
    each = [map(column.values.__getitem__, column.codes.take(first).tolist()) for column in columns]
    found = [work(*row) for row in zip(*each, strict=True)]
    values = {None: 0}
    codes = np.array([values.setdefault(value, len(values)) for value in found], np.int32)
    return EncodedColumn(fact, codes.take(groups), list(values))


def stated_else(stated: EncodedColumn, other: EncodedColumn) -> EncodedColumn:
    """Return a column with what `other` says where the first states nothing."""
    codes = np.where(stated.codes > 0, stated.codes, np.where(other.codes > 0, other.codes + len(stated.values) - 1, 0))
    return EncodedColumn(stated.fact, codes.astype(np.int32), [*stated.values, *other.values[1:]])


def completed(table: EncodedTable, days: EncodedColumn) -> EncodedTable:
    """Return a table with what follows from its columns of the tire and its vehicle; `days` has the day of each row."""
    whole = dict(table.whole)
    for fact, by_size in _printed(table).items():
        whole[fact] = stated_else(table.column(fact), by_size)
    if _DATE_CODE in whole:
        age = jointly(_AGE, [whole[_DATE_CODE], days], _age)
        whole[_AGE] = stated_else(table.column(_AGE), age)
    vehicle = [table.column(fact) for fact in (*FACTS[CARRIER].follows_from, CARRIER)]
    both = jointly(CARRIER, vehicle, carrier)
    for at, name in enumerate((CARRIER, ASKED)):
        whole[name] = part_of(both, name, at)
    grooves = [table.column(fact) for fact in (REGROOVED, "tire.class", "findings")]
    whole[REGROOVED] = jointly(REGROOVED, grooves, regrooved)
    return replace(table, whole=whole)


def part_of(pairs: EncodedColumn, name: str, at: int) -> EncodedColumn:
    """Return one part of a column of pairs."""
    values = {None: 0}
    codes = [0, *(values.setdefault(pair[at], len(values)) for pair in pairs.values[1:])]
    return EncodedColumn(name, np.array(codes, np.int32).take(pairs.codes), list(values))


def _printed(table: EncodedTable) -> Mapping[str, EncodedColumn]:
    """Return what size designations say, by fact; each designation is read once."""
    if _SIZE not in table.whole:
        return {}
    sizes = table.whole[_SIZE]
    rows = [_on_tire(_SIZE, text, None) for text in sizes.values]
    found = {}
    for fact in _ON_SIDEWALL:
        values = {None: 0}
        codes = [values.setdefault(row[TIRE[fact]], len(values)) for row in rows]
        found[fact] = EncodedColumn(fact, np.array(codes, np.int32).take(sizes.codes), list(values))
    return found


def _on_tire(fact: str, text: str | None, on: str | None) -> list[Any]:
    """Return the row of a tire of which only one thing on its sidewall is stated, with what that says."""
    tire: list[Any] = [None] * len(TIRE)
    tire[TIRE[fact]] = text
    sidewall(tire, on)
    return tire


def _age(date_code: str | None, on: str | None) -> Any:
    if date_code is None or next(_wrong({_DATE_CODE: date_code}, on=on), None) is not None:
        return None  # the row is set aside
    return _on_tire(_DATE_CODE, date_code, on)[TIRE[_AGE]]


# --- what cannot be


def contradictory(table: EncodedTable, days: EncodedColumn) -> Any:
    """Return the rows that contradict themselves (bool array)."""
    found = np.zeros(table.count, bool)
    for columns, ask in _suspects(table, days):
        found |= jointly("contradiction", columns, ask).codes > 0
    return found


def _suspects(table: EncodedTable, days: EncodedColumn) -> Iterator[tuple[list[EncodedColumn], Callable[..., Any]]]:
    """Yield columns that may contradict each other, and what finds it out: something of a contradiction, else None."""
    whole = table.whole
    both = (table.injuries, table.repairs)
    lists = [EncodedColumn("", items.counts + 1, range(-1, items.most + 1)) for items in both]
    yield [table.column("activity"), table.column("repairs.count"), *lists], _miscounted
    if any(fact in whole for fact in _CRACKS[1:]):
        yield [table.column(fact) for fact in _CRACKS], lambda *said: _any(dict(zip(_CRACKS, said, strict=True)))
    if _DATE_CODE in whole:
        yield [whole[_DATE_CODE], days], lambda code, on: _any({_DATE_CODE: code}, on=on)
    for fact, printed in _printed(table).items():
        if fact in whole:
            # Sizes that print the same contradict the same: one designation stands for all of them.
            yield (
                [_examples(whole[_SIZE], printed), whole[fact]],
                lambda size, said, fact=fact: _any({_SIZE: size, fact: said}),
            )


def _examples(sizes: EncodedColumn, printed: EncodedColumn) -> EncodedColumn:
    """Return a column of sizes with one designation for all that print the same."""
    example: list[Any] = [None] * len(printed.values)
    occur, rows = np.unique(printed.codes, return_index=True)
    for code, size in zip(occur.tolist(), sizes.codes.take(rows).tolist(), strict=True):
        example[code] = sizes.values[size]
    return EncodedColumn(_SIZE, printed.codes, example)


def _miscounted(activity: str | None, count: int | None, injuries: int, repairs: int) -> Any:
    return _any({"repairs.count": count}, activity=activity or "", injuries=injuries, repairs=repairs)


def _any(said: Mapping[str, Any], **rest: Any) -> Any:
    """Return something where a case that says so contradicts itself, else None."""
    return None if next(_wrong(said, **rest), None) is None else True


def _wrong(
    said: Mapping[str, Any], *, on: str | None = None, activity: str = "", injuries: int = -1, repairs: int = -1
) -> Iterator[Any]:
    return contradictions(bare_case(("US",), activity or Activity.INSPECTION, said, injuries, repairs, on=on))
