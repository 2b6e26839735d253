"""Missing facts: the smallest set of questions whose answers could settle the verdict.

A question that cannot change the verdict is never asked. Each open answer can be settled by any one of the facts it
needs, so the smallest set is a smallest hitting set over them; for one injury after another the method that takes the
fewest questions is the one asked about.
"""

from __future__ import annotations

from itertools import combinations

from tirerules.engine.entries import entries
from tirerules.engine.needs import needs_of
from tirerules.engine.parts import Question
from tirerules.vocabulary import FACTS

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from typing import TypeAlias

    from tirerules.engine.entries import Entry
    from tirerules.engine.evaluator import Evaluation
    from tirerules.engine.own_rules import Gap
    from tirerules.engine.subjects import Need

    #: The facts that could settle an open answer, and of these the one that a body limits.
    Open: TypeAlias = "tuple[frozenset[Need], Need | None]"

__all__ = ["ORDER", "questions_of", "settling", "worth_asking"]

#: Beyond this many combinations the smallest set is approached greedily; it is then small, not surely smallest.
_MOST_COMBINATIONS = 20_000
ORDER = {name: place for place, name in enumerate(FACTS)}


def questions_of(evaluation: Evaluation) -> tuple[Question, ...]:
    """Return the questions that could settle an open case, most decisive first; none of one that is settled."""
    if not evaluation.open:
        return ()
    return tuple(_question(need, len(evaluation.injuries)) for need in worth_asking(evaluation))


def _question(need: Need, injuries: int) -> Question:
    """Return the question for a fact of a subject; with one injury there is nothing to tell apart."""
    from tirerules.engine.form import question

    return question(need[0], "" if need[1] == "injury 1" and injuries == 1 else need[1], need[1])


def worth_asking(evaluation: Evaluation) -> tuple[Need, ...]:
    """Return what to ask in an open case, most decisive first; nothing where no answer could settle it."""
    common = _open(evaluation, entries(evaluation, "", "injury"), evaluation.gaps)
    by_injury = (_by_method(evaluation, injury) for injury in range(len(evaluation.injuries)))
    return settling(common, by_injury)


def settling(common: Sequence[Open], by_injury: Iterable[Mapping[str, Sequence[Open]]]) -> tuple[Need, ...]:
    """Return the smallest set of facts that could settle open answers, most decisive first.

    `by_injury` has for each injury the open answers of each method that may still repair it.
    """
    unknown = list(common)
    for options in by_injury:
        unknown += _cheapest(options, unknown)
    # Where one of them can never be answered well enough to pass, the others could at least end in a clear no.
    return smallest_cover([each for each in unknown if each[0]])


def _open(evaluation: Evaluation, found: Iterable[Entry], gaps: Iterable[Gap]) -> list[Open]:
    width, unit = evaluation.program.width, evaluation.row.unit
    waiting = (entry for entry in found if entry.outcome is None)
    answers: list[Open] = [needs_of(each.instance, each.subject, each.look.mask, width, unit) for each in waiting]
    return answers + [(gap.needs(evaluation), None) for gap in gaps]


def _by_method(evaluation: Evaluation, injury: int) -> Mapping[str, Sequence[Open]]:
    """Return the open answers of each method that does not fail an injury."""
    options = {}
    for method in evaluation.program.methods:
        found = entries(evaluation, method, injury=injury)
        if not any(entry.outcome is False for entry in found):
            options[method] = _open(evaluation, found, evaluation.gaps_of(injury, method))
    return options


def _cheapest(options: Mapping[str, Sequence[Open]], common: Sequence[Open]) -> Sequence[Open]:
    """Return the open answers of the method that is settled with the fewest questions; none where one passes."""
    ranked: list[tuple[bool, bool, int, int, Sequence[Open]]] = []
    for method, unknown in options.items():
        hopeless = any(not needs for needs, _ in unknown)
        cost = len(smallest_cover([each for each in (*common, *unknown) if each[0]]))
        # A section repair is another job, by another shop: it is asked about where no unit can do.
        ranked.append((hopeless, method == "section", cost, len(ranked), unknown))
    return min(ranked)[-1] if ranked else []


def smallest_cover(answers: Sequence[Open]) -> tuple[Need, ...]:
    """Return a smallest set of facts with one that each of some open answers needs, most decisive first."""
    left = [needs for needs, _ in answers]
    weight: dict[Need, int] = {}
    limited: dict[Need | None, int] = {}
    for needs, first in answers:
        limited[first] = limited.get(first, 0) + 1
        for need in needs:
            weight[need] = weight.get(need, 0) + 1
    # The inspection comes first: without it nothing else is worth measuring. Of equals, what a rule limits comes before
    # what only decides whether it applies.
    rank = {
        need: (need[0] != "findings", -count, -limited.get(need, 0), ORDER[need[0]], need[1])
        for need, count in weight.items()
    }
    chosen = {need for group in left if len(group) == 1 for need in group}
    left = [group for group in left if not group & chosen]
    candidates = sorted({need for group in left for need in group}, key=rank.__getitem__)
    tried = 0
    for size in range(1, len(candidates) + 1):
        for combination in combinations(candidates, size):
            if not left:
                break
            tried += 1
            some = frozenset(combination)
            if all(group & some for group in left):
                chosen |= some
                left = []
        if not left or tried > _MOST_COMBINATIONS:
            break
    while left:
        best = min((need for group in left for need in group), key=lambda need: (-_hits(need, left), rank[need]))
        chosen.add(best)
        left = [group for group in left if best not in group]
    return tuple(sorted(chosen, key=rank.__getitem__))


def _hits(need: Need, groups: Iterable[frozenset[Need]]) -> int:
    return sum(need in group for group in groups)
