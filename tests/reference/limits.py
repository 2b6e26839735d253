"""The strictest limit on each fact, the rules that set it, and the ladder of all limits, strictest first."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from fractions import Fraction
from typing import Any, Final

from tests.reference.bodies import bound_of
from tests.reference.hearing import Heard
from tests.reference.rules import Rule, is_ceiling
from tests.reference.wording import also_printed, limit_in_words, when_in_words, words_of
from tests.reference.words import BOUNDS, ORDER

__all__ = ["limits_of", "source_of"]

#: A rule's limit on a fact, as it was heard of one subject; of a sort, and how strict (less is stricter).
_SORTS: Final = ("ceiling", "floor", "permitted", "prohibited", "unknown")


def limits_of(answers: Iterable[Heard]) -> dict[str, Any]:
    """The limits on every fact that the rules limit, in the order of the facts, as a decision states them."""
    by_fact: dict[str, dict[tuple[str, str | None], Heard]] = {}
    for each in answers:
        if each.rule is not None and each.fact is not None:
            figure = each.demand.figure if each.demand else None
            rungs = by_fact.setdefault(each.fact, {})
            # The same limit judged of two injuries is one rung, and the surest of them.
            if (each.name, figure) not in rungs or rungs[each.name, figure].applies is None:
                rungs[each.name, figure] = each
    return {fact: _limits(list(by_fact[fact].values())) for fact in ORDER if fact in by_fact}


def source_of(rule: Rule) -> dict[str, str]:
    """What is said of where a rule comes from."""
    return {key: rule["source"][key] for key in ("citation", "authority", "evidence")}


def _limits(rungs: list[Heard]) -> dict[str, Any]:
    """Only what surely applies sets the limit; what may apply stands in the ladder, behind it."""
    sure = [each for each in rungs if each.applies and _sort(each) != "unknown"]
    by_sort = {sort: [each for each in sure if _sort(each) == sort] for sort in _SORTS}
    said: dict[str, Any] = {}
    binding: set[str] = set()
    for sort in _SORTS[:2]:
        least = min((_strictness(each) for each in by_sort[sort]), default=None)
        strictest = [each for each in by_sort[sort] if _strictness(each) == least]
        binding |= {each.name for each in strictest}
        for each in strictest[:1]:  # of one figure in two units, the one that is heard first
            said[bound_of(_rule(each)).replace("-", "_")] = _figure(each)
    said = {bound: said[bound] for each in BOUNDS if (bound := each.replace("-", "_")) in said}
    if by_sort["permitted"]:
        said["permitted"] = sorted(set.intersection(*(_words(each) for each in by_sort["permitted"])))
    if by_sort["prohibited"]:
        said["prohibited"] = sorted(set.union(*(_words(each) for each in by_sort["prohibited"])))
    binding |= _narrowest(by_sort["permitted"], lambda one, other: one < other)
    binding |= _narrowest(by_sort["prohibited"], lambda one, other: one > other)
    return {**said, "binding": sorted(binding), "ladder": [_rung(each) for each in sorted(rungs, key=_rank)]}


def _narrowest(found: list[Heard], stricter: Callable[[set[str], set[str]], bool]) -> set[str]:
    """The rules whose words no other rule's words are stricter than; several can be."""
    return {each.name for each in found if not any(stricter(_words(other), _words(each)) for other in found)}


def _rung(each: Heard) -> dict[str, Any]:
    rule = _rule(each)
    figure = each.demand.figure if each.demand else None
    said: dict[str, Any] = {
        "rule": each.name,
        "limit": limit_in_words(rule, figure),
        "as_enacted": limit_in_words(rule, None),
    }
    said |= {key: text for key, text in (("also_printed", also_printed(rule)), ("when", when_in_words(rule))) if text}
    said["applies"] = each.applies
    if each.demand and each.demand.extended:
        said["extended"] = True
    return said | source_of(rule)


def _rank(each: Heard) -> tuple[Any, ...]:
    """Sure before possible; the lowest ceiling first, the highest floor, few permitted and many prohibited words."""
    sort = _sort(each)
    if sort in _SORTS[:2]:
        strictness = _strictness(each)
    else:
        count = 0 if sort == "unknown" else len(_words(each))
        strictness = Fraction(-count if sort == "prohibited" else count), False
    place = {"ceiling": 0, "floor": 1, "unknown": 3}.get(sort, 2)
    return each.applies is None, place, *strictness, each.name


def _strictness(each: Heard) -> tuple[Fraction, bool]:
    """Less is stricter: of one figure, what excludes it is stricter than what includes it."""
    assert each.demand is not None
    assert each.demand.strict is not None
    bound = bound_of(_rule(each))
    value = each.demand.strict
    return (value if is_ceiling(bound) else -value), bound in ("at-most", "at-least")


def _sort(each: Heard) -> str:
    rule = _rule(each)
    if "limit" in rule:
        if each.demand is None or each.demand.strict is None:
            return "unknown"
        return "ceiling" if is_ceiling(bound_of(rule)) else "floor"
    return "permitted" if "permit" in rule else "prohibited"


def _figure(each: Heard) -> str | int:
    assert each.demand is not None
    assert each.demand.figure is not None
    return int(each.demand.figure) if each.demand.figure.isdigit() else each.demand.figure


def _words(each: Heard) -> set[str]:
    return set(words_of(_rule(each)))


def _rule(each: Heard) -> Rule:
    assert each.rule is not None
    return each.rule
