"""Forms of decisions kept in the user's cache, so that a process that decides one case need not make one.

A form is kept for a rulebook (the version and the bytes of each pack), for what is known of a case, and for the code
that made it; where any of these differ, it is no form. What it says of a case is still decided every time: the form
only tells it.
"""

from __future__ import annotations

from tirerules.packs.cache import digest
from tirerules.packs.store import cache_of, state_of
from tirerules.plain_json import parsed
from tirerules.record.forms import alike

TYPE_CHECKING = False  # typing's own constant would import typing
if TYPE_CHECKING:
    from typing import Any, Final

    from tirerules.decision import Decision
    from tirerules.rulebook import Rulebook

__all__ = ["keep", "kept"]

#: The folders of the package whose code has a part in what a decision says.
_MAKERS: Final = ("", "cli", "deciding", "index", "packs", "record", "strictest")
#: So many forms are kept, of some 40 kB each.
_MOST_KEPT: Final = 1_000
_NAME: Final = "form-"


def _name(rulebook: Rulebook, decision: Decision, kind: str) -> str | None:
    """Return the name of a form: what it depends on, as a digest. None for a decision that no form can tell."""
    key = alike(decision)
    if key is None:
        return None
    plan, (*packed, findings), after = key
    asked = (plan.codes, plan.activity, plan.reading, plan.since)
    said = (kind, rulebook.identity, asked, packed, findings and sorted(findings), after)
    return _NAME + digest(repr(said).encode())


def kept(rulebook: Rulebook, decision: Decision, kind: str) -> Any:
    """Return the form of a decision as JSON, as it was given to `keep`; None where none is kept."""
    name = _name(rulebook, decision, kind)
    lines = None if name is None else cache_of("forms", state_of(_MAKERS)).get(name)
    return None if lines is None else parsed(lines[0])


def keep(rulebook: Rulebook, decision: Decision, kind: str, form: Any) -> None:
    """Keep the form of a decision, given as JSON; the oldest are forgotten."""
    name = _name(rulebook, decision, kind)
    if name is not None:
        from json import dumps

        cache = cache_of("forms", state_of(_MAKERS))
        cache.put(name, [dumps(form)])
        cache.tidy(_NAME, _MOST_KEPT)
