"""Demands in words, figures as the rules print them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from typing import Final

from tirerules.authoring.comparing.axes import Known
from tirerules.authoring.comparing.demands import Bound, Demand, Demands, Line
from tirerules.authoring.comparing.topics import Clause, Sort, Topic
from tirerules.packs.rule import Counted, Limit, Relative
from tirerules.strictest.bounds import Strictest
from tirerules.vocabulary import FACTS

__all__ = ["ALWAYS", "NOTHING", "demand_text", "difference_text", "scope_text", "setting_rules"]

ALWAYS: Final = "on every day"
NOTHING: Final = "no limit"

#: How it is said that something is gone, or is new, for topics that add up.
_CHANGES: Final[Mapping[Sort, tuple[str, str]]] = {
    Sort.FINDINGS: ("no longer disqualify:", "now disqualify:"),
    Sort.STEPS: ("no longer ask for:", "now ask for:"),
    Sort.JUDGED: (
        "that no rule speaks to any longer, so that a case with one is undetermined unless another pack does:",
        "that a rule now speaks to, where a case with one was undetermined unless another pack did:",
    ),
    Sort.LIMITED: (
        "is limited by no rule any longer, so that a case is undetermined unless another pack limits it",
        "is limited now, where a case was undetermined unless another pack limited it",
    ),
}


def setting_rules(
    demands: Demands, clauses: Sequence[Clause], known: Known, mine: Demand, other: Demand
) -> frozenset[str]:
    """Return the ids of the rules that set what `mine` (of `clauses`) demands, as far as `other` differs from it."""
    topic = demands.topic
    if topic.sort in (Sort.CEILING, Sort.FLOOR):
        setting = (_setting(demands, met, clauses, way, known) for way, met in enumerate(mine.strictest))
        return frozenset(clause.rule.id for found in setting for clause, _ in found)
    changed = _words(topic, mine.strictest[0]) ^ _words(topic, other.strictest[0])
    return frozenset(clause.rule.id for clause in clauses if _forbidden(topic, clause) & changed)


def _words(topic: Topic, strictest: Strictest) -> frozenset[str]:
    """Return what a set of words forbids, or asks for."""
    if strictest.permitted is None:
        return strictest.prohibited
    return frozenset(FACTS[topic.fact].values) - strictest.permitted


def _forbidden(topic: Topic, clause: Clause) -> frozenset[str]:
    assert isinstance(clause.body, frozenset)  # INVARIANT: only topics of words come here
    return frozenset(FACTS[topic.fact].values) - clause.body if topic.sort is Sort.VALUES else clause.body


def _setting(
    demands: Demands, met: Strictest, clauses: Iterable[Clause], way: int, known: Known
) -> list[tuple[Clause, Bound]]:
    found = ((clause, demands.bound(clause, way, known)) for clause in clauses)
    return [(clause, each) for clause, each in found if each is not None and each.strictest == met]


def demand_text(demands: Demands, clauses: Sequence[Clause], known: Known) -> str:
    """Return in words what `clauses`, which all apply, demand together."""
    topic, found = demands.topic, demands.of(clauses, known)
    if found.nothing:
        return NOTHING
    if topic.sort in (Sort.CEILING, Sort.FLOOR):
        return _limit_text(demands, clauses, known, found)
    if topic.sort is not Sort.VALUES:
        return ", ".join(_ordered(topic, found.strictest[0].prohibited))
    words = _ordered(topic, demands.admitted(clauses))
    others = [word for word in FACTS[topic.fact].values if word not in words]
    if not words:
        return "no value at all"
    return f"one of {', '.join(words)}" if len(words) <= len(others) else f"none of {', '.join(others)}"


def _ordered(topic: Topic, words: Iterable[str]) -> list[str]:
    known = list(FACTS[topic.fact].values) if topic.fact else []
    return sorted(words, key=lambda word: (known.index(word) if word in known else 0, word))


def difference_text(topic: Topic, old: Strictest, new: Strictest) -> str:
    """Return in words what is new and what is gone, for a topic that adds up: findings, steps."""
    gone, added = old.prohibited - new.prohibited, new.prohibited - old.prohibited
    no_longer, now = _CHANGES[topic.sort]
    if topic.sort is Sort.LIMITED:
        return now if added else no_longer
    parts = [(no_longer, gone), (now, added)]
    return "; ".join(f"{words} {', '.join(_ordered(topic, each))}" for words, each in parts if each)


def scope_text(demands: Demands, old: Demand, new: Demand) -> str:
    """Return in words what the figures themselves do not show: where only one way of reading them changed."""
    pairs = list(zip(demands.ways, old.strictest, new.strictest, strict=True))
    if all(before == after for way, before, after in pairs if way.reading == "strict"):
        return ", as enacted"
    low = [(before, after) for way, before, after in pairs if way.rating == "low"]
    if any(before != after and before.within(after) for before, after in low):
        return "; a unit rated lower no longer lowers it"
    if any(before != after and after.within(before) for before, after in low):
        return "; a unit rated lower lowers it"
    return ""


# --- limits -----------------------------------------------------------------------------------------------------------


def _limit_text(demands: Demands, clauses: Sequence[Clause], known: Known, found: Demand) -> str:
    """Tell the limit under the strict reading; then, where other rules set it, as enacted."""
    said: list[str] = []
    for counted in dict.fromkeys(way.counted for way in demands.ways):
        strict, enacted = (
            _one_text(_setting(demands, met, clauses, number, known), counted)
            for number, (way, met) in enumerate(zip(demands.ways, found.strictest, strict=True))
            if way.counted == counted and not way.rating
        )
        if strict:
            said.append(strict if enacted in (strict, "") else f"{strict} (as enacted: {enacted})")
        elif enacted:
            said.append(f"as enacted {enacted}")
    return " and ".join(dict.fromkeys(said)) + _extension_text(clauses)


def _one_text(setting: Iterable[tuple[Clause, Bound]], counted: Counted) -> str:
    """Tell the figure of the first of the rules that set it; nothing where it only follows from a stricter count."""
    for clause, bound in setting:
        body, original = clause.body, clause.rule.body
        if not isinstance(body, Limit) or not isinstance(original, Limit) or body.counted != counted:
            continue
        relation = body.relation.replace("-", " ")
        if isinstance(original.value, Relative):
            return f"{relation} {_line_text(bound.identity[0], original.value)}"
        printed = f"{original.value} ({original.also})" if original.also is not None else str(original.value)
        return " ".join(part for part in (relation, printed, str(body.counted)) if part)
    return ""


def _line_text(line: Line, relative: Relative) -> str:
    share = 2 * line.slope
    datum = relative.of.partition(".")[2].replace("_", " ")
    whole = "the" if share == 1 else f"{_share_text(share)} of the"
    return f"half of {whole} {datum}" + (f" less {relative.inset}" if line.height else "")


def _share_text(share: Fraction) -> str:
    percent = share * 100
    return f"{percent} %" if percent.denominator == 1 and share.denominator not in (2, 4) else str(share)


def _extension_text(clauses: Sequence[Clause]) -> str:
    """Tell how far a unit's documented rating can move the limit, for rules that let it."""
    caps = sorted({str(clause.up_to) for clause in clauses if clause.up_to is not None})
    return f", extendable up to {' or '.join(caps)}" if caps else ""
