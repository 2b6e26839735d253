"""The public face: a rulebook is a fixed set of packs that decides cases.

A rulebook never changes and is safe to share between threads. The clock is read here and nowhere deeper: a case that
names no day is decided for today, and the decision records which day that was.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from types import MappingProxyType
from typing import Any, Final

from tirerules import record
from tirerules.case import Case
from tirerules.deciding.decide import failing_rules
from tirerules.deciding.decision import PackLock
from tirerules.deciding.judging import judge_case
from tirerules.deciding.limits import FactLimits
from tirerules.deciding.notices import tire_after
from tirerules.decision import Decision
from tirerules.errors import UnknownJurisdictionError, nearest
from tirerules.index.book import Book
from tirerules.index.evaluate import evaluated
from tirerules.index.packing import packed_after_repair, packed_case
from tirerules.index.plain import PlainCase, plain_case
from tirerules.index.plan import Plan
from tirerules.index.rows import Compiled, rows_of
from tirerules.jurisdictions import JURISDICTIONS, PRIVATE, country_of, is_jurisdiction
from tirerules.packs.library import Lock, builtin, choose, files_under, read_files
from tirerules.packs.pack import OVERLAYS, Pack
from tirerules.packs.rule import Rule
from tirerules.record.written import written
from tirerules.telling import case as typed
from tirerules.vocabulary import Activity

__all__ = ["Rulebook", "load"]

#: Packs that bind everywhere: the trade's baseline, and the overlays a caller adds.
_EVERYWHERE: Final = ("baseline", *OVERLAYS)


class Rulebook:
    """An immutable set of rule packs, one version of each."""

    __slots__ = ("_book", "_packs")

    def __init__(self, packs: Iterable[Pack]) -> None:
        """Hold `packs`. Raises ConflictError where two of them claim one version; the newest version of each counts."""
        self._packs: Mapping[str, Pack] = MappingProxyType({pack.id: pack for pack in choose(tuple(packs), {}, None)})
        self._book = Book(lambda codes: [_compiled(pack) for pack in self.packs_for(codes)])

    @property
    def packs(self) -> Mapping[str, Pack]:
        """The packs by id."""
        return self._packs

    @property
    def codes(self) -> tuple[str, ...]:
        """The jurisdictions that this rulebook can speak for."""
        own = sorted(code for code in self._packs if PRIVATE.match(code))
        return (*(code for code in JURISDICTIONS if code in self._packs), *own)

    @property
    def lock(self) -> Mapping[str, PackLock]:
        """Which version and which bytes of every pack: enough to demand the same rulebook back with `load`."""
        return MappingProxyType({pack.id: PackLock(str(pack.version), pack.sha256) for pack in self._packs.values()})

    def packs_for(self, codes: Sequence[str]) -> tuple[Pack, ...]:
        """Return the packs that answer for `codes`: each code's own, its country's, the baseline and the overlays.

        Raises UnknownJurisdictionError for a code that is unknown or that this rulebook holds no pack for.
        """
        wanted = {pack.id for pack in self._packs.values() if pack.kind in _EVERYWHERE}
        for code in codes:
            for each in (country_of(code), code):
                if each in self.codes:
                    wanted.add(each)
                elif each == code or not PRIVATE.match(each):  # a place of the caller's own may stand without a country
                    raise self._unknown(each if is_jurisdiction(each) else code)
        return tuple(pack for pack in self._packs.values() if pack.id in wanted)

    def decide(self, case: Case | Mapping[str, Any]) -> Decision:
        """Decide a case, given as a :class:`~tirerules.case.Case` or in its JSON form.

        Raises CaseError for a case that asks no answerable question, and UnknownJurisdictionError.
        """
        asked: Case | PlainCase | None = plain_case(case)
        if asked is None:
            asked = case if isinstance(case, Case) else record.case_from_json(case)
            if asked.on is None and asked.tire.date_code is not None:
                asked = replace(asked, on=date.today())  # how old the tire is depends on the day
        on = asked.on or date.today()  # a law starts on the shop's day, not on UTC's
        plan = self._book.plan(asked.jurisdictions, asked.activity, asked.reading, on)
        packed = packed_case(plan, asked, lambda: self.rules_of(plan)) if plan.fits else None
        return Decision(self, asked, on, plan, None if packed is None else evaluated(plan, packed))

    def decide_json(self, text: str) -> str:
        """Decide a case given as JSON text; return the decision as JSON text (`schemas/decision.schema.json`).

        Raises as `decide` does, and CaseError for what is no JSON.
        """
        return written(self.decide(record.parse(text)))

    def limits(self, case: Case | Mapping[str, Any]) -> Mapping[str, FactLimits]:
        """Return the limits on every fact for what is known of a case: the strictest, its binding rules, the ladder.

        Raises as `decide` does.
        """
        return self.decide(case).limits

    def rules_of(self, plan: Plan) -> tuple[Rule, ...]:
        """Return the rules of a compiled plan, in its order; for :class:`~tirerules.decision.Decision`."""
        known = plan.cache("rules")
        if not known:
            by_name = {rule.name: rule for pack in self.packs_for(plan.codes) for rule in pack.rules}
            known[None] = tuple(by_name[name] for name in plan.names)
        rules: tuple[Rule, ...] = known[None]
        return rules

    def failing_after(
        self, case: Case | PlainCase, on: date | str, methods: Sequence[str], activity: str
    ) -> list[tuple[str, ...]]:
        """Return for each method which rules the tire fails under `activity` once it is repaired by that method."""
        plan = self._book.plan(case.jurisdictions, activity, case.reading, on)
        packed = packed_after_repair(plan, case, methods) if plan.fits else None
        if packed is not None:
            return [plan.names_in(evaluated(plan, each).failing) for each in packed]
        rules = self.rules_of(plan)
        day = on if isinstance(on, date) else date.fromisoformat(on)
        after = (tire_after(typed(case, day), method, Activity(activity)) for method in methods)
        return [failing_rules(judge_case(each, rules).common) for each in after]

    def _unknown(self, code: str) -> UnknownJurisdictionError:
        real = is_jurisdiction(code)
        return UnknownJurisdictionError(code, real, self.codes if real else nearest(code.upper(), JURISDICTIONS))


def _compiled(pack: Pack) -> Compiled:
    return rows_of(pack)


def load(
    *folders: str | os.PathLike[str],
    pins: Mapping[str, str] | None = None,
    lock: Lock | Mapping[str, PackLock] | None = None,
    builtins: bool = True,
) -> Rulebook:
    """Load a rulebook from the built-in packs and from the caller's folders or files.

    `pins` maps packs to version specifiers (``{"US-SC": "==1.2.*"}``). With a `lock`, taken from another rulebook's
    `lock` or a decision's `packs`, exactly those packs are loaded, byte for byte.

    Raises PackError with the problems of all files, and ConflictError, PinError, LockError, MissingDataError.

    >>> import tirerules
    >>> "US-SC" in tirerules.load().codes
    True
    """
    places: list[Any] = [builtin()] if builtins else []
    files = [file for place in (*places, *folders) for file in files_under(place)]
    wanted = None if lock is None else {pack: _pair(entry) for pack, entry in lock.items()}
    return Rulebook(choose(read_files(files), pins or {}, wanted))


def _pair(entry: PackLock | tuple[str, str]) -> tuple[str, str]:
    return (entry.version, entry.sha256) if isinstance(entry, PackLock) else entry
