"""Running a pack's examples against its mutants: an example notices a mutant whose decision is not what it expects.

Only examples whose answer can depend on the changed rule are run: those whose act answers to it and whose day it binds
on, before or after the change. Those that name the rule come first, for they notice most.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final

from tirerules.authoring.examples import asked, holds, run_examples
from tirerules.authoring.mutation.operators import Mutant, Place, mutants_of
from tirerules.case import Case
from tirerules.decision import Decision
from tirerules.errors import TirerulesError
from tirerules.packs.building import merged
from tirerules.packs.document import Document
from tirerules.packs.pack import OVERLAYS, Pack
from tirerules.packs.rule import Rule
from tirerules.record import case_from_json
from tirerules.rulebook import Rulebook
from tirerules.values import replace
from tirerules.vocabulary import Activity, answering

__all__ = ["Asked", "Setting", "can_touch", "decided"]


#: The kinds of mutants that differ from their rule only in the acts and days on which it binds.
_WHERE_ALONE: Final = ("act", "act-added", "date")


@dataclass(frozen=True, slots=True)
class Asked:
    """An example as it is decided; `expect` is what it expects."""

    number: int
    case: Case
    expect: Mapping[str, Any]


def can_touch(mutant: Mutant, case: Case) -> bool:
    """Whether the answer to a case can differ between the rule and its mutant, by act and day; the case has a day."""
    binds = [_binds(rule, case) for rule in (mutant.rule, mutant.changed)]
    return any(binds) and (mutant.kind not in _WHERE_ALONE or binds[0] != binds[1])


def _binds(rule: Rule | None, case: Case) -> tuple[bool, ...]:
    """Return how a rule binds on the day of a case: by a repair itself or by an act it implies; empty for neither."""
    assert case.on is not None  # INVARIANT: an example is decided on the day of the review if it names none
    if rule is None or not rule.in_force(case.on) or not rule.activities & set(answering(Activity(case.activity))):
        return ()
    return (case.activity == Activity.REPAIR and case.activity in rule.activities,)


class Setting:
    """One pack with its document, its examples that hold, and the packs they are decided by."""

    def __init__(self, pack: Pack, document: Document, rulebook: Rulebook) -> None:
        self.pack, self.document, self.rulebook = pack, document, rulebook
        #: The examples that do not hold of the pack as it stands: they could notice nothing, or everything.
        self.broken = tuple(ran.number for ran in run_examples(pack, rulebook) if ran.differences)
        self.examples = tuple(
            Asked(number, case_from_json(asked(pack, example.case)), example.expect)
            for number, example in enumerate(pack.examples)
            if number not in self.broken
        )

    @cached_property
    def given(self) -> Mapping[str, Any]:
        """What the pack gives for all its examples."""
        data = self.document.data
        given: Mapping[str, Any] = data.get("given", {}) if isinstance(data, dict) else {}
        return given

    def whole(self, case: Mapping[str, Any]) -> Case:
        """Return what an example of the pack asks that writes `case`."""
        return case_from_json(asked(self.pack, merged(self.given, case)))

    def mutants(self) -> Iterator[Mutant]:
        """Yield every mutant of every rule of the pack."""
        return mutants_of(Place(self.pack, tuple(rule for pack in self._beside() for rule in pack.rules)))

    def _beside(self) -> Sequence[Pack]:
        """Return the packs whose rules stand beside those of the pack, itself included."""
        if self.pack.kind in ("country", "jurisdiction"):
            return self.rulebook.packs_for([self.pack.id])
        return tuple(self.rulebook.packs.values()) if self.pack.kind in OVERLAYS else (self.pack,)

    def changed(self, mutant: Mutant) -> Rulebook:
        """Return the rulebook in which the pack holds the mutant in place of its rule."""
        rules = (mutant.changed if rule is mutant.rule else rule for rule in self.pack.rules)
        return self.rulebook.replacing(replace(self.pack, rules=tuple(rule for rule in rules if rule is not None)))

    def noticed(self, mutant: Mutant, changed: Rulebook) -> int | None:
        """Return the number of an example that the mutant does not satisfy; None where it satisfies all of them."""
        known = mutant.rule.name, mutant.rule.id
        for each in sorted(
            (each for each in self.examples if can_touch(mutant, each.case)),
            key=lambda each: not any(name in known for name in each.expect.get("because", ())),
        ):
            if not self.holds(each.expect, each.case, changed):
                return each.number
        return None

    def holds(self, expect: Mapping[str, Any], case: Case, rulebook: Rulebook) -> bool:
        """Whether a rulebook decides a case as expected."""
        found = decided(rulebook, case)
        return found is not None and holds(self.pack, expect, found)


def decided(rulebook: Rulebook, case: Case) -> Decision | None:
    """Return the decision, or None where the case cannot be decided."""
    try:
        return rulebook.decide(case)
    except TirerulesError:
        return None
