"""What a case states, as rows: a value for each fact of some groups in one order, None for what is unknown.

Deciding reads many facts of a case at once, and from a row that takes least. A word stands in a row as it is; a number
as text, as a whole number, or as the numerators and denominators of both its ends in base units, which are quickly told
from others.
"""

from __future__ import annotations

from operator import itemgetter

from tirerules.vocabulary import FACTS, NO_HIGHWAY, field_of
from tirerules.worked_out import CARRIER_FACTS, REGROOVED, REGROOVED_LAWFULLY, Completer

TYPE_CHECKING = False
if TYPE_CHECKING:
    from datetime import date
    from typing import Any, TypeAlias

    #: A value for each fact of some groups.
    Row: TypeAlias = "tuple[Any, ...]"
    #: Places, an activity, a reading.
    Asks: TypeAlias = "tuple[tuple[str, ...], str, str]"

__all__ = [
    "ASKED_OF_CARRIER",
    "FOR_NO_HIGHWAY",
    "GROOVES_UNSEEN",
    "INJURY",
    "LAWFUL_REGROOVE",
    "MEASURED_ZONES",
    "NO_INJURIES",
    "NO_REPAIRS",
    "REPAIR",
    "ROW",
    "SEVERAL_INJURIES",
    "WHOLE",
    "Places",
    "Stated",
    "ends",
]

#: What is to be known of the lists of a case: that one is not recorded, that there are several injuries; and that a
#: zone counts only where its place was measured.
NO_INJURIES, NO_REPAIRS, SEVERAL_INJURIES, MEASURED_ZONES = 1, 2, 8, 32
#: That a regroove was found on a tire of a class that is lawfully regrooved: no finding that a rule must judge.
LAWFUL_REGROOVE = 64
#: That the tire is of the first class of `NO_HIGHWAY`; the next flag says the same of the second.
FOR_NO_HIGHWAY = 256
#: That an inspection, which is not recorded, might tell whether the tire was regrooved.
GROOVES_UNSEEN = 128
#: From this flag on stands the number (from 1) of the fact of `CARRIER_FACTS` to ask for; 0 where none is to be asked.
ASKED_OF_CARRIER = 1024


class Places(dict):  # type: ignore[type-arg]  # fact -> its place in a row
    """Where the facts of some groups stand in a row; never changed."""

    def __init__(self, *groups: str) -> None:
        facts = [fact for fact in FACTS.values() if fact.group in groups and not fact.derived]
        super().__init__((fact.name, place) for place, fact in enumerate(facts))
        #: The attribute that holds each fact, by place.
        self.fields = tuple(field_of(fact) for fact in self)
        self.nothing: tuple[None, ...] = (None,) * len(self)


#: The facts that hold for the whole tire; those of one injury; those of one earlier repair.
WHOLE = Places("tire", "vehicle", "axle", "shop", "road", "sale", "repairs")
INJURY = Places("injury")
REPAIR = Places("repair")


def ends(low: Any, high: Any) -> tuple[int, int, int, int]:
    """Return how a number from `low` to `high` (exact fractions in base units) stands in a row."""
    return low.numerator, low.denominator, high.numerator, high.denominator


#: Where a fact stands in a case that is one row; and behind the facts, what is known of its lists and findings.
ROW = {name: place for place, name in enumerate((*WHOLE, *INJURY, "findings", "total", "flags", "injuries", "method"))}
_ZONE, _OFFSET, _SURFACE = (INJURY[f"injury.{key}"] for key in ("zone", "from_centerline", "surface_diameter"))
#: What something must be worked out from; and what a band in which an unplaced injury must lie may follow from.
_read = itemgetter(*(WHOLE[f"tire.{key}"] for key in ("size", "date_code", "tread_grid")))
_measures = itemgetter(*(WHOLE[f"tire.{key}"] for key in ("section_width", "tread_width", "belt_width")))
_NONE_OF_THREE = (None, None, None)
_complete = Completer(WHOLE)
_CLASS, _REGROOVED = WHOLE["tire.class"], WHOLE[REGROOVED]


class Stated:
    """What one case states: which rules it asks; the facts of the tire, of each injury and of each earlier repair.

    A list that is not recorded is None. `known` is `whole` with what follows from it. `total` is how many repairs the
    tire will carry by the lists, None where that is not known. `flags` tell of the lists, and of what no row holds.

    Most cases are also one row (`ROW`), from which all that is known of them is soon told: those of which nothing must
    be worked out, so that the sidewall is not read, no injury measured from the center line or unplaced, and of which
    there is at most one injury, no earlier repair, no rated unit. Of any other, `row` is None.
    """

    __slots__ = ("asks", "findings", "flags", "injuries", "known", "on", "repairs", "row", "total", "whole")

    def __init__(
        self,
        asks: Asks,
        on: date | str | None,
        whole: Row,
        injuries: tuple[Row, ...] | None,
        repairs: tuple[Row, ...] | None,
        findings: frozenset[str] | None,
        method: str | None,
        rated: bool = False,
        measured_zones: bool = False,
    ) -> None:
        """Hold what a case states; `rated` says that its repair unit has a rating.

        With `measured_zones`, a zone counts only where its place was measured.
        """
        self.asks, self.on = asks, on
        self.whole, self.injuries, self.repairs, self.findings = whole, injuries, repairs, findings
        self.flags = (0 if repairs is not None else NO_REPAIRS) | (
            NO_INJURIES if injuries is None else SEVERAL_INJURIES if len(injuries) > 1 else 0
        )
        self.known, asked = _complete(whole, findings)
        if asked is not None:
            self.flags |= ASKED_OF_CARRIER * (1 + CARRIER_FACTS.index(asked))
        if findings is None and self.known[_REGROOVED] is None:
            self.flags |= GROOVES_UNSEEN
        elif findings is not None and "regroove" in findings and whole[_CLASS] in REGROOVED_LAWFULLY:
            self.flags |= LAWFUL_REGROOVE
        if whole[_CLASS] in NO_HIGHWAY:
            self.flags |= FOR_NO_HIGHWAY << tuple(NO_HIGHWAY).index(whole[_CLASS])
        if measured_zones:
            self.flags |= MEASURED_ZONES
        new = 0 if asks[1] != "repair" else None if injuries is None else len(injuries)
        self.total = None if new is None or repairs is None else new + len(repairs)
        self.row: Row | None = None
        if not (repairs or rated or measured_zones) and _read(whole) == _NONE_OF_THREE:
            behind = findings, self.total, self.flags, len(injuries or ()), method
            unplaced = injuries is None or repairs is None
            if unplaced and _measures(whole) != _NONE_OF_THREE:
                return
            if not injuries:
                self.row = (*self.known, *INJURY.nothing, *behind)
            elif len(injuries) == 1:
                (injury,) = injuries
                if injury[_ZONE] is not None and injury[_OFFSET] is injury[_SURFACE] is None:
                    self.row = (*self.known, *injury, *behind)
