"""What outlives a decision is a function of the packs: nothing holds more after many tickets than after some.

Counted are the objects reachable from the rulebook, and from what the library's modules, classes and functions hold.

The one thing that may grow is a table from words and figures to codes that says how far it grows: a dict of a class of
its own with the attribute `BOUND`, the greatest number of its entries.
"""

from __future__ import annotations

import gc
import json
import sys
from collections import Counter
from collections.abc import Iterator
from random import Random
from types import (
    BuiltinFunctionType,
    CellType,
    CodeType,
    FunctionType,
    GetSetDescriptorType,
    MemberDescriptorType,
    ModuleType,
)
from typing import Any

import pytest

import tirerules
from tirerules import Rulebook

#: What belongs to the program: not walked by itself, but for what the library's own functions and classes hold.
PROGRAM = (type, ModuleType, FunctionType, BuiltinFunctionType, CodeType, GetSetDescriptorType, MemberDescriptorType)
#: Two places with rules of their own, and one act of each kind: their programs are all made by the first tickets.
PLACES = ("US-SC", "CA-QC")
ACTIVITIES = ("repair", "used-tire-installation", "road-use")
#: Tickets are of one day, since what a rulebook holds for each span of days between two changes of law may differ.
DAY = "2026-11-25"


def bounded(value: object) -> int | None:
    """Return the bound of a table that declares one; None for anything else."""
    return getattr(type(value), "BOUND", None) if isinstance(value, dict) else None


def of_the_library() -> Iterator[object]:
    """Yield what the library's modules, classes and functions hold beside any rulebook."""
    for name, module in list(sys.modules.items()):
        if name.partition(".")[0] == "tirerules":
            for each in list(vars(module).values()):
                yield from _held_by(each)


def _held_by(value: object) -> Iterator[object]:
    """Yield what is held by a value, or by a class or a function of the library."""
    if not isinstance(value, PROGRAM):
        yield value
    elif str(getattr(value, "__module__", "")).partition(".")[0] == "tirerules":
        if isinstance(value, type):
            for each in list(vars(value).values()):
                yield from _held_by(each) if isinstance(each, FunctionType) else _plain(each)
        elif isinstance(value, FunctionType):
            yield from (value.__defaults__, value.__kwdefaults__, vars(value), *_cells(value))


def _plain(value: object) -> Iterator[object]:
    if not isinstance(value, PROGRAM):
        yield value


def _cells(function: FunctionType) -> Iterator[object]:
    yield from (cell.cell_contents for cell in function.__closure__ or () if _filled(cell))


def _filled(cell: CellType) -> bool:
    try:
        cell.cell_contents  # noqa: B018  # reading it is how to learn whether it is there
    except ValueError:
        return False
    return True


def reachable(*roots: object) -> tuple[Counter[str], dict[str, list[tuple[int, int]]]]:
    """Count the objects that are reachable from `roots`, by type, and return the sizes and bounds of bounded tables.

    A bounded table is counted as one object, and what it holds is not walked. Objects without references of their own
    (text, whole numbers) are counted like all others, each once.
    """
    found: Counter[str] = Counter()
    tables: dict[str, list[tuple[int, int]]] = {}
    waiting = [root for root in roots if not isinstance(root, PROGRAM)]
    seen = set(map(id, waiting))
    while waiting:
        each = waiting.pop()
        name = f"{type(each).__module__}.{type(each).__qualname__}"
        found[name] += 1
        bound = bounded(each)
        if bound is not None:
            assert isinstance(each, dict)
            tables.setdefault(name, []).append((len(each), bound))
            continue
        for other in gc.get_referents(each):
            if id(other) not in seen and not isinstance(other, PROGRAM):
                seen.add(id(other))
                waiting.append(other)
    return found, tables


def invented_tickets(seed: int) -> Iterator[dict[str, Any]]:
    """Yield invented tickets without end, no two of which are alike: each carries figures that count upward."""
    draw, number = Random(seed), 0
    while True:
        number += 1
        yield _ticket(draw, number)


def _ticket(draw: Random, number: int) -> dict[str, Any]:
    """Return a ticket whose figures, drawn to 0.1 mm and finer, are those of no other number."""
    activity = draw.choice(ACTIVITIES)
    measured = draw.random() < 0.3
    tire = {
        "class": draw.choice(("passenger", "light-truck", "medium-truck")),
        "tread_depth": f"{draw.randint(10, 120)}.{number:06} mm",
        "sealant_layer": draw.random() < 0.1,
        "retread": draw.random() < 0.1,
    }
    if measured:
        tire |= {"size": draw.choice(("205/55R16", "LT245/75R16", "295/75R22.5")), "tread_width": "170 mm"}
    ticket: dict[str, Any] = {
        "jurisdictions": [draw.choice(PLACES)],
        "activity": activity,
        "on": DAY,
        "tire": tire,
        "vehicle": {"use": draw.choice(("private", "commercial"))},
        "findings": draw.choice(([], ["run-flat-damage"], ["weather-cracking"])),
    }
    if draw.random() < 0.9:
        ticket["earlier_repairs"] = [] if draw.random() < 0.8 else [_repair(draw)]
    if activity == "repair":
        ticket["injuries"] = [_injury(draw, number, measured) for _ in range(draw.choice((1, 1, 2)))]
    return ticket


def _repair(draw: Random) -> dict[str, str]:
    return {"zone": "crown", "diameter": f"{draw.randint(20, 90) / 10} mm", "method": "one-piece"}


def _injury(draw: Random, number: int, measured: bool) -> dict[str, str]:
    injury = {
        "kind": "puncture",
        "zone": draw.choice(("crown", "shoulder")),
        "diameter": f"{draw.randint(2, 10)}.{number:06} mm",
        "angle": f"{draw.randint(0, 450) / 10} deg",
    }
    if measured:
        injury |= {"from_centerline": f"{draw.randint(0, 900) / 10} mm", "clock": f"{draw.randint(1, 12)}:00"}
    return injury


def ask(rulebook: Rulebook, tickets: Iterator[dict[str, Any]], count: int) -> None:
    """Read all there is of so many decisions, one ticket in ten as JSON text."""
    for number in range(count):
        ticket = next(tickets)
        if number % 10 == 0:
            rulebook.decide_json(json.dumps(ticket))
            continue
        decision = rulebook.decide(ticket)
        _ = decision.verdict, decision.limits, decision.questions, decision.requirements, decision.notices
        _ = [method.reasons for method in decision.methods] if number % 10 == 1 else decision.methods


def held(rulebook: Rulebook) -> tuple[Counter[str], dict[str, list[tuple[int, int]]]]:
    """Return what a rulebook and the library hold, once nothing waits for the garbage collector."""
    gc.collect()
    return reachable(rulebook, *of_the_library())


@pytest.mark.parametrize(
    ("early", "late"), [(1_000, 6_000), pytest.param(5_000, 55_000, marks=pytest.mark.long)], ids=["some", "many"]
)
def test_nothing_remembers_tickets(early: int, late: int) -> None:
    rulebook, tickets = tirerules.load(), invented_tickets(seed=13)
    ask(rulebook, tickets, early)
    before, _ = held(rulebook)
    ask(rulebook, tickets, late - early)
    after, tables = held(rulebook)
    print("tables with a bound, as (entries, bound):", tables)
    grown = {name: (before[name], count) for name, count in after.items() if count > before[name]}
    assert not grown, f"objects that are more after {late:,} tickets than after {early:,}: {grown}"
    beyond = {name: sizes for name, sizes in tables.items() if any(size > bound for size, bound in sizes)}
    assert not beyond, f"tables beyond their own bound: {beyond}"


# --- the walk itself finds what it is meant to find


class _Bounded(dict[Any, Any]):
    """A table that says how far it grows."""

    BOUND = 3


class _Holder:
    def __init__(self, held: Any) -> None:
        self.held = held


def test_the_walk_counts_what_a_dict_holds() -> None:
    few, many = ({number: (str(number),) for number in range(count)} for count in (10, 20))
    assert reachable(_Holder(many))[0]["builtins.tuple"] == reachable(_Holder(few))[0]["builtins.tuple"] + 10


def test_the_walk_lists_tables_with_a_bound_and_leaves_out_what_they_hold() -> None:
    found, tables = reachable(_Holder(_Bounded(enumerate("abcd"))))
    assert list(tables.values()) == [[(4, 3)]]
    assert found["builtins.int"] == 0
    assert reachable(_Holder(dict(enumerate("abcd"))))[0]["builtins.int"] == 4


def test_the_walk_starts_at_modules_classes_and_closures_of_the_library() -> None:
    def remembering(table: dict[int, str]) -> Any:
        def function() -> dict[int, str]:
            return table

        function.__module__ = "tirerules.invented"
        return function

    cache = {1: "remembered"}
    kept = type("Kept", (), {"cache": cache, "__module__": "tirerules.invented"})
    assert any(each is cache for each in _held_by(remembering(cache)))
    assert any(each is cache for each in _held_by(kept))
    assert any(each is tirerules.__all__ for each in of_the_library())
