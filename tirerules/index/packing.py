"""From a case to packed facts.

A case is typed (`tirerules.case.Case`) or plain (`tirerules.index.plain`); both are read as rows (`tirerules.stated`).
What follows from other facts is worked out by the functions of `tirerules.deciding`, which are imported only for a case
that needs them: how far a measured injury reaches, how repairs lie to each other. Only a grid of tread readings and a
unit with a rating are left to the reference.
"""

from __future__ import annotations

from itertools import combinations
from operator import itemgetter

from tirerules.index.bits import ABSENT
from tirerules.index.looks import Made, any_of, does_all, looks, packed_by
from tirerules.index.plan import OWN_FIGURES, PLACED, make_room
from tirerules.stated import INJURY, MEASURED_ZONES, NO_REPAIRS, REPAIR, ROW, WHOLE, ends
from tirerules.vocabulary import CURED_BY_REPAIR, FINDINGS, METHODS, PAIRED

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from typing import Any, TypeAlias, cast

    from tirerules.case import Case
    from tirerules.index.bits import Table
    from tirerules.index.looks import Does, Pick
    from tirerules.index.plain import PlainCase
    from tirerules.index.plan import Injured, Packed, Plan
    from tirerules.packs.rule import Rule
    from tirerules.stated import Row

    Asked: TypeAlias = "Case | PlainCase"
    #: What is known of where an injury or a repair lies: its zone, side and clock position, and the width of its unit.
    Spot: TypeAlias = "tuple[Any, ...]"

else:

    def cast(_: str, value: object) -> object:
        """Return `value`; typing's own would import typing."""
        return value


__all__ = [
    "Packer",
    "filled",
    "in_row",
    "left_by_repair",
    "packed_case",
    "packer_of",
    "paired_with",
    "pick_behind",
    "spots_of",
]

_SNOW, _COUNT, _REACH, _ZONE = "road.snow_restriction", "repairs.count", "injury.reach", "injury.zone"
_REPAIR_REACH, _REPAIR_ZONE = "repair.reach", "repair.zone"
_MOST_REMEMBERED = 20_000
#: What a rule on what a repair leads to hears of the new one.
_MENDED = ("diameter", "zone")
#: What is stated of the repairs together, and how many there are: from the row of the tire, and from that of a case.
_OF_PAIRS = tuple(sorted(fact for fact in PAIRED if fact in WHOLE))
_of_lists = itemgetter(*(WHOLE[fact] for fact in (_SNOW, _COUNT, *_OF_PAIRS)))
pick_behind: Pick = itemgetter(
    *(ROW[name] for name in (_SNOW, _COUNT, *_OF_PAIRS, "findings", "total", "flags", "injuries", "method"))
)
_AT_ZONE, _AT_SURFACE, _AT_OFFSET = (INJURY[f"injury.{key}"] for key in ("zone", "surface_diameter", "from_centerline"))
_AT_REPAIR_ZONE, _AT_REPAIR_OFFSET = (REPAIR[f"repair.{key}"] for key in ("zone", "from_centerline"))
_AT_SIZE, _AT_DATE, _AT_GRID, _AT_COUNT = (
    WHOLE[fact] for fact in ("tire.size", "tire.date_code", "tire.tread_grid", _COUNT)
)
_SPOT = ("zone", "side", "clock", "unit_width")
_spot_of_injury = itemgetter(*(INJURY[f"injury.{key}"] for key in _SPOT))
_spot_of_repair = itemgetter(*(REPAIR[f"repair.{key}"] for key in _SPOT))


def in_row(value: Any) -> Any:
    """Return a measurement, a quantity or an interval as it stands in a row; everything else stands there as it is."""
    low, high = getattr(value, "low", value), getattr(value, "high", value)
    low, high = getattr(low, "exact", low), getattr(high, "exact", high)
    return ends(low, high) if hasattr(low, "numerator") else value


class Packer:
    """Packs the cases of one plan."""

    __slots__ = (
        "_apart",
        "_becomes",
        "_injury",
        "_lists",
        "_of_injury",
        "_reached",
        "_repair",
        "_whole",
        "in_row",
        "mended",
        "paired",
        "plan",
        "reach",
        "unsaid",
    )

    def __init__(self, plan: Plan) -> None:
        self.plan, tables = plan, plan.tables
        self.reach = tables.get(_REACH)
        self.paired = tuple((fact, tables[fact]) for fact in sorted(PAIRED) if fact in tables)
        apart = {_SNOW, _COUNT, *PAIRED}
        whole: dict[str, Does] = {fact: table for fact, table in tables.items() if fact in WHOLE and fact not in apart}
        self._whole = looks(whole, WHOLE)
        self._lists: dict[tuple[Any, ...], tuple[int, int]] = {}
        self._apart: dict[tuple[Any, ...], tuple[int, ...]] = {}
        repair: dict[str, Does] = {fact: table for fact, table in tables.items() if fact in REPAIR}
        # Where the zone is stated, no rule asks how far the repair reaches.
        reached = _where_unzoned(tables.get(_REPAIR_REACH))
        if reached is not None:
            zone = [(repair[_REPAIR_ZONE], 0)] if _REPAIR_ZONE in repair else []
            repair[_REPAIR_ZONE] = does_all([*zone, (reached, 0)])
        self._repair = looks(repair, REPAIR)
        #: What an earlier repair says of itself, an injury says of the repair that it becomes.
        becomes: dict[str, Does] = {
            fact.replace("repair", "injury"): table for fact, table in repair.items() if fact != "repair.method"
        }
        self._becomes = looks(becomes, INJURY)
        #: Of the new repair itself a rule on what it leads to hears only its size and its zone.
        told = ("repair.method", *(f"repair.{key}" for key in _MENDED))
        #: A rule on what a repair leads to asks how far it reaches, unless its zone is stated.
        self._reached = reached if self.plan.repaired else None
        self.unsaid = any_of(tables[fact][None] for fact in repair if fact in tables and fact not in told)
        self._of_injury = (1 << plan.width) - 1
        injury = {fact: does_all(parts) for fact in INJURY if (parts := self._parts(fact))}
        self._injury = looks(injury, INJURY)
        #: What is known of a case in one row, as a number that no case has of which something else is known. What its
        #: injury says stands together with what is said of the tire: a rule has no bits in facts that it does not read.
        self.in_row = (*looks({**whole, **injury}, ROW), (pick_behind, Made(self._told)))
        #: What a case in one row does once the tire is repaired: each fact by itself, and what stands behind the facts;
        #: and how many bits that takes.
        self.mended = {**whole, **becomes}, Made(self._told_once_mended), plan.width + 1

    def _parts(self, fact: str) -> list[tuple[Does, int]]:
        """Return what a fact of an injury does, and above that what it does as a fact of the repair it becomes."""
        tables, (_, _, key) = self.plan.tables, fact.partition(".")
        parts: list[tuple[Does, int]] = [(tables[fact], 0)] if fact in tables else []
        reached = _where_unzoned(self.reach) if fact == _ZONE else None
        if reached is not None:
            parts.append((reached, 0))
        if fact == _ZONE and self._reached is not None:
            parts.append((self._reached, self.plan.width))
        if key in _MENDED and self.plan.repaired and f"repair.{key}" in tables:
            parts.append((tables[f"repair.{key}"], self.plan.width))
        return parts

    # --- a case in one row

    def _told(self, behind: tuple[Any, ...]) -> int:
        """Return what is said behind the facts; above all else, what tells apart cases that no rule tells apart."""
        *stated, findings, total, flags, injuries, method = behind
        lists, pair = self._told_of_lists(stated, findings, total)
        number = flags << 1 | injuries
        number = number << 4 | (0 if method is None else 1 + METHODS.index(method))
        number = number << len(FINDINGS) + 1 | _numbered(findings)
        packed: int = lists | pair | number << 2 * self.plan.width
        return packed

    def _told_once_mended(self, behind: tuple[Any, ...]) -> int:
        """Return what is said behind the facts once the one injury is repaired, for another activity."""
        *stated, findings, _, flags, _, _ = behind
        unlisted = bool(flags & NO_REPAIRS)
        lists, pair = self._told_of_lists(stated, left_by_repair(findings), None if unlisted else 1)
        return lists | pair | unlisted << self.plan.width

    # --- the tire

    def tire(self, row: Row, findings: frozenset[str] | None, total: int | None) -> tuple[int, int]:
        """Return what is known of the tire, and apart from that what it says of any two of its repairs.

        It will carry `total` repairs by the lists of the case; None where a list is not recorded.
        """
        stated = (_of_lists(row), findings, total)
        known = self._lists.get(stated)
        if known is None:
            known = make_room(self._lists, _MOST_REMEMBERED)[stated] = self._told_of_lists(*stated)
        return packed_by(self._whole, row) | known[0], known[1]

    def _told_of_lists(
        self, stated: Sequence[Any], findings: frozenset[str] | None, total: int | None
    ) -> tuple[int, int]:
        snow, count, *of_pairs = stated
        if snow is None and self.plan.activity != "road-use":
            snow = False  # it concerns one drive
        packed = self.plan.doubt | self.plan.word("findings", findings) | self.plan.word(_SNOW, snow)
        if _COUNT in self.plan.tables:
            packed |= self.plan.tables[_COUNT][total if count is None else count]
        return packed, self.pair(dict(zip(_OF_PAIRS, of_pairs, strict=True)), _single(total, count), {})

    def unplaced(self, row: Row, total: int | None, spots: Sequence[Spot]) -> tuple[int, ...]:
        """Return what is known of each pair of repairs where no place around the tire is known of any.

        Where some repair may not be listed, so also of a pair of which nothing is known.
        """
        key = (_of_lists(row), total, *spots)
        known = self._apart.get(key)
        if known is None:
            unlisted = total is None or total < (row[_AT_COUNT] or 0)
            views = (*_unplaced(spots), {}) if unlisted else _unplaced(spots)
            known = make_room(self._apart, _MOST_REMEMBERED)[key] = tuple(self.pairs(row, total, views))
        return known

    def pairs(self, row: Row, total: int | None, views: Iterable[Mapping[str, Any]]) -> list[int]:
        """Return what is known of each pair of repairs that a tire carries, of which a view says what is known."""
        _, count, *of_pairs = _of_lists(row)
        said = dict(zip(_OF_PAIRS, of_pairs, strict=True))
        return [self.pair(said, _single(total, count), view) for view in views]

    def pair(self, stated: Mapping[str, Any], single: bool, values: Mapping[str, Any]) -> int:
        """Return what is known of two repairs, or of all: by what is `stated`, by there being one, by `values`."""
        packed = 0
        for fact, table in self.paired:
            said = stated.get(fact)
            if said is not None:
                packed |= table[said]
            elif single:
                packed |= table[ABSENT if table.kind == "number" else False]
            else:
                value = values.get(fact)
                packed |= table[value if table.kind == "word" else in_row(value)]
        return packed

    # --- injuries and repairs

    def injury(self, row: Row) -> tuple[int, int]:
        """Return what is known of an injury that was not measured, and of the repair that it becomes."""
        packed = packed_by(self._injury, row)
        if not self.plan.repaired:
            return packed, 0
        return packed & self._of_injury, packed >> self.plan.width | self.unsaid

    def repairs(self, earlier: Sequence[Row] | None) -> tuple[int, ...]:
        """Return what is known of each earlier repair; where none are recorded, of one."""
        listed = (REPAIR.nothing,) if earlier is None else earlier
        return tuple([packed_by(self._repair, each) for each in listed])

    def becomes(self, injury: Row) -> int:
        """Return what an injury says of the repair that it becomes, as an earlier one."""
        return packed_by(self._becomes, injury)


def _where_unzoned(reach: Table | None) -> Does | None:
    """Return what a zone does to the rules on reach: none of them applies where it is stated."""
    if reach is None:
        return None
    unknown, absent = reach[None], reach[ABSENT]
    return Made(lambda zone: unknown if zone is None else absent)


def left_by_repair(findings: frozenset[str] | None) -> frozenset[str] | None:
    """Return the findings that a repair does not remove."""
    return None if findings is None else findings - CURED_BY_REPAIR


def _numbered(findings: frozenset[str] | None) -> int:
    """Return findings as a number; 0 where they are not recorded."""
    return 0 if findings is None else 1 + sum(2 << FINDINGS.index(word) for word in findings)


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
    stated = case.stated
    packer = plan.packer or packer_of(plan)
    findings, flags = stated.findings, stated.flags
    if stated.whole[_AT_GRID] is not None or (case.repair_unit is not None and plan.extendable):
        return None
    if flags & MEASURED_ZONES or any(each[_AT_REPAIR_OFFSET] is not None for each in stated.repairs or ()):
        return None
    row, worked_out = filled(case)
    hurt = stated.injuries or ()
    if stated.injuries is None and (plan.repairing or findings is None):
        hurt = (INJURY.nothing,)
    tire, pair = packer.tire(row, findings, stated.total)
    pairs: tuple[int, ...] = ()
    spots = spots_of(stated.injuries, stated.repairs)
    if packer.paired and len(spots) > 1:
        pairs = paired_with(packer, case, worked_out, (row, stated.total, tire), spots)
        if any(clock is not None for _, _, clock, _ in spots):
            flags |= PLACED
    measured = unzoned = False
    for each in hurt:
        if each[_AT_ZONE] is None:
            unzoned = True
        if each[_AT_OFFSET] is not None or each[_AT_SURFACE] is not None:
            measured = True
    packed: tuple[Injured, ...]
    if measured:
        from tirerules.index.measured import Measured, lengths

        typed = cast("Case", case)  # INVARIANT: only a typed case is measured
        packed = Measured(plan, rules, typed, tire | pair, lengths(typed, worked_out)).every()
        flags |= OWN_FIGURES
    else:
        # A band would follow from what is known of the tire, so that it has a figure of this tire's own.
        unzoned = unzoned or stated.repairs is None or any(each[_AT_REPAIR_ZONE] is None for each in stated.repairs)
        if unzoned and any(row[WHOLE[fact]] is not None for fact in plan.relative):
            flags |= OWN_FIGURES
        packed = tuple([packer.injury(each) for each in hurt])
    return tire | pair, pairs, packer.repairs(stated.repairs), packed, flags, case.method, findings


def _worked_out(case: Asked) -> Mapping[str, Any]:
    """Return what follows from the sidewall."""
    known: Mapping[str, Any] | None = getattr(case, "worked_out", None)
    if known is not None:
        return known
    from tirerules.deciding.facts import sidewall

    return sidewall(cast("Case", case))


def filled(case: Asked) -> tuple[Row, Mapping[str, Any]]:
    """Return the facts of the tire, with what follows from the sidewall in the place of nothing; and that by itself."""
    row = case.stated.known
    if row[_AT_SIZE] is None and row[_AT_DATE] is None:
        return row, {}
    worked_out, filled = _worked_out(case), list(row)
    for fact, value in worked_out.items():
        place = WHOLE[fact]
        if filled[place] is None:
            filled[place] = in_row(value)
    return tuple(filled), worked_out


def spots_of(injuries: Sequence[Row] | None, earlier: Sequence[Row] | None) -> list[Spot]:
    """Return what is known of where each injury and each earlier repair lies."""
    return [*map(_spot_of_injury, injuries or ()), *map(_spot_of_repair, earlier or ())]


def paired_with(
    packer: Packer,
    case: Asked,
    worked_out: Mapping[str, Any],
    tire: tuple[Row, int | None, int],
    spots: Sequence[Spot],
) -> tuple[int, ...]:
    """Return what is known of the tire with each pair of repairs; with none in particular, where one may be unlisted.

    `tire` is its row, how many repairs it will carry, and what is known of it.
    """
    row, total, known = tire
    if any(clock is not None or unit_width is not None for _, _, clock, unit_width in spots):
        from tirerules.index.measured import pairs

        views = pairs(cast("Case", case), worked_out)  # INVARIANT: only a typed case states such places
        return tuple([known | each for each in packer.pairs(row, total, views)])
    return tuple([known | each for each in packer.unplaced(row, total, spots)])


def _unplaced(spots: Sequence[Spot]) -> Sequence[Mapping[str, Any]]:
    """Return what is known of pairs of which no place around the tire is: whether two may lie across from each other.

    As `tirerules.deciding.pairs` has it: only in the sidewalls, and not on the same side.
    """
    return [
        {"repairs.opposed": False}
        if any(zone not in (None, "sidewall") for zone, *_ in pair)
        or (pair[0][1] is not None and pair[0][1] == pair[1][1])
        else {}
        for pair in combinations(spots, 2)
    ]
