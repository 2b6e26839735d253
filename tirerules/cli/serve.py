"""`tirerules serve`: the HTTP service (extra `serve`)."""

from __future__ import annotations

from tirerules.cli import asking
from tirerules.cli.streams import tell
from tirerules.errors import MissingDataError

TYPE_CHECKING = False
if TYPE_CHECKING:
    import argparse
    from typing import Any

__all__ = ["configure"]


def configure(commands: Any) -> None:
    """Add the subcommand."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "serve",
        help="answer over HTTP",
        description="Answer cases over HTTP, to this machine alone unless another address is named. Nothing is stored.",
        epilog="Ends on SIGINT or SIGTERM, once the requests that are under way were answered. Needs the extra: "
        "pip install 'tirerules[serve]'.",
    )
    parser.add_argument("--address", default="127.0.0.1", help="the address to listen on (default: 127.0.0.1)")
    parser.add_argument("--port", type=int, default=8765, help="(default: 8765)")
    parser.add_argument(
        "--host", action="append", default=[], metavar="NAME", help="a name by which it may be called; repeatable"
    )
    parser.add_argument(
        "--origin",
        action="append",
        default=[],
        metavar="URL",
        help="a page elsewhere that may read answers; repeatable",
    )
    parser.add_argument("--watch", action="store_true", help="read packs of your own again when their files change")
    parser.add_argument(
        "--log-cases", action="store_true", help="log every case; without it nothing of a case is logged"
    )
    asking.add_rulebook_flags(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Serve until told to stop. Raises TirerulesError where the packs cannot be loaded or the extra is missing."""
    try:
        import uvicorn

        from tirerules.serve import Settings, application
        from tirerules.serve.settings import LOOPBACK
    except ImportError as error:
        raise MissingDataError(f"{error.name} is not installed -- pip install 'tirerules[serve]'") from None
    named = [options.address, *options.host] if options.address not in ("0.0.0.0", "::") else options.host
    settings = Settings(
        hosts=tuple(dict.fromkeys([*LOOPBACK, *named])),
        origins=tuple(options.origin),
        watch=options.watch,
        log_cases=options.log_cases,
    )
    app = application(lambda: asking.rulebook_of(options), settings, tuple(options.packs))
    tell(f"tirerules: http://{options.address}:{options.port} -- stop with Ctrl+C")
    uvicorn.run(
        app,
        host=options.address,
        port=options.port,
        log_level="info",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=int(settings.most_seconds),
    )
    return 0
