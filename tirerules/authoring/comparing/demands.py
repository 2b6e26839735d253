"""What a pack's rules demand of one thing in one cell: the kernel's strictest limit, in every way it can be read.

Each topic is one element of the kernel's algebra, or several where a case can ask for it in several ways: a figure
printed in two units has two readings, a repair unit's rating can move an angle, tread is counted in different ways. A
demand is as strict as another if it is so in each of these.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from tirerules.authoring.comparing.axes import Known
from tirerules.authoring.comparing.topics import Clause, Sort, Topic
from tirerules.packs.rule import READINGS, Counted, Limit, Relative
from tirerules.quantities import Quantity
from tirerules.strictest.bounds import TOP, Ceiling, Floor, Interval, KnownValue, Strictest
from tirerules.vocabulary import FACTS, GROOVES, Kind

__all__ = ["Bound", "Demand", "Demands", "Line", "Scenario", "as_strict", "own_steps", "scenarios", "steps_of"]


# --- scenarios: in how many ways a limit can be asked for -------------------------------------------------------------


@dataclass(frozen=True, slots=True, order=True)
class Line:
    """A length that follows from a measure of the tire: `slope` times it, and `height` (mm); never below nothing."""

    slope: Fraction
    height: Fraction

    def at(self, datum: Fraction) -> Fraction:
        """Return the length for one measure."""
        return max(self.slope * datum + self.height, Fraction(0))


#: The strictest way to count tread: one reading anywhere.
_ANY: Final = Counted()


@dataclass(frozen=True, slots=True)
class Scenario:
    """One way in which a case can ask for a limit."""

    reading: str = READINGS[0]
    rating: str = ""  #: the unit at hand has no say, is rated ``low`` (0 degrees), or ``high`` with its document
    counted: Counted = _ANY


#: Which grooves, all too shallow, imply that these are: a floor on the depth counted so is a floor on the others.
_STRICTER_GROOVES: Final[Mapping[str, frozenset[str]]] = {
    "any-one": frozenset(GROOVES),
    "any-two": frozenset({"any-two", "two-adjacent", "every"}),
    "two-adjacent": frozenset({"two-adjacent", "every"}),
    "center": frozenset({"center", "every"}),
    "every": frozenset({"every"}),
}


def as_strict(one: Counted, other: Counted) -> bool:
    """Whether the depth counted as `one` is never more than that counted as `other`, whatever the readings."""
    return other.grooves in _STRICTER_GROOVES[one.grooves] and one.places <= other.places


def scenarios(clauses: Iterable[Clause]) -> tuple[Scenario, ...]:
    """Return every way in which the limits of `clauses`, which are all on one topic, can be asked for."""
    limits = [clause for clause in clauses if isinstance(clause.body, Limit)]
    if not limits:
        return (Scenario(),)
    ratings = ("", "low", "high") if any(clause.up_to for clause in limits) else ("",)
    counted = {clause.body.counted for clause in limits if isinstance(clause.body, Limit)}
    ways = sorted(counted, key=lambda each: (GROOVES.index(each.grooves), each.places))
    return tuple(Scenario(*each) for each in itertools.product(READINGS, ratings, ways))


@dataclass(frozen=True, slots=True)
class Bound:
    """What one limit comes to in one scenario and cell."""

    strictest: Strictest
    identity: tuple[Line, bool]  #: the line it follows, and whether the line itself is within


#: What nothing satisfies. INVARIANT: it is only met with itself, or with no limit.
_NEVER: Final = Bound(Strictest(permitted=frozenset()), (Line(Fraction(0), Fraction(0)), False))


def _bound(clause: Clause, scenario: Scenario, known: Known) -> Bound | None:
    """Return what a limit comes to; None where it says nothing.

    Where the cell already says what the limited fact is, because some condition tests it, a limit only tells whether
    that is allowed: "where it is below 2 mm, at least 2 mm" and "below 2 mm, at least 3 mm" are one prohibition.
    """
    figure = _figure(clause, scenario, known)
    if figure is None:
        return None
    limit, line = figure
    own = known.get(clause.body.fact) if isinstance(clause.body, Limit) else None
    if isinstance(own, Interval):
        if limit.admits(own):
            return None  # however tread is counted, no count is below the smallest reading
        if scenario.counted == _ANY:
            return _NEVER
    return Bound(Strictest.of(limit), (line, limit.inclusive))


def _figure(clause: Clause, scenario: Scenario, known: Known) -> tuple[Ceiling | Floor, Line] | None:
    body = clause.body
    if not isinstance(body, Limit) or not as_strict(body.counted, scenario.counted):
        return None
    if isinstance(body.value, Relative):
        datum = known[body.value.of]
        assert isinstance(datum, Interval)  # INVARIANT: `steps_of` made an axis for it, on which a cell is one number
        line = _line_at(body.value, datum.low)
        return body.bound(line.at(datum.low)), line
    chosen = body.chosen(scenario.reading)
    exact = chosen.exact if isinstance(chosen, Quantity) else Fraction(chosen or 0)
    if clause.up_to is not None and scenario.rating:
        # As the engine: a lower rating tightens, a higher one extends up to the cap.
        exact = Fraction(0) if scenario.rating == "low" else max(exact, clause.up_to.exact)
    found = body.bound(exact)
    if FACTS[body.fact].kind is Kind.COUNT and not found.inclusive:
        # Less than 3 repairs are at most 2.
        found = Ceiling.of(exact - 1, True) if body.ceiling else Floor.of(exact + 1, True)
    return found, Line(Fraction(0), found.value)


def own_steps(clauses: Iterable[Clause], ways: Iterable[Scenario]) -> dict[Fraction, str]:
    """Return the figures of limits, with how they are printed, for rules that test the very fact they limit.

    INVARIANT: no relative limit is among them: what it limits cannot be tested.
    """
    clauses = list(clauses)
    figures = (_figure(clause, way, {}) for clause, way in itertools.product(clauses, ways))
    steps = {figure[0].value: "" for figure in figures if figure is not None}
    limits = (clause.body for clause in clauses if isinstance(clause.body, Limit))
    printed = (each for body in limits for each in (body.value, body.also) if isinstance(each, Quantity))
    return steps | {each.exact: str(each) for each in printed}


# --- relative limits --------------------------------------------------------------------------------------------------


def _lines(relative: Relative) -> Iterator[Line]:
    inset = relative.inset.exact if relative.inset else Fraction(0)
    yield from (Line(share.value / 2, -inset) for share in relative.shares)


def _line_at(relative: Relative, datum: Fraction) -> Line:
    return next(
        line
        for share, line in zip(relative.shares, _lines(relative), strict=True)
        if share.through is None or datum <= share.through.exact
    )


def steps_of(clauses: Iterable[Clause]) -> dict[str, dict[Fraction, str]]:
    """Return the measures at which relative limits change, or change places, with how they are printed, by fact.

    Between two of them every limit is one line and no two lines cross, so that one point tells the order of all.
    """
    steps: dict[str, dict[Fraction, str]] = {}
    lines: dict[str, set[Line]] = {}
    for clause in clauses:
        relative = clause.body.value if isinstance(clause.body, Limit) else None
        if not isinstance(relative, Relative):
            continue
        found = steps.setdefault(relative.of, {})
        lines.setdefault(relative.of, {Line(Fraction(0), Fraction(0))}).update(_lines(relative))
        found |= {each.through.exact: str(each.through) for each in relative.shares if each.through is not None}
    for of, several in lines.items():
        for one, other in itertools.combinations(sorted(several), 2):
            if one.slope != other.slope:
                crossing = (one.height - other.height) / (other.slope - one.slope)
                if crossing > 0:
                    steps[of].setdefault(crossing, "")
    return steps


# --- demands ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Demand:
    """What several clauses demand together.

    `identity` is the same wherever the same is demanded, also where the figure follows from the tire.
    """

    strictest: tuple[Strictest, ...]  #: by scenario
    identity: tuple[object, ...]

    @property
    def nothing(self) -> bool:
        """Whether nothing is demanded."""
        return all(each == TOP for each in self.strictest)

    def within(self, other: Demand) -> bool:
        """Whether this is as strict as `other` or stricter, in every scenario."""
        return all(mine.within(its) for mine, its in zip(self.strictest, other.strictest, strict=True))


class Demands:
    """What the clauses of one topic demand together: the kernel's meet, in each of the scenarios `ways`."""

    def __init__(self, topic: Topic, clauses: Iterable[Clause]) -> None:
        self.topic = topic
        self.clauses = tuple(clauses)
        self.ways = scenarios(self.clauses)
        self._known: dict[tuple[object, ...], Bound | None] = {}

    def bound(self, clause: Clause, way: int, known: Known) -> Bound | None:
        """Return what the limit of `clause`, one of the clauses, comes to in one of the ways."""
        # Only these two facts can matter; and the same limit is asked for in very many cells.
        key = (id(clause), way, known.get(self.topic.fact), known.get(self.topic.of))
        if key not in self._known:
            self._known[key] = _bound(clause, self.ways[way], known)
        return self._known[key]

    def of(self, clauses: Sequence[Clause], known: Known) -> Demand:
        """Return what some of the clauses, which all apply, demand together."""
        topic = self.topic
        if topic.sort in (Sort.CEILING, Sort.FLOOR):
            met = [_met(topic, self._bounds(clauses, way, known)) for way in range(len(self.ways))]
            return Demand(tuple(strictest for strictest, _ in met), tuple(identity for _, identity in met))
        if topic.sort is Sort.VALUES:
            strictest = _allowed(topic, self.admitted(clauses), known.get(topic.fact))
        else:
            sets = (clause.body for clause in clauses if isinstance(clause.body, frozenset))
            strictest = Strictest(prohibited=frozenset().union(*sets))
        return Demand((strictest,), (strictest,))

    def admitted(self, clauses: Iterable[Clause]) -> frozenset[str]:
        """Return the values of the fact that all of `clauses` admit."""
        sets = (clause.body for clause in clauses if isinstance(clause.body, frozenset))
        return frozenset(FACTS[self.topic.fact].values).intersection(*sets)

    def _bounds(self, clauses: Iterable[Clause], way: int, known: Known) -> list[Bound]:
        return [found for clause in clauses if (found := self.bound(clause, way, known)) is not None]


def _allowed(topic: Topic, words: frozenset[str], own: KnownValue | None) -> Strictest:
    """Return what admitting `words` comes to; `own` is the fact's value where the cell already says it."""
    if own is not None:
        return TOP if isinstance(own, frozenset) and own <= words else _NEVER.strictest
    return Strictest(permitted=None if words == frozenset(FACTS[topic.fact].values) else words)


def _met(topic: Topic, bounds: Sequence[Bound]) -> tuple[Strictest, object]:
    strictest = TOP
    for each in bounds:
        strictest = strictest.meet(each.strictest)
    binding = [each.identity for each in bounds if each.strictest == strictest]
    if not binding:
        return strictest, None
    # Where two lines cross, name the one that binds below the crossing, so that the point belongs to that range.
    return strictest, max(binding) if topic.sort is Sort.CEILING else min(binding)
