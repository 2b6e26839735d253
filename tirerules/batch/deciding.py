"""A table of tickets to the answer of every row: by columns where all rows of a kind can be, else one by one."""

from __future__ import annotations

from datetime import date
from typing import Any, Final

import numpy as np
import pyarrow as pa

from tirerules.batch.answers import Limits, LimitTexts, Told, answer, answer_of, asked_of
from tirerules.batch.asking import alike_when_open
from tirerules.batch.choosing import Choosing, days_of
from tirerules.batch.encoding import EncodedColumn, EncodedTable, encode
from tirerules.batch.following import completed, contradictory
from tirerules.batch.grouping import joint_groups, numbered
from tirerules.batch.joint import Scales
from tirerules.batch.judging import JudgedRows
from tirerules.batch.missing import Missing
from tirerules.batch.opened import OpenRows
from tirerules.batch.settling import settled
from tirerules.batch.single import case_rows, texts_at
from tirerules.batch.subjects import Shape, TableColumns, sheet_of
from tirerules.batch.tickets import COLUMNS, case_of
from tirerules.batch.words import Words, any_bit
from tirerules.engine.evaluator import Evaluation
from tirerules.engine.program import Program
from tirerules.errors import TirerulesError
from tirerules.rulebook import Rulebook
from tirerules.vocabulary import ZONE_EVIDENCE

__all__ = ["Deciding"]

#: So many distinct rows are judged at a time, so that their masks stay in the processor's nearer memories.
_BLOCK: Final = 1 << 13
#: What is worked out exactly, one by one.
_MEASURED: Final = ("from_centerline", "surface_diameter")


class Deciding:
    """Decides tables by one rulebook, and keeps what it has looked up of the rules."""

    def __init__(self, rulebook: Rulebook, day: date, questions: bool) -> None:
        """Hold the rulebook, the day of rows that name none, and whether questions are asked."""
        self._rulebook, self._day, self._questions = rulebook, day, questions
        self._choosing = Choosing(rulebook)
        self._held: dict[int, _Held] = {}
        self._scales = Scales()

    def decide(self, flat: pa.Table, told: Told) -> tuple[Any, Any]:
        """Return for every row the place of its answer among `told`, and the bits of its questions (int64 arrays)."""
        places, questions = np.zeros(flat.num_rows, np.int64), np.zeros(flat.num_rows, np.int64)
        if not flat.num_rows:
            return places, questions
        table = encode(flat)
        days = days_of(table, self._day)
        numbers = self._choosing.numbers(table, days)
        alone = table.refused | (numbers < 0) | contradictory(table, days)
        self._read_alone(flat, np.flatnonzero(alone), told, places, questions)
        special = _special(table) & ~alone
        self._evaluate(table, days, numbers, np.flatnonzero(special), told, places, questions)
        rows = np.flatnonzero(~alone & ~special)
        whole = completed(table, days)
        programs = self._choosing.programs
        order, shapes = _shapes(whole, numbers, rows, programs)
        columns = TableColumns(
            whole, order, [programs[number] for number in {each for each, _, _ in shapes}], self._scales.of(programs)
        )
        for number, shape, some in shapes:
            self._by_columns(number, columns, days, shape, some, told, places, questions)
        return places, questions

    # --- one by one

    def _read_alone(self, flat: pa.Table, rows: Any, told: Told, places: Any, questions: Any) -> None:
        """Decide rows by the reader of cases, which says what is wrong with them."""
        if not len(rows):
            return
        texts = texts_at(flat, [name for name in COLUMNS if name in flat.column_names], rows)
        first, groups = joint_groups([(codes, len(values)) for codes, values in texts.values()])
        found = []
        for at in first.tolist():
            said = {name: values[codes[at]] for name, (codes, values) in texts.items()}
            row = {name: value for name, value in said.items() if value is not None}
            try:
                evaluation = self._rulebook.decide({"on": self._day.isoformat(), **case_of(row)}).evaluation
                found.append((told.place(answer_of(evaluation)), asked_of(evaluation) if self._questions else 0))
            except TirerulesError as error:
                found.append((told.place(str(error)), 0))
        places[rows], questions[rows] = np.array(found, np.int64)[groups].T

    def _evaluate(
        self, table: EncodedTable, days: EncodedColumn, numbers: Any, rows: Any, told: Told, places: Any, questions: Any
    ) -> None:
        """Decide rows by the evaluator, each by itself; of equal rows one."""
        if not len(rows):
            return
        first, groups, cases = case_rows(table, days, rows)
        found = []
        for at, case in zip(first.tolist(), cases, strict=True):
            evaluation = Evaluation(self._choosing.programs[numbers[rows[at]]], case)
            found.append((told.place(answer_of(evaluation)), asked_of(evaluation) if self._questions else 0))
        places[rows], questions[rows] = np.array(found, np.int64)[groups].T

    # --- by columns

    def _by_columns(
        self,
        number: int,
        columns: TableColumns,
        days: EncodedColumn,
        shape: Shape,
        some: slice,
        told: Told,
        places: Any,
        questions: Any,
    ) -> None:
        """Decide rows of one program and one shape."""
        if number not in self._held:
            self._held[number] = _Held(self._choosing.programs[number])
        held, rows = self._held[number], columns.order[some]
        program, words = held.program, held.words
        sheet = sheet_of(program, words, columns, some, shape)
        found, asked = np.zeros(len(sheet.rows), np.int64), np.zeros(len(sheet.rows), np.int64)
        for start in range(0, len(sheet.rows), _BLOCK):
            block = slice(start, start + _BLOCK)
            judged = JudgedRows(
                program, words, sheet, sheet.rows[block], hurt=shape.injuries >= 0, listed=shape.repairs >= 0
            )
            found[block] = held.placed(judged, told)
            if self._questions:
                asked[block] = self._asked(judged, held, columns, days, shape, rows)
        places[rows], questions[rows] = found[sheet.groups], asked[sheet.groups]

    def _asked(
        self, judged: JudgedRows, held: _Held, columns: TableColumns, days: EncodedColumn, shape: Shape, rows: Any
    ) -> Any:
        """Return the bits of the questions of judged rows: by masks, or else of one of those that are alike."""
        asked = np.zeros(len(judged.rows), np.int64)
        opened = OpenRows(judged, rows)
        missing = held.missing(shape)
        by_masks = np.zeros(len(opened.rows), bool)
        if missing is not None:
            by_masks = ~_slow(opened, missing, columns.table)
            some = opened if by_masks.all() else OpenRows(judged, rows, by_masks)
            found = settled(some, columns.table, missing, columns.known)
            if found is None:
                by_masks[:] = False
            else:
                asked[some.open] = found
        if not by_masks.all():
            rest = OpenRows(judged, rows, ~by_masks)
            first, groups = alike_when_open(rest, columns.table)
            _, like, cases = case_rows(columns.table, days, rest.whole[first])
            bits = [asked_of(Evaluation(judged.program, case)) for case in cases]
            asked[rest.open] = np.array(bits, np.int64)[like][groups]
        return asked


def _slow(opened: OpenRows, missing: Missing, table: EncodedTable) -> Any:
    """Return the rows whose questions are not told by masks (bool array)."""
    slow = np.zeros(len(opened.rows), bool)
    for _, unsure in opened.looks():
        slow |= any_bit(unsure & missing.slow)
    if len(opened.judged.sheet.pairs) > 1:  # what is asked in the place of a spacing depends on which place is known
        for items, fact in ((table.injuries, "injury.clock"), (table.repairs, "repair.clock")):
            if fact in items.columns:
                stated = np.zeros(table.count, bool)
                stated[items.rows[items.columns[fact].codes > 0]] = True
                slow |= stated[opened.whole]
    return slow


class _Held:
    """A program with what is kept of it from one table to the next: functions of its rules.

    `limits` are the texts of the strictest limits on size and on tread by the words of the limits that surely apply.
    """

    def __init__(self, program: Program) -> None:
        self.program, self.words, self._texts = program, Words(program), LimitTexts(program)
        self._limits: dict[tuple[int, ...], tuple[Limits, Limits]] = {}
        self._missing: dict[Any, Missing] = {}

    def missing(self, shape: Shape) -> Missing | None:
        """Return what could settle open instances, by masks; None where there may be pairs that nobody lists."""
        if shape.more:
            return None
        key = shape.injuries, shape.repairs, shape.inspected, shape.measured_zones
        if key not in self._missing:
            self._missing[key] = Missing(self.program, self.words, *key)
        return self._missing[key]

    def limits(self, limited: tuple[int, ...]) -> tuple[Limits, Limits]:
        found = self._limits.get(limited)
        if found is None:
            if len(self._limits) >= LimitTexts.BOUND:
                self._limits.clear()
            limiting, words = self.words.number(limited), self.words
            size, tread = (self._texts.of(limiting & on) for on in (words.on_size, words.on_tread))
            found = self._limits[limited] = size, tread
        return found

    def placed(self, judged: JudgedRows, told: Told) -> Any:
        """Return the places of the answers to judged rows."""
        program = self.program
        limited = [numbered(np.ascontiguousarray(each)) for each in judged.limited if each.any()]
        methods, rules = (*program.methods, None), (*program.rules, None)  # the number -1 picks the last
        keys = [(judged.verdict, 3), (judged.leading + 1, len(methods)), (judged.failing + 1, len(rules))]
        first, groups = joint_groups([*keys, *limited])
        parts = (each[first].tolist() for each in (judged.verdict, judged.leading, judged.failing))
        places = [
            told.place(answer(verdict, methods[leading], *self.limits(tuple(words)), rules[failing]))
            for verdict, leading, failing, words in zip(*parts, judged.limited[:, first].T.tolist(), strict=True)
        ]
        return np.array(places, np.int64)[groups]


def _special(table: EncodedTable) -> Any:
    """Return the rows whose answers rest on grids of readings, on rated units or on measures of places (bool array)."""
    special = np.zeros(table.count, bool)
    for fact in ("tire.tread_grid", "repair_unit.method"):
        if fact in table.whole:
            special |= table.whole[fact].codes > 0
    for items in (table.injuries, table.repairs):
        for fact, column in items.columns.items():
            if fact.rpartition(".")[2] in _MEASURED:
                special[items.rows[column.codes > 0]] = True
    return special


def _shapes(
    table: EncodedTable, numbers: Any, rows: Any, programs: list[Program]
) -> tuple[Any, list[tuple[int, Shape, slice]]]:
    """Return rows so ordered that those of one program and shape are a slice; the program's number and the shape."""
    if not len(rows):
        return rows, []
    injuries, repairs = (items.counts.take(rows) for items in (table.injuries, table.repairs))
    number = numbers.take(rows)
    repairing = np.array([program.repairing for program in programs], bool).take(number)
    total = np.maximum(repairs, 0) + np.where(repairing, np.maximum(injuries, 0), 0)
    unlisted = (repairs < 0) | (repairing & (injuries < 0))
    counts = table.column("repairs.count")
    stated = np.array([0 if value is None else value for value in counts.values], np.int64).take(
        counts.codes.take(rows)
    )
    zones = table.column("zones")
    measured = np.array([value not in (None, ZONE_EVIDENCE[0]) for value in zones.values], bool).take(
        zones.codes.take(rows)
    )
    parts = [
        (number, len(programs)),
        (injuries + 1, int(injuries.max()) + 2),
        (repairs + 1, int(repairs.max()) + 2),
        (repairing | (injuries >= 0) | (table.column("findings").codes.take(rows) > 0), 2),
        ((stated > total) & ~unlisted, 2),
        ((stated > 1) & ~unlisted, 2),
        (measured, 2),
    ]
    first, groups = joint_groups(parts)
    few = len(first) <= np.iinfo(np.uint16).max  # of small numbers, sorting takes no comparison
    order = np.argsort(groups.astype(np.uint16) if few else groups, kind="stable")
    ends = np.cumsum(np.bincount(groups, minlength=len(first))).tolist()
    shapes = []
    for at, start, end in zip(first.tolist(), [0, *ends], ends, strict=False):
        of, *shape = (codes[at].item() for codes, _ in parts)
        shapes.append((of, Shape(shape[0] - 1, shape[1] - 1, *shape[2:]), slice(start, end)))
    return rows[order], shapes
