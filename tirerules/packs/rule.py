"""A rule as a value: what it limits, for which activity, under which conditions, since when, and who says so.

The data structure is `Rule`: conditions, one body and a source; its key outside a pack is its name, ``pack/rule-id``.
INVARIANT: rules are immutable and complete. Nothing is looked up later, and everything a rule holds was checked when it
was built. A body of any kind says which fact it limits (None for steps to take), as which constraint, in which words,
and whether it guards a fact: without a guard on size and tread, nothing can pass.
"""

from __future__ import annotations

from types import MappingProxyType

from tirerules.strictest.bounds import Ceiling, Floor, Interval, Permitted, Prohibited, Strictest, opposite
from tirerules.values import Value, lazy
from tirerules.vocabulary import LAW, PAIRED

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from fractions import Fraction
    from typing import ClassVar, Final, TypeAlias

    from tirerules.quantities import Quantity
    from tirerules.strictest.bounds import KnownValue
    from tirerules.vocabulary import Activity

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
    "Share",
    "Source",
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


class Source(Value):
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


class Condition(Value):
    """A test of one fact; a rule applies where all its conditions hold.

    INVARIANT: `negated` is used for findings alone, where "any of these is present" is "not none of these".
    """

    fact: str
    test: Strictest
    text: str
    negated: bool = False

    def holds(self, value: KnownValue | None) -> bool | None:
        """Whether the condition holds for `value`; None where that cannot be told."""
        if value is None:
            return None
        answer = self.test.admits(value)
        return opposite(answer) if self.negated else answer


class Counted(Value):
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


class Share(Value):
    """One step of a relative length: a share, `above` over `below`, and the greatest measure it holds for, if any."""

    through: Quantity | None
    above: int
    below: int

    @classmethod
    def of(cls, through: Quantity | None, value: Fraction) -> Share:
        """Return the step with an exact share."""
        return cls(through, *value.as_integer_ratio())

    @property
    def value(self) -> Fraction:
        """The exact share."""
        from fractions import Fraction

        return Fraction(self.above, self.below)


class Relative(Value):
    """A length that follows from the tire at hand: half of a share of one of its measures, less an inset.

    `shares` steps with the measure: the first whose `through` is not below it counts; the last has none. The half is
    what lies on one side of the center line, so that a band of the central three quarters is ``half of 3/4``.
    """

    of: str
    shares: tuple[Share, ...]
    inset: Quantity | None
    text: str

    def __str__(self) -> str:
        return self.text

    def range(self, datum: Interval) -> Interval:
        """Return the least and the greatest length that `datum` can give, in mm."""
        from fractions import Fraction

        steps = [share.through.exact for share in self.shares if share.through is not None]
        # A step is discontinuous: what lies just above it is judged by the next share at the same measure.
        inside = [step for step in steps if datum.low <= step < datum.high]
        lengths = [self._at(point) for point in (datum.low, datum.high, *inside)]
        lengths += [self._at(step, beyond=True) for step in inside]
        return Interval(max(min(lengths), Fraction(0)), max(*lengths, Fraction(0)))

    def _at(self, datum: Fraction, *, beyond: bool = False) -> Fraction:
        from fractions import Fraction

        return Fraction(*self.at(*datum.as_integer_ratio(), beyond=beyond))

    def at(self, above: int, below: int, *, beyond: bool = False) -> tuple[int, int]:
        """Return the length, in mm, for a measure of `above` over `below`, or for what lies just `beyond` that.

        Both are a numerator and a denominator; what is returned is not in lowest terms.
        """
        for share in self.shares:  # the last one, which has no end, is left over
            end = share.through
            if end is None:
                break
            left, right = above * end.below, end.above * below
            if left < right or (left == right and not beyond):
                break
        number, unit = above * share.above, 2 * below * share.below
        if self.inset is not None:
            number, unit = number * self.inset.below - self.inset.above * unit, unit * self.inset.below
        return number, unit


class Limit(Value):
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
        if self.also is None or reading == "as-enacted" or isinstance(self.value, int):
            return self.value
        return min(self.value, self.also) if self.ceiling else max(self.value, self.also)

    def bound(self, exact: Fraction | int) -> Ceiling | Floor:
        """Return the limit as a bound at the exact number `exact`, in base units."""
        return self.bound_at(*exact.as_integer_ratio())

    def bound_at(self, above: int, below: int) -> Ceiling | Floor:
        """Return the limit as a bound at `above` over `below` base units, which are in lowest terms."""
        ceiling, inclusive = RELATIONS[self.relation]
        return Ceiling(above, below, inclusive) if ceiling else Floor(above, below, inclusive)

    def constraint(self, reading: str = READINGS[0]) -> Ceiling | Floor | None:
        """Return the figure that binds as a bound; None for a relative limit."""
        chosen = self.chosen(reading)
        if chosen is None:
            return None
        return self.bound_at(chosen, 1) if isinstance(chosen, int) else self.bound_at(chosen.above, chosen.below)

    def text(self, chosen: Quantity | int | None = None) -> str:
        """Return the limit in words, ``at most 6 mm``, with the figure `chosen` or else the first as enacted."""
        counted = f", counted {self.counted}" if str(self.counted) else ""
        return f"{self.relation.replace('-', ' ')} {self.value if chosen is None else chosen}{counted}"

    def guards(self, fact: str) -> bool:
        """Whether it is what `fact` must be held to before anything passes: a floor on tread, else a ceiling."""
        return self.fact == fact and self.ceiling is (fact != "tire.tread_depth")


class Permit(Value):
    """No value of the fact but these."""

    fact: str
    values: tuple[str, ...]

    def constraint(self, reading: str = READINGS[0]) -> Permitted:
        """Return the permitted words, which are the same in every reading."""
        return Permitted(frozenset(self.values))

    def text(self, chosen: Quantity | int | None = None) -> str:
        """Return the rule in words: ``one of crown``."""
        return f"one of {', '.join(self.values)}"

    def guards(self, fact: str) -> bool:
        """Whether it is a limit that `fact` must be held to: words are none."""
        return False


class Prohibit(Value):
    """None of these values of the fact."""

    fact: str
    values: tuple[str, ...]

    def constraint(self, reading: str = READINGS[0]) -> Prohibited:
        """Return the prohibited words, which are the same in every reading."""
        return Prohibited(frozenset(self.values))

    def text(self, chosen: Quantity | int | None = None) -> str:
        """Return the rule in words: ``none of boot, leak``."""
        return f"none of {', '.join(self.values)}"

    def guards(self, fact: str) -> bool:
        """Whether it is a limit that `fact` must be held to: words are none."""
        return False


class Disqualify(Value):
    """A tire on which the inspection found any of these is out."""

    values: tuple[str, ...]
    fact: str = "findings"

    def constraint(self, reading: str = READINGS[0]) -> Prohibited:
        """Return the disqualifying findings, which are the same in every reading."""
        return Prohibited(frozenset(self.values))

    def text(self, chosen: Quantity | int | None = None) -> str:
        """Return the rule in words: ``none of boot, leak``."""
        return f"none of {', '.join(self.values)}"

    def guards(self, fact: str) -> bool:
        """Whether it is a limit that `fact` must be held to: words are none."""
        return False


class Require(Value):
    """What must be done if the answer is to hold; it changes no verdict, it goes with it."""

    steps: tuple[str, ...]
    fact: ClassVar[None] = None

    def constraint(self, reading: str = READINGS[0]) -> None:
        """Return nothing: steps constrain no fact."""

    def text(self, chosen: Quantity | int | None = None) -> str:
        """Return the steps, by their names."""
        return ", ".join(self.steps)

    def guards(self, fact: str) -> bool:
        """Whether it is a limit that `fact` must be held to: steps are none."""
        return False


Body: TypeAlias = Limit | Permit | Prohibit | Disqualify | Require


class Rule(Value):
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

    @lazy
    def groups(self) -> frozenset[str]:
        """The groups of facts it reads: what it must be judged for one by one (injury, repair, method)."""
        facts = {condition.fact for condition in self.conditions}
        if self.body.fact is not None:
            facts.add(self.body.fact)
        return frozenset(
            "pair" if fact in PAIRED else fact if fact == "method" else fact.partition(".")[0] for fact in facts
        )

    def in_force(self, on: date) -> bool:
        """Whether the rule binds on the day `on`; a rule with no known start does, which is the stricter reading."""
        return (self.start is None or self.start <= on) and (self.end is None or on < self.end)
