"""What the schemas are made of."""

from __future__ import annotations

from typing import Any, Final

__all__ = ["DATE", "DIGEST", "FORMAT", "SLUG", "VERDICTS", "Json", "block", "head", "listed", "one_of", "text"]

Json = dict[str, Any]
#: Bumped when a format changes so that older documents no longer validate; part of every `$id`.
FORMAT: Final = 1
DIGEST: Final = {"type": "string", "pattern": "^[0-9a-f]{64}$"}
DATE: Final[Json] = {
    "type": "string",
    "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$",
    "description": "A day as YYYY-MM-DD.",
    "examples": ["2026-11-25"],
}
SLUG: Final = "^[a-z][a-z0-9]*(-[a-z0-9]+)*$"
VERDICTS: Final = ["within-limits", "outside-limits", "undetermined"]


def block(properties: Json, required: tuple[str, ...] = (), **more: Any) -> Json:
    """Return the schema of a block of keys, closed to all others."""
    return {
        "type": "object",
        "properties": properties,
        "required": list(required),
        "additionalProperties": False,
        **more,
    }


def listed(items: Json, **more: Any) -> Json:
    """Return the schema of a list."""
    return {"type": "array", "items": items, **more}


def one_of(words: tuple[str, ...] | list[str], description: str = "") -> Json:
    """Return the schema of one of some words."""
    schema: Json = {"type": "string", "enum": list(words)}
    return {**schema, "description": description} if description else schema


def text(description: str, **more: Any) -> Json:
    """Return the schema of text that is not empty."""
    return {"type": "string", "minLength": 1, "description": description, **more}


def head(name: str, title: str, description: str) -> Json:
    """Return what every schema starts with; the format number is part of its id."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:tirerules:schema:{name}:{FORMAT}",
        "title": title,
        "description": description,
    }
