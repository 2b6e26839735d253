"""A plain case as JSON text, block by block, since blocks repeat: the same vehicle, the same shop, the same injury.

A test holds it equal to what `PlainCase.said` gives, encoded.
"""

from __future__ import annotations

from tirerules.index.plain import BLOCKS, KEYS_OF_INJURY, KEYS_OF_REPAIR, block_of
from tirerules.index.plan import make_room
from tirerules.plain_json import CANONICAL, ENCODE

TYPE_CHECKING = False  # typing's own constant would import typing
if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from typing import Any, Final

    from tirerules.index.plain import PlainCase

__all__ = ["case_texts"]

#: So many values of each block are kept as text.
_MOST_BLOCKS: Final = 10_000


class _Texts(dict):  # type: ignore[type-arg]  # value -> its block as shown and as digested
    """The texts of one block by its value; no text for one that states nothing."""

    __slots__ = ("_form", "_key")

    def __init__(self, key: str, form: Callable[[Any], Any] = lambda value: value) -> None:
        """Hold the key of the block, and what gives the JSON form of its value."""
        super().__init__()
        self._key, self._form = key, form

    def __missing__(self, value: Any) -> tuple[str, str]:
        block = {self._key: self._form(value)}
        # Without the braces around the block.
        texts = ("", "") if block[self._key] == {} else (ENCODE(block)[1:-1], CANONICAL(block)[1:-1])
        make_room(self, _MOST_BLOCKS)[value] = texts
        return texts


def _row(keys: list[str]) -> Callable[[Iterable[Any]], dict[str, Any]]:
    return lambda row: block_of(keys, row)


def _rows(keys: list[str]) -> Callable[[Iterable[Iterable[Any]]], list[dict[str, Any]]]:
    return lambda rows: [block_of(keys, row) for row in rows]


_PLACES, _ACTIVITY, _ON = _Texts("jurisdictions", list), _Texts("activity"), _Texts("on")
_GROUPS: Final = [(_Texts(group, _row(keys)), places) for group, keys, places in BLOCKS]
_INJURIES, _REPAIRS = _Texts("injuries", _rows(KEYS_OF_INJURY)), _Texts("earlier_repairs", _rows(KEYS_OF_REPAIR))
_FINDINGS, _METHOD, _READING = _Texts("findings", sorted), _Texts("method"), _Texts("reading")


def case_texts(case: PlainCase, on: str) -> tuple[str, str]:
    """Return a case for a day as JSON text, as shown and as digested."""
    stated, whole = case.stated, case.stated.whole
    blocks = [_PLACES[case.jurisdictions], _ACTIVITY[case.activity], _ON[case.on or on]]
    blocks += [texts[whole[places]] for texts, places in _GROUPS]
    for texts, value in (
        (_INJURIES, stated.injuries),
        (_REPAIRS, stated.repairs),
        (_FINDINGS, stated.findings),
        (_METHOD, case.method),
    ):
        if value is not None:
            blocks.append(texts[value])
    blocks.append(_READING[case.reading])
    shown, digested = zip(*[texts for texts in blocks if texts[0]], strict=True)
    # Sorted as their keys are: what ends a key sorts before whatever a longer key has there.
    return f"{{{', '.join(shown)}}}", f"{{{','.join(sorted(digested))}}}"
