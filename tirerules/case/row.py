"""A case as the engine reads it: one value for each fact, in one order.

`CaseRow` is the one form in which a case is decided. Typed values (`tirerules.case.Case`) are views on it, and its JSON
form is read into it (`tirerules.case.reading`). A word stands in a row as it is, a measurement as a
:class:`~tirerules.quantities.Measured`, findings as a frozenset, an unknown fact as None.
"""

from __future__ import annotations

from tirerules.vocabulary import FACTS, Fact

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, TypeAlias

    from tirerules.case.views import Case, RepairUnit

    #: A value for each fact of one group, None where it is unknown.
    Row: TypeAlias = "tuple[Any, ...]"

__all__ = ["INJURY", "REPAIR", "TIRE", "CaseRow", "Layout"]


class Layout(dict):  # type: ignore[type-arg]  # fact -> its place in a row
    """Where the facts of some groups stand in a row: fact -> place, in the order of the vocabulary; never changed."""

    def __init__(self, facts: list[Fact]) -> None:
        super().__init__((fact.name, place) for place, fact in enumerate(facts))
        #: A row in which nothing is known.
        self.nothing: Row = (None,) * len(self)


_LISTED = ("injury", "repair")
#: The facts of the whole tire, its vehicle and the case, worked-out ones among them; of one injury; of one repair.
TIRE = Layout([fact for fact in FACTS.values() if fact.group not in _LISTED])
INJURY, REPAIR = (Layout([fact for fact in FACTS.values() if fact.group == group]) for group in _LISTED)


class CaseRow:
    """One case.

    `tire` holds the facts of `TIRE`, `findings` and `method` among them; `injuries` and `repairs` rows of `INJURY` and
    `REPAIR`, None where the list is not recorded. `on` is a day, YYYY-MM-DD, None for today.
    """

    __slots__ = ("_typed", "activity", "codes", "injuries", "on", "reading", "repairs", "tire", "unit", "zones")

    def __init__(
        self,
        codes: tuple[str, ...],
        activity: str,
        on: str | None,
        tire: Row,
        injuries: tuple[Row, ...] | None,
        repairs: tuple[Row, ...] | None,
        unit: RepairUnit | None,
        reading: str,
        zones: str,
    ) -> None:
        self.codes, self.activity, self.on, self.reading, self.zones = codes, activity, on, reading, zones
        self.tire, self.injuries, self.repairs, self.unit = tire, injuries, repairs, unit
        self._typed: Case | None = None

    def dated(self, on: str) -> CaseRow:
        """Return the case for a day."""
        if self.on == on:
            return self
        parts = (self.tire, self.injuries, self.repairs, self.unit, self.reading, self.zones)
        return CaseRow(self.codes, self.activity, on, *parts)

    @property
    def method(self) -> str | None:
        """The method that the case names."""
        method: str | None = self.tire[_METHOD]
        return method

    @property
    def findings(self) -> frozenset[str] | None:
        """What an inspection found; None where none is recorded."""
        findings: frozenset[str] | None = self.tire[_FINDINGS]
        return findings

    @property
    def total(self) -> int | None:
        """How many repairs the tire will carry by the lists of the case; None where a list is not recorded."""
        if self.repairs is None:
            return None
        if self.activity != "repair":
            return len(self.repairs)
        return None if self.injuries is None else len(self.repairs) + len(self.injuries)

    @property
    def typed(self) -> Case:
        """The case as typed values, made when first asked for."""
        if self._typed is None:
            from tirerules.case.views import Case

            self._typed = Case.of_row(self)
        return self._typed


_METHOD, _FINDINGS = TIRE["method"], TIRE["findings"]
