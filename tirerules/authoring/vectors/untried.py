"""What a set of vectors does not show: a rule that none of them makes fail, or none makes pass, and why."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from tirerules.authoring.vectors.answers import Answer
from tirerules.authoring.vectors.planning import rules_of
from tirerules.deciding.decision import Outcome
from tirerules.packs.rule import READINGS, Condition, Disqualify, Limit, Permit, Prohibit, Require, Rule
from tirerules.quantities import Quantity
from tirerules.rulebook import Rulebook
from tirerules.strictest.bounds import Ceiling, Constraint, Floor, Interval, KnownValue, Strictest
from tirerules.vocabulary import FACTS, Activity, Dimension, answering

__all__ = ["Untried", "shown_by", "untried"]

#: More repairs than any rule counts.
_MANY: Final = 100
#: No measure is less than nothing, and no angle from straight through reaches a right one.
_MEASURES: Final = Strictest(floor=Floor.of(0, True))
_ANGLES: Final = Strictest(floor=Floor.of(0, True), ceiling=Ceiling.of(90, False))


@dataclass(frozen=True, slots=True)
class Untried:
    """A rule that no vector shows to pass, or to fail, or either. `why` is empty where one could show it."""

    rule: str
    outcomes: tuple[Outcome, ...]
    why: str

    def __str__(self) -> str:
        never = " or ".join(self.outcomes)
        return f"{self.rule} never {never} here: {self.why or 'no case was found that shows it'}"


def shown_by(found: Answer) -> Iterator[tuple[str, Outcome]]:
    """Yield which rules an answer shows to pass, and which to fail."""
    yield from ((rule, Outcome.PASSES) for rule in found.passing)
    yield from ((rule, Outcome.FAILS) for rule in found.failing)


def untried(rulebook: Rulebook, codes: Sequence[str], shown: Collection[tuple[str, Outcome]]) -> Iterator[Untried]:
    """Yield what is not `shown` of the rules that the vectors for `codes` were made for."""
    for _, rule in rules_of(rulebook, codes):
        missing = tuple(each for each in (Outcome.PASSES, Outcome.FAILS) if (rule.name, each) not in shown)
        if missing:
            yield Untried(rule.name, missing, _never(rule, missing))


def _never(rule: Rule, outcomes: tuple[Outcome, ...]) -> str:
    """Return why a rule can never pass where it applies, or never fail; empty where it can."""
    if isinstance(rule.body, Require):
        return "it requires something to be done, and changes no verdict"
    if "method" in rule.groups and not rule.activities & set(answering(Activity.REPAIR)):
        return "a method is judged for repairs alone, and it regulates none"
    if rule.contradicts:
        return "it only contradicts a finding: what misses it stays open, and it never surely applies"
    always = _always(rule, rule.body)
    if outcomes == (Outcome.PASSES,) and always is False:
        return "whatever meets its conditions violates it"
    if outcomes == (Outcome.FAILS,) and always is True:
        return "whatever meets its conditions satisfies it"
    return ""


def _always(rule: Rule, body: Limit | Permit | Prohibit | Disqualify) -> bool | None:
    """Whether the body admits every value that the rule's own conditions on its fact leave, or (False) none of them."""
    tests = [condition for condition in rule.conditions if condition.fact == body.fact]
    if isinstance(body, Disqualify):
        return _always_found(body, tests)
    test = Strictest()
    for condition in tests:
        test = test.meet(condition.test)
    dimension = FACTS[body.fact].dimension
    if isinstance(body, Limit) and dimension is not None:
        return _always_measured(body, test.meet(_ANGLES if dimension is Dimension.ANGLE else _MEASURES))
    values: list[KnownValue] = [frozenset({word}) for word in FACTS[body.fact].values]
    if isinstance(body, Limit):
        # A repair makes one, and a rule that reads an earlier repair is judged where there is one.
        least = (rule.activities == {Activity.REPAIR}) + ("repair" in rule.groups)
        values = [Interval(Fraction(number), Fraction(number)) for number in range(least, _MANY)]
    left = [value for value in values if test.admits(value)]
    good = [value for value in left if Strictest.of(_demand(body)).admits(value)]
    return None if good and good != left else bool(good)


def _demand(body: Limit | Permit | Prohibit) -> Constraint:
    if isinstance(body, Limit):
        assert isinstance(body.value, int)  # INVARIANT: only counts are asked for here
        return body.bound(Fraction(body.value))
    return body.constraint()


def _always_found(body: Disqualify, tests: Sequence[Condition]) -> bool | None:
    excluded = {word for each in tests if not each.negated for word in each.test.prohibited}
    if excluded >= set(body.values):
        return True
    return False if any(each.negated and each.test.prohibited <= set(body.values) for each in tests) else None


def _always_measured(body: Limit, test: Strictest) -> bool | None:
    figure = body.chosen(READINGS[0])
    if not isinstance(figure, Quantity):
        return None
    bound = Strictest.of(body.bound(figure.exact))
    if test.meet(bound).empty:
        return False
    return True if test.within(bound) else None
