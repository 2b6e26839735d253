"""Long columns in blocks of rows that stay in the processor's nearer memories."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import numpy as np

__all__ = ["blocks", "looked_up"]

_BLOCK: Final = 2**15


def blocks(count: int) -> Iterator[slice]:
    """Yield so many rows in blocks."""
    return (slice(start, min(start + _BLOCK, count)) for start in range(0, count, _BLOCK))


def looked_up(table: Any, codes: Any) -> Any:
    """Return the entry of a table for every code. A code that the table lacks is an error of the caller's."""
    found = np.empty(len(codes), table.dtype)
    for rows in blocks(len(codes)):
        found[rows] = table.take(codes[rows])
    return found
