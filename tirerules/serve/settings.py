"""How a service is run."""

from __future__ import annotations

from tirerules.values import Value

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Final

__all__ = ["LOOPBACK", "Settings"]

#: Names by which a machine calls itself.
LOOPBACK: Final = ("localhost", "127.0.0.1", "::1")


class Settings(Value):
    """Bounds and permissions of a service.

    `hosts` are the names by which it may be called (the Host header, which keeps a page elsewhere from reaching it by a
    name of its own); `origins` the pages elsewhere that may read answers, none where it is empty. `most_bytes` bounds a
    body, `most_listed` each list of a case, `most_seconds` the time of a request, `most_requests` how many are worked
    on at once.
    """

    hosts: tuple[str, ...] = LOOPBACK
    origins: tuple[str, ...] = ()
    most_bytes: int = 4_000_000
    most_seconds: float = 30.0
    most_requests: int = 200
    most_listed: int = 24  #: injuries, or earlier repairs, of one case
    watch: bool = False  #: whether changed pack files are read again by themselves
    log_cases: bool = False
