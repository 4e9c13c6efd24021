"""`/v1/rulesets/{name}/changes` over HTTP: the same difference as by command. The stones are invented."""

from typing import Any, Final

import httpx
import pytest

from gradefloor.judge.impact import ImpactCount
from gradefloor.rules.catalog import Catalog
from gradefloor.rules.changes import differences
from gradefloor.trade.stones import Context, Stone
from samples import DAY
from stock import stock

PATH: Final = "/v1/rulesets/house/changes"
STONES: Final = [{name: value for name, value in one.items() if name != "price"} for one in stock(40, seed=5)]
# Heavier than its millimetres allow, of which 1.0.0 says nothing.
HEAVY: Final = {
    "id": "tray-9", "shape": "round", "carat": 1.2, "color": "F", "clarity": "VS1", "cut_grade": "excellent",
    "length_mm": 6.45, "width_mm": 6.48, "depth_mm": 3.98, "report": {"issuer": "GIA"}, "treatments": [],
}  # fmt: skip


def post(client: httpx.Client, **body: Any) -> Any:
    answer = client.post(PATH, json={"as_of": str(DAY), **body})
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_the_difference_is_that_of_the_rules(client: httpx.Client, catalog: Catalog) -> None:
    answer = client.get(PATH, params={"from": "1.0.0", "to": "1.3.0"})
    older, newer = catalog.find("house", "1.0.0"), catalog.find("house", "1.3.0")
    assert older is not None
    assert newer is not None
    assert answer.json()["differences"] == differences(older.rules, newer.rules)
    assert answer.json()["before"]["version"] == "1.0.0"
    assert answer.json()["ruleset"]["version"] == "1.3.0"
    assert "impact" not in answer.json()


@pytest.mark.parametrize(
    ("query", "versions"),
    [
        ({}, ("1.3.0", "1.4.0")),
        ({"to": "1.1.0"}, ("1.0.0", "1.1.0")),
        ({"to": "1.1"}, ("1.0.0", "1.1.0")),
        ({"from": "1.1.0"}, ("1.1.0", "1.4.0")),
        ({"from": "1.3.0", "to": "1.3.0"}, ("1.3.0", "1.3.0")),
    ],
)
def test_what_is_left_out_is_the_newest_and_the_one_before(
    client: httpx.Client, query: dict[str, str], versions: tuple[str, str]
) -> None:
    answer = client.get(PATH, params=query).json()
    assert (answer["before"]["version"], answer["ruleset"]["version"]) == versions


def test_a_difference_keeps_for_minutes_because_it_tells_its_day(client: httpx.Client) -> None:
    answer = client.get(PATH, params={"from": "1.0.0", "to": "1.1.0"})
    assert answer.headers["cache-control"] == "public, max-age=300"


@pytest.mark.parametrize(
    ("path", "query", "status", "code"),
    [
        ("/v1/rulesets/fancy/changes", {}, 404, "ruleset_unknown"),
        (PATH, {"from": "9.0.0"}, 404, "version_unknown"),
        (PATH, {"to": "9.0.0"}, 404, "version_unknown"),
        (PATH, {"to": "1.0.0"}, 404, "version_unknown"),
        ("/v1/rulesets/wording/changes", {}, 404, "version_unknown"),
        (PATH, {"from": "newest"}, 422, "query_invalid"),
        (PATH, {"since": "1.0.0"}, 422, "query_invalid"),
        (PATH, {"from": "1.3.0", "to": "1.0.0"}, 422, "request_invalid"),
    ],
)
def test_what_cannot_be_compared_is_a_problem(
    client: httpx.Client, path: str, query: dict[str, str], status: int, code: str
) -> None:
    answer = client.get(path, params=query)
    assert (answer.status_code, answer.json()["code"]) == (status, code)


def test_impact_is_that_of_the_judge(client: httpx.Client, catalog: Catalog) -> None:
    older, newer = catalog.find("house", "1.0.0"), catalog.find("house", "1.1.0")
    assert older is not None
    assert newer is not None
    context = {"metal": "platinum"}
    counted = ImpactCount(older.compiled, newer.compiled, Context.model_validate(context), DAY)
    stones = [*STONES, HEAVY]
    for place, stone in enumerate(stones):
        counted.add(place, Stone.model_validate(stone))

    answer = post(client, **{"from": "1.0.0", "to": "1.1.0", "stones": stones, "context": context})

    assert answer["impact"] == counted.result()
    assert answer["impact"]["moved"] > 0
    assert answer["unread"] == []


def test_a_stone_that_cannot_be_read_spoils_no_other(client: httpx.Client) -> None:
    stones = [{"shape": "ovall"}, HEAVY, {"shape": "oval", "carat": -1}]
    answer = post(client, **{"from": "1.0.0", "to": "1.1.0", "stones": stones})
    assert answer["impact"]["stones"] == 1
    assert [one["place"] for one in answer["unread"]] == [0, 2]
    assert answer["unread"][0]["problem"]["errors"][0]["pointer"] == "/stones/0/shape"
    assert answer["impact"]["examples"][0]["place"] == 1


def test_rules_of_wording_judge_no_stones(client: httpx.Client) -> None:
    body = {"from": "1.0.0", "to": "1.0.0", "stones": [HEAVY]}
    answer = client.post("/v1/rulesets/wording/changes", json=body)
    assert (answer.status_code, answer.json()["code"]) == (404, "rules_missing")
