"""What is known of a case, as the oracle sees it: views of the tire, of each injury and of each earlier repair.

Nothing here knows a rule.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import chain
from typing import Any

from tests.reference.derived import asked_of_carrier, entailed, is_commercial, is_regrooved
from tests.reference.measures import interval
from tests.reference.places import placed_injury, placed_repair
from tests.reference.sidewall import of_date_code, of_size
from tests.reference.tread import smallest
from tests.reference.views import NO_SUCH_FACT, Facts, View, shown
from tests.reference.words import COUNTS, GROUPS, JUDGED_METHODS, ORDER, PAIRED, QUANTITIES

__all__ = ["injuries_of", "methods_of", "repairs_of", "tire_of"]


def tire_of(case: dict[str, Any]) -> View:
    """What holds for the whole tire, with what follows from sidewall, readings, findings and the number of repairs."""
    view = _counted(case) | _on_sidewall(case)
    for group in GROUPS:
        view |= _group(group, case.get(group) or {})
    if case.get("findings") is not None:
        found = ", ".join(sorted(set(case["findings"]))) or "none"
        view |= View({"findings": entailed(case["findings"])}, {"findings": found})
    follows = {
        "vehicle.commercial_motor_vehicle": is_commercial(view.known),
        "tire.regrooved": is_regrooved(view.known),
    }
    follows = {fact: value for fact, value in follows.items() if value is not None}
    view |= View(follows, {fact: shown(value) for fact, value in follows.items()})
    return view | _smallest_tread(case, view) | View(instead=_asked_instead(case, view))


def injuries_of(case: dict[str, Any], tire: View) -> list[View]:
    """The facts of each injury on its tire; where none was recorded, one of which nothing is known.

    Who recorded what an inspection found, and no injury, saw none; only a repair cannot be of nothing.
    """
    if case.get("injuries") is None and case.get("findings") is not None and case["activity"] != "repair":
        return []
    measured = case.get("zones") == "measured"
    listed = [{}] if case.get("injuries") is None else case["injuries"]
    return [
        placed_injury(tire | _group("injury", item) | View(labels={"injury": f"injury {number}"}), measured)
        for number, item in enumerate(listed, start=1)
    ]


def repairs_of(case: dict[str, Any], tire: View) -> list[View]:
    """The facts of each earlier repair; where none was recorded, one of which nothing is known but that list."""
    if case.get("earlier_repairs") is None:
        facts = [fact for fact in ORDER if fact.startswith("repair.")]
        return [View(labels={"repair": "earlier repair 1"}, instead=dict.fromkeys(facts, ("earlier_repairs",)))]
    measured = case.get("zones") == "measured"
    return [
        placed_repair(_group("repair", item) | View(labels={"repair": f"earlier repair {number}"}), tire, measured)
        for number, item in enumerate(case["earlier_repairs"], start=1)
    ]


def methods_of(case: dict[str, Any]) -> list[str]:
    """The methods that a repair is judged by; none for any other activity."""
    if case["activity"] != "repair":
        return []
    return [case["method"]] if case.get("method") is not None else list(JUDGED_METHODS)


def _group(group: str, stated: dict[str, Any]) -> View:
    known = {f"{group}.{key}": value for key, value in stated.items() if value is not None}
    values = {name: _value(name, value) for name, value in known.items()}
    return View(values, {name: shown(value) for name, value in known.items()})


def _value(name: str, stated: Any) -> Any:
    """Read the value of a fact: an interval for a quantity or count, the thing itself for all else."""
    if name in COUNTS:
        return Fraction(stated), Fraction(stated)
    if name == "tire.tread_grid":
        return [[interval(reading) for reading in place] for place in stated]
    return interval(stated) if name in QUANTITIES and isinstance(stated, str) else stated


def _counted(case: dict[str, Any]) -> View:
    """What follows from the lists of injuries and repairs, unless the case states it."""
    facts: Facts = {}
    if case["activity"] != "road-use":
        # A passing state of the road, which nobody is asked about but who is about to drive on it.
        facts["road.snow_restriction"] = False
    lists = ["earlier_repairs", *(["injuries"] if case["activity"] == "repair" else [])]
    if any(case.get(each) is None for each in lists):
        return View(facts, {name: shown(value) for name, value in facts.items()})
    listed = sum(len(case[each]) for each in lists)
    single = max(listed, (case.get("repairs") or {}).get("count") or 0) <= 1
    if single:
        facts |= {"repairs.overlap": False, "repairs.opposed": False}
    texts = {name: shown(value) for name, value in facts.items()} | {"repairs.count": str(listed)}
    facts["repairs.count"] = Fraction(listed), Fraction(listed)
    if single:
        facts |= dict.fromkeys(("repairs.spacing", "repairs.spacing_angle"), NO_SUCH_FACT)
    return View(facts, texts)


def _on_sidewall(case: dict[str, Any]) -> View:
    tire = case.get("tire") or {}
    facts: Facts = {}
    texts: dict[str, str] = {}
    if tire.get("size") is not None:
        facts, texts = of_size(tire["size"])
    if tire.get("date_code") is not None:
        age, text = of_date_code(tire["date_code"], case["on"])
        facts, texts = facts | age, texts | text
    return View(facts, texts)


def _smallest_tread(case: dict[str, Any], view: View) -> View:
    """The smallest depth of all that were read; what was stated for the whole tire is kept beside it."""
    stated, grid = view.get("tire.tread_depth"), view.get("tire.tread_grid")
    kept = View({"tire.tread_stated": stated})
    if not grid:
        return kept
    texts = [*chain.from_iterable(case["tire"]["tread_grid"]), *([case["tire"]["tread_depth"]] if stated else [])]
    lowest = min(texts, key=lambda text: interval(text)[0])
    text = f"{shown(lowest)} (the smallest of {len(texts)} readings)"
    return kept | View({"tire.tread_depth": smallest(stated, grid)}, {"tire.tread_depth": text})


def _asked_instead(case: dict[str, Any], view: View) -> dict[str, tuple[str, ...]]:
    """What is asked for in the place of what follows from it."""
    instead: dict[str, tuple[str, ...]] = {
        fact: ("tire.size", fact) for fact in ("tire.section_width", "tire.outside_diameter")
    }
    if case.get("earlier_repairs") is None:
        instead |= dict.fromkeys((*PAIRED, "repairs.count"), ("earlier_repairs",))
    else:
        # Of a repair that is not listed, nobody can say how far around the tire it lies from another.
        unseen = case.get("injuries") is None and (case["activity"] == "repair" or case.get("findings") is None)
        instead["repairs.spacing_angle"] = ("injuries" if unseen else "earlier_repairs",)
    if case.get("findings") is None:
        instead["tire.regrooved"] = ("findings", "tire.regrooved")
    if view.get("vehicle.commercial_motor_vehicle") is None:
        instead["vehicle.commercial_motor_vehicle"] = (asked_of_carrier(view.known),)
    return instead
