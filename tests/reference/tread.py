"""Readings of the tread, and how a law counts them before it calls a tire worn."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import chain, combinations, pairwise, product

from tests.reference.geometry import Interval

__all__ = ["counted", "smallest"]

#: Places around the tire, each a list of readings from edge to edge.
Grid = list[list[Interval]]


def smallest(stated: Interval | None, grid: Grid | None) -> Interval | None:
    """The least of all readings, end by end; None where there is none."""
    readings = [*chain.from_iterable(grid or ()), *([stated] if stated else [])]
    return (min(low for low, _ in readings), min(high for _, high in readings)) if readings else None


def counted(
    grid: Grid, deep: Callable[[Interval], bool | None], *, grooves: str, places: int
) -> tuple[bool | None, ...]:
    """Whether the tread is deep enough (one value), or nothing where the grid is too small to count in that way.

    A tire is worn where all the counted grooves are too shallow at all the counted places, for any way to choose them.
    """
    said = [
        [deep(grid[row][column]) for row in rows for column in columns]
        for rows, columns in product(_places(len(grid), places), _grooves(len(grid[0]), grooves))
    ]
    if not said:
        return ()
    if any(all(each is False for each in readings) for readings in said):
        return (False,)
    return (True if all(True in readings for readings in said) else None,)


def _grooves(count: int, which: str) -> Iterator[Sequence[int]]:
    """Every choice of grooves; of two that are equally near the center, either."""
    if which == "two-adjacent":
        yield from pairwise(range(count))
    elif which == "center":
        yield from ((groove,) for groove in range(count) if abs(2 * groove - (count - 1)) <= 1)
    elif which == "every":
        yield range(count)
    else:
        yield from combinations(range(count), {"any-one": 1, "any-two": 2}[which])


def _places(count: int, wanted: int) -> Iterator[Sequence[int]]:
    """Every choice of places; three are equally spaced around the tire."""
    if wanted != 3:
        yield from combinations(range(count), wanted)
    elif count % 3 == 0:
        yield from (range(first, count, count // 3) for first in range(count // 3))
