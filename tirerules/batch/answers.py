"""What is told of each ticket, and how answers to distinct rows become the columns of all rows."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import reduce
from operator import or_
from typing import Any, Final, NamedTuple, TypeAlias

import numpy as np
import pyarrow as pa

from tirerules.batch.words import LIMITED
from tirerules.engine.evaluator import Evaluation
from tirerules.engine.kernel import WITHIN, bits_of
from tirerules.engine.limits import Standing, limits_of, strictest_of
from tirerules.engine.parts import FactLimits
from tirerules.engine.program import Program
from tirerules.engine.questions import worth_asking
from tirerules.packs.rule import RELATIONS, Rule
from tirerules.quantities import Quantity
from tirerules.vocabulary import FACTS, Verdict
from tirerules.vocabulary import VERDICTS as BY_NUMBER

__all__ = [
    "ANSWER_SCHEMA",
    "QUESTION_BITS",
    "QUESTION_FACTS",
    "TEXTS",
    "VERDICTS",
    "Answer",
    "Answered",
    "LimitTexts",
    "Told",
    "answer",
    "answer_of",
    "asked_of",
    "beside",
    "questions_of",
]

#: The facts that can be asked; fact number n is bit n of the column `questions`. At most 63, which a test holds.
QUESTION_FACTS: Final = tuple(name for name, fact in FACTS.items() if not fact.derived)
#: Fact -> its bit.
QUESTION_BITS: Final = {name: 1 << place for place, name in enumerate(QUESTION_FACTS)}

#: The words behind the codes of the column `verdict`, by code.
VERDICTS: Final = tuple(map(str, Verdict))
#: Their codes by the numbers of the kernel.
_BY_KERNEL: Final = tuple(VERDICTS.index(verdict) for verdict in BY_NUMBER)

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
    """What is told of one ticket, its questions aside; None where there is nothing to tell."""

    verdict: int  #: its place in `VERDICTS`
    method: str | None  #: the method that does it best
    size_limit: str | None  #: the strictest limit on the injury's size by that method
    size_rule: str | None  #: the rules that set it
    tread_limit: str | None
    tread_rule: str | None
    failing_rule: str | None  #: the first reason that fails
    failing_fact: str | None


@dataclass(frozen=True, slots=True)
class Answered:
    """Every row of a table of tickets: those that were decided, and those set aside, each in the table's order.

    `answers` has the columns of `ANSWER_SCHEMA` and then those kept; `set_aside` has `row`, `reason` and those kept.
    """

    answers: pa.Table
    set_aside: pa.Table


#: The strictest limit on a fact in words, and the rules that set it.
Limits: TypeAlias = tuple[str | None, str | None]


class LimitTexts:
    """The strictest limits of a program in words, by the instances that surely limit a fact.

    INVARIANT: a text is a function of rules and a reading; it depends on no ticket. At most `BOUND` are kept.
    """

    BOUND: Final = 20_000

    def __init__(self, program: Program) -> None:
        """Hold a program."""
        self._program = program
        self._known: dict[int, Limits] = {}

    def of(self, limiting: int) -> Limits:
        """Return the strictest limit that some instances, all on one fact, surely set."""
        limits = self._known.get(limiting)
        if limits is None:
            if len(self._known) >= self.BOUND:
                self._known.clear()
            found = [Standing(self._program.instances[place], True, {}) for place in bits_of(limiting)]
            _, figures, binds = strictest_of(found)
            limits = self._known[limiting] = _texts(figures, binds)
        return limits


def _texts(figures: Mapping[str, Quantity | int | None], binds: Sequence[str]) -> Limits:
    """Return the strictest limit in words, such as ``at most 6 mm``, and the rules that set it."""
    said = [f"{relation.replace('-', ' ')} {figure}" for relation, figure in figures.items() if figure is not None]
    return ", ".join(said) or None, ",".join(binds) or None


def _limits(found: FactLimits | None) -> Limits:
    if found is None:
        return None, None
    return _texts({relation: getattr(found, relation.replace("-", "_")) for relation in RELATIONS}, found.binding)


def answer(verdict: int, method: str | None, size: Limits, tread: Limits, failing: Rule | None) -> Answer:
    """Return what is told of a ticket; `verdict` is a number of the kernel, `failing` the first rule that fails."""
    fails = (None, None) if failing is None else (failing.name, failing.body.fact)
    return Answer(_BY_KERNEL[verdict], method, *size, *tread, *fails)


def answer_of(evaluation: Evaluation) -> Answer:
    """Return what is told of one evaluation."""
    failing = None if evaluation.verdict == WITHIN else _failing(evaluation)
    limits = limits_of(evaluation)
    size, tread = (_limits(limits.get(fact)) for fact in LIMITED)
    return answer(evaluation.verdict, evaluation.leading, size, tread, failing)


def _failing(evaluation: Evaluation) -> Rule | None:
    """Return the first rule that fails, by name: of those that no method changes, then of each injury by the best."""
    program = evaluation.program
    common = program.common
    leading = program.lanes[evaluation.leading] if evaluation.leading else 0
    lanes = [reduce(or_, (each.failing & common for each in evaluation.judged))]
    lanes += [each.failing & leading for each in evaluation.judged]
    for failing in lanes:
        if failing:
            return min((program.instances[place].rule for place in bits_of(failing)), key=lambda rule: rule.name)
    return None


def asked_of(evaluation: Evaluation) -> int:
    """Return the facts that an evaluation asks for, as bits over `QUESTION_FACTS`."""
    if not evaluation.open:
        return 0
    return sum({QUESTION_BITS[fact] for fact, _ in worth_asking(evaluation)})  # one fact may be asked of two injuries


def questions_of(bits: int) -> tuple[str, ...]:
    """Return the facts behind a value of the column `questions`."""
    return tuple(name for name, bit in QUESTION_BITS.items() if bits & bit)


class Told:
    """Every answer to the rows of a table, and every reason for having none, once; each has a place, from 0."""

    def __init__(self) -> None:
        self._places: dict[Answer | str, int] = {}

    def place(self, said: Answer | str) -> int:
        """Return the place of an answer, or of the reason why a row is set aside."""
        return self._places.setdefault(said, len(self._places))

    def assemble(self, places: Any, questions: Any, rows: Any, kept: pa.Table, day: date) -> Answered:
        """Return the answers of rows by their places and the bits of their questions (int64 arrays).

        `rows` has the number of each; `kept` has the columns that are carried through; `day` is the day on which rows
        were decided that name none.
        """
        said = list(self._places)
        good = np.array([isinstance(each, Answer) for each in said], bool)
        answered = good.take(places) if len(good) else np.zeros(0, bool)
        schema = ANSWER_SCHEMA.with_metadata({**ANSWER_SCHEMA.metadata, "tirerules.day": day.isoformat()})
        if answered.all():
            aside, aside_rows, aside_kept, answered_kept = places[:0], rows[:0], kept.slice(0, 0), kept
        else:
            aside, aside_rows, aside_kept = places[~answered], rows[~answered], _where(kept, ~answered)
            places, questions, rows = places[answered], questions[answered], rows[answered]
            answered_kept = _where(kept, answered)
        reasons = pa.array([None if ok else each for each, ok in zip(said, good, strict=True)], pa.string())
        columns = [pa.array(rows), *_columns(said, places), pa.array(questions)]
        answers = pa.Table.from_arrays(columns, schema=schema)
        told_aside = pa.table({"row": aside_rows, "reason": reasons.take(pa.array(aside))})
        return Answered(beside(answers, answered_kept), beside(told_aside, aside_kept))


def _columns(said: Sequence[Answer | str], places: Any) -> Iterator[pa.Array]:
    """Yield the columns from `verdict` to the last text, of rows by the places of their answers."""
    answers = [each if isinstance(each, Answer) else _NO_ANSWER for each in said]
    verdicts = np.array([each.verdict for each in answers], np.int8).take(places)
    yield pa.DictionaryArray.from_arrays(verdicts, VERDICTS)
    for name in TEXTS:
        words: dict[str, int] = {}
        texts = (getattr(each, name) for each in answers)
        codes = [-1 if text is None else words.setdefault(text, len(words)) for text in texts]
        yield _text(np.array(codes, np.int32).take(places), words)


_NO_ANSWER: Final = Answer(0, None, None, None, None, None, None, None)


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
