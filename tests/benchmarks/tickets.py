"""The tickets of an invented chain of tire shops: nobody's shops, nobody's tires, every figure drawn by lot.

One Arrow table is the source: text columns named by facts, dictionary-encoded, null where a fact is unknown
(`in_plain_text` gives it without dictionaries, as most tables come). The same tickets are had as JSON mappings
(`documents`). The same seed gives the same tickets; another seed gives others of the same spread
(`tests.benchmarks.spread`), and of these hardly any is the same as one before.

`known` tickets leave out no fact that a rule could read, name one place each and state plain figures, because the
engines that are measured beside the library know neither "unknown" nor a measurement's width.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any, Final

import numpy as np
import pyarrow as pa

from tests.benchmarks import spread
from tests.benchmarks.spread import ByClass, Weights
from tirerules.vocabulary import FACTS, Kind

__all__ = ["documents", "in_plain_text", "texts", "tickets"]

Codes = np.ndarray[Any, np.dtype[np.int32]]
_CHUNK: Final = 20_000
_CARRIER: Final = "vehicle.commercial_motor_vehicle"
_CRACKS: Final = ("tire.crack_depth", "tire.cracks_reach_plies")
#: Never blanked: without these a row asks nothing.
_ALWAYS: Final = ("jurisdictions", "activity", "on")


class _Lot:
    """Draws columns, one code for each ticket; -1 stands for unknown."""

    def __init__(self, count: int, seed: int) -> None:
        self.count = count
        self.random = np.random.default_rng(seed)
        self.columns: dict[str, tuple[Codes, list[str]]] = {}

    def draw(self, name: str, weights: Weights) -> Codes:
        """Draw one word for every ticket."""
        codes = self._some(weights, self.count)
        self.columns[name] = codes, list(weights)
        return codes

    def draw_by(self, name: str, by_class: ByClass, classes: Codes) -> None:
        """Draw one word for every ticket by the class of its tire."""
        words = list(dict.fromkeys(word for weights in by_class.values() for word in weights))
        places = {word: place for place, word in enumerate(words)}
        codes = np.empty(self.count, np.int32)
        for number, klass in enumerate(spread.CLASSES):
            weights = by_class.get(klass, by_class.get("", {}))
            own = np.array([places[word] for word in weights], np.int32)
            here = classes == number
            if not weights:
                codes[here] = -1
                continue
            codes[here] = own[self._some(weights, int(here.sum()))]
        self.columns[name] = codes, words

    def blank(self, name: str, where: np.ndarray[Any, np.dtype[np.bool_]]) -> None:
        """Make a fact unknown on some tickets."""
        self.columns[name][0][where] = -1

    def share(self, part: float) -> np.ndarray[Any, np.dtype[np.bool_]]:
        """Choose a share of the tickets."""
        return self.random.random(self.count) < part

    def _some(self, weights: Weights, count: int) -> Codes:
        shares = np.fromiter(weights.values(), float)
        return self.random.choice(len(shares), count, p=shares / shares.sum()).astype(np.int32)


def tickets(
    count: int,
    seed: int = 1,
    *,
    known: bool = False,
    blank: float = 0.0,
    sized: bool = False,
    measured: bool = False,
    injuries: int = 1,
    repaired: bool = False,
) -> pa.Table:
    """Return `count` invented tickets with facts left out as a shop does.

    `known`: none of them leaves out what a rule could read. `blank`: this share of the cells of every fact is unknown,
    whatever a shop leaves out. `sized`: with the size designation. `measured`: with what tells where each injury lies,
    and the size. `injuries`: so many for each repair, as JSON text in one column where there are several. `repaired`:
    each tire carries an earlier repair whose place was measured.
    """
    lot = _Lot(count, seed)
    lot.draw("jurisdictions", spread.PLACES if known else spread.TWO_PLACES)
    activities = lot.draw("activity", spread.ACTIVITIES)
    lot.draw("on", spread.DAYS)
    classes = lot.draw("tire.class", spread.CLASSES)
    for name, by_class in spread.FACTS.items():
        lot.draw_by(name, by_class, classes)
    if sized or measured:
        lot.draw_by("tire.size", spread.SIZES, classes)
    else:
        for name, by_class in spread.UNSIZED.items():
            lot.draw_by(name, by_class, classes)
    if measured:
        for name, by_class in spread.MEASURED.items():
            lot.draw_by(name, by_class, classes)
    findings = lot.draw("findings", spread.FINDINGS)
    repairs = lot.draw("earlier_repairs", spread.REPAIRED if repaired else spread.EARLIER_REPAIRS)
    lot.draw("repairs.overlap", spread.OVERLAP)
    # What does not exist is asked of nobody.
    repairing = activities == list(spread.ACTIVITIES).index("repair")
    for name in _injury(lot.columns):
        lot.blank(name, ~repairing)
    kinds, words = lot.columns["injury.kind"]
    lot.blank("injury.length", kinds != words.index("cut"))
    for name in _CRACKS:
        lot.blank(name, findings != list(spread.FINDINGS).index("weather-cracking"))
    uses, words = lot.columns["vehicle.use"]
    lot.columns[_CARRIER][0][uses != words.index("commercial")] = lot.columns[_CARRIER][1].index("no")
    lot.blank("road.snow_restriction", activities != list(spread.ACTIVITIES).index("road-use"))
    lot.blank("repairs.overlap", ~repairing | (repairs == 0))
    if blank:
        for name in lot.columns:
            if name not in _ALWAYS:
                lot.blank(name, lot.share(blank))
    elif not known:
        for name, part in spread.UNKNOWN.items():
            if name in lot.columns:
                lot.blank(name, lot.share(part))
    for name in _CRACKS:  # a crack that the inspection does not name would be a contradiction
        lot.blank(name, lot.columns["findings"][0] < 0)
    made = {name: _column(codes, words) for name, (codes, words) in lot.columns.items()}
    if repaired:
        made["earlier_repairs"] = _placed(made["earlier_repairs"], _Lot(count, seed))
    if injuries > 1:
        made = _with_more_injuries(made, count, seed, injuries, {"known": known, "blank": blank, "measured": measured})
    return pa.table(made).replace_schema_metadata({"about": "invented tickets of an invented chain of tire shops"})


def _with_more_injuries(
    made: dict[str, Any], count: int, seed: int, injuries: int, shape: Mapping[str, Any]
) -> dict[str, Any]:
    """Return the columns with the injuries of each repair as JSON text, the further ones drawn by other seeds."""
    first = {name: made.pop(name) for name in _injury(made)}
    # Seeds that nobody names: a further injury is no first injury of another table.
    others = (tickets(count, seed * 1_000 + 500_000_000 + each, **shape) for each in range(1, injuries))
    # The further injuries of what is no repair are not used, so those drawn for other acts are filled up by none.
    lists = zip(*(_items(each, count) for each in (first, *(_columns(other) for other in others))), strict=True)
    repairing = [activity == "repair" for activity in made["activity"].to_pylist()]
    said = [
        json.dumps([item for item in items if item]) if repair else None
        for repair, items in zip(repairing, lists, strict=True)
    ]
    return {**made, "injuries": pa.array(said, pa.string()).dictionary_encode()}


def _placed(repairs: pa.DictionaryArray, lot: _Lot) -> pa.DictionaryArray:
    """Return lists of one earlier repair each, as JSON text, with the place of each."""
    for key in ("from_centerline", "side", "clock"):
        lot.draw(key, spread.MEASURED[f"injury.{key}"][""])
    places = [_column(*drawn).to_pylist() for drawn in lot.columns.values()]
    said = [
        repairs_of and json.dumps([{**json.loads(repairs_of)[0], **dict(zip(lot.columns, place, strict=True))}])
        for repairs_of, *place in zip(repairs.to_pylist(), *places, strict=True)
    ]
    return pa.array(said, pa.string()).dictionary_encode()


def _columns(table: pa.Table) -> dict[str, Any]:
    return {name: table[name] for name in _injury(table.column_names)}


def _injury(names: Any) -> list[str]:
    return [name for name in names if name.startswith("injury.")]


def _items(columns: Mapping[str, Any], count: int) -> Iterator[dict[str, str]]:
    """Yield the block of an injury for each row, without what is unknown."""
    keys = [name.partition(".")[2] for name in columns]
    rows = zip(*(column.to_pylist() for column in columns.values()), strict=True) if columns else [()] * count
    for row in rows:
        yield {key: said for key, said in zip(keys, row, strict=True) if said is not None}


def _column(codes: Codes, words: list[str]) -> pa.DictionaryArray:
    return pa.DictionaryArray.from_arrays(pa.array(codes, mask=codes < 0), pa.array(words))


def in_plain_text(table: pa.Table) -> pa.Table:
    """Return the table with every column as plain text, as a file or a database gives it."""
    plain = pa.schema([(name, pa.string()) for name in table.column_names])
    return table.cast(plain).combine_chunks()


def documents(table: pa.Table) -> list[dict[str, Any]]:
    """Return the tickets as cases in their JSON form."""
    return [document for part in _parts(table) for document in part]


def texts(table: pa.Table) -> list[str]:
    """Return the tickets as JSON texts."""
    return [json.dumps(document) for part in _parts(table) for document in part]


def _parts(table: pa.Table) -> Iterator[Iterator[dict[str, Any]]]:
    """Yield the cases of some rows at a time."""
    for first in range(0, table.num_rows, _CHUNK):
        part = table.slice(first, _CHUNK)
        rows = zip(*(part[name].to_pylist() for name in part.column_names), strict=True)
        yield (_document(zip(part.column_names, row, strict=True)) for row in rows)


def _document(said: Any) -> dict[str, Any]:
    document: dict[str, Any] = {}
    injury: dict[str, Any] = {}
    for name, text in said:
        if text is None:
            continue
        if name == "jurisdictions":
            document[name] = text.split(",")
        elif name == "findings":
            document[name] = [] if text == "none" else text.split(",")
        elif name in ("earlier_repairs", "injuries"):
            document[name] = [] if text == "none" else json.loads(text)
        elif "." not in name:
            document[name] = text
        else:
            group, _, key = name.partition(".")
            block = injury if group == "injury" else document.setdefault(group, {})
            block[key] = text == "yes" if FACTS[name].kind is Kind.FLAG else text
    if document["activity"] == "repair" and "injuries" not in document:
        document["injuries"] = [injury]
    return document
