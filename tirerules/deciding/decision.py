"""The answer to a case, as immutable values."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from fractions import Fraction

from tirerules.case import Case
from tirerules.deciding.limits import FactLimits
from tirerules.packs.rule import Source
from tirerules.verdict import Verdict

__all__ = [
    "Account",
    "Fares",
    "Geometry",
    "MethodVerdict",
    "Notice",
    "Outcome",
    "PackLock",
    "Question",
    "Reason",
    "Requirement",
    "Verdict",
    "one_method",
]


class Outcome(StrEnum):
    """What one rule says of a case."""

    PASSES = "passes"
    FAILS = "fails"
    UNKNOWN = "unknown"

    @classmethod
    def of(cls, outcome: bool | None) -> Outcome:
        """Return the word for a three-valued outcome."""
        return cls.UNKNOWN if outcome is None else cls.PASSES if outcome else cls.FAILS


@dataclass(frozen=True, slots=True)
class Reason:
    """One rule's say. `source` is None where the library itself could not let the case pass (``engine/...``)."""

    rule: str
    fact: str
    subject: str
    measured: str
    limit: str
    outcome: Outcome
    applies: bool | None
    extended: bool
    says: str
    source: Source | None


@dataclass(frozen=True, slots=True)
class Fares:
    """How one injury fares by one method; `injury` counts from 1."""

    method: str
    injury: int
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class MethodVerdict:
    """How one injury of a case fares by one method, and why: its reasons are worked out when first read.

    What many cases have in common, how an injury fares, is one value for all of them.
    """

    fares: Fares
    tell: Callable[[Fares], tuple[Reason, ...]] = field(compare=False, repr=False)

    @property
    def method(self) -> str:
        """The method."""
        return self.fares.method

    @property
    def injury(self) -> int:
        """The number of the injury, from 1."""
        return self.fares.injury

    @property
    def verdict(self) -> Verdict:
        """What the rules say of the injury by this method."""
        return self.fares.verdict

    @property
    def reasons(self) -> tuple[Reason, ...]:
        """What every rule says of this injury by this method."""
        return self.tell(self.fares)


@dataclass(frozen=True, slots=True)
class Geometry:
    """Where a measured injury lies, in mm from the center line, at worst. `band` and `margin` need a binding band."""

    injury: int
    offset: str
    outer: Fraction  #: how far it reaches on the outer face
    inner: Fraction  #: and on the inner face
    band: Fraction | None  #: how far it may reach
    rule: str
    known: bool  #: whether every measure that the reach rests on was given

    @property
    def margin(self) -> Fraction | None:
        """What is left between the injury and the edge of the band; negative outside it."""
        return None if self.band is None else self.band - max(self.outer, self.inner)


@dataclass(frozen=True, slots=True)
class Question:
    """A fact whose answer could settle the verdict."""

    fact: str
    subject: str
    ask: str
    unit: str


@dataclass(frozen=True, slots=True)
class Requirement:
    """What must be done if the answer is to hold; `when` says on what that depends where it is not known."""

    step: str
    say: str
    when: str
    rules: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Notice:
    """Something that the verdict does not say and a person should know."""

    kind: str
    text: str
    rules: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PackLock:
    """Which version of a pack, and which bytes.

    `replaces` is whether the caller put it in place of what the library ships.
    """

    version: str
    sha256: str
    replaces: bool = False


@dataclass(frozen=True, slots=True)
class Account:
    """The whole answer, worked out. `limits` is given for the method `limits_method`, the best one found."""

    verdict: Verdict
    case: Case
    on: date
    methods: tuple[MethodVerdict, ...]
    limits: Mapping[str, FactLimits]
    limits_method: str | None
    reasons: tuple[Reason, ...]
    geometry: tuple[Geometry, ...]
    questions: tuple[Question, ...]
    requirements: tuple[Requirement, ...]
    notices: tuple[Notice, ...]
    cautions: tuple[str, ...]
    packs: Mapping[str, PackLock]
    engine: str

    @property
    def one_method(self) -> str | None:
        """The method that repairs every injury within the limits; None where no single one does."""
        return one_method(self.methods)


def one_method(methods: Iterable[MethodVerdict]) -> str | None:
    """Return the first method that repairs every injury within the limits; None where no single one does."""
    listed = tuple(methods)
    failing = {each.method for each in listed if each.verdict is not Verdict.WITHIN}
    return next((each.method for each in listed if each.method not in failing), None)
