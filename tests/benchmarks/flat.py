"""Tickets as engines take them: flat rows and columns of whole numbers and words, with nothing left to work out.

Reading text, units and lists is done here and timed for no engine; the library reads text itself and is timed doing so.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any, Final

import numpy as np
import pyarrow as pa

from tests.benchmarks.exported import CARRIED, day, scaled
from tirerules.jurisdictions import JURISDICTIONS
from tirerules.quantities import measure
from tirerules.vocabulary import ACTIVITIES, FACTS, FINDINGS, Kind

__all__ = ["Flat", "Row", "codes_of", "mask", "name"]

Row = Mapping[str, Any]
Values = Sequence[Any]
Codes = np.ndarray[Any, np.dtype[np.int64]]

_PLAIN: Final = ("jurisdictions", "activity", "on", "findings", "earlier_repairs")
#: The words of what is no fact in the library's own table.
_OWN: Final[Mapping[str, tuple[str, ...]]] = {
    CARRIED: ("yes", "no"),
    "activity": ACTIVITIES,
    "jurisdictions": JURISDICTIONS,
}


def name(fact: str) -> str:
    """Return a fact's name as engines can spell it."""
    return fact.replace(".", "_")


def mask(findings: frozenset[str]) -> int:
    """Return findings as the bits of one whole number."""
    return sum(1 << FINDINGS.index(finding) for finding in findings)


def codes_of(fact: str) -> tuple[str, ...]:
    """Return the words of a fact in the order of their codes."""
    return _OWN.get(fact) or FACTS[fact].values


@dataclass(frozen=True)
class Flat:
    """Tickets whose every fact is known, each fact as a dictionary: codes, and the values that they stand for.

    A fact that does not exist for a ticket (the length of a puncture) is an empty word or 0; no rule reads it there.
    """

    facts: Mapping[str, tuple[Codes, Values]]

    @classmethod
    def of(cls, table: pa.Table) -> Flat:
        """Return the tickets of an Arrow table of `known` tickets. Raises ValueError for two places on one ticket."""
        facts = {fact: _read(fact, table) for fact in table.column_names if fact != "earlier_repairs"}
        said, texts = _dictionary(table["earlier_repairs"])
        repairs = [None if text in (None, "none") else json.loads(text)[0] for text in texts]
        facts[CARRIED] = said, ["no" if repair is None else "yes" for repair in repairs]
        for key in ("zone", "diameter", "method"):
            fact = f"repair.{key}"
            facts[fact] = said, [_value(fact, repair and repair[key]) for repair in repairs]
        carried = np.array([repair is not None for repair in repairs])[said]
        activities, words = facts["activity"]
        repairing = np.array([word == "repair" for word in words])[activities]
        facts["repairs.count"] = carried.astype(np.int64) + repairing, (0, 1, 2)
        if any("," in place for place in facts["jurisdictions"][1]):
            raise ValueError("the engines decide tickets of one place each")
        return cls(facts)

    @cached_property
    def rows(self) -> list[dict[str, Any]]:
        """The tickets one by one, words as words."""
        names = [name(fact) for fact in self.facts]
        columns = [[values[code] for code in codes.tolist()] for codes, values in self.facts.values()]
        return [dict(zip(names, each, strict=True)) for each in zip(*columns, strict=True)]

    @cached_property
    def columns(self) -> dict[str, np.ndarray[Any, Any]]:
        """The tickets fact by fact, words as small codes, findings as bits."""
        return {name(fact): _column(fact, codes, values) for fact, (codes, values) in self.facts.items()}


def _dictionary(column: pa.ChunkedArray) -> tuple[Codes, list[str | None]]:
    """Return the codes and the words of a column; a last word None stands for what is not there."""
    joined = column.combine_chunks()
    words = joined.dictionary.to_pylist()
    return joined.indices.fill_null(len(words)).to_numpy().astype(np.int64), [*words, None]


def _read(fact: str, table: pa.Table) -> tuple[Codes, Values]:
    codes, words = _dictionary(table[fact])
    return codes, [_value(fact, word) for word in words]


def _value(fact: str, word: str | None) -> Any:
    if fact == "on":
        return 0 if word is None else day(date.fromisoformat(word))
    if fact == "findings":
        return [] if word in (None, "none") else word.split(",")
    if fact in FACTS and FACTS[fact].kind is Kind.QUANTITY:
        dimension = FACTS[fact].dimension
        assert dimension is not None  # INVARIANT: every quantity has a dimension
        return 0 if word is None else scaled(measure(word, dimension).low.exact, fact)
    if fact == "road.snow_restriction" and word is None:
        return "no"  # as the library has it where nobody drives
    if fact == "repairs.overlap" and word is None:
        return "no"  # one repair overlaps none
    return word or ""


def _column(fact: str, codes: Codes, values: Values) -> np.ndarray[Any, Any]:
    if fact == "findings":
        found = [mask(frozenset(each)) for each in values]
    elif isinstance(values[0], int):
        found = list(values)
    else:
        found = [codes_of(fact).index(word) if word else -1 for word in values]
        return np.array(found, np.int8)[codes]
    return np.array(found, np.int64)[codes]
