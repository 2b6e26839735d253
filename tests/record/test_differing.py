"""Where two decisions differ, in words: what stands on each side, and nothing where they are the same."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tirerules.record.differing import differing

REASON = {"rule": "a/b", "fact": "tire.age", "outcome": "passes", "says": "A limit."}
OTHER = {"rule": "a/c", "fact": "tire.age", "outcome": "fails", "says": "Another."}
METHOD = {"method": "section", "injury": 1, "verdict": "outside-limits", "reasons": [REASON]}


@pytest.mark.parametrize(
    ("before", "after", "lines"),
    [
        ({"verdict": "a"}, {"verdict": "b"}, ["verdict differs: recorded a, now b"]),
        ({"verdict": "a"}, {}, ["verdict differs: recorded a, now nothing"]),
        ({}, {"limits_method": None}, ["limits_method differs: recorded nothing, now null"]),
        ({"on": 1}, {"on": True}, ["on differs: recorded 1, now true"]),
        ({"on": 1}, {"on": 1.0}, ["on differs: recorded 1, now 1.0"]),
        ({"say": "x" * 99}, {"say": ""}, [f"say differs: recorded {'x' * 57}..., now "]),
        (
            {"reasons": [REASON]},
            {"reasons": [{**REASON, "outcome": "fails"}]},
            ["reasons differs at a/b tire.age, outcome: recorded passes, now fails"],
        ),
        (
            {"reasons": [REASON]},
            {"reasons": [OTHER, REASON]},
            ["reasons differs at a/c tire.age: recorded nothing, now fails"],
        ),
        ({"reasons": [REASON, OTHER]}, {"reasons": [OTHER, REASON]}, ["reasons differs in its order"]),
        (
            {"reasons": [REASON]},
            {"reasons": [REASON, REASON]},
            ["reasons differs at a/b tire.age (2): recorded nothing, now passes"],
        ),
        (
            {"methods": [METHOD]},
            {"methods": [{**METHOD, "reasons": [OTHER]}]},
            [
                "methods differs at section 1, reasons, a/c tire.age: recorded nothing, now fails",
                "methods differs at section 1, reasons, a/b tire.age: recorded passes, now nothing",
            ],
        ),
        (
            {"limits": {"tire.age": {"at_most": "5 years", "ladder": [{"rule": "a/b", "limit": "5 years"}]}}},
            {"limits": {"tire.age": {"at_most": "6 years", "ladder": [{"rule": "a/b", "limit": "6 years"}]}}},
            [
                "limits differs at tire.age, at_most: recorded 5 years, now 6 years",
                "limits differs at tire.age, ladder, a/b, limit: recorded 5 years, now 6 years",
            ],
        ),
        (
            {"questions": [{"fact": "tire.age", "ask": "How old is the tire?"}]},
            {"questions": []},
            ["questions differs at tire.age: recorded How old is the tire?, now nothing"],
        ),
        ({"reasons": "none"}, {"reasons": []}, ["reasons differs: recorded none, now []"]),
        ({"reasons": ["none"]}, {"reasons": []}, ['reasons differs: recorded ["none"], now []']),
        ({"case": {"findings": ["leak"]}}, {"case": {}}, ['case differs at findings: recorded ["leak"], now nothing']),
        ({"x" * 3: 1}, {}, ["xxx differs: recorded 1, now nothing"]),
        ({"digest": "a", "engine": "1"}, {"digest": "b", "engine": "1"}, []),
    ],
)
def test_a_difference_is_told_where_it_is(before, after, lines):
    assert list(differing(before, after)) == lines


@pytest.mark.parametrize(("count", "last"), [(5, None), (6, "in one more place"), (9, "in 4 more places")])
def test_many_differences_are_counted(count, last):
    lines = list(differing({"case": {}}, {"case": {f"key-{number}": number for number in range(count)}}))
    assert len(lines) == (5 if last is None else 6)
    assert last is None or lines[-1] == f"case differs {last}"


_PLAIN = st.none() | st.booleans() | st.integers(0, 2) | st.sampled_from(["", "a", "b"])
_ITEMS = st.lists(st.dictionaries(st.sampled_from(["rule", "fact", "outcome", "kind"]), _PLAIN, max_size=3), max_size=3)
_KEYS = st.sampled_from(["verdict", "reasons", "notices", "methods", "limits", "digest"])
_DECISIONS = st.dictionaries(
    _KEYS, _PLAIN | _ITEMS | st.dictionaries(st.sampled_from(["ladder", "reasons"]), _ITEMS), max_size=4
)


@settings(max_examples=300, deadline=None)
@given(_DECISIONS, _DECISIONS)
def test_nothing_is_told_exactly_where_both_are_the_same(before, after):
    texts = [
        json.dumps({key: value for key, value in said.items() if key != "digest"}, sort_keys=True)
        for said in (before, after)
    ]
    assert (list(differing(before, after)) == []) is (texts[0] == texts[1])
