"""A decision in at most fifteen lines: the verdict, what decides it, what comes next, what must be done, the cautions.

The rules that decide stand with their figure, the measure, the citation and the grade of evidence; all others are
counted by grade. Every line comes from a template or is escaped text of others; nothing in it can start a line of its
own. `--full` shows everything (`tirerules.cli.text`).
"""

from __future__ import annotations

import textwrap

from tirerules.cli.asking import flag_of
from tirerules.cli.text import both_units, is_several, prose, rested_on, subject_told, told_reasons
from tirerules.engine.words import verdict_words
from tirerules.escaping import escaped
from tirerules.labels import label_of, name_of
from tirerules.templates import filled
from tirerules.vocabulary import EVIDENCE, FACTS, Outcome, Verdict

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from typing import Final

    from tirerules.decision import Decision
    from tirerules.engine.parts import Question, Reason, Remedy
    from tirerules.templates import Parameter

__all__ = ["line_text", "short_text"]

#: How many rules, questions and remedies are told in full.
_TOLD: Final = 2
#: How many lines a fact may take with its limit.
_LINES: Final = 2
#: The kinds of notices that are named where there is one.
_NOTABLE: Final = ("extension", "not-yet-in-force", "resale")
#: How a limit begins that names words and no figure.
_OF_WORDS: Final = ("one of", "none of")


def short_text(decision: Decision, width: int = 80) -> str:
    """Return a decision in a few lines of at most `width` columns."""
    row = decision.row
    lines = [verdict_words(row.activity, decision.verdict, decision.one_method).upper()]
    lines.append(_cut(f"{', '.join(row.codes)} | {row.activity} | {row.on}", width))
    for reason in _deciding(decision)[:_TOLD]:
        lines += _because(reason, is_several(row), width)
    lines += _next(decision, width)
    for notice in decision.notices:  # whoever put a pack in place of another is told by every answer
        if notice.kind == "replaced":
            lines += _wrapped(notice.text, width, _LINES)
    if decision.verdict is Verdict.WITHIN and decision.requirements:
        steps = tuple(label_of(each.step) for each in decision.requirements)
        lines += _wrapped(filled("short.provided", {"steps": steps}), width)
    lines += _wrapped(_rest(decision), width)
    lines += _wrapped(filled("short.caution", {}), width)
    return "\n".join(lines)


def line_text(decision: Decision) -> str:
    """Return a decision as one line."""
    row = decision.row
    said = [verdict_words(row.activity, decision.verdict, decision.one_method), ", ".join(row.codes), str(row.on)]
    said += [_fact(each, is_several(row)) for each in _deciding(decision)[:1]]
    said += [question.ask for question in decision.questions[:1]]
    return escaped(" | ".join(said))


def _deciding(decision: Decision) -> list[Reason]:
    """Return what decides, most telling first: what fails, what is open and is nobody's question, or what binds."""
    reasons = told_reasons(decision)
    if decision.verdict is Verdict.OUTSIDE:
        found = [each for each in reasons if each.outcome is Outcome.FAILS]
    elif decision.verdict is Verdict.UNDETERMINED:
        found = [each for each in reasons if each.outcome is Outcome.UNKNOWN and each.source is None]
    else:
        found = rested_on(decision, reasons)
        found = [each for each in found if not each.limit.startswith(_OF_WORDS)] or found
        found.sort(key=lambda each: (not each.fact.startswith("injury."), list(FACTS).index(each.fact)))
    by_fact: dict[tuple[str, str], Reason] = {}
    for each in found:  # of several rules on one fact the first is the strictest
        by_fact.setdefault((each.fact, each.subject), each)
    return list(by_fact.values())


def _because(reason: Reason, several: bool, width: int) -> Iterator[str]:
    if reason.source is None:  # what no rule speaks to says so itself
        yield from _wrapped(f"- {reason.says}", width)
        return
    yield from _wrapped(f"- {_fact(reason, several)}", width, _LINES)
    grades = f"{label_of(reason.source.authority)}, {label_of(reason.source.evidence).lower()}"
    yield from _wrapped(f"  {prose(reason.source.citation)}", width, 1)
    yield f"  [{grades}]"


def _fact(reason: Reason, several: bool) -> str:
    """Return a fact with its measure and its limit, or, of words, with what the rule says."""
    says = reason.says if reason.limit.startswith(_OF_WORDS) else both_units(reason.limit)
    return f"{name_of(reason.fact)}{subject_told(reason, several)}: {reason.measured or 'unknown'}; {says}"


def _next(decision: Decision, width: int) -> Iterator[str]:
    """Yield what to find out, or what may be done instead."""
    if decision.verdict is Verdict.UNDETERMINED:
        for number, question in enumerate(decision.questions[:_TOLD], start=1):
            yield from _wrapped(f"{number}. {_asked(question)}", width)
        more = len(decision.questions) - _TOLD
        if more > 0:
            yield filled("short.more-questions", {"count": more})
    elif decision.verdict is Verdict.OUTSIDE:
        remedies = decision.remedies.sets
        if not remedies:
            yield from _wrapped(filled("short.no-remedy", {}), width)
        for remedy in remedies[:_TOLD]:
            yield from _wrapped(filled("short.remedy", {"changes": _changes(remedy)}), width)


def _asked(question: Question) -> str:
    subject = f"{question.subject}: " if question.subject else ""
    unit = f" [{' or '.join(question.units)}]" if question.units else ""
    flag = flag_of(question.fact)
    return f"{subject}{question.ask}{unit}{f' ({flag})' if flag else ''}"


def _changes(remedy: Remedy) -> tuple[str, ...]:
    named = {"method": "change.method", "activity": "change.activity", "on": "change.on"}
    return tuple(
        filled("change.no-unit" if each.to == "none" else "change.unit", {"unit": each.to})
        if each.fact == "repair_unit"
        else filled(named[each.fact], {"to": each.to})
        for each in remedy.changes
    )


def _rest(decision: Decision) -> str:
    """Count the grades of all rules behind the answer, and the notes beside it."""
    sources = {rung.rule.name: rung.rule.source for limits in decision.limits.values() for rung in limits.ladder}
    counts = {grade: sum(each.evidence == grade for each in sources.values()) for grade in EVIDENCE}
    grades = tuple(f"{count} {label_of(grade).lower()}" for grade, count in counts.items() if count)
    notable = tuple(dict.fromkeys(each.kind for each in decision.notices if each.kind in _NOTABLE))
    said: dict[str, Parameter] = {"grades": grades or ("0",), "count": len(decision.notices), "notes": notable}
    return filled("short.rest-with" if notable else "short.rest", said)


def _wrapped(text: str, width: int, most: int | None = None) -> Sequence[str]:
    """Return text in lines, of which the last says where there would be more than `most`."""
    first = text[: len(text) - len(text.lstrip())]
    return textwrap.wrap(
        prose(text),
        width,
        initial_indent=first,
        subsequent_indent="  ",
        break_on_hyphens=False,
        max_lines=most,
        placeholder=" ...",
    )


def _cut(text: str, width: int) -> str:
    shown = prose(text)
    return shown if len(shown) <= width else f"{shown[: width - 3].rstrip()}..."
