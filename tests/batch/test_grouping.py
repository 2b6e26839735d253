"""Rows that are alike, held to plain dictionaries."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tirerules.batch.grouping import alike, as_bytes, combined, dense


def grouped(keys):
    """Return the first row of each group in order, and the group of every row, by a dictionary."""
    first: dict[object, int] = {}
    for at, key in enumerate(keys):
        first.setdefault(key, at)
    numbers = {key: number for number, key in enumerate(first)}
    return list(first.values()), [numbers[key] for key in keys]


@given(st.lists(st.integers(-(2**62), 2**62) | st.integers(0, 3)))
def test_numbers(keys):
    first, groups = alike(np.array(keys, np.int64))
    assert (first.tolist(), groups.tolist()) == grouped(keys)


@given(st.lists(st.tuples(*[st.integers(0, 2**64 - 1) | st.integers(0, 1)] * 3), min_size=1))
def test_rows_of_words(keys):
    words = np.array(keys, np.uint64)
    first, groups = alike(words)
    assert (first.tolist(), groups.tolist()) == grouped(keys)
    assert grouped(as_bytes(words)) == grouped(keys)


@pytest.mark.parametrize("size", [10, 2**40])
@given(rows=st.lists(st.integers(0, 9)))
def test_numbers_that_occur(size, rows):
    numbers, places = dense(np.array(rows, np.int64), size)
    assert set(numbers.tolist()) == set(rows)
    assert len(numbers) == len(set(rows))
    assert [numbers[place] for place in places] == rows


@given(st.lists(st.tuples(st.integers(0, 2), st.integers(0, 10**6 - 1), st.integers(0, 10**9 - 1)), min_size=1))
def test_joint_codes_tell_apart_what_their_parts_tell_apart(rows):
    sizes = (3, 10**6, 10**9)
    codes = [np.array(column, np.int32) for column in zip(*rows, strict=True)]
    joint, size = combined(list(zip(codes, sizes, strict=True)))
    assert size == 3 * 10**15
    assert joint.tolist() == [(one * 10**6 + two) * 10**9 + three for one, two, three in rows]
