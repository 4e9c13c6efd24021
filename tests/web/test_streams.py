"""Any number of stones, line by line, with clients that send and read in their own ways. Invented stones."""

import json
import socket
import threading
from collections.abc import Iterator
from typing import Any

import httpx
import pytest
import requests
from hypothesis import given, settings

from gradefloor.web.lines import LINE_LIMIT, _Lines
from samples import contexts, stones

PATH = "/v1/evaluations/stream?ruleset=house@1.0.0&as_of=2026-11-25&metal=platinum"
NDJSON = {"content-type": "application/x-ndjson"}
OVAL = {"shape": "oval", "carat": 1.2, "color": "G", "clarity": "VS2"}
# More than a client's and a server's buffers hold of answers that nobody has read yet.
MANY = 20_000


def stream(client: httpx.Client, *lines: Any) -> list[dict[str, Any]]:
    body = b"\n".join(line if isinstance(line, bytes) else json.dumps(line).encode() for line in lines)
    answer = client.post(PATH, content=body, headers=NDJSON)
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == "application/x-ndjson"
    # Only \n ends a line: a JSON text may hold other characters that some take for line ends.
    return [json.loads(line) for line in answer.content.split(b"\n") if line]


@settings(max_examples=25)
@given(stone=stones(), context=contexts)
def test_a_line_is_answered_like_a_single_request(
    client: httpx.Client, stone: dict[str, Any], context: dict[str, Any]
) -> None:
    asked = {"stone": stone, "context": context, "ruleset": "house@1.0.0", "as_of": "2026-11-25"}
    single = client.post("/v1/evaluations", json=asked).json()
    assert stream(client, {"stone": stone, "context": context}) == [{"line": 1, "evaluation": single}]


def test_a_bare_stone_gets_the_context_of_the_query(client: httpx.Client) -> None:
    bare, wrapped, own = stream(
        client, OVAL, {"stone": OVAL}, {"stone": OVAL, "context": {"metal": "rose_gold"}}
    )
    assert bare["evaluation"] == wrapped["evaluation"]
    assert bare["evaluation"]["evaluation_id"] != own["evaluation"]["evaluation_id"]


@pytest.mark.parametrize(
    ("line", "code"),
    [
        pytest.param(b"{", "json_invalid", id="no json"),
        pytest.param(b"\xff", "json_invalid", id="no utf-8"),
        pytest.param(b'{"shape":"oval","shape":"oval"}', "json_duplicate_key", id="a name twice"),
        pytest.param(b"[" * 100, "json_invalid", id="unfinished"),
        pytest.param(b"[" * 100 + b"]" * 100, "json_too_deep", id="deep"),
        pytest.param(b"1", "request_invalid", id="no object"),
        pytest.param(b'{"shape":"emrald"}', "request_invalid", id="no shape"),
        pytest.param(b'{"stone":{"shape":"oval"},"when":1}', "request_invalid", id="unknown field"),
        pytest.param(b" " * LINE_LIMIT + b"{}", "body_too_large", id="too long"),
    ],
)
def test_a_bad_line_spoils_no_other(client: httpx.Client, line: bytes, code: str) -> None:
    before, bad, after = stream(client, OVAL, line, OVAL)
    assert (before["line"], bad["line"], after["line"]) == (1, 2, 3)
    assert bad["problem"]["code"] == code
    assert before["evaluation"] == after["evaluation"]


def test_blank_lines_are_counted_and_not_answered(client: httpx.Client) -> None:
    answered = stream(client, b"", OVAL, b"  ", b"\r", OVAL, b"", b"")
    assert [answer["line"] for answer in answered] == [2, 5]


def test_an_empty_body_gets_no_lines(client: httpx.Client) -> None:
    assert stream(client, b"") == []


@pytest.mark.parametrize(
    ("path", "headers", "status", "code"),
    [
        pytest.param(PATH, {"content-type": "application/json"}, 415, "media_type_unsupported", id="json"),
        pytest.param(
            PATH, {**NDJSON, "content-encoding": "gzip"}, 415, "encoding_unsupported", id="compressed"
        ),
        pytest.param(f"{PATH}&metal=silver", NDJSON, 422, "query_invalid", id="a parameter twice"),
        pytest.param(
            "/v1/evaluations/stream?ruleset=nobody", NDJSON, 404, "ruleset_unknown", id="unknown rules"
        ),
    ],
)
def test_what_holds_for_all_lines_is_refused_before_the_first(
    client: httpx.Client, path: str, headers: dict[str, str], status: int, code: str
) -> None:
    answer = client.post(path, content=b"{}", headers=headers)
    assert (answer.status_code, answer.json()["code"]) == (status, code)


def rows(count: int) -> Iterator[bytes]:
    for number in range(count):
        yield json.dumps({**OVAL, "id": str(number)}).encode() + b"\n"


def ids(lines: Iterator[bytes] | list[bytes]) -> list[str]:
    return [json.loads(line)["evaluation"]["stone_id"] for line in lines]


def test_no_line_is_lost_to_a_client_that_sends_a_known_length(server: str) -> None:
    answer = requests.post(server + PATH, data=b"".join(rows(2000)), headers=NDJSON, timeout=60)
    assert ids(answer.content.splitlines()) == [str(number) for number in range(2000)]


def test_no_line_is_lost_to_a_client_that_sends_chunk_by_chunk(server: str) -> None:
    answer = requests.post(server + PATH, data=rows(2000), headers=NDJSON, timeout=60)
    assert ids(answer.content.splitlines()) == [str(number) for number in range(2000)]


def test_no_line_is_lost_to_a_client_that_streams_both_ways(client: httpx.Client) -> None:
    with client.stream("POST", PATH, content=rows(2000), headers=NDJSON) as answer:
        found = [json.loads(line)["evaluation"]["stone_id"] for line in answer.iter_lines()]
    assert found == [str(number) for number in range(2000)]


def connect(server: str) -> socket.socket:
    host, port = server.removeprefix("http://").split(":")
    connection = socket.create_connection((host, int(port)), timeout=60)
    head = f"POST {PATH} HTTP/1.1\r\nhost: x\r\ncontent-type: application/x-ndjson\r\n"
    connection.sendall((head + "transfer-encoding: chunked\r\nconnection: close\r\n\r\n").encode())
    return connection


def send(connection: socket.socket, count: int) -> None:
    block = b""
    for row in rows(count):
        block += b"%x\r\n%s\r\n" % (len(row), row)
        if len(block) > LINE_LIMIT:
            connection.sendall(block)
            block = b""
    connection.sendall(block + b"0\r\n\r\n")


def read(connection: socket.socket) -> int:
    """How many answers came before the server closed."""
    found = 0
    tail = b""
    while chunk := connection.recv(1 << 20):
        found += (tail + chunk).count(b'{"line":')
        tail = chunk[-7:]
    return found


def test_a_client_may_send_everything_before_it_reads_anything(server: str) -> None:
    with connect(server) as connection:
        send(connection, MANY)
        assert read(connection) == MANY


def test_a_client_may_read_while_it_sends(server: str) -> None:
    with connect(server) as connection:
        sender = threading.Thread(target=send, args=(connection, MANY))
        sender.start()
        assert read(connection) == MANY
        sender.join()


def test_a_client_that_leaves_does_no_harm(server: str, client: httpx.Client) -> None:
    for _ in range(5):
        with connect(server) as connection:
            connection.sendall(b"5\r\n{}{}{\r\n")
    assert client.get("/health/ready").status_code == 200


@pytest.mark.parametrize("cut", range(1, 12))
def test_lines_do_not_depend_on_how_the_body_is_cut(cut: int) -> None:
    body = b"one\n\ntwo\r\nthree"
    lines = _Lines()
    found = []
    for start in range(0, len(body), cut):
        found += lines.take(body[start : start + cut], last=start + cut >= len(body))
    assert found == [(1, b"one"), (2, b""), (3, b"two\r"), (4, b"three")]
