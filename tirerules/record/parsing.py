"""JSON text, read strictly: duplicate keys, NaN and half characters are refused."""

from __future__ import annotations

import json

TYPE_CHECKING = False  # typing's own constant would import typing, and what is wrong with a text is seldom asked
if TYPE_CHECKING:
    from typing import Any, Final

    from tirerules.errors import CaseError

__all__ = ["parse"]


#: Shells on some systems write it before any text; RFC 8259 (8.1) lets a reader pass over it.
_BYTE_ORDER_MARK: Final = "\ufeff"


def parse(text: str) -> Any:
    """Read JSON strictly. Raises CaseError with line and column for what is no JSON, a duplicate key, or NaN.

    A byte order mark before the text is passed over.
    """
    try:
        said = json.loads(text.removeprefix(_BYTE_ORDER_MARK), object_pairs_hook=_block, parse_constant=_constant)
        # Half of a character, which a text in memory can hold, JSON can spell, and no file can.
        if "\\u" in text:
            json.dumps(said, ensure_ascii=False).encode("utf-8")
        elif not text.isascii():
            text.encode("utf-8")
        return said
    except UnicodeEncodeError:
        raise _error("json-syntax", "a text here holds half a character", "write the whole of it") from None
    except json.JSONDecodeError as error:
        raise _error("json-syntax", f"this is no JSON: {error.msg}", line=error.lineno, column=error.colno) from None
    except _Wrong as wrong:
        raise _error(*wrong.args, **wrong.where) from None
    except (RecursionError, ValueError):
        raise _error("json-syntax", "this JSON is nested too deep or holds a number too long") from None


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
