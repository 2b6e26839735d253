"""A drawing as SVG text: shapes and words in millimeters of the tire, written at one scale, without scripts or styles.

A `Sheet` is a list of elements in the order in which they are painted. Lengths that a decision states carry what they
are (``data-figure``) and their exact decimal figure in mm (``data-mm``), so that a program can read a drawing back.
Source of the format: Scalable Vector Graphics (SVG) 1.1, W3C.
"""

from __future__ import annotations

from xml.etree.ElementTree import Element, SubElement, tostring

from tirerules.escaping import escaped
from tirerules.quantities import decimal_text

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction
    from typing import Final, TypeAlias

    #: Across and down, in the units of the sheet.
    Point: TypeAlias = "tuple[float, float]"

__all__ = ["DASHED", "PLACES", "Sheet"]

#: The decimals of a figure in mm that a drawing carries.
PLACES: Final = 3
#: How a line is drawn that stands for something unknown.
DASHED: Final = "5 4"
_INK, _PAPER = "#1b1b1b", "#ffffff"
_LETTER = 12.5
#: What a letter is wide, on average, as a share of its height: for lines that are broken here, since SVG breaks none.
_WIDE = 0.54


class Sheet:
    """A white sheet of `width` by `height` units, that grows downward as lines of words are added."""

    def __init__(self, name: str, width: int, title: str) -> None:
        self.width, self.height = width, 0.0
        self._root = Element("svg", {"xmlns": "http://www.w3.org/2000/svg", "role": "img"})
        self._root.set("aria-labelledby", f"{name}-title {name}-text")
        SubElement(self._root, "title", {"id": f"{name}-title"}).text = escaped(title)
        self._description = SubElement(self._root, "desc", {"id": f"{name}-text"})
        self._hatch = f"{name}-hatch"
        definitions = SubElement(self._root, "defs")
        hatch = SubElement(
            definitions,
            "pattern",
            {"id": self._hatch, "width": "6", "height": "6", "patternUnits": "userSpaceOnUse"},
        )
        SubElement(hatch, "path", {"d": "M0 6L6 0", "stroke": _INK, "stroke-width": "0.8"})
        self._paper = SubElement(self._root, "rect", {"fill": _PAPER})
        self._ink = SubElement(
            self._root,
            "g",
            {"stroke": _INK, "fill": "none", "font-family": "sans-serif", "font-size": f"{_LETTER}"},
        )

    def line(
        self,
        points: Sequence[Point],
        *,
        dashed: bool = False,
        bold: bool = False,
        closed: bool = False,
        fill: str = "none",
        figure: tuple[str, Fraction] | None = None,
    ) -> None:
        """Draw a line through points; a closed one may be filled: ``solid``, ``hatch`` or ``none``."""
        path = "M" + "L".join(f"{_number(x)} {_number(y)}" for x, y in points) + ("Z" if closed else "")
        shape = SubElement(self._ink, "path", {"d": path, "stroke-width": "2.2" if bold else "1"})
        if dashed:
            shape.set("stroke-dasharray", DASHED)
        if fill != "none":
            shape.set("fill", _INK if fill == "solid" else f"url(#{self._hatch})")
        if figure is not None:
            self._state(shape, figure)

    def circle(self, center: Point, radius: float, *, dashed: bool = False, fill: str = "none") -> None:
        """Draw a circle."""
        x, y = center
        shape = SubElement(
            self._ink, "circle", {"cx": _number(x), "cy": _number(y), "r": _number(radius), "stroke-width": "1"}
        )
        if dashed:
            shape.set("stroke-dasharray", DASHED)
        if fill != "none":
            shape.set("fill", _INK if fill == "solid" else f"url(#{self._hatch})")

    def words(
        self,
        text: str,
        at: Point,
        *,
        anchor: str = "start",
        bold: bool = False,
        figure: tuple[str, Fraction] | None = None,
    ) -> None:
        """Write one line of words; `anchor` is ``start``, ``middle`` or ``end`` of it."""
        x, y = at
        shape = SubElement(
            self._ink,
            "text",
            {"x": _number(x), "y": _number(y), "text-anchor": anchor, "fill": _INK, "stroke": "none"},
        )
        # A rim of paper keeps words legible that stand on lines.
        shape.set("paint-order", "stroke")
        shape.set("stroke", _PAPER)
        shape.set("stroke-width", "3")
        if bold:
            shape.set("font-weight", "bold")
        shape.text = escaped(text)
        if figure is not None:
            self._state(shape, figure)

    def paragraph(self, text: str, left: float) -> None:
        """Write words below everything that stands, broken into lines."""
        room = int((self.width - 2 * left) / (_LETTER * _WIDE))
        lines, line = [], ""
        for word in escaped(text).split():
            longer = f"{line} {word}".strip()
            if line and len(longer) > room:
                lines.append(line)
                longer = word
            line = longer
        for each in [*lines, line]:
            self.height += _LETTER * 1.35
            self.words(each, (left, self.height))
        self.height += 3

    def written(self, description: str) -> str:
        """Return the drawing as SVG text; `description` says in words what it shows."""
        self._description.text = escaped(description)
        height = _number(self.height + _LETTER)
        self._root.set("viewBox", f"0 0 {self.width} {height}")
        self._root.set("width", f"{self.width}")
        self._root.set("height", height)
        self._paper.set("width", f"{self.width}")
        self._paper.set("height", height)
        return tostring(self._root, encoding="unicode")

    @staticmethod
    def _state(shape: Element, figure: tuple[str, Fraction]) -> None:
        name, length = figure
        shape.set("data-figure", name)
        shape.set("data-mm", decimal_text(length, PLACES))


def _number(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".") or "0"
