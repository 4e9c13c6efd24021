"""Bounds of the server itself: sizes, times, numbers of connections, and how it ends.

HTTP/1.1: RFC 9112; the times of these tests are shorter than those of the service, the code is the same.
"""

import json
import resource
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from typing import Final
from urllib.parse import urlsplit

import pytest
import uvicorn

from gradefloor.rules.catalog import Catalog
from gradefloor.web.app import create_app
from gradefloor.web.load import Load
from gradefloor.web.problems import ProblemError
from gradefloor.web.protocol import MAX_HEAD, MAX_HEADERS, protocol_of
from gradefloor.web.service import Service
from raw import Wire
from running import running_server

SHORT: Final = 0.4
BOUNDS: Final = {
    "head_seconds": SHORT, "body_seconds": SHORT, "stream_seconds": 3 * SHORT, "read_seconds": SHORT,
}  # fmt: skip
GET: Final = b"GET /health/live HTTP/1.1\r\nHost: a\r\n"
POST: Final = b"POST /v1/evaluations HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\n"
BODY: Final = b'{"stone":{"shape":"oval"}}'


@dataclass(frozen=True)
class Server:
    """A server in a thread of this process."""

    port: int
    load: Load

    def connect(self) -> socket.socket:
        return socket.create_connection(("127.0.0.1", self.port), timeout=10)

    def ask(self, *parts: bytes, pause: float = 0) -> bytes:
        """What comes back to these bytes until the server closes, or a second passes without any."""
        with self.connect() as connection:
            for part in parts:
                try:
                    connection.sendall(part)
                except OSError:
                    break
                time.sleep(pause)
            return read_all(connection)


def read_all(connection: socket.socket, seconds: float = 1.0) -> bytes:
    connection.settimeout(seconds)
    got = b""
    try:
        while chunk := connection.recv(65536):
            got += chunk
    except OSError:
        pass
    return got


def code_of(answer: bytes) -> str:
    """The problem's code in an answer of the server."""
    head, _, body = answer.partition(b"\r\n\r\n")
    assert b"content-type: application/problem+json" in head, answer[:300]
    code: str = json.loads(body)["code"]
    return code


@contextmanager
def serving(catalog: Catalog, load: Load) -> Iterator[Server]:
    service = Service(catalog, load=load)
    service.resolve("house", None)[0].compiled  # noqa: B018 - made before anybody waits for it
    config = uvicorn.Config(
        create_app(service), http=protocol_of(load, **BOUNDS), ws="none", log_config=None, access_log=False
    )
    server = uvicorn.Server(config)
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
        thread.start()
        while not server.started:
            time.sleep(0.01)
        yield Server(listener.getsockname()[1], load)
        server.should_exit = True
        thread.join()


@pytest.fixture(scope="module")
def server(catalog: Catalog) -> Iterator[Server]:
    with serving(catalog, Load()) as found:
        yield found


# Sizes


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        (b"X: " + b"a" * (MAX_HEAD - 200) + b"\r\n", 200),
        (b"X: " + b"a" * MAX_HEAD + b"\r\n", 431),
        (b"X: " + b"a" * 200_000 + b"\r\n", 431),
        (b"".join(b"X%d: a\r\n" % n for n in range(MAX_HEADERS - 2)), 200),
        (b"".join(b"X%d: a\r\n" % n for n in range(MAX_HEADERS - 1)), 431),
        (b"".join(b"X%d: a\r\n" % n for n in range(20_000)), 431),
    ],
)
def test_headers_are_bounded_in_size_and_number(server: Server, headers: bytes, status: int) -> None:
    answer = server.ask(GET + headers + b"Connection: close\r\n\r\n")
    assert answer.startswith(b"HTTP/1.1 %d " % status), answer[:200]
    if status == 431:
        assert code_of(answer) == "headers_too_large"


def test_a_head_that_never_ends_is_cut_off(server: Server) -> None:
    answer = server.ask(GET, *(b"X%d: %s\r\n" % (n, b"a" * 4000) for n in range(40)))
    assert code_of(answer) == "headers_too_large"


# What is not HTTP


@pytest.mark.parametrize(
    "request_",
    [
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + b"\x00" * 50,
        b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n",
        b"GET /health/live HTTP/1.1\r\n\r\n",
        GET + b"Host: b\r\n\r\n",
        b"GET /health/live\r\n\r\n",
        b"GET /health/live HTTP/9.9\r\nHost: a\r\n\r\n",
        b"GET /health live HTTP/1.1\r\nHost: a\r\n\r\n",
        GET + b"No colon\r\n\r\n",
        GET + b" : a\r\n\r\n",
        POST + b"Content-Length: -5\r\n\r\n",
        POST + b"Content-Length: 5\r\nContent-Length: 6\r\n\r\n12345",
        POST + b"Content-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
        POST + b"Transfer-Encoding: chunked\r\n\r\nzz\r\n",
        b"\x00" * 100,
    ],
    ids=range(14),
)
def test_what_is_not_http_gets_a_problem_and_the_door(server: Server, request_: bytes) -> None:
    answer = server.ask(request_)
    assert answer.startswith(b"HTTP/1.1 400 ")
    assert code_of(answer) == "http_invalid"
    assert b"connection: close" in answer


def test_an_upgrade_is_not_taken_up(server: Server) -> None:
    answer = server.ask(GET + b"Connection: Upgrade\r\nUpgrade: websocket\r\n\r\n")
    assert answer.startswith(b"HTTP/1.1 200 ")


# Time


def test_who_says_nothing_is_shown_out_without_a_word(server: Server) -> None:
    began = time.monotonic()
    assert server.ask() == b""
    assert time.monotonic() - began < SHORT + 0.5


def test_half_a_head_is_waited_for_only_so_long(server: Server) -> None:
    assert code_of(server.ask(GET)) == "too_slow"


def test_a_head_in_small_pieces_is_waited_for_only_so_long(server: Server) -> None:
    pieces = [bytes([byte]) for byte in GET + b"X: " + b"a" * 100 + b"\r\n\r\n"]
    assert code_of(server.ask(*pieces, pause=SHORT / 20)) == "too_slow"


def test_half_a_body_is_waited_for_only_so_long(server: Server) -> None:
    answer = server.ask(POST + b"Content-Length: 100\r\n\r\n{")
    assert code_of(answer) == "too_slow"
    assert answer.startswith(b"HTTP/1.1 408 ")


def test_a_body_in_small_pieces_is_waited_for_only_so_long(server: Server) -> None:
    pieces = [b" "] * 60
    assert code_of(server.ask(POST + b"Content-Length: 100\r\n\r\n", *pieces, pause=SHORT / 20)) == "too_slow"


def test_a_body_that_goes_on_coming_is_waited_for(server: Server) -> None:
    filled = BODY[:-1] + b" " * 7000 + b"}"
    parts = [filled[start : start + 700] for start in range(0, len(filled), 700)]
    head = POST + b"Connection: close\r\nContent-Length: %d\r\n\r\n" % len(filled)
    assert server.ask(head, *parts, pause=SHORT / 5).startswith(b"HTTP/1.1 200 ")


def test_a_stream_may_pause_longer(server: Server) -> None:
    head = (
        b"POST /v1/evaluations/stream HTTP/1.1\r\nHost: a\r\nConnection: close\r\n"
        b"Content-Type: application/x-ndjson\r\nTransfer-Encoding: chunked\r\n\r\n"
    )
    line = b'{"shape":"oval"}\n'
    chunk = b"%x\r\n%s\r\n" % (len(line), line)
    answer = server.ask(head, chunk, chunk, b"0\r\n\r\n", pause=1.5 * SHORT)
    assert answer.count(b'"evaluation"') == 2


def test_an_idle_connection_after_an_answer_may_ask_again(server: Server) -> None:
    with server.connect() as connection:
        for _ in range(3):
            connection.sendall(GET + b"\r\n")
            assert read_all(connection, 0.2).startswith(b"HTTP/1.1 200 ")
            time.sleep(SHORT)


def test_half_a_second_request_is_waited_for_only_so_long(server: Server) -> None:
    with server.connect() as connection:
        connection.sendall(GET + b"\r\n" + GET[:20])
        assert read_all(connection, 3 * SHORT).count(b"HTTP/1.1 ") == 2


SILENT: Final = 500


def test_silent_connections_do_not_keep_anybody_waiting() -> None:
    """Held against a service as people run it, with the time that it gives them: none is closed meanwhile."""
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    # Some systems allow 256, and this process has other files open.
    resource.setrlimit(resource.RLIMIT_NOFILE, (max(soft, min(hard, 2 * SILENT)), hard))
    with ExitStack() as silent:
        silent.callback(resource.setrlimit, resource.RLIMIT_NOFILE, (soft, hard))
        service = silent.enter_context(running_server())
        url = urlsplit(service)
        address = url.hostname or "", url.port or 0
        open_ones = [
            silent.enter_context(socket.create_connection(address, timeout=10)) for _ in range(SILENT)
        ]
        began = time.monotonic()
        for _ in range(20):
            assert Wire(service).post(BODY.decode()).status == 200
        assert time.monotonic() - began < 2
        for connection in open_ones:
            connection.setblocking(False)
            with pytest.raises(BlockingIOError):
                connection.recv(1)


# Numbers


def test_more_connections_than_there_is_room_for_are_told_so(catalog: Catalog) -> None:
    with serving(catalog, Load(max_connections=3)) as server:
        open_ones = [server.connect() for _ in range(3)]
        time.sleep(0.1)
        answer = server.ask(GET + b"\r\n")
        assert answer.startswith(b"HTTP/1.1 503 ")
        assert code_of(answer) == "overloaded"
        for connection in open_ones:
            connection.close()
        time.sleep(0.1)
        assert server.ask(GET + b"Connection: close\r\n\r\n").startswith(b"HTTP/1.1 200 ")


def test_too_much_work_is_refused_while_health_stays_green(catalog: Catalog) -> None:
    with serving(catalog, Load(max_waiting=-1)) as server:
        refused = server.ask(POST + b"Connection: close\r\nContent-Length: %d\r\n\r\n" % len(BODY) + BODY)
        assert refused.startswith(b"HTTP/1.1 503 ")
        assert b"retry-after: 1\r\n" in refused
        assert server.ask(GET + b"Connection: close\r\n\r\n").startswith(b"HTTP/1.1 200 ")


def test_lists_have_a_number_of_their_own() -> None:
    load = Load(max_lists=2)
    with load, load:
        with pytest.raises(ProblemError) as refused, load:
            raise AssertionError("a third list")
        assert refused.value.kind.code == "overloaded"
    assert load.lists == 0


def test_nothing_is_left_waiting_after_all_that(server: Server) -> None:
    time.sleep(2 * SHORT)
    assert (server.load.waiting, server.load.lists) == (0, 0)


def test_a_connection_that_breaks_off_leaves_nothing_behind(server: Server) -> None:
    for part in (GET[:10], GET, POST, POST + b"Content-Length: 9\r\n\r\n{", GET + b"\r\n"):
        with server.connect() as connection:
            connection.sendall(part)
    time.sleep(2 * SHORT)
    assert (server.load.waiting, server.load.lists) == (0, 0)
