"""The rows of the sweep: every way to be bad, for every act and tire that it concerns, in every place."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from tests.sweep.tires import merged, sound
from tests.sweep.way import Way
from tests.sweep.ways import WAYS

__all__ = ["Row", "rows"]


@dataclass(frozen=True, slots=True)
class Row:
    """One bad tire."""

    place: str
    act: str
    tire: str
    way: Way

    def __str__(self) -> str:
        return f"{self.place}, {self.act}, {self.tire}: {self.way.name}"

    @property
    def must_be_outside(self) -> bool:
        """Whether it must be outside the limits; if not, it may be undetermined by what the way names."""
        return self.way.must_be_outside(self.place, self.act, self.tire)

    @property
    def case(self) -> dict[str, Any]:
        """The bad tire, as a case."""
        return merged(self._sound, self.way.setting, self.way.bad)

    @property
    def twin_key(self) -> tuple[str, ...]:
        """What tells its twin from others: many rows share one."""
        return self.place, self.act, self.tire, self.way.twin_key

    @property
    def twin(self) -> dict[str, Any]:
        """The same tire without the fault."""
        return merged(self._sound, self.way.setting, self.way.good)

    @property
    def plainer(self) -> dict[str, Any] | None:
        """The same tire with the same fault, said more plainly; None where no way to say it is plainer."""
        return None if self.way.than is None else merged(self._sound, self.way.setting, self.way.than)

    @property
    def _sound(self) -> dict[str, Any]:
        return sound(self.tire, self.act, self.place)


def rows(places: Iterable[str], ways: Iterable[Way] = WAYS) -> Iterator[Row]:
    """Yield every row for some places and ways."""
    ways = tuple(ways)
    for place in places:
        for way in (each for each in ways if place not in each.twinless_in):
            for act in way.acts:
                for tire in way.tires:
                    yield Row(place, act, tire, way)
