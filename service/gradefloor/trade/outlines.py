"""Outlines of cut stones as plain geometry: face-up area and perimeter from length and width.

Lengths in mm and > 0, areas in mm², both as decimals and answered to 0.001. A shape has a value only if
its outline follows from two measures and, at most, one usual proportion that is named here.
"""

import math
from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from typing import Final, NamedTuple

from gradefloor.trade.shapes import SHAPES

# Usual proportions where a report gives none: all common practice, no source.
USUAL_CORNER: Final = Decimal("0.13")  # leg of a cut corner over the width; met from 0.12 to 0.15
USUAL_TAPER: Final = Decimal("0.70")  # narrow end over wide end of a tapered stone
CUSHION_EXPONENT: Final = 3.0  # |x|ⁿ + |y|ⁿ = 1; 2 is an ellipse, 4 is nearly a rectangle
# Bow of a trillion's sides over their chord: half way from straight (0) to Reuleaux (1 - √3/2).
TRILLION_BOW: Final = (1 - Decimal(3).sqrt() / 2) / 2

_PI: Final = Decimal("3.141592653589793238462643383")
_ROOT2: Final = Decimal(2).sqrt()
_ROOT3: Final = Decimal(3).sqrt()
_THOUSANDTH: Final = Decimal("0.001")
_STEPS: Final = 64  # intervals of Simpson's rule; 32 and 1024 agree with it to 0.0001 mm


class Outline(NamedTuple):
    """Area in mm², and how to get the perimeter in mm (None where two measures leave it open).

    Both unrounded. The perimeter waits until it is asked for: some have no closed form.
    """

    area_mm2: Decimal
    perimeter: Callable[[], Decimal] | None


def longer_first(shape: str, length_mm: Decimal, width_mm: Decimal) -> tuple[Decimal, Decimal]:
    """The two measures with the longer first, unless the shape's length is an axis; KeyError if unknown."""
    if not SHAPES[shape].length_is_axis and length_mm < width_mm:
        return width_mm, length_mm
    return length_mm, width_mm


def _decimal(value: float) -> Decimal:
    return Decimal(repr(value))


def _simpson(speed: Callable[[float], float], start: float, end: float) -> float:
    step = (end - start) / _STEPS
    inner = sum((4 if k % 2 else 2) * speed(start + k * step) for k in range(1, _STEPS))
    return (speed(start) + inner + speed(end)) * step / 3


def _segment(chord: Decimal, rise: Decimal) -> tuple[Decimal, Decimal]:
    """Area of a circular segment, and the length of its arc."""
    radius = (chord * chord / 4 + rise * rise) / (2 * rise)
    angle = 4 * math.atan(2 * rise / chord)
    return radius * radius * _decimal(angle - math.sin(angle)) / 2, radius * _decimal(angle)


def superellipse_perimeter_mm(length_mm: Decimal, width_mm: Decimal, exponent: float) -> Decimal:
    """Way around |2x/length|ⁿ + |2y/width|ⁿ = 1 by Simpson's rule, for n = 2 (ellipse) or more."""

    def arc(run: float, rise: float) -> float:
        """From an axis to the diagonal, along which no slope grows without bound."""

        def speed(u: float) -> float:
            return math.hypot(run, rise * u ** (exponent - 1) * (1 - u**exponent) ** (1 / exponent - 1))

        return _simpson(speed, 0.0, 2 ** (-1 / exponent))

    half_length, half_width = float(length_mm) / 2, float(width_mm) / 2
    return 4 * _decimal(arc(half_length, half_width) + arc(half_width, half_length))


def superellipse(length_mm: Decimal, width_mm: Decimal, exponent: float) -> Outline:
    """Superellipse of exponent 2 (an ellipse) or more; that alone decides how much of its box it fills."""
    return Outline(
        length_mm * width_mm * _share_of_box(exponent),
        lambda: superellipse_perimeter_mm(length_mm, width_mm, exponent),
    )


@cache
def _share_of_box(exponent: float) -> Decimal:
    return _decimal(math.gamma(1 + 1 / exponent) ** 2 / math.gamma(1 + 2 / exponent))


def bowed_triangle(length_mm: Decimal, width_mm: Decimal, bow: Decimal) -> Outline | None:
    """Isosceles triangle in a box, its sides bowed outwards by `bow` times their chord; None if too flat.

    `bow` 0 gives straight sides, 1 − √3/2 in a square box gives the Reuleaux triangle.
    """
    height = length_mm - bow * width_mm
    if height <= 0:
        return None
    leg = (height * height + width_mm * width_mm / 4).sqrt()
    bows = [_segment(side, bow * side) if bow else (Decimal(0), side) for side in (width_mm, leg, leg)]
    return Outline(
        width_mm * height / 2 + sum(area for area, _ in bows),
        lambda: sum((arc for _, arc in bows), Decimal(0)),
    )


def _cut_corners(length: Decimal, width: Decimal, leg: Decimal) -> Outline | None:
    if 2 * leg > width:
        return None
    return Outline(length * width - 2 * leg * leg, lambda: 2 * (length + width) - 4 * leg * (2 - _ROOT2))


def _ellipse(length: Decimal, width: Decimal) -> Outline:
    return superellipse(length, width, 2.0)


def _cushion(length: Decimal, width: Decimal) -> Outline:
    return superellipse(length, width, CUSHION_EXPONENT)


def _rectangle(length: Decimal, width: Decimal) -> Outline:
    return Outline(length * width, lambda: 2 * (length + width))


def _marquise(length: Decimal, width: Decimal) -> Outline:
    """Two equal circular arcs."""
    area, arc = _segment(length, width / 2)
    return Outline(2 * area, lambda: 2 * arc)


def _pear(length: Decimal, width: Decimal) -> Outline:
    """Half a circle, and two arcs that leave it without a kink and meet in the point."""
    area, arc = _segment(2 * length - width, width / 2)  # half of a marquise of twice the remaining length
    return Outline(_PI * width * width / 8 + area, lambda: _PI * width / 2 + arc)


def _heart(length: Decimal, width: Decimal) -> Outline:
    """A square on its corner with half a circle on each upper side, stretched to length and width."""
    across, along = width / (1 + 1 / _ROOT2), length / (Decimal("0.5") + 3 / (2 * _ROOT2))

    def perimeter() -> Decimal:
        x, y = float(across) / 2, float(along) / 2
        lobe = _simpson(lambda t: math.hypot(x * math.sin(t), y * math.cos(t)), -math.pi / 4, 3 * math.pi / 4)
        return 2 * ((across * across + along * along) / 2).sqrt() + 2 * _decimal(lobe)

    return Outline((1 + _PI / 4) * across * along, perimeter)


def _trillion(length: Decimal, width: Decimal) -> Outline | None:
    return bowed_triangle(length, width, TRILLION_BOW)


def _hexagon(length: Decimal, width: Decimal) -> Outline:
    """A regular hexagon, corner to corner along the length, stretched."""
    return Outline(
        length * width * 3 / 4, lambda: length + 4 * (length * length / 16 + width * width / 4).sqrt()
    )


def _lozenge(length: Decimal, width: Decimal) -> Outline:
    return Outline(length * width / 2, lambda: 2 * (length * length + width * width).sqrt())


def _kite(length: Decimal, width: Decimal) -> Outline:
    """Half the product of its diagonals, wherever they cross; the perimeter would need to know where."""
    return Outline(length * width / 2, None)


def _half_moon(length: Decimal, width: Decimal) -> Outline:
    """Half an ellipse; its flat side is the larger measure."""
    chord, rise = max(length, width), min(length, width)
    whole = superellipse(chord, 2 * rise, 2.0)
    return Outline(whole.area_mm2 / 2, lambda: chord + superellipse_perimeter_mm(chord, 2 * rise, 2.0) / 2)


def _pointed_arch(length: Decimal, width: Decimal) -> Outline | None:
    """Parallel sides that end in two arcs of the width's radius; None if shorter than that point."""
    straight = length - width * _ROOT3 / 2
    if straight < 0:
        return None
    point = width * width * (_PI / 3 - _ROOT3 / 4)
    return Outline(width * straight + point, lambda: width + 2 * straight + 2 * _PI * width / 3)


def _taper(height: Decimal, wide: Decimal, taper: Decimal) -> Outline:
    inset = wide * (1 - taper) / 2
    return Outline(
        height * wide * (1 + taper) / 2,
        lambda: wide * (1 + taper) + 2 * (height * height + inset * inset).sqrt(),
    )


# The outline behind each name: plain geometry; which outline stands for which shape is common practice.
_OUTLINES: Final[dict[str, Callable[[Decimal, Decimal], Outline | None]]] = {
    **dict.fromkeys(("round", "old_european", "circular_brilliant", "single_cut", "oval"), _ellipse),
    **dict.fromkeys(("princess", "carre", "french_square", "baguette"), _rectangle),
    **dict.fromkeys(("cushion", "cushion_brilliant", "cushion_modified", "old_mine"), _cushion),
    **dict.fromkeys(("marquise", "step_marquise"), _marquise),
    **dict.fromkeys(("bullet", "shield"), _pointed_arch),
    "pear": _pear,
    "heart": _heart,
    "trillion": _trillion,
    "hexagon": _hexagon,
    "lozenge": _lozenge,
    "kite": _kite,
    "half_moon": _half_moon,
}
# Leg of the corner over the width. An octagon's default makes a square one regular.
_CORNERS: Final = {
    "emerald": USUAL_CORNER,
    "asscher": USUAL_CORNER,
    "radiant": USUAL_CORNER,
    "octagon": 1 - 1 / _ROOT2,
}


def outline(
    shape: str,
    length_mm: Decimal,
    width_mm: Decimal,
    corner_mm: Decimal | None = None,
    taper: Decimal = USUAL_TAPER,
) -> Outline | None:
    """Area and perimeter, unrounded; None where the outline is not known or the measures cannot be its own.

    `corner_mm` is the leg of a cut corner and matters to cut-cornered shapes only; `taper`, narrow over
    wide end, to tapered ones only. KeyError for a word that is not a shape.
    """
    length, width = longer_first(shape, length_mm, width_mm)
    if shape in _CORNERS:
        return _cut_corners(length, width, _CORNERS[shape] * width if corner_mm is None else corner_mm)
    if shape == "tapered_baguette":  # the longer measure runs from end to end
        return _taper(max(length, width), min(length, width), taper)
    if shape == "trapezoid":
        return _taper(length, width, taper)
    form = _OUTLINES.get(shape)
    return None if form is None else form(length, width)


def face_up_mm2(
    shape: str,
    length_mm: Decimal,
    width_mm: Decimal,
    corner_mm: Decimal | None = None,
    taper: Decimal = USUAL_TAPER,
) -> Decimal | None:
    """Area in mm² that the stone shows from above, to 0.001; arguments and None as for `outline`."""
    found = outline(shape, length_mm, width_mm, corner_mm, taper)
    return None if found is None else found.area_mm2.quantize(_THOUSANDTH, ROUND_HALF_UP)


def perimeter_mm(
    shape: str,
    length_mm: Decimal,
    width_mm: Decimal,
    corner_mm: Decimal | None = None,
    taper: Decimal = USUAL_TAPER,
) -> Decimal | None:
    """Way around the girdle in mm, to 0.001; arguments and None as for `outline`."""
    found = outline(shape, length_mm, width_mm, corner_mm, taper)
    if found is None or found.perimeter is None:
        return None
    return found.perimeter().quantize(_THOUSANDTH, ROUND_HALF_UP)
