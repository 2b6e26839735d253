"""The answer to a case, worked out no further than it is read.

The verdict stands when a decision is made. Everything else follows from the same case and the same rules, so it can
wait: a counter screen reads the verdict and the limits, few programs ever read the reasons. What is read is told by
`tirerules.telling`, imported then.
"""

from __future__ import annotations

import sys

from tirerules._version import __version__
from tirerules.index.evaluate import OUTSIDE, UNDETERMINED, WITHIN
from tirerules.index.plan import OWN_FIGURES, SEVERAL_INJURIES
from tirerules.vocabulary import VERDICTS as WORDS

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date
    from types import ModuleType
    from typing import Protocol

    from tirerules.case import Case
    from tirerules.deciding.decision import (
        Account,
        Fares,
        Geometry,
        MethodVerdict,
        Notice,
        PackLock,
        Question,
        Reason,
        Requirement,
    )
    from tirerules.deciding.limits import FactLimits
    from tirerules.index.evaluate import Found
    from tirerules.index.plain import PlainCase
    from tirerules.index.plan import Failing, Plan
    from tirerules.packs.pack import Pack
    from tirerules.packs.rule import Rule
    from tirerules.telling import Shared
    from tirerules.verdict import Verdict

    class Desk(Protocol):
        """What a decision is made at: a rulebook."""

        def packs_for(self, codes: Sequence[str]) -> tuple[Pack, ...]:
            """Return the packs that answer for `codes`."""

        def rules_of(self, plan: Plan) -> tuple[Rule, ...]:
            """Return the rules of a plan, in its order."""

        def failing_after_repair(
            self, case: Case | PlainCase, on: date | str, methods: tuple[str, ...]
        ) -> tuple[Failing, ...]:
            """Return which rules the tire fails once it is repaired, by act of `RESALE` and then by method."""


__all__ = ["Decision"]


def _telling() -> ModuleType:
    """Return what tells the rest, which starts slowly."""
    if "tirerules.telling" not in sys.modules:
        import tirerules.telling  # noqa: F401
    return sys.modules["tirerules.telling"]


class _Verdicts(dict):  # type: ignore[type-arg]  # number of the index -> Verdict
    """Verdicts by their numbers, from the first time that one is asked for: what they are made of starts slowly."""

    def __missing__(self, number: int) -> Verdict:
        from tirerules.verdict import Verdict

        verdict = self[number] = Verdict(WORDS[number])
        return verdict


VERDICTS: Mapping[int, Verdict] = _Verdicts()


class Decision:
    """The whole answer. `limits` is given for the method `limits_method`, the best one found.

    It never changes, and two are equal where everything they say is.
    """

    __slots__ = ("_account", "_asked", "_desk", "_found", "_on", "_plan")

    def __init__(self, desk: Desk, asked: Case | PlainCase, on: date | str, plan: Plan, found: Found | None) -> None:
        """Hold what was found of the case `asked`; None where only the reference can judge it."""
        self._desk, self._asked, self._on, self._plan, self._found = desk, asked, on, plan, found
        self._account: Account | None = None

    def __eq__(self, other: object) -> bool:
        return self._whole == other._whole if isinstance(other, Decision) else NotImplemented

    def __hash__(self) -> int:
        return hash((self.case, self.on))

    def __repr__(self) -> str:
        return f"<Decision: {self.verdict} for {self._plan.activity} in {', '.join(self._plan.codes)}>"

    # --- what stands when the decision is made

    @property
    def verdict(self) -> Verdict:
        """What the rules say of the case."""
        return self._whole.verdict if self._found is None else VERDICTS[self._found.verdict]

    @property
    def within(self) -> bool:
        """Whether everything is known to be within the limits; what cannot be told is not."""
        return (self._whole.verdict == "within-limits") if self._found is None else self._found.verdict == WITHIN

    @property
    def limits_method(self) -> str | None:
        """The method that `limits` are given for; None where nothing is repaired."""
        return self._whole.limits_method if self._found is None else self._found.leading

    @property
    def engine(self) -> str:
        """The version of this library."""
        return __version__

    # --- what is the same for every case that is known alike

    @property
    def limits(self) -> Mapping[str, FactLimits]:
        """The strictest limit on every limited fact, the rules that set it, and the ladder behind it."""
        found = self._found
        if found is None or found.flags & (OWN_FIGURES | SEVERAL_INJURIES):
            return self._whole.limits
        if found.limits is None:
            found.limits = self._shared_limits(found)
        limits: Mapping[str, FactLimits] = found.limits
        return limits

    @property
    def questions(self) -> tuple[Question, ...]:
        """The smallest set of facts whose answers could settle the verdict, most decisive first."""
        return self._shared.questions

    @property
    def asked(self) -> tuple[str, ...]:
        """The facts that `questions` ask for; told sooner than the questions themselves."""
        found = self._found
        if found is None or found.verdict != UNDETERMINED:
            return tuple(question.fact for question in self.questions)
        asked: tuple[str, ...] | None = found.pieces.get("asked")
        if asked is None:
            needs = _telling().needs_of(self._plan, found.packed)
            facts = (question.fact for question in self.questions) if needs is None else (fact for fact, _ in needs)
            asked = found.pieces["asked"] = tuple(facts)
        return asked

    @property
    def requirements(self) -> tuple[Requirement, ...]:
        """What must be done for the answer to hold."""
        return self._shared.requirements

    @property
    def notices(self) -> tuple[Notice, ...]:
        """What the verdict does not say and a person should know."""
        return (*self._shared.notices, *self._own_notices, *self._resale())

    @property
    def methods(self) -> tuple[MethodVerdict, ...]:
        """How each injury fares by each method; empty unless repairing."""
        if self._found is None:
            return self._whole.methods
        methods: tuple[MethodVerdict, ...] = _telling().methods(self._found, self._method_reasons)
        return methods

    @property
    def one_method(self) -> str | None:
        """The method that repairs every injury within the limits; None where no single one does."""
        from tirerules.deciding.decision import one_method

        return one_method(self.methods)

    # --- what is this case's own

    @property
    def on(self) -> date:
        """The day it was decided for."""
        from datetime import date

        return date.fromisoformat(self._on) if isinstance(self._on, str) else self._on

    @property
    def case(self) -> Case:
        """The case, with the day it was decided for."""
        case: Case = _telling().case(self._asked, self.on)
        return case

    @property
    def reasons(self) -> tuple[Reason, ...]:
        """What every rule says that no method changes."""
        return self._whole.reasons

    @property
    def geometry(self) -> tuple[Geometry, ...]:
        """Where each measured injury lies."""
        return self._whole.geometry

    @property
    def packs(self) -> Mapping[str, PackLock]:
        """Which version and which bytes of every pack that was heard."""
        return self._whole.packs

    @property
    def cautions(self) -> tuple[str, ...]:
        """What every answer says."""
        return self._whole.cautions

    # --- how the rest is worked out

    @property
    def _whole(self) -> Account:
        """The account by the reference evaluation, of those rules that may apply."""
        if self._account is None:
            rules, resale = None, None
            if self._found is not None:
                rules = self._plan.picked(self._desk.rules_of(self._plan), self._found.relevant)
                resale = self._resale()
            packs = self._desk.packs_for(self._plan.codes)
            self._account = _telling().account(self.case, packs, self.on, rules, resale)
        return self._account

    def _shared_limits(self, found: Found) -> Mapping[str, FactLimits]:
        plan = self._plan
        key = (found.sure & plan.limiting, found.maybe & plan.limiting, found.late & plan.limiting)
        known = plan.cache("limits")
        limits: Mapping[str, FactLimits] | None = known.get(key)
        if limits is None:
            limits = known[key] = _telling().limits(plan, self._desk.rules_of(plan), *key)
        return limits

    @property
    def _shared(self) -> Shared:
        found = self._found
        if found is None:
            whole = self._whole
            return _telling().Shared(whole.questions, whole.requirements, whole.notices)  # type: ignore[no-any-return]
        shared: Shared | None = found.pieces.get("shared")
        if shared is None:
            shared = _telling().shared(self._plan, found, self._desk, self.on, lambda: self._whole)
            found.pieces["shared"] = shared
        return shared

    @property
    def _own_notices(self) -> tuple[Notice, ...]:
        """What follows from what the case states itself."""
        return () if self._found is None else _telling().own_notices(self._asked.stated, self._plan.tables)

    def _method_reasons(self, fares: Fares) -> tuple[Reason, ...]:
        return next(each.reasons for each in self._whole.methods if each.fares == fares)

    def _resale(self) -> tuple[Notice, ...]:
        """Return how the repaired tire would fare as a used tire, by each method that may repair it."""
        after = self._after_repair
        return _telling().resale(self._found.possible, after) if self._found is not None and after else ()

    @property
    def _after_repair(self) -> tuple[Failing, ...]:
        """The rules that the tire fails once it is repaired, by act of `RESALE` and then by method; empty for none."""
        found = self._found
        if found is None or not found.methods or found.verdict == OUTSIDE:
            return ()
        after = self._desk.failing_after_repair(self._asked, self._on, found.possible)
        return after if any(map(any, after)) else ()
