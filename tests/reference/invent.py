"""Invents rule packs: every body, every kind of condition, dates, printed pairs, extensions, bands, contradictions.

Nothing here is law or practice of anywhere; the codes are real only because a pack must bear a real one, and every
title says that the pack is invented. Figures come from short lists, so that the figures of different rules often meet,
tie, or differ by the rounding between an inch and a millimeter.
"""

from __future__ import annotations

import re
from random import Random
from typing import Any, Final

from tests.reference.words import (
    ACTIVITIES,
    CHOICES,
    COUNTS,
    CURED,
    DOMAINS,
    FINDINGS,
    IMPLIED,
    JUDGED_METHODS,
    METHODS,
    SCALES,
)

__all__ = ["invented_packs"]

Pack = dict[str, Any]
Rule = dict[str, Any]

_HOLES: Final = ("3 mm", "5 mm", "6 mm", "1/4 in", "6.35 mm", "8 mm", "5/16 in", "3/8 in", "9.525 mm", "10 mm")
#: Figures in rising order, so that two of one list make a range.
_FIGURES: Final[dict[str, tuple[str, ...]]] = {
    "injury.diameter": _HOLES,
    "repair.diameter": _HOLES,
    "injury.length": ("5 mm", "10 mm", "1 in", "2.54 cm", "1 1/2 in", "2 in"),
    "injury.angle": ("15 deg", "20 deg", "25 deg", "30 deg", "35 deg"),
    "injury.from_centerline": ("0 mm", "40 mm", "2 in", "60 mm"),
    "tire.section_width": ("205 mm", "8.5 in", "225 mm", "0.3 m"),
    "tire.tread_width": ("150 mm", "6 in", "180 mm"),
    "tire.thickness": ("10 mm", "1/2 in", "15 mm"),
    "tire.outside_diameter": ("600 mm", "25 in", "26 in", "700 mm"),
    "tire.tread_depth": ("0 in", "1/16 in", "1.6 mm", "2 mm", "3/32 in", "3 mm", "4/32 in"),
    "tire.age": ("60 months", "6 years", "2191.5 days", "10 years"),
    "vehicle.gvwr": ("1900 kg", "10000 lb", "4536 kg", "10001 lb", "26000 lb"),
    "repairs.spacing": ("6 in", "400 mm", "16 in"),
}
_NUMBERS: Final = {"repairs.count": tuple(range(5)), "vehicle.seats": (5, 8, 9, 15, 16)}
#: Two figures of one limit, as sources print them: a figure and its rounding, now the one, now the other stricter.
_PRINTED_PAIRS: Final[dict[str, tuple[tuple[str, str], ...]]] = {
    "injury.diameter": (("1/4 in", "6 mm"), ("3/8 in", "10 mm"), ("6 mm", "1/4 in"), ("5/16 in", "8 mm")),
    "repair.diameter": (("1/4 in", "6 mm"), ("3/8 in", "10 mm"), ("10 mm", "3/8 in")),
    "injury.angle": (("25 deg", "26 deg"), ("25 deg", "20 deg")),
    "injury.length": (("1 in", "25 mm"), ("1 in", "26 mm")),
    "tire.tread_depth": (("2/32 in", "2 mm"), ("1/16 in", "1.6 mm"), ("2/32 in", "1.5 mm")),
    "repairs.spacing": (("16 in", "400 mm"), ("16 in", "410 mm")),
    "vehicle.gvwr": (("10000 lb", "4500 kg"), ("10000 lb", "4536 kg")),
}
_LIMITED: Final = (
    *["injury.diameter"] * 5,
    *["injury.angle"] * 3,
    *["tire.tread_depth"] * 3,
    *["repairs.spacing"] * 3,
    *_FIGURES,
    *["repairs.count"] * 3,
    "vehicle.seats",
)
_LAW: Final = ("statute", "regulation", "inspection-manual")
_PRACTICE: Final = ("standard", "industry-practice", "maker", "company")
_DAYS: Final = ("2019-01-01", "2024-02-29", "2025-07-01", "2026-11-25", "2027-01-01")
_SUBDIVISIONS: Final = ("US-SC", "US-TX", "US-NY", "CA-ON", "CA-QC")
_EVERYWHERE: Final = (("baseline", "trade"), ("company", "some-shop"), ("repair-material", "some-units"))
_WIDTHS: Final = ("tire.tread_width", "tire.tread_width", "tire.section_width", "tire.belt_width")
_SHARES: Final = ("1/2", "60 %", "65 %", "70 %", "3/4", "1/1")
_INSETS: Final = ("1 in", "1 1/2 in", "10 mm")
_STEPS: Final = ("demount", "inspect-inside-and-outside", "measure-after-preparation", "confirm-maker-policy")


def invented_packs(rng: Random, *, placed: bool = False) -> list[Pack]:
    """Return one to four packs that can stand in one rulebook: a country is always among them.

    `placed` adds rules on where injuries lie, on heights of wear indicators and on regrooves.
    """
    chosen = rng.sample(_SUBDIVISIONS, rng.choice((0, 1, 1, 2)))
    countries = {code[:2] for code in chosen} or {rng.choice(("US", "CA"))}
    places = [("country", code) for code in sorted(countries)] + [("jurisdiction", code) for code in chosen]
    places += rng.sample(_EVERYWHERE, rng.randint(0, max(0, min(2, 4 - len(places)))))
    if placed and rng.random() < 0.4:
        places = [*(place for place in places if place[0] != "baseline"), _EVERYWHERE[0]]
    activity = rng.choice((*["repair"] * 5, *ACTIVITIES))
    packs = [_pack(rng, kind, name, activity) for kind, name in places]
    groups = [(0.9, _size_rules), (0.9, _tread_rules), (0.5, _angle_rules), (0.25, _rules_cured_by_repair)]
    groups.append((0.95, _what_else_must_be_judged))
    if placed:
        groups += [(0.3, _bands), (0.3, _bands_of_earlier_repairs), (0.3, _rules_on_what_follows)]
    for share, rules in groups:
        if rng.random() < share:
            rng.choice(packs)["rules"] += rules(rng)
    for pack in packs if placed else ():
        for rule in pack["rules"]:
            _count_grooves(rng, rule.get("limit", {}))
        if pack["kind"] == "baseline" and rng.random() < 0.85:
            pack["rules"] += _contradictions(rng)
    for pack in packs:
        _tidy(rng, pack)
    return packs


def _pack(rng: Random, kind: str, name: str, activity: str) -> Pack:
    return {
        "format": 1,
        "pack": name,
        "version": "1.0.0",
        "engine": ">=1,<2",
        "kind": kind,
        "title": f"Invented {kind} pack",
        "reviewed": "2026-11-25",
        "coverage": {},
        "notes": ["Invented for tests; no law and no practice."],
        "sources": {
            "law": _source(rng, "Invented Code § 1", _LAW),
            "practice": _source(rng, "Invented chart", _PRACTICE),
        },
        "rules": [_rule(rng, activity) for _ in range(rng.choice((1, 1, 1, 2, 2, 3, 4, 6)))],
    }


def _source(rng: Random, citation: str, authorities: tuple[str, ...]) -> dict[str, str]:
    evidence = rng.choice(("text-read", "text-read", "secondary", "secondary", "secondary", "memory"))
    return {"citation": citation, "authority": rng.choice(authorities), "evidence": evidence}


def _tidy(rng: Random, pack: Pack) -> None:
    """Number the rules, and let the coverage say `rules` for exactly the activities that have some."""
    for number, rule in enumerate(pack["rules"], start=1):
        rule["id"] = f"rule-{number}"
    ruled = {activity for rule in pack["rules"] for activity in rule["activity"]}
    silences = ("none-located", "none-located", "none-located", "none-located", "not-reviewed", None)
    coverage = {each: "rules" if each in ruled else rng.choice(silences) for each in ACTIVITIES}
    pack["coverage"] = {each: said for each, said in coverage.items() if said} or {"repair": "none-located"}


def _size_rules(rng: Random) -> list[Rule]:
    """Ceilings on the injury's size: without a gap, with one, or with one that an unknown fact may close."""
    tests = _partition(rng)
    if len(tests) > 1 and rng.random() < 0.15:
        tests.pop()
    rules = [{**_frame(rng, ["repair"]), **_limit(rng, "injury.diameter", ceiling=True)} for _ in tests]
    return [_under(rng, rule, test) for rule, test in zip(rules, tests, strict=True)]


def _what_else_must_be_judged(rng: Random) -> list[Rule]:
    """A ceiling on the size of earlier repairs, and a word on classes: without them silence leaves a case open."""
    size = {"fact": "repair.diameter", "at-most": rng.choice(("6 mm", "3/8 in", "60 mm"))}
    classes = {"fact": "tire.class", "values": [each for each in DOMAINS["tire.class"] if each != "temporary-spare"]}
    acts = ["repair", "used-tire-installation", "used-tire-sale"]
    driving = ["road-use", "tire-sale", "vehicle-sale"]
    return [{**_frame(rng, acts), "limit": size}, {**_frame(rng, driving), "permit": classes}]


def _tread_rules(rng: Random) -> list[Rule]:
    """Floors under the tread, or words on its indicators, for whatever is done but repair."""
    tests = _partition(rng)
    if len(tests) > 1 and rng.random() < 0.15:
        tests.pop()
    rules = []
    for test in tests:
        body = _limit(rng, "tire.tread_depth", ceiling=False)
        if rng.random() < 0.2:
            body = {"disqualify": {"findings": ["worn-to-indicators"]}}
        rules.append(_under(rng, {**_frame(rng, list(ACTIVITIES[1:])), **body}, test))
    return rules


def _under(rng: Random, rule: Rule, test: dict[str, Any]) -> Rule:
    """The rule under a condition, and mostly without dates."""
    kept = {key: value for key, value in rule.items() if key != "in-force" or rng.random() < 0.2}
    return kept | ({"when": test} if test else {})


def _partition(rng: Random) -> list[dict[str, Any]]:
    """Conditions of which one always holds, or nearly always."""
    name = rng.choice(("", "", "tire.class", "tire.load_range", "tire.run_flat", "vehicle.gvwr", "repair.zone", "two"))
    if not name:
        return [{}]
    if name == "two":
        # Two facts of one earlier repair, against each other: what closes the gap for one repair opens it for another.
        zone, method = rng.choice(DOMAINS["repair.zone"]), rng.choice(JUDGED_METHODS)
        return [
            {"repair.zone": zone, "repair.method": method},
            {"repair.zone": {"not": zone}, "repair.method": {"not": method}},
        ]
    if name in _FIGURES:
        edge = rng.choice(_FIGURES[name])
        return [{name: {"less-than": edge}}, {name: {"at-least": edge}}]
    if name in SCALES:
        edge = rng.choice(SCALES[name][1:-1])
        tests: list[dict[str, Any]] = [{name: {"at-most": edge}}, {name: {"more-than": edge}}]
    else:
        some = rng.sample(DOMAINS[name], 1)
        tests = [{name: some}, {name: {"not": some}}]
    if rng.random() < 0.3:
        tests[0]["tire.speed_symbol"] = {"at-most": rng.choice(SCALES["tire.speed_symbol"][6:])}
    if rng.random() < 0.2:
        tests.append({"vehicle.gvwr": {"at-most": rng.choice(_FIGURES["vehicle.gvwr"])}})
    return tests


def _angle_rules(rng: Random) -> list[Rule]:
    """Ceilings on the angle that the rating of a repair unit may move."""
    rules = []
    for method in rng.sample(JUDGED_METHODS, rng.choice((1, 1, 2))):
        rule = {**_frame(rng, ["repair"]), "source": "practice", **_limit(rng, "injury.angle", ceiling=True)}
        highest = max(int(degrees) for degrees in re.findall("([0-9]+) deg", str(rule["limit"])))
        rule["extendable"] = {"up-to": f"{highest + rng.choice((1, 5, 10))} deg", "by": "repair-material"}
        rules.append(rule | ({"when": {"method": method}} if rng.random() < 0.9 else {}))
    return rules


def _rules_cured_by_repair(rng: Random) -> list[Rule]:
    """A rule on road use that a repair answers to, about what the repair removes: alone, or among other findings."""
    findings = sorted({*rng.sample(sorted(CURED), rng.randint(1, 2)), *rng.sample(FINDINGS[:6], rng.choice((0, 0, 1)))})
    rule = _frame(rng, ["road-use"] if rng.random() < 0.8 else ["repair", "road-use"])
    if rng.random() < 0.6:
        return [rule | {"disqualify": {"findings": findings}}]
    return [rule | {"when": {"findings": _values(rng, findings)}, **_body(rng)}]


def _count_grooves(rng: Random, limit: dict[str, Any]) -> None:
    """Let some floors under the tread say which grooves and places they count."""
    if limit.get("fact") == "tire.tread_depth" and {"at-least", "more-than"} & set(limit) and rng.random() < 0.25:
        grooves = rng.choice(("any-one", "any-two", "two-adjacent", "center", "every"))
        limit["counted"] = {"grooves": grooves, "places": rng.randint(1, 3)}


def _bands(rng: Random) -> list[Rule]:
    """Bands in which an injury must lie, and mostly a rule on zones, which the measured place may prove."""
    rules = [{**_frame(rng, ["repair"]), **_band(rng, "injury")} for _ in range(rng.choice((1, 1, 2)))]
    zones = rng.choice((["crown"], ["crown"], ["crown", "belt-edge"], ["crown", "shoulder"]))
    if rng.random() < 0.7:
        rules.append({**_frame(rng, ["repair"]), "permit": {"fact": "injury.zone", "values": zones}})
    tests = ({"method": list(JUDGED_METHODS[:2])}, {"tire.class": "passenger"}, {}, {}, {})
    return [_under(rng, rule, rng.choice(tests)) for rule in rules]


def _bands_of_earlier_repairs(rng: Random) -> list[Rule]:
    """The same for what a tire already carries, whatever is done with it; a new repair answers as one more of them."""
    activities = rng.choice((["repair", "used-tire-installation"], ["repair", "used-tire-sale"], list(ACTIVITIES)))
    rules = [{**_frame(rng, activities), **_band(rng, "repair")} for _ in range(rng.choice((1, 1, 2)))]
    if rng.random() < 0.7:
        rules.append({**_frame(rng, activities), "prohibit": {"fact": "repair.zone", "values": ["shoulder", "bead"]}})
    tests = ({"repair.method": list(JUDGED_METHODS[:2])}, {"tire.class": "passenger"}, {}, {}, {})
    return [_under(rng, rule, rng.choice(tests)) for rule in rules]


def _band(rng: Random, group: str) -> Rule:
    bound = rng.choice(("at-most", "less-than"))
    if rng.random() < 0.15:
        return {"limit": {"fact": f"{group}.reach", bound: rng.choice(("50 mm", "2 1/2 in", "0.07 m"))}}
    figure: dict[str, Any] = {"half-of": rng.choice(_WIDTHS)}
    form = rng.random()
    if form < 0.5:
        figure["share"] = rng.choice(_SHARES)
    elif form < 0.75:
        steps = rng.choice((["160 mm"], ["6 in", "205 mm"]))
        figure["share"] = [{"through": step, "share": rng.choice(_SHARES)} for step in steps]
        figure["share"] += [{"share": rng.choice(_SHARES)}]
    if form > 0.75 or rng.random() < 0.2:
        figure["inset"] = rng.choice(_INSETS)
    return {"limit": {"fact": f"{group}.reach", bound: figure}}


def _contradictions(rng: Random) -> list[Rule]:
    """Heights of indicators, as the trade's baseline holds them, and perhaps a bar on a tire that is worn to them."""
    rules: list[Rule] = [
        {
            **{"id": "", "says": "Invented.", "activity": ["road-use", "tire-sale", "vehicle-sale"], "source": "law"},
            **{"when": {"tire.class": classes}, "limit": {"fact": "tire.tread_depth", "at-least": height}},
            "contradicts": "worn-to-indicators",
        }
        for classes, height in (
            (["passenger", "light-truck", "medium-truck", "bus"], "1/16 in"),
            ("motorcycle", "1/32 in"),
        )
    ]
    if rng.random() < 0.5:
        bar = {**_frame(rng, [rng.choice(ACTIVITIES)]), "disqualify": {"findings": ["bulge", "worn-to-indicators"]}}
        rules.append(_under(rng, bar, rng.choice(({}, {"tire.class": ["passenger", "bus"]}, {"tire.retread": False}))))
    return rules


def _rules_on_what_follows(rng: Random) -> list[Rule]:
    """Bars on what was regrooved, by the finding or the fact, and a rule that depends on a fact that follows."""
    rule = _frame(rng, sorted(rng.sample(ACTIVITIES, 3)))
    found = rng.choice((["regroove"], ["unmarked-regroove"], ["regroove", "unmarked-regroove"]))
    follows = rng.choice(("tire.regrooved", "vehicle.commercial_motor_vehicle", "vehicle.commercial_motor_vehicle"))
    body: Rule = rng.choice(
        (
            {"disqualify": {"findings": found}},
            {"prohibit": {"fact": "tire.regrooved", "values": [True]}},
            {"when": {follows: rng.choice((True, False))}, **_body(rng)},
        )
    )
    return [{**rule, **body}]


def _rule(rng: Random, activity: str) -> Rule:
    if rng.random() < 0.2:
        activity = rng.choice(ACTIVITIES)
    elif rng.random() < 0.3:
        activity = IMPLIED.get(activity, activity)
    activities = sorted({activity, *rng.sample(ACTIVITIES, rng.choice((0, 0, 0, 1, 2)))})
    rule = {**_frame(rng, activities), **_body(rng)}
    when = dict(_condition(rng) for _ in range(rng.choice((0, 0, 0, 1, 1, 2, 3))))
    if when:
        rule["when"] = when
    return rule


def _frame(rng: Random, activities: list[str]) -> Rule:
    rule: Rule = {"id": "", "says": "Invented.", "activity": activities, "source": rng.choice(("law", "practice"))}
    first, last = sorted(rng.sample(_DAYS, 2))
    dates = rng.choice(
        ({}, {}, {}, {}, {}, {"from": first}, {"from": "unknown"}, {"until": last}, {"from": first, "until": last})
    )
    return rule | ({"in-force": dates} if dates else {})


def _body(rng: Random) -> Rule:
    kind = rng.choice((*["limit"] * 9, *["permit"] * 3, *["prohibit"] * 4, *["disqualify"] * 4, "require"))
    if kind == "limit":
        return _limit(rng, rng.choice(_LIMITED))
    if kind == "disqualify":
        return {"disqualify": {"findings": _some_findings(rng)}}
    if kind == "require":
        return {"require": {"steps": rng.sample(_STEPS, rng.randint(1, 2))}}
    name = rng.choice((*DOMAINS, "injury.zone", "repair.zone", "method", "method", "repairs.overlap"))
    return {kind: {"fact": name, "values": rng.sample(DOMAINS[name], rng.randint(1, len(DOMAINS[name]) - 1))}}


def _limit(rng: Random, name: str, *, ceiling: bool | None = None) -> Rule:
    # A ceiling on size and a floor on what wears: the other way round is rarer in life and rarer here.
    if ceiling is None:
        usual = not name.startswith(("tire.", "repairs.spacing"))
        ceiling = usual if rng.random() < 0.8 else not usual
    bound = rng.choice(("at-most", "at-most", "less-than") if ceiling else ("at-least", "at-least", "more-than"))
    if name in COUNTS:
        return {"limit": {"fact": name, bound: rng.choice(_NUMBERS[name])}}
    figure: Any = rng.choice(_FIGURES[name])
    if name in _PRINTED_PAIRS and rng.random() < 0.3:
        value, also = rng.choice(_PRINTED_PAIRS[name])
        figure = {"value": value, "also-printed": also}
    return {"limit": {"fact": name, bound: figure}}


def _condition(rng: Random) -> tuple[str, Any]:
    kind = rng.choice(("choice", "choice", "flag", "scale", "quantity", "count", "findings", "method"))
    if kind == "count":
        name = rng.choice(COUNTS)
        return name, _range(rng, _NUMBERS[name])
    if kind == "quantity":
        name = rng.choice(tuple(_FIGURES))
        return name, _range(rng, _FIGURES[name])
    if kind == "findings":
        return "findings", _values(rng, _some_findings(rng))
    if kind == "method":
        return "method", _values(rng, rng.sample((*JUDGED_METHODS * 3, *METHODS), 1))
    if kind == "flag":
        name = rng.choice([each for each in DOMAINS if each not in CHOICES and each not in SCALES])
        return name, _values(rng, [rng.choice((True, False))])
    if kind == "choice":
        name = rng.choice(tuple(CHOICES))
        return name, _values(rng, rng.sample(CHOICES[name], rng.randint(1, min(3, len(CHOICES[name]) - 1))))
    name = rng.choice(tuple(SCALES))
    if rng.random() < 0.6:
        return name, _range(rng, SCALES[name])
    return name, _values(rng, rng.sample(SCALES[name], rng.randint(1, 4)))


def _values(rng: Random, values: list[Any]) -> Any:
    """One value or a list, as it is or denied."""
    stated = values[0] if len(values) == 1 and rng.random() < 0.5 else values
    return {"not": stated} if rng.random() < 0.35 else stated


def _range(rng: Random, rising: tuple[Any, ...]) -> dict[str, Any]:
    """One bound, or two with room between them: neighbours may be one length in two units."""
    low = rng.randrange(len(rising) - 2)
    high = rng.randrange(low + 2, len(rising))
    above = {rng.choice(("at-least", "more-than")): rising[low]}
    below = {rng.choice(("at-most", "less-than")): rising[high]}
    return rng.choice((above, below, {**above, **below}))


def _some_findings(rng: Random) -> list[str]:
    # Few names, so that rules and cases meet; the two that a repair removes often, since they have their own rule.
    common = (*FINDINGS[:6], *sorted(CURED), *sorted(CURED), "regroove", "unmarked-regroove", "worn-to-indicators")
    return sorted(set(rng.sample(common, rng.randint(1, 3))))
