"""The space of conditions, divided into cells that no rule tells apart, and told in words.

What differs is found by walking down the axes and turning back wherever the rules of both sides have become the same,
so that rules which nobody changed cost nothing. The cells found are put together into few boxes.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Generic, Protocol, TypeVar

from tirerules.authoring.comparing.axes import Axis, Known, Presence, group_of
from tirerules.errors import TirerulesError
from tirerules.packs.rule import Condition

__all__ = ["MOST_STEPS", "Box", "Cell", "Conditional", "Leaf", "TooManyCellsError", "boxes", "text_of", "walk"]

#: How many steps a comparison of the rules on one fact may take; the rules of every pack so far need a few hundred.
MOST_STEPS: Final = 50_000

#: One atom of every axis, by its position.
Cell = tuple[int, ...]
#: Some atoms of every axis: all cells that can be made of them.
Box = tuple[frozenset[int], ...]


class TooManyCellsError(TirerulesError, ValueError):
    """The rules on one fact test so many facts together that comparing them cell by cell would not end."""

    def __init__(self, subject: str, facts: Sequence[str], most: int) -> None:
        super().__init__(subject, tuple(facts), most)
        self.subject, self.facts, self.most = subject, tuple(facts), most

    def __str__(self) -> str:
        return (
            f"the rules on {self.subject} cannot be compared: together they test {', '.join(self.facts)}, which makes"
            f" more than {self.most:,} cells -- change fewer rules at a time, or let each rule test fewer facts"
        )


class Conditional(Protocol):
    """What applies under conditions."""

    @property
    def conditions(self) -> frozenset[Condition]:
        """All of these must hold."""


_Clause = TypeVar("_Clause", bound=Conditional)


@dataclass(frozen=True, slots=True)
class Leaf(Generic[_Clause]):
    """One cell in which not the same clauses apply on both sides."""

    cell: Cell
    known: Known
    old: tuple[_Clause, ...]
    new: tuple[_Clause, ...]


def walk(axes: Sequence[Axis], old: Sequence[_Clause], new: Sequence[_Clause], subject: str) -> Iterator[Leaf[_Clause]]:
    """Yield every cell in which other clauses apply among `new` than among `old`.

    `subject` is named if there are too many. Raises TooManyCellsError after `MOST_STEPS`: cells left out would be
    changes unseen.
    """
    # Clauses that mean the same get one number, so that they need not be compared again in every cell.
    meanings: dict[_Clause, int] = {}
    numbers = {id(clause): meanings.setdefault(clause, len(meanings)) for clause in (*old, *new)}
    last = {axis.fact: position for position, axis in enumerate(axes)}
    steps = itertools.count(1)

    def apply(clauses: Iterable[_Clause], facts: Iterable[str], known: Known) -> tuple[_Clause, ...]:
        settled = frozenset(facts)
        return tuple(
            clause
            for clause in clauses
            if all(
                (value := known.get(test.fact)) is not None and test.holds(value) is True
                for test in clause.conditions
                if test.fact in settled
            )
        )

    def down(cell: Cell, known: Known, old: tuple[_Clause, ...], new: tuple[_Clause, ...]) -> Iterator[Leaf[_Clause]]:
        if next(steps) > MOST_STEPS:
            names = dict.fromkeys(axis.fact for axis in axes)
            raise TooManyCellsError(subject, list(names), MOST_STEPS)
        if {numbers[id(clause)] for clause in old} == {numbers[id(clause)] for clause in new}:
            return
        if len(cell) == len(axes):
            yield Leaf(cell, known, old, new)
            return
        axis = axes[len(cell)]
        for atom in range(axis.size):
            more = axis.learn(known, atom)
            # A finding is settled only once every axis of findings was walked.
            facts = axis.facts if isinstance(axis, Presence) and not atom else (axis.fact,)
            if last[axis.fact] == len(cell):
                yield from down((*cell, atom), more, apply(old, facts, more), apply(new, facts, more))
            else:
                yield from down((*cell, atom), more, old, new)

    yield from down((), {}, tuple(old), tuple(new))


def boxes(axes: Sequence[Axis], cells: Iterable[Cell]) -> tuple[Box, ...]:
    """Return few boxes that hold exactly `cells`, each once: cells beside each other are put together."""
    single = frozenset(tuple(frozenset({atom}) for atom in cell) for cell in cells)
    order = range(len(axes))
    # Which axis comes first decides what can be put together later; presence comes last, so that what is absent does
    # not fall apart by what it would have been.
    turns = [(*order[turn:], *order[:turn]) for turn in order] or [()]
    fewest = min((_merged(single, turn) for turn in turns), key=lambda found: (len(found), _narrowed(axes, found)))
    return tuple(sorted(fewest, key=lambda box: [sorted(atoms) for atoms in box]))


def _narrowed(axes: Sequence[Axis], found: Iterable[Box]) -> int:
    """How many conditions it takes to tell `found`."""
    return sum(len(atoms) < axis.size for box in found for axis, atoms in zip(axes, box, strict=True))


def _merged(found: frozenset[Box], order: Sequence[int]) -> frozenset[Box]:
    while True:
        before = found
        for axis in order:
            together: dict[Box, set[int]] = {}
            for box in found:
                together.setdefault((*box[:axis], frozenset(), *box[axis + 1 :]), set()).update(box[axis])
            found = frozenset((*box[:axis], frozenset(atoms), *box[axis + 1 :]) for box, atoms in together.items())
        if found == before:
            return found


def text_of(axes: Sequence[Axis], box: Box) -> tuple[str, ...]:
    """Return the conditions of a box in words, fact by fact; nothing for an axis that it does not narrow."""
    narrowed = [(axis, atoms) for axis, atoms in zip(axes, box, strict=True) if len(atoms) < axis.size]
    absent = {axis.fact for axis, atoms in narrowed if isinstance(axis, Presence) and atoms == {0}}
    named = {group_of(axis.fact) for axis, _ in narrowed if not isinstance(axis, Presence)}
    said = []
    for axis, atoms in narrowed:
        if isinstance(axis, Presence):
            if axis.fact in absent or axis.fact not in named:
                said.append(axis.text(atoms))
        elif group_of(axis.fact) not in absent:
            said.append(axis.text(atoms))
    return tuple(said)
