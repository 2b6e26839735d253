"""Where two decisions differ, in words: a line for each place, found by what stands there and not by its number."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from itertools import islice
from types import MappingProxyType
from typing import Any, Final

__all__ = ["differing"]

#: So many places of one key are told one by one.
_MOST: Final = 5
_LONGEST: Final = 60
#: List -> the keys that tell its items apart.
_TOLD_BY: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "methods": ("method", "injury"),
        "reasons": ("rule", "fact", "subject"),
        "ladder": ("rule",),
        "geometry": ("injury",),
        "questions": ("fact", "subject"),
        "requirements": ("step", "when"),
        "notices": ("kind", "rules"),
    }
)
#: What an item is told by in a few words: the first of these that it has.
_GIST: Final = ("verdict", "outcome", "text", "ask", "say", "limit")


class _Nothing:
    """Stands for what one side does not have."""


_NOTHING: Final = _Nothing()


def differing(recorded: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    """Yield where two decisions' JSON forms differ, in the order of the decision made now; their digests are left out.

    INVARIANT: nothing is yielded exactly if both have the same canonical text without the digest.
    """
    for key in dict.fromkeys([*now, *recorded]):
        before, after = recorded.get(key, _NOTHING), now.get(key, _NOTHING)
        if key == "digest" or _text(before) == _text(after):
            continue
        found = _places((str(key),), before, after)
        lines = list(islice(found, _MOST)) or [f"{key} differs in its order"]
        rest = sum(1 for _ in found)
        yield from lines
        if rest:
            yield f"{key} differs in {rest} more places" if rest > 1 else f"{key} differs in one more place"


def _places(path: tuple[str, ...], before: Any, after: Any) -> Iterator[str]:
    if _text(before) == _text(after):
        return
    if isinstance(before, dict) and isinstance(after, dict):
        for key in dict.fromkeys([*after, *before]):
            yield from _places((*path, str(key)), before.get(key, _NOTHING), after.get(key, _NOTHING))
        return
    named = _by_name(path[-1], before), _by_name(path[-1], after)
    if named[0] is not None and named[1] is not None:
        for name in dict.fromkeys([*named[1], *named[0]]):
            yield from _places((*path, name), named[0].get(name, _NOTHING), named[1].get(name, _NOTHING))
        return
    where = f" at {', '.join(path[1:])}" if path[1:] else ""
    yield f"{path[0]} differs{where}: recorded {_short(before)}, now {_short(after)}"


def _by_name(key: str, value: Any) -> dict[str, Any] | None:
    """Return the items of a list by what tells them apart; None for what is no such list."""
    told_by = _TOLD_BY.get(key)
    if told_by is None or not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
        return None
    found: dict[str, Any] = {}
    for item in value:
        name = " ".join(_short(item[part]) for part in told_by if item.get(part))
        again = next(number for number in range(1, len(value) + 1) if _numbered(name, number) not in found)
        found[_numbered(name, again)] = item
    return found


def _numbered(name: str, number: int) -> str:
    return name if number == 1 else f"{name} ({number})"


def _text(value: Any) -> str:
    return "" if value is _NOTHING else json.dumps(value, sort_keys=True)


def _short(value: Any) -> str:
    if value is _NOTHING:
        return "nothing"
    if isinstance(value, dict):
        value = next((value[key] for key in _GIST if value.get(key)), value)
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    return text if len(text) <= _LONGEST else text[: _LONGEST - 3] + "..."
