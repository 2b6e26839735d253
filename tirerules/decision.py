"""The answer to a case: its verdict, and everything else, worked out when it is first read.

A decision holds the evaluation of its case (masks) and the packs that were heard. What is read of it is made from these
by `tirerules.engine` and kept; nothing that is made for one case outlives its decision.
"""

from __future__ import annotations

from tirerules._version import __version__
from tirerules.engine.evaluator import Evaluation
from tirerules.engine.kernel import WITHIN
from tirerules.engine.shortcut import Shortcut, shortcut_of
from tirerules.values import Frozen
from tirerules.vocabulary import VERDICTS, Verdict

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import date
    from typing import Any

    from tirerules.case.row import CaseRow
    from tirerules.case.views import Case
    from tirerules.engine.notices import Told
    from tirerules.engine.parts import (
        FactLimits,
        Geometry,
        Margin,
        MethodVerdict,
        Notice,
        PackLock,
        Question,
        Reason,
        Remedies,
        Requirement,
    )
    from tirerules.engine.program import Program
    from tirerules.engine.programs import Programs

__all__ = ["Decision"]

#: What two decisions must share to be equal.
_PARTS = (
    *("verdict", "case", "on", "methods", "limits", "limits_method", "reasons", "geometry", "questions"),
    *("requirements", "notices", "cautions", "packs", "engine"),
)


class Decision(Frozen):
    """The whole answer. `limits` is given for the method `limits_method`, the best one found.

    It never changes, and two are equal where everything they say is.
    """

    __slots__ = ("_kept", "_program", "_programs", "row")

    row: CaseRow  #: the case as it was decided, with its day
    _kept: dict[str, Any]  #: the parts that were read
    _program: Program
    _programs: Programs

    def __init__(self, programs: Programs, row: CaseRow) -> None:
        """Decide a case, which names its day. Raises UnknownJurisdictionError."""
        program = programs.of(row)
        _put_row(self, row)
        _put_program(self, program)
        _put_programs(self, programs)
        _put_kept(self, {})

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Decision):
            return NotImplemented
        return all(getattr(self, part) == getattr(other, part) for part in _PARTS)

    def __hash__(self) -> int:
        return hash((self.case, self.on))

    def __repr__(self) -> str:
        row = self.row
        return f"<Decision: {self.verdict} for {row.activity} in {', '.join(row.codes)}>"

    def __reduce__(self) -> tuple[Any, ...]:
        # What a decision says follows from its case and its packs, so these are sent, and it is decided again. They are
        # some 200 kB: to keep or send many, take `decision_to_brief` or `decision_to_json`.
        if self._programs.owner is None:
            raise TypeError("a decision without its rulebook cannot be pickled")
        return _decided, (self._programs.owner, self.case)

    def _once(self, name: str, make: Callable[[], Any]) -> Any:
        """Return a part of the decision, made when it is first read."""
        if name not in self._kept:
            self._kept[name] = make()
        return self._kept[name]

    # --- the case

    @property
    def case(self) -> Case:
        """The case, with the day it was decided for."""
        return self.row.typed

    @property
    def on(self) -> date:
        """The day it was decided for."""
        from datetime import date

        return date.fromisoformat(self.row.on or "")

    # --- the answer

    @property
    def verdict(self) -> Verdict:
        """What the rules say of the case."""
        return VERDICTS[self._short.verdict]

    @property
    def within(self) -> bool:
        """Whether everything is known to be within the limits; what cannot be told is not."""
        return self.verdict is Verdict.WITHIN

    @property
    def methods(self) -> tuple[MethodVerdict, ...]:
        """How each injury fares by each method; empty unless repairing."""
        from tirerules.engine.parts import MethodVerdict

        return tuple(
            MethodVerdict(each.name, each.injury, VERDICTS[each.verdict], self._reasons_by(each.name, each.injury - 1))
            for each in self.evaluation.methods
        )

    @property
    def one_method(self) -> str | None:
        """The method that repairs every injury within the limits; None where no single one does."""
        outcomes = zip(*self.evaluation.outcomes, strict=True)
        by_method = zip(self._program.methods, outcomes, strict=False)  # without an injury no method is judged
        return next((method for method, verdicts in by_method if min(verdicts) == WITHIN), None)

    @property
    def limits_method(self) -> str | None:
        """The method that `limits` are given for; None where nothing is repaired."""
        return self.evaluation.leading

    @property
    def limits(self) -> Mapping[str, FactLimits]:
        """The strictest limit on every limited fact, the rules that set it, and the ladder behind it."""
        from tirerules.engine.limits import limits_of, limits_shortly

        def made() -> Mapping[str, FactLimits]:
            short = self._short
            shortly = limits_shortly(self._program, short) if isinstance(short, Shortcut) else None
            return limits_of(self.evaluation) if shortly is None else shortly

        limits: Mapping[str, FactLimits] = self._once("limits", made)
        return limits

    @property
    def questions(self) -> tuple[Question, ...]:
        """The smallest set of facts whose answers could settle the verdict, most decisive first."""
        from tirerules.engine.questions import questions_of

        questions: tuple[Question, ...] = self._once("questions", lambda: questions_of(self.evaluation))
        return questions

    @property
    def asked(self) -> tuple[str, ...]:
        """The facts that `questions` ask for."""
        return tuple(question.fact for question in self.questions)

    @property
    def requirements(self) -> tuple[Requirement, ...]:
        """What must be done for the answer to hold."""
        from tirerules.engine.explanation import requirements_of

        requirements: tuple[Requirement, ...] = self._once("requirements", lambda: requirements_of(self.evaluation))
        return requirements

    @property
    def notices(self) -> tuple[Notice, ...]:
        """What the verdict does not say and a person should know."""
        notices: tuple[Notice, ...] = self._once("notices", self._make_notices)
        return notices

    @property
    def reasons(self) -> tuple[Reason, ...]:
        """What every rule says that no method changes."""
        from tirerules.engine.explanation import reasons_of

        reasons: tuple[Reason, ...] = self._once("reasons", lambda: reasons_of(self.evaluation))
        return reasons

    @property
    def remedies(self) -> Remedies:
        """The smallest sets of what a shop can change that would bring a case outside the limits within them."""
        from tirerules.engine.remedies import remedies_of

        remedies: Remedies = self._once("remedies", lambda: remedies_of(self._programs, self.row))
        return remedies

    @property
    def margins(self) -> tuple[Margin, ...]:
        """How far each measure is from each limit on it, by what no method changes and by `limits_method`."""
        from tirerules.engine.margins import margins_of

        margins: tuple[Margin, ...] = self._once("margins", lambda: tuple(margins_of(self.evaluation)))
        return margins

    @property
    def geometry(self) -> tuple[Geometry, ...]:
        """Where each measured injury lies."""
        from tirerules.engine.explanation import geometry_of

        geometry: tuple[Geometry, ...] = self._once("geometry", lambda: tuple(geometry_of(self.evaluation)))
        return geometry

    # --- where it comes from

    @property
    def packs(self) -> Mapping[str, PackLock]:
        """Which version and which bytes of every pack that was heard."""
        from types import MappingProxyType

        from tirerules.engine.parts import PackLock

        packs = self._programs.place(self.row.codes, self.row.activity).packs
        return MappingProxyType({pack.id: PackLock(pack.version_text, pack.sha256, pack.replaces) for pack in packs})

    @property
    def cautions(self) -> tuple[str, ...]:
        """What every answer says."""
        from tirerules.engine.words import CAUTIONS

        return CAUTIONS

    @property
    def engine(self) -> str:
        """The version of this library."""
        return __version__

    # --- how the rest is made

    @property
    def _short(self) -> Shortcut | Evaluation:
        """What gives the verdict soonest: the evaluation where it stands or must be made, else a shortcut."""
        short: Shortcut | Evaluation | None = self._kept.get("evaluation") or self._kept.get("short")
        if short is None:
            short = shortcut_of(self._program, self.row)
            if short is None:
                return self.evaluation
            self._kept["short"] = short
        return short

    @property
    def evaluation(self) -> Evaluation:
        """What the rules say of the case, as masks."""
        evaluation: Evaluation = self._once("evaluation", lambda: Evaluation(self._program, self.row))
        return evaluation

    @property
    def told(self) -> Told:
        """What its notices are made from."""
        from tirerules.engine.notices import Told

        place = self._programs.place(self.row.codes, self.row.activity)
        return Told(self.evaluation, place.packs, place.rules, self._programs)

    def _make_notices(self) -> tuple[Notice, ...]:
        from tirerules.engine.notices import notices_of

        return notices_of(self.told)

    def _reasons_by(self, method: str, injury: int) -> Callable[[], tuple[Reason, ...]]:
        def reasons() -> tuple[Reason, ...]:
            from tirerules.engine.explanation import reasons_of

            found: tuple[Reason, ...] = self._once(
                f"{method} {injury}", lambda: reasons_of(self.evaluation, method, injury)
            )
            return found

        return reasons


def _decided(rulebook: Any, case: Case) -> Decision:
    """Return a decision that was pickled."""
    decision: Decision = rulebook.decide(case)
    return decision


_put_row, _put_program, _put_programs, _put_kept = (
    getattr(Decision, name).__set__ for name in ("row", "_program", "_programs", "_kept")
)
