"""Bodies that are no JSON, or that readers of JSON disagree about; too deep, too large, or not text at all.

All stones are invented.
"""

import gzip
import json
from typing import Final

import pytest

from gradefloor.web.gate import LIST_LIMIT, MAX_DEPTH, SINGLE_LIMIT
from raw import BATCH, CANARY, JSON, SINGLE, STONE, Wire, at, named, plain, problem


@pytest.mark.parametrize(
    "body",
    named(
        {
            "grade": at("/stone/clarity", '"\\ud800"'),
            "low half": at("/stone/clarity", '"\\udfff"'),
            "halves in the wrong order": at("/stone/id", '"\\ude00\\ud83d"'),
            "high half before text": at("/stone/id", '"\\ud83dx"'),
            "free text": at("/stone/report/issuer", '"a\\udc00b"'),
            "in a list": at("/stone/report/comments", '["\\ud800"]'),
            "enumeration": '{"stone":{"shape":"\\ud800"}}',
            "date": at("/as_of", '"2026-01-0\\ud800"'),
            "rule set": at("/ruleset", '"\\ud800"'),
            "name": '{"stone":{"shape":"oval"},"\\ud800":1}',
            "nested name": at("/stone/\\udfff", "1"),
            "bytes of a half": b'{"stone":{"shape":"oval","id":"\xed\xa0\x80"}}',
        }
    ),
)
def test_half_a_character_is_not_json(wire: Wire, body: str | bytes) -> None:
    assert not problem(wire.post(body), 400, "json_invalid")


@pytest.mark.parametrize(
    "body",
    named(
        {
            "not a byte of utf-8": b'{"stone":{"shape":"oval","clarity":"VS\xff"}}',
            "cut off": b'{"stone":{"shape":"oval","id":"\xe2\x82"}}',
            "overlong": b'{"stone":{"shape":"oval","id":"\xc0\xaf"}}',
            "beyond unicode": b'{"stone":{"shape":"oval","id":"\xf4\x90\x80\x80"}}',
            "in a name": b'{"stone":{"shape":"oval","\xff":1}}',
            "latin-1": '{"stone":{"shape":"oval","id":"é"}}'.encode("latin-1"),
            "utf-16": STONE.encode("utf-16"),
            "utf-16 without a mark": STONE.encode("utf-16-le"),
            "utf-32": STONE.encode("utf-32"),
            "byte order mark": STONE.encode("utf-8-sig"),
            "no text at all": b"\xff\xfe\x00",
            "compressed": gzip.compress(STONE.encode()),
        }
    ),
)
def test_only_utf_8_is_read(wire: Wire, body: bytes) -> None:
    assert not problem(wire.post(body), 400, "json_invalid")


@pytest.mark.parametrize(
    "text",
    plain(["\x00\x1f", "\u2028\u2029", "\r\nSet-Cookie: a=b", "</script>", "\U0010ffff", "[" * 64, "{" * 64]),
)
def test_a_reference_comes_back_as_it_was(wire: Wire, text: str) -> None:
    answer = wire.post(at("/stone/id", json.dumps(text)))
    assert (answer.status, answer.document["stone_id"]) == (200, text)
    assert "set-cookie" not in answer.headers


def test_length_is_counted_in_characters(wire: Wire) -> None:
    text = "\N{GEM STONE}" * 64
    answer = wire.post(at("/stone/id", json.dumps(text)))
    assert (answer.status, answer.document["stone_id"]) == (200, text)


@pytest.mark.parametrize(
    "body",
    named(
        {
            "empty": "",
            "spaces": " \r\n\t ",
            "cut off": STONE[:-1],
            "one brace": "{",
            "comma at the end": '{"stone":{"shape":"oval"},}',
            "comma in a list": at("/stone/treatments", '["coated",]'),
            "something after the end": STONE + CANARY,
            "two documents": STONE + STONE,
            "two lines": STONE + "\n" + STONE,
            "nul after the end": STONE + "\0",
            "comment": STONE + "// " + CANARY,
            "block comment": "/**/" + STONE,
            "single quotes": STONE.replace('"', "'"),
            "names without quotes": "{stone:{shape:1}}",
            "names that are numbers": '{"stone":{"shape":"oval"},1:2}',
            "undefined": at("/stone/carat", "undefined"),
            "capital true": at("/stone/observations/eye_clean", "True"),
            "leading zero": at("/stone/carat", "01"),
            "plus": at("/stone/carat", "+1"),
            "bare fraction": at("/stone/carat", ".5"),
            "bare point": at("/stone/carat", "1."),
            "hexadecimal": at("/stone/carat", "0x1"),
            "underscore": at("/stone/carat", "1_0"),
            "bare exponent": at("/stone/carat", "1e"),
            "two signs": at("/stone/carat", "--1"),
            "line break in a text": at("/stone/id", '"a\nb"'),
            "tabulator in a text": at("/stone/id", '"a\tb"'),
            "unknown escape": at("/stone/id", '"\\x41"'),
            "short escape": at("/stone/id", '"\\u12"'),
            "text without an end": '{"stone":{"shape":"oval',
            "vertical tabulator before": "\x0b" + STONE,
            "no-break space before": "\u00a0" + STONE,
            "form": "stone=oval",
            "markup": f"<stone>{CANARY}</stone>",
            "yaml": "stone:\n  shape: oval",
            "guarded": ")]}'," + STONE,
        }
    ),
)
def test_what_is_not_json_is_refused(wire: Wire, body: str) -> None:
    assert not problem(wire.post(body), 400, "json_invalid")


@pytest.mark.parametrize("path", [SINGLE, BATCH])
@pytest.mark.parametrize("body", plain(["null", "[]", f'"{CANARY}"', "1", "true", '[{"shape":"oval"}]']))
def test_a_request_is_an_object(wire: Wire, path: str, body: str) -> None:
    errors = problem(wire.post(body, path), 422, "request_invalid")
    assert [error["pointer"] for error in errors] == [""]


def test_spaces_around_a_request_do_not_matter(wire: Wire) -> None:
    assert wire.post(" \r\n\t" + STONE + "\n").body == wire.post(STONE).body


def nested(depth: int, opened: str = "[", closed: str = "]", path: str = SINGLE) -> str:
    """A request of so many levels, the innermost ones in a field that nobody knows."""
    inner = depth - (2 if path == SINGLE else 3)
    deep = opened * inner + ("1" if opened.endswith(":") else "") + closed * inner
    stone = f'{{"shape":"oval","unknown":{deep}}}'
    return f'{{"stone":{stone}}}' if path == SINGLE else f'{{"stones":[{stone}]}}'


@pytest.mark.parametrize(("opened", "closed"), [("[", "]"), ('{"a":', "}")], ids=["lists", "objects"])
@pytest.mark.parametrize("depth", [33, 34, 199, 200, 201, 202, 203, 1000, 5000])
def test_more_than_32_levels_are_too_deep(wire: Wire, depth: int, opened: str, closed: str) -> None:
    assert not problem(wire.post(nested(depth, opened, closed)), 400, "json_too_deep")


@pytest.mark.parametrize(("opened", "closed"), [("[", "]"), ('{"a":', "}")], ids=["lists", "objects"])
@pytest.mark.parametrize("depth", [33, 1000, 100_000])
def test_more_than_32_levels_in_a_list_are_too_deep(wire: Wire, depth: int, opened: str, closed: str) -> None:
    assert not problem(wire.post(nested(depth, opened, closed, BATCH), BATCH), 400, "json_too_deep")


@pytest.mark.parametrize(("opened", "closed"), [("[", "]"), ('{"a":', "}")], ids=["lists", "objects"])
def test_32_levels_are_not_too_deep(wire: Wire, opened: str, closed: str) -> None:
    errors = problem(wire.post(nested(MAX_DEPTH, opened, closed)), 422, "request_invalid")
    assert [error["pointer"] for error in errors] == ["/stone/unknown"]


@pytest.mark.parametrize("body", plain(["[" * 1000, '{"a":' * 1000, "[{" * 500]))
def test_levels_that_are_never_closed_are_refused(wire: Wire, body: str) -> None:
    assert wire.post(body).status == 400


def test_many_brackets_side_by_side_are_not_deep(wire: Wire) -> None:
    errors = problem(wire.post(at("/stone/unknown", str([[]] * 500))), 422, "request_invalid")
    assert [error["pointer"] for error in errors] == ["/stone/unknown"]


@pytest.mark.parametrize(
    ("path", "body"),
    [
        pytest.param(SINGLE, '{"stone":{"shape":"oval"},"stone":{"shape":"oval"}}', id="at the top"),
        pytest.param(SINGLE, '{"stone":{"shape":"oval","carat":1,"carat":99}}', id="nested"),
        pytest.param(SINGLE, '{"stone":{"shape":"oval","shape":"oval"}}', id="same value"),
        pytest.param(SINGLE, '{"stone":{"shape":"oval","carat":1,"\\u0063arat":1}}', id="escaped"),
        pytest.param(SINGLE, f'{{"stone":{{"shape":"oval","{CANARY}":1,"{CANARY}":1}}}}', id="unknown"),
        pytest.param(SINGLE, at("/stone/report", '{"issuer":"a","issuer":"b"}'), id="in a report"),
        pytest.param(SINGLE, at("/stone/unknown", '[[{"a":1,"a":1}]]'), id="in an unknown field"),
        pytest.param(SINGLE, at("/stone/unknown", '{" at line ":1," at line ":1}'), id="misleading"),
        pytest.param(SINGLE, '{"stone":{"shape":"oval"},"":1,"":1}', id="no name"),
        pytest.param(BATCH, '{"stones":[],"stones":[]}', id="in a list request"),
        pytest.param(BATCH, '{"stones":[{"shape":"oval"},{"shape":"oval","carat":1,"carat":1}]}', id="item"),
    ],
)
def test_a_name_occurs_once(wire: Wire, path: str, body: str) -> None:
    assert not problem(wire.post(body, path), 400, "json_duplicate_key")


@pytest.mark.parametrize(("extra", "status"), [(0, 200), (1, 413)], ids=["64 KB", "one byte more"])
def test_a_single_request_has_at_most_64_kb(wire: Wire, extra: int, status: int) -> None:
    answer = wire.post(STONE.ljust(SINGLE_LIMIT + extra))
    assert answer.status == status


@pytest.mark.parametrize(
    ("path", "limit"), [(SINGLE, SINGLE_LIMIT), (BATCH, LIST_LIMIT)], ids=["single", "list"]
)
def test_a_body_that_says_it_is_too_large_is_not_waited_for(wire: Wire, path: str, limit: int) -> None:
    headers = (*JSON, ("Content-Length", str(limit + 1)))
    problem(wire.ask("POST", path, headers), 413, "body_too_large")


def chunked(body: bytes, size: int = 4096) -> bytes:
    """RFC 9112, section 7.1."""
    parts = [body[start : start + size] for start in range(0, len(body), size)]
    return b"".join(b"%x\r\n%s\r\n" % (len(part), part) for part in parts) + b"0\r\n\r\n"


CHUNKED: Final = (*JSON, ("Transfer-Encoding", "chunked"))


def test_a_body_of_no_stated_length_is_read(wire: Wire) -> None:
    assert wire.post(chunked(STONE.encode(), size=1), headers=CHUNKED).status == 200


def test_a_body_of_no_stated_length_has_the_same_limit(wire: Wire) -> None:
    body = chunked(STONE.encode().ljust(SINGLE_LIMIT + 1))
    problem(wire.post(body, headers=CHUNKED), 413, "body_too_large")


def test_a_list_may_be_larger_than_a_single_request(wire: Wire) -> None:
    assert wire.post('{"stones":[]}'.ljust(4 * SINGLE_LIMIT), BATCH).status == 200
