"""A case written block by block is, text for text, the case encoded."""

from __future__ import annotations

import json
from itertools import islice
from random import Random

from tests.reference.drawing import drawn_cases
from tests.support import builtin_packs
from tirerules.index.plain import plain_case
from tirerules.record.blocks import case_texts

DAY = "2026-11-25"


def test_a_case_is_written_as_it_is_encoded():
    written = 0
    for said in islice(drawn_cases(Random(6), builtin_packs()), 3_000):
        plain = plain_case(said)
        if plain is not None:
            case = plain.said(DAY)
            shown = json.dumps(case, ensure_ascii=False)
            assert case_texts(plain, DAY) == (shown, json.dumps(case, sort_keys=True, separators=(",", ":")))
            written += 1
    assert written > 1_000


def test_empty_lists_and_blocks_are_told_apart_from_unknown_ones():
    said = {"jurisdictions": ["US-SC"], "activity": "road-use", "tire": {}, "injuries": [], "findings": []}
    plain = plain_case(said)
    assert plain is not None
    shown, digested = case_texts(plain, DAY)
    places = '{"jurisdictions": ["US-SC"], "activity": "road-use", "on": "2026-11-25"'
    assert shown == places + ', "injuries": [], "findings": [], "reading": "strict"}'
    assert digested.startswith('{"activity":"road-use","findings":[],"injuries":[],')
