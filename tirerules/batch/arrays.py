"""Many rows at once: what `tirerules.index` does with the bits of one case, done with columns of them.

Rows that are known alike (their plans have the same rules, and those rules hear the same of them) are judged once, all
of a table together. Python runs for each plan, each value and each distinct answer, never for each row. Left to
`Rulebook.decide` are rows that state what must be worked out first (a size, measurements from the center line, several
injuries or earlier repairs) and rows whose plan is too large; and of open rows that wait for the same facts, one.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from datetime import date
from typing import Any, Final

import numpy as np

from tirerules.batch.answers import Told
from tirerules.batch.asking import meaning
from tirerules.batch.blocks import blocks, looked_up
from tirerules.batch.completing import Completing
from tirerules.batch.effects import Effects, Known
from tirerules.batch.facets import Facet, Facets, column_of
from tirerules.batch.grouping import alike, as_bytes
from tirerules.batch.judging import Verdicts, repairing, using
from tirerules.batch.planned import Planned
from tirerules.batch.plans import Plans
from tirerules.batch.values import Column
from tirerules.rulebook import Rulebook
from tirerules.stated import REPAIR
from tirerules.vocabulary import NO_HIGHWAY

__all__ = ["Arrays", "Asks"]

#: With one of these, a band may follow from the tire: then the zones of injuries and earlier repairs must be named.
_MEASURES: Final = ("tire.section_width", "tire.tread_width", "tire.belt_width")
_METHOD: Final = np.uint64(8)
_ZONE: Final = REPAIR["repair.zone"]

#: What decides rows one by one, by their numbers, and tells the bits of their questions; -1 where one has no answer.
Asks = Callable[[Any], Sequence[int]]


class Arrays:
    """Decides the rows of tables, as far as bits alone decide them, and remembers plans, questions and answers."""

    def __init__(self, rulebook: Rulebook, day: date, told: Told) -> None:
        """Hold the rulebook, the day of rows that name none, and what was told, where answers are given places."""
        self._plans, self._told = Plans(rulebook, day), told
        self._completing = Completing()
        self._facets = Facets()
        self._effects: tuple[tuple[Any, ...], tuple[Any, ...], Effects] | None = None
        self._places: dict[bytes, int] = {}
        self._questions: dict[bytes, int] = {}
        self._by_meaning: dict[Hashable, int] = {}

    @property
    def remembered(self) -> int:
        """How much is remembered."""
        return len(self._places) + len(self._questions) + self._plans.remembered

    def decide(self, columns: Mapping[str, Column], count: int, asks: Asks) -> Any:
        """Return for each row the place of its answer, or -1 where it is left (int64 array)."""
        columns = self._completing.of(columns, count)
        plans, own = self._plans.of(columns, count)
        left = _left(columns, count) | (own < 0)
        if plans and not left.any():
            return self._known(columns, plans, own, asks)
        places = np.full(count, -1, np.int64)
        rows = np.flatnonzero(~left)
        if len(rows):
            taken = {name: column.take(rows) for name, column in columns.items()}
            places[rows] = self._known(taken, plans, own[rows], _among(rows, asks))
        return places

    def _known(self, columns: Mapping[str, Column], plans: tuple[Planned, ...], own: Any, asks: Asks) -> Any:
        """Return the place of the answer of each row, of which `own` says the plan."""
        facets = self._facets.of(columns, len(own))
        effects = self._effects_of(plans, facets)
        rows, group = alike(effects.keys(own, facets))
        return looked_up(self._decided(effects, own[rows].astype(np.int64), facets, rows, asks), group)

    def _effects_of(self, plans: tuple[Planned, ...], facets: list[Facet]) -> Effects:
        """Return the effects of some facets on some plans; those of the last table serve often."""
        key = (plans, *((facet.name, id(facet.values)) for facet in facets))
        if self._effects is None or self._effects[0] != key:
            # The values are kept, so that their identity is not given to others.
            self._effects = key, tuple(facet.values for facet in facets), Effects(plans, facets)
        return self._effects[2]

    def _decided(self, effects: Effects, plans: Any, facets: list[Facet], rows: Any, asks: Asks) -> Any:
        """Return the places of the answers to rows, one of each key."""
        places = np.empty(len(rows), np.int64)
        by_repair = effects.masks.repairing.take(plans)
        for which, judge in ((by_repair, repairing), (~by_repair, using)):
            here = np.flatnonzero(which)
            parts = [here[block] for block in blocks(len(here))]
            if parts:
                verdicts = Verdicts.of([judge(Known(effects, plans[part], facets, rows[part])) for part in parts])
                places[here] = self._placed(effects, plans[here], verdicts, _among(rows[here], asks))
        return places

    def _placed(self, effects: Effects, plans: Any, verdicts: Verdicts, asks: Asks) -> Any:
        """Return the places of the answers to rows by their plans and verdicts; -1 where no question could be told."""
        questions = np.zeros(len(plans), np.int64)
        asked = np.flatnonzero(verdicts.asked)
        if len(asked):
            some, group = alike(verdicts.matters)
            questions[asked] = self._asked(effects, verdicts.matters[some], asked[some], asks).take(group)
        kind = verdicts.verdict.astype(np.uint64) << _METHOD | verdicts.method.view(np.uint8)
        numbers = effects.numbers.take(plans)
        said = np.stack([numbers, kind, verdicts.failing, verdicts.limited, questions.view(np.uint64)], axis=1)
        some, group = alike(said)
        keys = as_bytes(said[some])
        for key, at in zip(keys, some.tolist(), strict=True):
            if key not in self._places:
                self._places[key] = self._place(int(numbers[at]), verdicts, at, int(questions[at]))
        return np.array([self._places[key] for key in keys], np.int64).take(group)

    def _place(self, plan: int, verdicts: Verdicts, at: int, questions: int) -> int:
        if questions < 0:
            return -1
        said = (int(each[at]) for each in (verdicts.verdict, verdicts.method, verdicts.failing, verdicts.limited))
        return self._told.place(self._plans[plan].answer(*said)._replace(questions=questions))

    def _asked(self, effects: Effects, matters: Any, rows: Any, asks: Asks) -> Any:
        """Return the bits of the questions about rows, of which `matters` says all that they depend on; -1 for none."""
        keys = as_bytes(matters)
        new = {at: matters[at].tolist() for at, key in enumerate(keys) if key not in self._questions}
        means = {at: meaning(self._plans[words[0]], words, effects.above) for at, words in new.items()}
        examples = {mean: at for at, mean in means.items() if mean not in self._by_meaning}
        if examples:
            bits = asks(rows[list(examples.values())])
            self._by_meaning.update(zip(examples, bits, strict=True))
        self._questions.update((keys[at], self._by_meaning[mean]) for at, mean in means.items())
        return np.array([self._questions[key] for key in keys], np.int64)


def _among(rows: Any, asks: Asks) -> Asks:
    """Return what decides some of the rows, by their places among them."""
    return lambda some: asks(rows[some])


def _left(columns: Mapping[str, Column], count: int) -> Any:
    """Return the rows that the full reader must read, or of which something must be worked out first."""
    left = np.zeros(count, bool)
    for column in columns.values():
        if column.left:
            left |= np.isin(column.codes, list(column.left))
    for name in ("tire.crack_depth", "tire.cracks_reach_plies"):
        if name not in columns:
            continue
        cracks = columns[name].where(lambda said: said is not None and said is not False)
        left |= cracks & column_of(columns, "findings", count).where(lambda found: not _cracked(found))
    if "findings" in columns:  # of which class the tire is, says whether some rule must judge it
        left |= columns["findings"].where(lambda found: bool(found) and "regroove" in found)
    if "tire.class" in columns:  # whether a rule judges it, findings aside, is no matter of one column
        left |= columns["tire.class"].where(NO_HIGHWAY.__contains__)
    measures = [columns[name] for name in _MEASURES if name in columns]
    if measures:
        zone, repairs = (column_of(columns, name, count) for name in ("injury.zone", "earlier_repairs"))
        unplaced = ~zone.stated() | repairs.where(lambda found: found is None or any(r[_ZONE] is None for r in found))
        for column in measures:
            left |= column.stated() & unplaced
    return left


def _cracked(found: Any) -> bool:
    return found is None or "weather-cracking" in found
