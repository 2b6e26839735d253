"""The parts of a decision, as immutable values."""

from __future__ import annotations

from tirerules.values import Value
from tirerules.vocabulary import Outcome, Verdict

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from fractions import Fraction

    from tirerules.packs.rule import Rule, Source
    from tirerules.quantities import Quantity
    from tirerules.templates import Parameter

__all__ = [
    "Change",
    "Choice",
    "FactLimits",
    "Geometry",
    "Margin",
    "MethodVerdict",
    "Notice",
    "Outcome",
    "PackLock",
    "Question",
    "Reason",
    "Remedies",
    "Remedy",
    "Requirement",
    "Rung",
    "Verdict",
]


class Reason(Value):
    """One rule's say. `source` is None where the engine itself could not let the case pass (``engine/...``)."""

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


class MethodVerdict:
    """How one injury of a case (from 1) fares by one method, and why: its reasons are worked out when first read."""

    __slots__ = ("_reasons", "injury", "method", "verdict")

    def __init__(self, method: str, injury: int, verdict: Verdict, reasons: Callable[[], tuple[Reason, ...]]) -> None:
        self.method, self.injury, self.verdict, self._reasons = method, injury, verdict, reasons

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, MethodVerdict):
            return NotImplemented
        return (self.method, self.injury, self.verdict) == (other.method, other.injury, other.verdict)

    def __hash__(self) -> int:
        return hash((self.method, self.injury, self.verdict))

    def __repr__(self) -> str:
        return f"MethodVerdict(method={self.method!r}, injury={self.injury!r}, verdict={self.verdict!r})"

    @property
    def reasons(self) -> tuple[Reason, ...]:
        """What every rule says of this injury by this method."""
        return self._reasons()


class Geometry(Value):
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


class Choice(Value):
    """One word that answers a question, and what a person calls it."""

    word: str
    label: str


class Question(Value):
    """A fact whose answer could settle the verdict, with all that a form needs to ask for it.

    `kind` is ``choice``, ``flag``, ``quantity``, ``set``, ``text``, ``count``, ``grid`` (readings, place by groove) or
    ``records`` (a list of injuries or repairs). `subject` says whose fact it is, and `number` which injury or earlier
    repair that is, from 1; `path` is the JSON Pointer (RFC 6901) at which the answer stands in the case.
    """

    fact: str
    subject: str
    ask: str
    unit: str
    kind: str = ""
    choices: tuple[Choice, ...] = ()
    units: tuple[str, ...] = ()
    several: bool = False
    number: int | None = None
    path: str = ""


class Requirement(Value):
    """What must be done if the answer is to hold; `when` says on what that depends where it is not known."""

    step: str
    say: str
    when: str
    rules: tuple[str, ...]
    template: str = ""  #: the name of `say` in `tirerules.templates`
    parameters: tuple[tuple[str, Parameter], ...] = ()


class Notice(Value):
    """Something that the verdict does not say and a person should know: a template, and what fills it, as `text`."""

    kind: str
    text: str
    rules: tuple[str, ...] = ()
    template: str = ""  #: the name of `text` in `tirerules.templates`
    #: Each placeholder of the template with what fills it, but for ``{rules}``.
    parameters: tuple[tuple[str, Parameter], ...] = ()

    @classmethod
    def of(cls, kind: str, template: str, parameters: Mapping[str, Parameter], rules: tuple[str, ...] = ()) -> Notice:
        """Return the notice that a template gives; ``{rules}`` in it is filled by `rules`.

        Raises KeyError for a placeholder that is not given.
        """
        from tirerules.templates import filled

        return cls(kind, filled(template, {**parameters, "rules": rules}), rules, template, tuple(parameters.items()))


class Margin(Value):
    """What is left between a measure and one limit on it, negative where it is missed; None where that is unknown.

    `least` and `most` are exact, in the unit of the measure, and equal where the measurement has no width. `applies` is
    None where the rule may or may not apply.
    """

    fact: str
    subject: str
    rule: str
    limit: str
    measured: str
    least: Quantity | int | None
    most: Quantity | int | None
    applies: bool | None


class Change(Value):
    """One thing that a shop can change: the fact (``method``, ``repair_unit``, ``activity``, ``on``), and what to.

    `to` of a repair unit is its method and the angle that its rating must reach, or ``none``; `document` says that the
    maker's document of that rating is needed.
    """

    fact: str
    to: str
    document: bool = False


class Remedy(Value):
    """A set of changes that together bring a case within the limits, and none of which can be left out."""

    changes: tuple[Change, ...]


class Remedies(Value):
    """What a shop could change about a case outside the limits, cheapest first.

    `asked` is False where the case is not outside. Where it is and `sets` is empty, nothing that a shop can change lets
    it pass.
    """

    asked: bool
    sets: tuple[Remedy, ...]


class PackLock(Value):
    """Which version of a pack, and which bytes.

    `replaces` is whether the caller put it in place of what the library ships.
    """

    version: str
    sha256: str
    replaces: bool = False


class Rung(Value):
    """One rule's limit on a fact, as one step of the ladder."""

    rule: Rule
    limit: str  #: as it binds under the case's reading, with its relation
    as_enacted: str
    also_printed: str
    applies: bool | None
    when: str
    extended: bool


class FactLimits(Value):
    """What limits one fact.

    The strictest limit is that of the rules that surely apply; rules that only may apply stand in the ladder, marked.
    At most one of `at_most` and `less_than`, and of `at_least` and `more_than`, is set.
    """

    fact: str
    at_most: Quantity | int | None
    less_than: Quantity | int | None
    at_least: Quantity | int | None
    more_than: Quantity | int | None
    permitted: tuple[str, ...] | None
    prohibited: tuple[str, ...]
    binding: tuple[str, ...]  #: names of the rules that set the strictest limit
    ladder: tuple[Rung, ...]  #: strictest first
