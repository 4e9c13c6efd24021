"""What is settled around every request: who asks, is there room, bad paths, HEAD, headers, the log."""

import re
import secrets
from collections.abc import Mapping
from contextlib import AbstractContextManager
from types import MappingProxyType
from typing import Any, Final, Protocol

from starlette.requests import ClientDisconnect
from starlette.routing import Route
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from gradefloor.web import access
from gradefloor.web.access import Caller, Left, Quotas, scope_of
from gradefloor.web.journal import Record, record
from gradefloor.web.problems import ProblemError
from gradefloor.web.service import Service
from gradefloor.web.telemetry import Telemetry

MAX_ADDRESS: Final = 8 * 1024
# Decoded before routing, these would lead to another endpoint than the one they seem to name.
_BAD_PATH: Final = re.compile(rb"(?i)%2f|%5c|%00|\\|/(\.|%2e){1,2}(/|$)|//|[\x80-\xff]")
_SAFE_ID: Final = re.compile(rb"[A-Za-z0-9._-]{1,64}")
_ALWAYS: Final = [
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
]
_PREFLIGHT: Final = [
    (b"access-control-allow-methods", b"GET, HEAD, POST"),
    (b"access-control-allow-headers", b"authorization, content-type, if-none-match, x-request-id"),
    (b"access-control-max-age", b"600"),
    (b"content-length", b"0"),
]
_READABLE: Final = b"etag, ratelimit, ratelimit-policy, retry-after, x-request-id"


class Spans(Protocol):
    """What follows a request for a tracer."""

    def span(self, scope: Scope, asked: Record) -> AbstractContextManager[None]: ...


class Front:
    """Wraps the application; answers what must not reach it."""

    def __init__(
        self,
        app: ASGIApp,
        service: Service,
        telemetry: Telemetry,
        tracer: Spans | None = None,
        straight: Mapping[tuple[str, str], Route] = MappingProxyType({}),
    ) -> None:
        """`straight` are routes by method and path that need no search and nothing that stands before it."""
        self.app = app
        self.straight = straight
        self.service = service
        self.telemetry = telemetry
        self.tracer = tracer
        self.quotas = Quotas()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        asked = Record(_request_id(scope), scope["method"])
        record.set(asked)
        # The same mapping all the way down: the router leaves in it which route it found.
        scope = dict(scope)
        answer = _Answer(self.service, scope, asked, send)
        if self.tracer is None:
            await self._follow(scope, receive, answer)
        else:
            with self.tracer.span(scope, asked):
                await self._follow(scope, receive, answer)

    async def _follow(self, scope: Scope, receive: Receive, answer: "_Answer") -> None:
        """Answer, whatever happens, and write down what became of it."""
        asked = answer.record
        try:
            await self._answer(scope, receive, answer)
        except ProblemError as problem:
            await problem.response()(scope, receive, answer)
        except ClientDisconnect:
            asked.status = 499 if not answer.begun else asked.status
        except Exception:
            if not answer.begun:
                await ProblemError("internal_error").response()(scope, receive, answer)
            raise
        finally:
            asked.route = _route(scope)
            self.telemetry.count(asked)
            if self.service.journal is not None:
                self.service.journal.write(asked.line())

    async def _answer(self, scope: Scope, receive: Receive, answer: "_Answer") -> None:
        raw_path: bytes = (scope.get("raw_path") or scope["path"].encode()).partition(b"?")[0]
        if len(raw_path) + len(scope["query_string"]) > MAX_ADDRESS:
            raise ProblemError("address_too_long")
        if _BAD_PATH.search(raw_path):
            raise ProblemError("bad_path")
        method = scope["method"]
        if method == "OPTIONS" and answer.origin and _header(scope, b"access-control-request-method"):
            await _preflight(answer)
            return
        if method == "HEAD":
            answer.without_body = True
            scope["method"] = method = "GET"
        apart = self.service.metrics_port
        if apart is not None and (scope["path"] == "/metrics") != (scope["server"][1] == apart):
            raise ProblemError("not_found")
        needed = scope_of(method, scope["path"])
        if needed is not None:
            self._admit(scope, needed, answer)
            self.service.load.check()
        route = self.straight.get((method, scope["path"]))
        if route is None:
            await self.app(scope, receive, answer)
        else:
            scope["route"], scope["path_params"] = route, {}
            await route.app(scope, receive, answer)

    def _admit(self, scope: Scope, needed: str, answer: "_Answer") -> None:
        """Find out who asks, and whether they may; what is seen from here on is what they may see."""
        keys = self.service.keys
        if keys.open:
            return
        who: Caller = keys.find(_headers(scope, b"authorization"))
        access.caller.set(who)
        answer.record.key = who.id
        if not who.may(needed):
            raise access.unauthorized() if who.id is None else ProblemError("forbidden")
        answer.left = self.quotas.take(who)


class _Answer:
    """The way of an answer to the client: headers that every one has, and what is written down of it."""

    def __init__(self, service: Service, scope: Scope, asked: Record, send: Send) -> None:
        self.service = service
        self.record = asked
        self.send = send
        self.begun = False
        self.without_body = False
        self.left: Left | None = None
        self.open_access = service.keys.open
        # A page of another host that may read the answer, as its browser names it.
        origin = _header(scope, b"origin") or b""
        self.origin = origin if origin.decode("latin-1") in service.origins else b""
        by = [
            name
            for name, does in ((b"Origin", service.origins), (b"Authorization", not self.open_access))
            if does
        ]
        self.varies = b", ".join(by)

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.begun = True
            self.record.status = message["status"]
            message = {**message, "headers": self._headers(message["headers"])}
        elif message["type"] == "http.response.body":
            body = message.get("body", b"")
            self.record.bytes_out += len(body)
            if self.without_body:
                message = {**message, "body": b""}
        await self.send(message)

    def _headers(self, given: Any) -> list[tuple[bytes, bytes]]:
        there = {name for name, _ in given}
        headers = list(given)
        if not self.open_access:
            headers = [
                (name, _private(value) if name == b"cache-control" else value) for name, value in given
            ]
        headers += [(name, value) for name, value in _ALWAYS if name not in there]
        headers.append((b"x-request-id", self.record.request_id.encode()))
        if self.left is not None:
            headers += [(name.lower().encode(), value.encode()) for name, value in self.left.headers.items()]
        if self.service.load.draining:
            headers.append((b"connection", b"close"))
        if self.varies:
            headers.append((b"vary", self.varies))
        if self.origin and b"access-control-allow-origin" not in there:
            headers.append((b"access-control-allow-origin", self.origin))
            headers.append((b"access-control-expose-headers", _READABLE))
        return headers


async def _preflight(answer: "_Answer") -> None:
    """What a browser asks before it lets a page of another host send JSON (Fetch, CORS preflight)."""
    await answer({"type": "http.response.start", "status": 204, "headers": list(_PREFLIGHT)})
    await answer({"type": "http.response.body", "body": b""})


def _private(cache_control: bytes) -> bytes:
    """Answers to keys may be kept by whoever asked, and by nobody in between."""
    return cache_control.replace(b"public", b"private")


def _request_id(scope: Scope) -> str:
    """The client's, if it is one and harmless; else ours."""
    given = _headers(scope, b"x-request-id")
    if len(given) == 1 and _SAFE_ID.fullmatch(given[0]):
        return given[0].decode()
    return secrets.token_hex(16)


def _headers(scope: Scope, name: bytes) -> list[bytes]:
    return [value for found, value in scope["headers"] if found == name]


def _header(scope: Scope, name: bytes) -> bytes | None:
    return next((value for found, value in scope["headers"] if found == name), None)


def _route(scope: Scope) -> str:
    """The path of the route as the contract writes it; never what a client wrote."""
    if (route := scope.get("route")) is not None:
        return str(route.path)
    endpoint = scope.get("endpoint")
    paths = (route.path for route in scope["app"].routes if getattr(route, "endpoint", None) is endpoint)
    return "none" if endpoint is None else next(paths, "none")
