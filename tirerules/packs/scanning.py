"""JSON that this library wrote, read without `json`, whose import takes longer than reading all packs: it imports `re`.

Python's own scanner of JSON is a private module, so it may change or be missing; then `json` is imported after all.
"""

from __future__ import annotations

TYPE_CHECKING = False  # typing's own constant would import typing
if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any, Final

__all__ = ["parsed"]


class _Settings:
    """What the scanner is told, which is what `json.loads` tells it."""

    strict = True
    object_hook = object_pairs_hook = None
    parse_float = parse_constant = float
    parse_int = int


def _parser() -> Callable[[str], Any]:
    try:
        from _json import make_scanner

        scan = make_scanner(_Settings)  # type: ignore[arg-type]  # it reads the attributes of anything
    except (ImportError, AttributeError, TypeError):
        from json import loads

        return loads
    return lambda text: scan(text, 0)[0]


#: Return the value of a JSON text that is known to be one: what follows the value is not looked at.
parsed: Final = _parser()
