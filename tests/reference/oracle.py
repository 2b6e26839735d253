"""Decides a case by reading every rule on its own, with plain data in and plain data out.

Nothing is intersected, or skipped because a stricter rule decides anyway: that is the library's business, and what is
compared here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from tests.reference.facts import Facts, injuries_of, methods_of, repairs_of, tire_of
from tests.reference.guards import finding_is_judged, limits_size, limits_tread, one_applies
from tests.reference.rules import Rule, outcome, reads_group, taken
from tests.reference.words import CURED, OVERLAYS

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
        self.rules = list(taken(packs, case))
        self.coverage = {pack["pack"]: pack["coverage"] for pack in packs}
        self.tire = tire_of(case)
        self.injuries, self.repairs, self.methods = injuries_of(case), repairs_of(case), methods_of(case)
        self.of_method = [rule for rule in self.rules if "method" in rule["reads"]]
        others = [rule for rule in self.rules if "method" not in rule["reads"]]
        self.of_injury = [rule for rule in others if reads_group(rule, "injury")]
        self.of_tire = [rule for rule in others if not reads_group(rule, "injury")]
        #: The rules of a place or of the trade, which alone can end a silence.
        self.located = [rule for rule in self.rules if rule["place"] not in OVERLAYS]
        self.heard: dict[str, set[str]] = {}

    def answer(self) -> dict[str, Any]:
        whole = [*self.judged(self.of_tire, self.tire), *self.findings()]
        if self.case["activity"] == "repair":
            by_injury = [list(self.by_method(whole, injury)) for injury in self.injuries]
            answers = [(number, *each) for number, pairs in enumerate(by_injury, start=1) for each in pairs]
            verdict = _worst([_best([verdict for _, verdict in pairs]) for pairs in by_injury])
            return {"verdict": verdict, "methods": answers, "rules": self.heard}
        for injury in self.injuries:
            whole += self.judged(self.of_injury, self.tire | injury)
        whole += self.guards_of_use()
        return {"verdict": _verdict(whole), "methods": [], "rules": self.heard}

    def by_method(self, whole: list[str], injury: Facts) -> Iterator[tuple[str, str]]:
        own = whole + self.judged(self.of_injury, self.tire | injury)
        for method in self.methods:
            facts = self.tire | injury | method
            pair = self.judged(self.of_method, facts)
            pair += [self.heard_of(rule, view) for rule, _, view in self.as_repaired(facts)]
            instances = ((rule, *each) for rule in self.located for each in self.views(rule, facts))
            size = self.note("size is limited", one_applies(limits_size, instances, self.case))
            yield method["method"], _verdict([*own, *pair, size])

    # --- views --------------------------------------------------------------------------------------------------------

    def judged(self, rules: Iterable[Rule], facts: Facts) -> list[str]:
        return [self.heard_of(rule, view) for rule in rules for _, view in self.views(rule, facts)]

    def heard_of(self, rule: Rule, view: Facts) -> str:
        said = outcome(rule, view, self.case)
        self.heard.setdefault(rule["name"], set()).add(said)
        return said

    def views(self, rule: Rule, facts: Facts) -> list[tuple[int, Facts]]:
        """The views of a rule, given the injury and method: one, or one for each earlier repair if it reads those."""
        if not reads_group(rule, "repair"):
            return [(0, facts)]
        return [(number, facts | repair) for number, repair in enumerate(self.repairs)]

    def as_repaired(self, facts: Facts) -> Iterator[tuple[Rule, int, Facts]]:
        """Rules on driving with the tire as it leaves: to them, what is repaired now is one more earlier repair."""
        same = {"repair.diameter": "injury.diameter", "repair.zone": "injury.zone", "repair.method": "method"}
        done = {now: facts[was] for now, was in same.items() if was in facts}
        for rule in self.of_tire:
            driving = self.case["activity"] == "repair" and "road-use" in rule["activity"]
            if driving and reads_group(rule, "repair"):
                yield rule, len(self.repairs), self.tire | done

    def instances(self, injuries: list[Facts]) -> Iterator[tuple[Rule, int, Facts]]:
        """Every located rule with every view that it is judged in, for the given injuries."""
        for rule in self.located:
            for injury in injuries if reads_group(rule, "injury") else [{}]:
                for method in self.methods if "method" in rule["reads"] else [{}]:
                    yield from ((rule, *each) for each in self.views(rule, self.tire | injury | method))
        for injury in injuries:
            for method in self.methods:
                for rule, number, view in self.as_repaired(self.tire | injury | method):
                    if rule["place"] not in OVERLAYS:
                        yield rule, number, view

    # --- guards -------------------------------------------------------------------------------------------------------

    def findings(self) -> list[str]:
        cured = CURED if self.case["activity"] == "repair" else set()
        recorded = sorted(self.tire.get("findings", set()) - cured)
        return [
            self.note("findings are judged", finding_is_judged(finding, self.instances(self.injuries), self.case))
            for finding in recorded
        ]

    def guards_of_use(self) -> list[str]:
        """Whether each place's law was read and limits the tread, and no injury is there that needs a repair first."""
        said = [self.note("no injury is open", not self.injuries)]
        for code in self.case["jurisdictions"]:
            speaking = {"baseline", code, code.split("-")[0]}
            instances = (each for each in self.instances(self.injuries) if each[0]["place"] in speaking)
            said.append(self.note("tread is limited", one_applies(limits_tread, instances, self.case)))
            read = self.coverage[code].get(self.case["activity"], "not-reviewed") != "not-reviewed"
            said.append(self.note("law is reviewed", read))
        return said

    def note(self, guard: str, holds: bool) -> str:
        said = "passes" if holds else "unknown"
        self.heard.setdefault(guard, set()).add(said)
        return said


def _verdict(outcomes: list[str]) -> str:
    if "fails" in outcomes:
        return "outside-limits"
    return "undetermined" if "unknown" in outcomes else "within-limits"


def _worst(verdicts: list[str]) -> str:
    return next((each for each in ("outside-limits", "undetermined") if each in verdicts), "within-limits")


def _best(verdicts: list[str]) -> str:
    return next((each for each in ("within-limits", "undetermined") if each in verdicts), "outside-limits")
