"""Whether the numbers of one stone can belong to one stone. Says what does not fit; judges no quality."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from gradefloor.trade.figures import Figures
from gradefloor.trade.materials import relative_density
from gradefloor.trade.shapes import CIRCULAR
from gradefloor.trade.stones import Stone
from gradefloor.trade.weights import (
    exact,
    fill_verdict,
    handbook_estimate,
    laboratory_points,
    points_to_carat,
)

WeightFit = Literal["within", "heavy", "light", "like_moissanite"]

# A depth in % that is further from the millimetres than this asks; one that is much further belongs to
# another stone. In the open `diamonds` data 0.2 % of rows are off by more than 0.5 points.
DEPTH_ASKS_POINTS: Final = Decimal("1.0")
DEPTH_BREAKS_POINTS: Final = Decimal(5)
# A block of diamond, 3.515 g/cm³, at 0.2 g a carat.
SOLID_CT_MM3: Final = Decimal("0.01758")
# A round that is further out than this has a mistyped diameter: 29 of 53,940 rows of the open data.
OUT_OF_ROUND: Final = Decimal("1.05")

# A heavier stone without dimensions is in points, or in the wrong column: common practice, no source.
LARGEST_CARAT: Final = 30

# Table and depth in % that some stone of the kind may have; wider than any window of taste. Common practice,
# no source.
_TABLES: Final = {"round": (45, 75), "rose": (0, 100), "portrait": (40, 100)}
_DEPTHS: Final = {
    "round": (50, 75), "trillion": (25, 60), "rose": (10, 60), "portrait": (3, 50), "princess": (50, 90),
}  # fmt: skip
_ANY_TABLE: Final = (35, 90)
_ANY_DEPTH: Final = (40, 90)


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Numbers that do not fit together; `breaks` says that the row is of no use until it is cleared up."""

    field: str
    seen: str
    told: str
    ask: str
    breaks: bool


def weight_fit(figures: Figures) -> WeightFit | None:
    """Whether the weight fits the dimensions; None where something needed for that is unknown.

    A shape without a band of its own still cannot weigh more than a solid block of its dimensions.
    """
    coefficient, stone = figures.fill, figures.stone
    if coefficient is None:
        return None
    material = stone.material or "diamond"
    fit = fill_verdict(stone.shape, coefficient, material)
    if fit is None and coefficient > SOLID_CT_MM3 * relative_density(material):
        return "heavy"
    if fit != "light" or material != "diamond":
        return fit
    return "like_moissanite" if fill_verdict(stone.shape, coefficient, "moissanite") == "within" else "light"


def contradictions(stone: Stone) -> Iterator[Contradiction]:
    """Everything about the stone's numbers that does not fit."""
    figures = Figures(stone)
    yield from _weight(figures)
    yield from _depth(figures)
    yield from _roundness(figures)
    yield from _plausible(figures)


def _weight(figures: Figures) -> Iterator[Contradiction]:
    fit, stone, sides, depth = weight_fit(figures), figures.stone, figures.sides_mm, figures.depth_mm
    if fit in {None, "within"} or sides is None or depth is None:
        return
    material = stone.material or "diamond"
    estimate = handbook_estimate(stone.shape, *sides, depth, stone.girdle_min, material=material)
    told = ""
    if estimate is not None:
        told = f"weighs like {points_to_carat(laboratory_points(estimate.carat))} ct"
    if fit == "like_moissanite":
        told += ", or it is moissanite"
    seen = f"{stone.carat} ct at {sides[0]} × {sides[1]} × {stone.depth_mm} mm"
    yield Contradiction("carat", seen, told, "What do a scale and a gauge say?", breaks=True)


def _depth(figures: Figures) -> Iterator[Contradiction]:
    stated, computed = figures.stone.depth_pct, figures.depth_pct_from_mm
    if stated is None or computed is None:
        return
    gap = abs(exact(stated) - computed)
    if gap > DEPTH_ASKS_POINTS:
        seen = f"{stated} %, {computed} % from the millimetres"
        ask = "Which is on the report, the depth in % or the millimetres?"
        yield Contradiction("depth_pct", seen, "", ask, breaks=gap > DEPTH_BREAKS_POINTS)


def _roundness(figures: Figures) -> Iterator[Contradiction]:
    stone, found = figures.stone, figures.ratio
    if stone.shape in CIRCULAR and found is not None and found > OUT_OF_ROUND:
        seen = f"{stone.length_mm} and {stone.width_mm} mm"
        ask = "Which two diameters does a gauge read?"
        yield Contradiction("length_mm", seen, f"ratio {found} for a round", ask, breaks=True)


def _plausible(figures: Figures) -> Iterator[Contradiction]:
    stone = figures.stone
    if stone.carat is not None and stone.carat > LARGEST_CARAT and figures.sides_mm is None:
        ask = "Is that the weight in carat, or in points?"
        yield Contradiction("carat", f"{stone.carat} ct", "", ask, breaks=False)
    for field, value, bounds in (
        ("table_pct", stone.table_pct, _TABLES.get(stone.shape, _ANY_TABLE)),
        ("depth_pct", stone.depth_pct, _DEPTHS.get(stone.shape, _ANY_DEPTH)),
    ):
        if value is not None and not bounds[0] <= value <= bounds[1]:
            told = f"{bounds[0]} to {bounds[1]} % is what such a stone may have"
            yield Contradiction(field, f"{value} %", told, "What does the report say?", breaks=False)
