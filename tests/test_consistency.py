"""Numbers of one stone that do not belong together. The stones are invented."""

from typing import Any

import pytest

from gradefloor.trade.consistency import contradictions, weight_fit
from gradefloor.trade.figures import Figures
from gradefloor.trade.stones import Stone

ROUND = {"shape": "round", "carat": 1.01, "length_mm": 6.48, "width_mm": 6.45, "depth_mm": 3.98}


def told(stone: dict[str, Any]) -> list[tuple[str, bool]]:
    return [(found.field, found.breaks) for found in contradictions(Stone.model_validate(stone))]


@pytest.mark.parametrize(
    ("change", "fit"),
    [
        pytest.param({}, "within", id="fits"),
        pytest.param({"carat": 1.20}, "heavy", id="weighs like 1.01"),
        pytest.param({"carat": 0.60}, "light", id="weighs like 1.01, too"),
        pytest.param({"carat": None}, None, id="no weight"),
        pytest.param({"depth_mm": None}, None, id="no depth"),
        pytest.param({"shape": "rose"}, None, id="a shape without a band"),
    ],
)
def test_the_fill_band_decides_whether_a_weight_fits(change: dict[str, Any], fit: str | None) -> None:
    """Common practice, no source."""
    assert weight_fit(Figures(Stone.model_validate({**ROUND, **change}))) == fit


@pytest.mark.parametrize(("carat", "fit"), [(0.18, None), (0.19, "heavy")], ids=["a solid block", "more"])
def test_no_stone_weighs_more_than_a_solid_block_of_its_size(carat: float, fit: str | None) -> None:
    """Density of diamond 3.515 g/cm³; a carat is 0.2 g: 4 x 2 x 1.3 mm are 0.183 ct."""
    stone = {"shape": "baguette", "carat": carat, "length_mm": 4, "width_mm": 2, "depth_mm": 1.3}
    assert weight_fit(Figures(Stone.model_validate(stone))) == fit


def test_a_light_diamond_may_be_moissanite() -> None:
    """Densities 3.22 and 3.52 g/cm³: Nassau and others, Gems & Gemology 33(4), 1997; 16 CFR 23."""
    stone = {"shape": "round", "carat": 0.88, "length_mm": 6.5, "width_mm": 6.5, "depth_mm": 4.0}
    assert weight_fit(Figures(Stone.model_validate(stone))) == "like_moissanite"
    assert weight_fit(Figures(Stone.model_validate({**stone, "material": "moissanite"}))) == "within"


def test_a_wrong_weight_says_what_the_stone_weighs_like() -> None:
    (found,) = contradictions(Stone.model_validate({**ROUND, "carat": 1.20}))
    assert (found.told, found.breaks) == ("weighs like 1.01 ct", True)


@pytest.mark.parametrize(
    ("depth_pct", "expected"),
    [
        pytest.param(61.6, [], id="as computed"),
        pytest.param(62.6, [], id="one point off"),
        pytest.param(62.7, [("depth_pct", False)], id="more than one"),
        pytest.param(66.6, [("depth_pct", False)], id="five points off"),
        pytest.param(66.7, [("depth_pct", True)], id="more than five"),
    ],
)
def test_depth_in_percent_is_held_against_the_millimetres(
    depth_pct: float, expected: list[tuple[str, bool]]
) -> None:
    """Laboratory convention: depth over the mean diameter of a round, here 61.6 %."""
    assert told({**ROUND, "depth_pct": depth_pct}) == expected


@pytest.mark.parametrize(
    ("length_mm", "expected"),
    [(6.77, []), (6.78, []), (6.81, [("length_mm", True)])],
    ids=["1.05", "1.05 rounded", "1.06"],
)
def test_a_round_that_is_far_out_of_round_has_a_wrong_diameter(
    length_mm: float, expected: list[tuple[str, bool]]
) -> None:
    assert told({"shape": "round", "length_mm": length_mm, "width_mm": 6.45}) == expected


@pytest.mark.parametrize(
    ("stone", "expected"),
    [
        pytest.param({"shape": "round", "table_pct": 95}, ["table_pct"], id="a table of 95"),
        pytest.param({"shape": "round", "depth_pct": 43}, ["depth_pct"], id="a depth of 43"),
        pytest.param({"shape": "trillion", "depth_pct": 38}, [], id="a trillion is shallow by nature"),
        pytest.param({"shape": "emerald", "depth_pct": 38}, ["depth_pct"], id="an emerald cut is not"),
        pytest.param({"shape": "portrait", "depth_pct": 12, "table_pct": 90}, [], id="a portrait cut"),
    ],
)
def test_table_and_depth_must_be_possible_for_the_shape(stone: dict[str, Any], expected: list[str]) -> None:
    """Common practice, no source."""
    assert [field for field, _ in told(stone)] == expected
