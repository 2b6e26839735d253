"""What the library adds to the rules so that silence is never a pass: each is open, and none of them fails a tire.

A repair needs a limit on the injury's size; anything else needs a limit on the tread, a law that somebody has read, and
no injury left open; every recorded finding must be judged, and a class that is made for no highway; and where the trade
judges what a tire carries, the size of each earlier repair must be limited.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import product
from typing import Any, Final

from tests.reference.bodies import bound_of
from tests.reference.derived import entailed
from tests.reference.hearing import Heard
from tests.reference.rules import Rule, holds, is_ceiling, is_looked_up, is_overlay, listed
from tests.reference.views import View
from tests.reference.words import CURED, DOMAINS, FOR_NO_HIGHWAY, LAWFULLY_REGROOVED

__all__ = [
    "law_is_unread",
    "open_injury",
    "repair_is_unlimited",
    "size_is_unlimited",
    "tread_is_unlimited",
    "unjudged",
]

_MOST_WORLDS: Final = 20_000
_UNLIMITED: Final = {
    "injury.diameter": "No limit on the injury's size was located for this tire and method; ask the tire's maker.",
    "tire.tread_depth": "No limit on tread depth was located for this tire and activity.",
    "repair.diameter": "No limit on an earlier repair's size was located for this tire and method; ask its maker.",
}


def size_is_unlimited(case: dict[str, Any], view: View, heard: Iterable[Heard]) -> list[Heard]:
    """Whether no ceiling on the size of an injury surely applies to it and the method."""
    return _unlimited(case, view, _settling(case, heard, "injury.diameter"), "injury.diameter")


def repair_is_unlimited(case: dict[str, Any], view: View, heard: Iterable[Heard]) -> list[Heard]:
    """Whether no ceiling on the size of one earlier repair surely applies, of those that speak of it alone.

    What limits it for one injury or one method leaves it open for every other.
    """
    own = view.subject(["repair.diameter"])
    limits = [
        each
        for each in _settling(case, heard, "repair.diameter")
        if each.subject == own and each.rule is not None and not each.rule["groups"] & {"injury", "method"}
    ]
    return _unlimited(case, view, limits, "repair.diameter")


def tread_is_unlimited(case: dict[str, Any], tire: View, heard: Iterable[Heard]) -> list[Heard]:
    """In which places no floor on tread surely applies: of the trade, of the country or of the place itself."""
    limits = _limiting(heard, "tire.tread_depth")
    found = []
    for code in case["jurisdictions"]:
        speaking = {"baseline", code, code.split("-")[0]}
        here = [each for each in limits if each.rule is not None and each.rule["place"] in speaking]
        found += _unlimited(case, tire, here, "tire.tread_depth", f"{code}: ")
    return found


def law_is_unread(case: dict[str, Any], packs: Iterable[dict[str, Any]]) -> list[Heard]:
    """In which places nobody has read the law on the act itself; a repair answers to the trade everywhere."""
    act = case["activity"]
    text = "{}: the law on {} has not been reviewed, so nothing can be called allowed there."
    return [
        _gap("law-reviewed", "jurisdictions", text.format(pack["pack"], act))
        for pack in packs
        if act != "repair"
        and pack["pack"] in case["jurisdictions"]
        and pack["coverage"].get(act, "not-reviewed") == "not-reviewed"
    ]


def open_injury(case: dict[str, Any], view: View) -> Heard:
    """An injury that is not being repaired, or of which nobody recorded whether there is one."""
    if case.get("injuries") is None:
        text = "It is not recorded whether the tire was inspected for injuries."
        return _gap("open-injury", "injuries", text, needs=frozenset({("findings", "")}))
    text = "No rule lets a tire pass with an injury that is still to be repaired; decide it as a repair."
    return _gap("open-injury", "injuries", text, subject=view.labels["injury"])


def unjudged(case: dict[str, Any], heard: Iterable[Heard]) -> list[Heard]:
    """Which recorded findings no rule that may apply speaks of; and a class made for no highway, likewise.

    A rule speaks of a finding by barring it, by applying because of it, and of a regroove by reading whether there is
    one. Of some classes a regroove is lawful work. A rule speaks of a class by permitting some, or by barring this one.
    """
    name = (case.get("tire") or {}).get("class")
    found = set(case.get("findings") or ()) - (CURED if case["activity"] == "repair" else set())
    if name in LAWFULLY_REGROOVED:
        found.discard("regroove")
    rules = [each.rule for each in heard if each.rule is not None and _settles(case, each.rule)]
    named: set[str] = set()
    for rule in rules:
        named |= set(_findings(rule))
        if "tire.regrooved" in rule["reads"]:
            found.discard("regroove")
    missed = [each for each in found if not entailed([each]) & named]
    if name in FOR_NO_HIGHWAY and not any(_judges_class(rule, name) for rule in rules):
        missed.append(FOR_NO_HIGHWAY[name])
    text = "No located rule says what follows from the finding {!r}; a trained person must decide."
    return [_gap("finding-judged", "findings", text.format(each), measured=each) for each in sorted(missed)]


def _gap(name: str, fact: str, says: str, **more: Any) -> Heard:
    return Heard(
        **{"subject": "", **more}, name=f"engine/{name}", fact=fact, says=says, outcome="unknown", applies=True
    )


def _unlimited(case: dict[str, Any], view: View, limits: list[Heard], fact: str, place: str = "") -> list[Heard]:
    """Where none of the limits surely applies, whatever the unknown words turn out to be."""
    rules = [each.rule for each in limits if each.rule is not None]
    if any(each.applies for each in limits) or _one_applies_in_every_world(case, view, rules):
        return []
    needs = frozenset(need for name in _undecided(case, view, rules) for need in view.needs(name))
    return [_gap("limit-located", fact, place + _UNLIMITED[fact], subject=view.subject([fact]), needs=needs)]


def _one_applies_in_every_world(case: dict[str, Any], view: View, rules: list[Rule]) -> bool:
    """Try every assignment of the words that are unknown in the view; one that cannot be listed leaves it open.

    That is so of a quantity, whether it was not measured or lies astride the figure, and of too many words. What is
    known of one earlier repair counts for no other, so that it is not looked at here.
    """
    unknown = sorted(_undecided(case, view, rules))
    if not rules or any(name not in DOMAINS for name in unknown):
        return False
    if math.prod(len(DOMAINS[name]) for name in unknown) > _MOST_WORLDS:
        return False
    # Of the values that no test tells apart, one is tried: two unknown speed symbols alone would be 289 worlds.
    tried = []
    for name in unknown:
        asking = [rule for rule in rules if name in rule["when"]]
        told = {tuple(holds(rule, name, value, case) for rule in asking): value for value in DOMAINS[name]}
        tried.append(told.values())
    worlds = (View(dict(zip(unknown, values, strict=True))) for values in product(*tried))
    return all(any(_conditions_hold(rule, view | world, case) for rule in rules) for world in worlds)


def _undecided(case: dict[str, Any], view: View, rules: list[Rule]) -> set[str]:
    """The facts on which it depends whether rules apply."""
    return {name for rule in rules for name in rule["when"] if holds(rule, name, view.get(name), case) is None}


def _conditions_hold(rule: Rule, view: View, case: dict[str, Any]) -> bool:
    return all(holds(rule, name, view.get(name), case) is True for name in rule["when"])


def _settling(case: dict[str, Any], heard: Iterable[Heard], fact: str) -> list[Heard]:
    return [each for each in _limiting(heard, fact) if each.rule is not None and _settles(case, each.rule)]


def _limiting(heard: Iterable[Heard], fact: str) -> list[Heard]:
    """What keeps a size small or a tread deep, by law or trade; words on wear indicators and their heights do not."""
    return [each for each in heard if each.rule is not None and _guards(each.rule, fact) and is_looked_up(each.rule)]


def _guards(rule: Rule, fact: str) -> bool:
    if is_overlay(rule) or "contradicts" in rule or rule.get("limit", {}).get("fact") != fact:
        return False
    return is_ceiling(bound_of(rule)) is (fact != "tire.tread_depth")


def _settles(case: dict[str, Any], rule: Rule) -> bool:
    """Whether a rule can end a silence in all the places: one of a place of the caller's own speaks for it alone."""
    own = rule["pack"].startswith("X")
    everywhere = all(rule["pack"] in (code, code.split("-")[0]) for code in case["jurisdictions"])
    return not is_overlay(rule) and (not own or everywhere)


def _judges_class(rule: Rule, name: str) -> bool:
    barred = rule.get("prohibit", {})
    if barred.get("fact") == "tire.class":
        return name in barred["values"]
    return bool(rule.get("permit", {}).get("fact") == "tire.class")


def _findings(rule: Rule) -> list[str]:
    """The findings that a rule names, in its body or in its conditions."""
    tests = rule["when"].get("findings", [])
    named = [each for test in tests if not isinstance(test, dict) for each in listed(test)]
    return [*named, *rule.get("disqualify", {}).get("findings", ())]
