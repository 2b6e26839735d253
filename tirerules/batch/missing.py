"""Which facts could settle each open instance of a program, as bit masks of needs, for one way of listing repairs.

A need is a fact with the injury or repair that it is asked of (`tirerules.engine.subjects`); here each has a bit. The
needs are those that a `Subject` of the engine names for a case of which nothing is known. What is asked in the place of
two facts differs from row to row, so that they have bits of their own (`VARYING`), to be replaced row by row.
"""

from __future__ import annotations

from functools import reduce
from operator import or_
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from tirerules.batch.answers import QUESTION_BITS
from tirerules.batch.single import bare_case
from tirerules.batch.words import Words, facts_of
from tirerules.engine.evaluator import Evaluation
from tirerules.engine.kernel import bits_of
from tirerules.engine.program import Instance, Program
from tirerules.engine.questions import ORDER
from tirerules.engine.subjects import Subject
from tirerules.engine.worked_out import CARRIER, REGROOVED
from tirerules.packs.rule import Counted, Limit
from tirerules.vocabulary import FACTS, ZONE_EVIDENCE, Kind

if TYPE_CHECKING:
    from tirerules.engine.subjects import Need

__all__ = ["VARYING", "Missing", "MissingFacts"]

#: Fact -> the bit that stands for whatever is asked in its place.
VARYING: Final = {CARRIER: 1 << 62, REGROOVED: 1 << 63}
#: So many needs have bits.
_MOST_NEEDS: Final = 62
#: It is known of the repair that an injury becomes.
_METHOD: Final = "repair.method"
_DEPTH, _GRID = "tire.tread_depth", "tire.tread_grid"


class MissingFacts:
    """What could settle the instances of one subject (the tire with an injury, an earlier repair, a pair), by bit.

    `conditions` has by place and bit the needs of what a condition waits for; `body` those of the body, and `first` the
    first of them, by whether the smallest tread depth is known and bit; `relative` has for each measure that limits
    follow from its needs, and which bits ask for it while it is unknown.
    """

    __slots__ = ("body", "conditions", "first", "relative")

    def __init__(self, missing: Missing, words: Words, instances: list[Instance], subject: Subject) -> None:
        size = words.bits
        known: dict[str, tuple[int, int]] = {"": (0, 0)}

        def needs(fact: str) -> tuple[int, int]:
            """Return what is asked for in the place of a fact, and the first of that."""
            if fact not in known:
                bits = [missing.bit(need) for need in subject.needs(fact)]
                known[fact] = (VARYING[fact],) * 2 if fact in VARYING else (sum(set(bits)), bits[0])
            return known[fact]

        conditions = [[0] * size for _ in range(words.places)]
        body, first = ([[0] * size for _ in range(2)] for _ in range(2))
        follows: dict[str, list[int]] = {}
        for bit, instance in enumerate(instances):
            for place, fact in enumerate(facts_of(instance)):
                conditions[place][bit] = needs(fact)[0]
            for at, fact in enumerate(_lacks(instance)):
                body[at][bit], first[at][bit] = needs(fact)
            if instance.relative is not None:
                follows.setdefault(instance.relative.of, []).append(bit)
        self.conditions, self.body, self.first = (np.array(each, np.uint64) for each in (conditions, body, first))
        self.relative = [(fact, needs(fact)[0], np.isin(np.arange(size), bits)) for fact, bits in follows.items()]


def _lacks(instance: Instance) -> tuple[str, str]:
    """Return the fact that a body waits for where the smallest tread depth is unknown, and where it is known."""
    body = instance.rule.body
    if isinstance(body, Limit) and body.counted != Counted():
        return _DEPTH, _GRID
    return instance.fact, instance.fact


class Missing:
    """The missing facts of a program by subject, for so many listed injuries and earlier repairs (-1: not recorded).

    `slow` are instances (words) whose questions are not told by masks: those on a repair that an injury becomes which
    ask what nobody says of it, and limits that hear of findings which the repair removes. `fits` is whether every need
    has a bit; it is known once all subjects were looked up.
    """

    def __init__(
        self, program: Program, words: Words, injuries: int, repairs: int, inspected: bool, measured_zones: bool
    ) -> None:
        """Look it up for a case of which nothing is known."""
        said = {"findings": frozenset[str]()} if inspected else {}
        zones = ZONE_EVIDENCE[1 if measured_zones else 0]
        case = bare_case(program.codes, program.activity, said, injuries, repairs, reading=program.reading, zones=zones)
        self._unknown = Evaluation(program, case)
        self._words = words
        self._instances = [program.instances[place] for place in words.order]
        self._known: dict[tuple[int | None, int | None, int | None], MissingFacts] = {}
        self._bits: dict[Need, int] = {}
        self._sets: dict[int, frozenset[Need]] = {}
        #: Whether every need has a bit.
        self.fits = True
        guards = reduce(or_, program.size_guards.values(), program.repair_guards)
        self.slow = words.mask(program.where(lambda each: _slow(each, guards)))
        #: By bit of a word the number of the lane of the instance: 0 for what no method changes, else from 1.
        self.lanes = np.zeros(words.bits, np.int64)
        for number, method in enumerate(program.methods, start=1):
            which = [bit for bit, place in enumerate(words.order) if program.lanes[method] >> place & 1]
            self.lanes[which] = number

    def bit(self, need: Need) -> int:
        """Return the bit of a need, 0 for what is asked of nobody: some facts have no part in some subjects."""
        if need[0] not in QUESTION_BITS:
            return 0
        if need not in self._bits:
            self.fits = self.fits and len(self._bits) < _MOST_NEEDS
            self._bits[need] = 1 << len(self._bits) % _MOST_NEEDS
        return self._bits[need]

    def of(self, injury: int | None, repair: int | None, pair: int | None) -> MissingFacts:
        """Return the missing facts of a subject, by number."""
        key = injury, repair, pair
        if key not in self._known:
            unknown = self._unknown
            subject = Subject(
                unknown.tire,
                unknown.instead,
                None if injury is None else unknown.injuries[injury],
                None if repair is None else unknown.repairs[repair],
                None if pair is None or pair >= len(unknown.pairs) else unknown.pairs[pair],
            )
            self._known[key] = MissingFacts(self, self._words, self._instances, subject)
        return self._known[key]

    def ranked(self) -> list[tuple[int, int, bool]]:
        """Return for each need its place among equals, its bit, and whether it is the inspection, which comes first."""
        order = sorted(self._bits, key=lambda need: (ORDER[need[0]], need[1]))
        return [(place, self._bits[need], need[0] == "findings") for place, need in enumerate(order)]

    def needs(self, mask: int) -> frozenset[Need]:
        """Return the needs of a mask."""
        if mask not in self._sets:
            by_bit = list(self._bits)
            if len(self._sets) >= self._words.BOUND:
                self._sets.clear()
            self._sets[mask] = frozenset(by_bit[place] for place in bits_of(mask))
        return self._sets[mask]

    def questions(self, masks: Any) -> Any:
        """Return masks of needs as bits of questions (int64 array)."""
        found = np.zeros(len(masks), np.int64)
        for place, (fact, _) in enumerate(self._bits):
            found |= (masks >> np.uint64(place) & np.uint64(1)).astype(np.int64) * QUESTION_BITS[fact]
        return found


def _slow(instance: Instance, guards: int) -> bool:
    read = [fact for fact, _ in instance.tests]
    if instance.mended and any(fact.startswith("repair.") for fact in (*read, instance.fact) if fact != _METHOD):
        return True
    return bool(instance.bit & guards) and instance.cures and any(FACTS[fact].kind is Kind.SET for fact in read)
