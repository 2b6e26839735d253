"""Decisions in the form of an earlier release: what later ones say besides is set apart, and nothing else."""

from __future__ import annotations

import pytest

from tests.replaying.releases import records_of
from tirerules import ReplayError
from tirerules.record.earlier import form_of

FORM = form_of("1.0.0", "1.1.0")
SAID = records_of("1.0.0")[0]


def test_what_a_release_wrote_has_the_form_of_that_release():
    for said in records_of("1.0.0"):
        assert FORM.told(said) == (said, ())


@pytest.mark.parametrize(
    ("more", "beyond"),
    [
        ({"remedies": []}, "decision.remedies"),
        ({"methods": [{**SAID["methods"][0], "margin": "1 mm"}]}, "methods.margin"),
        ({"reasons": [{**SAID["reasons"][0], "margin": "1 mm"}]}, "reasons.margin"),
        ({"limits": {"tire.age": {"binding": [], "ladder": [], "margin": "1 mm"}}}, "limits.margin"),
        ({"limits": {"tire.age": {"binding": [], "ladder": [{"rule": "a/b", "margin": "1 mm"}]}}}, "ladder.margin"),
        ({"questions": [{"fact": "tire.age", "ask": "How old?", "pointer": "/tire/age"}]}, "questions.pointer"),
        ({"case": {**SAID["case"], "zones": "as-named"}}, "case.zones"),
        ({"packs": {"US": {"version": "1.0.0", "sha256": "0" * 64, "replaces": True}}}, "packs.replaces"),
        ({"notices": [{"kind": "zone-named", "text": "Named.", "rules": []}]}, "zone-named: Named."),
    ],
)
def test_what_a_later_release_says_is_set_apart(more, beyond):
    now = {**SAID, **more}
    then, apart = FORM.told(now)
    assert apart == (beyond,)
    word = beyond.rpartition(".")[2] if "." in beyond[:-1] else "zone-named"
    assert f"'{word}'" in str(now)
    assert f"'{word}'" not in str(then)
    (key,) = more
    assert {name: value for name, value in then.items() if name != key} == {
        name: value for name, value in SAID.items() if name != key
    }


def test_each_is_set_apart_once():
    notice = {"kind": "zone-named", "text": "Named.", "rules": []}
    then, apart = FORM.told({**SAID, "notices": [notice, *SAID["notices"], notice]})
    assert (then, apart) == (SAID, ("zone-named: Named.",))


@pytest.mark.parametrize(
    ("made", "here", "last"),
    [
        ("1.0.0", "1.1.0", "1.0.0"),
        ("1.0", "1.0.1", "1.0.0"),
        ("0.9.0", "2.0.0", "1.0.0"),
        ("1.0.0rc1", "1.1.0", "1.0.0"),
        ("1.0.0", "1.0.0", None),
        ("0.9.0", "1.0.0", None),
        ("1.1.0", "1.1.0", None),
        ("1.0.1", "1.1.0", None),
        ("3.0.0", "1.1.0", None),
    ],
)
def test_a_record_has_the_form_of_the_release_that_made_it(made, here, last):
    form = form_of(made, here)
    assert (form and str(form.last)) == last


@pytest.mark.parametrize("engine", ["", "one", None, 1, "1" * 41])
def test_a_record_of_no_release_has_no_form(engine):
    with pytest.raises(ReplayError, match="names no version of the library"):
        form_of(engine, "1.1.0")
