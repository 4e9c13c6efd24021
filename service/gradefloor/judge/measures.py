"""Numbers that follow from what is stated about one stone. They inform; no verdict rests on them here."""

from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from gradefloor.judge.findings import Measures
from gradefloor.trade.figures import Figures
from gradefloor.trade.materials import visible_mm
from gradefloor.trade.outlines import face_up_mm2
from gradefloor.trade.weights import exact, faces_like_carat, handbook_estimate, points_to_carat

_TENTH: Final = Decimal("0.1")


def take_measures(figures: Figures) -> Measures:
    """Every measure that can be taken; one that cannot is left out."""
    measures: Measures = {}
    stone, sides = figures.stone, figures.sides_mm
    if figures.points is not None:
        measures["carat"] = points_to_carat(figures.points)
    if figures.ratio is not None:
        measures["ratio"] = float(figures.ratio)
    if figures.depth_pct is not None:
        measures["depth_pct"] = float(figures.depth_pct)
    if stone.observations is not None and stone.observations.distance_mm is not None:
        measures["visible_mm"] = round(visible_mm(stone.observations.distance_mm), 3)
    if sides is not None:
        corner = None if stone.corner_mm is None else exact(stone.corner_mm)
        if (area := face_up_mm2(stone.shape, *sides, corner)) is not None:
            measures["face_up_mm2"] = float(area)
        if (like := faces_like_carat(stone.shape, *sides)) is not None:
            measures["faces_like_carat"] = float(like)
        if figures.depth_mm is not None:
            _weigh(figures, (*sides, figures.depth_mm), measures)
    return measures


def _weigh(figures: Figures, dimensions_mm: tuple[Decimal, Decimal, Decimal], measures: Measures) -> None:
    """What the dimensions say of the weight."""
    stone = figures.stone
    estimate = handbook_estimate(
        stone.shape, *dimensions_mm, stone.girdle_min, material=stone.material or "diamond"
    )
    if estimate is not None:
        measures["estimated_carat"] = float(estimate.carat)
    if figures.carat is not None and figures.fill is not None:
        measures["fill_coefficient"] = float(figures.fill)
        if estimate is not None:
            gap = (estimate.carat / figures.carat - 1) * 100
            measures["estimate_gap_pct"] = float(gap.quantize(_TENTH, ROUND_HALF_UP))
