"""Labels: every word that a form can offer has one, and none is left of a word that is gone."""

from __future__ import annotations

import pytest

from tirerules.labels import LABELS, NAMES, OF_FACT, label
from tirerules.packs.rule import READINGS
from tirerules.vocabulary import (
    ACTIVITIES,
    AUTHORITIES,
    EVIDENCE,
    FACTS,
    METHODS,
    STEPS,
    VERDICTS,
    ZONE_EVIDENCE,
    Kind,
    Outcome,
)

OTHERS = {*map(str, (*ACTIVITIES, *VERDICTS, *Outcome, *METHODS, *STEPS, *READINGS, *ZONE_EVIDENCE))}
OTHERS |= {*AUTHORITIES, *EVIDENCE}


@pytest.mark.parametrize("fact", FACTS)
def test_every_word_of_a_fact_has_a_label_of_its_own(fact):
    labels = [label(fact, word) for word in FACTS[fact].values]
    assert all(labels)
    assert len({*labels}) == len(labels)


def test_every_other_word_has_a_label():
    assert {*LABELS} >= OTHERS


def test_every_fact_has_a_name():
    assert [*NAMES] == [*FACTS]
    assert len({*NAMES.values()}) == len(NAMES)


def test_no_label_is_of_a_word_that_is_none():
    words = {word for fact in FACTS.values() if fact.kind is not Kind.SCALE for word in fact.values}
    assert {*LABELS} == words | OTHERS
    assert all({*labels} <= {*FACTS[fact].values} for fact, labels in OF_FACT.items())
