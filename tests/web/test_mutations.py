"""Valid requests with damaged bytes, thousands of them over one connection: none is a failure, none ends it.

The damage is drawn from a seed, so the same bodies are sent in every run. All stones are invented.
"""

import http.client
import json
import re
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing
from random import Random
from typing import Any, Final
from urllib.parse import urlsplit

import pytest

from gradefloor.web.examples import BODIES
from raw import BATCH, SINGLE

SEED: Final = 20260101
MUTANTS: Final = 3000
MANY: Final = 200_000
# Every level and every kind of member that a request may have.
_FULL: Final = {
    "stone": {
        "id": "tray 7/3 \N{GEM STONE}",
        "material": "diamond",
        "origin": "laboratory_grown",
        "shape": "pear",
        "carat": 2.01,
        "color": "G-H",
        "clarity": "VS1-VS2",
        "length_mm": 10.5,
        "width_mm": 6.81,
        "depth_mm": 4.2,
        "table_pct": 58.5,
        "depth_pct": 61.7,
        "polish": "excellent",
        "girdle_min": "thin",
        "girdle_max": "slightly_thick",
        "treatments": ["hpht", "annealed"],
        "report": {
            "issuer": "Some Laboratory",
            "number": "0012345",
            "date": "2025-10-01",
            "comments": ["Additional clouds are not shown.", "See the accompanying letter."],
            "assessment": "premium",
        },
        "observations": {
            "eye_clean": True,
            "bow_tie": "slight",
            "inclusion": {"type": "feather", "place": "girdle", "relief": "low", "size_mm": 0.2},
            "seen_on": "2026-01-01",
            "distance_mm": 300,
        },
    },
    "context": {"metal": "yellow_gold", "position": "center", "jewelry": "ring", "protection": "v_claws"},
    "ruleset": "house@1",
    "as_of": "2026-06-01",
}
VALID: Final[list[tuple[str, Any]]] = [
    *((SINGLE, body["value"]) for body in BODIES["evaluateStone"].values()),
    *((BATCH, body["value"]) for body in BODIES["evaluateStones"].values()),
    (SINGLE, _FULL),
    (BATCH, {"stones": [_FULL["stone"], {"shape": "round"}], "context": None}),
]
# What readers of JSON stumble over, put in at any place.
TOKENS: Final = (
    b"NaN", b"-Infinity", b"1e400", b"-0", b"1e-400", b"9007199254740993", b"0.1", b"01", b"1.", b"null",
    b"true", b'""', b"{}", b"[]", b"[" * 40, b'{"a":' * 40, b"\\ud800", b"\\udfff", b"\\u0000", b"\\", b'"',
    b"\x00", b"\xff", b"\xc0\xaf", b"\xed\xa0\x80", b"\xef\xbb\xbf", b"\xf0\x9f\x92\x8e", b",", b":",
    b'"carat":1,', b'"shape":"oval",', b"\n", b"9" * 400, b"-", b"2026-02-30", b"FL-FL", b"@",
)  # fmt: skip
# Values that any reader takes, in a place where they may not belong.
VALUES: Final = (
    b"null", b"true", b"0", b"-1", b"1", b"1.0", b"0.001", b"1e2", b"1e400", b"9007199254740993", b'""',
    b'"x"', b'"G"', b'"D-D"', b'"FL"', b'"VS2-VS1"', b'"pear"', b'"round"', b'"none"', b'"good"', b"{}",
    b"[]", b"[1]", b'"2026-02-29"', b'"9999-12-31"', b'"0001-01-01"', b'"house@1"', b'"strict"', b'"\\u0000"',
)  # fmt: skip

MEMBER: Final = re.compile(rb':\s*("[^"]*"|[^\s",{}\[\]]+)')

Mutation = Callable[[Random, bytes], bytes]


def _place(chance: Random, body: bytes) -> int:
    return chance.randrange(len(body) + 1)


def flip(chance: Random, body: bytes) -> bytes:
    """One bit."""
    place = _place(chance, body)
    return (
        body[:place]
        + bytes(byte ^ (1 << chance.randrange(8)) for byte in body[place : place + 1])
        + (body[place + 1 :])
    )


def replace(chance: Random, body: bytes) -> bytes:
    """One byte by any other."""
    place = _place(chance, body)
    return body[:place] + chance.randbytes(1) + body[place + 1 :]


def drop(chance: Random, body: bytes) -> bytes:
    """A few bytes."""
    place = _place(chance, body)
    return body[:place] + body[place + chance.randrange(1, 12) :]


def repeat(chance: Random, body: bytes) -> bytes:
    """A few bytes, or many, twice."""
    start, end = sorted((_place(chance, body), _place(chance, body)))
    return body[:end] + body[start:end] + body[end:]


def cut(chance: Random, body: bytes) -> bytes:
    """All that follows."""
    return body[: _place(chance, body)]


def stumble(chance: Random, body: bytes) -> bytes:
    """A token put in."""
    place = _place(chance, body)
    return body[:place] + chance.choice(TOKENS) + body[place:]


def trade(chance: Random, body: bytes) -> bytes:
    """One value of a member, if it is neither a list nor an object, by another."""
    members = [found.span(1) for found in MEMBER.finditer(body)]
    if not members:
        return body
    start, end = chance.choice(members)
    return body[:start] + chance.choice(VALUES) + body[end:]


MUTATIONS: Final[tuple[Mutation, ...]] = (
    flip, replace, drop, repeat, cut, stumble, trade, trade, trade, trade, trade, trade,
)  # fmt: skip


def mutants(valid: list[tuple[str, Any]], count: int) -> Iterator[tuple[str, bytes]]:
    chance = Random(SEED)  # noqa: S311 - chance that can be repeated, not secrets
    bodies = [(path, json.dumps(value, ensure_ascii=False).encode()) for path, value in valid]
    for _ in range(count):
        path, body = chance.choice(bodies)
        for _ in range(chance.choice((1, 1, 1, 2, 4))):
            body = chance.choice(MUTATIONS)(chance, body)
        yield path, body


def test_the_bodies_are_valid_before_they_are_damaged(server: str) -> None:
    with closing(_connect(server)) as connection:
        for path, value in VALID:
            assert _ask(connection, path, json.dumps(value).encode())[0] == 200, value


def test_no_damaged_body_is_a_failure_or_ends_the_connection(server: str) -> None:
    statuses = answers_to(server, VALID, MUTANTS)
    # The damage reaches the reader, the validation and the judge.
    assert min(statuses[status] for status in (200, 400, 422)) > MUTANTS / 50, statuses


@pytest.mark.long
@pytest.mark.parametrize(
    ("what", "valid", "count"),
    [
        ("evaluations", VALID, MANY),
        ("readings", [("/v1/readings", body["value"]) for body in BODIES["readRows"].values()], MANY // 10),
        ("wording", [("/v1/wording", body["value"]) for body in BODIES["auditWording"].values()], MANY // 10),
    ],
)
def test_none_of_very_many_is(server: str, what: str, valid: list[tuple[str, Any]], count: int) -> None:
    statuses = answers_to(server, valid, count)
    sys.stdout.write(f"{what}: {statuses.total()} damaged bodies, {dict(sorted(statuses.items()))}\n")
    assert statuses.total() == count


def answers_to(server: str, valid: list[tuple[str, Any]], count: int) -> Counter[int]:
    """How often each status was answered; any failure, any problem of another shape ends it."""
    statuses: Counter[int] = Counter()
    with closing(_connect(server)) as connection:
        for path, body in mutants(valid, count):
            status, media_type, answer = _ask(connection, path, body)
            assert status in {200, 400, 404, 413, 422}, body
            if status != 200:
                assert (media_type, answer["status"]) == ("application/problem+json", status), body
            statuses[status] += 1
    return statuses


def _connect(server: str) -> http.client.HTTPConnection:
    """A connection that is never opened again, once it is dropped."""
    url = urlsplit(server)
    connection = http.client.HTTPConnection(url.hostname or "", url.port, timeout=30)
    connection.connect()
    connection.auto_open = 0
    return connection


def _ask(
    connection: http.client.HTTPConnection, path: str, body: bytes
) -> tuple[int, str | None, dict[str, object]]:
    connection.request("POST", path, body, {"Content-Type": "application/json"})
    response = connection.getresponse()
    answer: dict[str, object] = json.loads(response.read())
    assert not response.will_close, body
    return response.status, response.getheader("Content-Type"), answer
