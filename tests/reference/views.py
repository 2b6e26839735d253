"""What is known of one subject (the tire, an injury, an earlier repair, two of them, or several together)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from tests.reference.words import PAIRED

__all__ = ["NO_SUCH_FACT", "Facts", "Need", "View", "shown"]

Facts = dict[str, Any]
#: A fact to ask for, and of which injury, repair or pair; of the tire as a whole, of none.
Need = tuple[str, str]

#: The value of a fact that does not exist, such as the spacing of a single repair: no rule that reads it applies.
NO_SUCH_FACT: Final = "no such fact"


@dataclass(frozen=True)
class View:
    """Facts by name; one that is not there, or None, is unknown.

    `shown` is what a person reads of a fact; `labels` says which injury, repair or pair it is; `instead` what is asked
    in the place of a fact that is unknown, best first.
    """

    known: Mapping[str, Any] = field(default_factory=dict)
    shown: Mapping[str, str] = field(default_factory=dict)
    labels: Mapping[str, str] = field(default_factory=dict)
    instead: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def __or__(self, other: View) -> View:
        """What is known of both together; where both say something, the other is right."""
        return View(
            {**self.known, **other.known},
            {**self.shown, **other.shown},
            {**self.labels, **other.labels},
            {**self.instead, **other.instead},
        )

    def get(self, fact: str) -> Any:
        return self.known.get(fact)

    def without(self, fact: str, *, asking: tuple[str, ...]) -> View:
        """The view to which a fact is unknown, and what is asked for it."""
        known = {name: value for name, value in self.known.items() if name != fact}
        texts = {name: text for name, text in self.shown.items() if name != fact}
        return View(known, texts, self.labels, {**self.instead, fact: asking})

    def subject(self, facts: Iterable[str]) -> str:
        """Which injuries, repairs and pairs some facts speak of."""
        groups = {"pair" if fact in PAIRED else fact.partition(".")[0] for fact in facts}
        return ", ".join(label for group, label in self.labels.items() if group in groups)

    def needs(self, fact: str) -> list[Need]:
        """What to ask for where a fact is unknown."""
        return [(each, self.subject([each])) for each in self.instead.get(fact, (fact,))]


def shown(stated: Any) -> str:
    """A stated value as a person reads it."""
    return ("no", "yes")[stated] if isinstance(stated, bool) else str(stated).strip()
