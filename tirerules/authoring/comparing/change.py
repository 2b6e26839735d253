"""One change between two versions of a pack, as a plain value that reports print."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import IntEnum, StrEnum

__all__ = ["Change", "Effect", "Kind", "Level", "period_text"]


def period_text(start: date | None, end: date | None) -> str:
    """Return a period in words; nothing for all time. The end is the first day that is no longer in it."""
    if start is None:
        return f"before {end}" if end else ""
    return f"from {start} until {end}" if end else f"from {start}"


class Level(IntEnum):
    """Which number of a pack's version a change must raise."""

    NONE = 0
    PATCH = 1
    MINOR = 2
    MAJOR = 3

    def __str__(self) -> str:
        return self.name.lower()


class Effect(StrEnum):
    """What a change does to those who are bound."""

    NONE = "none"
    LOOSER = "looser"
    TIGHTER = "tighter"
    MIXED = "looser-and-tighter"

    @classmethod
    def of(cls, effects: Iterable[Effect]) -> Effect:
        """Return the effect of several changes together."""
        found = set(effects) - {cls.NONE}
        return cls.NONE if not found else found.pop() if len(found) == 1 else cls.MIXED

    @property
    def level(self) -> Level:
        """Which number of the version it must raise."""
        return {Effect.NONE: Level.PATCH, Effect.TIGHTER: Level.MINOR}.get(self, Level.MAJOR)


class Kind(StrEnum):
    """What sort of change it is, the weightiest first."""

    REMOVED = "removed"  #: a whole pack
    LOOSER = "looser"
    MIXED = "looser-and-tighter"
    MOVED = "moved"  #: the same limits on other days
    TIGHTER = "tighter"
    ADDED = "added"  #: a whole pack
    COVERAGE = "coverage"  #: what is left undetermined, because nobody read the law or no rule speaks
    EVIDENCE = "evidence"
    TEXT = "text"


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that changed in one pack."""

    kind: Kind
    level: Level
    subject: str  #: the fact, or the part of the pack
    old: str
    new: str
    says: str  #: both in one phrase
    effect: Effect = Effect.NONE
    activities: tuple[str, ...] = ()
    when: tuple[str, ...] = ()  #: the conditions that single out whom it concerns; none: all
    start: date | None = None  #: the days it concerns; None: from the first, to the last
    end: date | None = None
    rules: tuple[str, ...] = ()  #: ids of the rules that set the limits before and after

    @property
    def whom(self) -> str:
        """For whom and when, in words."""
        activities = " and ".join(self.activities)
        return ", ".join(part for part in (activities, *self.when, period_text(self.start, self.end)) if part)

    def __str__(self) -> str:
        return f"{self.statement} ({self.tag})"

    @property
    def statement(self) -> str:
        """For whom and when, and what."""
        return f"{self.whom}: {self.subject} {self.says}" if self.whom else f"{self.subject} {self.says}"

    @property
    def tag(self) -> str:
        """What sort of change it is, in words."""
        kind = self.kind.replace("-", " ")
        return f"{kind}, {self.effect.replace('-', ' ')}" if self.kind is Kind.MOVED else kind
