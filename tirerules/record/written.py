"""A decision as JSON text, by a form that is made once for all cases that are known alike.

A test holds it equal to `decision_to_json`, text for text. A case that was measured, or with several injuries or
earlier repairs, of which a reason may quote any, is written out instead.
"""

from __future__ import annotations

import hashlib
from functools import lru_cache
from itertools import chain

from tirerules.index.plan import make_room
from tirerules.plain_json import CANONICAL, ENCODE
from tirerules.record.blocks import case_texts
from tirerules.record.forms import CASE, DIGEST, FIRST, ON, Template, alike, hole_in, quoted, tell

TYPE_CHECKING = False  # typing's own constant would import typing
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Final

    from tirerules.decision import Decision
    from tirerules.index.plain import PlainCase
    from tirerules.record.forms import Quoted

__all__ = ["Form", "form_of", "written"]

#: So many forms are kept; they share most of their pieces, of which so many are kept.
_MOST_FORMS: Final = 10_000
_MOST_PIECES: Final = 100_000


class Form:
    """The text of many decisions, as shown and as digested, and what it quotes of each case."""

    __slots__ = ("digested", "quotes", "shown", "tells")

    def __init__(self, shown: Template, digested: Template, quotes: Sequence[Quoted]) -> None:
        self.shown, self.digested, self.quotes = shown, digested, tuple(quotes)
        self.tells = tuple([tell(*each) for each in quotes])

    def filled(self, asked: PlainCase, on: str) -> str:
        """Return the text of the decision on one case and day."""
        case, day = case_texts(asked, on), f'"{on}"'
        texts = [_encoded(each(asked)) for each in self.tells]
        text = self.digested.filled([case[1], day, "", *[digested for _, digested in texts]])
        digest = hashlib.sha256(text.encode("ascii")).hexdigest()
        return self.shown.filled([case[0], day, f'"sha256:{digest}"', *[shown for shown, _ in texts]])


@lru_cache(maxsize=10_000)
def _encoded(text: str) -> tuple[str, str]:
    """Return a text as JSON, as shown and as digested."""
    return ENCODE(text), CANONICAL(text)


def written(decision: Decision) -> str:
    """Return a decision as JSON text, the same as `json.dumps(decision_to_json(decision), ensure_ascii=False)`."""
    key = alike(decision)
    if key is None:
        import json

        from tirerules.record.decisions import decision_to_json

        return json.dumps(decision_to_json(decision), ensure_ascii=False)
    memory = decision._plan.memory
    form: Form | None = memory.forms.get(key)
    if form is None:
        form = make_room(memory.forms, _MOST_FORMS)[key] = form_of(decision, memory.pieces)
    return form.filled(decision._asked, str(decision._on))  # type: ignore[arg-type]  # what is alike is plain


def form_of(decision: Decision, pieces: dict[str, str]) -> Form:
    """Make the form of a decision that has one; `pieces` holds those of other forms, which are used again."""
    from tirerules.record.decisions import decision_to_json

    make_room(pieces, _MOST_PIECES)
    said = decision_to_json(decision)
    said.pop("digest")
    hole = hole_in(CANONICAL(said))
    numbers: dict[Quoted, int] = {}
    for reason in chain(said["reasons"], *(each["reasons"] for each in said["methods"])):
        quotes = quoted(reason["rule"], reason["fact"], reason.get("subject", ""))
        if quotes is not None:
            # INVARIANT: it quotes what the views of the case show
            assert tell(*quotes)(decision._asked) == reason["measured"]  # type: ignore[arg-type]  # it is plain
            reason["measured"] = f"{hole}{numbers.setdefault(quotes, len(numbers) + FIRST)}>"
    said["case"], said["on"] = f"{hole}{CASE}>", f"{hole}{ON}>"
    texts = (ENCODE({**said, "digest": f"{hole}{DIGEST}>"}), CANONICAL(said))
    shown, digested = (Template.of(text, f'"{hole}', '>"') for text in texts)
    for each in (shown, digested):
        each.pieces = tuple([pieces.setdefault(piece, piece) for piece in each.pieces])
    return Form(shown, digested, tuple(numbers))
