"""The way around the tire: where injuries and earlier repairs lie, their units, and how far they are apart."""

from __future__ import annotations

from itertools import combinations
from math import cos, pi, sin

from tirerules.drawing.sentences import sentence
from tirerules.drawing.svg import Sheet
from tirerules.engine.geometry import interval
from tirerules.engine.pairs import pairs
from tirerules.engine.pairs import spots as engine_spots
from tirerules.quantities import decimal_text

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from fractions import Fraction
    from typing import Final

    from tirerules.decision import Decision
    from tirerules.drawing.measures import Placed
    from tirerules.drawing.svg import Point

__all__ = ["around"]

_WIDTH, _RADIUS, _TREAD, _TOP = 680, 150, 26, 60
_MIDDLE: Final = (_WIDTH / 2, _TOP + _RADIUS)
#: The limits that speak of how far apart repairs lie.
_APART = ("repairs.spacing", "repairs.spacing_angle", "repairs.count")
#: How long an unknown unit is drawn, as a share of a turn.
_SOME_UNIT = 0.02


def around(spots: Sequence[Placed], decision: Decision) -> tuple[str, str]:
    """Return the drawing of a tire's injuries and earlier repairs as SVG text, and what it shows in words."""
    sheet = Sheet("around", _WIDTH, sentence("around-title"))
    sheet.circle(_MIDDLE, _RADIUS)
    sheet.circle(_MIDDLE, _RADIUS - _TREAD)
    for hour in range(12):
        sheet.line([_at(hour / 12, _RADIUS), _at(hour / 12, _RADIUS + (10 if hour else 18))], bold=not hour)
    sheet.words(sentence("mark"), _at(0, _RADIUS + 22), anchor="middle")
    measured = decision.evaluation.tire["tire.outside_diameter"]
    length = None if measured is None else measured.low.exact
    for spot in spots:
        if spot.turn is not None:
            _draw(sheet, spot, length)
    sheet.height = _TOP + 2 * _RADIUS + 34
    told = list(_told(spots, decision))
    for each in told:
        sheet.paragraph(each, 20)
    return sheet.written(" ".join(told)), " ".join(told)


def _draw(sheet: Sheet, spot: Placed, diameter: Fraction | None) -> None:
    """Draw an injury solid, an earlier repair hollow, and its unit as an arc inside the tread."""
    assert spot.turn is not None  # INVARIANT: only what has a place is drawn
    turn = float(spot.turn)
    known = spot.unit_length is not None and diameter is not None
    share = _SOME_UNIT if spot.unit_length is None or diameter is None else float(spot.unit_length / diameter) / pi
    steps = [turn - share / 2 + share * step / 8 for step in range(9)]
    sheet.line([_at(each, _RADIUS - _TREAD - 5) for each in steps], bold=True, dashed=not known)
    sheet.circle(_at(turn, _RADIUS - _TREAD / 2), 6, fill="solid" if spot.group == "injury" else "none")
    place = _at(turn, _RADIUS + 26)
    anchor = "middle" if abs(place[0] - _MIDDLE[0]) < 40 else "start" if place[0] > _MIDDLE[0] else "end"
    sheet.line(
        [_at(turn, _RADIUS - _TREAD), _at(turn, _RADIUS)], figure=(f"turn-{spot.group}-{spot.number}", spot.turn)
    )
    sheet.words(_name(spot), (place[0], place[1] + 4), anchor=anchor)


def _at(turn: float, radius: float) -> Point:
    return _MIDDLE[0] + radius * sin(2 * pi * turn), _MIDDLE[1] - radius * cos(2 * pi * turn)


def _name(spot: Placed) -> str:
    return sentence(spot.group, number=spot.number)


def _told(spots: Sequence[Placed], decision: Decision) -> Iterator[str]:
    for spot in spots:
        if spot.turn is None:
            yield sentence("unplaced", what=_name(spot))
        else:
            yield sentence("placed", what=_name(spot), stated=spot.stated, degrees=decimal_text(spot.turn * 360, 1))
    row, diameter = decision.row, interval(decision.evaluation.tire["tire.outside_diameter"])
    apart = pairs(engine_spots(row.injuries or (), row.repairs or ()), diameter)
    for (one, other), pair in zip(combinations(spots, 2), apart, strict=True):
        if pair.angle is None:
            continue
        said = {"one": _name(one), "other": _name(other), "degrees": decimal_text(pair.angle.low, 1)}
        if pair.spacing is None:
            yield sentence("apart", **said)
        else:
            yield sentence("apart-length", **said, mm=decimal_text(pair.spacing.low, 1))
    for fact in _APART:
        found = decision.limits.get(fact)
        for rung in [] if found is None else found.ladder[:1]:
            yield sentence("spacing-limit", fact=fact, limit=rung.limit, rules=rung.rule.name)
    yield sentence("direction")
