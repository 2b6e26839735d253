"""What keeps one request from costing others: bounds on how many run at once, on time, and on the size of a body."""

from __future__ import annotations

import asyncio

from tirerules.serve.problems import Refusal, problem

TYPE_CHECKING = False
if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.types import ASGIApp, Receive, Scope, Send

    from tirerules.serve.settings import Settings

__all__ = ["Bounds", "body_of"]


class Bounds:
    """ASGI middleware: at most so many requests at once, each for at most so long. Health is always answered."""

    ALWAYS = ("/health", "/ready")

    def __init__(self, app: ASGIApp, settings: Settings) -> None:
        self._app, self._settings, self._running = app, settings, 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] != "http" or scope["path"] in self.ALWAYS:
            await self._app(scope, receive, send)
            return
        if self._running >= self._settings.most_requests:
            await problem(503, "try again in a second", headers={"Retry-After": "1"})(scope, receive, send)
            return
        self._running += 1
        started = False

        async def sending(message: object) -> None:
            nonlocal started
            started = True
            await send(message)  # type: ignore[arg-type]  # a message of ASGI, passed on as it came

        try:
            async with asyncio.timeout(self._settings.most_seconds):
                await self._app(scope, receive, sending)
        except TimeoutError:
            if not started:
                await problem(504, f"it may take {self._settings.most_seconds:g} seconds")(scope, receive, send)
        finally:
            self._running -= 1


async def body_of(request: Request, most: int) -> bytes:
    """Return the body of a request. Raises Refusal where it is larger than `most` bytes, before all of it was read."""
    declared = request.headers.get("content-length", "")
    if declared.isdigit() and int(declared) > most:
        raise Refusal(413, f"a body may have {most} bytes")
    pieces, size = [], 0
    async for piece in request.stream():
        size += len(piece)
        if size > most:
            raise Refusal(413, f"a body may have {most} bytes")
        pieces.append(piece)
    return b"".join(pieces)
