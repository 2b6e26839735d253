"""The programs of one rulebook: one for each places, activity, reading, named method and span of days.

A table from these to programs, made when they are first asked for and shared by every case and thread after that: two
made at once are equal. INVARIANT: it depends on the packs and on which places and activities were asked about, never on
a case; at most `BOUND` combinations are kept, and then all are made again.
"""

from __future__ import annotations

from bisect import bisect_right

from tirerules.engine.program import Program
from tirerules.engine.tables import Scales
from tirerules.packs.contradicting import with_combined
from tirerules.vocabulary import REPAIR_METHODS, Activity, answering

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Iterable, Sequence
    from typing import Any, TypeAlias

    from tirerules.case.row import CaseRow
    from tirerules.packs.pack import Pack
    from tirerules.packs.rule import Rule

    #: Places, an activity, a reading, the method that a case names.
    Asked: TypeAlias = "tuple[tuple[str, ...], str, str, str | None]"

__all__ = ["Programs", "rules_for"]


def rules_for(packs: Iterable[Pack], activity: str) -> tuple[Rule, ...]:
    """Return the rules of `packs` that an activity answers to, by name, whatever the day."""
    wanted = set(answering(Activity(activity)))
    rules = [rule for pack in packs for rule in pack.rules if rule.activities & wanted]
    return tuple(sorted(with_combined(rules), key=lambda rule: rule.name))


class _Place:
    """The rules that some places answer to under one activity, whatever the day."""

    __slots__ = ("_lasting", "changes", "packs", "rules", "unreviewed")

    def __init__(self, packs: Sequence[Pack], codes: Sequence[str], activity: str) -> None:
        self.packs = tuple(sorted(packs, key=lambda pack: pack.id))
        self.rules = rules_for(self.packs, activity)
        #: Days, YYYY-MM-DD, on which some rule starts or ends.
        self.changes = sorted({str(day) for rule in self.rules for day in (rule.start, rule.end) if day is not None})
        act = Activity(activity)
        self.unreviewed = tuple(
            pack.id
            for pack in self.packs
            if act is not Activity.REPAIR and pack.id in codes and pack.covers(act) == "not-reviewed"
        )
        self._lasting = tuple(rule.name for rule in self.rules if rule.start is None and rule.end is None)

    def likeness(self, codes: Sequence[str], on: str) -> Hashable:
        """Return what the masks of a program for a day depend on: two that are alike here judge every case alike.

        Places without rules of their own answer to the same rules as their neighbors; what is said of them differs.
        """
        dated = (rule for rule in self.rules if rule.start is not None or rule.end is not None)
        named = tuple((rule.name, str(rule.start), str(rule.end)) for rule in dated if _in_force(rule, on))
        own = {rule.pack for rule in self.rules if rule.pack[:1].isupper()}
        speaking = {tuple(sorted(own & {code, code.partition("-")[0]})) for code in codes}
        private = codes if any(code[:1] == "X" for code in (*codes, *own)) else ()
        return (self._lasting, named, bool(self.unreviewed), tuple(sorted(speaking)), tuple(private))


class Programs:
    """Makes programs and keeps them."""

    BOUND = 2_000
    __slots__ = ("_packs_for", "_places", "_programs", "_scales")

    def __init__(self, packs_for: Callable[[Sequence[str]], Sequence[Pack]]) -> None:
        """Hold what finds the packs of some places; it raises where there are none."""
        self._packs_for, self._scales = packs_for, Scales()
        self._places: dict[tuple[tuple[str, ...], str], _Place] = {}
        #: Asked -> the days of change, and the programs between them.
        self._programs: dict[Asked, tuple[list[str], list[Program | None]]] = {}

    @property
    def owner(self) -> Any:
        """The rulebook that finds the packs."""
        return getattr(self._packs_for, "__self__", None)

    def program(self, codes: tuple[str, ...], activity: str, reading: str, method: str | None, on: str) -> Program:
        """Return the program for a day, YYYY-MM-DD. Raises UnknownJurisdictionError as what finds the packs does."""
        known = self._programs.get((codes, activity, reading, method))
        if known is None:
            changes = self.place(codes, activity).changes
            if len(self._programs) >= self.BOUND:
                self._programs.clear()
            known = self._programs[codes, activity, reading, method] = changes, [None] * (len(changes) + 1)
        changes, programs = known
        span = bisect_right(changes, on)
        program = programs[span]
        if program is None:
            program = programs[span] = self._make(codes, activity, reading, method, on)
        return program

    def of(self, row: CaseRow) -> Program:
        """Return the program of a case that names its day. Raises as `program`."""
        return self.program(row.codes, row.activity, row.reading, row.method, row.on or "")

    def _make(self, codes: tuple[str, ...], activity: str, reading: str, method: str | None, on: str) -> Program:
        place = self.place(codes, activity)
        rules = [rule for rule in place.rules if _in_force(rule, on)]
        methods = REPAIR_METHODS if method is None else (method,)
        return Program(rules, codes, activity, reading, methods, unreviewed=place.unreviewed, scales=self._scales)

    def place(self, codes: tuple[str, ...], activity: str) -> _Place:
        """Return the packs and the rules of some places. Raises as `program`."""
        place = self._places.get((codes, activity))
        if place is None:
            if len(self._places) >= self.BOUND:
                self._places.clear()
            place = self._places[codes, activity] = _Place(self._packs_for(codes), codes, activity)
        return place


def _in_force(rule: Rule, on: str) -> bool:
    return (rule.start is None or str(rule.start) <= on) and (rule.end is None or on < str(rule.end))
