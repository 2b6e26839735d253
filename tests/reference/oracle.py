"""Decides a case by reading every rule on its own, with plain data in and plain data out.

Nothing is intersected, or skipped because a stricter rule decides anyway: that is the library's business, and what is
compared here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from tests.reference.facts import Facts, injuries_of, methods_of, pairs_of, repairs_of, tire_of
from tests.reference.guards import (
    Which,
    class_is_judged,
    finding_is_judged,
    limits_repair,
    limits_size,
    limits_tread,
    one_applies,
)
from tests.reference.rules import Rule, applies, limits_reach, outcome, reads_group, reads_pairs, taken
from tests.reference.words import CURED, FOR_NO_HIGHWAY, JUDGE_REPAIRS, OVERLAYS

__all__ = ["decide"]


def decide(packs: list[dict[str, Any]], case: dict[str, Any]) -> dict[str, Any]:
    """Return the verdict on `case`, the verdict on every method of every injury, and what each rule said.

    `packs` are rule packs as plain YAML data; `case` is a case in its JSON form, which must name its day. In the
    answer, `methods` is a list of ``(injury, method, verdict)`` with injuries counted from 1, empty unless the
    activity is `repair`; `rules` maps each ``pack/rule`` that was read, and each of the library's own guards, to the
    set of its outcomes (`passes`, `fails`, `unknown`, `irrelevant`).
    """
    return _Reading(packs, case).answer()


class _Reading:
    """One case, its rules, and the views that they are judged in."""

    def __init__(self, packs: list[dict[str, Any]], case: dict[str, Any]) -> None:
        self.case = case
        self.rules = taken(packs, case)
        self.coverage = {pack["pack"]: pack["coverage"] for pack in packs}
        self.tire = tire_of(case)
        self.methods, self.pairs = methods_of(case), pairs_of(case, self.tire)
        self.of_method = [rule for rule in self.rules if "method" in rule["reads"]]
        others = [rule for rule in self.rules if "method" not in rule["reads"]]
        self.of_injury = [rule for rule in others if reads_group(rule, "injury")]
        self.of_tire = [rule for rule in others if not reads_group(rule, "injury")]
        #: The rules of a place or of the trade, which alone can end a silence.
        self.located = [rule for rule in self.rules if not _is_overlay(rule)]
        self.repairs = [
            self.in_zone(self.tire, repair, "repair", self.of_tire) for repair in repairs_of(case, self.tire)
        ]
        #: The tire with each injury: by itself, and as it is repaired by each method.
        self.injuries = [
            (
                self.tire | self.in_zone(self.tire, injury, "injury", self.of_injury),
                [
                    self.tire
                    | method
                    | self.in_zone(self.tire | method, injury, "injury", [*self.of_injury, *self.of_method])
                    for method in self.methods
                ],
            )
            for injury in injuries_of(case, self.tire)
        ]
        self.heard: dict[str, set[str]] = {}

    def answer(self) -> dict[str, Any]:
        whole = [*self.judged(self.of_tire, self.tire), *self.findings(), *self.sizes_of_repairs()]
        if self.case["activity"] == "repair":
            by_injury = [list(self.by_method(whole, *views)) for views in self.injuries]
            answers = [(number, *each) for number, pairs in enumerate(by_injury, start=1) for each in pairs]
            verdict = _worst([_best([verdict for _, verdict in pairs]) for pairs in by_injury])
            return {"verdict": verdict, "methods": answers, "rules": self.heard}
        for injury, _ in self.injuries:
            whole += self.judged(self.of_injury, injury)
        whole += self.guards_of_use()
        return {"verdict": _verdict(whole), "methods": [], "rules": self.heard}

    def by_method(self, whole: list[str], injury: Facts, repaired: list[Facts]) -> Iterator[tuple[str, str]]:
        own = whole + self.judged(self.of_injury, injury)
        for facts in repaired:
            pair = self.judged(self.of_method, facts)
            pair += [self.heard_of(rule, view) for rule, _, view in self.as_repaired(facts)]
            instances = (
                (rule, *each)
                for rule in self.located
                for each in self.views(rule, facts if "method" in rule["reads"] else injury)
            )
            size = self.note("size is limited", one_applies(limits_size, instances, self.case))
            yield facts["method"], _verdict([*own, *pair, size])

    # --- views --------------------------------------------------------------------------------------------------------

    def in_zone(self, tire: Facts, item: Facts, group: str, bands: Iterable[Rule]) -> Facts:
        """An injury or earlier repair with the zone that its place proves: inside every band that applies, the crown.

        A band that only a shop draws, or that nobody looked up, may bar a tire and is no proof; nor is any, where the
        measures contradict the zone that was named.
        """
        name, facts = f"{group}.zone", tire | item
        if name in item or item.get(f"{group}.from_centerline") is None:
            return item
        drawn = [rule for rule in bands if limits_reach(rule, group)]
        proving = [rule for rule in drawn if not _is_overlay(rule) and rule["evidence"] != "memory"]
        proven = any(applies(rule, facts, self.case) for rule in proving)
        inside = all(outcome(rule, facts, self.case) in ("passes", "irrelevant") for rule in drawn)
        return {**item, name: "crown"} if proven and inside else item

    def judged(self, rules: Iterable[Rule], facts: Facts) -> list[str]:
        return [self.heard_of(rule, view) for rule in rules for _, view in self.views(rule, facts)]

    def heard_of(self, rule: Rule, view: Facts) -> str:
        said = outcome(rule, view, self.case)
        self.heard.setdefault(rule["name"], set()).add(said)
        return said

    def views(self, rule: Rule, facts: Facts) -> list[tuple[Which, Facts]]:
        """The views of a rule, given the injury and method: one, or one for each earlier repair or pair that it reads.

        What is stated of all repairs together is judged once.
        """
        repairs = list(enumerate(self.repairs)) if reads_group(rule, "repair") else [(0, {})]
        apart = any(facts.get(name) is None for name in reads_pairs(rule))
        pairs = list(enumerate(self.pairs)) if apart else [(0, {})]
        return [((of, two), facts | repair | pair) for of, repair in repairs for two, pair in pairs]

    def as_repaired(self, facts: Facts) -> Iterator[tuple[Rule, Which, Facts]]:
        """Rules on driving with the tire as it leaves: to them, what is repaired now is one more earlier repair."""
        same = {f"repair.{key}": f"injury.{key}" for key in ("diameter", "zone", "from_centerline", "reach")}
        same["repair.method"] = "method"
        done = {now: facts[was] for now, was in same.items() if was in facts}
        for rule in self.of_tire:
            driving = self.case["activity"] == "repair" and "road-use" in rule["activity"]
            if driving and reads_group(rule, "repair"):
                yield rule, (len(self.repairs), 0), self.tire | done

    def instances(self) -> Iterator[tuple[Rule, Which, Facts]]:
        """Every located rule with every view that it is judged in."""
        for rule in self.located:
            by_method = "method" in rule["reads"]
            if reads_group(rule, "injury"):
                facts = [each for injury, repaired in self.injuries for each in (repaired if by_method else [injury])]
            else:
                facts = [self.tire | method for method in self.methods] if by_method else [self.tire]
            for each in facts:
                yield from ((rule, *view) for view in self.views(rule, each))
        for _, repaired in self.injuries:
            for each in repaired:
                yield from (found for found in self.as_repaired(each) if not _is_overlay(found[0]))

    # --- guards -------------------------------------------------------------------------------------------------------

    def findings(self) -> list[str]:
        cured = CURED if self.case["activity"] == "repair" else set()
        recorded = sorted(set(self.case.get("findings") or ()) - cured)
        said = [
            self.note("findings are judged", finding_is_judged(finding, self.instances(), self.case))
            for finding in recorded
        ]
        if (name := self.tire.get("tire.class")) in FOR_NO_HIGHWAY:
            said.append(self.note("the class is judged", class_is_judged(name, self.instances(), self.case)))
        return said

    def sizes_of_repairs(self) -> list[str]:
        """Whether the size of each earlier repair is limited, where the trade judges what a tire carries."""
        if self.case["activity"] not in JUDGE_REPAIRS or self.case.get("earlier_repairs") is None:
            return []
        return [
            self.note("sizes of repairs are limited", one_applies(limits_repair, self.of_repair(number), self.case))
            for number in range(len(self.repairs))
        ]

    def of_repair(self, number: int) -> Iterator[tuple[Rule, Which, Facts]]:
        """Every located rule with every view of one earlier repair."""
        return (each for each in self.instances() if reads_group(each[0], "repair") and each[1][0] == number)

    def guards_of_use(self) -> list[str]:
        """Whether each place's law was read and limits the tread, and no injury is there that needs a repair first."""
        said = [self.note("no injury is open", not self.injuries)]
        for code in self.case["jurisdictions"]:
            speaking = {"baseline", code, code.split("-")[0]}
            instances = (each for each in self.instances() if each[0]["place"] in speaking)
            said.append(self.note("tread is limited", one_applies(limits_tread, instances, self.case)))
            read = self.coverage[code].get(self.case["activity"], "not-reviewed") != "not-reviewed"
            said.append(self.note("law is reviewed", read))
        return said

    def note(self, guard: str, holds: bool) -> str:
        said = "passes" if holds else "unknown"
        self.heard.setdefault(guard, set()).add(said)
        return said


def _is_overlay(rule: Rule) -> bool:
    return rule["place"] in OVERLAYS


def _verdict(outcomes: list[str]) -> str:
    if "fails" in outcomes:
        return "outside-limits"
    return "undetermined" if "unknown" in outcomes else "within-limits"


def _worst(verdicts: list[str]) -> str:
    return next((each for each in ("outside-limits", "undetermined") if each in verdicts), "within-limits")


def _best(verdicts: list[str]) -> str:
    return next((each for each in ("within-limits", "undetermined") if each in verdicts), "outside-limits")
