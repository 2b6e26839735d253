"""What the rules of some packs read, so that cases can be drawn that matter to them."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from random import Random
from typing import Any

from tests.reference.words import (
    ACTIVITIES,
    BOUNDS,
    COUNTS,
    DOMAINS,
    EVERYWHERE,
    IMPLIED,
    JUDGED_METHODS,
    QUANTITIES,
    UNITS,
)

__all__ = ["Target", "exact", "targets"]


@dataclass
class Target:
    """What the rules that a case will meet read: enough to draw values that matter to them."""

    codes: tuple[str, ...]
    activity: str
    figures: dict[str, set[Fraction]] = field(default_factory=lambda: defaultdict(set))
    ceilings: dict[str, set[Fraction]] = field(default_factory=lambda: defaultdict(set))
    floors: dict[str, set[Fraction]] = field(default_factory=lambda: defaultdict(set))
    refused: dict[str, set[Any]] = field(default_factory=lambda: defaultdict(set))
    named: set[str] = field(default_factory=set)
    findings: set[str] = field(default_factory=set)
    extended: set[str] = field(default_factory=set)
    #: The bands that rules draw on `injury.reach` and `repair.reach`: lengths, or shares of a width of the tire.
    bands: dict[str, list[Any]] = field(default_factory=lambda: defaultdict(list))
    days: set[date] = field(default_factory=set)

    def add(self, rule: dict[str, Any]) -> None:
        """Note what `rule` reads and what it would refuse."""
        for name, test in rule.get("when", {}).items():
            self.named.add(name)
            if name == "findings":
                stated = test["not"] if isinstance(test, dict) else test
                self.findings |= set(stated if isinstance(stated, list) else [stated])
            if isinstance(test, dict) and (name in QUANTITIES or name in COUNTS):
                self.figures[name] |= {exact(test[bound]) for bound in BOUNDS if bound in test}
        for kind in ("limit", "permit", "prohibit"):
            if kind in rule:
                self._add_body(kind, rule[kind])
        if "disqualify" in rule:
            self.named.add("findings")
            self.findings |= set(rule["disqualify"]["findings"])
            self.refused["findings"] |= set(rule["disqualify"]["findings"])
        if "extendable" in rule:
            method = rule.get("when", {}).get("method")
            self.extended |= {method} & set(JUDGED_METHODS) if isinstance(method, str) else set()
            self.figures["injury.angle"].add(exact(rule["extendable"]["up-to"]))
        self._add_what_follows()
        days = {str(day) for day in rule.get("in-force", {}).values()} - {"unknown"}
        self.days |= {date.fromisoformat(day) for day in days}

    def _add_body(self, kind: str, body: dict[str, Any]) -> None:
        name = body["fact"]
        self.named.add(name)
        if kind == "permit":
            self.refused[name] |= set(DOMAINS[name]) - set(body["values"])
        elif kind == "prohibit":
            self.refused[name] |= set(body["values"])
        for bound in set(BOUNDS) & set(body):
            stated = body[bound]
            if name.endswith(".reach"):
                self._add_band(name, stated)
                continue  # no case states it: its places are drawn instead
            printed = {exact(each) for each in (stated.values() if isinstance(stated, dict) else [stated])}
            self.figures[name] |= printed
            (self.ceilings if bound in ("at-most", "less-than") else self.floors)[name] |= printed

    def _add_band(self, name: str, stated: Any) -> None:
        self.bands[name].append(stated)
        self.named |= {"tire.thickness", "tire.tread_width"}
        if "half-of" in stated:
            self.named.add(stated["half-of"])
            steps = stated["share"] if isinstance(stated.get("share"), list) else []
            self.figures[stated["half-of"]] |= {exact(step["through"]) for step in steps if "through" in step}

    def _add_what_follows(self) -> None:
        """Note what the facts that follow from others follow from."""
        if "vehicle.commercial_motor_vehicle" in self.named:
            self.named |= {"vehicle.use", "vehicle.kind", "vehicle.gvwr", "vehicle.seats"}
            self.figures["vehicle.gvwr"].add(exact("10001 lb"))
            self.figures["vehicle.seats"] |= {Fraction(8), Fraction(9)}
        if "tire.regrooved" in self.named:
            self.named |= {"findings", "tire.class"}


def exact(stated: str | int) -> Fraction:
    """Read a figure of a pack in its base unit."""
    if isinstance(stated, int):
        return Fraction(stated)
    number, _, unit = stated.rpartition(" ")
    return sum(map(Fraction, number.split()), Fraction(0)) * UNITS[unit]


def targets(rng: Random, packs: list[dict[str, Any]], count: int) -> list[Target]:
    """Draw `count` questions (places and an activity) that the packs have rules for, or fall silent on."""
    places = {pack["pack"]: pack["coverage"] for pack in packs if pack["kind"] not in EVERYWHERE}
    drawn = []
    for _ in range(count):
        codes = tuple(rng.sample(sorted(places), min(len(places), rng.choice((1, 1, 1, 2)))))
        # Where nobody has read the law, little can be asked that is not open: mostly ask about what was read.
        read = [
            activity
            for activity in ACTIVITIES
            if all(places[code].get(activity, "not-reviewed") != "not-reviewed" for code in codes)
        ]
        activity = rng.choice((*["repair"] * 12, *ACTIVITIES, *read * 2))
        target = Target(codes, activity)
        answering = {part for code in codes for part in (code, code[:2])}
        for pack in packs:
            if pack["kind"] in EVERYWHERE or pack["pack"] in answering:
                for rule in pack["rules"]:
                    if {activity, IMPLIED.get(activity)} & set(rule["activity"]):
                        target.add(rule)
        drawn.append(target)
    return drawn
