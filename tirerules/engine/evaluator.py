"""The evaluator: from a case's row and a program to everything that the rules say of the case, as masks.

What is known of a subject (the tire, perhaps with an injury, an earlier repair and a pair of repairs) is the OR of what
the program's tables give for each of its facts. `kernel.judge` turns it into masks; what those of several subjects say
together is their OR. A verdict is a few ANDs with the masks of lanes, beside the engine's own rules.
"""

from __future__ import annotations

from tirerules.case.row import INJURY, REPAIR, TIRE
from tirerules.engine.bands import locate_repair, located
from tirerules.engine.computed import answer
from tirerules.engine.kernel import INTS, UNDETERMINED, bits_of, judge, outcome
from tirerules.engine.own_rules import Gap
from tirerules.engine.places import placed_injury, placed_repair, zone_unnamed
from tirerules.engine.program import mask_of
from tirerules.engine.subjects import Known, Subject, asked_instead, known_tire
from tirerules.quantities import Measured
from tirerules.vocabulary import ZONE_EVIDENCE

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from tirerules.case.row import CaseRow
    from tirerules.engine.program import Program
    from tirerules.engine.subjects import PairKnown

__all__ = ["Evaluation", "Judged", "Look", "Method"]

#: An earlier repair of which nothing is known: that of a list which is not recorded.
_UNLISTED = Known(REPAIR, list(REPAIR.nothing), "earlier repair 1")
_UNLISTED.instead = dict.fromkeys(REPAIR, ("earlier_repairs",))
_COUNT, _GRID, _REPAIR_OFFSET = TIRE["repairs.count"], TIRE["tire.tread_grid"], REPAIR["repair.from_centerline"]


class Judged:
    """Masks of the instances that may apply, surely apply, surely fail and are open, over several subjects."""

    __slots__ = ("failing", "relevant", "sure", "unsure")

    def __init__(self, relevant: int, sure: int, failing: int, unsure: int) -> None:
        self.relevant, self.sure, self.failing, self.unsure = relevant, sure, failing, unsure


class Look:
    """One subject that was judged: its mask, the instances it was judged by, and who it is, by number.

    `injured` is the injury as it is known there: its zone may be proven for some methods only.
    """

    __slots__ = ("injured", "injury", "mask", "pair", "repair", "rules")

    def __init__(
        self, mask: int, rules: int, injury: int | None, injured: Known | None, repair: int | None, pair: int | None
    ) -> None:
        self.mask, self.rules, self.injury, self.injured, self.repair, self.pair = (
            mask,
            rules,
            injury,
            injured,
            repair,
            pair,
        )


class Method:
    """How one injury (from 1) fares by one method, as a number of `kernel`."""

    __slots__ = ("injury", "name", "verdict")

    def __init__(self, name: str, injury: int, verdict: int) -> None:
        self.name, self.injury, self.verdict = name, injury, verdict


class Evaluation:
    """What the rules of a program say of one case.

    `judged` has an entry for each injury, the first of which holds the tire as well; `looks` the subjects in the order
    in which they were judged.
    """

    __slots__ = (
        "_gaps",
        "_instead",
        "injuries",
        "judged",
        "looks",
        "mask",
        "outcomes",
        "pairs",
        "program",
        "relevant",
        "repair_masks",
        "repairs",
        "row",
        "special",
        "sure",
        "tire",
        "verdict",
    )

    def __init__(self, program: Program, row: CaseRow) -> None:
        """Judge a case."""
        self.program, self.row = program, row
        self.tire = known_tire(row)
        self._instead: Any = None
        measured_zones = row.zones != ZONE_EVIDENCE[0]
        self.injuries = [
            placed_injury(each, f"injury {number}", self.tire, measured_zones)
            for number, each in enumerate(self._hurt(), start=1)
        ]
        self.repairs = self._listed(measured_zones)
        self.pairs = self._paired()
        #: The instances whose bodies must be worked out because of a measure or a unit: of most cases none.
        self.special = self._special()
        self.looks: list[Look] = []
        #: What the engine's own rules find: of the tire, of an injury by number, or of both with a method.
        self._gaps: dict[tuple[Any, ...], list[Gap]] = {}
        self.judged: list[Judged] = []
        self._judge()
        self._conclude()

    def _special(self) -> int:
        grid, unit = self.tire.values[_GRID] is not None, self.row.unit is not None
        measured = any(injury.channel is not None for injury in self.injuries)
        if not (grid or unit or measured or any(each.values[_REPAIR_OFFSET] is not None for each in self.repairs)):
            return 0
        program = self.program
        return program.relative | (program.counted if grid else 0) | (program.rated if unit else 0)

    # --- who is judged

    def _hurt(self) -> Sequence[tuple[Any, ...]]:
        """Return the rows of the injuries; of a list that is not recorded, one of which nothing is known."""
        if self.row.injuries is not None:
            return self.row.injuries
        # An inspection that is recorded without injuries found none; what is to be repaired must always be said.
        unknown = self.program.repairing or self.row.findings is None
        return (INJURY.nothing,) if unknown else ()

    def _listed(self, measured_zones: bool) -> list[Known]:
        """Return what is known of each earlier repair; of a list that is not recorded, of one."""
        if not self.row.repairs:
            return [_UNLISTED] if self.row.repairs is None else []
        repairs = [
            placed_repair(each, f"earlier repair {number}", self.tire, measured_zones)
            for number, each in enumerate(self.row.repairs, start=1)
        ]
        for repair in repairs:
            if zone_unnamed(repair) and isinstance(repair["repair.reach"], Measured):
                locate_repair(self, repair)
        return repairs

    def _paired(self) -> list[PairKnown]:
        """Return what is known of each pair of repairs, where there are pairs and rules on them."""
        injuries, repairs = self.row.injuries or (), self.row.repairs or ()
        if not self.program.each_pair or len(injuries) + len(repairs) < 2:
            return []
        from tirerules.engine.pairs import known_pairs, spots

        total = self.row.total
        unlisted = total is None or total < (self.row.tire[_COUNT] or 0)
        return known_pairs(spots(injuries, repairs), self.tire, unlisted)

    # --- what is known of them, as masks

    def pair_mask(self, pair: PairKnown | None) -> int:
        """Return what is known of a pair of repairs, by what the case states of all of them and by their places."""
        mask = 0
        for fact, table in self.program.paired_tables.items():
            stated = self.tire[fact]
            mask |= table[pair.values.get(fact) if stated is None and pair is not None else stated]
        return mask

    def computed(self, mask: int, rules: int, subject: Subject) -> int:
        """Put in what must be worked out of the bodies of some instances."""
        width, instances = self.program.width, self.program.instances
        missed = doubtful = 0
        wanted = rules & ~mask & self.special
        for place in bits_of(wanted):
            satisfied = answer(instances[place], subject, self.row.unit).satisfied
            if satisfied is not True:
                missed |= 1 << place
                if satisfied is None:
                    doubtful |= 1 << place
        return mask & ~(wanted << 2 * width | wanted << 3 * width) | missed << 2 * width | doubtful << 3 * width

    # --- judging

    def _judge(self) -> None:
        program = self.program
        # Where there are no pairs, what the case states of all repairs is all that is known of any two of them.
        if self.pairs:
            tire = program.constant | mask_of(program.of_tire, self.tire.values)
        else:
            tire = program.tire_mask(self.tire.values)
        self.mask = tire
        self.repair_masks: tuple[int, ...]
        if not program.each_repair:
            self.repair_masks = ()
        elif self.row.repairs is None:
            self.repair_masks = (program.unlisted,)
        else:
            self.repair_masks = tuple([program.repair_mask(each.values) for each in self.repairs])
        if not self.injuries:
            self._look(tire, program.lanes[""], None, None)
        for number, injury in enumerate(self.injuries):
            rules = program.by_injury[number > 0]
            if injury.channel is None:
                self._look(tire | program.injury_mask(injury.values), rules, number, injury)
                continue
            for known, some in located(self, tire, injury):
                self._look(tire | program.injury_mask(known.values), rules & some, number, known)
        first = self.judged[0]
        self.relevant, self.sure = first.relevant, first.sure
        for judged in self.judged[1:]:
            self.relevant |= judged.relevant
            self.sure |= judged.sure

    def _look(self, mask: int, rules: int, injury: int | None, injured: Known | None) -> None:
        """Judge the tire with an injury, and that with each earlier repair and each pair of repairs."""
        each_repair = self.program.each_repair
        if not self.repair_masks:
            self._pairwise(mask, rules & ~each_repair, injury, injured, None)
        for number, of_repair in enumerate(self.repair_masks):
            # The first repair is judged with what reads no repair: its bits are in the masks of other instances alone.
            self._pairwise(mask | of_repair, rules & each_repair if number else rules, injury, injured, number)

    def _pairwise(self, mask: int, rules: int, injury: int | None, injured: Known | None, repair: int | None) -> None:
        """Judge a subject, and that with each pair of repairs where there are pairs."""
        if not self.pairs:
            self._add(Look(mask, rules, injury, injured, repair, None))
            return
        by_pair = rules & self.program.each_pair & ~self._stated()
        self._add(Look(mask | self.pair_mask(None), rules & ~by_pair, injury, injured, repair, None))
        for number, pair in enumerate(self.pairs if by_pair else ()):
            self._add(Look(mask | self.pair_mask(pair), by_pair, injury, injured, repair, number))

    def _stated(self) -> int:
        """Return the instances on pairs to which the case states all that they ask of pairs."""
        facts = self.program.facts_of_pairs
        return sum(bit for bit, asked in facts if all(self.tire[fact] is not None for fact in asked))

    def _add(self, look: Look) -> None:
        """Judge a subject, beside those of the same injury."""
        if self.special:
            look.mask = self._computed_by_method(look)
        relevant, sure, failing, unsure = self.planes(look.mask, look.rules)
        self.looks.append(look)
        if len(self.judged) == (look.injury or 0):
            self.judged.append(Judged(relevant, sure, failing, unsure))
            return
        judged = self.judged[-1]
        judged.relevant |= relevant
        judged.sure |= sure
        judged.failing |= failing
        judged.unsure |= unsure

    def planes(self, mask: int, rules: int) -> tuple[int, int, int, int]:
        """Judge what is known by some instances, as `kernel.judge` does."""
        width = self.program.width
        return judge(mask, mask >> width, mask >> 2 * width, mask >> 3 * width, rules)

    def _computed_by_method(self, look: Look) -> int:
        program, mask = self.program, look.mask
        wanted = look.rules & ~mask & self.special
        shared = wanted & program.common
        if shared:
            mask = self.computed(mask, shared, self.of(look))
        for method in program.methods if wanted ^ shared else ():
            some = wanted & program.lanes[method]
            if some:
                mask = self.computed(mask, some, self.of(look, method))
        return mask

    # --- the conclusion

    def _conclude(self) -> None:
        """Set the verdict, and how each injury fares by each method.

        What the engine's own rules find can only leave open what would pass, so they are asked of nothing else.
        """
        program = self.program
        first, tire, of_injury = self.judged[0], program.lanes[""], program.lanes["injury"]
        failing, unsure = first.failing & tire, first.unsure & tire
        whole = outcome(INTS, failing, unsure, not failing | unsure and bool(self.gaps_of_tire))
        self.verdict = whole
        self.outcomes: list[tuple[int, ...]] = []
        for number in range(len(self.injuries)):
            judged = self.judged[number]
            failing, unsure = judged.failing & of_injury, judged.unsure & of_injury
            own = outcome(INTS, failing, unsure, not failing | unsure and bool(self.gaps_of(number)))
            verdict = own if own < whole else whole
            if program.methods:
                by_method = []
                for method in program.methods:
                    by, lane = verdict, program.lanes[method]
                    if by:
                        failing, unsure = judged.failing & lane, judged.unsure & lane
                        by = outcome(INTS, failing, unsure, not failing | unsure and bool(self.gaps_of(number, method)))
                    by_method.append(by if by < verdict else verdict)
                self.outcomes.append(tuple(by_method))
                verdict = max(by_method)
            if verdict < self.verdict:
                self.verdict = verdict

    @property
    def gaps_of_tire(self) -> list[Gap]:
        """What the engine's own rules find of the tire."""
        gaps = self._gaps.get(())
        if gaps is None:
            rules = self.program.own_rules["tire"]
            gaps = self._gaps[()] = [Gap(rule, *found) for rule in rules for found in rule.test(self)]
        return gaps

    def gaps_of(self, injury: int, *method: str) -> list[Gap]:
        """Return what the engine's own rules find of an injury, by its number, or of repairing it by a method."""
        rules = self.program.own_rules["method" if method else "injury"]
        if not rules:
            return []
        key = (injury, *method)
        gaps = self._gaps.get(key)
        if gaps is None:
            gaps = self._gaps[key] = [Gap(rule, *found) for rule in rules for found in rule.test(self, *key)]
        return gaps

    @property
    def gaps(self) -> list[Gap]:
        """What the engine's own rules find that no method changes."""
        return [*self.gaps_of_tire, *(gap for number in range(len(self.injuries)) for gap in self.gaps_of(number))]

    @property
    def methods(self) -> list[Method]:
        """How each injury fares by each method; empty unless repairing."""
        return [
            Method(method, number, verdict)
            for number, outcomes in enumerate(self.outcomes, start=1)
            for method, verdict in zip(self.program.methods, outcomes, strict=True)
        ]

    @property
    def leading(self) -> str | None:
        """The method that does best over all injuries; of equals the one a shop prefers. None where none is judged."""
        if not self.outcomes:
            return None
        first, *others = self.outcomes
        worst = [min(by) for by in zip(first, *others, strict=True)] if others else first
        return self.program.methods[worst.index(max(worst))]

    @property
    def open(self) -> bool:
        """Whether the case cannot be told yet."""
        return bool(self.verdict == UNDETERMINED)

    # --- subjects, for what explains

    @property
    def instead(self) -> Any:
        """What is asked in the place of an unknown fact of the tire."""
        if self._instead is None:
            self._instead = asked_instead(self.row, self.tire, hurt=bool(self.injuries))
        return self._instead

    def subject(self, injury: int | None = None, repair: int | None = None, method: str | None = None) -> Subject:
        """Return the tire with one injury or one earlier repair, by number."""
        known = None
        if injury is not None:
            known = self.injuries[injury]
            for look in self.looks:  # the zone may be proven for this method alone
                if look.injury == injury and method is not None and look.rules & self.program.lanes[method]:
                    known = look.injured
                    break
        return Subject(self.tire, self.instead, known, None if repair is None else self.repairs[repair], None, method)

    def subject_of(self, injury: Known, method: str | None = None) -> Subject:
        """Return the tire with an injury as it is known now."""
        return Subject(self.tire, self.instead, injury, None, None, method)

    def of(self, look: Look, method: str | None = None) -> Subject:
        """Return the subject of a look."""
        repair = None if look.repair is None else self.repairs[look.repair]
        pair = None if look.pair is None else self.pairs[look.pair]
        return Subject(self.tire, self.instead, look.injured, repair, pair, method)

    def of_repair(self, number: int, rules: int) -> tuple[int, int]:
        """Return which of some instances surely apply to an earlier repair, and which may."""
        mask = self.mask | (self.repair_masks[number] if self.repair_masks else 0)
        relevant = rules & ~mask
        return relevant & ~(mask >> self.program.width), relevant
