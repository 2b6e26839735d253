"""JSON text, read strictly: duplicate keys, NaN and half characters are refused."""

from __future__ import annotations

from tirerules.plain_json import ENCODE, scanner

TYPE_CHECKING = False  # typing's own constant would import typing, and what is wrong with a text is seldom asked
if TYPE_CHECKING:
    from typing import Any, Final

    from tirerules.errors import CaseError

__all__ = ["parse"]


#: Shells on some systems write it before any text; RFC 8259 (8.1) lets a reader pass over it.
_BYTE_ORDER_MARK: Final = "\ufeff"
#: What may stand around a JSON value (RFC 8259, 2).
_SPACES: Final = " \t\n\r"


def parse(text: str) -> Any:
    """Read JSON strictly. Raises CaseError with line and column for what is no JSON, a duplicate key, or NaN.

    A byte order mark before the text is passed over.
    """
    try:
        said = _value(text.removeprefix(_BYTE_ORDER_MARK))
    except _Wrong as wrong:
        raise _error(*wrong.args, **wrong.where) from None
    # Half of a character, which a text in memory can hold, JSON can spell, and no file can.
    if "\\u" in text or not text.isascii():
        try:
            (ENCODE(said) if "\\u" in text else text).encode("utf-8")
        except UnicodeEncodeError:
            raise _error("json-syntax", "a text here holds half a character", "write the whole of it") from None
        except ValueError:
            raise _too_much() from None
    return said


def _value(text: str) -> Any:
    """Return the one value of a text. Raises CaseError where there is none, as `json` tells it, or more than one."""
    try:
        start = 0 if text[:1] == "{" else len(text) - len(text.lstrip(_SPACES))
        said, end = _SCAN(text, start)
        if end == len(text) or not text[end:].strip(_SPACES):
            return said
    except (StopIteration, ValueError, RecursionError, SystemError):
        pass  # the scanner raises json's own error, and SystemError where nobody has imported json yet
    import json

    try:
        return json.loads(text, object_pairs_hook=_block, parse_constant=_constant)
    except json.JSONDecodeError as error:
        raise _error("json-syntax", f"this is no JSON: {error.msg}", line=error.lineno, column=error.colno) from None
    except (RecursionError, ValueError):
        raise _too_much() from None


def _too_much() -> CaseError:
    return _error("json-syntax", "this JSON is nested too deep or holds a number too long")


class _Wrong(Exception):  # noqa: N818  # told as a CaseError
    """What a part of a text is refused for."""

    def __init__(self, *said: str, **where: str) -> None:
        super().__init__(*said)
        self.where = where


def _block(found: list[tuple[str, Any]]) -> dict[str, Any]:
    block = dict(found)
    if len(block) < len(found):
        keys = [key for key, _ in found]
        twice = next(key for at, key in enumerate(keys) if key in keys[:at])
        raise _Wrong("json-duplicate", f"the key {twice!r} stands twice", "keep one of them", path=twice)
    return block


def _constant(word: str) -> Any:
    raise _Wrong("json-constant", f"{word} is no value", "leave out what is unknown")


def _error(code: str, message: str, hint: str = "", **where: Any) -> CaseError:
    from tirerules.errors import CaseError, Problem

    return CaseError([Problem(code, message, hint, **where)])


_SCAN: Final = scanner(_block, _constant)
