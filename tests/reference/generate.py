"""Draws cases that sit where mistakes would show: on a figure, just beside it, astride it, or without it.

A case is drawn for a set of rule packs, so that it speaks of what their rules read: their figures, their dates, their
values. Some cases are tame (every value is drawn until it complies, so that some cases pass every rule), some are wild,
and in each a share of the facts is left out. All tires are invented.
"""

from __future__ import annotations

import math
from datetime import date, timedelta
from fractions import Fraction
from random import Random
from typing import Any, Final

from tests.reference.aims import Target, exact, targets
from tests.reference.derived import entailed
from tests.reference.words import (
    COUNTS,
    CURED,
    DOMAINS,
    FINDINGS,
    GROUPS,
    JUDGED_METHODS,
    METHODS,
    PAIRED,
    QUANTITIES,
    UNITS,
)

__all__ = ["invented_case", "targets"]

_UNITS_OF: Final = {"injury.angle": ("deg",), "vehicle.gvwr": ("kg", "lb"), "tire.age": ("years", "months", "days")}
_LENGTHS: Final = ("mm", "mm", "in", "cm")
#: What a measure is drawn around where no rule names a figure.
_FALLBACK: Final = {
    **{"injury.angle": Fraction(20), "vehicle.gvwr": Fraction(4000), "tire.age": Fraction(2000)},
    **{"tire.tread_width": Fraction(180), "tire.section_width": Fraction(225), "tire.belt_width": Fraction(170)},
    **{"tire.thickness": Fraction(12), "tire.outside_diameter": Fraction(634)},
}
_TRIES: Final = 25
#: A number of more than nine digits is no quantity that a case may state.
_TOO_LONG: Final = 10**9
_BASE: Final = {"in": "mm", "cm": "mm", "lb": "kg", "years": "days", "months": "days"}


def invented_case(rng: Random, target: Target, *, placed: bool = False) -> dict[str, Any]:
    """Return one case, in its JSON form, that asks `target`'s question of an invented tire.

    `placed` measures where its injuries and earlier repairs lie, and its tread groove by groove.
    """
    return _Draw(rng, target, placed).case()


class _Draw:
    """One drawing of a case: how tame and how silent it is holds for the whole of it."""

    def __init__(self, rng: Random, target: Target, placed: bool) -> None:
        self.rng = rng
        self.target = target
        self.placed = placed
        # A measured place gives a tame case more to comply with.
        self.tame = rng.random() < (0.8 if placed else 0.7)
        self.silent = rng.choice((0.0, 0.0, 0.0, *([0.0] if placed else []), 0.03, 0.15, 0.4))
        #: One or two facts that rules read and that this case is silent on, though it may state all others.
        self.withheld = rng.sample(sorted(target.named), min(len(target.named), rng.choice((0, 0, 1, 2))))
        self.unit = self._unit() if rng.random() < (0.8 if target.extended else 0.05) else None

    def case(self) -> dict[str, Any]:
        rng, target = self.rng, self.target
        is_repair = target.activity == "repair"
        case: dict[str, Any] = {"jurisdictions": list(target.codes), "activity": target.activity, "on": self._day()}
        case |= {group: found for group in GROUPS if group != "repairs" and (found := self._group(group))}
        tire = case.get("tire", {})
        if self.placed and "tire.tread_depth" in target.named and rng.random() < 0.2:
            tire = case["tire"] = {**tire, "tread_grid": self._grid()}
        self._put(case, "injuries", self._list("injury", tire) if is_repair or rng.random() < 0.2 else [])
        self._put(case, "earlier_repairs", self._list("repair", tire) if rng.random() < 0.7 else [])
        if self.placed and rng.random() < 0.15:
            case["zones"] = rng.choice(("as-named", "measured"))
        self._put(case, "findings", self._findings())
        cracked = {key for key in ("crack_depth", "cracks_reach_plies") if case.get("tire", {}).get(key) is not None}
        if cracked and case.get("findings") is not None:
            # Words on cracks without the finding are refused as a contradiction.
            if self.tame and "weather-cracking" not in case["findings"]:
                case["tire"] = {key: value for key, value in case["tire"].items() if key not in cracked}
            else:
                case["findings"] = sorted({*case["findings"], "weather-cracking"})
        if repairs := self._repairs(case):
            case["repairs"] = repairs
        if is_repair and rng.random() < 0.3:
            case["method"] = rng.choice(JUDGED_METHODS if self.tame else (*JUDGED_METHODS, *METHODS))
        if rng.random() < 0.5:
            case["reading"] = rng.choice(("strict", "as-enacted"))
        if self.unit is not None:
            case["repair_unit"] = self.unit
        return case

    def _put(self, into: dict[str, Any], key: str, value: Any) -> None:
        """State a value, or leave it unknown: silently, or in so many words."""
        if self.rng.random() >= self.silent:
            into[key] = value
        elif self.rng.random() < 0.3:
            into[key] = None

    def _day(self) -> str:
        day = self.rng.choice((date(2026, 11, 25), *sorted(self.target.days)))
        return str(day + timedelta(days=self.rng.choice((0, 0, -1, 1))))

    def _group(self, group: str) -> dict[str, Any]:
        stated: dict[str, Any] = {}
        for name in (*DOMAINS, *QUANTITIES, "vehicle.seats"):
            if name.startswith(f"{group}.") and (name in self.target.named or self.rng.random() < 0.1):
                self._put(stated, name.partition(".")[2], None if name in self.withheld else self._value(name))
        return stated

    def _list(self, group: str, tire: dict[str, Any]) -> list[dict[str, Any]]:
        return [self._item(group, tire) for _ in range(self.rng.choice((1, 1, 1, 1, 2, 3)))]

    def _item(self, group: str, tire: dict[str, Any]) -> dict[str, Any]:
        """Draw an injury or earlier repair; where a band waits for it, mostly at a place that was measured."""
        rng = self.rng
        item = self._group(group)
        if not self.placed:
            if f"{group}.reach" in self.target.named:
                item.pop("from_centerline", None)
            return item
        if self.target.named & {*PAIRED, "repairs.count"} and rng.random() < 0.5:
            around = rng.choice((0, 0, 30, 60, 72, 89, 90, 91, 180, 270, 355))
            item["clock"] = rng.choice((f"{around} deg", f"{around // 30}:{around % 30 * 2:02d}"))
        if self.target.bands[f"{group}.reach"] and rng.random() < 0.7:
            self._measure(group, item, tire)
        return item

    def _measure(self, group: str, item: dict[str, Any], tire: dict[str, Any]) -> None:
        """Measure the place of an item from the center line; mostly, what else its reach follows from as well."""
        rng = self.rng
        if group == "injury" and rng.random() < 0.4:
            item["angle"] = "0 deg"
        for key in ("diameter", *(("angle", "leans") if group == "injury" else ())):
            if key not in item and rng.random() < (0.95 if self.tame else 0.7):
                item[key] = self._value(f"{group}.{key}")
        self._put(item, "from_centerline", self._place(group, item, tire))
        if rng.random() < 0.5:
            item.pop("zone", None)
        elif self.tame:
            item["zone"] = "crown"

    def _place(self, group: str, item: dict[str, Any], tire: dict[str, Any]) -> str:
        """Draw a place from which the item reaches to an edge, just short of it, just beyond, or beyond it altogether.

        The edge is that of a band or of the tread. Only straight through is an edge hit exactly: what trigonometry
        yields is irrational, and no gauge tells the last digits.
        """
        rng = self.rng
        edges = [_half_width(each, tire) for each in self.target.bands[f"{group}.reach"]]
        if (tread := _some_end(tire.get("tread_width"))) is not None:
            edges.append(tread / 2)
        known = [each for each in edges if each is not None] or [Fraction(60)]
        edge = min(known) if self.tame else rng.choice(known)
        half = (_some_end(item.get("diameter")) or Fraction(0)) / 2
        degrees = _some_end(item.get("angle")) or Fraction(0)
        through = (
            (_some_end(tire.get("thickness")) or Fraction(0)) if item.get("leans") != "toward-center" else Fraction(0)
        )
        tilted = group == "injury" and degrees != 0 and item.get("leans") != "along-circumference"
        own = half
        if tilted:
            radians = math.radians(degrees)
            own = Fraction(round(1000 * (through * math.tan(radians) + half / math.cos(radians))), 1000)
        hair, step = Fraction(1, 1000), Fraction(3)
        inside, beyond = (-hair, -step, -4 * step), (hair, step, half, 2 * half, 2 * half + hair)
        offsets = (*inside, *(() if tilted else (0, 0)), *(() if self.tame else beyond))
        low, high = sorted(max(Fraction(0), edge - own + rng.choice(offsets)) for _ in range(2))
        unit = rng.choice(_LENGTHS)
        return _text(rng, low, unit) if rng.random() < 0.8 else f"{_text(rng, low, unit)} to {_text(rng, high, 'mm')}"

    def _grid(self) -> list[list[str]]:
        places, grooves = self.rng.choice((1, 2, 3, 3, 3, 6)), self.rng.randint(1, 4)
        return [[self._measured("tire.tread_depth")[2] for _ in range(grooves)] for _ in range(places)]

    def _findings(self) -> list[str]:
        # Mostly findings that some rule speaks of: one that none does leaves every case undetermined.
        pool = set(FINDINGS if self.rng.random() < 0.15 else self.target.findings)
        if self.rng.random() < 0.2:
            pool |= CURED
        if "tire.regrooved" in self.target.named and not self.tame:
            pool.add("regroove")
        if "tire.regrooved" in self.target.named and not self.tame:
            pool.add("regroove")
        if self.tame:
            refused = self.target.refused["findings"] - (CURED if self.target.activity == "repair" else set())
            pool = {each for each in pool if not entailed([each]) & refused}
        return self.rng.sample(sorted(pool), min(len(pool), self.rng.choice((0, 0, 0, 1, 1, 2))))

    def _repairs(self, case: dict[str, Any]) -> dict[str, Any]:
        # A count below the number of repairs listed is refused as a contradiction, so it is never drawn; and a repair
        # whose injuries were not recorded is a repair of one at least.
        listed = len(case.get("earlier_repairs") or ())
        if case["activity"] == "repair":
            listed += len(case.get("injuries") or [{}])
        stated = self._group("repairs") if self.rng.random() < 0.6 else {}
        if "repairs.count" in self.target.named and self.rng.random() < 0.4:
            figures = [int(each) for each in self.target.figures["repairs.count"]] or [2]
            self._put(stated, "count", max(listed, self.rng.choice(figures) + self.rng.choice((-1, 0, 0, 1))))
        return stated

    def _unit(self) -> dict[str, Any]:
        rng = self.rng
        figures = sorted(self.target.figures["injury.angle"]) or [Fraction(25)]
        self.rated = max(Fraction(0), rng.choice(figures) + rng.choice((-5, Fraction(-1, 1000), 0, 0, 1, 5)))
        method = rng.choice((*JUDGED_METHODS, *sorted(self.target.extended) * 3))
        unit = {"method": method, "rated_angle": _text(rng, self.rated, "deg")}
        return unit | rng.choice((*[{"document": "invented data sheet"}] * 3, {}, {"document": None}, {"document": ""}))

    def _value(self, name: str) -> Any:
        """Draw a value; a tame case draws again while a rule would refuse it."""
        moved = name == "injury.angle" and self.unit is not None and self.rng.random() < 0.6
        for _ in range(_TRIES):
            if name in QUANTITIES:
                low, high, value = self._measured(name)
                refused = any(high > each for each in self.target.ceilings[name]) or any(
                    low < each for each in self.target.floors[name]
                )
            elif name in COUNTS:
                value = int(self.rng.choice(sorted(self.target.figures[name]) or [Fraction(5)])) + self.rng.choice(
                    (-1, 0, 0, 1)
                )
                refused = any(value > each for each in self.target.ceilings[name]) or any(
                    value < each for each in self.target.floors[name]
                )
            else:
                value = self.rng.choice(DOMAINS[name])
                refused = value in self.target.refused[name]
            if moved or not (self.tame and refused):
                break
        return value

    def _measured(self, name: str) -> tuple[Fraction, Fraction, str]:
        """Draw a measurement on a figure, just beside it, or around it; return both ends and its text."""
        rng = self.rng
        unit = rng.choice(_UNITS_OF.get(name, _LENGTHS))
        figures = sorted(self.target.figures[name]) or [_FALLBACK.get(name, Fraction(7))]
        if name == "injury.angle" and self.unit is not None:
            figures += [self.rated] * 2
        figure = rng.choice(figures)
        hair, step = Fraction(1, 1000), max(Fraction(1, 2), figure / 20)
        offsets = (0, 0, 0, hair, -hair, step, -step, -2 * step)
        low, high = sorted(max(Fraction(0), figure + rng.choice(offsets)) for _ in range(2))
        form = rng.random()
        if form < 0.7:
            return low, low, _text(rng, low, unit)
        if form < 0.85 or low == high:
            return (
                low,
                high,
                f"{_text(rng, low, unit)} to {_text(rng, high, rng.choice(_UNITS_OF.get(name, _LENGTHS)))}",
            )
        middle, half = (low + high) / 2, (high - low) / 2
        if low == 0 and rng.random() < 0.5:
            middle, half = high / 4, high * 3 / 4  # reaches below zero on paper, and to zero in fact
        return low, high, f"{_text(rng, middle, unit)} ± {_text(rng, half, unit)}"


def _some_end(stated: str | None) -> Fraction | None:
    """One end of what a case states of a quantity; the middle, where it states a width around it."""
    return None if stated is None else exact(stated.split(" to ")[0].split("±")[0].strip())


def _half_width(figure: Any, tire: dict[str, Any]) -> Fraction | None:
    """About where a band ends on a tire, to draw places around it."""
    if isinstance(figure, str):
        return exact(figure)
    datum = _some_end(tire.get(figure["half-of"].partition(".")[2]))
    if datum is None:
        return None
    rows = figure.get("share", "1/1")
    for row in rows if isinstance(rows, list) else [{"share": rows}]:
        if "through" not in row or datum <= exact(row["through"]):
            share = row["share"]
            part = Fraction(share.rstrip("% ")) / (100 if "%" in share else 1)
            return max(Fraction(0), datum * part / 2 - exact(figure.get("inset", "0 mm")))
    return None


def _text(rng: Random, value: Fraction, unit: str) -> str:
    """Write an exact value: as a decimal where it ends, else (and sometimes anyway) as a common fraction."""
    number = value / UNITS[unit]
    if max(number.numerator, number.denominator) >= _TOO_LONG:
        unit = _BASE.get(unit, unit)
        number = value
    places = next((places for places in range(19) if (number * 10**places).denominator == 1), None)
    if places is not None and (number.denominator == 1 or number.numerator >= _TOO_LONG or rng.random() < 0.7):
        digits = f"{int(number * 10**places):0{places + 1}d}"
        return f"{digits[: len(digits) - places]}{'.' if places else ''}{digits[len(digits) - places :]} {unit}"
    whole, rest = divmod(number, 1)
    return f"{whole} {rest} {unit}" if whole and rng.random() < 0.5 else f"{number} {unit}"
