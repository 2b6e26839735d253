"""What people at a counter call what the vocabulary names: for offers in messages alone.

A table from an everyday word to the vocabulary's words that it may mean (common practice, no source). It is never
applied: what "truck" or "edge" means on a ticket is for its writer to say.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Final

from tirerules.errors import nearest

__all__ = ["EVERYDAY", "offers"]

#: Vocabulary words -> the everyday words for any of them, in small letters with hyphens.
_MEANT: Final = (
    # zones
    (("crown",), "tread tread-area center centre middle"),
    (("shoulder", "belt-edge"), "edge tread-edge"),
    (("sidewall",), "side wall side-wall"),
    (("bead",), "rim lip"),
    # classes of tires, kinds and uses of vehicles
    (("passenger", "passenger-car"), "car auto sedan"),
    (("passenger", "light-truck", "multipurpose"), "suv van crossover"),
    (("passenger", "light-truck"), "pickup"),
    (("light-truck",), "lt"),
    (("light-truck", "medium-truck", "truck"), "lorry"),
    (("light-truck", "medium-truck"), "truck"),
    (("medium-truck", "truck-tractor"), "semi"),
    (("bus",), "coach"),
    (("motorcycle",), "motorbike bike scooter"),
    (("temporary-spare",), "spare donut"),
    (("agricultural",), "farm tractor implement"),
    (("private",), "personal family own"),
    (("commercial",), "business company fleet work taxi"),
    (("emergency",), "police fire ambulance"),
    (("school-bus",), "school"),
    # how a tire is made
    (("bias",), "bias-ply cross-ply diagonal"),
    (("textile",), "nylon polyester rayon fabric"),
    # injuries, methods, findings
    (("puncture",), "hole"),
    (("puncture", "embedded-object"), "nail screw"),
    (("cut",), "slash gash tear slit"),
    (("one-piece",), "combination combo plug-patch patch-plug mushroom"),
    (("two-piece",), "stem-and-patch plug-and-patch"),
    (("plug-only",), "plug string rope"),
    (("patch-only",), "patch"),
    (("temporary-sealant",), "sealant"),
    (("bulge",), "bubble blister bump"),
    (("weather-cracking",), "crack cracks cracking cracked dry-rot"),
    (("worn-to-indicators",), "worn bald worn-out"),
    (("exposed-cord",), "cord cords belt-showing"),
    (("tread-separation", "casing-separation", "liner-separation"), "separation separated"),
    (("regroove", "unmarked-regroove"), "regrooved regrooving"),
    (("leak",), "slow-leak air-loss"),
    (("recalled",), "recall"),
    # activities
    (("used-tire-sale", "tire-sale", "vehicle-sale"), "sale sell selling"),
    (("used-tire-installation",), "install installation mount fit fitting"),
    (("road-use",), "drive driving road use"),
    (("inspection",), "inspect check"),
    (("repair",), "fix mend"),
)
#: Everyday word -> the words of the vocabulary that it may mean.
EVERYDAY: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {word: meant for meant, words in _MEANT for word in words.split()}
)


def offers(word: str, known: Iterable[str]) -> tuple[str, ...]:
    """Return those of the `known` words that `word` may mean: by everyday use, or else those that look most like it."""
    listed = tuple(known)
    plain = word.strip().lower().replace(" ", "-").replace("_", "-")
    return tuple(each for each in EVERYDAY.get(plain, ()) if each in listed) or nearest(word, listed)
