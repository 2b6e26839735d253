"""Rows that are alike, found exactly: equal keys are one group."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
import pyarrow as pa

__all__ = ["LARGEST_KEY", "alike", "joint_groups", "numbered"]

#: Combined keys stay below this, so that they fit 64 bits.
LARGEST_KEY: Final = 2**62
#: Numbers are counted where there are few, or at most so many for each row; else those that occur are looked for.
_FEW, _SPARSE = 2**16, 16


def alike(keys: Any) -> tuple[Any, Any]:
    """Return the place of the first row of each group of equal keys, ascending, and the group of every row.

    `keys` has one number for each row (int64), or one row of words for each (uint64, two dimensions).
    """
    count = len(keys)
    if keys.ndim == 2:
        words = np.ascontiguousarray(keys)
        size = words.shape[1] * words.itemsize
        held = pa.FixedSizeBinaryArray.from_buffers(pa.binary(size), count, [None, pa.py_buffer(words)])
    else:
        held = pa.array(keys)
    encoded = held.dictionary_encode()
    groups = encoded.indices.to_numpy()
    first = np.empty(len(encoded.dictionary), np.int64)
    first[groups[::-1]] = np.arange(count)[::-1]  # of several rows for one place, the last to be written stays
    return first, groups


def numbered(words: Any) -> tuple[Any, int]:
    """Return codes of words (uint64, one dimension), and how many there are."""
    encoded = pa.array(words).dictionary_encode()
    return encoded.indices.to_numpy(), max(1, len(encoded.dictionary))


def joint_groups(codes: Sequence[tuple[Any, int]]) -> tuple[Any, Any]:
    """Return the place of the first row of each group of equal codes, and the group of every row.

    Codes are given with how many of their kind there are.
    """
    count = len(codes[0][0])
    keys, span = np.zeros(count, np.int64), 1
    for each, size in codes:
        if size == 1:
            continue
        if span * size >= LARGEST_KEY:
            keys, span = alike(keys)[1].astype(np.int64), count
        keys *= size
        keys += each
        span *= size
    if span > max(_FEW, _SPARSE * count):
        return alike(keys)
    first = np.full(span, count, np.int64)
    first[keys[::-1]] = np.arange(count)[::-1]  # of several rows for one place, the last to be written stays
    occurs = first < count
    return first[occurs], (np.cumsum(occurs, dtype=np.int32) - np.int32(1)).take(keys)
