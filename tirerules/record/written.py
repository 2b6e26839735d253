"""A decision as JSON text, by filling in what is this case's own.

Of two cases that are known alike, the decisions differ in what quotes the case: the measurements among the reasons, the
case itself, its day and the digest over all. So the text is made once with holes, and the holes are filled; a test
holds it equal to `decision_to_json`, text for text. A case that was measured, or with several injuries, takes longer.
"""

from __future__ import annotations

import hashlib
import itertools
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

from tirerules.decision import Decision
from tirerules.index.plain import PlainCase
from tirerules.index.plan import make_room
from tirerules.record.decisions import decision_to_json
from tirerules.stated import INJURY, REPAIR, WHOLE
from tirerules.words import PAIRED

__all__ = ["written"]

_ENCODE: Final = json.JSONEncoder(ensure_ascii=False).encode
#: As `digest_of` has it.
_CANONICAL: Final = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=True).encode
#: So many forms are kept; they share most of their pieces, of which so many are kept.
_MOST_FORMS: Final = 5_000
_MOST_PIECES: Final = 50_000
_CASE, _ON, _DIGEST, _FIRST = range(4)
#: Tells one measurement of a case in words; which it is: the list that holds it, or none, and the fact.
_Tell = Callable[[PlainCase], str]
_Quoted = tuple[str, str]


def written(decision: Decision) -> str:
    """Return a decision as JSON text, the same as `json.dumps(decision_to_json(decision), ensure_ascii=False)`."""
    asked, found = decision._asked, decision._found
    # Of several injuries or earlier repairs, a reason may quote any.
    if found is None or not isinstance(asked, PlainCase) or asked.several:
        return json.dumps(decision_to_json(decision), ensure_ascii=False)
    forms: dict[Any, _Form] = decision._plan.memory.forms
    key = (decision._plan, found.packed, decision._resale())
    form = forms.get(key)
    if form is None:
        form = make_room(forms, _MOST_FORMS)[key] = _Form.of(decision, asked, decision._plan.memory.pieces)
    return form.filled(asked, str(decision._on))


@dataclass(frozen=True, slots=True)
class _Form:
    """The text of many decisions: its pieces and the numbers of the holes between them, as shown and as digested."""

    shown: tuple[str, ...]
    digested: tuple[str, ...]
    shown_holes: tuple[int, ...]
    digested_holes: tuple[int, ...]
    measurements: tuple[_Tell, ...]

    @classmethod
    def of(cls, decision: Decision, asked: PlainCase, pieces: dict[str, str]) -> _Form:
        """Make the form of a decision; `pieces` holds those of others, which are used again."""
        make_room(pieces, _MOST_PIECES)
        said = decision_to_json(decision)
        said.pop("digest")
        text = _CANONICAL(said)
        hole = next(mark for number in itertools.count() if (mark := f"<hole {number}:") not in text)
        quoted: dict[_Quoted, int] = {}
        for reason, quotes in _quoting(said, asked):
            reason["measured"] = f"{hole}{quoted.setdefault(quotes, len(quoted) + _FIRST)}>"
        said["case"], said["on"] = f"{hole}{_CASE}>", f"{hole}{_ON}>"
        shown, shown_holes = _apart(_ENCODE({**said, "digest": f"{hole}{_DIGEST}>"}), hole)
        digested, digested_holes = _apart(_CANONICAL(said), hole)
        shown, digested = (tuple(pieces.setdefault(piece, piece) for piece in each) for each in (shown, digested))
        return cls(shown, digested, shown_holes, digested_holes, tuple(_tell(*each) for each in quoted))

    def filled(self, asked: PlainCase, on: str) -> str:
        """Return the text of the decision on one case."""
        case = asked.said(on)
        texts = [_encoded(tell(asked)) for tell in self.measurements]
        values = [_CANONICAL(case), f'"{on}"', "", *[digested for _, digested in texts]]
        digest = hashlib.sha256(_joined(self.digested, self.digested_holes, values).encode("ascii")).hexdigest()
        values = [_ENCODE(case), f'"{on}"', f'"sha256:{digest}"', *[shown for shown, _ in texts]]
        return _joined(self.shown, self.shown_holes, values)


@lru_cache(maxsize=10_000)
def _encoded(text: str) -> tuple[str, str]:
    """Return a text as JSON, as shown and as digested."""
    return _ENCODE(text), _CANONICAL(text)


def _apart(text: str, hole: str) -> tuple[tuple[str, ...], tuple[int, ...]]:
    """Return the text between the holes, and the number of each; `hole` is how they begin, and nothing else does."""
    first, *rest = text.split(f'"{hole}')
    numbers, pieces = zip(*(each.split('>"', 1) for each in rest), strict=True)
    return (first, *pieces), tuple(map(int, numbers))


def _joined(pieces: Sequence[str], holes: Sequence[int], values: Sequence[str]) -> str:
    between = itertools.chain.from_iterable(zip((values[hole] for hole in holes), pieces[1:], strict=True))
    return pieces[0] + "".join(between)


# --- what a reason quotes ---------------------------------------------------------------------------------------------


def _quoting(said: Mapping[str, Any], asked: PlainCase) -> Iterator[tuple[dict[str, Any], _Quoted]]:
    """Yield the reasons that quote the case, and what they quote of it."""
    for reason in itertools.chain(said["reasons"], *(each["reasons"] for each in said["methods"])):
        quotes = None if reason["rule"].startswith("engine/") else _quoted(reason["fact"], reason.get("subject", ""))
        if quotes is not None:
            assert _tell(*quotes)(asked) == reason["measured"]  # INVARIANT: it quotes what the views of the case show
            yield reason, quotes


def _quoted(fact: str, subject: str) -> _Quoted | None:
    """Return what tells a fact of a subject; None for one that every case known alike tells in the same words."""
    group, _, key = fact.rpartition(".")
    new = "the repair of" in subject
    if fact in ("method", "injury.reach") or fact in PAIRED or (new and fact == "repair.method"):
        return None
    if group == "injury" or (new and group == "repair"):
        return "injuries", f"injury.{key}"
    return ("repairs" if group == "repair" else ""), fact


def _tell(of: str, fact: str) -> _Tell:
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
    return lambda case: _shown(_or(case.stated.whole[place], case.worked_out.get(fact)))


def _or(value: Any, other: Any) -> Any:
    return other if value is None else value


def _findings(case: PlainCase) -> str:
    found = case.stated.findings
    return "unknown" if found is None else ", ".join(sorted(found)) or "none"


def _shown(value: Any) -> str:
    if value is None:
        return "unknown"
    return ("no", "yes")[value] if isinstance(value, bool) else str(value)
