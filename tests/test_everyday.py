"""Everyday words: each leads to words of the vocabulary, is none of them itself, and only ever becomes an offer."""

from __future__ import annotations

import pytest

from tirerules import CaseError
from tirerules.everyday import EVERYDAY, offers
from tirerules.record import case_from_json
from tirerules.vocabulary import ACTIVITIES, FACTS, FINDINGS, METHODS

WORDS = {*FINDINGS, *METHODS, *map(str, ACTIVITIES), *(word for fact in FACTS.values() for word in fact.values)}


def test_what_is_offered_is_in_the_vocabulary():
    assert {each for meant in EVERYDAY.values() for each in meant} <= WORDS


@pytest.mark.parametrize("word", EVERYDAY)
def test_it_is_refused_however_plain_its_meaning(word):
    for block, key in (("tire", "class"), ("vehicle", "kind"), ("vehicle", "use")):
        if word not in FACTS[f"{block}.{key}"].values:
            with pytest.raises(CaseError):
                case_from_json({"jurisdictions": ["US"], "activity": "repair", block: {key: word}})


def test_capitals_spaces_and_underscores_do_not_matter():
    zones = FACTS["injury.zone"].values
    assert offers("Tread Area", zones) == offers("tread_area", zones) == offers(" tread-area", zones) == ("crown",)


def test_without_an_everyday_meaning_the_nearest_word_is_offered():
    assert offers("pasenger", FACTS["tire.class"].values) == ("passenger",)
    assert offers("tread", FACTS["tire.class"].values) == ()
