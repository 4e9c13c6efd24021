"""HTTP/1.1 with bounds: how much a client may send, how long it may take, how many may be here at once.

The parser and the flow of a connection are uvicorn's; here are only the bounds it lacks, and errors of the
server itself in the one shape that all errors have.
"""

import asyncio
from typing import Any, Final

import httptools
from uvicorn.protocols.http.httptools_impl import HttpToolsProtocol

from gradefloor.web.load import Load
from gradefloor.web.problems import ProblemError
from gradefloor.web.streams import PATH as STREAM_PATH

MAX_HEAD: Final = 16 * 1024
MAX_HEADERS: Final = 100
HEAD_SECONDS: Final = 10.0
# A body has to go on coming, at this rate; a stream may wait for whoever writes its lines.
BODY_SECONDS: Final = 10.0
BODY_BYTES: Final = 1024
STREAM_SECONDS: Final = 60.0
# How long an answer may wait for a client that does not read it.
READ_SECONDS: Final = 60.0


class BoundedProtocol(HttpToolsProtocol):
    """One connection."""

    load: Load
    head_seconds: float = HEAD_SECONDS
    body_seconds: float = BODY_SECONDS
    stream_seconds: float = STREAM_SECONDS
    read_seconds: float = READ_SECONDS

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override] # as uvicorn's
        super().connection_made(transport)
        self._in_head = True
        self._head_bytes = self._header_bytes = self._body_bytes = 0
        self._refusal = "http_invalid"
        self._waiting = 0
        self._writing: asyncio.TimerHandle | None = None
        self._timer: asyncio.TimerHandle | None = self.loop.call_later(self.head_seconds, self._late)
        if len(self.connections) > self.load.max_connections:
            self._refuse("overloaded")

    def connection_lost(self, exc: Exception | None) -> None:
        self._stop()
        self._stop_writing()
        self.load.waiting -= self._waiting
        self._waiting = 0
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        if self.transport.is_closing():
            return
        self._unset_keepalive_if_required()
        if self._in_head:
            self._head_bytes += len(data)
        try:
            self.parser.feed_data(data)
        except httptools.HttpParserUpgrade:
            pass  # nothing else is spoken here: the request is answered as it stands
        except httptools.HttpParserError:
            self._refuse(self._refusal)
            return
        if self._in_head and self._head_bytes > MAX_HEAD:
            self._refuse("headers_too_large")

    # What the parser tells

    def on_message_begin(self) -> None:
        self._header_bytes = 0
        self._head_bytes = max(self._head_bytes, 1)
        if self._timer is None:
            self._timer = self.loop.call_later(self.head_seconds, self._late)
        super().on_message_begin()

    def on_header(self, name: bytes, value: bytes) -> None:
        self._header_bytes += len(name) + len(value) + 4
        if self._header_bytes > MAX_HEAD or len(self.headers) >= MAX_HEADERS:
            self._refuse_by_parser("headers_too_large")
        super().on_header(name, value)

    def on_headers_complete(self) -> None:
        names = [name for name, _ in self.headers]
        version = self.parser.get_http_version()
        if version not in {"1.0", "1.1"} or (names.count(b"host") != 1 and version == "1.1"):
            self._refuse_by_parser("http_invalid")
        if b"content-length" in names and b"transfer-encoding" in names:
            self._refuse_by_parser("http_invalid")
        self._in_head = False
        self._stop()
        super().on_headers_complete()
        self._body_bytes = 0
        self._timer = self.loop.call_later(self._patience(), self._slow)

    def on_body(self, body: bytes) -> None:
        self._body_bytes += len(body)
        super().on_body(body)

    def on_message_complete(self) -> None:
        self._stop()
        self._in_head = True
        self._head_bytes = 0
        self._waiting += 1
        self.load.waiting += 1
        super().on_message_complete()

    def on_response_complete(self) -> None:
        if self._waiting:
            self._waiting -= 1
            self.load.waiting -= 1
        super().on_response_complete()

    # Time

    def _patience(self) -> float:
        return self.stream_seconds if self.scope["path"] == STREAM_PATH else self.body_seconds

    def _late(self) -> None:
        """No whole head in time. Who has said nothing at all is told nothing."""
        if self._head_bytes:
            self._refuse("too_slow")
        elif not self.transport.is_closing():
            self.transport.close()

    def _slow(self) -> None:
        """A body that has stopped coming, unless it is we who do not take it."""
        wanted = 1 if self.scope["path"] == STREAM_PATH else BODY_BYTES
        if self._body_bytes >= wanted or self.flow.read_paused:
            self._body_bytes = 0
            self._timer = self.loop.call_later(self._patience(), self._slow)
        else:
            self._refuse("too_slow")

    def _stop(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None

    def pause_writing(self) -> None:
        super().pause_writing()
        self._writing = self.loop.call_later(self.read_seconds, self.transport.abort)

    def resume_writing(self) -> None:
        self._stop_writing()
        super().resume_writing()

    def _stop_writing(self) -> None:
        if self._writing is not None:
            self._writing.cancel()
            self._writing = None

    # Refusals

    def _refuse_by_parser(self, code: str) -> None:
        """Stop the parser from inside; it reports any error of a callback as one of its own."""
        self._refusal = code
        raise ValueError(code)

    def _refuse(self, code: str) -> None:
        """Answer with a problem and close; only close, where another answer is under way."""
        self._stop()
        if self.transport.is_closing():
            return
        cycle: Any = self.cycle
        if cycle is not None and not cycle.response_complete and cycle.response_started:
            self.transport.abort()
            return
        self.transport.write(as_message(ProblemError(code)))
        self.transport.close()


def protocol_of(load: Load, **bounds: float) -> type[BoundedProtocol]:
    """The protocol for one server, with its own count of what goes on, and other bounds of time if given."""
    return type("Protocol", (BoundedProtocol,), {"load": load, **bounds})


def as_message(problem: ProblemError) -> bytes:
    """A whole HTTP/1.1 answer, for what never reached the application."""
    response = problem.response()
    head = [f"HTTP/1.1 {response.status_code} {problem.kind.title}".encode("ascii")]
    head += [name + b": " + value for name, value in response.raw_headers]
    return b"\r\n".join([*head, b"connection: close", b"", bytes(response.body)])
