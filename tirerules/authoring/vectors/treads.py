"""Grids of tread readings on both sides of a limit, as laws count them. All tires are invented.

A grid has five major grooves, so that one of them is nearest the center, at three equally spaced places.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from tirerules.authoring.vectors.cases import Json, with_fact
from tirerules.packs.rule import Counted

__all__ = ["counted", "grids", "worn_everywhere"]

Grid = list[list[str]]
Spots = set[tuple[int, int]]

_GROOVES: Final = 5
_PLACES: Final = 3
#: The grooves that are too shallow where a law counts so, and a choice of grooves that it does not count.
_WORN: Final[Mapping[str, tuple[int, ...]]] = {
    "any-one": (0,),
    "any-two": (1, 3),
    "two-adjacent": (1, 2),
    "center": (2,),
    "every": (0, 1, 2, 3, 4),
}
_NOT_WORN: Final[Mapping[str, Mapping[str, tuple[int, ...]]]] = {
    "any-one": {},
    "any-two": {"one-groove": (1,)},
    "two-adjacent": {"one-groove": (1,), "not-adjacent": (1, 3)},
    "center": {"beside-center": (1, 3)},
    "every": {"all-but-one-groove": (0, 1, 2, 3)},
}


def _grid(shallow: str, deep: str, spots: Spots, places: int = _PLACES, grooves: int = _GROOVES) -> Grid:
    return [[shallow if (place, groove) in spots else deep for groove in range(grooves)] for place in range(places)]


def _spots(places: Iterable[int], grooves: Iterable[int]) -> Spots:
    columns = tuple(grooves)
    return {(place, groove) for place in places for groove in columns}


def worn_everywhere(depth: str | None) -> Grid | None:
    """Return the grid of a tire that is `depth` deep in every groove at every place."""
    return None if depth is None else [[depth] * _GROOVES for _ in range(_PLACES)]


def grids(how: Counted, depth: str, deep: str) -> Iterator[tuple[str, Grid]]:
    """Yield the tire that is `depth` deep exactly where a law looks that counts `how`, and `deep` everywhere else."""
    yield "grid", _grid(depth, deep, _spots(range(how.places), _WORN[how.grooves]))


def counted(how: Counted, shallow: str | None, deep: str, start: Json) -> Iterator[tuple[str, Json]]:
    """Yield tires that are too shallow, in other grooves or at other places than a law names that counts `how`."""
    if shallow is None:
        return
    worn, places = _WORN[how.grooves], range(how.places)
    found = {name: _grid(shallow, deep, _spots(places, columns)) for name, columns in _NOT_WORN[how.grooves].items()}
    found["elsewhere"] = _grid(shallow, deep, _spots(range(_PLACES - how.places, _PLACES), worn))
    if how.places > 1:
        found["one-place-fewer"] = _grid(shallow, deep, _spots(places[:-1], worn))
        found["too-few-places-read"] = _grid(shallow, deep, _spots(places[:-1], worn), places=how.places - 1)
    if how.places == 3:
        found["neighbors-of-six"] = _grid(shallow, deep, _spots(range(3), worn), places=6)
        found["every-second-of-six"] = _grid(shallow, deep, _spots(range(0, 6, 2), worn), places=6)
    if how.grooves == "center":
        found["center-of-four"] = _grid(shallow, deep, _spots(places, (1,)), grooves=4)
    if how.grooves in ("any-two", "two-adjacent"):
        found["one-groove-read"] = _grid(shallow, deep, _spots(places, (0,)), grooves=1)
    for name, grid in found.items():
        case = with_fact(start, "tire.tread_grid", grid)
        assert case is not None  # INVARIANT: readings can always be stated
        yield f"worn-{name}", case
