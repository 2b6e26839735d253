"""An answer put into its case: from a case, a question and a value to the case in which the fact is known.

A question names the place of its answer by a JSON Pointer (RFC 6901). The value is checked as a question is (one of its
choices, a quantity in some unit of its dimension, ...), put there, and the whole case read again; so a case that comes
back is one that can be decided. Nothing is changed in place.
"""

from __future__ import annotations

from copy import deepcopy

from tirerules.case import Case, case_row
from tirerules.case.writing import case_to_json
from tirerules.errors import CaseError, Problem
from tirerules.everyday import offers
from tirerules.quantities import Measured, Quantity

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any, TypeVar

    from tirerules.engine.parts import Question

    _Case = TypeVar("_Case", Case, dict[str, Any])

__all__ = ["answered"]

_FLAGS = {"yes": True, "no": False}


def answered(case: _Case, question: Question, value: Any) -> _Case:
    """Return the case with the answer to a question, in the form in which the case was given, typed or as a mapping.

    `value` is one word of a choice; True, False, ``yes`` or ``no`` for a flag; a whole number of a count; a text with
    its unit, a Quantity or a Measured for a quantity; words of a set; rows of texts for a grid; for records a list of
    mappings, or how many there are of which nothing is known yet. What is unknown is not answered.
    Raises CaseError for a value that does not fit, with the place and what to write instead, and for a case that lacks
    the injury or the earlier repair that is asked about.
    """
    said: dict[str, Any] = case_to_json(case) if isinstance(case, Case) else deepcopy(dict(case))
    _put(said, question, _plain(question, value))
    row = case_row(said)
    return Case.of_row(row) if isinstance(case, Case) else said


def _refuse(question: Question, value: object, hint: str) -> CaseError:
    path = question.path[1:].replace("/", ".")
    return CaseError([Problem("case-value", f"{value!r} is no answer to {question.ask!r}", hint, path=path)])


def _plain(question: Question, value: Any) -> Any:
    """Return a value as it stands in the JSON form of a case; how a quantity is written the reader of cases checks."""
    match question.kind:
        case "choice":
            return _word(question, value)
        case "set":
            if isinstance(value, (list, tuple, set, frozenset)):
                return [
                    _word(question, each) for each in (value if isinstance(value, (list, tuple)) else sorted(value))
                ]
            raise _refuse(question, value, "give a list of words; an empty one says: looked for, none found")
        case "flag":
            found = _FLAGS.get(value) if isinstance(value, str) else value
            if found is True or found is False:
                return found
            raise _refuse(question, value, "answer yes or no")
        case "count":
            if type(value) is int and value >= 0:
                return value
            raise _refuse(question, value, "give a whole number, 0 or more")
        case "records":
            if type(value) is int and value >= 0:
                return [{} for _ in range(value)]
            if isinstance(value, (list, tuple)):
                return [dict(each) if hasattr(each, "keys") else each for each in value]
            raise _refuse(question, value, "give a list of mappings, or how many there are; 0 says: none")
        case "grid":
            if isinstance(value, (list, tuple)):
                return [[str(each) for each in row] if isinstance(row, (list, tuple)) else row for row in value]
            raise _refuse(question, value, "give one list of depths for each place around the tire")
        case _:
            if isinstance(value, (str, Quantity, Measured)):
                return str(value)
            units = f"a text with its unit ({' or '.join(question.units)})" if question.units else "a text"
            raise _refuse(question, value, f"give {units}")


def _word(question: Question, value: Any) -> str:
    words = [choice.word for choice in question.choices]
    if isinstance(value, str) and value in words:
        return value
    meant = offers(value, words) if isinstance(value, str) else ()
    raise _refuse(question, value, f"did you mean {' or '.join(meant)}?" if meant else f"one of: {', '.join(words)}")


def _put(said: dict[str, Any], question: Question, value: Any) -> None:
    """Put a value where the pointer of a question leads, making the block or the first item that it stands in."""
    *parents, last = question.path.split("/")[1:]
    here: Any = said
    if question.number is not None:
        name, index = parents[0], question.number - 1
        if here.get(name) is None:
            here[name] = []
        items = here[name] = list(here[name])
        if index == len(items) == 0:
            items.append({})
        if index >= len(items):
            path = f"{name}[{index}]"
            raise CaseError(
                [Problem("case-value", f"the case has no {path}", "answer the questions of this case", path=path)]
            )
        here = items[index] = dict(_block(items[index]))
    elif parents:
        here[parents[0]] = dict(_block(here.get(parents[0])))
        here = here[parents[0]]
    here[last] = value


def _block(said: Any) -> Mapping[str, Any]:
    return said if hasattr(said, "keys") else {}
