"""What is stated of one stone in numbers, exactly, and what follows from them. Nothing here judges."""

from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from gradefloor.trade.shapes import CIRCULAR, SHAPES
from gradefloor.trade.stones import Stone
from gradefloor.trade.weights import exact, fill_coefficient, laboratory_points

_HUNDREDTH: Final = Decimal("0.01")
_TENTH: Final = Decimal("0.1")


def length_and_width(stone: Stone) -> tuple[Decimal, Decimal] | None:
    """Length and width in mm, the longer first unless the length is an axis; None if either is missing."""
    if stone.length_mm is None or stone.width_mm is None:
        return None
    length, width = exact(stone.length_mm), exact(stone.width_mm)
    if length < width and not SHAPES[stone.shape].length_is_axis:
        return width, length
    return length, width


def ratio(stone: Stone) -> Decimal | None:
    """Length over width, half up to two decimals: the way it is written, "2.18 : 1"."""
    sides = length_and_width(stone)
    return None if sides is None else _ratio(*sides)


def _ratio(length_mm: Decimal, width_mm: Decimal) -> Decimal:
    return (length_mm / width_mm).quantize(_HUNDREDTH, ROUND_HALF_UP)


class Figures:
    """What is stated of one stone in numbers, exactly, and what follows from them; None where too little is.

    `sides_mm` is length and width, the longer first unless the length is an axis. `points` is the weight as a
    laboratory reports it, in hundredths of a carat. `depth_pct` is as stated, else from the millimetres, and
    `depth_pct_from_mm` from the millimetres alone, to one decimal: over the width, of a round over the mean
    diameter. `fill` is weight over length times width times depth, in ct/mm³ to 0.000001.
    Convention of the depth: laboratory reports; the open `diamonds` data agrees with the mean to 0.1 in 97 %
    of rows.
    """

    __slots__ = (
        "carat", "depth_mm", "depth_pct", "depth_pct_from_mm", "fill", "points", "ratio", "sides_mm", "stone",
    )  # fmt: skip

    def __init__(self, stone: Stone) -> None:
        self.stone = stone
        self.carat = carat = None if stone.carat is None else exact(stone.carat)
        self.points = None if carat is None else laboratory_points(carat)
        self.sides_mm = sides = length_and_width(stone)
        self.depth_mm = depth = None if stone.depth_mm is None else exact(stone.depth_mm)
        self.ratio = self.depth_pct_from_mm = self.fill = None
        if sides is not None:
            self.ratio = _ratio(*sides)
            if depth is not None:
                across = (sides[0] + sides[1]) / 2 if stone.shape in CIRCULAR else sides[1]
                self.depth_pct_from_mm = (depth * 100 / across).quantize(_TENTH, ROUND_HALF_UP)
                if carat is not None:
                    self.fill = fill_coefficient(carat, *sides, depth)
        self.depth_pct = self.depth_pct_from_mm if stone.depth_pct is None else exact(stone.depth_pct)
