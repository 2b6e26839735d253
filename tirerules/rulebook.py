"""The public face: a rulebook is a fixed set of packs that decides cases.

A rulebook never changes and is safe to share between threads. The clock is read here and nowhere deeper: a case that
names no day is decided for today, and the decision records which day that was. What the first decision of a process
needs is imported here; everything else where it is needed, because start-up time is counted in milliseconds.
"""

from __future__ import annotations

import time

from tirerules.case.checks import consistent, contradictions
from tirerules.case.reading import case_row
from tirerules.decision import Decision
from tirerules.engine.programs import Programs
from tirerules.errors import CaseError
from tirerules.packs.files import builtin, content, files_in
from tirerules.packs.rule import READINGS
from tirerules.packs.store import Store, choose_heads, heads

TYPE_CHECKING = False
if TYPE_CHECKING:
    import os
    from collections.abc import Callable, Collection, Hashable, Iterable, Mapping, Sequence
    from typing import Any, TypeAlias, TypeVar

    from tirerules.case import Case, CaseRow
    from tirerules.engine.parts import FactLimits, PackLock
    from tirerules.engine.program import Program
    from tirerules.errors import UnknownJurisdictionError
    from tirerules.packs.locking import Held, Locked
    from tirerules.packs.pack import Pack
    from tirerules.packs.store import Head

    _Held: TypeAlias = "Head | Locked | _Whole"
    _Read = TypeVar("_Read")

__all__ = ["Rulebook", "load", "locked"]


class _Whole:
    """A pack that is at hand as a value, where a head would read it when asked."""

    __slots__ = ("id", "pack", "replaces", "sha256", "version")

    def __init__(self, pack: Pack) -> None:
        self.id, self.sha256, self.version, self.replaces = pack.id, pack.sha256, str(pack.version), pack.replaces
        self.pack = pack


class Rulebook:
    """An immutable set of rule packs, one version of each."""

    __slots__ = ("_heads", "_packs", "_programs")

    def __init__(self, packs: Iterable[Pack]) -> None:
        """Hold `packs`, and nothing else. Raises ConflictError where two of them claim one version.

        The newest version of each counts, whoever made it: a pack of the caller's that carries a built-in name, or is a
        baseline, is taken for what it says it is, without a notice. To have that refused, or told, use `load`.
        """
        from tirerules.packs.choosing import choose

        self._hold([_Whole(pack) for pack in choose(tuple(packs), {})])

    def _hold(self, found: Iterable[_Held]) -> None:
        self._heads: Mapping[str, _Held] = {head.id: head for head in found}
        self._packs: Mapping[str, Pack] | None = None
        self._programs = Programs(self.packs_for)

    def __reduce__(self) -> tuple[Any, ...]:
        return _holding, (list(self._heads.values()),)  # programs are made again where they are needed

    def replacing(self, pack: Pack) -> Rulebook:
        """Return a rulebook that holds `pack` in place of the one with its id, and shares all others with this one."""
        rulebook = Rulebook.__new__(Rulebook)
        rulebook._hold({**self._heads, pack.id: _Whole(pack)}.values())
        return rulebook

    @property
    def packs(self) -> Mapping[str, Pack]:
        """The packs by id. Raises PackError with the problems of all packs, LockError, MissingDataError."""
        if self._packs is None:
            from types import MappingProxyType

            packs = _each([*self._heads.values()], lambda head: head.pack)
            self._packs = MappingProxyType(dict(zip(self._heads, packs, strict=True)))
        return self._packs

    @property
    def codes(self) -> tuple[str, ...]:
        """The jurisdictions that this rulebook can speak for."""
        from tirerules.jurisdictions import JURISDICTIONS, PRIVATE

        own = sorted(code for code in self._heads if PRIVATE.match(code))
        return (*(code for code in JURISDICTIONS if code in self._heads), *own)

    @property
    def lock(self) -> Mapping[str, PackLock]:
        """Which version and which bytes of every pack: enough to demand the same rulebook back with `load`."""
        from types import MappingProxyType

        from tirerules.engine.parts import PackLock

        held = self._heads.values()
        return MappingProxyType({head.id: PackLock(head.version, head.sha256, head.replaces) for head in held})

    def packs_for(self, codes: Sequence[str]) -> tuple[Pack, ...]:
        """Return the packs that answer for `codes`: each code's own, its country's, the baseline and the overlays.

        Raises UnknownJurisdictionError for a code that is unknown or that this rulebook holds no pack for; PackError
        with the problems of all these packs.
        """
        return tuple(_each(self._heads_for(codes), lambda head: head.pack))

    def _heads_for(self, codes: Sequence[str]) -> list[_Held]:
        # INVARIANT: what binds everywhere (baseline, company, repair material) has a name in small letters, and what
        # binds in a place its code (`tirerules.packs.building`). So no pack is compiled to learn what it is.
        wanted = {pack for pack in self._heads if pack[:1].islower()}
        for code in codes:
            for each in (code.partition("-")[0], code):
                if each in self._heads and not each[:1].islower():
                    wanted.add(each)
                else:
                    self._without(each, code)
        return [head for head in self._heads.values() if head.id in wanted]

    def _without(self, place: str, code: str) -> None:
        """Raise UnknownJurisdictionError for a place without a pack, but for the country of a place of the caller's."""
        from tirerules.jurisdictions import PRIVATE, is_jurisdiction

        if place == code or not PRIVATE.match(place):
            raise self._unknown(place if is_jurisdiction(place) else code)

    def decide(self, case: Case | Mapping[str, Any]) -> Decision:
        """Decide a case, given as a :class:`~tirerules.case.Case` or in its JSON form.

        Raises CaseError for a case that asks no answerable question, UnknownJurisdictionError; and PackError with the
        problems of all packs that it needs, each of which is compiled when it is first needed.
        """
        # A typed case is told by what no mapping has, without importing its class.
        row: CaseRow = getattr(case, "row", None) or case_row(case)
        if row.on is None:
            row = _dated(row)
        return Decision(self._programs, row)

    def decide_json(self, text: str) -> str:
        """Decide a case given as JSON text; return the decision as JSON text (`schemas/decision.schema.json`).

        Raises as `decide` does, and CaseError for what is no JSON.
        """
        from tirerules.record import parse
        from tirerules.record.written import written

        return written(self.decide(parse(text)))

    def limits(self, case: Case | Mapping[str, Any]) -> Mapping[str, FactLimits]:
        """Return the limits on every fact for what is known of a case: the strictest, its binding rules, the ladder.

        Raises as `decide` does.
        """
        return self.decide(case).limits

    def program(
        self, codes: tuple[str, ...], activity: str, on: str, reading: str = READINGS[0], method: str | None = None
    ) -> Program:
        """Return the compiled rules of some places for an activity and a day, YYYY-MM-DD. Raises as `packs_for`."""
        return self._programs.program(codes, activity, reading, method, on)

    def changes(self, codes: tuple[str, ...], activity: str) -> list[str]:
        """Return the days on which some rule for the places starts or ends; between two, one program holds."""
        return self._programs.place(codes, activity).changes

    def likeness(self, codes: tuple[str, ...], activity: str, on: str) -> Hashable:
        """Return what the compiled rules for a day depend on: where it is the same, so is every verdict."""
        return self._programs.place(codes, activity).likeness(codes, on)

    def _unknown(self, code: str) -> UnknownJurisdictionError:
        from tirerules.errors import UnknownJurisdictionError, nearest
        from tirerules.jurisdictions import JURISDICTIONS, is_jurisdiction

        real = is_jurisdiction(code)
        return UnknownJurisdictionError(code, real, self.codes if real else nearest(code.upper(), JURISDICTIONS))


def _dated(row: CaseRow) -> CaseRow:
    """Return a case for today, with what follows from the day."""
    row = row.dated(_today())
    if not consistent(row):  # its date code may name a week that is still to come
        raise CaseError(list(contradictions(row)))
    return row


def _today() -> str:
    """Return today, YYYY-MM-DD: a law starts on the shop's day, not on UTC's."""
    return time.strftime("%Y-%m-%d")


def load(
    *folders: str | os.PathLike[str],
    pins: Mapping[str, str] | None = None,
    lock: Mapping[str, PackLock] | Mapping[str, tuple[str, str]] | None = None,
    builtins: bool = True,
    replace: Collection[str] = (),
) -> Rulebook:
    """Load a rulebook from the built-in packs and from the caller's folders or files.

    What is read here of a pack is its head: which version of which pack it is. Its rules are read and checked when a
    case first needs them, and `Rulebook.packs` needs them all.

    `pins` maps packs to version specifiers (``{"US-SC": "==1.2.*"}``). With a `lock`, taken from another rulebook's
    `lock` or a decision's `packs`, exactly those packs are loaded, byte for byte, and compiled from these bytes unless
    the library ships what they compile to; the user's cache (`tirerules.packs.cache`, which says whom it trusts) has no
    part in it.

    A file of the caller's that carries the name of a built-in pack with other content, or that is a second baseline, is
    refused unless `replace` names the pack: then it stands in place of what ships, and every decision in which it has a
    part carries a notice of kind ``replaced``. A lock needs no such leave: it names content by its digest, and whether
    that content stands in place of what ships, so that a recorded decision is made again with its notice.

    Raises PackError with the problems of all heads, and ConflictError, PinError, LockError, ReplaceError,
    MissingDataError. A decision may raise PackError, MissingDataError where a file has changed meanwhile, and under a
    lock LockError, since packs are compiled late.

    >>> import tirerules
    >>> "US-SC" in tirerules.load().codes
    True
    """
    shipped = list(files_in(builtin())) if builtins else []
    own = [file for folder in folders for file in files_in(folder)]
    if lock is not None:
        return locked(((str(file), content(file)) for file in (*shipped, *own)), lock, pins)
    store = Store()
    found = heads(shipped, store)
    if own or replace:
        from tirerules.packs.admitting import admitted

        found = admitted(found, heads(own, store), replace)
    return _holding(choose_heads(found, pins or {}))


def locked(
    files: Iterable[Held],
    lock: Mapping[str, PackLock] | Mapping[str, tuple[str, str]],
    pins: Mapping[str, str] | None = None,
) -> Rulebook:
    """Return the rulebook of exactly the packs of a lock, found by digest among `files` (name and bytes of each).

    Raises as `load` does with a lock.
    """
    from tirerules.packs import locking

    wanted = {pack: _entry(entry) for pack, entry in lock.items()}
    return _holding(locking.locked(files, wanted, pins or {}))


def _entry(entry: PackLock | tuple[str, str]) -> tuple[str, str, bool]:
    return (*entry, False) if isinstance(entry, tuple) else (entry.version, entry.sha256, entry.replaces)


def _each(heads: Sequence[_Held], read: Callable[[_Held], _Read]) -> list[_Read]:
    """Return what is read of every pack. Raises PackError with the problems of all of them together."""
    try:
        return [read(head) for head in heads]
    except Exception:  # whatever it is, it is raised again, once the others were asked too
        from tirerules.packs.library import gather

        return [read(head) for head in gather(heads, lambda head: (read(head), head)[1])]


def _holding(found: Iterable[Head | Locked]) -> Rulebook:
    rulebook = Rulebook.__new__(Rulebook)
    rulebook._hold(found)
    return rulebook
