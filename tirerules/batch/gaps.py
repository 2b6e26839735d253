"""The engine's own rules over arrays: on which rows nothing that limits, judges or was read speaks to the case.

Mirrors `tirerules.engine.own_rules`, whose `covered` and `recorded` are asked once for each combination of what they
depend on.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np

from tirerules.batch.grouping import joint_groups, numbered
from tirerules.batch.sheet import Part
from tirerules.batch.words import any_bit
from tirerules.engine.kernel import bits_of
from tirerules.engine.own_rules import covered, recorded
from tirerules.engine.tables import holds

if TYPE_CHECKING:
    from tirerules.batch.judging import JudgedRows
    from tirerules.packs.rule import Condition

__all__ = ["Gap", "GapsOfRows"]


class Gap:
    """On which rows there is a gap (bool array), and there the limits that may apply (words), to which subject."""

    __slots__ = ("any", "injury", "limits", "repair")

    def __init__(self, any_: Any, limits: Any, injury: int | None = None, repair: int | None = None) -> None:
        self.any, self.limits, self.injury, self.repair = any_, limits, injury, repair


class GapsOfRows:
    """The gaps of rows: whether there is one of the tire, of each injury, and of each injury (from 0) by each method.

    `located` has every gap of a missing limit; `of_method` is by injury and method.
    """

    def __init__(self, judged: JudgedRows) -> None:
        self._judged, self._program = judged, judged.program
        program = judged.program
        nobody = np.zeros(len(judged.rows), bool)
        self.located = [*self._repairs(), *self._tread()]
        self.of_tire = nobody | bool(program.unreviewed) | self._unspoken()
        for each in self.located:
            self.of_tire |= each.any
        #: An injury that is not repaired leaves it open, recorded or not.
        self.of_injury = nobody | (not program.repairing)
        self.of_method = {
            (number, method): self._size(number, method)
            for number in range(len(judged.sheet.injuries))
            for method in program.methods
        }

    def _unspoken(self) -> Any:
        """Return the rows on which something is recorded that no rule judges which may apply."""
        judged, program = self._judged, self._program
        gap = np.zeros(len(judged.rows), bool)
        (found, recordings), (class_, classes) = (
            judged.sheet.tire.codes(fact, judged.rows) for fact in ("findings", "tire.class")
        )
        both = found * len(classes) + class_
        for number in np.flatnonzero(np.bincount(both)).tolist():
            words = recorded(program, recordings[number // len(classes)], classes[number % len(classes)])
            here = np.flatnonzero(both == number) if words else None
            for word in words:
                judging = judged.words.mask(program.judging.get(word, 0))
                gap[here] |= ~any_bit(judged.relevant[:, here] & judging)
        return gap

    def _repairs(self) -> list[Gap]:
        judged, program = self._judged, self._program
        if not program.judges_repairs or not judged.listed:
            return []
        gaps = []
        guards = judged.words.mask(program.repair_guards)
        for number, part in enumerate(judged.sheet.repairs):
            planes = judged.tire if not judged.repairs else judged.tire | judged.repairs[number]
            relevant = guards & ~planes[0]
            subject = _Subject(judged.sheet.tire, None, part, None)
            gap = self._unlimited(program.repair_guards, relevant & ~planes[1], relevant, subject)
            gap.repair = number
            gaps.append(gap)
        return gaps

    def _tread(self) -> list[Gap]:
        judged, program = self._judged, self._program
        if program.repairing:
            return []
        known = _Subject(judged.sheet.tire, None, None, None)
        return [
            self._unlimited(guards, judged.sure, judged.relevant, known)
            for guards in dict.fromkeys(program.tread_guards.values())
        ]

    def _size(self, number: int, method: str) -> Gap:
        judged, program = self._judged, self._program
        guards = program.size_guards[method]
        of = judged.judged[number]
        gap = self._unlimited(
            guards, of.sure, of.relevant, _Subject(judged.sheet.tire, judged.sheet.injuries[number], None, method)
        )
        gap.injury = number
        return gap

    def _unlimited(self, guards: int, sure: Any, relevant: Any, subject: _Subject) -> Gap:
        """Find the rows on which no limit surely applies, nor one of several whatever unknown words turn out to be."""
        judged, program, words = self._judged, self._program, self._judged.words
        mask = words.mask(guards)
        gap = ~any_bit(sure & mask)
        limits = np.where(gap, relevant & mask, np.uint64(0))
        waiting = np.flatnonzero(any_bit(limits))
        if len(waiting):
            rows = judged.rows.take(waiting)
            tests = [test for place in bits_of(guards) for test in program.instances[place].tests]
            # What is known of the conditions decides it: of rows of which the same is known, one is asked about.
            keys = [numbered(np.ascontiguousarray(each)) for each in limits[:, waiting]]
            known = [
                subject.statuses(fact, [condition for each, condition in tests if each == fact], rows)
                for fact in dict.fromkeys(fact for fact, _ in tests)
            ]
            first, groups = joint_groups([*keys, *((codes, len(found)) for codes, found in known)])
            answers = []
            for at in first.tolist():
                some = tuple(limits[:, waiting[at]].tolist())
                key = (guards, some, *(found[codes[at]] for codes, found in known))
                if key not in words.covered:
                    if len(words.covered) >= words.BOUND:
                        words.covered.clear()
                    words.covered[key] = covered(program, words.number(some), partial(subject.at, int(rows[at])))
                answers.append(words.covered[key])
            gap[waiting] = ~np.array(answers, bool).take(groups)
            limits = np.where(gap, limits, np.uint64(0))
        return Gap(gap, limits)


class _Subject:
    """What a gap is asked of, on every row: the tire with an injury or an earlier repair, by a method."""

    def __init__(self, tire: Part, injury: Part | None, repair: Part | None, method: str | None) -> None:
        self._tire, self._injury, self._repair, self._method = tire, injury, repair, method

    def _codes(self, fact: str, rows: Any) -> tuple[Any, Sequence[Any]]:
        """Return what is known of a fact on some rows, by code and value; as `Subject.get` chooses."""
        group = fact.partition(".")[0]
        part = {"injury": self._injury, "repair": self._repair}.get(group, self._tire)
        if (fact == "method" and self._method is not None) or (fact == "repair.method" and part is None):
            return np.zeros(len(rows), np.int64), [self._method]
        return (np.zeros(len(rows), np.int64), [None]) if part is None else part.codes(fact, rows)

    def statuses(self, fact: str, conditions: Sequence[Condition], rows: Any) -> tuple[Any, Sequence[Hashable]]:
        """Return what is known of some conditions on a fact on some rows: codes, and what each code says of each."""
        codes, values = self._codes(fact, rows)
        found: dict[Hashable, int] = {}
        numbers = [
            found.setdefault(tuple(holds(condition, value) for condition in conditions), len(found)) for value in values
        ]
        return np.array(numbers, np.int64).take(codes), list(found)

    def at(self, row: int) -> Any:
        """Return the subject on one row."""
        return _SubjectOfRow(self, row)

    def value(self, fact: str, row: int) -> Any:
        """Return what is known of a fact on a row."""
        codes, values = self._codes(fact, np.array([row]))
        return values[codes[0]]


class _SubjectOfRow:
    """What a gap is asked of, on one row."""

    def __init__(self, subject: _Subject, row: int) -> None:
        self._subject, self._row = subject, row

    def get(self, fact: str) -> Any:
        """Return what is known of a fact; None where it is unknown."""
        return self._subject.value(fact, self._row)
