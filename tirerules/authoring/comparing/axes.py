"""The axes of the space of conditions: for each fact that rules test, the values that they tell apart.

An axis has atoms: groups of words that no condition distinguishes, the figures named and the open ranges between them,
a finding there or not. Injuries and earlier repairs may not exist at all, so they have an axis of presence.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Protocol

from tirerules.packs.rule import Condition
from tirerules.quantities import decimal_text, quantity
from tirerules.strictest.bounds import Interval, KnownValue
from tirerules.vocabulary import FACTS, Dimension, Kind

__all__ = ["Axis", "Known", "Presence", "axes_for", "group_of"]

#: What a cell knows; None for a fact that does not exist there.
Known = Mapping[str, KnownValue | None]

_BASE: Final = {Dimension.LENGTH: "mm", Dimension.ANGLE: "deg", Dimension.MASS: "kg", Dimension.TIME: "day"}
_FINDINGS: Final = "findings"
#: What may not exist, and how both are said.
_OPTIONAL: Final[Mapping[str, tuple[str, str]]] = {
    "injury": ("no injury", "an injury"),
    "repair": ("no earlier repair", "an earlier repair"),
    "repairs.spacing": ("fewer than two repairs", "two repairs or more"),
}


class Axis(Protocol):
    """One fact (or the presence of what it belongs to) and the atoms of its values."""

    @property
    def fact(self) -> str:
        """The fact, or the group whose presence this is."""

    @property
    def size(self) -> int:
        """How many atoms there are."""

    def learn(self, known: Known, atom: int) -> Known:
        """Return `known` with the value of one atom added."""

    def text(self, chosen: frozenset[int]) -> str:
        """Return some of the atoms in words."""


@dataclass(frozen=True, slots=True)
class _Words:
    """A choice, a scale or a flag."""

    fact: str
    atoms: tuple[tuple[str, ...], ...]

    @property
    def size(self) -> int:
        return len(self.atoms)

    def learn(self, known: Known, atom: int) -> Known:
        return {**known, self.fact: frozenset(self.atoms[atom][:1])}

    def text(self, chosen: frozenset[int]) -> str:
        inside = {word for atom in chosen for word in self.atoms[atom]}
        words = [word for word in FACTS[self.fact].values if word in inside]
        others = [word for word in FACTS[self.fact].values if word not in inside]
        if FACTS[self.fact].kind is Kind.SCALE and min(len(words), len(others)) > 1:
            if FACTS[self.fact].values == (*words, *others):
                return f"{self.fact} at most {words[-1]}"
            if FACTS[self.fact].values == (*others, *words):
                return f"{self.fact} at least {words[0]}"
        if len(words) <= len(others):
            return f"{self.fact} {' or '.join(words)}"
        return f"{self.fact} other than {' or '.join(others)}"


#: A figure (both ends are it) or the open range between two; None where a range is open to the end.
_Span = tuple[Fraction | None, Fraction | None]


@dataclass(frozen=True, slots=True)
class _Numbers:
    """A quantity or a count. INVARIANT: none is negative."""

    fact: str
    atoms: tuple[_Span, ...]
    printed: Mapping[Fraction, str]

    @property
    def size(self) -> int:
        return len(self.atoms)

    def learn(self, known: Known, atom: int) -> Known:
        inside = _inside(self.atoms[atom], FACTS[self.fact].kind is Kind.COUNT)
        assert inside is not None  # INVARIANT: an atom without a number is left out
        return {**known, self.fact: Interval(inside, inside)}

    def text(self, chosen: frozenset[int]) -> str:
        runs: list[list[int]] = []
        for atom in sorted(chosen):
            if runs and runs[-1][-1] == atom - 1:
                runs[-1].append(atom)
            else:
                runs.append([atom])
        return f"{self.fact} {' or '.join(self._run(self.atoms[run[0]], self.atoms[run[-1]]) for run in runs)}"

    def _run(self, first: _Span, last: _Span) -> str:
        (low, low_end), (high_start, high) = first, last
        if low is not None and low == high:
            return self._figure(low)
        ends = []
        if low is not None:
            ends.append(f"{'at least' if low == low_end else 'more than'} {self._figure(low)}")
        if high is not None:
            ends.append(f"{'at most' if high == high_start else 'less than'} {self._figure(high)}")
        return " and ".join(ends)

    def _figure(self, value: Fraction) -> str:
        dimension = FACTS[self.fact].dimension
        unit = f" {_BASE[dimension]}" if dimension else ""
        exact = Fraction(decimal_text(value)) == value
        return self.printed.get(value) or f"{'' if exact else 'about '}{decimal_text(value)}{unit}"


def _inside(span: _Span, whole: bool) -> Fraction | None:
    """Return a number of `span`, or None where there is none (no whole number between 2 and 3)."""
    low, high = span
    if low is None:
        # Inside, not at its end: what follows from a width of nothing could not be told apart.
        inside = Fraction(0) if whole else Fraction(1) if high is None else high / 2
    elif low == high:
        return low if not whole or low.denominator == 1 else None
    elif whole:
        inside = Fraction(low // 1 + 1)
    else:
        inside = low + 1 if high is None else (low + high) / 2
    return inside if high is None or inside < high else None


@dataclass(frozen=True, slots=True)
class _Finding:
    """Whether the inspection found any of some findings that no condition tells apart."""

    words: tuple[str, ...]
    fact: str = _FINDINGS
    size: int = 2

    def learn(self, known: Known, atom: int) -> Known:
        found = known.get(_FINDINGS, frozenset())
        assert isinstance(found, frozenset)  # INVARIANT: only this axis says what was found
        return {**known, _FINDINGS: found | frozenset(self.words[:atom])}

    def text(self, chosen: frozenset[int]) -> str:
        return f"{'with' if 1 in chosen else 'without'} the finding {' or '.join(self.words)}"


@dataclass(frozen=True, slots=True)
class Presence:
    """Whether there is an injury, an earlier repair, a second repair at all."""

    fact: str
    facts: tuple[str, ...]  #: those of its facts that are tested
    size: int = 2

    def learn(self, known: Known, atom: int) -> Known:
        """Return `known`, without the facts where the first atom says that what they belong to does not exist."""
        return known if atom else {**known, **dict.fromkeys(self.facts)}

    def text(self, chosen: frozenset[int]) -> str:
        """Return in words whether it exists."""
        return _OPTIONAL[self.fact][max(chosen)]


# --- making the axes --------------------------------------------------------------------------------------------------


def axes_for(
    conditions: Iterable[Condition],
    subject: str,
    steps: Mapping[str, Mapping[Fraction, str]],
    printed: Iterable[Condition] = (),
) -> tuple[Axis, ...]:
    """Return the axes on which `conditions` can be told apart, for rules that limit the fact `subject`.

    `steps` are further figures at which something may change, with how they are printed, by fact. The conditions
    `printed` are only read for how they print a figure.
    """
    figures: dict[str, dict[Fraction, str]] = {fact: dict(found) for fact, found in steps.items()}
    for condition in printed:
        figures.setdefault(condition.fact, {}).update(_printed(condition))
    by_fact: dict[str, list[Condition]] = {fact: [] for fact in steps}
    for condition in conditions:
        by_fact.setdefault(condition.fact, []).append(condition)
    absent: dict[str, list[str]] = {}
    axes: list[Axis] = []
    for fact in (name for name in FACTS if name in by_fact):
        tests = by_fact[fact]
        group = group_of(fact)
        if group and group != group_of(subject):
            absent.setdefault(group, []).append(fact)
        if FACTS[fact].kind is Kind.SET:
            axes += _findings(tests)
        elif FACTS[fact].limitable:
            axes.append(_numbers(fact, tests, steps.get(fact, {}), figures.get(fact, {})))
        else:
            axes.append(_words(fact, tests, apart=fact == subject))
    return (*axes, *(Presence(group, tuple(facts)) for group, facts in absent.items()))


def group_of(fact: str) -> str:
    """Return what has to exist for a fact to exist, if anything; a method exists with the injury repaired by it."""
    group = "injury" if fact == "method" else fact if fact in _OPTIONAL else fact.partition(".")[0]
    return group if group in _OPTIONAL else ""


def _words(fact: str, tests: Sequence[Condition], *, apart: bool) -> _Words:
    """Return the words in groups that no test tells apart, or each by itself."""
    alike: dict[tuple[object, ...], list[str]] = {}
    for word in FACTS[fact].values:
        answers = (test.holds(frozenset({word})) for test in tests)
        alike.setdefault((*answers, word if apart else ""), []).append(word)
    return _Words(fact, tuple(tuple(words) for words in alike.values()))


def _findings(tests: Sequence[Condition]) -> list[_Finding]:
    """Return an axis for each group of findings that stand in the same conditions; those in none matter to none."""
    alike: dict[tuple[bool, ...], list[str]] = {}
    for word in FACTS[_FINDINGS].values:
        alike.setdefault(tuple(word in test.test.prohibited for test in tests), []).append(word)
    return [_Finding(tuple(words)) for named, words in alike.items() if any(named)]


def _numbers(
    fact: str, tests: Sequence[Condition], steps: Iterable[Fraction], printed: Mapping[Fraction, str]
) -> _Numbers:
    bounds = [bound for test in tests for bound in (test.test.ceiling, test.test.floor) if bound is not None]
    points = sorted({bound.value for bound in bounds} | set(steps))
    ends: list[Fraction | None] = [None, *points, None]
    spans: list[_Span] = [(ends[0], ends[1])]
    for low, high in itertools.pairwise(ends[1:]):
        spans += [(low, low), (low, high)]
    whole = FACTS[fact].kind is Kind.COUNT
    atoms = tuple(span for span in spans if _inside(span, whole) is not None)
    return _Numbers(fact, atoms, printed)


_RELATION: Final = re.compile(r"(?:at least|at most|more than|less than) (.+?)(?= and (?:at|more|less) |$)")


def _printed(condition: Condition) -> dict[Fraction, str]:
    """Return the figures of a condition as its pack prints them, for display."""
    dimension = FACTS[condition.fact].dimension
    if dimension is None:
        return {}  # a count is printed as it is
    return {quantity(text, dimension).exact: text for text in _RELATION.findall(condition.text)}
