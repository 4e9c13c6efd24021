"""Many stones at a time. Every stone is invented."""

import asyncio
from typing import Any

import httpx
import pytest
from hypothesis import given, settings

from gradefloor.rules.catalog import Catalog
from gradefloor.web.app import create_app
from gradefloor.web.service import Service
from samples import contexts, stones

PINNED = {"ruleset": "house@1.0.0", "as_of": "2026-11-25"}
OVAL = {"shape": "oval", "carat": 1.2, "color": "G", "clarity": "VS2"}


def batch(client: httpx.Client, items: list[Any], **around: Any) -> httpx.Response:
    return client.post("/v1/evaluations/batch", json={"stones": items, **PINNED, **around})


def test_answers_come_in_the_order_of_the_stones(client: httpx.Client) -> None:
    items = [{**OVAL, "id": str(number)} for number in range(120)]
    answer = batch(client, items).json()
    assert [result["stone_id"] for result in answer["results"]] == [str(number) for number in range(120)]


def test_a_faulty_stone_gets_a_problem_in_its_place(client: httpx.Client) -> None:
    answer = batch(client, [OVAL, {"shape": "oval", "carat": -1}, {}, OVAL]).json()

    assert [result.get("code") for result in answer["results"]] == [
        None, "request_invalid", "request_invalid", None,
    ]  # fmt: skip
    assert answer["results"][1]["errors"][0]["pointer"] == "/stones/1/carat"
    assert answer["counts"] == {"pass": 0, "ask": 2, "fail": 0, "problem": 2}


def test_what_is_no_object_refuses_the_whole(client: httpx.Client) -> None:
    answer = batch(client, [OVAL, None])
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, "/stones/1")


def test_an_empty_batch_is_answered(client: httpx.Client) -> None:
    assert batch(client, []).json()["counts"] == {"pass": 0, "ask": 0, "fail": 0, "problem": 0}


@pytest.mark.parametrize(("count", "status"), [(10_000, 200), (10_001, 422)], ids=["the most", "one more"])
def test_a_batch_has_at_most_ten_thousand_stones(client: httpx.Client, count: int, status: int) -> None:
    assert batch(client, [{"shape": "none"}] * count).status_code == status


@settings(max_examples=40, deadline=None)
@given(stone=stones(), context=contexts)
def test_a_batch_says_of_each_stone_what_a_single_request_says(
    client: httpx.Client, stone: dict[str, Any], context: dict[str, Any]
) -> None:
    single = client.post("/v1/evaluations", json={"stone": stone, "context": context, **PINNED}).json()
    assert batch(client, [stone, OVAL], context=context).json()["results"][0] == single


def test_page_views_go_on_beside_a_batch(catalog: Catalog) -> None:
    app = create_app(Service(catalog))

    async def both() -> list[str]:
        done: list[str] = []
        transport = httpx.ASGITransport(app)
        async with httpx.AsyncClient(transport=transport, base_url="http://test", timeout=60) as inside:

            async def call(name: str, method: str, path: str, body: Any) -> None:
                await inside.request(method, path, json=body)
                done.append(name)

            await asyncio.gather(
                call("batch", "POST", "/v1/evaluations/batch", {"stones": [OVAL] * 1000}),
                call("page view", "POST", "/v1/evaluations", {"stone": OVAL}),
            )
        return done

    assert asyncio.run(both()) == ["page view", "batch"]
