"""Draws cases with measurements, and packs whose rules read them. All tires, places and rules are invented."""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from random import Random
from typing import Any

from tests.reference.generate import invented_case, targets
from tests.reference.invent import invented_packs
from tests.reference.words import METHODS

__all__ = ["drawn_cases", "drawn_packs"]

Case = dict[str, Any]
Pack = dict[str, Any]

_SIZES = ("225/45R17", "225/45R17 94W", "P205/55R16", "LT245/75R16/E", "11R22.5", "130/90-16", "35x12.50R20")
#: What a designation may contradict.
_PRINTED = ("load_range", "speed_symbol", "construction")
_PLACES = ("0:00", "3:00", "3:15", "6:00", "9:45", "0 deg", "14.5 deg", "180 deg", "100 mm", "415 mm", "9000 mm")
#: Around half of 3/4 of 180 mm, and around 180 mm less 1 1/2 in on both sides; the last ones lie in no band,
#: and the very last beyond the tread.
_OFFSETS = (
    "0 mm",
    "10 mm",
    "40 mm to 64 mm",
    "51.9 mm",
    "60 mm",
    "64 mm",
    "64.5 mm ± 1 mm",
    "65 mm",
    "67.5 mm",
    "90 mm",
    "4 1/2 in",
    "118 mm ± 2 mm",
)
_LISTS = ("injuries", "earlier_repairs")
_LEANS = ("toward-shoulder", "toward-center", "along-circumference")
_SIDES = ("left", "right")
_UNITS = ("20 mm", "45 mm", "60 mm ± 2 mm", "3 in")


#: Vehicles that may be in commerce, and are too light to be commercial motor vehicles by themselves.
_LIGHT = (
    {"kind": "light-truck", "gvwr": "3000 kg", "use": "commercial"},
    {"kind": "passenger-car", "gvwr": "10000.9 lb"},
    {"kind": "minibus", "gvwr": "4500 kg", "seats": 8},
)


def drawn_packs(rng: Random, *, placed: bool = False) -> list[Pack]:
    """Return invented packs, most of them with rules on what must be measured or worked out.

    `placed` draws more of those, and now and then places of a caller's own and sources that nobody confirmed.
    """
    packs = invented_packs(rng, placed=placed)
    if placed:
        _own_places(rng, packs)
        for pack in packs:
            for source in pack["sources"].values():
                if rng.random() < 0.1:
                    source["currency"] = "unconfirmed"
    if rng.random() < 0.5:
        _add_contradiction(rng, packs)
    if rng.random() < 0.8:
        _limit_repairs(packs)
    for number in range(rng.choice((0, 2, 4))):
        pack = rng.choice(packs)
        activity = rng.choice(("repair", "repair", "repair", "road-use"))
        rule = {
            "id": f"measured-{number}",
            "says": "Invented.",
            "activity": [activity],
            "source": rng.choice(("law", "practice")),
            **_body(rng),
        }
        when = rng.choice(
            (
                {},
                {},
                {"method": rng.choice(("one-piece", "two-piece"))},
                {"injury.side": "left"},
                {"tire.class": ["passenger", "bus"]},
                {"tire.age": {"at-most": "6 years"}},
                {"repairs.opposed": True},
                {"vehicle.commercial_motor_vehicle": True},
                {"tire.regrooved": True},
            )
        )
        pack["rules"].append(rule | ({"when": when} if when else {}))
        pack["coverage"][activity] = "rules"
    return packs


def _own_places(rng: Random, packs: list[Pack]) -> None:
    """Let a country and its places be the caller's own: XA to XZ are codes that ISO 3166-1 leaves to users."""
    country = rng.choice([pack["pack"] for pack in packs if pack["kind"] == "country"])
    if rng.random() < 0.1:
        for pack in packs:
            if pack["pack"].partition("-")[0] == country:
                pack["pack"] = "XA" + pack["pack"].removeprefix(country)


def _limit_repairs(packs: list[Pack]) -> None:
    """Let the baseline limit the size of earlier repairs, and judge every class, so that neither leaves a case open."""
    for pack in packs:
        if pack["kind"] == "baseline":
            named = {"says": "Invented.", "source": "practice"}
            size = {"fact": "repair.diameter", "at-most": "60 mm"}
            acts = ["repair", "used-tire-installation", "used-tire-sale"]
            pack["rules"].append({"id": "repaired", "activity": acts, "limit": size, **named})
            bar = {"fact": "tire.class", "values": ["temporary-spare"]}
            pack["rules"].append({"id": "classes", "activity": ["road-use", "tire-sale"], "prohibit": bar, **named})
            pack["coverage"] |= dict.fromkeys((*acts, "road-use", "tire-sale"), "rules")


def _add_contradiction(rng: Random, packs: list[Pack]) -> None:
    """Let the baseline say how high wear indicators are, and some pack bar tires that are worn to them."""
    baseline = next((pack for pack in packs if pack["kind"] == "baseline"), None)
    if baseline is None:
        return
    heights = {"1/16 in": ["passenger", "light-truck", "bus"], "1 mm": ["motorcycle"]}
    for number, (height, classes) in enumerate(heights.items()):
        baseline["rules"].append(
            {
                "id": f"height-{number}",
                "says": "Invented.",
                "activity": ["road-use", "tire-sale", "vehicle-sale"],
                "source": "practice",
                "when": {"tire.class": classes},
                "limit": {"fact": "tire.tread_depth", "at-least": height},
                "contradicts": "worn-to-indicators",
            }
        )
    baseline["coverage"] |= dict.fromkeys(("road-use", "tire-sale", "vehicle-sale"), "rules")
    pack = rng.choice(packs)
    pack["rules"].append(
        {
            "id": "worn",
            "says": "Invented.",
            "activity": ["road-use"],
            "source": rng.choice(("law", "practice")),
            "when": rng.choice(({"axle.steer": True}, {"tire.retread": False})),
            "disqualify": {"findings": ["worn-to-indicators", "bulge"]},
        }
    )
    pack["coverage"]["road-use"] = "rules"


def _body(rng: Random) -> dict[str, Any]:
    fact, *demand = rng.choice(
        (
            ("injury.reach", "less-than", "65 mm"),
            ("injury.reach", "at-most", {"half-of": "tire.tread_width", "share": "3/4"}),
            ("injury.reach", "less-than", {"half-of": "tire.tread_width", "inset": "1 1/2 in"}),
            (
                "injury.reach",
                "less-than",
                {"half-of": "tire.section_width", "share": [{"through": "200 mm", "share": "60 %"}, {"share": "70 %"}]},
            ),
            ("injury.surface_diameter", "at-most", "8 mm"),
            ("repairs.spacing_angle", "at-least", "45 deg"),
            ("repairs.spacing", "more-than", "400 mm"),
            ("repair.from_centerline", "at-most", "50 mm"),
            ("repair.reach", "at-most", "50 mm"),
            ("repair.reach", "less-than", {"half-of": "tire.tread_width", "share": "3/4"}),
            ("tire.crack_depth", "less-than", "2/32 in"),
            ("tire.age", "at-most", "6 years"),
            ("tire.tread_depth", "at-least", "2/32 in", {"grooves": "two-adjacent", "places": 3}),
            ("repairs.opposed", None, [True]),
            ("repairs.overlap", None, [True]),
            ("injury.side", None, ["left"]),
        )
    )
    bound, value = demand[:2]
    if bound is None:
        return {"prohibit": {"fact": fact, "values": value}}
    counted = {"counted": demand[2]} if len(demand) > 2 else {}
    return {"limit": {"fact": fact, bound: value, **counted}}


def drawn_cases(rng: Random, packs: list[Pack], *, placed: bool = False) -> Iterator[Case]:
    """Yield cases that ask questions of `packs`, without end: each as it was drawn, and twice with one change.

    `placed` draws more of what must be worked out: rated units, measured repairs, grids of readings. It yields a case
    also before more was measured: what was drawn to comply seldom does so afterwards.
    """
    while True:
        for target in targets(rng, packs, 20):
            case = invented_case(rng, target, placed=placed)
            if placed:
                yield case
                case = deepcopy(case)
            if not placed and rng.random() < 0.9:
                case.pop("repair_unit", None)
            for spot in (*(case.get("injuries") or ()), *(case.get("earlier_repairs") or ())):
                if rng.random() < 0.2:
                    spot["side"] = rng.choice(_SIDES)
            if rng.random() < 0.35:
                _measure(rng, case, placed=placed)
            if placed and rng.random() < 0.1:
                case["vehicle"] = dict(rng.choice(_LIGHT))
            yield case
            yield _silent_on_one(rng, case)
            yield case | {"reading": rng.choice(("strict", "as-enacted")), "method": rng.choice(METHODS)}


def _silent_on_one(rng: Random, case: Case) -> Case:
    """Return the case that is silent on one fact, or does not have a whole block or list."""
    keys = [key for key in case if key not in ("jurisdictions", "activity", "on", "repair_unit")]
    if not keys:
        return case
    key = rng.choice(keys)
    block = case[key]
    blocks = [block] if isinstance(block, dict) else block if key in _LISTS and block else []
    at = rng.randrange(len(blocks)) if blocks else 0
    if not blocks or not blocks[at] or rng.random() < 0.2:
        return {name: value for name, value in case.items() if name != key}
    less = dict(blocks[at])
    del less[rng.choice(sorted(less))]
    return case | {key: less if isinstance(block, dict) else [*block[:at], less, *block[at + 1 :]]}


def _measure(rng: Random, case: Case, *, placed: bool) -> None:
    tire = case["tire"] = dict(case.get("tire") or {})
    if rng.random() < 0.5:
        tire |= {"size": rng.choice(_SIZES)} | dict.fromkeys(_PRINTED)
    # A tire made after the day asked about is refused.
    if case["on"] > "2020" and rng.random() < (0.5 if placed else 0.15):
        tire |= {"date_code": rng.choice(("0119", "4616", "5218", "1012")), "age": None}
    if rng.random() < 0.6:
        tire |= {"tread_width": rng.choice(("180 mm", "180 mm", "170 mm to 190 mm", "7 in", "199.9 mm"))}
    if rng.random() < 0.6:
        tire |= {"thickness": rng.choice(("10 mm", "12 mm ± 1 mm", "1/2 in", "15/32 in rounded", "12 mm rounded"))}
    if rng.random() < 0.1:
        tire |= {"belt_width": "170 mm"}
    if rng.random() < 0.03:
        tire |= {"tread_grid": [["3 mm", "2 mm", "4/32 in"]] * 3}
    if rng.random() < 0.1 and case.get("findings") is not None:
        tire |= {"crack_depth": rng.choice(("1 mm", "2/32 in", "0 mm"))}
        case["findings"] = sorted({*case["findings"], "weather-cracking"})
    if case["tire"].get("cracks_reach_plies") and case.get("findings") is not None:
        case["findings"] = sorted({*case["findings"], "weather-cracking"})
    for injury in case.get("injuries") or ():
        _locate(rng, injury)
        if rng.random() < 0.5:
            injury["leans"] = rng.choice(_LEANS)
        if rng.random() < 0.2:
            injury["surface_diameter"] = rng.choice(("5 mm", "6.6 mm", "1/4 in", "6 mm to 9 mm"))
        if rng.random() < 0.5:
            injury["zone"] = None
    for repair in case.get("earlier_repairs") or ():
        _locate(rng, repair)
        if not placed and rng.random() < 0.85:
            repair.pop("from_centerline", None)


def _locate(rng: Random, spot: Case) -> None:
    if rng.random() < 0.6:
        spot["from_centerline"] = rng.choice(_OFFSETS)
    if rng.random() < 0.5:
        spot["clock"] = rng.choice(_PLACES)
    if rng.random() < 0.3:
        spot |= {"unit_length": rng.choice(_UNITS), "unit_width": rng.choice(_UNITS)}
