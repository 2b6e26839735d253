"""The tickets of an invented chain of tire shops: nobody's shops, nobody's tires, every figure drawn by lot.

One Arrow table is the source: text columns named by facts, dictionary-encoded, null where a fact is unknown. The same
tickets are had as JSON mappings (`documents`) and as typed cases (`cases`). The same seed gives the same tickets.

The spread is that of a shop: mostly passenger tires, mostly repairs of punctures in the crown, inspected and nothing
found. `known` tickets leave out no fact that a rule could read, name one place each and state plain figures, because
the engines that are measured beside the library know neither "unknown" nor a measurement's width.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date, timedelta
from types import MappingProxyType
from typing import Any, Final

import numpy as np
import pyarrow as pa

import tirerules
from tirerules.jurisdictions import JURISDICTIONS
from tirerules.vocabulary import FACTS, Kind

__all__ = ["LAST_DAY", "cases", "documents", "tickets"]

Weights = Mapping[str, float]
Codes = np.ndarray[Any, np.dtype[np.int32]]

#: The tickets reach back eight years from here.
LAST_DAY: Final = date(2026, 11, 25)
_DAYS: Final = 8 * 365
#: Whole countries are no shop's place, and nobody lives on the minor outlying islands.
_PLACES: Final = tuple(code for code in JURISDICTIONS if "-" in code and code != "US-UM")
#: Shops near a border send some vehicles on a route through the next place.
_TWO_PLACES: Final = 0.03

_CLASSES: Final[Weights] = {
    "passenger": 68,
    "light-truck": 15,
    "medium-truck": 12,
    "bus": 2,
    "motorcycle": 3,
}
_ACTIVITIES: Final[Weights] = {"repair": 84, "used-tire-installation": 8, "tire-sale": 4, "road-use": 4}


def _thirty_seconds(*weights: float) -> dict[str, float]:
    return {f"{depth}/32 in": weight for depth, weight in enumerate(weights, start=1)}


def _millimeters(least: int, below: int) -> dict[str, float]:
    return {f"{size} mm": below - size for size in range(least, below)}


_YES_RARELY: Final[Weights] = {"no": 98, "yes": 2}
#: Fact -> class of tire ("" for all others) -> word or figure -> weight.
_FACTS: Final[Mapping[str, Mapping[str, Weights]]] = MappingProxyType(
    {
        "tire.load_range": {
            "light-truck": {"C": 20, "D": 15, "E": 55, "F": 10},
            "medium-truck": {"E": 5, "F": 10, "G": 45, "H": 35, "J": 5},
            "bus": {"G": 30, "H": 70},
            "": {"B": 80, "C": 20},
        },
        "tire.speed_symbol": {
            "light-truck": {"Q": 20, "R": 50, "S": 30},
            "medium-truck": {"L": 60, "M": 40},
            "bus": {"L": 50, "M": 50},
            "motorcycle": {"J": 15, "S": 20, "H": 30, "V": 25, "W": 10},
            "": {"S": 15, "T": 30, "H": 25, "V": 18, "W": 8, "Y": 4},
        },
        "tire.sealant_layer": {"passenger": {"no": 94, "yes": 6}, "": {"no": 1}},
        "tire.run_flat": {"passenger": {"no": 93, "yes": 7}, "": {"no": 1}},
        "tire.retread": {"medium-truck": {"no": 70, "yes": 30}, "bus": {"no": 85, "yes": 15}, "": {"no": 1}},
        "tire.regrooved": {"medium-truck": {"no": 95, "yes": 5}, "": {"no": 199, "yes": 1}},
        "tire.same_vehicle": {"": {"yes": 75, "no": 25}},
        "tire.tread_depth": {
            "medium-truck": _thirty_seconds(1, 2, 2, 4, 5, 7, 8, 9, 9, 9, 9, 9, 8, 7, 6, 5, 4, 3),
            "bus": _thirty_seconds(1, 2, 2, 4, 5, 7, 8, 9, 9, 9, 9, 9, 8, 7, 6, 5, 4, 3),
            "": {**_thirty_seconds(1, 3, 6, 10, 14, 16, 15, 13, 10, 7), "2.5 mm": 2, "4 mm": 2, "5.5 mm": 1},
        },
        "tire.age": {"": {f"{years} years": 12 - years for years in range(1, 12)}},
        "vehicle.kind": {
            "light-truck": {"light-truck": 70, "multipurpose": 25, "trailer": 5},
            "medium-truck": {"truck": 40, "truck-tractor": 30, "trailer": 28, "tow-truck": 2},
            "bus": {"bus": 80, "minibus": 20},
            "motorcycle": {"motorcycle": 1},
            "": {"passenger-car": 60, "multipurpose": 38, "trailer": 2},
        },
        "vehicle.use": {
            "light-truck": {"private": 55, "commercial": 44, "emergency": 1},
            "medium-truck": {"commercial": 93, "private": 5, "emergency": 2},
            "bus": {"school-bus": 55, "commercial": 45},
            "": {"private": 93, "commercial": 6, "emergency": 1},
        },
        "vehicle.gvwr": {
            "light-truck": {"3200 kg": 30, "8600 lb": 30, "9900 lb": 20, "10500 lb": 15, "14000 lb": 5},
            "medium-truck": {"19500 lb": 20, "26000 lb": 30, "33000 lb": 20, "80000 lb": 30},
            "bus": {"14000 lb": 20, "33000 lb": 50, "15000 kg": 30},
            "motorcycle": {"400 kg": 1},
            "": {"1600 kg": 25, "1900 kg": 40, "2300 kg": 25, "6000 lb": 10},
        },
        "axle.steer": {"": {"yes": 45, "no": 55}},
        "shop.full_service": {"": {"no": 95, "yes": 5}},
        "road.snow_restriction": {"": _YES_RARELY},
        "injury.kind": {"": {"puncture": 93, "cut": 7}},
        "injury.zone": {"": {"crown": 80, "shoulder": 9, "belt-edge": 3, "sidewall": 7, "bead": 1}},
        "injury.diameter": {
            "medium-truck": {**_millimeters(3, 11), "1/4 in": 4, "3/8 in": 3, "1/2 in": 2},
            "": {**_millimeters(2, 11), "1/8 in": 6, "3/16 in": 6, "1/4 in": 4},
        },
        "injury.angle": {"": {f"{angle} deg": 45 - angle for angle in range(0, 45, 5)}},
        "injury.length": {"": {f"{length} mm": 1 for length in range(6, 40, 2)}},
        "tire.crack_depth": {"": {"1 mm": 40, "2 mm": 30, "3 mm": 15, "4 mm": 15}},
    }
)
_FINDINGS: Final[Weights] = {
    "none": 90,
    "run-flat-damage": 3,
    "weather-cracking": 1.5,
    "embedded-object": 1.5,
    "exposed-cord": 1,
    "liner-damage": 0.8,
    "bead-damage": 0.5,
    "tread-separation": 0.5,
    "temporary-sealant": 0.5,
    "worn-to-indicators": 0.4,
    "leak,run-flat-damage": 0.2,
    "boot,exposed-cord": 0.1,
}
_REPAIR_METHODS: Final[Weights] = {"one-piece": 70, "two-piece": 22, "section": 2, "plug-only": 6}
_REPAIR_ZONES: Final[Weights] = {"crown": 92, "shoulder": 6, "sidewall": 2}
_REPAIR_SIZES: Final[Weights] = {"3 mm": 25, "4 mm": 30, "5 mm": 25, "1/4 in": 12, "8 mm": 5, "3/8 in": 3}
_WITH_A_REPAIR: Final = 0.1
_OVERLAP: Final[Weights] = _YES_RARELY

#: Share of the tickets on which a shop leaves a fact out; 0 where none is named.
_UNKNOWN: Final[Mapping[str, float]] = MappingProxyType(
    {
        "tire.load_range": 0.1,
        "tire.speed_symbol": 0.3,
        "tire.sealant_layer": 0.03,
        "tire.run_flat": 0.03,
        "tire.retread": 0.1,
        "tire.regrooved": 0.1,
        "tire.same_vehicle": 0.2,
        "tire.tread_depth": 0.02,
        "tire.age": 0.5,
        "vehicle.kind": 0.1,
        "vehicle.use": 0.05,
        "vehicle.gvwr": 0.6,
        "axle.steer": 0.2,
        "shop.full_service": 0.3,
        "injury.kind": 0.01,
        "injury.zone": 0.01,
        "injury.diameter": 0.01,
        "injury.angle": 0.04,
        "injury.length": 0.2,
        "repairs.overlap": 0.2,
        "findings": 0.04,
        "earlier_repairs": 0.04,
    }
)


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

    def draw_by(self, name: str, by_class: Mapping[str, Weights], classes: Codes) -> None:
        """Draw one word for every ticket by the class of its tire."""
        words = list(dict.fromkeys(word for weights in by_class.values() for word in weights))
        codes = np.empty(self.count, np.int32)
        for number, klass in enumerate(_CLASSES):
            weights = by_class.get(klass, by_class.get("", {}))
            own = np.array([words.index(word) for word in weights], np.int32)
            here = classes == number
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


def tickets(count: int, seed: int = 1, *, known: bool = False) -> pa.Table:
    """Return `count` invented tickets; with `known`, none of them leaves out what a rule could read."""
    lot = _Lot(count, seed)
    lot.draw("jurisdictions", _places(known))
    activities = lot.draw("activity", _ACTIVITIES)
    lot.draw("on", {(LAST_DAY - timedelta(days=days)).isoformat(): 1 for days in range(_DAYS)})
    classes = lot.draw("tire.class", _CLASSES)
    for name, by_class in _FACTS.items():
        lot.draw_by(name, by_class, classes)
    findings = lot.draw("findings", _FINDINGS)
    repairs = lot.draw("earlier_repairs", _earlier_repairs())
    lot.draw("repairs.overlap", _OVERLAP)
    # What does not exist is asked of nobody.
    repairing = activities == list(_ACTIVITIES).index("repair")
    for name in lot.columns:
        if name.startswith("injury."):
            lot.blank(name, ~repairing)
    kinds, words = lot.columns["injury.kind"]
    lot.blank("injury.length", kinds != words.index("cut"))
    lot.blank("tire.crack_depth", findings != list(_FINDINGS).index("weather-cracking"))
    lot.blank("road.snow_restriction", activities != list(_ACTIVITIES).index("road-use"))
    lot.blank("repairs.overlap", ~repairing | (repairs == 0))
    if not known:
        for name, part in _UNKNOWN.items():
            lot.blank(name, lot.share(part))
        # A crack that the inspection does not name would be a contradiction.
        lot.blank("tire.crack_depth", lot.columns["findings"][0] < 0)
    made = {name: _column(codes, words) for name, (codes, words) in lot.columns.items()}
    return pa.table(made).replace_schema_metadata({"about": "invented tickets of an invented chain of tire shops"})


def _places(known: bool) -> Weights:
    """Return the weights of the places: a chain has its first shops in a few of them."""
    weights = {code: 1 / (4 + number * 7 % len(_PLACES)) for number, code in enumerate(_PLACES)}
    if known:
        return weights
    pairs = {
        f"{one},{other}": weight
        for (one, weight), other in zip(weights.items(), _PLACES[1:], strict=False)
        if one[:2] == other[:2]
    }
    part = _TWO_PLACES * sum(weights.values()) / sum(pairs.values())
    return weights | {both: weight * part for both, weight in pairs.items()}


def _earlier_repairs() -> Weights:
    weights: dict[str, float] = {"none": 1 - _WITH_A_REPAIR}
    parts = (_REPAIR_METHODS, _REPAIR_ZONES, _REPAIR_SIZES)
    whole = np.prod([sum(part.values()) for part in parts])
    for method, one in _REPAIR_METHODS.items():
        for zone, two in _REPAIR_ZONES.items():
            for size, three in _REPAIR_SIZES.items():
                said = json.dumps([{"zone": zone, "diameter": size, "method": method}])
                weights[said] = _WITH_A_REPAIR * one * two * three / float(whole)
    return weights


def _column(codes: Codes, words: list[str]) -> pa.DictionaryArray:
    return pa.DictionaryArray.from_arrays(pa.array(codes, mask=codes < 0), pa.array(words))


def documents(table: pa.Table) -> list[dict[str, Any]]:
    """Return the tickets as cases in their JSON form."""
    columns = {name: table[name].to_pylist() for name in table.column_names}
    return [_document({name: columns[name][row] for name in columns}) for row in range(table.num_rows)]


def _document(said: Mapping[str, str | None]) -> dict[str, Any]:
    document: dict[str, Any] = {}
    injury: dict[str, Any] = {}
    for name, text in said.items():
        if text is None:
            continue
        if name == "jurisdictions":
            document[name] = text.split(",")
        elif name == "findings":
            document[name] = [] if text == "none" else text.split(",")
        elif name == "earlier_repairs":
            document[name] = [] if text == "none" else json.loads(text)
        elif "." not in name:
            document[name] = text
        else:
            group, _, key = name.partition(".")
            block = injury if group == "injury" else document.setdefault(group, {})
            block[key] = text == "yes" if FACTS[name].kind is Kind.FLAG else text
    if document["activity"] == "repair":
        document["injuries"] = [injury]
    return document


def cases(table: pa.Table) -> list[tirerules.Case]:
    """Return the tickets as typed cases."""
    return [tirerules.case_from_json(document) for document in documents(table)]
