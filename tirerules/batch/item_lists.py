"""The lists of a case as they stand in a column of a table: JSON text, read by Arrow many at a time."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import pyarrow as pa
import pyarrow.compute as pc

from tirerules.batch.cells import problems_of
from tirerules.batch.columns import texts_of
from tirerules.batch.json_blocks import LISTS, objects
from tirerules.batch.tickets import EMPTY, value_of
from tirerules.errors import Problem

__all__ = ["read_lists"]

#: Texts that Arrow does not take are halved until so few are left, which are read one by one.
_FEW: Final = 16
_KEY: Final = "list"


def read_lists(name: str, texts: pa.StringArray) -> tuple[pa.ListArray, dict[int, tuple[Problem, ...]]]:
    """Return the lists that texts state, each item with a text for each of its facts, and what is wrong, by place.

    `name` is `injuries` or `earlier_repairs`; no text is null. A text that is wrong is null among the lists, as is
    JSON's null.

    >>> lists, refused = read_lists("injuries", pa.array(['[{"zone": "crown"}]', "none", "[3]"]))
    >>> [None if items is None else len(items) for items in lists.to_pylist()], list(refused)
    ([1, 0, None], [2])
    """
    refused: dict[int, tuple[Problem, ...]] = {}
    pieces = list(_pieces(name, texts, 0, refused))
    return pa.concat_arrays([*pieces, pa.array([], LISTS[name])]), refused


def _pieces(
    name: str, texts: pa.StringArray, first: int, refused: dict[int, tuple[Problem, ...]]
) -> Iterator[pa.ListArray]:
    table = objects(_lines(texts), len(texts), pa.schema({_KEY: LISTS[name]})) if len(texts) else None
    if table is not None and not any(chunk.values.null_count for chunk in table[_KEY].chunks):
        yield from table[_KEY].chunks
    elif len(texts) > _FEW:
        half = len(texts) // 2
        yield from _pieces(name, texts[:half], first, refused)
        yield from _pieces(name, texts[half:], first + half, refused)
    else:
        for at, text in enumerate(texts_of(texts), start=first):
            problems = problems_of(name, text)
            if problems:
                refused[at] = problems
            yield pa.array([None if problems else value_of(name, text)], LISTS[name])


def _lines(texts: pa.StringArray) -> bytes:
    """Return texts as lines of JSON objects with the text as their one value."""
    said = pc.if_else(pc.equal(texts, EMPTY), "[]", texts).cast(pa.large_string())
    before, after, nothing = (pa.scalar(each, pa.large_string()) for each in (f'{{"{_KEY}":', "}\n", ""))
    lines = pc.binary_join_element_wise(before, said, after, nothing)
    return bytes(lines.buffers()[2])[: pc.sum(pc.binary_length(lines)).as_py()]
