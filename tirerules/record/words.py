"""The vocabulary as plain data: every fact and every word with its label, from which a form can be generated."""

from __future__ import annotations

from tirerules.engine.form import LISTS, entry_of, place_of
from tirerules.labels import label_of, name_of
from tirerules.packs.rule import READINGS
from tirerules.vocabulary import ACTIVITIES, FACTS, IMPLIES, METHODS, STEPS, VERDICTS, ZONE_EVIDENCE

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable
    from typing import Any

    from tirerules.vocabulary import Fact

__all__ = ["vocabulary_to_json"]


def vocabulary_to_json() -> dict[str, Any]:
    """Return every fact in the order in which a person is asked, and every other word of a case or a decision.

    A fact has its name, its group and key, a label, its kind and its question as a
    :class:`~tirerules.engine.parts.Question` has them, and the JSON Pointer of its value (of the first injury or
    earlier repair); `follows_from` names the facts that it is worked out from where nobody states it, and a `derived`
    one is never stated.
    """
    return {
        "facts": [_fact(fact) for fact in FACTS.values()],
        "activities": [{**each, "implies": list(IMPLIES.get(each["word"], ()))} for each in _words(ACTIVITIES)],
        "methods": _words(METHODS),
        "readings": _words(READINGS),
        "zones": _words(ZONE_EVIDENCE),
        "verdicts": _words(VERDICTS),
        "steps": _words(STEPS),
    }


def _words(words: Iterable[str]) -> list[dict[str, Any]]:
    return [{"word": str(word), "label": label_of(word)} for word in words]


def _fact(fact: Fact) -> dict[str, Any]:
    _, kind, choices, units, several = entry_of(fact.name)
    listed = {"list": LISTS[fact.group][0]} if fact.group in LISTS else {}
    return {
        "fact": fact.name,
        "group": fact.group,
        "key": fact.key,
        "label": name_of(fact.name),
        "kind": kind,
        "ask": fact.question,
        "choices": [{"word": each.word, "label": each.label} for each in choices],
        "units": list(units),
        "several": several,
        "derived": fact.derived,
        "follows_from": list(fact.follows_from),
        **listed,
        "path": place_of(fact.name)[1],
    }
