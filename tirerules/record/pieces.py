"""Pieces of JSON text, in the two forms in which a decision is written.

A decision is written twice: *shown*, as `json.dumps(..., ensure_ascii=False)` writes it, and *canonical* (sorted keys,
no spaces, ASCII), which its digest is taken over. A `Text` is a pair of these; what is put together here from texts
equals what `json` writes of the whole.
"""

from __future__ import annotations

from tirerules.packs.rule import RELATIONS
from tirerules.plain_json import CANONICAL, ENCODE, QUOTED

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from typing import Any, TypeAlias

    from tirerules.engine.parts import FactLimits, Rung
    from tirerules.packs.rule import Source

    #: JSON text as it is shown, and as it is digested.
    Text: TypeAlias = "tuple[str, str]"
    #: A reason without its subject and its measure, see `reason`.
    Reason: TypeAlias = "tuple[str, str, str, str]"
    #: Subject and measure of a reason: both as shown, the measure canonical, the subject canonical, the bare subject.
    Measured: TypeAlias = "tuple[str, str, str, str]"

__all__ = ["block", "encoded", "limits", "listed", "measured", "quoted", "reason", "with_limit"]


def encoded(value: Any) -> Text:
    """Return the text of any JSON value."""
    return ENCODE(value), CANONICAL(value)


def quoted(text: str) -> Text:
    """Return the text of a text."""
    shown = QUOTED(text)
    return shown, shown if text.isascii() and text.isprintable() else CANONICAL(text)


def block(parts: Mapping[str, Text]) -> Text:
    """Return the text of an object with keys that need no escape."""
    shown = ", ".join([f'"{key}": {text[0]}' for key, text in parts.items()])
    canonical = ",".join([f'"{key}":{parts[key][1]}' for key in sorted(parts)])
    return f"{{{shown}}}", f"{{{canonical}}}"


def listed(texts: Iterable[Text]) -> Text:
    """Return the text of a list."""
    found = list(texts)
    return f"[{', '.join([text[0] for text in found])}]", f"[{','.join([text[1] for text in found])}]"


def reason(
    rule: str,
    fact: str,
    limit: str,
    outcome: str,
    applies: bool | None,
    extended: bool,
    says: str,
    source: Source | None,
) -> Reason:
    """Return all of a reason but its subject and its measure, with a comma before it.

    All but these is known of an instance once it is judged, so that they are put between four pieces:

        shown:      , {"rule": R, "fact": F |, "subject": S, "measured": M |, "limit": L, "outcome": O, ...}
        canonical:  ,{"applies":A, ... "limit":L |,"measured":M |,"outcome":O,"rule":R,"says":T |,"subject":S}
    """
    head = {"rule": rule, "fact": fact}
    tail: dict[str, Any] = {"limit": limit} if limit else {}
    tail |= {"outcome": outcome, "applies": applies, "says": says}
    if extended:
        tail["extended"] = True
    if source is not None:
        tail |= {"citation": source.citation, "authority": source.authority, "evidence": source.evidence}
    every = head | tail
    before = {key: value for key, value in every.items() if key < "measured"}
    return (
        f", {ENCODE(head)[:-1]}",
        f", {ENCODE(tail)[1:]}",
        f",{CANONICAL(before)[:-1]}",
        f",{CANONICAL({key: value for key, value in every.items() if key not in before})[1:-1]}",
    )


def with_limit(pieces: Reason, limit: str) -> Reason:
    """Return the pieces of a reason that were made without a limit, with one: it stands where they are put together."""
    shown, canonical = quoted(limit)
    before, behind, first, second = pieces
    return before, f', "limit": {shown}{behind}', f'{first},"limit":{canonical}', second


def measured(subject: str, measure: str) -> Measured:
    """Return what stands between the pieces of a reason; either may be empty."""
    shown = canonical = end = ""
    if subject:
        shown, end = quoted(subject)
        shown, end = f', "subject": {shown}', f',"subject":{end}'
    if measure:
        text, canonical = quoted(measure)
        shown, canonical = f'{shown}, "measured": {text}', f',"measured":{canonical}'
    return shown, canonical, f"{end}}}", subject


def limits(found: FactLimits) -> Text:
    """Return the text of the limits on one fact."""
    parts: dict[str, Text] = {}
    for relation in RELATIONS:
        name = relation.replace("-", "_")
        value = getattr(found, name)
        if value is not None:
            parts[name] = encoded(value if isinstance(value, int) else str(value))
    if found.permitted is not None:
        parts["permitted"] = encoded(found.permitted)
    if found.prohibited:
        parts["prohibited"] = encoded(found.prohibited)
    parts["binding"] = encoded(found.binding)
    parts["ladder"] = listed(_rung(each) for each in found.ladder)
    return block(parts)


def _rung(rung: Rung) -> Text:
    source = rung.rule.source
    said: dict[str, Any] = {"rule": rung.rule.name, "limit": rung.limit, "as_enacted": rung.as_enacted}
    if rung.also_printed:
        said["also_printed"] = rung.also_printed
    if rung.when:
        said["when"] = rung.when
    said["applies"] = rung.applies
    if rung.extended:
        said["extended"] = True
    return encoded(said | {"citation": source.citation, "authority": source.authority, "evidence": source.evidence})
