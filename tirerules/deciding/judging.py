"""One rule against one subject, and all rules against a case.

Three-valued throughout: a rule whose conditions are not known to hold *may* apply. A case passes a rule for certain
when the rule does not apply or its body is satisfied wherever the measurements lie; it fails for certain when the rule
applies and its body is violated wherever they lie. Anything else is unknown, with the facts that could settle it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from tirerules.case import Case, RepairUnit
from tirerules.deciding.facts import ABSENT, View, tire_view, views_of
from tirerules.deciding.tread import counted_depth
from tirerules.packs.rule import RELATIONS, Condition, Counted, Disqualify, Limit, Require, Rule
from tirerules.quantities import Quantity
from tirerules.strictest.bounds import Ceiling, Constraint, Floor, Interval, Prohibited, Strictest, Value, all_of
from tirerules.vocabulary import CURED_BY_REPAIR, FACTS, REPAIR_METHODS, Activity, Kind

__all__ = ["Answer", "Gap", "Judged", "Judgment", "Need", "judge_case"]

#: A fact that could settle something, and which injury or earlier repair it is asked of.
Need = tuple[str, str]

#: Beyond this many combinations of unknown words, a gap in the rules is not looked for: it is taken to exist.
_MOST_COMBINATIONS: Final = 20_000


@dataclass(frozen=True, slots=True)
class Judgment:
    """What one rule says of one subject. Only rules that apply or may apply leave one."""

    rule: Rule
    view: View
    applies: bool | None
    outcome: bool | None  #: True passes, False fails, None unknown
    needs: frozenset[Need]
    asks_first: Need | None = None  #: of the needs, the one that the body limits
    chosen: Quantity | int | None = None  #: the figure that binds, for a limit
    extended: bool = False  #: whether the figure rests on the documented rating of a repair unit

    @property
    def subject(self) -> str:
        """Which injury or earlier repair it speaks of; empty for the tire as a whole."""
        facts = [condition.fact for condition in self.rule.conditions]
        return self.view.subject_of([*facts, "" if isinstance(self.rule.body, Require) else self.rule.body.fact])

    def constraint(self, reading: str) -> Constraint:
        """Return the body as a constraint, with any extension in it. Not for a requirement."""
        assert not isinstance(self.rule.body, Require)  # INVARIANT: callers ask limits only
        return _constraint(self.rule, reading, self.chosen)


@dataclass(frozen=True, slots=True)
class Gap:
    """Something that no rule speaks to, so that silence cannot count as permission."""

    name: str
    fact: str
    says: str
    subject: str = ""
    needs: frozenset[Need] = frozenset()
    measured: str = ""

    @property
    def outcome(self) -> None:
        """A gap is always unknown."""
        return

    @property
    def asks_first(self) -> None:
        """A gap prefers no question."""
        return


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


def judge_case(case: Case, rules: Sequence[Rule]) -> Judged:
    """Judge `case` by `rules`, which are those in force for its places, its day and its activities."""
    repairing = case.activity == Activity.REPAIR
    tire = tire_view(case)
    # An inspection that is recorded without injuries found none; what is to be repaired must always be said.
    inspected = not repairing and case.injuries is None and case.findings is not None
    injuries = views_of(() if inspected else case.injuries, "injury")
    repairs = views_of(case.earlier_repairs, "repair")
    methods = ((case.method,) if case.method else REPAIR_METHODS) if repairing else ()

    def of(view: View, *groups: str) -> tuple[Judgment, ...]:
        """Judge by the rules that read exactly these groups; those on earlier repairs once for each repair."""
        with_repairs = [view.joined(repair) for repair in repairs]
        return tuple(
            judgment
            for rule in rules
            if rule.groups & {"injury", "method"} == set(groups)
            for each in (with_repairs if "repair" in rule.groups else [view])
            if (judgment := _judge(rule, each, case)) is not None
        )

    by_injury: list[tuple[Answer, ...]] = [of(tire.joined(injury), "injury") for injury in injuries]
    by_method: dict[tuple[int, str], tuple[Answer, ...]] = {}
    for (number, injury), method in itertools.product(enumerate(injuries), methods):
        view = tire.joined(injury).with_method(method)
        # A rule on the method alone is judged here too: it decides this method, whatever the injury. And what the
        # repair leads to (road use) is judged on the tire as repaired.
        found = (*of(view, "injury", "method"), *of(view, "method"), *_once_repaired(tire, injury, method, rules, case))
        by_method[number, method] = (*found, *_unlimited(view, (*by_injury[number], *found), "injury.diameter"))
    whole: tuple[Answer, ...] = of(tire)
    everything = [*whole, *itertools.chain(*by_injury), *itertools.chain(*by_method.values())]
    whole += _unjudged_findings(case, everything)
    if not repairing:
        whole += _unlimited(tire, everything, "tire.tread_depth")
        by_injury = [(*found, *_unjudged_injury(view, found)) for view, found in zip(injuries, by_injury, strict=True)]
    return Judged(whole, tuple(by_injury), by_method)


def _once_repaired(tire: View, injury: View, method: str, rules: Iterable[Rule], case: Case) -> tuple[Judgment, ...]:
    """Judge the new repair by the rules that a repair only implies, as they judge earlier repairs."""
    view = tire.joined(injury.as_repair(method))
    return tuple(
        judgment
        for rule in rules
        if "repair" in rule.groups and not rule.groups & {"injury", "method"} and not _own(rule, case)
        if (judgment := _judge(rule, view, case)) is not None
    )


def _own(rule: Rule, case: Case) -> bool:
    """Whether the rule regulates the activity itself, not only one that it implies."""
    return case.activity in rule.activities


def _judge(rule: Rule, view: View, case: Case) -> Judgment | None:
    implied = case.activity == Activity.REPAIR and not _own(rule, case)
    if implied:
        view = view.after_repair()
    held = [(condition, _holds(condition, view)) for condition in rule.conditions]
    applies = all_of(answer for _, answer in held)
    body = rule.body
    if applies is False or (not isinstance(body, Require) and view.get(body.fact) is ABSENT):
        return None
    if isinstance(body, Require):
        return Judgment(rule, view, applies, True, frozenset())
    chosen, extended = _figure(rule, view, case.reading, case.repair_unit)
    constraint = _constraint(rule, case.reading, chosen)
    satisfied = _satisfied(constraint, view.get(body.fact), implied)
    needed = body.fact
    if isinstance(body, Limit) and body.counted != Counted():
        satisfied, needed = _satisfied_as_counted(constraint, view, body.counted)
    if satisfied is True:
        return Judgment(rule, view, applies, True, frozenset(), None, chosen, extended)
    if satisfied is False and applies is True:
        return Judgment(rule, view, applies, False, frozenset(), None, chosen, extended)
    unknown = {condition.fact for condition, answer in held if answer is None}
    first = _need(needed, view) if satisfied is None else None
    needs = frozenset(_need(fact, view) for fact in unknown) | ({first} if first else set())
    return Judgment(rule, view, applies, None, needs, first, chosen, extended)


def _holds(condition: Condition, view: View) -> bool | None:
    value = view.get(condition.fact)
    return False if value is ABSENT else condition.holds(value)  # type: ignore[arg-type]  # ABSENT is the only other


def _satisfied(constraint: Constraint, value: object, implied: bool) -> bool | None:
    if implied and isinstance(constraint, Prohibited):
        # The repair itself removes these: they bar driving as the tire is, not repairing it.
        constraint = Prohibited(constraint.words - CURED_BY_REPAIR)
    if isinstance(constraint, Prohibited) and not constraint.words:
        return True
    return None if value is None else Strictest.of(constraint).admits(value)  # type: ignore[arg-type]  # see _judge


def _satisfied_as_counted(constraint: Constraint, view: View, counted: Counted) -> tuple[bool | None, str]:
    """Judge tread depth as a law counts it; also return the fact that could settle it where that is unknown.

    The smallest reading alone can show that a tire passes, never that it fails such a law.
    """
    strictest = Strictest.of(constraint)
    smallest = view.get("tire.tread_depth")
    if isinstance(smallest, Interval) and view.grid is None and strictest.admits(smallest) is True:
        return True, "tire.tread_depth"
    depth = None if view.grid is None else counted_depth(view.grid, counted)
    if depth is None:
        return None, "tire.tread_depth" if smallest is None else "tire.tread_grid"
    return strictest.admits(depth), "tire.tread_grid"


def _constraint(rule: Rule, reading: str, chosen: Quantity | int | None) -> Constraint:
    body = rule.body
    assert not isinstance(body, Require)  # INVARIANT: a requirement limits nothing
    constraint = body.constraint(reading)
    if isinstance(constraint, (Ceiling, Floor)) and isinstance(chosen, Quantity):
        return type(constraint)(chosen.exact, constraint.inclusive)
    return constraint


def _figure(rule: Rule, view: View, reading: str, unit: RepairUnit | None) -> tuple[Quantity | int | None, bool]:
    """Return the figure that binds, and whether the rating of the unit at hand extends it.

    A rating below the limit tightens it, documented or not; one above it counts only with its document, and only up to
    the rule's cap.
    """
    body = rule.body
    if not isinstance(body, Limit):
        return None, False
    chosen = body.chosen(reading)
    if rule.up_to is None or unit is None or view.get("method") != frozenset({unit.method}):
        return chosen, False
    assert isinstance(chosen, Quantity)  # INVARIANT: only angles are extendable
    if unit.rated_angle <= chosen:
        return unit.rated_angle, False
    extended = min(unit.rated_angle, rule.up_to)
    return (extended, True) if unit.documented and extended > chosen else (chosen, False)


def _need(fact: str, view: View) -> Need:
    """Return what to ask for `fact`: the list that would hold it, where that is not recorded at all."""
    group = fact.partition(".")[0]
    if group in ("repair", "repairs") and group in view.unrecorded:
        return ("earlier_repairs", "")
    return (fact, view.subject_of([fact]))


# --- what no rule speaks to -------------------------------------------------------------------------------------------


#: What every case must be limited on before it can pass, and what to say where nothing limits it.
_ESSENTIAL: Final[Mapping[str, str]] = MappingProxyType(
    {
        "injury.diameter": "No limit on the injury's size was located for this tire and method; ask the tire's maker.",
        "tire.tread_depth": "No limit on tread depth was located for this tire, place and activity.",
    }
)


def _unlimited(view: View, answers: Iterable[Answer], fact: str) -> tuple[Gap, ...]:
    """Say so where no limit on `fact` surely applies: "no limit" is never a reason to let a case pass."""
    limits = [answer for answer in answers if isinstance(answer, Judgment) and _limits(answer.rule, fact)]
    if any(judgment.applies for judgment in limits) or _cover_every_answer([each.rule for each in limits], view):
        return ()
    unknown = {
        condition.fact
        for judgment in limits
        for condition in judgment.rule.conditions
        if _holds(condition, view) is None
    }
    needs = frozenset(_need(each, view) for each in unknown)
    return (Gap("engine/limit-located", fact, _ESSENTIAL[fact], view.subject_of([fact]), needs),)


def _limits(rule: Rule, fact: str) -> bool:
    """Whether `rule` guards `fact`: a ceiling on size; a floor on tread, or wear indicators in a figure's place."""
    body = rule.body
    if isinstance(body, Disqualify):
        return fact == "tire.tread_depth" and "worn-to-indicators" in body.values
    ceiling = fact == "injury.diameter"
    return isinstance(body, Limit) and body.fact == fact and RELATIONS[body.relation][0] is ceiling


def _cover_every_answer(rules: Sequence[Rule], view: View) -> bool:
    """Whether at least one of `rules` applies whatever the unknown facts turn out to be."""
    unknown = sorted({each.fact for rule in rules for each in rule.conditions if _holds(each, view) is None})
    facts = [FACTS[name] for name in unknown]
    countable = all(fact.choosable for fact in facts)
    if not rules or not countable or math.prod(len(fact.values) for fact in facts) > _MOST_COMBINATIONS:
        return False
    for words in itertools.product(*(fact.values for fact in facts)):
        supposed: dict[str, Value] = {name: frozenset({word}) for name, word in zip(unknown, words, strict=True)}
        guess = view.joined(View(supposed, {}))
        if not any(all_of(_holds(each, guess) for each in rule.conditions) for rule in rules):
            return False
    return True


def _unjudged_findings(case: Case, answers: Iterable[Answer]) -> tuple[Gap, ...]:
    """Say so where a recorded finding meets no rule: it is then a matter for a trained person, not a pass.

    A rule judges a finding by disqualifying it, or by applying because of it.
    """
    found = set(case.findings or ())
    if case.activity == Activity.REPAIR:
        found -= CURED_BY_REPAIR
    for answer in answers:
        if not isinstance(answer, Judgment):
            continue
        if isinstance(answer.rule.body, Disqualify):
            found -= set(answer.rule.body.values)
        for condition in answer.rule.conditions:
            if FACTS[condition.fact].kind is Kind.SET and condition.negated:
                found -= condition.test.prohibited
    says = "No located rule says what follows from the finding {!r}; a trained person must decide."
    return tuple(
        Gap("engine/finding-judged", "findings", says.format(finding), measured=finding) for finding in sorted(found)
    )


def _unjudged_injury(view: View, answers: Iterable[Answer]) -> tuple[Gap, ...]:
    """Say so where a tire is to be used or sold with an injury that is not being repaired and no rule speaks of it."""
    if any(isinstance(answer, Judgment) and answer.applies for answer in answers):
        return ()
    if "injury" in view.unrecorded:
        says = "It is not recorded whether the tire was inspected for injuries."
        return (Gap("engine/injury-judged", "injuries", says, needs=frozenset({("findings", "")})),)
    says = "No located rule lets a tire pass with an injury that is still to be repaired; decide it as a repair."
    return (Gap("engine/injury-judged", "injuries", says, view.subject_of(["injury."])),)
