"""The words of drawings: name -> English sentence with placeholders."""

from __future__ import annotations

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, Final

__all__ = ["SENTENCES", "sentence"]

SENTENCES: Final = {
    "section-title": "Section across the tire at injury {number} of {count}",
    "around-title": "Injuries and earlier repairs around the tire",
    "center-line": "center line",
    "length": "{mm} mm",
    "band": "band {mm} mm",
    "margin": "margin {mm} mm",
    "mark": "mark",
    "injury": "injury {number}",
    "repair": "earlier repair {number}",
    "nowhere": "Where the injury lies across the tire was neither measured nor named.",
    "named": "Its zone was named, not measured: {zone} (hatched).",
    "offset-left": "Its outer opening lies {mm} mm from the center line, to the left as seen from the front.",
    "offset-right": "Its outer opening lies {mm} mm from the center line, to the right as seen from the front.",
    "offset-unknown": "Its outer opening lies {mm} mm from the center line; on which side is unknown, drawn right.",
    "stated": "{fact}: {stated}.",
    "limited": "{fact}: unknown; {limit}.",
    "both": "{fact}: {stated}; {limit}.",
    "reach": "At worst it reaches {outside} mm from the center line outside and {inside} mm inside.",
    "reach-unknown": "How far it reaches is not known yet.",
    "binding": "The narrowest band that binds reaches {mm} mm from the center line ({rule}).",
    "margin-told": "The margin between the injury and the edge of that band is {mm} mm.",
    "unknown": "Not known (dashed where it is drawn): {facts}.",
    "schematic": "Measures are to scale; the borders of zones and the shape of the side are schematic.",
    "placed": "{what}: {stated}, {degrees} deg from the mark.",
    "unplaced": "{what}: its place around the tire is unknown.",
    "apart": "{one} and {other} lie {degrees} deg apart.",
    "apart-length": "{one} and {other} lie {degrees} deg apart, at least {mm} mm along the outside.",
    "spacing-limit": "{fact}: {limit} ({rules}).",
    "direction": "Places are counted from one mark in one direction, drawn clockwise.",
}


def sentence(name: str, **parameters: Any) -> str:
    """Return a sentence with its placeholders filled. Raises KeyError for a name or a placeholder that is none."""
    return SENTENCES[name].format(**parameters)
