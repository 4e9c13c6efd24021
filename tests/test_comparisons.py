"""Stones side by side, and one stone under several schools.

What can be seen apart is common practice, no source; areas are closed forms of the outlines. Invariants:
1. a stone compared with itself differs in nothing;
2. turning two stones round turns the places and nothing else.
"""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given

from gradefloor.judge.comparisons import Comparison, compare
from gradefloor.judge.differences import Side, differences
from gradefloor.judge.opinions import where_they_meet
from gradefloor.judge.stones import evaluate
from gradefloor.trade.stones import Context, Stone
from samples import Wire, committed, stones

DAY = date(2026, 11, 25)
RULES = committed("house", "1.3.0")
PAIR: Wire = {"carat": 1.5, "clarity": "VS1", "length_mm": 8.0, "width_mm": 5.8}


def side(stone: Wire, price: float | None = None, context: Context | None = None) -> Side:
    read = Stone.model_validate(stone)
    return Side(read, evaluate(RULES, read, context, DAY), None if price is None else Decimal(str(price)))


def lay(*asked: Wire, prices: tuple[float, ...] = (), metal: str | None = None) -> Comparison:
    context = None if metal is None else Context.model_validate({"metal": metal})
    priced = prices or (None,) * len(asked)
    return compare(RULES, [side(s, p, context) for s, p in zip(asked, priced, strict=True)], context)


def about(found: Comparison, where: str) -> set[str]:
    return {difference["about"] for difference in found[where]}  # type: ignore[literal-required]


@pytest.mark.parametrize(
    ("shape", "where"), [("emerald", "on_paper"), ("radiant", "visible"), ("round", "visible")], ids=str
)
def test_three_letters_of_color_are_close_in_steps_and_seen_in_a_radiant(shape: str, where: str) -> None:
    found = lay({**PAIR, "shape": shape, "color": "E"}, {**PAIR, "shape": shape, "color": "H"})
    assert "color" in about(found, where)


@pytest.mark.parametrize(
    ("shape", "colors", "metal", "seen"),
    [
        ("emerald", "DG", None, False), ("emerald", "DH", None, True), ("radiant", "GH", None, False),
        ("radiant", "GI", None, True), ("radiant", "GI", "yellow_gold", False),
        ("radiant", "GJ", "rose_gold", True), ("round", "GI", "platinum", False),
        ("round", "GJ", "platinum", True),
    ],
)  # fmt: skip
def test_letters_are_seen_from_the_shape_s_own_edge_on(
    shape: str, colors: str, metal: str | None, seen: bool
) -> None:
    found = lay(*({**PAIR, "shape": shape, "color": letter} for letter in colors), metal=metal)
    assert ("color" in about(found, "visible")) is seen
    assert ("color" in about(found, "on_paper")) is not seen


def test_a_range_of_letters_is_seen_apart_only_if_all_of_it_is() -> None:
    apart = lay({**PAIR, "shape": "radiant", "color": "D-E"}, {**PAIR, "shape": "radiant", "color": "G-H"})
    close = lay({**PAIR, "shape": "radiant", "color": "D-F"}, {**PAIR, "shape": "radiant", "color": "G-H"})
    assert "color" in about(apart, "visible")
    assert "color" in about(close, "on_paper")


@pytest.mark.parametrize(
    ("one", "other", "seen"),
    [
        ({"clarity": "VVS1"}, {"clarity": "VS1"}, False),  # both good enough by their grades
        ({"clarity": "VS1"}, {"clarity": "SI1"}, True),
        ({"clarity": "VS1"}, {"clarity": "VS2", "observations": {"eye_clean": True}}, False),
        ({"clarity": "VS1"}, {"clarity": "VS2", "observations": {"eye_clean": False}}, True),
    ],
)
def test_a_clean_stone_looks_like_every_cleaner_one(one: Wire, other: Wire, seen: bool) -> None:
    base: Wire = {**PAIR, "shape": "emerald", "color": "G"}
    found = lay({**base, **one}, {**base, **other})
    assert ("clarity" in about(found, "visible")) is seen


@pytest.mark.parametrize(("width", "seen"), [(5.51, True), (5.53, False)])
def test_five_percent_of_area_is_seen(width: float, seen: bool) -> None:
    """Areas of an ellipse are as length times width: 5.8 is 5.26 % more than 5.51, 4.88 % more than 5.53."""
    base: Wire = {"shape": "oval", "length_mm": 8.0}
    found = lay({**base, "width_mm": 5.8}, {**base, "width_mm": width})
    assert ("spread" in about(found, "visible")) is seen


ROUND: Wire = {"shape": "round", "carat": 2.20, "length_mm": 8.38, "width_mm": 8.35, "depth_mm": 5.16}
EMERALD: Wire = {"shape": "emerald", "carat": 2.20, "length_mm": 8.60, "width_mm": 6.35, "depth_mm": 4.24}
RADIANT: Wire = {"shape": "radiant", "carat": 2.20, "length_mm": 8.25, "width_mm": 6.60, "depth_mm": 4.42}


def test_the_order_of_size_comes_from_the_millimetres() -> None:
    found = lay(EMERALD, RADIANT, ROUND)
    areas = [told["measures"]["face_up_mm2"] for told in found["stones"]]
    assert areas == [pytest.approx(mm2, rel=0.01) for mm2 in (53.3, 53.0, 55.0)]
    assert found["largest"] == [2, 0, 1]
    (note,) = found["notes"]
    assert "it is not the larger" in note["says"]
    assert "it can still look longer" in note["says"]


def test_a_larger_emerald_cut_comes_before_the_same_round() -> None:
    found = lay({**EMERALD, "length_mm": 9.2, "width_mm": 6.8}, ROUND)
    assert found["largest"] == [0, 1]
    assert found["notes"] == []


def test_weight_carried_in_depth_is_told() -> None:
    """A usual emerald cut of these millimetres weighs about 1.3 ct by the handbook factor at 64 % depth."""
    found = lay({**PAIR, "shape": "emerald", "carat": 1.9}, {**PAIR, "shape": "emerald", "carat": 1.5})
    heavy, usual = (told["hidden_carat"] for told in found["stones"])
    assert heavy - usual == pytest.approx(0.4)
    assert "hidden_weight" in about(found, "on_paper")


def test_the_dearer_is_told_its_price_for_each_step() -> None:
    base = {**PAIR, "shape": "oval", "color": "E"}
    whiter = lay(base, {**base, "color": "H"}, prices=(13000, 10000))
    cleaner = lay({**base, "clarity": "VVS2"}, {**base, "clarity": "VS2"}, prices=(13000, 10000))
    larger = lay({**base, "width_mm": 6.0}, base, prices=(13000, 10000))
    assert (whiter["price_steps"][0]["between"], whiter["price_steps"][0]["per_letter"]) == ([1, 0], 1000)
    assert cleaner["price_steps"][0]["per_grade"] == 1500
    assert larger["price_steps"][0]["per_mm2"] == pytest.approx(3000 / (3.14159 / 4 * 8.0 * 0.2), rel=0.001)


def test_a_letter_has_no_price_where_the_clarity_differs_too() -> None:
    base = {**PAIR, "shape": "oval", "color": "E"}
    (steps,) = lay(base, {**base, "color": "H", "clarity": "SI1"}, prices=(13000, 10000))["price_steps"]
    assert "per_letter" not in steps
    assert "per_grade" not in steps


def test_a_material_that_is_not_stated_is_diamond() -> None:
    base = {**PAIR, "shape": "oval"}
    found = lay(base, {**base, "material": "moissanite", "carat": 1.3})
    assert found["visible"][0]["about"] == "material"
    assert about(found, "on_paper") <= {"certainty"}  # weights of two materials are not compared


def test_an_origin_that_is_not_stated_is_not_read_as_any() -> None:
    base = {**PAIR, "shape": "oval"}
    found = lay({**base, "origin": "natural"}, base)
    assert [d["values"] for d in found["on_paper"] if d["about"] == "origin"] == [["natural", "not stated"]]


def test_a_stone_below_a_floor_is_told_from_one_that_is_not() -> None:
    base = {**PAIR, "shape": "emerald", "color": "G"}
    found = lay(base, {**base, "clarity": "I1"})
    assert "floor" in about(found, "on_paper")


def test_a_step_in_which_the_dearer_is_behind_has_no_price() -> None:
    found = lay(
        {**PAIR, "shape": "oval", "color": "H"},
        {**PAIR, "shape": "oval", "color": "E"},
        prices=(13000, 10000),
    )
    (steps,) = found["price_steps"]
    assert "per_letter" not in steps


def test_each_stone_is_told_what_would_have_to_be_true_to_prefer_it() -> None:
    found = lay(
        {**PAIR, "shape": "oval", "color": "E"},
        {**PAIR, "shape": "oval", "color": "H", "width_mm": 6.2},
        prices=(13000, 10000),
    )
    white, large = ({part["about"] for part in told["prefer_if"]} for told in found["stones"])
    assert "color" in white
    assert {"spread", "price"} <= large
    assert not white & large


def test_a_stone_without_millimetres_says_so() -> None:
    found = lay({"shape": "oval", "carat": 1.0}, {**PAIR, "shape": "oval"})
    assert [note["about"] for note in found["notes"]] == ["unsaid"]


@given(stones("emerald", "radiant", "round", "oval"))
def test_a_stone_differs_from_itself_in_nothing(stone: Wire) -> None:
    assert differences(RULES, side(stone), side(stone), None) == []


@given(stones("emerald", "radiant", "oval"), stones("emerald", "radiant", "oval"))
def test_turning_two_stones_round_turns_the_places_only(one: Wire, other: Wire) -> None:
    ahead = differences(RULES, side(one), side(other), None)
    back = differences(RULES, side(other), side(one), None)
    turned = [(d.about, d.values[::-1], d.visible, None if d.better is None else 1 - d.better) for d in back]
    assert sorted((d.about, d.values, d.visible, d.better) for d in ahead) == sorted(turned)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ({"shape": "emerald", "color": "H"}, {"shape": "radiant", "color": "F"}),
        ({"shape": "radiant", "color": "G-H"}, {"shape": "radiant", "color": "F-I"}),
        ({"shape": "oval", "clarity": "VS1-SI1"}, {"shape": "oval", "clarity": "VS2"}),
        (
            {"shape": "oval", "length_mm": 0.001, "width_mm": 0.001},
            {"shape": "oval", "length_mm": 5.0, "width_mm": 4.0},
        ),
    ],
)
def test_a_tie_is_nobody_s(one: Wire, other: Wire) -> None:
    for found in (
        differences(RULES, side(one), side(other), None),
        differences(RULES, side(other), side(one), None),
    ):
        assert all(d.better is None for d in found if d.about in {"color", "clarity", "spread"})


def test_a_letter_has_no_price_where_the_whiter_looking_is_lower_on_paper() -> None:
    base = {"clarity": "VS1", "carat": 1.5}
    (steps,) = lay(
        {**base, "shape": "emerald", "color": "H"},
        {**base, "shape": "radiant", "color": "G"},
        prices=(9000, 8000),
    )["price_steps"]
    assert "per_letter" not in steps


# Opinions


def ask(stone: Wire, *names: str) -> tuple[Any, Any]:
    read = Stone.model_validate(stone)
    opinions = [evaluate(committed(*name.split("@")), read, Context(metal="platinum"), DAY) for name in names]
    return where_they_meet(opinions)


def test_schools_differ_where_one_trusts_a_look_and_the_other_does_not() -> None:
    stone = {**PAIR, "shape": "emerald", "color": "I", "clarity": "VS2", "observations": {"eye_clean": True}}
    agreed, differing = ask(stone, "house@1.2.0", "strict@1.2.0")
    clarity = next(part for part in differing if part["topic"] == "clarity")
    assert clarity["rules"] == ["clarity.steps"]
    assert [(stand["ruleset"], stand["verdict"]) for stand in clarity["stands"]] == [
        ("house@1.2.0", "pass"), ("strict@1.2.0", "fail"),
    ]  # fmt: skip
    assert "VS1" in str(clarity["stands"][1]["threshold"])
    assert {part["topic"] for part in agreed} & {part["topic"] for part in differing} == set()


def test_a_school_agrees_with_itself() -> None:
    stone = {**PAIR, "shape": "emerald", "color": "I", "clarity": "SI2"}
    agreed, differing = ask(stone, "house@1.2.0", "house@1.2.0")
    assert differing == []
    assert ("clarity", "fail") in [(part["topic"], part["verdict"]) for part in agreed]


def test_a_note_agrees_with_a_pass() -> None:
    one = evaluate(RULES, Stone(shape="round"), None, DAY)
    other = {
        **one,
        "findings": [
            {**f, "verdict": "note" if f["verdict"] == "pass" else f["verdict"]} for f in one["findings"]
        ],
    }
    assert where_they_meet([one, other])[1] == []  # type: ignore[list-item]
