"""Stones of which every jeweller would say the same. Invented stones; common practice, no source."""

from typing import NamedTuple

import pytest

from gradefloor.rules.tables import CompiledRules
from samples import Wire, about, judge, verdicts

EMERALD: Wire = {"shape": "emerald", "carat": 1.50, "length_mm": 8.00, "width_mm": 5.80, "depth_mm": 3.77,
                 "table_pct": 65, "color": "G", "clarity": "VS2"}  # fmt: skip
DARK = {"inclusion": {"type": "dark_crystal", "place": "table_center"}}
RADIANT: Wire = {"shape": "radiant", "carat": 2.0, "length_mm": 8.40, "width_mm": 6.20, "clarity": "VS2"}
PRINCESS: Wire = {"shape": "princess", "carat": 1.01, "color": "G", "clarity": "VS2",
                  "girdle_min": "very_thin", "girdle_max": "medium"}  # fmt: skip
CLOUDY: Wire = {"shape": "round", "carat": 0.90, "color": "F", "clarity": "SI1", "cut_grade": "excellent",
                "fluorescence": "strong", "report": {"comments": ["Clouds not shown."]}}  # fmt: skip
CLOUDS: Wire = {"shape": "round", "carat": 1.20, "color": "F", "clarity": "VS2", "cut_grade": "excellent",
                "fluorescence": "none",
                "report": {"comments": ["Additional clouds are not shown."]}}  # fmt: skip
PREMIUM: Wire = {"shape": "asscher", "carat": 1.50, "origin": "laboratory_grown",
                 "report": {"issuer": "GIA", "date": "2025-11-03", "assessment": "premium"}}  # fmt: skip
OVAL: Wire = {"shape": "oval", "carat": 2.00, "color": "G", "clarity": "VS2", "length_mm": 10.01,
              "width_mm": 7.00, "depth_pct": 61, "table_pct": 58}  # fmt: skip
OLD: Wire = {"shape": "old_european", "carat": 1.20, "color": "K", "clarity": "VS2", "table_pct": 50,
             "culet": "large"}  # fmt: skip
# The two stones of the README.
LONG: Wire = {"shape": "emerald", "carat": 1.46, "color": "I", "clarity": "VS2", "length_mm": 7.69,
              "width_mm": 5.65, "depth_mm": 3.73, "table_pct": 66}  # fmt: skip
CRUSHED: Wire = {"shape": "radiant", "carat": 2.18, "color": "H", "clarity": "SI1", "length_mm": 8.40,
                 "width_mm": 6.56, "depth_mm": 4.40}  # fmt: skip
WHITE, YELLOW = {"metal": "platinum"}, {"metal": "yellow_gold"}


class Golden(NamedTuple):
    """A stone in its setting, and what must be said of it."""

    fact: str
    stone: Wire
    context: Wire
    verdict: str
    rules: dict[str, str]


GOLDEN = [
    Golden("an emerald cut in VS2 has to be seen", EMERALD, WHITE, "ask",
           {"clarity.steps": "ask", "color.steps.white": "pass", "table.steps": "pass",
            "depth.steps": "pass"}),
    Golden("an emerald cut in SI2 with a dark crystal is refused",
           {**EMERALD, "clarity": "SI2", "observations": DARK}, WHITE, "fail", {"clarity.steps": "fail"}),
    Golden("a round in J suits yellow gold, its SI1 has to be seen and its cut grade is missing",
           {"shape": "round", "carat": 1.0, "color": "J", "clarity": "SI1"}, YELLOW, "ask",
           {"color.round.warm": "pass", "clarity.round": "ask", "cut.round": "ask"}),
    Golden("a radiant in J is below the floor in white",
           {**RADIANT, "color": "J"}, {"metal": "white_gold"}, "fail", {"color.crushed_ice.white": "fail"}),
    Golden("the same radiant asks in yellow", {**RADIANT, "color": "J"}, YELLOW, "ask",
           {"color.crushed_ice.warm": "ask"}),
    Golden("a princess with a very thin girdle fails in claws on a ring", PRINCESS,
           {**WHITE, "jewelry": "ring", "protection": "claws"}, "fail", {"durability.girdle.tips": "fail"}),
    Golden("the same princess in a bezel asks for the setter", PRINCESS,
           {**WHITE, "jewelry": "ring", "protection": "bezel"}, "ask", {"durability.girdle.tips": "ask"}),
    Golden("the same princess in V claws asks for the setter", PRINCESS,
           {**WHITE, "jewelry": "ring", "protection": "v_claws"}, "ask", {"durability.girdle.tips": "ask"}),
    Golden("the same princess without a stated setting asks", PRINCESS, WHITE, "ask",
           {"durability.girdle.tips": "ask"}),
    Golden("clouds that set the grade ask about haze, and high color with strong fluorescence is noted",
           CLOUDY, WHITE, "ask", {"clarity.haze": "ask", "fluorescence.policy": "note"}),
    Golden("additional clouds alone are a note", CLOUDS, WHITE, "pass",
           {"clarity.haze": "note", "clarity.round": "pass"}),
    Golden("the upper quality class passes the step floors of grown stones", PREMIUM, WHITE, "pass",
           {"clarity.grown.steps": "pass", "color.grown.steps.white": "pass"}),
    Golden("a D in a yellow bezel is fine, and money nobody sees",
           {"shape": "round", "carat": 1.0, "color": "D", "clarity": "VS1", "cut_grade": "excellent",
            "girdle_min": "medium"}, {**YELLOW, "protection": "bezel"}, "pass",
           {"color.round.warm": "pass", "metal.hidden_color": "note"}),
    Golden("an oval with good numbers still asks for its bow-tie", OVAL, WHITE, "ask",
           {"proportions.bow_tie": "ask", "color.oval.white": "pass", "clarity.elongated": "pass",
            "depth.oval": "pass", "table.oval": "pass"}),
    Golden("the open culet of an old European cut is no fault", OLD, YELLOW, "pass",
           {"cut.culet.old": "pass", "color.old_cuts.warm": "pass", "clarity.chunky": "pass",
            "table.old_european": "pass"}),
    Golden("a trillion of 38 % is not too shallow",
           {"shape": "trillion", "carat": 0.8, "color": "G", "clarity": "SI1", "depth_pct": 38},
           WHITE, "pass", {"depth.trillion": "pass"}),
    Golden("blank fluorescence is unknown", {"shape": "round", "color": "F"}, WHITE, "ask",
           {"fluorescence.policy": "note"}),
    Golden("no fluorescence passes", {"shape": "round", "color": "F", "fluorescence": "none"}, WHITE, "ask",
           {"fluorescence.policy": "pass"}),
    Golden("a long emerald cut asks for a look", LONG, WHITE, "ask",
           {"color.steps.white": "pass", "clarity.steps": "ask", "look.emerald": "note"}),
    Golden("it passes once seen", {**LONG, "observations": {"eye_clean": True}}, WHITE, "pass", {}),
    Golden("it fails in SI1", {**LONG, "clarity": "SI1"}, WHITE, "fail", {"clarity.steps": "fail"}),
    Golden("a radiant in H and SI1 passes its floors, its bow-tie is asked for", CRUSHED, WHITE, "ask",
           {"clarity.crushed_ice": "pass", "color.crushed_ice.white": "pass",
            "proportions.bow_tie.radiant": "ask"}),
    Golden("in I it asks", {**CRUSHED, "color": "I"}, WHITE, "ask", {"color.crushed_ice.white": "ask"}),
    Golden("in J it fails", {**CRUSHED, "color": "J"}, WHITE, "fail", {"color.crushed_ice.white": "fail"}),
    Golden("in SI2 it asks", {**CRUSHED, "clarity": "SI2"}, WHITE, "ask", {"clarity.crushed_ice": "ask"}),
    Golden("a cut grade on an emerald cut of this laboratory is questioned",
           {**LONG, "cut_grade": "excellent", "report": {"issuer": "GIA"}}, WHITE, "ask",
           {"cut.fancy": "ask"}),
    Golden("another laboratory's cut grade is repeated",
           {**LONG, "cut_grade": "excellent", "report": {"issuer": "Some Laboratory"}}, WHITE, "ask",
           {"cut.fancy": "note"}),
    Golden("moissanite is told apart",
           {"shape": "round", "material": "moissanite", "length_mm": 6.5, "width_mm": 6.5}, WHITE, "pass",
           {"material.kind": "note"}),
]  # fmt: skip


@pytest.mark.parametrize("golden", GOLDEN, ids=lambda golden: golden.fact)
def test_every_jeweller_says(house: CompiledRules, golden: Golden) -> None:
    answer = judge(house, golden.stone, golden.context)
    assert {rule: verdicts(answer).get(rule) for rule in golden.rules} == golden.rules
    assert answer["verdict"] == golden.verdict


# What the answers say beside their verdicts


def test_the_question_that_settles_the_clarity_of_an_emerald_cut_is_asked(house: CompiledRules) -> None:
    (question,) = judge(house, LONG, WHITE)["questions"]
    assert (question["about"], question["settles"]) == ("stone.observations.eye_clean", ["clarity.steps"])


def test_the_remedy_of_an_si1_emerald_cut_names_vs2(house: CompiledRules) -> None:
    finding = about(judge(house, {**LONG, "clarity": "SI1"}, WHITE), "clarity.steps")
    assert "VS2" in (finding["remedy"] or "")
    assert finding["change"] == [{"field": "stone.clarity", "value": "VS2"}]


def test_the_video_question_is_asked_of_an_oval(house: CompiledRules) -> None:
    questions = judge(house, OVAL, WHITE)["questions"]
    assert [q["about"] for q in questions] == ["stone.observations.bow_tie"]
    assert "video" in questions[0]["ask"]


def test_the_discount_of_fluorescence_in_a_high_color_is_told(house: CompiledRules) -> None:
    assert "discount" in about(judge(house, CLOUDY, WHITE), "fluorescence.policy")["reason"]


def test_the_laboratory_is_named_where_its_cut_grade_is_repeated(house: CompiledRules) -> None:
    stone = {**LONG, "cut_grade": "excellent", "report": {"issuer": "Some Laboratory"}}
    assert "Some Laboratory" in (about(judge(house, stone, WHITE), "cut.fancy")["observed"] or "")


def test_no_diamond_floor_is_run_over_moissanite_and_the_answer_says_why(house: CompiledRules) -> None:
    stone = {"shape": "round", "material": "moissanite", "color": "J", "clarity": "I1", "carat": 1.0}
    answer = judge(house, {**stone, "length_mm": 6.5, "width_mm": 6.5}, WHITE)
    assert "no diamond floor" in about(answer, "material.kind")["reason"]
    assert not {"clarity.round", "color.round.white", "color.round.warm"} & set(verdicts(answer))


def test_a_heart_wider_than_long_is_not_turned(house: CompiledRules) -> None:
    measures = judge(house, {"shape": "heart", "length_mm": 6.40, "width_mm": 6.80})["measures"]
    assert measures["ratio"] == 0.94


REPORTED = [
    ("dated tomorrow", "2026-01-02", "ask"),
    ("dated today", "2026-01-01", "pass"),
    ("three years old", "2023-01-01", "pass"),
    ("over three years old", "2022-12-01", "note"),
    ("five years old", "2021-01-01", "note"),
    ("over five years old", "2020-12-01", "ask"),
]


@pytest.mark.parametrize(("day", "verdict"), [row[1:] for row in REPORTED], ids=[row[0] for row in REPORTED])
def test_a_report_is_believed_for_some_years(house: CompiledRules, day: str, verdict: str) -> None:
    stone = {"shape": "round", "report": {"issuer": "GIA", "date": day}}
    assert verdicts(judge(house, stone))["report.age"] == verdict


LOOKS = {
    "emerald": [("square", 1.00, 1.05), ("very_broad", 1.06, 1.20), ("broad", 1.21, 1.29),
                ("usual", 1.30, 1.45), ("long", 1.46, 1.50), ("very_long", 1.51, 2.50)],
    "radiant": [("square", 1.00, 1.05), ("near_square", 1.06, 1.19), ("usual", 1.20, 1.35),
                ("long", 1.36, 1.50), ("very_long", 1.51, 2.50)],
}  # fmt: skip
NAMED = [(shape, end, look) for shape, bands in LOOKS.items() for look, *ends in bands for end in ends]


@pytest.mark.parametrize(("shape", "ratio", "look"), NAMED)
def test_a_ratio_has_this_look(house: CompiledRules, shape: str, ratio: float, look: str) -> None:
    measures = judge(house, {"shape": shape, "length_mm": round(ratio * 10, 2), "width_mm": 10.0})["measures"]
    assert (measures["ratio"], measures["look"]) == (ratio, look)


@pytest.mark.parametrize(
    ("shape", "length", "width", "ratio"), [("emerald", 8.00, 5.80, 1.38), ("radiant", 8.40, 6.20, 1.35)]
)
def test_a_usual_outline_is_called_usual(
    house: CompiledRules, shape: str, length: float, width: float, ratio: float
) -> None:
    measures = judge(house, {"shape": shape, "length_mm": length, "width_mm": width})["measures"]
    assert (measures["ratio"], measures["look"]) == (ratio, "usual")
