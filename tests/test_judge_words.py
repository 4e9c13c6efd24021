"""What an answer says fits what it means: reasons, remedies and questions. The stones are invented."""

from typing import Any

import pytest
from hypothesis import given

from samples import about, committed, contexts, judge, stones, verdicts

HOUSE = committed("house")
STRICT = committed("strict")
EMERALD = {"shape": "emerald", "carat": 1.46, "color": "I"}


def test_a_girdle_range_counts_by_its_thinnest_end_whichever_way_it_is_written() -> None:
    """A range is extent, not doubt: common practice, no source."""
    turned = {"shape": "princess", "girdle_min": "thick", "girdle_max": "thin"}
    assert verdicts(judge(HOUSE, turned))["durability.girdle.tips"] == "ask"


@pytest.mark.parametrize(
    ("clarity", "asked"),
    [
        pytest.param("VS2", "stone.observations.eye_clean", id="a look settles it"),
        pytest.param("VS1-VS2", "stone.observations.eye_clean", id="a look settles the range"),
        pytest.param("VS2-SI1", "stone.clarity", id="no look makes SI1 good enough"),
    ],
)
def test_what_is_asked_is_what_would_settle_it(clarity: str, asked: str) -> None:
    answer = judge(HOUSE, {**EMERALD, "clarity": clarity}, {"metal": "platinum"})
    assert answer["questions"][0]["about"] == asked


def test_where_nothing_is_left_to_seeing_no_look_is_asked_for() -> None:
    answer = judge(STRICT, {**EMERALD, "clarity": "VS1-VS2"}, {"metal": "platinum"})
    clarity = about(answer, "clarity.steps")
    assert "once seen" not in clarity["reason"]
    assert [q["about"] for q in answer["questions"] if "clarity.steps" in q["settles"]] == ["stone.clarity"]


def test_an_unstated_setting_is_told_as_what_it_depends_on() -> None:
    feather = {"shape": "oval", "observations": {"inclusion": {"type": "open_feather", "place": "girdle"}}}
    finding = about(judge(HOUSE, feather), "durability.open_feather")
    assert finding["reason"].startswith("It depends on the protection, not stated.")
    assert (
        finding["remedy"]
        == about(judge(HOUSE, feather, {"protection": "claws"}), "durability.open_feather")["remedy"]
    )


@pytest.mark.parametrize(
    ("observed", "remedy"),
    [
        pytest.param(None, "VS2 seen eye-clean, or VS1 on paper.", id="nobody looked"),
        pytest.param(False, "VS2, seen eye-clean after all.", id="it was not clean"),
    ],
)
def test_a_remedy_says_only_what_turns(observed: bool | None, remedy: str) -> None:
    stone = {**EMERALD, "clarity": "VS2", "observations": {"eye_clean": observed}}
    assert about(judge(HOUSE, stone, {"metal": "platinum"}), "clarity.steps")["remedy"] == remedy


def test_a_round_that_is_out_of_round_is_no_matter_of_taste() -> None:
    answer = judge(HOUSE, {"shape": "round", "length_mm": 7.6, "width_mm": 7.2})
    assert verdicts(answer)["roundness.round"] == "ask"
    assert "taste" not in about(answer, "look.round")["reason"]


def test_a_window_that_somebody_looked_for_is_said_not_to_be_there() -> None:
    shallow = {"shape": "emerald", "depth_pct": 55, "observations": {"windowing": "none"}}
    reason = about(judge(HOUSE, shallow), "depth.steps")["reason"]
    assert reason.endswith("Whoever looked did not find it so.")


ANSWERS: dict[str, list[Any]] = {
    "stone.observations.eye_clean": [True, False],
    "stone.observations.tint": ["none", "yellow"],
    "stone.observations.bow_tie": ["none", "severe"],
    "stone.observations.haze": ["none", "strong"],
    "stone.cut_grade": ["excellent", "poor"],
    "stone.girdle_min": ["medium", "very_thin"],
    "context.metal": ["platinum", "yellow_gold"],
}


def put(request: dict[str, Any], path: list[str], value: Any) -> dict[str, Any]:
    head, *rest = path
    return {**request, head: put(request.get(head) or {}, rest, value) if rest else value}


@given(stone=stones(), context=contexts)
def test_some_answer_to_a_question_changes_what_it_is_said_to_settle(
    stone: dict[str, Any], context: dict[str, Any]
) -> None:
    answer = judge(HOUSE, stone, context)
    for question in answer["questions"]:
        for rule in question["settles"] if question["about"] in ANSWERS else ():
            before = about(answer, rule)
            request = {"stone": stone, "context": context}
            after = []
            for value in ANSWERS[question["about"]]:
                changed = put(request, question["about"].split("."), value)
                again = judge(HOUSE, changed["stone"], changed["context"])
                after += [finding for finding in again["findings"] if finding["rule"] == rule]
            assert len(after) < len(ANSWERS[question["about"]]) or any(f != before for f in after)
