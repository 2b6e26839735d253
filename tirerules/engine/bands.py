"""What bands prove: an injury or an earlier repair that was measured, and lies inside every band, is in the crown.

A band that only a shop draws, or that is known from memory, can bar a tire and proves nothing.
"""

from __future__ import annotations

from tirerules.case.row import INJURY
from tirerules.engine.kernel import bits_of
from tirerules.engine.needs import needs_of
from tirerules.engine.places import zone_unnamed
from tirerules.engine.subjects import Subject

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from tirerules.engine.evaluator import Evaluation
    from tirerules.engine.subjects import Known

__all__ = ["locate_repair", "located"]


def located(evaluation: Evaluation, tire: int, injury: Known) -> Iterator[tuple[Known, int]]:
    """Yield an injury with the zone that measurements prove, and for which instances: inside every band it is crown.

    Where a band cannot be judged yet, what it lacks may be asked in place of the zone.
    """
    program = evaluation.program
    if injury.channel is None or not zone_unnamed(injury):
        yield injury, program.full
        return
    mask = tire | program.injury_mask(injury.values)
    if _prove(evaluation, injury, mask, program.bands & program.lanes["injury"], evaluation.subject_of(injury)):
        yield injury, program.full
        return
    left = program.full
    for method in program.methods:
        known = injury.copy()
        bands = program.bands & program.lanes[method]
        _prove(evaluation, known, mask, bands, evaluation.subject_of(injury, method))
        if bands:
            yield known, program.lanes[method]
            left &= ~program.lanes[method]
    yield injury, left


def _prove(evaluation: Evaluation, known: Known, mask: int, bands: int, subject: Subject) -> bool:
    """Prove a zone by bands, or note what they lack; return whether it was proven."""
    program, width = evaluation.program, evaluation.program.width
    applies, missed, wanted = 0, 0, dict[str, None]()
    for each, rules in _around(evaluation, mask, bands):
        each = evaluation.computed(each, rules, subject)
        _, sure, failing, unsure = evaluation.planes(each, rules)
        applies, missed = applies | sure & program.proving, missed | failing | unsure
        for place in bits_of(unsure):
            needs, _ = needs_of(program.instances[place], subject, each, width, evaluation.row.unit)
            wanted |= dict.fromkeys(sorted({fact for fact, _ in needs}))
    if not applies:
        return False
    zone = "injury.zone" if known.layout is INJURY else "repair.zone"
    if not missed:
        known.put(zone, "crown", "crown (by measurement)")
        return True
    known.ask(zone, (zone, *[fact for fact in wanted if fact != zone]))
    return False


def _around(evaluation: Evaluation, mask: int, rules: int) -> Iterator[tuple[int, int]]:
    """Yield what is known with each earlier repair and each pair, and the instances that are judged there."""
    program = evaluation.program
    listed = ((each, rules & program.each_repair) for each in evaluation.repair_masks)
    for of_repair, asked in ((0, rules & ~program.each_repair), *listed):
        once = asked if not evaluation.pairs else asked & ~program.each_pair
        if once:
            yield mask | of_repair, once
        for pair in evaluation.pairs if asked & ~once else ():
            yield mask | of_repair | evaluation.pair_mask(pair), asked & ~once


def locate_repair(evaluation: Evaluation, repair: Known) -> None:
    """Note the zone that measurements prove of an earlier repair, or what is asked in its place."""
    program = evaluation.program
    tire = program.tire_mask(evaluation.tire.values)
    # Of an injury and a method nothing is known here: a band that reads them only may apply.
    mask = program.unmended | tire | program.repair_mask(repair.values)
    evaluation.repair_masks, evaluation.pairs, evaluation.special = (0,), [], evaluation.program.relative
    _prove(evaluation, repair, mask, program.repair_bands, Subject(evaluation.tire, evaluation.instead, None, repair))
