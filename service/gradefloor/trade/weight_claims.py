"""Weights as copy states them, held against the weight of the stone.

Source: US 16 CFR 23.18(c). A weight in decimals is to be true to its last place, and one with a single
decimal to the second: ".5 carat" may stand for .495 to .504. A report's weight is itself rounded (up only
where the third decimal is a nine), so it leaves an interval, and a claim may be neither right nor wrong.
"""

from decimal import ROUND_HALF_UP, Decimal
from typing import Final, Literal, NamedTuple

from gradefloor.trade.weights import exact

Fit = Literal["as_stated", "agrees", "undecidable", "differs"]

_MILLI: Final = Decimal("0.001")
_POINT: Final = Decimal("0.01")
# A report of W stands for W - 0.001 to W + 0.008: laboratory rounding, GIA's own description of it.
_REPORT_BELOW: Final = Decimal("0.001")
_REPORT_ABOVE: Final = Decimal("0.008")


class Interval(NamedTuple):
    """Weights in ct, both ends belonging to it, in steps of a thousandth."""

    least: Decimal
    most: Decimal


def claimed(value: Decimal, decimals: int) -> Interval:
    """Weights in ct that a figure with so many decimals may stand for, read to the thousandth."""
    step = _POINT if decimals <= 2 else Decimal(1).scaleb(-decimals)  # noqa: PLR2004 - the second decimal
    return Interval(value - step / 2, value + step / 2 - min(_MILLI, step / 10))


def weighed(carat: float) -> Interval:
    """Weights in ct that a stated one stands for: two decimals as a report's, three as a balance's."""
    weight = exact(carat)
    if weight == weight.quantize(_POINT):
        return Interval(weight - _REPORT_BELOW, weight + _REPORT_ABOVE)
    weight = weight.quantize(_MILLI, ROUND_HALF_UP)
    return Interval(weight, weight)


def write(carat: float, mark: str = ".") -> str:
    """A weight as copy may state it: half up to two decimals, true to the last, where a report rounds down.

    One that would come out as nothing keeps all of its decimals.
    """
    weight = exact(carat).quantize(_POINT, ROUND_HALF_UP) or exact(carat)
    return f"{weight} ct".replace(".", mark)


def fit(value: Decimal, decimals: int, carat: float) -> Fit:
    """Whether a figure with so many decimals is true of a stone of that weight.

    `as_stated`: it repeats a report's own figure. `undecidable`: some of the weights that the report may
    stand for agree with it and some do not.
    """
    weight = exact(carat)
    if weight == weight.quantize(_POINT) == value and decimals != 1:
        return "as_stated"
    claim, stone = claimed(value, decimals), weighed(carat)
    if claim.least <= stone.least and stone.most <= claim.most:
        return "agrees"
    if stone.most < claim.least or claim.most < stone.least:
        return "differs"
    return "undecidable"
