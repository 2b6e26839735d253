"""Makes a disagreement small enough to read: leaves out whatever it does not need.

Greedy and without cleverness. A pack that lost its last rule stays, since a jurisdiction needs its country's pack.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from copy import deepcopy
from typing import Any

__all__ = ["smaller", "with_rules"]

Packs = list[dict[str, Any]]
Case = dict[str, Any]

_KEPT = ("jurisdictions", "activity", "on")


def smaller(packs: Packs, case: Case, still: Callable[[Packs, Case], bool]) -> tuple[Packs, Case]:
    """Return the packs and the case with all left out that `still` holds without."""
    found = True
    while found:
        found = False
        for fewer, less in _cuts(packs, case):
            if still(fewer, less):
                packs, case, found = fewer, less, True
                break
    return packs, case


def _cuts(packs: Packs, case: Case) -> Iterator[tuple[Packs, Case]]:
    for place, pack in enumerate(packs):
        yield packs[:place] + packs[place + 1 :], case
        for number, rule in enumerate(pack["rules"]):
            rules = pack["rules"][:number] + pack["rules"][number + 1 :]
            yield _with_rules(packs, place, rules), case
            for less in _less_of_rule(rule):
                yield _with_rules(packs, place, [*pack["rules"][:number], less, *pack["rules"][number + 1 :]]), case
    for less in _less_of(case, _KEPT):
        yield packs, less


def _with_rules(packs: list[dict[str, Any]], place: int, rules: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [*packs[:place], with_rules(packs[place], rules), *packs[place + 1 :]]


def with_rules(pack: dict[str, Any], rules: list[dict[str, Any]]) -> dict[str, Any]:
    """Return a pack with fewer rules and a coverage that agrees with them: where none is left, none was located."""
    ruled = {activity for rule in rules for activity in rule["activity"]}
    emptied = {each for each, said in pack["coverage"].items() if said in ("rules", "partial")} - ruled
    return pack | {"rules": rules, "coverage": pack["coverage"] | dict.fromkeys(emptied, "none-located")}


def _less_of_rule(rule: dict[str, Any]) -> Iterator[dict[str, Any]]:
    for key in ("in-force", "extendable"):
        if key in rule:
            yield {name: value for name, value in rule.items() if name != key}
    for name in rule.get("when", {}):
        less = deepcopy(rule)
        del less["when"][name]
        yield less if less["when"] else {key: value for key, value in less.items() if key != "when"}


def _less_of(value: Any, kept: tuple[str, ...] = ()) -> Iterator[Any]:
    """Yield `value` with one key or item left out, at any depth."""
    places = [key for key in value if key not in kept] if isinstance(value, dict) else range(len(value))
    for place in places:
        less = deepcopy(value)
        del less[place]
        yield less
        if isinstance(value[place], (dict, list)):
            for part in _less_of(value[place]):
                less = deepcopy(value)
                less[place] = part
                yield less
