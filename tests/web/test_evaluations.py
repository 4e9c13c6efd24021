"""One stone over HTTP, by POST and by GET. Every stone is invented."""

import asyncio
import hashlib
from datetime import UTC, datetime
from typing import Any

import httpx
import pytest
import rfc8785

from gradefloor.rules.catalog import Catalog
from gradefloor.web.app import create_app
from gradefloor.web.service import Service

EMERALD = {
    "shape": "emerald", "carat": 1.46, "color": "I", "clarity": "VS2",
    "length_mm": 7.69, "width_mm": 5.65, "depth_mm": 3.73, "table_pct": 66,
}  # fmt: skip
RADIANT = {
    "shape": "radiant", "carat": 2.18, "color": "H", "clarity": "SI1",
    "length_mm": 8.40, "width_mm": 6.56, "depth_mm": 4.40,
}  # fmt: skip
PLATINUM = {"metal": "platinum"}
PINNED = {"ruleset": "house@1.0.0", "as_of": "2026-11-25"}


def ask(client: httpx.Client, stone: dict[str, Any], **around: Any) -> dict[str, Any]:
    answer = client.post("/v1/evaluations", json={"stone": stone, "context": PLATINUM, **around})
    assert answer.status_code == 200, answer.text
    body: dict[str, Any] = answer.json()
    return body


def verdicts(answer: dict[str, Any]) -> dict[str, str]:
    return {finding["topic"]: finding["verdict"] for finding in reversed(answer["findings"])}


def test_a_clarity_that_has_to_be_seen_asks_for_a_look(client: httpx.Client) -> None:
    answer = ask(client, EMERALD)

    assert answer["verdict"] == "ask"
    assert verdicts(answer)["color"] == "pass"
    assert verdicts(answer)["clarity"] == "ask"
    assert [question["about"] for question in answer["questions"]] == ["stone.observations.eye_clean"]


def test_the_ratio_is_named_as_a_look(client: httpx.Client) -> None:
    answer = ask(client, EMERALD)

    assert answer["measures"]["ratio"] == 1.36
    assert answer["measures"]["look"] == "usual"
    look = next(f for f in answer["findings"] if f["topic"] == "ratio")
    assert (look["verdict"], look["observed"], look["threshold"]) == (
        "note", "1.36", "usual: 1.30 to under 1.46",
    )  # fmt: skip


def test_a_look_at_the_stone_settles_the_clarity(client: httpx.Client) -> None:
    seen = {"eye_clean": True, "seen_by": "shop", "seen_in": "hand", "distance_mm": 250, "light": "daylight"}
    answer = ask(client, {**EMERALD, "observations": seen})

    assert answer["verdict"] == "pass"
    clarity = next(f for f in answer["findings"] if f["topic"] == "clarity" and f["rule"] == "clarity.steps")
    assert clarity["observed"] == "VS2 (in hand, by the shop, at 250 mm, in daylight)"


def test_a_clarity_below_the_floor_fails_and_the_remedy_names_the_next_one(client: httpx.Client) -> None:
    answer = ask(client, {**EMERALD, "clarity": "SI1"})

    assert answer["verdict"] == "fail"
    assert answer["findings"][0]["remedy"] == "VS2 once seen eye-clean, or VS1 on paper."
    assert answer["findings"][0]["change"] == [{"field": "stone.clarity", "value": "VS2"}]


@pytest.mark.parametrize(
    ("change", "rule", "verdict"),
    [
        pytest.param({}, "clarity.crushed_ice", "pass", id="SI1 passes"),
        pytest.param({}, "color.crushed_ice.white", "pass", id="H passes"),
        pytest.param({"color": "I"}, "color.crushed_ice.white", "ask", id="I asks"),
        pytest.param({"color": "J"}, "color.crushed_ice.white", "fail", id="J fails"),
        pytest.param({"clarity": "SI2"}, "clarity.crushed_ice", "ask", id="SI2 asks"),
        pytest.param({}, "proportions.bow_tie.radiant", "ask", id="bow-tie of a 1.28 radiant"),
    ],
)
def test_a_long_radiant(client: httpx.Client, change: dict[str, Any], rule: str, verdict: str) -> None:
    findings = {f["rule"]: f["verdict"] for f in ask(client, {**RADIANT, **change})["findings"]}
    assert findings[rule] == verdict


def test_a_cut_grade_on_an_emerald_cut_is_a_finding(client: httpx.Client) -> None:
    assert verdicts(ask(client, {**EMERALD, "cut_grade": "excellent"}))["cut"] == "note"


def test_moissanite_meets_no_diamond_floor_and_the_answer_says_why(client: httpx.Client) -> None:
    stone = {"shape": "round", "material": "moissanite", "length_mm": 6.5, "width_mm": 6.5, "color": "D-F"}
    answer = ask(client, stone)

    rules = {f["rule"]: f for f in answer["findings"]}
    assert not any(rule.startswith(("clarity.", "color.round")) for rule in rules)
    assert "no diamond floor is run" in rules["material.kind"]["reason"]


def test_the_same_request_gets_the_same_bytes_from_another_process(
    client: httpx.Client, elsewhere: httpx.Client
) -> None:
    request = {"stone": RADIANT, "context": PLATINUM, **PINNED}
    first = client.post("/v1/evaluations", json=request).content
    again = client.post("/v1/evaluations", json=request).content
    assert first == again == elsewhere.post("/v1/evaluations", json=request).content


def test_anyone_can_recompute_the_evaluation_id(client: httpx.Client) -> None:
    answer = ask(client, {**EMERALD, "depth_mm": 4.0, "report": None}, **PINNED)

    asked = {
        "as_of": "2026-11-25",
        "context": PLATINUM,
        "digest": answer["ruleset"]["digest"],
        "stone": {**EMERALD, "depth_mm": 4},
    }
    assert answer["evaluation_id"] == hashlib.sha256(rfc8785.dumps(asked)).hexdigest()


def test_an_absent_rule_set_means_the_house(client: httpx.Client) -> None:
    assert ask(client, EMERALD)["ruleset"]["name"] == "house"


@pytest.mark.parametrize(
    ("reference", "code"),
    [
        pytest.param("nobody", "ruleset_unknown", id="unknown name"),
        pytest.param("house@9", "version_unknown", id="unknown version"),
        pytest.param("house@1.0.9", "version_unknown", id="unknown patch"),
    ],
)
def test_an_unknown_rule_set_is_not_found(client: httpx.Client, reference: str, code: str) -> None:
    answer = client.post("/v1/evaluations", json={"stone": EMERALD, "ruleset": reference})
    assert (answer.status_code, answer.json()["code"]) == (404, code)


def test_a_day_before_any_version_has_no_version(client: httpx.Client) -> None:
    asked = {"stone": EMERALD, "as_of": "2025-12-31"}
    assert client.post("/v1/evaluations", json=asked).json()["code"] == "version_unknown"


def test_an_absent_day_is_the_day_of_receipt_in_utc(catalog: Catalog) -> None:
    # Half past midnight in Kiritimati, UTC+14, is still the day before in UTC.
    clock = datetime.fromisoformat("2027-03-01T00:30:00+14:00")
    app = create_app(Service(catalog, clock=lambda: clock))

    async def call() -> httpx.Response:
        transport = httpx.ASGITransport(app)
        async with httpx.AsyncClient(transport=transport, base_url="http://test") as inside:
            return await inside.post("/v1/evaluations", json={"stone": EMERALD})

    assert asyncio.run(call()).json()["as_of"] == "2027-02-28"
    assert clock.astimezone(UTC).date().isoformat() == "2027-02-28"


ADDRESS = {**{key: str(value) for key, value in EMERALD.items()}, "metal": "platinum", "eye_clean": "true"}


def test_the_address_form_gives_the_body_of_the_post(client: httpx.Client) -> None:
    posted = ask(client, {**EMERALD, "observations": {"eye_clean": True}}, **PINNED)
    assert client.get("/v1/evaluations", params={**ADDRESS, **PINNED}).json() == posted


@pytest.mark.parametrize(
    ("extra", "kept"),
    [
        pytest.param({}, "public, max-age=300", id="nothing pinned"),
        pytest.param({"ruleset": "house@1.0.0"}, "public, max-age=300", id="no day"),
        pytest.param({"ruleset": "house@1", "as_of": "2026-11-25"}, "public, max-age=300", id="not exact"),
        pytest.param(PINNED, "public, max-age=31536000, immutable", id="both pinned"),
    ],
)
def test_how_long_an_address_may_be_kept(client: httpx.Client, extra: dict[str, str], kept: str) -> None:
    answer = client.get("/v1/evaluations", params={**ADDRESS, **extra})
    assert answer.headers["cache-control"] == kept


def test_what_a_client_still_has_is_not_sent_again(client: httpx.Client) -> None:
    first = client.get("/v1/evaluations", params=ADDRESS)
    again = client.get("/v1/evaluations", params=ADDRESS, headers={"if-none-match": first.headers["etag"]})

    assert (again.status_code, again.content) == (304, b"")
    assert again.headers["etag"] == first.headers["etag"]


@pytest.mark.parametrize(
    "params",
    [
        pytest.param([("shape", "oval"), ("carat", "1"), ("carat", "2")], id="a second value"),
        pytest.param([("shape", "oval"), ("sparkle", "1")], id="unknown name"),
        pytest.param([("shape", "oval"), ("carat", "")], id="empty"),
        pytest.param([("shape", "oval"), ("carat", "nan")], id="not a number"),
        pytest.param([("carat", "1")], id="no shape"),
    ],
)
def test_a_query_that_does_not_fit_is_refused(client: httpx.Client, params: list[Any]) -> None:
    answer = client.get("/v1/evaluations", params=params)
    assert (answer.status_code, answer.json()["code"]) == (422, "query_invalid")
