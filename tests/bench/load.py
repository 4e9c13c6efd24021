"""Load from raw sockets, so that whoever asks costs little beside whoever answers."""

import os
import selectors
import socket
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Final

HOST: Final = "127.0.0.1"
# One buffer for all connections: to make one anew for each answer would cost more than the answer.
_BUFFER: Final = memoryview(bytearray(1024 * 1024))
_LENGTH: Final = b"content-length: "


def message(path: str, body: bytes, media_type: str = "application/json") -> bytes:
    """One POST, ready to be sent."""
    head = (
        f"POST {path} HTTP/1.1\r\nhost: bench\r\ncontent-type: {media_type}\r\n"
        f"content-length: {len(body)}\r\n\r\n"
    )
    return head.encode() + body


class Asking:
    """One connection that has at most one request under way."""

    def __init__(self, port: int) -> None:
        self.socket = socket.create_connection((HOST, port))
        self.socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self.sent_at = 0.0
        self._answer = bytearray()
        self._whole = 0

    def send(self, request: bytes) -> None:
        self._answer.clear()
        self._whole = 0
        self.sent_at = time.perf_counter()
        self.socket.sendall(request)

    def take(self) -> bool:
        """Read what has come; whether the answer is whole. RuntimeError for anything but 200."""
        count = self.socket.recv_into(_BUFFER)
        if not count:
            raise RuntimeError("the server closed the connection")
        self._answer += _BUFFER[:count]
        if not self._whole:
            end = self._answer.find(b"\r\n\r\n")
            if end < 0:
                return False
            if not self._answer.startswith(b"HTTP/1.1 200"):
                raise RuntimeError(self._answer.decode(errors="replace")[:2000])
            at = self._answer.find(_LENGTH, 0, end) + len(_LENGTH)
            self._whole = end + 4 + int(self._answer[at : self._answer.find(b"\r", at)])
        return len(self._answer) >= self._whole

    def ask(self, request: bytes) -> bytes:
        """One request and the body of its answer."""
        self.send(request)
        while not self.take():
            pass
        return bytes(self._answer).partition(b"\r\n\r\n")[2]

    def close(self) -> None:
        self.socket.close()


def latencies(port: int, requests: Sequence[bytes], connections: int, seconds: float) -> list[float]:
    """Seconds of every request that was answered meanwhile, each connection asking again at once."""
    found: list[float] = []
    asking = [Asking(port) for _ in range(connections)]
    with selectors.DefaultSelector() as ready:
        for place, one in enumerate(asking):
            ready.register(one.socket, selectors.EVENT_READ, one)
            one.send(requests[place % len(requests)])
        end = time.perf_counter() + seconds
        place = len(asking)
        while (now := time.perf_counter()) < end:
            for key, _ in ready.select(end - now):
                one = key.data
                if one.take():
                    found.append(time.perf_counter() - one.sent_at)
                    one.send(requests[place % len(requests)])
                    place += 1
    for one in asking:
        one.close()
    return found


def percentile(values: Sequence[float], share: float) -> float:
    ordered = sorted(values)
    return ordered[min(int(len(ordered) * share), len(ordered) - 1)]


@contextmanager
def on_core(core: int) -> Iterator[None]:
    """This thread and what it starts on one core, where the system can do that."""
    before = os.sched_getaffinity(0)
    os.sched_setaffinity(0, {core})
    try:
        yield
    finally:
        os.sched_setaffinity(0, before)
