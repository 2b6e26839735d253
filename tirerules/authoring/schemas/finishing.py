"""The last steps of a schema: named parts, one document, and forms that tools in other languages read.

A schema is built as one tree, since parts of it are used in several schemas. A part that is to have a name of its own
is marked (`part`), and `finished` moves it to `$defs`, where it stands once. INVARIANT: a finished schema refers to
nothing outside itself and accepts what the tree accepted.
"""

from __future__ import annotations

from typing import Any, Final

from tirerules.authoring.schemas.parts import PART, Json

__all__ = ["finished", "opened"]

#: Keywords whose value is a schema, a list of schemas, or schemas by name.
_ONE: Final = ("items", "additionalProperties", "propertyNames", "if", "then", "else", "not")
_LISTS: Final = ("anyOf", "allOf", "oneOf")
_BY_NAME: Final = ("properties", "$defs")
#: Keywords that speak of values of one type alone. Some checkers refuse them where the type is not said.
_TYPES: Final = {
    "object": {"properties", "required", "additionalProperties", "minProperties", "propertyNames"},
    "array": {"items", "minItems", "uniqueItems"},
    "string": {"pattern", "minLength", "format"},
}


def finished(schema: Json) -> Json:
    """Return a schema with its marked parts under `$defs`, every type said, and no type that is one of several."""
    named: dict[str, Json] = {}
    body = _step(schema, named)
    defs = {**named, **body.pop("$defs", {})}
    return {**body, "$defs": dict(sorted(defs.items()))} if defs else body


def opened(schema: Json) -> Json:
    """Return a part to which a later version may add keys and words: what is not known is passed over."""
    said = _each(schema, opened)
    if said.get("additionalProperties") is False:
        del said["additionalProperties"]
    if all(isinstance(word, str) or word is None for word in said.get("enum", ())) and "enum" in said:
        words = [word for word in said.pop("enum") if word is not None]
        said.pop("type", None)
        others = [{"type": "string"}] if len(words) == len(schema["enum"]) else [{"type": "string"}, {"type": "null"}]
        said["anyOf"] = [{"type": "string", "enum": words}, *others]
    return said


def _each(schema: Json, change: Any) -> Json:
    """Return a schema with `change` made to each of its own parts."""
    said = dict(schema)
    for keyword, value in schema.items():
        if keyword in _ONE and isinstance(value, dict):
            said[keyword] = change(value)
        elif keyword in _LISTS:
            said[keyword] = [change(each) for each in value]
        elif keyword in _BY_NAME:
            said[keyword] = {name: change(each) for name, each in value.items()}
    return said


def _step(schema: Json, named: dict[str, Json]) -> Json:
    said = _each(schema, lambda each: _step(each, named))
    name = said.pop(PART, None)
    kinds = said.get("type")
    others = list(kinds) if isinstance(kinds, list) else []
    if "null" in others:
        others.remove("null")
        said["type"] = others[0] if len(others) == 1 else others
    said = _typed(said)
    described: Json = {keyword: said[keyword] for keyword in ("title", "description") if keyword in said}
    bare: Json = {keyword: value for keyword, value in said.items() if keyword not in described}
    nullable = isinstance(kinds, list) and "null" in kinds
    if name is not None:
        found = bare if nullable else said
        if named.setdefault(name, found) != found:
            raise ValueError(f"two parts of a schema are named {name}")
        bare = said = {"$ref": f"#/$defs/{name}"}
    if nullable:
        return {"anyOf": [bare, {"type": "null"}], **described}
    if isinstance(kinds, list):
        inner = {keyword: value for keyword, value in bare.items() if keyword != "type"}
        return {"anyOf": [{"type": kind, **inner} for kind in kinds], **described}
    return said


def _typed(schema: Json) -> Json:
    if "type" in schema or "$ref" in schema or "enum" in schema or "const" in schema:
        return schema
    kinds = [kind for kind, keywords in _TYPES.items() if keywords & schema.keys()]
    return {"type": kinds[0], **schema} if len(kinds) == 1 else schema
