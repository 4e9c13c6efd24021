"""Wishes turned into what to look for.

What shapes are like, and which conflicts there are, is common practice, no source. Invariants:
1. whatever is advised passes its own evaluation once the conditions hold that only a look can tell;
2. shapes come best first by the open sum of the tastes' points;
3. no shape that was refused is advised, and none but those wished where some are wished;
4. a heavier wish never has a looser floor, nor smaller millimetres.
"""

from datetime import date
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradefloor.judge.advice_findings import ShapeAdvice
from gradefloor.judge.budgets import reckon
from gradefloor.judge.stones import evaluate
from gradefloor.judge.wishes import Advising
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.grades import CLARITY, COLOR
from gradefloor.trade.stones import Context, Metal, Stone
from gradefloor.trade.wishes import TASTES, Budget, Warmth, Wish
from samples import committed

DAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def rules() -> CompiledRules:
    return committed("house", "1.3.0")


def advise(rules: CompiledRules, **wish: Any) -> Advising:
    advising = Advising(rules, Wish.model_validate(wish), DAY)
    assert list(advising.each_shape()) == advising.shapes
    return advising


def first(rules: CompiledRules, **wish: Any) -> ShapeAdvice:
    return advise(rules, **wish).shapes[0]


def floors(advice: ShapeAdvice, grade: str) -> list[tuple[str | None, str, str | None]]:
    return [(f["head"], f["on_paper"], f["if_seen"]) for f in advice["floors"] if f["grade"] == grade]


CALM = {
    "tastes": ["calm", "broad_flashes", "long"],
    "carat": [1.6],
    "metal": "rose_gold",
    "warmth": "unwelcome",
}
LIVELY = {**CALM, "tastes": ["lively_sparkle", "long"]}


def test_calm_broad_flashes_and_long_is_a_step_cut_first(rules: CompiledRules) -> None:
    advice = first(rules, **CALM)
    assert advice["shape"] == "emerald"
    assert floors(advice, "clarity") == [(None, "VS1", "VS2")]
    assert floors(advice, "color") == [
        ("white", "I", "J")
    ]  # the white head's, because no warmth is to be seen
    assert advice["spare"] is not None
    assert (advice["spare"]["forgives"], advice["spare"]["spend_on"]) == ("color", "clarity")
    assert advice["ratio"]["at_least"] == pytest.approx(1.30)
    assert advice["expected_mm"] is not None
    assert advice["expected_mm"]["length_mm"] == [pytest.approx(8.0, abs=0.1), pytest.approx(8.3, abs=0.1)]
    assert [setting["verdict"] for setting in advice["settings"]] == ["pass"] * 3


def test_lively_sparkle_instead_is_the_opposite_trade(rules: CompiledRules) -> None:
    advice = first(rules, **LIVELY)
    assert advice["shape"] == "radiant"
    assert advice["spare"] is not None
    assert (advice["spare"]["forgives"], advice["spare"]["spend_on"]) == ("clarity", "color")
    assert CLARITY.rank(floors(advice, "clarity")[0][1]) > CLARITY.rank("VS1")
    assert COLOR.rank(floors(advice, "color")[0][1]) < COLOR.rank("I")


def test_no_warmth_in_a_rose_head_is_named_as_a_conflict_with_ways_out(rules: CompiledRules) -> None:
    (conflict,) = advise(rules, **CALM).conflicts()
    assert conflict["conflict"] == "clash.warm_head"
    assert conflict["between"] == ["wish.metal", "wish.warmth"]
    assert len(conflict["ways_out"]) == 2


def test_low_and_flush_with_a_long_step_cut_is_a_conflict_with_ways_out(rules: CompiledRules) -> None:
    wish = {"shapes": ["emerald"], "carat": [1.6], "setting": {"height": "low"}}
    flush = advise(rules, **wish, wedding_band={"accepts_gap": False}).conflicts()
    assert [conflict["conflict"] for conflict in flush] == ["band.flush"]
    assert flush[0]["shapes"] == ["emerald"]
    assert "wish.wedding_band" in flush[0]["between"]
    assert any("higher" in way for way in flush[0]["ways_out"])
    assert advise(rules, **wish, wedding_band={"accepts_gap": True}).conflicts() == []


@pytest.mark.parametrize(
    ("metal", "letters"), [("platinum", [("white", "I", "J")]), ("yellow_gold", [("warm", "J", "K")])]
)
def test_the_color_floor_is_that_of_the_head(
    rules: CompiledRules, metal: str, letters: list[tuple[str, str, str]]
) -> None:
    assert floors(first(rules, shapes=["emerald"], carat=[1.5], metal=metal), "color") == letters


def test_without_a_metal_both_heads_are_told(rules: CompiledRules) -> None:
    heads = [head for head, _, _ in floors(first(rules, shapes=["emerald"], carat=[1.5]), "color")]
    assert heads == ["white", "warm"]


@pytest.mark.parametrize(
    ("carat", "grades"),
    [
        ([0.9, 0.98], ["VS2"]),
        ([0.9, 0.999], ["VS2", "VS1"]),
        ([1.0, 2.0], ["VS1"]),
        ([2.5, 3.0], ["VS1", "VVS2"]),
    ],
    ids=str,
)
def test_a_weight_across_an_edge_is_told_both_floors(
    rules: CompiledRules, carat: list[float], grades: list[str]
) -> None:
    """0.999 ct is 1.00 ct on a report (GIA, carat weight rounding)."""
    advice = first(rules, shapes=["emerald"], carat=carat, metal="platinum")
    assert [on_paper for _, on_paper, _ in floors(advice, "clarity")] == grades


def test_a_length_wished_is_turned_into_a_weight(rules: CompiledRules) -> None:
    advice = first(rules, shapes=["emerald"], length_mm=[8.0, 8.4], metal="platinum")
    assert advice["expected_mm"] is not None
    assert advice["expected_mm"]["length_mm"] == [pytest.approx(8.0, abs=0.03), pytest.approx(8.4, abs=0.03)]
    assert advice["expected_mm"]["assumed"] is False


def test_without_a_size_one_carat_is_assumed_and_said(rules: CompiledRules) -> None:
    expected = first(rules, shapes=["round"])["expected_mm"]
    assert expected is not None
    assert (expected["carat"], expected["assumed"]) == ([1.0, 1.0], True)


def test_a_grade_wished_is_looked_for_where_it_is_better_than_the_floor(rules: CompiledRules) -> None:
    better = first(rules, shapes=["round"], carat=[1.0], color="E", clarity="VVS1", metal="platinum")
    lower = first(rules, shapes=["round"], carat=[1.0], color="K", clarity="I1", metal="platinum")
    assert (better["look_for"]["color"], better["look_for"]["clarity"]) == ("E", "VVS1")
    assert (lower["look_for"]["color"], lower["look_for"]["clarity"]) == ("I", "VS2")


def test_what_matters_most_is_given_up_last(rules: CompiledRules) -> None:
    usual = [given["what"] for given in first(rules, shapes=["emerald"])["give_up_first"]]
    held = [
        given["what"] for given in first(rules, shapes=["emerald"], priorities=["color"])["give_up_first"]
    ]
    both = [
        g["what"] for g in first(rules, shapes=["emerald"], priorities=["size", "color"])["give_up_first"]
    ]
    assert usual == ["color", "look", "carat"]
    assert held == ["look", "carat", "color"]
    assert both == ["look", "color", "carat"]


def test_moissanite_comes_back_by_millimetres_and_its_own_classes(rules: CompiledRules) -> None:
    """7×5, 8×6 and 9×7 are common practice, no source."""
    advice = first(rules, shapes=["emerald"], carat=[1.5], materials=["moissanite"])
    assert (advice["material"], advice["origin"], advice["floors"], advice["spare"]) == (
        "moissanite",
        None,
        [],
        None,
    )
    assert advice["calibrated"]["sizes_mm"] == [[8.0, 6.0], [7.0, 5.0], [9.0, 7.0]]
    assert advice["calibrated"]["color_classes"] == ["colorless", "near_colorless"]
    assert (advice["look_for"]["length_mm"], advice["look_for"]["width_mm"]) == (8.0, 6.0)
    assert "carat" not in advice["look_for"]
    assert {given["what"] for given in advice["give_up_first"]} == {"look", "carat"}


def test_both_origins_are_told_apart(rules: CompiledRules) -> None:
    shapes = advise(rules, shapes=["emerald"], carat=[0.9], origins=["natural", "laboratory_grown"]).shapes
    told = {advice["origin"]: floors(advice, "clarity") for advice in shapes}
    assert told == {"natural": [(None, "VS2", None)], "laboratory_grown": [(None, "VS1", None)]}


def test_three_stones_are_judged_with_side_stones_that_suit_the_center(rules: CompiledRules) -> None:
    advice = first(rules, shapes=["emerald"], carat=[1.5], setting={"style": "three_stone"}, metal="platinum")
    (setting,) = advice["settings"]
    assert (setting["style"], setting["side_shape"]) == ("three_stone", "trapezoid")
    assert "companions.emerald" not in setting["rules"]  # the shape has nothing to complain of


def test_a_style_wished_is_the_only_one_told(rules: CompiledRules) -> None:
    advice = first(rules, shapes=["round"], carat=[1.0], setting={"style": "bezel"})
    assert [setting["style"] for setting in advice["settings"]] == ["bezel"]


def test_a_shape_against_its_taste_says_so(rules: CompiledRules) -> None:
    conflicts = advise(rules, shapes=["emerald"], tastes=["lively_sparkle"]).conflicts()
    assert [(c["conflict"], c["shapes"]) for c in conflicts] == [("character.emerald", ["emerald"])]
    assert "round brilliant or radiant" in conflicts[0]["ways_out"][0]


@pytest.mark.parametrize(("carat", "names"), [(1.8, []), (2.0, ["height"])])
def test_a_stone_too_deep_to_stand_low_is_a_conflict(
    rules: CompiledRules, carat: float, names: list[str]
) -> None:
    """1.0 mm under the culet and the depth of a usual emerald cut: 4.91 and 5.05 mm; low is under 5.0 mm."""
    wish = {"shapes": ["emerald"], "carat": [carat, carat], "setting": {"height": "low"}}
    assert [conflict["conflict"] for conflict in advise(rules, **wish).conflicts()] == names


def test_a_weight_and_a_length_that_exclude_each_other_are_a_conflict(rules: CompiledRules) -> None:
    (conflict,) = advise(rules, shapes=["oval"], carat=[1.0], length_mm=[10.0]).conflicts()
    assert conflict["between"] == ["wish.carat", "wish.length_mm"]
    assert advise(rules, shapes=["oval"], carat=[1.0], length_mm=[8.0]).conflicts() == []


def test_a_shape_that_is_wished_and_refused_is_a_conflict(rules: CompiledRules) -> None:
    advising = advise(rules, shapes=["oval"], refused_shapes=["oval"])
    assert advising.shapes == []
    assert [conflict["between"] for conflict in advising.conflicts()] == [
        ["wish.shapes", "wish.refused_shapes"]
    ]


def test_what_nobody_can_advise_about_says_so(rules: CompiledRules) -> None:
    shapes = advise(rules, shapes=["trillion"]).conflicts()
    materials = advise(rules, shapes=["oval"], materials=["white_sapphire"]).conflicts()
    assert [conflict["shapes"] for conflict in shapes] == [["trillion"]]
    assert [conflict["conflict"] for conflict in materials] == ["materials"]


def test_a_substitute_is_not_sold_in_every_size(rules: CompiledRules) -> None:
    far = advise(rules, shapes=["oval"], carat=[15.0], materials=["moissanite"])
    (conflict,) = far.conflicts()
    assert conflict["conflict"] == "assortment.moissanite.oval"
    expected = far.shapes[0]["expected_mm"]
    assert expected is not None
    assert expected["length_mm"] == [far.shapes[0]["look_for"]["length_mm"]] * 2


def test_without_a_size_the_grades_are_those_of_the_assumed_weight(rules: CompiledRules) -> None:
    stone = first(rules, shapes=["round"])["look_for"]
    assert (stone["carat"], stone["color"], stone["clarity"]) == (1.0, "I", "VS2")


def test_a_look_that_a_shape_does_not_have_is_a_conflict(rules: CompiledRules) -> None:
    conflicts = advise(rules, shapes=["round", "emerald"], look="long").conflicts()
    assert [(conflict["conflict"], conflict["shapes"]) for conflict in conflicts] == [
        ("look.round", ["round"])
    ]


@pytest.mark.parametrize(
    "size",
    [
        {"carat": [0.001]},
        {"carat": [1000]},
        {"length_mm": [0.001]},
        {"length_mm": [200]},
        {"length_mm": [0.5, 4.0]},
    ],
)
def test_the_smallest_and_the_largest_wish_are_answered(rules: CompiledRules, size: dict[str, Any]) -> None:
    for advice in advise(rules, shapes=["emerald", "round", "marquise"], **size).shapes:
        assert advice["expected_mm"] is not None
        low, high = advice["expected_mm"]["length_mm"]
        assert 0 < low <= high
        assert advice["verdict"] == "pass"


def test_a_cushion_of_unstated_kind_is_looked_for_as_a_cushion_brilliant(rules: CompiledRules) -> None:
    assert first(rules, shapes=["cushion"])["shape"] == "cushion_brilliant"


def test_a_shape_nobody_can_advise_about_is_left_out(rules: CompiledRules) -> None:
    assert [advice["shape"] for advice in advise(rules, shapes=["portrait", "oval"]).shapes] == ["oval"]


def test_face_up_area_is_told_against_a_round_of_the_same_weight(rules: CompiledRules) -> None:
    oval = first(rules, shapes=["oval"], carat=[1.0, 1.0])["face_up_mm2"]
    round_ = first(rules, shapes=["round"], carat=[1.0, 1.0])["face_up_mm2"]
    assert oval is not None
    assert round_ is not None
    assert round_["of_round_pct"] == 100.0
    assert oval["of_round_pct"] == pytest.approx(oval["mm2"] / round_["mm2"] * 100, abs=0.3)


# Properties

wishes = st.fixed_dictionaries(
    {},
    optional={
        "tastes": st.lists(st.sampled_from(TASTES), min_size=1, max_size=3, unique=True),
        "shapes": st.lists(
            st.sampled_from(["emerald", "radiant", "round", "oval", "pear", "cushion_brilliant", "old_mine"]),
            min_size=1, max_size=2, unique=True,
        ),
        "refused_shapes": st.lists(st.sampled_from(["round", "oval", "emerald"]), max_size=2),
        "carat": st.lists(st.sampled_from([0.3, 0.7, 0.99, 1.0, 1.5, 2.2, 3.0, 5.5]), min_size=1, max_size=2),
        "metal": st.sampled_from(get_args(Metal)),
        "warmth": st.sampled_from(get_args(Warmth)),
        "color": st.sampled_from(["D", "G", "K"]),
        "clarity": st.sampled_from(["IF", "VS2", "SI2"]),
        "materials": st.sampled_from([["diamond"], ["moissanite"], ["diamond", "moissanite"]]),
        "origins": st.sampled_from([["natural"], ["laboratory_grown"], ["natural", "laboratory_grown"]]),
        "wear": st.sampled_from(["active", "everyday"]),
    },
)  # fmt: skip


def with_conditions(advice: ShapeAdvice, advising: Advising) -> Stone:
    specimen = next(
        s for s in advising.specimens if s.candidate.stone.model_dump(exclude_none=True) == advice["look_for"]
    )
    seen = {one.field.removeprefix("stone.observations."): one.value for one in specimen.conditions}
    return Stone.model_validate({**advice["look_for"], "observations": seen})


@given(wishes)
def test_whatever_is_advised_passes_its_own_evaluation(wish: dict[str, Any]) -> None:
    rules = committed("house", "1.3.0")
    advising = Advising(rules, Wish.model_validate(wish), DAY)
    metal = "platinum" if wish.get("warmth") == "unwelcome" else wish.get("metal")
    for advice in advising.each_shape(settings=False):
        stone = with_conditions(advice, advising)
        context = Context.model_validate({"jewelry": "ring", "position": "center", "metal": metal})
        assert evaluate(rules, stone, context, DAY)["verdict"] == "pass"


@given(wishes)
def test_shapes_come_best_first_by_an_open_sum(wish: dict[str, Any]) -> None:
    advising = Advising(committed("house", "1.3.0"), Wish.model_validate(wish), DAY)
    shapes = list(advising.each_shape(settings=False))
    for advice in shapes:
        assert advice["suits"] == sum(taste["points"] for taste in advice["tastes"])
        assert advice["shape"] not in wish.get("refused_shapes", ())
        assert not wish.get("shapes") or advice["shape"] in wish["shapes"]
    assert [a["suits"] for a in shapes] == sorted((a["suits"] for a in shapes), reverse=True)


@given(st.sampled_from(["emerald", "radiant", "round", "oval", "princess"]), st.integers(30, 500))
def test_a_heavier_wish_is_never_looser_nor_smaller(shape: str, points: int) -> None:
    rules = committed("house", "1.3.0")
    told = []
    for carat in (points / 100, points / 100 + 0.5):
        wish = Wish.model_validate({"shapes": [shape], "carat": [carat, carat], "metal": "platinum"})
        told += list(Advising(rules, wish, DAY).each_shape(settings=False))
    light, heavy = (advice["look_for"] for advice in told)
    assert CLARITY.rank(heavy["clarity"]) <= CLARITY.rank(light["clarity"])
    assert COLOR.rank(heavy["color"]) <= COLOR.rank(light["color"])
    assert heavy["length_mm"] > light["length_mm"]


# Budgets


@pytest.mark.parametrize(
    ("budget", "left", "waiting"),
    [
        ({"covers": "stone", "tax_included": False}, (0, 12000), []),
        ({"covers": "stone", "tax_included": True, "tax_pct": 20}, (0, 10000), []),
        ({"covers": "ring", "tax_included": False, "setting_cost": 2000}, (0, 10000), []),
        (
            {"covers": "ring", "tax_included": True, "tax_pct": 20, "setting_cost": 2000,
             "side_stones_cost": 500},
            (0, 7500), [],
        ),
        (
            {"covers": "set", "tax_included": False, "setting_cost": 2000, "wedding_band_cost": 1500},
            (0, 8500), [],
        ),
        ({"covers": "set", "tax_included": False, "setting_cost": 2000}, (0, 10000), ["wedding_band_cost"]),
        ({"covers": "ring", "tax_included": False}, (0, 12000), ["setting_cost"]),
        ({"covers": "stone", "tax_included": True}, (0, 12000), ["tax_pct"]),
        ({"covers": "ring", "tax_included": False, "setting_cost": 15000}, (0, 0), []),
        ({}, (0, 12000), ["covers", "tax_included"]),
    ],
)  # fmt: skip
def test_what_a_budget_leaves_for_the_stone(
    budget: dict[str, Any], left: tuple[float, float], waiting: list[str]
) -> None:
    """12,000, less what is stated: sums worked out by hand."""
    found = reckon(Budget.model_validate({"amount": [12000], "currency": "EUR", **budget}))
    assert (float(found.left.low), float(found.left.high)) == left
    assert found.open == [f"wish.budget.{name}" for name in waiting]
    assert found.settled is not bool(waiting)


def test_a_range_keeps_its_lower_end() -> None:
    budget = Budget(amount=[20000, 15000], currency="EUR", covers="stone", tax_included=False)
    assert [float(end) for end in reckon(budget).left] == [15000, 20000]
