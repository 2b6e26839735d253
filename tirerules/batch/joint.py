"""Columns of a table joined into few: each row costs one look for several facts, whichever program judges it.

A number counts only by where it stands among the bounds that rules name, so all figures between two bounds are one
value here (`_placed`). Columns of few values are then multiplied out, as digits of one number:

    tire.class (5) x tire.retread (3) x axle.steer (3)  ->  one code below 45 for each row
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, Final

import numpy as np

from tirerules.batch.encoding import EncodedColumn
from tirerules.engine.program import Program
from tirerules.engine.tables import Table

__all__ = ["JointColumn", "Scales", "joined_columns"]

#: Joint columns have at most so many codes, unless a single column has more.
_MOST_CODES: Final = 4096
#: Columns of no more values than this are left as they are.
_FEW: Final = 8


class JointColumn:
    """Several columns as one: `codes` (int array) by row, the values of each column; the last digit counts fastest."""

    __slots__ = ("codes", "facts", "values")

    def __init__(self, facts: Sequence[str], codes: Any, values: Sequence[Sequence[Any]]) -> None:
        self.facts, self.codes, self.values = facts, codes, values

    def take(self, rows: Any) -> JointColumn:
        """Return the joint column of some rows: of a slice, or by their places."""
        codes = self.codes[rows] if isinstance(rows, slice) else self.codes.take(rows)
        return JointColumn(self.facts, codes, self.values)


class Scales:
    """For each fact that is a number, one lookup table with the bounds of all programs: where figures stand.

    INVARIANT: figures at the same place have the same mask in every program that was given.
    """

    def __init__(self) -> None:
        self._scales: dict[str, Table] = {}
        self._seen = 0

    def of(self, programs: Sequence[Program]) -> Mapping[str, Table]:
        """Return the scales of programs, of which those that were given before come first."""
        if len(programs) > self._seen:
            readers: dict[str, dict[tuple[Any, ...], Any]] = {}
            for program in programs:
                for fact, table in program.tables.items():
                    if table.number:
                        for reader in table.readers:
                            if reader.test is not None:
                                readers.setdefault(fact, {})[reader.test.ceiling, reader.test.floor] = reader
            self._scales = {fact: Table(fact, True, found.values()) for fact, found in readers.items()}
            self._seen = len(programs)
        return self._scales


def _placed(column: EncodedColumn, scale: Table | None) -> tuple[Any, list[Any]]:
    """Return a code for each value of a column, the same for all that no rule tells apart, and a value by code."""
    if scale is None or len(column.values) <= _FEW:
        return None, list(column.values)
    found: dict[Any, int] = {}
    codes, values = list[int](), list[Any]()
    for value in column.values:
        key: Any = value
        if value is not None:
            key = scale.scale[value]
        code = found.setdefault(key, len(found))
        if code == len(values):
            values.append(value)
        codes.append(code)
    return np.array(codes, np.int32), values


def joined_columns(
    columns: Iterable[EncodedColumn], scales: Mapping[str, Table], merge: Callable[[str], bool]
) -> list[JointColumn]:
    """Return columns joined, each with a code for every row; `merge` says of which facts figures may be merged."""
    placed = [
        (column, *_placed(column, scales.get(column.fact) if merge(column.fact) else None))
        for column in columns
        if len(column.values) > 1
    ]
    joint: list[list[tuple[EncodedColumn, Any, list[Any]]]] = []
    sizes: list[int] = []
    for each in sorted(placed, key=lambda found: -len(found[2])):
        for at, size in enumerate(sizes):
            if size * len(each[2]) <= _MOST_CODES:
                joint[at].append(each)
                sizes[at] *= len(each[2])
                break
        else:
            joint.append([each])
            sizes.append(len(each[2]))
    return [_joint(several, size) for several, size in zip(joint, sizes, strict=True)]


def _joint(several: Sequence[tuple[EncodedColumn, Any, list[Any]]], size: int) -> JointColumn:
    kind = np.int16 if size <= np.iinfo(np.int16).max else np.int32
    codes: Any = None
    step = size
    for column, placed, values in several:
        step //= len(values)
        digits = ((np.arange(len(values)) if placed is None else placed) * step).astype(kind)
        own = digits.take(column.codes)
        codes = own if codes is None else np.add(codes, own, out=codes)
    return JointColumn([column.fact for column, _, _ in several], codes, [values for _, _, values in several])
