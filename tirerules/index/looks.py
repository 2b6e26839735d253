"""What the facts of a row do, with few looks.

Words are looked up several at once, but not all: their combinations would be nearly as many as there are tires, and
what is met for the first time, or lies far away in memory, costs more than another look.
"""

from __future__ import annotations

from operator import itemgetter

from tirerules.index.plan import make_room
from tirerules.vocabulary import FACTS

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from typing import Any, TypeAlias

    from tirerules.stated import Row

    #: What values of a fact do: packed numbers by value, as it stands in a row.
    Does: TypeAlias = "Mapping[Any, int]"
    #: What picks a value or several out of a row; and that with what they do.
    Pick: TypeAlias = "Callable[[Row], Any]"
    Look: TypeAlias = "tuple[Pick, Does]"

__all__ = ["Made", "any_of", "does_all", "looks", "packed_by"]

_MOST_REMEMBERED = 20_000
#: So many combinations of words are looked up at once; and how many words a fact may be, or unknown.
_TOGETHER = 1_000
_SIZES = {name: len(fact.values) + 1 for name, fact in FACTS.items()}


class Made(dict):  # type: ignore[type-arg]  # value -> packed number, made when a value first appears
    """What values do, where more than one table says it."""

    __slots__ = ("_make",)

    def __init__(self, make: Callable[[Any], int]) -> None:
        super().__init__()
        self._make = make

    def __missing__(self, value: Any) -> int:
        packed = self._make(value)
        make_room(self, _MOST_REMEMBERED)[value] = packed
        return packed


class _Number(Made):
    """The same of a number, of which there are too many values to be looked up with others."""

    __slots__ = ()
    kind = "number"


def does_all(parts: Sequence[tuple[Does, int]]) -> Does:
    """Return what values of a fact do in several places; each place begins some bits above the lowest."""
    if len(parts) == 1 and not parts[0][1]:
        return parts[0][0]
    made = _Number if any(map(_is_number, (does for does, _ in parts))) else Made
    return made(lambda value: any_of(does[value] << above for does, above in parts))


def _is_number(does: Does) -> bool:
    return getattr(does, "kind", "word") == "number"


def looks(facts: Mapping[str, Does], places: Mapping[str, int]) -> tuple[Look, ...]:
    """Return how to find what facts of a row do; `places` says where they stand in it."""
    found = [_together([(places[fact], facts[fact]) for fact in group]) for group in _groups(facts)]
    alone = [(itemgetter(places[fact]), does) for fact, does in facts.items() if _is_number(does)]
    return (*found, *alone)


def _together(facts: Sequence[tuple[int, Does]]) -> Look:
    """Return what picks facts out of a row, and what all of them together do."""
    places, each = zip(*facts, strict=True)
    if len(facts) == 1:
        return itemgetter(*places), each[0]
    return itemgetter(*places), Made(lambda found: any_of(does[word] for does, word in zip(each, found, strict=True)))


def _groups(facts: Mapping[str, Does]) -> list[list[str]]:
    """Return facts that are words in groups that are looked up at once."""
    groups: list[tuple[int, list[str]]] = []
    words = [fact for fact, does in facts.items() if not _is_number(does)]
    for fact in sorted(words, key=lambda fact: -_SIZES[fact]):
        for at, (size, group) in enumerate(groups):
            if size * _SIZES[fact] <= _TOGETHER:
                groups[at] = (size * _SIZES[fact], [*group, fact])
                break
        else:
            groups.append((_SIZES[fact], [fact]))
    return [group for _, group in groups]


def packed_by(looks: Iterable[Look], row: Row) -> int:
    """Return what the facts of a row do."""
    packed = 0
    for pick, does in looks:
        packed |= does[pick(row)]
    return packed


def any_of(packed: Iterable[int]) -> int:
    """Return what several values do together."""
    both = 0
    for each in packed:
        both |= each
    return both
