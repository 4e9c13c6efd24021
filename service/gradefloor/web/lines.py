"""NDJSON in, NDJSON out: one answer for every line, in bounded memory, however the client reads and sends.

Two things break such services. A response that waits for a disconnect on the channel the body comes from
eats lines of the body; this one reads the channel itself and nobody else does. And a client that sends
everything before it reads anything stalls a server that will not read on before its answers are taken; here
unread answers wait in a spool, which goes to disk when it grows.
"""

import asyncio
import tempfile
from collections.abc import Callable
from typing import IO, Final

from starlette.responses import Response
from starlette.types import Receive, Scope, Send

from gradefloor.web.load import Load, Turn

MEDIA_TYPE: Final = "application/x-ndjson"
LINE_LIMIT: Final = 64 * 1024
SPOOL_MEMORY: Final = 1024 * 1024
_SENT_AT_ONCE: Final = 64 * 1024

# Makes the answer to one line, without a line end; None for a line that gets no answer.
Answerer = Callable[[int, bytes | None], bytes | None]


class LineStream(Response):
    """Answers the lines of a request body one by one.

    `answer` gets the line's number, counted from 1, and its bytes; None for a line over the limit.
    """

    media_type = MEDIA_TYPE

    def __init__(self, answer: Answerer, load: Load) -> None:
        super().__init__(status_code=200)
        self.answer = answer
        self.load = load
        del self.headers["content-length"]

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        del scope
        with self.load:
            await self.respond(receive, send)

    async def respond(self, receive: Receive, send: Send) -> None:
        """Read and answer side by side, until both ends are through."""
        await send({"type": "http.response.start", "status": self.status_code, "headers": self.raw_headers})
        with tempfile.SpooledTemporaryFile(max_size=SPOOL_MEMORY) as file:
            spool = _Spool(file)
            async with asyncio.TaskGroup() as both:
                both.create_task(self.read(receive, spool))
                both.create_task(spool.drain(send))

    async def read(self, receive: Receive, spool: "_Spool") -> None:
        """Answer every line as it comes; ends with the body or with the client."""
        try:
            lines, turn = _Lines(), Turn()
            more = True
            while more:
                message = await receive()
                if message["type"] == "http.disconnect":
                    spool.abandon()
                    return
                more = message.get("more_body", False)
                for number, line in lines.take(message.get("body", b""), last=not more):
                    answered = self.answer(number, line)
                    if answered is not None:
                        spool.write(answered + b"\n")
                    if turn.over:
                        await turn.next()
        finally:
            spool.finish()


class _Lines:
    """Cuts chunks into lines; a line over the limit is not kept, only counted."""

    def __init__(self) -> None:
        self.kept = bytearray()
        self.too_long = False
        self.number = 0

    def take(self, chunk: bytes, *, last: bool) -> list[tuple[int, bytes | None]]:
        *whole, rest = chunk.split(b"\n")
        found = [self.end(part) for part in whole]
        self.keep(rest)
        if last and (self.kept or self.too_long):
            found.append(self.end(b""))
        return found

    def keep(self, part: bytes) -> None:
        if self.too_long or len(self.kept) + len(part) > LINE_LIMIT:
            self.too_long = True
            self.kept.clear()
        else:
            self.kept += part

    def end(self, part: bytes) -> tuple[int, bytes | None]:
        self.keep(part)
        self.number += 1
        line = None if self.too_long else bytes(self.kept)
        self.kept.clear()
        self.too_long = False
        return self.number, line


class _Spool:
    """Bytes that wait to be sent, in memory while they are few."""

    def __init__(self, file: IO[bytes]) -> None:
        self.file = file
        self.written = self.sent = 0
        self.finished = self.abandoned = False
        self.changed = asyncio.Event()

    def write(self, content: bytes) -> None:
        if self.sent == self.written and self.written:
            # All has been sent: begin again, so that a client that keeps up never makes the spool grow.
            self.file.seek(0)
            self.file.truncate()
            self.written = self.sent = 0
        self.file.seek(self.written)
        self.file.write(content)
        self.written += len(content)
        self.changed.set()

    def finish(self) -> None:
        self.finished = True
        self.changed.set()

    def abandon(self) -> None:
        """Nobody reads any more."""
        self.abandoned = True

    async def drain(self, send: Send) -> None:
        """Send what is written as fast as the client takes it, until the writer is done."""
        while not self.abandoned:
            self.changed.clear()
            while self.sent < self.written and not self.abandoned:
                self.file.seek(self.sent)
                chunk = self.file.read(_SENT_AT_ONCE)
                self.sent += len(chunk)
                await send({"type": "http.response.body", "body": chunk, "more_body": True})
            if self.finished:
                await send({"type": "http.response.body", "body": b"", "more_body": False})
                return
            await self.changed.wait()
