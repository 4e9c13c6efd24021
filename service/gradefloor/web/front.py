"""What is settled before any route is looked up: dangerous paths, over-long addresses, HEAD."""

import re
from typing import Final

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from gradefloor.web.problems import ProblemError

MAX_ADDRESS: Final = 8 * 1024
# Decoded before routing, these would lead to another endpoint than the one they seem to name.
_BAD_PATH: Final = re.compile(rb"(?i)%2f|%5c|%00|\\|/(\.|%2e){1,2}(/|$)|//|[\x80-\xff]")


class Front:
    """Wraps the application; answers what must not reach it."""

    def __init__(self, app: ASGIApp, open_path: str, origins: frozenset[str]) -> None:
        self.app = app
        self.open_path = open_path
        self.origins = origins

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        if scope["path"] == self.open_path and scope["method"] in {"GET", "HEAD"}:
            send = self._readable(scope, send)
        raw_path: bytes = (scope.get("raw_path") or scope["path"].encode()).partition(b"?")[0]
        if len(raw_path) + len(scope["query_string"]) > MAX_ADDRESS:
            await ProblemError("address_too_long").response()(scope, receive, send)
        elif _BAD_PATH.search(raw_path):
            await ProblemError("bad_path").response()(scope, receive, send)
        elif scope["method"] == "HEAD":
            await self.app({**scope, "method": "GET"}, receive, _without_body(send))
        else:
            await self.app(scope, receive, send)

    def _readable(self, scope: Scope, send: Send) -> Send:
        """The same answer, readable by the pages of a named origin; never with credentials."""
        origin = next((value.decode("latin-1") for name, value in scope["headers"] if name == b"origin"), "")

        async def send_readable(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = [*message["headers"], (b"vary", b"Origin")]
                if origin in self.origins:
                    headers.append((b"access-control-allow-origin", origin.encode("latin-1")))
                message = {**message, "headers": headers}
            await send(message)

        return send_readable


def _without_body(send: Send) -> Send:
    """The same status and headers, the length among them, and no bytes."""

    async def send_head(message: Message) -> None:
        if message["type"] == "http.response.body":
            message = {**message, "body": b""}
        await send(message)

    return send_head
