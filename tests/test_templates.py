"""Templates: each sentence of the library stands once, with its kind, and fills from what it names."""

from __future__ import annotations

import re
from itertools import product

import pytest

from tirerules.engine.own_rules import OWN_RULES
from tirerules.engine.words import CAUTIONS, verdict_template
from tirerules.templates import KINDS, TEMPLATES, filled
from tirerules.vocabulary import ACTIVITIES, METHODS, STEPS, VERDICTS, Verdict

#: Words by which an English sentence bars or puts off.
BARRING = re.compile(r"\b(not|may not|fails|no|nothing)\b", re.IGNORECASE)


@pytest.mark.parametrize("template", TEMPLATES.values(), ids=lambda template: template.name)
def test_a_template_is_whole(template):
    assert template.kind in KINDS
    parameters = {name: f"<{name}>" for name in template.placeholders}
    text = filled(template.name, parameters)
    assert all(f"<{name}>" in text for name in template.placeholders)
    for name in template.placeholders:
        with pytest.raises(KeyError):
            filled(template.name, {key: value for key, value in parameters.items() if key != name})


@pytest.mark.parametrize("template", TEMPLATES.values(), ids=lambda template: template.name)
def test_what_bars_is_worded_as_a_bar_and_what_permits_is_not(template):
    if template.kind in ("bars", "permits"):
        assert bool(BARRING.search(template.english)) is (template.kind == "bars"), template.english


def test_every_verdict_has_a_template_of_its_kind():
    kinds = {Verdict.WITHIN: "permits", Verdict.OUTSIDE: "bars", Verdict.UNDETERMINED: "asks"}
    used = set()
    for activity, verdict, method in product(ACTIVITIES, VERDICTS, (None, METHODS[0])):
        if method is None or (activity == "repair" and verdict is Verdict.WITHIN):
            name, parameters = verdict_template(activity, verdict, method)
            assert TEMPLATES[name].kind == kinds[verdict]
            assert filled(name, parameters)
            used.add(name)
    assert used == {name for name in TEMPLATES if name.startswith("verdict.")}


def test_every_step_caution_and_own_rule_has_one_and_none_is_left():
    assert {name for name in TEMPLATES if name.startswith("step.")} == {f"step.{step}" for step in STEPS}
    assert {name for name in TEMPLATES if name.startswith("gap.")} == {rule.template for rule in OWN_RULES}
    assert len(CAUTIONS) == 3
    for rule in OWN_RULES:
        assert TEMPLATES[rule.template].placeholders <= {"activity", rule.about}
        assert not rule.about or rule.about in TEMPLATES[rule.template].placeholders
        assert TEMPLATES[rule.template].kind == "asks"  # nothing that the engine finds lets a tire pass
