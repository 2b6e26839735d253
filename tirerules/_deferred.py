"""Names of a package that are imported when they are first used."""

from __future__ import annotations

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from typing import Any

__all__ = ["deferred"]


def deferred(
    held: dict[str, Any], elsewhere: Mapping[str, Sequence[str]], renamed: Mapping[str, str] | None = None
) -> Callable[[str], Any]:
    """Return the `__getattr__` of a package whose names are `held`: each name is imported from a module once.

    `elsewhere` says which module gives which names; `renamed` which name took the place of an old one, which goes on
    for one minor version and warns.
    """

    def find(name: str) -> Any:
        if renamed and name in renamed:
            from warnings import warn

            new = renamed[name]
            warn(f"{held['__name__']}.{name} is now {new}", DeprecationWarning, stacklevel=2)
            return held[new] if new in held else find(new)
        for module, names in elsewhere.items():
            if name in names:
                value = held[name] = getattr(__import__(module, fromlist=names), name)
                return value
        raise AttributeError(f"module {held['__name__']!r} has no attribute {name!r}")

    return find
