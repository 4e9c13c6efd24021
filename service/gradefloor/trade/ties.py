"""What the numbers of a stone say about which of several shapes it is. A proposal, never a decision."""

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import Final, NamedTuple

# Shape, carat, length, width and depth in mm: does the weight fit? None where nobody knows.
Fill = Callable[[str, Decimal, Decimal, Decimal, Decimal], bool | None]


class Evidence(NamedTuple):
    """What a row tells besides its shape."""

    ratio: Decimal | None = None
    table_pct: Decimal | None = None
    depth_pct: Decimal | None = None
    carat: Decimal | None = None
    length: Decimal | None = None
    width: Decimal | None = None
    depth: Decimal | None = None


# Length to width, table % and depth % within which a shape is usual: wide, common practice, no source.
_USUAL: Final[dict[str, tuple[tuple[str, str], ...]]] = {
    "round": (("0.98", "1.05"), ("50", "66"), ("56", "67")),
    "princess": (("1.00", "1.30"), ("62", "80"), ("64", "80")),
    "radiant": (("1.00", "1.70"), ("57", "74"), ("58", "74")),
    "cushion": (("1.00", "1.50"), ("52", "70"), ("57", "73")),
    "oval": (("1.20", "1.75"), ("52", "66"), ("55", "68")),
    "pear": (("1.30", "2.00"), ("52", "66"), ("55", "68")),
    "marquise": (("1.55", "2.60"), ("52", "66"), ("54", "68")),
    "heart": (("0.85", "1.15"), ("52", "66"), ("52", "67")),
    "trillion": (("0.85", "1.12"), ("50", "72"), ("29", "50")),
    "emerald": (("1.15", "1.80"), ("55", "73"), ("57", "74")),
    "asscher": (("1.00", "1.10"), ("53", "68"), ("57", "73")),
    "carre": (("1.00", "1.06"), ("56", "70"), ("55", "70")),
    "baguette": (("1.50", "4.00"), ("55", "85"), ("40", "75")),
    "old_european": (("0.98", "1.06"), ("38", "60"), ("55", "74")),
    "circular_brilliant": (("0.98", "1.05"), ("48", "62"), ("55", "68")),
    "old_mine": (("1.00", "1.30"), ("38", "60"), ("58", "76")),
    "rose": (("0.95", "1.60"), ("0", "1"), ("18", "42")),
    "hexagon": (("0.85", "1.60"), ("50", "75"), ("50", "72")),
}


def likeliest(shapes: Sequence[str], evidence: Evidence, fill: Fill | None = None) -> str | None:
    """The one shape that the numbers fit best; None if there are none or if two fit alike."""
    scores = {shape: _score(shape, evidence, fill) for shape in shapes}
    best = max(scores.values(), default=0)
    leaders = [shape for shape, score in scores.items() if score == best]
    return leaders[0] if best > 0 and len(leaders) == 1 else None


def _score(shape: str, evidence: Evidence, fill: Fill | None) -> int:
    """One for each number that is usual for the shape, minus one for each that is not."""
    score = 0
    for (low, high), value in zip(_USUAL.get(shape, ()), evidence[:3], strict=False):
        if value is not None:
            score += 1 if Decimal(low) <= value <= Decimal(high) else -1
    # Spelled out, so that the type checker sees that none of the four is missing.
    carat, length, width, depth = evidence.carat, evidence.length, evidence.width, evidence.depth
    if fill and carat is not None and length is not None and width is not None and depth is not None:
        fits = fill(shape, carat, length, width, depth)
        score += {True: 1, False: -1, None: 0}[fits]
    return score
