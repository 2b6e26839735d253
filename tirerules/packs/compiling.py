"""What `tirerules.packs.store` keeps of packs, made and read back; everything that takes long to import is here."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

from tirerules.packs.building import rebuild_pack
from tirerules.packs.pack import Pack

__all__ = ["compiled", "unpacked"]


def compiled(held: bytes, file: str) -> list[str]:
    """Return the head, the rules and the document of a pack, each a line of JSON.

    Raises PackError, and ForeignPackError for a pack that asks for another version of the library.
    """
    from tirerules.packs.library import read_whole  # and this because packs that were kept are read without YAML

    document, pack = read_whole(held, file)
    head = [pack.id, str(pack.version), pack.kind, pack.title, document.data["engine"], pack.sha256]
    lines = [example.line for example in pack.examples]
    return [json.dumps(head), "null", _text([document.data, lines])]


def unpacked(text: str, file: str, sha256: str) -> Pack:
    """Return the pack of a document as `compiled` keeps it."""
    data, example_lines = json.loads(text, parse_float=Decimal)
    return rebuild_pack(data, example_lines, file, sha256)


def _text(value: Any) -> str:
    """Return plain data as JSON; a Decimal is written as it is, which the `json` module cannot do."""
    if isinstance(value, dict):
        return "{" + ",".join(f"{json.dumps(key)}:{_text(each)}" for key, each in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ",".join(map(_text, value)) + "]"
    return str(value) if isinstance(value, Decimal) else json.dumps(value)
