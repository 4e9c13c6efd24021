"""What is written down of every request: one JSON line, without bodies, keys or query values.

Writing never holds up an answer: lines gather in memory and a thread takes them away several times a second.
What the other end does not take in time is dropped and counted.
"""

import asyncio
import logging
import os
import queue
import threading
import time
import traceback
from collections.abc import Mapping
from contextlib import suppress
from contextvars import ContextVar
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any, Final

import orjson

FLUSH_SECONDS: Final = 0.2
MAX_BYTES: Final = 4 * 1024 * 1024


@dataclass(slots=True)
class Record:
    """One request, as it is written down."""

    request_id: str
    method: str
    key: str | None = None
    route: str = "none"
    status: int = 500
    code: str | None = None
    ruleset: str | None = None
    digest: str | None = None
    verdicts: dict[str, int] = field(default_factory=dict)
    bytes_out: int = 0
    begun: float = field(default_factory=time.perf_counter)

    def tell(self, answer: Any) -> None:
        """Take from an answer what of it is written down: its verdict, or how many of each there are."""
        if not isinstance(answer, dict):
            return
        verdict, counts = answer.get("verdict"), answer.get("counts")
        if isinstance(verdict, str):
            self.count(verdict)
        elif isinstance(counts, dict):
            self.verdicts = {name: number for name, number in counts.items() if number}

    def count(self, verdict: str) -> None:
        self.verdicts[verdict] = self.verdicts.get(verdict, 0) + 1

    @property
    def seconds(self) -> float:
        return time.perf_counter() - self.begun

    def line(self) -> bytes:
        """The line, with members that hold nothing left out."""
        told = {
            "time": datetime.now(UTC).isoformat(timespec="milliseconds"),
            "event": "request",
            "request_id": self.request_id,
            "worker": os.getpid(),
            "key": self.key,
            "method": self.method,
            "route": self.route,
            "status": self.status,
            "code": self.code,
            "ms": round(self.seconds * 1000, 2),
            "bytes_out": self.bytes_out,
            "ruleset": self.ruleset,
            "digest": self.digest,
            "verdicts": self.verdicts or None,
        }
        return orjson.dumps({name: value for name, value in told.items() if value is not None}) + b"\n"


def decision(answer: Mapping[str, Any]) -> bytes:
    """One evaluation as it is kept: which rules said what, and nothing of the stone itself."""
    asked = record.get()
    told = {
        "time": datetime.now(UTC).isoformat(timespec="milliseconds"),
        "request_id": asked.request_id if asked else None,
        "key": asked.key if asked else None,
        "evaluation_id": answer["evaluation_id"],
        "ruleset": f"{answer['ruleset']['name']}@{answer['ruleset']['version']}",
        "digest": answer["ruleset"]["digest"],
        "as_of": answer["as_of"],
        "verdict": answer["verdict"],
        "findings": {finding["rule"]: finding["verdict"] for finding in answer["findings"]},
    }
    return orjson.dumps(told) + b"\n"


# The request at hand, for whoever knows something that should be written down of it.
record: ContextVar[Record | None] = ContextVar("record", default=None)


class Journal:
    """Lines on their way to a file descriptor."""

    def __init__(self, descriptor: int) -> None:
        self.dropped = 0
        self._descriptor = descriptor
        self._lines: list[bytes] = []
        self._timer: asyncio.TimerHandle | None = None
        # Bytes given to the thread and taken by it; each side counts its own.
        self._given = self._taken = 0
        self._waiting: queue.SimpleQueue[bytes | None] = queue.SimpleQueue()
        # A thread that waits for the other end must not keep the process from ending.
        self._thread = threading.Thread(target=self._send_all, name="journal", daemon=True)
        self._thread.start()

    def write(self, line: bytes) -> None:
        """Keep a line until the next time that lines are taken away."""
        if self._given - self._taken + len(line) > MAX_BYTES:
            self.dropped += 1
            return
        self._given += len(line)
        self._lines.append(line)
        if self._timer is None:
            self._timer = asyncio.get_running_loop().call_later(FLUSH_SECONDS, self._flush)

    def _flush(self) -> None:
        self._timer = None
        lines, self._lines = self._lines, []
        self._waiting.put(b"".join(lines))

    def _send_all(self) -> None:
        while (content := self._waiting.get()) is not None:
            view = memoryview(content)
            try:
                while view:
                    view = view[os.write(self._descriptor, view) :]
            except OSError:
                self.dropped += bytes(view).count(b"\n")
            self._taken += len(content)

    async def close(self, seconds: float = 1.0) -> None:
        """Write what is left, as far as the other end takes it in time."""
        if self._timer is not None:
            self._timer.cancel()
        self._flush()
        self._waiting.put(None)
        deadline = time.monotonic() + seconds
        while self._thread.is_alive() and time.monotonic() < deadline:  # noqa: ASYNC110 - a thread ends
            await asyncio.sleep(0.01)


class ServerLog(logging.Handler):
    """What the server itself has to say, in such lines too; of a failure its place, never its words."""

    def __init__(self, descriptor: int) -> None:
        super().__init__(logging.WARNING)
        self._descriptor = descriptor

    def emit(self, entry: logging.LogRecord) -> None:
        told: dict[str, Any] = {
            "time": datetime.now(UTC).isoformat(timespec="milliseconds"),
            "event": "server",
            "worker": os.getpid(),
            "level": entry.levelname.lower(),
        }
        if entry.exc_info and entry.exc_info[0] is not None:
            frames = traceback.extract_tb(entry.exc_info[2])
            told["failure"] = entry.exc_info[0].__name__
            told["at"] = [f"{f.filename.rpartition('/')[2]}:{f.lineno} {f.name}" for f in frames[-12:]]
        else:
            told["message"] = entry.getMessage()
        with suppress(OSError):
            os.write(self._descriptor, orjson.dumps(told) + b"\n")
