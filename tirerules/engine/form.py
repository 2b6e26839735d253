"""How a fact is asked for in a form: kind, choices, units, and the place of its answer in the case.

A question is a function of the fact and of who is asked about. `entry_of` gives what holds for a fact whoever it is
asked of; its key is the fact. INVARIANT: nothing here depends on a case.
"""

from __future__ import annotations

from functools import cache

from tirerules.engine.parts import Choice, Question
from tirerules.labels import label
from tirerules.vocabulary import ASKED_IN, FACTS, Kind

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Final

__all__ = ["LISTS", "entry_of", "kind_of", "place_of", "question"]

#: Group of facts -> the list of the case that holds them, and how a subject of it is called.
LISTS: Final = {"injury": ("injuries", "injury "), "repair": ("earlier_repairs", "earlier repair ")}
#: How the repair is called that an injury becomes: what is known of it is the injury's.
_BECOMES: Final = "the repair of "


def kind_of(kind: Kind) -> str:
    """Return how a form asks for a fact of a kind; whether words have an order does not matter to it."""
    return str(Kind.CHOICE if kind is Kind.SCALE else kind)


@cache
def entry_of(name: str) -> tuple[str, str, tuple[Choice, ...], tuple[str, ...], bool]:
    """Return of a fact its unit in words, its kind, its choices, its units, and whether several may be chosen."""
    fact = FACTS[name]
    kind = kind_of(fact.kind)
    choices = tuple(Choice(word, label(name, word)) for word in fact.values)
    units = () if fact.dimension is None else ASKED_IN[fact.dimension]
    if units:
        unit = " or ".join(units)
    elif fact.kind is Kind.FLAG:
        unit = "yes or no"
    else:
        unit = "" if fact.kind is Kind.SET else ", ".join(fact.values)
    return unit, kind, choices, units, fact.kind in (Kind.SET, Kind.RECORDS, Kind.GRID)


def question(name: str, shown: str, subject: str) -> Question:
    """Return the question for a fact of a subject, which is `shown` where there is something to tell apart."""
    unit, kind, choices, units, several = entry_of(name)
    number, path = place_of(name, subject)
    return Question(name, shown, FACTS[name].question, unit, kind, choices, units, several, number, path)


def place_of(name: str, subject: str = "") -> tuple[int | None, str]:
    """Return which injury or earlier repair a fact is asked of, from 1, and the JSON Pointer of its answer."""
    group, _, key = name.rpartition(".")
    if group not in LISTS:
        return None, f"/{name.replace('.', '/')}"
    if subject.startswith(_BECOMES):
        group, subject = "injury", subject[len(_BECOMES) :]
    kept, called = LISTS[group]
    number = int(subject.removeprefix(called)) if subject.startswith(called) else 1
    return number, f"/{kept}/{number - 1}/{key}"
