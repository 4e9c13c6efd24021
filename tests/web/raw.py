"""Asks a server in bytes, since HTTP libraries refuse to send most of what breaks services.

Each answer is held to two things: it is no failure, and it does not repeat what was sent.
"""

import http.client
import json
import socket
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final
from urllib.parse import urlsplit

import pytest

from gradefloor.web.problems import KINDS, MAX_ERRORS

# Sent in values that must never come back; as long as a date, since a date is read by its length first.
CANARY: Final = "qzcanary42"
SINGLE: Final = "/v1/evaluations"
BATCH: Final = "/v1/evaluations/batch"
STONE: Final = '{"stone":{"shape":"oval"}}'
GET_PATHS: Final = (
    "/",
    "/rules/house",
    "/rules/house/1.0.0",
    "/bench",
    "/docs",
    "/problems",
    "/problems/json_invalid",
    "/assets/page.css",
    "/openapi.json",
    "/health/live",
    "/health/ready",
    "/v1/vocabulary",
    "/v1/rulesets",
    "/v1/rulesets/house",
    "/v1/rulesets/house/1.0.0",
    "/v1/rulesets/house/1.0.0/rules/clarity.steps",
)
DRAWINGS: Final = ("stone", "stones", "finger", "side", "ring", "band", "ratios/emerald")
STREAM: Final = "/v1/evaluations/stream"
METHODS: Final = {
    **dict.fromkeys(GET_PATHS, "GET, HEAD"),
    SINGLE: "GET, HEAD, POST",
    BATCH: "POST",
    STREAM: "POST",
    "/v1/readings": "POST",
    "/v1/pairings": "POST",
    "/v1/side-stones": "POST",
    "/v1/specifications": "POST",
    "/v1/shortlists": "POST",
    "/v1/comparisons": "POST",
    "/v1/opinions": "POST",
    "/v1/leads": "POST",
    "/v1/wording": "POST",
    "/v1/annotations": "GET, HEAD, POST",
    "/v1/rulesets/house/changes": "GET, HEAD, POST",
    "/embed/stone-note.js": "GET, HEAD",
    "/metrics": "GET, HEAD",
    **{f"/v1/drawings/{name}.svg": "GET, HEAD" for name in DRAWINGS},
}
Headers = tuple[tuple[str, str], ...]
JSON: Final[Headers] = (("Content-Type", "application/json"),)


@dataclass(frozen=True)
class Answer:
    """One answer, as it came."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def document(self) -> Any:
        return json.loads(self.body)

    @property
    def steady_headers(self) -> dict[str, str]:
        """All but the hour and the id of the request."""
        return {name: value for name, value in self.headers.items() if name not in {"date", "x-request-id"}}


@dataclass(frozen=True)
class Wire:
    """Asks the server in bytes, each question on a connection of its own."""

    address: str

    def ask(
        self, method: str, target: str | bytes, headers: Headers = (), body: bytes | None = None
    ) -> Answer:
        lines = [b"Connection: close", *(f"{name}: {value}".encode("latin-1") for name, value in headers)]
        if not any(name == "Host" for name, _ in headers):
            lines.append(b"Host: 127.0.0.1")
        if body is not None and not any(
            name in {"Content-Length", "Transfer-Encoding"} for name, _ in headers
        ):
            lines.append(b"Content-Length: %d" % len(body))
        raw_target = target if isinstance(target, bytes) else target.encode("ascii")
        head = b"\r\n".join([method.encode() + b" " + raw_target + b" HTTP/1.1", *lines, b"", b""])
        url = urlsplit(self.address)
        with socket.create_connection((url.hostname or "", url.port or 0), timeout=30) as connection:
            connection.sendall(head + (body or b""))
            response = http.client.HTTPResponse(connection, method=method)
            response.begin()
            fields = {name.lower(): value for name, value in response.getheaders()}
            answer = Answer(response.status, fields, response.read())
            response.close()
        assert answer.status < 500, answer.body
        assert CANARY.encode() not in answer.body
        assert not any(CANARY in value for value in fields.values())
        return answer

    def post(self, body: str | bytes, path: str = SINGLE, headers: Headers = JSON) -> Answer:
        return self.ask("POST", path, headers, body.encode() if isinstance(body, str) else body)

    def get(self, target: str | bytes, headers: Headers = ()) -> Answer:
        return self.ask("GET", target, headers)


def problem(answer: Answer, status: int, code: str) -> list[dict[str, str]]:
    """Holds an answer to be this problem, whole; gives the places that it names."""
    assert answer.status == status, answer.body
    assert answer.headers["content-type"] == "application/problem+json"
    found = answer.document
    kind = KINDS[code]
    assert {name: found[name] for name in ("type", "title", "status", "code")} == {
        "type": f"/problems/{code}",
        "title": kind.title,
        "status": status,
        "code": code,
    }
    assert isinstance(found["detail"], str)
    assert found["detail"]
    errors: list[dict[str, str]] = found.get("errors", [])
    assert len(errors) <= MAX_ERRORS
    assert all(set(error) == {"pointer", "found", "allowed"} for error in errors)
    return errors


def named(cases: Mapping[str, Any]) -> list[Any]:
    """Rows of a table, by name."""
    return [pytest.param(case, id=name) for name, case in cases.items()]


def plain(cases: Iterable[str]) -> list[Any]:
    """Rows that are their own name."""
    return [pytest.param(case, id=case.encode("unicode_escape").decode()[:60] or "empty") for case in cases]


def at(pointer: str, literal: str) -> str:
    """A request whose member at a place is this literal; what lies around it is as small as can be."""
    *around, last = pointer.removeprefix("/").split("/")
    text = f'{{"{last}":{literal}}}'
    for name in reversed(around):
        text = f'{{"{name}":{text}}}'
    if pointer.startswith("/stone/"):
        return text.replace('{"stone":{', '{"stone":{"shape":"oval",', 1)
    return f'{{"stone":{{"shape":"oval"}},{text[1:]}'
