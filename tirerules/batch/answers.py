"""What is told of each ticket, and how answers to distinct rows become the columns of all rows."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final, NamedTuple

import numpy as np
import pyarrow as pa

from tirerules.deciding.decision import Outcome, Reason, Verdict
from tirerules.deciding.limits import FactLimits
from tirerules.decision import VERDICTS as BY_NUMBER
from tirerules.decision import Decision
from tirerules.index.plan import Plan
from tirerules.packs.rule import RELATIONS, Rule
from tirerules.telling import limits as limits_by
from tirerules.vocabulary import FACTS

__all__ = [
    "ANSWER_SCHEMA",
    "QUESTION_FACTS",
    "TEXTS",
    "VERDICTS",
    "Answer",
    "Answered",
    "answer_of",
    "assemble",
    "beside",
    "questions_of",
    "told",
]

#: The facts that can be asked; fact number n is bit n of the column `questions`. At most 63, which a test holds.
QUESTION_FACTS: Final = tuple(name for name, fact in FACTS.items() if not fact.derived)
_BIT: Final = {name: 1 << place for place, name in enumerate(QUESTION_FACTS)}

#: The words behind the codes of the column `verdict`, by code.
VERDICTS: Final = tuple(map(str, Verdict))

#: The columns of text, in the order in which they are told.
TEXTS: Final = ("method", "size_limit", "size_rule", "tread_limit", "tread_rule", "failing_rule", "failing_fact")

_TEXT: Final = pa.dictionary(pa.int32(), pa.string())
#: The columns of the answers, without those that the caller keeps. The metadata names the facts behind the bits of
#: `questions`, so that a file can be read by whoever has another version of this library.
ANSWER_SCHEMA: Final = pa.schema(
    [
        pa.field("row", pa.int64(), nullable=False),
        pa.field("verdict", pa.dictionary(pa.int8(), pa.string()), nullable=False),
        *(pa.field(name, _TEXT) for name in TEXTS),
        pa.field("questions", pa.int64(), nullable=False),
    ],
    metadata={"tirerules.questions": json.dumps(QUESTION_FACTS)},
)


class Answer(NamedTuple):
    """What is told of one ticket; None where there is nothing to tell."""

    verdict: int  #: its place in `VERDICTS`
    method: str | None  #: the method that does it best
    size_limit: str | None  #: the strictest limit on the injury's size by that method
    size_rule: str | None  #: the rules that set it
    tread_limit: str | None
    tread_rule: str | None
    failing_rule: str | None  #: the first reason that fails
    failing_fact: str | None
    questions: int  #: bits over `QUESTION_FACTS`


@dataclass(frozen=True, slots=True)
class Answered:
    """Every row of a table of tickets: those that were decided, and those set aside, each in the table's order.

    `answers` has the columns of `ANSWER_SCHEMA` and then those kept; `set_aside` has `row`, `reason` and those kept.
    """

    answers: pa.Table
    set_aside: pa.Table


def told(plan: Plan, rules: Sequence[Rule], verdict: int, method: str | None, failing: int, sure: int) -> Answer:
    """Return what is told of rows by a plan: the first failing rule as its bit, and the limits that surely apply."""
    limits = limits_by(plan, rules, sure, 0, 0)
    size, tread = (limits.get(fact) for fact in ("injury.diameter", "tire.tread_depth"))
    row = plan.rows[failing.bit_length() - 1] if failing else None
    return Answer(
        verdict=VERDICTS.index(BY_NUMBER[verdict]),
        method=method,
        size_limit=_limit(size),
        size_rule=_binding(size),
        tread_limit=_limit(tread),
        tread_rule=_binding(tread),
        failing_rule=None if row is None else row["name"],
        failing_fact=None if row is None else row["body"]["fact"],
        questions=0,
    )


def answer_of(decision: Decision) -> Answer:
    """Return what is told of a decision."""
    size, tread = (decision.limits.get(fact) for fact in ("injury.diameter", "tire.tread_depth"))
    failing = _failing(decision)
    return Answer(
        verdict=VERDICTS.index(decision.verdict),
        method=decision.limits_method,
        size_limit=_limit(size),
        size_rule=_binding(size),
        tread_limit=_limit(tread),
        tread_rule=_binding(tread),
        failing_rule=None if failing is None else failing.rule,
        failing_fact=None if failing is None else failing.fact,
        questions=sum(
            {_BIT[question.fact] for question in decision.questions}
        ),  # one fact may be asked of two injuries
    )


def questions_of(bits: int) -> tuple[str, ...]:
    """Return the facts behind a value of the column `questions`."""
    return tuple(name for name, bit in _BIT.items() if bits & bit)


def _failing(decision: Decision) -> Reason | None:
    if decision.verdict is Verdict.WITHIN:
        return None  # nothing fails: the reasons need not be worked out
    best = (each.reasons for each in decision.methods if each.method == decision.limits_method)
    reasons = (reason for found in (decision.reasons, *best) for reason in found)
    return next((reason for reason in reasons if reason.outcome is Outcome.FAILS), None)


def _limit(limits: FactLimits | None) -> str | None:
    """Return the strictest limit in words, such as ``at most 6 mm``."""
    figures = ((relation, limits and getattr(limits, relation.replace("-", "_"))) for relation in RELATIONS)
    said = [f"{relation.replace('-', ' ')} {figure}" for relation, figure in figures if figure is not None]
    return ", ".join(said) or None


def _binding(limits: FactLimits | None) -> str | None:
    return (limits and ",".join(limits.binding)) or None


def assemble(found: Sequence[Answer | str], group: Any, rows: Any, kept: pa.Table, day: date) -> Answered:
    """Spread what was found for each group of equal rows (an answer, or the reason it is set aside) over all rows.

    `group` and `rows` are the group and the number of each row (int64 arrays); `kept` has the columns that are carried
    through; `day` is the day on which rows were decided that name none.
    """
    good = np.fromiter((isinstance(each, Answer) for each in found), dtype=bool, count=len(found))
    place = np.cumsum(good) - 1  # of a group among the groups that are good
    answered = good[group]
    answers = _columns([each for each in found if isinstance(each, Answer)], place[group[answered]])
    reasons = pa.array([each if isinstance(each, str) else None for each in found], pa.string())
    aside = group[~answered]
    schema = ANSWER_SCHEMA.with_metadata({**ANSWER_SCHEMA.metadata, "tirerules.day": day.isoformat()})
    return Answered(
        beside(pa.Table.from_arrays([pa.array(rows[answered]), *answers], schema=schema), _where(kept, answered)),
        beside(pa.table({"row": rows[~answered], "reason": reasons.take(pa.array(aside))}), _where(kept, ~answered)),
    )


def _columns(answers: Sequence[Answer], group: Any) -> list[pa.Array]:
    """Return the columns after `row`: made once for each distinct answer, then taken for each row."""
    taken = pa.array(group)
    codes = pa.array([answer.verdict for answer in answers], pa.int8())
    texts = (
        pa.array([getattr(answer, name) for answer in answers], pa.string()).dictionary_encode().take(taken)
        for name in TEXTS
    )
    questions = pa.array([answer.questions for answer in answers], pa.int64())
    return [pa.DictionaryArray.from_arrays(codes.take(taken), VERDICTS), *texts, questions.take(taken)]


def beside(table: pa.Table, kept: pa.Table) -> pa.Table:
    """Return a table with the columns of another one after its own."""
    for field, column in zip(kept.schema, kept.columns, strict=True):
        table = table.append_column(field, column)
    return table


def _where(table: pa.Table, wanted: Any) -> pa.Table:
    return table.filter(pa.array(wanted))


def plain(table: pa.Table) -> pa.Table:
    """Return a table with its dictionaries written out."""
    fields = [
        field.with_type(field.type.value_type) if pa.types.is_dictionary(field.type) else field
        for field in table.schema
    ]
    return table.cast(pa.schema(fields, table.schema.metadata))
