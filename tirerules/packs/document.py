"""What was read from a file, as plain data with a place for every value and key."""

from __future__ import annotations

from typing import Any

from tirerules.errors import Problem
from tirerules.values import Value, field

__all__ = ["Document", "Path", "Place", "path_text"]

Path = tuple[str | int, ...]
#: Line and column, both from 1.
Place = tuple[int, int]


def path_text(path: Path) -> str:
    """Return a path as people write it: ``rules[2].limit.at-most``."""
    text = ""
    for step in path:
        text += f"[{step}]" if isinstance(step, int) else f".{step}" if text else step
    return text


class Document(Value):
    """Plain data (dict, list, str, int, Decimal, bool, None) with the place of every value and key."""

    file: str
    data: Any
    values: dict[Path, Place] = field(repr=False)
    keys: dict[Path, Place] = field(repr=False)

    def problem(self, code: str, path: Path, message: str, hint: str = "", *, at_key: bool = False) -> Problem:
        """Return a problem placed at the value (or key) of `path`, or at its nearest parent that has a place."""
        known = self.keys if at_key and path in self.keys else self.values
        spot = path
        while spot not in known and spot:
            spot = spot[:-1]
        line, column = known.get(spot, (1, 1))
        return Problem(code, message, hint, self.file, line, column, path_text(path))
