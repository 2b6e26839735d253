"""A group of facts as a typed value: what the generated groups (`tirerules.case.groups`) have in common."""

from __future__ import annotations

from tirerules.case.refusing import problem_with
from tirerules.errors import CaseError, Problem
from tirerules.values import Value, fields
from tirerules.vocabulary import FACTS

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator
    from typing import Any, ClassVar, Self

    from tirerules.case.row import Layout, Row

__all__ = ["Group"]


class Group(Value):
    """A group of facts; a field `key` is the fact `group.key` (a trailing underscore is Python's, not the trade's)."""

    group: ClassVar[str] = ""

    def __post_init__(self) -> None:
        problems = [
            Problem("case-value", *found, path=name)
            for name, value in self.known()
            if (found := problem_with(FACTS[name], value)) is not None
        ]
        if problems:
            raise CaseError(problems)

    def known(self) -> Iterator[tuple[str, Any]]:
        """Yield the name and value of every fact that is known."""
        for name in fields(type(self)):
            if (value := getattr(self, name)) is not None:
                yield f"{self.group}.{name.rstrip('_')}", value

    @classmethod
    def of_row(cls, row: Row, layout: Layout) -> Self:
        """Return the group as a row has it, whose values were checked when they were read."""
        made = object.__new__(cls)
        for name in fields(cls):
            object.__setattr__(made, name, row[layout[f"{cls.group}.{name.rstrip('_')}"]])
        return made
