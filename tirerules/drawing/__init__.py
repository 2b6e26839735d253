"""Pictures of a case and its decision, as SVG without scripts: the section at each injury, and the way around the tire.

They show the decision's own figures and nothing else; a `Picture` says the same in words.

>>> from tirerules import case_from_json, load
>>> case = {"jurisdictions": ["US-SC"], "activity": "repair", "injuries": [{"zone": "crown", "diameter": "5 mm"}]}
>>> [picture.name for picture in pictures(load().decide(case_from_json(case)))]
['section-1']
"""

from __future__ import annotations

from tirerules.drawing.around import around
from tirerules.drawing.measures import injured, placed
from tirerules.drawing.section import section
from tirerules.drawing.sentences import sentence
from tirerules.values import Value

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from tirerules.decision import Decision

__all__ = ["Picture", "pictures"]


class Picture(Value):
    """One drawing: its name, its title, the SVG document, and what it shows in words."""

    name: str
    title: str
    svg: str
    text: str


def pictures(decision: Decision) -> tuple[Picture, ...]:
    """Return the pictures of a decision; none where nothing was recorded that could be drawn."""
    return tuple(_pictures(decision))


def _pictures(decision: Decision) -> Iterator[Picture]:
    for each in injured(decision):
        title = sentence("section-title", number=each.number, count=each.count)
        yield Picture(f"section-{each.number}", title, *section(each))
    spots = placed(decision)
    if any(spot.stated for spot in spots):
        yield Picture("around", sentence("around-title"), *around(spots, decision))
