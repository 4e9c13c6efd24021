"""Advice over the wire: wishes, shortlists, comparisons, opinions, leads.

All stones, prices and messages are invented. Invariants:
1. whatever fits the schema is answered;
2. nothing of a message, and no contact data, comes back.
"""

from typing import Any

import httpx
import pytest

from raw import CANARY
from stock import stock

NOW = {"ruleset": "house@1.3.0", "as_of": "2026-11-25"}


def ask(client: httpx.Client, call: str, **body: Any) -> Any:
    answer = client.post(f"/v1/{call}", json={**NOW, **body})
    assert answer.status_code == 200, answer.text
    return answer.json()


def refuse(client: httpx.Client, call: str, **body: Any) -> Any:
    answer = client.post(f"/v1/{call}", json={**NOW, **body})
    assert answer.status_code == 422, answer.text
    return answer.json()


WISH = {
    "tastes": ["calm", "broad_flashes", "long"],
    "carat": [1.6],
    "metal": "rose_gold",
    "warmth": "unwelcome",
}
STONES = [
    {"shape": "round", "carat": 2.20, "length_mm": 8.38, "width_mm": 8.35, "depth_mm": 5.16},
    {"shape": "emerald", "carat": 2.20, "length_mm": 8.60, "width_mm": 6.35, "depth_mm": 4.24},
    {"shape": "radiant", "carat": 2.20, "length_mm": 8.25, "width_mm": 6.60, "depth_mm": 4.42},
]


def test_a_wish_comes_back_as_what_to_look_for(client: httpx.Client) -> None:
    answer = ask(client, "specifications", wish=WISH)
    assert answer["shapes"][0]["shape"] == "emerald"
    assert [conflict["conflict"] for conflict in answer["conflicts"]] == ["clash.warm_head"]
    assert answer["budget"] is None
    evaluation = ask(
        client, "evaluations", stone=answer["shapes"][0]["look_for"], context={"metal": "platinum"}
    )
    assert evaluation["verdict"] == "pass"


def test_a_budget_and_a_list_show_what_it_reaches_and_what_saves_most(client: httpx.Client) -> None:
    budget = {"amount": [9000], "currency": "EUR", "covers": "stone", "tax_included": False}
    wish = {"shapes": ["emerald"], "carat": [1.4, 1.6], "color": "F", "metal": "platinum", "budget": budget}
    answer = ask(client, "specifications", wish=wish, stones=stock(400))
    assert answer["budget"]["for_stone"] == [0, 9000]
    rows = answer["shapes"][0]["rows"]
    assert rows["count"] > 0
    assert rows["cheapest"] <= 9000
    levers = answer["budget"]["levers"]
    assert 1 <= len(levers) <= 2
    assert all(lever["saves"] > 0 for lever in levers)


def test_a_budget_that_nothing_fits_is_a_conflict(client: httpx.Client) -> None:
    budget = {"amount": [200], "currency": "EUR", "covers": "stone", "tax_included": False}
    wish = {"shapes": ["emerald"], "carat": [1.0, 2.5], "budget": budget}
    answer = ask(client, "specifications", wish=wish, stones=stock(200))
    assert "budget" in [conflict["conflict"] for conflict in answer["conflicts"]]


def test_a_stone_that_cannot_be_read_spoils_no_list(client: httpx.Client) -> None:
    stones = [*stock(40), {"shape": "emerald", "carat": -1, "price": 5000}, {"shape": CANARY}]
    answer = ask(client, "shortlists", wish={"tastes": ["calm"]}, currency="EUR", stones=stones)
    assert answer["dropped"]["unreadable"] == 2
    assert [problem["errors"][0]["pointer"] for problem in answer["problems"]] == [
        "/stones/40/carat",
        "/stones/41/shape",
    ]
    assert sum(answer["dropped"].values()) + len(answer["picks"]) == 42


def test_what_is_no_object_refuses_the_list(client: httpx.Client) -> None:
    problem = refuse(client, "shortlists", wish={}, currency="EUR", stones=[{"shape": "oval"}, 7])
    assert problem["errors"][0]["pointer"] == "/stones/1"


def test_five_thousand_stones_are_taken_and_one_more_is_not(client: httpx.Client) -> None:
    stones = [{"shape": "oval", "carat": 1.0, "price": 4000 + number} for number in range(5001)]
    answer = ask(client, "shortlists", wish={"shapes": ["oval"]}, currency="EUR", stones=stones[:5000])
    assert sum(answer["dropped"].values()) + len(answer["picks"]) == 5000
    refuse(client, "shortlists", wish={"shapes": ["oval"]}, currency="EUR", stones=stones)


def test_prices_are_placed_in_words_that_promise_nothing(client: httpx.Client) -> None:
    answer = ask(client, "shortlists", wish={"tastes": ["long"]}, currency="EUR", stones=stock(800))
    assert "not a market price, not an appraisal" in answer["price_fit"]["notice"].replace(
        "market  price", "market price"
    )
    assert any("price_place" in pick for pick in answer["picks"])


def test_stones_are_laid_side_by_side(client: httpx.Client) -> None:
    answer = ask(client, "comparisons", stones=STONES)
    areas = [told["measures"]["face_up_mm2"] for told in answer["stones"]]
    assert areas == [pytest.approx(mm2, rel=0.01) for mm2 in (55.0, 53.3, 53.0)]
    assert answer["largest"] == [0, 1, 2]
    assert "can still look longer" in answer["notes"][0]["says"]


def test_shapes_are_compared_before_there_is_a_stone(client: httpx.Client) -> None:
    answer = ask(
        client, "comparisons", shapes=["emerald", "radiant"], carat=1.5, context={"metal": "platinum"}
    )
    assert [told["shape"] for told in answer["shapes"]] == ["emerald", "radiant"]
    assert [told["verdict"] for told in answer["stones"]] == ["pass", "pass"]
    assert {difference["about"] for difference in answer["visible"]} >= {"ratio"}


@pytest.mark.parametrize(
    "body",
    [
        {"stones": STONES[:1]},
        {"stones": STONES * 3},
        {"shapes": ["emerald", "radiant"]},
        {"shapes": ["emerald"], "carat": 1.0},
        {"carat": 1.0},
        {"stones": STONES, "shapes": ["emerald", "radiant"], "carat": 1.0},
        {},
    ],
    ids=["one stone", "nine stones", "no weight", "one shape", "a weight only", "both", "neither"],
)
def test_a_comparison_is_of_stones_or_of_shapes_at_one_weight(client: httpx.Client, body: Any) -> None:
    refuse(client, "comparisons", **body)


def test_opinions_say_which_rule_makes_the_difference(client: httpx.Client) -> None:
    stone = {**STONES[1], "color": "I", "clarity": "VS2", "observations": {"eye_clean": True}}
    body = {"stone": stone, "context": {"metal": "platinum"}, "rulesets": ["house@1.3.0", "strict@1.3.0"],
            "as_of": "2026-11-25"}  # fmt: skip
    answer = client.post("/v1/opinions", json=body).json()
    assert [opinion["ruleset"]["name"] for opinion in answer["opinions"]] == ["house", "strict"]
    assert {part["topic"]: part["rules"] for part in answer["differ"]}["clarity"] == ["clarity.steps"]
    assert answer["as_of"] == "2026-11-25"


@pytest.mark.parametrize("count", [0, 5])
def test_opinions_are_one_to_four(client: httpx.Client, count: int) -> None:
    body = {"stone": STONES[0], "rulesets": ["house"] * count}
    assert client.post("/v1/opinions", json=body).status_code == 422


def test_an_opinion_nobody_has_is_a_404(client: httpx.Client) -> None:
    answer = client.post("/v1/opinions", json={"stone": STONES[0], "rulesets": ["house", "nobody"]})
    assert (answer.status_code, answer.json()["code"]) == (404, "ruleset_unknown")


@pytest.mark.parametrize("call", ["specifications", "shortlists", "comparisons", "leads"])
def test_a_version_that_advises_nothing_says_so(client: httpx.Client, call: str) -> None:
    bodies: dict[str, Any] = {
        "specifications": {"wish": {}},
        "shortlists": {"wish": {}, "currency": "EUR", "stones": [{"shape": "oval"}]},
        "comparisons": {"stones": STONES},
        "leads": {"lead": {}},
    }
    answer = client.post(f"/v1/{call}", json={**bodies[call], "ruleset": "house@1.2.0"})
    assert (answer.status_code, answer.json()["code"]) == (404, "rules_missing")


# Leads


@pytest.mark.parametrize("field", ["email", "name", "phone", "First-Name", "address", "contact"])
def test_contact_data_is_refused_and_not_repeated(client: httpx.Client, field: str) -> None:
    answer = client.post("/v1/leads", json={**NOW, "lead": {field: f"{CANARY}@example.org"}})
    assert answer.status_code == 422
    (error,) = answer.json()["errors"]
    assert error["found"] == "contact data"
    assert CANARY not in answer.text


def test_contact_data_in_the_place_of_a_name_is_not_repeated(client: httpx.Client) -> None:
    answer = client.post("/v1/leads", json={**NOW, "lead": {f"{CANARY}@example.org": True}})
    assert answer.status_code == 422
    assert CANARY not in answer.text


def test_an_id_that_could_be_a_mail_address_is_refused(client: httpx.Client) -> None:
    refuse(client, "leads", lead={"id": "somebody@example.org"})


def test_a_message_comes_back_as_values_and_places_only(client: httpx.Client) -> None:
    message = (
        f"Hi, I am {CANARY}, 2 Canary Row, {CANARY}@example.org, 555-0142. A 2 ct oval in platinum, please."
    )
    answer = client.post("/v1/leads", json={**NOW, "lead": {"message": message}})
    assert CANARY not in answer.text
    read = {part["field"]: part["value"] for part in answer.json()["read"]}
    assert read == {"wish.shapes": ["oval"], "wish.carat": [2.0], "wish.metal": "platinum"}
    for part in answer.json()["read"]:
        (start, end), *_ = part["span"]
        assert message[start:end] in {"2 ct", "oval", "platinum"}


def test_the_message_of_somebody_in_a_hurry(client: httpx.Client) -> None:
    message = (
        "Looking for something like a 2ct emerald, budget around 15-20k all in, she's about a 6, want the "
        "band flush, proposing in March"
    )
    answer = ask(client, "leads", lead={"message": message})
    read = {part["field"]: part["value"] for part in answer["read"]}
    assert read == {
        "wish.shapes": ["emerald"],
        "wish.carat": [2.0],
        "wish.budget.amount": [15000, 20000],
        "finger_guess": "6",
        "wish.wedding_band": "flush",
        "needed_by": "2027-03-01",
    }
    still_open = {part["field"] for part in answer["open"]}
    assert {"wish.budget.currency", "wish.budget.covers", "wish.budget.tax_included"} <= still_open
    assert [conflict["conflict"] for conflict in answer["conflicts"]] == ["band.flush"]
    assert len(answer["questions"]) == 3
    assert {"budget_basis_unknown", "flush_band", "size_guess", "high_value"} <= {
        t["tag"] for t in answer["tags"]
    }
    assert "covers" not in answer["wish"]["budget"]
    ask(client, "specifications", wish=answer["wish"])


def test_somebody_who_asks_for_a_value_is_sent_to_an_appraiser(client: httpx.Client) -> None:
    answer = ask(
        client, "leads", lead={"message": "What is my ring worth? I need a figure for the insurance."}
    )
    (tag,) = (tag for tag in answer["tags"] if tag["tag"] == "not_our_job")
    assert "appraiser" in tag["refer"]
    assert answer["questions"] == []


def test_a_field_outranks_the_message(client: httpx.Client) -> None:
    lead = {"message": "An oval of 2 ct, please.", "wish": {"carat": [1.0]}, "needed_by": "2027-01-10"}
    answer = ask(client, "leads", lead=lead)
    assert (answer["wish"]["carat"], answer["wish"]["shapes"]) == ([1.0], ["oval"])
    assert answer["lead"] == {"needed_by": "2027-01-10"}
