"""The strictest limit on each fact, the rules that set it, and the ladder of all the others behind it.

What limits a fact follows from which instances surely apply and which only may; so a lookup table for each fact holds
the limits by these masks (see `steps_of`). INVARIANT: an entry is a function of the program alone. Where a figure
follows from the tire or from a repair unit at hand, the limits are made for the case and not kept.
"""

from __future__ import annotations

from math import lcm
from types import MappingProxyType

from tirerules.case.row import TIRE
from tirerules.engine.computed import answer, figure_of
from tirerules.engine.kernel import bits_of
from tirerules.engine.parts import FactLimits, Rung
from tirerules.packs.rule import RELATIONS, Limit
from tirerules.strictest.bounds import Ceiling, Floor, Permitted, Prohibited, Strictest, binding
from tirerules.vocabulary import FACTS

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from typing import Any, TypeAlias

    from tirerules.engine.evaluator import Evaluation
    from tirerules.engine.program import Instance, Program
    from tirerules.engine.shortcut import Shortcut
    from tirerules.quantities import Quantity

    #: The instances that surely apply; then those that may, injury by injury, each where it first may.
    Steps: TypeAlias = "tuple[int, ...]"
    #: Place of an instance -> the figure that binds, what the body demands with it, whether a repair unit extends it.
    Figures: TypeAlias = "Mapping[int, tuple[Quantity | int | None, Any, bool]]"

__all__ = [
    "FactTable",
    "LimitTables",
    "Standing",
    "limits_of",
    "limits_shortly",
    "standing",
    "steps_of",
    "strictest_of",
    "told_lanes",
]


def limits_of(evaluation: Evaluation) -> Mapping[str, FactLimits]:
    """Return the limits on every fact, in the order of the vocabulary.

    They are those of the rules that no method changes, and of the rules of the leading method.
    """
    tables = evaluation.program.once(LimitTables)
    figures = tables.figures(evaluation)
    return MappingProxyType(
        {
            fact: tables.made(fact, steps, figures) if varies else tables[fact][steps]
            for fact, steps, varies in tables.steps(evaluation, figures)
        }
    )


def limits_shortly(program: Program, short: Shortcut) -> Mapping[str, FactLimits] | None:
    """Return what `limits_of` returns, from a shortcut; None where a figure follows from the tire."""
    tables = program.once(LimitTables)
    for place in tables.measures:
        if short.tire[place] is not None:
            return None
    relevant, sure = short.relevant, short.sure
    told = tables.told[short.leading]
    return MappingProxyType(
        {fact: tables[fact][sure & some, relevant & some] for fact, some in told if relevant & some}
    )


def told_lanes(program: Program, some: int) -> Mapping[str | None, int]:
    """Return which of `some` instances a decision is told by, for each leading method and for none.

    They are those that no method changes, and those of the leading method.
    """
    shared = program.common
    return {None: shared & some, **{method: (shared | program.lanes[method]) & some for method in program.methods}}


def steps_of(evaluation: Evaluation, some: int) -> Steps:
    """Return the steps in which `some` instances are told: who surely applies, then who may, injury by injury."""
    judged = evaluation.judged
    seen = judged[0].relevant & some
    if len(judged) == 1:
        return judged[0].sure & some, seen
    steps = [evaluation.sure & some, seen]
    for each in judged[1:]:
        new = each.relevant & some & ~seen
        if new:
            steps.append(new)
            seen |= new
    return tuple(steps)


class Standing:
    """One instance as it stands among others: whether it surely applies (else `applies` is None), and its figure.

    `chosen` is the figure that binds, `constraint` what the body demands with it; both are None while the measure that
    it follows from is unknown. `extended` says that it rests on the documented rating of a repair unit.
    """

    __slots__ = ("applies", "chosen", "constraint", "extended", "rule")

    def __init__(self, instance: Instance, applies: bool | None, figures: Figures) -> None:
        self.rule, self.applies = instance.rule, applies
        worked = figures.get(instance.place)
        self.chosen: Quantity | int | None
        self.constraint: Any
        self.chosen, self.constraint, self.extended = worked or (instance.chosen, instance.constraint, False)


def standing(program: Program, steps: Steps, figures: Figures) -> Iterator[Standing]:
    """Yield the instances of some steps in their order."""
    sure, *others = steps
    for some in others:
        for place in bits_of(some):
            instance = program.instances[place]
            yield Standing(instance, True if sure & instance.bit else None, figures)


class FactTable(dict):  # type: ignore[type-arg]  # steps -> limits; a dict's speed is the point
    """The limits on one fact by steps (see `steps_of`).

    INVARIANT: at most `BOUND` are kept, then all are made again.
    """

    BOUND = 1_000
    __slots__ = ("fact", "program")

    def __init__(self, fact: str, program: Program) -> None:
        super().__init__()
        self.fact, self.program = fact, program

    def __missing__(self, steps: Steps) -> FactLimits:
        made = _limits(self.fact, standing(self.program, steps, {}))
        if len(self) >= self.BOUND:
            self.clear()
        self[steps] = made
        return made


class LimitTables(dict):  # type: ignore[type-arg]  # fact -> its table
    """The tables of one program: fact -> `FactTable`, in the order of the vocabulary."""

    __slots__ = ("_rated", "_relative", "measures", "program", "told")

    def __init__(self, program: Program) -> None:
        super().__init__()
        self.program = program
        limiting = {fact: program.where(lambda each, fact=fact: each.rule.body.fact == fact) for fact in FACTS}  # type: ignore[misc]
        self.update({fact: FactTable(fact, program) for fact, some in limiting.items() if some})
        #: Leading method -> facts, each with the instances that limit it.
        self.told = {
            method: tuple((fact, limiting[fact] & mask) for fact in self if limiting[fact] & mask)
            for method, mask in told_lanes(program, program.limiting).items()
        }
        self._relative = tuple(
            (each.place, each.rule.body, each.relative)
            for each in program.computed
            if each.relative is not None and isinstance(each.rule.body, Limit)
        )
        #: The places, in a row of the tire, of the measures that figures follow from.
        self.measures = sorted({TIRE[relative.of] for _, _, relative in self._relative})
        self._rated = tuple(each for each in program.computed if each.rule.up_to and each.relative is None)

    def figures(self, evaluation: Evaluation) -> Figures:
        """Return the figures that follow from this case, of the instances that may apply."""
        tire, unit = evaluation.tire, evaluation.row.unit
        found: dict[int, tuple[Quantity | int | None, Any, bool]] = {}
        for place, body, length in self._relative:
            datum = tire[length.of]
            if datum is not None and evaluation.relevant >> place & 1:
                figure = figure_of(body, length, tire, datum)
                found[place] = figure.chosen, figure.strict, False
        for each in self._rated if unit is not None else ():
            if unit is not None and unit.method == each.method:
                answered = answer(each, evaluation.subject(), unit)
                found[each.place] = answered.chosen, answered.constraint, answered.extended
        return found

    def steps(self, evaluation: Evaluation, figures: Figures) -> Iterator[tuple[str, Steps, bool]]:
        """Yield each fact that is limited, in which steps, and whether a figure follows from the case."""
        relevant = evaluation.relevant
        varying = relevant & sum([1 << place for place in figures])
        for fact, some in self.told[evaluation.leading]:
            if relevant & some:
                yield fact, steps_of(evaluation, some), bool(varying & some)

    def made(self, fact: str, steps: Steps, figures: Figures) -> FactLimits:
        """Return the limits on a fact where a figure follows from the case."""
        return _limits(fact, standing(self.program, steps, figures))


def strictest_of(found: Iterable[Standing]) -> tuple[Strictest, Mapping[str, Quantity | int | None], tuple[str, ...]]:
    """Return the strictest limit that is surely set on one fact, its figures by relation, and the rules that bind."""
    sure = [each for each in found if each.applies and each.constraint is not None]
    constraints = [each.constraint for each in sure]
    strictest = Strictest.of(*constraints)
    figures: dict[str, Quantity | int | None] = dict.fromkeys(RELATIONS)
    for each in sure:
        body = each.rule.body
        if isinstance(body, Limit) and each.constraint in (strictest.ceiling, strictest.floor):
            # Of equal figures in two units, the one that the first binding rule prints.
            figures[body.relation] = figures[body.relation] or each.chosen
    return strictest, figures, tuple(sorted({sure[index].rule.name for index in binding(constraints)}))


def _limits(fact: str, told: Iterable[Standing]) -> FactLimits:
    rungs: dict[tuple[str, str], Standing] = {}
    for each in told:
        # The same rule judged for the injury and for the repair it becomes is one rung: keep the surest.
        key = (each.rule.name, str(each.chosen))
        if key not in rungs or rungs[key].applies is None:
            rungs[key] = each
    strictest, figures, binds = strictest_of(rungs.values())
    return FactLimits(
        fact,
        figures["at-most"],
        figures["less-than"],
        figures["at-least"],
        figures["more-than"],
        None if strictest.permitted is None else tuple(sorted(strictest.permitted)),
        tuple(sorted(strictest.prohibited)),
        binds,
        tuple(_rung(each) for each in _ranked(rungs.values())),
    )


def _ranked(found: Iterable[Standing]) -> list[Standing]:
    """Return standings, the strictest first."""
    listed = list(found)
    bounds = [each.constraint for each in listed if isinstance(each.constraint, (Ceiling, Floor))]
    scale = lcm(*(bound.below for bound in bounds))
    return sorted(listed, key=lambda each: _rank(each, scale))


def _rank(each: Standing, scale: int) -> tuple[Any, ...]:
    """Ceilings lowest first, floors highest first, permitted sets smallest first, prohibited sets largest first."""
    strictness: tuple[int, int, bool]
    constraint = each.constraint
    match constraint:
        case None:  # the tire's measure that it follows from is unknown
            strictness = (3, 0, False)
        case Ceiling():
            strictness = (0, constraint.above * (scale // constraint.below), constraint.inclusive)
        case Floor():
            strictness = (1, -constraint.above * (scale // constraint.below), constraint.inclusive)
        case Permitted():
            strictness = (2, len(constraint.words), False)
        case Prohibited():
            strictness = (2, -len(constraint.words), False)
    return (each.applies is None, *strictness, each.rule.name)


def _rung(each: Standing) -> Rung:
    rule, body = each.rule, each.rule.body
    also = body.also if isinstance(body, Limit) else None
    return Rung(
        rule,
        body.text(each.chosen),
        body.text(),
        "" if also is None else str(also),
        each.applies,
        "; ".join(condition.text for condition in rule.conditions),
        each.extended,
    )
