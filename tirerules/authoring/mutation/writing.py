"""An example as YAML, in the form in which packs write it: a block for the case, its parts in one line each.

Scalars that YAML readers take for different things are quoted; a line that would be longer than packs allow is broken
into a block of its own.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from tirerules.authoring.mutation.killing import Killer

__all__ = ["yaml_lines"]

_WIDTH: Final = 120
_FIRST: Final = ("jurisdictions", "activity", "on")
#: Text that every YAML reader takes for the same text without quotes, within a list or mapping in one line.
_PLAIN: Final = re.compile(
    r"[A-Za-z(][A-Za-z0-9()/_.+-]*(?: [A-Za-z0-9()/_.+-]+)*|[0-9]+(?:\.[0-9]+)?(?:/[0-9]+)?(?: [A-Za-z0-9/.]+)+"
)
_DAY: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_AMBIGUOUS: Final = re.compile(r"(?:y|n|yes|no|on|off|true|false|null|~)", re.IGNORECASE)


def yaml_lines(killer: Killer, indent: int = 2) -> Iterator[str]:
    """Yield the lines of an item of `examples`, indented by so many spaces."""
    margin = " " * indent
    yield f"{margin}- case:"
    order = [key for key in _FIRST if key in killer.case]
    order += [key for key in killer.case if key not in _FIRST]
    for key in order:
        yield from _entry(key, killer.case[key], indent + 4)
    if not order:
        yield f"{margin}    {{}}"
    expect = f"{margin}  expect: {_flow(killer.expect)}"
    if len(expect) <= _WIDTH:
        yield expect
    else:
        yield f"{margin}  expect:"
        for key, value in killer.expect.items():
            yield from _entry(key, value, indent + 4)


def _entry(key: str, value: Any, indent: int) -> Iterator[str]:
    margin = " " * indent
    line = f"{margin}{_scalar(key)}: {_flow(value)}"
    if len(line) <= _WIDTH or not isinstance(value, (Mapping, list, tuple)):
        yield line
    elif isinstance(value, Mapping):
        yield f"{margin}{_scalar(key)}:"
        for name, part in value.items():
            yield from _entry(name, part, indent + 2)
    else:
        yield f"{margin}{_scalar(key)}:"
        for part in value:
            item = f"{margin}  - {_flow(part)}"
            if len(item) <= _WIDTH or not isinstance(part, Mapping):
                yield item
                continue
            lines = [line for name, each in part.items() for line in _entry(name, each, indent + 4)]
            yield f"{margin}  - {lines[0].lstrip()}"
            yield from lines[1:]


def _flow(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_scalar(key)}: {_flow(part)}" for key, part in value.items()) + "}"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return "[" + ", ".join(map(_flow, value)) + "]"
    return _scalar(value)


def _scalar(value: Any) -> str:
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if not isinstance(value, str):
        return str(value)
    if _DAY.fullmatch(value) or (_PLAIN.fullmatch(value) and not _AMBIGUOUS.fullmatch(value)):
        return value
    return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
