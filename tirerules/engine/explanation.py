"""Why: reasons, requirements and geometry, from the entries of an evaluation."""

from __future__ import annotations

from tirerules.engine.entries import entries
from tirerules.engine.parts import Geometry, Outcome, Reason, Requirement
from tirerules.packs.rule import Require
from tirerules.quantities import Quantity
from tirerules.vocabulary import STEPS

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from tirerules.engine.entries import Entry
    from tirerules.engine.evaluator import Evaluation
    from tirerules.engine.own_rules import Gap

__all__ = ["geometry_of", "reasons_of", "requirements_of", "told"]

#: Which outcome a person wants to read about first.
_FIRST = {Outcome.FAILS: 0, Outcome.UNKNOWN: 1, Outcome.PASSES: 2}


def told(evaluation: Evaluation) -> list[Entry]:
    """Return the entries that the limits, the requirements and the notices of a decision rest on.

    They are those that no method changes, and those of the leading method.
    """
    leading = () if evaluation.leading is None else (evaluation.leading,)
    return entries(evaluation, "", "injury", *leading)


def reasons_of(evaluation: Evaluation, method: str | None = None, injury: int | None = None) -> tuple[Reason, ...]:
    """Return what every rule says that no method changes, or of one injury (from 0) by one method."""
    if method is None:
        found, gaps = entries(evaluation, "", "injury"), evaluation.gaps
    else:
        found = entries(evaluation, method, injury=injury)
        gaps = evaluation.gaps_of(injury or 0, method)
    activity = evaluation.row.activity
    reasons = [*(_reason(each) for each in found if each.instance.fact), *(_gap(each, activity) for each in gaps)]
    return tuple(sorted(reasons, key=lambda reason: (_FIRST[reason.outcome], reason.rule, reason.subject)))


def _gap(gap: Gap, activity: str) -> Reason:
    return Reason(
        rule=gap.rule.name,
        fact=gap.rule.fact,
        subject=gap.label,
        measured=gap.measured,
        limit="",
        outcome=Outcome.UNKNOWN,
        applies=True,
        extended=False,
        says=gap.says(activity),
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


def requirements_of(found: Iterable[Entry]) -> tuple[Requirement, ...]:
    """Return the union of what the rules require, in the order of the vocabulary."""
    by_step: dict[str, list[Entry]] = {}
    for entry in found:
        if isinstance(entry.rule.body, Require):
            for step in entry.rule.body.steps:
                by_step.setdefault(step, []).append(entry)
    return tuple(_requirement(step, by_step[step]) for step in STEPS if step in by_step)


def _requirement(step: str, found: Sequence[Entry]) -> Requirement:
    doubtful = () if any(entry.applies for entry in found) else found[0].rule.conditions
    return Requirement(
        step,
        STEPS[step],
        "; ".join(condition.text for condition in doubtful),
        tuple(sorted({entry.rule.name for entry in found})),
    )


def geometry_of(evaluation: Evaluation) -> Iterator[Geometry]:
    """Yield where each injury lies that was measured from the center line, against the narrowest band of any method."""
    program = evaluation.program
    lanes = ("injury", *program.methods)
    for number, injury in enumerate(evaluation.injuries):
        channel = injury.channel
        bands = [each for each in entries(evaluation, *lanes, injury=number) if each.instance.bit & program.bands]
        if channel is None or not bands:
            continue
        figures = [(each.chosen, each.rule.name) for each in bands if each.applies]
        band, rule = min(
            ((chosen.exact, name) for chosen, name in figures if isinstance(chosen, Quantity)), default=(None, "")
        )
        faces = channel.faces()
        yield Geometry(
            injury=number + 1,
            offset=str(injury["injury.from_centerline"]),
            outer=faces.outer.high,
            inner=faces.inner.high,
            band=band,
            rule=rule,
            known=channel.bounded,
        )
