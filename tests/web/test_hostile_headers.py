"""Headers and methods that mislead; answers that were kept; and what is told when we are at fault.

All stones are invented.
"""

import asyncio
import gzip
import zlib
from datetime import datetime

import httpx
import pytest

from gradefloor.rules.catalog import Catalog
from gradefloor.web.app import create_app
from gradefloor.web.gate import LIST_LIMIT
from gradefloor.web.problems import KINDS
from gradefloor.web.service import Service
from raw import BATCH, CANARY, GET_PATHS, JSON, METHODS, SINGLE, STONE, Wire, named, problem


@pytest.mark.parametrize(
    "media_type",
    named(
        {
            "none": None,
            "empty": "",
            "text": "text/plain",
            "text with charset": "text/plain; charset=utf-8",
            "bytes": "application/octet-stream",
            "form": "application/x-www-form-urlencoded",
            "form data": "multipart/form-data; boundary=x",
            "another json": "application/vnd.api+json",
            "problem": "application/problem+json",
            "lines": "application/x-ndjson",
            "old json": "text/json",
            "longer": "application/jsonx",
            "list": "application/json, text/plain",
            "hidden": "text/plain; application/json",
            "any": "*/*",
            "utf-16": "application/json; charset=utf-16",
            "latin-1": "application/json; charset=iso-8859-1",
            "two charsets": "application/json; charset=utf-8; charset=utf-16",
            "charset in two parts": "application/json; char;set=utf-8",
            "canary": f"{CANARY}/json",
            "canary as charset": f"application/json; charset={CANARY}",
            "not ascii": "application/json\xff",
        }
    ),
)
@pytest.mark.parametrize("body", named({"json": STONE.encode(), "no text": b"\xff\xfe\x00", "empty": b""}))
@pytest.mark.parametrize("path", [SINGLE, BATCH])
def test_only_json_in_utf_8_is_read(wire: Wire, path: str, media_type: str | None, body: bytes) -> None:
    headers = () if media_type is None else (("Content-Type", media_type),)
    answer = wire.post(body, path, headers)
    problem(answer, 415, "media_type_unsupported")
    assert answer.headers["accept"] == "application/json"


@pytest.mark.parametrize(
    "types", [("application/json", "text/plain"), ("text/plain", "application/json")], ids="-".join
)
def test_two_media_types_are_none(wire: Wire, types: tuple[str, str]) -> None:
    headers = tuple(("Content-Type", media_type) for media_type in types)
    problem(wire.post(STONE, headers=headers), 415, "media_type_unsupported")


@pytest.mark.parametrize(
    "media_type",
    [
        "application/json",
        "APPLICATION/JSON",
        "application/json;charset=utf-8",
        "application/json; charset=UTF-8",
        'application/json; charset="utf-8"',
        "application/json;",
    ],
)
def test_json_in_utf_8_may_be_named_in_several_ways(wire: Wire, media_type: str) -> None:
    assert wire.post(STONE, headers=(("Content-Type", media_type),)).status == 200


@pytest.mark.parametrize(
    "encodings",
    named(
        {
            "gzip": ["gzip"],
            "x-gzip": ["x-gzip"],
            "brotli": ["br"],
            "zstandard": ["zstd"],
            "deflate": ["deflate"],
            "compress": ["compress"],
            "capitals": ["GZIP"],
            "twice": ["gzip, gzip"],
            "after identity": ["identity, gzip"],
            "on a second line": ["identity", "gzip"],
            "unknown": [CANARY],
        }
    ),
)
@pytest.mark.parametrize(
    "body",
    named(
        {
            "json": STONE.encode(),
            "gzip": gzip.compress(STONE.encode()),
            "deflate": zlib.compress(b" " * LIST_LIMIT),
        }
    ),
)
def test_nothing_is_decompressed(wire: Wire, encodings: list[str], body: bytes) -> None:
    headers = (*JSON, *(("Content-Encoding", encoding) for encoding in encodings))
    answer = wire.post(body, headers=headers)
    problem(answer, 415, "encoding_unsupported")
    assert answer.headers["accept-encoding"] == "identity"


@pytest.mark.parametrize("encoding", ["identity", "Identity"])
def test_a_body_may_say_that_it_is_not_compressed(wire: Wire, encoding: str) -> None:
    assert wire.post(STONE, headers=(*JSON, ("Content-Encoding", encoding))).status == 200


@pytest.mark.parametrize("host", [f"{CANARY}.invalid", "", "a b", "127.0.0.1:99999", "[::1", f"{CANARY}@x"])
@pytest.mark.parametrize("path", ["/docs", "/openapi.json", "/v1/rulesets", "/nothing"])
def test_the_host_that_was_asked_for_changes_nothing(wire: Wire, path: str, host: str) -> None:
    assert wire.get(path, (("Host", host),)).body == wire.get(path).body


@pytest.mark.parametrize(
    ("method", "path"),
    [
        (method, path)
        for path, allowed in METHODS.items()
        for method in ("PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "PROPFIND", "POST", "GET")
        if method not in allowed.split(", ")
    ],
)
def test_other_methods_are_told_which_there_are(wire: Wire, method: str, path: str) -> None:
    answer = wire.ask(method, path)
    problem(answer, 405, "method_not_allowed")
    assert answer.headers["allow"] == METHODS[path]


def _filled(path: str) -> str:
    """A path of the contract with something in every place."""
    parts = {"name": "house", "version": "1.0.0", "id": "clarity.steps", "shape": "emerald"}
    return path.format(**parts)


def test_the_methods_are_those_of_the_contract(client: httpx.Client) -> None:
    paths = client.get("/openapi.json").json()["paths"]
    filled = {
        _filled(path): {
            *map(str.upper, methods),
            *(["HEAD"] if "get" in methods else []),
        }
        for path, methods in paths.items()
    }
    described = {path: set(methods.split(", ")) for path, methods in METHODS.items() if path in filled}
    assert described == filled


@pytest.mark.parametrize("method", ["PUT", "OPTIONS", "DELETE", "POST"])
def test_a_path_that_is_not_there_is_not_found_by_any_method(wire: Wire, method: str) -> None:
    problem(wire.ask(method, f"/{CANARY}"), 404, "not_found")


@pytest.mark.parametrize(
    "target",
    [
        *GET_PATHS,
        f"{SINGLE}?shape=oval",
        SINGLE,
        f"{SINGLE}?shape={CANARY}",
        BATCH,
        "/nothing",
        "/v1/rulesets/nothing",
        "/v1/rulesets/",
        "/v1/rulesets/a%2Fb",
        "/problems/nothing",
    ],
)
def test_head_is_get_without_the_body(wire: Wire, target: str) -> None:
    head, get = wire.ask("HEAD", target), wire.get(target)
    assert (head.status, head.steady_headers, head.body) == (get.status, get.steady_headers, b"")
    assert head.headers["content-length"] == str(len(get.body))


@pytest.mark.parametrize(
    ("lines", "status"),
    [
        (["{tag}"], 304),
        (["W/{tag}"], 304),
        (["*"], 304),
        ([" * "], 304),
        (['"other", {tag}'], 304),
        (['"other",W/{tag} '], 304),
        ([', "other", , {tag},'], 304),
        (['"a,b", {tag}'], 304),
        (['"other"', "{tag}"], 304),
        (['"other"'], 200),
        ([""], 200),
        ([","], 200),
        (['""'], 200),
        (['"*"'], 200),
        (["w/{tag}"], 200),
        (["{bare}"], 200),
        (["'{bare}'"], 200),
        (["\xff"], 200),
        ([CANARY], 200),
        (['"x", ' * 1000], 200),
    ],
    ids=[
        "the tag", "weak", "star", "star among spaces", "second", "weak second", "empty members",
        "comma in a tag", "second line", "another", "empty", "comma", "empty tag", "star as a tag",
        "weak in lower case", "without quotes", "single quotes", "not ascii", "no tag at all", "a thousand",
    ],
)  # fmt: skip
@pytest.mark.parametrize("method", ["GET", "HEAD"])
def test_if_none_match_is_read_as_rfc_9110_says(
    wire: Wire, method: str, lines: list[str], status: int
) -> None:
    tag = wire.get("/v1/vocabulary").headers["etag"]
    values = [line.replace("{tag}", tag).replace("{bare}", tag.strip('"')) for line in lines]
    answer = wire.ask(method, "/v1/vocabulary", tuple(("If-None-Match", value) for value in values))
    assert (answer.status, answer.headers["etag"]) == (status, tag)
    assert bool(answer.body) == (status == 200 and method == "GET")


def test_a_kept_answer_has_the_headers_of_a_new_one(wire: Wire) -> None:
    new, kept = wire.get("/v1/vocabulary"), wire.get("/v1/vocabulary", (("If-None-Match", "*"),))
    assert kept.headers["cache-control"] == new.headers["cache-control"]


def test_a_problem_is_never_what_was_kept(wire: Wire) -> None:
    problem(wire.get("/v1/rulesets/nothing", (("If-None-Match", "*"),)), 404, "ruleset_unknown")


def test_what_is_posted_is_never_what_was_kept(wire: Wire) -> None:
    assert wire.post(STONE, headers=(*JSON, ("If-None-Match", "*"))).status == 200


def test_the_contract_is_the_same_bytes_in_every_application(wire: Wire, catalog: Catalog) -> None:
    async def served() -> bytes:
        transport = httpx.ASGITransport(create_app(Service(catalog)))
        async with httpx.AsyncClient(transport=transport, base_url="http://test.invalid") as client:
            return (await client.get("/openapi.json")).content

    assert asyncio.run(served()) == asyncio.run(served()) == wire.get("/openapi.json").body


def _broken_clock() -> datetime:
    raise RuntimeError(CANARY)


@pytest.mark.parametrize("method", ["GET", "POST", "HEAD"])
def test_a_fault_of_ours_tells_nothing_of_the_inside(catalog: Catalog, method: str) -> None:
    app = create_app(Service(catalog, _broken_clock))

    async def asked() -> httpx.Response:
        transport = httpx.ASGITransport(app, raise_app_exceptions=False)
        async with httpx.AsyncClient(transport=transport, base_url="http://test.invalid") as client:
            if method == "POST":
                return await client.post(SINGLE, json={"stone": {"shape": "oval"}})
            return await client.request(method, SINGLE, params={"shape": "oval"})

    answer = asyncio.run(asked())
    assert (answer.status_code, answer.headers["content-type"]) == (500, "application/problem+json")
    if method != "HEAD":
        assert answer.json() == {
            "type": "/problems/internal_error",
            "title": KINDS["internal_error"].title,
            "status": 500,
            "code": "internal_error",
            "detail": KINDS["internal_error"].repair,
        }
    assert CANARY not in answer.text
