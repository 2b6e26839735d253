"""What is still worth asking, from packed facts: the needs of every open answer, for the reference to choose among.

Mirrors what `tirerules.deciding.judgment` and `.gaps` note as needed, for cases in which nothing was worked out; the
choice itself is that of `tirerules.deciding.questions`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from tirerules.deciding.judgment import Need
from tirerules.deciding.questions import worth_asking
from tirerules.index.evaluate import covered
from tirerules.index.plan import NO_INJURIES, NO_REPAIRS, OWN_FIGURES, SEVERAL_INJURIES, Plan
from tirerules.stated import ASKED_OF_CARRIER, GROOVES_UNSEEN
from tirerules.vocabulary import PAIRED, REPAIR_METHODS
from tirerules.worked_out import CARRIER, CARRIER_FACTS, REGROOVED

if TYPE_CHECKING:
    from tirerules.index.plan import Packed

__all__ = ["needs_of"]

_REPAIR_FACTS: Final = (
    *("repair.diameter", "repair.zone", "repair.method", "repair.from_centerline", "repair.side"),
    "repair.reach",
)
_INSTEAD: Final[Mapping[str, tuple[str, ...]]] = {
    "tire.section_width": ("tire.size", "tire.section_width"),
    "tire.outside_diameter": ("tire.size", "tire.outside_diameter"),
    # Of a repair that is not listed, nobody can say how far around the tire it lies from another.
    "repairs.spacing_angle": ("earlier_repairs",),
}
_UNZONED: Final = {"injury.reach": ("injury.zone", "injury.from_centerline")}
_UNPLACED: Final = {"repair.reach": ("repair.zone", "repair.from_centerline")}


@dataclass(frozen=True, slots=True)
class _Answer:
    """A rule that fails, or one that is open with the facts that could settle it."""

    outcome: bool | None
    needs: frozenset[Need] = frozenset()
    asks_first: Need | None = None


@dataclass(frozen=True, slots=True)
class _Judged:
    """The answers to a case that do not pass, as `worth_asking` reads them."""

    common: list[_Answer]
    injuries: tuple[None, ...]
    methods: dict[tuple[int, str], list[_Answer]]


@dataclass(frozen=True, slots=True)
class _View:
    """What is known of a subject, who it is, and what is asked in the place of a fact."""

    packed: int
    subjects: Mapping[str, str] = field(default_factory=dict)
    missing: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def needs(self, fact: str) -> list[Need]:
        """Return what to ask for a fact, best first."""
        asked = self.missing.get(fact, (fact,))
        return [(each, "" if each in PAIRED else self.subjects.get(each.partition(".")[0], "")) for each in asked]

    def joined(self, other: _View) -> _View:
        """Return what is known of both."""
        both = {**self.subjects, **other.subjects}, {**self.missing, **other.missing}
        return _View(self.packed | other.packed, *both)


def needs_of(plan: Plan, packed: Packed) -> tuple[Need, ...] | None:
    """Return the smallest set of facts that could settle an open case; None where only the reference can tell."""
    tire, pairs, repairs, injuries, flags, method, _ = packed
    if pairs or flags & (OWN_FIGURES | SEVERAL_INJURIES):
        return None
    whole = _View(tire, {}, {**_INSTEAD, **_asked_instead(flags, bool(injuries))})
    each_repair = [
        _View(each, {"repair": f"earlier repair {at}"}, _UNPLACED) for at, each in enumerate(repairs, start=1)
    ]
    if flags & NO_REPAIRS:
        whole = whole.joined(_View(0, {}, dict.fromkeys((*PAIRED, "repairs.count"), ("earlier_repairs",))))
        unlisted = dict.fromkeys(_REPAIR_FACTS, ("earlier_repairs",))
        each_repair = [_View(repairs[0], {"repair": "earlier repair 1"}, unlisted)]
    common = list(_subject(plan, whole, each_repair, ""))
    if plan.repair_guards is not None and not flags & NO_REPAIRS:
        for repair in each_repair:
            common += _unlimited(plan, plan.repair_guards, whole.joined(repair))
    if not plan.repairing:
        for guards in plan.tread_guards.values():
            common += _unlimited(plan, guards, whole)
        if flags & NO_INJURIES and injuries:
            common.append(_Answer(None, frozenset({("findings", "")})))
    methods: dict[tuple[int, str], list[_Answer]] = {}
    for injury in injuries:
        own = whole.joined(_View(injury[0], {"injury": "injury 1"}, _UNZONED))
        common += _subject(plan, own, each_repair, "injury")
        for name in ((method,) if method else REPAIR_METHODS) if plan.repairing else ():
            view = own.joined(_View(plan.word("method", name)))
            found = list(_subject(plan, view, each_repair, "injury+method", "method"))
            if plan.repaired:
                found += _answers(plan, _as_repair(plan, whole, injury[1], name), plan.repaired)
            methods[0, name] = [*found, *_unlimited(plan, plan.size_guards, view)]
    return worth_asking(_Judged(common, (None,) * len(injuries), methods))  # type: ignore[arg-type]  # it has their shape


def _asked_instead(flags: int, injured: bool) -> dict[str, tuple[str, ...]]:
    """Return what is asked in the place of a fact that is worked out."""
    instead: dict[str, tuple[str, ...]] = {}
    if injured and flags & NO_INJURIES and not flags & NO_REPAIRS:
        instead["repairs.spacing_angle"] = ("injuries",)
    if flags & GROOVES_UNSEEN:
        instead[REGROOVED] = ("findings", REGROOVED)
    if asked := flags // ASKED_OF_CARRIER:
        instead[CARRIER] = (CARRIER_FACTS[asked - 1],)
    return instead


def _as_repair(plan: Plan, whole: _View, packed: int, method: str) -> _View:
    """Return what is known of the tire with the new repair on it."""
    subjects = {"repair": "the repair of injury 1", "injury": "injury 1"}
    missing = {
        "repair.diameter": ("injury.diameter",),
        "repair.zone": ("injury.zone",),
        "repair.reach": _UNZONED["injury.reach"],
    }
    return whole.joined(_View(packed | plan.word("repair.method", method), subjects, missing))


def _subject(plan: Plan, view: _View, each_repair: Iterable[_View], *groups: str) -> Iterator[_Answer]:
    for group in groups:
        yield from _answers(plan, view, plan.group(group))
        if rules := plan.group(group, True):
            for repair in each_repair:
                yield from _answers(plan, view.joined(repair), rules)


def _answers(plan: Plan, view: _View, rules: int) -> Iterator[_Answer]:
    """Yield what those of `rules` say that do not pass."""
    n, packed = plan.count, view.packed
    missed = rules & ~packed & packed >> 2 * n
    while missed:
        bit = missed & -missed
        missed ^= bit
        at = bit.bit_length() - 1
        doubtful = packed >> 3 * n & bit
        if not doubtful and not packed >> n & bit:
            yield _Answer(False)
            continue
        body = [need for fact in _lacking(plan, at, packed) for need in view.needs(fact)] if doubtful else []
        open_ = [need for fact in plan.open_facts(packed, bit) for need in view.needs(fact)]
        yield _Answer(None, frozenset([*open_, *body]), body[0] if body else None)


def _lacking(plan: Plan, at: int, packed: int) -> tuple[str, ...]:
    """Return the facts that could settle the body of a rule."""
    body = plan.rows[at]["body"]
    fact: str = body["fact"]
    if "of" in body:
        return body["of"], fact
    if body.get("counted") and not packed & plan.tables[fact].unknown:
        return ("tire.tread_grid",)
    return (fact,)


def _unlimited(plan: Plan, guards: int, view: _View) -> list[_Answer]:
    """Return the gap where none of the rules that limit what must be limited surely applies."""
    relevant = guards & ~view.packed
    if relevant & ~(view.packed >> plan.count) or covered(plan, relevant, view.packed):
        return []
    wanted = (view.needs(fact) for fact in plan.open_facts(view.packed, relevant))
    return [_Answer(None, frozenset(need for needs in wanted for need in needs))]
