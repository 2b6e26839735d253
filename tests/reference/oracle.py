"""Decides a case by reading every rule on its own, with plain data in and plain data out.

Nothing is intersected, or skipped because a stricter rule decides anyway: that is the library's business, and what is
compared here.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from tests.reference.facts import injuries_of, methods_of, repairs_of, tire_of
from tests.reference.gaps import (
    law_is_unread,
    open_injury,
    repair_is_unlimited,
    size_is_unlimited,
    tread_is_unlimited,
    unjudged,
)
from tests.reference.hearing import Heard, hear
from tests.reference.pairs import pairs_of
from tests.reference.places import may_prove_zone
from tests.reference.rules import (
    Rule,
    heard_packs,
    is_looked_up,
    is_overlay,
    limits_reach,
    reads_group,
    reads_pairs,
    taken,
)
from tests.reference.views import View
from tests.reference.words import JUDGE_REPAIRS

__all__ = ["Reading", "decide"]


def decide(packs: list[dict[str, Any]], case: dict[str, Any]) -> dict[str, Any]:
    """Return the verdict on `case`, the verdict on every method of every injury, and what each rule said.

    `packs` are rule packs as plain YAML data; `case` is a case in its JSON form, which must name its day. In the
    answer, `methods` is a list of ``(injury, method, verdict)`` with injuries counted from 1, empty unless the
    activity is `repair`; `rules` maps each ``pack/rule`` that was read, and each guard of the library's own
    (``engine/...``), to the set of its outcomes (`passes`, `fails`, `unknown`, `irrelevant`).
    """
    reading = Reading(packs, case)
    methods = [(injury, method, verdict) for (injury, method), verdict in reading.methods.items()]
    return {"verdict": reading.verdict, "methods": methods, "rules": reading.outcomes()}


class Reading:
    """One case, its rules, the views that they are judged in, and what each says.

    `whole` is what is said of the tire, `injuries` of each injury whatever the method, `by_method` of each injury
    (counted from 1) and method.
    """

    def __init__(self, packs: list[dict[str, Any]], case: dict[str, Any]) -> None:
        self.case = case
        self.packs = heard_packs(packs, case)
        self.rules = taken(packs, case)
        self.irrelevant: set[str] = set()
        self.tire = tire_of(case)
        self.pairs = pairs_of(case, self.tire)
        bands = [rule for rule in self.rules if limits_reach(rule, "repair")]
        self.repairs = [
            self._in_zone(repair, "repair", [hear(rule, self.tire | repair, case) for rule in bands])
            for repair in repairs_of(case, self.tire)
        ]
        self.whole = [*self._said(self.tire), *law_is_unread(case, self.packs)]
        self.injuries: list[list[Heard]] = []
        self.by_method: dict[tuple[int, str], list[Heard]] = {}
        for number, injury in enumerate(injuries_of(case, self.tire), start=1):
            self._hear_injury(number, injury)
        self._guard()

    def _hear_injury(self, number: int, injury: View) -> None:
        view = self._in_zone(injury, "injury", self._bands(injury, "injury"))
        own = self._said(view, "injury")
        for method in methods_of(self.case):
            repaired = view | View({"method": method}, {"method": method})
            repaired = self._in_zone(repaired, "injury", self._bands(repaired, "injury", "method"))
            found = [*self._said(repaired, "injury", "method"), *self._said(repaired, "method")]
            found += self._as_repaired(repaired, method)
            found += size_is_unlimited(self.case, repaired, [*own, *found])
            self.by_method[number, method] = found
        if self.case["activity"] != "repair":
            own.append(open_injury(self.case, view))
        self.injuries.append(own)

    def _guard(self) -> None:
        """Add what no rule speaks to, once all rules were heard."""
        everything = self.everything()
        self.whole += unjudged(self.case, everything)
        if self.case["activity"] in JUDGE_REPAIRS and self.case.get("earlier_repairs") is not None:
            for repair in self.repairs:
                self.whole += repair_is_unlimited(self.case, self.tire | repair, everything)
        if self.case["activity"] != "repair":
            self.whole += tread_is_unlimited(self.case, self.tire, everything)

    # --- views --------------------------------------------------------------------------------------------------------

    def _in_zone(self, view: View, group: str, bands: Iterable[Heard | None]) -> View:
        """An injury or earlier repair with the zone that its place proves: inside every band that applies, the crown.

        A band that only a shop draws, or that nobody looked up, may bar a tire and is no proof. Where a band cannot be
        judged yet, what it lacks may be asked in the place of the zone.
        """
        zone = f"{group}.zone"
        if not may_prove_zone(view, group):
            return view
        drawn = [each for each in bands if each is not None]
        if not any(each.applies and _is_proof(each.rule) for each in drawn):
            return view
        if all(each.outcome == "passes" for each in drawn):
            return view | View({zone: "crown"}, {zone: "crown (by measurement)"})
        wanted = [
            fact for each in drawn if each.outcome == "unknown" for fact in sorted(fact for fact, _ in each.needs)
        ]
        return view | View(instead={zone: (zone, *dict.fromkeys(wanted))})

    def _bands(self, view: View, *groups: str) -> list[Heard]:
        return [each for each in self._said(view, *groups) if each.rule and limits_reach(each.rule, "injury")]

    def _views(self, rule: Rule, view: View) -> list[View]:
        """The views of a rule, given the injury and method: one, or one for each earlier repair or pair that it reads.

        What is stated of all repairs together is judged once.
        """
        views = [view | repair for repair in self.repairs] if reads_group(rule, "repair") else [view]
        if any(each.get(name) is None for each in views[:1] for name in reads_pairs(rule)):
            return [each | pair for each in views for pair in self.pairs]
        return views

    def _said(self, view: View, *groups: str) -> list[Heard]:
        """What the rules say that read just these of the groups `injury` and `method`."""
        found = []
        for rule in self.rules:
            if rule["groups"] & {"injury", "method"} == set(groups):
                for each in self._views(rule, view):
                    found += self._heard(rule, each)
        return found

    def _heard(self, rule: Rule, view: View) -> list[Heard]:
        found = hear(rule, view, self.case)
        if found is None:
            self.irrelevant.add(rule["name"])
        return [] if found is None else [found]

    def _as_repaired(self, injury: View, method: str) -> list[Heard]:
        """What rules on driving with the tire say: to them, what is repaired now is one more earlier repair."""
        same = {f"repair.{key}": f"injury.{key}" for key in ("diameter", "zone", "reach")}
        done = View(
            {now: injury.known[was] for now, was in same.items() if was in injury.known} | {"repair.method": method},
            {now: injury.shown[was] for now, was in same.items() if was in injury.shown} | {"repair.method": method},
            {"repair": f"the repair of {injury.labels['injury']}", "injury": injury.labels["injury"]},
            {now: injury.instead.get(was, (was,)) for now, was in same.items()},
        )
        found = []
        for rule in self.rules:
            alone = rule["groups"] & {"repair", "injury", "method"} == {"repair"}
            if "road-use" in rule["activity"] and alone:
                found += self._heard(rule, self.tire | done)
        return found

    # --- what follows -------------------------------------------------------------------------------------------------

    @property
    def common(self) -> list[Heard]:
        """What is said that no method changes."""
        return [*self.whole, *(each for own in self.injuries for each in own)]

    def everything(self) -> list[Heard]:
        """What is said at all."""
        return [*self.common, *(each for found in self.by_method.values() for each in found)]

    @property
    def methods(self) -> dict[tuple[int, str], str]:
        """The verdict on each injury by each method."""
        return {
            (injury, method): _verdict([*self.whole, *self.injuries[injury - 1], *found])
            for (injury, method), found in self.by_method.items()
        }

    @property
    def verdict(self) -> str:
        """Every rule that no method changes must pass, and each injury needs a method all of whose rules pass."""
        by_injury: dict[int, list[str]] = {}
        for (injury, _), verdict in self.methods.items():
            by_injury.setdefault(injury, []).append(verdict)
        return _worst([_verdict(self.common), *(_best(verdicts) for verdicts in by_injury.values())])

    @property
    def leading(self) -> str | None:
        """The method that does best, by the injury that it does worst for; of equals the one named first."""
        worst: dict[str, str] = {}
        for (_, method), verdict in self.methods.items():
            worst[method] = _worst([worst.get(method, "within-limits"), verdict])
        best = _best(list(worst.values()))
        return next((method for method, verdict in worst.items() if verdict == best), None)

    @property
    def answers(self) -> list[Heard]:
        """What is said of the tire, of every injury, and of repairing each by the leading method."""
        return [
            *self.common,
            *(each for (_, by), found in self.by_method.items() if by == self.leading for each in found),
        ]

    def outcomes(self) -> dict[str, set[str]]:
        """The outcomes of every rule that was read, and of every guard that left the answer open."""
        found: dict[str, set[str]] = {name: {"irrelevant"} for name in self.irrelevant}
        for each in self.everything():
            found.setdefault(each.name, set()).add(each.outcome)
        return found


def _is_proof(rule: Rule | None) -> bool:
    return rule is not None and not is_overlay(rule) and is_looked_up(rule)


def _verdict(said: Iterable[Heard]) -> str:
    outcomes = {each.outcome for each in said}
    if "fails" in outcomes:
        return "outside-limits"
    return "undetermined" if "unknown" in outcomes else "within-limits"


def _worst(verdicts: list[str]) -> str:
    return next((each for each in ("outside-limits", "undetermined") if each in verdicts), "within-limits")


def _best(verdicts: list[str]) -> str:
    return next((each for each in ("within-limits", "undetermined") if each in verdicts), "outside-limits")
