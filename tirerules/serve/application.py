"""The ASGI application: routes, bounds, and the rulebook that is held."""

from __future__ import annotations

import asyncio
import logging
from contextlib import asynccontextmanager, suppress
from functools import partial

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.cors import CORSMiddleware
from starlette.middleware.trustedhost import TrustedHostMiddleware
from starlette.routing import Route

from tirerules.errors import TirerulesError
from tirerules.plain_json import ENCODE
from tirerules.serve.bounds import Bounds
from tirerules.serve.holding import Holder
from tirerules.serve.openapi import openapi
from tirerules.serve.problems import Refusal, refused
from tirerules.serve.routes import LOCK, ROUTES
from tirerules.serve.settings import Settings

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Awaitable, Callable, Sequence
    from typing import Any

    from starlette.requests import Request
    from starlette.responses import Response

    from tirerules.rulebook import Rulebook

__all__ = ["application"]

_LOG = logging.getLogger("tirerules.serve")


def application(
    load: Callable[[], Rulebook], settings: Settings | None = None, places: Sequence[str] = ()
) -> Starlette:
    """Return the service as an ASGI application.

    `load` gives its rulebook, now and whenever it is reloaded; `places` are the files and folders of the caller's own
    packs, which are watched and in which a replay looks. Raises as `load` does.
    """
    settings = settings or Settings()
    holder = Holder(load, places)

    @asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        watching = asyncio.create_task(holder.watch()) if settings.watch else None
        app.state.ready = True
        yield
        app.state.ready = False
        if watching is not None:
            watching.cancel()
            with suppress(asyncio.CancelledError):
                await watching

    def handled(answer: Callable[..., Awaitable[Response]]) -> Callable[[Request], Awaitable[Response]]:
        async def handle(request: Request) -> Response:
            return await answer(request, holder.held)

        return handle

    middleware = [Middleware(TrustedHostMiddleware, allowed_hosts=[*settings.hosts], www_redirect=False)]
    if settings.origins:
        middleware.append(
            Middleware(
                CORSMiddleware,
                allow_origins=[*settings.origins],
                allow_methods=["GET", "POST"],
                allow_headers=["Content-Type"],
                expose_headers=[LOCK],
            )
        )
    middleware.append(Middleware(Bounds, settings=settings))
    app = Starlette(
        routes=[Route(each.path, handled(each.answer), methods=[each.method]) for each in ROUTES],
        middleware=middleware,
        exception_handlers=dict.fromkeys((HTTPException, Refusal, TirerulesError, Exception), refused),
        lifespan=lifespan,
    )
    app.state.ready, app.state.settings, app.state.holder, app.state.places = True, settings, holder, tuple(places)
    app.state.openapi = openapi()
    app.state.log_case = partial(_log, settings.log_cases)
    return app


def _log(wanted: bool, said: Any) -> None:
    """Log a case, where that was asked for; otherwise nothing of a case is ever logged."""
    if wanted:
        _LOG.info("case %s", ENCODE(said))
