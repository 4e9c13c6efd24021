"""Calls that are to go away: since when, until when they stay, and where it is told what to use instead.

Told in the contract and in every answer of such a call: RFC 9745 (`Deprecation`), RFC 8594 (`Sunset`).
"""

from collections.abc import Callable, Collection, Coroutine
from dataclasses import dataclass
from datetime import datetime, timedelta
from email.utils import format_datetime
from typing import Any, Final

from starlette.requests import Request
from starlette.responses import Response

SHORTEST_NOTICE: Final = timedelta(days=180)

Handler = Callable[[Request], Coroutine[Any, Any, Response]]


@dataclass(frozen=True, slots=True)
class Deprecated:
    """One call that is to go away; moments in UTC, `see` the address of a page about it."""

    since: datetime
    sunset: datetime
    see: str

    def __post_init__(self) -> None:
        if self.since.utcoffset() != timedelta() or self.sunset.utcoffset() != timedelta():
            raise ValueError("both moments of a deprecation are in UTC")
        if self.sunset - self.since < SHORTEST_NOTICE:
            raise ValueError(f"a deprecated call stays at least {SHORTEST_NOTICE.days} days")

    def headers(self) -> dict[str, str]:
        """What every answer of the call says: a structured date (RFC 9651), an HTTP date, a link."""
        return {
            "Deprecation": f"@{int(self.since.timestamp())}",
            "Sunset": format_datetime(self.sunset, usegmt=True),
            "Link": f'<{self.see}>; rel="deprecation"; type="text/html"',
        }


# By operation id. Nothing is to go away at present.
DEPRECATED: Final[dict[str, Deprecated]] = {}


def check_known(operation_ids: Collection[str | None]) -> None:
    """ValueError if a call is to go away that is none."""
    if unknown := sorted(DEPRECATED.keys() - set(operation_ids)):
        raise ValueError(f"deprecated, but no operation: {', '.join(unknown)}")


def announced(operation_id: str | None, handle: Handler) -> Handler:
    """The same handler, whose answers, problems among them, say that the call is to go away, if it is."""
    told = DEPRECATED.get(operation_id or "")
    if told is None:
        return handle
    headers = told.headers()

    async def handle_and_tell(request: Request) -> Response:
        response = await handle(request)
        response.headers.update(headers)
        return response

    return handle_and_tell
