"""What a shop could change: held against trying everything, by the public face of the library alone.

Cases and packs are drawn and invented, but for the packs that ship.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from itertools import islice, product
from random import Random
from typing import Any

import pytest
import yaml

from tests.engine import rule, us_case, world
from tests.engine.differential import books, builtin
from tests.support import injury
from tirerules import CaseError, Dimension, Rulebook, load, measure
from tirerules.engine.parts import Change
from tirerules.engine.remedies import COSTS, MOST
from tirerules.vocabulary import ACTIVITIES, METHODS, REPAIR_METHODS, answering

#: Outside cases that are tried, every time and in the long run.
TRIED, LONG = 80, 1_000
Changes = frozenset[tuple[str, str]]


def widest(case: dict[str, Any]) -> str | None:
    """Return the greatest angle of the injuries as it is written, None where one is unknown."""
    injuries = case.get("injuries") or []
    angles = [each.get("angle") for each in injuries]
    if not angles or None in angles:
        return None
    return str(max(measure(each, Dimension.ANGLE).high for each in angles))


def everything(case: dict[str, Any], ends: dict[str, list[str]]) -> list[tuple[Changes, dict[str, Any]]]:
    """Return every change of what a shop can change, and the case it makes."""
    methods = [case.get("method")]
    if case.get("method") is not None:
        methods += [each for each in REPAIR_METHODS if each != case["method"]]
    unit, angle = case.get("repair_unit"), widest(case)
    units = [(None, unit)] + ([("none", None)] if unit else [])
    if angle is not None:
        judged = {each: REPAIR_METHODS if each is None else (each,) for each in methods}
        units += [(f"{m} {angle}", {"method": m, "rated_angle": angle, "document": "a"}) for m in METHODS]
    found = []
    days = [(str(activity), on) for activity in ACTIVITIES for on in (case["on"], *ends[activity])]
    for (activity, on), method, (told, unit_of) in product(days, methods, units):
        if told not in (None, "none") and (activity != "repair" or unit_of["method"] not in judged[method]):
            continue  # a unit is for a method that is judged
        changes = {
            *([("activity", activity)] if activity != case["activity"] else []),
            *([("method", str(method))] if method != case.get("method") else []),
            *([("repair_unit", told)] if told is not None else []),
            *([("on", on)] if on != case["on"] else []),
        }
        if 0 < len(changes) <= MOST:
            made = {**case, "activity": activity, "method": method, "repair_unit": unit_of, "on": on}
            found.append((frozenset(changes), {key: value for key, value in made.items() if value is not None}))
    return found


def within(rulebook: Rulebook, case: dict[str, Any]) -> bool:
    try:
        return rulebook.decide(case).within
    except CaseError:  # an inspection may state no injury; a repair must
        return False


def smallest(rulebook: Rulebook, case: dict[str, Any], ends: dict[str, list[str]]) -> set[Changes]:
    """Return the smallest sets of changes that work, each with its first day."""
    working = [changes for changes, made in everything(case, ends) if within(rulebook, made)]
    by_rest: dict[Changes, str] = {}
    for changes in working:
        rest = frozenset(each for each in changes if each[0] != "on")
        day = dict(changes).get("on", "")
        by_rest[rest] = min(by_rest.get(rest, day), day)
    kept = {rest | ({("on", day)} if day else frozenset()) for rest, day in by_rest.items()}
    return {changes for changes in kept if not any(other < changes for other in kept)}


def ends_of(packs: list[dict[str, Any]], heard: Collection[str], on: str) -> dict[str, list[str]]:
    """Return, for each activity, the later days on which a rule ends that a case of it answers to."""
    ends: dict[str, set[str]] = {str(activity): set() for activity in ACTIVITIES}
    for each in packs:
        for said in each["rules"] if each["pack"] in heard else ():
            end = str(said.get("in-force", {}).get("until", ""))
            for activity in ACTIVITIES if end > on else ():
                if {*said["activity"]} & {*map(str, answering(activity))}:
                    ends[activity].add(end)
    return {activity: sorted(days) for activity, days in ends.items()}


def told(rulebook: Rulebook, case: dict[str, Any]) -> list[Changes]:
    found = rulebook.decide(case).remedies
    assert found.asked
    return [frozenset((each.fact, each.to) for each in remedy.changes) for remedy in found.sets]


ENDS = ("2027-03-01", "2027-06-01", "2028-01-01")


def drawn_world(rng: Random) -> tuple[str, list[dict[str, Any]]]:
    """Draw the rules of an invented trade, around what a shop can change, and cases near them."""
    said = [
        rule("size", "limit: {fact: injury.diameter, at-most: 8 mm}"),
        rule("depth", "limit: {fact: tire.tread_depth, at-least: 2 mm}", activity="road-use, tire-sale, vehicle-sale"),
        rule(
            "angle",
            "limit: {fact: injury.angle, at-most: 25 deg}",
            when="{method: one-piece}",
            more="extendable: {up-to: 35 deg, by: repair-material}",
        ),
    ]
    said.append(rule("sold", "limit: {fact: tire.tread_depth, at-least: 5 mm}", activity="used-tire-sale"))
    for number in range(rng.randint(1, 4)):
        body = rng.choice(
            (
                f"limit: {{fact: injury.diameter, at-most: {rng.randint(2, 7)} mm}}",
                f"limit: {{fact: injury.angle, at-most: {rng.randint(5, 40)} deg}}",
                "prohibit: {fact: injury.zone, values: [shoulder]}",
                "limit: {fact: tire.tread_depth, at-least: 4 mm}",
            )
        )
        said.append(
            rule(
                f"drawn-{number}",
                body,
                when=rng.choice(("", "{method: one-piece}", "{method: two-piece}", "{method: [section, plug-only]}")),
                activity="repair",
                more=rng.choice(("", f"in-force: {{until: {rng.choice(ENDS)}}}")),
            )
        )
    cases = []
    for _ in range(6):
        angle = rng.choice((10, 20, 28, 34, 38))
        unit = {"method": rng.choice(("one-piece", "two-piece")), "rated_angle": f"{rng.choice((15, 30, 36))} deg"}
        case = us_case(
            injuries=injury(
                diameter=f"{rng.randint(2, 8)} mm", angle=f"{angle} deg", zone=rng.choice(("crown", "shoulder"))
            ),
            tire={"tread_depth": f"{rng.choice((3, 6))} mm"},
            method=rng.choice((None, "one-piece", "two-piece", "plug-only")),
            repair_unit=rng.choice((None, None, unit, unit | {"document": "an invented sheet"})),
        )
        if rng.random() < 0.25:
            case |= {"activity": "used-tire-sale", "injuries": []}
        cases.append({key: value for key, value in case.items() if value is not None})
    return "".join(said), cases


def compared(rulebook: Rulebook, packs: list[dict[str, Any]], case: dict[str, Any], seen: Counter[Any]) -> None:
    """Hold the remedies of a case outside the limits against trying everything."""
    decision = rulebook.decide(case)
    if str(decision.verdict) != "outside-limits" or "on" not in case:
        return
    found = told(rulebook, case)
    assert len({*found}) == len(found)
    assert {*found} == smallest(rulebook, case, ends_of(packs, decision.packs, case["on"])), case
    costs = [(len(each), sum(COSTS[fact] for fact, _ in each)) for each in found]
    assert costs == sorted(costs)
    seen["outside"] += 1
    seen.update({fact for changes in found for fact, _ in changes} or {"none"})
    seen.update({f"{len(changes)} changes" for changes in found})


@pytest.mark.parametrize("wanted", [TRIED, pytest.param(LONG, marks=pytest.mark.long)])
def test_remedies_are_what_trying_everything_finds(wanted):
    seen: Counter[Any] = Counter()
    for number in range(10 * wanted):
        rules, cases = drawn_world(Random(number))
        packs = [{"pack": "invented-trade", "rules": yaml.safe_load(rules)}]
        for case in cases:
            compared(world(rules), packs, case, seen)
        if seen["outside"] >= wanted:
            break
    kinds = [*COSTS, "none", "1 changes", "2 changes", *(["3 changes"] if wanted == LONG else [])]
    assert all(seen[each] for each in kinds), seen


@pytest.mark.parametrize("wanted", [10, pytest.param(LONG, marks=pytest.mark.long)])
def test_remedies_of_odd_cases_are_what_trying_everything_finds(wanted):
    seen: Counter[Any] = Counter()
    for rulebook, packs, cases in (builtin(5), *islice(books(5), 2 * wanted)):
        for case in islice(cases, 20):
            compared(rulebook, packs, case, seen)
        if seen["outside"] >= wanted:
            break
    assert seen["outside"] >= wanted


def test_a_unit_with_its_document_is_a_remedy_for_a_steep_channel():
    """The trade's cap for a documented one-piece unit is 35 degrees (the baseline's rule, which names its source)."""
    case = us_case(injuries=injury(angle="30 deg"), method="one-piece")
    found = load().decide(case).remedies
    assert [remedy.changes for remedy in found.sets] == [
        (Change("method", "two-piece"),),
        (Change("repair_unit", "one-piece 30 deg", document=True),),
    ]
    steep = us_case(injuries=injury(angle="36 deg"), method="one-piece")
    assert [remedy.changes for remedy in load().decide(steep).remedies.sets] == [(Change("method", "two-piece"),)]


def test_a_rule_that_ends_is_waited_for_and_no_other():
    until = rule("narrow", "limit: {fact: injury.diameter, at-most: 3 mm}", more="in-force: {until: 2027-03-01}")
    rulebook = world(rule("wide", "limit: {fact: injury.diameter, at-most: 6 mm}") + until)
    (remedy, *_) = rulebook.decide(us_case(injuries=injury(diameter="5 mm"))).remedies.sets
    assert [(each.fact, each.to) for each in remedy.changes] == [("on", "2027-03-01")]


def test_what_is_not_outside_is_not_asked_and_what_nothing_mends_says_so():
    within = world(rule("wide", "limit: {fact: injury.diameter, at-most: 6 mm}"))
    assert not within.decide(us_case(injuries=injury(diameter="5 mm"))).remedies.asked
    bulging = load().decide(us_case(injuries=injury(), findings=["bulge"], earlier_repairs=[]))
    assert bulging.remedies.asked
    assert bulging.remedies.sets == ()
