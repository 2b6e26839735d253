"""What bits decide is what the reference decides: on 100,000 drawn cases in what is quick to compare, on 10,000 in all.

Only cases that are judged by bits are counted. Parts are tests of their own, so that processes can share them; each
says of itself that it met everything that makes a difference. The packs of a seed are invented but for the built-in
ones; the tires always are.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from itertools import islice
from random import Random
from typing import Any

import pytest

import tirerules
from tests.deciding import SIZE, rule, us_case, world
from tests.index.comparing import compare, compare_whole
from tests.reference.drawing import drawn_cases, drawn_packs
from tests.support import builtin_packs, injury, rulebook_of
from tirerules import Rulebook
from tirerules.authoring.vectors import plan
from tirerules.packs.rule import Require
from tirerules.vocabulary import ACTIVITIES, METHODS, REPAIR_METHODS

#: Parts, and cases judged by bits in each.
INVENTED, OF_INVENTED = 20, 4_800
BUILTIN, OF_BUILTIN = 2, 2_000
WHOLE, OF_WHOLE = 4, 1_250
#: So many parts of each are run every time, the others with the long sweeps.
ALWAYS = 2
CASES_OF_A_BOOK = 150
VERDICTS = ("within-limits", "undetermined", "outside-limits")


def parts(count: int) -> list[Any]:
    """Return the numbers of parts, of which most are marked as long."""
    return [part if part < ALWAYS else pytest.param(part, marks=pytest.mark.long) for part in range(count)]


def test_enough_is_compared():
    assert INVENTED * OF_INVENTED + BUILTIN * OF_BUILTIN >= 100_000
    assert 2 * WHOLE * OF_WHOLE >= 10_000


def test_vectors_are_decided_as_by_the_reference():
    """They are made to show every rule that ships, and so they do here: most of them pass, fail and stay open."""
    rulebook = tirerules.load()
    seen: Counter[Any] = Counter()
    vectors = [vector.case for vector in plan(rulebook)]
    judged = sum(compare(rulebook, case, seen) for case in vectors)
    assert judged > 0.7 * len(vectors) > 5_000
    for case in vectors[::10]:
        compare_whole(rulebook, case)
    found = _outcomes(seen)
    # The bands of an earlier repair are judged where it was measured, and then by the reference.
    bodies = {r.name: r.body for pack in rulebook.packs.values() for r in pack.rules}
    names = [name for name, body in bodies.items() if not isinstance(body, Require) and body.fact != "repair.reach"]
    assert sum(len(found[name]) == 3 for name in names) > 0.8 * len(names)
    assert all(len(found[name]) > 1 for name in names)


@pytest.mark.parametrize("part", parts(INVENTED))
def test_invented_packs_are_decided_as_by_the_reference(part):
    seen: Counter[Any] = Counter()
    judged, rules, settled = 0, 0, 0
    for rulebook, cases in _books(part):
        of_book: Counter[Any] = Counter()
        judged += sum(compare(rulebook, case, of_book) for case in cases)
        found = _outcomes(of_book)
        rules, settled = rules + len(found), settled + sum(len(outcomes) == 3 for outcomes in found.values())
        seen += of_book
        if judged >= OF_INVENTED:
            break
    _assert_not_vacuous(seen, judged)
    assert settled > 0.4 * rules


@pytest.mark.parametrize("part", range(BUILTIN))
def test_built_in_packs_are_decided_as_by_the_reference(part):
    seen: Counter[Any] = Counter()
    rulebook, judged = tirerules.load(), 0
    for case in drawn_cases(Random(part), builtin_packs()):
        judged += compare(rulebook, case, seen)
        if judged >= OF_BUILTIN:
            break
    # No limit on the size of a section repair is located for any tire, so none of them passes.
    _assert_not_vacuous(seen, judged, never=("method", "section", "within-limits"))


@pytest.mark.parametrize("part", parts(WHOLE))
def test_invented_packs_are_decided_as_by_the_reference_in_every_word(part):
    judged = 0
    for rulebook, cases in _books(1_000 + part):
        judged += sum(compare_whole(rulebook, case) for case in cases)
        if judged >= OF_WHOLE:
            break


@pytest.mark.parametrize("part", parts(WHOLE))
def test_built_in_packs_are_decided_as_by_the_reference_in_every_word(part):
    rulebook, judged = tirerules.load(), 0
    for case in drawn_cases(Random(1_000 + part), builtin_packs()):
        judged += compare_whole(rulebook, case)
        if judged >= OF_WHOLE:
            break


@pytest.mark.parametrize("first", [0, 1], ids=["places known first", "places known second"])
def test_what_is_asked_first_of_alike_cases_is_asked_of_each_by_what_it_says(first):
    """No rule sees where two repairs are while the tire's diameter is unknown; what to ask for next depends on it."""
    apart = rule("apart", "limit: {fact: repairs.spacing, at-least: 400 mm}")
    rulebook = world(SIZE + apart)
    cases = [
        us_case(injuries=injury(clock=new), earlier_repairs=[{"clock": old}])
        for new, old in (("3:00", "6:00"), (None, None))
    ]
    for case in (cases[first], cases[not first]):
        compare_whole(rulebook, case)


def _books(part: int) -> Iterator[tuple[Rulebook, Iterable[dict[str, Any]]]]:
    """Yield rulebooks of invented packs, each with cases for it."""
    rng = Random(part)
    while True:
        packs = drawn_packs(rng)
        yield rulebook_of(packs), islice(drawn_cases(rng, packs), CASES_OF_A_BOOK)


#: What fails seldom or never: what the library itself asks, heights that only contradict a finding, wide limits.
_SELDOM = ("engine/", "trade/height-", "trade/repaired", "trade/classes")


def _outcomes(seen: Counter[Any]) -> dict[str, set[str]]:
    found = defaultdict(set)
    for what in seen:
        if what[0] == "outcome" and not what[1].startswith(_SELDOM):
            found[what[1]].add(what[2])
    return found


def _assert_not_vacuous(seen: Counter[Any], judged: int, never: tuple[str, ...] = ()) -> None:
    """Everything that makes a difference occurred, and what is common occurred often; what cannot be did not."""
    wanted: dict[Any, float] = {("verdict", kind, verdict): 0.003 for kind in (True, False) for verdict in VERDICTS}
    wanted |= {("method", method, verdict): 0.0 for method in REPAIR_METHODS for verdict in VERDICTS}
    wanted |= {("method", method, "outside-limits"): 0.002 for method in METHODS}
    wanted |= {("activity", activity): 0.01 for activity in ACTIVITIES}
    wanted |= {("reading", reading): 0.1 for reading in ("strict", "as-enacted")}
    wanted |= {("unrecorded", name): 0.02 for name in ("injuries", "earlier_repairs", "findings")}
    wanted |= {("read plainly",): 0.2, ("questions",): 0.1, ("several injuries",): 0.02, ("pairs",): 0.01}
    wanted |= {("geometry",): 0.003}
    if never:
        del wanted[never]
        assert seen[never] == 0
    missed = {what: seen[what] for what, share in wanted.items() if seen[what] <= share * judged}
    assert missed == {}
