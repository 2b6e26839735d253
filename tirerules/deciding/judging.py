"""All rules against a case: every answer, arranged by what it concerns."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from tirerules.case import Case
from tirerules.deciding.facts import injury_views, pair_views, repair_views, tire_view
from tirerules.deciding.gaps import (
    Gap,
    open_injury,
    unjudged_findings,
    unlimited_repair,
    unlimited_size,
    unlimited_tread,
)
from tirerules.deciding.judgment import Judgment, judge
from tirerules.deciding.view import View
from tirerules.packs.rule import Limit, Require, Rule
from tirerules.vocabulary import JUDGES_REPAIRS, PAIRED, REPAIR_METHODS, Activity, answering

__all__ = ["Answer", "Judged", "judge_case", "limits_reach"]

Answer = Judgment | Gap


@dataclass(frozen=True, slots=True)
class Judged:
    """Every answer to a case, arranged by what it concerns."""

    tire: tuple[Answer, ...]
    injuries: tuple[tuple[Answer, ...], ...]
    methods: Mapping[tuple[int, str], tuple[Answer, ...]]  #: (injury, method) -> answers; empty unless repairing

    def together(self, injury: int, method: str) -> tuple[Answer, ...]:
        """Return every answer that bears on repairing one injury by one method."""
        return (*self.tire, *self.injuries[injury], *self.methods[injury, method])

    @property
    def common(self) -> tuple[Answer, ...]:
        """Every answer that no method changes."""
        return (*self.tire, *itertools.chain.from_iterable(self.injuries))


def judge_case(case: Case, rules: Sequence[Rule], gaps: Sequence[Gap] = ()) -> Judged:
    """Judge `case` by `rules`, which are those in force for its places, its day and its activities.

    `gaps` are what is known beforehand to be unsettled for the tire as a whole.
    """
    repairing = case.activity == Activity.REPAIR
    if not repairing and case.injuries is None and case.findings is not None:
        # An inspection that is recorded without injuries found none; what is to be repaired must always be said.
        case = replace(case, injuries=())
    tire = tire_view(case)
    judging = _Judge(case, rules, tire)
    whole: tuple[Answer, ...] = (*judging.by(tire), *gaps)
    views = [judging.located(view, "injury") for view in injury_views(case, tire)]
    by_injury: list[tuple[Answer, ...]] = [judging.by(view, "injury") for view in views]
    by_method: dict[tuple[int, str], tuple[Answer, ...]] = {}
    methods = ((case.method,) if case.method else REPAIR_METHODS) if repairing else ()
    for (number, injury), method in itertools.product(enumerate(views), methods):
        view = judging.located(injury.with_method(method), "injury", "method")
        # A rule on the method alone is judged here too: it decides this method, whatever the injury. And what the
        # repair leads to (road use) is judged on the tire as repaired.
        found = (
            *judging.by(view, "injury", "method"),
            *judging.by(view, "method"),
            *judging.once_repaired(tire, view, method),
        )
        by_method[number, method] = (*found, *unlimited_size(view, (*by_injury[number], *found), case.jurisdictions))
    everything = [*whole, *itertools.chain(*by_injury), *itertools.chain(*by_method.values())]
    whole += unjudged_findings(case, everything)
    if case.activity in JUDGES_REPAIRS and case.earlier_repairs is not None:
        for repair in judging.repairs:
            whole += unlimited_repair(tire.joined(repair), everything, case.jurisdictions)
    if not repairing:
        whole += unlimited_tread(tire, everything, case.jurisdictions)
        unrecorded = case.injuries is None
        by_injury = [(*found, open_injury(view, unrecorded)) for view, found in zip(views, by_injury, strict=True)]
    return Judged(whole, tuple(by_injury), by_method)


class _Judge:
    """Judges the views of one case by one set of rules."""

    def __init__(self, case: Case, rules: Sequence[Rule], tire: View) -> None:
        self.case = case
        self.rules = rules
        self.repairs = tuple(self._located_repair(each, tire) for each in repair_views(case, tire))
        self.pairs = pair_views(case, tire)

    def by(self, view: View, *groups: str) -> tuple[Judgment, ...]:
        """Judge by the rules that read exactly these groups; those on repairs or pairs once for each of them."""
        return tuple(
            judgment
            for rule in self.rules
            if rule.groups & {"injury", "method"} == set(groups)
            for each in self._each(rule, view)
            if (judgment := judge(rule, each, self.case)) is not None
        )

    def _each(self, rule: Rule, view: View) -> list[View]:
        views = [view]
        if "repair" in rule.groups:
            views = [each.joined(repair) for each in views for repair in self.repairs]
        if "pair" in rule.groups and not self._stated(rule, view):
            views = [each.joined(pair) for each in views for pair in self.pairs]
        return views

    @staticmethod
    def _stated(rule: Rule, view: View) -> bool:
        """Whether the tire as a whole answers all that the rule asks of pairs."""
        facts = [condition.fact for condition in rule.conditions]
        facts += [] if isinstance(rule.body, Require) else [rule.body.fact]
        return all(view.get(fact) is not None for fact in facts if fact in PAIRED)

    def located(self, view: View, *groups: str) -> View:
        """Return `view` with the zone that measurements prove: inside every band that applies, it is the crown.

        Where a band cannot be judged yet, what it lacks may be asked in place of the zone.
        """
        if not view.zone_unnamed("injury.zone") or view.channel is None:
            return view
        bands = [each for each in self.by(view, *groups) if limits_reach(each.rule)]
        return view.joined(_proved("injury.zone", bands))

    def _located_repair(self, repair: View, tire: View) -> View:
        """Return the view of an earlier repair with the zone that measurements prove, as of an injury."""
        if not repair.zone_unnamed("repair.zone") or repair.interval("repair.reach") is None:
            return repair
        bands = [rule for rule in self.rules if isinstance(rule.body, Limit) and rule.body.fact == "repair.reach"]
        judged = [judge(rule, tire.joined(repair), self.case) for rule in bands]
        return repair.joined(_proved("repair.zone", [each for each in judged if each is not None]))

    def once_repaired(self, tire: View, injury: View, method: str) -> tuple[Judgment, ...]:
        """Judge the new repair by the rules on what it leads to, as they judge repairs that a tire already carries."""
        view = tire.joined(injury.as_repair(method)).joined(View(subjects=injury.subjects))
        leads_to = set(answering(Activity(self.case.activity))[1:])
        implied = (rule for rule in self.rules if rule.activities & leads_to)
        on_repairs = (rule for rule in implied if rule.groups & {"repair", "injury", "method"} == {"repair"})
        return tuple(found for rule in on_repairs if (found := judge(rule, view, self.case)) is not None)


def _proved(zone: str, bands: Sequence[Judgment]) -> View:
    """Return what bands prove of a zone: inside all that apply it is the crown; else what to ask in its place.

    A band that only a shop draws, or that is known from memory, can bar a tire and proves nothing.
    """
    if not any(band.applies for band in bands if not band.rule.overlay and band.rule.source.evidence != "memory"):
        return View()
    if all(band.outcome for band in bands):
        return View({zone: frozenset({"crown"})}, {zone: "crown (by measurement)"})
    wanted = [fact for band in bands if band.outcome is None for fact in sorted(fact for fact, _ in band.needs)]
    return View(missing={zone: (zone, *dict.fromkeys(wanted))})


def limits_reach(rule: Rule) -> bool:
    """Whether a rule draws a band in which an injury must lie."""
    return isinstance(rule.body, Limit) and rule.body.fact == "injury.reach"
