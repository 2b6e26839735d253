"""The lists of a case as they stand in a column of a table: JSON text, read by Arrow many at a time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import pyarrow as pa

from tirerules.batch.cells import problems_of
from tirerules.batch.json_blocks import LISTS, objects
from tirerules.batch.tickets import EMPTY, value_of
from tirerules.errors import Problem

__all__ = ["read_lists"]

#: Texts that Arrow does not take are halved until so few are left, which are read one by one.
_FEW: Final = 16
_KEY: Final = "list"


def read_lists(name: str, texts: Sequence[str]) -> tuple[pa.ListArray, dict[int, tuple[Problem, ...]]]:
    """Return the lists that texts state, each item with a text for each of its facts, and what is wrong, by place.

    `name` is `injuries` or `earlier_repairs`. A text that is wrong is null among the lists, as is JSON's null.

    >>> read_lists("injuries", ['[{"zone": "crown"}]', "none", "[3]"])[0].value_lengths()
    <pyarrow.lib.Int32Array object at ...>
    [
      1,
      0,
      null
    ]
    """
    refused: dict[int, tuple[Problem, ...]] = {}
    pieces = list(_pieces(name, texts, 0, refused))
    return pa.concat_arrays([*pieces, pa.array([], LISTS[name])]), refused


def _pieces(
    name: str, texts: Sequence[str], first: int, refused: dict[int, tuple[Problem, ...]]
) -> Iterator[pa.ListArray]:
    lines = "".join([f'{{"{_KEY}":{"[]" if text.strip() == EMPTY else text}}}\n' for text in texts]).encode()
    table = objects(lines, len(texts), pa.schema({_KEY: LISTS[name]})) if texts else None
    if table is not None and not any(chunk.values.null_count for chunk in table[_KEY].chunks):
        yield from table[_KEY].chunks
    elif len(texts) > _FEW:
        half = len(texts) // 2
        yield from _pieces(name, texts[:half], first, refused)
        yield from _pieces(name, texts[half:], first + half, refused)
    else:
        for at, text in enumerate(texts, start=first):
            problems = problems_of(name, text)
            if problems:
                refused[at] = problems
            yield pa.array([None if problems else value_of(name, text)], LISTS[name])
