"""Every mutant of every pack, whether it is noticed, and for each that is not the example that would notice it."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from tirerules.authoring.checking import Gathered, gather
from tirerules.authoring.mutation.killing import Killer, Search
from tirerules.authoring.mutation.operators import Mutant
from tirerules.authoring.mutation.running import Setting
from tirerules.authoring.mutation.table import Table
from tirerules.errors import Problem
from tirerules.packs.document import Document
from tirerules.packs.pack import Pack
from tirerules.vocabulary import ACTIVITIES, Activity, answering

__all__ = ["Mutated", "Survivor", "mutate"]

_SAME_ACTS: Final = "equivalent: every act that answered to the rule still does, because it implies another of its acts"
_NOT_SOUGHT: Final = "no example was looked for"
_NONE_FOUND: Final = "no boundary case of the rule was found that shows a difference"


@dataclass(frozen=True, slots=True)
class Survivor:
    """A mutant that nothing notices, with an example that would, or with why none was found."""

    pack: Pack
    document: Document
    mutant: Mutant
    killer: Killer | None
    why: str = ""


@dataclass(frozen=True, slots=True)
class Mutated:
    """What was mutated and what survived. A count is by pack id and kind; nothing is left out of it."""

    gathered: Gathered
    made: Mapping[tuple[str, str], int]
    survivors: tuple[Survivor, ...]
    #: Examples that do not hold of their pack as it stands, so that they notice nothing.
    broken: tuple[Problem, ...] = ()


def mutate(*places: str | os.PathLike[str], table: Table | None = None, offer: bool = True) -> Mutated:
    """Mutate every rule of the packs in `places`; a `table` is asked about what their examples do not notice.

    With `offer`, an example is looked for that would notice what survives, which takes most of the time.

    Where a pack cannot be read nothing is mutated, as `gathered.problems` says. Raises as
    `tirerules.authoring.checking.gather` does.
    """
    gathered = gather(*places)
    if gathered.problems:
        return Mutated(gathered, {}, ())
    settings = [Setting(pack, document, gathered.rulebook(pack)) for pack, document in gathered.packs]
    made: Counter[tuple[str, str]] = Counter()
    survivors: list[Survivor] = []
    for setting in settings:
        mutants = tuple(setting.mutants())
        made.update((setting.pack.id, mutant.kind) for mutant in mutants)
        survivors += _surviving(setting, mutants, table, offer)
    broken = tuple(problem for setting in settings for problem in _broken(setting))
    return Mutated(gathered, dict(made), tuple(survivors), broken)


def _broken(setting: Setting) -> Iterator[Problem]:
    for number in setting.broken:
        message = "the example does not hold of the pack as it stands, so it notices nothing"
        hint = "run `tirerules check` without --mutate and mend what it tells"
        yield setting.document.problem("example", ("examples", number), message, hint)


def _surviving(setting: Setting, mutants: Iterable[Mutant], table: Table | None, offer: bool) -> Iterator[Survivor]:
    search = Search(setting)
    killers: list[Killer] = []
    for mutant in mutants:
        changed = setting.changed(mutant)
        if setting.noticed(mutant, changed) is not None:
            continue
        if table is not None and table.notices(setting.pack, setting.rulebook, mutant, changed):
            continue
        if not offer:
            yield Survivor(setting.pack, setting.document, mutant, None, _NOT_SOUGHT)
            continue
        # One new example may serve for several mutants.
        killer = next((each for each in killers if search.kills(each, changed)), None)
        if killer is None:
            killer = search.killer(mutant, changed)
            killers += [killer] if killer is not None else []
        why = "" if killer is not None else _why(mutant)
        yield Survivor(setting.pack, setting.document, mutant, killer, why)


def _why(mutant: Mutant) -> str:
    """Return why no example was found for a mutant."""
    before, after = mutant.rule.activities, mutant.changed.activities if mutant.changed else frozenset[Activity]()
    # A repair asks of its own rules something else than of those that it implies.
    same = (Activity.REPAIR in before) == (Activity.REPAIR in after)
    if before != after and same and _answering_to(before) == _answering_to(after):
        return _SAME_ACTS
    return _NONE_FOUND


def _answering_to(activities: frozenset[Activity]) -> set[Activity]:
    return {each for each in ACTIVITIES if activities & set(answering(each))}
