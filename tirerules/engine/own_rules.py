"""The engine's own rules: what no rule of a pack speaks to, so that silence cannot count as permission.

One row each. Where its test finds something, there is a `Gap`, and the case is undetermined though no rule fails it. A
caller's own packs can tighten; they never settle what law and trade leave open, but for the law of a place of the
caller's own, in that place.
"""

from __future__ import annotations

from tirerules.case.row import TIRE
from tirerules.engine.kernel import bits_of
from tirerules.engine.tables import holds
from tirerules.engine.worked_out import REGROOVED_LAWFULLY
from tirerules.values import Value
from tirerules.vocabulary import CURED_BY_REPAIR, NO_HIGHWAY

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
    from typing import TypeAlias

    from tirerules.engine.evaluator import Evaluation
    from tirerules.engine.program import Program
    from tirerules.engine.subjects import Need, Subject
    from tirerules.packs.rule import Condition
    from tirerules.templates import Parameter

    #: Of whom something is found: the number of an injury, that of an earlier repair, the method; see `subject`.
    Who: TypeAlias = "tuple[int | None, int | None, str | None]"
    #: What a test finds: what it is about, in words; of whom; the limits that may apply, as a mask.
    Found: TypeAlias = "tuple[str, Who | None, int]"

__all__ = ["OWN_RULES", "Gap", "OwnRule", "covered", "recorded", "unjudged"]

_CLASS = TIRE["tire.class"]


class OwnRule(Value):
    """A rule of the engine: its name, the fact it asks for, its sentence, what it is asked of, and its test.

    `template` names the sentence in `tirerules.templates`, and `about` the placeholder, if any, that what is found
    fills. `of` is ``tire``, ``injury`` or ``method``; `concerns` tells under
    which programs it can find anything.
    """

    name: str
    fact: str
    template: str
    about: str
    of: str
    concerns: Callable[[Program], bool]
    test: Callable[..., Sequence[Found]]


class Gap:
    """What one of the engine's own rules found: always unknown, perhaps with facts that could settle it."""

    __slots__ = ("limits", "rule", "what", "who")

    def __init__(self, rule: OwnRule, what: str, who: Who | None, limits: int) -> None:
        self.rule, self.what, self.who, self.limits = rule, what, who, limits

    def parameters(self, activity: str) -> Mapping[str, Parameter]:
        """Return what fills its sentence."""
        return {"activity": activity, self.rule.about: self.what} if self.rule.about else {"activity": activity}

    def says(self, activity: str) -> str:
        """Return its sentence."""
        from tirerules.templates import filled

        return filled(self.rule.template, self.parameters(activity))

    @property
    def measured(self) -> str:
        """What it is about, where that is a finding."""
        return self.what if self.rule is _FINDING else ""

    def label(self, found: Evaluation) -> str:
        """Return which injury or repair it speaks of."""
        if self.who is None:
            return ""
        return found.subject(*self.who).label(["injury." if self.rule is _OPEN else self.rule.fact])

    def needs(self, found: Evaluation) -> frozenset[Need]:
        """Return the facts that could settle it."""
        if self.rule is _UNRECORDED:
            return frozenset({("findings", "")})
        if self.who is None or not self.limits:
            return frozenset()
        subject, conditions = found.subject(*self.who), _conditions(found.program, self.limits)
        unknown = {fact for fact, condition in conditions if holds(condition, subject.get(fact)) is None}
        return frozenset(need for fact in unknown for need in subject.needs(fact))


def _conditions(program: Program, limits: int) -> Iterator[tuple[str, Condition]]:
    for place in bits_of(limits):
        yield from program.instances[place].tests


def covered(program: Program, limits: int, of: Callable[[], Subject]) -> bool:
    """Whether at least one of some limits, each of which may apply, does whatever the unknown words turn out to be."""
    if not limits:
        return False
    subject, waiting = of(), []
    for place in bits_of(limits):
        found = [(condition, holds(condition, subject.get(fact))) for fact, condition in program.instances[place].tests]
        waiting.append(found)
    unknown = {condition.fact for found in waiting for condition, answer in found if answer is None}
    cover = program.cover(unknown)
    if cover is None:
        return False
    reached = 0
    for found in waiting:
        mask = cover.every
        for condition, answer in found:
            mask &= cover.admitting(condition) if answer is None else cover.every if answer else 0
        reached |= mask
    return reached == cover.every


def _unlimited(found: Evaluation, who: Who, sure: int, relevant: int, guards: int, what: str = "") -> Sequence[Found]:
    """Find where no limit surely applies: "no limit" is never a reason to let a case pass."""
    if sure & guards or covered(found.program, relevant & guards, lambda: found.subject(*who)):
        return ()
    return ((what, who, relevant & guards),)


def _unlimited_size(found: Evaluation, injury: int, method: str) -> Sequence[Found]:
    judged, guards = found.judged[injury], found.program.size_guards[method]
    if judged.sure & guards:
        return ()
    return _unlimited(found, (injury, None, method), judged.sure, judged.relevant, guards)


def _unlimited_repairs(found: Evaluation) -> Sequence[Found]:
    if not found.row.repairs:
        return ()
    guards = found.program.repair_guards
    by_number = (
        _unlimited(found, (None, number, None), *found.of_repair(number, guards), guards)
        for number in range(len(found.repairs))
    )
    return [each for there in by_number for each in there]


def _unlimited_tread(found: Evaluation) -> Sequence[Found]:
    by_place = (
        _unlimited(found, (None, None, None), found.sure, found.relevant, guards, code)
        for code, guards in found.program.tread_guards.items()
    )
    return [each for there in by_place for each in there]


def _unreviewed(found: Evaluation) -> Sequence[Found]:
    return [(code, None, 0) for code in found.program.unreviewed]


def recorded(program: Program, findings: Iterable[str] | None, class_: str | None) -> set[str]:
    """Return what some rule must judge: recorded findings, and what stands for a class that is made for no highway."""
    found = set(findings or ())
    if program.repairing:
        found -= CURED_BY_REPAIR
    if class_ in REGROOVED_LAWFULLY:
        found.discard("regroove")
    if class_ in NO_HIGHWAY:
        found.add(NO_HIGHWAY[class_])
    return found


def unjudged(program: Program, findings: Iterable[str] | None, class_: str | None, relevant: int) -> Sequence[str]:
    """Return what is recorded and no rule judges which may apply; `relevant` is the mask of those that may."""
    if not findings and class_ not in NO_HIGHWAY:
        return ()
    judging = program.judging
    return [word for word in sorted(recorded(program, findings, class_)) if not judging.get(word, 0) & relevant]


def _unjudged(found: Evaluation) -> Sequence[Found]:
    words = unjudged(found.program, found.row.findings, found.tire.values[_CLASS], found.relevant)
    return [(word, None, 0) for word in words]


def _open_injury(found: Evaluation, injury: int) -> Sequence[Found]:
    return () if found.row.injuries is None else (("", (injury, None, None), 0),)


def _unrecorded(found: Evaluation, injury: int) -> Sequence[Found]:
    return (("", None, 0),) if found.row.injuries is None else ()


def _always(program: Program) -> bool:
    return True


def _repairing(program: Program) -> bool:
    return program.repairing


def _using(program: Program) -> bool:
    return not program.repairing


_FINDING = OwnRule(
    "engine/finding-judged",
    "findings",
    "gap.finding-judged",
    "finding",
    "tire",
    _always,
    _unjudged,
)
_OPEN = OwnRule(
    "engine/open-injury",
    "injuries",
    "gap.open-injury",
    "",
    "injury",
    _using,
    _open_injury,
)
_UNRECORDED = OwnRule(
    "engine/open-injury",
    "injuries",
    "gap.unrecorded-injuries",
    "",
    "injury",
    _using,
    _unrecorded,
)
#: Every rule of the engine, in the order in which they are told.
OWN_RULES: tuple[OwnRule, ...] = (
    OwnRule(
        "engine/law-reviewed",
        "jurisdictions",
        "gap.law-reviewed",
        "place",
        "tire",
        lambda program: bool(program.unreviewed),
        _unreviewed,
    ),
    _FINDING,
    OwnRule(
        "engine/limit-located",
        "repair.diameter",
        "gap.repair-size",
        "",
        "tire",
        lambda program: program.judges_repairs,
        _unlimited_repairs,
    ),
    OwnRule(
        "engine/limit-located",
        "tire.tread_depth",
        "gap.tread-depth",
        "place",
        "tire",
        _using,
        _unlimited_tread,
    ),
    _OPEN,
    _UNRECORDED,
    OwnRule(
        "engine/limit-located",
        "injury.diameter",
        "gap.injury-size",
        "",
        "method",
        _repairing,
        _unlimited_size,
    ),
)
