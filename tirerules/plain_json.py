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
    Scan = Callable[[str, int], tuple[Any, int]]

__all__ = ["CANONICAL", "ENCODE", "QUOTED", "parsed", "scanner"]


def _exactly(text: str) -> Decimal:
    from decimal import Decimal  # here because few texts hold a number with a point

    return Decimal(text)


def scanner(
    pairs: Callable[[list[tuple[str, Any]]], Any] | None,
    constant: Callable[[str], Any],
    real: Callable[[str], Any] = float,
) -> Scan:
    """Return what reads one JSON value from a place of a text on, and says where it ends.

    `pairs` makes an object of its members, `constant` a value of NaN and the infinities, `real` one of a number with a
    point. Where there is no value, what is returned raises StopIteration, ValueError or RecursionError.
    """

    class Settings:  # what the scanner is told, beside these what `json.loads` tells it
        strict, object_hook, object_pairs_hook, parse_int = True, None, pairs and staticmethod(pairs), int
        parse_constant, parse_float = staticmethod(constant), staticmethod(real)

    try:
        from _json import make_scanner

        scan: Scan = make_scanner(Settings)  # type: ignore[arg-type]  # it reads the attributes of anything
    except (ImportError, AttributeError, TypeError):
        from json import JSONDecoder

        decoder: Any = JSONDecoder(object_pairs_hook=pairs, parse_constant=constant, parse_float=real)
        scan = decoder.scan_once  # made by its __init__
    return scan


def _parser() -> Callable[[str], Any]:
    scan = scanner(None, float, _exactly)
    return lambda text: scan(text, 0)[0]


def _refuse(value: object) -> Any:
    raise TypeError(f"a {type(value).__name__} has no form in JSON")


def _encoders() -> tuple[Encode, Encode]:
    try:
        import _json

        texts = (_json.encode_basestring, _json.encode_basestring_ascii)
        shown = _json.make_encoder(None, _refuse, texts[0], None, ": ", ", ", False, False, False)
        digested = _json.make_encoder(None, _refuse, texts[1], None, ":", ",", True, False, False)
        shown("", 0)  # as these are called below
    except (ImportError, AttributeError, TypeError):
        from json import JSONEncoder

        digested_by = JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=True)
        return JSONEncoder(ensure_ascii=False).encode, digested_by.encode
    return lambda value: "".join(shown(value, 0)), lambda value: "".join(digested(value, 0))


def _quoter() -> Callable[[str], str]:
    try:
        from _json import encode_basestring
    except ImportError:
        return ENCODE
    return encode_basestring


#: Return the value of a JSON text that is known to be one: what follows the value is not looked at. A number with a
#: point is a `decimal.Decimal`, as printed.
parsed: Final = _parser()
_ENCODERS: Final = _encoders()
#: Return a value as JSON text, as `json.dumps` with `ensure_ascii=False` does.
ENCODE: Final = _ENCODERS[0]
#: Return a value as JSON text for a digest: sorted, without spaces, in ASCII (see `tirerules.record.digest_of`).
CANONICAL: Final = _ENCODERS[1]
#: Return a text, which is no subclass of `str`, as `ENCODE` does.
QUOTED: Final = _quoter()
