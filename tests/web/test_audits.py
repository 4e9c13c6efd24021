"""`/v1/wording` over the wire. All texts are invented."""

from typing import Any

import httpx

NOW = {"ruleset": "wording@1.0.0", "as_of": "2026-11-25"}
PLAIN = {"text": "A natural diamond.", "market": "US", "origin": "natural"}


def ask(client: httpx.Client, *texts: dict[str, Any]) -> Any:
    answer = client.post("/v1/wording", json={**NOW, "texts": texts})
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_a_text_that_cannot_be_read_gets_its_problem_in_place(client: httpx.Client) -> None:
    answer = ask(client, PLAIN, {"text": "no market"}, {**PLAIN, "text": "A flawless natural diamond"})
    assert [result.get("verdict", result.get("code")) for result in answer["results"]] == [
        "clear",
        "request_invalid",
        "ask",
    ]  # fmt: skip
    assert answer["counts"] == {"clear": 1, "ask": 1, "change": 0, "problem": 1}
    assert answer["results"][1]["errors"][0]["pointer"] == "/texts/1/market"


def test_every_answer_says_that_it_is_no_legal_advice(client: httpx.Client) -> None:
    assert ask(client)["notice"].startswith("Not legal advice.")


def test_a_reference_is_repeated(client: httpx.Client) -> None:
    assert ask(client, {**PLAIN, "id": "page-7"})["results"][0]["text_id"] == "page-7"


def test_spans_count_code_points(client: httpx.Client) -> None:
    (match,) = ask(client, {**PLAIN, "text": "\U0001f48e flawless natural diamond"})["results"][0]["matches"]
    assert (match["span"], match["found"]) == ([2, 10], "flawless")


def test_rules_about_stones_hold_no_copy(client: httpx.Client) -> None:
    answer = client.post("/v1/wording", json={"texts": [PLAIN], "ruleset": "house"})
    assert (answer.status_code, answer.json()["code"]) == (404, "rules_missing")


def test_rules_about_wording_judge_no_stones(client: httpx.Client) -> None:
    answer = client.post("/v1/evaluations", json={"stone": {"shape": "oval"}, "ruleset": "wording"})
    assert (answer.status_code, answer.json()["code"]) == (404, "rules_missing")


def test_a_thousand_texts_are_taken_and_one_more_is_refused(client: httpx.Client) -> None:
    assert ask(client, *[PLAIN] * 1_000)["counts"]["clear"] == 1_000
    answer = client.post("/v1/wording", json={**NOW, "texts": [PLAIN] * 1_001})
    assert answer.status_code == 422


def test_every_kind_of_rule_can_be_read_by_its_id(client: httpx.Client) -> None:
    for rule in ("copy.flawless", "phrases.fr", "naming.france", "fillers.en"):
        answer = client.get(f"/v1/rulesets/wording/1.0.0/rules/{rule}")
        assert (answer.status_code, answer.json()["rule"]["id"]) == (200, rule)
