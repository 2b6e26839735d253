"""Names of a package that are imported when they are first used."""

from __future__ import annotations

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from typing import Any

__all__ = ["deferred"]


def deferred(held: dict[str, Any], elsewhere: Mapping[str, Sequence[str]]) -> Callable[[str], Any]:
    """Return the `__getattr__` of a package whose names are `held`: each name is imported from a module once.

    `elsewhere` says which module gives which names.
    """

    def find(name: str) -> Any:
        for module, names in elsewhere.items():
            if name in names:
                value = held[name] = getattr(__import__(module, fromlist=names), name)
                return value
        raise AttributeError(f"module {held['__name__']!r} has no attribute {name!r}")

    return find
