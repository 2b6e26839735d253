"""What the schemas are made of."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

__all__ = [
    "DATE",
    "DIGEST",
    "FORMAT",
    "PACKS",
    "PART",
    "SLUG",
    "VERDICTS",
    "Json",
    "advice",
    "block",
    "head",
    "listed",
    "one_of",
    "open_block",
    "open_words",
    "part",
    "partial",
    "text",
    "titled",
    "unprompted",
]

Json = dict[str, Any]
#: The mark of a part that is to have a name (see `tirerules.authoring.schemas.finishing`); no keyword of JSON Schema.
PART: Final = "$part"
#: Bumped when a format changes so that older documents no longer validate; part of every `$id`.
FORMAT: Final = 1
DIGEST: Final = {"type": "string", "pattern": "^[0-9a-f]{64}$"}
DATE: Final[Json] = {
    "type": "string",
    "format": "date",
    "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$",
    "description": "A day as YYYY-MM-DD.",
    "examples": ["2026-11-25"],
}
SLUG: Final = "^[a-z][a-z0-9]*(-[a-z0-9]+)*$"
VERDICTS: Final = ["within-limits", "outside-limits", "undetermined"]


def block(properties: Json, required: tuple[str, ...] = (), name: str = "", **more: Any) -> Json:
    """Return the schema of a block of keys, closed to all others; `name` is what the part is to be called."""
    return {**open_block(properties, required, name), "additionalProperties": False, **more}


def open_block(properties: Json, required: tuple[str, ...] = (), name: str = "") -> Json:
    """Return the schema of a block of keys that a later minor version may add to: what is not known is passed over."""
    marked = {PART: name} if name else {}
    return {**marked, "type": "object", "properties": properties, "required": list(required)}


def open_words(words: Iterable[str], description: str = "") -> Json:
    """Return the schema of a word, the known ones named, of which a later minor version may use others."""
    schema: Json = {"anyOf": [{"type": "string", "enum": list(words)}, {"type": "string"}]}
    return {**schema, "description": description} if description else schema


#: The packs of a lock, by name.
PACKS: Final[Json] = {
    "type": "object",
    "additionalProperties": block(
        {
            "version": {"type": "string"},
            "sha256": DIGEST,
            "replaces": {
                "type": "boolean",
                "description": "Whether the caller put it in place of what the library ships; false where left out.",
            },
        },
        ("version", "sha256"),
        name="PackLock",
    ),
}


def part(name: str, schema: Json) -> Json:
    """Mark a part of a schema by the name that it is to have."""
    return {PART: name, **schema}


def listed(items: Json, **more: Any) -> Json:
    """Return the schema of a list."""
    return {"type": "array", "items": items, **more}


def one_of(words: Iterable[str], description: str = "") -> Json:
    """Return the schema of one of some words; a mapping explains each to editors (JSON Schema ignores that keyword)."""
    schema: Json = {"type": "string", "enum": list(words)}
    if isinstance(words, Mapping):
        schema["enumDescriptions"] = list(words.values())
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


def unprompted(schema: Json, description: str) -> Json:
    """Return `schema` under a description, so that completing its key writes no value.

    An editor writes the only example of a key's schema behind the key. For a day or a figure of a law that would be
    evidence that nobody gathered. An `anyOf` that demands nothing makes it stop behind the colon.
    """
    inner = {keyword: value for keyword, value in schema.items() if keyword != "description"}
    return {"description": description, "allOf": [inner], "anyOf": [{}]}


def advice(schema: Json) -> Json:
    """Return what a schema tells a person who types, without anything that it demands."""
    told: Json = {keyword: schema[keyword] for keyword in ("description", "examples") if keyword in schema}
    if "enum" in schema:
        told["examples"] = [word for word in schema["enum"] if word is not None]
    elif "boolean" in schema.get("type", ()):
        told["examples"] = [True, False]
    elif "integer" in schema.get("type", ()):
        told["examples"] = [0, 1, 2]
    if "items" in schema:
        told["items"] = advice(schema["items"])
    if "properties" in schema:
        told["properties"] = {key: advice(part) for key, part in schema["properties"].items()}
    return told


def partial(schema: Json) -> Json:
    """Return the schema of a part of what `schema` describes.

    It is closed to the same words and requires no key. Nothing in it is null: what is not known is left out.
    """
    part: Json = {keyword: said for keyword, said in schema.items() if not keyword.startswith("$")}
    if "enum" in schema:
        part["enum"] = [word for word in schema["enum"] if word is not None]
    if isinstance(schema.get("type"), list):
        (part["type"],) = (kind for kind in schema["type"] if kind != "null")
    if "items" in schema:
        part["items"] = partial(schema["items"])
    if "properties" in schema:
        part["required"] = []
        part["properties"] = {key: partial(each) for key, each in schema["properties"].items()}
    return part


def titled(schema: Any, title: str = "") -> Any:
    """Return `schema` with every key's own name as the title of its part, where it has none.

    Without it, editors head every explanation with the title of the whole. A part that is a bare reference or a single
    word stays as it is: it is explained where it is defined or chosen.
    """
    if isinstance(schema, list):
        return [titled(part) for part in schema]
    if not isinstance(schema, dict):
        return schema
    bare = set(schema) <= {"$ref", "const"}
    head = {"title": title} if title and not bare and "title" not in schema else {}
    return {
        **head,
        **{
            keyword: {key: titled(each, key) for key, each in part.items()}
            if keyword in ("properties", "$defs")
            else titled(part)
            for keyword, part in schema.items()
        },
    }
