"""Every rule result of an evaluation: which instance was judged for which subject, and what came of it.

An `Entry` is one bit of one look. Whatever a decision says beside its verdict is made of entries: reasons, limits,
requirements, notices, questions.
"""

from __future__ import annotations

from tirerules.engine.computed import answer
from tirerules.engine.kernel import bits_of

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from tirerules.engine.computed import Answer
    from tirerules.engine.evaluator import Evaluation, Look
    from tirerules.engine.program import Instance
    from tirerules.engine.subjects import Subject
    from tirerules.packs.rule import Rule
    from tirerules.quantities import Quantity

__all__ = ["Entry", "entries"]


class Entry:
    """One instance as it was judged for one subject: `outcome` True passes, False fails, None is open.

    `applies` is None where that is not known. `chosen` is the figure that binds, `constraint` what the body demands.
    """

    __slots__ = ("_answer", "_evaluation", "applies", "instance", "look", "outcome")

    def __init__(self, evaluation: Evaluation, instance: Instance, look: Look) -> None:
        self._evaluation, self.instance, self.look = evaluation, instance, look
        width, bit, mask = evaluation.program.width, instance.bit, look.mask
        may = mask >> width & bit
        self.applies: bool | None = None if may else True
        self.outcome: bool | None = True
        if mask >> 2 * width & bit:
            self.outcome = None if may or mask >> 3 * width & bit else False
        self._answer: Answer | None = None

    @property
    def rule(self) -> Rule:
        """The rule."""
        return self.instance.rule

    @property
    def subject(self) -> Subject:
        """The subject it was judged for."""
        method, evaluation, injured = self.instance.method, self._evaluation, self.look.injured
        if self.instance.mended and injured is not None:
            return evaluation.subject_of(injured, method).mended()
        return evaluation.of(self.look, method)

    @property
    def label(self) -> str:
        """Which injury or repair it speaks of; empty for the tire as a whole."""
        return self.subject.label(self.instance.named)

    @property
    def answer(self) -> Answer | None:
        """How the body fares, where it must be worked out for the subject."""
        instance, unit = self.instance, self._evaluation.row.unit
        rated = unit is not None and instance.rule.up_to is not None
        if self._answer is None and (rated or instance.relative is not None or instance.counted):
            self._answer = answer(instance, self.subject, unit)
        return self._answer

    @property
    def chosen(self) -> Quantity | int | None:
        """The figure that binds."""
        return self.instance.chosen if self.answer is None else self.answer.chosen

    @property
    def constraint(self) -> Any:
        """What the body demands here; None for a requirement, and while the measure it follows from is unknown."""
        return self.instance.constraint if self.answer is None else self.answer.constraint

    @property
    def extended(self) -> bool:
        """Whether the figure rests on the documented rating of a repair unit."""
        return self.answer is not None and self.answer.extended


def entries(evaluation: Evaluation, *lanes: str, injury: int | None = None) -> list[Entry]:
    """Return the entries of some lanes: of one injury (from 0), or of all.

    They stand in the order in which a person is told: the tire, then injury by injury; in each by the rule's name.
    """
    program = evaluation.program
    wanted = 0
    for lane in lanes:
        wanted |= program.lanes[lane]
    found = []
    for look in evaluation.looks:
        if injury is not None and look.injury != injury:
            continue
        places = bits_of(look.rules & wanted & ~look.mask)
        found += [Entry(evaluation, program.instances[place], look) for place in places]
    if len(evaluation.looks) > 1:
        found.sort(key=lambda each: (each.instance.lane != "", each.look.injury or 0, each.instance.place))
    return found
