"""Which facts are still worth asking for: the smallest set whose answers could settle the verdict.

A question that cannot change the verdict is never asked. Each unknown answer can be settled by any one of the facts it
needs, so the smallest set is a smallest hitting set over them; for one injury after another the method that takes the
fewest questions is the one asked about.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Final

from tirerules.deciding.judging import Answer, Judged
from tirerules.deciding.judgment import Need
from tirerules.vocabulary import FACTS

__all__ = ["worth_asking"]

#: Beyond this many combinations the smallest set is approached greedily; it is then small, not surely smallest.
_MOST_COMBINATIONS: Final = 20_000
_ORDER: Final = {name: place for place, name in enumerate(FACTS)}


def worth_asking(judged: Judged) -> tuple[Need, ...]:
    """Return what to ask in an undetermined case, most decisive first; nothing where no answer could settle it."""
    unknown = [answer for answer in judged.common if answer.outcome is None]
    for injury in range(len(judged.injuries) if judged.methods else 0):
        unknown += _cheapest_method(judged, injury, unknown)
    # Where one of them can never be answered well enough to pass, the others could at least end in a clear no.
    return _smallest_cover([answer for answer in unknown if answer.needs])


def _cheapest_method(judged: Judged, injury: int, common: Sequence[Answer]) -> list[Answer]:
    """Return the unknown answers of the method that is settled with the fewest questions; none where one passes."""
    options: list[tuple[bool, bool, int, int, list[Answer]]] = []
    for (number, method), answers in judged.methods.items():
        if number != injury or any(answer.outcome is False for answer in answers):
            continue
        unknown = [answer for answer in answers if answer.outcome is None]
        hopeless = any(not answer.needs for answer in unknown)
        cost = len(_smallest_cover([answer for answer in (*common, *unknown) if answer.needs]))
        # A section repair is another job, by another shop: it is asked about where no unit can do.
        options.append((hopeless, method == "section", cost, len(options), unknown))
    return min(options)[-1] if options else []


def _smallest_cover(answers: Sequence[Answer]) -> tuple[Need, ...]:
    """Return a smallest set of facts with one that each of `answers` needs, most decisive first."""
    left = [answer.needs for answer in answers]
    weight = Counter(itertools.chain.from_iterable(left))
    limited = Counter(answer.asks_first for answer in answers)
    # The inspection comes first: without it nothing else is worth measuring. Of equals, what a rule limits comes before
    # what only decides whether it applies.
    rank = {need: (need[0] != "findings", -weight[need], -limited[need], _ORDER[need[0]], need[1]) for need in weight}
    chosen = {need for group in left if len(group) == 1 for need in group}
    left = [group for group in left if not group & chosen]
    candidates = sorted({need for group in left for need in group}, key=rank.__getitem__)
    tried = 0
    for size in range(1, len(candidates) + 1):
        for combination in itertools.combinations(candidates, size):
            if not left:
                break
            tried += 1
            if all(group & set(combination) for group in left):
                chosen |= set(combination)
                left = []
        if tried > _MOST_COMBINATIONS:
            break
    while left:
        best = min((need for group in left for need in group), key=lambda need: (-_hits(need, left), rank[need]))
        chosen.add(best)
        left = [group for group in left if best not in group]
    return tuple(sorted(chosen, key=rank.__getitem__))


def _hits(need: Need, groups: Iterable[frozenset[Need]]) -> int:
    return sum(need in group for group in groups)
