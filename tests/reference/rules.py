"""One rule against one view of the facts, in three values: True, False, and None for unknown."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import Any

from tests.reference.facts import NO_SUCH_FACT, Facts, exact
from tests.reference.words import BOUNDS, COUNTS, CURED, EVERYWHERE, IMPLIED, SCALES

__all__ = [
    "Rule",
    "Truth",
    "applies",
    "holds",
    "is_ceiling",
    "listed",
    "only_implied",
    "outcome",
    "reads_group",
    "taken",
]

Truth = bool | None
Rule = dict[str, Any]


def taken(packs: list[dict[str, Any]], case: dict[str, Any]) -> Iterator[Rule]:
    """Yield the rules that the case answers to, each with its `name`, `place`, `evidence` and the facts it `reads`."""
    codes = {part for code in case["jurisdictions"] for part in (code, code.split("-")[0])}
    activities = {case["activity"], IMPLIED.get(case["activity"])}
    for pack in packs:
        if pack["kind"] in EVERYWHERE or pack["pack"] in codes:
            for rule in pack["rules"]:
                if activities & set(rule["activity"]) and _in_force(rule, case["on"]):
                    place = pack["kind"] if pack["kind"] in EVERYWHERE else pack["pack"]
                    evidence = pack["sources"][rule["source"]]["evidence"]
                    named = {"name": f"{pack['pack']}/{rule['id']}", "place": place, "evidence": evidence}
                    yield {**rule, **named, "reads": _reads(rule)}


def outcome(rule: Rule, facts: Facts, case: dict[str, Any]) -> str:
    """What a rule says of a view: it `passes`, `fails`, is `irrelevant`, or that is `unknown`."""
    bound, met = applies(rule, facts, case), _passes(rule, facts, case)
    if bound is False:
        return "irrelevant"
    if met is True:
        return "passes"
    return "fails" if bound is True and met is False else "unknown"


def applies(rule: Rule, facts: Facts, case: dict[str, Any]) -> Truth:
    """Whether every condition of a rule holds."""
    if any(facts.get(name) is NO_SUCH_FACT for name in rule["reads"]):
        return False
    return _all_of(holds(rule, name, facts.get(name), case) for name in rule.get("when", {}))


def holds(rule: Rule, name: str, value: Any, case: dict[str, Any]) -> Truth:
    """Whether the condition that a rule sets on the fact `name` holds of `value` (None where it is unknown)."""
    wanted = rule["when"][name]
    if name == "findings":
        if isinstance(wanted, dict):
            return _not(_present(rule, listed(wanted["not"]), value, case))
        return _present(rule, listed(wanted), value, case)
    if value is None:
        return None
    if not isinstance(wanted, dict):
        return value in listed(wanted)
    parts = [_meets(name, value, bound, wanted[bound]) for bound in BOUNDS if bound in wanted]
    if "not" in wanted:
        parts.append(value not in listed(wanted["not"]))
    return _all_of(parts)


def reads_group(rule: Rule, group: str) -> bool:
    """Whether a rule reads any fact of a group, such as `injury`."""
    return any(name.startswith(f"{group}.") for name in rule["reads"])


def only_implied(rule: Rule, case: dict[str, Any]) -> bool:
    """Whether a repair answers to a rule only because the repaired tire will be driven."""
    return case["activity"] == "repair" and "repair" not in rule["activity"]


def is_ceiling(bound: str) -> bool:
    """Whether a bound is one from above."""
    return bound in ("at-most", "less-than")


def listed(values: Any) -> list[Any]:
    """One value or a list of them, as a list."""
    return values if isinstance(values, list) else [values]


def _in_force(rule: Rule, on: str) -> bool:
    days = rule.get("in-force", {})
    first, last = str(days.get("from", "unknown")), str(days.get("until", "9999-99-99"))
    return (first == "unknown" or first <= on) and on < last


def _reads(rule: Rule) -> set[str]:
    bodies = [rule[body]["fact"] for body in ("limit", "permit", "prohibit") if body in rule]
    return {*rule.get("when", {}), *bodies, *(["findings"] if "disqualify" in rule else [])}


def _present(rule: Rule, wanted: list[str], found: set[str] | None, case: dict[str, Any]) -> Truth:
    """Whether any of the `wanted` findings is there; those that a repair removes are not, for a rule on the road."""
    looked_for = set(wanted) - (CURED if only_implied(rule, case) else set())
    if not looked_for:
        return False
    return None if found is None else bool(looked_for & found)


def _passes(rule: Rule, facts: Facts, case: dict[str, Any]) -> Truth:
    """Whether the body of a rule is satisfied."""
    if "require" in rule:
        return True
    if "disqualify" in rule:
        return _not(_present(rule, rule["disqualify"]["findings"], facts.get("findings"), case))
    body = next(rule[each] for each in ("limit", "permit", "prohibit") if each in rule)
    value = facts.get(body["fact"])
    if body["fact"] == "injury.reach" and value is not NO_SUCH_FACT:
        raise NotImplementedError("the oracle knows no geometry: do not state injury.from_centerline")
    if value is None or value is NO_SUCH_FACT:
        return None
    if "permit" in rule:
        return value in body["values"]
    if "prohibit" in rule:
        return value not in body["values"]
    (bound,) = (each for each in BOUNDS if each in body)
    met = _meets(body["fact"], value, bound, _figure(rule, bound, facts, case))
    # The smallest reading anywhere says that all are deep enough, but not how many are too shallow.
    return None if met is False and _counts_several(body) else met


def _counts_several(body: dict[str, Any]) -> bool:
    counted = body.get("counted", {})
    return bool(counted.get("grooves", "any-one") != "any-one" or counted.get("places", 1) > 1)


def _figure(rule: Rule, bound: str, facts: Facts, case: dict[str, Any]) -> Any:
    """The figure of a limit, as it is read, and as far as the repair unit at hand moves it."""
    stated, fact = rule["limit"][bound], rule["limit"]["fact"]
    if fact in COUNTS:
        return stated
    if isinstance(stated, dict):
        printed = exact(stated["value"]), exact(stated["also-printed"])
        stricter = min(printed) if is_ceiling(bound) else max(printed)
        own = printed[0] if case.get("reading") == "as-enacted" else stricter
    else:
        own = exact(stated)
    unit = case.get("repair_unit")
    if "extendable" not in rule or not unit or facts.get("method") != unit["method"]:
        return own
    rated = exact(unit["rated_angle"])
    if rated > own and (unit.get("document") or "").strip():
        return max(own, min(rated, exact(rule["extendable"]["up-to"])))
    return min(own, rated)


def _meets(name: str, value: Any, bound: str, figure: Any) -> Truth:
    """Whether the whole of a value lies within a bound (True), the whole of it beyond (False), or neither (None)."""
    edge: Any
    if name in SCALES:
        low = high = SCALES[name].index(value)
        edge = SCALES[name].index(figure)
    else:
        low, high = value
        edge = exact(figure) if isinstance(figure, str) else Fraction(figure)
    inside, beyond = {
        "at-most": (high <= edge, low > edge),
        "less-than": (high < edge, low >= edge),
        "at-least": (low >= edge, high < edge),
        "more-than": (low > edge, high <= edge),
    }[bound]
    return True if inside else False if beyond else None


def _all_of(truths: Iterable[Truth]) -> Truth:
    """Kleene's conjunction: False beats unknown, unknown beats True."""
    found = list(truths)
    if False in found:
        return False
    return None if None in found else True


def _not(truth: Truth) -> Truth:
    return None if truth is None else not truth
