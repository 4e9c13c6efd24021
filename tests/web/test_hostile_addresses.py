"""Paths, versions and queries that mean two things, or nothing.

All stones are invented.
"""

from typing import Final
from urllib.parse import quote

import pytest

from raw import BATCH, CANARY, JSON, METHODS, SINGLE, STONE, Wire, named, plain, problem

MAX_ADDRESS: Final = 8 * 1024


@pytest.mark.parametrize("host", ["127.0.0.1", f"{CANARY}.invalid"], ids=["own host", "other host"])
@pytest.mark.parametrize("path", [path for path in METHODS if path != "/"])
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_a_slash_at_the_end_leads_nowhere(wire: Wire, method: str, path: str, host: str) -> None:
    answer = wire.ask(method, f"{path}/", (*JSON, ("Host", host)), STONE.encode())
    problem(answer, 404, "not_found")
    assert "location" not in answer.headers


@pytest.mark.parametrize(
    "path",
    plain(
        [
            "/v1/rulesets/house%2F1.0.0",
            "/v1/rulesets/house%2f1.0.0%2frules%2fclarity.steps",
            "/v1%2Frulesets",
            "/%2Fv1/rulesets",
            "/v1/rulesets/..%2F..%2Fetc%2Fpasswd",
            "/v1/rulesets/..%2Fvocabulary",
            "/v1/rulesets/house%5C1.0.0",
            "/v1/rulesets/..%5c..%5cwindows",
            "/v1\\rulesets",
            "/v1/rulesets/\\house",
            "/v1//rulesets",
            "//v1/rulesets",
            "/v1/rulesets//",
            "//other.invalid/v1/rulesets",
            "/v1/rulesets/../vocabulary",
            "/v1/rulesets/..",
            "/v1/rulesets/.",
            "/./v1/rulesets",
            "/../../etc/passwd",
            "/v1/rulesets/%2e%2e/vocabulary",
            "/v1/rulesets/%2E%2E",
            "/v1/rulesets/.%2e/vocabulary",
            "/v1/rulesets/%2e",
            "/v1/rulesets/house%00",
            "/v1/rulesets/%00",
        ]
    ),
)
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_a_path_that_means_two_things_is_refused(wire: Wire, method: str, path: str) -> None:
    answer = wire.ask(method, path)
    problem(answer, 400, "bad_path")
    assert "location" not in answer.headers


@pytest.mark.parametrize(
    ("path", "code"),
    [
        (f"/{CANARY}", "not_found"),
        ("/v1", "not_found"),
        ("/V1/RULESETS", "not_found"),
        ("/v1/rulesets;x=1", "not_found"),
        ("/v1/rulesets%20", "not_found"),
        ("/v1/rulesets%3Fx", "not_found"),
        (f"/problems/{CANARY}", "not_found"),
        ("/etc/passwd", "not_found"),
        ("/.env", "not_found"),
        (f"/v1/rulesets/{CANARY}", "ruleset_unknown"),
        ("/v1/rulesets/HOUSE", "ruleset_unknown"),
        ("/v1/rulesets/house%0A", "ruleset_unknown"),
        ("/v1/rulesets/house@1.0.0", "ruleset_unknown"),
        ("/v1/rulesets/%FF", "ruleset_unknown"),
        ("/v1/rulesets/%252F", "ruleset_unknown"),
        ("/v1/rulesets/__proto__", "ruleset_unknown"),
        (f"/v1/rulesets/{CANARY}/1.0.0", "ruleset_unknown"),
        ("/v1/rulesets/house/9.9.9", "version_unknown"),
        (f"/v1/rulesets/house/1.0.0/rules/{CANARY}", "rule_unknown"),
        ("/v1/rulesets/house/1.0.0/rules/clarity", "rule_unknown"),
    ],
)
def test_what_is_not_there_is_not_found(wire: Wire, path: str, code: str) -> None:
    problem(wire.get(path), 404, code)


@pytest.mark.parametrize(
    "version",
    named(
        {
            "word": CANARY,
            "letter": "v1.0.0",
            "four parts": "1.0.0.0",
            "open": "1.",
            "negative": "-1",
            "space": " 1",
            "line break": "1\n",
            "two references": "1@1",
            "star": "*",
            "superscript": "\u00b2",
            "arabic digit": "\u0661",
            "devanagari digits": "\u0967.\u0966.\u0966",
            "54 digits": "9" * 54,
            "5000 digits": "9" * 5000,
            "5000 zeros": "0" * 5000,
        }
    ),
)
def test_a_version_is_written_in_plain_digits(wire: Wire, version: str) -> None:
    answer = wire.get(f"/v1/rulesets/house/{quote(version, safe='')}")
    assert answer.status == 404
    assert answer.document["code"] in {"version_unknown", "ruleset_unknown"}


@pytest.mark.parametrize(
    "target",
    named(
        {
            "byte beyond ascii": b"/v1/rulesets/\xff",
            "utf-8": "/v1/rulesets/\u00e9".encode(),
            "byte in the query": b"/v1/evaluations?shape=\xff",
            "control character": b"/v1/rulesets/a\x01",
            "nul": b"/v1/rulesets/a\x00",
        }
    ),
)
def test_an_address_of_other_bytes_is_no_request(wire: Wire, target: bytes) -> None:
    assert wire.get(target).status == 400


@pytest.mark.parametrize(
    ("target", "status"),
    [
        (f"/{'a' * (MAX_ADDRESS - 1)}", 404),
        (f"/{'a' * MAX_ADDRESS}", 414),
        (f"{SINGLE}?{'a' * (MAX_ADDRESS - len(SINGLE))}", 422),
        (f"{SINGLE}?{'a' * (MAX_ADDRESS - len(SINGLE) + 1)}", 414),
        (f"{SINGLE}?{'&'.join(['shape=oval'] * 3000)}", 414),
        (f"{SINGLE}?shape=oval&id={CANARY * 1000}", 414),
        (f"/v1/rulesets/{CANARY * 1000}", 414),
        ("/" + "%2F" * 3000, 414),
    ],
    ids=[
        "path of 8 KB", "path of one byte more", "query up to 8 KB", "query of one byte more",
        "3000 repeats", "long value", "long name", "long bad path",
    ],
)  # fmt: skip
def test_an_address_has_at_most_8_kb(wire: Wire, target: str, status: int) -> None:
    code = {404: "not_found", 414: "address_too_long", 422: "query_invalid"}[status]
    problem(wire.get(target), status, code)


@pytest.mark.parametrize(
    "query",
    named(
        {
            "nothing": "",
            "no shape": "carat=1",
            "name alone": "shape",
            "empty": "shape=",
            "unknown word": f"shape={CANARY}",
            "capitals": "Shape=oval",
            "repeat": "shape=oval&shape=oval",
            "repeat with another value": "shape=oval&carat=1&carat=2",
            "repeat under another spelling": "shape=oval&%73hape=oval",
            "600 repeats": "&".join(["shape=oval"] * 600),
            "brackets": "shape=oval&clarity[]=VS1",
            "encoded brackets": "shape=oval&clarity%5B%5D=VS1",
            "index": "shape=oval&clarity[0]=VS1",
            "nested": "shape=oval&context[metal]=platinum",
            "dotted": "shape=oval&context.metal=platinum",
            "comma": "shape=oval&clarity=VS1,VS2",
            "encoded comma": "shape=oval&clarity=VS1%2CVS2",
            "semicolon": "shape=oval;carat=1",
            "plus": "shape=oval&color=G+H",
            "unknown name": f"shape=oval&unknown={CANARY}",
            "600 unknown names": "&".join(f"u{number}=1" for number in range(600)),
            "field of the body": "shape=oval&report=1",
            "field around the body": "stone=oval",
            "observation": "shape=oval&bow_tie=none",
            "ampersand before": "&shape=oval",
            "ampersand after": "shape=oval&",
            "two ampersands": "shape=oval&&carat=1",
            "no name": "shape=oval&=1",
            "no name and no value": "shape=oval&=",
            "only ampersands": "&&&",
            "second question mark": "?shape=oval",
            "not utf-8": "shape=oval&id=%FF",
            "cut off character": "shape=oval&id=%E2%82",
            "half a character": "shape=oval&id=%ED%A0%80",
            "overlong": "shape=oval&id=%C0%AF",
            "bad percent": "shape=oval&id=%zz",
            "percent alone": "shape=oval&id=%",
            "percent with one digit": "shape=oval&id=%4",
            "bad percent in a name": "shape=oval&%zz=1",
            "nul": "shape=oval%00",
            "line break": "shape=oval%0A",
            "space": "shape=oval%20",
            "null": "shape=oval&carat=null",
            "quoted": "shape=%22oval%22",
            "object": "shape=oval&carat={}",
            "id too long": f"shape=oval&id={'x' * 65}",
            "id empty": "shape=oval&id=",
            "rule set empty": "shape=oval&ruleset=",
            "rule set with a line break": "shape=oval&ruleset=house%0A",
            "boolean as a number": "shape=oval&eye_clean=1",
            "boolean in capitals": "shape=oval&eye_clean=True",
            "boolean in words": "shape=oval&eye_clean=yes",
            "boolean empty": "shape=oval&eye_clean=",
        }
    ),
)
def test_a_query_is_as_strict_as_a_body(wire: Wire, query: str) -> None:
    problem(wire.get(f"{SINGLE}?{query}"), 422, "query_invalid")


@pytest.mark.parametrize(
    "text",
    plain(
        [CANARY, "", "2026-02-30", "2026-W50-1", "20260101", "20260101%20%20", "2026-01-01T00:00:00Z", "0"]
    ),
)
def test_a_date_in_a_query_has_one_spelling(wire: Wire, text: str) -> None:
    errors = problem(wire.get(f"{SINGLE}?shape=oval&as_of={text}"), 422, "query_invalid")
    assert [error["pointer"] for error in errors] == ["/as_of"]


@pytest.mark.parametrize("target", ["/v1/vocabulary", "/v1/rulesets", "/health/live", "/v1/rulesets/house"])
def test_a_query_where_none_is_known_is_refused(wire: Wire, target: str) -> None:
    problem(wire.get(f"{target}?unknown={CANARY}"), 422, "query_invalid")


@pytest.mark.parametrize("path", [SINGLE, BATCH])
def test_a_query_beside_a_body_is_refused(wire: Wire, path: str) -> None:
    problem(wire.post(STONE, f"{path}?shape=oval"), 422, "query_invalid")
