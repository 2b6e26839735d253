"""What is known of the tire, of each injury, earlier repair and pair of them, for the rows that one program judges.

Mirrors `tirerules.engine.subjects` and `tirerules.engine.places` for rows whose injuries and earlier repairs were not
measured from the center line; what follows from the tire alone is among the columns already (`following`).
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tirerules.batch.encoding import EncodedColumn, EncodedItems, EncodedTable
from tirerules.batch.following import jointly, part_of, stated_else
from tirerules.batch.sheet import ClassedColumn, Part, Sheet
from tirerules.batch.words import Words
from tirerules.case.row import INJURY, REPAIR
from tirerules.engine.geometry import interval, measured
from tirerules.engine.pairs import pairs, spots
from tirerules.engine.program import Program
from tirerules.engine.tables import ABSENT, Table
from tirerules.engine.worked_out import REGROOVED_LAWFULLY
from tirerules.vocabulary import NO_HIGHWAY, Activity

__all__ = ["Shape", "sheet_of"]

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
    are recorded; `more` whether the case speaks of more repairs than it lists, `several` whether of more than one;
    `measured_zones` whether a named zone counts for nothing.
    """

    injuries: int
    repairs: int
    inspected: bool
    more: bool
    several: bool
    measured_zones: bool


class _Subjects:
    """Makes the parts of a sheet."""

    def __init__(self, program: Program, words: Words, table: EncodedTable, rows: Any, shape: Shape) -> None:
        self.program, self.words, self.table, self.rows, self.shape = program, words, table, rows, shape
        counted = shape.repairs + (shape.injuries if program.repairing else 0)
        unlisted = shape.repairs < 0 or (program.repairing and shape.injuries < 0)
        #: How many repairs the tire will carry by the lists of the case.
        self.total = None if unlisted else counted

    def sheet(self) -> Sheet:
        shape = self.shape
        # An inspection that is recorded without injuries found none; what is to be repaired must always be said.
        unknown = shape.injuries < 0 and (self.program.repairing or not shape.inspected)
        injuries = [self._item("injury", self.table.injuries, number) for number in range(shape.injuries)]
        repairs = [self._item("repair", self.table.repairs, number) for number in range(shape.repairs)]
        pairs, stated = self._pairs()
        return Sheet(
            self._part(self.program.of_tire, self._of_tire, self.program.constant),
            [self._part(self.program.of_injury, known.get, 0) for known in ([{}] if unknown else injuries)],
            [self._part(self.program.of_repair, known.get, 0) for known in ([{}] if shape.repairs < 0 else repairs)],
            pairs,
            stated,
            len(self.rows),
        )

    def _part(
        self, looks: Sequence[tuple[int, Table]], column: Callable[[str], EncodedColumn | None], constant: int
    ) -> Part:
        columns = []
        for fact, table in {**{table.fact: table for _, table in looks}, **self._unread(looks)}.items():
            found = column(fact)
            if found is None:
                found = EncodedColumn(fact, None, [None])
            columns.append(ClassedColumn(found, table, _ALIKE_BY.get(fact), len(self.rows)))
        return Part(self.words, columns, constant)

    def _unread(self, looks: Sequence[tuple[int, Table]]) -> Mapping[str, Table | None]:
        """Return what the engine's own rules read of the tire, whether a rule does or not."""
        if looks is not self.program.of_tire:
            return {}
        return {fact: self.program.tables.get(fact) for fact in _ALIKE_BY}

    # --- the tire

    def _of_tire(self, fact: str) -> EncodedColumn | None:
        if fact == "method":
            return None  # it is known of one repair at a time
        if fact == _COUNT:
            return self._default(fact, self.total)
        if fact == _SNOW and self.program.activity != Activity.ROAD_USE:
            return self._default(fact, False)
        column = self.table.whole.get(fact)
        return None if column is None else column.take(self.rows)

    def _default(self, fact: str, value: Any) -> EncodedColumn:
        """Return a column with a value where it states nothing."""
        column = self.table.whole.get(fact)
        if column is None:
            return EncodedColumn(fact, None, [value])
        return EncodedColumn(fact, column.codes.take(self.rows), [value, *column.values[1:]])

    # --- injuries and earlier repairs

    def _item(self, group: str, items: EncodedItems, number: int) -> Mapping[str, EncodedColumn]:
        """Return what is known of one item of each row, none of which was measured from the center line."""
        known = dict(items.at(self.rows, number))
        zone, reach = f"{group}.zone", f"{group}.reach"
        if self.shape.measured_zones:
            known.pop(zone, None)
        elif zone in known:
            # The technician named the zone and took no measure: there is nothing to hold against a band.
            known[reach] = EncodedColumn(reach, (known[zone].codes > 0).astype(np.int32), [None, ABSENT])
        return known

    # --- pairs of them

    def _pairs(self) -> tuple[list[Part], Callable[[Any], Any] | None]:
        """Return what is known of each pair and, last, what the case states of all; and which instances hear of that."""
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
        columns = [ClassedColumn(column, tables[fact], None, len(self.rows)) for fact, column in known.items()]
        return Part(self.words, columns, 0)

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
            both = jointly("", [around, *read], _pair_of((one, other), facts))
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
        words = self.words.planes(masks, 1)[0]
        return lambda rows: words.take(codes.take(rows), axis=1)


def _pair_of(groups: tuple[str, str], facts: Sequence[tuple[int, str]]) -> Callable[..., Any]:
    """Return what works out a pair from the tire's outside diameter and some facts, each of the first or the second."""
    layouts = [INJURY if group == "injury" else REPAIR for group in groups]

    def work(around: Any, *said: Any) -> tuple[Any, ...]:
        rows = [list[Any](layout.nothing) for layout in layouts]
        for (at, fact), value in zip(facts, said, strict=True):
            rows[at][layouts[at][fact]] = value
        listed = [[tuple(row) for group, row in zip(groups, rows, strict=True) if group == kind] for kind in _KINDS]
        (pair,) = pairs(spots(*listed), interval(around))
        spacing = None if pair.spacing is None else measured(pair.spacing)
        angle = None if pair.angle is None else measured(pair.angle, "deg")
        return spacing, angle, pair.overlap, pair.opposed

    return work


#: What the engine's own rules read of the tire: values are alike to them where this is the same.
_ALIKE_BY: Final[Mapping[str, Callable[[Any], Hashable]]] = {
    "findings": lambda found: found,
    "tire.class": lambda class_: (class_ in REGROOVED_LAWFULLY, NO_HIGHWAY.get(class_)),
}


def sheet_of(program: Program, words: Words, table: EncodedTable, rows: Any, shape: Shape) -> Sheet:
    """Return what is known of some rows (int64 array) of a completed table, all of one shape and of one program."""
    return _Subjects(program, words, table, rows, shape).sheet()
