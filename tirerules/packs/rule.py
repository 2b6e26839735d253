"""A rule as a value: what it limits, for which activity, under which conditions, since when, and who says so.

Rules are immutable and complete: nothing is looked up later. Everything a rule holds was checked when it was built.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from functools import cached_property
from types import MappingProxyType
from typing import Final

from tirerules.packs.contradicting import combined, name_of
from tirerules.quantities import Quantity
from tirerules.strictest.bounds import (
    Ceiling,
    Constraint,
    Floor,
    Interval,
    Permitted,
    Prohibited,
    Strictest,
    Value,
    opposite,
)
from tirerules.vocabulary import LAW, PAIRED, Activity

__all__ = [
    "READINGS",
    "RELATIONS",
    "WORN",
    "Body",
    "Condition",
    "Counted",
    "Disqualify",
    "Limit",
    "Permit",
    "Prohibit",
    "Relative",
    "Require",
    "Rule",
    "Source",
    "with_combined",
]

#: How a limit printed in two units is read: the stricter of both, or the first as enacted.
READINGS: Final = ("strict", "as-enacted")

#: How a limit compares: (is a ceiling, includes the value itself).
RELATIONS: Final[Mapping[str, tuple[bool, bool]]] = MappingProxyType(
    {
        "at-most": (True, True),
        "less-than": (True, False),
        "at-least": (False, True),
        "more-than": (False, False),
    }
)


@dataclass(frozen=True, slots=True)
class Source:
    """Where a rule comes from, and how that was checked."""

    id: str
    citation: str
    authority: str
    evidence: str
    url: str = ""
    read: date | None = None
    confirmed: bool = True  #: whether the text is known to be still in force
    note: str = ""

    @property
    def law(self) -> bool:
        """Whether nobody but a lawmaker may loosen what it says."""
        return self.authority in LAW


@dataclass(frozen=True, slots=True)
class Condition:
    """A test of one fact; a rule applies where all its conditions hold.

    INVARIANT: `negated` is used for findings alone, where "any of these is present" is "not none of these".
    """

    fact: str
    test: Strictest
    text: str
    negated: bool = False

    def holds(self, value: Value | None) -> bool | None:
        """Whether the condition holds for `value`; None where that cannot be told."""
        if value is None:
            return None
        answer = self.test.admits(value)
        return opposite(answer) if self.negated else answer


@dataclass(frozen=True, slots=True)
class Counted:
    """How a law counts tread readings: the tire is worn where these grooves are all too shallow at so many places."""

    grooves: str = "any-one"
    places: int = 1

    def __str__(self) -> str:
        if self == Counted():
            return ""
        grooves = {
            "any-one": "any one groove",
            "any-two": "any two grooves",
            "two-adjacent": "two adjacent grooves",
            "center": "the groove nearest the center",
            "every": "every groove",
        }[self.grooves]
        return f"in {grooves} at {self.places} place{'s' * (self.places > 1)}"


#: How a grid shows that a tire is worn to its indicators, as most laws count their contact with the road; of a grid
#: that is too small for that, and of a smallest reading alone, that reading counts.
WORN: Final = Counted("two-adjacent", 3)


@dataclass(frozen=True, slots=True)
class Relative:
    """A length that follows from the tire at hand: half of a share of one of its measures, less an inset.

    `shares` steps with the measure: the first whose `through` is not below it counts; the last has none. The half is
    what lies on one side of the center line, so that a band of the central three quarters is ``half of 3/4``.
    """

    of: str
    shares: tuple[tuple[Quantity | None, Fraction], ...]
    inset: Quantity | None
    text: str

    def __str__(self) -> str:
        return self.text

    def range(self, datum: Interval) -> Interval:
        """Return the least and the greatest length that `datum` can give, in mm."""
        steps = [through.exact for through, _ in self.shares if through is not None]
        # A step is discontinuous: what lies just above it is judged by the next share at the same measure.
        inside = [step for step in steps if datum.low <= step < datum.high]
        lengths = [self._at(point) for point in (datum.low, datum.high, *inside)]
        lengths += [self._at(step, above=True) for step in inside]
        return Interval(max(min(lengths), Fraction(0)), max(*lengths, Fraction(0)))

    def _at(self, datum: Fraction, *, above: bool = False) -> Fraction:
        share = next(
            share
            for through, share in self.shares
            if through is None or (datum < through.exact if above else datum <= through.exact)
        )
        return datum * share / 2 - (self.inset.exact if self.inset else 0)


@dataclass(frozen=True, slots=True)
class Limit:
    """A ceiling or a floor on a fact, as enacted and, where the source prints a second unit, as also printed.

    `counted` matters for tread depth alone, which a case may give as a grid of readings.
    """

    fact: str
    relation: str
    value: Quantity | int | Relative
    also: Quantity | None = None
    counted: Counted = Counted()
    indicators: bool = False  #: the height of wear indicators, which a grid of readings reaches as `WORN` counts

    @property
    def ceiling(self) -> bool:
        """Whether it is a ceiling; else it is a floor."""
        return RELATIONS[self.relation][0]

    def chosen(self, reading: str) -> Quantity | int | None:
        """Return the figure that binds: the stricter of the two, or the first under ``as-enacted``.

        None for a relative limit, whose figure follows from the tire.
        """
        if isinstance(self.value, Relative):
            return None
        if self.also is None or reading == "as-enacted" or not isinstance(self.value, Quantity):
            return self.value
        return min(self.value, self.also) if self.ceiling else max(self.value, self.also)

    def bound(self, exact: Fraction) -> Ceiling | Floor:
        """Return the limit as a bound at the exact number `exact`."""
        ceiling, inclusive = RELATIONS[self.relation]
        return Ceiling(exact, inclusive) if ceiling else Floor(exact, inclusive)


@dataclass(frozen=True, slots=True)
class Permit:
    """No value of the fact but these."""

    fact: str
    values: tuple[str, ...]

    def constraint(self) -> Constraint:
        """Return the permitted words."""
        return Permitted(frozenset(self.values))


@dataclass(frozen=True, slots=True)
class Prohibit:
    """None of these values of the fact."""

    fact: str
    values: tuple[str, ...]

    def constraint(self) -> Constraint:
        """Return the prohibited words."""
        return Prohibited(frozenset(self.values))


@dataclass(frozen=True, slots=True)
class Disqualify:
    """A tire on which the inspection found any of these is out."""

    values: tuple[str, ...]
    fact: str = "findings"

    def constraint(self) -> Constraint:
        """Return the disqualifying findings."""
        return Prohibited(frozenset(self.values))


@dataclass(frozen=True, slots=True)
class Require:
    """What must be done if the answer is to hold; it changes no verdict, it goes with it."""

    steps: tuple[str, ...]


Body = Limit | Permit | Prohibit | Disqualify | Require


@dataclass(frozen=True)
class Rule:
    """One rule of one pack."""

    id: str
    pack: str
    says: str
    activities: frozenset[Activity]
    conditions: tuple[Condition, ...]
    body: Body
    source: Source
    start: date | None = None  #: first day in force; None where the source gives none
    end: date | None = None  #: first day no longer in force
    up_to: Quantity | None = None  #: how far the maker of the repair material may extend the limit
    note: str = ""
    contradicts: str = ""  #: a finding: a tire that misses the limit contradicts an inspection that did not record it
    overlay: bool = False  #: from a caller's pack, which can tighten and never settles what law and trade leave open

    @property
    def name(self) -> str:
        """The rule's name everywhere outside its pack: ``pack/rule-id``."""
        return f"{self.pack}/{self.id}"

    @cached_property
    def groups(self) -> frozenset[str]:
        """The groups of facts it reads: what it must be judged for one by one (injury, repair, method)."""
        facts = {condition.fact for condition in self.conditions}
        if not isinstance(self.body, Require):
            facts.add(self.body.fact)
        return frozenset(
            "pair" if fact in PAIRED else fact if fact == "method" else fact.partition(".")[0] for fact in facts
        )

    def in_force(self, on: date) -> bool:
        """Whether the rule binds on the day `on`; a rule with no known start does, which is the stricter reading."""
        return (self.start is None or self.start <= on) and (self.end is None or on < self.end)


def with_combined(rules: Sequence[Rule]) -> tuple[Rule, ...]:
    """Return `rules` with those that follow from two of them (see `tirerules.packs.contradicting`)."""
    return (*rules, *combined(rules, lambda rule: rule.contradicts, _barred, _both))


def _barred(rule: Rule) -> tuple[str, ...]:
    return rule.body.values if isinstance(rule.body, Disqualify) else ()


def _both(bar: Rule, claim: Rule) -> Rule:
    conditions = (*bar.conditions, *claim.conditions)
    return replace(bar, id=name_of(bar.id, claim.id), conditions=conditions, body=claim.body)
