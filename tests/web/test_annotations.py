"""`/v1/annotations` over the wire, and the script that shows it in a page. All stones are invented."""

import json
from typing import Any

import httpx
import pytest

from gradefloor.web.annotations import PATH, SCRIPT_PATH
from running import running_server

NOW: dict[str, Any] = {"ruleset": "house@1.3.0", "wording_ruleset": "wording@1.0.0", "as_of": "2026-11-25"}
STONE: dict[str, Any] = {
    "shape": "emerald", "origin": "natural", "carat": 1.46, "color": "G", "clarity": "VS2",
    "length_mm": 7.69, "width_mm": 5.65, "depth_mm": 3.73,
}  # fmt: skip
SHOP = "https://shop.example"


def ask(client: httpx.Client, *listings: dict[str, Any], **more: Any) -> Any:
    answer = client.post(PATH, json={**NOW, "listings": listings, **more})
    assert answer.status_code == 200, answer.text
    return answer.json()


def get(client: httpx.Client, /, headers: Any = None, **query: Any) -> httpx.Response:
    return client.get(PATH, params={**STONE, "market": "US", **query}, headers=headers)


def test_a_listing_that_cannot_be_read_gets_its_problem_in_place(client: httpx.Client) -> None:
    answer = ask(client, {"stone": STONE, "market": "US"}, {"stone": {"shape": "ovel"}, "market": "US"})
    assert [result.get("verdict", result.get("code")) for result in answer["results"]] == [
        "ask",
        "request_invalid",
    ]
    assert answer["results"][1]["errors"][0]["pointer"] == "/listings/1/stone/shape"


def test_an_address_answers_as_a_post_does(client: httpx.Client) -> None:
    posted = ask(client, {"stone": STONE, "context": {"metal": "platinum"}, "market": "US"})
    assert get(client, metal="platinum", **NOW).json() == posted


@pytest.mark.parametrize(
    ("query", "kept"),
    [
        ({}, "public, max-age=300"),
        ({"ruleset": "house@1.3.0", "as_of": "2026-11-25"}, "public, max-age=300"),
        ({**NOW, "ruleset": "house"}, "public, max-age=300"),
        (NOW, "public, max-age=31536000, immutable"),
    ],
)
def test_an_answer_is_kept_for_ever_only_where_everything_is_exact(
    client: httpx.Client, query: dict[str, Any], kept: str
) -> None:
    assert get(client, **query).headers["cache-control"] == kept


@pytest.mark.parametrize(("market", "language"), [("US", "en"), ("FR", "fr"), ("CA", "en")])
def test_an_answer_names_its_language(client: httpx.Client, market: str, language: str) -> None:
    answer = get(client, market=market)
    assert answer.headers["content-language"] == language
    assert answer.json()["results"][0]["language"] == language


def test_a_market_is_needed(client: httpx.Client) -> None:
    answer = client.get(PATH, params=STONE)
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"] == "/market"


@pytest.mark.parametrize(
    ("count", "asked", "worked_out"),
    [(1, None, True), (1, False, False), (50, None, True), (51, None, False), (51, True, True)],
)
def test_what_fits_is_worked_out_for_few_listings_or_where_asked_for(
    client: httpx.Client, count: int, asked: bool | None, worked_out: bool
) -> None:
    answer = ask(client, *[{"stone": {"shape": "round"}, "market": "US"}] * count, fits=asked)
    assert {result["fits"] is not None for result in answer["results"]} == {worked_out}


def test_the_script_text_is_the_object_and_closes_no_element(client: httpx.Client) -> None:
    hostile = {"id": "</script><script>alert(1)</script>", **STONE, "report": {"number": "<!--\u2028"}}
    (result,) = ask(client, {"stone": hostile, "market": "US"})["results"]
    assert json.loads(result["jsonld_script"]) == result["jsonld"]
    assert not {"<", ">", "&", "\u2028"} & set(result["jsonld_script"])


@pytest.mark.parametrize("ruleset", ["wording", "house@9.9.9", "unknown"])
def test_rules_that_judge_no_stones_are_a_404(client: httpx.Client, ruleset: str) -> None:
    assert get(client, ruleset=ruleset).status_code == 404


# Pages of other hosts


def test_any_page_may_load_the_script(client: httpx.Client) -> None:
    answer = client.get(SCRIPT_PATH)
    assert answer.headers["content-type"] == "text/javascript; charset=utf-8"
    assert answer.headers["access-control-allow-origin"] == "*"
    assert answer.headers["cross-origin-resource-policy"] == "cross-origin"
    assert "innerHTML" not in answer.text


def test_no_page_of_another_host_may_read_where_none_is_named(client: httpx.Client) -> None:
    assert "access-control-allow-origin" not in get(client, {"Origin": SHOP}).headers


def test_only_the_pages_of_a_named_origin_may_read_and_never_with_credentials() -> None:
    with running_server("--allow-origin", SHOP) as address, httpx.Client(base_url=address) as client:
        named, other, none = (
            get(client, headers) for headers in ({"Origin": SHOP}, {"Origin": f"{SHOP}.evil.example"}, None)
        )
        refused = client.get(PATH, headers={"Origin": SHOP})
        asked_first = client.options(
            "/v1/evaluations", headers={"Origin": SHOP, "Access-Control-Request-Method": "POST"}
        )
        asked_by_others = client.options(
            "/v1/evaluations",
            headers={"Origin": "https://evil.example", "Access-Control-Request-Method": "POST"},
        )
    assert named.headers["access-control-allow-origin"] == SHOP
    assert (refused.status_code, refused.headers["access-control-allow-origin"]) == (422, SHOP)
    assert (asked_first.status_code, asked_first.headers["access-control-allow-origin"]) == (204, SHOP)
    assert "authorization" in asked_first.headers["access-control-allow-headers"]
    assert asked_by_others.status_code == 405
    for answer in (other, none, asked_by_others):
        assert "access-control-allow-origin" not in answer.headers
    assert all(answer.headers["vary"] == "Origin" for answer in (named, other, none, refused))
    assert not any("credentials" in name for name in (*named.headers, *asked_first.headers))
