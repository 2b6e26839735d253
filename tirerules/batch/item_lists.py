"""The lists of a case as they stand in a column of a table: JSON text, read by Arrow many at a time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import pyarrow as pa

from tirerules.batch.json_blocks import LISTS, objects
from tirerules.batch.tickets import EMPTY, value_of
from tirerules.case.reading import case_row
from tirerules.errors import CaseError

__all__ = ["read_lists"]

#: Texts that Arrow does not take are halved until so few are left, which are read one by one.
_FEW: Final = 16
_KEY: Final = "list"
#: A case that says nothing of itself, in which a list is read to find out whether it can be.
_BARE: Final = {"jurisdictions": ["US"], "activity": "inspection"}


def read_lists(name: str, texts: Sequence[str]) -> tuple[pa.ListArray, list[int]]:
    """Return the lists that texts state, each item with a text for each of its facts, and the places of refused ones.

    `name` is `injuries` or `earlier_repairs`. A text that is refused is null among the lists, as is JSON's null.

    >>> lists, refused = read_lists("injuries", ['[{"zone": "crown"}]', "none", "[3]"])
    >>> lists.value_lengths().to_pylist(), refused
    ([1, 0, None], [2])
    """
    refused: list[int] = []
    pieces = list(_pieces(name, texts, 0, refused))
    return pa.concat_arrays([*pieces, pa.array([], LISTS[name])]), refused


def _pieces(name: str, texts: Sequence[str], first: int, refused: list[int]) -> Iterator[pa.ListArray]:
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
            try:
                said = value_of(name, text)
                case_row({**_BARE, name: said})  # Arrow would pass over a key that no item has
            except CaseError:
                refused.append(at)
                said = None
            yield pa.array([said], LISTS[name])
