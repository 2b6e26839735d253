"""The section across the tire at one injury: outline and zones, the injury's channel, the band that binds, the margin.

What is unknown is dashed and named below. Everything else is at one scale, at the unfavourable end of each measurement.
"""

from __future__ import annotations

from fractions import Fraction
from math import cos, radians, tan

from tirerules.drawing.profile import profile
from tirerules.drawing.sentences import sentence
from tirerules.drawing.svg import Sheet
from tirerules.quantities import decimal_text

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from typing import Final

    from tirerules.drawing.measures import Injured
    from tirerules.drawing.profile import Vertex
    from tirerules.drawing.svg import Point

__all__ = ["section"]

_WIDTH, _EDGE, _TOP = 680, 64, 84
_MARGIN = 20  # of words below
#: In mm, where nothing is known of a tire: it is drawn dashed.
_SOME_WIDTH, _SOME_THICKNESS = Fraction(210), Fraction(14)
_SOME_HEIGHT, _SOME_TREAD = Fraction(1, 2), Fraction(4, 5)  # of the section's width
_SOME_UNIT = Fraction(36)
#: How far an unknown angle is drawn to either side, in degrees.
_SOME_ANGLE: Final = 30


class _Section:
    """The drawing of one injury: its sheet, its scale, and what was drawn of what is unknown."""

    def __init__(self, injured: Injured, name: str) -> None:
        self.injured = injured
        self.unknown: list[str] = []
        where = injured.where
        self.thickness = self._or("tire.thickness", injured.thickness, _SOME_THICKNESS)
        width = injured.section_width
        if width is None:
            stated = [injured.tread_width or 0, 2 * (injured.offset or 0)]
            if where is not None:
                stated += [2 * each for each in (where.outer, where.inner, where.band) if each and where.known]
            width = self._or("tire.section_width", None, max(_SOME_WIDTH, max(stated) * Fraction(6, 5)))
        self.section_width = width
        self.tread = self._or("tire.tread_width", injured.tread_width, width * _SOME_TREAD)
        self.section_height = injured.section_height or width * _SOME_HEIGHT
        self.scale = (_WIDTH - 2 * _EDGE) / float(width)
        self.sign = -1 if injured.side == "left" else 1
        self.sheet = Sheet(name, _WIDTH, sentence("section-title", number=injured.number, count=injured.count))

    def _or(self, fact: str, known: Fraction | None, drawn: Fraction) -> Fraction:
        if known is None:
            self.unknown.append(fact)
            return drawn
        return known

    def at(self, across: float | Fraction, down: float | Fraction, lower: float = 0) -> Point:
        """Return where a point stands that lies `across` toward the injury's side and `down`, both in mm."""
        return _WIDTH / 2 + self.sign * float(across) * self.scale, _TOP + float(down) * self.scale + lower

    # --- the tire

    def outline(self) -> None:
        """Draw the outline and name its zones, on the side away from the injury."""
        injured, where = self.injured, self.injured.where
        band = None if where is None or where.band is None else float(where.band)
        half = profile(
            float(self.section_width), float(self.section_height), float(self.tread), float(self.thickness), band
        )
        for mirror in (1, -1):
            for face in ("outer", "inner"):
                points = [self.at(mirror * getattr(each, face)[0], getattr(each, face)[1]) for each in half]
                self.sheet.line(points, dashed=injured.section_width is None)
        bottom = [self.at(-each[0], each[1]) for each in (half[-1].outer, half[-1].inner)]
        self.sheet.line(bottom)
        self.sheet.line([self.at(each[0], each[1]) for each in (half[-1].outer, half[-1].inner)])
        for zone, vertices in _by_zone(half):
            self.sheet.line([self.at(-vertices[0].outer[0], vertices[0].outer[1]), self._inner(vertices[0])])
            self._zone(zone, vertices)
        if injured.zone is not None and injured.offset is None:
            self._named(half, injured.zone)
        self.sheet.line([self.at(0, 0, -62), self.at(0, self.thickness, 74)], dashed=True)
        self.sheet.words(sentence("center-line"), self.at(0, 0, -66), anchor="middle")
        self.sheet.height = self.at(0, self.section_height)[1] + 8

    def _inner(self, vertex: Vertex) -> Point:
        return self.at(-vertex.inner[0], vertex.inner[1])

    def _zone(self, zone: str, vertices: Sequence[Vertex]) -> None:
        """Write the name of a zone outside the outline, on the side away from the injury."""
        across, down = vertices[len(vertices) // 2].outer
        x, y = self.at(-across, down)
        if zone in ("crown", "belt-edge"):
            self.sheet.words(zone, (x, y - 8), anchor="middle")
        else:
            self.sheet.words(zone, (x - 6 * self.sign, y), anchor="end" if self.sign > 0 else "start")

    def _named(self, half: Sequence[Vertex], zone: str) -> None:
        """Hatch the whole zone in which an injury was said to lie, on the side that was said."""
        sides = (1,) if self.injured.side is not None else (1, -1)
        for mirror in sides:
            for each, vertices in _by_zone(half):
                if each == zone:
                    outer = [self.at(mirror * vertex.outer[0], vertex.outer[1]) for vertex in vertices]
                    inner = [self.at(mirror * vertex.inner[0], vertex.inner[1]) for vertex in reversed(vertices)]
                    self.sheet.line([*outer, *inner], closed=True, dashed=True, fill="hatch")

    # --- the injury

    def channel(self) -> None:
        """Draw the injury's channel, with its tilt, from its opening outside to that inside."""
        injured = self.injured
        if injured.offset is None:
            self.unknown.append("injury.from_centerline")
            return
        offset = float(injured.offset)
        size = self._or("injury.diameter", injured.diameter, Fraction(6))
        tilted = injured.leans != "along-circumference"
        angle = 0.0 if injured.angle is None or not tilted else float(injured.angle)
        if injured.angle is None:
            self.unknown.append("injury.angle")
        elif angle and injured.leans is None:
            self.unknown.append("injury.leans")
        half = float(size) / 2 / cos(radians(angle))
        for lean in self._leans(angle):
            shift = float(self.thickness) * tan(radians(abs(lean))) * (1 if lean > 0 else -1)
            shape = [
                self.at(offset - half, 0),
                self.at(offset + half, 0),
                self.at(offset + shift + half, self.thickness),
                self.at(offset + shift - half, self.thickness),
            ]
            sure = injured.diameter is not None and injured.angle is not None and len(self._leans(angle)) == 1
            self.sheet.line(shape, closed=True, dashed=not sure, fill="solid" if sure else "hatch")
            self._unit(offset + shift)
        self._measure(0, injured.offset, -44, "offset", sentence("length", mm=_mm(injured.offset)))

    def _leans(self, angle: float) -> Sequence[float]:
        """Return the tilts that are drawn, in degrees toward the injury's side."""
        match self.injured.leans:
            case "toward-shoulder":
                return (angle,)
            case "toward-center":
                return (-angle,)
            case "along-circumference":
                return (0.0,)
        if self.injured.angle is None:
            return (-_SOME_ANGLE, _SOME_ANGLE)
        return (-angle, angle) if angle else (0.0,)

    def _unit(self, middle: float) -> None:
        known = self.injured.unit_width
        half = float(known or _SOME_UNIT) / 2
        points = [self.at(middle - half, self.thickness, 4), self.at(middle + half, self.thickness, 4)]
        self.sheet.line(points, dashed=known is None, bold=True)
        if known is None and "injury.unit_width" not in self.unknown:
            self.unknown.append("injury.unit_width")

    # --- what the rules say of its place

    def figures(self) -> None:
        """Draw how far the injury reaches on both faces, the band that binds, and the margin between them."""
        where = self.injured.where
        if where is None:
            return
        if where.band is not None:
            for mirror in (1, -1):
                points = [self.at(mirror * where.band, 0, -26), self.at(mirror * where.band, self.thickness, 66)]
                self.sheet.line(points, bold=True, figure=("band", where.band) if mirror == 1 else None)
            at = self.at(where.band, self.thickness, 80)
            self.sheet.words(sentence("band", mm=_mm(where.band)), at, anchor="middle")
        if not where.known:
            return
        outer, inner = self.at(where.outer, 0), self.at(where.inner, self.thickness)
        self.sheet.line([(outer[0], outer[1] - 16), outer], figure=("reach-outside", where.outer))
        self.sheet.line([inner, (inner[0], inner[1] + 48)], figure=("reach-inside", where.inner))
        for (x, y), length in (((outer[0], outer[1] - 12), where.outer), ((inner[0], inner[1] + 28), where.inner)):
            self.sheet.words(sentence("length", mm=_mm(length)), (x + 4 * self.sign, y), anchor=self._outward())
        if where.margin is not None and where.band is not None:
            reach = max(where.outer, where.inner)
            down = float(self.thickness) + 48 / self.scale
            ends = [self.at(reach, down), self.at(where.band, down)]
            self.sheet.line(ends, figure=("margin", where.margin))
            middle = (ends[0][0] + ends[1][0]) / 2
            self.sheet.words(sentence("margin", mm=_mm(where.margin)), (middle, ends[0][1] - 4), anchor="middle")

    def _outward(self) -> str:
        return "start" if self.sign > 0 else "end"

    def _measure(self, start: Fraction | int, end: Fraction, lower: float, name: str, text: str) -> None:
        """Draw a length across the tire with its ends, and write it."""
        one, other = self.at(start, 0, lower), self.at(end, 0, lower)
        self.sheet.line([one, other], figure=(name, end - start))
        for x, y in (one, other):
            self.sheet.line([(x, y - 4), (x, y + 4)])
        self.sheet.words(text, ((one[0] + other[0]) / 2, one[1] - 5), anchor="middle")

    # --- in words

    def told(self) -> Iterator[str]:
        """Yield what the drawing shows, sentence by sentence."""
        injured, where = self.injured, self.injured.where
        if injured.offset is None:
            yield sentence("nowhere" if injured.zone is None else "named", zone=injured.zone or "")
        else:
            side = "unknown" if injured.side is None else injured.side
            yield sentence(f"offset-{side}", mm=_mm(injured.offset))
        for each in injured.limited:
            name = "both" if each.stated and each.limit else "stated" if each.stated else "limited"
            yield sentence(name, fact=each.fact, stated=each.stated, limit=each.limit)
        if where is not None:
            if where.known:
                yield sentence("reach", outside=_mm(where.outer), inside=_mm(where.inner))
            else:
                yield sentence("reach-unknown")
            if where.band is not None:
                yield sentence("binding", mm=_mm(where.band), rule=where.rule)
            if where.margin is not None and where.known:
                yield sentence("margin-told", mm=_mm(where.margin))
        if self.unknown:
            yield sentence("unknown", facts=", ".join(self.unknown))
        yield sentence("schematic")


def section(injured: Injured) -> tuple[str, str]:
    """Return the drawing of one injury as SVG text, and what it shows in words."""
    drawing = _Section(injured, f"section-{injured.number}")
    drawing.outline()
    drawing.channel()
    drawing.figures()
    told = list(drawing.told())
    for each in told:
        drawing.sheet.paragraph(each, _MARGIN)
    return drawing.sheet.written(" ".join(told)), " ".join(told)


def _by_zone(half: Sequence[Vertex]) -> Iterator[tuple[str, Sequence[Vertex]]]:
    """Yield the zones of an outline, each with its vertices and the first of the next."""
    starts = [place for place, vertex in enumerate(half) if not place or vertex.zone != half[place - 1].zone]
    for start, end in zip(starts, [*starts[1:], len(half)], strict=True):
        yield half[start].zone, half[start : end + 1]


def _mm(length: Fraction) -> str:
    return decimal_text(length, 2)
