"""What is known of the tire, of each injury, earlier repair and pair of them, for the rows that one program judges.

Mirrors `tirerules.engine.subjects` and `tirerules.engine.places` for rows whose injuries and earlier repairs were not
measured from the center line; what follows from the tire alone is among the columns already (`following`).
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tirerules.batch.encoding import EncodedColumn, EncodedItems, EncodedTable
from tirerules.batch.following import jointly, part_of, stated_else
from tirerules.batch.joint import JointColumn, joined_columns
from tirerules.batch.sheet import Part, Sheet
from tirerules.batch.words import REACH_OF, Words
from tirerules.case.row import INJURY, REPAIR
from tirerules.engine.geometry import interval, measured
from tirerules.engine.pairs import pairs, spots
from tirerules.engine.program import Program
from tirerules.engine.tables import ABSENT, Table
from tirerules.engine.worked_out import REGROOVED_LAWFULLY
from tirerules.vocabulary import NO_HIGHWAY, PAIRED, Activity

__all__ = ["Shape", "TableColumns", "sheet_of"]

_ZONE_OF: Final = {reach: zone for zone, reach in REACH_OF.items()}
_COUNT, _SNOW, _DIAMETER = "repairs.count", "road.snow_restriction", "tire.outside_diameter"
#: What a single repair cannot be to another one.
_ALONE: Final[Mapping[str, Any]] = {
    "repairs.overlap": False,
    "repairs.opposed": False,
    "repairs.spacing": ABSENT,
    "repairs.spacing_angle": ABSENT,
}
#: What follows of a pair, in the order in which `_pair` gives it.
_OF_PAIR: Final = ("repairs.spacing", "repairs.spacing_angle", "repairs.overlap", "repairs.opposed")
_KINDS: Final = ("injury", "repair")
_OF_SPOT: Final = ("clock", "zone", "side", "from_centerline", "unit_length", "unit_width")


@dataclass(frozen=True, slots=True)
class Shape:
    """What rows must share to be judged together, beside the program.

    `injuries` and `repairs` are how many are listed, -1 where the list is not recorded; `inspected` whether findings
    are recorded, where that says whether there may be an injury; `more` whether the case speaks of more repairs than it
    lists, `several` whether of more than one; `measured_zones` whether a named zone counts for nothing.
    """

    injuries: int
    repairs: int
    inspected: bool
    more: bool
    several: bool
    measured_zones: bool


class TableColumns:
    """The columns of some rows of a completed table, joined: of the tire, of each injury and of each earlier repair.

    Rows stand in `order` (int64 array), so that those that are judged together are a slice.
    """

    def __init__(
        self, table: EncodedTable, order: Any, programs: Sequence[Program], scales: Mapping[str, Table]
    ) -> None:
        self.table, self.order = table, order
        read = {_ZONE_OF.get(fact, fact) for program in programs for fact in program.tables} | set(_ALIKE_BY)
        whole = (column for fact, column in table.whole.items() if fact in read and fact not in PAIRED)
        self.tire = self._joined(whole, order, scales)
        self.injuries, self.repairs = (self._items(items, read, scales) for items in (table.injuries, table.repairs))
        #: Masks by what they depend on, for as long as the table is decided.
        self.known: dict[Any, Any] = {}

    def _items(self, items: EncodedItems, read: set[str], scales: Mapping[str, Table]) -> list[list[JointColumn]]:
        counts = items.counts.take(self.order)
        found = []
        for number in range(items.most):
            here = np.flatnonzero(counts > number)
            columns = items.at(self.order[here], number)
            spread = (_spread(column, here, len(counts)) for fact, column in columns.items() if fact in read)
            found.append(self._joined(spread, None, scales))
        return found

    def _joined(self, columns: Iterable[EncodedColumn], order: Any, scales: Mapping[str, Table]) -> list[JointColumn]:
        joint = joined_columns(columns, scales, lambda fact: fact not in _ALIKE_BY)
        return joint if order is None else [column.take(order) for column in joint]


def _spread(column: EncodedColumn, rows: Any, count: int) -> EncodedColumn:
    """Return a column of some rows as one of all of them, unknown elsewhere."""
    codes = np.zeros(count, np.int32)
    codes[rows] = column.codes
    return EncodedColumn(column.fact, codes, column.values)


class _Subjects:
    """Makes the parts of a sheet of some rows (a slice of those of `columns`)."""

    def __init__(self, program: Program, words: Words, columns: TableColumns, rows: slice, shape: Shape) -> None:
        self.program, self.words, self.columns, self.slice, self.shape = program, words, columns, rows, shape
        self.table, self.rows = columns.table, columns.order[rows]
        counted = shape.repairs + (shape.injuries if program.repairing else 0)
        unlisted = shape.repairs < 0 or (program.repairing and shape.injuries < 0)
        #: How many repairs the tire will carry by the lists of the case.
        self.total = None if unlisted else counted

    def sheet(self) -> Sheet:
        shape, program = self.shape, self.program
        # An inspection that is recorded without injuries found none; what is to be repaired must always be said.
        unknown = shape.injuries < 0 and (program.repairing or not shape.inspected)
        injuries = [[]] if unknown else self.columns.injuries[: max(shape.injuries, 0)]
        repairs = [[]] if shape.repairs < 0 else self.columns.repairs[: shape.repairs]
        pairs, stated = self._pairs()
        return Sheet(
            self._part(program.of_tire, self.columns.tire, program.constant),
            [self._part(program.of_injury, columns, 0) for columns in injuries],
            [self._part(program.of_repair, columns, 0) for columns in repairs],
            pairs,
            stated,
            len(self.rows),
        )

    def _part(self, looks: Sequence[tuple[int, Table]], columns: Sequence[JointColumn], constant: int) -> Part:
        tables = {table.fact: table for _, table in looks}
        held = {fact for column in columns for fact in column.facts}
        wanted = {_ZONE_OF.get(fact, fact) for fact in tables} - held
        constants = {fact: self._mask(fact, None, tables) for fact in sorted(wanted)}
        constants[""] = constant
        here = [column.take(self.slice) for column in columns]
        return Part(self.words, here, lambda fact, values: self._masks(fact, values, tables), self._known, constants)

    def _masks(
        self, fact: str, values: Sequence[Any], tables: Mapping[str, Table]
    ) -> tuple[Sequence[int], Sequence[Hashable]] | None:
        """Return what the values of a column do, and what else tells them apart."""
        alike = _ALIKE_BY.get(fact)
        if fact not in tables and alike is None and REACH_OF.get(fact) not in tables:
            return None
        key = (id(self.program), fact, id(values), self._known(fact, None), self.shape.measured_zones)
        found = self.columns.known.get(key)
        if found is None:
            masks = [self._mask(fact, value, tables) for value in values]
            others = [value is None if alike is None else alike(value) for value in values]
            found = self.columns.known[key] = masks, others
        return found

    def _mask(self, fact: str, value: Any, tables: Mapping[str, Table]) -> int:
        """Return what a value does, together with what follows from it."""
        value = self._known(fact, value)
        mask: int = tables[fact][value] if fact in tables else 0
        reach = tables.get(REACH_OF.get(fact, ""))
        if reach is None:
            return mask
        # Where the technician named the zone and took no measure, there is nothing to hold against a band.
        mask |= reach[None if value is None else ABSENT]
        return mask

    def _known(self, fact: str, value: Any) -> Any:
        """Return what is known where a column states a value, or None for nothing."""
        if fact == "method" or (self.shape.measured_zones and fact in REACH_OF):
            return None  # a method is known of one repair at a time
        if value is not None:
            return value
        if fact == _COUNT:
            return self.total
        return False if fact == _SNOW and self.program.activity != Activity.ROAD_USE else None

    # --- pairs of them

    def _pairs(self) -> tuple[list[Part], Callable[[Any], Any] | None]:
        """Return what is known of each pair and, last, what the case states of all; which instances hear of that."""
        program = self.program
        if not program.each_pair:
            return [], None
        stated = {fact: self._stated(fact) for fact in program.paired_tables}
        whole = self._pair_part(stated)
        if max(self.shape.injuries, 0) + max(self.shape.repairs, 0) < 2:
            return [whole], None
        found = [self._pair_part(self._with_stated(stated, known)) for known in self._known_pairs()]
        if not found or self.total is None or self.shape.more:
            found.append(whole)  # of a pair that is not listed, nothing more is known
        return [*found, whole], self._hearing(stated)

    def _stated(self, fact: str) -> EncodedColumn:
        column = self.table.whole.get(fact)
        said = EncodedColumn(fact, None, [None]) if column is None else column.take(self.rows)
        if self.total is None or self.total > 1 or self.shape.several:
            return said
        return EncodedColumn(fact, said.codes, [_ALONE[fact], *said.values[1:]])

    def _pair_part(self, known: Mapping[str, EncodedColumn]) -> Part:
        tables = self.program.paired_tables
        alike = {fact: column for fact, column in known.items() if column.codes is None or len(column.values) == 1}
        constants = {fact: tables[fact][column.values[0]] for fact, column in alike.items()}
        varying = [column for fact, column in known.items() if fact not in alike]
        joint = joined_columns(varying, {}, lambda _: False)

        def masks(fact: str, values: Sequence[Any]) -> tuple[Sequence[int], Sequence[Hashable]]:
            return [tables[fact][each] for each in values], [each is None for each in values]

        return Part(self.words, joint, masks, lambda _, value: value, constants)

    def _with_stated(
        self, stated: Mapping[str, EncodedColumn], known: Mapping[str, EncodedColumn]
    ) -> Mapping[str, EncodedColumn]:
        """Return what is known of a pair; what the case states counts before what follows from places."""
        return {
            fact: known[fact] if column.codes is None else stated_else(column, known[fact])
            for fact, column in stated.items()
        }

    def _known_pairs(self) -> Iterator[Mapping[str, EncodedColumn]]:
        """Yield what follows of each two listed injuries and earlier repairs, by fact."""
        listed = [("injury", dict(self.table.injuries.at(self.rows, at))) for at in range(self.shape.injuries)]
        listed += [("repair", dict(self.table.repairs.at(self.rows, at))) for at in range(self.shape.repairs)]
        around = self.table.column(_DIAMETER).take(self.rows)
        for (one, first), (other, second) in itertools.combinations(listed, 2):
            facts = [
                (at, f"{group}.{key}")
                for at, (group, columns) in enumerate(((one, first), (other, second)))
                for key in _OF_SPOT
                if f"{group}.{key}" in columns
            ]
            read = [(first, second)[at][fact] for at, fact in facts]
            both = jointly("", [around, *read], _pair_of((one, other), facts, self.columns.known))
            yield {fact: part_of(both, fact, at) for at, fact in enumerate(_OF_PAIR)}

    def _hearing(self, stated: Mapping[str, EncodedColumn]) -> Callable[[Any], Any]:
        """Return what gives the instances to which the case states all that they ask of pairs, by row."""
        facts = list(stated)
        known = [
            np.zeros(len(self.rows), bool) if column.codes is None and column.values[0] is None
            else np.ones(len(self.rows), bool) if column.values[0] is not None
            else column.codes > 0
            for column in stated.values()
        ]  # fmt: skip
        codes = sum((each.astype(np.int64) << at for at, each in enumerate(known)), np.zeros(len(self.rows), np.int64))
        masks = []
        for number in range(1 << len(facts)):
            held = {fact for at, fact in enumerate(facts) if number >> at & 1}
            masks.append(sum(bit for bit, asked in self.program.facts_of_pairs if held.issuperset(asked)))
        words = self.words.masks(masks)
        return lambda rows: words.take(codes.take(rows), axis=1)


def _pair_of(
    groups: tuple[str, str], facts: Sequence[tuple[int, str]], known: dict[Hashable, Any]
) -> Callable[..., Any]:
    """Return what works out a pair from the tire's outside diameter and some facts, each of the first or the second.

    What was worked out is kept in `known`.
    """
    layouts = [INJURY if group == "injury" else REPAIR for group in groups]

    def work(*said: Any) -> Any:
        key = groups, *facts, said
        if key not in known:
            known[key] = pair(*said)
        return known[key]

    def pair(around: Any, *said: Any) -> tuple[Any, ...]:
        rows = [list[Any](layout.nothing) for layout in layouts]
        for (at, fact), value in zip(facts, said, strict=True):
            rows[at][layouts[at][fact]] = value
        listed = [[tuple(row) for group, row in zip(groups, rows, strict=True) if group == kind] for kind in _KINDS]
        (found,) = pairs(spots(*listed), interval(around))
        spacing = None if found.spacing is None else measured(found.spacing)
        angle = None if found.angle is None else measured(found.angle, "deg")
        return spacing, angle, found.overlap, found.opposed

    return work


#: What the engine's own rules read of the tire: values are alike to them where this is the same.
_ALIKE_BY: Final[Mapping[str, Callable[[Any], Hashable]]] = {
    "findings": lambda found: found,
    "tire.class": lambda class_: (class_ in REGROOVED_LAWFULLY, NO_HIGHWAY.get(class_)),
}


def sheet_of(program: Program, words: Words, columns: TableColumns, rows: slice, shape: Shape) -> Sheet:
    """Return what is known of some rows, a slice of those of `columns`, all of one shape and of one program."""
    return _Subjects(program, words, columns, rows, shape).sheet()
