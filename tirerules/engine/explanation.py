"""Why: reasons, requirements and geometry, from the entries of an evaluation."""

from __future__ import annotations

from tirerules.engine.entries import entries
from tirerules.engine.limits import LimitTables, standing, steps_of, told_lanes
from tirerules.engine.parts import Geometry, Outcome, Reason, Requirement
from tirerules.packs.rule import Require
from tirerules.quantities import Quantity
from tirerules.templates import filled
from tirerules.vocabulary import STEPS

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tirerules.engine.entries import Entry
    from tirerules.engine.evaluator import Evaluation
    from tirerules.engine.limits import Standing, Steps
    from tirerules.engine.own_rules import Gap
    from tirerules.engine.program import Program

__all__ = ["RequirementTable", "geometry_of", "reasons_of", "requirements_of"]

#: Which outcome a person wants to read about first.
_FIRST = {Outcome.FAILS: 0, Outcome.UNKNOWN: 1, Outcome.PASSES: 2}


def reasons_of(evaluation: Evaluation, method: str | None = None, injury: int | None = None) -> tuple[Reason, ...]:
    """Return what every rule says that no method changes, or of one injury (from 0) by one method."""
    if method is None:
        found, gaps = entries(evaluation, "", "injury"), evaluation.gaps
    else:
        found = entries(evaluation, method, injury=injury)
        gaps = evaluation.gaps_of(injury or 0, method)
    reasons = [*(_reason(each) for each in found if each.instance.fact), *(_gap(each, evaluation) for each in gaps)]
    return tuple(sorted(reasons, key=lambda reason: (_FIRST[reason.outcome], reason.rule, reason.subject)))


def _gap(gap: Gap, evaluation: Evaluation) -> Reason:
    return Reason(
        rule=gap.rule.name,
        fact=gap.rule.fact,
        subject=gap.label(evaluation),
        measured=gap.measured,
        limit="",
        outcome=Outcome.UNKNOWN,
        applies=True,
        extended=False,
        says=gap.says(evaluation.row.activity),
        source=None,
    )


def _reason(entry: Entry) -> Reason:
    rule, subject = entry.rule, entry.subject
    body = rule.body
    assert not isinstance(body, Require)  # INVARIANT: an instance with a fact limits something
    return Reason(
        rule=rule.name,
        fact=body.fact,
        subject=subject.label(entry.instance.named),
        measured=subject.shown(entry.instance.fact),
        limit=body.text(entry.chosen),
        outcome=Outcome.of(entry.outcome),
        applies=entry.applies,
        extended=entry.extended,
        says=rule.says,
        source=rule.source,
    )


def requirements_of(evaluation: Evaluation) -> tuple[Requirement, ...]:
    """Return the union of what the rules require, in the order of the vocabulary."""
    table = evaluation.program.once(RequirementTable)
    requirements: tuple[Requirement, ...] = table[table.steps(evaluation)]
    return requirements


class RequirementTable(dict):  # type: ignore[type-arg]  # steps -> requirements; a dict's speed is the point
    """What the rules of one program require, by steps (see `steps_of`).

    INVARIANT: an entry is a function of the program alone; at most `BOUND` are kept, then all are made again.
    """

    BOUND = 1_000
    __slots__ = ("_program", "_told")

    def __init__(self, program: Program) -> None:
        super().__init__()
        self._program, self._told = program, told_lanes(program, program.full & ~program.limiting)

    def steps(self, evaluation: Evaluation) -> Steps:
        """Return in which steps the requirements of a case are told."""
        return steps_of(evaluation, self._told[evaluation.leading])

    def __missing__(self, steps: Steps) -> tuple[Requirement, ...]:
        by_step: dict[str, list[Standing]] = {}
        for each in standing(self._program, steps, {}):
            assert isinstance(each.rule.body, Require)  # INVARIANT: what limits no fact requires steps
            for step in each.rule.body.steps:
                by_step.setdefault(step, []).append(each)
        made = tuple(_requirement(step, by_step[step]) for step in STEPS if step in by_step)
        if len(self) >= self.BOUND:
            self.clear()
        self[steps] = made
        return made


def _requirement(step: str, found: Sequence[Standing]) -> Requirement:
    doubtful = () if any(each.applies for each in found) else found[0].rule.conditions
    when = tuple(condition.text for condition in doubtful)
    template = f"step.{step}"
    rules = tuple(sorted({each.rule.name for each in found}))
    return Requirement(step, filled(template, {}), "; ".join(when), rules, template, (("when", when),))


def geometry_of(evaluation: Evaluation) -> Iterator[Geometry]:
    """Yield where each injury lies that was measured from the center line, against the narrowest band of any method."""
    program, figures = evaluation.program, None
    for number, injury in enumerate(evaluation.injuries):
        if injury.channel is None:
            continue
        bands = sure = 0
        for look in evaluation.looks:
            if look.injury == number:
                some = look.rules & program.bands & ~look.mask
                bands, sure = bands | some, sure | some & ~(look.mask >> program.width)
        if not bands:
            continue
        if figures is None:
            figures = program.once(LimitTables).figures(evaluation)
        known = [(each.chosen, each.rule.name) for each in standing(program, (sure, sure), figures)]
        band, rule = min(((chosen, name) for chosen, name in known if isinstance(chosen, Quantity)), default=(None, ""))
        faces = injury.channel.faces()
        yield Geometry(
            number + 1,
            str(injury["injury.from_centerline"]),
            faces.outer.high,
            faces.inner.high,
            None if band is None else band.exact,
            rule,
            injury.channel.bounded,
        )
