"""Decisions and ladders as a counter person reads them: the verdict first, then why, what to measure, what to heed.

Whatever comes from a pack or a case is escaped before it is put into a line: nothing in it can start a line of its own.
"""

from __future__ import annotations

import re
import textwrap

from tirerules.engine.parts import Outcome, Verdict
from tirerules.engine.words import verdict_words
from tirerules.escaping import escaped
from tirerules.quantities import decimal_text, quantity
from tirerules.units import size_of
from tirerules.vocabulary import PAIRED, Dimension

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from fractions import Fraction
    from typing import Final

    from tirerules.case import CaseRow
    from tirerules.decision import Decision
    from tirerules.engine.parts import FactLimits, Reason, Rung
    from tirerules.quantities import Quantity

__all__ = [
    "both_units",
    "decision_text",
    "is_several",
    "limits_text",
    "prose",
    "rested_on",
    "subject_told",
    "told_reasons",
]

_WIDTH: Final = 100
#: How a reason tells a fact that is not known.
_UNKNOWN: Final = "unknown"
#: Passing these goes without saying; failing them is told.
_UNSHOWN: Final = ("findings", "method", "repairs.overlap")
_OTHER_UNIT: Final = {"mm": "in", "cm": "in", "m": "in", "in": "mm", "kg": "lb", "lb": "kg"}
#: The figure at the end of a limit in words, with its unit.
_FIGURE: Final = re.compile(r" [0-9. /-]*[0-9] (?P<unit>mm|cm|m|in|kg|lb)$")


def prose(text: str) -> str:
    """Return text that may stand on several lines in a pack as it is shown on one."""
    return escaped(" ".join(text.split("\n")).strip())


def _filled(text: str, first: str, rest: str) -> str:
    """Return text in lines of a terminal's width, behind `first` and then `rest`."""
    return textwrap.fill(prose(text), _WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False)


def decision_text(decision: Decision) -> str:
    """Return the decision as lines of plain text."""
    row = decision.row
    lines = [
        verdict_words(row.activity, decision.verdict, decision.one_method).upper(),
        escaped(f"{', '.join(row.codes)} | {row.activity} | {row.on} | {row.reading} reading"),
    ]
    lines += _section("Why", _why(decision))
    lines += _section("Where it lies", _geometry(decision))
    if len(decision.methods) > 1:
        lines += _section("By method", _methods(decision))
    lines += _section("Find out next", _questions(decision))
    if decision.verdict is not Verdict.OUTSIDE:
        lines += _section("Provided that", _requirements(decision))
    lines += _section("Note", (_bullet(notice.text) for notice in decision.notices))
    lines += _section("Caution", (_bullet(caution) for caution in decision.cautions))
    return "\n".join(lines)


def _section(title: str, lines: Iterator[str]) -> list[str]:
    found = list(lines)
    return ["", title, *found] if found else []


def _bullet(text: str) -> str:
    return _filled(text, "  - ", "    ")


def _why(decision: Decision) -> Iterator[str]:
    """What decides: the failures, or else what is open, or else the binding limits that the case stays within."""
    reasons = told_reasons(decision)
    wanted = {Verdict.OUTSIDE: Outcome.FAILS, Verdict.UNDETERMINED: Outcome.UNKNOWN}.get(decision.verdict)
    shown = rested_on(decision, reasons) if wanted is None else [each for each in reasons if each.outcome is wanted]
    several = is_several(decision.row)
    unknown = [each for each in shown if each.outcome is Outcome.UNKNOWN and each.measured == _UNKNOWN]
    for reason in shown:
        if reason not in unknown:
            yield from _reason(reason, several)
    yield from _not_known(unknown, decision.row, several)


def told_reasons(decision: Decision) -> list[Reason]:
    """Return the reasons that no method changes, and those of the leading method, each rule once for a subject."""
    leading = [reason for each in decision.methods if each.method == decision.limits_method for reason in each.reasons]
    return list({(each.rule, each.subject): each for each in (*decision.reasons, *leading)}.values())


def is_several(row: CaseRow) -> bool:
    """Whether there is more than one injury, so that each must be told apart."""
    return len(row.injuries or ()) > 1


def rested_on(decision: Decision, reasons: Sequence[Reason]) -> list[Reason]:
    """Return the limits that a case within them rests on: the strictest of each fact, or whatever else it passed."""
    binding = {rule for limits in decision.limits.values() for rule in limits.binding}
    passing = [each for each in reasons if each.applies and each.outcome is Outcome.PASSES]
    limiting = [each for each in passing if each.fact not in _UNSHOWN]
    return [each for each in limiting if each.rule in binding] or limiting or passing


def _not_known(reasons: Sequence[Reason], row: CaseRow, several: bool) -> Iterator[str]:
    """One line for each fact that is not known at all, however many rules wait for it.

    Where earlier repairs were not mentioned, that is what is not known, not the measures of one that may not exist.
    """
    waiting: dict[str, list[str]] = {}
    for reason in reasons:
        fact = "earlier_repairs" if _unmentioned(reason, row) else f"{reason.fact}{subject_told(reason, several)}"
        waiting.setdefault(fact, []).append(reason.rule)
    for fact, rules in waiting.items():
        yield _filled(f"??  {fact}: not known; needed for {', '.join(dict.fromkeys(rules))}", "  ", " " * 6)


def _unmentioned(reason: Reason, row: CaseRow) -> bool:
    """Whether a reason waits for repairs that nobody spoke of: one, their number, or a pair with one of them."""
    if row.repairs is not None:
        return False
    paired = reason.fact in PAIRED and len(row.injuries or ()) < 2
    return paired or reason.fact == "repairs.count" or reason.subject.startswith("earlier")


def subject_told(reason: Reason, several: bool) -> str:
    """Say which injury or earlier repair, where there is more than one thing it could be."""
    return f" ({reason.subject})" if reason.subject and (several or reason.subject.startswith("earlier")) else ""


def _reason(reason: Reason, several: bool) -> Iterator[str]:
    measured = f" {reason.measured}" if reason.measured else ""
    limit = f" -- {both_units(reason.limit)}" if reason.limit else ""
    mark = {Outcome.PASSES: "ok", Outcome.FAILS: "NO", Outcome.UNKNOWN: "??"}[reason.outcome]
    yield escaped(f"  {mark}  {reason.fact}{subject_told(reason, several)}:{measured}{limit}")
    extended = " Extended on the unit's documented rating." if reason.extended else ""
    says = extended.strip() if reason.outcome is Outcome.PASSES else reason.says + extended
    if says:
        yield _filled(says, " " * 6, " " * 6)
    if reason.source is not None:
        source = f"{reason.source.citation} [{reason.source.authority}, {reason.source.evidence}] ({reason.rule})"
        yield _filled(source, " " * 6, " " * 6)


def both_units(limit: str) -> str:
    """Add the other unit to a limit such as ``at most 6 mm``."""
    found = _FIGURE.search(limit)
    if found is None:
        return limit
    dimension = Dimension.MASS if found["unit"] in ("kg", "lb") else Dimension.LENGTH
    return f"{limit} ({_other(quantity(found[0].strip(), dimension))})"


def _other(value: Quantity) -> str:
    unit = _OTHER_UNIT[value.unit]
    above, below = size_of(unit)
    return f"{decimal_text((value.above * below, value.below * above))} {unit}"


def _geometry(decision: Decision) -> Iterator[str]:
    """Where each measured injury lies, where a band was drawn: offset, reach on both faces, band, margin."""
    for found in decision.geometry:
        if found.band is None or found.margin is None:
            continue
        offset = escaped(found.offset)
        if not found.known:
            yield f"  injury {found.injury}: {offset} from the center line; how far it reaches is not known yet"
            continue
        outer, inner, band, margin = (_length(each) for each in (found.outer, found.inner, found.band, found.margin))
        yield f"  injury {found.injury}: {offset} from the center line"
        yield f"      reaches {outer} outside and {inner} inside"
        yield f"      band {band} ({found.rule}); margin {margin}"


def _length(value: Fraction) -> str:
    return f"{decimal_text(value, 2)} mm ({decimal_text(value * 10 / 254)} in)"


def _methods(decision: Decision) -> Iterator[str]:
    injuries = {each.injury for each in decision.methods}
    for each in decision.methods:
        which = f"injury {each.injury}, " if len(injuries) > 1 else ""
        # Only a rule that fails explains an outside, and only one that is open explains what cannot be told.
        wanted = {Verdict.OUTSIDE: Outcome.FAILS, Verdict.UNDETERMINED: Outcome.UNKNOWN}.get(each.verdict)
        against = next((reason for reason in each.reasons if reason.outcome is wanted), None)
        why = f": {against.says} ({against.rule})" if against else ""
        yield _filled(f"{which}{each.method}: {each.verdict.replace('-', ' ')}{why}", "  ", " " * 6)


def _questions(decision: Decision) -> Iterator[str]:
    for number, question in enumerate(decision.questions, start=1):
        unit = f" [{question.unit}]" if question.unit else ""
        subject = f"{question.subject}: " if question.subject else ""
        yield _filled(f"{number}. {subject}{question.ask}{unit} ({question.fact})", "  ", " " * 5)


def _requirements(decision: Decision) -> Iterator[str]:
    for each in decision.requirements:
        yield _bullet(f"(if {each.when}) {each.say}" if each.when else each.say)


def limits_text(title: str, limits: Mapping[str, FactLimits]) -> str:
    """Return the ladders of one activity as lines of plain text, strictest rung first."""
    lines = [escaped(title)]
    for fact, found in limits.items():
        lines.append(f"  {fact}")
        for rung in found.ladder:
            lines += _rung(rung, found.binding)
    return "\n".join(lines)


def _rung(rung: Rung, binding: Sequence[str]) -> Iterator[str]:
    mark = "*" if rung.rule.name in binding and rung.applies else " "
    dual = f", also printed {rung.also_printed}" if rung.also_printed else ""
    enacted = f" (as enacted: {rung.as_enacted}{dual})" if rung.also_printed or rung.extended else ""
    yield _filled(f"{both_units(rung.limit)}{enacted}", f"   {mark} ", " " * 7)
    where = f"only if {rung.when}. " if rung.applies is None else ""
    source = rung.rule.source
    text = f"{where}{rung.rule.name}: {source.citation} [{source.authority}, {source.evidence}]"
    yield _filled(text, " " * 7, " " * 7)
