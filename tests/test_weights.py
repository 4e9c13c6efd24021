"""Weights as laboratories round them.

Invariants:
1. a reported weight W stands for what was weighed between W - 0.001 and W + 0.008 ct;
2. a heavier stone is never reported lighter.
"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradefloor.trade.weights import exact, laboratory_points, points_to_carat


@pytest.mark.parametrize(
    ("weighed", "reported"),
    [
        # GIA, "How are diamond carat weights rounded".
        (1.768, 1.76),
        (1.769, 1.77),
        # R. Cartier FGA, "Weighty Considerations" (valuers' article), after CIBJO and most bourses.
        (0.025, 0.02),
        (0.125, 0.12),
        (0.999, 1.00),
        (1.004, 1.00),
        # Computed by the same rule.
        (0.998, 0.99),
        (1.000, 1.00),
        (1.008, 1.00),
        (1.009, 1.01),
        (0.699, 0.70),
    ],
)
def test_the_third_decimal_rounds_up_only_if_it_is_nine(weighed: float, reported: float) -> None:
    assert points_to_carat(laboratory_points(weighed)) == reported


def _binary(weighed: float) -> int:
    """The same rule in binary arithmetic, which is how it goes wrong."""
    return int(weighed * 100 + 0.1)


def test_decimal_arithmetic_is_right_where_binary_is_not() -> None:
    # Computed: of the 3,000 weights from 0.000 to 2.999 ct, binary arithmetic gets 56 wrong.
    wrong = [n for n in range(3000) if _binary(n / 1000) != (n + 1) // 10]
    assert len(wrong) == 56
    assert {9, 59, 119, 569, 689, 699, 709} <= set(wrong)
    assert [laboratory_points(n / 1000) for n in wrong] == [(n + 1) // 10 for n in wrong]


@pytest.mark.parametrize("weight", [0.29, 0.57, 1.13, 2.01])
def test_a_weight_in_hundredths_stays_what_it_is(weight: float) -> None:
    # Computed: truncating the binary product loses a point in each of these.
    assert int(weight * 100) == laboratory_points(weight) - 1
    assert points_to_carat(laboratory_points(weight)) == weight


@given(st.integers(1, 1_000_000).map(lambda n: n / 1000))
def test_a_reported_weight_covers_its_ten_thousandths(weighed: float) -> None:
    """Invariant 1. Computed from the rule of GIA and CIBJO."""
    reported = Decimal(laboratory_points(weighed)) / 100
    assert reported - Decimal("0.001") <= exact(weighed) <= reported + Decimal("0.008")


@given(st.integers(1, 1_000_000), st.integers(1, 1_000_000))
def test_a_heavier_stone_is_never_reported_lighter(one: int, other: int) -> None:
    """Invariant 2."""
    light, heavy = sorted((one, other))
    assert laboratory_points(light / 1000) <= laboratory_points(heavy / 1000)


def test_a_number_is_taken_as_it_was_written() -> None:
    assert exact(1.1) == Decimal("1.1")
