"""What the library adds to the rules so that silence is never a pass.

A repair needs a limit on the injury's size; anything else needs a limit on the tread, a law that somebody has read, and
no injury left open; every recorded finding must be judged, and a class that is made for no highway; and where the trade
judges what a tire carries, the size of each earlier repair must be limited. A guard holds or leaves the answer open;
none of them ever fails a tire.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import product
from typing import Any

from tests.reference.derived import entailed
from tests.reference.facts import Facts
from tests.reference.rules import Rule, applies, holds, is_ceiling, listed
from tests.reference.words import DOMAINS, LAWFULLY_REGROOVED, PAIRED

__all__ = ["class_is_judged", "finding_is_judged", "limits_repair", "limits_size", "limits_tread", "one_applies"]

#: Which earlier repair and which pair of repairs a view speaks of, by number.
Which = tuple[int, int]
#: A rule and a view of it.
Instance = tuple[Rule, Which, Facts]


def limits_size(rule: Rule) -> bool:
    """Whether a rule sets a ceiling on the size of an injury."""
    limit = rule.get("limit", {})
    return _is_looked_up(rule) and limit.get("fact") == "injury.diameter" and any(map(is_ceiling, limit))


def limits_repair(rule: Rule) -> bool:
    """Whether a rule sets a ceiling on the size of an earlier repair, whatever the injury and the method."""
    limit = rule.get("limit", {})
    alone = "method" not in rule["reads"] and not any(name.startswith("injury.") for name in rule["reads"])
    return _is_looked_up(rule) and alone and limit.get("fact") == "repair.diameter" and any(map(is_ceiling, limit))


def class_is_judged(name: str, instances: Iterable[Instance], case: dict[str, Any]) -> bool:
    """Whether a rule that may apply says of a class whether it is allowed: it permits some classes, or prohibits it.

    A bar on other classes says nothing of this one.
    """
    return any(
        applies(rule, view, case) is not False
        for rule, _, view in instances
        if rule.get("permit", {}).get("fact") == "tire.class"
        or (rule.get("prohibit", {}).get("fact") == "tire.class" and name in rule["prohibit"]["values"])
    )


def limits_tread(rule: Rule) -> bool:
    """Whether a rule sets a floor on the tread: words on its indicators do not, nor does what only contradicts them."""
    limit = rule.get("limit", {})
    is_floor = limit.get("fact") == "tire.tread_depth" and not any(map(is_ceiling, limit))
    return _is_looked_up(rule) and is_floor and "contradicts" not in rule


def finding_is_judged(finding: str, instances: Iterable[Instance], case: dict[str, Any]) -> bool:
    """Whether a rule that may apply names the finding, or what it entails.

    A regroove is lawful work on some classes; on every other a rule must bar it, or apply because of it.
    """
    is_regroove = finding == "regroove"
    if is_regroove and (case.get("tire") or {}).get("class") in LAWFULLY_REGROOVED:
        return True
    meant = entailed([finding])
    return any(
        applies(rule, view, case) is not False
        for rule, _, view in instances
        if meant & set(_findings(rule)) or (is_regroove and "tire.regrooved" in rule["when"])
    )


def one_applies(wanted: Callable[[Rule], bool], instances: Iterable[Instance], case: dict[str, Any]) -> bool:
    """Whether one of the `wanted` rules applies, whatever the unknown facts turn out to be."""
    open_ones = []
    for rule, which, view in instances:
        if wanted(rule):
            bound = applies(rule, view, case)
            if bound is True:
                return True
            if bound is None:
                open_ones.append((rule, which, view))
    return bool(open_ones) and _one_applies_in_every_world(open_ones, case)


def _is_looked_up(rule: Rule) -> bool:
    """Whether somebody looked the figure up: one that is only remembered may bar a tire, but never let it pass."""
    return bool(rule["evidence"] != "memory")


def _one_applies_in_every_world(open_ones: list[Instance], case: dict[str, Any]) -> bool:
    """Try every assignment of the unknown facts; one that cannot be listed leaves the question open.

    That is so of a quantity, whether it was not measured or lies astride the figure.
    """
    tests: dict[tuple[str, int], list[Rule]] = {}
    for rule, which, view in open_ones:
        for name in rule["when"]:
            if holds(rule, name, view.get(name), case) is None:
                tests.setdefault(_variable(name, which), []).append(rule)
    if any(name not in DOMAINS for name, _ in tests):
        return False
    # Of the values that no test tells apart, one is tried: two unknown speed symbols alone would be 289 worlds.
    tried = []
    for (name, _), asking in tests.items():
        told = {tuple(holds(rule, name, value, case) for rule in asking): value for value in DOMAINS[name]}
        tried.append(told.values())
    worlds = (dict(zip(tests, values, strict=True)) for values in product(*tried))
    return all(
        any(applies(rule, _imagined(view, which, world), case) for rule, which, view in open_ones) for world in worlds
    )


def _variable(name: str, which: Which) -> tuple[str, int]:
    """An unknown fact; each earlier repair and each pair has its own, all else is the same in every view."""
    return name, which[0] if name.startswith("repair.") else which[1] if name in PAIRED else 0


def _imagined(view: Facts, which: Which, world: dict[tuple[str, int], Any]) -> Facts:
    return view | {name: value for (name, of), value in world.items() if (name, of) == _variable(name, which)}


def _findings(rule: Rule) -> list[str]:
    """The findings that a rule names, in its body or in its conditions."""
    tests = rule["when"].get("findings", [])
    named = [each for test in tests for each in listed(test["not"] if isinstance(test, dict) else test)]
    return [*named, *rule.get("disqualify", {}).get("findings", ())]
