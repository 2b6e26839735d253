"""From packed facts to what the rules say, by ORs of whole numbers.

Mirrors `tirerules.deciding.judging`, `.gaps` and `.decide`, which are the reference and say why.
"""

from __future__ import annotations

import itertools

from tirerules.index.bits import admits_words
from tirerules.index.plan import OWN_FIGURES, PLACED
from tirerules.stated import FOR_NO_HIGHWAY, LAWFUL_REGROOVE, NO_REPAIRS
from tirerules.vocabulary import CURED_BY_REPAIR, FACTS, NO_HIGHWAY, REPAIR_METHODS

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from typing import Any

    from tirerules.index.plan import Injured, Packed, Plan

    #: What no rule speaks to: a finding, the tread in a place, an open injury.
    Gaps = tuple[tuple[str, str], ...]

__all__ = ["OUTSIDE", "UNDETERMINED", "WITHIN", "Found", "Method", "covered", "evaluate", "evaluated"]

#: Verdicts, so ordered that "all of" is the least and "any of" the greatest.
OUTSIDE, UNDETERMINED, WITHIN = 0, 1, 2
#: As in `tirerules.deciding.gaps`: beyond so many combinations of unknown words, a gap is taken to exist.
_MOST_COMBINATIONS = 20_000
#: The words of every fact that is known to be one of a few.
_CHOICES = {name: fact.values for name, fact in FACTS.items() if fact.choosable}


class Answers:
    """What a group of rules says of one subject or of several; each mask holds a bit for each rule."""

    __slots__ = ("failing", "open", "relevant", "sure", "unlimited")

    def __init__(self) -> None:
        self.relevant = self.sure = self.failing = 0
        self.open = self.unlimited = False

    def add(self, plan: Plan, packed: int, rules: int) -> None:
        """Add what `rules` say of a subject of which `packed` is known."""
        n = plan.count
        relevant = rules & ~packed
        uncertain = packed >> n
        missed = relevant & (packed >> 2 * n)
        failing = missed & ~((packed >> 3 * n) | uncertain)
        self.relevant |= relevant
        self.sure |= relevant & ~uncertain
        self.failing |= failing
        self.open = self.open or missed != failing

    def join(self, other: Answers) -> None:
        """Add the answers of another subject."""
        self.relevant |= other.relevant
        self.sure |= other.sure
        self.failing |= other.failing
        self.open = self.open or other.open

    @property
    def outcome(self) -> int:
        """The verdict by these rules alone."""
        return OUTSIDE if self.failing else UNDETERMINED if self.open else WITHIN


class Method:
    """How one injury (from 1) fares by one method; `failing` holds the rules that only this method fails.

    `unlimited` says that no limit on the injury's size was located for it.
    """

    __slots__ = ("failing", "injury", "name", "unlimited", "verdict")

    def __init__(self, name: str, injury: int, verdict: int, answers: Answers) -> None:
        self.name, self.injury, self.verdict = name, injury, verdict
        self.failing, self.unlimited = answers.failing, answers.unlimited


class Found:
    """What the rules say of every case with the same packed facts.

    `failing` holds the rules that fail whatever the method; `sure` and `maybe` those that surely and that may apply, by
    what no method changes and by the leading method (`late`: by the method alone); `relevant` both, by any method.
    """

    __slots__ = (
        "failing",
        "flags",
        "gaps",
        "late",
        "leading",
        "limits",
        "maybe",
        "methods",
        "packed",
        "pieces",
        "relevant",
        "sure",
        "verdict",
    )

    def __init__(
        self, common: Answers, methods: tuple[Method, ...], everything: int, packed: Packed, gaps: Gaps
    ) -> None:
        self.packed, self.flags, self.gaps = packed, packed[4], gaps
        self.failing, self.methods, self.relevant = common.failing, methods, everything
        self.verdict = common.outcome
        self.leading: str | None = None
        self.sure, self.maybe, self.late = common.sure, common.relevant, 0
        #: What was worked out of it later: the limits, and the rest by name.
        self.limits: Any = None
        self.pieces: dict[str, Any] = {}

    @property
    def possible(self) -> tuple[str, ...]:
        """The methods that do not surely fail, in order."""
        return tuple(dict.fromkeys(each.name for each in self.methods if each.verdict != OUTSIDE))


#: A rule that reads no earlier repair is judged once, with nothing more known.
_ALONE = (0,)


def evaluated(plan: Plan, packed: Packed, known: int | None = None) -> Found:
    """Judge a case by `plan`, or remember what was found of one that is known alike.

    `known` is a number that stands for what is known, where there is one.
    """
    if packed[4] & (OWN_FIGURES | PLACED):
        return evaluate(plan, packed)
    key = packed if known is None else known
    found = plan.found.get(key)
    if found is None:
        found = plan.memory.keep(plan, key, evaluate(plan, packed))
    return found


def evaluate(plan: Plan, packed: Packed) -> Found:
    """Judge a case by `plan`."""
    tire, _, _, injuries, flags, method, findings = packed
    whole = _subject(plan, packed, 0, "")
    by_injury = [_subject(plan, packed, injury[0], "injury") for injury in injuries]
    numbered = [
        (number, name, _by_method(plan, packed, injuries[number], by_injury[number], name))
        for number in (range(len(injuries)) if plan.repairing else ())
        for name in ((method,) if method else REPAIR_METHODS)
    ]
    everything = whole.relevant
    for answers in (*by_injury, *(each for _, _, each in numbered)):
        everything |= answers.relevant
    gaps = [("finding", word) for word in _unjudged(plan, findings, everything, flags)]
    if plan.repair_guards is not None and not flags & NO_REPAIRS:
        gaps += [("repair", "")] * sum(_unlimited_repair(plan, tire | each) for each in packed[2])
    if not plan.repairing:
        gaps += [("tread", code) for code in _unlimited_tread(plan, tire, whole)]
    whole.open = whole.open or plan.unreviewed or bool(gaps)
    if not plan.repairing:
        gaps += [("injury", "")] * len(by_injury)
        for answers in by_injury:
            # Of an injury that is not being repaired, or an inspection that is not recorded, nothing lets a tire pass.
            answers.open = True
    common = Answers()
    for answers in (whole, *by_injury):
        common.join(answers)
    methods = tuple(
        Method(name, number + 1, min(whole.outcome, by_injury[number].outcome, answers.outcome), answers)
        for number, name, answers in numbered
    )
    found = Found(common, methods, everything, packed, tuple(gaps))
    if methods:
        best = (max(each.verdict for each in methods if each.injury == at + 1) for at in range(len(injuries)))
        found.verdict = min(found.verdict, *best)
        found.leading = _leading(methods)
        for _, name, answers in numbered:
            if name == found.leading:
                found.late |= answers.relevant & ~found.maybe
                found.sure |= answers.sure
                found.maybe |= answers.relevant
    found.maybe &= ~found.sure
    return found


def _subject(plan: Plan, packed: Packed, own: int, *groups: str) -> Answers:
    """Judge by the rules on one subject, of which `own` is known apart from the tire."""
    tire, pairs, repairs = packed[:3]
    answers = Answers()
    for group in groups:
        for rules, others in ((plan.group(group), _ALONE), (plan.group(group, True), repairs)):
            if rules:
                for other in others:
                    if pairs:
                        for pair in pairs:
                            answers.add(plan, pair | own | other, rules & plan.paired)
                        answers.add(plan, tire | own | other, rules & ~plan.paired)
                    else:
                        answers.add(plan, tire | own | other, rules)
    return answers


def _by_method(plan: Plan, packed: Packed, injury: Injured, by_injury: Answers, method: str) -> Answers:
    """Judge one injury as repaired by one method."""
    own, as_repair = injury[2][method] if len(injury) == 3 else injury
    tire, own = packed[0], own | plan.word("method", method)
    answers = _subject(plan, packed, own, "injury+method", "method")
    if plan.repaired:
        answers.add(plan, tire | as_repair | plan.word("repair.method", method), plan.repaired)
    guards = plan.size_guards
    if not guards & (by_injury.sure | answers.sure):
        limits = guards & (by_injury.relevant | answers.relevant)
        answers.unlimited = not covered(plan, limits, tire | own)
        answers.open = answers.open or answers.unlimited
    return answers


def _leading(methods: Iterable[Method]) -> str:
    """Return the method that does best over all injuries; of equals the one a shop prefers."""
    worst: dict[str, int] = {}
    for each in methods:
        worst[each.name] = min(worst.get(each.name, WITHIN), each.verdict)
    return max(worst, key=worst.__getitem__)


def _unjudged(plan: Plan, findings: frozenset[str] | None, relevant: int, flags: int) -> list[str]:
    """Return the recorded findings that meet no rule."""
    recorded = findings or frozenset()
    if plan.repairing:
        recorded = recorded - CURED_BY_REPAIR
    if flags & LAWFUL_REGROOVE:
        recorded = recorded - {"regroove"}
    for at, name in enumerate(NO_HIGHWAY.values()):
        if flags & FOR_NO_HIGHWAY << at:
            recorded = recorded | {name}
    return sorted(word for word in recorded if not plan.judging.get(word, 0) & relevant)


def _unlimited_tread(plan: Plan, tire: int, whole: Answers) -> list[str]:
    """Return the places in which no floor on tread surely applies."""
    return [
        code
        for code, guards in plan.tread_guards.items()
        if not guards & whole.sure and not covered(plan, guards & whole.relevant, tire)
    ]


def _unlimited_repair(plan: Plan, packed: int) -> bool:
    """Whether no ceiling on the size of an earlier repair surely applies."""
    relevant = (plan.repair_guards or 0) & ~packed
    return not relevant & ~(packed >> plan.count) and not covered(plan, relevant, packed)


def covered(plan: Plan, rules: int, packed: int) -> bool:
    """Whether at least one of `rules`, each of which may apply, does whatever the unknown words turn out to be."""
    open_ = plan.open_conditions(packed, rules)
    known = plan.cache("covered")
    key = (rules, tuple(open_))
    if key not in known:
        known[key] = _cover_every_answer(plan, rules, open_)
    return bool(known[key])


def _cover_every_answer(plan: Plan, rules: int, open_: Sequence[int]) -> bool:
    names = sorted({plan.conditions[number]["fact"] for number in open_})
    if not rules or not all(name in _CHOICES for name in names):
        return False
    combinations = 1
    for name in names:
        combinations *= len(_CHOICES[name])
    if combinations > _MOST_COMBINATIONS:
        return False
    waiting: dict[int, list[dict[str, Any]]] = {index: [] for index in range(plan.count) if rules >> index & 1}
    for number in open_:
        waiting[plan.condition_rule[number]].append(plan.conditions[number])
    for words in itertools.product(*(_CHOICES[name] for name in names)):
        supposed = {name: frozenset({word}) for name, word in zip(names, words, strict=True)}
        if not any(all(_holds(test, supposed[test["fact"]]) for test in tests) for tests in waiting.values()):
            return False
    return True


def _holds(test: dict[str, Any], words: frozenset[str]) -> bool:
    return admits_words(test, words) is not test["negated"]
