"""The OpenAPI 3.1 description of the service, with the project's own schemas in it, and a page of it for people.

A schema's parts become components, each under the name of its schema and its own (`decision.Reason`), so that parts of
one name in two schemas stay apart.
"""

from __future__ import annotations

import json
from html import escape

from tirerules import data
from tirerules._version import __version__
from tirerules.protocol import ANSWERS
from tirerules.serve.problems import TITLES
from tirerules.serve.routes import ROUTES

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, Final

    from tirerules.serve.routes import Route

__all__ = ["openapi", "page"]

_SCHEMAS: Final = ("case", "decision", "brief")
_PROBLEM: Final = "application/problem+json"
#: What a route may refuse a request with, by what it takes.
_REFUSALS: Final = {"case": (400, 413, 415, 422), "record": (400, 409, 413, 415, 422), "lines": (400, 413), "": ()}
_ALWAYS: Final = (500, 503, 504)
_WORD: Final = {"type": "string"}
_WORDS: Final = {"type": "array", "items": _WORD}


def openapi() -> dict[str, Any]:
    """Return the description."""
    components: dict[str, Any] = {}
    for name in _SCHEMAS:
        schema = json.loads((data.folder("schemas") / f"{name}.schema.json").read_text(encoding="utf-8"))
        defs = schema.pop("$defs", {})
        for part, said in {name: schema, **{f"{name}.{part}": each for part, each in defs.items()}}.items():
            kept = {key: value for key, value in said.items() if key not in ("$schema", "$id")}
            components[part] = _moved(kept, name)
    components["Problem"] = _problem()
    paths: dict[str, Any] = {}
    for route in ROUTES:
        paths.setdefault(route.path, {})[route.method.lower()] = _operation(route)
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "tirerules",
            "version": __version__,
            "summary": "May this injured tire be repaired, how, and up to what limit?",
            "description": "Not legal advice: check the law in force and the tire maker's policy. "
            "Only trained persons repair tires.",
            "license": {"name": "Apache-2.0", "identifier": "Apache-2.0"},
        },
        "paths": paths,
        "components": {"schemas": components},
    }


def _moved(schema: Any, name: str) -> Any:
    """Return a schema whose references lead to components."""
    if isinstance(schema, list):
        return [_moved(each, name) for each in schema]
    if not isinstance(schema, dict):
        return schema
    return {
        key: f"#/components/schemas/{name}.{value.removeprefix('#/$defs/')}" if key == "$ref" else _moved(value, name)
        for key, value in schema.items()
    }


def _problem() -> dict[str, Any]:
    each = {
        "type": "object",
        "properties": dict.fromkeys(("code", "path", "message", "hint"), _WORD),
        "required": ["code"],
    }
    properties = {**dict.fromkeys(("type", "title", "detail"), _WORD), "status": {"type": "integer"}}
    return {
        "type": "object",
        "description": "Problem details (RFC 9457).",
        "properties": {**properties, "problems": {"type": "array", "items": each}},
        "required": ["type", "title", "status"],
    }


def _operation(route: Route) -> dict[str, Any]:
    said: dict[str, Any] = {
        "summary": route.summary,
        "operationId": route.path.strip("/").replace(".", "-"),
        "responses": {
            **{str(status): _answer(route, status) for status in _statuses(route)},
            **{str(status): _refusal(status) for status in (*_REFUSALS[route.body], *_ALWAYS)},
        },
    }
    if route.path == "/reload":
        said["responses"]["403"] = _refusal(403)
        said["responses"]["400"] = _refusal(400)
    if route.answers == "decision":
        form = {"type": "string", "enum": [*ANSWERS], "default": "whole"}
        said["parameters"] = [{"name": "answer", "in": "query", "schema": form}]
    if route.body == "lines":
        said["requestBody"] = {
            "required": False,
            "content": {"application/x-ndjson": {"schema": {"description": "One message a line."}}},
        }
    elif route.body:
        body = (
            _ref("case") if route.body == "case" else {"type": "object", "description": "A decision, whole or brief."}
        )
        said["requestBody"] = {"required": True, "content": {"application/json": {"schema": body}}}
    return said


def _statuses(route: Route) -> tuple[int, ...]:
    return (200, 503) if route.path == "/ready" else (200,)


def _answer(route: Route, status: int) -> dict[str, Any]:
    kind = {"lines": "application/x-ndjson", "page": "text/html"}.get(route.answers, "application/json")
    lock = {"Tirerules-Lock": {"description": "SHA-256 of the lock of packs it rests on.", "schema": _WORD}}
    content = {kind: {"schema": _schema_of(route.answers)}}
    return {"description": "The answer." if status == 200 else "Not ready.", "headers": lock, "content": content}


def _ref(name: str) -> dict[str, Any]:
    return {"$ref": f"#/components/schemas/{name}"}


def _schema_of(answers: str) -> dict[str, Any]:
    limits = {"type": "object", "additionalProperties": _ref("decision.FactLimits")}
    flag = {"type": "boolean"}
    known: dict[str, dict[str, Any]] = {
        "decision": {"anyOf": [_ref("decision"), _ref("brief")]},
        "limits": _block(limits=limits, limits_method={"anyOf": [_WORD, {"type": "null"}]}),
        "questions": _block(verdict=_WORD, questions={"type": "array", "items": _ref("decision.Question")}),
        "replay": _block(same=flag, intact=flag, differences=_WORDS, beyond=_WORDS, engine=_WORD),
        "packs": _block(lock=_WORD, packs={"type": "object", "additionalProperties": _ref("decision.PackLock")}),
        "health": _block(status=_WORD),
        "ready": _block(ready=flag, packs={"type": "integer"}),
        "reload": _block(lock=_WORD, was=_WORD),
        "lines": _WORD,
        "page": _WORD,
    }
    return known.get(answers, {"type": "object"})


def _block(**properties: Any) -> dict[str, Any]:
    return {"type": "object", "properties": properties, "required": list(properties)}


def _refusal(status: int) -> dict[str, Any]:
    return {"description": TITLES[status], "content": {_PROBLEM: {"schema": _ref("Problem")}}}


def page(described: dict[str, Any]) -> str:
    """Return the description as one plain page of HTML, without scripts and styles."""
    rows = []
    for path, methods in described["paths"].items():
        for method, said in methods.items():
            answers = ", ".join(sorted(said["responses"]))
            takes = ", ".join(said.get("requestBody", {}).get("content", {}))
            rows.append(
                f"<tr><th scope=row><code>{method.upper()} {escape(path)}</code></th><td>{escape(said['summary'])}</td>"
                f"<td>{escape(takes)}</td><td>{answers}</td></tr>"
            )
    info = described["info"]
    title = f"tirerules {escape(info['version'])}"
    head = '<meta charset="utf-8"><meta name="viewport" content="width=device-width">'
    columns = "".join(f"<th scope=col>{each}</th>" for each in ("Request", "What it does", "Takes", "Answers"))
    return (
        f'<!doctype html><html lang="en"><head>{head}<title>{title}</title></head><body><main><h1>{title}</h1>'
        f"<p>{escape(info['summary'])} {escape(info['description'])}</p>"
        f'<p>For programs: <a href="/openapi.json">openapi.json</a> (OpenAPI 3.1).</p>'
        f"<table><caption>What is served</caption><thead><tr>{columns}</tr></thead>"
        f"<tbody>{''.join(rows)}</tbody></table>"
        "</main></body></html>"
    )
