"""Rows that are alike, found exactly: equal keys are one group."""

from __future__ import annotations

from collections.abc import Sequence
from math import prod
from typing import Any, Final

import numpy as np
import pyarrow as pa

from tirerules.batch.blocks import looked_up

__all__ = ["LARGEST_KEY", "alike", "as_bytes", "combined", "dense"]

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


def combined(codes: Sequence[tuple[Any, int]]) -> tuple[Any, int]:
    """Return joint codes, and how many there may be; codes are given with how many of their kind there are.

    The last ones count fastest. The product must fit 63 bits.
    """
    size = prod(size for _, size in codes)
    (first, _), *others = codes
    joint = first.astype(np.int32 if size < 2**31 else np.int64)
    for each, own in others:
        joint *= own
        joint += each
    return joint, size


def dense(numbers: Any, size: int) -> tuple[Any, Any]:
    """Return the numbers below `size` that occur, and for each row the place of its number among them."""
    if size > max(_FEW, _SPARSE * len(numbers)):
        first, groups = alike(numbers)
        return numbers[first], groups
    occurs = np.bincount(numbers, minlength=size) > 0
    return np.flatnonzero(occurs), looked_up(np.cumsum(occurs, dtype=np.int32) - np.int32(1), numbers)


def as_bytes(words: Any) -> list[bytes]:
    """Return the words of each row (uint64, two dimensions) as bytes, to be remembered by."""
    size = words.shape[1] * words.itemsize
    held = np.ascontiguousarray(words).tobytes()
    return [held[start : start + size] for start in range(0, len(held), size)]
