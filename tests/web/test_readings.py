"""Supplier rows over HTTP. Every row is invented."""

from typing import Any

import httpx
import pytest

PINNED = {"ruleset": "house@1.1.0", "as_of": "2026-11-25"}
ROUND = {"Shape": "RB", "Cts": "1.01", "Color": "F", "Clarity": "VS2", "Meas": "6.45-6.48x3.98", "Fl": "N"}


def read(client: httpx.Client, *rows: Any, **around: Any) -> dict[str, Any]:
    answer = client.post("/v1/readings", json={"rows": rows, **PINNED, **around})
    assert answer.status_code == 200, answer.text
    body: dict[str, Any] = answer.json()
    return body


def test_a_row_nobody_cleaned_becomes_a_stone(client: httpx.Client) -> None:
    row = {
        "shape": "SQ EM", "cts": "1,51", "color": "G/H", "clarity": "VS 1", "meas": "6.52*6.48*4.31 mm",
        "depth": "66.5%", "fl": "None",
    }  # fmt: skip
    (result,) = read(client, row)["results"]

    assert result["stone"] == {
        "shape": "asscher", "carat": 1.51, "color": "G-H", "clarity": "VS1", "length_mm": 6.52,
        "width_mm": 6.48, "depth_mm": 4.31, "depth_pct": 66.5, "fluorescence": "none",
    }  # fmt: skip
    assert result["measures"]["ratio"] == 1.01
    # 6.52 x 6.48 x 4.31 mm at the factor of a square step cut, 0.0080: handbook, secondary source.
    assert result["measures"]["estimated_carat"] == 1.457
    assert result["measures"]["estimate_gap_pct"] == -3.5
    first = result["remarks"][0]
    assert (first["field"], first["kind"]) == ("carat", "assumed")


def test_a_read_stone_can_be_judged_as_it_is(client: httpx.Client) -> None:
    (result,) = read(client, ROUND)["results"]
    judged = client.post("/v1/evaluations", json={"stone": result["stone"], **PINNED})
    assert judged.status_code == 200


def test_blank_fluorescence_is_not_none(client: httpx.Client) -> None:
    blank, graded = read(client, {**ROUND, "Fl": ""}, {**ROUND, "Fl": "None"})["results"]
    assert "fluorescence" not in blank["stone"]
    assert ("fluorescence", "not_stated") in [(r["field"], r["kind"]) for r in blank["remarks"]]
    assert graded["stone"]["fluorescence"] == "none"


def test_an_emerald_cut_is_turned_and_a_heart_is_not(client: httpx.Client) -> None:
    emerald, heart = read(
        client, {"Shape": "EM", "L": "5.80", "W": "8.00"}, {"Shape": "HT", "L": "6.4", "W": "6.8"}
    )["results"]
    assert (emerald["stone"]["length_mm"], emerald["stone"]["width_mm"]) == (8.0, 5.8)
    assert "length_mm" in {r["field"] for r in emerald["remarks"]}
    assert (heart["stone"]["length_mm"], heart["stone"]["width_mm"]) == (6.4, 6.8)


def test_a_weight_that_does_not_fit_is_set_aside(client: httpx.Client) -> None:
    (result,) = read(client, {**ROUND, "Cts": "1.20"})["results"]
    assert result["outcome"] == "set_aside"
    assert result["remarks"][-1]["read_as"] == "weighs like 1.01 ct"


def test_only_mapped_columns_are_repeated(client: httpx.Client) -> None:
    answer = client.post("/v1/readings", json={"rows": [{**ROUND, "Buyer": "Canary Person"}], **PINNED})
    assert answer.json()["open_columns"] == ["Buyer"]
    assert "Canary" not in answer.text


def test_columns_may_be_given(client: httpx.Client) -> None:
    answer = read(client, {"a": "RB", "b": "1.01"}, columns={"a": "shape", "b": "carat"})
    assert answer["results"][0]["stone"]["carat"] == 1.01
    assert answer["columns"] == {"a": "shape", "b": "carat"}


@pytest.mark.parametrize(
    ("number_format", "carat"),
    [
        pytest.param(None, None, id="open"),
        pytest.param("comma", 1.234, id="decimal comma"),
        pytest.param({"Cts": "comma"}, 1.234, id="by column"),
    ],
)
def test_three_digits_behind_a_mark_stay_open_unless_the_caller_says(
    client: httpx.Client, number_format: Any, carat: float | None
) -> None:
    row = {"Shape": "RB", "Cts": "1,234"}
    (result,) = read(client, row, number_format=number_format)["results"]
    assert result["stone"].get("carat") == carat


def test_the_report_card_counts_what_happened(client: httpx.Client) -> None:
    card = read(client, ROUND, ROUND, {**ROUND, "Cts": "1.20"}, {**ROUND, "Color": "sparkly"})["report_card"]

    assert card["rows"] == 4
    assert card["outcomes"] == {"accepted": 2, "ask": 1, "set_aside": 1}
    assert card["duplicate_rows"] == [[0, 1]]
    color = next(column for column in card["columns"] if column["field"] == "color")
    assert (color["read"], color["open"], color["read_pct"]) == (3, 1, 75.0)


def test_one_report_number_with_two_stones_sets_both_aside(client: httpx.Client) -> None:
    small = {"Shape": "RB", "Cts": "0.50", "Meas": "5.08-5.11x3.15", "Lab": "GIA", "Report No": "7000000001"}
    large = {**ROUND, "Lab": "GIA", "Report No": "7000000001"}
    other = {**ROUND, "Lab": "GIA", "Report No": "7000000002"}
    answer = read(client, small, large, other)
    assert [result["outcome"] for result in answer["results"]] == ["set_aside", "set_aside", "accepted"]
    assert answer["report_card"]["reused_reports"] == [[0, 1]]


def test_one_report_in_two_rows_of_one_stone_is_a_duplicate(client: httpx.Client) -> None:
    row = {**ROUND, "Lab": "GIA", "Report No": "7000000001"}
    card = read(client, row, {**row, "Color": "f"})["report_card"]
    assert (card["duplicate_reports"], card["duplicate_rows"]) == ([[0, 1]], [])


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        pytest.param({"rows": [1]}, "/rows/0", id="a row that is no object"),
        pytest.param({"rows": [], "columns": {"a": "sparkle"}}, "/columns/a", id="an unknown field"),
        pytest.param({"rows": [{}] * 10_001}, "/rows", id="too many rows"),
        pytest.param({}, "/rows", id="no rows"),
        pytest.param({"rows": [], "number_format": "dot"}, "/number_format", id="an unknown number format"),
    ],
)
def test_a_request_that_does_not_fit_is_refused(client: httpx.Client, body: Any, pointer: str) -> None:
    answer = client.post("/v1/readings", json=body)
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"].startswith(pointer)


def test_an_empty_feed_is_answered(client: httpx.Client) -> None:
    assert read(client)["report_card"]["rows"] == 0


@pytest.mark.parametrize(
    "value",
    [None, True, 10**30, -1.5, "x" * 5000, ["a"], {"b": {"c": 1}}, "", "=1+1", "\u202e"],
    ids=lambda value: type(value).__name__ + str(value)[:6],
)
def test_no_cell_spoils_its_row(client: httpx.Client, value: Any) -> None:
    row = dict.fromkeys(("Carat", "Color", "Clarity", "Meas", "Depth", "Fl", "Lab", "Comments"), value)
    bad, good = read(client, {"Shape": "OV", **row}, ROUND)["results"]
    assert bad["stone"]["shape"] == "oval"
    assert good["outcome"] == "accepted"


def test_the_same_rows_get_the_same_bytes_from_another_process(
    client: httpx.Client, elsewhere: httpx.Client
) -> None:
    messy = {"Shape": "PR", "Cts": "1,5", "Color": "F-G", "Clarity": "SI3", "Meas": "9x6x3,7", "Lab": "x"}
    request = {"rows": [messy, ROUND, messy], **PINNED}
    here = client.post("/v1/readings", json=request).content
    assert here == elsewhere.post("/v1/readings", json=request).content
