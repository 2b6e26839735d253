"""Tread depth as laws count it: from a grid of readings to the one depth that a rule judges.

A law calls a tire worn where certain grooves are all too shallow at a certain number of places around it. The depth
that such a rule judges is therefore, over every choice of those grooves and places, the least of the greatest readings:
if that depth is too small, some choice lies wholly below the limit.
"""

from __future__ import annotations

import itertools

from tirerules.engine.geometry import interval, measured
from tirerules.packs.rule import Counted
from tirerules.strictest.bounds import Interval

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from typing import TypeAlias

    from tirerules.quantities import Measured

    #: Readings by place around the tire (rows, equally spaced) and major groove across it (columns, edge to edge).
    Grid: TypeAlias = "tuple[tuple[Measured, ...], ...]"

__all__ = ["counted_depth", "least_reading"]


def least_reading(grid: Grid, stated: Measured | None) -> tuple[Measured, str]:
    """Return the smallest tread depth that a grid and a stated smallest depth show, and how it is shown."""
    found = [reading for place in grid for reading in place] + ([] if stated is None else [stated])
    lowest = min(found, key=lambda reading: reading.low)
    depth = smallest(map(_interval, found))
    return measured(depth), f"{lowest} (the smallest of {len(found)} readings)"


def _interval(reading: Measured) -> Interval:
    found = interval(reading)
    assert found is not None  # INVARIANT: a grid holds measurements
    return found


def smallest(readings: Iterable[Interval]) -> Interval:
    """Return the least of `readings`, end by end."""
    found = list(readings)
    return Interval(min(each.low for each in found), min(each.high for each in found))


def _greatest(readings: Iterable[Interval]) -> Interval:
    found = list(readings)
    return Interval(max(each.low for each in found), max(each.high for each in found))


def counted_depth(grid: Grid, counted: Counted) -> Interval | None:
    """Return the depth that a rule which counts so judges; None where the grid is too small to count so."""
    grooves = list(_grooves(len(grid[0]), counted.grooves))
    places = list(_places(len(grid), counted.places))
    if not grooves or not places:
        return None
    return smallest(
        _greatest(_interval(grid[place][groove]) for place in rows for groove in columns)
        for rows, columns in itertools.product(places, grooves)
    )


def _grooves(count: int, which: str) -> Iterator[Sequence[int]]:
    """Yield every choice of grooves; between two that are equally near the center, either."""
    match which:
        case "any-one":
            yield from ((groove,) for groove in range(count))
        case "any-two":
            yield from itertools.combinations(range(count), 2)
        case "two-adjacent":
            yield from itertools.pairwise(range(count))
        case "center":
            yield from ((groove,) for groove in sorted({(count - 1) // 2, count // 2}))
        case _:
            yield tuple(range(count))


def _places(count: int, wanted: int) -> Iterator[Sequence[int]]:
    """Yield every choice of `wanted` places: three equally spaced, or any two, or any one.

    Two neighbors of many places may lie nearer than a law means by two places; counting them is the stricter reading.
    """
    if wanted == 3:
        step, rest = divmod(count, 3)
        if not rest:
            yield from ((first, first + step, first + 2 * step) for first in range(step))
    else:
        yield from itertools.combinations(range(count), wanted)
