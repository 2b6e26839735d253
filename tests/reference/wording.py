"""Limits and conditions in words, as reasons, ladders and notices give them."""

from __future__ import annotations

from typing import Any, Final

from tests.reference.bodies import bound_of
from tests.reference.rules import Rule, listed
from tests.reference.views import shown
from tests.reference.words import IMPLIED_FINDINGS

__all__ = ["also_printed", "as_enacted", "limit_in_words", "when_in_words", "words_of"]

_GROOVES: Final = {
    "any-one": "any one groove",
    "any-two": "any two grooves",
    "two-adjacent": "two adjacent grooves",
    "center": "the groove nearest the center",
    "every": "every groove",
}


def words_of(rule: Rule) -> list[str]:
    """The words that a rule permits, prohibits or disqualifies; who names a regroove means an unmarked one too."""
    if "disqualify" in rule:
        named = rule["disqualify"]["findings"]
        return list(dict.fromkeys(word for each in named for word in (each, *IMPLIED_FINDINGS.get(each, ()))))
    return [shown(value) for value in rule["permit" if "permit" in rule else "prohibit"]["values"]]


def limit_in_words(rule: Rule, figure: str | None) -> str:
    """What a rule demands where `figure` binds; as it was enacted, where none does."""
    if "limit" not in rule:
        return f"{'one of' if 'permit' in rule else 'none of'} {', '.join(words_of(rule))}"
    bound = bound_of(rule)
    text = f"{bound.replace('-', ' ')} {as_enacted(rule) if figure is None else figure}"
    counted = {"grooves": "any-one", "places": 1, **rule["limit"].get("counted", {})}
    if counted == {"grooves": "any-one", "places": 1}:
        return text
    places = f"{counted['places']} place{'' if counted['places'] == 1 else 's'}"
    return f"{text}, counted in {_GROOVES[counted['grooves']]} at {places}"


def as_enacted(rule: Rule) -> str:
    """The figure of a limit as the source gives it first."""
    stated = rule["limit"][bound_of(rule)]
    if not isinstance(stated, dict):
        return shown(stated)
    if "half-of" not in stated:
        return shown(stated["value"])
    share = stated.get("share", "")
    if isinstance(share, list):
        steps = [f"{row['share']} {'through ' + row['through'] if 'through' in row else 'above'}" for row in share]
        share = f"({', '.join(steps)})"
    datum = stated["half-of"].partition(".")[2].replace("_", " ")
    less = f" less {stated['inset']}" if "inset" in stated else ""
    return f"half of {share + ' of ' if share else ''}the {datum}{less}"


def also_printed(rule: Rule) -> str:
    """The second figure of a limit that is printed in two units; else nothing."""
    stated = rule["limit"][bound_of(rule)] if "limit" in rule else None
    return shown(stated["also-printed"]) if isinstance(stated, dict) and "also-printed" in stated else ""


def when_in_words(rule: Rule) -> str:
    """The conditions of a rule."""
    return "; ".join(f"{fact} {_test(test)}" for fact, test in rule["tests"])


def _test(test: Any) -> str:
    if isinstance(test, dict):
        if "not" in test:
            return f"is not {_any_of(test['not'])}"
        return "is " + " and ".join(f"{bound.replace('-', ' ')} {figure}" for bound, figure in test.items())
    return f"is {_any_of(test)}"


def _any_of(values: Any) -> str:
    return " or ".join(map(shown, listed(values)))
