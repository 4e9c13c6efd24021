"""Carat weights as the trade counts them: in hundredths, by the laboratory's own rounding."""

from decimal import Decimal


def exact(number: float) -> Decimal:
    """The decimal a person wrote, not the binary fraction it became."""
    return Decimal(repr(number))


def laboratory_points(carat: float) -> int:
    """Weight in points (0.01 ct) as a laboratory reports it: rounded up only if the third decimal is 9.

    Source: GIA, carat weight rounding (1.768 reads 1.76, 1.769 reads 1.77); CIBJO and most bourses alike.
    Decimal throughout: in binary arithmetic 0.699 ct loses a point.
    """
    thousandths = int(exact(carat) * 1000)
    return (thousandths + 1) // 10


def points_to_carat(points: int) -> float:
    """146 points are 1.46 ct."""
    return float(Decimal(points) / 100)
