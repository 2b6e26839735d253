"""The rules that a case answers to, and whether one applies, in three values: True, False, and None for unknown."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Any

from tests.reference.measures import exact
from tests.reference.views import NO_SUCH_FACT, View
from tests.reference.words import BOUNDS, CURED, EVERYWHERE, IMPLIED, OVERLAYS, PAIRED, SCALES

__all__ = [
    "Rule",
    "Truth",
    "all_of",
    "applies",
    "edge",
    "heard_packs",
    "holds",
    "is_ceiling",
    "is_implied",
    "is_looked_up",
    "is_overlay",
    "limits_reach",
    "listed",
    "meets",
    "negation",
    "present",
    "reads_group",
    "reads_pairs",
    "taken",
]

Truth = bool | None
Rule = dict[str, Any]


def heard_packs(packs: list[dict[str, Any]], case: dict[str, Any]) -> list[dict[str, Any]]:
    """The packs that a case answers to, by name: those of its places and their countries, and those of everywhere."""
    codes = {part for code in case["jurisdictions"] for part in (code, code.split("-")[0])}
    heard = [pack for pack in packs if pack["kind"] in EVERYWHERE or pack["pack"] in codes]
    return sorted(heard, key=lambda pack: str(pack["pack"]))


def taken(packs: list[dict[str, Any]], case: dict[str, Any], *, on_any_day: bool = False) -> list[Rule]:
    """Return the rules that the case answers to, by name.

    Each has its `name`, `place`, `source`, the facts it `reads` and their `groups`. `tests` are its conditions as they
    are written, `when` the same by fact: a rule that follows from two others has the conditions of both.
    """
    activities = {case["activity"], IMPLIED.get(case["activity"])}
    rules = [
        _read(pack, rule)
        for pack in heard_packs(packs, case)
        for rule in pack["rules"]
        if activities & set(rule["activity"]) and (on_any_day or _in_force(rule, case["on"]))
    ]
    against = [rule for rule in rules if "contradicts" in rule]
    rules += [_by_measure(rule, other) for other in against for rule in rules if _bars(rule, other)]
    return sorted(rules, key=lambda rule: str(rule["name"]))


def _read(pack: dict[str, Any], rule: dict[str, Any]) -> Rule:
    place = pack["kind"] if pack["kind"] in EVERYWHERE else pack["pack"]
    when = rule.get("when", {})
    return {
        **rule,
        "name": f"{pack['pack']}/{rule['id']}",
        "pack": pack["pack"],
        "place": place,
        "source": pack["sources"][rule["source"]],
        "tests": list(when.items()),
        "when": {name: [test] for name, test in when.items()},
        **_reads({*when, *_bodies(rule)}),
    }


def _bodies(rule: Rule) -> list[str]:
    bodies = [rule[body]["fact"] for body in ("limit", "permit", "prohibit") if body in rule]
    return [*bodies, *(["findings"] if "disqualify" in rule else [])]


def _reads(facts: set[str]) -> Rule:
    return {"reads": facts, "groups": {fact.partition(".")[0] for fact in facts}}


def _bars(rule: Rule, against: Rule) -> bool:
    return against["contradicts"] in rule.get("disqualify", {}).get("findings", ())


def _by_measure(rule: Rule, against: Rule) -> Rule:
    """A rule that bars a finding bars also the measure that contradicts its absence: same act, place, days, source."""
    when = {name: list(tests) for name, tests in rule["when"].items()}
    for name, tests in against["when"].items():
        when.setdefault(name, []).extend(tests)
    return {
        **{key: value for key, value in rule.items() if key != "disqualify"},
        "name": f"{rule['name']}-by-{against['id']}",
        "tests": [*rule["tests"], *against["tests"]],
        "when": when,
        "limit": against["limit"],
        **_reads({*when, against["limit"]["fact"]}),
        "by": against["id"],
    }


def _in_force(rule: Rule, on: str) -> bool:
    days = rule.get("in-force", {})
    first, last = str(days.get("from", "unknown")), str(days.get("until", "9999-99-99"))
    return (first == "unknown" or first <= on) and on < last


# --- what a rule is ---------------------------------------------------------------------------------------------------


def reads_group(rule: Rule, group: str) -> bool:
    """Whether a rule reads any fact of a group, such as `injury`, or the fact of that name."""
    return group in rule["groups"]


def reads_pairs(rule: Rule) -> set[str]:
    """The facts about two repairs that a rule reads."""
    return set(PAIRED) & set(rule["reads"])


def limits_reach(rule: Rule, group: str) -> bool:
    """Whether a rule draws a band in which an injury, or an earlier repair, must lie."""
    return bool(rule.get("limit", {}).get("fact") == f"{group}.reach")


def is_overlay(rule: Rule) -> bool:
    """Whether a shop or a maker of units asks it: that may tighten, and settles nothing."""
    return rule["place"] in OVERLAYS


def is_looked_up(rule: Rule) -> bool:
    """Whether somebody looked the figure up: one that is only remembered may bar a tire, but never let it pass."""
    return bool(rule["source"]["evidence"] != "memory")


def is_implied(rule: Rule, case: dict[str, Any]) -> bool:
    """Whether a repair answers to the rule only for what it leads to."""
    return case["activity"] == "repair" and "repair" not in rule["activity"]


def is_ceiling(bound: str) -> bool:
    """Whether a bound is one from above."""
    return bound in ("at-most", "less-than")


def listed(values: Any) -> list[Any]:
    """One value or a list of them, as a list."""
    return values if isinstance(values, list) else [values]


# --- conditions -------------------------------------------------------------------------------------------------------


def applies(rule: Rule, view: View, case: dict[str, Any]) -> Truth:
    """Whether every condition of a rule holds."""
    if any(view.get(name) is NO_SUCH_FACT for name in rule["reads"]):
        return False
    return all_of(holds(rule, name, view.get(name), case) for name in rule["when"])


def holds(rule: Rule, name: str, value: Any, case: dict[str, Any]) -> Truth:
    """Whether what a rule asks of the fact `name` holds of `value`: None is unknown, and what is not there does not."""
    if value is NO_SUCH_FACT:
        return False
    return all_of(_test_holds(rule, name, test, value, case) for test in rule["when"][name])


def _test_holds(rule: Rule, name: str, wanted: Any, value: Any, case: dict[str, Any]) -> Truth:
    if name == "findings":
        if isinstance(wanted, dict):
            return negation(present(rule, listed(wanted["not"]), value, case))
        return present(rule, listed(wanted), value, case)
    if value is None:
        return None
    if not isinstance(wanted, dict):
        return value in listed(wanted)
    parts = [meets(name, value, bound, edge(name, wanted[bound])) for bound in BOUNDS if bound in wanted]
    if "not" in wanted:
        parts.append(value not in listed(wanted["not"]))
    return all_of(parts)


def present(rule: Rule, wanted: list[str], found: set[str] | None, case: dict[str, Any]) -> Truth:
    """Whether any of the `wanted` findings is there; those that a repair removes are not, for a rule on the road."""
    looked_for = set(wanted) - (CURED if is_implied(rule, case) else set())
    if not looked_for:
        return False
    return None if found is None else bool(looked_for & found)


def edge(name: str, figure: Any) -> tuple[Fraction, Fraction]:
    """The figure of a condition or a count, as an interval; a word of a scale as its step."""
    exactly = SCALES[name].index(figure) if name in SCALES else exact(figure) if isinstance(figure, str) else figure
    return Fraction(exactly), Fraction(exactly)


def meets(name: str, value: Any, bound: str, limit: Any) -> Truth:
    """Whether a value is within a bound (True) or beyond it (False) wherever both lie in their intervals; else None."""
    low, high = edge(name, value) if name in SCALES else value
    least, greatest = limit
    inside, beyond = {
        "at-most": (high <= least, low > greatest),
        "less-than": (high < least, low >= greatest),
        "at-least": (low >= greatest, high < least),
        "more-than": (low > greatest, high <= least),
    }[bound]
    return True if inside else False if beyond else None


def all_of(truths: Iterable[Truth]) -> Truth:
    """Kleene's conjunction: False beats unknown, unknown beats True."""
    found = list(truths)
    if False in found:
        return False
    return None if None in found else True


def negation(truth: Truth) -> Truth:
    """Kleene's negation."""
    return None if truth is None else not truth
