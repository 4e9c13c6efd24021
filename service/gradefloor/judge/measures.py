"""Numbers that follow from what is stated about one stone. They inform; no verdict rests on them here."""

from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from gradefloor.judge.findings import Measures
from gradefloor.trade.materials import visible_mm
from gradefloor.trade.outlines import face_up_mm2
from gradefloor.trade.stones import Stone, depth_pct, length_and_width, ratio
from gradefloor.trade.weights import (
    exact,
    faces_like_carat,
    fill_coefficient,
    handbook_estimate,
    laboratory_points,
    points_to_carat,
)

_TENTH: Final = Decimal("0.1")


def take_measures(stone: Stone) -> Measures:
    """Every measure that can be taken; one that cannot is left out."""
    measures: Measures = {}
    if stone.carat is not None:
        measures["carat"] = points_to_carat(laboratory_points(stone.carat))
    if (length_to_width := ratio(stone)) is not None:
        measures["ratio"] = float(length_to_width)
    if (depth := depth_pct(stone)) is not None:
        measures["depth_pct"] = float(depth)
    if stone.observations is not None and stone.observations.distance_mm is not None:
        measures["visible_mm"] = round(visible_mm(stone.observations.distance_mm), 3)
    if (sides := length_and_width(stone)) is not None:
        corner = None if stone.corner_mm is None else exact(stone.corner_mm)
        if (area := face_up_mm2(stone.shape, *sides, corner)) is not None:
            measures["face_up_mm2"] = float(area)
        if (like := faces_like_carat(stone.shape, *sides)) is not None:
            measures["faces_like_carat"] = float(like)
        if stone.depth_mm is not None:
            _weigh(stone, (*sides, exact(stone.depth_mm)), measures)
    return measures


def _weigh(stone: Stone, dimensions_mm: tuple[Decimal, Decimal, Decimal], measures: Measures) -> None:
    """What the dimensions say of the weight."""
    estimate = handbook_estimate(
        stone.shape, *dimensions_mm, stone.girdle_min, material=stone.material or "diamond"
    )
    if estimate is not None:
        measures["estimated_carat"] = float(estimate.carat)
    if stone.carat is not None:
        carat = exact(stone.carat)
        measures["fill_coefficient"] = float(fill_coefficient(carat, *dimensions_mm))
        if estimate is not None:
            gap = (estimate.carat / carat - 1) * 100
            measures["estimate_gap_pct"] = float(gap.quantize(_TENTH, ROUND_HALF_UP))
