"""What no rule speaks to, so that silence cannot count as permission.

A gap makes a case undetermined though no rule fails it: nothing limits the size of the injury or the tread, a recorded
finding meets no rule, or the tire is to be used with an open injury. A caller's own packs can tighten; they never
settle what law and trade leave open, but for the law of a place of the caller's own, in that place.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from tirerules.case import Case
from tirerules.deciding.judgment import Judgment, Need, holds, needs
from tirerules.deciding.view import View
from tirerules.jurisdictions import country_of, is_jurisdiction
from tirerules.packs.pack import Pack
from tirerules.packs.rule import Disqualify, Limit, Permit, Prohibit, Require, Rule
from tirerules.strictest.bounds import Value, all_of
from tirerules.vocabulary import CURED_BY_REPAIR, FACTS, Activity, Kind
from tirerules.words import NO_HIGHWAY, settles
from tirerules.worked_out import REGROOVED, REGROOVED_LAWFULLY

__all__ = [
    "OPEN_INJURY",
    "UNRECORDED",
    "Gap",
    "open_injury",
    "unjudged_findings",
    "unjudged_says",
    "unlimited_repair",
    "unlimited_says",
    "unlimited_size",
    "unlimited_tread",
    "unreviewed",
]

#: Beyond this many combinations of unknown words, a gap in the rules is not looked for: it is taken to exist.
_MOST_COMBINATIONS: Final = 20_000


@dataclass(frozen=True, slots=True)
class Gap:
    """Something that no rule speaks to, so that silence cannot count as permission."""

    name: str
    fact: str
    says: str
    subject: str = ""
    needs: frozenset[Need] = frozenset()
    measured: str = ""

    @property
    def outcome(self) -> None:
        """A gap is always unknown."""
        return

    @property
    def asks_first(self) -> None:
        """A gap prefers no question."""
        return


_UNREVIEWED: Final = "{}: the law on {} has not been reviewed, so nothing can be called allowed there."
OPEN_INJURY: Final = "No rule lets a tire pass with an injury that is still to be repaired; decide it as a repair."
UNRECORDED: Final = "It is not recorded whether the tire was inspected for injuries."
#: What every case must be limited on before it can pass, and what to say where nothing limits it.
_ESSENTIAL: Final[Mapping[str, str]] = MappingProxyType(
    {
        "injury.diameter": "No limit on the injury's size was located for this tire and method; ask the tire's maker.",
        "tire.tread_depth": "No limit on tread depth was located for this tire and activity.",
        "repair.diameter": "No limit on an earlier repair's size was located for this tire and method; ask its maker.",
    }
)


def unlimited_size(view: View, answers: Iterable[Judgment | Gap], codes: Sequence[str]) -> tuple[Gap, ...]:
    """Say so where no ceiling on the injury's size surely applies to repairing it by this method."""
    return _unlimited(view, _settled_limits("injury.diameter", answers, codes), "injury.diameter")


def unlimited_repair(view: View, answers: Iterable[Judgment | Gap], codes: Sequence[str]) -> tuple[Gap, ...]:
    """Say so where no ceiling on the size of an earlier repair surely applies: it is judged as a new one is.

    What limits it for one injury or one method leaves it open for every other.
    """
    limits = _settled_limits("repair.diameter", answers, codes)
    alone = [each for each in limits if not each.rule.groups & {"injury", "method"}]
    own = [each for each in alone if each.subject == view.subject_of(["repair.diameter"])]
    return _unlimited(view, own, "repair.diameter")


def unlimited_tread(view: View, answers: Iterable[Judgment | Gap], codes: Iterable[str]) -> tuple[Gap, ...]:
    """Say so, place by place, where no floor on tread depth surely applies."""
    limits = _limits_on("tire.tread_depth", answers)
    return tuple(
        gap
        for code in codes
        for gap in _unlimited(view, [each for each in limits if _binds_in(code, each.rule)], "tire.tread_depth", code)
    )


def unreviewed(packs: Iterable[Pack], codes: Sequence[str], activity: str) -> tuple[Gap, ...]:
    """Say so where nobody has read the law of a place on the act itself: then nothing there can be called allowed.

    Repairs are left out: the trade's baseline covers them everywhere, and a notice tells what was not read.
    """
    return tuple(
        Gap("engine/law-reviewed", "jurisdictions", _UNREVIEWED.format(pack.id, activity))
        for pack in packs
        if pack.id in codes and activity != Activity.REPAIR and pack.covers(Activity(activity)) == "not-reviewed"
    )


def _limits_on(fact: str, answers: Iterable[Judgment | Gap]) -> list[Judgment]:
    """Return what limits `fact` by law or trade. A figure from memory can fail a tire; it is no reason to pass one."""
    answered = (answer for answer in answers if isinstance(answer, Judgment))
    judgments = [each for each in answered if not (each.rule.overlay or each.rule.contradicts)]
    return [each for each in judgments if _limits(each.rule, fact) and each.rule.source.evidence != "memory"]


def _settled_limits(fact: str, answers: Iterable[Judgment | Gap], codes: Sequence[str]) -> list[Judgment]:
    """Return what limits `fact` for all of some places; a caller's own place speaks for itself alone."""
    return [each for each in _limits_on(fact, answers) if settles(each.rule.pack, codes)]


def _binds_in(code: str, rule: Rule) -> bool:
    """Whether a rule speaks for a place: its own, its country's, or the baseline's."""
    return rule.pack in (code, country_of(code)) or not is_jurisdiction(rule.pack)


def _unlimited(view: View, limits: Sequence[Judgment], fact: str, place: str = "") -> tuple[Gap, ...]:
    """Say so where no limit on `fact` surely applies: "no limit" is never a reason to let a case pass."""
    if any(judgment.applies for judgment in limits) or _cover_every_answer([each.rule for each in limits], view):
        return ()
    unknown = {
        condition.fact
        for judgment in limits
        for condition in judgment.rule.conditions
        if holds(condition, view) is None
    }
    wanted = frozenset(need for each in unknown for need in needs(each, view))
    return (Gap("engine/limit-located", fact, unlimited_says(fact, place), view.subject_of([fact]), wanted),)


def unlimited_says(fact: str, place: str = "") -> str:
    """Return what is told where nothing limits `fact`, in one place or anywhere."""
    return f"{place}: {_ESSENTIAL[fact]}" if place else _ESSENTIAL[fact]


def _limits(rule: Rule, fact: str) -> bool:
    """Whether `rule` guards `fact`: a ceiling on size, a floor on tread."""
    body = rule.body
    ceiling = fact != "tire.tread_depth"
    return isinstance(body, Limit) and body.fact == fact and body.ceiling is ceiling


def _cover_every_answer(rules: Sequence[Rule], view: View) -> bool:
    """Whether at least one of `rules` applies whatever the unknown facts turn out to be."""
    unknown = sorted({each.fact for rule in rules for each in rule.conditions if holds(each, view) is None})
    facts = [FACTS[name] for name in unknown]
    countable = all(fact.choosable for fact in facts)
    if not rules or not countable or math.prod(len(fact.values) for fact in facts) > _MOST_COMBINATIONS:
        return False
    for words in itertools.product(*(fact.values for fact in facts)):
        supposed: dict[str, Value] = {name: frozenset({word}) for name, word in zip(unknown, words, strict=True)}
        guess = view.joined(View(supposed))
        if not any(all_of(holds(each, guess) for each in rule.conditions) for rule in rules):
            return False
    return True


def unjudged_findings(case: Case, answers: Iterable[Judgment | Gap]) -> tuple[Gap, ...]:
    """Say so where a recorded finding meets no rule: it is then a matter for a trained person, not a pass.

    A rule judges a finding by disqualifying it, or by applying because of it; one that reads whether the tire was
    regrooved judges a regroove. Of a truck or a bus tire that is lawful work, and no finding to be judged. A class that
    is made for no highway must be judged like the mark that says so: by what permits classes, or prohibits this one.
    """
    found = set(case.findings or ())
    if case.activity == Activity.REPAIR:
        found -= CURED_BY_REPAIR
    if case.tire.class_ in REGROOVED_LAWFULLY:
        found.discard("regroove")
    if case.tire.class_ in NO_HIGHWAY:
        found.add(NO_HIGHWAY[case.tire.class_])
    for answer in answers:
        if not isinstance(answer, Judgment) or answer.rule.overlay or not settles(answer.rule.pack, case.jurisdictions):
            continue
        body = answer.rule.body
        if isinstance(body, (Permit, Prohibit)) and body.fact == "tire.class":
            found -= {NO_HIGHWAY[word] for word in NO_HIGHWAY if isinstance(body, Permit) or word in body.values}
        if any(condition.fact == REGROOVED for condition in answer.rule.conditions) or (
            not isinstance(body, Require) and body.fact == REGROOVED
        ):
            found.discard("regroove")
        if isinstance(body, Disqualify):
            found -= set(body.values)
        for condition in answer.rule.conditions:
            if FACTS[condition.fact].kind is Kind.SET and condition.negated:
                found -= condition.test.prohibited
    return tuple(
        Gap("engine/finding-judged", "findings", unjudged_says(finding), measured=finding) for finding in sorted(found)
    )


def unjudged_says(finding: str) -> str:
    """Return what is told of a finding that no rule judges."""
    return f"No located rule says what follows from the finding {finding!r}; a trained person must decide."


def open_injury(view: View, unrecorded: bool) -> Gap:
    """Say so where a tire is to be used or sold with an injury that is not being repaired: no rule lets it pass."""
    if unrecorded:
        return Gap("engine/open-injury", "injuries", UNRECORDED, needs=frozenset({("findings", "")}))
    return Gap("engine/open-injury", "injuries", OPEN_INJURY, view.subject_of(["injury."]))
