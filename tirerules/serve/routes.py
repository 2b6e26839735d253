"""What is served: the one table of routes, each with its method, what it takes and what it answers.

`ROUTES` is read by the application and by its OpenAPI description. Each route is a function from a request and the
rulebook that is held to a response.
"""

from __future__ import annotations

import asyncio

from starlette.responses import Response, StreamingResponse

from tirerules import protocol
from tirerules.plain_json import ENCODE
from tirerules.record import parse
from tirerules.record.decisions import limits_to_json, question_to_json
from tirerules.record.words import vocabulary_to_json
from tirerules.serve.bounds import body_of
from tirerules.serve.problems import Refusal
from tirerules.serve.settings import LOOPBACK
from tirerules.values import Value

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Awaitable, Callable
    from typing import Any, Final

    from starlette.requests import Request

    from tirerules.serve.holding import Held

__all__ = ["LOCK", "ROUTES", "Route"]

#: The header by which an answer names the packs that it rests on.
LOCK: Final = "Tirerules-Lock"
_JSON: Final = "application/json"
_LINES: Final = "application/x-ndjson"
#: How many lines are answered between two looks for other requests.
_TURN: Final = 8


class Route(Value):
    """One row: path, method, what answers it, what it says, and which schema body and answer have (see `openapi`)."""

    path: str
    method: str
    answer: Callable[[Request, Held], Awaitable[Response]]
    summary: str
    body: str = ""  #: case, record, lines, or nothing
    answers: str = ""


def _json(said: Any, held: Held, status: int = 200) -> Response:
    return _text(ENCODE(said), held, status)


def _text(text: str, held: Held, status: int = 200) -> Response:
    return Response(text, status, {LOCK: held.sha256}, media_type=_JSON)


async def _document(request: Request) -> Any:
    """Return the JSON that a request holds. Raises Refusal, CaseError."""
    kind = request.headers.get("content-type", _JSON).partition(";")[0].strip().lower()
    if kind != _JSON:
        raise Refusal(415, f"send {_JSON}, not {kind}")
    try:
        text = (await body_of(request, request.app.state.settings.most_bytes)).decode("utf-8")
    except UnicodeDecodeError:
        raise Refusal(400, "the body is no UTF-8 text") from None
    said = parse(text)
    protocol.held_to(said, request.app.state.settings.most_listed)
    request.app.state.log_case(said)
    return said


async def _decide(request: Request, held: Held) -> Response:
    wanted = request.query_params.get("answer", "whole")
    if wanted not in protocol.ANSWERS:
        raise Refusal(400, f"answer={wanted} is none of {', '.join(protocol.ANSWERS)}")
    return _text(protocol.text_of(held.rulebook.decide(await _document(request)), wanted), held)


async def _limits(request: Request, held: Held) -> Response:
    decision = held.rulebook.decide(await _document(request))
    return _json({"limits": limits_to_json(decision.limits), "limits_method": decision.limits_method}, held)


async def _questions(request: Request, held: Held) -> Response:
    decision = held.rulebook.decide(await _document(request))
    asked = [question_to_json(each) for each in decision.questions]
    return _json({"verdict": str(decision.verdict), "questions": asked}, held)


async def _replay(request: Request, held: Held) -> Response:
    from tirerules.replaying import replay

    said = await _document(request)
    protocol.held_to(said.get("case") if isinstance(said, dict) else None, request.app.state.settings.most_listed)
    found = await asyncio.to_thread(replay, said, *request.app.state.places)
    return _json(
        {
            "same": found.same,
            "differences": list(found.differences),
            "intact": found.intact,
            "engine": found.engine,
            "beyond": list(found.beyond),
        },
        held,
    )


async def _lines(request: Request, held: Held) -> Response:
    """Answer each line as `protocol` says, in turn with other requests."""
    settings = request.app.state.settings
    body, most = await body_of(request, settings.most_bytes), settings.most_listed

    async def answers() -> AsyncIterator[bytes]:
        for number, line in enumerate(body.split(b"\n"), start=1):
            if line.strip():
                yield protocol.reply(held.rulebook, line.rstrip(b"\r"), number, most).text.encode("utf-8") + b"\n"
            if number % _TURN == 0:
                await asyncio.sleep(0)

    return StreamingResponse(answers(), 200, {LOCK: held.sha256}, media_type=_LINES)


async def _facts(request: Request, held: Held) -> Response:
    return _json(vocabulary_to_json(), held)


async def _packs(request: Request, held: Held) -> Response:
    return _json({"lock": held.sha256, "packs": held.lock}, held)


async def _coverage(request: Request, held: Held) -> Response:
    from tirerules.authoring.coverage import coverage_to_json

    return _json(await asyncio.to_thread(coverage_to_json, held.rulebook), held)


async def _health(request: Request, held: Held) -> Response:
    return _json({"status": "up"}, held)


async def _ready(request: Request, held: Held) -> Response:
    ready = request.app.state.ready
    return _json({"ready": ready, "packs": len(held.lock)}, held, 200 if ready else 503)


async def _reload(request: Request, held: Held) -> Response:
    if request.client is None or request.client.host not in LOOPBACK:
        raise Refusal(403, "packs are read again at the word of this machine alone")
    again = await request.app.state.holder.reload()
    return _json({"lock": again.sha256, "was": held.sha256}, again)


async def _openapi(request: Request, held: Held) -> Response:
    return _json(request.app.state.openapi, held)


async def _page(request: Request, held: Held) -> Response:
    from tirerules.serve.openapi import page

    policy = {"Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'; base-uri 'none'"}
    return Response(page(request.app.state.openapi), 200, {LOCK: held.sha256, **policy}, media_type="text/html")


ROUTES: Final = (
    Route("/decide", "POST", _decide, "Decide a case.", "case", "decision"),
    Route("/limits", "POST", _limits, "The strictest limit on every fact, with its ladder.", "case", "limits"),
    Route("/questions", "POST", _questions, "What is still to be asked, most decisive first.", "case", "questions"),
    Route("/lines", "POST", _lines, "Answer messages, one a line, as the protocol of lines says.", "lines", "lines"),
    Route("/replay", "POST", _replay, "Decide a record again by the packs it names, and compare.", "record", "replay"),
    Route("/facts", "GET", _facts, "Every fact and word of a case.", "", "facts"),
    Route("/packs", "GET", _packs, "Version and SHA-256 of every pack.", "", "packs"),
    Route("/coverage", "GET", _coverage, "What the packs cover, and what is missing.", "", "coverage"),
    Route("/health", "GET", _health, "Whether the service runs.", "", "health"),
    Route("/ready", "GET", _ready, "Whether it takes requests; not while it stops.", "", "ready"),
    Route("/reload", "POST", _reload, "Read the packs again; from this machine alone.", "", "reload"),
    Route("/openapi.json", "GET", _openapi, "This description, for programs.", "", "openapi"),
    Route("/docs", "GET", _page, "This description, for people.", "", "page"),
)
