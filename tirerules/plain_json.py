"""JSON without `json`, whose import takes longer than reading all packs: it imports `re`.

What is read is JSON that this library wrote; what is written are cases and texts. Python's own scanner and encoder of
JSON are a private module, so they may change or be missing; then `json` is imported after all.
"""

from __future__ import annotations

TYPE_CHECKING = False  # typing's own constant would import typing
if TYPE_CHECKING:
    from collections.abc import Callable
    from decimal import Decimal
    from typing import Any, Final

    Encode = Callable[[Any], str]

__all__ = ["CANONICAL", "ENCODE", "QUOTED", "parsed"]


def _exactly(text: str) -> Decimal:
    from decimal import Decimal  # here because few texts hold a number with a point

    return Decimal(text)


class _Settings:
    """What the scanner is told, which is what `json.loads` tells it, but for numbers with a point."""

    strict = True
    object_hook = object_pairs_hook = None
    parse_float = staticmethod(_exactly)
    parse_constant = float
    parse_int = int


def _parser() -> Callable[[str], Any]:
    try:
        from _json import make_scanner

        scan = make_scanner(_Settings)  # type: ignore[arg-type]  # it reads the attributes of anything
    except (ImportError, AttributeError, TypeError):
        from json import loads

        return lambda text: loads(text, parse_float=_exactly)
    return lambda text: scan(text, 0)[0]


def _refuse(value: object) -> Any:
    raise TypeError(f"a {type(value).__name__} has no form in JSON")


def _encoders() -> tuple[Encode, Encode, Encode]:
    try:
        import _json

        texts = (_json.encode_basestring, _json.encode_basestring_ascii)
        shown = _json.make_encoder(None, _refuse, texts[0], None, ": ", ", ", False, False, False)
        digested = _json.make_encoder(None, _refuse, texts[1], None, ":", ",", True, False, False)
        shown("", 0)  # as these are called below
    except (ImportError, AttributeError, TypeError):
        from json import JSONEncoder

        digested_by = JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=True)
        encode = JSONEncoder(ensure_ascii=False).encode
        return encode, digested_by.encode, encode
    return lambda value: "".join(shown(value, 0)), lambda value: "".join(digested(value, 0)), texts[0]


#: Return the value of a JSON text that is known to be one: what follows the value is not looked at. A number with a
#: point is a `decimal.Decimal`, as printed.
parsed: Final = _parser()
_ENCODERS: Final = _encoders()
#: Return a value as JSON text, as `json.dumps` with `ensure_ascii=False` does.
ENCODE: Final = _ENCODERS[0]
#: Return a value as JSON text for a digest: sorted, without spaces, in ASCII (see `tirerules.record.digest_of`).
CANONICAL: Final = _ENCODERS[1]
#: Return a text, which is no subclass of `str`, as `ENCODE` does.
QUOTED: Final = _ENCODERS[2]
