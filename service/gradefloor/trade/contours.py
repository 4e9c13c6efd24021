"""Outlines of cut stones as polygons, and the curves that run around them at a distance.

They are the outlines that `outlines` knows in closed form, here as points that can be drawn and offset.
Lengths in mm and > 0; the length lies along y, the middle of the stone's box in the origin. Curves are
inscribed polygons, short by less than 0.0002 mm in a curve of 40 mm.
"""

import math
from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal
from itertools import pairwise
from typing import TYPE_CHECKING, Final, Literal

from gradefloor.trade.outlines import CUSHION_EXPONENT, TRILLION_BOW, USUAL_TAPER, longer_first, outline
from gradefloor.trade.shapes import GROUPS

# Curves take a sixth of the memory of a process that only judges stones, and a tenth of a second of its
# start: they are loaded when the first one is drawn.
if TYPE_CHECKING:
    from shapely import Polygon

_THOUSANDTH: Final = Decimal("0.001")
_STEPS: Final = 720  # chords of one arc
_QUARTER: Final = 90  # chords of a quarter turn around a tip
# Around straight sides the curve has corners like the stone's. A corner sharper than a right angle is cut
# off where that of a right angle lies, or the point of a lozenge would stand alone: from memory.
_FURTHEST: Final = math.sqrt(2)

_Point = tuple[float, float]
_Ring = list[_Point]


def _arc(start: _Point, end: _Point, sweep: float) -> _Ring:
    """Circular arc that turns left by `sweep` (radians, up to a half turn); its end is left out."""
    run, rise = end[0] - start[0], end[1] - start[1]
    inward = 1 / (2 * math.tan(sweep / 2))
    middle = (start[0] + run / 2 - rise * inward, start[1] + rise / 2 + run * inward)
    radius = math.dist(middle, start)
    first = math.atan2(start[1] - middle[1], start[0] - middle[0])
    turns = (first + sweep * k / _STEPS for k in range(_STEPS))
    return [(middle[0] + radius * math.cos(turn), middle[1] + radius * math.sin(turn)) for turn in turns]


def _superellipse(length: float, width: float, exponent: float) -> _Ring:
    points = []
    for k in range(4 * _STEPS):
        x, y = math.cos(math.tau * k / (4 * _STEPS)), math.sin(math.tau * k / (4 * _STEPS))
        reach = (abs(x) ** exponent + abs(y) ** exponent) ** (-1 / exponent) / 2
        points.append((width * x * reach, length * y * reach))
    return points


def _ellipse(length: float, width: float) -> _Ring:
    return _superellipse(length, width, 2.0)


def _cushion(length: float, width: float) -> _Ring:
    return _superellipse(length, width, CUSHION_EXPONENT)


def _marquise(length: float, width: float) -> _Ring:
    tips = (0.0, -length / 2), (0.0, length / 2)
    sweep = 4 * math.atan(width / length)
    return _arc(tips[0], tips[1], sweep) + _arc(tips[1], tips[0], sweep)


def _pear(length: float, width: float) -> _Ring:
    left, right, tip = (-width / 2, 0.0), (width / 2, 0.0), (0.0, length - width / 2)
    sweep = 2 * math.atan(right[0] / tip[1])  # without a kink: the arcs leave the half circle along the axis
    return _arc(left, right, math.pi) + _arc(right, tip, sweep) + _arc(tip, left, sweep)


def _heart(length: float, width: float) -> _Ring:
    half = math.sqrt(0.5)  # half a diagonal of the square of side 1
    tip, right, notch, left = (0.0, 0.0), (half, half), (0.0, 2 * half), (-half, half)
    lobes = _arc(right, notch, math.pi) + _arc(notch, left, math.pi)
    across, along = width / (1 + half), length / (0.5 + 1.5 * half)
    return [(x * across, y * along) for x, y in (tip, *lobes, left)]


def _trillion(length: float, width: float) -> _Ring:
    bow = float(TRILLION_BOW)
    corners = (-width / 2, 0.0), (width / 2, 0.0), (0.0, length - bow * width), (-width / 2, 0.0)
    return [point for start, end in pairwise(corners) for point in _arc(start, end, 4 * math.atan(2 * bow))]


def _half_moon(length: float, width: float) -> _Ring:
    """Half an ellipse; its flat side is the larger measure."""
    chord, rise = max(length, width), min(length, width)
    half = [*_arc((1.0, 0.0), (-1.0, 0.0), math.pi), (-1.0, 0.0)]
    ring = [(x * chord / 2, y * rise) for x, y in half]
    return ring if width >= length else _turned(ring)


def _pointed_arch(length: float, width: float) -> _Ring:
    straight = length - width * math.sqrt(0.75)
    left, right, tip = (-width / 2, straight), (width / 2, straight), (0.0, length)
    arcs = _arc(right, tip, math.pi / 3) + _arc(tip, left, math.pi / 3)
    return [(-width / 2, 0.0), (width / 2, 0.0), *arcs, left]


def _rectangle(length: float, width: float) -> _Ring:
    return _cut_corners(length, width, 0.0)


def _cut_corners(length: float, width: float, leg: float) -> _Ring:
    x, y = width / 2, length / 2
    return [
        (x, leg - y), (x, y - leg), (x - leg, y), (leg - x, y),
        (-x, y - leg), (-x, leg - y), (leg - x, -y), (x - leg, -y),
    ]  # fmt: skip


def _hexagon(length: float, width: float) -> _Ring:
    x, y = width / 2, length / 4
    return [(0.0, -2 * y), (x, -y), (x, y), (0.0, 2 * y), (-x, y), (-x, -y)]


def _lozenge(length: float, width: float) -> _Ring:
    return [(0.0, -length / 2), (width / 2, 0.0), (0.0, length / 2), (-width / 2, 0.0)]


def _trapezoid(length: float, width: float) -> _Ring:
    wide, narrow = width / 2, width / 2 * float(USUAL_TAPER)
    return [(-wide, 0.0), (wide, 0.0), (narrow, length), (-narrow, length)]


def _tapered_baguette(length: float, width: float) -> _Ring:
    ring = _trapezoid(max(length, width), min(length, width))
    return ring if length >= width else _turned(ring)


def _turned(ring: _Ring) -> _Ring:
    return [(y, x) for x, y in ring]


# Which of them stands for which shape is common practice, as in `outlines`. Cut corners need a third measure.
_CURVED: Final[dict[str, Callable[[float, float], _Ring]]] = {
    **dict.fromkeys(("round", "old_european", "circular_brilliant", "single_cut", "oval"), _ellipse),
    **dict.fromkeys(("cushion", "cushion_brilliant", "cushion_modified", "old_mine"), _cushion),
    **dict.fromkeys(("marquise", "step_marquise"), _marquise),
    **dict.fromkeys(("bullet", "shield"), _pointed_arch),
    "pear": _pear,
    "heart": _heart,
    "trillion": _trillion,
    "half_moon": _half_moon,
}
_STRAIGHT: Final[dict[str, Callable[[float, float], _Ring]]] = {
    **dict.fromkeys(("princess", "carre", "french_square", "baguette"), _rectangle),
    "hexagon": _hexagon,
    "lozenge": _lozenge,
    "trapezoid": _trapezoid,
    "tapered_baguette": _tapered_baguette,
}


def contour(
    shape: str, length_mm: Decimal, width_mm: Decimal, corner_mm: Decimal | None = None
) -> "Polygon | None":
    """Outline of the stone from above; None where `outlines.outline` has none or no perimeter.

    The longer measure lies along y unless the shape's length is an axis; `corner_mm` is the leg of a cut
    corner. KeyError for a word that is not a shape.
    """
    found = outline(shape, length_mm, width_mm, corner_mm)
    if found is None or found.perimeter is None:
        return None
    longer, shorter = longer_first(shape, length_mm, width_mm)
    length, width = float(longer), float(shorter)
    if shape in GROUPS["cut_corners"]:
        # Four triangles are missing from the box: so much tells the leg, the usual one as well.
        leg = float(((longer * shorter - found.area_mm2) / 2).sqrt())
        ring = _cut_corners(length, width, leg)
    else:
        ring = (_CURVED.get(shape) or _STRAIGHT[shape])(length, width)
    from shapely import Polygon, affinity  # noqa: PLC0415 - loaded with the first curve, see above

    stone = Polygon(ring)
    left, low, right, top = stone.bounds
    return affinity.translate(stone, -(left + right) / 2, -(low + top) / 2)


def parallel(shape: str, stone: "Polygon", offset_mm: Decimal) -> "Polygon":
    """What the curve at `offset_mm` (0 or more) outside the contour of a stone of this shape encloses.

    Around straight sides it has corners, because a small stone sits in the corner and the rows run along the
    sides. Around curved ones it is the parallel curve, as far from a tip as from everywhere else.
    """
    join: Literal["round", "mitre"] = "round" if shape in _CURVED else "mitre"
    grown = stone.buffer(float(offset_mm), _QUARTER, join_style=join, mitre_limit=_FURTHEST)
    return type(stone)(grown.exterior)


def around_mm(curve: "Polygon") -> Decimal:
    """Way around in mm, half up to 0.001, so that no boundary hangs on the noise of binary arithmetic."""
    return Decimal(repr(curve.exterior.length)).quantize(_THOUSANDTH, ROUND_HALF_UP)


def offset_perimeter_mm(
    shape: str, length_mm: Decimal, width_mm: Decimal, corner_mm: Decimal | None, offset_mm: Decimal
) -> Decimal | None:
    """Length of the curve at `offset_mm` outside the outline, to 0.001 mm; None and KeyError as `contour`."""
    stone = contour(shape, length_mm, width_mm, corner_mm)
    return None if stone is None else around_mm(parallel(shape, stone, offset_mm))
