"""The judgement as data, the vocabulary, health, and the pages for people."""

import re
from typing import Any

import httpx
import pytest

from gradefloor.web.problems import KINDS


def get(client: httpx.Client, path: str) -> Any:
    answer = client.get(path)
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_names_and_versions_are_listed(client: httpx.Client) -> None:
    names = {entry["name"]: entry["versions"] for entry in get(client, "/v1/rulesets")["rulesets"]}

    assert set(names) == {"house", "strict", "wording"}
    assert names["house"][0]["effective"] == "2026-01-01"


def test_a_rule_is_found_by_the_id_that_findings_name(client: httpx.Client) -> None:
    answer = get(client, "/v1/rulesets/house/1.0.0/rules/clarity.steps")

    assert answer["kind"] == "floors"
    assert answer["rule"]["bands"][1] == {
        "carat": {"from": 1.0, "below": 3.0}, "on_paper": "VS1", "if_seen": "VS2",
    }  # fmt: skip


def test_every_rule_that_answers_can_be_looked_up(client: httpx.Client) -> None:
    asked = {
        "stone": {"shape": "pear", "carat": 1.5, "color": "G", "clarity": "VS2"},
        "ruleset": "strict@1.0.0",
    }
    findings = client.post("/v1/evaluations", json=asked).json()["findings"]
    for finding in findings:
        rule = get(client, f"/v1/rulesets/strict/1.0.0/rules/{finding['rule']}")["rule"]
        assert rule["because"]


def test_a_name_that_extends_another_shows_the_rules_it_took_over(client: httpx.Client) -> None:
    rules = get(client, "/v1/rulesets/strict/1.0.0")["rules"]
    assert rules["extends"] == "house@1.0.0"
    assert len(rules["guards"]) == len(get(client, "/v1/rulesets/house/1.0.0")["rules"]["guards"])


@pytest.mark.parametrize(
    ("path", "code"),
    [
        pytest.param("/v1/rulesets/nobody", "ruleset_unknown", id="name"),
        pytest.param("/v1/rulesets/nobody/1.0.0", "ruleset_unknown", id="name of a version"),
        pytest.param("/v1/rulesets/house/2.0.0", "version_unknown", id="version"),
        pytest.param("/v1/rulesets/house/latest", "version_unknown", id="no version at all"),
        pytest.param("/v1/rulesets/house/1.0.0/rules/clarity.nobody", "rule_unknown", id="rule"),
        pytest.param("/v1/nothing", "not_found", id="path"),
    ],
)
def test_what_does_not_exist_is_not_found(client: httpx.Client, path: str, code: str) -> None:
    answer = client.get(path)
    assert (answer.status_code, answer.json()["code"]) == (404, code)


@pytest.mark.parametrize(
    ("version", "kept"),
    [("1.0.0", "public, max-age=31536000, immutable"), ("1", "public, max-age=300")],
    ids=["exact", "the newest inside"],
)
def test_only_an_exact_version_may_be_kept_for_ever(client: httpx.Client, version: str, kept: str) -> None:
    assert client.get(f"/v1/rulesets/house/{version}").headers["cache-control"] == kept


def test_the_vocabulary_has_the_words_that_requests_take(client: httpx.Client) -> None:
    words = get(client, "/v1/vocabulary")
    for shape in words["shapes"]:
        asked = {"stone": {"shape": shape["name"]}}
        assert client.post("/v1/evaluations", json=asked).status_code == 200


def test_the_words_of_a_member_are_those_of_the_contract(client: httpx.Client) -> None:
    schemas = get(client, "/openapi.json")["components"]["schemas"]
    told = {member["member"]: set(member["words"]) for member in get(client, "/v1/vocabulary")["members"]}
    places = {
        "wish.tastes": ("Wish", "tastes"), "wish.warmth": ("Wish", "warmth"),
        "wish.priorities": ("Wish", "priorities"), "wish.setting.style": ("SettingWish", "style"),
        "wish.budget.covers": ("Budget", "covers"), "setting.head": ("Setting", "head"),
        "lead.errand": ("Lead", "errand"),
    }  # fmt: skip
    for member, (model, field) in places.items():
        (schema,) = (
            part for part in schemas[model]["properties"][field]["anyOf"] if part.get("type") != "null"
        )
        assert told[member] == set(schema.get("items", schema)["enum"]), member


def test_every_spelling_in_the_vocabulary_is_read_as_it_says(client: httpx.Client) -> None:
    words = get(client, "/v1/vocabulary")
    told = [(spelling, shape["name"]) for shape in words["shapes"] for spelling in shape["spellings"]]
    read = client.post("/v1/readings", json={"rows": [{"shape": spelling} for spelling, _ in told]}).json()
    shapes = [(result["stone"] or {}).get("shape") for result in read["results"]]
    wrong = [(s, n, got) for (s, n), got in zip(told, shapes, strict=True) if got not in {n, None}]
    assert len(told) > 100
    assert wrong == []


def test_a_shared_spelling_is_asked_about(client: httpx.Client) -> None:
    codes = [shared["spelling"] for shared in get(client, "/v1/vocabulary")["shared_spellings"]]
    read = client.post("/v1/readings", json={"rows": [{"shape": code} for code in codes]}).json()
    assert {result["outcome"] for result in read["results"]} == {"ask"}


def test_health_tells_life_from_readiness(client: httpx.Client) -> None:
    assert get(client, "/health/live") == {"status": "live"}
    ready = get(client, "/health/ready")
    assert ready["status"] == "ready"
    assert {"house@1.0.0", "strict@1.0.0"} <= set(ready["rulesets"])


PAGES = ("/", "/bench", "/rules/house/1.0.0", "/docs", "/problems", *(f"/problems/{code}" for code in KINDS))


@pytest.mark.parametrize("path", PAGES)
def test_pages_need_nothing_from_elsewhere(client: httpx.Client, path: str) -> None:
    page = client.get(path)

    assert page.status_code == 200
    assert page.headers["content-type"] == "text/html; charset=utf-8"
    assert "default-src 'none'" in page.headers["content-security-policy"]
    assert not any(word in page.text for word in ("url(", "@import", "<style", " style="))
    loaded = re.findall(r'<(?:script|link|img)[^>]*? (?:src|href)="([^"]*)"', page.text)
    assert loaded
    assert all(address.startswith(("/assets/", "/v1/drawings/", "/rules/")) for address in loaded)


def test_the_docs_page_shows_every_operation(client: httpx.Client) -> None:
    page = client.get("/docs").text
    for methods in client.get("/openapi.json").json()["paths"].values():
        for operation in methods.values():
            assert f'id="{operation["operationId"]}"' in page


def test_every_problem_leads_to_its_page(client: httpx.Client) -> None:
    problem = client.post(
        "/v1/evaluations", content=b"{", headers={"content-type": "application/json"}
    ).json()
    assert problem["title"] in client.get(problem["type"]).text
