"""One plan's way with values: what each value of a facet does to the plan's rules, as words of bits.

Mirrors `tirerules.index.packing`. Values that do the same are of one class: rows whose values are of the same classes
are known alike and get the same answer.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import IntEnum
from functools import cached_property, reduce
from operator import or_
from typing import Any, Final, NamedTuple

from tirerules.batch.answers import Answer, answer_by, limiting
from tirerules.batch.facets import LISTS, Lists
from tirerules.index.bits import ABSENT
from tirerules.index.evaluate import covered
from tirerules.index.packing import packer_of
from tirerules.index.plan import Plan
from tirerules.packs.rule import Rule
from tirerules.vocabulary import CURED_BY_REPAIR, PAIRED, REPAIR_METHODS
from tirerules.worked_out import CARRIER, CARRIER_FACTS

__all__ = [
    "FAILS",
    "FLAGS",
    "INJURED",
    "JUDGING",
    "MOST_RULES",
    "RECORDED",
    "REPAIRED",
    "SECTIONS",
    "UNINSPECTED",
    "UNLISTED",
    "Does",
    "Planned",
    "Role",
    "number_of",
    "together",
    "words_of",
]

#: A packed number falls into four sections, with a bit for each rule: absent, unknown, missed, doubtful; what stands
#: above them says which conditions are open and which facts are unknown.
SECTIONS: Final = 4
_WORD: Final = 64
#: So many rules that limit something fit a word of bits.
MOST_RULES: Final = _WORD
_FULL: Final = (1 << _WORD) - 1
#: What an injury says of the repair that it becomes.
_BECOMES: Final = {"injury.diameter": "repair.diameter", "injury.zone": "repair.zone"}
_SNOW: Final = "road.snow_restriction"
#: Facts that no column gives by itself.
_ELSEWHERE: Final = frozenset({"injury.reach", "repair.reach", "repairs.count", "method"} | PAIRED)


class Role(IntEnum):
    """Of what a value says something. What each says of a rule that does not concern it is nothing."""

    OWN = 0  #: the tire, and the injury: their rules are different ones
    EARLIER = 1  #: the earlier repair
    MENDED = 2  #: the repair that the injury becomes


#: Flags for what no rule reads, but what follows depends on: an injury is stated; it is not known what an inspection
#: found; there is an earlier repair, or there may be; it is not known whether there is one.
INJURED, UNINSPECTED, REPAIRED, UNLISTED = 1, 2, 4, 8
#: From this flag on stands the number (from 1) of the fact to ask for where it is not known whether the carrier rules
#: bind; above the flags of the methods.
_ASKED: Final = 256
#: From this flag on there is one for each method: whether the repair fails by it.
FAILS: Final = 16

#: What a value does, in words of 64 bits: by role, the four sections of a packed number and what stands above them;
#: flags; of one finding after another, whether it is recorded and the rules that judge it. What is left out is zero.
Does = Mapping[tuple[int, int], int]
FLAGS, RECORDED, JUDGING = range(len(Role), len(Role) + 3)


class _Says(NamedTuple):
    """What a value does: a packed number in each role; flags; the rules that judge each finding that it records."""

    roles: tuple[int, int, int] = (0, 0, 0)
    flags: int = 0
    judging: tuple[int, ...] = ()


_NOTHING: Final = _Says()


def together(does: Iterable[Does]) -> Does:
    """Return what several values do together; findings are recorded by one of them at most."""
    words: defaultdict[tuple[int, int], int] = defaultdict(int)
    for each in does:
        for key, word in each.items():
            words[key] |= word
    return words


def number_of(words: Sequence[int]) -> int:
    """Return the number that was taken apart into words of 64 bits."""
    return sum(word << _WORD * at for at, word in enumerate(words))


def words_of(number: int, width: int) -> list[int]:
    """Return a number of so many bits as words of 64 bits, the lowest first."""
    return [number >> at & _FULL for at in range(0, width, _WORD)]


class Planned:
    """A plan, and what was worked out of it for whole tables."""

    def __init__(self, plan: Plan, rules: Sequence[Rule], number: int) -> None:
        """Hold a plan, its rules, and the number by which it is remembered."""
        self.plan, self._rules, self.number = plan, rules, number
        self.low = (1 << plan.limiting.bit_length()) - 1
        self.limited = limiting(plan)
        self.usable = (
            plan.fits
            and self.low <= _FULL
            and not plan.repaired & (plan.paired | self.limited)  # told in an order of their own
        )
        #: The facts that some rule reads, or that the verdict depends on in another way.
        self.reads = frozenset(
            fact for fact in plan.tables if fact not in _ELSEWHERE and not fact.startswith("repair.")
        ) | {"earlier_repairs", "findings", *_BECOMES}
        self._known: defaultdict[str, dict[Any, Does]] = defaultdict(dict)
        self._alike: dict[_Says, Does] = {}
        self._covered: dict[tuple[int, int], bool] = {}
        self._above: list[tuple[str, int]] | None = None
        #: How many values and limits are remembered.
        self.remembered = 0

    # --- words of bits

    @property
    def above(self) -> int:
        """How many bits stand above the sections of a packed number."""
        return self.plan.width - SECTIONS * self.plan.count

    def words(self, packed: int) -> list[int]:
        """Return the sections of a packed number as words of 64 bits, then words of what stands above them."""
        count = self.plan.count
        sections = [packed >> section * count & self.low for section in range(SECTIONS)]
        return sections + words_of(packed >> SECTIONS * count, self.above)

    def mask(self, *groups: str, each_repair: bool = False) -> int:
        """Return the rules that are judged for some groups, and that limit something."""
        return reduce(or_, (self.plan.group(group, each_repair) for group in groups)) & self.low

    @cached_property
    def mattering(self) -> list[int]:
        """For each rule that limits something, the bits above the sections that matter to its open answers."""
        plan = self.plan
        matters = [0] * self.low.bit_length()
        for number, rule in enumerate(plan.condition_rule):
            if rule < len(matters):
                matters[rule] |= 1 << number
        for at, row in enumerate(plan.rows[: len(matters)]):
            if row["body"].get("counted"):
                matters[at] |= plan.tables[row["body"]["fact"]].unknown >> SECTIONS * plan.count
        return matters

    def covers(self, limits: int, above: int) -> bool:
        """Whether one of the limits that may apply does, whatever the words are on which the open conditions wait."""
        if (limits, above) not in self._covered:
            self._covered[limits, above] = covered(self.plan, limits, above << SECTIONS * self.plan.count)
            self.remembered += 1
        return self._covered[limits, above]

    def open_in(self, above: int) -> frozenset[tuple[str, int]]:
        """Return the open conditions, as a rule's name and a place, and the unknown facts that some bits stand for."""
        if self._above is None:
            places: defaultdict[int, Iterator[int]] = defaultdict(itertools.count)
            rules = ((self.plan.names[rule], next(places[rule])) for rule in self.plan.condition_rule)
            self._above = [*rules, *((fact, -1) for fact in sorted(self.plan.tables))]
        return frozenset(name for at, name in enumerate(self._above) if above >> at & 1)

    # --- what values do

    def does(self, facet: str, value: Any) -> Does:
        """Return what a value of a facet does: the same object for all values that do the same."""
        known = self._known[facet]
        if value not in known:
            says = self._says(facet, value)
            if says not in self._alike:
                self._alike[says] = self._in_words(says)
            known[value] = self._alike[says]
            self.remembered += 1
        return known[value]

    @cached_property
    def always(self) -> Does:
        """What every row says: of the repair that an injury becomes, most facts are never said."""
        return self._in_words(_Says((0, 0, packer_of(self.plan).unsaid if self.plan.repaired else 0)))

    def classes(self, facet: str, values: Sequence[Any]) -> tuple[list[int], list[Does]]:
        """Return for each value of a facet the class of those that do the same, and what those of each class do."""
        does = [self.does(facet, value) for value in values]
        classes = {id(each): each for each in does}
        numbers = dict(zip(classes, range(len(classes)), strict=True))
        return [numbers[id(each)] for each in does], list(classes.values())

    def _in_words(self, says: _Says) -> Does:
        words: dict[tuple[int, int], int] = {
            (role, at): word for role in Role for at, word in enumerate(self.words(says.roles[role]))
        }
        words[FLAGS, 0] = says.flags
        for at, rules in enumerate(says.judging):
            words[RECORDED, at], words[JUDGING, at] = 1, rules
        return {key: word for key, word in words.items() if word}

    def _says(self, facet: str, value: Any) -> _Says:
        if facet == LISTS:
            return self._of_lists(value)
        if facet == "earlier_repairs":
            return self._of_earlier(value)
        if facet == "findings":
            return self._of_findings(value)
        if facet.startswith("injury."):
            return self._of_injury(facet, value)
        if facet not in self.plan.tables or facet in _ELSEWHERE or facet.startswith("repair."):
            return _NOTHING
        if value is None and facet == _SNOW and self.plan.activity != "road-use":
            value = False  # it concerns one drive
        if facet == CARRIER and isinstance(value, str):
            return _Says((self.plan.tables[facet][None], 0, 0), _ASKED * (1 + CARRIER_FACTS.index(value)))
        return _Says((self.plan.tables[facet][value], 0, 0))

    def _of_lists(self, lists: Lists) -> _Says:
        """Say what so many earlier repairs, with an injury or without one, say of the tire."""
        plan, earlier, injured = self.plan, lists.earlier, lists.injured
        unlisted = earlier is None or (plan.repairing and not injured)
        total = None if unlisted else (earlier or 0) + (plan.repairing and injured)
        packed = plan.doubt | (plan.tables["repairs.count"][total] if "repairs.count" in plan.tables else 0)
        apart = {"repairs.opposed": False} if (earlier or 0) + injured > 1 and not lists.across else {}
        packed |= packer_of(plan).pair({"repairs.overlap": lists.overlap}, total is not None and total <= 1, apart)
        return _Says((packed, 0, 0), INJURED if injured else 0)

    def _of_earlier(self, repairs: tuple[Any, ...] | None) -> _Says:
        (packed,) = packer_of(self.plan).repairs(repairs) or (0,)
        flags = UNLISTED | REPAIRED if repairs is None else REPAIRED if repairs else 0
        return _Says((0, packed, 0), flags)

    def _of_findings(self, found: frozenset[str] | None) -> _Says:
        packed = self.plan.word("findings", found)
        if found is None:
            return _Says((packed, 0, 0), UNINSPECTED)
        recorded = found - CURED_BY_REPAIR if self.plan.repairing else found
        return _Says((packed, 0, 0), 0, tuple(sorted({self.plan.judging.get(word, 0) & self.low for word in recorded})))

    def _of_injury(self, fact: str, value: Any) -> _Says:
        tables = self.plan.tables
        own = tables[fact][value] if fact in tables and fact not in _ELSEWHERE else 0
        if fact == "injury.zone" and "injury.reach" in tables:
            own |= tables["injury.reach"][None if value is None else ABSENT]
        becomes = _BECOMES.get(fact, "")
        mended = tables[becomes][value] if self.plan.repaired and becomes in tables else 0
        if fact == "injury.zone" and self.plan.repaired and "repair.reach" in tables:
            mended |= tables["repair.reach"][None if value is None else ABSENT]
        return _Says((own, 0, mended))

    # --- the answers

    def answer(self, verdict: int, method: int, first: int, limited: int) -> Answer:
        """Return what is told of rows: by the method's number, or -1; the first failing rule and the limits as bits."""
        named = None if method < 0 else REPAIR_METHODS[method]
        return answer_by(self.plan, self._rules, verdict, named, first, limited)
