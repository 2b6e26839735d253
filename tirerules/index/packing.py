"""From a case to packed facts.

A case is typed (`tirerules.case.Case`) or plain (`tirerules.index.plain`): its facts are called the same. What follows
from other facts is worked out by the functions of `tirerules.deciding`, which are imported only for a case that needs
them: how far a measured injury reaches, how repairs lie to each other. Only a grid of tread readings and a unit with a
rating are left to the reference.
"""

from __future__ import annotations

from functools import reduce
from itertools import combinations
from operator import attrgetter, getitem, or_

from tirerules.index.bits import ABSENT
from tirerules.index.plan import NO_INJURIES, NO_REPAIRS, OWN_FIGURES, SEVERAL_INJURIES, make_room
from tirerules.words import CURED_BY_REPAIR, PAIRED

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from typing import Any, TypeAlias, cast

    from tirerules.case import Case, EarlierRepair, Injury
    from tirerules.index.bits import Table
    from tirerules.index.plain import PlainCase
    from tirerules.index.plan import Packed, Plan
    from tirerules.packs.rule import Rule

    Asked: TypeAlias = "Case | PlainCase"
    #: What reads some fields of a value at once, and what each value of them does.
    Getter = tuple[Callable[[object], tuple[Any, ...]], tuple[Table, ...]]

else:

    def cast(_: str, value: object) -> object:
        """Return `value`; typing's own would import typing."""
        return value


__all__ = ["Packer", "packed_after_repair", "packed_case", "packer_of", "unplaced"]

_GROUPS = ("tire", "vehicle", "axle", "shop", "road", "sale")
_SNOW, _REACH, _ZONE = "road.snow_restriction", "injury.reach", "injury.zone"
_MENDED = ("repair.diameter", "repair.zone")
_MOST_REMEMBERED = 20_000


class _Fields:
    """Some facts of a case that a plan reads, and what each value of them does."""

    __slots__ = ("_by_measures", "_by_words", "numbers", "words")

    def __init__(self, plan: Plan, facts: Iterable[str], whole_case: bool = False) -> None:
        words: list[tuple[str, Table]] = []
        numbers: list[tuple[str, Table]] = []
        for fact in facts:
            group, _, key = fact.partition(".")
            attribute = f"{key}_" if key == "class" else key
            pair = (f"{group}.{attribute}" if whole_case else attribute, plan.tables[fact])
            (numbers if pair[1].kind == "number" else words).append(pair)
        self.words = _getter(words)
        self.numbers = _getter(numbers)
        self._by_words: dict[tuple[Any, ...], int] = {}
        #: By the identity of measurements, which are kept with it, so that no other can take it: most of them are
        #: shared, and comparing exact numbers costs more than all the rest.
        self._by_measures: dict[tuple[int, ...], tuple[tuple[Any, ...], int]] = {}

    def packed(self, values: object, worked_out: Mapping[str, Any] | None = None) -> int:
        """Return what the facts of `values` do; what is not stated there may be `worked_out`."""
        packed = 0
        if self.words is not None:
            get, tables = self.words
            found = get(values)
            if worked_out:
                found = _with(worked_out, found, tables)
            known = self._by_words.get(found)
            if known is None:
                known = make_room(self._by_words, _MOST_REMEMBERED)[found] = reduce(or_, map(getitem, tables, found))
            packed = known
        if self.numbers is not None:
            get, tables = self.numbers
            found = get(values)
            if worked_out:
                found = _with(worked_out, found, tables)
            key = tuple(map(id, found))
            measured = self._by_measures.get(key)
            if measured is None:
                both = found, reduce(or_, map(span_of, found, tables))
                measured = make_room(self._by_measures, _MOST_REMEMBERED)[key] = both
            packed |= measured[1]
        return packed


def _with(worked_out: Mapping[str, Any], found: tuple[Any, ...], tables: Sequence[Table]) -> tuple[Any, ...]:
    """Return what was found, and what was worked out in the place of nothing."""
    return tuple(_or(value, worked_out.get(table.fact)) for value, table in zip(found, tables, strict=True))


def _or(value: Any, other: Any) -> Any:
    return other if value is None else value


def _getter(fields: list[tuple[str, Table]]) -> Getter | None:
    """Return what reads all of `fields` at once; of a single one, twice the same, which changes no OR."""
    if not fields:
        return None
    both = fields * 2 if len(fields) == 1 else fields
    return attrgetter(*(name for name, _ in both)), tuple(table for _, table in both)


def span_of(value: Any, table: Table) -> int:
    """Return what a number does: a text, a measurement, a quantity, an interval, a count, or nothing."""
    if value is None or isinstance(value, str):
        return int(table[value])
    if isinstance(value, int):
        return table.span(value, 1, value, 1)
    low, high = getattr(value, "low", value), getattr(value, "high", value)
    low, high = getattr(low, "exact", low), getattr(high, "exact", high)
    return table.span(low.numerator, low.denominator, high.numerator, high.denominator)


class _Nothing:
    """An injury or repair of which nothing is known."""

    def __getattr__(self, name: str) -> None:
        return None


_NOTHING = _Nothing()


class Packer:
    """Packs the cases of one plan."""

    __slots__ = (
        "becomes",
        "counted",
        "injury",
        "mended",
        "paired",
        "plan",
        "reach",
        "repair",
        "snow",
        "unsaid",
        "whole",
        "zone",
    )

    def __init__(self, plan: Plan) -> None:
        self.plan, tables = plan, plan.tables
        in_case = [fact for fact in tables if fact.partition(".")[0] in _GROUPS and fact != _SNOW]
        of_repair = [fact for fact in tables if fact.startswith("repair.")]
        self.whole = _Fields(plan, in_case, whole_case=True)
        self.injury = _Fields(
            plan, [fact for fact in tables if fact.startswith("injury.") and fact not in (_REACH, _ZONE)]
        )
        self.repair = _Fields(plan, of_repair)
        #: What an earlier repair says of itself, an injury says of the repair that it becomes.
        self.becomes = _Fields(plan, [fact for fact in of_repair if fact != "repair.method"])
        #: Of the new repair itself a rule on what it leads to hears only its size and its zone.
        self.mended = _Fields(plan, [fact for fact in of_repair if fact in _MENDED])
        unsaid = [tables[fact] for fact in of_repair if fact not in (*_MENDED, "repair.method")]
        self.unsaid = reduce(or_, (table[None] for table in unsaid), 0)
        self.snow, self.reach, self.zone = tables.get(_SNOW), tables.get(_REACH), tables.get(_ZONE)
        self.counted = tables.get("repairs.count")
        self.paired = [(fact.partition(".")[2], tables[fact]) for fact in sorted(PAIRED) if fact in tables]

    # --- the tire

    def tire(
        self, case: Asked, findings: frozenset[str] | None, total: int | None, worked_out: Mapping[str, Any]
    ) -> int:
        """Return what is known of the tire apart from its pairs of repairs; it will carry `total` repairs."""
        packed = self.whole.packed(case, worked_out) | self.plan.word("findings", findings)
        if self.snow is not None:
            stated = case.road.snow_restriction
            packed |= self.snow[False if stated is None and self.plan.activity != "road-use" else stated]
        if self.counted is not None:
            counted = _or(case.repairs.count, total)
            packed |= span_of(counted, self.counted)
        return packed

    def pair(self, stated: Any, single: bool, values: Mapping[str, Any]) -> int:
        """Return what is known of two repairs, or of all: by what is `stated`, by there being one, by `values`."""
        packed = 0
        for key, table in self.paired:
            said = getattr(stated, key, None)
            if said is not None:
                packed |= span_of(said, table) if table.kind == "number" else table[said]
            elif single:
                packed |= table[ABSENT if table.kind == "number" else False]
            else:
                value = values.get(table.fact)
                packed |= table[value] if table.kind == "word" or value is None else span_of(value, table)
        return packed

    # --- injuries and repairs

    def one_injury(self, injury: Injury | _Nothing) -> tuple[int, int]:
        """Return what is known of an injury that was not measured, and of the repair that it becomes."""
        packed, zone = self.injury.packed(injury), injury.zone
        if self.zone is not None:
            packed |= self.zone[zone]
        if self.reach is not None:
            packed |= self.reach[None if zone is None else ABSENT]
        return packed, self.mended.packed(injury) | self.unsaid if self.plan.repaired else 0

    def repairs(self, repairs: Sequence[EarlierRepair] | None) -> tuple[int, ...]:
        """Return what is known of each earlier repair."""
        return (self.repair.packed(_NOTHING),) if repairs is None else tuple(map(self.repair.packed, repairs))


def packer_of(plan: Plan) -> Packer:
    """Return what packs the cases of a plan."""
    known = plan.cache("typed")
    if not known:
        known[None] = Packer(plan)
    packer: Packer = known[None]
    return packer


def packed_case(plan: Plan, case: Asked, rules: Callable[[], Sequence[Rule]]) -> Packed | None:
    """Return what is known of a case; None where only the reference can judge it.

    `rules` gives the rules of the plan, in its order, where a measured injury must be held against one.
    """
    if case.tire.tread_grid is not None or (case.repair_unit is not None and plan.extendable):
        return None
    packer = packer_of(plan)
    injuries, repairs, findings = case.injuries, case.earlier_repairs, case.findings
    if not plan.repairing and injuries is None and findings is not None:
        injuries = ()
    total, worked_out = case.repair_total, _worked_out(case)
    tire = packer.tire(case, findings, total, worked_out)
    tire, pairs = _with_pairs(packer, case, tire, total, worked_out, (*(injuries or ()), *(repairs or ())))
    flags, packed = _injuries(packer, case, injuries, tire, worked_out, rules)
    if case.injuries is None:
        flags |= NO_INJURIES
    elif len(case.injuries) > 1:
        flags |= SEVERAL_INJURIES
    if repairs is None:
        flags |= NO_REPAIRS
    return tire, pairs, packer.repairs(repairs), packed, flags, case.method, findings


def _worked_out(case: Asked) -> Mapping[str, Any]:
    """Return what follows from the sidewall."""
    if case.tire.size is None and case.tire.date_code is None:
        return {}
    known: Mapping[str, Any] | None = getattr(case, "worked_out", None)
    if known is not None:
        return known
    from tirerules.deciding.facts import sidewall

    return sidewall(cast("Case", case))


def _with_pairs(
    packer: Packer,
    case: Asked,
    tire: int,
    total: int | None,
    worked_out: Mapping[str, Any],
    spots: Sequence[Injury | EarlierRepair],
) -> tuple[int, tuple[int, ...]]:
    """Return what is known of the tire, and the same with each pair of repairs, where there is more than one repair."""
    if not packer.paired:
        return tire, ()
    single = total is not None and max(total, case.repairs.count or 0) <= 1
    whole = tire | packer.pair(case.repairs, single, {})
    if len(spots) < 2:
        return whole, ()
    if any(spot.clock is not None or spot.unit_width is not None for spot in spots):
        from tirerules.index.measured import pairs

        # INVARIANT: only a typed case states such places, and only a typed case is measured.
        views: Iterable[Mapping[str, Any]] = pairs(cast("Case", case), worked_out)
    else:
        views = unplaced(spots)
        if total is None or total < (case.repairs.count or 0):
            views = (*views, {})
    return whole, tuple(tire | packer.pair(case.repairs, single, view) for view in views)


def unplaced(spots: Sequence[Injury | EarlierRepair]) -> Iterable[dict[str, bool]]:
    """Return what is known of pairs of which no place around the tire is: whether two may lie across from each other.

    As `tirerules.deciding.pairs` has it: only in the sidewalls, and not on the same side.
    """
    return [
        {"repairs.opposed": False}
        if any(spot.zone not in (None, "sidewall") for spot in pair)
        or (pair[0].side is not None and pair[0].side == pair[1].side)
        else {}
        for pair in combinations(spots, 2)
    ]


def _injuries(
    packer: Packer,
    case: Asked,
    injuries: Sequence[Injury] | None,
    tire: int,
    worked_out: Mapping[str, Any],
    rules: Callable[[], Sequence[Rule]],
) -> tuple[int, tuple[Any, ...]]:
    """Return what is known of each injury, and whether a band has a figure of this tire's own.

    Of an injury that was measured it is also known where it proves to lie, method by method.
    """
    listed: Sequence[Injury | _Nothing] = (_NOTHING,) if injuries is None else injuries
    measured = unzoned = False
    for injury in listed:
        unzoned = unzoned or injury.zone is None
        measured = measured or injury.from_centerline is not None or injury.surface_diameter is not None
    if measured:
        from tirerules.index.measured import Measured, lengths

        typed = cast("Case", case)
        each = Measured(packer.plan, rules, typed, tire, lengths(typed, worked_out))
        return OWN_FIGURES, each.every()
    of_this_tire = unzoned and any(
        fact in worked_out or getattr(case.tire, fact.partition(".")[2]) is not None for fact in packer.plan.relative
    )
    return OWN_FIGURES if of_this_tire else 0, tuple([packer.one_injury(injury) for injury in listed])


def packed_after_repair(plan: Plan, case: Asked, methods: Sequence[str]) -> list[Packed] | None:
    """Return what will be known of the tire of a repair case once it is repaired, for another activity, by method."""
    if case.tire.tread_grid is not None:
        return None
    packer, worked_out = packer_of(plan), _worked_out(case)
    injuries: Sequence[Any] = case.injuries or (_NOTHING,)
    earlier = case.earlier_repairs
    findings = None if case.findings is None else case.findings - CURED_BY_REPAIR
    total = None if earlier is None else len(earlier) + len(injuries)
    tire = packer.tire(case, findings, total, worked_out)
    spots = (*injuries, *(earlier or ()))
    if case.injuries is None and any(spot.clock is not None for spot in spots):
        return None
    tire, pairs = _with_pairs(packer, case, tire, total, worked_out, spots)
    if any(injury.surface_diameter is not None for injury in injuries):
        from tirerules.deciding.facts import repaired

        injuries = [repaired(injury, methods[0]) for injury in injuries]
    mended = [packer.becomes.packed(injury) for injury in injuries]
    repairs = packer.repairs(earlier)
    if earlier is None:
        return [(tire, pairs, repairs, (), NO_REPAIRS, None, findings)] * len(methods)
    words = [plan.word("repair.method", method) for method in methods]
    return [(tire, pairs, (*repairs, *(each | word for each in mended)), (), 0, None, findings) for word in words]
