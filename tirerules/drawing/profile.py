"""The outline of a tire's section: a polyline from the middle of the tread to the bead, by zones, in mm.

A `Profile` is a list of `Vertex` values in that order, each with its point on the outer and on the inner face and the
zone that begins there. Widths and heights are those given; how a shoulder rounds and where zones border on each other
is schematic (common practice, no source): a drawing says so, and no rule reads it.
"""

from __future__ import annotations

from math import hypot

from tirerules.values import Value

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Final, TypeAlias

    #: Across from the center line and down from the outer face, in mm.
    Point: TypeAlias = "tuple[float, float]"

__all__ = ["Vertex", "profile"]

#: Into how many pieces a curve is cut.
_PIECES: Final = 12
#: Where zones begin, as shares: of half the tread, then of the section's height.
_BELT_EDGE, _SHOULDER = 0.80, 0.97
_SIDEWALL, _BEAD = 0.30, 0.86
#: How thick the side is, as a share of the thickness under the tread.
_SIDE = 0.6


class Vertex(Value):
    """A point of the outline on both faces, and the zone that it lies in."""

    outer: Point
    inner: Point
    zone: str


def profile(width: float, height: float, tread: float, thickness: float, crown: float | None) -> Sequence[Vertex]:
    """Return half a section, from the center line to the bead; all in mm. `crown` is half of the crown, if known."""
    half, edge = width / 2, min(tread, width * 0.98) / 2
    outer = [(edge * step / _PIECES, 0.0) for step in range(_PIECES)]
    outer += _curve((edge, 0.0), (half - (half - edge) * 0.3, 0.0), (half, height * 0.18), (half, height * 0.42))
    outer += _curve(
        (half, height * 0.42), (half, height * 0.68), (half * 0.84, height * 0.78), (half * 0.78, height * 0.9)
    )
    outer += [(half * 0.78, height * 0.9), (half * 0.74, height)]
    border = edge * _BELT_EDGE if crown is None else min(crown, edge * 0.96)
    found = []
    for place, point in enumerate(outer):
        # From the belt's edge on the casing thins out evenly toward the side.
        thinned = (
            min(max((point[0] - edge * _BELT_EDGE) / (half - edge * _BELT_EDGE), 0.0), 1.0) if not point[1] else 1.0
        )
        depth = thickness * (1 - (1 - _SIDE) * thinned)
        found.append(Vertex(point, _inward(outer, place, depth), _zone(point, border, edge, height)))
    return found


def _zone(point: Point, border: float, edge: float, height: float) -> str:
    x, y = point
    if y == 0:
        return "crown" if x < border else "belt-edge" if x < edge * _SHOULDER else "shoulder"
    return "shoulder" if y < height * _SIDEWALL else "sidewall" if y < height * _BEAD else "bead"


def _curve(one: Point, two: Point, three: Point, four: Point) -> list[Point]:
    """Return points of a cubic curve, its end left out."""
    found = []
    for step in range(_PIECES):
        at, rest = step / _PIECES, 1 - step / _PIECES
        weights = (rest**3, 3 * rest * rest * at, 3 * rest * at * at, at**3)
        found.append(
            (
                sum(weight * point[0] for weight, point in zip(weights, (one, two, three, four), strict=True)),
                sum(weight * point[1] for weight, point in zip(weights, (one, two, three, four), strict=True)),
            )
        )
    return found


def _inward(outer: Sequence[Point], place: int, depth: float) -> Point:
    """Return the point `depth` inside the outline, at a right angle to it."""
    before, after = outer[max(place - 1, 0)], outer[min(place + 1, len(outer) - 1)]
    along, down = after[0] - before[0], after[1] - before[1]
    length = hypot(along, down)
    return outer[place][0] - depth * down / length, outer[place][1] + depth * along / length
