"""One rule against one view of the facts, in three values: True, False, and None for unknown."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Any

from tests.reference.facts import NO_SUCH_FACT, Facts, exact
from tests.reference.geometry import band
from tests.reference.tread import counted
from tests.reference.words import BOUNDS, COUNTS, CURED, EVERYWHERE, IMPLIED, PAIRED, SCALES

__all__ = [
    "Rule",
    "Truth",
    "applies",
    "holds",
    "is_ceiling",
    "limits_reach",
    "listed",
    "outcome",
    "reads_group",
    "reads_pairs",
    "taken",
]

Truth = bool | None
Rule = dict[str, Any]


def taken(packs: list[dict[str, Any]], case: dict[str, Any]) -> list[Rule]:
    """Return the rules that the case answers to, each with its `name`, `place`, `evidence` and the facts it `reads`.

    Each condition is a list of tests that must all hold: a rule that follows from two others has the tests of both.
    """
    codes = {part for code in case["jurisdictions"] for part in (code, code.split("-")[0])}
    activities = {case["activity"], IMPLIED.get(case["activity"])}
    rules = []
    for pack in packs:
        if pack["kind"] in EVERYWHERE or pack["pack"] in codes:
            for rule in pack["rules"]:
                if activities & set(rule["activity"]) and _in_force(rule, case["on"]):
                    place = pack["kind"] if pack["kind"] in EVERYWHERE else pack["pack"]
                    evidence = pack["sources"][rule["source"]]["evidence"]
                    named = {"name": f"{pack['pack']}/{rule['id']}", "place": place, "evidence": evidence}
                    tests = {name: [test] for name, test in rule.get("when", {}).items()}
                    rules.append({**rule, **named, "when": tests, "reads": _reads(rule)})
    against = [rule for rule in rules if "contradicts" in rule]
    return rules + [_by_measure(rule, other) for other in against for rule in rules if _bars(rule, other)]


def _bars(rule: Rule, against: Rule) -> bool:
    return against["contradicts"] in rule.get("disqualify", {}).get("findings", ())


def _by_measure(rule: Rule, against: Rule) -> Rule:
    """A rule that bars a finding bars also the measure that contradicts its absence: same act, place, days, source."""
    when = {name: list(tests) for name, tests in rule["when"].items()}
    for name, tests in against["when"].items():
        when.setdefault(name, []).extend(tests)
    kept = {key: value for key, value in rule.items() if key not in ("disqualify", "when")}
    reads = {*when, against["limit"]["fact"]}
    name = f"{rule['name']}-by-{against['id']}"
    return {**kept, "name": name, "when": when, "limit": against["limit"], "reads": reads, "by": against["id"]}


def outcome(rule: Rule, facts: Facts, case: dict[str, Any]) -> str:
    """What a rule says of a view: it `passes`, `fails`, is `irrelevant`, or that is `unknown`."""
    bound, met = applies(rule, facts, case), _passes(rule, facts, case)
    if bound is False:
        return "irrelevant"
    if met is True:
        return "passes"
    # What only contradicts a finding that was not made says that one of the two is wrong, not which.
    return "fails" if bound is True and met is False and "contradicts" not in rule else "unknown"


def applies(rule: Rule, facts: Facts, case: dict[str, Any]) -> Truth:
    """Whether every condition of a rule holds."""
    if any(facts.get(name) is NO_SUCH_FACT for name in rule["reads"]):
        return False
    return _all_of(holds(rule, name, facts.get(name), case) for name in rule["when"])


def holds(rule: Rule, name: str, value: Any, case: dict[str, Any]) -> Truth:
    """Whether the condition that a rule sets on the fact `name` holds of `value` (None where it is unknown)."""
    return _all_of(_test_holds(rule, name, test, value, case) for test in rule["when"][name])


def _test_holds(rule: Rule, name: str, wanted: Any, value: Any, case: dict[str, Any]) -> Truth:
    if name == "findings":
        if isinstance(wanted, dict):
            return _not(_present(rule, listed(wanted["not"]), value, case))
        return _present(rule, listed(wanted), value, case)
    if value is None:
        return None
    if not isinstance(wanted, dict):
        return value in listed(wanted)
    parts = [_meets(name, value, bound, _edge(name, wanted[bound])) for bound in BOUNDS if bound in wanted]
    if "not" in wanted:
        parts.append(value not in listed(wanted["not"]))
    return _all_of(parts)


def reads_group(rule: Rule, group: str) -> bool:
    """Whether a rule reads any fact of a group, such as `injury`."""
    return any(name.startswith(f"{group}.") for name in rule["reads"])


def reads_pairs(rule: Rule) -> set[str]:
    """The facts about two repairs that a rule reads."""
    return set(PAIRED) & set(rule["reads"])


def limits_reach(rule: Rule, group: str) -> bool:
    """Whether a rule draws a band in which an injury, or an earlier repair, must lie."""
    return bool(rule.get("limit", {}).get("fact") == f"{group}.reach")


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
    implied = case["activity"] == "repair" and "repair" not in rule["activity"]
    looked_for = set(wanted) - (CURED if implied else set())
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
    if body["fact"] == "tire.tread_depth" and "limit" in rule:
        return _deep_enough(rule, facts, case)
    if value is None or value is NO_SUCH_FACT:
        return None
    if "permit" in rule:
        return value in body["values"]
    if "prohibit" in rule:
        return value not in body["values"]
    edge = _figure(rule, facts, case)
    return None if edge is None else _meets(body["fact"], value, _bound(rule), edge)


def _bound(rule: Rule) -> str:
    return next(each for each in BOUNDS if each in rule["limit"])


def _deep_enough(rule: Rule, facts: Facts, case: dict[str, Any]) -> Truth:
    """Judge tread by the smallest depth, or by the grooves and places that a law counts before it calls a tire worn.

    The smallest depth says that all are deep enough, but not how many are too shallow.
    """
    bound, edge = _bound(rule), _figure(rule, facts, case)
    least, grid = facts.get("tire.tread_depth"), facts.get("tire.tread_grid")

    def deep(reading: Any) -> Truth:
        return _meets("tire.tread_depth", reading, bound, edge)

    how = {"grooves": "any-one", "places": 1, **rule["limit"].get("counted", {})}
    if "by" in rule or "contradicts" in rule:
        # Indicators stand in the major grooves: read as the tread laws read them, where there is a grid to read.
        by_count = counted(grid, deep, grooves="two-adjacent", places=3) if grid else ()
        return by_count[0] if by_count else least and deep(least)
    if how == {"grooves": "any-one", "places": 1}:
        return least and deep(least)
    if facts.get("tire.tread_stated") is not None and deep(least) is True:
        return True
    by_count = counted(grid, deep, **how) if grid else ()
    return by_count[0] if by_count else None


def _figure(rule: Rule, facts: Facts, case: dict[str, Any]) -> Any:
    """Where a limit lies, from its least to its greatest; None where the measure it follows from is unknown."""
    limit, bound = rule["limit"], _bound(rule)
    stated, fact = limit[bound], limit["fact"]
    if isinstance(stated, dict) and "half-of" in stated:
        datum = facts.get(stated["half-of"])
        rows = stated["share"] if isinstance(stated.get("share"), list) else [{}]
        throughs = [exact(row["through"]) if "through" in row else None for row in rows]
        inset = exact(stated["inset"]) if "inset" in stated else Fraction(0)
        return None if datum is None else band(stated, datum, inset, throughs)
    if fact in COUNTS:
        return _edge(fact, stated)
    if isinstance(stated, dict):
        printed = exact(stated["value"]), exact(stated["also-printed"])
        stricter = min(printed) if is_ceiling(bound) else max(printed)
        own = printed[0] if case.get("reading") == "as-enacted" else stricter
    else:
        own = exact(stated)
    unit = case.get("repair_unit")
    if "extendable" in rule and unit and facts.get("method") == unit["method"]:
        rated = exact(unit["rated_angle"])
        documented = rated > own and (unit.get("document") or "").strip()
        own = max(own, min(rated, exact(rule["extendable"]["up-to"]))) if documented else min(own, rated)
    return own, own


def _edge(name: str, figure: Any) -> Any:
    """The figure of a condition or a count, as an interval; a word of a scale as its step."""
    edge = SCALES[name].index(figure) if name in SCALES else exact(figure) if isinstance(figure, str) else figure
    return Fraction(edge), Fraction(edge)


def _meets(name: str, value: Any, bound: str, edge: Any) -> Truth:
    """Whether a value is within a bound (True) or beyond it (False) wherever both lie in their intervals; else None."""
    low, high = _edge(name, value) if name in SCALES else value
    least, greatest = edge
    inside, beyond = {
        "at-most": (high <= least, low > greatest),
        "less-than": (high < least, low >= greatest),
        "at-least": (low >= greatest, high < least),
        "more-than": (low > greatest, high <= least),
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
