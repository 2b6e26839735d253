"""The answer to a case, worked out no further than it is read.

The verdict stands when a decision is made. Everything else follows from the same case and the same rules, so it can
wait: a counter screen reads the verdict and the limits, few programs ever read the reasons.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction
from functools import partial
from types import MappingProxyType
from typing import Final, Protocol

from tirerules._version import __version__
from tirerules.case import Case
from tirerules.deciding.decide import RESALE, decide
from tirerules.deciding.decision import (
    Account,
    Geometry,
    MethodVerdict,
    Notice,
    PackLock,
    Question,
    Reason,
    Requirement,
    Verdict,
)
from tirerules.deciding.facts import View
from tirerules.deciding.judgment import Judgment
from tirerules.deciding.limits import FactLimits, limits_of
from tirerules.deciding.notices import resale_notice
from tirerules.deciding.wording import CAUTIONS
from tirerules.index.evaluate import OUTSIDE, UNDETERMINED, WITHIN, Found
from tirerules.index.plan import OWN_FIGURES, Plan
from tirerules.packs.pack import Pack
from tirerules.packs.rule import Limit, Require, Rule
from tirerules.quantities import Quantity

__all__ = ["Decision", "Desk"]

_VERDICTS: Final = {OUTSIDE: Verdict.OUTSIDE, UNDETERMINED: Verdict.UNDETERMINED, WITHIN: Verdict.WITHIN}


class Desk(Protocol):
    """What a decision is made at: a rulebook."""

    def packs_for(self, codes: Sequence[str]) -> tuple[Pack, ...]:
        """Return the packs that answer for `codes`."""

    def rules_of(self, plan: Plan) -> tuple[Rule, ...]:
        """Return the rules of a plan, in its order."""

    def failing_after(self, case: Case, on: date, methods: Sequence[str], activity: str) -> Iterable[tuple[str, ...]]:
        """Return for each method which rules the tire fails under `activity` once it is repaired by that method."""


class Decision:
    """The whole answer. `limits` is given for the method `limits_method`, the best one found.

    It never changes, and two are equal where everything they say is.
    """

    __slots__ = ("_account", "_asked", "_desk", "_found", "_on", "_plan")

    def __init__(self, desk: Desk, asked: Case, on: date, plan: Plan, found: Found | None) -> None:
        """Hold what was found of the case `asked`; None where only the reference can judge it."""
        self._desk, self._asked, self._on, self._plan, self._found = desk, asked, on, plan, found
        self._account: Account | None = None

    def __eq__(self, other: object) -> bool:
        return self._whole == other._whole if isinstance(other, Decision) else NotImplemented

    def __hash__(self) -> int:
        return hash((self._asked, self._on))

    def __repr__(self) -> str:
        return f"<Decision: {self.verdict} for {self._asked.activity} in {', '.join(self._asked.jurisdictions)}>"

    # --- what stands when the decision is made

    @property
    def verdict(self) -> Verdict:
        """What the rules say of the case."""
        return self._whole.verdict if self._found is None else _VERDICTS[self._found.verdict]

    @property
    def on(self) -> date:
        """The day it was decided for."""
        return self._on

    @property
    def limits_method(self) -> str | None:
        """The method that `limits` are given for; None where nothing is repaired."""
        return self._whole.limits_method if self._found is None else self._found.leading

    @property
    def methods(self) -> tuple[MethodVerdict, ...]:
        """How each injury fares by each method; empty unless repairing."""
        if self._found is None:
            return self._whole.methods
        return tuple(
            MethodVerdict(each.name, each.injury, _VERDICTS[each.verdict], partial(self._method_reasons, at))
            for at, each in enumerate(self._found.methods)
        )

    @property
    def one_method(self) -> str | None:
        """The method that repairs every injury within the limits; None where no single one does."""
        failing = {each.method for each in self.methods if each.verdict is not Verdict.WITHIN}
        return next((each.method for each in self.methods if each.method not in failing), None)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What every answer says."""
        return CAUTIONS

    @property
    def engine(self) -> str:
        """The version of this library."""
        return __version__

    # --- what is the same for every case that is known alike

    @property
    def limits(self) -> Mapping[str, FactLimits]:
        """The strictest limit on every limited fact, the rules that set it, and the ladder behind it."""
        found = self._found
        if found is None or found.flags & OWN_FIGURES or len(self._asked.injuries or ()) > 1:
            return self._whole.limits
        limiting = self._plan.limiting
        key = (found.sure & limiting, found.maybe & limiting)
        known = self._plan.cache("limits")
        limits: Mapping[str, FactLimits] | None = known.get(key)
        if limits is None:
            limits = known[key] = self._limits(*key)
        return limits

    @property
    def questions(self) -> tuple[Question, ...]:
        """The smallest set of facts whose answers could settle the verdict, most decisive first."""
        return self._shared.questions

    @property
    def requirements(self) -> tuple[Requirement, ...]:
        """What must be done for the answer to hold."""
        return self._shared.requirements

    @property
    def notices(self) -> tuple[Notice, ...]:
        """What the verdict does not say and a person should know."""
        return (*self._shared.notices, *self._resale())

    # --- what is this case's own

    @property
    def case(self) -> Case:
        """The case, with the day it was decided for."""
        return self._asked if self._asked.on == self._on else replace(self._asked, on=self._on)

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
        packs = self._desk.packs_for(self._asked.jurisdictions)
        return MappingProxyType({pack.id: PackLock(str(pack.version), pack.sha256) for pack in packs})

    # --- how the rest is worked out

    @property
    def _whole(self) -> Account:
        """The account by the reference evaluation, of those rules that may apply."""
        if self._account is None:
            rules, resale = None, None
            if self._found is not None:
                every = self._desk.rules_of(self._plan)
                rules = [rule for at, rule in enumerate(every) if self._found.relevant >> at & 1]
                resale = self._resale()
            packs = self._desk.packs_for(self._asked.jurisdictions)
            self._account = decide(self._asked, packs, self._on, __version__, rules=rules, resale=resale)
        return self._account

    @property
    def _shared(self) -> _Shared:
        if self._found is None:
            return _Shared(self._whole, 0)
        shared: _Shared | None = self._found.pieces.get("shared")
        if shared is None:
            shared = self._found.pieces["shared"] = _Shared(self._whole, len(self._resale()))
        return shared

    def _method_reasons(self, at: int) -> tuple[Reason, ...]:
        return self._whole.methods[at].reasons

    def _resale(self) -> tuple[Notice, ...]:
        """Return how the repaired tire would fare as a used tire, by each method that may repair it."""
        found = self._found
        if found is None or found.verdict == OUTSIDE:
            return ()
        methods = tuple(dict.fromkeys(each.name for each in found.methods if each.verdict != OUTSIDE))
        if not methods:
            return ()
        by_activity = [self._desk.failing_after(self._asked, self._on, methods, activity) for activity in RESALE]
        return tuple(
            resale_notice(activity, method, failing)
            for method, *after in zip(methods, *by_activity, strict=True)
            for activity, failing in zip(RESALE, after, strict=True)
            if failing
        )

    def _limits(self, sure: int, maybe: int) -> Mapping[str, FactLimits]:
        """Return the limits that some rules set, none of which waits for a measure of the tire."""
        plan, reading = self._plan, self._asked.reading
        rules = self._desk.rules_of(plan)
        judgments = [
            _limiting(rules[at], True if sure >> at & 1 else None, reading)
            for at in plan.in_order
            if (sure | maybe) >> at & 1
        ]
        return limits_of(judgments)


class _Shared:
    """What is the same for every case that is known alike: all but what quotes a measurement."""

    __slots__ = ("notices", "questions", "requirements")

    def __init__(self, account: Account, resale: int) -> None:
        """Take it from one account, whose last `resale` notices are on resale."""
        self.questions, self.requirements = account.questions, account.requirements
        self.notices = account.notices[: len(account.notices) - resale]


def _limiting(rule: Rule, applies: bool | None, reading: str) -> Judgment:
    """Return what a rule demands, without a subject."""
    body = rule.body
    assert not isinstance(body, Require)  # INVARIANT: a requirement limits nothing, and is not among the limiting rules
    if not isinstance(body, Limit):
        return Judgment(rule, View(), applies, None, body.constraint())
    chosen = body.chosen(reading)
    if chosen is None:
        return Judgment(rule, View(), applies, None, None)
    exact = chosen.exact if isinstance(chosen, Quantity) else Fraction(chosen)
    return Judgment(rule, View(), applies, None, body.bound(exact), chosen=chosen)
