"""Problem details for HTTP APIs (RFC 9457): what is wrong with a request, with place and cure of each problem."""

from __future__ import annotations

from starlette.responses import Response

from tirerules.errors import LockError, ProblemsError, TirerulesError, UnknownJurisdictionError
from tirerules.plain_json import ENCODE

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from typing import Any

    from starlette.requests import Request

    from tirerules.errors import Problem

__all__ = ["TITLES", "Refusal", "of_error", "problem", "refused"]

#: Status -> what is said of it, in the words of the field `title`.
TITLES = {
    400: "The request cannot be read",
    403: "This may not be asked from here",
    404: "Nothing is served there",
    405: "This method is not served there",
    409: "A pack that the record names is not at hand",
    413: "The body is too large",
    415: "The body must be JSON",
    422: "The case cannot be decided as it stands",
    500: "A defect of the library",
    503: "Too many requests at once",
    504: "The request took too long",
}


class Refusal(Exception):  # noqa: N818  # it is answered, not raised on
    """A request that is refused: its status, and what is wrong."""

    def __init__(self, status: int, detail: str = "", problems: Sequence[Problem] = ()) -> None:
        super().__init__(detail)
        self.status, self.detail, self.problems = status, detail, problems


def problem(
    status: int, detail: str = "", problems: Sequence[Problem] = (), headers: Mapping[str, str] | None = None
) -> Response:
    """Return the answer to a request that is refused."""
    said: dict[str, Any] = {"type": "about:blank", "title": TITLES.get(status, "The request failed"), "status": status}
    if detail:
        said["detail"] = detail
    if problems:
        said["problems"] = [
            {key: text for key in ("code", "path", "message", "hint") if (text := getattr(each, key))}
            for each in problems
        ]
    return Response(ENCODE(said), status, headers, media_type="application/problem+json")


def of_error(error: TirerulesError) -> Response:
    """Return the answer to a request on which the library itself refused to answer."""
    if isinstance(error, LockError):
        return problem(409, str(error))
    if isinstance(error, ProblemsError):
        unread = error.problems[0].code.startswith("json-")
        return problem(400 if unread else 422, error.problems[0].message, error.problems)
    if isinstance(error, UnknownJurisdictionError):
        return problem(422, str(error))
    return problem(400, str(error))


async def refused(request: Request, error: Exception) -> Response:
    """Answer an exception by which a route ended."""
    if isinstance(error, Refusal):
        return problem(error.status, error.detail, error.problems)
    if isinstance(error, TirerulesError):
        return of_error(error)
    status = getattr(error, "status_code", 500)
    headers = {key: value for key, value in (getattr(error, "headers", None) or {}).items() if key.lower() == "allow"}
    return problem(status, "" if status != 500 else "report it, with the request", headers=headers)
