"""Which facts could settle each open instance of a program, as bit masks of facts, for one way of listing repairs.

A mask has a bit for each fact of `QUESTION_FACTS`; `CARRIER_BIT` stands for whichever fact is asked for where it is not
known whether the carrier rules bind, which differs from row to row. The facts are those that a `Subject` of the engine
names for a case of which nothing is known.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from tirerules.batch.answers import QUESTION_BITS
from tirerules.batch.single import bare_case
from tirerules.batch.words import Words, facts_of
from tirerules.engine.evaluator import Evaluation
from tirerules.engine.program import Instance, Program
from tirerules.engine.subjects import Subject
from tirerules.engine.worked_out import CARRIER
from tirerules.packs.rule import Counted, Limit
from tirerules.vocabulary import FACTS, ZONE_EVIDENCE, Kind

__all__ = ["CARRIER_BIT", "Missing", "MissingFacts"]

CARRIER_BIT: Final = 1 << 63
#: It is known of the repair that an injury becomes.
_METHOD: Final = "repair.method"
_DEPTH, _GRID = "tire.tread_depth", "tire.tread_grid"


class MissingFacts:
    """What could settle the instances of one subject (the tire with an injury, an earlier repair, a pair), by bit.

    `conditions` has by place and bit the facts of what a condition waits for; `body` those of the body, and `first` the
    first of them, by whether the smallest tread depth is known and bit; `relative` has for each measure that limits
    follow from its facts, and which bits ask for it while it is unknown.
    """

    __slots__ = ("body", "conditions", "first", "relative")

    def __init__(self, words: Words, instances: list[Instance], subject: Subject) -> None:
        size = words.bits
        known: dict[str, tuple[int, int]] = {}

        def needs(fact: str) -> tuple[int, int]:
            """Return the facts that are asked for in the place of one, and the first of them."""
            if fact not in known:
                # Some facts can only be asked of subjects that the instances on them are judged for.
                bits = [QUESTION_BITS.get(each, 0) for each, _ in subject.needs(fact)]
                known[fact] = (CARRIER_BIT, CARRIER_BIT) if fact == CARRIER else (sum(set(bits)), bits[0])
            return known[fact]

        self.conditions = np.zeros((words.places, size), np.uint64)
        self.body, self.first = np.zeros((2, size), np.uint64), np.zeros((2, size), np.uint64)
        self.relative: list[tuple[str, int, Any]] = []
        follows: dict[str, Any] = {}
        for bit, instance in enumerate(instances):
            for place, fact in enumerate(facts_of(instance)):
                self.conditions[place, bit] = needs(fact)[0]
            for at, fact in enumerate(_lacks(instance)):
                self.body[at, bit], self.first[at, bit] = needs(fact) if fact else (0, 0)
            if instance.relative is not None:
                follows.setdefault(instance.relative.of, np.zeros(size, bool))[bit] = True
        for fact, which in follows.items():
            self.relative.append((fact, needs(fact)[0], which))


def _lacks(instance: Instance) -> tuple[str, str]:
    """Return the fact that a body waits for where the smallest tread depth is unknown, and where it is known."""
    body = instance.rule.body
    if isinstance(body, Limit) and body.counted != Counted():
        return _DEPTH, _GRID
    return instance.fact, instance.fact


class Missing:
    """The missing facts of a program by subject, for so many listed injuries and earlier repairs (-1: not recorded).

    `slow` are instances (words) whose questions are not told by masks: those on a repair that an injury becomes which
    ask what nobody says of it, and limits that hear of findings which the repair removes.
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
        guards = program.repair_guards
        for of_method in program.size_guards.values():
            guards |= of_method
        self.slow = words.mask(program.where(lambda each: _slow(each, guards)))

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
            self._known[key] = MissingFacts(self._words, self._instances, subject)
        return self._known[key]


def _slow(instance: Instance, guards: int) -> bool:
    read = [fact for fact, _ in instance.tests]
    if instance.mended and any(fact.startswith("repair.") for fact in (*read, instance.fact) if fact != _METHOD):
        return True
    return bool(instance.bit & guards) and instance.cures and any(FACTS[fact].kind is Kind.SET for fact in read)
