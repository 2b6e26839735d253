"""The text of a decision by filling in what is this case's own.

Of two cases that are known alike, the decisions differ in what quotes the case: the measurements among the reasons, the
case itself, its day and the digest over all. So the text is made once with holes (`tirerules.record.written`), and here
is what a hole is and what fills it. Forms live as long as the process: none is ever written to disk.
"""

from __future__ import annotations

from itertools import count

from tirerules.index.plain import PlainCase
from tirerules.stated import INJURY, REPAIR, WHOLE
from tirerules.vocabulary import PAIRED

TYPE_CHECKING = False  # typing's own constant would import typing
if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from typing import Any

    from tirerules.decision import Decision

    #: Tells one measurement of a case in words; which it is: the list that holds it, or none, and the fact.
    Tell = Callable[[PlainCase], str]
    Quoted = tuple[str, str]

__all__ = ["CASE", "DIGEST", "FIRST", "ON", "Template", "alike", "hole_in", "quoted", "tell"]

#: The numbers of the holes: the case, its day, the digest, and what is quoted from there on.
CASE, ON, DIGEST, FIRST = range(4)


class Template:
    """A text with numbered holes: the pieces between them, and the number of each."""

    __slots__ = ("holes", "pieces")

    def __init__(self, pieces: Sequence[str], holes: Sequence[int]) -> None:
        self.pieces, self.holes = tuple(pieces), tuple(holes)

    @classmethod
    def of(cls, text: str, before: str, after: str) -> Template:
        """Return what stands between the holes of a text; a hole is its number between what nothing else holds."""
        first, *rest = text.split(before)
        numbered = [each.split(after, 1) for each in rest]
        return cls((first, *(piece for _, piece in numbered)), [int(number) for number, _ in numbered])

    def filled(self, values: Sequence[str]) -> str:
        """Return the text with a value in each hole, by number."""
        text = [""] * (len(self.pieces) + len(self.holes))
        text[::2] = self.pieces
        text[1::2] = [values[hole] for hole in self.holes]
        return "".join(text)


def alike(decision: Decision) -> tuple[Any, ...] | None:
    """Return what decides every word of a decision but those that quote the case; None where a form cannot say it."""
    if decision._found is None or not isinstance(decision._asked, PlainCase) or decision._asked.several:
        return None
    return decision._plan, decision._found.packed, decision._after_repair, decision._own_notices


def hole_in(text: str) -> str:
    """Return what a hole begins with in a text, and nothing else in it does."""
    return next(mark for number in count() if (mark := f"<hole {number}:") not in text)


# --- what a reason quotes ---------------------------------------------------------------------------------------------


def quoted(rule: str, fact: str, subject: str) -> Quoted | None:
    """Return what a reason quotes of a case, for a rule and a fact of a subject; None where it quotes nothing."""
    group, _, key = fact.rpartition(".")
    new = "the repair of" in subject
    if rule.startswith("engine/") or fact in ("method", "injury.reach", "repair.reach") or fact in PAIRED:
        return None
    if new and fact == "repair.method":
        return None
    if group == "injury" or (new and group == "repair"):
        return "injuries", f"injury.{key}"
    return ("repairs" if group == "repair" else ""), fact


def tell(of: str, fact: str) -> Tell:
    """Return what tells a fact: of the one injury or earlier repair that is listed, or of the whole case."""
    if of:
        place = (INJURY if of == "injuries" else REPAIR)[fact]
        return lambda case: _shown(listed[0][place] if (listed := getattr(case.stated, of)) else None)
    if fact == "findings":
        return _findings
    place = WHOLE[fact]
    if fact == "repairs.count":
        return lambda case: _shown(_or(case.stated.whole[place], case.stated.total))
    if fact == "road.snow_restriction":
        return lambda case: _shown(_or(case.stated.whole[place], None if case.activity == "road-use" else False))
    return lambda case: _shown(_or(case.stated.known[place], case.worked_out.get(fact)))


def _or(value: Any, other: Any) -> Any:
    return other if value is None else value


def _findings(case: PlainCase) -> str:
    found = case.stated.findings
    return "unknown" if found is None else ", ".join(sorted(found)) or "none"


def _shown(value: Any) -> str:
    if isinstance(value, str):
        return value
    if value is None:
        return "unknown"
    return ("no", "yes")[value] if isinstance(value, bool) else str(value)
