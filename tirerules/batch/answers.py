"""What is told of each ticket, and how answers to distinct rows become the columns of all rows."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final, NamedTuple

import numpy as np
import pyarrow as pa

from tirerules.deciding.decision import Outcome, Reason, Verdict
from tirerules.deciding.limits import FactLimits
from tirerules.decision import VERDICTS as BY_NUMBER
from tirerules.decision import Decision
from tirerules.index.plan import SEVERAL_INJURIES, Plan
from tirerules.packs.rule import RELATIONS, Rule
from tirerules.telling import limits as limits_by
from tirerules.vocabulary import FACTS

__all__ = [
    "ANSWER_SCHEMA",
    "LIMITED",
    "QUESTION_FACTS",
    "TEXTS",
    "VERDICTS",
    "Answer",
    "Answered",
    "Told",
    "answer_by",
    "answer_of",
    "asked_of",
    "beside",
    "limiting",
    "questions_of",
]

#: The facts that can be asked; fact number n is bit n of the column `questions`. At most 63, which a test holds.
QUESTION_FACTS: Final = tuple(name for name, fact in FACTS.items() if not fact.derived)
_BIT: Final = {name: 1 << place for place, name in enumerate(QUESTION_FACTS)}

#: The words behind the codes of the column `verdict`, by code.
VERDICTS: Final = tuple(map(str, Verdict))

#: The columns of text, in the order in which they are told.
TEXTS: Final = ("method", "size_limit", "size_rule", "tread_limit", "tread_rule", "failing_rule", "failing_fact")

#: The facts whose strictest limits are told.
LIMITED: Final = ("injury.diameter", "tire.tread_depth")
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


def limiting(plan: Plan) -> int:
    """Return the rules of a plan that limit one of `LIMITED`, a bit for each."""
    known = plan.cache("limits size or tread")
    if not known:
        known[None] = sum(1 << at for at, row in enumerate(plan.rows) if row["body"] and row["body"]["fact"] in LIMITED)
    rules: int = known[None]
    return rules


def answer_by(plan: Plan, rules: Sequence[Rule], verdict: int, method: str | None, failing: int, sure: int) -> Answer:
    """Return what is told of rows by a plan: the first failing rule as its bit, and the limits that surely apply."""
    limited = sure & limiting(plan)
    known = plan.cache("size and tread")
    told = known.get(limited)
    if told is None:
        limits = limits_by(plan, rules, limited, 0, 0)
        size, tread = (limits.get(fact) for fact in LIMITED)
        told = known[limited] = _limit(size), _binding(size), _limit(tread), _binding(tread)
    size_limit, size_rule, tread_limit, tread_rule = told
    row = plan.rows[failing.bit_length() - 1] if failing else None
    return Answer(
        verdict=VERDICTS.index(BY_NUMBER[verdict]),
        method=method,
        size_limit=size_limit,
        size_rule=size_rule,
        tread_limit=tread_limit,
        tread_rule=tread_rule,
        failing_rule=None if row is None else row["name"],
        failing_fact=None if row is None else row["body"]["fact"],
        questions=0,
    )


def answer_of(decision: Decision) -> Answer:
    """Return what is told of a decision."""
    asked = asked_of(decision)
    found, plan = decision._found, decision._plan
    if found is not None and not found.flags & SEVERAL_INJURIES:
        leading = next((each.failing for each in found.methods if each.name == found.leading), 0)
        failing = 0 if decision.verdict is Verdict.WITHIN else found.failing or leading
        rules = decision._desk.rules_of(plan)
        first = failing & -failing
        return answer_by(plan, rules, found.verdict, found.leading, first, found.sure)._replace(questions=asked)
    size, tread = (decision.limits.get(fact) for fact in LIMITED)
    failing_reason = _failing(decision)
    return Answer(
        verdict=VERDICTS.index(decision.verdict),
        method=decision.limits_method,
        size_limit=_limit(size),
        size_rule=_binding(size),
        tread_limit=_limit(tread),
        tread_rule=_binding(tread),
        failing_rule=None if failing_reason is None else failing_reason.rule,
        failing_fact=None if failing_reason is None else failing_reason.fact,
        questions=asked,
    )


def asked_of(decision: Decision) -> int:
    """Return the facts that a decision asks for, as bits over `QUESTION_FACTS`."""
    return sum({_BIT[fact] for fact in decision.asked})  # one fact may be asked of two injuries


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


class Told:
    """Every answer that was told, and every reason for having none, once; each has a place, from 0.

    The columns of all answers are kept as codes, so that those of a table are taken from them row by row.
    """

    def __init__(self) -> None:
        self._places: dict[Answer | str, int] = {}
        self._words: dict[str, dict[str | None, int]] = {name: {} for name in TEXTS}
        self._codes: dict[str, list[int]] = {name: [] for name in (*TEXTS, "verdict", "questions")}
        self._reasons: list[str | None] = []

    def __len__(self) -> int:
        return len(self._places)

    def place(self, said: Answer | str) -> int:
        """Return the place of an answer, or of the reason why a row is set aside."""
        place = self._places.get(said)
        if place is None:
            place = self._places[said] = len(self._places)
            answer = said if isinstance(said, Answer) else _NO_ANSWER
            self._reasons.append(None if isinstance(said, Answer) else said)
            for name, words in self._words.items():
                text = getattr(answer, name)
                self._codes[name].append(-1 if text is None else words.setdefault(text, len(words)))
            self._codes["verdict"].append(answer.verdict)
            self._codes["questions"].append(answer.questions)
        return place

    def assemble(self, places: Any, rows: Any, kept: pa.Table, day: date) -> Answered:
        """Return the answers of rows by their places (int64 array).

        `rows` has the number of each; `kept` has the columns that are carried through; `day` is the day on which rows
        were decided that name none.
        """
        good = np.array([reason is None for reason in self._reasons], bool)
        answered = good.take(places) if len(good) else np.zeros(0, bool)
        schema = ANSWER_SCHEMA.with_metadata({**ANSWER_SCHEMA.metadata, "tirerules.day": day.isoformat()})
        if answered.all():
            aside, answered_kept, aside_kept = places[:0], kept, kept.slice(0, 0)
            aside_rows = rows[:0]
        else:
            aside, aside_rows, aside_kept = places[~answered], rows[~answered], _where(kept, ~answered)
            places, rows, answered_kept = places[answered], rows[answered], _where(kept, answered)
        reasons = pa.array(self._reasons, pa.string()).take(pa.array(aside))
        answers = pa.Table.from_arrays([pa.array(rows), *self._columns(places)], schema=schema)
        return Answered(
            beside(answers, answered_kept), beside(pa.table({"row": aside_rows, "reason": reasons}), aside_kept)
        )

    def _columns(self, places: Any) -> list[pa.Array]:
        """Return the columns after `row`."""
        verdicts = np.array(self._codes["verdict"], np.int8).take(places)
        questions = np.array(self._codes["questions"], np.int64).take(places)
        texts = (_text(np.array(self._codes[name], np.int32).take(places), self._words[name]) for name in TEXTS)
        return [pa.DictionaryArray.from_arrays(verdicts, VERDICTS), *texts, pa.array(questions)]


_NO_ANSWER: Final = Answer(0, None, None, None, None, None, None, None, 0)


def _text(codes: Any, words: Iterable[str | None]) -> pa.DictionaryArray:
    """Return a column of text; -1 stands for null."""
    stated = codes >= 0
    valid = None if stated.all() else pa.py_buffer(np.packbits(stated, bitorder="little"))
    indices = pa.Int32Array.from_buffers(pa.int32(), len(codes), [valid, pa.py_buffer(codes)])
    return pa.DictionaryArray.from_arrays(indices, pa.array(words, pa.string()), safe=False)


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
