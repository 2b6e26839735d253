"""What a row of the table of ways is: a fault, why it is one, and what must come of it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Final

from tests.sweep.tires import TIRES

__all__ = ["ACTS", "ALL", "REPAIR", "Bar", "Patch", "Way"]

Patch = Mapping[str, Any]

ACTS: Final = (
    *("repair", "used-tire-installation", "used-tire-sale", "tire-sale", "vehicle-sale", "road-use", "inspection"),
)
REPAIR: Final = ("repair",)
ALL: Final = tuple(TIRES)


@dataclass(frozen=True, slots=True)
class Bar:
    """Where a fault is barred for certain: in places whose code begins so, for some acts and tires."""

    acts: tuple[str, ...] = ACTS
    tires: tuple[str, ...] = ALL
    place: str = ""


@dataclass(frozen=True)
class Way:
    """One way to be bad: what it lays over a sound tire, and what must come of it.

    `setting` is laid over the lawful twin as well, `good` over the twin alone. With `than`, the row may be within only
    where the same tire is with that laid over it instead of `bad`: the same fault, said more plainly; and with
    `only_if_barred`, wherever that tire is not outside. Places that are `twinless_in` have a law that bars the twin.
    """

    name: str
    why: str
    bad: Patch
    acts: tuple[str, ...] = ACTS
    tires: tuple[str, ...] = ALL
    outside: tuple[Bar, ...] = ()
    by: tuple[str, ...] = ()
    setting: Patch = field(default_factory=dict)
    good: Patch = field(default_factory=dict)
    than: Patch | None = None
    only_if_barred: bool = False
    twinless_in: tuple[str, ...] = ()

    @cached_property
    def twin_key(self) -> str:
        """What tells the lawful twins of this way from those of others."""
        return json.dumps([self.setting, self.good])

    def must_be_outside(self, place: str, act: str, tire: str) -> bool:
        """Whether the fault is barred for certain there."""
        return any(place.startswith(bar.place) and act in bar.acts and tire in bar.tires for bar in self.outside)
