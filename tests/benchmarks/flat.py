"""Tickets as engines take them: flat rows and columns of whole numbers and words, with nothing left to work out.

None of the engines knows units, dates or lists of findings, so reading them is written here once for all, as quickly
as we know how: each distinct text of a column once (`Flat.of`), each text of a mapping by one look into a table
(`row_of`). Where an engine stands beside the library that reads text, this reading is timed with it.
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

__all__ = ["Flat", "Row", "codes_of", "mask", "name", "row_of"]

#: What the library takes for "no" where it does not exist: nobody drives, there is one repair, there are no cracks.
_NOT_THERE: Final = ("road.snow_restriction", "repairs.overlap", "tire.cracks_reach_plies")
Row = Mapping[str, Any]
Values = Sequence[Any]
Codes = np.ndarray[Any, np.dtype[np.int64]]

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
        """Return the tickets of an Arrow table of `known` tickets, with or without dictionaries.

        Raises ValueError for two places on one ticket.
        """
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
    if not pa.types.is_dictionary(joined.type):
        joined = joined.dictionary_encode()
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
    if word is None and fact in _NOT_THERE:
        return "no"
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


class _Read(dict[Any, Any]):
    """Value of one fact as a case states it -> as engines take it; grows by every distinct text of a figure."""

    def __init__(self, fact: str) -> None:
        self._fact = fact

    def __missing__(self, said: Any) -> Any:
        word = {True: "yes", False: "no"}[said] if isinstance(said, bool) else said
        value = self[said] = _value(self._fact, word)
        return value


def _block(group: str) -> dict[str, tuple[str, _Read]]:
    """Return the name and the reader of each fact of a block, by its key in the block."""
    inside = [fact for fact in FACTS if fact.startswith(f"{group}.") and FACTS[fact].kind is not Kind.GRID]
    return {fact.partition(".")[2]: (name(fact), _Read(fact)) for fact in inside}


_BLOCKS: Final = tuple((group, _block(group)) for group in ("tire", "vehicle", "axle", "shop", "road", "repairs"))
_INJURY: Final = _block("injury")
_REPAIR: Final = _block("repair")
_DAY: Final = _Read("on")
#: A row that states nothing. What a rule compares and the ticket does not have is 0 or an empty word.
_EMPTY: Final = {
    **{name(fact): _value(fact, None) for fact in FACTS if "." in fact and FACTS[fact].kind is not Kind.GRID},
    name(CARRIED): "no",
}


def row_of(document: Mapping[str, Any]) -> dict[str, Any]:
    """Return a known ticket in the JSON form of a case as a flat row."""
    row = dict(_EMPTY)
    row["jurisdictions"], row["activity"] = document["jurisdictions"][0], document["activity"]
    row["on"], row["findings"] = _DAY[document["on"]], document["findings"]
    for group, readers in _BLOCKS:
        if group in document:
            _put(row, readers, document[group])
    injuries, repairs = document.get("injuries", ()), document["earlier_repairs"]
    for injury in injuries:
        _put(row, _INJURY, injury)
    for repair in repairs:
        _put(row, _REPAIR, repair)
        row[_CARRIED] = "yes"
    row["repairs_count"] = len(injuries) + len(repairs)
    return row


_CARRIED: Final = name(CARRIED)


def _put(row: dict[str, Any], readers: Mapping[str, tuple[str, _Read]], block: Mapping[str, Any]) -> None:
    for key, said in block.items():
        place, read = readers[key]
        row[place] = read[said]
