"""Rows that are alike, held to plain dictionaries."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tirerules.batch.grouping import alike, joint_groups, numbered


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


@given(st.lists(st.integers(0, 2**64 - 1) | st.integers(0, 3), min_size=1))
def test_words_are_numbered(words):
    codes, count = numbered(np.array(words, np.uint64))
    assert codes.tolist() == grouped(words)[1]
    assert count == len(set(words))


@pytest.mark.parametrize("largest", [2**62, 10])
@given(st.lists(st.tuples(st.integers(0, 2), st.integers(0, 10**6 - 1), st.integers(0, 10**9 - 1)), min_size=1))
def test_groups_of_joint_codes_are_those_of_their_parts(largest, rows):
    """Whether the parts fit one number or not; the groups need not stand in the order of their rows."""
    codes = [np.array(column, np.int64) for column in zip(*rows, strict=True)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("tirerules.batch.grouping.LARGEST_KEY", largest)
        first, groups = joint_groups(list(zip(codes, (3, 10**6, 10**9), strict=True)))
    assert [rows[at] for at in first[groups].tolist()] == rows
    assert len(first) == len(set(rows))
    assert [rows.index(row) for row in rows] == first[groups].tolist()
