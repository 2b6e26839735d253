"""A published table of the law as a test of the packs: it notices a mutant of which a row no longer holds.

A row is one figure or one closed list that a provision sets; `COLUMNS` are its columns, as in
``tests/published/law.csv``. In each situation in which it surely binds it is tried just below its bound, on it and just
above; a list is tried by every word, and by none. The rules behind a row are those of its pack that regulate its act,
hold its very figure or bar the word, and say everywhere what the row says. A mutant of one of them that says otherwise
anywhere is noticed.
"""

from __future__ import annotations

import csv
import io
import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any, Final

from tirerules.authoring.mutation.operators import Mutant
from tirerules.authoring.mutation.running import can_touch, decided
from tirerules.authoring.vectors import treads
from tirerules.authoring.vectors.cases import Json, with_fact
from tirerules.authoring.vectors.figures import above, below
from tirerules.case import Case
from tirerules.deciding.decision import Outcome
from tirerules.errors import MissingDataError
from tirerules.packs.files import MAX_BYTES
from tirerules.packs.pack import Pack
from tirerules.packs.rule import RELATIONS, Counted, Disqualify, Limit, Permit, Prohibit, Rule
from tirerules.quantities import Quantity, quantity
from tirerules.record import case_from_json
from tirerules.rulebook import Rulebook
from tirerules.strictest.bounds import Interval, Strictest
from tirerules.values import replace
from tirerules.vocabulary import ACTIVITIES, FACTS, Kind

__all__ = ["COLUMNS", "Row", "Table", "read_table"]

_LIST: Final = "prohibited"
#: Deeper than any law wants a tread.
_DEEP: Final = "20 mm"
_YES: Final = ("true", "yes")
_ANY_DAY: Final = "2000-01-01"


@dataclass(frozen=True, slots=True)
class Row:
    """What one provision says; the texts are those of the table."""

    code: str
    activity: str
    conditions: str
    fact: str
    relation: str
    bound: str
    counted: str
    citation: str
    url: str
    evidence: str

    def situations(self, on: str) -> Iterator[Json]:
        """Yield the cases in which the row surely binds; nothing else is known. ``a|b`` stands for either."""
        stated = [part.partition("=") for part in self.conditions.split(";") if part]
        for values in itertools.product(*(value.split("|") for _, _, value in stated)):
            # A figure that the law prints in two units is asked for as enacted.
            case: Json = {"jurisdictions": [self.code], "activity": self.activity, "on": on, "reading": "as-enacted"}
            for (fact, _, _), value in zip(stated, values, strict=True):
                case = _stating(case, fact, value)
            yield case

    def tried(self, case: Json) -> Iterator[tuple[str, list[tuple[Json, bool]]]]:
        """Yield what is tried together: the word that it is about, if any, and cases with whether they pass."""
        fact = FACTS[self.fact]
        if self.relation == _LIST:
            words = self.words
            free = _stating(case, fact.name, next(word for word in (*fact.values, "") if word not in words))
            free = {**case, "findings": []} if fact.kind is Kind.SET else free
            yield from ((word, [(_stating(case, fact.name, word), False), (free, True)]) for word in words)
        elif fact.dimension is not None:
            figure = quantity(self.bound, fact.dimension)
            bound = Strictest.of(self._limit(figure).bound(figure.exact))
            around = (below(figure.exact, fact.dimension), figure.text, above(figure.exact, fact.dimension))
            numbers = [(text, quantity(text, fact.dimension).exact) for text in around if text is not None]
            yield (
                "",
                [
                    (self._measuring(case, text), bound.admits(Interval(exact, exact)) is True)
                    for text, exact in numbers
                ],
            )

    @property
    def words(self) -> tuple[str, ...]:
        """The words of a list."""
        return tuple(self.bound.split("|"))

    @property
    def count(self) -> Counted:
        """How the provision counts tread readings: ``two-adjacent/3``; empty for any one."""
        grooves, _, places = self.counted.partition("/")
        return Counted(grooves, int(places)) if self.counted else Counted()

    def _limit(self, figure: Quantity) -> Limit:
        return Limit(self.fact, self.relation, figure, counted=self.count)

    def _measuring(self, case: Json, value: str) -> Json:
        if self.fact != "tire.tread_depth":
            return _stating(case, self.fact, value)
        _, grid = next(treads.grids(self.count, value, _DEEP))
        return with_fact(case, "tire.tread_grid", grid) or case

    def said_by(self, rule: Rule, word: str) -> bool:
        """Whether a rule says for the act what the row says; of a list, what it says of `word`."""
        body, fact = rule.body, FACTS[self.fact]
        if self.activity not in rule.activities:
            return False
        if isinstance(body, Limit):
            # The figure as enacted; what is printed beside it is another row's.
            return (
                fact.dimension is not None
                and self.relation != _LIST
                and replace(body, also=None) == self._limit(quantity(self.bound, fact.dimension))
            )
        if not isinstance(body, (Permit, Prohibit, Disqualify)) or body.fact != self.fact or self.relation != _LIST:
            return False
        return (word in body.values) is not isinstance(body, Permit)


def _stating(case: Json, fact: str, word: str) -> Json:
    """Return the case that states a fact as the table writes it."""
    kind = FACTS[fact].kind
    value: Any = [word] if kind is Kind.SET else word
    return with_fact(case, fact, word in _YES if kind is Kind.FLAG else value) or case


#: The columns of a table, in order.
COLUMNS: Final = tuple(column.name for column in fields(Row))


@dataclass(frozen=True, slots=True)
class _Tried:
    """A case of a row, and what the rules behind the row say there of its fact."""

    case: Case
    fact: str
    outcomes: Mapping[str, Outcome]


class Table:
    """The rows of a table, ready to be asked whether they notice a mutant of a pack."""

    def __init__(self, rows: Sequence[Row]) -> None:
        self.rows = tuple(rows)
        self._tried: dict[str, tuple[_Tried, ...]] = {}

    def notices(self, pack: Pack, rulebook: Rulebook, mutant: Mutant, changed: Rulebook) -> bool:
        """Whether a row that holds of `pack` in `rulebook` no longer does in `changed`, which holds the mutant."""
        if pack.id not in self._tried:
            rows = (row for row in self.rows if row.code == pack.id)
            self._tried[pack.id] = tuple(each for row in rows for each in _holding(row, pack, rulebook))
        name = mutant.rule.name
        return any(
            _outcome(changed, each.case, each.fact, name) is not each.outcomes[name]
            for each in self._tried[pack.id]
            if name in each.outcomes and can_touch(mutant, each.case)
        )


def _holding(row: Row, pack: Pack, rulebook: Rulebook) -> Iterator[_Tried]:
    for situation in row.situations(pack.reviewed.isoformat()):
        for word, tried in row.tried(situation):
            cases = [(case_from_json(case), Outcome.of(passes)) for case, passes in tried]
            behind = [
                rule.name
                for rule in pack.rules
                if row.said_by(rule, word)
                and all(_outcome(rulebook, case, row.fact, rule.name) is said for case, said in cases)
            ]
            yield from (_Tried(case, row.fact, dict.fromkeys(behind, said)) for case, said in cases if behind)


def _outcome(rulebook: Rulebook, case: Case, fact: str, rule: str) -> Outcome | None:
    """Return what a rule says of a fact, where it says one thing of all injuries and repairs; else None."""
    found = decided(rulebook, case)
    said = {each.outcome for each in found.reasons if (each.rule, each.fact) == (rule, fact)} if found else set()
    return said.pop() if len(said) == 1 else None


def read_table(file: str) -> Table:
    """Read a table. Raises MissingDataError where it cannot be read, or is no such table."""
    try:
        with Path(file).open(encoding="utf-8-sig", newline="") as stream:
            text = stream.read(MAX_BYTES + 1)
    except (OSError, UnicodeDecodeError) as error:
        raise MissingDataError(f"{file}: {getattr(error, 'strerror', None) or 'this is no UTF-8 text'}") from None
    lines = csv.reader(io.StringIO(text), strict=True)
    try:
        if tuple(next(lines, ())) != COLUMNS:
            raise MissingDataError(f"{file}: this is no table of the law -- its columns must be {','.join(COLUMNS)}")
        return Table([_row(file, lines.line_num, cells) for cells in lines if cells])
    except csv.Error as error:
        raise MissingDataError(f"{file}:{lines.line_num}: {error}") from None


def _row(file: str, line: int, cells: Sequence[str]) -> Row:
    """Return a row whose every case can be read."""
    if len(cells) != len(COLUMNS):
        raise MissingDataError(f"{file}:{line}: {len(cells)} cells, where the table has {len(COLUMNS)} columns")
    row = Row(*cells)
    try:
        if row.activity not in ACTIVITIES or row.relation not in (*RELATIONS, _LIST):
            raise MissingDataError(f"{file}:{line}: {row.activity!r} {row.relation!r} is no act with a relation")
        tried = [
            case for situation in row.situations(_ANY_DAY) for _, cases in row.tried(situation) for case, _ in cases
        ]
        for case in tried:
            case_from_json(case)
    except (KeyError, ValueError, TypeError, StopIteration) as error:
        raise MissingDataError(f"{file}:{line}: the row makes no case: {error}") from None
    if not tried:
        raise MissingDataError(f"{file}:{line}: {row.fact} has neither a measure nor words that could be tried")
    return row
