"""Carat weights: counted in hundredths by the laboratory's own rounding, and estimated from millimetres.

Arguments of the estimates are decimals in mm and ct, all > 0 (`exact` makes them from wire floats). A shape
with no documented formula, band or usual depth has None. KeyError for a word that is not a shape, a girdle
grade or a material.
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from itertools import pairwise
from typing import Final, Literal, NamedTuple

from gradefloor.trade.grades import GIRDLE
from gradefloor.trade.materials import relative_density, relative_density_range
from gradefloor.trade.outlines import USUAL_TAPER, face_up_mm2, longer_first
from gradefloor.trade.shapes import CIRCULAR, SHAPES

_ONE: Final = Decimal(1)
_HUNDREDTH: Final = Decimal("0.01")
_THOUSANDTH: Final = Decimal("0.001")
_MILLIONTH: Final = Decimal("0.000001")


def exact(number: float) -> Decimal:
    """The decimal a person wrote, not the binary fraction it became."""
    return Decimal(repr(number))


def laboratory_points(carat: float | Decimal) -> int:
    """Weight in points (0.01 ct) as a laboratory reports it: rounded up only if the third decimal is 9.

    Source: GIA, carat weight rounding (1.768 reads 1.76, 1.769 reads 1.77); CIBJO and most bourses alike.
    Decimal throughout: in binary arithmetic 0.699 ct loses a point.
    """
    thousandths = int((exact(carat) if isinstance(carat, float | int) else carat) * 1000)
    return (thousandths + 1) // 10


def points_to_carat(points: int) -> float:
    """146 points are 1.46 ct."""
    return points / 100


def mean_diameter_mm(one_mm: Decimal, other_mm: Decimal) -> Decimal:
    """Mean of two diameters, half up to 0.01 mm, as reports state it and the handbook examples use it."""
    return ((one_mm + other_mm) / 2).quantize(_HUNDREDTH, ROUND_HALF_UP)


_Row = tuple[Decimal, Decimal]


def _rows(text: str) -> tuple[_Row, ...]:
    """`1.00 0.0080, 1.50 0.0092`: lower edges in mm or ratios, each with its value."""
    pairs = (row.split() for row in text.split(","))
    return tuple((Decimal(edge), Decimal(value)) for edge, value in pairs)


@dataclass(frozen=True, slots=True)
class _Formula:
    """How an outline enters the handbook formula for diamond, and its factor by length-to-width ratio."""

    outline: Literal["mean_diameter_squared", "length_by_width", "length_by_mean_width"]
    factors: tuple[_Row, ...]


_MEAN_SQUARED: Final = "mean_diameter_squared"
_PRODUCT: Final = "length_by_width"
_TAPERED: Final = "length_by_mean_width"


def _formula(
    factors: str,
    outline: Literal["mean_diameter_squared", "length_by_width", "length_by_mean_width"] = _PRODUCT,
) -> _Formula:
    return _Formula(outline, _rows(factors if " " in factors else f"1.00 {factors}"))


# Factors for diamond in ct/mm³ (weight is outline times depth times factor).
# Round, oval, trillion, marquise by ratio: chapters of a diamond textbook on estimating mounted weight, seen
# as a secondary copy; its misprints (1.25 for the first ratio of marquise and emerald, 1.00575 for 0.00575)
# are put right. Heart, baguette, square step, princess, emerald at 1.00 and 1.50: pages of the Moscow
# laboratory MGC. Pear, radiant, cushion, trapezoid, emerald at 2.00 and 2.50, and old European
# (Scharffenberg 1931, in Pagel-Theisen): from memory.
# Sources differ: MGC gives one marquise factor, 0.0060, and 0.0090 to 0.0105 for long princesses, where
# common practice keeps 0.0083; cushions are met from 0.0079 to 0.0082, square step cuts from 0.0078.
_ROUND: Final = _formula("0.0061", _MEAN_SQUARED)
_MARQUISE: Final = _formula(
    "1.50 0.00565, 1.75 0.00570, 2.00 0.00580, 2.25 0.00583, 2.50 0.00585, 2.75 0.00590, 3.00 0.00595"
)
_SQUARE_STEP: Final = _formula("0.0080")
_CUSHION: Final = _formula("0.00815")
_FORMULAS: Final[dict[str, _Formula]] = {
    "round": _ROUND,
    "circular_brilliant": _ROUND,  # nearest documented form
    "single_cut": _ROUND,  # nearest documented form
    "old_european": _formula("0.0067", _MEAN_SQUARED),  # "older full-bodied cuts"
    "oval": _formula("0.0062", _MEAN_SQUARED),
    "heart": _formula("0.0059"),
    "trillion": _formula("0.0057"),
    "marquise": _MARQUISE,
    "step_marquise": _MARQUISE,  # nearest documented form
    "pear": _formula("1.25 0.00615, 1.50 0.00600, 1.66 0.00590, 2.00 0.00575"),
    "emerald": _formula("1.00 0.0080, 1.50 0.0092, 2.00 0.0100, 2.50 0.0106"),
    "asscher": _SQUARE_STEP,
    "carre": _SQUARE_STEP,
    "octagon": _SQUARE_STEP,
    "french_square": _SQUARE_STEP,  # nearest documented form
    "princess": _formula("0.0083"),
    "radiant": _formula("0.0081"),
    "cushion": _CUSHION,
    "cushion_brilliant": _CUSHION,
    "cushion_modified": _CUSHION,
    "old_mine": _CUSHION,  # nearest documented form
    "baguette": _formula("0.00915"),
    "tapered_baguette": _formula("0.00915", _TAPERED),
    "trapezoid": _formula("0.00915", _TAPERED),
}

# Weight added by a heavy girdle, in % by diameter or width in mm; thinner grades add nothing. From memory of
# the chart taught with the GIA diamond course. It is printed with gaps (4.65 to 4.70, 5.10 to 5.20 ...) and a
# doubled edge at 4.15; here each row runs from its lower edge to the next, the first and last without end.
_GIRDLE_ADDS_PCT: Final[dict[str, tuple[_Row, ...]]] = {
    "slightly_thick": _rows("3.80 3, 4.15 2, 4.70 2, 5.20 2, 5.80 2, 6.55 2, 6.95 1, 7.70 1, 8.15 1"),
    "thick": _rows("3.80 4, 4.15 4, 4.70 3, 5.20 3, 5.80 3, 6.55 2, 6.95 2, 7.70 2, 8.15 2"),
    "very_thick": _rows("3.80 9, 4.15 8, 4.70 7, 5.20 6, 5.80 6, 6.55 5, 6.95 5, 7.70 5, 8.15 4"),
    "extremely_thick": _rows("3.80 12, 4.15 11, 4.70 10, 5.20 9, 5.80 8, 6.55 7, 6.95 7, 7.70 6, 8.15 6"),
}
# Exact geometry of a round brilliant: the factor 0.0061 belongs to a girdle of 3.5 % of the diameter, and
# each further 1 % weighs 2.1 % more than the added depth accounts for.
_FIRST_HEAVY: Final = min(map(GIRDLE.rank, _GIRDLE_ADDS_PCT))
_ROUND_GIRDLE_PCT: Final = Decimal("3.5")
_PER_GIRDLE_PCT: Final = Decimal("0.021")
_GIRDLE_LIMIT_PCT: Final = Decimal(10)  # beyond this a figure is no girdle: common practice, no source


@dataclass(frozen=True, slots=True)
class Estimate:
    """A weight estimated from millimetres, and how.

    `carat` to 0.001; `factor` in ct/mm³ for diamond; `girdle_factor` is 1 where no correction applies.
    """

    carat: Decimal
    factor: Decimal
    girdle_factor: Decimal


def _interpolated(rows: tuple[_Row, ...], ratio: Decimal) -> Decimal:
    """Linear between rows, constant beyond the ends."""
    if ratio <= rows[0][0]:
        return rows[0][1]
    for (low, at_low), (high, at_high) in pairwise(rows):
        if ratio <= high:
            return (at_low + (at_high - at_low) * (ratio - low) / (high - low)).quantize(_MILLIONTH)
    return rows[-1][1]


def _at_edge(rows: tuple[_Row, ...], across_mm: Decimal) -> Decimal:
    return next((value for edge, value in reversed(rows) if across_mm >= edge), rows[0][1])


def girdle_factor(girdle: str, across_mm: Decimal) -> Decimal:
    """What a girdle grade multiplies the weight by, at a diameter or width; of a range, the mean."""
    span = GIRDLE.span(girdle)
    if span.worst < _FIRST_HEAVY:
        return _ONE
    added = sum(
        _at_edge(_GIRDLE_ADDS_PCT[grade], across_mm) if grade in _GIRDLE_ADDS_PCT else 0
        for grade in (GIRDLE.grades[span.best], GIRDLE.grades[span.worst])
    )
    return 1 + Decimal(added) / 200


def _outline_and_factor(
    shape: str, length: Decimal, width: Decimal, taper: Decimal
) -> tuple[Decimal, Decimal] | None:
    """The outline term of the formula in mm² and its factor at this ratio; sides already in order."""
    formula = _FORMULAS.get(shape)
    if formula is None:
        return None
    rows = formula.factors
    factor = rows[0][1] if len(rows) == 1 else _interpolated(rows, length / width)
    if formula.outline == _MEAN_SQUARED:
        return mean_diameter_mm(length, width) ** 2, factor
    if formula.outline == _TAPERED:
        return length * width * (1 + taper) / 2, factor
    return length * width, factor


def handbook_estimate(  # noqa: PLR0913 - every one of them is a measure that the handbook asks for
    shape: str,
    length_mm: Decimal,
    width_mm: Decimal,
    depth_mm: Decimal,
    girdle: str | None = None,
    *,
    girdle_pct: Decimal | None = None,
    taper: Decimal = USUAL_TAPER,
    material: str = "diamond",
) -> Estimate | None:
    """Weight by the handbook formula of the shape; None where no formula is documented.

    `girdle` is a grade or a range of grades; `girdle_pct` (thickness in % of the mean diameter, up to 10)
    is used instead for a round brilliant. `taper` is the narrow over the wide end of a tapered stone.
    """
    length, width = longer_first(shape, length_mm, width_mm)
    known = _outline_and_factor(shape, length, width, taper)
    if known is None:
        return None
    outline, factor = known
    correction = _ONE
    if shape == "round" and girdle_pct is not None and girdle_pct <= _GIRDLE_LIMIT_PCT:
        correction += _PER_GIRDLE_PCT * (girdle_pct - _ROUND_GIRDLE_PCT)
    elif girdle is not None:
        correction = girdle_factor(girdle, mean_diameter_mm(length, width) if shape in CIRCULAR else width)
    carat = outline * depth_mm * factor * correction * relative_density(material)
    return Estimate(carat.quantize(_THOUSANDTH, ROUND_HALF_UP), factor, correction)


# Weight over face-up area times depth, in ct/mm³: a baguette's factor, which is of a full rectangle, and a
# round's, which is of the square around a circle (0.0061 over a quarter of pi). Computed from both.
_BY_AREA: Final = {"step": Decimal("0.00915"), "brilliant": Decimal("0.00777")}


def side_estimate(
    shape: str, facet_family: str, length_mm: Decimal, width_mm: Decimal, depth_mm: Decimal
) -> Decimal | None:
    """Weight to 0.01 ct of a side stone faceted as `step` or `brilliant`, from the area of its outline.

    None where the outline is unknown. Good to some 15 %: side stones are bought by millimetres.
    """
    area = face_up_mm2(shape, length_mm, width_mm)
    if area is None:
        return None
    return (area * depth_mm * _BY_AREA[facet_family]).quantize(_HUNDREDTH, ROUND_HALF_UP)


def fill_coefficient(carat: Decimal, length_mm: Decimal, width_mm: Decimal, depth_mm: Decimal) -> Decimal:
    """Weight over the box around the stone, ct/mm³ to 0.000001. Needs no shape and no formula."""
    return (carat / (length_mm * width_mm * depth_mm)).quantize(_MILLIONTH, ROUND_HALF_UP)


# Fill coefficients of diamonds, ends included: common practice, no source. That practice ends at 0.0065 for
# rounds, which would set 1.0 % of the sound rows of the open `diamonds` data aside; 0.0067 leaves 0.3 %.
# A shape without a band fills its box in a way nobody has written down.
_CUSHION_BAND: Final = (Decimal("0.0073"), Decimal("0.0090"))
FILL_BANDS: Final[dict[str, tuple[Decimal, Decimal]]] = {
    "round": (Decimal("0.0058"), Decimal("0.0067")),
    "oval": (Decimal("0.0058"), Decimal("0.0069")),
    "pear": (Decimal("0.0055"), Decimal("0.0066")),
    "marquise": (Decimal("0.0053"), Decimal("0.0063")),
    "heart": (Decimal("0.0055"), Decimal("0.0064")),
    "princess": (Decimal("0.0078"), Decimal("0.0092")),
    "radiant": (Decimal("0.0076"), Decimal("0.0092")),
    "cushion": _CUSHION_BAND,
    "cushion_brilliant": _CUSHION_BAND,
    "cushion_modified": _CUSHION_BAND,
    "asscher": (Decimal("0.0076"), Decimal("0.0095")),
    "emerald": (Decimal("0.0080"), Decimal("0.0108")),
}
# Substitutes are sold by nominal size: common practice, no source. Written to 0.1 mm, 6.5 by 6.5 by 4.0 is
# true to 2.8 % of its weight, hence the slack.
_NOMINAL_SIZE: Final = Decimal("0.03")


@cache
def fill_band(shape: str, material: str = "diamond") -> tuple[Decimal, Decimal] | None:
    """Lowest and highest usual fill coefficient of a shape in a material; None for a shape without a band."""
    low_density, high_density = relative_density_range(material)
    slack = 0 if material == "diamond" else _NOMINAL_SIZE
    band = FILL_BANDS.get(SHAPES[shape].name)
    return band and (band[0] * low_density * (1 - slack), band[1] * high_density * (1 + slack))


def fill_verdict(
    shape: str, coefficient: Decimal, material: str = "diamond"
) -> Literal["within", "heavy", "light"] | None:
    """Whether a fill coefficient is usual for the shape in this material; the band's ends are within."""
    band = fill_band(shape, material)
    if band is None:
        return None
    if coefficient < band[0]:
        return "light"
    return "heavy" if coefficient > band[1] else "within"


# Diameter in mm of a round over the cube root of its carats: median of the open `diamonds` data.
_ROUND_MM: Final = Decimal("6.421")

# Usual depth in % of the width, the middle of what is liked: common practice, no source.
USUAL_DEPTH_PCT: Final[dict[str, Decimal]] = {
    "oval": Decimal(61),
    "pear": Decimal(61),
    "marquise": Decimal("60.5"),
    "heart": Decimal("58.5"),
    "trillion": Decimal("38.5"),
    "princess": Decimal(71),
    "emerald": Decimal(64),
    "asscher": Decimal(64),
    "radiant": Decimal(65),
    "cushion": Decimal(64),
    "cushion_brilliant": Decimal("63.5"),
    "cushion_modified": Decimal("64.5"),
    "old_european": Decimal("61.5"),
    "old_mine": Decimal(65),
}


def faces_like_carat(shape: str, length_mm: Decimal, width_mm: Decimal) -> Decimal | None:
    """Weight to 0.01 ct of a usual diamond of this shape that looks as large from above.

    Rounds by the law of the cube root, other shapes by the handbook factor at the usual depth; None where no
    usual depth is known.
    """
    length, width = longer_first(shape, length_mm, width_mm)
    if shape == "round":
        return ((mean_diameter_mm(length, width) / _ROUND_MM) ** 3).quantize(_HUNDREDTH, ROUND_HALF_UP)
    depth_pct = USUAL_DEPTH_PCT.get(shape)
    known = _outline_and_factor(shape, length, width, USUAL_TAPER)
    if depth_pct is None or known is None:
        return None
    across = mean_diameter_mm(length, width) if shape in CIRCULAR else width
    outline, factor = known
    return (outline * across * depth_pct / 100 * factor).quantize(_HUNDREDTH, ROUND_HALF_UP)


# A width so long that rounding a mean diameter to 0.01 mm no longer shows.
_LONG_MM: Final = Decimal(10_000)
_THIRD: Final = Decimal(1) / 3
USUAL_ROUND_DEPTH_PCT: Final = Decimal("61.5")  # middle of what is liked: common practice, no source


class Size(NamedTuple):
    """Millimetres of one stone, each to 0.01."""

    length_mm: Decimal
    width_mm: Decimal
    depth_mm: Decimal


def usual_size(shape: str, carat: Decimal, ratio: Decimal, depth_pct: Decimal | None = None) -> Size | None:
    """Millimetres to expect of a diamond's weight in ct at a ratio: `faces_like_carat` turned round.

    `depth_pct` is the usual one of the shape where it is not given, and None comes back where there is none.
    Exact for the formula, so good to what that is good to: some 5 % of the weight, 2 % of a length.
    """
    known = _outline_and_factor(shape, ratio * _LONG_MM, _LONG_MM, USUAL_TAPER)
    if shape == "round":
        across = _ROUND_MM * carat**_THIRD
        depth = across * (depth_pct or USUAL_ROUND_DEPTH_PCT) / 100
        return _size(across, across, depth)
    pct = depth_pct or USUAL_DEPTH_PCT.get(shape)
    if pct is None or known is None:
        return None
    outline, factor = known
    base = (
        (ratio + 1) / 2 if shape in CIRCULAR else Decimal(1)
    )  # what the depth is a share of, over the width
    width = (carat / (outline / _LONG_MM**2 * base * pct / 100 * factor)) ** _THIRD
    return _size(ratio * width, width, base * width * pct / 100)


def _size(*millimetres: Decimal) -> Size:
    return Size(*(value.quantize(_HUNDREDTH, ROUND_HALF_UP) for value in millimetres))
