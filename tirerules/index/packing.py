"""From a case to packed facts.

A case is typed (`tirerules.case.Case`) or plain (`tirerules.index.plain`): its facts are called the same. What follows
from other facts is worked out by the functions of `tirerules.deciding`, which are imported only for a case that needs
them: how far a measured injury reaches, how repairs lie to each other. Only a grid of tread readings and a unit with a
rating are left to the reference.
"""

from __future__ import annotations

from functools import reduce
from itertools import combinations
from operator import attrgetter, or_

from tirerules.index.bits import ABSENT
from tirerules.index.plan import NO_INJURIES, NO_REPAIRS, OWN_FIGURES, PLACED, SEVERAL_INJURIES, make_room
from tirerules.words import CURED_BY_REPAIR, PAIRED, field_of

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from typing import Any, TypeAlias, cast

    from tirerules.case import Case, EarlierRepair, Injury
    from tirerules.index.bits import Table
    from tirerules.index.plain import PlainCase
    from tirerules.index.plan import Injured, Packed, Plan
    from tirerules.packs.rule import Rule

    Asked: TypeAlias = "Case | PlainCase"
    #: What a value of a fact does: a packed number.
    Does = Callable[[Any], int]
    #: A fact: the attribute that holds it, its name, whether it is a number, and what its values do.
    Field = tuple[str, str, bool, Does]
    #: What reads some facts at once, their names, and what their values do.
    Getter = tuple[Callable[[object], tuple[Any, ...]], tuple[str, ...], tuple[Does, ...]]

else:

    def cast(_: str, value: object) -> object:
        """Return `value`; typing's own would import typing."""
        return value


__all__ = ["Packer", "packed_after_repair", "packed_case", "packer_of", "span_of", "unplaced"]

_GROUPS = ("tire.", "vehicle.", "axle.", "shop.", "road.", "sale.")
_SNOW, _REACH, _ZONE, _SIZE = "road.snow_restriction", "injury.reach", "injury.zone", "injury.diameter"
#: What a rule on what a repair leads to hears of the new one; and the facts of the injury that it follows from.
_MENDED = ("diameter", "zone")
_BOTH = (_SIZE, _ZONE)
_MOST_REMEMBERED = 20_000


class _Fields:
    """Some facts of a case that a plan reads, and what each value of them does; what was met once is remembered."""

    __slots__ = ("_by_measures", "_by_words", "_numbers", "_words")

    def __init__(self, fields: Iterable[Field]) -> None:
        both: tuple[list[Field], list[Field]] = ([], [])
        for each in fields:
            both[each[2]].append(each)
        self._words, self._numbers = map(_getter, both)
        self._by_words: dict[tuple[Any, ...], int] = {}
        #: By the identity of measurements, which are kept with it, so that no other can take it: most of them are
        #: shared, and comparing exact numbers costs more than all the rest.
        self._by_measures: dict[tuple[int, ...], tuple[tuple[Any, ...], int]] = {}

    def packed(self, values: object, worked_out: Mapping[str, Any] | None = None) -> int:
        """Return what the facts of `values` do; what is not stated there may be `worked_out`."""
        packed = 0
        if self._words is not None:
            get, facts, does = self._words
            found = get(values)
            if worked_out:
                found = _with(worked_out, found, facts)
            known = self._by_words.get(found)
            if known is None:
                known = _all_of(does, found)
                make_room(self._by_words, _MOST_REMEMBERED)[found] = known
            packed = known
        if self._numbers is not None:
            get, facts, does = self._numbers
            found = get(values)
            if worked_out:
                found = _with(worked_out, found, facts)
            key = tuple(map(id, found))
            measured = self._by_measures.get(key)
            if measured is None:
                measured = found, _all_of(does, found)
                make_room(self._by_measures, _MOST_REMEMBERED)[key] = measured
            packed |= measured[1]
        return packed


def _all_of(does: Sequence[Does], values: Sequence[Any]) -> int:
    return reduce(or_, [each(value) for each, value in zip(does, values, strict=True)])


def _with(worked_out: Mapping[str, Any], found: tuple[Any, ...], facts: Sequence[str]) -> tuple[Any, ...]:
    """Return what was found, and what was worked out in the place of nothing."""
    return tuple(_or(value, worked_out.get(fact)) for value, fact in zip(found, facts, strict=True))


def _or(value: Any, other: Any) -> Any:
    return other if value is None else value


def _getter(fields: list[Field]) -> Getter | None:
    """Return what reads all of `fields` at once; of a single one, twice the same, which changes no OR."""
    if not fields:
        return None
    names, facts, _, does = zip(*(fields * 2 if len(fields) == 1 else fields), strict=True)
    return attrgetter(*names), facts, does


def _field(fact: str, table: Table, within: str = "") -> Field:
    """Return a fact as it is read from what holds it: a group, or the whole case where `within` names the group."""
    return f"{within}{field_of(fact)}", fact, table.kind == "number", _does(table)


def _does(table: Table) -> Does:
    return (lambda value: span_of(value, table)) if table.kind == "number" else table.__getitem__


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
        "_by_lists",
        "_injury",
        "_of_injury",
        "_whole",
        "becomes",
        "paired",
        "plan",
        "reach",
        "repair",
        "unsaid",
    )

    def __init__(self, plan: Plan) -> None:
        self.plan, tables = plan, plan.tables
        self.reach = tables.get(_REACH)
        self.paired = [(fact.partition(".")[2], tables[fact]) for fact in sorted(PAIRED) if fact in tables]
        self._by_lists: dict[tuple[Any, ...], int] = {}
        groups = ((fact, table, f"{fact.partition('.')[0]}.") for fact, table in tables.items())
        self._whole = _Fields(_field(*each) for each in groups if each[2] in _GROUPS and each[0] != _SNOW)
        of_repair = [_field(fact, tables[fact]) for fact in tables if fact.startswith("repair.")]
        self.repair = _Fields(of_repair)
        #: What an earlier repair says of itself, an injury says of the repair that it becomes.
        self.becomes = _Fields(field for field in of_repair if field[1] != "repair.method")
        #: Of the new repair itself a rule on what it leads to hears only its size and its zone.
        told = ("repair.method", *(f"repair.{key}" for key in _MENDED))
        self.unsaid = reduce(or_, (tables[field[1]][None] for field in of_repair if field[1] not in told), 0)
        self._of_injury = (1 << plan.width) - 1
        facts = dict.fromkeys([*(fact for fact in tables if fact.startswith("injury.") and fact != _REACH), *_BOTH])
        self._injury = _Fields(self._twice(fact) for fact in facts)

    def _twice(self, fact: str) -> Field:
        """Return a fact of an injury: what it does, and above that what it does as the repair that it becomes."""
        tables, (_, _, key) = self.plan.tables, fact.partition(".")
        own, becomes = tables.get(fact), tables.get(f"repair.{key}") if key in _MENDED and self.plan.repaired else None
        reach, width = self.reach if fact == _ZONE else None, self.plan.width

        def does(value: Any) -> int:
            packed = 0 if own is None else _does(own)(value)
            if reach is not None:
                packed |= reach[None if value is None else ABSENT]
            return packed if becomes is None else packed | _does(becomes)(value) << width

        return key, fact, fact == _SIZE or (own is not None and own.kind == "number"), does

    # --- the tire

    def tire(
        self,
        case: Asked,
        findings: frozenset[str] | None,
        total: int | None,
        spots: Sequence[Injury | EarlierRepair],
    ) -> tuple[int, tuple[int, ...]]:
        """Return what is known of the tire, and the same with each pair of repairs, where there is more than one.

        It will carry `total` repairs; `spots` are those that are listed.
        """
        whole, stated = case.tire, case.repairs
        worked_out = None if whole.size is None and whole.date_code is None else _worked_out(case)
        known = self._whole.packed(case, worked_out)
        count = total if stated.count is None else stated.count
        key = (findings, case.road.snow_restriction, count, total, stated.overlap, stated.opposed)
        if stated.spacing is None and (len(spots) < 2 or not self.paired):
            lists = self._by_lists.get(key)
            if lists is None:
                lists = self._lists(findings, key[1], count) | self.pair(stated, _single(total, count), {})
                make_room(self._by_lists, _MOST_REMEMBERED)[key] = lists
            return known | lists, ()
        known |= self._lists(findings, key[1], count)
        single = _single(total, count)
        if len(spots) < 2:
            return known | self.pair(stated, single, {}), ()
        pairs = _pairs(case, worked_out or {}, total, spots)
        return known | self.pair(stated, single, {}), tuple(known | self.pair(stated, single, view) for view in pairs)

    def _lists(self, findings: frozenset[str] | None, snow: bool | None, count: int | None) -> int:
        tables = self.plan.tables
        if snow is None and self.plan.activity != "road-use":
            snow = False  # it concerns one drive
        packed = self.plan.word("findings", findings) | self.plan.word(_SNOW, snow)
        return packed | span_of(count, tables["repairs.count"]) if "repairs.count" in tables else packed

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
        packed = self._injury.packed(injury)
        return packed & self._of_injury, packed >> self.plan.width | self.unsaid if self.plan.repaired else 0

    def repairs(self, repairs: Sequence[EarlierRepair] | None) -> tuple[int, ...]:
        """Return what is known of each earlier repair."""
        return (self.repair.packed(_NOTHING),) if repairs is None else tuple(map(self.repair.packed, repairs))


def _single(total: int | None, count: int | None) -> bool:
    """Whether the tire surely carries at most one repair."""
    return total is not None and max(total, count or 0) <= 1


def packer_of(plan: Plan) -> Packer:
    """Return what packs the cases of a plan."""
    if plan.packer is None:
        plan.packer = Packer(plan)
    return plan.packer


def packed_case(plan: Plan, case: Asked, rules: Callable[[Plan], Sequence[Rule]]) -> Packed | None:
    """Return what is known of a case; None where only the reference can judge it.

    `rules` gives the rules of a plan, in its order, where a measured injury must be held against one.
    """
    if case.tire.tread_grid is not None or (case.repair_unit is not None and plan.extendable):
        return None
    packer = plan.packer or packer_of(plan)
    injuries, repairs, findings, flags = case.injuries, case.earlier_repairs, case.findings, 0
    listed: Sequence[Injury | _Nothing] = injuries or ()
    total = None if repairs is None else len(repairs) + (len(listed) if plan.repairing else 0)
    if injuries is None:
        flags = NO_INJURIES
        if plan.repairing:
            total = None
        if plan.repairing or findings is None:
            listed = (_NOTHING,)
    elif len(injuries) > 1:
        flags = SEVERAL_INJURIES
    if repairs is None:
        flags |= NO_REPAIRS
    spots = (*(injuries or ()), *repairs) if repairs else injuries or ()
    tire, pairs = packer.tire(case, findings, total, spots)
    if pairs and any(spot.clock is not None for spot in spots):
        flags |= PLACED
    measured = unzoned = False
    for each in listed:
        unzoned = unzoned or each.zone is None
        measured = measured or each.from_centerline is not None or each.surface_diameter is not None
    packed: tuple[Injured, ...]
    if measured:
        from tirerules.index.measured import Measured, lengths

        typed = cast("Case", case)  # INVARIANT: only a typed case is measured
        packed = Measured(plan, rules, typed, tire, lengths(typed, _worked_out(case))).every()
        flags |= OWN_FIGURES
    else:
        if unzoned and _measures(plan, case):
            flags |= OWN_FIGURES
        packed = tuple([packer.one_injury(each) for each in listed])
    return tire, pairs, packer.repairs(repairs) if repairs != () else (), packed, flags, case.method, findings


def _measures(plan: Plan, case: Asked) -> bool:
    """Whether a band would follow from what is known of the tire, so that it has a figure of this tire's own."""
    known = _worked_out(case)
    return any(fact in known or getattr(case.tire, fact.partition(".")[2]) is not None for fact in plan.relative)


def _worked_out(case: Asked) -> Mapping[str, Any]:
    """Return what follows from the sidewall."""
    if case.tire.size is None and case.tire.date_code is None:
        return {}
    known: Mapping[str, Any] | None = getattr(case, "worked_out", None)
    if known is not None:
        return known
    from tirerules.deciding.facts import sidewall

    return sidewall(cast("Case", case))


def _pairs(
    case: Asked, worked_out: Mapping[str, Any], total: int | None, spots: Sequence[Injury | EarlierRepair]
) -> Iterable[Mapping[str, Any]]:
    """Return what is known of each pair of repairs, and of none in particular where more of them may not be listed."""
    if any(spot.clock is not None or spot.unit_width is not None for spot in spots):
        from tirerules.index.measured import pairs

        return pairs(cast("Case", case), worked_out)  # INVARIANT: only a typed case states such places
    unlisted = total is None or total < (case.repairs.count or 0)
    return (*unplaced(spots), {}) if unlisted else unplaced(spots)


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


def packed_after_repair(plan: Plan, case: Asked, methods: Sequence[str]) -> list[Packed] | None:
    """Return what will be known of the tire of a repair case once it is repaired, for another activity, by method."""
    if case.tire.tread_grid is not None:
        return None
    packer = plan.packer or packer_of(plan)
    injuries: Sequence[Any] = case.injuries or (_NOTHING,)
    earlier = case.earlier_repairs
    findings = None if case.findings is None else case.findings - CURED_BY_REPAIR
    spots = (*injuries, *(earlier or ()))
    if case.injuries is None and any(spot.clock is not None for spot in spots):
        return None
    tire, pairs = packer.tire(case, findings, None if earlier is None else len(spots), spots)
    if any(injury.surface_diameter is not None for injury in injuries):
        from tirerules.deciding.facts import repaired

        injuries = [repaired(injury, methods[0]) for injury in injuries]
    mended = [packer.becomes.packed(injury) for injury in injuries]
    repairs = packer.repairs(earlier)
    if earlier is None:
        return [(tire, pairs, repairs, (), NO_REPAIRS, None, findings)] * len(methods)
    words = [plan.word("repair.method", method) for method in methods]
    return [(tire, pairs, (*repairs, *[each | word for each in mended]), (), 0, None, findings) for word in words]
