"""What a check is given, and the form in which it says what it found."""

from __future__ import annotations

import calendar
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date

from tirerules.authoring.examples import Ran
from tirerules.errors import Problem
from tirerules.packs.pack import Pack
from tirerules.packs.reading import Document, Path
from tirerules.packs.rule import Rule
from tirerules.values import replace

__all__ = ["Age", "Check", "Code", "Subject"]


@dataclass(frozen=True, slots=True)
class Code:
    """A kind of finding: its stable name, how severe it is, and one line on what it means."""

    name: str
    severity: str
    says: str


@dataclass(frozen=True, slots=True)
class Age:
    """How old evidence may be: at most `months` calendar months on the day `on`."""

    on: date
    months: int

    @property
    def oldest(self) -> date:
        """The first day that is recent enough; the last of a month where its day does not exist there."""
        months = self.on.year * 12 + self.on.month - 1 - self.months
        if months < 12:  # before the year 1 there is no day
            return date.min
        year, month = divmod(months, 12)
        return date(year, month + 1, min(self.on.day, calendar.monthrange(year, month + 1)[1]))

    def __str__(self) -> str:
        return f"{self.months} month{'s' * (self.months != 1)} before {self.on}"


@dataclass(frozen=True, slots=True)
class Subject:
    """One pack that was read and built, with all that a check may want to know of it."""

    pack: Pack
    document: Document
    ran: tuple[Ran, ...] = ()  #: its examples, decided together with the packs it stands on
    baseline: tuple[Rule, ...] = ()  #: the rules of the trade's baseline
    age: Age | None = None  #: None: how old evidence is was not asked

    def finding(self, code: Code, path: Path, message: str, hint: str = "", *, at_key: bool = False) -> Problem:
        """Return a finding placed at the value (or key) of `path`."""
        problem = self.document.problem(code.name, path, message, hint, at_key=at_key)
        return replace(problem, severity=code.severity)


@dataclass(frozen=True, slots=True)
class Check:
    """One check: the codes it gives, and how it finds them."""

    codes: tuple[Code, ...]
    find: Callable[[Subject], Iterator[Problem]]
