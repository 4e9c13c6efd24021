"""Two servers on this machine: one for the example pages, one that stands in for the service."""

import json
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any, Final
from urllib.parse import parse_qsl, urlsplit

HERE: Final = Path(__file__).parent
SCRIPT: Final = HERE.parents[1] / "service/gradefloor/web/assets/stone-note.js"
TYPES: Final = {".html": "text/html; charset=utf-8", ".css": "text/css; charset=utf-8"}


@dataclass(frozen=True)
class Reply:
    """What is answered; `seconds` is how long that takes, `dropped` closes the connection instead."""

    body: bytes = b""
    status: int = 200
    content_type: str = "application/json"
    seconds: float = 0
    dropped: bool = False
    headers: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Request:
    method: str
    path: str
    query: dict[str, str]
    headers: dict[str, str]


class _Server(ThreadingHTTPServer):
    daemon_threads = False

    def __init__(self, answer: Callable[[Request], Reply]) -> None:
        self.answer = answer
        self.over = threading.Event()
        super().__init__(("127.0.0.1", 0), _Handler)

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Browsers close connections as they like."""


class _Handler(BaseHTTPRequestHandler):
    server: _Server
    timeout = 2  # a connection that a browser opened ahead of need

    def _any(self) -> None:
        address = urlsplit(self.path)
        request = Request(
            self.command,
            address.path,
            dict(parse_qsl(address.query)),
            {name.lower(): value for name, value in self.headers.items()},
        )
        reply = self.server.answer(request)
        self.server.over.wait(reply.seconds)
        if reply.dropped:
            return
        self.send_response(reply.status)
        self.send_header("Content-Type", reply.content_type)
        self.send_header("Content-Length", str(len(reply.body)))
        for name, value in reply.headers.items():
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(reply.body)

    do_GET = do_POST = do_OPTIONS = _any  # noqa: N815 - the names that the library calls

    def log_message(self, format: str, *args: Any) -> None:  # noqa: A002 - the library's name
        """Say nothing."""


@contextmanager
def serving(answer: Callable[[Request], Reply]) -> Iterator[str]:
    """Address of a server that answers so."""
    with _Server(answer) as server:
        thread = threading.Thread(target=partial(server.serve_forever, poll_interval=0.02))
        thread.start()
        try:
            yield f"http://127.0.0.1:{server.server_port}"
        finally:
            server.over.set()
            server.shutdown()
            thread.join()


def page_of(service: str, request: Request) -> Reply:
    """An example page or its style sheet, with the service's address put in."""
    file = HERE / request.path.removeprefix("/")
    if file.parent != HERE or file.suffix not in TYPES or not file.is_file():
        return Reply(status=404, content_type="text/plain")
    text = file.read_text(encoding="utf-8").replace("{{service}}", service)
    return Reply(text.encode(), content_type=TYPES[file.suffix])


def agreed(**changes: Any) -> dict[str, Any]:
    """An answer as agreed on, its only result changed as told."""
    label = {"key": "look.usual", "text": "Usual outline", "tone": "plain", "rule": "look.oval"}
    labels = [
        label,
        {**label, "text": "Color hard to see in this metal", "tone": "good"},
        {**label, "text": "Wide for its weight", "tone": "watch"},
        {**label, "text": "Eye-clean: ask", "tone": "ask"},
    ]
    result = {
        "stone_id": None,
        "verdict": "ask",
        "labels": labels,
        "short": "An oval of usual outline, whose color hardly shows beside platinum.",
        "long": "The outline is one that most people know as an oval. "
        "Its color shows a little from the side. Whether an eye finds an inclusion, somebody has to look.",
        "cautions": ["Points chip where they are not covered."],
        "notice": "A recommendation from stated grades and measurements: not an appraisal, not a warranty, "
        "not legal advice. Nobody here has seen the stone; a setter and an appraiser decide what they answer "
        "for.",
    }
    return {"service_version": "0", "results": [{**result, **changes}]}


@dataclass
class StandIn:
    """A service that answers every stone alike and remembers what it was asked."""

    reply: Callable[[Request], Reply] = lambda _: Reply(json.dumps(agreed()).encode())
    script_seconds: float = 0
    log: list[Request] = field(default_factory=list)

    def answer(self, request: Request) -> Reply:
        self.log.append(request)
        if request.path == "/embed/stone-note.js":
            anyone = {"Access-Control-Allow-Origin": "*"}
            text = "text/javascript; charset=utf-8"
            return Reply(SCRIPT.read_bytes(), 200, text, self.script_seconds, headers=anyone)
        given = self.reply(request)
        allowed = {"Access-Control-Allow-Origin": request.headers.get("origin", "null"), "Vary": "Origin"}
        return Reply(
            given.body,
            given.status,
            given.content_type,
            given.seconds,
            given.dropped,
            allowed | given.headers,
        )

    @property
    def asked(self) -> list[Request]:
        """Requests about stones, without those for the script."""
        return [request for request in self.log if request.path == "/v1/annotations"]
