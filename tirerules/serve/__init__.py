"""An HTTP service on one rulebook (extra ``serve``): the same answers as everywhere else, as JSON over HTTP/1.1.

`application` makes an ASGI application, `tirerules serve` runs it. `routes` is the one table of what is served,
`holding` the rulebook and how it is replaced, `bounds` what keeps one request from costing others, `problems` what is
said of a bad one (RFC 9457), `openapi` the description that a program reads. There are no accounts and nothing is
stored.
"""

from __future__ import annotations

from tirerules.serve.application import application
from tirerules.serve.settings import Settings

__all__ = ["Settings", "application"]
